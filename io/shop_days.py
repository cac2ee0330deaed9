"""The cutting days in the shop file: what is cut on a working day, days of the week, days without cutting."""

from __future__ import annotations

from datetime import date, datetime
from fractions import Fraction
from typing import Any, Final

from panewright.io.shop_keys import Section
from panewright.nesting.cutting_days import WEEKDAYS, CuttingDays
from panewright.nesting.text import tr

MOST_SHEETS: Final = 10_000
MOST_FREE: Final = 2_000
MINUTES: Final = 24 * 60
"""Of a day."""


def read_cutting_days(part: Section) -> CuttingDays:
    """The table ``[cutting_days]``; what it leaves out keeps its built-in value."""
    sheets = part.whole("sheets", 1, MOST_SHEETS)
    minutes = part.number("minutes", 1, MINUTES)
    a_sheet = part.number("minutes_a_sheet", 0, MINUTES)
    a_cut = part.number("minutes_a_cut", 0, MINUTES)
    if minutes is not None and not (a_sheet or a_cut):
        part.bad(
            "minutes",
            tr("nothing says how long a sheet takes"),
            tr("set minutes_a_sheet, minutes_a_cut, or both"),
        )
    elif minutes is not None and a_sheet is not None and a_sheet > minutes:
        part.bad(
            "minutes_a_sheet",
            tr("one sheet takes longer than the table has on a day"),
            tr("correct it, or the minutes of a day"),
        )
    working = _working(part)
    free = _free(part)
    part.close()
    return CuttingDays(
        sheets=sheets,
        seconds=None if minutes is None else max(1, _seconds(minutes)),
        a_sheet=_seconds(a_sheet),
        a_cut=_seconds(a_cut),
        working=working,
        free=free,
    )


def _seconds(minutes: Fraction | None) -> int:
    return 0 if minutes is None else round(60 * minutes)


def _listed(part: Section, key: str, most: int, example: str) -> list[Any]:
    value = part.raw(key)
    if value is None:
        return []
    if isinstance(value, list) and len(value) <= most:
        return value
    part.bad(key, tr("this is no list of days"), tr("write it as in {example}", example=example))
    return []


def _working(part: Section) -> frozenset[int]:
    given = part.has("working")
    words = _listed(part, "working", 7, '["mon", "tue"]')
    names = {name: i for i, name in enumerate(WEEKDAYS)}
    found = [names.get(word.strip().lower()[:3]) for word in words if isinstance(word, str)]
    days = frozenset(day for day in found if day is not None)
    if not given or not isinstance(part.raw("working"), list):
        return CuttingDays().working
    if len(found) < len(words) or None in found or not days:
        part.bad(
            "working",
            tr("these are no days of the week"),
            tr("write some of: {days}", days=", ".join(WEEKDAYS)),
        )
        return CuttingDays().working
    return days


def _free(part: Section) -> frozenset[date]:
    out = set()
    for value in _listed(part, "free", MOST_FREE, '["2027-12-24"]'):
        day = as_day(value)
        if day is None:
            part.bad("free", tr("the calendar has no such day"), tr("write it as 2027-12-24"), str(value))
            break
        out.add(day)
    return frozenset(out)


def as_day(value: object) -> date | None:
    """A day of TOML, as a date of its own or as a text."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    try:
        return date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None
