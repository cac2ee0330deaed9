"""Offcuts kept and thrown away: what they are now, and how they come to be something else."""

from __future__ import annotations

from enum import Enum
from typing import Final

from sqlalchemy import Connection, select, update

from panewright.io.plan_reader import loads
from panewright.io.record_file import Event, What
from panewright.io.record_making import PLACE
from panewright.io.store.events import MOST_NAME, Refused, plain, told
from panewright.io.store.items import OFFCUT, Item, flaws_text, item_of, take
from panewright.io.store.ledger import Because, Movement, micros, post
from panewright.io.store.offcut_flaws import flaws_in, set_flaws
from panewright.io.store.outcomes import Outcome, SheetKey
from panewright.io.store.plan_lists import plan_text
from panewright.io.store.schema import event as events
from panewright.io.store.schema import item, movement, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.io.store.stranding import not_made, strand
from panewright.io.store.subjects import PlanNow, sheet_now
from panewright.nesting.flaw_parts import on_smaller
from panewright.nesting.ledger import Balance, Move, PlanState, SheetState
from panewright.nesting.outlines import box
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_MM, show_size

MOST_NOTE: Final = 400
TAPE: Final = NM_PER_MM
"""What a tape reads for certain [common practice]: an offcut shorter by less serves as planned. [nm]"""
OFFCUTS: Final = (What.OFFCUT_KEPT, What.OFFCUT_THROWN)


class Now(Enum):
    """What an offcut is."""

    EXPECTED = "expected"
    KEPT = "kept"
    THROWN = "thrown"
    USED = "used"
    """Kept, and cut up since."""
    DROPPED = "dropped"
    """No plan leaves it any more."""
    GONE = "gone"
    """Scrapped or found missing in the rack."""


def state_of(connection: Connection, offcut: Item) -> tuple[Now, int]:
    """What an offcut is, and since when. [us]"""
    m = movement.c
    last = connection.execute(
        select(m.kind, m.event, m.at)
        .where(m.item == offcut.key, (m.on_hand != 0) | (m.expected != 0))
        .order_by(m.id.desc())
        .limit(1)
    ).one_or_none()
    at = 0 if last is None else last.at
    if offcut.balance.on_hand:
        return Now.KEPT, at
    if offcut.balance.expected:
        return Now.EXPECTED, at
    if last is None:
        return Now.DROPPED, at
    if last.kind == Move.CUT.value:
        return Now.USED, at
    if last.kind in (Move.NOT_MADE.value, Move.SCRAPPED.value) and last.event is not None:
        return Now.THROWN, at
    return (Now.DROPPED if last.kind == Move.NOT_MADE.value else Now.GONE), at


def kept_or_thrown(connection: Connection, event: Event, plan: PlanNow, because: Because) -> Outcome:
    """An offcut was kept, or thrown away; of two that say otherwise the later one holds."""
    offcut = find_offcut(connection, event, plan)
    keeps = event.what is What.OFFCUT_KEPT
    other = What.OFFCUT_THROWN if keeps else What.OFFCUT_KEPT
    later = [x for x in told(connection, plan.line, [other], offcut=event.offcut) if x.event.at > event.at]
    if later:
        note = tr(
            "offcut {name}: what was recorded for a later time holds ({what})",
            name=offcut.name,
            what=tr(other.value),
        )
        return Outcome(event=event, plan=plan.id, changed=False, item=offcut.name, notes=(note,))
    if keeps:
        return _keep(connection, event, plan, offcut, because)
    return _throw(connection, event, plan, offcut, because)


def find_offcut(connection: Connection, event: Event, plan: PlanNow) -> Item:
    """The offcut that an event is about; raises `Refused`."""
    row = connection.execute(
        select(item).where(item.c.name == event.offcut, item.c.kind == OFFCUT)
    ).one_or_none()
    if row is None or row.made_plan not in plan.line:
        raise Refused(
            tr("plan {plan} leaves no offcut {name}", plan=plan.id, name=event.offcut),
            tr("look at the drawing of the sheet"),
        )
    if row.made_sheet != event.sheet:
        raise Refused(
            tr(
                "offcut {name} is left by sheet {found}, not by {number}",
                name=event.offcut,
                found=row.made_sheet,
                number=event.sheet,
            ),
            tr("look at the drawing of the sheet"),
        )
    return item_of(row)


