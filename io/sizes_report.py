"""The study of stock sizes as a report: best sets, price-break list, what rules cost, stock and weeks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from panewright.io.report.model import Report, Subject
from panewright.io.sizes_rules import rules_table
from panewright.io.sizes_tables import (
    breaks_table,
    cost_bars,
    other_offers_table,
    search_table,
    sets_table,
    size_text,
    sizes_text,
    stock_table,
    weeks_cloud,
)
from panewright.nesting.assortment.study import Study
from panewright.nesting.outlines import box
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import show_money, show_size


def sizes_report(studies: Sequence[Study], *, about: str, stopped: bool = False) -> Report:
    """The report of the studies of some glasses.

    Parameters
    ----------
    studies
        One a glass, as far as they came.
    about
        Which weeks, in words.
    stopped
        Whether the work was stopped before its end.
    """
    shop = studies[0].shop
    lead = [line for study in studies for line in _lead(study)]
    if stopped:
        lead.insert(0, tr("Stopped before the end: what is missing was not worked out any more."))
    return Report(
        title=tr("Which sizes to stock"),
        about=about,
        lead=tuple(lead),
        subjects=tuple(
            s for s in _subjects(studies) if any(t.rows for t in s.tables) or s.pictures or s.words
        ),
        cautions=(
            tr("Past weeks are no promise of coming ones: look again before a size is given up for good."),
            tr(
                "Larger sheets are heavier: check that racks, floor, lifting gear and the people at the table can handle"
                " them; local rules decide."
            ),
        ),
        currency=shop.currency,
    )


def _lead(study: Study) -> Iterable[str]:
    best = study.found.best_first()
    if not best:
        if study.found.refused and not study.found.demand.weeks:
            yield tr("{glass}: no size on offer yields any of its panels", glass=study.glass)
        elif (by_lp := _best_by_lp(study)) is not None:
            yield by_lp
        yield from _worth(study)
        return
    first = best[0]
    now = next((s for s in best if s.stocked), None)
    total = study.found.a_year
    cost = show_money(total(first), study.shop.currency)
    if now is None:
        yield tr(
            "{glass}: {sizes} cost least in glass and holding stock: {cost} a year",
            glass=study.glass,
            sizes=sizes_text(study, first.sizes),
            cost=cost,
        )
    elif now is first:
        yield tr(
            "{glass}: the sizes stocked now, {sizes}, are the cheapest of the sets planned: {cost} a year",
            glass=study.glass,
            sizes=sizes_text(study, first.sizes),
            cost=cost,
        )
    elif total(now) == total(first):
        yield tr(
            "{glass}: {sizes} cost as much as the sizes stocked now: {cost} a year in glass and holding stock",
            glass=study.glass,
            sizes=sizes_text(study, first.sizes),
            cost=cost,
        )
    else:
        before = total(now)
        yield tr(
            "{glass}: {sizes} cost {cost} a year in glass and holding stock, {saved} less than the sizes stocked now"
            " ({share} %)",
            glass=study.glass,
            sizes=sizes_text(study, first.sizes),
            cost=cost,
            saved=show_money(before - total(first), study.shop.currency),
            share=local_number(f"{100 * (before - total(first)) / max(1, before):.1f}"),
        )
    yield from _fewer(study)
    yield from _worth(study)


def _best_by_lp(study: Study) -> str | None:
    """What stands where the work was stopped before any plan."""
    rankings = study.found.sets.rankings if study.found.sets is not None else []
    best = min(
        (r.best for r in rankings if r.best is not None), key=lambda v: (v.value, v.sizes), default=None
    )
    if best is None:
        return None
    return tr(
        "{glass}: not planned yet; by the LP alone {sizes} cost least, {cost} a year or more",
        glass=study.glass,
        sizes=sizes_text(study, best.sizes),
        cost=show_money(study.a_year(best.bound), study.shop.currency),
    )


def _fewer(study: Study) -> Iterable[str]:
    """What one more size saves, number by number, as planned."""
    by_count: dict[int, int] = {}
    for one in study.found.best_first():
        if one.planned is not None:
            by_count.setdefault(len(one.sizes), study.found.a_year(one))
    for count in sorted(by_count)[1:]:
        if count - 1 in by_count:
            less = by_count[count - 1] - by_count[count]
            if less == 0:
                yield tr(
                    "{glass}: {count} sizes instead of {fewer} save nothing",
                    glass=study.glass,
                    count=count,
                    fewer=count - 1,
                )
                continue
            yield (
                tr(
                    "{glass}: {count} sizes instead of {fewer} save {saved} a year, holding stock counted in",
                    glass=study.glass,
                    count=count,
                    fewer=count - 1,
                    saved=show_money(less, study.shop.currency),
                )
                if less > 0
                else tr(
                    "{glass}: {count} sizes instead of {fewer} cost {more} a year more, holding stock counted in",
                    glass=study.glass,
                    count=count,
                    fewer=count - 1,
                    more=show_money(-less, study.shop.currency),
                )
            )


def _worth(study: Study) -> Iterable[str]:
    """The size that saves most beside the stocked ones, week by week."""
    added = max(study.found.additions, key=lambda a: (a.by_weeks, -a.size), default=None)
    if added is not None and added.by_weeks > 0:
        yield tr(
            "{glass}: of single sizes beside the stocked ones {size} saves most, about {saved} a year",
            glass=study.glass,
            size=size_text(study, added.size),
            saved=show_money(study.a_year(added.by_weeks), study.shop.currency),
        )


def _subjects(studies: Sequence[Study]) -> Iterable[Subject]:
    bars = [b for b in map(cost_bars, studies) if b is not None]
    clouds = [c for c in map(weeks_cloud, studies) if c is not None]
    yield Subject(
        name=tr("Sets of sizes"),
        words=tuple(line for study in studies for line in _basis(study)),
        tables=(sets_table(studies),),
        pictures=tuple(bars),
    )
    others = other_offers_table(studies)
    yield Subject(
        name=tr("Price-break list"),
        words=tuple(line for study in studies for line in _no_list(study)),
        tables=(breaks_table(studies), *((others,) if others is not None else ())),
    )
    yield Subject(name=tr("Best by the LP"), tables=(search_table(studies),))
    yield Subject(name=tr("Stock of each size"), tables=(stock_table(studies),))
    yield Subject(name=tr("Rules"), tables=(rules_table(studies),))
    yield Subject(name=tr("Weeks"), pictures=tuple(clouds))


def _basis(study: Study) -> Iterable[str]:
    """What the figures rest on."""
    found = study.found
    yield tr(
        "{glass}: {panels} panels of {kinds} kinds in {weeks} weeks, {sizes} sizes on offer; money is for a year of 52"
        " such weeks",
        glass=study.glass,
        panels=found.demand.panels,
        kinds=len(found.demand.kinds),
        weeks=found.demand.number,
        sizes=len(study.offers),
    )
    if found.sample is not found.demand:
        yield tr(
            "{glass}: the LP is about {count} weeks spread over all of them, with {kinds} kinds of panels; the plans are of"
            " every week",
            glass=study.glass,
            count=len(found.sample.weeks),
            kinds=len(found.sample.kinds),
        )
    if study.rules.levels not in (2, 3):
        yield tr("{glass}: the LP has three levels and a last cut; plans may use more", glass=study.glass)
    for kind, why in found.refused[:5]:
        x0, y0, x1, y1 = box(kind.cut)
        yield tr(
            "{glass}: {size} is left out: {reason}",
            glass=study.glass,
            size=show_size(x1 - x0, y1 - y0),
            reason=why.reason,
        )
    if len(found.refused) > 5:
        yield tr_count(
            "{glass}: {count} more kind is left out", "{glass}: {count} more kinds are left out",
            len(found.refused) - 5, glass=study.glass,
        )  # fmt: skip
    if study.too_large:
        yield tr(
            "{glass}: too large for the table: {sizes}",
            glass=study.glass,
            sizes=", ".join(show_size(o.piece.width, o.piece.height) for o in study.too_large),
        )


def _no_list(study: Study) -> Iterable[str]:
    if study.found.breaks is None:
        if not study.stocked:
            yield tr(
                "{glass}: no list, since no size is stocked now; name one with --now, or put it into the shop file",
                glass=study.glass,
            )
        elif study.pool is not None and study.pool.left_out(study.stocked):
            yield tr(
                "{glass}: no list, since the sizes stocked now do not hold every panel", glass=study.glass
            )
