"""The report on buying: what to order today and why, the calendar, the open orders, the stock, and the figures beside."""

from __future__ import annotations

from collections.abc import Iterable

from panewright.io.buy_figures import compared, methods, pooled, textbook, totals
from panewright.io.buy_needs import needs_subjects, unplaced_words, waiting_words
from panewright.io.buy_words import hundredths, reasons, shortage_words
from panewright.io.purchase_buy import Buying
from panewright.io.report.model import Band, Column, Curve, Fan, Report, Subject, Table, Value
from panewright.nesting.buying.advice import SizeAdvice
from panewright.nesting.buying.calendar import PlannedOrder, Projection
from panewright.nesting.buying.totals import Of
from panewright.nesting.demand.weeks import week_name
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show_money

LEAD_ORDERS = 6
"""Orders and shortages that the first sentences name one by one."""


def buy_report(found: Buying) -> Report:
    """The report of what to buy."""
    look = found.look
    return Report(
        title=tr("What to buy"),
        about=tr(
            "{first} to {last}, looked at on {day}; {count} futures, seed {seed}",
            first=week_name(look.futures.first),
            last=week_name(look.futures.first + found.calendar.weeks - 1),
            day=found.advice.today.isoformat(),
            count=found.advice.review.paths.futures,
            seed=look.seed,
        ),
        lead=tuple(_lead(found)),
        subjects=tuple(_subjects(found)),
        cautions=(
            tr("Advice is no order: check it against what you know of coming orders and of your suppliers."),
            tr(
                "Sheets are heavy: check that racks, floor and lifting gear carry what you order; local rules decide."
            ),
        ),
        currency=found.desk.shop.currency,
    )


def _lead(found: Buying) -> Iterable[str]:
    advice, currency = found.advice, found.desk.shop.currency
    if not found.desk.knows_stock:
        yield tr("There is no stock list and no stock store: every sheet counts as not there.")
    yield from _orders_said(found)
    yield from unplaced_words(found)
    for shortage in found.needs.shortages[:LEAD_ORDERS]:
        yield " ".join(shortage_words(shortage))
    more = len(found.needs.shortages) - LEAD_ORDERS
    if more > 0:
        yield tr_count(
            "{count} further size is short for open orders.",
            "{count} further sizes are short for open orders.",
            more,
        )
    if found.needs.planned.sheets and not found.needs.planned.unplaced and not found.needs.shortages:
        yield tr("All open orders have their sheets on hand or on order by their day.")
    overdue = [a for a in found.desk.stock.arriving if a.day < advice.today]
    if overdue:
        yield tr_count(
            "{count} delivery is overdue and counts as coming tomorrow, ask for it: {names}.",
            "{count} deliveries are overdue and count as coming tomorrow, ask for them: {names}.",
            len(overdue),
            names=", ".join(
                tr("{sheets} of {size} since {day}", sheets=a.sheets, size=a.name, day=a.day.isoformat())
                for a in overdue[:LEAD_ORDERS]
            ),
        )
    later = next((o for o in found.calendar.orders if not o.firm), None)
    if later is not None:
        yield tr(
            "The next order after that probably falls due in {week}: {sheets} of {size}.",
            week=week_name(found.look.futures.first + later.week),
            sheets=later.sheets,
            size=later.supply.name,
        )
    glass, fees = found.totals.of(Of.ORDER_MONEY), found.totals.of(Of.DELIVERY_MONEY)
    if glass.high:
        yield tr(
            "Orders of the next {weeks} weeks, today's too: about {middle} {currency} of glass, in 95 of 100 futures no"
            " more than {high}; deliveries and order costs about {fees}.",
            weeks=found.calendar.weeks,
            middle=show_money(glass.median),
            high=show_money(glass.high),
            fees=show_money(fees.median),
            currency=currency,
        )
    yield from found.look.findings


def _orders_said(found: Buying) -> Iterable[str]:
    advice, currency = found.advice, found.desk.shop.currency
    if not advice.orders:
        yield tr("Nothing needs to be ordered today.")
        return
    yield tr(
        "Order today for {money} {currency}, deliveries included:",
        money=show_money(advice.money),
        currency=currency,
    )
    for size in advice.orders[:LEAD_ORDERS]:
        need = size.need
        yield tr(
            "{sheets} of {size} from {supplier}, here about {day}; without it the stock lasts in {before} of 100 futures,"
            " with it in {after}.",
            sheets=size.sheets,
            size=size.supply.name,
            supplier=size.supply.supplier or tr("any supplier"),
            day=size.arrival.isoformat(),
            before=hundredths(need.lasts_now),
            after=hundredths(size.service),
        )
        if size.bridge:
            yield tr(
                "{sheets} of {size} from {supplier} besides, here about {day}, to last until then.",
                sheets=size.bridge.sheets,
                size=size.supply.name,
                supplier=size.bridge.supply.supplier or tr("any supplier"),
                day=size.bridge.arrival.isoformat(),
            )
    more = len(advice.orders) - LEAD_ORDERS
    if more > 0:
        yield tr_count(
            "{count} further size is to be ordered: see the list.",
            "{count} further sizes are to be ordered: see the list.",
            more,
        )


