"""The plan file, version 1 (`plan.json`): written here, read by `plan_reader`.

Lengths are millimetres with up to six decimals, which is whole nanometres; x runs right and y up from
the lower left corner of the sheet. One line holds one panel, cut or leaf, so that two plans compare
well line by line. The same plan always gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from panewright.io.numbers_text import (
    Raw,
    compact,
    decimal,
    kilograms,
    length,
    money,
    ratio,
    spread,
    square_metres,
)
from panewright.io.plan_reader import loads
from panewright.io.plan_values import PlanFileError
from panewright.nesting.edgework import Edge
from panewright.nesting.figures import Figures, PlanFigures, figures_of
from panewright.nesting.openings import Hole, Opening
from panewright.nesting.outlines import Outline
from panewright.nesting.panels import Panel
from panewright.nesting.plan import SCHEMA, Cut, Layout, Leaf, LeafKind, Plan
from panewright.nesting.rules import Rules

__all__ = ["PlanFileError", "dumps", "loads", "figures_json"]


def _point(p: tuple[int, int]) -> list[Raw]:
    return [length(p[0]), length(p[1])]


def _outline(outline: Outline) -> list[list[Raw]]:
    return [_point(p) for p in outline]


def _with(known: dict[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    """The keys of an entry, then those that a reader kept; objects within likewise."""
    out = dict(known)
    for key, value in more.items():
        if key not in out:
            out[key] = value
        elif isinstance(out[key], dict) and isinstance(value, Mapping):
            out[key] = _with(out[key], value)
    return out


def _rules(rules: Rules) -> dict[str, Any]:
    least, most = rules.level1_gap
    out: dict[str, Any] = {
        "break_out": length(rules.break_out),
        "levels": rules.levels,
        "last_cut": rules.last_cut,
        "longest_cut": None if rules.longest_cut is None else length(rules.longest_cut),
        "largest_piece": None if rules.largest_piece is None else [length(v) for v in rules.largest_piece],
        "level1_gap": [length(least), None if most is None else length(most)],
        "least_offcut": [length(v) for v in rules.least_offcut],
        "corner_depth": length(rules.corner_depth),
        "least_angle": decimal(rules.least_angle, 3),
        "longest_angled_cut": None if rules.longest_angled_cut is None else length(rules.longest_angled_cut),
        "mark_step": None if rules.mark_step is None else length(rules.mark_step),
    }
    if rules.inner_radius is not None:
        out["inner_radius"] = length(rules.inner_radius)
    if rules.level1_width != (0, None):
        least, most = rules.level1_width
        out["level1_width"] = [length(least), None if most is None else length(most)]
    if rules.level2_width:
        out["level2_width"] = length(rules.level2_width)
    if rules.least_waste:
        out["least_waste"] = length(rules.least_waste)
    if rules.deepest_once:
        out["deepest_once"] = True
    return out


def _panel(panel: Panel, beside: Mapping[str, Any]) -> dict[str, Any]:
    out: dict[str, Any] = {
        "id": panel.id,
        "order": panel.order,
        "name": panel.name,
        "due": panel.due.isoformat() if panel.due else None,
        "purpose": panel.purpose.value,
        "glass": panel.glass,
        "thickness": length(panel.thickness),
        "mass_kg": kilograms(panel.mass_grams),
        "finished": _outline(panel.finished),
        "cut": _outline(panel.cut),
        "edges": [
            _with(_edge(e), beside.get("edges", {}).get(str(i), {})) for i, e in enumerate(panel.edges)
        ],
        "openings": [
            _with(_opening(o), beside.get("openings", {}).get(str(i), {}))
            for i, o in enumerate(panel.openings)
        ],
        "narrow": panel.narrow,
        "turn": panel.turn.value,
        "mirror": panel.mirror,
    }
    if panel.tips:
        out["tips"] = [
            _with({"corner": tip.corner, "reach": length(tip.reach)}, beside.get("tips", {}).get(str(i), {}))
            for i, tip in enumerate(panel.tips)
        ]
    if panel.from_stock is not None:
        out["from_stock"] = panel.from_stock
    if panel.note:
        out["note"] = panel.note
    if panel.booked is not None:
        out["booked"] = panel.booked.isoformat()
    if panel.product:
        out["product"] = panel.product
    if panel.rack:
        out |= {"rack": panel.rack, "slot": panel.slot}
    if panel.tolerates:
        out["tolerates"] = [[t.kind, t.zone, length(t.depth)] for t in panel.tolerates]
    return _with(out, beside)


def _opening(opening: Opening) -> dict[str, Any]:
    if isinstance(opening, Hole):
        return {"kind": "hole", "center": _point(opening.center), "diameter": length(opening.diameter)}
    return {
        "kind": "cut_out",
        "outline": _outline(opening.outline),
        "corner_radius": length(opening.corner_radius),
    }


def _edge(edge: Edge) -> dict[str, Any]:
    return {
        "work": edge.work.value,
        "allowance": length(edge.allowance),
        "mitre": decimal(edge.mitre, 3),
        "small_face": edge.small_face,
    }


def _cut(cut: Cut) -> dict[str, Any]:
    out = {
        "step": cut.step,
        "piece": cut.piece,
        "from": _point(cut.start),
        "to": _point(cut.end),
        "makes": list(cut.makes),
        "kind": cut.kind.value,
        "level": cut.level,
    }
    if cut.placement is not None:
        out["placement"] = cut.placement
    return out


def _leaf(leaf: Leaf) -> dict[str, Any]:
    out: dict[str, Any] = {"piece": leaf.piece, "outline": _outline(leaf.outline), "is": leaf.kind.value}
    if leaf.kind is LeafKind.PANEL:
        out |= {"panel": leaf.panel, "turned": decimal(leaf.turned, 9), "mirrored": leaf.mirrored}
    if leaf.kind is LeafKind.OFFCUT:
        out |= {"offcut": leaf.offcut, "raw": [s.value for s in leaf.raw]}
    return out


def _layout(layout: Layout, beside: Mapping[str, Any]) -> dict[str, Any]:
    trim = layout.trim
    out: dict[str, Any] = {
        "number": layout.number,
        "day": layout.day.isoformat() if layout.day else None,
        "glass": layout.glass,
        "stock": layout.stock,
        "is_offcut": layout.is_offcut,
        "source": "buy" if layout.buy else "rack",
        "cost": money(layout.cost),
        "width": length(layout.width),
        "height": length(layout.height),
        "raw": [s.value for s in layout.raw],
        "trim": {
            "left": length(trim.left),
            "right": length(trim.right),
            "bottom": length(trim.bottom),
            "top": length(trim.top),
        },
        "flaws": [[length(v) for v in flaw] for flaw in layout.flaws],
        "cuts": [_with(_cut(c), beside.get("cuts", {}).get(c.piece, {})) for c in layout.cuts],
        "leaves": [_with(_leaf(x), beside.get("leaves", {}).get(x.piece, {})) for x in layout.leaves],
    }
    if layout.habit is not None:
        out["habit"] = layout.habit
    if layout.take is not None:
        out["take"] = layout.take
    if layout.flaw_kinds:
        out["flaw_kinds"] = list(layout.flaw_kinds)
    if layout.spots:
        out["spots"] = [[*(length(v) for v in spot.box), spot.kind] for spot in layout.spots]
    return _with(out, beside)


def _figures(f: Figures) -> dict[str, Any]:
    return {
        "sheets": f.sheets,
        "sheet_area_m2": square_metres(f.sheet),
        "cut_area_m2": square_metres(f.cut),
        "finished_area_m2": square_metres(f.finished),
        "trim_area_m2": square_metres(f.trim),
        "spare_area_m2": square_metres(f.spare),
        "filler_area_m2": square_metres(f.filler),
        "offcut_area_m2": square_metres(f.offcut),
        "cullet_area_m2": square_metres(f.cullet),
        "yield": ratio(f.gross_yield),
        "net_yield": ratio(f.net_yield),
        "finished_yield": ratio(f.finished_yield),
        "scrap_kg": kilograms(f.scrap_grams),
        "cost": money(f.cost),
    }


def figures_json(plan: Plan, figures: PlanFigures) -> dict[str, Any]:
    """The figures block of the plan file."""
    by_glass = {}
    for glass, found in figures.by_glass.items():
        by_glass[glass] = _figures(found)
        outcome = plan.outcomes.get(glass)
        if outcome is not None:
            by_glass[glass] |= {
                "lower_bound": {
                    "cost": money(outcome.bound.cost),
                    "sheets": outcome.bound.sheets,
                    "by": outcome.bound.by,
                    "class": outcome.bound.valid_for,
                },
                "gap": ratio(figures.gaps[glass]),
                "status": "optimal" if outcome.optimal else "feasible",
                "stopped_by": outcome.stopped_by,
            }
    return {
        "total": _figures(figures.total),
        "by_glass": by_glass,
        "by_order": {
            order: {
                "cut_area_m2": square_metres(f.cut),
                "finished_area_m2": square_metres(f.finished),
                "waste_share_m2": square_metres(f.waste_share),
                "cost_share": money(f.cost_share),
            }
            for order, f in figures.by_order.items()
        },
    }


def _beside(plan: Plan, part: str) -> Mapping[str, Mapping[str, Any]]:
    """The unknown keys of a part of the plan that a reader kept."""
    kept = plan.extra.get(part)
    return kept if isinstance(kept, Mapping) else {}


def dumps(plan: Plan) -> str:
    """The text of the plan file, ending in a line end.

    Whatever `Plan.extra` holds is written as well (see `loads`).
    """
    panels, sheets, unplaced = (_beside(plan, part) for part in ("panels", "sheets", "unplaced"))
    data: dict[str, Any] = {
        "schema": SCHEMA,
        "plan": plan.id,
        "program": plan.program,
        "seed": plan.seed,
        "effort": plan.effort,
        "habit": plan.habit,
        "length_unit": plan.length_unit,
        "currency": plan.currency,
        "rules": _with({glass: _rules(r) for glass, r in plan.rules.items()}, _beside(plan, "rules")),
        "panels": [_panel(p, panels.get(p.id, {})) for p in plan.panels],
        "sheets": [_layout(x, sheets.get(str(x.number), {})) for x in plan.layouts],
        "unplaced": [
            _with({"panel": u.panel, "rule": u.rule, "reason": u.reason}, unplaced.get(u.panel, {}))
            for u in plan.unplaced
        ],
        "figures": _with(figures_json(plan, figures_of(plan)), _beside(plan, "figures")),
    }
    data |= {key: value for key, value in plan.extra.items() if key not in data}
    parts = []
    for key, value in data.items():
        depth = {"sheets": 3, "figures": 2}.get(key, 1)
        parts.append(f" {compact(key)}: {spread(value, depth, ' ')}")
    return "{\n" + ",\n".join(parts) + "\n}\n"
