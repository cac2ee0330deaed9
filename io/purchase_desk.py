"""What a look ahead starts from: the order book, the stock and the terms, out of lists and the stock store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from sqlalchemy import Connection, func, select

from panewright.io.arriving_list import read_arriving
from panewright.io.open_orders import history_beside, open_orders
from panewright.io.order_history import read_history
from panewright.io.order_lists import Orders, read_orders
from panewright.io.problems import Problems
from panewright.io.stock_list import read_stock_list
from panewright.io.store.address import address_of, found_address, is_store
from panewright.io.store.engine import open_store
from panewright.io.store.errors import StoreError
from panewright.io.store.offering import offered
from panewright.io.store.order_history import booked_orders
from panewright.io.store.purchases import arriving
from panewright.io.store.schema import plan as plans
from panewright.io.store.schema import plan_sheet
from panewright.io.supply_list import read_supply, supply_of_shop
from panewright.nesting.buying.settings import Arriving, StockNow, Supply
from panewright.nesting.demand.book import BookedOrder, OrderBook
from panewright.nesting.demand.shut_weeks import shut_weeks
from panewright.nesting.demand.weeks import week_of
from panewright.nesting.ledger import PlanState, SheetState
from panewright.nesting.shop import Shop, StockSize
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr, tr_count


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Everything that is known on the day of the look.

    Parameters
    ----------
    shop
        Its settings.
    orders
        The open orders as their lists say it, for plans of them.
    book
        All orders.
    stock
        Free sheets and sheets on order. Sheets that committed plans are still to be bought for are taken off;
        a number under 0 is what is missing.
    offcuts
        Free offcuts.
    supplies
        What can be bought.
    knows_stock
        Whether there was a stock list or store.
    """

    shop: Shop
    orders: Orders
    book: OrderBook
    stock: StockNow
    offcuts: tuple[StockPiece, ...]
    supplies: tuple[Supply, ...]
    knows_stock: bool


@dataclass(slots=True)
class _Found:
    """What lists and store hold, as they are read."""

    past: list[BookedOrder] = field(default_factory=list)
    on_hand: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    offcuts: list[StockPiece] = field(default_factory=list)
    arriving: list[Arriving] = field(default_factory=list)
    listed: list[StockPiece] = field(default_factory=list)
    planned: set[str] = field(default_factory=set)
    known: bool = False
    flawed: int = 0

    def put(self, piece: StockPiece) -> None:
        """Count a piece of the stock; one with flaws cannot be relied on and is counted apart."""
        if piece.flaws:
            self.flawed += piece.on_hand
        elif piece.is_offcut:
            self.offcuts.append(piece)
        else:
            size = StockSize(glass=piece.glass, width=piece.width, height=piece.height, price=0)
            # sheets that are taken in their turn have names of their own
            self.on_hand[piece.name if piece.take is None else size.name] += piece.on_hand
            self.listed.append(piece)


