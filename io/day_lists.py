"""The lists of a day as CSV, one a purpose: sheets, panels, orders, late, days, edges, openings."""

from __future__ import annotations

from dataclasses import dataclass

from panewright.io import day_words as words
from panewright.io.csv_text import csv_text
from panewright.io.drawings import panel_drawing_names
from panewright.io.numbers_text import Raw, decimal, kilograms, length
from panewright.io.opening_marks import opening_lines
from panewright.io.pocket_words import pocket_lines
from panewright.io.step_words import stock_words
from panewright.io.waste_files import metres
from panewright.nesting.day.day_plan import DatedSheet, DayPlan
from panewright.nesting.day.edging import EdgeJob, EdgeSetting, edge_jobs
from panewright.nesting.day.orders import DayOrder
from panewright.nesting.day.sheets import DaySheet
from panewright.nesting.day.tooling import Tool, ToolJob, tool_jobs
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr


class CadNames:
    """The CAD file of each panel, as `plan` and `draw` name it."""

    def __init__(self, day: DayPlan) -> None:
        self._names = {
            (plan.id, panel.id): f"{name}.dxf"
            for plan in day.plans
            for panel, name in zip(plan.panels, panel_drawing_names(plan), strict=True)
        }

    def of(self, sheet: DaySheet, panel: Panel) -> str:
        """Name of the file of a panel on a sheet."""
        return self._names[sheet.plan.id, panel.id]


@dataclass(frozen=True, slots=True)
class EdgingRow:
    """Edges of a panel of today, and the sheet that it comes from."""

    sheet: DatedSheet
    job: EdgeJob


@dataclass(frozen=True, slots=True)
class ToolRow:
    """What a tool does to a panel of today: in words, with the CAD file."""

    sheet: DatedSheet
    job: ToolJob
    cad_file: str
    lines: tuple[str, ...]


def arrivals(day: DayPlan) -> list[tuple[DatedSheet, int, Panel]]:
    """The panels of today with sheet and step, as they come from the table."""
    return [
        (one, step, panel)
        for one in day.today
        for panel, step in zip(one.sheet.panels, one.sheet.steps, strict=True)
    ]


def edging_today(day: DayPlan, shop: Shop) -> list[tuple[EdgeSetting, list[EdgingRow]]]:
    """The edges of today by machine and setting, in the order in which panels arrive."""
    found: dict[EdgeSetting, list[EdgingRow]] = {}
    for one, _, panel in arrivals(day):
        for job in edge_jobs(panel, shop.edging):
            found.setdefault(job.setting, []).append(EdgingRow(one, job))
    return sorted(found.items(), key=lambda item: item[0].place)


def tools_today(day: DayPlan, cad: CadNames) -> list[tuple[Tool, list[ToolRow]]]:
    """Holes, cut-outs and pockets of today by tool, in the order in which panels arrive."""
    found: dict[Tool, list[ToolRow]] = {tool: [] for tool in Tool}
    for one, _, panel in arrivals(day):
        for job in tool_jobs(panel):
            row = ToolRow(one, job, cad.of(one.sheet, panel), tuple(_tool_lines(one.sheet, job)))
            found[job.tool].append(row)
    return [(tool, rows) for tool, rows in found.items() if rows]


def _tool_lines(sheet: DaySheet, job: ToolJob) -> list[str]:
    panel = job.panel
    if job.tool is Tool.POCKET:
        return pocket_lines(panel, sheet.plan.rules[panel.glass].inner_radius)
    lines = opening_lines(panel.openings, panel.finished, None)
    return [lines[i] for i in job.which]


def day_lists(day: DayPlan, shop: Shop) -> dict[str, str]:
    """The lists as CSV text, by the last part of their file names."""
    return {
        "sheets": sheets_csv(day, shop),
        "panels": panels_csv(day),
        "orders": orders_csv(day),
        "late": late_csv(day),
        "days": days_csv(day),
        "edges": edges_csv(day, shop),
        "openings": openings_csv(day),
    }


def sheets_csv(day: DayPlan, shop: Shop) -> str:
    """All sheets to come, in cutting order."""
    header = [
        "day",
        "turn",
        "plan",
        "sheet",
        "glass",
        "stock",
        "source",
        "width mm",
        "height mm",
        "kg",
        "lift",
    ]
    header += ["minutes modelled", "edging m", "panels", "orders begun", "orders closed", "open orders"]
    rows: list[list[object]] = []
    turn: dict[object, int] = {}
    for one in day.sheets:
        sheet, layout = one.sheet, one.sheet.layout
        turn[one.day] = turn.get(one.day, 0) + 1
        rows.append(
            [
                one.day.isoformat(),
                turn[one.day],
                sheet.plan.id,
                layout.number,
                layout.glass,
                layout.stock,
                stock_words(layout),
                length(layout.width),
                length(layout.height),
                kilograms(sheet.grams),
                tr(words.lift_of(sheet, shop).value),
                modelled(sheet.load.seconds),
                metres(sheet.edging),
                len(sheet.panels),
                "; ".join(one.opened),
                "; ".join(one.closed),
                one.open_orders,
            ]
        )
    return csv_text(header, rows)


