"""A plan takes its glass, and gives it back: reservations, offcuts to come, sheets still to buy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, insert, select, update

from panewright.io.plan_file import dumps
from panewright.io.store.errors import NotTaken, UnknownName
from panewright.io.store.items import OFFCUT, SHEET, Item, add_items, cases_of, item_of, take_all
from panewright.io.store.ledger import Because, Movement, in_parts, micros, on_sheet, post
from panewright.io.store.offcut_flaws import add_flaws, flaws_in
from panewright.io.store.plan_lists import open_plans
from panewright.io.store.plan_rows import write_panels, write_sheets
from panewright.io.store.schema import item, movement, plan_panel, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.io.store.stranding import none_made, still_expected
from panewright.io.store.subjects import plan_now
from panewright.io.store.taken import Taken, taken_of
from panewright.nesting.kept import line_ids
from panewright.nesting.ledger import Balance, Move, PlanState, SheetState
from panewright.nesting.outlines import box
from panewright.nesting.plan import Layout, LeafKind, Plan
from panewright.nesting.shop import StockSize
from panewright.nesting.text import tr


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
        _words_anew(connection, plan)
        _try_again(connection, plan, because)
        return replace(taken_of(connection, plan.id), again=True)
    because = replace(because, plan=plan.id)
    before, reasons = (
        (plan.id, _displaced(connection, known)) if known is not None else _before(connection, plan)
    )
    old = {} if before is None else _sheets(connection, before)
    if before is not None:
        reasons = [*_lost(plan, before, old), *reasons]
    if reasons:
        raise NotTaken(plan.id, reasons)
    _write_head(connection, plan, before, because)
    cuts = _cuts(plan)
    stays = {n for n, row in old.items() if (n, row.stock, row.glass) in cuts}
    stranded: list[tuple[str, int]] = []
    if before is not None:
        left = [row for number, row in sorted(old.items()) if number not in stays]
        stranded += _let_go(connection, before, left, because)
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
    return replace(taken_of(connection, plan.id), stranded=tuple(stranded))


def _try_again(connection: Connection, plan: Plan, because: Because) -> None:
    """Glass for sheets of an open plan that have lost theirs, if there is enough for all of them."""
    rows = _sheets(connection, plan.id)
    if not any(row.state == SheetState.WITHOUT_GLASS.value for row in rows.values()):
        return
    point = connection.begin_nested()
    try:
        _reserve(connection, plan, rows, replace(because, plan=plan.id))
    except NotTaken:
        point.rollback()
    else:
        point.commit()


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
    sheets = _sheets(connection, name).values()
    stranded = _let_go(connection, name, [x for x in sheets if x.state != SheetState.CUT.value], because)
    connection.execute(update(plans).where(plans.c.id == name).values(state=PlanState.WITHDRAWN.value))
    return stranded


def _row(connection: Connection, name: str) -> Any:
    return connection.execute(
        select(plans.c.id, plans.c.state, plans.c.follows).where(plans.c.id == name)
    ).one_or_none()


def _displaced(connection: Connection, row: Any) -> list[str]:
    """Why a plan that another one follows cannot take glass: that one speaks for its sheets."""
    if row.state != PlanState.FOLLOWED.value:
        return []
    now = plan_now(connection, row.id)
    if now.is_open:
        return [tr("plan {now}, which was made from it, stands in its place", now=now.id)]
    return [
        tr("plan {now}, which was made from it, is withdrawn; that one can take its glass again", now=now.id)
    ]


def _before(connection: Connection, plan: Plan) -> tuple[str | None, list[str]]:
    """The plan for which this one stands in, and what speaks against it.

    It is the nearest of those it follows that the store knows; a withdrawn one too, for some of its sheets may
    be cut. Where others were made from that one and are withdrawn, the last of them tells what is cut.
    """
    for name in line_ids(plan)[1:]:
        row = _row(connection, name)
        if row is None:
            continue
        if row.state != PlanState.FOLLOWED.value:
            return name, []
        now = plan_now(connection, row.id)
        if now.is_open:
            return None, [
                tr(
                    "plan {now}, which was made from plan {before} too, stands in its place; plan on from that one, "
                    "or withdraw it first",
                    now=now.id,
                    before=name,
                )
            ]
        # numbers that only the withdrawn one gave may be given again, to other sheets
        mine = _sheets(connection, row.id)
        theirs = sorted(_sheets(connection, now.id).items())
        return now.id, [
            tr("sheet {number} of plan {plan} is cut, and the new plan leaves it out", number=n, plan=now.id)
            for n, one in theirs
            if one.state == SheetState.CUT.value and n not in mine
        ]
    return None, []


def _sheets(connection: Connection, name: str) -> dict[int, Any]:
    rows = connection.execute(select(plan_sheet).where(plan_sheet.c.plan == name))
    return {row.number: row for row in rows}


def _cuts(plan: Plan) -> set[tuple[int, str, str]]:
    """Number, stock and glass of each sheet: one of another plan that has the same is the same sheet."""
    return {(x.number, x.stock, x.glass) for x in plan.layouts}


def _lost(plan: Plan, before: str, old: dict[int, Any]) -> list[str]:
    cuts = _cuts(plan)
    return [
        tr("sheet {number} of plan {plan} is cut, and the new plan leaves it out", number=n, plan=before)
        for n, row in sorted(old.items())
        if row.state == SheetState.CUT.value and (n, row.stock, row.glass) not in cuts
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


def _words_anew(connection: Connection, plan: Plan) -> None:
    """What a plan of the same sheets says of its panels now: an order cancelled, a piece given to another.

    The id is that of the layouts, so that such a remake has the id of its plan.
    """
    text = dumps(plan)
    if text == connection.execute(select(plans.c.file).where(plans.c.id == plan.id)).scalar():
        return
    connection.execute(update(plans).where(plans.c.id == plan.id).values(file=text))
    connection.execute(plan_panel.delete().where(plan_panel.c.plan == plan.id))
    write_panels(connection, plan)


def _reserve(connection: Connection, plan: Plan, stays: dict[int, Any], because: Because) -> None:
    """Reserve for every sheet that has no glass yet; raises `NotTaken` with all that is not there."""
    has = {n for n, row in stays.items() if row.state in (SheetState.CUT.value, SheetState.RESERVED.value)}
    wanting = [x for x in plan.layouts if x.number not in has]
    moves: list[tuple[Layout, int]] = []
    own: set[int] = set()
    used: dict[int, int] = defaultdict(int)
    reasons: list[str] = []
    sizes: dict[tuple[str, int, int], list[Layout]] = defaultdict(list)
    for x in wanting:
        if x.is_offcut:
            key, reason = _offcut_of(connection, x)
            if key is None:
                reasons.append(tr("sheet {number}: {reason}", number=x.number, reason=reason))
            elif key in own:
                reason = tr("plan {plan} has taken offcut {name}", plan=plan.id, name=x.stock)
                reasons.append(tr("sheet {number}: {reason}", number=x.number, reason=reason))
            else:
                own.add(key)
                moves.append((x, key))
        elif (case := _case_named(connection, x)) is not None:
            if case.balance.free > used[case.key]:
                used[case.key] += 1
                moves.append((x, case.key))
            else:
                reason = tr("no sheet of case {name} is free", name=case.name)
                reasons.append(tr("sheet {number}: {reason}", number=x.number, reason=reason))
        else:
            sizes[(x.glass, x.width, x.height)].append(x)
    for (glass, width, height), layouts in sorted(sizes.items()):
        cases = cases_of(connection, glass, width, height)
        free = [i.key for i in cases for _ in range(i.balance.free - used[i.key])]
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
    take_all(connection, [(plan.id, x.number, key) for x, key in moves], because)


def _case_named(connection: Connection, x: Layout) -> Item | None:
    """The case that a sheet names itself, for its flaws or its place in an order."""
    if x.stock == StockSize(glass=x.glass, width=x.width, height=x.height, price=0).name:
        return None
    c = item.c
    query = select(item).where(
        c.name == x.stock,
        c.kind == SHEET,
        c.glass == x.glass,
        c.width == x.width,
        c.height == x.height,
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else item_of(row)


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
    names = {leaf.offcut for x in plan.layouts for leaf in x.leaves}
    stranded = none_made(
        connection,
        [
            (key, on_sheet(because, plan.id, number))
            for key, name, number in still_expected(connection, plan.id, stays)
            if name not in names
        ],
    )
    wanted = {
        leaf.offcut: (x, leaf)
        for x in plan.layouts
        for leaf in x.leaves
        if leaf.kind is LeafKind.OFFCUT and leaf.offcut is not None
    }
    known = {}
    for part in in_parts(list(wanted)):
        for one in connection.execute(select(item).where(item.c.name.in_(part))):
            known[one.name] = one
    new = [
        Item(
            kind=OFFCUT,
            name=name,
            glass=x.glass,
            width=x1 - x0,
            height=y1 - y0,
            raw=leaf.raw,
            since=because.at.date(),
            made_by=(plan.id, x.number),
            flaws=flaws_in(x, leaf),
        )
        for name, (x, leaf) in wanted.items()
        if name not in known
        for x0, y0, x1, y1 in [box(leaf.outline)]
    ]
    add_flaws(connection, {name: flaws_in(*wanted[name]) for name in known}, known)
    keys = add_items(connection, new) | {
        name: row.id
        for name, row in known.items()
        if not (row.on_hand or row.expected or _settled(connection, row.id))
    }
    post(
        connection,
        [
            Movement(Move.EXPECTED, keys[name], Balance(expected=1), on_sheet(because, plan.id, x.number))
            for name, (x, _) in wanted.items()
            if name in keys
        ],
    )
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


def _let_go(
    connection: Connection, name: str, rows: Sequence[Any], because: Because
) -> list[tuple[str, int]]:
    """Give back the glass of sheets that are not cut, and expect their offcuts no longer."""
    here = {row.number: on_sheet(because, name, row.number) for row in rows}
    post(
        connection,
        [
            Movement(Move.RELEASED, row.item, Balance(reserved=-1), here[row.number])
            for row in rows
            if row.state == SheetState.RESERVED.value
        ],
    )
    s = plan_sheet.c
    for part in in_parts(list(here)):
        connection.execute(
            update(plan_sheet)
            .where(s.plan == name, s.number.in_(part))
            .values(state=SheetState.RELEASED.value, item=None)
        )
    gone = still_expected(connection, name, here)
    return none_made(connection, [(key, here[number]) for key, _, number in gone])
