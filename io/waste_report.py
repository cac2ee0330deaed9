"""The waste report: sentences, tables and pictures of what was planned and cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from panewright.io.report.model import Bars, Cloud, Column, Curve, Picture, Report, Subject, Table
from panewright.io.report.value_text import text_of
from panewright.io.waste_columns import Row, areas, both_tables, money, table_of, whole
from panewright.io.waste_data import NO_DAY, WasteOver
from panewright.io.waste_orders import kinds_subject, orders_subject
from panewright.io.waste_rack import breakage_subject, offcuts_subject
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import NM2_PER_M2, show_money
from panewright.nesting.waste.groups import by_sheet
from panewright.nesting.waste.sheets import SheetWaste
from panewright.nesting.waste.sums import WasteSums


@dataclass(frozen=True, slots=True)
class Side:
    """The sheets as planned, or as cut."""

    name: str
    sheets: Sequence[SheetWaste]

    @property
    def total(self) -> WasteSums:
        """All of them."""
        return WasteSums.of(x.sums for x in self.sheets)


def sides_of(found: WasteOver) -> list[Side]:
    """What was recorded, then what was planned; a side without sheets is left out."""
    both = [Side(tr("recorded"), found.recorded), Side(tr("planned"), found.planned)]
    return [side for side in both if side.sheets]


def waste_report(found: WasteOver) -> Report:
    """The whole report."""
    sides = sides_of(found)
    subjects = [
        _summary(found, sides),
        _spans(found, sides),
        _grouped(tr("By glass"), tr("glass"), sides, lambda x: x.glass),
        _grouped(tr("By stock size"), tr("stock"), sides, _stock),
        kinds_subject(found),
        orders_subject(found),
        offcuts_subject(found),
        breakage_subject(found),
    ]
    return Report(
        title=tr("Waste of glass"),
        about=_about(found),
        lead=tuple(_lead(found)),
        subjects=tuple(s for s in subjects if s is not None),
        cautions=tuple(_cautions(found)),
        currency=found.currency,
    )


def _about(found: WasteOver) -> str:
    if found.days is None:
        return tr("all sheets of the plans, none of which has a day")
    return tr("{first} to {last}", first=found.days.first.isoformat(), last=found.days.last.isoformat())


def _square(twice: int) -> str:
    return text_of(whole(twice), "m2")


def _volume(total: WasteSums) -> str:
    return tr_count(
        "{count} sheet of {area} m2, panels: {panels}, yield {part}, net {net}",
        "{count} sheets of {area} m2, panels: {panels}, yield {part}, net {net}",
        total.sheets,
        area=_square(total.sheet),
        panels=total.panels,
        part=text_of(total.gross_yield, "share") or "-",
        net=text_of(total.net_yield, "share") or "-",
    )


def _lead(found: WasteOver) -> list[str]:
    lines = []
    for name, sheets in ((tr("Cut"), found.recorded), (tr("Planned"), found.planned)):
        if sheets:
            total = WasteSums.of(x.sums for x in sheets)
            lines.append(tr("{what}: {volume}.", what=name, volume=_volume(total)))
    sides = sides_of(found)
    if not sides:
        return [*lines, *found.notes]
    total = sides[0].total
    say = [
        tr("{money} in panels", money=show_money(total.in_panels, found.currency)),
        tr("{money} waste that no plan avoids", money=show_money(total.in_unavoidable, found.currency)),
        tr("{money} over the lower bounds of the plans", money=show_money(total.in_rest, found.currency)),
    ]
    if total.in_broken:
        say.append(tr("{money} in what broke", money=show_money(total.in_broken, found.currency)))
    if total.in_extras:
        say.append(tr("{money} in spares and fillers", money=show_money(total.in_extras, found.currency)))
    cost = show_money(total.cost, found.currency)
    lines.append(tr("Of {cost} for glass: {parts}.", cost=cost, parts=", ".join(say)))
    lines.append(
        tr(
            "At most {rest} ({share} of the cost) could have been saved by better plans for the same lists.",
            rest=show_money(total.in_rest, found.currency),
            share=text_of(_share(total.in_rest, total.cost), "share") or "-",
        )
    )
    if found.earlier is not None:
        before = found.earlier[0 if found.recorded == () else 1]
        if before:
            lines.append(
                tr("As many days before: {volume}.", volume=_volume(WasteSums.of(x.sums for x in before)))
            )
    return [*lines, *found.notes]


def _share(part: int, of: int) -> Fraction | None:
    return Fraction(part, of) if of else None


def _summary(found: WasteOver, sides: Sequence[Side]) -> Subject:
    rows = [((side.name,), side.total) for side in sides]
    if found.earlier is not None:
        planned, recorded = (WasteSums.of(x.sums for x in sheets) for sheets in found.earlier)
        if recorded.sheets:
            rows.append(((tr("recorded before"),), recorded))
        if planned.sheets:
            rows.append(((tr("planned before"),), planned))
    keys = [Column(name=tr("what"))]
    return Subject(
        name=tr("Summary"),
        words=(
            tr(
                "Panels, spares, fillers, what broke, trim, cullet and offcuts add up to the glass. So do they with "
                "unavoidable and over the bound, which part trim, cullet and offcuts another way: over the bound is "
                "what the plans cost above their lower bound, unavoidable what no plan could have done without."
            ),
            tr(
                "An offcut that is kept and cut up later counts as glass taken both times: over a period go by the net "
                "yield and the net cost, which take off what was kept."
            ),
        ),
        tables=(
            table_of(tr("Glass"), keys, rows, areas()),
            table_of(
                tr("Money"),
                keys,
                rows,
                money(),
                note=tr(
                    "net cost: less the worth of the offcuts kept, by the shop's rule; by m2 of finished glass"
                ),
            ),
        ),
    )


def _name_of(found: WasteOver, span: int) -> str:
    if found.days is None or span == NO_DAY:
        return tr("no day")
    return found.days.spans[span].name


def _spans(found: WasteOver, sides: Sequence[Side]) -> Subject | None:
    if not sides:
        return None
    spans = () if found.days is None else found.days.spans
    numbers = [*range(len(spans))]
    if any(x.span == NO_DAY for side in sides for x in side.sheets):
        numbers.append(NO_DAY)
    tables: list[Table] = []
    for side in sides:
        sums = by_sheet(side.sheets, lambda x: x.span)
        rows: list[Row] = [((_name_of(found, k),), sums.get(k, WasteSums())) for k in numbers]
        tables += both_tables(tr("By time, {what}", what=side.name), tr("time"), rows, side.total)
    return Subject(
        name=tr("By time"),
        words=(
            tr(
                "A yield says little without its volume: in a quiet week the last sheet is mostly left over, whoever "
                "plans."
            ),
        ),
        tables=tuple(tables),
        pictures=_pictures(found, sides[0], numbers),
    )


def _metres(twice: int) -> float:
    return twice / (2 * NM2_PER_M2)


def _pictures(found: WasteOver, side: Side, numbers: Sequence[int]) -> tuple[Picture, ...]:
    """Two ways to part the same glass, and the yield against the volume."""
    sums = by_sheet(side.sheets, lambda x: x.span)
    places = tuple(_name_of(found, k) for k in numbers)

    def curve(name: str, take: Callable[[WasteSums], int]) -> Curve:
        return Curve(name=name, values=tuple(_metres(take(sums.get(k, WasteSums()))) for k in numbers))

    used = curve(tr("panels, spares, fillers"), lambda s: s.cut + s.spare + s.filler)
    broken = [curve(tr("broken"), lambda s: s.lost)] if any(s.lost for s in sums.values()) else []
    bound = [
        curve(tr("unavoidable"), lambda s: s.unavoidable),
        curve(tr("over bound"), lambda s: s.rest),
    ]
    ends = [
        curve(tr("trim"), lambda s: s.trim),
        curve(tr("cullet"), lambda s: s.cullet),
        curve(tr("offcuts"), lambda s: s.offcut),
    ]
    points: dict[str, list[tuple[float, float]]] = {}
    for (glass, _), one in by_sheet(side.sheets, lambda x: (x.glass, x.span)).items():
        if one.gross_yield is not None:
            points.setdefault(glass, []).append((_metres(one.cut), float(100 * one.gross_yield)))
    return (
        Bars(
            title=tr("Glass and what a plan could do without, {what}", what=side.name),
            places=places,
            up=tr("m2"),
            series=(used, *broken, *bound),
            parts=True,
        ),
        Bars(
            title=tr("Glass and where it went, {what}", what=side.name),
            places=places,
            up=tr("m2"),
            series=(used, *broken, *ends),
            parts=True,
        ),
        Cloud(
            title=tr("Yield against volume, {what}", what=side.name),
            across=tr("panels, m2"),
            up=tr("yield, %"),
            groups=tuple((glass, tuple(sorted(points[glass]))) for glass in sorted(points)),
        ),
    )


def _stock(x: SheetWaste) -> str:
    return tr("offcuts of {glass}", glass=x.glass) if x.is_offcut else x.stock


def _grouped(
    name: str, heading: str, sides: Sequence[Side], key: Callable[[SheetWaste], str]
) -> Subject | None:
    tables: list[Table] = []
    for side in sides:
        sums = by_sheet(side.sheets, key)
        rows: list[Row] = [((word,), sums[word]) for word in sorted(sums)]
        tables += both_tables(f"{name}, {side.name}", heading, rows, side.total)
    return Subject(name=name, tables=tuple(tables)) if tables else None


def _cautions(found: WasteOver) -> list[str]:
    out = [
        tr(
            "The lower bound is what was proven, not what can be reached: what lies over it is the most that better "
            "plans could have saved. It holds for the lists that were planned together; other lists have another."
        ),
        tr(
            "What lies over the bound is shared among the sheets of a plan by the glass beside their panels; a sheet "
            "that a later plan took over bears what the plan does by which it was first laid out."
        ),
    ]
    if found.no_bound:
        plans = ", ".join(dict.fromkeys(plan for plan, _ in found.no_bound[:5]))
        out.append(
            tr("Without a lower bound all glass beside the panels counts as over it: {plans}.", plans=plans)
        )
    if found.no_price:
        out.append(
            tr(
                "The shop file has no price for {glasses}: offcuts of it have no worth here.",
                glasses=", ".join(found.no_price),
            )
        )
    return out
