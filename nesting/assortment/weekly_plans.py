"""Whole sheets of a set of sizes: every week cut by itself, by real plans of the project's own search.

The LP cuts a year at once and takes sheets in parts. A shop cuts week by week: its last sheets are never full,
and what a week leaves is lost or lies in the rack. So the sets that the LP ranks are planned week by week.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from fractions import Fraction
from math import isqrt

from ..cut_tree import build_layout
from ..each import Progress, each
from ..optimizer.instance import Instance
from ..optimizer.pattern import Pattern
from ..rules import Rules
from ..stock import StockPiece
from ..week_sheets.carry import Carry, in_rack, put_away
from ..week_sheets.counts import WeekCount
from ..week_sheets.nest import EFFORT, plan_kinds
from ..week_sheets.renest import WeekTask
from .demand import Demand


@dataclass(frozen=True, slots=True)
class WeekWork:
    """The count of a week, the length of its scores [nm] and the number of its cuts."""

    count: WeekCount
    score: int
    cuts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A set of sizes as planned week by week.

    Parameters
    ----------
    weeks
        Of every week that was planned, in order.
    whole
        Whether all weeks of the demand are there.
    """

    weeks: tuple[WeekWork, ...]
    whole: bool

    @property
    def cost(self) -> int:
        """Of all sheets taken. [1/10,000 of the currency]"""
        return sum(w.count.cost for w in self.weeks)

    @property
    def bound(self) -> int:
        """What these weeks cost at least, each by itself. [1/10,000 of the currency]"""
        return sum(w.count.bound for w in self.weeks)

    @property
    def cut(self) -> int:
        """Area of the panels cut. [nm2]"""
        return sum(w.count.cut for w in self.weeks)

    @property
    def sheet(self) -> int:
        """Area of the sheets taken. [nm2]"""
        return sum(w.count.sheet for w in self.weeks)

    @property
    def score(self) -> int:
        """Length of all scores. [nm]"""
        return sum(w.score for w in self.weeks)

    @property
    def cuts(self) -> int:
        """How many cuts."""
        return sum(w.cuts for w in self.weeks)

    @property
    def unplaced(self) -> int:
        """Panels that found no place."""
        return sum(w.count.unplaced for w in self.weeks)

    @property
    def fill(self) -> Fraction:
        """Cut area over sheet area."""
        return Fraction(self.cut, self.sheet) if self.sheet else Fraction(0)

    def sheets(self) -> dict[str, int]:
        """Sheets by name of the size."""
        found: dict[str, int] = {}
        for week in self.weeks:
            for name, n in week.count.sheets.items():
                found[name] = found.get(name, 0) + n
        return dict(sorted(found.items()))

    def by_week(self, name: str) -> list[int]:
        """Sheets of a size in every week planned."""
        return [w.count.sheets.get(name, 0) for w in self.weeks]


def work_of(patterns: Iterable[Pattern], instance: Instance) -> tuple[int, int]:
    """Length of the scores [nm] and number of the cuts of these sheets."""
    length = number = 0
    for pattern in patterns:
        layout = build_layout(pattern, instance, lambda kind: instance.types[kind].panels[0], (), 1, False)
        number += len(layout.cuts)
        for cut in layout.cuts:
            (x0, y0), (x1, y1) = cut.start, cut.end
            length += isqrt((x1 - x0) ** 2 + (y1 - y0) ** 2)
    return length, number


def plan_task(task: WeekTask) -> list[WeekWork]:
    """The weeks of a task, in their order; offcuts pass from one to the next where it says so."""
    rack = task.rack
    out = []
    for week, kinds in task.weeks:
        held = () if task.carry is None else in_rack(rack, week, task.carry)
        plan = plan_kinds(
            kinds, task.glass, (*task.stock, *held), task.rules,
            week=week, effort=task.effort, seed=task.seed, carry=task.carry,
        )  # fmt: skip
        if task.carry is not None:
            rack = put_away(rack, plan.made, plan.used, task.carry)
            bought = sum(s.cost * plan.count.sheets.get(s.name, 0) for s in task.stock)
            # what is used of the rack was paid for when its sheet was bought
            plan = replace(plan, count=replace(plan.count, cost=bought, bound=min(bought, plan.count.bound)))
        score, cuts = work_of(plan.patterns, plan.instance) if plan.instance is not None else (0, 0)
        out.append(WeekWork(plan.count, score, cuts))
    return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Something that is planned week by week: sizes under rules, with or without offcuts that are carried on."""

    stock: tuple[StockPiece, ...]
    rules: Rules
    carry: Carry | None = None


def plan_weeks(
    demand: Demand,
    cases: Sequence[Case],
    executor: Executor | None = None,
    *,
    effort: int = EFFORT,
    seed: int = 0,
    progress: Progress | None = None,
    done: list[Planned | None] | None = None,
) -> list[Planned | None]:
    """Plan every week of a demand for every case.

    Parameters
    ----------
    demand
        What is cut.
    cases
        What it is cut from, and how.
    executor
        Where the plans are made; None: here. The result is the same.
    effort, seed
        Of every plan.
    progress
        Told of every task that is done.
    done
        A list that is filled as cases are done, so that an interrupt keeps them; None in it: not planned.
    """
    found: list[Planned | None] = [] if done is None else done
    found[:] = [None] * len(cases)
    tasks: list[WeekTask] = []
    owner: list[int] = []
    for c, case in enumerate(cases):
        chains = [demand.weeks] if case.carry is not None else [(week,) for week in demand.weeks]
        for chain in chains:
            tasks.append(WeekTask(demand.glass, chain, case.stock, case.rules, effort, seed, case.carry))
            owner.append(c)
    parts: dict[int, list[WeekWork]] = {}
    for k, works in each(executor, plan_task, tasks, progress):
        mine = parts.setdefault(owner[k], [])
        mine += works
        whole = len(mine) == len(demand.weeks)
        if whole:
            found[owner[k]] = Planned(weeks=tuple(mine), whole=True)
    return found


def best_known(
    cases: Sequence[Case], planned: Sequence[Planned | None], others: Sequence[tuple[Case, Planned]] = ()
) -> list[Planned | None]:
    """Every case with the cheapest plan of every week that any case found and that it could have made too.

    A plan of fewer sizes is a plan of more: so one more size never costs more, whatever the search found.

    Parameters
    ----------
    cases, planned
        With the same rules and no offcuts carried on; None: not planned, and stays so.
    others
        Plans under rules that are no looser than those of the cases.
    """
    known = [(c, p) for c, p in zip(cases, planned, strict=True) if p is not None] + list(others)
    offered = [{s.name: s for s in case.stock} for case, _ in known]
    out: list[Planned | None] = []
    for case, own in zip(cases, planned, strict=True):
        if own is None or case.carry is not None:
            out.append(own)
            continue
        mine = {s.name: s for s in case.stock}
        weeks = []
        for at, work in enumerate(own.weeks):
            best = work
            for (_, other), stock in zip(known, offered, strict=True):
                one = other.weeks[at]
                if any(mine.get(name) != stock[name] for name in one.count.sheets):
                    continue
                if (one.count.unplaced, one.count.cost) < (best.count.unplaced, best.count.cost):
                    best = one
            if best is not work:
                bound = min(work.count.bound, best.count.cost)
                best = replace(best, count=replace(best.count, bound=bound))
            weeks.append(best)
        out.append(replace(own, weeks=tuple(weeks)))
    return out
