"""What orders and kinds of tanks cost in glass, their share of waste included: for whoever makes the prices."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from panewright.io.report.model import Column, Subject, Table, Value
from panewright.io.waste_columns import Row, both_tables, order_columns, table_of
from panewright.io.waste_data import WasteOver
from panewright.nesting.text import tr
from panewright.nesting.waste.groups import by_part, spread_of
from panewright.nesting.waste.sheets import SheetWaste
from panewright.nesting.waste.sums import WasteSums


def _sides(found: WasteOver) -> list[tuple[str, Sequence[SheetWaste]]]:
    both = ((tr("recorded"), found.recorded), (tr("planned"), found.planned))
    return [(name, sheets) for name, sheets in both if sheets]


def _product(name: str) -> str:
    return name or tr("spares and fillers alone")


def kinds_subject(found: WasteOver) -> Subject | None:
    """Waste and cost by product."""
    tables: list[Table] = []
    for name, sheets in _sides(found):
        sums = by_part(sheets, lambda x, part: part.product)
        rows: list[Row] = [((_product(word),), sums[word]) for word in sorted(sums)]
        total = WasteSums.of(sums.values())
        title = tr("By kind of tank, {what}", what=name)
        tables += both_tables(title, tr("product"), rows, total, sheets=False)
    if not tables:
        return None
    name, sheets = _sides(found)[0]
    prices = _prices(found, name, sheets)
    return Subject(name=tr("By kind of tank"), tables=(*tables[:2], prices, *tables[2:]))


def _prices(found: WasteOver, name: str, sheets: Sequence[SheetWaste]) -> Table:
    """Mean and spread of the cost of glass, by product."""
    orders: dict[str, list[tuple[str, WasteSums]]] = defaultdict(list)
    for (product, order), sums in by_part(sheets, lambda x, part: (part.product, part.order)).items():
        if order:
            orders[product].append((order, sums))
    rows: list[tuple[Value, ...]] = []
    for product in sorted(orders):
        spread = spread_of(sums for _, sums in orders[product])
        if spread is None:
            continue
        whole = [(order, sums) for order, sums in orders[product] if _tanks(found, order, sums)]
        tanks = sum(_tanks(found, order, sums) for order, sums in whole)
        cost = sum(sums.net_cost for _, sums in whole)
        rows.append(
            (
                product,
                spread.orders,
                spread.mean,
                spread.least,
                spread.quarter,
                spread.middle,
                spread.three_quarters,
                spread.most,
                tanks or None,
                _each(cost, tanks),
            )
        )
    named: list[tuple[str, str]] = [
        (tr("mean"), "money"),
        (tr("least"), "money"),
        (tr("a quarter up to"), "money"),
        (tr("half up to"), "money"),
        (tr("three quarters up to"), "money"),
        (tr("most"), "money"),
    ]
    return Table(
        title=tr("Glass for a m2 of finished glass, offcuts at their worth, {what}", what=name),
        columns=(
            Column(name=tr("product")),
            Column(name=tr("orders"), kind="count"),
            *(Column(name=word, kind="money") for word, _ in named),
            Column(name=tr("whole tanks"), kind="count"),
            Column(name=tr("glass of a tank"), kind="money"),
        ),
        rows=tuple(rows),
        note=tr(
            "Glass alone: edgework, drilling, bonding and labour come on top. Whole tanks are those of orders of "
            "which every panel is on these sheets."
        ),
    )


def _each(cost: int, tanks: int) -> int | None:
    return (2 * cost + tanks) // (2 * tanks) if tanks else None


def _tanks(found: WasteOver, order: str, sums: WasteSums) -> int:
    """Tanks of an order that is wholly on these sheets, else 0."""
    known = found.orders.get(order)
    return known.tanks if known is not None and sums.panels >= known.panels else 0


def orders_subject(found: WasteOver) -> Subject | None:
    """What each order cost in glass."""
    tables = []
    for name, sheets in _sides(found):
        sums = by_part(sheets, lambda x, part: (part.order, part.product))
        rows: list[Row] = [
            ((order or tr("no order"), _product(product)), sums[order, product])
            for order, product in sorted(sums)
        ]
        columns = [Column(name=tr("order")), Column(name=tr("product"))]

        def tanks(row: Row) -> Value:
            return _tanks(found, str(row[0][0]), row[1]) or None

        def each(row: Row) -> Value:
            return _each(row[1].net_cost, _tanks(found, str(row[0][0]), row[1]))

        tables.append(
            table_of(
                tr("Orders, {what}", what=name),
                columns,
                rows,
                order_columns(),
                total=WasteSums.of(sums.values()),
                last=[
                    (Column(name=tr("whole tanks"), kind="count"), tanks),
                    (Column(name=tr("glass of a tank"), kind="money"), each),
                ],
            )
        )
    if not tables:
        return None
    return Subject(
        name=tr("Orders"),
        words=(
            tr(
                "An order bears of the waste and cost of a sheet by its cut area there, so that the shares add up to "
                "what the sheets cost. What broke and was cut again is in it twice."
            ),
        ),
        tables=tuple(tables),
    )
