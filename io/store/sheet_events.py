"""A sheet was cut, or a panel of it broke; and none of that after all."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, select, update

from panewright.io.record_file import Event, What
from panewright.io.record_making import CASE
from panewright.io.store.errors import UnknownName
from panewright.io.store.events import Refused, told
from panewright.io.store.items import (
    SHEET,
    Item,
    find_item,
    serve_waiting,
    take,
)
from panewright.io.store.ledger import Because, Movement, micros, post
from panewright.io.store.outcomes import Outcome
from panewright.io.store.schema import item, movement, plan_panel, plan_sheet
from panewright.io.store.subjects import PlanNow, SheetNow, set_sheet, sheet_now
from panewright.nesting.ledger import Balance, Move, SheetState
from panewright.nesting.text import tr

MOST_TIMES: Final = 2
"""A sheet of more than this times the planned width or height is mistyped."""


def cut(connection: Connection, event: Event, plan: PlanNow, because: Because) -> Outcome:
    """A sheet is cut: its glass leaves the rack."""
    sheet = sheet_now(connection, plan, event.sheet or 0)
    if sheet.state is SheetState.CUT:
        return Outcome(
            event=event,
            plan=plan.id,
            changed=False,
            item=None if sheet.item is None else sheet.item.name,
            notes=(tr("sheet {number} is recorded as cut already", number=sheet.number),),
        )
    must_be_open(plan)
    case = event.extra.get(CASE)
    if isinstance(case, str) and case:
        sheet = _other_case(connection, sheet, case, because)
    held = glass_of(sheet)
    post(connection, [Movement(Move.CUT, held.key, Balance(on_hand=-1, reserved=-1), because)])
    connection.execute(
        update(plan_sheet)
        .where(plan_sheet.c.plan == plan.id, plan_sheet.c.number == sheet.number)
        .values(state=SheetState.CUT.value, cut_at=micros(because.at), cut_by=because.who)
    )
    return Outcome(event=event, plan=plan.id, changed=True, item=held.name)


def must_be_open(plan: PlanNow) -> None:
    if not plan.is_open:
        raise Refused(
            tr("plan {plan} is withdrawn and has given its glass back", plan=plan.id),
            tr("commit it again (`panewright stock reserve`)"),
        )


def glass_of(sheet: SheetNow) -> Item:
    """What the sheet is cut from, in the rack; raises `Refused` where nothing is."""
    if sheet.state is SheetState.TO_BUY:
        raise Refused(
            tr("sheet {number} has no glass yet, it is still to be bought", number=sheet.number),
            tr(
                "receive the delivery (`panewright stock receive`), or say from which case it was cut: --case"
            ),
        )
    if sheet.state is not SheetState.RESERVED or sheet.item is None:
        raise Refused(
            tr("sheet {number} is without glass: {stock} is gone", number=sheet.number, stock=sheet.stock),
            tr(
                "plan it again (`panewright remake {plan}`), or say from which case it was cut: --case",
                plan=sheet.plan.id,
            ),
        )
    if not sheet.item.balance.on_hand:
        raise Refused(
            tr(
                "offcut {name}, which sheet {number} is cut from, is not recorded as kept yet",
                name=sheet.item.name,
                number=sheet.number,
            ),
            tr("record the sheet that leaves it and the offcut first (`panewright record kept`)"),
        )
    return sheet.item


def _other_case(connection: Connection, sheet: SheetNow, name: str, because: Because) -> SheetNow:
    """The sheet with the reservation in this case."""
    try:
        case = find_item(connection, name)
    except UnknownName as error:
        raise Refused(str(error), tr("give the number of a case")) from None
    if sheet.item is not None and case.key == sheet.item.key:
        return sheet
    if sheet.is_offcut or case.kind != SHEET:
        raise Refused(
            tr("sheet {number} is cut from offcut {stock}", number=sheet.number, stock=sheet.stock)
            if sheet.is_offcut
            else tr("{name} is an offcut, and sheet {number} a whole sheet", name=name, number=sheet.number),
            tr("leave --case out, or plan the sheet again (`panewright remake {plan}`)", plan=sheet.plan.id),
        )
    if (case.glass, case.width, case.height) != (sheet.glass, sheet.width, sheet.height):
        raise Refused(
            tr(
                "case {name} holds {found}, and sheet {number} is {wanted}",
                name=name,
                found=case.size_name,
                number=sheet.number,
                wanted=sheet.stock,
            ),
            tr("give a case of the same size"),
        )
    if not case.balance.free:
        raise Refused(
            tr("no sheet of case {name} is free", name=name),
            tr("count the case (`panewright stock count`), or give another one"),
        )
    if sheet.item is not None:
        post(connection, [Movement(Move.RELEASED, sheet.item.key, Balance(reserved=-1), because)])
    take(connection, sheet.plan.id, sheet.number, case.key, because)
    if sheet.item is not None and not sheet.item.is_offcut:
        serve_waiting(connection, sheet.item.key, because)
    return sheet_now(connection, sheet.plan, sheet.number)


def uncut(connection: Connection, event: Event, plan: PlanNow, because: Because) -> bool:
    """A sheet is not cut after all: its glass is in the rack, reserved for it; whether anything changed."""
    number = event.sheet or 0
    if told(connection, plan.line, [What.SHEET_CUT], sheet=number, but=event.id):
        return False
    sheet = sheet_now(connection, plan, number)
    if sheet.state is not SheetState.CUT or sheet.item is None:
        return False
    c, s = item.c, plan_sheet.c
    used = connection.execute(
        select(c.name, s.plan, s.number)
        .join(plan_sheet, s.item == c.id)
        .where(c.made_plan.in_(list(plan.line)), c.made_sheet == number, s.state == SheetState.CUT.value)
        .order_by(c.id)
    ).first()
    if used is not None:
        raise Refused(
            tr(
                "offcut {name} of sheet {number} is cut up already, as sheet {sheet}",
                name=used.name,
                number=number,
                sheet=f"{used.plan}.{used.number}",
            ),
            tr("undo the record of that sheet first"),
        )
    post(connection, [Movement(Move.ADJUSTED, sheet.item.key, Balance(on_hand=1, reserved=1), because)])
    if plan.is_open:
        set_sheet(connection, sheet, SheetState.RESERVED, sheet.item.key)
    else:
        post(connection, [Movement(Move.RELEASED, sheet.item.key, Balance(reserved=-1), because)])
        set_sheet(connection, sheet, SheetState.RELEASED, None)
    connection.execute(
        update(plan_sheet)
        .where(
            s.plan.in_([name for name in plan.line if name != plan.id]),
            s.number == number,
            s.state == SheetState.CUT.value,
        )
        .values(state=SheetState.RELEASED.value, item=None, cut_at=None, cut_by="")
    )
    return True


def broken(connection: Connection, event: Event, plan: PlanNow, because: Because) -> Outcome:
    """A panel broke: nothing in the rack changes, and the panel is to be made again."""
    p = plan_panel.c
    row = connection.execute(select(p.sheet).where(p.plan == plan.id, p.panel == event.panel)).one_or_none()
    if row is None or row.sheet is None:
        raise Refused(
            tr("plan {plan} cuts no panel {panel}", plan=plan.id, panel=event.panel),
            tr("look at the label of the panel"),
        )
    if row.sheet != event.sheet:
        raise Refused(
            tr(
                "panel {panel} is on sheet {found} of plan {plan}, not on {number}",
                panel=event.panel,
                found=row.sheet,
                plan=plan.id,
                number=event.sheet,
            ),
            tr("look at the label of the panel"),
        )
    before = told(connection, plan.line, [What.PANEL_BROKEN], panel=event.panel, but=event.id)
    if before:
        step = before[0].event.at_step
        said = tr(
            "panel {panel} is recorded as broken already ({step})",
            panel=event.panel,
            step=tr(step.value) if step else "-",
        )
        return Outcome(event=event, plan=plan.id, changed=False, notes=(said,))
    sheet = sheet_now(connection, plan, row.sheet)
    if sheet.state is not SheetState.CUT:
        must_be_open(plan)
    held = sheet.item if sheet.state is SheetState.CUT else glass_of(sheet)
    if held is not None:
        post(connection, [Movement(Move.BROKEN, held.key, Balance(), because)])
    return Outcome(event=event, plan=plan.id, changed=True, item=None if held is None else held.name)


def whole(connection: Connection, event: Event, plan: PlanNow, because: Because) -> bool:
    """A panel is not broken after all; whether anything changed."""
    if told(connection, plan.line, [What.PANEL_BROKEN], panel=event.panel, but=event.id):
        return False
    m = movement.c
    held = connection.execute(
        select(m.item).where(m.event == event.id, m.kind == Move.BROKEN.value).order_by(m.id.desc())
    ).scalar()
    if held is not None:
        post(connection, [Movement(Move.ADJUSTED, held, Balance(), because)])
    return held is not None
