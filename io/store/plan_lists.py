"""The plans that the store knows, their lines and their files."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from panewright.io.store.errors import UnknownName
from panewright.io.store.ledger import time_of
from panewright.io.store.schema import plan as plans
from panewright.io.store.schema import plan_sheet
from panewright.nesting.ledger import PlanState, SheetState
from panewright.nesting.text import tr


def open_plans(connection: Connection) -> list[str]:
    """Ids of the plans that have taken glass, the newest first."""
    query = select(plans.c.id).where(plans.c.state == PlanState.OPEN.value)
    return list(connection.execute(query.order_by(plans.c.committed.desc(), plans.c.id)).scalars())


def plan_text(connection: Connection, name: str) -> str:
    """The plan file of a plan that the store knows; raises `UnknownName`."""
    found = connection.execute(select(plans.c.file).where(plans.c.id == name)).scalar()
    if found is None:
        raise UnknownName(tr("plan {plan}", plan=name), open_plans(connection)[:5])
    return str(found)


def line_of(connection: Connection, name: str) -> list[str]:
    """The plan and those that it follows, the nearest first; empty where the store has none of this id."""
    out: list[str] = []
    now: str | None = name
    while now is not None and now not in out:
        row = connection.execute(select(plans.c.id, plans.c.follows).where(plans.c.id == now)).one_or_none()
        if row is None:
            break
        out.append(row.id)
        now = row.follows
    return out


def stands_for(connection: Connection, name: str) -> str:
    """The newest plan in whose line a plan is: the one that speaks for its sheets now."""
    seen: set[str] = set()
    while name not in seen:
        seen.add(name)
        query = select(plans.c.id).where(plans.c.follows == name, plans.c.state != PlanState.WITHDRAWN.value)
        later = connection.execute(query.order_by(plans.c.committed.desc())).scalars().first()
        if later is None:
            break
        name = later
    return name


def cut_sheets(connection: Connection, name: str) -> int:
    """How many sheets of a plan are cut, whichever plan speaks for them now."""
    query = select(func.count()).where(plan_sheet.c.plan == name, plan_sheet.c.state == SheetState.CUT.value)
    mine = int(connection.execute(query).scalar() or 0)
    # the follower has taken the cut sheets over, those of later ones beside
    numbers = select(plan_sheet.c.number).where(plan_sheet.c.plan == name)
    later = select(func.count()).where(
        plan_sheet.c.plan == stands_for(connection, name),
        plan_sheet.c.state == SheetState.CUT.value,
        plan_sheet.c.number.in_(numbers),
    )
    return max(mine, int(connection.execute(later).scalar() or 0))


@dataclass(frozen=True, slots=True)
class Committed:
    """A plan that has taken glass, for lists."""

    plan: str
    state: PlanState
    at: datetime
    who: str
    sheets: dict[SheetState, int]


def committed_plans(connection: Connection, *, every: bool = False) -> Sequence[Committed]:
    """The open plans, or all, the newest first."""
    query = select(plans.c.id, plans.c.state, plans.c.committed, plans.c.who)
    if not every:
        query = query.where(plans.c.state == PlanState.OPEN.value)
    counts: dict[str, dict[SheetState, int]] = defaultdict(dict)
    rows = connection.execute(query.order_by(plans.c.committed.desc(), plans.c.id)).all()
    for row in connection.execute(
        select(plan_sheet.c.plan, plan_sheet.c.state).where(plan_sheet.c.plan.in_([r.id for r in rows]))
    ):
        state = SheetState(row.state)
        counts[row.plan][state] = counts[row.plan].get(state, 0) + 1
    return [
        Committed(r.id, PlanState(r.state), time_of(r.committed), r.who, dict(counts.get(r.id, {})))
        for r in rows
    ]