def _subjects(found: Buying) -> Iterable[Subject]:
    yield Subject(name=tr("Orders of today"), tables=tuple(_orders(found)))
    yield Subject(name=tr("Reasons"), words=tuple(_why(found)))
    yield Subject(name=tr("Calendar"), words=(_calendar_words(),), tables=(_calendar(found),))
    yield from needs_subjects(found)
    yield Subject(
        name=tr("Stock ahead"),
        words=tuple(waiting_words(found)),
        tables=(_stock(found),),
        pictures=tuple(_fans(found)),
    )
    yield totals(found)
    yield compared(found)
    yield textbook(found)
    if found.pooled:
        yield pooled(found)
    yield methods(found)


def _orders(found: Buying) -> Iterable[Table]:
    rows = [_advice_row(size) for size in found.advice.sizes]
    yield Table(
        title=tr("Every size: what to order today, and how long the stock lasts"),
        columns=(
            Column(name=tr("stock size")),
            Column(name=tr("supplier")),
            Column(name=tr("on hand"), kind="count"),
            Column(name=tr("on order"), kind="count"),
            Column(name=tr("reorder point"), kind="count"),
            Column(name=tr("order"), kind="count"),
            Column(name=tr("each"), kind="money"),
            Column(name=tr("glass"), kind="money"),
            Column(name=tr("here about"), kind="day"),
            Column(name=tr("lasts without"), kind="share"),
            Column(name=tr("lasts with"), kind="share"),
            Column(name=tr("wanted"), kind="share"),
        ),
        rows=tuple(rows),
        total=(
            tr("all"),
            None,
            sum(s.need.on_hand for s in found.advice.sizes),
            sum(s.need.on_order for s in found.advice.sizes),
            None,
            sum(s.sheets for s in found.advice.sizes),
            None,
            sum(s.money for s in found.advice.sizes),
            *(None,) * 4,
        )
        if rows
        else None,
        note=tr(
            "Lasts: share of futures in which the stock lasts until an order of the next look is here. Glass holds the"
            " freight of each sheet, not that of the delivery."
        ),
    )
    early = [s for s in found.advice.sizes if s.bridge]
    if early:
        yield Table(
            title=tr("From a quicker supplier, to last until the order is here"),
            columns=(
                Column(name=tr("stock size")),
                Column(name=tr("supplier")),
                Column(name=tr("sheets"), kind="count"),
                Column(name=tr("each"), kind="money"),
                Column(name=tr("glass"), kind="money"),
                Column(name=tr("here about"), kind="day"),
                Column(name=tr("for open orders"), kind="count"),
            ),
            rows=tuple(
                (s.supply.name, b.supply.supplier, b.sheets, b.each, b.money, b.arrival, b.for_open)
                for s in early
                if (b := s.bridge)
            ),
        )
    if found.advice.deliveries:
        yield Table(
            title=tr("Deliveries of today's orders"),
            columns=(
                Column(name=tr("supplier")),
                Column(name=tr("sizes"), kind="count"),
                Column(name=tr("freight"), kind="money"),
                Column(name=tr("order cost"), kind="money"),
            ),
            rows=tuple(
                (d.supplier or d.names[0], len(d.names), d.freight, d.order_cost)
                for d in found.advice.deliveries
            ),
        )


def _advice_row(size: SizeAdvice) -> tuple[Value, ...]:
    need, supply = size.need, size.supply
    return (
        supply.name,
        supply.supplier,
        need.on_hand,
        need.on_order,
        need.reorder_point + size.choice.best.extra,
        size.sheets,
        size.each if size.sheets else None,
        size.money if size.sheets else None,
        size.arrival if size.sheets else None,
        need.lasts_now,
        size.service,
        need.service,
    )


def _why(found: Buying) -> Iterable[str]:
    first, currency = found.look.futures.first, found.desk.shop.currency
    for size in (*found.advice.orders, *(s for s in found.advice.sizes if not s.sheets)):
        said = reasons(size, first, currency, known=found.desk.knows_stock)
        if size.choice.start.demand.any() or size.sheets:
            yield f"{size.supply.name}: {' '.join(said)}"
    idle = [s.supply.name for s in found.advice.sizes if not s.sheets and not s.choice.start.demand.any()]
    if idle:
        yield tr("No future needs these: {names}.", names=", ".join(idle))


