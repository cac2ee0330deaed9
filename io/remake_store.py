"""What the stock store knows for a remake: which sheets are cut, what is free, pieces that a break left on the table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from sqlalchemy import Connection, select

from panewright.io.store.events import Refused
from panewright.io.store.happening import happened_of
from panewright.io.store.items import OFFCUT, Item, item_of, receive
from panewright.io.store.ledger import Because
from panewright.io.store.offering import offered
from panewright.io.store.plan_lists import stands_for
from panewright.io.store.schema import item, plan_sheet
from panewright.io.store.subjects import plan_now
from panewright.nesting.happened import Happened
from panewright.nesting.kept import line_ids
from panewright.nesting.ledger import SheetState
from panewright.nesting.plan import Plan
from panewright.nesting.remake.recut import as_stock
from panewright.nesting.remake.sheets import left_of, lying_offcuts
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece


def states_of(connection: Connection, plan: Plan) -> dict[int, SheetState]:
    """How far the sheets of a plan are; none where the plan has not taken its glass."""
    s = plan_sheet.c
    rows = connection.execute(select(s.number, s.state).where(s.plan == stands_for(connection, plan.id)))
    known = {x.number for x in plan.layouts}
    return {row.number: SheetState(row.state) for row in rows if row.number in known}


def happened_in_store(connection: Connection, plan: Plan) -> tuple[str, Happened]:
    """The plan that stands for this one now, and what the store says of it; nothing where it knows neither."""
    try:
        return plan_now(connection, plan.id).id, happened_of(connection, plan.id)
    except Refused:
        return plan.id, Happened()


def stock_in_store(
    connection: Connection, plan: Plan, happened: Happened, shop: Shop, day: date
) -> list[StockPiece]:
    """What is free, and what the plan holds for its sheets that are not cut.

    Parameters
    ----------
    connection
        Of a `Store.reading`.
    plan, happened
        The plan, and what became of it: the glass of cut and of flawed sheets is not offered again.
    shop
        Trims, prices, worth of offcuts.
    day
        From which the age of offcuts counts.
    """
    lying = lying_offcuts(plan, happened)
    pieces = offered(connection, shop, day=day, line=line_ids(plan), lying=lying).pieces
    pieces = _as_planned(connection, plan, pieces)
    states = states_of(connection, plan)
    held = (SheetState.RESERVED, SheetState.CUT)
    used = [
        x
        for x in plan.layouts
        if states.get(x.number) in held and (x.number in happened.cut or x.number in happened.flawed)
    ]
    return left_of(pieces, used)


def _as_planned(connection: Connection, plan: Plan, pieces: list[StockPiece]) -> list[StockPiece]:
    """The stock with sheets that left their case for a flaw under the name that the plan gives them.

    The plan has them on, so that nobody else takes them: of its own sheets it must find as many as it has.
    """
    s, c = plan_sheet.c, item.c
    rows = connection.execute(
        select(item, s.stock)
        .join(plan_sheet, s.item == c.id)
        .where(
            s.plan == stands_for(connection, plan.id),
            s.state == SheetState.RESERVED.value,
            s.stock != c.name,
        )
        .order_by(s.number)
    ).all()
    own = [(row.name, row.stock) for row in rows if item_of(row).is_like_no_other]
    if not own:
        return pieces
    counts = {p.name: p.on_hand for p in pieces}
    for name, _ in own:
        counts[name] = counts.get(name, 0) - 1
    rest = [replace(p, on_hand=counts[p.name]) for p in pieces if p.on_hand <= 0 or counts[p.name] > 0]
    for _, stock in own:
        place = next((k for k, p in enumerate(rest) if p.name == stock), None)
        if place is not None:
            rest[place] = replace(rest[place], on_hand=rest[place].on_hand + 1)
        else:
            layout = next(x for x in plan.layouts if x.stock == stock)
            rest.append(as_stock(layout))
    return rest


def maker_of(name: str) -> tuple[str, int]:
    """Plan and sheet that a piece measured on the table came from: `on_table_stock` numbers it by them."""
    plan, sheet, _ = name.rsplit(".", 2)
    return plan, int(sheet)


def pieces_to_store(
    connection: Connection, pieces: Iterable[StockPiece], because: Because, day: date
) -> None:
    """Pieces that a break left on the table come into the store as offcuts, once."""
    for piece in pieces:
        if connection.execute(select(item.c.id).where(item.c.name == piece.name)).first() is None:
            new = Item(
                kind=OFFCUT,
                name=piece.name,
                glass=piece.glass,
                width=piece.width,
                height=piece.height,
                raw=piece.raw,
                since=day,
                made_by=maker_of(piece.name),
            )
            receive(connection, new, 1, because)
