"""Runs of the ordered searches on the glass-cutting challenge of 2018, every value from a checked plan.

One run gives the values of all its moments. The plan of each moment goes the way of every plan: its text is
written and read again, the program's checker replays it, and the published rules are held against the table
of nodes that it becomes.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Protocol

from panewright.io.bench_challenge_check import broken_rules, objective, read_table
from panewright.io.bench_challenge_data import Challenge, read_challenge
from panewright.io.bench_challenge_readings import readings
from panewright.io.bench_challenge_solution import nodes_of, table_text
from panewright.io.bench_log import Clock
from panewright.io.bench_run import Limits, memory_peak, pass_check, plan_of
from panewright.io.plan_file import dumps
from panewright.io.plan_reader import loads
from panewright.nesting.each import each
from panewright.nesting.errors import PlanFault
from panewright.nesting.optimizer.instance import Instance
from panewright.nesting.ordered.laid import Laid
from panewright.nesting.ordered.search import OrderedSearch
from panewright.nesting.pace import Pace
from panewright.nesting.text import tr
from panewright.nesting.units import mm

MOMENTS: Final = (2.0, 10.0, 60.0, 180.0)
"""Moments at which the values are read off. [CPU s]"""
AIMED: Final = 10.0
"""Beams are made to end at the moments from this one on: one that took most of two seconds would be missed at ten. [s]"""
UPRIGHT: Final = 1
"""The first cuts of a plate are upright, whatever the search could make of level ones."""
_WARM: Final = 40
_FEW: Final = 4
"""Steps and items of a run that is not measured: it brings the compiled kernels in."""


class Searches(Protocol):
    """What is needed of a search."""

    @property
    def steps(self) -> int:
        """Counted search steps."""

    @property
    def finished(self) -> bool:
        """Whether there is nothing left to try."""

    @property
    def patterns(self) -> list[Laid]:
        """The best plan so far, in cutting order."""

    def start(self) -> None:
        """Make the first whole plan."""

    def advance(self) -> bool:
        """Search one slice; false when there is nothing left to search."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """The best plan after so many seconds and steps, by its objective. [s, mm2]"""

    seconds: float
    steps: int
    value: int
    patterns: tuple[Laid, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """What a run had at a moment: the objective of the table of nodes, None before the first plan. [s, mm2]"""

    seconds: float
    value: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChallengeRun:
    """One instance.

    Parameters
    ----------
    name, panels, stacks, free
        Of the instance; `free` where every item has a stack of its own.
    moments
        In order of time, each from a plan that passed both checks.
    first
        Until the first whole plan. [CPU s]
    log
        Seconds, steps and objective whenever it got better.
    plates, steps, seconds, finished
        Of the end: plates taken, steps, CPU seconds, and whether there was nothing left to search.
    memory
        Most memory that the process has held, or None. [bytes]
    table, readings
        The solution as it is published, and how often it has what a stricter reading could forbid.
    """

    name: str
    panels: int
    stacks: int
    free: bool
    moments: tuple[Moment, ...]
    first: float
    log: tuple[tuple[float, int, int], ...]
    plates: int
    steps: int
    seconds: float
    finished: bool
    memory: int | None
    table: str
    readings: dict[str, int]

    @property
    def value(self) -> int:
        """Objective at the end. [mm2]"""
        return self.log[-1][2]

    def at(self, seconds: float) -> int | None:
        """Objective at a moment that was told. [mm2]"""
        return next(m.value for m in self.moments if m.seconds == seconds)


def moments_within(limit: float | None) -> tuple[float, ...]:
    """The moments within a limit, and the limit itself; for counted steps the end alone. [s]"""
    return (*(m for m in MOMENTS if limit is not None and m < limit), limit or float("inf"))


def search_of(challenge: Challenge, instance: Instance, seed: int) -> Searches:
    """The program's own search: in the order of the racks, or for what has none."""
    if any(p.rack for p in challenge.panels):
        return OrderedSearch(instance, seed=seed, frames=UPRIGHT, strict=False)
    from panewright.nesting.ordered.free_order import FreeOrderSearch

    return FreeOrderSearch(instance, seed=seed, frames=UPRIGHT)


def value_of(challenge: Challenge, instance: Instance, patterns: Sequence[Laid]) -> int:
    """The objective of patterns as the search holds them. [mm2]"""
    limits = challenge.limits
    last = patterns[-1].strips
    ends = [strip.end for strip in last]
    used = ends[-2] if last[-1].is_waste and len(last) > 1 else 0 if last[-1].is_waste else ends[-1]
    left = limits.width - used * instance.unit // mm(1)
    return limits.height * (limits.width * len(patterns) - left) - challenge.area


