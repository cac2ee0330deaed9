"""The law of the demand as the order book tells it: products, season, levels, booking curve, what is open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from .book import BookedOrder, OrderBook
from .booking import BookingCurve, booking_curve
from .called_off import CalledOff, called_off
from .content import Pools, pools_of
from .counted import Products, products_of
from .exposure import WeekCounts, open_weeks, week_counts
from .levels import Levels, levels_of
from .season import Season, season_of
from .weeks import monday

REMEMBERED: Final = 156
"""Weeks of the past that the levels are told by; what came before is no news of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenOrders:
    """Open orders in the coming weeks.

    Parameters
    ----------
    orders
        Those that are due within the weeks looked at, and all that are overdue.
    week
        Counted from this week; overdue ones and those due in a shut week are where they can be cut.
    product
        Of each.
    stays
        Chance that it is not called off.
    expected
        Whether it belongs to the demand of its week: overdue ones belong to weeks that are over.
    begun
        Orders of this week that are cut already, by product.
    """

    orders: tuple[BookedOrder, ...]
    week: Any
    product: Any
    stays: Any
    expected: Any
    begun: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandModel:
    """All that futures are drawn from.

    Parameters
    ----------
    first
        The first week, that of the day of the look.
    past_orders
        What contents are drawn from.
    exposure
        Season of each coming week, 0.0 where the shop is shut, shape (weeks,).
    known
        Share of each coming week's orders that is booked by now, shape (weeks, products).
    """

    first: int
    products: Products
    past: WeekCounts
    season: Season
    levels: Levels
    booking: BookingCurve
    called_off: CalledOff
    past_orders: tuple[BookedOrder, ...]
    pools: Pools
    exposure: Any
    known: Any
    open: OpenOrders

    @property
    def weeks(self) -> int:
        """Coming weeks."""
        return len(self.exposure)


def demand_of(
    book: OrderBook, *, weeks: int = 8, use_open: bool = True, half_life: float | None = None
) -> DemandModel:
    """Learn the law from what is known on the day of the look.

    Parameters
    ----------
    book
        See `OrderBook.as_known`.
    weeks
        Coming weeks, this one included.
    use_open
        Take the open orders as they are; else nothing is taken as booked.
    half_life
        Of the contents, see `pools_of`. [weeks]
    """
    past_orders = tuple(o for o in book.past if o.cancelled is None)
    counted = tuple(o for o in past_orders if o.week >= book.first_week)
    products = products_of(counted)
    past = week_counts(book, products)
    season = season_of(past.first, past.counts.sum(axis=1), past.opened)
    over = past.first + np.arange(len(past.opened))
    recent = slice(max(0, len(over) - REMEMBERED), None)
    coming = book.this_week + np.arange(weeks)
    opened = open_weeks(book, past, weeks)
    booking = booking_curve(counted, products, book.today, book.first_week)
    gone = called_off(book)
    into = (book.today - monday(book.this_week)).days
    known = np.array([booking.shares(7 * h - into) for h in range(weeks)]).reshape(weeks, len(products))
    return DemandModel(
        first=book.this_week,
        products=products,
        past=past,
        season=season,
        levels=levels_of(past.counts[recent], season.factor(over[recent]) * past.opened[recent]),
        booking=booking,
        called_off=gone,
        past_orders=past_orders,
        pools=pools_of(past_orders, products, book.this_week, half_life),
        exposure=season.factor(coming) * opened,
        known=known if use_open else np.zeros_like(known),
        open=_open(book, products, gone, opened, use_open),
    )


def _open(book: OrderBook, products: Products, gone: CalledOff, opened: Any, use_open: bool) -> OpenOrders:
    weeks = len(opened)
    found = [o for o in book.open if o.week < book.this_week + weeks] if use_open else []
    due = [o.week - book.this_week for o in found]
    begun = np.zeros(len(products), dtype=np.int64)
    if use_open:
        for o in book.orders:
            if o.cut is not None and o.week == book.this_week:
                begun[products.index(o)] += 1
    return OpenOrders(
        orders=tuple(found),
        week=np.array([_cuttable(max(0, k), opened) for k in due], dtype=np.int64),
        product=np.array([products.index(o) for o in found], dtype=np.int64),
        stays=np.array([gone.stays((o.due - book.today).days) for o in found]),
        expected=np.array([k >= 0 for k in due], dtype=bool),
        begun=begun,
    )


def _cuttable(week: int, opened: Any) -> int:
    """The last week up to this one in which the shop cuts; if there is none, the next; else the week itself."""
    there = np.flatnonzero(opened > 0)
    if len(there) == 0:
        return week
    before = there[there <= week]
    return int(before[-1] if len(before) else there[0])