def _keep(connection: Connection, event: Event, plan: PlanNow, offcut: Item, because: Because) -> Outcome:
    now, since = state_of(connection, offcut)
    notes: list[str] = []
    if now is Now.DROPPED:
        raise Refused(
            tr("no plan leaves offcut {name} any more", name=offcut.name),
            tr("put it into the rack with `panewright stock receive`, under a number of its own"),
        )
    if now is Now.GONE and micros(event.at) > since:
        raise Refused(
            tr("offcut {name} was scrapped or counted as missing", name=offcut.name),
            tr("count it again (`panewright stock count`)"),
        )
    if now in (Now.USED, Now.GONE):
        return Outcome(event=event, plan=plan.id, changed=False, item=offcut.name)
    size = _measured(connection, event, plan, offcut)
    place = event.extra.get(PLACE)
    where = plain(place)[:MOST_NAME] if isinstance(place, str) and place else None
    if now is not Now.KEPT:
        if now is Now.THROWN:
            post(connection, [Movement(Move.EXPECTED, offcut.key, Balance(expected=1), because)])
        change = Balance(on_hand=1, expected=-1)
        post(connection, [Movement(Move.KEPT, offcut.key, change, because, where)])
    elif where is not None and where != offcut.place:
        post(connection, [Movement(Move.MOVED, offcut.key, Balance(), because, where)])
    stranded: list[SheetKey] = []
    if size is not None and size != (offcut.width, offcut.height):
        stranded, fits = _resize(connection, offcut, size, because)
        words = show_size(*size)
        notes.append(
            tr("offcut {name} measures {size}", name=offcut.name, size=words)
            if fits
            else tr(
                "offcut {name} measures {size} and serves as planned; it keeps its size in the store",
                name=offcut.name,
                size=words,
            )
        )
    elif now is Now.THROWN:
        _give_back(connection, offcut, because)
    values: dict[str, object] = {"since": event.at.date().isoformat()} if now is not Now.KEPT else {}
    if where is not None and where != offcut.place:
        values["place"] = where
        notes.append(tr("it stands at {place}", place=where))
    if event.note:
        values["note"] = plain(event.note)[:MOST_NOTE]
    if values:
        connection.execute(update(item).where(item.c.id == offcut.key).values(**values))
    return Outcome(
        event=event,
        plan=plan.id,
        changed=now is not Now.KEPT or bool(notes) or "place" in values or "note" in values,
        item=offcut.name,
        stranded=tuple(stranded),
        notes=tuple(notes),
    )


def _measured(connection: Connection, event: Event, plan: PlanNow, offcut: Item) -> tuple[int, int] | None:
    """The measured size, the way round that is nearer to the planned one."""
    if event.size is None:
        return None
    one, two = event.size, (event.size[1], event.size[0])
    planned = (offcut.width, offcut.height)

    def off(size: tuple[int, int]) -> int:
        return abs(size[0] - planned[0]) + abs(size[1] - planned[1])

    size = one if off(one) <= off(two) else two
    sheet = sheet_now(connection, plan, event.sheet or 0)
    if size[0] > sheet.width + TAPE or size[1] > sheet.height + TAPE:
        raise Refused(
            tr(
                "offcut {name} cannot measure {size}: its sheet has {sheet}",
                name=offcut.name,
                size=show_size(*size),
                sheet=show_size(sheet.width, sheet.height),
            ),
            tr("measure it again"),
        )
    return size


def _resize(
    connection: Connection, offcut: Item, size: tuple[int, int], because: Because
) -> tuple[list[SheetKey], bool]:
    """Give an offcut its measured size: sheets it is too small for lose it. Whether it has that size now."""
    width, height = size
    taken = connection.execute(select(item.c.reserved).where(item.c.id == offcut.key)).scalar_one()
    if taken and width >= offcut.width - TAPE and height >= offcut.height - TAPE:
        return [], False
    stranded = strand(connection, offcut.key, 0, because) if taken else []
    flaws = on_smaller(offcut.flaws, (offcut.width, offcut.height), size)
    connection.execute(
        update(item)
        .where(item.c.id == offcut.key)
        .values(width=width, height=height, flaws=flaws_text(flaws))
    )
    return stranded, True


