"""What every rule from orders to whole sheets offers to the forecast."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from ..demand.book import BookedOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What orders hold, as numbers that may be added up over a week.

    Parameters
    ----------
    features
        Names, for example ``clear-12 area`` and ``clear-12 only on 3660x2440``.
    values
        float64 of shape (orders, features). [m2, or pieces]
    """

    features: tuple[str, ...]
    values: Any


class SheetRules(Protocol):
    """Rules of all glasses together, fitted on weeks that were nested."""

    @property
    def series(self) -> tuple[str, ...]:
        """Names of the stock sizes."""

    @property
    def draws(self) -> int:
        """How many uniform numbers a week takes (one for each glass)."""

    def contents(self, orders: Sequence[BookedOrder]) -> Contents:
        """What these orders hold; features in a fixed order."""

    def sheets(self, sums: Any, uniform: Any) -> Any:
        """Whole sheets of weeks.

        Parameters
        ----------
        sums
            Sums of the values of a week's orders, shape (..., features).
        uniform
            Numbers in [0, 1), shape (..., draws), from which residuals are taken.

        Returns
        -------
        array
            int32 of shape (..., series).
        """
