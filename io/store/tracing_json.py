"""Traces for programs."""

from __future__ import annotations

from typing import Any

from panewright.io.numbers_text import length
from panewright.io.store.items import Item
from panewright.io.store.spread import Spread
from panewright.io.store.tracing import Origin, PanelTrace


def panel_json(trace: PanelTrace, case: str | None = None) -> dict[str, Any]:
    """A panel and where it came from; `case` of a flawed sheet, where the last origin is one."""
    return {
        "panel": trace.panel,
        "order": trace.order,
        "plan": trace.plan,
        "glass": trace.glass,
        "due": None if trace.due is None else trace.due.isoformat(),
        "origins": [origin_json(one) for one in trace.origins],
        "flawed_sheet_of_case": case,
        "broken": [
            {
                "at": event.at.isoformat(),
                "at_step": None if event.at_step is None else event.at_step.value,
                "who": event.who,
                "note": event.note,
            }
            for event in trace.broken
        ],
        "remakes": list(trace.remakes),
        "remade_as": list(trace.remade_as),
        "given_to": trace.given_to,
    }


def origin_json(origin: Origin) -> dict[str, Any]:
    """A sheet and what it was cut from."""
    return {
        "plan": origin.plan,
        "sheet": origin.number,
        "state": origin.state.value,
        "day": None if origin.day is None else origin.day.isoformat(),
        "cut_at": None if origin.cut_at is None else origin.cut_at.isoformat(),
        "cut_by": origin.cut_by,
        "stock": origin.stock,
        "from": None if origin.item is None else item_json(origin.item),
    }


def item_json(one: Item) -> dict[str, Any]:
    """A case or an offcut."""
    return {
        "name": one.name,
        "is_offcut": one.is_offcut,
        "glass": one.glass,
        "size": [length(one.width), length(one.height)],
        "supplier": one.supplier,
        "place": one.place,
        "since": one.since.isoformat(),
        "flaws": [[*map(length, f.box), *([f.kind] if f.kind else [])] for f in one.flaws],
        "made_by": None if one.made_by is None else f"{one.made_by[0]}.{one.made_by[1]}",
        "on_hand": one.balance.on_hand,
        "expected": one.balance.expected,
    }


def spread_json(spread: Spread) -> dict[str, Any]:
    """All that came from one thing."""
    return {
        "name": spread.name,
        "sheets": [origin_json(one) for one in spread.sheets],
        "items": [item_json(one) for one in spread.items],
        "panels": [
            {
                "panel": one.panel,
                "order": one.order,
                "plan": one.plan,
                "sheet": one.sheet,
                "cut": one.cut,
                "broken": one.broken,
                "given_to": one.given_to,
            }
            for one in spread.panels
        ],
    }
