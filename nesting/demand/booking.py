"""The booking curve: which share of a week's orders is known so many days before that week.

The days are counted from the booking to the Monday of the week in which the glass is cut; within the week
they are negative, so that a week that is partly over is nothing special.

References
----------
Gallego and Ozer 2001 (Management Science 47): advance demand information (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, sqrt
from typing import Any, Final

import numpy as np

from .book import BookedOrder
from .counted import Products
from .weeks import monday

PRIOR_WEIGHT: Final = 10
"""Orders that the prior curve stands for."""
PRODUCT_WEIGHT: Final = 20
"""Orders that the curve of all products stands for in that of each."""
HALF_LIFE: Final = 26
"""Weeks after which an order counts half; habits change."""
HALF_LIFE_CHANGED: Final = 5
"""The same after a change was noticed."""
RECENT: Final = 8
"""Last weeks, which are held against the year before them."""
ENOUGH: Final = 30
"""Orders in both before a change is looked for."""
NOTICED: Final = 4.0
"""Standard errors between two shares from which on the habit has changed."""
LOOKED_AT: Final = (0, 7, 14, 28)
"""Days ahead at which it is looked at."""


def prior_share(days: float) -> float:
    """Before anything is known: leads of two weeks on average, counted to the end of the week."""
    return exp(-max(0.0, days + 7) / 14)


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """How customers booked in the last weeks and before.

    Parameters
    ----------
    days
        Days ahead of the Monday at which the two differ most.
    recent, before
        Shares of the orders that were known by then.
    """

    days: int
    recent: float
    before: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BookingCurve:
    """Leads of past orders, those of each product sorted, with their weights.

    Parameters
    ----------
    leads, weights
        One array for each product. [days], and at most 1 each
    changed
        The change of habit that was noticed, or None.
    dated
        Past orders with a booking day.
    """

    leads: tuple[Any, ...]
    weights: tuple[Any, ...]
    changed: Habit | None
    dated: int

    def shares(self, days: int) -> Any:
        """Share of a week's orders that is booked so many days before its Monday, by product."""
        known = np.array([float(w[l >= days].sum()) for l, w in zip(self.leads, self.weights, strict=True)])
        all_of = np.array([float(w.sum()) for w in self.weights])
        common = (known.sum() + PRIOR_WEIGHT * prior_share(days)) / (all_of.sum() + PRIOR_WEIGHT)
        return (known + PRODUCT_WEIGHT * common) / (all_of + PRODUCT_WEIGHT)


def booking_curve(
    past: Iterable[BookedOrder], products: Products, today: date, first_week: int = 0
) -> BookingCurve:
    """Estimate the curve.

    Parameters
    ----------
    past
        Orders of weeks that are over; those without a booking day are passed over.
    products
        What is counted apart.
    today
        Day of the look: older orders count less.
    first_week
        Orders of earlier weeks are left out, since the early booked of them may be missing.
    """
    dated = [o for o in past if o.booked is not None and o.week >= first_week]
    age = [(today - monday(o.week)).days / 7 for o in dated]
    lead = [(monday(o.week) - o.booked).days for o in dated if o.booked is not None]
    changed = _changed(lead, age)
    half = HALF_LIFE if changed is None else HALF_LIFE_CHANGED
    leads: list[list[int]] = [[] for _ in products.names]
    weights: list[list[float]] = [[] for _ in products.names]
    for o, days, weeks in zip(dated, lead, age, strict=True):
        leads[products.index(o)].append(days)
        weights[products.index(o)].append(0.5 ** (weeks / half))
    return BookingCurve(
        leads=tuple(np.array(x, dtype=np.int64) for x in leads),
        weights=tuple(np.array(x, dtype=np.float64) for x in weights),
        changed=changed,
        dated=len(dated),
    )


def _changed(leads: Sequence[int], ages: Sequence[float]) -> Habit | None:
    new = [d for d, age in zip(leads, ages, strict=True) if age <= RECENT]
    old = [d for d, age in zip(leads, ages, strict=True) if RECENT < age <= RECENT + 52]
    if min(len(new), len(old)) < ENOUGH:
        return None
    found, most = None, NOTICED
    for days in LOOKED_AT:
        a, b = sum(d >= days for d in new), sum(d >= days for d in old)
        share = (a + b) / (len(new) + len(old))
        error = sqrt(share * (1 - share) * (1 / len(new) + 1 / len(old)))
        gap = a / len(new) - b / len(old)
        if error > 0 and abs(gap) / error > most:
            found, most = Habit(days=days, recent=a / len(new), before=b / len(old)), abs(gap) / error
    return found
