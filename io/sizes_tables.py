"""The tables and pictures of a study of stock sizes, all glasses together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Final

from panewright.io.report.model import Bars, Cloud, Column, Curve, Table, Value
from panewright.nesting.assortment.found import SetStudy
from panewright.nesting.assortment.size_pool import SetValue
from panewright.nesting.assortment.study import GAP, Study
from panewright.nesting.text import tr
from panewright.nesting.units import MONEY, NM2_PER_M2, show_size

SHOWN: Final = 3
"""Sets whose weeks are drawn."""
THOUSANDTHS: Final = 1000
GAP_TEXT: Final = f"{100 * GAP:g}"


def sizes_text(study: Study, sizes: Iterable[int]) -> str:
    """The sizes of a set in words, without the glass."""
    return " + ".join(size_text(study, s) for s in sizes)


def size_text(study: Study, size: int) -> str:
    """One size on offer as lengths."""
    piece = study.offers[size].piece
    return show_size(piece.width, piece.height)


def share_of(value: Fraction) -> Fraction:
    return Fraction(round(value * THOUSANDTHS), THOUSANDTHS)


def unavoidable(study: Study, one: SetStudy) -> Fraction | None:
    """Share of the least glass that the LP proves which is waste all the same."""
    if one.lp is None or not one.lp.value:
        return None
    demand, sample = study.found.demand, study.found.sample
    taken = sum(n * study.offers[s].area for s, n in zip(one.lp.sizes, one.lp.sheets, strict=True))
    least = Fraction(round(taken)) * Fraction(round(one.lp.bound), max(1, round(one.lp.value)))
    part = sample.area if sample is not demand else demand.area
    return share_of(max(Fraction(0), 1 - Fraction(part) / least)) if least else None


def holding(one: SetStudy) -> int:
    """What the stock of a set costs in a year. [1/10,000 of the currency]"""
    return one.holding


def sets_table(studies: Sequence[Study]) -> Table:
    """The planned sets of all glasses, the cheapest first."""
    rows: list[tuple[Value, ...]] = []
    for study in studies:
        year = study.found.demand.a_year
        for one in study.found.best_first():
            planned = one.planned
            if planned is None:
                continue
            cost = year(planned.cost)
            rows.append(
                (
                    study.glass,
                    sizes_text(study, one.sizes),
                    tr("stocked now") if one.stocked else "",
                    year(sum(planned.sheets().values())),
                    cost,
                    holding(one),
                    cost + holding(one),
                    None if one.lp is None else study.a_year(one.lp.bound),
                    share_of(planned.fill),
                    year(planned.cut),
                    unavoidable(study, one),
                    year(planned.score),
                    year(planned.cuts),
                    planned.unplaced or None,
                )
            )
    return Table(
        title=tr("Sets of sizes, planned week by week"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("sizes")),
            Column(name=tr("note")),
            Column(name=tr("sheets a year"), kind="count"),
            Column(name=tr("glass a year"), kind="money"),
            Column(name=tr("holding stock"), kind="money"),
            Column(name=tr("both"), kind="money"),
            Column(name=tr("least by the LP"), kind="money"),
            Column(name=tr("yield"), kind="share"),
            Column(name=tr("cut a year"), kind="m2"),
            Column(name=tr("waste that no plan avoids"), kind="share"),
            Column(name=tr("scores a year"), kind="metres"),
            Column(name=tr("cuts a year"), kind="count"),
            Column(name=tr("panels without a place"), kind="count"),
        ),
        rows=tuple(rows),
        note=tr(
            "Plans as found, every past week by itself in whole sheets. The LP cuts all weeks at once and takes sheets in"
            " parts: nothing costs less, and the less is cut in a week the further plans are above it."
        ),
    )


def cost_bars(study: Study) -> Bars | None:
    """What each planned set costs in a year, in parts: least cost, what whole sheets add, and stock."""
    done = [s for s in study.found.best_first() if s.planned is not None and s.lp is not None]
    if not done:
        return None
    least = [study.a_year(s.lp.bound) / MONEY if s.lp else 0.0 for s in done]
    glass = [study.found.demand.a_year(s.planned.cost) / MONEY if s.planned else 0.0 for s in done]
    return Bars(
        title=tr("{glass}: what the sets of sizes cost a year", glass=study.glass),
        # numbered as in the table: long names are cut, and then look alike
        places=tuple(f"{i}: {sizes_text(study, s.sizes)}" for i, s in enumerate(done, start=1)),
        up=tr("{currency} a year", currency=study.shop.currency),
        series=(
            Curve(
                name=tr("least by the LP"), values=tuple(min(a, b) for a, b in zip(least, glass, strict=True))
            ),
            Curve(
                name=tr("whole sheets, week by week"),
                values=tuple(max(0.0, b - a) for a, b in zip(least, glass, strict=True)),
            ),
            Curve(name=tr("holding stock"), values=tuple(holding(s) / MONEY for s in done)),
        ),
        parts=True,
    )


def weeks_cloud(study: Study) -> Cloud | None:
    """Yield of every week against what was cut in it."""
    groups = []
    for one in study.found.best_first()[:SHOWN]:
        if one.planned is not None:
            points = tuple(
                (w.count.cut / NM2_PER_M2, w.count.cut / w.count.sheet)
                for w in one.planned.weeks
                if w.count.sheet
            )
            groups.append((sizes_text(study, one.sizes), points))
    if not groups:
        return None
    return Cloud(
        title=tr("{glass}: yield of a week against what is cut in it", glass=study.glass),
        across=tr("cut in the week [m2]"),
        up=tr("yield"),
        groups=tuple(groups),
    )


def breaks_table(studies: Sequence[Study]) -> Table:
    """The price-break list of all glasses."""
    rows: list[tuple[Value, ...]] = []
    for study in studies:
        breaks = study.found.breaks
        if breaks is None:
            continue
        saves = {a.size: a for a in study.found.additions}
        for one in breaks.breaks:
            offer = study.offers[one.size]
            added = saves.get(one.size)
            area = Fraction(offer.area, NM2_PER_M2)
            rows.append(
                (
                    study.glass,
                    size_text(study, one.size),
                    offer.supply.supplier,
                    offer.sheets,
                    one.cost,
                    round(one.cost / area),
                    one.below,
                    round(one.below / area),
                    share_of(one.fall),
                    tr("stocked now") if one.stocked else tr("yes") if one.is_worth else "",
                    None if added is None or added.by_lp is None else study.a_year(added.by_lp),
                    None if added is None else study.a_year(added.by_weeks),
                )
            )
    return Table(
        title=tr("Price-break list: from which price each size is worth buying"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("size")),
            Column(name=tr("supplier")),
            Column(name=tr("sheets of an order"), kind="count"),
            Column(name=tr("price now"), kind="money"),
            Column(name=tr("a square metre"), kind="money"),
            Column(name=tr("worth buying below"), kind="money"),
            Column(name=tr("that a square metre"), kind="money"),
            Column(name=tr("must fall by"), kind="share"),
            Column(name=tr("worth it now")),
            Column(name=tr("saves a year by the LP"), kind="money"),
            Column(name=tr("week by week about"), kind="money"),
        ),
        rows=tuple(rows),
        note=tr(
            "By the prices of the LP of the sizes stocked now, in which all weeks are cut at once: at or above the price of"
            " the list a size is sure to save nothing there, beyond the distance of the LP's value from its bound. Week by"
            " week the last sheet counts too, so that a small size may save more, and a large one less. Prices with freight,"
            " at the order size shown."
        ),
    )


def search_table(studies: Sequence[Study]) -> Table:
    """The best set of every number of sizes by the LP, with what is proved."""
    rows: list[tuple[Value, ...]] = []
    for study in studies:
        sets = study.found.sets
        for ranking in sets.rankings if sets is not None else ():
            best = ranking.best
            if best is None:
                rows.append(
                    (
                        study.glass,
                        ranking.count,
                        tr("no set of so many holds every panel"),
                        None,
                        None,
                        None,
                        "",
                    )
                )
                continue
            rows.append(
                (
                    study.glass,
                    ranking.count,
                    _with_shares(study, best),
                    study.a_year(best.value),
                    study.a_year(best.bound),
                    len(ranking.combined),
                    tr("proved") if ranking.proved else tr("best so far"),
                )
            )
    return Table(
        title=tr("Best sets by the LP"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("how many"), kind="count"),
            Column(name=tr("sizes, with their share of the sheets")),
            Column(name=tr("cost a year"), kind="money"),
            Column(name=tr("at least"), kind="money"),
            Column(name=tr("sizes combined"), kind="count"),
            Column(name=tr("standing")),
        ),
        rows=tuple(rows),
        note=tr(
            "Proved: no other set of so many of the sizes combined costs {gap} % less in the LP. Sets that differ by less"
            " are equal here; plans week by week tell them apart.",
            gap=GAP_TEXT,
        ),
    )


def _with_shares(study: Study, value: SetValue) -> str:
    total = sum(value.sheets) or 1.0
    return " + ".join(
        tr("{size} ({share} %)", size=size_text(study, s), share=round(100 * n / total))
        for s, n in zip(value.sizes, value.sheets, strict=True)
    )


def stock_table(studies: Sequence[Study]) -> Table:
    """What every size of a planned set needs as stock."""
    rows: list[tuple[Value, ...]] = []
    for study in studies:
        for one in study.found.best_first():
            for s, stock in zip(one.sizes, one.stock, strict=False):
                rows.append(
                    (
                        study.glass,
                        sizes_text(study, one.sizes),
                        size_text(study, s),
                        Fraction(round(100 * stock.mean), 100),
                        study.offers[s].supply.lead_days,
                        stock.safety,
                        stock.cycle,
                        stock.cost,
                    )
                )
    return Table(
        title=tr("Stock that each size needs"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("set")),
            Column(name=tr("size")),
            Column(name=tr("sheets a week"), kind="number"),
            Column(name=tr("lead days"), kind="count"),
            Column(name=tr("safety stock"), kind="count"),
            Column(name=tr("half an order"), kind="count"),
            Column(name=tr("holding a year"), kind="money"),
        ),
        rows=tuple(rows),
        note=tr(
            "Textbook figures to set sizes side by side: every size needs a safety stock of its own, and sheets that are"
            " seldom taken lie long. `panewright buy` works them out from the forecast."
        ),
    )


def other_offers_table(studies: Sequence[Study]) -> Table | None:
    """Offers of sizes that another supplier sells for less."""
    rows = [
        (study.glass, show_size(o.piece.width, o.piece.height), s.supplier, cost, o.cost, o.supply.supplier)
        for study in studies
        for o in study.offers
        for s, cost in o.others
    ]
    if not rows:
        return None
    return Table(
        title=tr("Offers that cost more for the same size"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("size")),
            Column(name=tr("supplier")),
            Column(name=tr("price"), kind="money"),
            Column(name=tr("cheaper"), kind="money"),
            Column(name=tr("from")),
        ),
        rows=tuple(rows),
    )
