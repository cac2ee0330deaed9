"""The waste report for programs: sums by time, glass, stock size, product and order; areas in m2, money whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from panewright.io.numbers_text import kilograms, money, ratio, square_metres
from panewright.io.store.offcut_flow import OffcutFlow
from panewright.io.waste_data import NO_DAY, WasteOver
from panewright.nesting.waste.groups import Spread, by_part, by_sheet, spread_of
from panewright.nesting.waste.sheets import SheetWaste
from panewright.nesting.waste.sums import WasteSums

SCHEMA: Final = "panewright.waste-report/1"
_NO_ORDER: Final = "-"
"""Stands for the spares and fillers of sheets without a panel of an order."""


def waste_json(found: WasteOver) -> dict[str, Any]:
    """All that the report tells."""
    days = found.days
    return {
        "schema": SCHEMA,
        "from": None if days is None else days.first.isoformat(),
        "to": None if days is None else days.last.isoformat(),
        "currency": found.currency,
        "recorded": _side(found, found.recorded),
        "planned": _side(found, found.planned),
        "before": None
        if found.earlier is None
        else {
            "planned": _sums(WasteSums.of(x.sums for x in found.earlier[0])),
            "recorded": _sums(WasteSums.of(x.sums for x in found.earlier[1])),
        },
        "offcuts": {glass: _flow(flow) for glass, flow in found.offcuts.items()},
        "rack": [
            {
                "glass": x.glass,
                "up_to_days": x.oldest,
                "offcuts": x.count,
                "area_m2": square_metres(x.area),
                "worth": money(x.worth),
                "lost_by_age": money(x.full - x.worth),
            }
            for x in found.rack
        ],
        "broken": [
            {"glass": glass, "at_step": step.value, "panels": count}
            for (glass, step), count in found.broken.items()
        ],
        "scrapped": [
            {"glass": x.glass, "sheets": x.count, "area_m2": square_metres(x.area), "cost": money(x.cost)}
            for x in found.scrapped
        ],
        "without_bound": [{"plan": plan, "glass": glass} for plan, glass in found.no_bound],
        "without_price": list(found.no_price),
        "notes": list(found.notes),
    }


def _side(found: WasteOver, sheets: Sequence[SheetWaste]) -> dict[str, Any]:
    def named(sums: Mapping[str, WasteSums]) -> dict[str, Any]:
        return {name or _NO_ORDER: _sums(sums[name]) for name in sorted(sums)}

    spans = by_sheet(sheets, lambda x: x.span)
    known = [] if found.days is None else list(enumerate(found.days.spans))
    products: dict[str, list[WasteSums]] = {}
    orders = by_part(sheets, lambda x, part: (part.order, part.product))
    for (order, product), sums in sorted(orders.items()):
        if order:
            products.setdefault(product, []).append(sums)
    return {
        "total": _sums(WasteSums.of(x.sums for x in sheets)),
        "by_time": [
            {
                "time": span.name,
                "from": span.first.isoformat(),
                "to": span.last.isoformat(),
                **_sums(spans.get(k, WasteSums())),
            }
            for k, span in known
        ],
        "without_day": _sums(spans[NO_DAY]) if NO_DAY in spans else None,
        "by_glass": named(by_sheet(sheets, lambda x: x.glass)),
        "by_stock": named(by_sheet(sheets, lambda x: f"{x.glass} offcut" if x.is_offcut else x.stock)),
        "by_product": named(by_part(sheets, lambda x, part: part.product)),
        "cost_a_m2": {product: _spread(spread_of(mine)) for product, mine in sorted(products.items())},
        "by_order": [
            {"order": order or _NO_ORDER, "product": product or _NO_ORDER, **_sums(orders[order, product])}
            for order, product in sorted(orders)
        ],
    }


def _sums(s: WasteSums) -> dict[str, Any]:
    a_metre = s.a_metre(s.net_cost)
    return {
        "sheets": s.sheets,
        "from_offcuts": s.from_offcuts,
        "panels": s.panels,
        "panels_broken": s.broken,
        "sheet_area_m2": square_metres(s.sheet),
        "cut_area_m2": square_metres(s.cut),
        "finished_area_m2": square_metres(s.finished),
        "spare_area_m2": square_metres(s.spare),
        "filler_area_m2": square_metres(s.filler),
        "broken_area_m2": square_metres(s.lost),
        "trim_area_m2": square_metres(s.trim),
        "cullet_area_m2": square_metres(s.cullet),
        "offcut_area_m2": square_metres(s.offcut),
        "thrown_offcut_area_m2": square_metres(s.thrown),
        "unavoidable_area_m2": square_metres(s.unavoidable),
        "over_bound_area_m2": square_metres(s.rest),
        "yield": ratio(s.gross_yield),
        "net_yield": ratio(s.net_yield),
        "finished_yield": ratio(s.finished_yield),
        "scrap_kg": kilograms(s.scrap_grams),
        "cost": money(s.cost),
        "cost_in_panels": money(s.in_panels),
        "cost_in_spares_and_fillers": money(s.in_extras),
        "cost_in_broken": money(s.in_broken),
        "cost_unavoidable": money(s.in_unavoidable),
        "cost_over_bound": money(s.in_rest),
        "offcuts_worth": money(s.worth),
        "net_cost": money(s.net_cost),
        "net_cost_a_m2": None if a_metre is None else money(a_metre),
    }


def _spread(spread: Spread | None) -> dict[str, Any] | None:
    if spread is None:
        return None
    return {
        "orders": spread.orders,
        "mean": money(spread.mean),
        "least": money(spread.least),
        "quarter": money(spread.quarter),
        "half": money(spread.middle),
        "three_quarters": money(spread.three_quarters),
        "most": money(spread.most),
    }


def _flow(flow: OffcutFlow) -> dict[str, Any]:
    return {
        "kept": flow.made,
        "kept_area_m2": square_metres(flow.made_area),
        "used": flow.used,
        "used_area_m2": square_metres(flow.used_area),
        "thrown": flow.thrown,
        "thrown_area_m2": square_metres(flow.thrown_area),
        "nothing_said": flow.unsaid,
    }
