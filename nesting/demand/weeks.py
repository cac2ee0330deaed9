"""Weeks as whole numbers: Monday to Sunday, as ISO 8601 has them, counted on without years."""

from __future__ import annotations

from datetime import date

SEASON: int = 52
"""Weeks of a season."""


def week_of(day: date) -> int:
    """The week that a day lies in.

    Examples
    --------
    >>> week_of(date(2027, 3, 8)) - week_of(date(2027, 3, 7))
    1
    """
    return (day.toordinal() - 1) // 7


def monday(week: int) -> date:
    """The first day of a week.

    Examples
    --------
    >>> monday(week_of(date(2027, 3, 11)))
    datetime.date(2027, 3, 8)
    """
    return date.fromordinal(7 * week + 1)


def week_name(week: int) -> str:
    """Its name by ISO 8601.

    Examples
    --------
    >>> week_name(week_of(date(2027, 3, 11)))
    '2027-W10'
    """
    year, number, _ = monday(week).isocalendar()
    return f"{year}-W{number:02}"
