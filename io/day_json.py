"""A day for programs, as JSON: sheets, places, orders, lateness, edges, openings. Lengths in mm, times in s."""

from __future__ import annotations

from typing import Any, Final

from panewright.io import day_words as words
from panewright.io.day_lists import CadNames, edging_today, tools_today
from panewright.io.numbers_text import decimal, kilograms, length, ratio
from panewright.io.waste_files import metres
from panewright.nesting.day.day_plan import DatedSheet, DayPlan
from panewright.nesting.day.lateness import LateOrder
from panewright.nesting.day.orders import DayOrder
from panewright.nesting.day.sheets import DaySheet
from panewright.nesting.day.standing import Standing
from panewright.nesting.shop import Shop

SCHEMA: Final = "panewright.day/1"


def day_json(day: DayPlan, shop: Shop) -> dict[str, Any]:
    """Everything of a day; write it with `numbers_text.spread`."""
    return {
        "schema": SCHEMA,
        "day": day.on.isoformat(),
        "asked": day.asked.isoformat(),
        "plans": [plan.id for plan in day.plans],
        "done": [{"plan": plan, "sheet": number} for plan, number in (sheet.key for sheet in day.done)],
        "sheets": [_sheet(day, one, shop) for one in day.sheets],
        "orders": [_order(day, order) for order in day.orders],
        "late": [_late(late) for late in day.late],
        "days": [
            {
                "day": one.day.isoformat(),
                "sheets": [_key(dated) for dated in one.sheets],
                "seconds": one.seconds,
                "edging_m": metres(one.edging),
                "panels": one.panels,
                "mass_kg": kilograms(one.grams),
                "most_open": one.most_open,
                "late": list(one.late),
            }
            for one in day.days
        ],
        "standing": {
            **_standing(day.ordered.standing),
            "bound": day.ordered.bound,
            "bound_in_time": day.ordered.bound_in_time,
            "proven": day.ordered.proven,
            "as_filed": _standing(day.filed),
        },
        "limits": {
            "sheets_a_day": day.limits.table.sheets,
            "seconds_a_day": day.limits.table.seconds,
            "edging_m_a_day": None if day.limits.edging is None else metres(day.limits.edging),
        },
        "edges": _edges(day, shop),
        "openings": _openings(day),
        "notes": words.notes(day),
        "cautions": words.cautions(day, shop),
    }


def _key(one: DatedSheet) -> dict[str, Any]:
    return {"plan": one.sheet.plan.id, "sheet": one.sheet.layout.number}


def _sheet(day: DayPlan, one: DatedSheet, shop: Shop) -> dict[str, Any]:
    sheet, layout = one.sheet, one.sheet.layout
    return {
        **_key(one),
        "day": one.day.isoformat(),
        "glass": layout.glass,
        "stock": layout.stock,
        "is_offcut": layout.is_offcut,
        "source": "buy" if layout.buy else "rack",
        "after": _after(sheet),
        "behind": [f"{plan}.{number}" for plan, number in sheet.behind],
        "waits": sheet.waits_for is not None,
        "here_on": sheet.not_before.isoformat() if sheet.not_before else None,
        "size": [length(layout.width), length(layout.height)],
        "mass_kg": kilograms(sheet.grams),
        "lift": words.lift_of(sheet, shop).value,
        "seconds": sheet.load.seconds,
        "edging_m": metres(sheet.edging),
        "opened": list(one.opened),
        "closed": list(one.closed),
        "open_orders": one.open_orders,
        "offcuts": words.offcuts_of(sheet),
        "panels": [
            {
                "panel": panel.id,
                "order": panel.order,
                "purpose": panel.purpose.value,
                "step": step,
                "place": words.place_of(day, panel),
                "due": panel.due.isoformat() if panel.due else None,
            }
            for panel, step in zip(sheet.panels, sheet.steps, strict=True)
        ],
    }


def _after(sheet: DaySheet) -> str | None:
    """The sheet that comes before this one, as ``PLAN.SHEET``."""
    maker = sheet.after or sheet.waits_for
    return None if maker is None else f"{maker[0]}.{maker[1]}"


def _order(day: DayPlan, order: DayOrder) -> dict[str, Any]:
    return {
        "order": order.name,
        "due": order.due.isoformat() if order.due else None,
        "place": order.place,
        "open": order.is_open,
        "cut": order.cut,
        "today": order.count(first=day.on, last=day.on),
        "to_come": order.count(),
        "closes": order.closes.isoformat() if order.closes else None,
        "unplaced": list(order.unplaced),
        "parts": [
            {
                "plan": part.sheet.plan.id,
                "sheet": part.sheet.layout.number,
                "day": part.day.isoformat() if part.day else None,
                "panels": [panel.id for panel in part.panels],
            }
            for part in order.parts
        ],
    }


def _late(late: LateOrder) -> dict[str, Any]:
    return {
        "order": late.order,
        "due": late.due.isoformat(),
        "day": late.day.isoformat(),
        "panels": list(late.panels),
        "rule": late.by.value,
        "until": late.until.isoformat(),
        "why": words.late_words(late),
    }


def _standing(found: Standing) -> dict[str, Any]:
    return {
        "most_open": found.most_open,
        "mean_open": ratio(found.mean_open, 3),
        "late_orders": found.late,
        "days_late": found.delay,
    }


def _edges(day: DayPlan, shop: Shop) -> list[dict[str, Any]]:
    return [
        {
            "machine": setting.machine.value,
            "work": setting.work.value,
            "thickness": length(setting.thickness),
            "allowance": length(setting.allowance),
            "mitre": decimal(setting.mitre, 3),
            "small_face": setting.small_face,
            "m": metres(sum(row.job.length for row in rows)),
            "panels": [
                {
                    **_key(row.sheet),
                    "panel": row.job.panel.id,
                    "edges": list(row.job.edges),
                    "m": metres(row.job.length),
                    "why": [found.limit.value for found in row.job.why],
                }
                for row in rows
            ],
        }
        for setting, rows in edging_today(day, shop)
    ]


def _openings(day: DayPlan) -> list[dict[str, Any]]:
    return [
        {
            "tool": tool.value,
            "panels": [
                {
                    **_key(row.sheet),
                    "panel": row.job.panel.id,
                    "cad_file": row.cad_file,
                    "words": list(row.lines),
                }
                for row in rows
            ],
        }
        for tool, rows in tools_today(day, CadNames(day))
    ]
