"""Checks flaws that an order tolerates: every panel over one has it within a zone in which it may lie."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from . import check_geometry as g
from .check_replay import InHand, Report
from .flaws import NEVER_TOLERATED, Zone
from .panels import Panel
from .plan import Layout, Leaf
from .text import tr

POINT: Final = 2
"""A point or a scratch counts as this wide. [nm]"""
ANGLED: Final = 1000
"""An angled panel lies this near to where its leaf says. [nm]"""


def check_spots(layout: Layout, hands: dict[str, InHand], panels: dict[str, Panel], report: Report) -> None:
    """Hold every panel over a spot against what its order tolerates.

    Parameters
    ----------
    layout
        The sheet.
    hands
        Its pieces by name.
    panels
        Of the plan, by id.
    report
        Receives every violation.

    Notes
    -----
    The zones are those of the finished outline, laid on the sheet as the leaf is turned and mirrored. What the
    spot covers of it must lie, as a whole, within the depth of one edge: of any edge, or of one along the bottom or
    top of the outline as listed. Beyond the finished outline a spot is ground off.
    """
    known = {t.kind for panel in panels.values() for t in panel.tolerates}
    for spot in layout.spots:
        if spot.kind in NEVER_TOLERATED or spot.kind not in known:
            text = tr("no panel of the plan tolerates {kind}: it is a flaw", kind=tr(spot.kind or "other"))
            report("spot", text, None, None)
    for leaf in layout.leaves:
        panel, hand = panels.get(leaf.panel or ""), hands.get(leaf.piece)
        if panel is None or hand is None:
            continue
        for spot in layout.spots:
            x0, y0, x1, y1 = g.flaw_box(spot.box)
            square: g.Shape = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
            if g.double_area(_shared(square, hand.shape)) > 0 and not _tolerated(
                panel, leaf, hand, square, spot.kind
            ):
                text = tr("{panel} does not tolerate {kind} there", panel=panel.id, kind=tr(spot.kind))
                report("spot", text, None, leaf.piece)


def check_tolerances(panel: Panel) -> str | None:
    """What is wrong with what a panel tolerates, or None."""
    for one in panel.tolerates:
        if one.kind in NEVER_TOLERATED:
            return tr("nobody may tolerate {kind}", kind=tr(one.kind or "other"))
        if one.zone not in [z.value for z in Zone] or one.depth < 0:
            return tr("{zone} is no zone of a panel", zone=one.zone)
    return None


def _shared(shape: g.Shape, window: Sequence[g.Vertex]) -> g.Shape:
    """What a shape has in common with a convex window (Sutherland and Hodgman 1974)."""
    n = len(window)
    for i in range(n):
        if len(shape) < 3:
            return ()
        shape, _ = g.halves(shape, window[i], window[(i + 1) % n])
    return shape if len(shape) > 2 else ()


def _tolerated(panel: Panel, leaf: Leaf, hand: InHand, square: g.Shape, kind: str) -> bool:
    taken = [t for t in panel.tolerates if t.kind == kind and kind not in NEVER_TOLERATED]
    if any(t.zone == Zone.ANYWHERE.value for t in taken):
        return True
    there = g.extent(hand.shape)
    blank = g.extent(g.moved(panel.cut, leaf.turned, leaf.mirrored))
    dx, dy = there[0] - blank[0], there[1] - blank[1]

    def placed(points: Sequence[tuple[int, int]]) -> g.Shape:
        return tuple((x + dx, y + dy) for x, y in g.moved(points, leaf.turned, leaf.mirrored))

    outline = placed(panel.finished)
    covered = _shared(outline, square)
    if g.double_area(covered) <= 0:
        return True
    n = len(outline)
    convex = all(g.turn_of(outline[i - 2], outline[i - 1], outline[i]) >= 0 for i in range(n))
    slack = POINT if leaf.turned % (90 * 10**9) == 0 else ANGLED
    edges = [(p, panel.finished[(i + 1) % n]) for i, p in enumerate(panel.finished)]
    framed = [e for e in edges if _level(e, panel.finished)]
    for one in taken:
        for edge in framed if one.zone == Zone.FRAME.value else edges:
            a, b = placed(edge)
            if all(_near(a, b, p, one.depth, slack, beside=not convex) for p in covered):
                return True
    return False


def _level(edge: tuple[tuple[int, int], tuple[int, int]], outline: Sequence[tuple[int, int]]) -> bool:
    """Whether an edge runs along the bottom or the top of the outline."""
    _, low, _, high = g.extent(outline)
    return edge[0][1] == edge[1][1] and edge[0][1] in (low, high)


def _near(a: g.Vertex, b: g.Vertex, p: g.Vertex, depth: int, slack: int, *, beside: bool) -> bool:
    """Whether a point lies no deeper behind the line of an edge; with `beside` also beside the edge itself.

    The line of an edge at an inner corner runs on through the panel: there only what is beside it counts.
    """
    long2 = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    deep = g.turn_of(a, b, p)
    if deep > 0 and deep * deep > (depth + slack) ** 2 * long2:
        return False
    if not beside:
        return True
    if deep < 0 and deep * deep > slack * slack * long2:
        return False
    along = (p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])
    before = max(-along, along - long2, 0)
    return before * before <= slack * slack * long2
