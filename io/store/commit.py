"""A plan takes its glass, and gives it back: reservations, offcuts to come, sheets still to buy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from typing import Any

from sqlalchemy import Connection, insert, select, update

from panewright.io.plan_file import dumps
from panewright.io.store.errors import NotTaken, UnknownName
from panewright.io.store.items import OFFCUT, Item, add_item, cases_of
from panewright.io.store.ledger import Because, Movement, micros, on_sheet, post
from panewright.io.store.plan_lists import open_plans
from panewright.io.store.plan_rows import write_sheets
from panewright.io.store.schema import item, movement, plan_panel, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.io.store.stranding import not_made, offcuts_to_come
from panewright.nesting.kept import FOLLOWS
from panewright.nesting.ledger import Balance, Move, PlanState, SheetState
from panewright.nesting.outlines import box
from panewright.nesting.plan import Layout, LeafKind, Plan
from panewright.nesting.text import tr


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What a commit came to.

    Parameters
    ----------
    plan
        Its id.
    reserved
        Sheet number -> number of the case or offcut.
    to_buy
        Sheets for which there is no glass yet.
    waits_for
        Sheet number -> plan and sheet that leave the offcut it is cut from.
    stranded
        Plan and number of sheets of other plans that lost the offcut they were waiting for.
    again
        The plan had taken its glass before; nothing was changed.
    """

    plan: str
    reserved: dict[int, str] = field(default_factory=dict)
    to_buy: tuple[int, ...] = ()
    waits_for: dict[int, tuple[str, int]] = field(default_factory=dict)
    stranded: tuple[tuple[str, int], ...] = ()
    again: bool = False


def commit_plan(connection: Connection, plan: Plan, because: Because) -> Taken:
    """Reserve what a plan takes, expect the offcuts it will leave, and stand in for the plan it follows.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    plan
        A plan that the checker has passed.
    because
        When, who and why; a plan need not be named.

    Raises
    ------
    NotTaken
        Something of it is gone or taken; every reason is told and nothing is changed, if the caller lets the
        error end the transaction.
    """
    known = _row(connection, plan.id)
    if known is not None and known.state == PlanState.OPEN.value:
        return replace(_taken(connection, plan.id), again=True)
    because = replace(because, plan=plan.id)
    before = plan.id if known is not None else _before(connection, plan)
    old = {} if before is None else _sheets(connection, before)
    reasons = _lost(plan, before, old) if before is not None else []
    if known is not None and known.state == PlanState.FOLLOWED.value:
        reasons.append(tr("another plan that was made from it stands in its place"))
    if reasons:
        raise NotTaken(plan.id, reasons)
    _write_head(connection, plan, before, because)
    stays = {n for n, row in old.items() if _same(plan, n, row)}
    stranded: list[tuple[str, int]] = []
    if before is not None:
        for number, row in sorted(old.items()):
            if number not in stays:
                stranded += _let_go(connection, before, row, because)
    mine = {n: old[n] for n in stays}
    write_sheets(connection, plan, mine)
    _reserve(connection, plan, mine, because)
    stranded += _expect(connection, plan, stays, because)
    if before is not None and before != plan.id:
        connection.execute(update(plans).where(plans.c.id == before).values(state=PlanState.FOLLOWED.value))
        connection.execute(
            update(plan_sheet)
            .where(plan_sheet.c.plan == before, plan_sheet.c.state != SheetState.CUT.value)
            .values(state=SheetState.RELEASED.value, item=None)
        )
    return replace(_taken(connection, plan.id), stranded=tuple(stranded))


def withdraw_plan(connection: Connection, name: str, because: Because) -> list[tuple[str, int]]:
    """Give back what a plan has reserved; what is cut of it stays as it is.

    Returns
    -------
    list of tuple
        Plan and number of the sheets of other plans that waited for an offcut of it and must be planned again.

    Raises
    ------
    UnknownName
        The store has no open plan of this id.
    """
    row = _row(connection, name)
    if row is None or row.state != PlanState.OPEN.value:
        raise UnknownName(tr("open plan {plan}", plan=name), open_plans(connection)[:5])
    because = replace(because, plan=name)
    stranded: list[tuple[str, int]] = []
    for sheet in _sheets(connection, name).values():
        if sheet.state != SheetState.CUT.value:
            stranded += _let_go(connection, name, sheet, because)
    connection.execute(update(plans).where(plans.c.id == name).values(state=PlanState.WITHDRAWN.value))
    return stranded


