"""Simulated futures: whole sheets of every stock size in every week, one joint path a future."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True, slots=True, kw_only=True)
class Futures:
    """Paths of weeks.

    Parameters
    ----------
    first
        The first week (see `demand.weeks`).
    series
        Names of the stock sizes (`StockSize.name`), the axis of `sheets`.
    sheets
        Whole sheets, int32 of shape (futures, weeks, series).
    known
        Sheets that open orders alone would take, int32 of shape (weeks, series).
    """

    first: int
    series: tuple[str, ...]
    sheets: Any
    known: Any

    def summed(self, weeks: int | None = None) -> Any:
        """Sheets of the first so many weeks together, shape (futures, series)."""
        return self.sheets[:, :weeks].sum(axis=1)

    def quantile(self, share: float, weeks: int | None = None) -> Any:
        """The least whole number of sheets that at least this share of the futures does not exceed, by series.

        No interpolation: sheets are whole (see `quantile_of`).
        """
        return quantile_of(self.summed(weeks), share)


def quantile_of(values: Any, share: float) -> Any:
    """The quantile of whole numbers along the first axis: the least one that `share` of them does not exceed."""
    ranked = np.sort(values, axis=0)
    # a share such as 0.95 of 500 is 475 whole futures, whatever its last binary digit says
    need = int(np.ceil(share * len(ranked) - 1e-9))
    return ranked[min(len(ranked), max(1, need)) - 1]
