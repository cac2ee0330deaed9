"""What happened to a plan, as remakes and the plan of a day take it from the store."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import Connection, select

from panewright.io.plan_reader import loads
from panewright.io.record_code import Done
from panewright.io.record_file import What
from panewright.io.store.events import Refused, told
from panewright.io.store.items import OFFCUT, read_flaws
from panewright.io.store.outcomes import SheetKey
from panewright.io.store.plan_lists import plan_text
from panewright.io.store.schema import item, movement, plan_panel, plan_sheet
from panewright.io.store.subjects import PlanNow, plan_now
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import AtStep, Happened
from panewright.nesting.ledger import Move, SheetState
from panewright.nesting.spots import flaws_of
from panewright.nesting.text import tr
from panewright.nesting.units import show, show_size


def happened_of(connection: Connection, name: str) -> Happened:
    """What happened to the plan that stands for this one now.

    Parameters
    ----------
    connection
        Of the store.
    name
        Id of any plan of its line.

    Returns
    -------
    Happened
        The state of the sheets and panels of the plan that stands (`subjects.plan_now` names it). A panel that
        broke is named for good, also where another piece was made for it since.

    Raises
    ------
    Refused
        The store has no plan of this line.
    """
    plan = plan_now(connection, name)
    s, p = plan_sheet.c, plan_panel.c
    rows = connection.execute(
        select(s.number, s.state, s.stock, s.is_offcut, s.item, item.c.flaws)
        .outerjoin(item, item.c.id == s.item)
        .where(s.plan == plan.id)
        .order_by(s.number)
    ).all()
    panels = set(connection.execute(select(p.panel).where(p.plan == plan.id)).scalars())
    broken: dict[str, AtStep] = {}
    for one in told(connection, plan.line, [What.PANEL_BROKEN]):
        event = one.event
        if event.panel in panels and event.panel is not None and event.at_step is not None:
            broken.setdefault(event.panel, event.at_step)
    why = _flaws(connection, plan)
    without = [row for row in rows if row.state == SheetState.WITHOUT_GLASS.value]
    gone = frozenset(row.stock for row in without if row.is_offcut and row.number not in why)
    return Happened(
        cut=frozenset(row.number for row in rows if row.state == SheetState.CUT.value),
        broken=broken,
        flawed={
            row.number: why.get(row.number) or tr("its glass is gone")
            for row in without
            if row.number in why or not row.is_offcut
        },
        flaws=_located(connection, plan, rows),
        begun=_begun(connection, plan, rows),
        gone=gone,
    )


def _located(connection: Connection, plan: PlanNow, rows: Sequence[Any]) -> dict[int, tuple[Flaw, ...]]:
    """Flaws of the glass that sheets are to be cut from of which the plan does not know: sheet number -> flaws."""
    held = {row.number: row.item for row in rows if row.state == SheetState.RESERVED.value}
    found = {row.number: set(read_flaws(row.flaws)) for row in rows if row.number in held}
    m = movement.c
    for one in told(connection, plan.line, [What.SHEET_FLAWED]):
        # in the cutting already: of its case no other sheet has the flaw
        event, number = one.event, one.event.sheet or 0
        if event.located is None or number not in held:
            continue
        query = select(m.id).where(m.event == event.id, m.item == held[number], m.kind == Move.MARKED.value)
        if connection.execute(query.limit(1)).first() is not None:
            found[number].add(event.located)
    if not any(found.values()):
        return {}
    for layout in loads(plan_text(connection, plan.id)).layouts:
        if layout.number in found:
            found[layout.number] -= set(flaws_of(layout))
    return {number: tuple(sorted(flaws)) for number, flaws in sorted(found.items()) if flaws}


def _begun(connection: Connection, plan: PlanNow, rows: Sequence[Any]) -> frozenset[int]:
    """Sheets in the cutting: a flaw was marked on them, and they are of their case still.

    Of an offcut, and of a sheet that has a number of its own, the store does not know it.
    """
    held = {
        row.number: row.item
        for row in rows
        if row.state == SheetState.RESERVED.value and not row.is_offcut and not read_flaws(row.flaws)
    }
    ids = {one.event.id: one.event.sheet or 0 for one in told(connection, plan.line, [What.SHEET_FLAWED])}
    m = movement.c
    query = select(m.event, m.item).where(m.event.in_(list(ids)), m.kind == Move.MARKED.value)
    found = [(ids[row.event], row.item) for row in connection.execute(query)] if ids else []
    return frozenset(number for number, key in found if number in held and held[number] == key)


def _flaws(connection: Connection, plan: PlanNow) -> dict[int, str]:
    """Sheet number -> what was found on it."""
    out: dict[int, str] = {}
    for one in told(connection, plan.line, [What.SHEET_FLAWED]):
        event = one.event
        words = [event.note] if event.note else []
        if event.size is not None:
            words.append(tr("measures {size}", size=show_size(*event.size)))
        if event.flaw is not None:
            x, y, width, height = event.flaw
            words.append(
                tr("flaw of {size} at {x}, {y}", size=show_size(width, height), x=show(x), y=show(y))
            )
        out[event.sheet or 0] = "; ".join(words) or tr("no good")
    return out


def done_state(connection: Connection, plan: PlanNow) -> Done:
    """What is told of a plan, as codes tell it."""
    s = plan_sheet.c
    query = select(s.number).where(s.plan == plan.id, s.state == SheetState.CUT.value)
    offcuts = told(connection, plan.line, [What.OFFCUT_KEPT, What.OFFCUT_THROWN])
    broken = told(connection, plan.line, [What.PANEL_BROKEN])
    return Done(
        sheets=frozenset(connection.execute(query).scalars()),
        broken={x.event.panel: x.event.at_step for x in broken if x.event.panel and x.event.at_step},
        offcuts={x.event.offcut: x.event.what is What.OFFCUT_KEPT for x in offcuts if x.event.offcut},
    )


def done_of(connection: Connection, names: Iterable[str]) -> list[SheetKey]:
    """The sheets of these plans that are cut, in the order in which they were.

    A plan that the store does not know has none; one that another stands for keeps the numbers of its sheets.
    """
    s = plan_sheet.c
    found = []
    for name in names:
        now = standing_plan(connection, name)
        if now is None:
            continue
        rows = connection.execute(
            select(s.number, s.cut_at).where(s.plan == now.id, s.state == SheetState.CUT.value)
        )
        found += [(row.cut_at or 0, name, row.number) for row in rows]
    return [(name, number) for _, name, number in sorted(found)]


def standing_plan(connection: Connection, name: str) -> PlanNow | None:
    """The plan that stands for this one, or None where the store knows none of its line."""
    try:
        return plan_now(connection, name)
    except Refused:
        return None


def after_of(connection: Connection, names: Iterable[str]) -> dict[SheetKey, SheetKey]:
    """Sheets that wait for an offcut: plan and sheet -> the plan and sheet that leave it.

    The maker is named by the plan that stands now; one that is cut keeps nobody waiting.
    """
    s, c = plan_sheet.c, item.c
    out: dict[SheetKey, SheetKey] = {}
    for name in names:
        now = standing_plan(connection, name)
        if now is None:
            continue
        rows = connection.execute(
            select(s.number, c.made_plan, c.made_sheet)
            .join(item, c.id == s.item)
            .where(
                s.plan == now.id,
                s.state == SheetState.RESERVED.value,
                c.kind == OFFCUT,
                c.on_hand == 0,
                c.made_plan.is_not(None),
            )
            .order_by(s.number)
        )
        for row in rows:
            maker = standing_plan(connection, row.made_plan)
            if maker is not None and _is_cut(connection, maker, row.made_sheet):
                continue
            out[name, row.number] = (maker.id if maker is not None else row.made_plan, row.made_sheet)
    return out


def _is_cut(connection: Connection, plan: PlanNow, number: int) -> bool:
    s = plan_sheet.c
    query = select(s.state).where(s.plan == plan.id, s.number == number)
    return connection.execute(query).scalar() == SheetState.CUT.value
