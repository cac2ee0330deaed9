"""Panels whose blank in a plan is much larger than the least rectangle about them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .blanks import COSTLY, least_rectangle
from .outlines import Outline, box
from .panels import Panel
from .plan import CutKind, Layout, Plan


@dataclass(frozen=True, slots=True)
class CostlyBlank:
    """A panel alone in a blank that is much larger than the least rectangle about it.

    Parameters
    ----------
    panel
        What is cut.
    width, height
        Of the blank. [nm]
    least
        Both sides of the least rectangle as the panel may be turned, rounded. [nm]
    tenths
        How many times as large the blank is. [1/10]
    """

    panel: Panel
    width: int
    height: int
    least: tuple[int, int]
    tenths: int


def costly_blanks(plan: Plan, layouts: Iterable[Layout] | None = None) -> list[CostlyBlank]:
    """The panels that lie alone in a costly blank, in the order of the sheets.

    Such a blank is what the rules leave: beside the panel in a smaller one something would be too thin to
    break off, or no sheet holds it.
    """
    panels = {p.id: p for p in plan.panels}
    found = []
    for layout in plan.layouts if layouts is None else layouts:
        for shapes, held in _blanks(layout):
            panel = panels.get(held[0]) if len(held) == 1 else None
            if panel is None:
                continue
            x0, y0, x1, y1 = box([p for shape in shapes for p in shape])
            least, size = least_rectangle(panel.cut, panel.turn)
            ratio = (x1 - x0) * (y1 - y0) / least
            if ratio > COSTLY:
                found.append(CostlyBlank(panel, x1 - x0, y1 - y0, size, round(10 * ratio)))
    return found


def _blanks(layout: Layout) -> Iterable[tuple[list[Outline], list[str]]]:
    """What comes of each piece that shape cuts alone cut up: its leaves, and the panels on them."""
    made_by = {name: cut for cut in layout.cuts for name in cut.makes}
    blank_of: dict[str, str] = {}
    for cut in layout.cuts:
        if cut.kind is CutKind.SHAPE:
            before = made_by.get(cut.piece)
            inside = before is not None and before.kind is CutKind.SHAPE
            blank = blank_of.get(cut.piece, cut.piece) if inside else cut.piece
            blank_of |= dict.fromkeys(cut.makes, blank)
    found: dict[str, tuple[list[Outline], list[str]]] = {}
    for leaf in layout.leaves:
        if leaf.piece in blank_of:
            shapes, held = found.setdefault(blank_of[leaf.piece], ([], []))
            shapes.append(leaf.outline)
            if leaf.panel is not None:
                held.append(leaf.panel)
    return found.values()
