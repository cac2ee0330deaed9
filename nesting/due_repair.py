"""The last late panels: exchanged, one by one, for panels of earlier sheets that can wait."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .assemble import CutSheet, cut_sheets
from .due_days import assign, places
from .due_plan import DuePlan
from .optimizer.params import NODES_A_STEP
from .optimizer.pattern import Pattern
from .optimizer.runner import Counter, Runner
from .pins import is_pinned

TRIES = 300
"""Exchanges tried for a whole plan."""
WIDTH = 100
LEAN = 0.1
PARTNERS = 30
"""Exchanges tried for one late panel before the next one's turn."""


@dataclass(frozen=True, slots=True)
class Lies:
    """A panel on a sheet: places of the sheet in the cutting order, type and due."""

    sheet: int
    kind: int
    due: int


def repair(plan: DuePlan) -> None:
    """Make fewer panels late at the same cost, as long as an exchange between two sheets does it."""
    counters = [Counter() for _ in plan.jobs]
    runners = [Runner(job.instance, counter) for job, counter in zip(plan.jobs, counters, strict=True)]
    tries = TRIES
    while plan.lateness.panels and tries > 0:
        before = plan.lateness
        sheets = plan.judge.arranged(cut_sheets(plan.jobs, plan.patterns))
        times = plan.judge.times(sheets)
        lying = _lying(plan, sheets.sheets, times)
        for late, early, partner in _exchanges(plan, sheets.sheets, times, lying):
            tries -= 1
            job = sheets.sheets[late.sheet].job
            new = _exchanged(runners[job], sheets.sheets, late, early, partner)
            if new is not None:
                old = (sheets.sheets[early].pattern, sheets.sheets[late.sheet].pattern)
                if plan.exchange(job, old, new):
                    break
            if tries <= 0:
                break
        if not plan.lateness < before:
            break
    for each, counter in zip(plan.jobs, counters, strict=True):
        each.spent += counter.nodes // NODES_A_STEP


def _lying(plan: DuePlan, sheets: list[CutSheet], times: list[int]) -> list[list[Lies]]:
    """The panels of each sheet as they will be handed out."""
    dues = plan.judge.dues(sheets)
    out: list[list[Lies]] = [[] for _ in sheets]
    contents = [{(s.job, k): n for k, n in s.pattern.uses(s.instance).items()} for s in sheets]
    for (job, kind), where in places(range(len(sheets)), contents).items():
        mine = dues[job, kind]
        for place, i in zip(where, assign([times[p] for p in where], mine), strict=True):
            out[place].append(Lies(place, kind, mine[i]))
    return out


def _exchanges(
    plan: DuePlan, sheets: list[CutSheet], times: list[int], lying: list[list[Lies]]
) -> Iterator[tuple[Lies, int, int | None]]:
    """Late panels, with an earlier sheet that would do, and a type on it that can wait or None."""
    for late in (x for lies in lying for x in lies if x.due < times[x.sheet]):
        job = sheets[late.sheet].job
        instance = plan.jobs[job].instance
        if is_pinned(instance, late.kind):
            continue
        area = instance.type_area
        found: list[tuple[int, int, int | None]] = []
        for early in range(late.sheet):
            if sheets[early].job != job or times[early] > late.due:
                continue
            pattern = sheets[early].pattern
            used = sum(area[k] * n for k, n in pattern.uses(instance).items())
            free = instance.sheets[pattern.sheet].area - used
            if free >= area[late.kind]:
                found.append((-free, early, None))
            waits = {
                x.kind
                for x in lying[early]
                if x.due >= times[late.sheet] and x.kind != late.kind and not is_pinned(instance, x.kind)
            }
            found += [(abs(area[k] - area[late.kind]), early, k) for k in sorted(waits)]
        # where there is most room first, then panels of the nearest area
        found.sort(key=lambda x: (x[0], x[1]))
        for _, early, partner in found[:PARTNERS]:
            yield late, early, partner


def _exchanged(
    runner: Runner, sheets: list[CutSheet], late: Lies, early: int, partner: int | None
) -> tuple[Pattern, Pattern] | None:
    """Both sheets with the late panel on the earlier one, or None where they do not hold it so."""
    out = []
    for sheet, gets, gives in ((early, late.kind, partner), (late.sheet, partner, late.kind)):
        pattern = sheets[sheet].pattern
        demand = [0] * len(runner.instance.demand)
        for kind, count in pattern.uses(runner.instance).items():
            demand[kind] = count
        if gets is not None:
            demand[gets] += 1
        if gives is not None:
            demand[gives] -= 1
        part = runner.part(demand)
        if not any(demand) or part.area > runner.instance.sheets[pattern.sheet].area:
            return None
        found = runner.run(part, [pattern.sheet], value=runner.value(1.0), lean=LEAN, width=WIDTH)
        if found is None:
            return None
        out.append(found[0])
    return out[0], out[1]