def _row(connection: Connection, name: str) -> Any:
    return connection.execute(
        select(plans.c.id, plans.c.state, plans.c.follows).where(plans.c.id == name)
    ).one_or_none()


def _before(connection: Connection, plan: Plan) -> str | None:
    """The plan for which this one stands in: the nearest of those it follows that the store knows.

    A withdrawn one too, for some of its sheets may be cut.
    """
    names = plan.extra.get(FOLLOWS, [])
    for name in names if isinstance(names, list) else [names]:
        row = _row(connection, str(name))
        if row is not None:
            return None if row.state == PlanState.FOLLOWED.value else str(name)
    return None


def _sheets(connection: Connection, name: str) -> dict[int, Any]:
    rows = connection.execute(select(plan_sheet).where(plan_sheet.c.plan == name))
    return {row.number: row for row in rows}


def _same(plan: Plan, number: int, row: Any) -> bool:
    """Whether the new plan cuts this sheet of the old one."""
    return any(x.number == number and x.stock == row.stock and x.glass == row.glass for x in plan.layouts)


def _lost(plan: Plan, before: str, old: dict[int, Any]) -> list[str]:
    return [
        tr("sheet {number} of plan {plan} is cut, and the new plan leaves it out", number=n, plan=before)
        for n, row in sorted(old.items())
        if row.state == SheetState.CUT.value and not _same(plan, n, row)
    ]


def _write_head(connection: Connection, plan: Plan, before: str | None, because: Because) -> None:
    values = {
        "state": PlanState.OPEN.value,
        "committed": micros(because.at),
        "who": because.who,
        "why": because.why,
        "file": dumps(plan),
    }
    if before == plan.id:
        connection.execute(update(plans).where(plans.c.id == plan.id).values(**values))
        connection.execute(plan_sheet.delete().where(plan_sheet.c.plan == plan.id))
        connection.execute(plan_panel.delete().where(plan_panel.c.plan == plan.id))
    else:
        connection.execute(insert(plans).values(id=plan.id, follows=before, **values))


def _reserve(connection: Connection, plan: Plan, stays: dict[int, Any], because: Because) -> None:
    """Reserve for every sheet that has no glass yet; raises `NotTaken` with all that is not there."""
    has = {n for n, row in stays.items() if row.state in (SheetState.CUT.value, SheetState.RESERVED.value)}
    wanting = [x for x in plan.layouts if x.number not in has]
    moves: list[tuple[Layout, int]] = []
    reasons: list[str] = []
    sizes: dict[tuple[str, int, int], list[Layout]] = defaultdict(list)
    for x in wanting:
        if x.is_offcut:
            key, reason = _offcut_of(connection, x)
            if key is None:
                reasons.append(tr("sheet {number}: {reason}", number=x.number, reason=reason))
            else:
                moves.append((x, key))
        else:
            sizes[(x.glass, x.width, x.height)].append(x)
    for (glass, width, height), layouts in sorted(sizes.items()):
        free = [i.key for i in cases_of(connection, glass, width, height) for _ in range(i.balance.free)]
        # what is in the rack goes to the sheets planned from it first
        for x, key in zip(sorted(layouts, key=lambda x: (x.buy, x.number)), free, strict=False):
            moves.append((x, key))
        for x in sorted(layouts, key=lambda x: (x.buy, x.number))[len(free) :]:
            if not x.buy:
                reasons.append(
                    tr(
                        "sheet {number}: no {stock} is free in the rack any more",
                        number=x.number,
                        stock=x.stock,
                    )
                )
    if reasons:
        raise NotTaken(plan.id, reasons)
    post(
        connection,
        [
            Movement(Move.RESERVED, key, Balance(reserved=1), on_sheet(because, plan.id, x.number))
            for x, key in moves
        ],
    )
    for x, key in moves:
        connection.execute(
            update(plan_sheet)
            .where(plan_sheet.c.plan == plan.id, plan_sheet.c.number == x.number)
            .values(state=SheetState.RESERVED.value, item=key)
        )


