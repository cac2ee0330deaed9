"""Offcuts made, used, thrown away and lying in the rack by age; panels and sheets that broke."""

from __future__ import annotations

from collections import defaultdict

from panewright.io.report.model import Column, Subject, Table, Value
from panewright.io.store.offcut_flow import OffcutFlow
from panewright.io.waste_columns import whole
from panewright.io.waste_data import AGES, Rack, WasteOver
from panewright.nesting.figures import shares
from panewright.nesting.happened import AtStep
from panewright.nesting.text import tr


def offcuts_subject(found: WasteOver) -> Subject | None:
    """What became of offcuts."""
    tables = []
    flows = {glass: flow for glass, flow in found.offcuts.items() if flow != OffcutFlow()}
    if flows:
        total = OffcutFlow()
        for flow in flows.values():
            total.add(flow)
        tables.append(
            Table(
                title=tr("Offcuts"),
                columns=(
                    Column(name=tr("glass")),
                    Column(name=tr("kept"), kind="count"),
                    Column(name=tr("kept"), kind="m2"),
                    Column(name=tr("used"), kind="count"),
                    Column(name=tr("used"), kind="m2"),
                    Column(name=tr("thrown"), kind="count"),
                    Column(name=tr("thrown"), kind="m2"),
                    Column(name=tr("nothing said"), kind="count"),
                ),
                rows=tuple(_flow_row(glass, flow) for glass, flow in flows.items()),
                total=_flow_row(tr("all"), total),
            )
        )
    if found.rack:
        tables.append(_rack_table(found.rack))
    if not tables:
        return None
    return Subject(
        name=tr("Offcuts"),
        words=(tr("A rack that fills faster than it is used up is glass bought for nothing."),),
        tables=tuple(tables),
    )


def _flow_row(name: str, f: OffcutFlow) -> tuple[Value, ...]:
    made, used, thrown = whole(f.made_area), whole(f.used_area), whole(f.thrown_area)
    return (name, f.made, made, f.used, used, f.thrown, thrown, f.unsaid)


def age_words(oldest: int | None) -> str:
    """A class of age in words."""
    if oldest is None:
        return tr("over {days} days", days=AGES[-1])
    return tr("up to {days} days", days=oldest)


def _rack_table(rack: tuple[Rack, ...]) -> Table:
    def row(*left: str, mine: tuple[Rack, ...]) -> tuple[Value, ...]:
        worth, full = sum(x.worth for x in mine), sum(x.full for x in mine)
        return (*left, sum(x.count for x in mine), whole(sum(x.area for x in mine)), worth, full - worth)

    return Table(
        title=tr("In the rack at the end, by age"),
        columns=(
            Column(name=tr("glass")),
            Column(name=tr("age")),
            Column(name=tr("offcuts"), kind="count"),
            Column(name=tr("area"), kind="m2"),
            Column(name=tr("worth"), kind="money"),
            Column(name=tr("lost by age"), kind="money"),
        ),
        rows=tuple(row(x.glass, age_words(x.oldest), mine=(x,)) for x in rack),
        total=row(tr("all"), "", mine=rack),
        note=tr("worth by the shop's rule: its share of the price of new glass, falling with age"),
    )


def breakage_subject(found: WasteOver) -> Subject | None:
    """What broke: panels by the work, the glass lost by it, and whole sheets."""
    tables = []
    if found.broken:
        tables.append(
            Table(
                title=tr("Panels that broke in the period"),
                columns=(
                    Column(name=tr("glass")),
                    Column(name=tr("at")),
                    Column(name=tr("panels"), kind="count"),
                ),
                rows=tuple((glass, tr(step.value), count) for (glass, step), count in found.broken.items()),
                total=(tr("all"), "", sum(found.broken.values())),
            )
        )
    if lost := _lost(found):
        tables.append(lost)
    if found.scrapped:
        tables.append(
            Table(
                title=tr("Whole sheets scrapped, or broken in the rack"),
                columns=(
                    Column(name=tr("glass")),
                    Column(name=tr("sheets"), kind="count"),
                    Column(name=tr("area"), kind="m2"),
                    Column(name=tr("cost"), kind="money"),
                ),
                rows=tuple((x.glass, x.count, whole(x.area), x.cost) for x in found.scrapped),
                total=(
                    tr("all"),
                    sum(x.count for x in found.scrapped),
                    whole(sum(x.area for x in found.scrapped)),
                    sum(x.cost for x in found.scrapped),
                ),
            )
        )
    if not tables:
        return None
    return Subject(
        name=tr("Breakage"),
        words=(tr("`panewright stock breakage` tells the rates by work, glass and size."),),
        tables=tuple(tables),
    )


def _lost(found: WasteOver) -> Table | None:
    """Of the sheets cut in the period: their broken glass by product and work, adding up to the summary."""
    sums: dict[tuple[str, AtStep], list[int]] = defaultdict(lambda: [0, 0, 0])
    for x in found.recorded:
        gone = [p for p in x.pieces if p.broke is not None]
        for p, money in zip(gone, shares(x.sums.in_broken, [p.cut for p in gone]), strict=True):
            assert p.broke is not None
            one = sums[p.product, p.broke]
            one[0], one[1], one[2] = one[0] + 1, one[1] + p.cut, one[2] + money
    if not sums:
        return None
    order = list(AtStep)
    keys = sorted(sums, key=lambda key: (key[0], order.index(key[1])))
    totals = [sum(one[k] for one in sums.values()) for k in range(3)]
    return Table(
        title=tr("Glass lost by breakage, of the sheets cut in the period"),
        columns=(
            Column(name=tr("product")),
            Column(name=tr("at")),
            Column(name=tr("panels"), kind="count"),
            Column(name=tr("area"), kind="m2"),
            Column(name=tr("cost"), kind="money"),
        ),
        rows=tuple(
            (
                product,
                tr(step.value),
                sums[product, step][0],
                whole(sums[product, step][1]),
                sums[product, step][2],
            )
            for product, step in keys
        ),
        total=(tr("all"), "", totals[0], whole(totals[1]), totals[2]),
    )
