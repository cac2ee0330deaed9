"""The checker asked about one sheet: no sheet is offered that it would refuse."""

from __future__ import annotations

from collections.abc import Mapping

from ..check_leaves import check_leaves
from ..check_replay import replay
from ..check_spots import check_spots
from ..check_widths import check_widths
from ..panels import Panel
from ..plan import Layout
from ..shop import Shop
from ..spots import told_apart

Fault = tuple[str, str, int | None, str | None]
"""Rule, text, step and piece."""


def faults(layout: Layout, panels: Mapping[str, Panel], shop: Shop) -> list[Fault]:
    """Why a sheet cannot be cut as it is laid out, by the rules that the plan will state."""
    found: list[Fault] = []

    def report(rule: str, text: str, step: int | None, piece: str | None) -> None:
        found.append((rule, text, step, piece))

    (layout,) = told_apart([layout], panels.values())
    rules = shop.rules_as_set(layout.glass)
    done, known = replay(layout, rules, report), dict(panels)
    check_widths(layout, done, rules, report)
    check_spots(layout, done.hands, known, report)
    check_leaves(layout, done, rules, known, report)
    return found


def passes(layout: Layout, panels: Mapping[str, Panel], shop: Shop) -> bool:
    """Whether a sheet can be cut as it is laid out, by the rules that the plan will state."""
    return not faults(layout, panels, shop)
