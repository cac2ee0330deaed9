"""The rows of a committed plan: its sheets with their figures, its panels with the work they go through."""

from __future__ import annotations

import json
from typing import Any, Final

from sqlalchemy import Connection, insert

from panewright.io.store.schema import plan_panel, plan_sheet
from panewright.nesting.edgework import Work
from panewright.nesting.figures import Figures, sheet_figures, thickness_of
from panewright.nesting.ledger import SheetState
from panewright.nesting.outlines import box
from panewright.nesting.plan import Plan

AREAS: Final = (
    "sheet",
    "cut",
    "finished",
    "trim",
    "cullet",
    "offcut",
    "spare",
    "filler",
    "cost",
    "scrap_grams",
)
"""The figures of a sheet that the store keeps, as whole numbers (areas twice nm2)."""


HAS_GLASS: Final = (SheetState.RESERVED.value, SheetState.CUT.value)


def figures_text(figures: Figures) -> str:
    """The figures of a sheet as the store keeps them."""
    return json.dumps({name: getattr(figures, name) for name in AREAS})


def write_sheets(connection: Connection, plan: Plan, stays: dict[int, Any]) -> None:
    panels = {p.id: p for p in plan.panels}
    rows = []
    for x in plan.layouts:
        before = stays.get(x.number)
        has = before if before is not None and before.state in HAS_GLASS else None
        rows.append(
            {
                "plan": plan.id,
                "number": x.number,
                "state": SheetState.TO_BUY.value if has is None else has.state,
                "item": None if has is None else has.item,
                "glass": x.glass,
                "stock": x.stock,
                "is_offcut": x.is_offcut,
                "width": x.width,
                "height": x.height,
                "day": None if x.day is None else x.day.isoformat(),
                "cut_at": None if before is None else before.cut_at,
                "cut_by": "" if before is None else before.cut_by,
                "figures": figures_text(sheet_figures(x, panels, thickness_of(plan, x.glass))),
            }
        )
    if rows:
        connection.execute(insert(plan_sheet), rows)
    write_panels(connection, plan)


def write_panels(connection: Connection, plan: Plan) -> None:
    """The panels of a plan that the store has no rows of."""
    where = {leaf.panel: x.number for x in plan.layouts for leaf in x.leaves if leaf.panel is not None}
    beside = plan.extra.get("panels")
    said = beside if isinstance(beside, dict) else {}
    found = []
    for p in plan.panels:
        x0, y0, x1, y1 = box(p.finished)
        more = said.get(p.id)
        more = more if isinstance(more, dict) else {}
        found.append(
            {
                "plan": plan.id,
                "panel": p.id,
                "sheet": where.get(p.id),
                "order": p.order,
                "name": p.name,
                "purpose": p.purpose.value,
                "glass": p.glass,
                "due": None if p.due is None else p.due.isoformat(),
                "width": x1 - x0,
                "height": y1 - y0,
                "edged": any(e.work is not Work.CUT for e in p.edges),
                "drilled": bool(p.openings),
                "remakes": _word(more.get("remakes")),
                "given_to": _word(more.get("given_to")),
            }
        )
    if found:
        connection.execute(insert(plan_panel), found)


def _word(value: object) -> str | None:
    return value if isinstance(value, str) and value else None
