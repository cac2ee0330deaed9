"""Quality over time: when a search found what, and what a whole set had at some moments of its runs.

One run gives all its moments: what a shorter run would have had stands in the log of the longer one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

Clock = Callable[[], float]
MOMENTS: Final = (0.2, 1.0, 5.0, 10.0, 60.0)
"""Moments at which the totals of a set are given. [CPU s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What a search had after so many seconds and steps; cost and bound in the unit of the problem."""

    seconds: float
    steps: int
    cost: int
    sheets: int
    bound: int


class Log:
    """Keeps an entry whenever a plan gets cheaper or a bound higher.

    Parameters
    ----------
    clock
        Seconds; the log begins when it is made.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._began = clock()
        self._entries: list[Entry] = []

    @property
    def entries(self) -> tuple[Entry, ...]:
        """In order of time: costs never rise, bounds never fall."""
        return tuple(self._entries)

    def seconds(self) -> float:
        """Since the log began."""
        return self._clock() - self._began

    def see(self, *, cost: int, sheets: int, bound: int, steps: int) -> None:
        """Look at the state of the search; called between its slices."""
        last = self._entries[-1] if self._entries else None
        if last is not None and cost >= last.cost and bound <= last.bound:
            return
        if last is not None and cost >= last.cost:
            cost, sheets = last.cost, last.sheets
        if last is not None:
            bound = max(bound, last.bound)
        self._entries.append(
            Entry(seconds=self.seconds(), steps=steps, cost=cost, sheets=sheets, bound=bound)
        )


def state_at(entries: Sequence[Entry], seconds: float) -> Entry | None:
    """The last entry that is no later than this moment; None before the first whole plan."""
    found = None
    for entry in entries:
        if entry.seconds > seconds:
            break
        found = entry
    return found


def moments(limit: float | None) -> tuple[float, ...]:
    """The moments that lie within a limit, and the limit itself; none where seconds are no limit. [s]"""
    return () if limit is None else (*(m for m in MOMENTS if m < limit), limit)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetState:
    """A whole set at one moment.

    Parameters
    ----------
    seconds
        The moment, the same for every problem; None: the end of each run.
    problems, planned, proven
        Problems, those with a whole plan, those whose plan met the program's own bound.
    cost, sheets, bound
        Sums over the problems with a plan.
    """

    seconds: float | None
    problems: int
    planned: int
    proven: int
    cost: int
    sheets: int
    bound: int


def set_state(logs: Iterable[Sequence[Entry]], seconds: float | None) -> SetState:
    """The state of all problems at one moment, or at their ends."""
    every = list(logs)
    states = [
        entry
        for entries in every
        for entry in [state_at(entries, float("inf") if seconds is None else seconds)]
        if entry is not None
    ]
    return SetState(
        seconds=seconds,
        problems=len(every),
        planned=len(states),
        proven=sum(e.cost <= e.bound for e in states),
        cost=sum(e.cost for e in states),
        sheets=sum(e.sheets for e in states),
        bound=sum(e.bound for e in states),
    )
