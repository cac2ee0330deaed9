"""Days for sheets in a given order: as many on a day as the table and the edging line take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ..cutting_days import CuttingDays, Load
from ..lead_days import is_working
from .sheets import DaySheet


@dataclass(frozen=True, slots=True)
class DayLimits:
    """What is cut and edged on a working day.

    Parameters
    ----------
    table
        What the table cuts, and the working days.
    edging
        Edges for the edging line that may come off the table on a day, or None for no limit. [nm]
    """

    table: CuttingDays
    edging: int | None = None

    def first_day(self, day: date) -> date:
        """The first working day from this day on."""
        while not is_working(day, self.table):
            day += timedelta(days=1)
        return day

    def has_room(self, taken: Load, edging: int, sheet: DaySheet) -> bool:
        """Whether a day takes one more sheet; an empty day takes any."""
        if not taken.sheets:
            return True
        if self.edging is not None and edging + sheet.edging > self.edging:
            return False
        return self.table.has_room(taken, sheet.load)

    def holds(self, sheet: DaySheet) -> bool:
        """Whether a sheet asks for no more than a day has."""
        seconds = self.table.seconds
        return (self.edging is None or sheet.edging <= self.edging) and (
            seconds is None or sheet.load.seconds <= seconds
        )


def fill_days(start: date, sheets: Sequence[DaySheet], limits: DayLimits, *, wait: bool = True) -> list[date]:
    """The cutting day of each sheet, when they are cut in this order.

    Parameters
    ----------
    start
        The first day that counts.
    sheets
        In cutting order; none before one that must be cut first.
    limits
        Of a day. A sheet that asks for more than a day has, has a day of its own.
    wait
        Sheets that are not here yet let the others go first; else all of them are taken to be here.

    Returns
    -------
    list of date
        One a sheet. Without any limit all that are here are cut on the first day.
    """
    out: list[date | None] = [None] * len(sheets)
    left = list(range(len(sheets)))
    at = {sheet.key: i for i, sheet in enumerate(sheets)}
    first = [[at[key] for key in sheet.first if key in at] for sheet in sheets]
    day = limits.first_day(start)
    while left:
        taken, edging, later = Load(), 0, []
        for place, i in enumerate(left):
            sheet = sheets[i]
            # an offcut is there once its sheet is cut: on the same day, where that comes first; so are racks
            here = (not wait or sheet.not_before is None or sheet.not_before <= day) and all(
                out[of] is not None for of in first[i]
            )
            if not here:
                later.append(i)
                continue
            if not limits.has_room(taken, edging, sheet):
                later += left[place:]
                break
            out[i] = day
            taken += sheet.load
            edging += sheet.edging
        left = later
        day = limits.first_day(day + timedelta(days=1))
    return [day for day in out if day is not None]
