"""How an order of sheets stands: orders open on the racks, and orders that are late."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from .sheets import DaySheet


@dataclass(frozen=True, slots=True, order=True)
class Standing:
    """Less is better, one field after another.

    Parameters
    ----------
    missed
        Late orders that are not complete on the first day either: one whose due day is over has the same claim as
        one that is due on that day, so that it does not wait for ever.
    delay
        Days by which orders are late, each by its latest panel, added up.
    longest
        The most days by which one is late.
    most_open
        Most orders that are open at once.
    open_sum
        Orders open, summed over the sheets.
    late
        Orders of which a panel is cut after its due day.
    sheets
        Sheets that count.
    """

    missed: int
    delay: int
    longest: int
    most_open: int
    open_sum: int
    late: int
    sheets: int

    @property
    def mean_open(self) -> Fraction:
        """Orders open while a sheet is cut, on the average."""
        return Fraction(self.open_sum, self.sheets) if self.sheets else Fraction(0)


def spans(sheets: Sequence[DaySheet], opened: Collection[str]) -> dict[str, tuple[int, int]]:
    """The first and the last sheet of every order, by place; one that is open already begins at 0.

    Parameters
    ----------
    sheets
        In cutting order.
    opened
        Orders of which sheets are cut already.
    """
    out: dict[str, tuple[int, int]] = {}
    for place, sheet in enumerate(sheets):
        for order in sheet.orders:
            first = out[order][0] if order in out else 0 if order in opened else place
            out[order] = (first, place)
    return out


def open_counts(sheets: Sequence[DaySheet], opened: Collection[str]) -> list[int]:
    """How many orders are open while each sheet is cut: begun by then and not closed before."""
    change = [0] * (len(sheets) + 1)
    for first, last in spans(sheets, opened).values():
        change[first] += 1
        change[last + 1] -= 1
    out, now = [], 0
    for step in change[:-1]:
        now += step
        out.append(now)
    return out


def delays(sheets: Sequence[DaySheet], days: Sequence[date], first: date = date.min) -> dict[str, int]:
    """By how many days the late orders are late, each by its latest panel; nothing is due before `first`."""
    out: dict[str, int] = {}
    for sheet, day in zip(sheets, days, strict=True):
        for order in sheet.orders:
            due = sheet.due_of(order)
            if due is not None and max(due, first) < day:
                out[order] = max(out.get(order, 0), (day - max(due, first)).days)
    return out


def standing(
    sheets: Sequence[DaySheet], days: Sequence[date], opened: Collection[str], first: date
) -> Standing:
    """How sheets stand that are cut in this order and on these days, of which `first` is the first working one."""
    late, counts = delays(sheets, days), open_counts(sheets, opened)
    return Standing(
        missed=len(delays(sheets, days, first)),
        delay=sum(late.values()),
        longest=max(late.values(), default=0),
        most_open=max(counts, default=0),
        open_sum=sum(counts),
        late=len(late),
        sheets=len(sheets),
    )
