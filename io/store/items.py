"""Items of stock: cases of equal sheets and single offcuts, received, and as the planner takes them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from typing import Any, Final

from sqlalchemy import Connection, bindparam, insert, select, text, update

from panewright.io.store.errors import UnknownName
from panewright.io.store.ledger import Because, Movement, in_parts, post
from panewright.io.store.schema import item, plan_sheet
from panewright.nesting.flaws import Flaw
from panewright.nesting.ledger import Balance, Move, SheetState
from panewright.nesting.shop import StockSize
from panewright.nesting.stock import ALL_SIDES, Side

SHEET: Final = "sheet"
OFFCUT: Final = "offcut"
IS_THERE: Final = text("(item.on_hand > 0 or item.expected > 0)")
"""Worded as in its index, without values to be filled in: else the index may not be taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A case of equal sheets, or one offcut.

    Parameters
    ----------
    key
        Row id; 0 before it is in the store.
    kind
        ``"sheet"`` or ``"offcut"``.
    name
        Number of the case or of the offcut; unique in the store.
    glass
        Glass key.
    width, height
        [nm]
    raw
        Sides still as bought.
    price
        Of one sheet, as the supplier took it, or None. [1/10,000 of the currency]
    measured
        Measured thickness, or None. [nm]
    since
        The day from which its age counts.
    made_by
        Plan and sheet number that leave this offcut, or None.
    flaws
        From its lower left corner; a sheet with flaws is an item of its own.
    take
        Sheets with a number are taken in rising order of it, before all others; None: in any order.
    balance
        Pieces there, reserved and expected.
    """

    key: int = 0
    kind: str
    name: str
    glass: str
    width: int
    height: int
    since: date
    raw: tuple[Side, ...] = ALL_SIDES
    price: int | None = None
    supplier: str = ""
    place: str = ""
    note: str = ""
    measured: int | None = None
    made_by: tuple[str, int] | None = None
    flaws: tuple[Flaw, ...] = ()
    take: int | None = None
    balance: Balance = field(default_factory=Balance)

    @property
    def is_offcut(self) -> bool:
        """Whether it is a single piece."""
        return self.kind == OFFCUT

    @property
    def size_name(self) -> str:
        """Name of its stock size, as plans give it: ``clear-10 3210x2250``."""
        return StockSize(glass=self.glass, width=self.width, height=self.height, price=0).name

    @property
    def is_like_no_other(self) -> bool:
        """Whether plans must name it itself: an offcut, what has flaws, what is taken in an order."""
        return self.is_one_piece or self.take is not None

    @property
    def is_one_piece(self) -> bool:
        """Whether there is never more than one: an offcut, a sheet with flaws."""
        return self.is_offcut or bool(self.flaws)

    @property
    def stock_name(self) -> str:
        """What a plan calls it: the stock size of a case, its own number where it is like no other."""
        return self.name if self.is_like_no_other else self.size_name

    @property
    def set_aside(self) -> bool:
        """Whether nobody said where its flaw lies: nothing is planned on it."""
        return any(
            f.x <= 0 and f.y <= 0 and f.x + f.width >= self.width and f.y + f.height >= self.height
            for f in self.flaws
        )


@lru_cache(maxsize=100)
def _sides(text: str) -> tuple[Side, ...]:
    raw = set(text.split())
    return tuple(side for side in Side if side.value in raw)


def flaws_text(flaws: Iterable[Flaw]) -> str:
    """Flaws as the store keeps them."""
    return json.dumps([[*f.box, f.kind] if f.kind else list(f.box) for f in flaws])


def read_flaws(text: str) -> tuple[Flaw, ...]:
    """Flaws as the store has them; those of older ones have no kind."""
    return () if text == "[]" else tuple(Flaw(*entry) for entry in json.loads(text))


def item_of(row: Any) -> Item:
    """The item of a row that begins with the columns of `item`, in their order."""
    # a rack has thousands of pieces, and a look-up by name takes longer than all the rest
    (key, kind, name, glass, width, height, raw, price, supplier, place, note, measured, since) = row[:13]
    made_plan, made_sheet, flaws, on_hand, reserved, expected, take_number = row[13:20]
    return Item(
        key=key,
        kind=kind,
        name=name,
        glass=glass,
        width=width,
        height=height,
        since=date.fromisoformat(since),
        raw=_sides(raw),
        price=price,
        supplier=supplier,
        place=place,
        note=note,
        measured=measured,
        made_by=None if made_plan is None else (made_plan, made_sheet),
        flaws=read_flaws(flaws),
        take=take_number,
        balance=Balance(on_hand, reserved, expected),
    )


def items_there(connection: Connection, *, glass: str | None = None) -> list[Item]:
    """Everything in the racks or expected, in the order in which it came."""
    c = item.c
    query = select(item).where(IS_THERE).order_by(c.id)
    if glass is not None:
        query = query.where(c.glass == glass)
    return [item_of(row) for row in connection.execute(query).all()]


def find_item(connection: Connection, name: str) -> Item:
    """The item of this name; raises `UnknownName`, with names that begin alike."""
    row = connection.execute(select(item).where(item.c.name == name)).one_or_none()
    if row is not None:
        return item_of(row)
    start = name[:2]
    near = connection.execute(
        select(item.c.name)
        .where(item.c.name.startswith(start, autoescape=True), item.c.on_hand + item.c.expected > 0)
        .order_by(item.c.name)
        .limit(3)
    ).scalars()
    raise UnknownName(name, list(near) if start else ())


def add_item(connection: Connection, new: Item) -> int:
    """Put an item into the store, with nothing of it there yet; its row id. Its `balance` is not looked at."""
    return add_items(connection, [new])[new.name]


def add_items(connection: Connection, new: Sequence[Item]) -> dict[str, int]:
    """The same for items of different names: name -> row id."""
    if not new:
        return {}
    connection.execute(insert(item), [_values(one) for one in new])
    found: dict[str, int] = {}
    for part in in_parts([one.name for one in new]):
        query = select(item.c.name, item.c.id).where(item.c.name.in_(part))
        found |= {row.name: row.id for row in connection.execute(query)}
    return found


def known_items(connection: Connection, names: Sequence[str]) -> dict[str, Item]:
    """Those of these names that the store has."""
    found: dict[str, Item] = {}
    for part in in_parts(list(names)):
        rows = connection.execute(select(item).where(item.c.name.in_(part))).all()
        found |= {one.name: one for one in map(item_of, rows)}
    return found


def _values(new: Item) -> dict[str, Any]:
    made = new.made_by or (None, None)
    return {
        "kind": new.kind,
        "name": new.name,
        "glass": new.glass,
        "width": new.width,
        "height": new.height,
        "raw": " ".join(side.value for side in new.raw),
        "price": new.price,
        "supplier": new.supplier,
        "place": new.place,
        "note": new.note,
        "measured": new.measured,
        "since": new.since.isoformat(),
        "made_plan": made[0],
        "made_sheet": made[1],
        "flaws": flaws_text(new.flaws),
        "take": new.take,
    }


def receive(connection: Connection, new: Item, count: int, because: Because) -> list[tuple[str, int]]:
    """Put a delivery into the racks: a new case, an offcut, or more of a case that is there.

    Sheets that committed plans wait for are reserved at once, the earliest day first.

    Returns
    -------
    list of tuple
        Plan and number of the sheets that have their glass now.
    """
    key = new.key or add_item(connection, new)
    post(connection, [Movement(Move.RECEIVED, key, Balance(on_hand=count), because)])
    return [] if new.is_one_piece else serve_waiting(connection, key, because)


def serve_waiting(connection: Connection, key: int, because: Because) -> list[tuple[str, int]]:
    """Reserve what is free of a case for sheets that are still to be bought."""
    case = item_of(connection.execute(select(item).where(item.c.id == key)).one())
    s = plan_sheet.c
    rows = connection.execute(
        select(s.plan, s.number)
        .where(
            s.state == SheetState.TO_BUY.value,
            s.glass == case.glass,
            s.width == case.width,
            s.height == case.height,
            s.is_offcut.is_(False),
        )
        .order_by(s.day.is_(None), s.day, s.plan, s.number)
        .limit(case.balance.free)
    ).all()
    served = [(row.plan, row.number) for row in rows]
    take_all(connection, [(name, number, key) for name, number in served], because)
    return served


def take(connection: Connection, plan: str, number: int, key: int, because: Because) -> None:
    """Reserve one piece of an item for a sheet of a plan."""
    take_all(connection, [(plan, number, key)], because)


def take_all(connection: Connection, takes: Sequence[tuple[str, int, int]], because: Because) -> None:
    """Reserve for sheets (plan, number) one piece of an item (its row id) each."""
    if not takes:
        return
    post(
        connection,
        [
            Movement(Move.RESERVED, key, Balance(reserved=1), replace(because, plan=plan, sheet=number))
            for plan, number, key in takes
        ],
    )
    connection.execute(
        _SET_SHEET,
        [
            {"of": plan, "nr": number, "to": SheetState.RESERVED.value, "from_item": key}
            for plan, number, key in takes
        ],
    )


_SET_SHEET: Final = (
    update(plan_sheet)
    .where(plan_sheet.c.plan == bindparam("of"), plan_sheet.c.number == bindparam("nr"))
    .values(state=bindparam("to"), item=bindparam("from_item"))
)


def cases_of(connection: Connection, glass: str, width: int, height: int) -> Sequence[Item]:
    """The cases of a size of which something is free; the oldest first, those taken in an order last. [nm]"""
    c = item.c
    rows = connection.execute(
        select(item)
        .where(
            c.kind == SHEET,
            c.glass == glass,
            c.width == width,
            c.height == height,
            c.on_hand > c.reserved,
            c.flaws == "[]",
        )
        .order_by(c.take.is_not(None), c.take, c.id)
    )
    return [item_of(row) for row in rows]
