"""Where a panel came from: its sheet, the case or offcut of that, who cut it, what broke, what was made again.

A plan that follows another one repeats its sheets and panels: each is shown once, as the newest plan has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import Connection, func, select

from panewright.io.record_file import Event, What
from panewright.io.store.errors import UnknownName
from panewright.io.store.events import Refused, told
from panewright.io.store.items import Item, item_of
from panewright.io.store.ledger import time_of
from panewright.io.store.plan_lists import stands_for
from panewright.io.store.schema import item, movement, plan_panel, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.io.store.subjects import plan_now
from panewright.nesting.ledger import Move, PlanState, SheetState
from panewright.nesting.text import tr

MOST_STEPS: Final = 1000
"""Sheets and offcuts followed from one to the next: more would be a ring."""
MOST_PANELS: Final = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """One step back: a sheet and what it was cut from, or is to be.

    Parameters
    ----------
    plan, number
        The sheet.
    state
        How far it is.
    day
        On which it is planned to be cut.
    cut_at, cut_by
        When it was cut, and who recorded that.
    item
        The case or offcut, or None where it has no glass.
    stock
        What the plan calls it.
    """

    plan: str
    number: int
    state: SheetState
    day: date | None
    cut_at: datetime | None
    cut_by: str
    item: Item | None
    stock: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelTrace:
    """One panel and everything that is known of where it came from.

    Parameters
    ----------
    panel, order, plan, glass
        Its id, its order, the newest plan that has it, its glass.
    due
        As the plan has it.
    origins
        The sheet that it was cut from, then the sheet that left the offcut which that was, and so on back to a
        case or an offcut that came from elsewhere. Empty where it is unplaced.
    broken
        What is recorded of its breaking, as it stands.
    remakes
        The panels that it was made again for, the nearest first.
    remade_as
        The pieces that were made again for it, the first one first.
    given_to
        The panel of another order that it serves.
    """

    panel: str
    order: str
    plan: str
    glass: str
    due: date | None
    origins: tuple[Origin, ...] = ()
    broken: tuple[Event, ...] = ()
    remakes: tuple[str, ...] = ()
    remade_as: tuple[str, ...] = ()
    given_to: str | None = None


def panels_like(connection: Connection, text: str) -> list[PanelTrace]:
    """The panels of this id or order; where there is none, those whose id holds the text.

    Raises
    ------
    UnknownName
        No panel has it in its id.
    """
    p = plan_panel.c
    # SQLite makes only ASCII letters small: others are found as they are typed
    part = func.lower(p.panel).contains(text.lower(), autoescape=True) | p.panel.contains(
        text, autoescape=True
    )
    for where in ((p.panel == text) | (p.order == text), part):
        rows = connection.execute(
            select(plan_panel, plans.c.state.label("plan_state"), plans.c.committed)
            .join(plans, plans.c.id == p.plan)
            .where(where)
            .order_by(p.panel, plans.c.committed.desc(), p.plan)
            .limit(MOST_PANELS)
        ).all()
        if rows:
            return [_panel(connection, row) for row in _once(connection, rows)]
    raise UnknownName(tr("panel {panel}", panel=text))


def _once(connection: Connection, rows: Sequence[Any]) -> list[Any]:
    """Each panel once: of the plan that stands, else of the newest one."""
    best: dict[tuple[str, str], Any] = {}
    for row in rows:
        line = stands_for(connection, row.plan)
        before = best.get((row.panel, line))
        if before is None or (row.plan == line and before.plan != line):
            best[row.panel, line] = row
    # of a plan that was withdrawn nothing is told where another one has the panel
    kept = [row for row in best.values() if row.plan_state != PlanState.WITHDRAWN.value]
    shown = {row.panel for row in kept}
    cut = [
        row
        for row in best.values()
        if row.plan_state == PlanState.WITHDRAWN.value
        and (row.panel not in shown or _sheet_state(connection, row) == SheetState.CUT.value)
    ]
    return sorted([*kept, *cut], key=lambda row: (row.order, row.panel, -row.committed, row.plan))


def _sheet_state(connection: Connection, row: Any) -> str | None:
    s = plan_sheet.c
    return connection.execute(select(s.state).where(s.plan == row.plan, s.number == row.sheet)).scalar()


def _panel(connection: Connection, row: Any) -> PanelTrace:
    now = plan_now(connection, row.plan)
    broken = told(connection, now.line, [What.PANEL_BROKEN], panel=row.panel)
    return PanelTrace(
        panel=row.panel,
        order=row.order,
        plan=row.plan,
        glass=row.glass,
        due=None if row.due is None else date.fromisoformat(row.due),
        origins=() if row.sheet is None else origins_of(connection, row.plan, row.sheet),
        broken=tuple(x.event for x in broken),
        remakes=_back(connection, row.remakes),
        remade_as=_forth(connection, row.panel),
        given_to=row.given_to,
    )


def _back(connection: Connection, name: str | None) -> tuple[str, ...]:
    """The panel that a piece was made again for, the one before that, and so on."""
    out: list[str] = []
    while name is not None and name not in out and len(out) < MOST_STEPS:
        out.append(name)
        p = plan_panel.c
        name = connection.execute(
            select(p.remakes).where(p.panel == name, p.remakes.is_not(None)).limit(1)
        ).scalar()
    return tuple(out)


def _forth(connection: Connection, name: str) -> tuple[str, ...]:
    out: list[str] = []
    todo = [name]
    p = plan_panel.c
    while todo and len(out) < MOST_STEPS:
        rows = connection.execute(
            select(p.panel).distinct().where(p.remakes.in_(todo)).order_by(p.panel)
        ).scalars()
        todo = [panel for panel in rows if panel not in out and panel != name]
        out += todo
    return tuple(out)


def origins_of(connection: Connection, plan: str, number: int) -> tuple[Origin, ...]:
    """A sheet and what it was cut from, back to the case."""
    out: list[Origin] = []
    at: tuple[str, int] | None = (plan, number)
    while at is not None and len(out) < MOST_STEPS:
        origin = origin_of(connection, *at)
        if origin is None or any((o.plan, o.number) == (origin.plan, origin.number) for o in out):
            break
        out.append(origin)
        at = None
        if origin.item is not None and origin.item.made_by is not None:
            maker, sheet = origin.item.made_by
            at = sheet_of(connection, maker, sheet)
    return tuple(out)


def sheet_of(connection: Connection, plan: str, number: int) -> tuple[str, int]:
    """A sheet as the plan that stands now has it, if it does; else as the old one had it."""
    try:
        now = plan_now(connection, plan)
    except Refused:
        return plan, number
    return (now.id, number) if sheet_row(connection, now.id, number) is not None else (plan, number)


def sheet_row(connection: Connection, plan: str, number: int) -> Any:
    """The row of a sheet, or None."""
    s = plan_sheet.c
    return connection.execute(select(plan_sheet).where(s.plan == plan, s.number == number)).one_or_none()


def origin_of(connection: Connection, plan: str, number: int) -> Origin | None:
    """A sheet and what it was cut from; None where the plan has no such sheet."""
    row = sheet_row(connection, plan, number)
    if row is None:
        return None
    held = None
    if row.item is not None:
        held = item_of(connection.execute(select(item).where(item.c.id == row.item)).one())
    return Origin(
        plan=plan,
        number=number,
        state=SheetState(row.state),
        day=None if row.day is None else date.fromisoformat(row.day),
        cut_at=None if row.cut_at is None else time_of(row.cut_at),
        cut_by=row.cut_by,
        item=held,
        stock=row.stock,
    )


def case_of(connection: Connection, name: str) -> str | None:
    """The case or offcut that a flawed sheet, now a piece of its own, was taken from."""
    m = movement.c
    event = (
        connection.execute(
            select(m.event)
            .join(item, item.c.id == m.item)
            .where(item.c.name == name, m.kind == Move.ADJUSTED.value, m.on_hand > 0, m.event.is_not(None))
            .order_by(m.id)
        )
        .scalars()
        .first()
    )
    if event is None:
        return None
    return (
        connection.execute(
            select(item.c.name)
            .join(movement, m.item == item.c.id)
            .where(m.event == event, m.kind == Move.ADJUSTED.value, m.on_hand < 0)
        )
        .scalars()
        .first()
    )
