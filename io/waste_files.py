"""Yield, waste and cost of a plan as files: one CSV a sheet, a glass and an order, and all as JSON."""

from __future__ import annotations

from typing import Any, Final

from panewright.io.csv_text import csv_text
from panewright.io.numbers_text import Raw, decimal, kilograms, length, money, ratio, spread, square_metres
from panewright.io.plan_file import figures_json
from panewright.nesting.figures import Figures, PlanFigures, figures_of
from panewright.nesting.plan import Plan

SCHEMA: Final = "panewright.waste/1"

_AREAS: Final = (
    "sheet area m2",
    "cut area m2",
    "finished area m2",
    "edgework loss m2",
    "trim area m2",
    "cullet area m2",
    "offcut area m2",
    "spare area m2",
    "filler area m2",
    "yield",
    "net yield",
    "finished yield",
    "scrap kg",
    "panels kg",
    "panels",
    "offcuts",
    "cuts",
    "score m",
)


def _areas(f: Figures) -> list[object]:
    return [
        square_metres(f.sheet),
        square_metres(f.cut),
        square_metres(f.finished),
        square_metres(f.edgework_loss),
        square_metres(f.trim),
        square_metres(f.cullet),
        square_metres(f.offcut),
        square_metres(f.spare),
        square_metres(f.filler),
        ratio(f.gross_yield),
        ratio(f.net_yield),
        ratio(f.finished_yield),
        kilograms(f.scrap_grams),
        kilograms(f.panel_grams),
        f.panels,
        f.offcuts,
        f.cuts,
        metres(f.score_nm),
    ]


def metres(nm: int) -> Raw:
    """A length [nm] in m, rounded to the millimetre."""
    return decimal((nm + 500_000) // 1_000_000, 3)


def _sheets(plan: Plan, figures: PlanFigures) -> str:
    header = ["sheet", "glass", "stock", "from", "width mm", "height mm", f"cost {plan.currency}", *_AREAS]
    return csv_text(
        header,
        (
            [
                layout.number,
                layout.glass,
                layout.stock,
                "offcut" if layout.is_offcut else "buy" if layout.buy else "rack",
                length(layout.width),
                length(layout.height),
                money(layout.cost),
                *_areas(figures.by_sheet[layout.number]),
            ]
            for layout in plan.layouts
        ),
    )


def _glasses(plan: Plan, figures: PlanFigures) -> str:
    cost = f"cost {plan.currency}"
    header = ["glass", "sheets", cost, f"bound {plan.currency}", "gap", "status", *_AREAS]
    rows: list[list[object]] = []
    for glass, found in figures.by_glass.items():
        outcome = plan.outcomes.get(glass)
        known = (
            [money(outcome.bound.cost), ratio(figures.gaps[glass]), _status(outcome.optimal)]
            if outcome
            else [None, None, None]
        )
        rows.append([glass, found.sheets, money(found.cost), *known, *_areas(found)])
    rows.append(
        ["total", figures.total.sheets, money(figures.total.cost), None, None, None, *_areas(figures.total)]
    )
    return csv_text(header, rows)


def _orders(plan: Plan, figures: PlanFigures) -> str:
    header = [
        "order",
        "panels",
        "cut area m2",
        "finished area m2",
        "share of waste m2",
        f"share of cost {plan.currency}",
    ]
    return csv_text(
        header,
        (
            [
                order,
                f.panels,
                square_metres(f.cut),
                square_metres(f.finished),
                square_metres(f.waste_share),
                money(f.cost_share),
            ]
            for order, f in figures.by_order.items()
        ),
    )


def _status(optimal: bool) -> str:
    return "optimal" if optimal else "feasible"


def _json(plan: Plan, figures: PlanFigures) -> str:
    data: dict[str, Any] = {
        "schema": SCHEMA,
        "plan": plan.id,
        "currency": plan.currency,
        **figures_json(plan, figures),
        "by_sheet": {
            str(layout.number): {
                "glass": layout.glass,
                "stock": layout.stock,
                "cost": money(layout.cost),
                "sheet_area_m2": square_metres(f.sheet),
                "cut_area_m2": square_metres(f.cut),
                "trim_area_m2": square_metres(f.trim),
                "cullet_area_m2": square_metres(f.cullet),
                "offcut_area_m2": square_metres(f.offcut),
                "yield": ratio(f.gross_yield),
                "scrap_kg": kilograms(f.scrap_grams),
                "cuts": f.cuts,
                "score_m": metres(f.score_nm),
            }
            for layout in plan.layouts
            for f in [figures.by_sheet[layout.number]]
        },
        "edgework_m": {work: metres(nm) for work, nm in sorted(figures.total.edgework_nm.items())},
    }
    return spread(data, 2) + "\n"


def waste_files(plan: Plan, figures: PlanFigures | None = None) -> dict[str, str]:
    """The waste figures of a plan, by file name.

    Parameters
    ----------
    plan
        The plan.
    figures
        Of this plan, where they are known.
    """
    figures = figures or figures_of(plan)
    return {
        f"waste-sheets-{plan.id}.csv": _sheets(plan, figures),
        f"waste-glass-{plan.id}.csv": _glasses(plan, figures),
        f"waste-orders-{plan.id}.csv": _orders(plan, figures),
        f"waste-{plan.id}.json": _json(plan, figures),
    }
