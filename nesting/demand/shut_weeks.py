"""Weeks in which nothing is cut, from the shop's shut times and its working days."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from ..cutting_days import CuttingDays
from .weeks import monday, week_of


def shut_weeks(times: Iterable[tuple[date, date]], days: CuttingDays) -> frozenset[int]:
    """The weeks of which every working day is shut or free; half shut weeks are no shut weeks.

    Parameters
    ----------
    times
        First and last days of the times in which nothing is cut.
    days
        Working days of the week, and single free ones.
    """
    shut = set(days.free)
    for first, last in times:
        shut |= {first + timedelta(days=n) for n in range((last - first).days + 1)}
    return frozenset(
        week
        for week in {week_of(day) for day in shut}
        if all(monday(week) + timedelta(days=n) in shut for n in days.working)
    )
