"""The days of an order in a history: checked against each other in the row, and against today in the list."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from panewright.io.panel_due import read_due
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.nesting.text import tr, tr_count

FAR: Final = timedelta(days=731)
"""Days of one order that lie further apart are a slip of the pen."""
LONG: Final = timedelta(days=28)
"""What is open so long after its due day was probably cut or called off."""


@dataclass(frozen=True, slots=True)
class Days:
    """When an order came in, was due, was cut and was called off."""

    booked: date | None
    due: date
    cut: date | None
    cancelled: date | None

    @property
    def is_open(self) -> bool:
        """Neither cut nor called off."""
        return self.cut is None and self.cancelled is None


def read_days(cells: Cells) -> Days | None:
    """The days of a row, or None, with errors in the cells, where something is wrong with them."""
    booked, cut, cancelled = cells.day("booked"), cells.day("cut"), cells.day("cancelled")
    due = read_due(cells, drilled=bool(cells.text("openings")))
    given = [name for name in ("booked", "due", "wanted", "cut", "cancelled") if cells.text(name)]
    read = {"booked": booked, "due": due, "wanted": due, "cut": cut, "cancelled": cancelled}
    if any(read[name] is None for name in given):
        return None
    due = due or cut
    if due is None:
        cells.bad(
            "due",
            tr("neither a due day nor a day on which it was cut: it counts in no week"),
            tr("fill in due, wanted or cut"),
        )
        return None
    for name, day in (("cut", cut), ("cancelled", cancelled)):
        if booked is not None and day is not None and day < booked:
            cells.bad(
                name,
                tr("this is before it was booked, on {day}", day=booked.isoformat()),
                tr("correct one of the two days"),
            )
            return None
    known = [day for day in (booked, due, cut, cancelled) if day is not None]
    if max(known) - min(known) > FAR:
        cells.bad(
            given[-1],
            tr(
                "the days of this order lie more than two years apart ({first} and {last})",
                first=min(known).isoformat(),
                last=max(known).isoformat(),
            ),
            tr("correct the year"),
        )
        return None
    if cut is not None and cancelled is not None and cancelled < cut:
        cells.note("cancelled", tr("it was cut after that: it counts as cut"))
    return Days(booked, due, cut, cancelled)


def tell_of_days(rows: Sequence[tuple[Cells, Days]], today: date | None, problems: Problems) -> None:
    """What days say against today, or against the last day on which something happened.

    Parameters
    ----------
    rows
        All rows of the lists.
    today
        Day of the look, or None.
    problems
        Gets notes for what is open too long or lies ahead, errors for what lies years off.
    """
    happened = [day for _, d in rows for day in (d.booked, d.cut) if day is not None]
    last = today or max(happened, default=None)
    if last is None:
        return
    ahead: Counter[str] = Counter()
    for cells, days in rows:
        if days.is_open and days.due - last > FAR:
            cells.bad(
                "due" if cells.text("due") else "wanted",
                tr("this is more than two years ahead of {day}", day=last.isoformat()),
                tr("correct the year"),
            )
        elif days.is_open and last - days.due > LONG:
            late = (last - days.due).days
            cells.note(
                "cut",
                tr("it is open and was due on {day}, {count} days ago", day=days.due.isoformat(), count=late),
                tr("fill in when it was cut, or cancelled"),
            )
        if any(day is not None and day > last for day in (days.booked, days.cut)):
            ahead[cells.table.file] += 1
    for file, count in ahead.items():
        problems.note(
            file,
            tr_count(
                "{count} row was booked or cut after {day}: it is taken as it stood on that day",
                "{count} rows were booked or cut after {day}: they are taken as they stood on that day",
                count,
                day=last.isoformat(),
            ),
        )
