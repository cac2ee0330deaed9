"""Open orders: what order lists hold, as lines of the order book."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise

from panewright.io.order_lists import Orders
from panewright.io.problems import Problems
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.products import product_of
from panewright.nesting.text import tr, tr_count


def open_orders(orders: Orders, today: date, *, problems: Problems | None = None) -> list[BookedOrder]:
    """The rows of order lists as open orders.

    Parameters
    ----------
    orders
        From `read_orders`.
    today
        Day of the look: the booking day of rows that name none, or one that is still to come, and the due day
        of rows that name none.
    problems
        Is told how many rows name no due day, and how many were booked after today.

    Returns
    -------
    list of BookedOrder
        One a row, in their order.
    """
    found = []
    undated = ahead = 0
    for start, end in pairwise((0, *orders.ends)):
        panels = tuple(orders.panels[start:end])
        first = panels[0]
        undated += first.due is None
        ahead += first.booked is not None and first.booked > today
        found.append(
            BookedOrder(
                order=first.order,
                product=first.product or product_of(panels),
                booked=min(first.booked or today, today),
                due=first.due or today,
                panels=panels,
            )
        )
    if problems is not None:
        _tell(undated, ahead, today, problems)
    return found


def _tell(undated: int, ahead: int, today: date, problems: Problems) -> None:
    if undated:
        problems.note(
            tr("open orders"),
            tr_count(
                "{count} row names no due day and counts in the first week",
                "{count} rows name no due day and count in the first week",
                undated,
            ),
            tr("fill in due or wanted"),
        )
    if ahead:
        problems.note(
            tr("open orders"),
            tr_count(
                "{count} row was booked after {day} and counts as booked on that day",
                "{count} rows were booked after {day} and count as booked on that day",
                ahead,
                day=today.isoformat(),
            ),
        )


def history_beside(history: Iterable[BookedOrder], opened: Sequence[BookedOrder]) -> list[BookedOrder]:
    """A history without the open lines of orders that stand in the lists of open orders: these are newer."""
    names = {line.order for line in opened}
    return [
        line
        for line in history
        if line.order not in names or line.cut is not None or line.cancelled is not None
    ]