def _offcut_of(connection: Connection, x: Layout) -> tuple[int | None, str]:
    """The row id of the offcut that a sheet is cut from, or why it cannot be had."""
    row = connection.execute(select(item).where(item.c.name == x.stock, item.c.kind == OFFCUT)).one_or_none()
    if row is None:
        return None, tr("the store has no offcut {name}", name=x.stock)
    if (row.glass, row.width, row.height) != (x.glass, x.width, x.height):
        return None, tr("offcut {name} is another piece now", name=x.stock)
    if not row.on_hand + row.expected:
        return None, tr("offcut {name} is gone", name=x.stock)
    if row.reserved:
        other = connection.execute(
            select(plan_sheet.c.plan).where(
                plan_sheet.c.item == row.id, plan_sheet.c.state == SheetState.RESERVED.value
            )
        ).scalar()
        return None, tr("plan {plan} has taken offcut {name}", plan=other, name=x.stock)
    return int(row.id), ""


def _expect(
    connection: Connection, plan: Plan, stays: Collection[int], because: Because
) -> list[tuple[str, int]]:
    """The offcuts that the plan will leave come into the store, not there yet.

    Of sheets that stay, those that are left no longer are expected no more: plan and number of the sheets
    that waited for them.
    """
    stranded: list[tuple[str, int]] = []
    for x in plan.layouts:
        if x.number in stays:
            names = {leaf.offcut for leaf in x.leaves}
            keys = offcuts_to_come(connection, plan.id, x.number)
            gone = connection.execute(select(item.c.id).where(item.c.id.in_(keys), item.c.name.not_in(names)))
            stranded += not_made(connection, list(gone.scalars()), on_sheet(because, plan.id, x.number))
    day = because.at.date()
    moves = []
    for x in plan.layouts:
        for leaf in x.leaves:
            if leaf.kind is not LeafKind.OFFCUT or leaf.offcut is None:
                continue
            row = connection.execute(select(item).where(item.c.name == leaf.offcut)).one_or_none()
            if row is not None and (row.on_hand or row.expected or _settled(connection, row.id)):
                continue
            x0, y0, x1, y1 = box(leaf.outline)
            key = row.id if row is not None else None
            if key is None:
                key = add_item(
                    connection,
                    Item(
                        kind=OFFCUT,
                        name=leaf.offcut,
                        glass=x.glass,
                        width=x1 - x0,
                        height=y1 - y0,
                        raw=leaf.raw,
                        since=day,
                        made_by=(plan.id, x.number),
                    ),
                )
            moves.append(
                Movement(Move.EXPECTED, key, Balance(expected=1), on_sheet(because, plan.id, x.number))
            )
    post(connection, moves)
    return stranded


def _settled(connection: Connection, key: int) -> bool:
    """Whether an offcut that is not there was kept and used, or thrown away at its sheet."""
    m = movement.c
    query = select(m.kind, plan_sheet.c.state).outerjoin(
        plan_sheet, (plan_sheet.c.plan == m.plan) & (plan_sheet.c.number == m.sheet)
    )
    kinds = (Move.KEPT.value, Move.NOT_MADE.value)
    last = connection.execute(query.where(m.item == key, m.kind.in_(kinds)).order_by(m.id.desc())).first()
    return last is not None and (last.kind == Move.KEPT.value or last.state == SheetState.CUT.value)


def _let_go(connection: Connection, name: str, row: Any, because: Because) -> list[tuple[str, int]]:
    """Give back the glass of a sheet that is not cut, and expect its offcuts no longer."""
    here = on_sheet(because, name, row.number)
    if row.state == SheetState.RESERVED.value:
        post(connection, [Movement(Move.RELEASED, row.item, Balance(reserved=-1), here)])
    connection.execute(
        update(plan_sheet)
        .where(plan_sheet.c.plan == name, plan_sheet.c.number == row.number)
        .values(state=SheetState.RELEASED.value, item=None)
    )
    return not_made(connection, offcuts_to_come(connection, name, row.number), here)


def _taken(connection: Connection, name: str) -> Taken:
    rows = connection.execute(
        select(plan_sheet, item.c.name, item.c.on_hand, item.c.made_plan, item.c.made_sheet)
        .outerjoin(item, item.c.id == plan_sheet.c.item)
        .where(plan_sheet.c.plan == name)
        .order_by(plan_sheet.c.number)
    ).all()
    states = {row.number: SheetState(row.state) for row in rows}
    return Taken(
        plan=name,
        reserved={r.number: r.name for r in rows if states[r.number] is SheetState.RESERVED},
        to_buy=tuple(n for n, state in states.items() if state is SheetState.TO_BUY),
        waits_for={
            r.number: (r.made_plan, r.made_sheet)
            for r in rows
            if states[r.number] is SheetState.RESERVED and r.is_offcut and not r.on_hand and r.made_plan
        },
    )