def gather(
    *,
    orders: Sequence[Path],
    history: Sequence[Path],
    stock: str | None,
    supply: Path | None,
    on_order: Path | None,
    on: date,
    shop: Shop,
    problems: Problems,
) -> Desk:
    """Read all of it.

    Parameters
    ----------
    orders, history, supply, on_order
        Lists; None and empty: what the stock store knows, for `supply` the sizes of the shop file.
    stock
        Stock list, or address of a store; None: the store that is found, if there is one.
    on
        The day of the look.
    shop
        Its settings.
    problems
        Collects every problem of every list; with errors in it the desk is not complete.
    """
    found = _Found()
    where = stock or found_address()
    if where is not None and is_store(where):
        _from_store(found, where, shop, on, problems, orders=not history, purchases=on_order is None)
    elif stock is not None:
        for piece in read_stock_list(Path(stock), shop, problems):
            found.put(piece)
        found.known = True
    if found.flawed:
        problems.note(
            tr("stock store") if where is None or is_store(where) else where,
            tr("sheets and offcuts with flaws are not counted as stock: {count}", count=found.flawed),
        )
    if history:
        found.past = read_history(history, shop, problems, today=on)
    if on_order is not None:
        found.arriving = read_arriving(on_order, shop, problems)
    terms = supply_of_shop(shop)
    if supply is not None:
        terms = _stocked(read_supply(supply, shop, problems), found, shop, supply, problems)
    listed = read_orders(orders, shop, problems) if orders else Orders()
    still_open = open_orders(listed, on, problems=problems)
    planned = sorted({o.order for o in still_open} & found.planned)
    if planned:
        problems.note(
            tr("stock store"),
            tr_count(
                "{count} of the orders is in a plan that has its glass already: {orders}",
                "{count} of the orders are in plans that have their glass already: {orders}",
                len(planned),
                orders=", ".join(planned[:5]),
            ),
            tr("it is left out of the needs"),
        )
    book = history_beside(found.past, still_open)
    book += [o for o in still_open if o.order not in found.planned]
    return Desk(
        shop=shop,
        orders=listed,
        book=_book(book, on, shop),
        stock=StockNow(on_hand=dict(sorted(found.on_hand.items())), arriving=tuple(found.arriving)),
        offcuts=tuple(found.offcuts),
        supplies=tuple(terms),
        knows_stock=found.known,
    )


def _stocked(
    terms: Sequence[Supply], found: _Found, shop: Shop, supply: Path, problems: Problems
) -> list[Supply]:
    """The terms of sizes that the shop stocks: in its shop file, bought by its stock list, or on order.

    Of a glass of which none is stocked all that is offered counts.
    """
    names = {s.name for s in shop.stock_sizes} | {p.name for p in found.listed if p.buyable}
    names |= {a.name for a in found.arriving}
    glasses = {t.glass for t in terms if t.name in names}
    kept = [t for t in terms if t.name in names or t.glass not in glasses]
    left = sorted({t.name for t in terms} - {t.name for t in kept})
    if left:
        problems.note(
            supply.name,
            tr_count(
                "{count} size on offer is not stocked and left out: {names}",
                "{count} sizes on offer are not stocked and left out: {names}",
                len(left),
                names=", ".join(left[:5]),
            ),
            tr("`panewright sizes` weighs them; to buy one, add it to the shop file or the stock list"),
        )
    return kept


def _book(orders: Iterable[BookedOrder], on: date, shop: Shop) -> OrderBook:
    mine = tuple(orders)
    this = week_of(on)
    first = min((week_of(o.cut) for o in mine if o.cut is not None), default=this)
    return OrderBook(
        today=on,
        orders=mine,
        first_week=first,
        shut=shut_weeks(shop.buying.shut, shop.cutting_days),
    )


def _from_store(
    found: _Found, where: str, shop: Shop, on: date, problems: Problems, *, orders: bool, purchases: bool
) -> None:
    """Stock, what is on order, and the orders of the plans, from the store."""
    try:
        with open_store(address_of(where)) as store, store.reading() as connection:
            offer = offered(connection, shop, day=on)
            for piece in offer.pieces:
                found.put(piece)
            for name, count in _to_buy(connection).items():
                found.on_hand[name] -= count
            known = booked_orders(connection, shop)
            # glass of plans that stand is reserved: they need nothing more
            found.planned = {o.order for o in known if o.cut is None and o.cancelled is None}
            if orders:
                found.past = [o for o in known if o.order not in found.planned or o.cut is not None]
            if purchases:
                found.arriving = arriving(connection)
    except StoreError as error:
        problems.add(error.where, error.reason, error.remedy)
    found.known = True


def _to_buy(connection: Connection) -> dict[str, int]:
    """Sheets that plans in the store are still to be bought for, by stock size."""
    s = plan_sheet.c
    rows = connection.execute(
        select(s.stock, func.count())
        .join(plans, plans.c.id == s.plan)
        .where(
            plans.c.state == PlanState.OPEN.value,
            s.state == SheetState.TO_BUY.value,
            s.is_offcut.is_(False),
        )
        .group_by(s.stock)
        .order_by(s.stock)
    )
    return {name: int(count) for name, count in rows}
