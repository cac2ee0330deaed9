"""The buying calendar: which order of a size probably falls due in which week, and the stock week by week."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any, Final

import numpy as np

from ..forecast.futures import quantile_of
from .advice import Advice, SizeAdvice
from .quantity import glass_cost
from .settings import Supply

NEVER: Final = 10**6
"""The week of an order that a future does not have."""
BANDS: Final = (Fraction(80, 100), Fraction(95, 100))
"""Shares of the futures that the bands hold, with equal tails."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedOrder:
    """An order that at least half of the futures have within the calendar.

    Parameters
    ----------
    supply
        Size and supplier.
    week
        Week of the order, counted from this one: median of the futures.
    earliest, latest
        The same in 1 and in 9 of 10 futures; `latest` None where fewer have it within the calendar.
    day, arrival
        Day of the order and expected day of its delivery.
    sheets
        Median of those that have it.
    money
        Of so many sheets with the freight of each. [1/10,000 of the currency]
    chance
        Share of the futures that have it within the calendar.
    firm
        It is today's.
    """

    supply: Supply
    week: int
    earliest: int
    latest: int | None
    day: date
    arrival: date
    sheets: int
    money: int
    chance: Fraction
    firm: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Projection:
    """Stock of a size at the end of each week, with today's order and later ones; below zero what is missing.

    Parameters
    ----------
    name, glass
        Of the size.
    median
        By week.
    bands
        Share and both ends, by week.
    unordered
        Median where nothing is ordered.
    levels
        Reorder point in each week, None where nobody looks.
    short
        Share of the futures that miss sheets at the end of a week.
    """

    name: str
    glass: str
    median: tuple[int, ...]
    bands: tuple[tuple[Fraction, tuple[int, ...], tuple[int, ...]], ...]
    unordered: tuple[int, ...]
    levels: tuple[int | None, ...]
    short: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Orders by week, and the stock that they lead to."""

    weeks: int
    orders: tuple[PlannedOrder, ...]
    stock: tuple[Projection, ...]


def calendar_of(advice: Advice) -> Calendar:
    """The calendar of the weeks that were forecast."""
    weeks = advice.review.paths.weeks
    orders = [order for size in advice.sizes for order in planned(size, advice, weeks)]
    orders.sort(key=lambda o: (o.week, o.supply.supplier, o.supply.glass, o.supply.name))
    return Calendar(
        weeks=weeks,
        orders=tuple(orders),
        stock=tuple(_projection(size, advice, weeks) for size in advice.sizes),
    )


def planned(size: SizeAdvice, advice: Advice, weeks: int) -> Iterable[PlannedOrder]:
    """The orders of one size, first to last."""
    receiving = advice.review.receiving
    if size.bridge is not None:
        yield PlannedOrder(
            supply=size.bridge.supply,
            week=0,
            earliest=0,
            latest=0,
            day=receiving.order_day(0),
            arrival=size.bridge.arrival,
            sheets=size.bridge.sheets,
            money=size.bridge.money,
            chance=Fraction(1),
            firm=True,
        )
    reviews = np.array([week for week in size.choice.start.lines.reviews if week < weeks])
    made = size.run.orders[:, : len(reviews)]
    number = np.cumsum(made > 0, axis=1)
    for n in range(1, len(reviews) + 1):
        has = (number >= n).any(axis=1)
        if 2 * int(has.sum()) < len(made):
            break
        at = np.argmax(number >= n, axis=1)
        week = np.where(has, reviews[at], NEVER)
        sheets = int(quantile_of(made[has, at[has]], 0.5))
        middle, late = int(quantile_of(week, 0.5)), int(quantile_of(week, 0.9))
        day = receiving.order_day(middle)
        yield PlannedOrder(
            supply=size.supply,
            week=middle,
            earliest=int(quantile_of(week, 0.1)),
            latest=None if late == NEVER else late,
            day=day,
            arrival=receiving.working(day + timedelta(days=size.supply.lead_days)),
            sheets=sheets,
            money=glass_cost(size.supply, sheets),
            chance=Fraction(int(has.sum()), len(made)),
            firm=middle == 0,
        )


def _projection(size: SizeAdvice, advice: Advice, weeks: int) -> Projection:
    stock = size.run.stock[:, :weeks]
    start = size.choice.start
    alone = start.on_hand + np.cumsum(start.comes)[None, :weeks] - np.cumsum(start.demand[:, :weeks], axis=1)
    levels: list[int | None] = [None] * weeks
    for week, level in zip(start.lines.reviews, size.choice.way.levels, strict=True):
        if week < weeks:
            levels[week] = int(level)
    return Projection(
        name=size.supply.name,
        glass=size.supply.glass,
        median=_line(stock, Fraction(1, 2)),
        bands=tuple((share, _line(stock, (1 - share) / 2), _line(stock, (1 + share) / 2)) for share in BANDS),
        unordered=_line(alone, Fraction(1, 2)),
        levels=tuple(levels),
        short=tuple(Fraction(int(n), len(stock)) for n in (stock < 0).sum(axis=0)),
    )


def _line(stock: Any, share: Fraction) -> tuple[int, ...]:
    return tuple(int(n) for n in quantile_of(stock, float(share)))
