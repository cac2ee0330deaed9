"""The days on which the table cuts: how much it cuts on a working day, and which days are working days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
"""Names of the days of the week, Monday first."""


@dataclass(frozen=True, slots=True)
class Load:
    """What is set down for a day: sheets, and the seconds that they take."""

    sheets: int = 0
    seconds: int = 0

    def __add__(self, other: Load) -> Load:
        return Load(self.sheets + other.sheets, self.seconds + other.seconds)


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingDays:
    """What the table can do.

    Parameters
    ----------
    sheets
        Sheets and offcuts cut up on a working day, or None where the shop does not say.
    seconds
        Working time of the table on such a day, or None where the shop does not say. [s]
    a_sheet, a_cut
        Time to lay up a sheet and clear it away, and time of one score and break. [s]
    working
        Days of the week on which it cuts, Monday is 0; at least one.
    free
        Days on which it does not cut all the same.
    """

    sheets: int | None = None
    seconds: int | None = None
    a_sheet: int = 0
    a_cut: int = 0
    working: frozenset[int] = frozenset(range(5))
    free: frozenset[date] = frozenset()

    @property
    def limited(self) -> bool:
        """Whether the shop says how much it cuts on a day, so that sheets can be given days."""
        return self.sheets is not None or self.seconds is not None

    def load(self, cuts: int) -> Load:
        """What a sheet of so many cuts asks of the table."""
        return Load(1, self.a_sheet + self.a_cut * cuts)

    def has_room(self, taken: Load, more: Load) -> bool:
        """Whether a day that has `taken` set down takes `more` as well; an empty day takes any sheet."""
        if self.sheets is not None and taken.sheets + more.sheets > self.sheets:
            return False
        # a sheet that takes longer than a day has a day of its own
        return self.seconds is None or not taken.sheets or taken.seconds + more.seconds <= self.seconds

    def slots(self, start: date, loads: Sequence[Load], taken: Mapping[date, Load]) -> list[date]:
        """The cutting days of the next sheets, in their order.

        Parameters
        ----------
        start
            The first day that counts.
        loads
            What each of the sheets asks of the table.
        taken
            What is already set down for a day.

        Examples
        --------
        >>> days = CuttingDays(sheets=2).slots(date(2027, 3, 5), [Load(1)] * 3, {})
        >>> [d.isoformat() for d in days]
        ['2027-03-05', '2027-03-05', '2027-03-08']
        >>> days = CuttingDays(seconds=3600).slots(date(2027, 3, 4), [Load(1, 2000)] * 2, {})
        >>> [d.isoformat() for d in days]
        ['2027-03-04', '2027-03-05']
        """
        out: list[date] = []
        day, today = start, taken.get(start, Load())
        for load in loads if self.limited else ():
            while day.weekday() not in self.working or day in self.free or not self.has_room(today, load):
                day += timedelta(days=1)
                today = taken.get(day, Load())
            today += load
            out.append(day)
        return out
