"""What still finds room in the racks when an order of today comes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

import numpy as np

from ..forecast.futures import quantile_of
from ..glass import mass_grams
from ..shop import split_key
from .order_choice import Review
from .policy import Start
from .settings import Supply

HOLDS: Final = Fraction(95, 100)
"""Share of futures in which what is ordered must find room."""


def sheet_grams(supply: Supply) -> int:
    """Mass of a sheet. [g]"""
    return mass_grams(2 * supply.width * supply.height, split_key(supply.glass)[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What a size has in the racks in each week of each future, before anything is cut; (futures, weeks).

    Of what is there, on order, and ordered today; nothing that later looks may order.
    """

    supply: Supply
    sheets: Any


def room_for(supply: Supply, start: Start, taken: Mapping[str, Taken], review: Review) -> int | None:
    """Sheets of a size that find room from the day on which an order of today comes.

    Parameters
    ----------
    supply
        The size and its supplier.
    start
        Its deliveries.
    taken
        What each size, this one too, has in the racks without the order, by name.
    review
        The shop.

    Returns
    -------
    int or None
        At least 0; None where the shop sets no limit.
    """
    settings = review.settings
    rooms: list[int] = []
    limit = settings.storage_sheets.get(supply.glass)
    if limit is not None:
        mine = [t.sheets for t in taken.values() if t.supply.glass == supply.glass]
        rooms.append(_room(limit, sum(mine), start))
    if settings.storage_kg is not None:
        grams = sum(t.sheets * sheet_grams(t.supply) for t in taken.values())
        rooms.append(_room(settings.storage_kg * 1000, grams, start) // max(1, sheet_grams(supply)))
    return max(0, min(rooms)) if rooms else None


def _room(limit: int, filled: Any, start: Start) -> int:
    """What is left of a limit, from the week on in which an order of today can be cut, in most futures."""
    filled = np.asarray(filled, np.int64)
    weeks = np.arange(filled.shape[1])
    first = np.minimum(start.lines.usable[:, 0], filled.shape[1] - 1)
    most = np.where(weeks >= first[:, None], filled, 0).max(axis=1)
    return int(limit - quantile_of(most, float(HOLDS)))
