"""Figures beside the advice: joint totals, quantities compared, the textbook, pooling, and how it is all worked out."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from panewright.io.purchase_buy import Buying
from panewright.io.report.model import Bars, Column, Curve, Kind, Subject, Table, Value
from panewright.nesting.buying.totals import Of, Total
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import show_money

KINDS: dict[Of, Kind] = {
    Of.NEED_SHEETS: "count",
    Of.NEED_AREA: "m2",
    Of.NEED_MASS: "kg",
    Of.NEED_MONEY: "money",
    Of.ORDER_MONEY: "money",
    Of.DELIVERY_MONEY: "money",
    Of.RACK_MASS: "kg",
}
MOST_TRIED = 4
"""Quantities of a size that are shown."""


def totals(found: Buying) -> Subject:
    """Totals over all sizes, a small table for each unit."""
    tables: list[Table] = []
    names: dict[Kind, str] = {
        "money": tr("Money"),
        "count": tr("Sheets"),
        "m2": tr("Area"),
        "kg": tr("Weight"),
    }
    for kind, name in names.items():
        mine = [t for t in found.totals.totals if KINDS[t.of] == kind]
        tables.append(
            Table(
                title=tr("{what} of the next {weeks} weeks", what=name, weeks=found.totals.weeks),
                columns=(
                    Column(name=tr("of")),
                    Column(name=tr("mean"), kind=kind),
                    Column(name=tr("50 in 100"), kind=kind),
                    Column(name=tr("95 in 100"), kind=kind),
                    Column(name=tr("95 in 100 of each size, added up"), kind=kind),
                    Column(name=tr("too much"), kind=kind),
                ),
                rows=tuple((_name(t.of), t.mean, t.median, t.high, t.apart, t.difference) for t in mine),
            )
        )
    tables.append(
        Table(
            title=tr("Most sheets in the racks in any week"),
            columns=(
                Column(name=tr("glass")),
                Column(name=tr("50 in 100"), kind="count"),
                Column(name=tr("95 in 100"), kind="count"),
                Column(name=tr("95 in 100 of each size, added up"), kind="count"),
                Column(name=tr("racks hold"), kind="count"),
            ),
            rows=tuple((r.glass, r.median, r.high, r.apart, r.limit) for r in found.totals.racks),
        )
    )
    return Subject(name=tr("Totals"), words=(_apart(found.totals.of(Of.NEED_MONEY)),), tables=tuple(tables))


def _name(what: Of) -> str:
    return {
        Of.NEED_SHEETS: tr("need, sheets"),
        Of.NEED_AREA: tr("need, area"),
        Of.NEED_MASS: tr("need, weight"),
        Of.NEED_MONEY: tr("need, at the price of the size"),
        Of.ORDER_MONEY: tr("orders, glass"),
        Of.DELIVERY_MONEY: tr("orders, deliveries"),
        Of.RACK_MASS: tr("most in the racks, weight"),
    }[what]


def _apart(need: Total) -> str:
    over = need.difference or 0
    share = 100 * over / need.high if need.high else 0.0
    return tr(
        "Each future is added up over all sizes before a share is taken. Adding up the sizes' own 95 in 100 would say"
        " {share} % too much for the need in money.",
        share=local_number(f"{share:.1f}"),
    )


def compared(found: Buying) -> Subject:
    """Suppliers and quantities that were tried, the cheapest of each size first."""
    rows: list[tuple[Value, ...]] = []
    for size in found.advice.sizes:
        if not size.choice.start.demand.any():
            continue
        shown: dict[str, int] = {}
        for tried in sorted(size.choice.tried, key=lambda t: t.key):
            shown[tried.supply.supplier] = shown.get(tried.supply.supplier, 0) + 1
            if shown[tried.supply.supplier] > MOST_TRIED:
                continue
            cost = tried.cost
            rows.append(
                (
                    size.supply.name,
                    tried.supply.supplier,
                    tried.quantity,
                    tried.extra,
                    cost.glass,
                    cost.delivery,
                    cost.holding,
                    cost.short,
                    cost.total,
                )
            )
    return Subject(
        name=tr("Quantities"),
        words=(
            tr(
                "Every quantity keeps the reorder points of the wanted service and is run along the same futures. Of"
                " deliveries the share of the sheets used up counts."
            ),
        ),
        tables=(
            Table(
                title=tr(
                    "Cost of suppliers and quantities over {weeks} weeks", weeks=found.advice.review.weeks
                ),
                columns=(
                    Column(name=tr("stock size")),
                    Column(name=tr("supplier")),
                    Column(name=tr("at once"), kind="count"),
                    Column(name=tr("above reorder point"), kind="count"),
                    Column(name=tr("glass"), kind="money"),
                    Column(name=tr("deliveries"), kind="money"),
                    Column(name=tr("holding"), kind="money"),
                    Column(name=tr("running short"), kind="money"),
                    Column(name=tr("all"), kind="money"),
                ),
                rows=tuple(rows),
            ),
        ),
    )


def textbook(found: Buying) -> Subject:
    """What the formulas say, beside the futures."""
    rows: list[tuple[Value, ...]] = []
    for size in found.advice.sizes:
        if not size.choice.start.demand.any():
            continue
        need, beside = size.need, size.beside
        rows.append(
            (
                size.supply.name,
                need.reorder_point,
                round(need.textbook.sheets, 2),
                round(need.textbook.safety, 2),
                size.choice.best.quantity,
                beside.quantity.sheets if beside.quantity else None,
                round(beside.newsvendor, 2),
                Fraction(round(1000 * beside.best_service), 1000),
                need.service,
            )
        )
    return Subject(
        name=tr("Textbook"),
        words=(
            tr(
                "The formulas take demand as normal, steady and divisible; with few whole sheets a week they are a"
                " cross-check, and the futures decide. Where both are far apart, look at the weeks."
            ),
        ),
        tables=(
            Table(
                title=tr("Formulas beside the futures"),
                columns=(
                    Column(name=tr("stock size")),
                    Column(name=tr("reorder point"), kind="count"),
                    Column(name=tr("by formula"), kind="number"),
                    Column(name=tr("of it safety"), kind="number"),
                    Column(name=tr("at once"), kind="count"),
                    Column(name=tr("economic quantity"), kind="count"),
                    Column(name=tr("newsvendor"), kind="number"),
                    Column(name=tr("service by cost"), kind="share"),
                    Column(name=tr("wanted"), kind="share"),
                ),
                rows=tuple(rows),
                note=tr(
                    "Reorder point with demand and lead time that vary, and order quantity with price breaks: Stevenson,"
                    " Operations Management, chapter 12. Newsvendor: Nahmias, Production and Operations Analysis. Service"
                    " by cost: where one sheet more costs what it saves."
                ),
            ),
        ),
    )


def pooled(found: Buying) -> Subject:
    """What planning two weeks together would have saved."""
    mine = [p for p in found.pooled if p.windows]
    apart, together = sum(p.cost_apart for p in mine), sum(p.cost_together for p in mine)
    rows: list[tuple[Value, ...]] = [
        (
            p.glass,
            p.windows,
            p.cut,
            p.area_apart,
            p.area_together,
            Fraction(p.cut, p.area_apart) if p.area_apart else None,
            Fraction(p.cut, p.area_together) if p.area_together else None,
            p.cost_apart - p.cost_together,
            p.saved,
        )
        for p in mine
    ]
    share = Fraction(apart - together, apart) if apart else Fraction(0)
    weeks = max((p.windows for p in mine), default=0)
    return Subject(
        name=tr("Two weeks together"),
        words=(
            tr_count(
                "Had the last {count} pair of weeks been planned two weeks at a time, it would have taken {money} {currency}"
                " less glass, {share} %. It costs days: what is due in the second week is cut with the first.",
                "Had the last {count} pairs of weeks been planned two weeks at a time, they would have taken {money} {currency}"
                " less glass, {share} %. It costs days: what is due in the second week is cut with the first.",
                weeks,
                money=show_money(apart - together),
                currency=found.desk.shop.currency,
                share=local_number(f"{float(100 * share):.1f}"),
            ),
        ),
        tables=(
            Table(
                title=tr("Past weeks planned one by one, and two at a time"),
                columns=(
                    Column(name=tr("glass")),
                    Column(name=tr("pairs"), kind="count"),
                    Column(name=tr("cut area"), kind="m2"),
                    Column(name=tr("sheets apart"), kind="m2"),
                    Column(name=tr("sheets together"), kind="m2"),
                    Column(name=tr("yield apart"), kind="share"),
                    Column(name=tr("yield together"), kind="share"),
                    Column(name=tr("saved"), kind="money"),
                    Column(name=tr("of the cost"), kind="share"),
                ),
                rows=tuple(rows),
            ),
        ),
        pictures=(
            Bars(
                title=tr("Yield of pairs of weeks, by glass"),
                places=tuple(p.glass for p in mine),
                up=tr("yield"),
                series=(
                    Curve(
                        name=tr("week by week"),
                        values=tuple(p.cut / p.area_apart if p.area_apart else None for p in mine),
                    ),
                    Curve(
                        name=tr("two weeks together"),
                        values=tuple(p.cut / p.area_together if p.area_together else None for p in mine),
                    ),
                ),
            ),
        ),
    )


def methods(found: Buying) -> Subject:
    """How it is worked out, and what it does not know."""
    return Subject(name=tr("Method"), words=tuple(_methods(found)))


def _methods(found: Buying) -> Iterable[str]:
    settings = found.desk.shop.buying
    yield tr_count(
        "The stock is looked at every week. An order of today must last until that of the next look is here: the reorder"
        " point is the share of the futures' own demand over that time, in whole sheets, with lead times drawn for every"
        " future.",
        "The stock is looked at every {count} weeks. An order of today must last until that of the next look is here: the"
        " reorder point is the share of the futures' own demand over that time, in whole sheets, with lead times drawn for"
        " every future.",
        settings.review_weeks,
    )
    yield tr(
        "What comes after the first working day of a week counts from the next week on: a supplier who delivers within the"
        " week is better than this says."
    )
    yield tr(
        "Lead times follow a gamma law with the mean and spread of the list; sizes of one supplier come together. Promised"
        " deliveries count on their day."
    )
    yield tr(
        "Futures are drawn for all sizes together; weeks after the forecast repeat later weeks of the same future, which"
        " matters for quantities alone."
    )
    yield tr(
        "Holding costs {holding} % of the price a year, an order {order} and a missing sheet {short} {currency} a week;"
        " change them in the shop file, table buying.",
        holding=local_number(f"{float(100 * settings.holding):.0f}"),
        order=show_money(settings.order_cost),
        short=show_money(settings.short_cost),
        currency=found.desk.shop.currency,
    )
    yield tr(
        "Sizes of one glass stand in for each other at the table; here each has a reorder point of its own, so that two"
        " sizes of a glass are a little safer than wanted."
    )
