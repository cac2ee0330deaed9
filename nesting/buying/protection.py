"""How long the stock lasts, and how much must be ordered today so that it lasts until the next order is here.

An order of today cannot help before it comes, and the next look at the stock can help no earlier than what is
ordered then. Between those two the stock must last with the wanted service; that demand, over lead time and review
together, is the reorder point (order-up-to level of a periodic review, any inventory textbook).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import numpy as np

from ..forecast.futures import quantile_of
from .lead_time import Receiving, lead_draws, longest_days, usable_weeks
from .paths import Paths
from .settings import Arriving, StockNow, Supply
from .textbook import ReorderPoint, reorder_point


@dataclass(frozen=True, slots=True, kw_only=True)
class Protection:
    """What one size needs until the order after the next one is here.

    Parameters
    ----------
    service
        Wanted share of futures in which the stock lasts.
    on_hand, on_order
        Sheets now.
    arrival
        Expected day of an order of today.
    until
        Weeks that the stock must last, median of the futures: those before the next look's order can be cut.
    reorder_point
        Quantile of the demand over that time at the wanted service, whole sheets.
    mean_demand, spread_demand, median_demand
        Mean, standard deviation and median of the demand over that time.
    lasts
        Futures in which the stock lasts through each forecast week, nothing being ordered.
    short
        Sheets short at the end of each week on the mean, nothing being ordered.
    lasting
        Futures in which it lasts until the next look's order is here, nothing being ordered today.
    futures
        How many were looked at.
    lack
        Sheets to order today for the wanted service; below zero what could be done without.
    textbook
        The same reorder point by the formula.
    """

    service: Fraction
    on_hand: int
    on_order: int
    arrival: date
    until: int
    reorder_point: int
    mean_demand: float
    spread_demand: float
    median_demand: int
    lasts: tuple[int, ...]
    short: tuple[float, ...]
    lasting: int
    futures: int
    lack: int
    textbook: ReorderPoint

    @property
    def need(self) -> int:
        """The fewest sheets to order today for the wanted service."""
        return max(0, self.lack)

    @property
    def lasts_now(self) -> Fraction:
        """Share of futures in which the stock lasts, nothing being ordered today."""
        return Fraction(self.lasting, self.futures)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Lead times of one size in all futures, as weeks.

    Parameters
    ----------
    reviews
        Weeks in which the stock is looked at, from 0 on.
    usable
        First week that can cut from what is ordered at each look, int64 of shape (futures, reviews).
    """

    reviews: tuple[int, ...]
    usable: Any


def lines_of(supply: Supply, paths: Paths, receiving: Receiving, review_weeks: int, seed: int) -> Lines:
    """Deliveries of one supplier in all futures."""
    reviews = tuple(range(0, int(paths.demand.shape[1]), review_weeks))
    days = lead_draws(supply, paths.futures, len(reviews), seed)
    begin = np.array([(receiving.order_day(week) - receiving.today).days for week in reviews], np.int64)
    # tables of a few lengths only, so that every size finds the one of the size before
    span = -(-(int(begin[-1]) + longest_days(supply)) // 256) * 256
    usable = usable_weeks(receiving, span)[begin[None, :] + days]
    return Lines(reviews=reviews, usable=usable)


def arrivals(arriving: Iterable[Arriving], name: str, receiving: Receiving, weeks: int) -> Any:
    """Sheets on order by the week that can cut from them, int64; what is overdue counts as coming tomorrow."""
    out = np.zeros(weeks, np.int64)
    for a in arriving:
        if a.name == name:
            late = a.day < receiving.today
            week = receiving.usable(receiving.today + timedelta(days=1) if late else a.day)
            if week < weeks:
                out[week] += a.sheets
    return out


def stock_without_orders(paths: Paths, name: str, stock: StockNow, receiving: Receiving) -> Any:
    """Stock at the end of each week where nothing is ordered; below zero what is missing. (futures, weeks)"""
    comes = arrivals(stock.arriving, name, receiving, int(paths.demand.shape[1]))
    start: int = stock.on_hand.get(name, 0)
    return start + np.cumsum(comes)[None, :] - np.cumsum(paths.of(name), axis=1)


def lacks_of(net: Any, lines: Lines) -> Any:
    """Sheets that each future lacks between an order of today and the next look's order, int64 of shape (futures,).

    Below zero what is left at its lowest.
    """
    weeks = np.arange(net.shape[1])
    begin, end = _window(lines, net.shape[1])
    inside = (weeks >= begin[:, None]) & (weeks < end[:, None])
    return -np.where(inside, net, np.iinfo(np.int64).max).min(axis=1)


def _window(lines: Lines, weeks: int) -> tuple[Any, Any]:
    """First week that an order of today helps, and the first that the next look's order helps."""
    begin = np.minimum(lines.usable[:, 0], weeks - 1)
    following = lines.usable[:, 1] if len(lines.reviews) > 1 else np.full(len(begin), weeks)
    return begin, np.minimum(np.maximum(following, begin + 1), weeks)


def protection(
    supply: Supply,
    paths: Paths,
    stock: StockNow,
    receiving: Receiving,
    *,
    service: Fraction,
    review_weeks: int,
    seed: int = 0,
) -> Protection:
    """What a size needs.

    Parameters
    ----------
    supply
        Its terms.
    paths
        Joint demand.
    stock
        What is there and on order.
    receiving
        Today and the working days.
    service
        Wanted, over 0 and under 1.
    review_weeks
        Weeks from one look to the next.
    seed
        Of the lead times.
    """
    demand = paths.of(supply.name)
    lines = lines_of(supply, paths, receiving, review_weeks, seed)
    net = stock_without_orders(paths, supply.name, stock, receiving)
    _, end = _window(lines, net.shape[1])
    over = np.take_along_axis(np.cumsum(demand, axis=1), end[:, None] - 1, axis=1)[:, 0]
    lacks = lacks_of(net, lines)
    seen = net[:, : paths.weeks]
    level = int(quantile_of(over, float(service)))
    return Protection(
        service=service,
        on_hand=stock.on_hand.get(supply.name, 0),
        on_order=sum(a.sheets for a in stock.arriving if a.name == supply.name),
        arrival=receiving.working(receiving.today + timedelta(days=supply.lead_days)),
        until=int(quantile_of(end, 0.5)),
        reorder_point=level,
        mean_demand=float(over.mean()),
        spread_demand=float(over.std()),
        median_demand=int(quantile_of(over, 0.5)),
        lasts=tuple(int(n) for n in (np.minimum.accumulate(seen, axis=1) >= 0).sum(axis=0)),
        short=tuple(float(x) for x in np.maximum(0, -seen).mean(axis=0)),
        lasting=int((lacks <= 0).sum()),
        futures=paths.futures,
        lack=int(quantile_of(lacks, float(service))),
        textbook=_by_the_book(demand[:, : paths.weeks], supply, review_weeks, service),
    )


def _by_the_book(demand: Any, supply: Supply, review_weeks: int, service: Fraction) -> ReorderPoint:
    """The formula with mean and spread of single weeks of the futures, lead time and review in weeks."""
    return reorder_point(
        demand=float(demand.mean()),
        spread=float(demand.std()),
        lead=supply.lead_days / 7 + review_weeks,
        lead_spread=supply.lead_spread / 7,
        service=float(service),
    )
