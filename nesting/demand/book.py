"""The order book: what was ordered, when it was booked, and when its glass was cut or is to be cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from ..panels import Panel
from .weeks import week_of


@dataclass(frozen=True, slots=True, kw_only=True)
class BookedOrder:
    """One line of the order book: what is ordered together and stays together.

    Parameters
    ----------
    order
        The customer's order; several lines may share it.
    product
        What orders are counted by, for example ``rectangle clear-12``.
    booked
        Day on which it came in, or None where nobody knows.
    due
        Day on which its glass was to be cut, as it was known when it was booked.
    cut
        Day on which its glass was really cut; None while it is open.
    cancelled
        Day on which it was called off, or None.
    remake
        It replaces panels that broke; remakes are counted apart, as a product of their own.
    panels
        All its panels.
    """

    order: str
    product: str
    booked: date | None
    due: date
    cut: date | None = None
    cancelled: date | None = None
    remake: bool = False
    panels: tuple[Panel, ...] = ()

    @property
    def week(self) -> int:
        """The week that it counts in: that in which it was cut, while it is open that in which it is due."""
        return week_of(self.cut or self.due)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderBook:
    """All orders that are known on a day.

    Parameters
    ----------
    today
        The day on which the book is looked at; its week is the first that is not over.
    orders
        In the order of the lists.
    first_week
        The first week from which on every order is known.
    shut
        Weeks in which nothing is cut.
    """

    today: date
    orders: tuple[BookedOrder, ...]
    first_week: int
    shut: frozenset[int] = frozenset()

    @property
    def this_week(self) -> int:
        """The week of today, which is not over yet."""
        return week_of(self.today)

    @property
    def past(self) -> tuple[BookedOrder, ...]:
        """What was cut in weeks that are over."""
        return tuple(o for o in self.orders if o.cut is not None and week_of(o.cut) < self.this_week)

    @property
    def open(self) -> tuple[BookedOrder, ...]:
        """What is not cut yet and was not called off; what is overdue too."""
        return tuple(o for o in self.orders if o.cut is None and o.cancelled is None)

    def as_known(self, day: date) -> OrderBook:
        """The book as it stood on an earlier day: the only door to the past for a back-test.

        An order booked later is not there, one cut or called off later is open. Where the booking day is not
        known an order appears when it is cut, so that nothing is known before its time.
        """
        return replace(self, today=day, orders=tuple(_known(self.orders, day)))


def _known(orders: Iterable[BookedOrder], day: date) -> Iterable[BookedOrder]:
    for o in orders:
        came = o.booked or o.cut or o.due
        if came > day:
            continue
        cut = o.cut if o.cut is not None and o.cut < day else None
        if o.booked is None and cut is None and o.cut is not None:
            continue
        gone = o.cancelled if o.cancelled is not None and o.cancelled <= day else None
        yield o if (cut, gone) == (o.cut, o.cancelled) else replace(o, cut=cut, cancelled=gone)
