"""The open orders in the report on buying: sheets by week, what is short and for whom, what can wait."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from panewright.io.buy_words import shortage_words
from panewright.io.purchase_buy import Buying
from panewright.io.report.model import Bars, Column, Curve, Subject, Table, Value
from panewright.nesting.demand.weeks import week_name
from panewright.nesting.text import tr, tr_count

MOST_ORDERS = 5
"""Orders that a sentence names."""


def needs_subjects(found: Buying) -> Iterable[Subject]:
    """Needs and shortages of the open orders; nothing where none is open."""
    if not found.needs.planned.sheets and not found.needs.planned.unplaced:
        yield Subject(name=tr("Open orders"), words=(tr("No order is open."),))
        return
    yield Subject(
        name=tr("Open orders"),
        words=tuple(unplaced_words(found)),
        tables=(_weeks(found),),
        pictures=tuple(_bars(found)),
    )
    yield Subject(
        name=tr("Shortages"),
        words=tuple(" ".join(shortage_words(s)) for s in found.needs.shortages)
        or (
            ()
            if found.needs.planned.unplaced
            else (tr("All open orders have their sheets on hand or on order by their day."),)
        ),
        tables=tuple(_shortages(found)),
    )


def unplaced_words(found: Buying) -> Iterable[str]:
    """Panels that nothing on offer yields: no order of sheets helps them."""
    lost = found.needs.planned.unplaced
    if lost:
        yield tr_count(
            "{count} panel is on no sheet of any supplier: {names}.",
            "{count} panels are on no sheet of any supplier: {names}.",
            len(lost),
            names=", ".join(f"{u.panel} ({u.rule})" for u in lost[:MOST_ORDERS]),
        )


def _weeks(found: Buying) -> Table:
    rows: list[tuple[Value, ...]] = [
        (
            need.week,
            need.glass,
            need.stock or tr("offcuts"),
            need.sheets,
            need.there,
            need.cut,
            need.area,
            Fraction(need.cut, need.area) if need.area else None,
        )
        for need in found.needs.weeks
    ]
    planned = found.needs.planned.sheets
    return Table(
        title=tr("What the open orders take, by real plans week by week"),
        columns=(
            Column(name=tr("week"), kind="week"),
            Column(name=tr("glass")),
            Column(name=tr("stock size")),
            Column(name=tr("sheets"), kind="count"),
            Column(name=tr("there in time"), kind="count"),
            Column(name=tr("cut area"), kind="m2"),
            Column(name=tr("sheet area"), kind="m2"),
            Column(name=tr("yield"), kind="share"),
        ),
        rows=tuple(rows),
        total=(
            None,
            tr("all"),
            None,
            len(planned),
            sum(n.there for n in found.needs.weeks),
            sum(s.cut for s in planned),
            sum(s.area for s in planned),
            Fraction(sum(s.cut for s in planned), max(1, sum(s.area for s in planned))),
        )
        if rows
        else None,
        note=tr(
            "What is overdue counts in the first week. A yield stands beside its volume: few panels leave more."
        ),
    )


def _bars(found: Buying) -> Iterable[Bars]:
    """Sheets of each size by week, of every glass that has some."""
    sheets = [n for n in found.needs.weeks if n.stock]
    for glass in dict.fromkeys(n.glass for n in sheets):
        mine = [n for n in sheets if n.glass == glass]
        weeks = list(range(min(n.week for n in mine), max(n.week for n in mine) + 1))
        counts = {(n.week, n.stock): n.sheets for n in mine}
        yield Bars(
            title=tr("{glass}: sheets of the open orders", glass=glass),
            places=tuple(week_name(week) for week in weeks),
            up=tr("sheets"),
            series=tuple(
                Curve(name=name, values=tuple(float(counts.get((week, name), 0)) for week in weeks))
                for name in dict.fromkeys(n.stock for n in mine)
            ),
            parts=True,
        )


def _shortages(found: Buying) -> Iterable[Table]:
    if not found.needs.shortages:
        return
    yield Table(
        title=tr("Sizes that are short for open orders"),
        columns=(
            Column(name=tr("stock size")),
            Column(name=tr("bites on"), kind="day"),
            Column(name=tr("missing then or later"), kind="count"),
            Column(name=tr("not on order"), kind="count"),
            Column(name=tr("must be ordered now"), kind="count"),
            Column(name=tr("buy for them"), kind="count"),
            Column(name=tr("here about"), kind="day"),
            Column(name=tr("orders late"), kind="count"),
            Column(name=tr("orders that can wait"), kind="count"),
        ),
        rows=tuple(
            (s.stock, s.day, s.sheets, s.to_buy, s.now, s.buy, s.arrival, len(s.late), len(s.waiting))
            for s in found.needs.shortages
        ),
    )
    yield Table(
        title=tr("Orders on missing sheets"),
        columns=(
            Column(name=tr("order")),
            Column(name=tr("stock size")),
            Column(name=tr("due"), kind="day"),
            Column(name=tr("sheet there on"), kind="day"),
            Column(name=tr("days late"), kind="count"),
            Column(name=tr("can wait")),
        ),
        rows=tuple(
            (h.order, s.stock, h.due, h.there, h.days_late, tr("yes") if h.can_wait else tr("no"))
            for s in found.needs.shortages
            for h in s.hit
        ),
        note=tr("Sheet there on: what is on order, else an order of today from the quickest supplier."),
    )


def waiting_words(found: Buying) -> Iterable[str]:
    """What could wait for a delivery, so that its sheets are free for what is more pressing."""
    for one in found.needs.waiting:
        names = list(one.orders)
        yield tr_count(
            "{stock}: {count} sheet on hand is for orders that could wait for the delivery of {day}: {orders}.",
            "{stock}: {count} sheets on hand are for orders that could wait for the delivery of {day}: {orders}.",
            one.sheets,
            stock=one.stock,
            day=one.there.isoformat(),
            orders=", ".join(names[:MOST_ORDERS]) + (" ..." if len(names) > MOST_ORDERS else ""),
        )