def modelled(seconds: int) -> Raw:
    """Seconds as minutes with one decimal, rounded up."""
    return decimal(-(-seconds // 6), 1)


def panels_csv(day: DayPlan) -> str:
    """The panels of today, as they come from the table."""
    late = {panel for one in day.late for panel in one.panels}
    header = [
        "day",
        "plan",
        "sheet",
        "step",
        "panel",
        "order",
        "purpose",
        "place",
        "due",
        "late",
        "glass",
        "kg",
    ]
    return csv_text(
        header,
        (
            [
                one.day.isoformat(),
                one.sheet.plan.id,
                one.sheet.layout.number,
                step,
                panel.id,
                panel.order,
                panel.purpose.value,
                words.place_of(day, panel) or "",
                panel.due.isoformat() if panel.due else "",
                "late" if panel.id in late else "",
                panel.glass,
                kilograms(panel.mass_grams),
            ]
            for one, step, panel in arrivals(day)
        ),
    )


def orders_csv(day: DayPlan) -> str:
    """All orders: where they wait, what is cut, what still comes."""
    header = ["order", "due", "place", "panels cut before", "panels today", "panels to come", "unplaced"]
    header += ["sheets cut before", "sheets today", "sheets to come", "last cut on", "late"]
    rows: list[list[object]] = []
    for order in day.orders:
        today = order.count(first=day.on, last=day.on)
        rows.append(
            [
                order.name,
                order.due.isoformat() if order.due else "",
                order.place or "",
                order.cut,
                today,
                order.count() - today,
                len(order.unplaced),
                *(_sheets(day, order, when) for when in ("before", "today", "later")),
                order.closes.isoformat() if order.closes else "",
                words.late_words(order.late) if order.late else "",
            ]
        )
    return csv_text(header, rows)


def _sheets(day: DayPlan, order: DayOrder, when: str) -> str:
    def is_then(part_day: object) -> bool:
        return when == ("before" if part_day is None else "today" if part_day == day.on else "later")

    return "; ".join(words.sheet_name(day, part.sheet) for part in order.parts if is_then(part.day))


def late_csv(day: DayPlan) -> str:
    """The late orders with the rule behind each."""
    header = ["order", "due", "cut on", "days late", "panels", "rule", "why"]
    return csv_text(
        header,
        (
            [
                late.order,
                late.due.isoformat(),
                late.day.isoformat(),
                (late.day - late.due).days,
                "; ".join(late.panels),
                late.by.value,
                words.late_words(late),
            ]
            for late in day.late
        ),
    )


def days_csv(day: DayPlan) -> str:
    """The days from this one on."""
    header = ["day", "sheets", "sheet numbers", "minutes modelled", "edging m", "panels", "kg"]
    header += ["most open orders", "late orders"]
    return csv_text(
        header,
        (
            [
                one.day.isoformat(),
                len(one.sheets),
                "; ".join(words.sheet_name(day, dated.sheet) for dated in one.sheets),
                modelled(one.seconds),
                metres(one.edging),
                one.panels,
                kilograms(one.grams),
                one.most_open,
                "; ".join(one.late),
            ]
            for one in day.days
        ),
    )


def edges_csv(day: DayPlan, shop: Shop) -> str:
    """The edges of today by machine and setting."""
    header = ["machine", "edgework", "glass thickness mm", "allowance mm", "mitre degrees", "small face"]
    header += [
        "number",
        "plan",
        "sheet",
        "panel",
        "order",
        "place",
        "edges",
        "edge count",
        "m",
        "why by hand",
    ]
    rows: list[list[object]] = []
    for setting, jobs in edging_today(day, shop):
        for number, row in enumerate(jobs, start=1):
            panel = row.job.panel
            rows.append(
                [
                    tr(setting.machine.value),
                    setting.work.value,
                    length(setting.thickness),
                    length(setting.allowance),
                    decimal(setting.mitre, 3) if setting.mitre else "",
                    setting.small_face or "",
                    number,
                    row.sheet.sheet.plan.id,
                    row.sheet.sheet.layout.number,
                    panel.id,
                    panel.order,
                    words.place_words(day, panel),
                    words.edges_words(panel, row.job.edges),
                    len(row.job.edges),
                    metres(row.job.length),
                    words.by_hand_words(row.job, shop.edging),
                ]
            )
    return csv_text(header, rows)


def openings_csv(day: DayPlan) -> str:
    """Holes, cut-outs and pockets of today by tool."""
    header = ["tool", "number", "plan", "sheet", "panel", "order", "place", "glass", "CAD file", "what"]
    rows: list[list[object]] = []
    for tool, found in tools_today(day, CadNames(day)):
        for number, row in enumerate(found, start=1):
            panel = row.job.panel
            rows.append(
                [
                    tr(tool.value),
                    number,
                    row.sheet.sheet.plan.id,
                    row.sheet.sheet.layout.number,
                    panel.id,
                    panel.order,
                    words.place_words(day, panel),
                    panel.glass,
                    row.cad_file,
                    "; ".join(row.lines),
                ]
            )
    return csv_text(header, rows)
