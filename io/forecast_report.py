"""The forecast as a report: needs by stock size and week, totals, how long the stock lasts, and how well it foretells."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Final

from panewright.io.forecast_tested import losses, share_of, tested
from panewright.io.purchase_look import Look, as_sentence, products_of
from panewright.io.report.model import (
    Band as Ribbon,
)
from panewright.io.report.model import (
    Cloud,
    Column,
    Curve,
    Fan,
    Report,
    Subject,
    Table,
    Value,
)
from panewright.nesting.demand.weeks import week_name
from panewright.nesting.forecast.outlook import Band, Outlook, SizeOutlook
from panewright.nesting.text import local_number, tr, tr_count

MOST_SHORT: Final = 5
"""Sizes that run short, told first."""
_OF_M2: Final = 10**14
"""nm2 in a cm2."""


def forecast_report(look: Look) -> Report:
    """The report of a look ahead."""
    found = look.outlook
    last = week_name(found.first + look.weeks - 1)
    return Report(
        title=tr("Forecast of sheets"),
        about=tr(
            "{first} to {last}, looked at on {day}; {count} futures, seed {seed}",
            first=week_name(found.first),
            last=last,
            day=look.desk.book.today.isoformat(),
            count=len(look.futures.sheets),
            seed=look.seed,
        ),
        lead=tuple(_lead(look)),
        subjects=tuple(_subjects(look)),
        cautions=(
            tr("A forecast is no promise: check it against what you know of coming orders before you buy."),
            tr(
                "Sheets are heavy: check that racks, floor and lifting gear carry what you order; local rules decide."
            ),
        ),
        currency=look.desk.shop.currency,
    )


def _lead(look: Look) -> Iterable[str]:
    """The whole in a sentence, what runs short first, and what must be known before it is relied on."""
    found = look.outlook
    whole = tr(
        "the next {weeks} weeks need {middle} m2 of sheets, with {high} enough in 95 of 100 futures; {known} % of it is"
        " booked already",
        weeks=look.weeks,
        middle=local_number(f"{found.area.shares[0] / 10_000:.0f}"),
        high=local_number(f"{found.area.shares[-1] / 10_000:.0f}"),
        known=round(100 * found.known_share),
    )
    yield as_sentence(whole)
    short = []
    for size in found.sizes:
        weeks = [w for w, share in enumerate(size.lasts or ()) if share < 0.5]
        if weeks:
            short.append((weeks[0], size.name, size.lasts or ()))
    for week, name, lasts in sorted(short)[:MOST_SHORT]:
        yield tr(
            "{size}: what is there and on order lasts through {week} in only {share} of 100 futures",
            size=name,
            week=week_name(found.first + week),
            share=round(100 * lasts[week]),
        )
    if len(short) > MOST_SHORT:
        yield tr("{count} more sizes run short within these weeks", count=len(short) - MOST_SHORT)
    yield from look.findings


def _needed(found: Outlook) -> list[SizeOutlook]:
    """The sizes that any future needs."""
    return [size for size in found.sizes if size.upto[-1].sheets[-1] or size.upto[-1].known]


def _subjects(look: Look) -> Iterable[Subject]:
    found = look.outlook
    yield Subject(name=tr("Needs"), tables=(_ends(found, look),), pictures=tuple(_fans(found)))
    yield Subject(name=tr("Weeks"), tables=(_weeks(found),))
    yield Subject(name=tr("Totals"), words=(_joint(found),), tables=(_totals(found),))
    if any(size.lasts is not None for size in found.sizes):
        yield Subject(name=tr("Stock"), tables=(_lasts(found, look),))
    yield Subject(name=tr("Orders"), tables=(_products(look),))
    yield Subject(
        name=tr("Sheets of a week"),
        words=tuple(_volume(look)),
        tables=(_rules(look),),
        pictures=tuple(_clouds(look)),
    )
    yield Subject(name=tr("Back-test"), words=tuple(tested(look.test)), tables=tuple(losses(look)))


def _ends(found: Outlook, look: Look) -> Table:
    rows: list[tuple[Value, ...]] = []
    for size in _needed(found):
        rows.append((size.name, size.upto[-1].known, *_five(size.upto[-1]), round(size.mean, 2)))
    return Table(
        title=tr("Sheets of the next {count} weeks together", count=look.weeks),
        columns=(
            Column(name=tr("stock size")),
            Column(name=tr("open orders"), kind="count"),
            *_band_columns(),
            Column(name=tr("mean"), kind="number"),
        ),
        rows=tuple(rows),
        note=tr(
            "80 in 100 futures lie between 80 from and 80 to, 95 between 95 from and 95 to; sheets are whole."
        ),
    )


def _band_columns() -> tuple[Column, ...]:
    names = (tr("95 from"), tr("80 from"), tr("middle"), tr("80 to"), tr("95 to"))
    return tuple(Column(name=name, kind="count") for name in names)


def _five(band: Band) -> tuple[Value, ...]:
    return band.sheets


def _fans(found: Outlook) -> Iterable[Fan]:
    places = (
        tuple(week_name(found.first + w) for w in range(len(found.sizes[0].weeks))) if found.sizes else ()
    )
    for size in _needed(found):
        yield Fan(
            title=tr("{size}: sheets needed up to and with each week", size=size.name),
            places=places,
            up=tr("sheets"),
            bands=(
                _ribbon(tr("95 in 100 futures"), size, 0, 4),
                _ribbon(tr("80 in 100 futures"), size, 1, 3),
            ),
            curves=(
                Curve(name=tr("middle"), values=tuple(float(b.middle) for b in size.upto)),
                Curve(
                    name=tr("open orders"),
                    values=tuple(float(b.known) for b in size.upto),
                    steps=True,
                    dashed=True,
                ),
            ),
        )


def _ribbon(name: str, size: SizeOutlook, low: int, high: int) -> Ribbon:
    return Ribbon(
        name=name,
        low=tuple(float(b.sheets[low]) for b in size.upto),
        high=tuple(float(b.sheets[high]) for b in size.upto),
    )


def _weeks(found: Outlook) -> Table:
    rows: list[tuple[Value, ...]] = []
    for size in _needed(found):
        for w, (band, upto) in enumerate(zip(size.weeks, size.upto, strict=True)):
            rows.append((size.name, found.first + w, band.known, *_five(band), upto.middle, upto.sheets[3]))
    return Table(
        title=tr("Sheets by week"),
        columns=(
            Column(name=tr("stock size")),
            Column(name=tr("week"), kind="week"),
            Column(name=tr("open orders"), kind="count"),
            *_band_columns(),
            Column(name=tr("up to it, middle"), kind="count"),
            Column(name=tr("up to it, 80 to"), kind="count"),
        ),
        rows=tuple(rows),
        note=tr("Bands of single weeks must not be added up: take the columns up to it."),
    )


def _joint(found: Outlook) -> str:
    total = found.money
    over = total.added_up - total.shares[-1]
    return tr(
        "Sizes stand in for one another, and busy weeks do not fall on all glasses at once: what 95 in 100 futures do"
        " not exceed is {share} % less for all together than the sizes' own figures added up.",
        share=local_number(f"{100 * over / total.added_up:.1f}" if total.added_up else "0.0"),
    )


def _totals(found: Outlook) -> Table:
    names = (tr("50 in 100 futures need no more than"), tr("80 in 100"), tr("95 in 100"))
    rows: list[tuple[Value, ...]] = [
        (name, found.money.shares[k], found.area.shares[k] * _OF_M2, found.mass.shares[k])
        for k, name in enumerate(names)
    ]
    rows.append(
        (
            tr("95 in 100 of each size, added up"),
            found.money.added_up,
            found.area.added_up * _OF_M2,
            found.mass.added_up,
        )
    )
    return Table(
        title=tr("All sizes together"),
        columns=(
            Column(name=tr("futures")),
            Column(name=tr("at the price of one sheet"), kind="money"),
            Column(name=tr("area"), kind="m2"),
            Column(name=tr("mass"), kind="kg"),
        ),
        rows=tuple(rows),
        note=tr(
            "Of the mean area {share} % is booked already.",
            share=local_number(f"{100 * found.known_share:.0f}"),
        ),
    )


def _lasts(found: Outlook, look: Look) -> Table:
    stock = look.desk.stock
    rows: list[tuple[Value, ...]] = []
    for size in _needed(found):
        if size.lasts is None:
            continue
        rows.append(
            (
                size.name,
                stock.on_hand.get(size.name, 0),
                sum(a.sheets for a in stock.arriving if a.name == size.name),
                *(share_of(x) for x in size.lasts),
            )
        )
    return Table(
        title=tr("Share of futures in which the stock lasts through the week"),
        columns=(
            Column(name=tr("stock size")),
            Column(name=tr("there"), kind="count"),
            Column(name=tr("on order"), kind="count"),
            *(
                Column(name=week_name(found.first + w), kind="share")
                for w in range(len(found.sizes[0].weeks) if found.sizes else 0)
            ),
        ),
        rows=tuple(rows),
        note=tr("A number under 0 is what committed plans are still short of."),
    )


def _products(look: Look) -> Table:
    return Table(
        title=tr("Orders by product"),
        columns=(
            Column(name=tr("product")),
            Column(name=tr("orders cut"), kind="count"),
            Column(name=tr("weeks"), kind="count"),
            Column(name=tr("orders a week"), kind="number"),
            Column(name=tr("of these in the last 13 weeks"), kind="number"),
            Column(name=tr("open"), kind="count"),
        ),
        rows=tuple((*p[:3], round(p[3], 2), round(p[4], 2), p[5]) for p in products_of(look.desk)),
    )


def _volume(look: Look) -> Iterable[str]:
    if look.nested is not None and look.nested.cells:
        yield tr_count(
            "{count} real plan tells {cells} weeks of the futures, the soonest; the others go by the rules below.",
            "{count} real plans tell {cells} weeks of the futures, the soonest; the others go by the rules below.",
            look.nested.plans,
            cells=look.nested.cells,
        )
    yield tr(
        "A yield depends on the volume of its week: few panels leave most of their last sheet. Never buy by a yield that"
        " was learnt in busier weeks."
    )


def _rules(look: Look) -> Table:
    return Table(
        title=tr("Rules from orders to sheets, held against real plans of past weeks"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("rule")),
            Column(name=tr("weeks nested"), kind="count"),
            Column(name=tr("sheets a week"), kind="number"),
            Column(name=tr("mean error, sheets a week"), kind="number"),
            Column(name=tr("bias, sheets a week"), kind="number"),
            Column(name=tr("m2 cut a week"), kind="number"),
            Column(name=tr("yield"), kind="share"),
        ),
        rows=tuple(_rule_rows(look)),
    )


def _rule_rows(look: Look) -> Iterable[tuple[Value, ...]]:
    for one in look.rules.reports:
        mine = [c for c in look.counts if c.glass == one.glass]
        sheets = sum(sum(c.sheets.values()) for c in mine)
        area, cut = sum(c.sheet for c in mine), sum(c.cut for c in mine)
        weeks = max(1, len(mine))
        yield (
            one.glass,
            one.words,
            one.weeks,
            round(sheets / weeks, 2),
            None if one.error is None else round(one.error, 3),
            None if one.bias is None else round(one.bias, 3),
            round(cut / weeks / 10**18, 2),
            Fraction(cut, area) if area else None,
        )


def _clouds(look: Look) -> Iterable[Cloud]:
    groups = []
    for glass in sorted({c.glass for c in look.counts}):
        points = tuple((c.cut / 10**18, c.cut / c.sheet) for c in look.counts if c.glass == glass and c.sheet)
        if points:
            groups.append((glass, points))
    if groups:
        yield Cloud(
            title=tr("Yield against volume, one point a week"),
            across=tr("m2 cut in the week"),
            up=tr("yield"),
            groups=tuple(groups),
        )
