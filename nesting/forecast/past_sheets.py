"""Sheets of past weeks as the rivals see them: one row a week that was open."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from ..demand.book import OrderBook
from ..demand.season import season_of
from ..week_sheets.counts import WeekCount
from .rivals import Past


def sheets_of(counts: Iterable[WeekCount], series: Sequence[str], weeks: Sequence[int]) -> Any:
    """Whole sheets by week and series; a week without a count took none.

    Parameters
    ----------
    counts
        In any order; other weeks and sizes are passed over.
    series
        Names of the stock sizes.
    weeks
        The rows.

    Returns
    -------
    array
        int64 of shape (weeks, series).
    """
    row = {week: k for k, week in enumerate(weeks)}
    column = {name: s for s, name in enumerate(series)}
    out = np.zeros((len(row), len(column)), np.int64)
    for count in counts:
        if count.week in row:
            for name, sheets in count.sheets.items():
                if name in column:
                    out[row[count.week], column[name]] += sheets
    return out


def past_of(book: OrderBook, counts: Iterable[WeekCount], series: Sequence[str], ahead: int) -> Past:
    """The past of a book as it stands, for the next `ahead` weeks; the season is that of its orders.

    Parameters
    ----------
    book
        Looked at on the day of the forecast.
    counts
        What its past weeks took; later ones are passed over.
    series
        Names of the stock sizes.
    ahead
        Weeks wanted, the week of the day being the first.
    """
    first = book.this_week
    weeks = [w for w in range(book.first_week, first) if w not in book.shut]
    wanted = [w for w in range(first, first + ahead) if w not in book.shut]
    row = {week: k for k, week in enumerate(range(book.first_week, first))}
    orders, opened = np.zeros(len(row)), np.zeros(len(row))
    opened[[row[week] for week in weeks]] = 1.0
    for order in book.past:
        if order.week in row:
            orders[row[order.week]] += 1
    season = season_of(book.first_week, orders, opened)
    return Past(
        weeks=np.array(weeks, np.int64),
        ahead=np.array(wanted, np.int64),
        counts=sheets_of(counts, series, weeks).astype(np.float64),
        season=season.factor(weeks),
        season_ahead=season.factor(wanted),
    )