def _throw(connection: Connection, event: Event, plan: PlanNow, offcut: Item, because: Because) -> Outcome:
    now, _ = state_of(connection, offcut)
    stranded: list[SheetKey] = []
    if now is Now.USED:
        raise Refused(
            tr("offcut {name} is cut up already", name=offcut.name),
            tr("undo the record of the sheet that was cut from it first"),
        )
    if now is Now.EXPECTED:
        stranded = not_made(connection, [offcut.key], because)
    elif now is Now.KEPT:
        stranded = strand(connection, offcut.key, 0, because)
        post(connection, [Movement(Move.SCRAPPED, offcut.key, Balance(on_hand=-1), because)])
    return Outcome(
        event=event,
        plan=plan.id,
        changed=now in (Now.EXPECTED, Now.KEPT),
        item=offcut.name,
        stranded=tuple(stranded),
    )


def unsaid(
    connection: Connection, event: Event, plan: PlanNow, because: Because
) -> tuple[bool, list[SheetKey]]:
    """An offcut was not kept, or not thrown, after all: it is what else is told of it, else expected.

    Returns
    -------
    tuple
        Whether anything changed, and the sheets that lost it.
    """
    offcut = find_offcut(connection, event, plan)
    others = told(connection, plan.line, OFFCUTS, offcut=event.offcut, but=event.id)
    now, _ = state_of(connection, offcut)
    if others:
        last = others[-1].event
        if event.size is not None and now is Now.KEPT:
            _planned_size(connection, offcut)
            offcut = find_offcut(connection, event, plan)
        outcome = (
            _keep(connection, last, plan, offcut, because)
            if last.what is What.OFFCUT_KEPT
            else _throw(connection, last, plan, offcut, because)
        )
        return outcome.changed, list(outcome.stranded)
    if now is Now.USED:
        raise Refused(
            tr("offcut {name} is cut up already", name=offcut.name),
            tr("undo the record of the sheet that was cut from it first"),
        )
    comes = _comes(connection, plan, event.sheet or 0)
    if now is Now.KEPT:
        stranded = [] if comes else strand(connection, offcut.key, 0, because)
        change = Balance(on_hand=-1, expected=int(comes))
        post(connection, [Movement(Move.ADJUSTED, offcut.key, change, because)])
        if event.size is not None:
            _planned_size(connection, offcut)
        if comes:
            _give_back(connection, offcut, because)
        return True, stranded
    if now is Now.THROWN and comes:
        post(connection, [Movement(Move.EXPECTED, offcut.key, Balance(expected=1), because)])
        _give_back(connection, offcut, because)
        return True, []
    return False, []


def _comes(connection: Connection, plan: PlanNow, number: int) -> bool:
    """Whether its sheet is cut or is still to be cut."""
    s = plan_sheet.c
    state = connection.execute(select(s.state).where(s.plan == plan.id, s.number == number)).scalar()
    return state is not None and state != SheetState.RELEASED.value


def _planned_size(connection: Connection, offcut: Item) -> None:
    """Give it the size that its plan has, unless a plan has taken it as it was measured."""
    taken = connection.execute(select(item.c.reserved).where(item.c.id == offcut.key)).scalar_one()
    if taken or offcut.made_by is None:
        return
    for layout in loads(plan_text(connection, offcut.made_by[0])).layouts:
        for leaf in layout.leaves:
            if leaf.offcut == offcut.name:
                x0, y0, x1, y1 = box(leaf.outline)
                size = {"width": x1 - x0, "height": y1 - y0}
                connection.execute(update(item).where(item.c.id == offcut.key).values(**size))
                set_flaws(connection, offcut, flaws_in(layout, leaf))


def _give_back(connection: Connection, offcut: Item, because: Because) -> None:
    """Reserve it again for the sheet that lost it by an event, where that still waits for glass."""
    row = connection.execute(select(item).where(item.c.id == offcut.key)).one()
    if row.reserved:
        return
    m, s, p = movement.c, plan_sheet.c, plans.c
    lost = connection.execute(
        select(s.plan, s.number)
        .join(movement, (m.plan == s.plan) & (m.sheet == s.number))
        .join(plans, p.id == s.plan)
        .join(events, events.c.id == m.event)
        .where(
            m.item == offcut.key,
            m.kind == Move.RELEASED.value,
            events.c.offcut == offcut.name,
            s.state == SheetState.WITHOUT_GLASS.value,
            s.stock == offcut.name,
            s.width == row.width,
            s.height == row.height,
            p.state == PlanState.OPEN.value,
        )
        .order_by(m.id.desc())
    ).first()
    if lost is not None:
        take(connection, lost.plan, lost.number, offcut.key, because)
