"""The words of a day plan, the same on screen, in texts and in lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from panewright.io import flaw_words
from panewright.io.panel_edges import side_of_edges
from panewright.io.panel_scene import edge_words
from panewright.io.plan_summary import cautions as plan_cautions
from panewright.io.problems import shown
from panewright.io.step_words import show_mass
from panewright.nesting.day.day_plan import DayPlan, DayTotal
from panewright.nesting.day.edging import EdgeJob, EdgeSetting
from panewright.nesting.day.lateness import LateBy, LateOrder
from panewright.nesting.day.sheets import DaySheet, SheetKey
from panewright.nesting.edgework import Edge
from panewright.nesting.edging_line import Beyond, Limit
from panewright.nesting.panels import Panel, Purpose
from panewright.nesting.plan import LeafKind
from panewright.nesting.sequence import lift_for
from panewright.nesting.shape_findings import edge_names
from panewright.nesting.shop import Shop
from panewright.nesting.shop_tanks import EdgingLine
from panewright.nesting.steps import Lift
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import show


def sheet_name(day: DayPlan, sheet: DaySheet) -> str:
    """``3``, or ``Q7K2-9DMX 3`` where sheets of several plans are cut."""
    number = str(sheet.layout.number)
    return number if len(day.plans) == 1 else f"{sheet.plan.id} {number}"


def minutes(seconds: int) -> int:
    """Whole minutes, rounded up."""
    return -(-seconds // 60)


def metres(nm: int) -> str:
    """Metres with one decimal, halves up."""
    tenths = (nm + 50_000_000) // 100_000_000
    return tr("{metres} m", metres=local_number(f"{tenths // 10}.{tenths % 10}"))


def one_decimal(value: Fraction) -> str:
    """A number with one decimal, halves up."""
    tenths = int((value * 20 + 1) // 2)
    return local_number(f"{tenths // 10}.{tenths % 10}")


def lift_of(sheet: DaySheet, shop: Shop) -> Lift:
    """Who lifts a sheet."""
    return lift_for(sheet.grams, max(sheet.layout.width, sheet.layout.height), shop.lifts)


def lift_words(sheet: DaySheet, shop: Shop) -> str:
    """Mass of a sheet and who lifts it."""
    return tr("{kg}, {lift}", kg=show_mass(sheet.grams), lift=tr(lift_of(sheet, shop).value))


def offcuts_of(sheet: DaySheet) -> list[str]:
    """Numbers of the offcuts that are kept from a sheet."""
    return [leaf.offcut for leaf in sheet.layout.leaves if leaf.kind is LeafKind.OFFCUT and leaf.offcut]


def names(orders: Sequence[str], length: int = 40, most: int | None = None) -> str:
    """Orders one after the other, each cut short, `most` of them; a dash for none."""
    text = ", ".join(shown(order, length) for order in orders[:most]) or "-"
    if most is None or len(orders) <= most:
        return text
    return tr("{names} and {count} more", names=text, count=len(orders) - most)


def place_of(day: DayPlan, panel: Panel) -> str | None:
    """Place of a panel: on its own rack, else that of its order; None without one."""
    if panel.rack:
        return flaw_words.place_words(panel.rack, panel.slot)
    return day.places.get(panel.order) if panel.purpose is Purpose.ORDER else None


def place_words(day: DayPlan, panel: Panel) -> str:
    """Where a panel waits for its edges."""
    if panel.rack:
        return flaw_words.place_words(panel.rack, panel.slot)
    if panel.purpose is Purpose.SPARE:
        return tr("spare, to stock")
    if panel.purpose is Purpose.FILLER:
        return tr("filler, to stock")
    return day.places.get(panel.order) or tr("no place free")


def late_words(late: LateOrder) -> str:
    """Why an order is late."""
    match late.by:
        case LateBy.OVER:
            return tr("its due day was over before {day}", day=late.until.isoformat())
        case LateBy.STOCK if late.here is not None:
            return tr(
                "stock: the sheets for what is due by {due} are here on {here}, and keep the table until {day}",
                due=late.due.isoformat(),
                here=late.here.isoformat(),
                day=late.until.isoformat(),
            )
        case LateBy.STOCK:
            return tr("stock: a sheet for it is here on {day} at the earliest", day=late.until.isoformat())
        case LateBy.TABLE:
            return tr(
                "table hours: what is due by {due} keeps the table until {day}",
                due=late.due.isoformat(),
                day=late.until.isoformat(),
            )
        case LateBy.EDGING:
            return tr(
                "edging metres: what is due by {due} keeps the edging line until {day}",
                due=late.due.isoformat(),
                day=late.until.isoformat(),
            )
        case LateBy.ORDER:
            return tr("order of sheets: sheets with other orders on them are cut before")


def setting_words(setting: EdgeSetting) -> str:
    """A machine and what it is set to."""
    edge = Edge(
        work=setting.work, allowance=setting.allowance, mitre=setting.mitre, small_face=setting.small_face
    )
    return tr(
        "{machine}: {work}, glass {thickness}",
        machine=tr(setting.machine.value),
        work=edge_words(edge),
        thickness=show(setting.thickness),
    )


def edges_words(panel: Panel, edges: Sequence[int]) -> str:
    """Edges of a rectangle by side, of any other panel by its corners: ``bottom, top``, ``1-2-3``, ``all``."""
    if len(edges) == len(panel.finished):
        return tr("all")
    sides = {i: side for side, i in side_of_edges(panel.finished).items()}
    if sides:
        return ", ".join(tr(sides[i]) for i in edges)
    return edge_names(edges, range(1, len(panel.finished) + 1))


def by_hand_words(job: EdgeJob, line: EdgingLine) -> str:
    """Why edges do not go to the edging line; nothing where they do."""
    return "; ".join(dict.fromkeys(_beyond(found, line) for found in job.why))


def _beyond(found: Beyond, line: EdgingLine) -> str:
    match found.limit:
        case Limit.WIDTH:
            return tr(
                "{width} wide, the line takes {least} and more",
                width=show(found.value),
                least=show(line.least_width),
            )
        case Limit.LENGTH:
            return tr(
                "edge of {length}, the line takes {most}",
                length=show(found.value),
                most=show(line.greatest_length),
            )
        case Limit.HEIGHT:
            return tr(
                "{height} high, the line takes {most}",
                height=show(found.value),
                most=show(line.greatest_height),
            )
        case Limit.MITRE:
            return tr(
                "mitre of {angle} degrees, the line makes {most}",
                angle=f"{found.value / 1000:g}",
                most=f"{line.greatest_mitre / 1000:g}",
            )


def standing_lines(day: DayPlan) -> list[str]:
    """How the sheets stand in this order, and in the order of the plans."""
    now, filed = day.ordered.standing, day.filed
    ordered = day.ordered
    if now.most_open <= ordered.bound:
        bound = tr("no order of these sheets has fewer")
    elif ordered.proven:
        bound = tr("no order that makes nothing later has fewer; bound of all {bound}", bound=ordered.bound)
    else:
        bound = tr("bound {bound}", bound=max(ordered.bound, ordered.bound_in_time))
    return [
        tr(
            "Open orders, sheets to come: {most} at most ({bound}), {mean} on the average; late orders: {late}.",
            most=now.most_open,
            bound=bound,
            mean=one_decimal(now.mean_open),
            late=now.late,
        ),
        tr(
            "In the order of the plan: {most} at most, {mean} on the average; late orders: {late}.",
            most=filed.most_open,
            mean=one_decimal(filed.mean_open),
            late=filed.late,
        ),
    ]


def _maker_name(day: DayPlan, key: SheetKey) -> str:
    """A sheet of the plans by its key."""
    return next(sheet_name(day, one.sheet) for one in day.sheets if one.sheet.key == key)


def notes(day: DayPlan) -> list[str]:
    """What is to be known of the day besides its lists."""
    lines = []
    if day.on != day.asked:
        lines.append(
            tr(
                "{asked} is no working day; this is {day}.",
                asked=day.asked.isoformat(),
                day=day.on.isoformat(),
            )
        )
    if not day.limits.table.limited and day.limits.edging is None:
        lines.append(
            tr(
                "The shop file does not say what the table or the edging line does on a day: all sheets that are "
                "here are set down for the first one."
            )
        )
    for one in day.days:
        if len(one.sheets) == 1 and not day.limits.holds(one.sheets[0].sheet):
            lines.append(
                tr(
                    "Sheet {sheet} asks for more than a day has; it has {day} for itself.",
                    sheet=sheet_name(day, one.sheets[0].sheet),
                    day=one.day.isoformat(),
                )
            )
    for key, maker in ((one.sheet, one.sheet.after) for one in day.today):
        if maker is not None:
            lines.append(
                tr(
                    "Sheet {sheet} is cut from an offcut of sheet {maker}, and comes after it.",
                    sheet=sheet_name(day, key),
                    maker=_maker_name(day, maker),
                )
            )
    for waits in day.waiting:
        assert waits.waits_for is not None
        lines.append(
            tr(
                "Sheet {sheet} waits for an offcut of sheet {maker}, which none of these plans cuts: it stands at the "
                "end, and is not cut before that one.",
                sheet=sheet_name(day, waits),
                maker="{}.{}".format(*waits.waits_for),
            )
        )
    homeless = [order.name for order in day.orders if order.place is None]
    if homeless:
        lines.append(
            tr_count(
                "All places on the racks are taken when an order begins: {orders} has none.",
                "All places on the racks are taken when {count} orders begin: {orders} have none.",
                len(homeless),
                orders=names(homeless, most=6),
            )
        )
    to_buy: dict[date | None, list[str]] = {}
    for dated in day.sheets:
        if dated.sheet.layout.buy:
            to_buy.setdefault(dated.sheet.not_before, []).append(sheet_name(day, dated.sheet))
    for here, numbers in to_buy.items():
        template = (
            "Sheets that the plan buys: {numbers}; the shop file does not say how long they take to come."
            if here is None
            else "Sheets that the plan buys: {numbers}; ordered on {bought} (--bought) they are here on {here}."
        )
        lines.append(tr(template, numbers=", ".join(numbers), bought=day.bought.isoformat(), here=here))
    if day.unplaced:
        lines.append(
            tr_count(
                "{count} ordered panel is on no sheet; the plan says why.",
                "{count} ordered panels are on no sheet; the plan says why.",
                day.unplaced,
            )
        )
    return lines


def cautions(day: DayPlan, shop: Shop) -> list[str]:
    """What whoever pulls and cuts the sheets of the day has to mind."""
    lines = [tr("Minutes are modelled by the shop file, not measured.")]
    for plan in day.plans:
        mine = tuple(one.sheet.layout for one in day.today if one.sheet.plan is plan)
        lines += plan_cautions(replace(plan, layouts=mine), shop.lifts)
    return list(dict.fromkeys(lines))


def total_cells(total: DayTotal) -> list[str]:
    """A day to come as cells: day, sheets, minutes, edging, panels, most open orders, late orders."""
    return [
        total.day.isoformat(),
        str(len(total.sheets)),
        str(minutes(total.seconds)),
        metres(total.edging),
        str(total.panels),
        str(total.most_open),
        str(len(total.late)),
    ]
