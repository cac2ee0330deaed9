"""The days on which the table cuts: how many sheets a working day, and which days are working days."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
"""Names of the days of the week, Monday first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingDays:
    """What the table can do.

    Parameters
    ----------
    sheets
        Sheets and offcuts cut up on a working day, or None where the shop does not say.
    working
        Days of the week on which it cuts, Monday is 0; at least one.
    free
        Days on which it does not cut all the same.
    """

    sheets: int | None = None
    working: frozenset[int] = frozenset(range(5))
    free: frozenset[date] = frozenset()

    def slots(self, start: date, count: int, taken: Mapping[date, int]) -> list[date]:
        """The cutting days of the next sheets, in their order.

        Parameters
        ----------
        start
            The first day that counts.
        count
            Number of sheets.
        taken
            Sheets that are already set down for a day.

        Examples
        --------
        >>> days = CuttingDays(sheets=2).slots(date(2027, 3, 5), 3, {})
        >>> [d.isoformat() for d in days]
        ['2027-03-05', '2027-03-05', '2027-03-08']
        """
        out: list[date] = []
        day = start
        while self.sheets is not None and len(out) < count:
            if day.weekday() in self.working and day not in self.free:
                room = self.sheets - taken.get(day, 0)
                out += [day] * min(max(0, room), count - len(out))
            day += timedelta(days=1)
        return out
