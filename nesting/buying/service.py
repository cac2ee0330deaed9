"""What service a way of ordering really gives: periodic looks, deliveries after a lead time, late demand kept.

It is told nothing but levels, demand and lead times, so that it can judge levels from any forecast, and demand that
nobody forecast.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from ..forecast.futures import quantile_of
from .quantity import allowed
from .settings import Supply


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """What came of the levels.

    Parameters
    ----------
    cycles, lasted
        Replenishments, and those in which nothing was missing when the next one came.
    weeks, full_weeks
        Weeks, and those at the end of which nothing was missing.
    asked, at_once
        Sheets that were asked for, and that were there when they were.
    stock
        Sheets in the racks at the ends of the weeks, summed.
    orders
        Orders made.
    """

    cycles: int = 0
    lasted: int = 0
    weeks: int = 0
    full_weeks: int = 0
    asked: int = 0
    at_once: int = 0
    stock: int = 0
    orders: int = 0

    def __add__(self, other: Served) -> Served:
        return Served(**{name: getattr(self, name) + getattr(other, name) for name in self.__slots__})

    @property
    def service(self) -> Fraction:
        """Share of replenishments in which the stock lasted, the measure that the shop file speaks of."""
        return Fraction(self.lasted, self.cycles) if self.cycles else Fraction(1)

    @property
    def fill_rate(self) -> Fraction:
        """Share of the sheets that were there at once."""
        return Fraction(self.at_once, self.asked) if self.asked else Fraction(1)

    @property
    def mean_stock(self) -> Fraction:
        """Sheets in the racks on the mean."""
        return Fraction(self.stock, self.weeks) if self.weeks else Fraction(0)


def served(
    demand: Any, levels: Any, lead_weeks: Any, *, review_weeks: int = 1, supply: Supply | None = None
) -> Served:
    """What came of levels in one history, week by week.

    Parameters
    ----------
    demand
        Sheets of each week, int of shape (weeks,).
    levels
        Reorder point of each look, shape (looks,): at week 0, at week `review_weeks`, and so on. Where hand and order
        together are below it, it is ordered up to it.
    lead_weeks
        Weeks after a look from which on its order can be cut, shape (looks,).
    review_weeks
        Weeks from one look to the next.
    supply
        Cases and least order, where they count.

    Notes
    -----
    It begins with the first level on hand, and what is missing is delivered later. A replenishment counts from the
    week in which its look's order can be cut to that in which the next look's order can; the first looks, whose time
    began before the history, are left out, and so are the last, whose time it does not hold.
    """
    demand = np.asarray(demand, np.int64)
    weeks = len(demand)
    hand = position = int(levels[0])
    coming = np.zeros(weeks + 1, np.int64)
    ends = np.zeros(weeks, np.int64)
    orders = at_once = stock = 0
    for week in range(weeks):
        look, rest = divmod(week, review_weeks)
        if not rest and position < levels[look]:
            lack = int(levels[look]) - position
            amount = lack if supply is None else allowed(supply, lack)
            position += amount
            orders += 1
            coming[min(weeks, week + int(lead_weeks[look]))] += amount
        hand += int(coming[week])
        at_once += min(int(demand[week]), max(0, hand))
        hand -= int(demand[week])
        position -= int(demand[week])
        ends[week] = hand
        stock += max(0, hand)
    cycles = lasted = 0
    looks = -(-weeks // review_weeks)
    for look in range(looks - 1):
        begin = look * review_weeks + int(lead_weeks[look])
        end = (look + 1) * review_weeks + int(lead_weeks[look + 1])
        if end <= weeks and begin < end:
            cycles += 1
            lasted += int(ends[begin:end].min() >= 0)
    return Served(
        cycles=cycles,
        lasted=lasted,
        weeks=weeks,
        full_weeks=int((ends >= 0).sum()),
        asked=int(demand.sum()),
        at_once=at_once,
        stock=stock,
        orders=orders,
    )


def level_of(demand: Any, lead_weeks: Any, *, review_weeks: int, service: Fraction) -> int:
    """The reorder point from futures: quantile of demand over lead time and review.

    Parameters
    ----------
    demand
        Sheets, shape (futures, weeks), from the week of the look on.
    lead_weeks
        Weeks until what the next look orders can be cut, after that look, shape (futures,).
    review_weeks
        Weeks from one look to the next.
    service
        Wanted.
    """
    demand = np.asarray(demand, np.int64)
    end = np.clip(np.asarray(lead_weeks) + review_weeks, 1, demand.shape[1])
    over = np.take_along_axis(np.cumsum(demand, axis=1), end[:, None] - 1, axis=1)[:, 0]
    return int(quantile_of(over, float(service)))