def checked_table(challenge: Challenge, instance: Instance, patterns: Sequence[Laid], seed: int) -> str:
    """The table of nodes of a plan that passed the program's checker and the published rules.

    Raises
    ------
    PlanFault
        With every rule that is broken.
    """
    made = plan_of(patterns, instance, seed)
    there = replace(made, layouts=tuple(replace(layout, buy=False) for layout in made.layouts))
    plan = loads(dumps(there))
    pass_check(challenge.name, plan)
    text = table_text(nodes_of(challenge, plan))
    nodes, broken = read_table(text)
    broken += broken_rules(challenge, nodes)
    if broken:
        raise PlanFault(tuple(f"{challenge.name}: {b}" for b in broken))
    if objective(challenge, nodes) != value_of(challenge, instance, patterns):
        raise PlanFault(
            (tr("{name}: the table has another objective than its patterns", name=challenge.name),)
        )
    return text


def searched(
    challenge: Challenge, instance: Instance, limits: Limits, *, clock: Clock, seed: int
) -> tuple[list[Best], Searches, float]:
    """Every plan that was better than all before it, the search, and its seconds."""
    found: list[Best] = []
    began = clock()
    stop = limits.stop(clock)
    search = search_of(challenge, instance, seed)
    search.start()
    pace = Pace()
    going = True
    while going:
        patterns = search.patterns
        if patterns and (not found or patterns != list(found[-1].patterns)):
            value = value_of(challenge, instance, patterns)
            if not found or value < found[-1].value:
                best = Best(
                    seconds=clock() - began, steps=search.steps, value=value, patterns=tuple(patterns)
                )
                found.append(best)
        spent = clock() - began
        if isinstance(search, OrderedSearch) and limits.seconds is not None:
            # the last beam before a moment is made to end there
            aims = [m for m in moments_within(limits.seconds) if m >= min(AIMED, limits.seconds)]
            search.aim = pace.steps_at(next((m for m in aims if m > spent), spent), spent, search.steps)
        going = not search.finished and not stop(search.steps) and search.advance()
    return found, search, clock() - began


def run_challenge(challenge: Challenge, limits: Limits, *, clock: Clock, seed: int = 0) -> ChallengeRun:
    """One instance by the program's own search; raises PlanFault.

    Parameters
    ----------
    challenge
        What is cut.
    limits
        When to stop.
    clock
        Seconds, for the limit and the moments; the checks of the plans do not count.
    seed
        Of the search.
    """
    instance = challenge.instance()
    found, search, seconds = searched(challenge, instance, limits, clock=clock, seed=seed)
    if not found:
        raise PlanFault((tr("{name}: no plan was found", name=challenge.name),))
    tables: dict[int, str] = {}
    told = []
    for moment in moments_within(limits.seconds):
        at = sum(best.seconds <= moment for best in found) - 1
        told.append(Moment(seconds=moment, value=found[at].value if at >= 0 else None))
        for k in {at, len(found) - 1} - {-1} - set(tables):
            tables[k] = checked_table(challenge, instance, found[k].patterns, seed)
    table = tables[len(found) - 1]
    return ChallengeRun(
        name=challenge.name,
        panels=len(challenge.items),
        stacks=len({i.stack for i in challenge.items}),
        free=challenge.free,
        moments=tuple(told),
        first=found[0].seconds,
        log=tuple((best.seconds, best.steps, best.value) for best in found),
        plates=len(found[-1].patterns),
        steps=search.steps,
        seconds=seconds,
        finished=search.finished,
        memory=memory_peak(),
        table=table,
        readings=readings(challenge, read_table(table)[0]),
    )


def _run(task: tuple[Path, str, Limits, int]) -> ChallengeRun:
    """A task of a process of its own."""
    folder, name, limits, seed = task
    gc.collect()  # the search before this one is in a cycle with its generator, and holds a wide beam
    one = read_challenge(folder, name)
    warm(one)
    return run_challenge(one, limits, clock=time.process_time, seed=seed)


def warm(challenge: Challenge) -> None:
    """Bring the kernels in that an instance needs, so that no measured run pays for it."""
    items = tuple(
        replace(item, stack=k if challenge.free else 0, sequence=k + 1)
        for k, item in enumerate(challenge.items[:_FEW])
    )
    # plates without flaws have a kernel of their own, and a run may come to it late
    for defects in (challenge.defects, ()):
        few = replace(challenge, items=items, defects=defects)
        search = search_of(few, few.instance(), 0)
        search.start()
        while search.steps < _WARM and not search.finished and search.advance():
            pass


def run_all(
    folder: Path, names: Sequence[str], limits: Limits, executor: Executor, seed: int = 0
) -> Iterator[ChallengeRun]:
    """Every instance, each on a process of its own, in the order of the names.

    Raises
    ------
    KeyboardInterrupt
        After what was done has been given.
    PlanFault
        For a plan that breaks a rule.
    """
    tasks = [(folder, name, limits, seed) for name in names]
    for _, run in each(executor, _run, tasks):
        yield run
