"""The plans that the store knows, their lines and their files."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import ColumnElement, Connection, exists, func, select

from panewright.io.store.errors import UnknownName
from panewright.io.store.ledger import in_parts, time_of
from panewright.io.store.schema import plan as plans
from panewright.io.store.schema import plan_sheet
from panewright.nesting.ledger import PlanState, SheetState
from panewright.nesting.text import tr

_UNCUT: Final = [state.value for state in SheetState if state not in (SheetState.CUT, SheetState.RELEASED)]
"""Of sheets that are still to be cut; named one by one, for the index knows no `other than`."""
_STATES: Final = {state.value: state for state in SheetState}


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
    return newest_of(connection, [name])[name]


def newest_of(connection: Connection, names: Iterable[str]) -> dict[str, str]:
    """Of each plan the one that `stands_for` it, in a few queries for all of them together."""
    wanted = list(names)
    later: dict[str, str] = {}
    asked: set[str] = set()
    ask = set(wanted)
    while ask:
        asked |= ask
        for part in in_parts(sorted(ask)):
            query = select(plans.c.follows, plans.c.id).where(
                plans.c.follows.in_(part), plans.c.state != PlanState.WITHDRAWN.value
            )
            # of several the one committed last
            query = query.order_by(plans.c.committed, plans.c.id.desc())
            later |= {row.follows: row.id for row in connection.execute(query)}
        ask = set(later.values()) - asked
    newest = {}
    for name in wanted:
        end, seen = name, {name}
        while later.get(end, end) not in seen:
            end = later[end]
            seen.add(end)
        newest[name] = end
    return newest


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


NEWEST: Final = 200
"""Plans that a list of all shows."""


def _unfinished() -> ColumnElement[bool]:
    """Open, with a sheet that is still to be cut: over the years most plans are wholly cut."""
    s = plan_sheet.c
    waits = exists().where(s.plan == plans.c.id, s.state.in_(_UNCUT))
    return (plans.c.state == PlanState.OPEN.value) & waits


def unfinished_plans(connection: Connection) -> list[str]:
    """Ids of the open plans with sheets that are still to be cut, the newest first."""
    query = select(plans.c.id).where(_unfinished())
    return list(connection.execute(query.order_by(plans.c.committed.desc(), plans.c.id)).scalars())


def committed_plans(connection: Connection, *, every: bool = False) -> Sequence[Committed]:
    """The open plans with sheets to cut, or the `NEWEST` of all, the newest first."""
    s = plan_sheet.c
    query = select(plans.c.id, plans.c.state, plans.c.committed, plans.c.who)
    query = query.order_by(plans.c.committed.desc(), plans.c.id)
    query = query.limit(NEWEST) if every else query.where(_unfinished())
    rows = connection.execute(query).all()
    # counted by the database: of a shop's years there are hundreds of thousands of sheets
    counts: dict[str, dict[SheetState, int]] = defaultdict(dict)
    for names in in_parts([row.id for row in rows]):
        count = select(s.plan, s.state, func.count()).where(s.plan.in_(names)).group_by(s.plan, s.state)
        for name, state, number in connection.execute(count).all():
            counts[name][_STATES[state]] = number
    return [
        Committed(name, PlanState(state), time_of(at), who, counts.get(name, {}))
        for name, state, at, who in rows
    ]
