"""What is in the racks: cases, stock sizes and offcuts, for lists."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, func, or_, select

from panewright.io.store.items import Item, item_of
from panewright.io.store.schema import item, movement, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.glass import kind_name
from panewright.nesting.ledger import PlanState, SheetState
from panewright.nesting.shop import StockSize, UnknownGlass, split_key

SizeKey = tuple[str, int, int]


@dataclass(frozen=True, slots=True)
class SizeRow:
    """All sheets of a stock size.

    Parameters
    ----------
    name
        As plans call it: ``clear-10 3210x2250``.
    glass, width, height
        [nm]
    cases
        How many cases hold some.
    on_hand, reserved, free
        Sheets.
    to_buy
        Sheets that open plans take and that are not there yet.
    """

    name: str
    glass: str
    width: int
    height: int
    cases: int
    on_hand: int
    reserved: int
    free: int
    to_buy: int


def is_of(glass: str, wanted: str | None) -> bool:
    """Whether a glass key is the one wanted, or of the kind wanted (``clear``, ``clear-10``)."""
    word = None if wanted is None else _word(wanted)
    if word is None or glass == word:
        return True
    try:
        return split_key(glass)[0] == word
    except UnknownGlass:
        return False


def _word(glass: str) -> str:
    return kind_name(glass) or glass.strip().lower()


def in_racks(
    connection: Connection,
    *,
    glass: str | None = None,
    kind: str | None = None,
    place: str | None = None,
) -> list[Item]:
    """Everything in the racks or expected.

    Parameters
    ----------
    connection
        Of a `Store.reading`.
    glass
        A glass key or a kind of glass; None: all.
    kind
        ``"sheet"`` or ``"offcut"``; None: both.
    place
        Places that begin with this; None: all.

    Returns
    -------
    list of Item
        In the order in which they came.
    """
    c = item.c
    query = select(item).where(or_(c.on_hand > 0, c.expected > 0)).order_by(c.id)
    if kind is not None:
        query = query.where(c.kind == kind)
    if glass is not None:
        word = _word(glass)
        query = query.where(or_(c.glass == word, c.glass.startswith(f"{word}-", autoescape=True)))
    if place is not None:
        query = query.where(c.place.startswith(place, autoescape=True))
    # LIKE takes no notice of case in SQLite, and `low-` begins `low-iron-10`
    return [
        one
        for one in map(item_of, connection.execute(query))
        if is_of(one.glass, glass) and one.place.startswith(place or "")
    ]


def sheets_to_buy(connection: Connection) -> dict[SizeKey, int]:
    """How many sheets of each size open plans still wait for."""
    s = plan_sheet.c
    query = (
        select(s.glass, s.width, s.height, func.count())
        .join(plans, plans.c.id == s.plan)
        .where(
            s.state == SheetState.TO_BUY.value,
            s.is_offcut.is_(False),
            plans.c.state == PlanState.OPEN.value,
        )
        .group_by(s.glass, s.width, s.height)
    )
    return {(glass, width, height): int(n) for glass, width, height, n in connection.execute(query)}


def by_size(items: Iterable[Item], to_buy: dict[SizeKey, int]) -> list[SizeRow]:
    """The cases added up by stock size, by glass and area; sizes that are only waited for too."""
    groups: dict[SizeKey, list[Item]] = defaultdict(list)
    for one in items:
        if not one.is_offcut:
            groups[one.glass, one.width, one.height].append(one)
    rows = []
    for key in groups.keys() | to_buy.keys():
        glass, width, height = key
        cases = groups.get(key, [])
        rows.append(
            SizeRow(
                name=StockSize(glass=glass, width=width, height=height, price=0).name,
                glass=glass,
                width=width,
                height=height,
                cases=len(cases),
                on_hand=sum(i.balance.on_hand for i in cases),
                reserved=sum(i.balance.reserved for i in cases),
                free=sum(i.balance.free for i in cases if not i.flaws),
                to_buy=to_buy.get(key, 0),
            )
        )
    return sorted(rows, key=lambda r: (*glass_order(r.glass), r.width * r.height, r.width))


def glass_order(glass: str) -> tuple[str, int]:
    """By kind, then by thickness."""
    try:
        return split_key(glass)
    except UnknownGlass:
        return glass, 0


def size_of_store(connection: Connection) -> tuple[int, int]:
    """How many items and how many movements the store holds."""
    items = connection.execute(select(func.count()).select_from(item)).scalar_one()
    return int(items), int(connection.execute(select(func.count()).select_from(movement)).scalar_one())
