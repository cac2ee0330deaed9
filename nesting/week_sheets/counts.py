"""What a plan of one week took: whole sheets of each stock size, and their areas."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekCount:
    """Sheets of one week of one glass.

    Parameters
    ----------
    week
        See `demand.weeks`.
    glass
        Glass key.
    sheets
        Sheets by name of the stock size; sizes that were not taken are left out.
    cut, sheet
        Area of the cut outlines and of the sheets. [nm2]
    cost, bound
        Of the sheets, and its lower bound. [1/10,000 of the currency]
    offcuts
        Kept offcuts that were used up.
    unplaced
        Panels that no stock yields, or for which there was none.
    """

    week: int
    glass: str
    sheets: Mapping[str, int] = field(default_factory=dict)
    cut: int = 0
    sheet: int = 0
    cost: int = 0
    bound: int = 0
    offcuts: int = 0
    unplaced: int = 0
