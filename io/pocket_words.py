"""Pockets of panels that turn inwards, for programs, for the cutting table and for drawings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from panewright.io.numbers_text import length, square_metres
from panewright.io.problems import shown
from panewright.nesting.outlines import Outline
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.pockets import Pocket, pockets, scored_edges
from panewright.nesting.shape_findings import edge_names, pocket_size
from panewright.nesting.text import tr
from panewright.nesting.units import LengthStyle, show


def pockets_json(finished: Outline, cut: Outline, radius: int, names: Sequence[int] = ()) -> dict[str, Any]:
    """Scored edges and pockets of a panel; nothing where it is convex.

    Parameters
    ----------
    finished, cut
        Its outlines. [nm]
    radius
        Least radius of inner corners. [nm]
    names
        Numbers of its corners as they were listed; empty: from 1.
    """
    found = pockets(finished, cut)
    if not found:
        return {}
    numbers = names or range(1, len(finished) + 1)
    return {
        "scored_edges": [_ends(i, numbers) for i in scored_edges(finished, cut)],
        "pockets": [
            {
                "corners": [numbers[k] for k in pocket.corners],
                "edges": [_ends(i, numbers) for i in pocket.edges],
                "size": [length(side) for side in pocket.size],
                "area_m2": square_metres(pocket.area2),
                "outline": [[length(x), length(y)] for x, y in pocket.outline],
                "inner_radius": length(radius),
                "angled_score": length(pocket.score) if pocket.score else None,
                "made_by": "saw, drill or water jet",
            }
            for pocket in found
        ],
    }


def _ends(edge: int, numbers: Sequence[int]) -> list[int]:
    return [numbers[edge], numbers[(edge + 1) % len(numbers)]]


def pocket_line(
    number: int, pocket: Pocket, corners: int, radius: int | None, style: LengthStyle | None = None
) -> str:
    """One line about a pocket of a panel with so many corners; `radius` as the shop states it. [nm]"""
    line = tr(
        "pocket P{number}: {size}, along corners {corners}",
        number=number,
        size=pocket_size(pocket, style),
        corners=edge_names(pocket.edges, range(1, corners + 1)),
    )
    if radius is not None:
        line = tr("{line}, inner radius at least {radius}", line=line, radius=show(radius, style))
    return line


def pocket_lines(panel: Panel, radius: int | None, style: LengthStyle | None = None) -> list[str]:
    """One line a pocket of a panel; none where it is convex."""
    found = pockets(panel.finished, panel.cut)
    return [
        pocket_line(number, pocket, len(panel.finished), radius, style)
        for number, pocket in enumerate(found, start=1)
    ]


def sheet_pockets(plan: Plan, layout: Layout) -> list[str]:
    """What saw, drill or water jet do to the panels of a sheet, after its last step."""
    panels = {panel.id: panel for panel in plan.panels}
    steps = {name: cut.step for cut in layout.cuts for name in cut.makes}
    radius = plan.rules[layout.glass].inner_radius
    lines = []
    for leaf in sorted(layout.leaves, key=lambda leaf: steps.get(leaf.piece, 0)):
        panel = panels.get(leaf.panel) if leaf.panel is not None else None
        for line in [] if panel is None else pocket_lines(panel, radius):
            step = steps.get(leaf.piece)
            where = leaf.panel or ""
            lines.append(
                tr("{panel}: {line}", panel=shown(where, 100), line=line)
                if step is None
                else tr("{panel} of step {step}: {line}", panel=shown(where, 100), step=step, line=line)
            )
    return lines
