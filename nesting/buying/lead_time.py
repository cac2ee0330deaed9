"""When an order is here: whole days by a gamma law, working days, and the first week that can cut from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from math import ceil, exp, lgamma, log
from typing import Any, Final
from zlib import crc32

import numpy as np

from ..cutting_days import CuttingDays
from ..demand.weeks import monday, week_of
from ..lead_days import is_working
from .settings import Supply

STREAM: Final = 0x1EAD
"""Sets these random numbers apart from all others of a seed."""
SURE: Final = 1 - 1e-9
LONGEST: Final = 4000
"""Days after which every delivery counts as here. [days]"""


def gamma_share(shape: float, x: float) -> float:
    """The regularised lower incomplete gamma function P(shape, x), by its series (DLMF 8.7.1)."""
    if x <= 0:
        return 0.0
    front = exp(shape * log(x) - x - lgamma(shape + 1))
    term = total = 1.0
    n = shape
    while term > total * 1e-16:
        n += 1
        term *= x / n
        total += term
    return min(1.0, front * total)


@lru_cache(maxsize=256)
def day_law(mean: int, spread: int) -> tuple[int, tuple[float, ...]]:
    """Law of a lead time in whole days.

    Parameters
    ----------
    mean, spread
        Mean and standard deviation. [days]

    Returns
    -------
    first, shares
        The first day that happens, and the share of deliveries that are here after so many days, from that day on.

    Notes
    -----
    A gamma law with this mean and spread, rounded to the nearest day. Lead times are lopsided: a lorry is late by
    weeks more often than early by weeks, and never comes before the order [common practice].
    """
    if spread <= 0 or mean <= 0:
        return max(0, mean), (1.0,)
    shape, rate = (mean / spread) ** 2, mean / spread**2
    shares: list[float] = []
    day = 0
    while day < LONGEST:
        shares.append(gamma_share(shape, rate * (day + 0.5)))
        if shares[-1] >= SURE:
            break
        day += 1
    first = next(i for i, share in enumerate(shares) if share > 1 - SURE)
    return first, (*shares[first:-1], 1.0)


def lead_draws(supply: Supply, futures: int, orders: int, seed: int) -> Any:
    """Lead times of the orders of all futures: whole days, int64 of shape (futures, orders).

    Sizes of one supplier that are ordered together come together, so that the stream is the supplier's. The numbers
    of a future do not depend on how many futures there are.
    """
    first, shares = day_law(supply.lead_days, supply.lead_spread)
    who = crc32((supply.supplier or supply.name).encode())
    stream = np.random.Generator(np.random.Philox(np.random.SeedSequence([seed, STREAM, who])))
    return first + np.searchsorted(np.array(shares), stream.random((futures, orders)), side="right")


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiving:
    """When sheets that come on a day can be cut.

    Parameters
    ----------
    today
        The day of the look.
    calendar
        Working days.
    """

    today: date
    calendar: CuttingDays

    @property
    def first(self) -> int:
        """The week of today."""
        return week_of(self.today)

    def working(self, day: date) -> date:
        """The day itself, or the next working day."""
        for _ in range(LONGEST):
            if is_working(day, self.calendar):
                break
            day += timedelta(days=1)
        return day

    def usable(self, day: date) -> int:
        """The first week, counted from this one, that can be cut from what comes on a day.

        What comes after the first working day of a week counts from the next week on: the week's first orders are
        cut before it is there.
        """
        here = self.working(max(day, self.today))
        week = week_of(here)
        start = self.working(monday(week))
        return week - self.first + (here > start)

    def order_day(self, week: int) -> date:
        """The day of the look in the week of this number from this one: today, or its first working day."""
        return self.today if week <= 0 else self.working(monday(self.first + week))


@lru_cache(maxsize=64)
def usable_weeks(receiving: Receiving, longest: int) -> Any:
    """`Receiving.usable` of today and each of the days after it, int64 of length `longest` + 1."""
    return np.array(
        [receiving.usable(receiving.today + timedelta(days=k)) for k in range(longest + 1)], np.int64
    )


def longest_days(supply: Supply) -> int:
    """The longest lead time that can be drawn. [days]"""
    first, shares = day_law(supply.lead_days, supply.lead_spread)
    return first + len(shares) - 1


def weeks_needed(supplies: Iterable[Supply], review_weeks: int, *, weeks: int = 0) -> int:
    """Weeks that futures must have for the protection time of every size: lead time, its spread twice, one look.

    Parameters
    ----------
    supplies
        Terms of all sizes.
    review_weeks
        Weeks from one look to the next.
    weeks
        Weeks that are wanted anyway.
    """
    return max([weeks, *(ceil((s.lead_days + 2 * s.lead_spread) / 7) + review_weeks + 1 for s in supplies)])
