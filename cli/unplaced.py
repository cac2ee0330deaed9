"""Unplaced panels for people: equal pieces in one line, as in ``K-1/base/1-3, 7``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from panewright.nesting.plan import Unplaced

SHOWN_RANGES = 6
"""Ranges of piece numbers in one line; the pieces beyond are counted alone."""


@dataclass(frozen=True, slots=True)
class UnplacedRow:
    """Pieces of one panel that cannot be placed for one reason.

    Parameters
    ----------
    label
        Id of the panel, with ranges of piece numbers.
    pieces
        How many they are.
    rule, reason
        As in the plan.
    due
        Day on which they are due, where it is known.
    """

    label: str
    pieces: int
    rule: str
    reason: str
    due: date | None = None


def unplaced_rows(
    unplaced: Iterable[Unplaced], due: Mapping[str, date | None] | None = None
) -> list[UnplacedRow]:
    """One row for each panel and reason, what is due first at the top, else in the order in which they stand.

    Parameters
    ----------
    unplaced
        As in the plan.
    due
        Due days by panel id.
    """
    days = due or {}
    groups: dict[tuple[str, str, str, date | None], list[int]] = {}
    for one in unplaced:
        stem, _, number = one.panel.rpartition("/")
        if not (stem and number.isascii() and number.isdecimal() and len(number) <= 9):
            stem, number = one.panel, "0"  # an id without a number, from a file of another hand
        key = (stem, one.rule, one.reason, days.get(one.panel))
        groups.setdefault(key, []).append(int(number))
    rows = [
        UnplacedRow(_label(stem, sorted(numbers)), len(numbers), rule, reason, day)
        for (stem, rule, reason, day), numbers in groups.items()
    ]
    return sorted(rows, key=lambda row: row.due or date.max)


def _label(stem: str, numbers: Sequence[int]) -> str:
    if numbers == [0]:
        return stem
    ranges: list[list[int]] = []
    for number in numbers:
        if ranges and number == ranges[-1][1] + 1:
            ranges[-1][1] = number
        else:
            ranges.append([number, number])
    words = [str(a) if a == b else f"{a}-{b}" for a, b in ranges[:SHOWN_RANGES]]
    return f"{stem}/{', '.join(words)}{', ...' if len(ranges) > SHOWN_RANGES else ''}"
