"""Weeks in which the shop cuts nothing, from its working days and the times that it is shut."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from ..cutting_days import CuttingDays
from .weeks import monday


def shut_weeks(
    first: int, last: int, days: CuttingDays, times: Iterable[tuple[date, date]]
) -> frozenset[int]:
    """The weeks from `first` to `last` of which every working day is free or lies in a time that the shop is shut.

    Parameters
    ----------
    first, last
        Weeks, both included.
    days
        Working days of the week, and single free days.
    times
        First and last day of each time, both included.
    """
    shut = list(times)
    free = set(days.free)
    out = set()
    for week in range(first, last + 1):
        working = [
            day
            for day in (monday(week) + timedelta(days=n) for n in range(7))
            if day.weekday() in days.working
        ]
        if all(day in free or any(a <= day <= b for a, b in shut) for day in working):
            out.add(week)
    return frozenset(out)
