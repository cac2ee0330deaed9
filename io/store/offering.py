"""What the store offers the planner: free sheets by size, sizes to buy, offcuts by their age.

What has flaws, or is taken in an order, is offered under its own number, and what nobody located the flaw of not at all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cache
from typing import Final

from sqlalchemy import Connection, select

from panewright.io.stock_list import cheapest, fits_tables, offcut_cost, shop_stock
from panewright.io.store.items import IS_THERE, OFFCUT, Item, item_of, items_there
from panewright.io.store.ledger import in_parts
from panewright.io.store.plan_lists import newest_of
from panewright.io.store.schema import item, plan_sheet
from panewright.nesting.ledger import SheetState
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece, Trim

UNPRICED: Final = Fraction(10_000, 10**18)
"""What glass without any price counts as, so that less of it is better: one a m2. [1/10,000 a nm2]"""


@dataclass(frozen=True, slots=True)
class Offered:
    """What the planner may take.

    Parameters
    ----------
    pieces
        Sheets by size and offcuts.
    expected
        Number of each expected offcut among them -> plan and sheet that leave it; a sheet cut from it comes
        after that one.
    unpriced
        Glasses among them of which neither the shop file nor a case has a price: they count by `UNPRICED`.
    """

    pieces: list[StockPiece]
    expected: dict[str, tuple[str, int]]
    unpriced: tuple[str, ...] = ()


def offered(
    connection: Connection,
    shop: Shop,
    *,
    day: date,
    line: Collection[str] = (),
    expected: bool = False,
    by: date | None = None,
    lying: Collection[str] = (),
) -> Offered:
    """The stock as the planner takes it: what is free, and the sizes of the shop file to buy.

    Parameters
    ----------
    connection
        Of a `Store.reading`.
    shop
        Trims, prices and the worth of offcuts. The price of a sheet is today's, of the shop file, and only
        where that has none the price of the newest case.
    day
        From which the age of offcuts is counted.
    line
        Plans of which the sheets count as free: those that the new plan will stand in for. Sheets of them that
        are cut count as there too, for the plan still names them.
    expected
        Offcuts that plans will leave count too: of sheets that have their glass.
    by
        And only of sheets that are planned to be cut by this day, where they have a day.
    lying
        Expected offcuts that lie at the table all the same, for the desk was told that their sheets are cut.
    """
    makers = _makers(connection, by) if expected else frozenset()
    there = {i.key: i for i in items_there(connection)}
    extra: dict[int, int] = defaultdict(int)
    if line:
        s = plan_sheet.c
        for row in connection.execute(
            select(s.item, s.state).where(
                s.plan.in_(list(line)),
                s.item.is_not(None),
                s.state.in_((SheetState.RESERVED.value, SheetState.CUT.value)),
            )
        ):
            extra[row.item] += 1
        missing = [key for key in extra if key not in there]
        for row in connection.execute(select(item).where(item.c.id.in_(missing))) if missing else ():
            there[row.id] = item_of(row)
    mine = _made_by(connection, line)
    to_buy = {p.name: p for p in shop_stock(shop)}
    usable = cache(lambda glass, w, h: shop.has(glass) and fits_tables(shop, glass, w, h))
    trim = cache(lambda glass, raw: shop.trim(glass).on(raw))
    counts: dict[str, int] = defaultdict(int)
    newest: dict[str, Item] = {}
    offcuts: list[tuple[Item, bool]] = []
    own: list[tuple[Item, int]] = []
    for one in sorted(there.values(), key=lambda i: i.key):
        if one.set_aside or not usable(one.glass, one.width, one.height):
            continue
        free = one.balance.free + extra[one.key]
        if one.is_offcut:
            waits = one.balance.expected > one.balance.reserved and not extra[one.key]
            left = one.name in lying or (one.made_by in makers and one.name not in mine)
            if free or (waits and left):
                offcuts.append((one, not free))
        elif free:
            if one.is_like_no_other:
                own.append((one, free))
            else:
                counts[one.size_name] += free
            if one.price is not None or one.size_name not in newest:
                newest[one.size_name] = one
    pieces = [_sheets(shop, p, counts.pop(p.name, 0)) for p in to_buy.values()]
    for name in sorted(counts):
        case = newest[name]
        size = StockPiece(
            name=name,
            glass=case.glass,
            width=case.width,
            height=case.height,
            trim=shop.trim(case.glass),
            cost=_price(shop, case),
        )
        pieces.append(_sheets(shop, size, counts[name]))
    for one, free in own:
        pieces.append(_single(shop, to_buy.get(one.size_name), one, free))
    prices = {g: cheapest(shop, g, pieces) for g in {o.glass for o, _ in offcuts}}
    found: dict[str, tuple[str, int]] = {}
    for one, waits in offcuts:
        price = prices[one.glass] or UNPRICED
        pieces.append(_offcut(shop, one, price, day, trim(one.glass, one.raw)))
        if waits and one.made_by is not None:
            found[one.name] = one.made_by
    offers = [p for p in pieces if min(p.inner_width, p.inner_height) > 0]
    priced = {i.glass for i in newest.values() if i.price is not None}
    bare = sorted({p.glass for p in offers} - priced)
    return Offered(offers, found, tuple(g for g in bare if cheapest(shop, g) is None))


def _makers(connection: Connection, by: date | None) -> frozenset[tuple[str, int]]:
    """Plan and sheet that left an expected offcut its name, where that sheet is still to be cut and has glass."""
    c, s = item.c, plan_sheet.c
    made = connection.execute(
        select(c.made_plan, c.made_sheet).where(IS_THERE, c.expected > 0, c.kind == OFFCUT)
    )
    waited = [(row.made_plan, row.made_sheet) for row in made if row.made_plan is not None]
    now = newest_of(connection, {name for name, _ in waited})
    ready = set()
    for part in in_parts(sorted(set(now.values()))):
        query = select(s.plan, s.number, s.day).where(s.plan.in_(part), s.state == SheetState.RESERVED.value)
        for name, number, planned in connection.execute(query).all():
            if by is None or planned is None or planned <= by.isoformat():
                ready.add((name, number))
    return frozenset((name, number) for name, number in waited if (now[name], number) in ready)


def _made_by(connection: Connection, line: Collection[str]) -> frozenset[str]:
    """Names of the offcuts that these plans leave: none of them can be cut from one."""
    if not line:
        return frozenset()
    return frozenset(
        connection.execute(select(item.c.name).where(item.c.made_plan.in_(list(line)))).scalars()
    )


def _single(shop: Shop, size: StockPiece | None, one: Item, count: int) -> StockPiece:
    """Sheets under the number of their case, for they have flaws or are taken in an order."""
    piece = size or StockPiece(
        name="",
        glass=one.glass,
        width=one.width,
        height=one.height,
        trim=shop.trim(one.glass),
        cost=_price(shop, one),
    )
    return replace(
        piece, name=one.name, on_hand=count, buyable=False, lead_days=None, flaws=one.flaws, take=one.take
    )


def _sheets(shop: Shop, piece: StockPiece, count: int) -> StockPiece:
    return replace(piece, on_hand=count) if count else piece


def _price(shop: Shop, case: Item) -> int:
    """Of a size that the shop file does not know: what was paid, else by the cheapest price of its glass."""
    if case.price is not None:
        return case.price
    per_area = cheapest(shop, case.glass) or UNPRICED
    return max(1, round(per_area * case.width * case.height))


def aged_worth(shop: Shop, area: int, price_per_area: Fraction, days: int) -> int:
    """Whole worth of an offcut of some age. [1/10,000 of the currency]

    It falls by an equal part each day and is nothing after the days that the shop gives an offcut.
    """
    worth = offcut_cost(shop, area, price_per_area)
    if shop.offcut_days is None:
        return worth
    left = max(0, shop.offcut_days - max(0, days))
    return worth * left // shop.offcut_days


def _offcut(shop: Shop, one: Item, price: Fraction, day: date, trim: Trim) -> StockPiece:
    return StockPiece(
        name=one.name,
        glass=one.glass,
        width=one.width,
        height=one.height,
        is_offcut=True,
        raw=one.raw,
        trim=trim,
        cost=aged_worth(shop, one.width * one.height, price, (day - one.since).days),
        on_hand=1,
        flaws=one.flaws,
        take=one.take,
    )
