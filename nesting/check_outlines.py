"""Checks a panel's cut outline against its finished outline and the allowances of its edges."""

from __future__ import annotations

from collections.abc import Sequence

from . import check_geometry as g
from .panels import Panel
from .text import tr

ALLOWED = 1000
"""A cut outline's edges lie this near to their allowance. [nm]"""


def cut_outline_fault(panel: Panel) -> str | None:
    """What is wrong with the cut outline of a panel, or None.

    Notes
    -----
    Of a convex panel it is exactly the finished outline with every edge moved out by its allowance, save
    where tips are cut back: there one more edge runs past the finished corner at the stated reach, and takes
    that corner of the moved outline alone. Of any other panel it is convex, holds the finished outline
    with its allowances, and keeps to the stated tips.
    """
    finished, cut = panel.finished, panel.cut
    n, m = len(finished), len(cut)
    if not _convex(cut):
        return tr("the cut outline is not convex and counter-clockwise")
    if g.double_area(finished) <= 0:
        return tr("the finished outline is not counter-clockwise")
    if len(panel.edges) != n:
        return tr("the edges do not match the finished outline")
    corners = [tip.corner for tip in panel.tips]
    if len(set(corners)) < len(corners) or not all(0 <= i < n for i in corners):
        return tr("the tips do not match the finished outline")
    convex = _convex(finished)
    if convex and m != n + len(corners):
        return tr("the cut outline has other corners than the finished one")
    along: list[int] = []
    for i, edge in enumerate(panel.edges):
        a, b = finished[i], finished[(i + 1) % n]
        beyond, within = zip(*g.offsets_within(a, b, cut, edge.allowance, ALLOWED), strict=True)
        if convex:
            # exactly one edge of the cut outline lies along this one, and nothing beyond it
            on = [k for k in range(m) if beyond[k] and within[k]]
            here = [k for k in on if (k + 1) % m in on and _same_way(a, b, cut[k], cut[(k + 1) % m])]
            if not here or not all(within):
                return tr("edge {number} is not moved out by its allowance", number=i + 1)
            along.append(here[0])
        elif not any(beyond):
            return tr("the cut outline leaves no allowance at edge {number}", number=i + 1)
    for tip in panel.tips:
        if fault := _tip_fault(panel, tip.corner, tip.reach, along):
            return fault
    if convex and m == n:
        return None
    sides = (g.offsets_within(cut[k - 1], cut[k], finished, 0, ALLOWED) for k in range(m))
    if not all(inside for side in sides for _, inside in side):
        return tr("the cut outline does not hold the finished one")
    return None


def _tip_fault(panel: Panel, corner: int, reach: int, along: Sequence[int]) -> str | None:
    """What is wrong with a tip that is cut back.

    Parameters
    ----------
    panel
        The panel.
    corner, reach
        Of the tip. [nm]
    along
        For every edge of a convex finished outline the edge of the cut outline along it; else empty.
    """
    finished, cut = panel.finished, panel.cut
    n, m = len(finished), len(cut)
    if along:
        # between the two edges that meet there comes the cut of the tip, and nothing else
        edges = [(along[corner - 1] + 1) % m]
        if (edges[0] + 1) % m != along[corner]:
            return tr("the tip at corner {number} is not cut back", number=corner + 1)
    else:
        edges = list(range(m))
    for k in edges:
        a, b = cut[k], cut[(k + 1) % m]
        ((least, most),) = g.offsets_within(a, b, [finished[corner]], -reach, ALLOWED)
        apart = [inside for _, inside in g.offsets_within(a, b, finished, -reach, ALLOWED)]
        if (
            least
            and most
            and all(apart)
            and _leans(finished[corner - 1], finished[corner], finished[(corner + 1) % n], a, b)
        ):
            return None
    return tr("the tip at corner {number} is not cut back to its reach", number=corner + 1)


def _leans(before: g.Vertex, corner: g.Vertex, after: g.Vertex, a: g.Vertex, b: g.Vertex) -> bool:
    """Whether an edge a -> b turns from the edge that ends at a corner towards the one that begins there."""
    one, cut, two = ((q[0] - p[0], q[1] - p[1]) for p, q in ((before, corner), (a, b), (corner, after)))
    return one[0] * cut[1] - one[1] * cut[0] > 0 and cut[0] * two[1] - cut[1] * two[0] > 0


def _convex(shape: g.Shape) -> bool:
    """Whether every corner turns left, once round in all: a star does so twice."""
    n = len(shape)
    if not all(g.turn_of(shape[i - 2], shape[i - 1], shape[i]) > 0 for i in range(n)):
        return False
    # a side that runs down is followed by one that runs up (or level to the right) once a round
    rises = [(shape[i][1] - shape[i - 1][1], shape[i][0] - shape[i - 1][0]) > (0, 0) for i in range(n)]
    return sum(rises[i] and not rises[i - 1] for i in range(n)) == 1


def _same_way(a: g.Vertex, b: g.Vertex, p: g.Vertex, q: g.Vertex) -> bool:
    return (b[0] - a[0]) * (q[0] - p[0]) + (b[1] - a[1]) * (q[1] - p[1]) > 0
