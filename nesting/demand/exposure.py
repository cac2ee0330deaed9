"""Orders by weeks and products, and which weeks count.

A week in which the shop is shut says nothing of demand. Such weeks are given, or seen: nothing at all was
cut in a shop that is busy in nearly every other week.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

import numpy as np

from .book import OrderBook
from .counted import Products
from .weeks import monday, week_of

BUSY: Final = 5
"""Orders in the middle week of a shop in which an empty week is noticed."""
MOST_EMPTY: Final = 1 / 13
"""Share of weeks that may be empty: four a year. Where more are, empty weeks belong to the demand."""
QUIET: Final = 0.2
"""A tenth of the other weeks may lie below this share of the middle one; else the demand is lumpy."""


@dataclass(frozen=True, slots=True)
class WeekCounts:
    """Orders cut in the weeks that are over.

    Parameters
    ----------
    first
        The first week.
    counts
        int64 of shape (weeks, products).
    opened
        1.0 for a week in which glass was cut, 0.0 for one in which the shop was shut, shape (weeks,).
    seen_shut
        Weeks that were not given as shut but look so.
    """

    first: int
    counts: Any
    opened: Any
    seen_shut: tuple[int, ...] = ()

    @property
    def weeks(self) -> int:
        """Weeks that tell of demand."""
        return int(self.opened.sum())


def week_counts(book: OrderBook, products: Products) -> WeekCounts:
    """Count the orders by the week in which they were cut.

    Weeks before `book.first_week` are left out: their orders are not all known.
    """
    last = max(book.this_week, book.first_week)
    counts = np.zeros((last - book.first_week, len(products)), dtype=np.int64)
    for order in book.past:
        if order.week >= book.first_week:
            counts[order.week - book.first_week, products.index(order)] += 1
    given = np.array([w not in book.shut for w in range(book.first_week, last)], dtype=np.float64)
    total = counts.sum(axis=1)
    # glass that was cut all the same tells that the shop was not shut
    given[total > 0] = 1.0
    seen = np.flatnonzero((total == 0) & (given > 0)) if _steady(total[given > 0]) else np.zeros(0, np.int64)
    given[seen] = 0.0
    return WeekCounts(book.first_week, counts, given, tuple(book.first_week + int(k) for k in seen))


def _steady(total: Any) -> bool:
    busy = total[total > 0]
    if len(busy) == 0 or len(busy) < (1 - MOST_EMPTY) * len(total):
        return False
    middle = float(np.median(busy))
    return middle >= BUSY and float(np.quantile(busy, 0.1)) >= QUIET * middle


def open_weeks(book: OrderBook, past: WeekCounts, weeks: int) -> Any:
    """1.0 for each coming week in which glass is cut, else 0.0, shape (weeks,).

    A week that looks shut in every past year is taken as shut again.
    """
    coming = range(book.this_week, book.this_week + weeks)
    return np.array([float(w not in book.shut and not shut_again(past, w)) for w in coming])


def shut_again(past: WeekCounts, week: int) -> bool:
    """Whether the week of the same day of the year looks shut in every year of the history."""
    thursday = monday(week) + timedelta(days=3)
    days = thursday.replace(day=min(28, thursday.day)) if thursday.month == 2 else thursday
    before = []
    for year in range(thursday.year - 1, 0, -1):
        same = week_of(days.replace(year=year))
        if same < past.first:
            break
        if same < past.first + len(past.opened):
            before.append(same)
    return bool(before) and all(w in past.seen_shut for w in before)
