"""Panels that broke, and counts of the works that panels went through: the evidence behind breakage rates."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, func, select

from panewright.io.record_file import What
from panewright.io.store.ledger import micros, time_of
from panewright.io.store.schema import event as events
from panewright.io.store.schema import plan as plans
from panewright.io.store.schema import plan_panel, plan_sheet
from panewright.io.store.subjects import PlanNow, plan_now
from panewright.nesting.happened import AtStep
from panewright.nesting.ledger import PlanState, SheetState

LIVE: Final = (PlanState.OPEN.value, PlanState.WITHDRAWN.value)
"""Plans whose sheets count: those of a plan in whose place another stands are repeated there."""


def broken_in(connection: Connection, begin: int, end: int) -> Sequence[Any]:
    """Panels that broke in a time, each once: panel, step and glass. [us]"""
    e, p = events.c, plan_panel.c
    rows = connection.execute(
        select(e.panel, e.at_step, e.plan, p.glass, p.plan.label("has"))
        .join(plan_panel, p.panel == e.panel)
        .where(e.what == What.PANEL_BROKEN.value, e.stands.is_(True), e.at >= begin, e.at < end)
        .order_by(e.at, e.id)
    ).all()
    now = _speaking(connection, {row.plan for row in rows})
    # plans of other lines may have a panel of the same name: that one is another piece of glass
    mine = [row for row in reversed(rows) if row.has in now[row.plan].line]
    return list({(now[row.plan].id, row.panel): row for row in mine}.values())


def _speaking(connection: Connection, names: Collection[str]) -> dict[str, PlanNow]:
    """Plan -> the plan that speaks for its sheets now."""
    return {name: plan_now(connection, name) for name in sorted(names)}


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class StepCount:
    """How many panels of one size went through a work, and how many broke at it.

    Parameters
    ----------
    step
        The work, as records name it.
    glass
        Glass key.
    width, height
        Of the box around the finished panel. [nm]
    passed
        Panels that the work was begun on: of the sheets cut in the period, those that have such work and did not
        break before it. Handling is taken to be the last.
    broken
        Of them, those that broke at it.
    """

    step: str
    glass: str
    width: int
    height: int
    passed: int
    broken: int


def first_cut(connection: Connection) -> datetime | None:
    """When the first sheet was recorded as cut; None where none was."""
    found = connection.execute(
        select(func.min(plan_sheet.c.cut_at)).where(plan_sheet.c.state == SheetState.CUT.value)
    ).scalar()
    return None if found is None else time_of(int(found))


def breakage_counts(connection: Connection, since: datetime, until: datetime) -> list[StepCount]:
    """Counts behind breakage rates, of the panels of sheets that were cut in the period."""
    s, p, e = plan_sheet.c, plan_panel.c, events.c
    told = connection.execute(
        select(e.panel, e.at_step, e.plan)
        .where(e.what == What.PANEL_BROKEN.value, e.stands.is_(True))
        .order_by(e.at.desc(), e.id.desc())
    ).all()
    now = _speaking(connection, {row.plan for row in told})
    at = {(now[row.plan].id, row.panel): AtStep(row.at_step) for row in told}
    kinds = (
        select(p.plan, p.panel, p.glass, p.width, p.height, p.edged, p.drilled)
        .join(plan_sheet, (s.plan == p.plan) & (s.number == p.sheet))
        .join(plans, plans.c.id == p.plan)
        .where(
            plans.c.state.in_(LIVE),
            s.state == SheetState.CUT.value,
            s.cut_at.between(micros(since), micros(until) - 1),
        )
        .order_by(p.plan, p.panel)
    )
    steps = list(AtStep)
    counts: dict[tuple[str, str, int, int], list[int]] = defaultdict(lambda: [0, 0])
    for panel in connection.execute(kinds):
        broke = at.get((panel.plan, panel.panel))
        last = len(steps) if broke is None else steps.index(broke)
        skipped = {AtStep.EDGING: not panel.edged, AtStep.DRILLING: not panel.drilled}
        for place, step in enumerate(steps):
            if step is broke or (place < last and not skipped.get(step, False)):
                one = counts[step.value, panel.glass, panel.width, panel.height]
                one[0] += 1
                one[1] += step is broke
    order = {step.value: k for k, step in enumerate(steps)}
    return [
        StepCount(step=step, glass=glass, width=w, height=h, passed=passed, broken=broken)
        for (step, glass, w, h), (passed, broken) in sorted(
            counts.items(), key=lambda pair: (order[pair[0][0]], *pair[0][1:])
        )
    ]