def _calendar_words() -> str:
    return tr(
        "The first orders are today's. Later ones are what half of the futures come to, by the same rule; each look at the"
        " stock decides anew."
    )


def _calendar(found: Buying) -> Table:
    first = found.look.futures.first
    rows: list[tuple[Value, ...]] = [_calendar_row(order, first) for order in found.calendar.orders]
    return Table(
        title=tr("Orders of the next {count} weeks", count=found.calendar.weeks),
        columns=(
            Column(name=tr("week"), kind="week"),
            Column(name=tr("order on"), kind="day"),
            Column(name=tr("stock size")),
            Column(name=tr("supplier")),
            Column(name=tr("sheets"), kind="count"),
            Column(name=tr("here about"), kind="day"),
            Column(name=tr("money due"), kind="money"),
            Column(name=tr("in futures"), kind="share"),
            Column(name=tr("from week"), kind="week"),
            Column(name=tr("to week"), kind="week"),
        ),
        rows=tuple(rows),
        total=(
            None,
            None,
            tr("all"),
            None,
            sum(o.sheets for o in found.calendar.orders),
            None,
            sum(o.money for o in found.calendar.orders),
            None,
            None,
            None,
        )
        if rows
        else None,
        note=tr(
            "In futures: share that has this order within the calendar. 8 of 10 futures have it between the two last weeks;"
            " an empty last week is after the calendar. Money without what is paid once a delivery."
        ),
    )


def _calendar_row(order: PlannedOrder, first: int) -> tuple[Value, ...]:
    return (
        first + order.week,
        order.day,
        order.supply.name,
        order.supply.supplier,
        order.sheets,
        order.arrival,
        order.money,
        order.chance,
        first + order.earliest,
        None if order.latest is None else first + order.latest,
    )


def _stock(found: Buying) -> Table:
    first = found.look.futures.first
    rows: list[tuple[Value, ...]] = []
    for stock in found.calendar.stock:
        if not _moves(stock):
            continue
        for week, median in enumerate(stock.median):
            (_, low, high), (_, lower, higher) = stock.bands
            rows.append(
                (
                    stock.name,
                    first + week,
                    lower[week],
                    low[week],
                    median,
                    high[week],
                    higher[week],
                    stock.levels[week],
                    stock.unordered[week],
                    stock.short[week],
                )
            )
    return Table(
        title=tr("Stock at the end of each week, with today's orders and later ones"),
        columns=(
            Column(name=tr("stock size")),
            Column(name=tr("week"), kind="week"),
            Column(name=tr("95 from"), kind="count"),
            Column(name=tr("80 from"), kind="count"),
            Column(name=tr("middle"), kind="count"),
            Column(name=tr("80 to"), kind="count"),
            Column(name=tr("95 to"), kind="count"),
            Column(name=tr("reorder point"), kind="count"),
            Column(name=tr("nothing ordered, middle"), kind="count"),
            Column(name=tr("short"), kind="share"),
        ),
        rows=tuple(rows),
        note=tr(
            "Below zero is what is missing. Short: share of futures that miss sheets at the end of the week."
        ),
    )


def _moves(stock: Projection) -> bool:
    """Whether anything is there, needed or ordered."""
    return any(stock.median) or any(stock.unordered) or any(any(high) for _, _, high in stock.bands)


def _fans(found: Buying) -> Iterable[Fan]:
    first = found.look.futures.first
    places = tuple(week_name(first + week) for week in range(found.calendar.weeks))
    names = {80: tr("80 in 100 futures"), 95: tr("95 in 100 futures")}
    for stock in found.calendar.stock:
        if not _moves(stock):
            continue
        yield Fan(
            title=tr("{size}: stock at the end of each week", size=stock.name),
            places=places,
            up=tr("sheets"),
            bands=tuple(
                Band(name=names[int(100 * share)], low=_floats(low), high=_floats(high))
                for share, low, high in reversed(stock.bands)
            ),
            curves=(
                Curve(name=tr("middle"), values=_floats(stock.median)),
                Curve(name=tr("reorder point"), values=_gaps(stock.levels), steps=True),
                Curve(name=tr("nothing ordered"), values=_floats(stock.unordered), dashed=True),
            ),
        )


def _floats(line: tuple[int, ...]) -> tuple[float, ...]:
    return tuple(float(n) for n in line)


def _gaps(line: tuple[int | None, ...]) -> tuple[float | None, ...]:
    return tuple(None if n is None else float(n) for n in line)
