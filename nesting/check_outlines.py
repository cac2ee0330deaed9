"""Checks a panel's cut outline against its finished outline and the allowances of its edges."""

from __future__ import annotations

from . import check_geometry as g
from .panels import Panel
from .text import tr

ALLOWED = 1000
"""A cut outline's edges lie this near to their allowance. [nm]"""


def cut_outline_fault(panel: Panel, *, tips: bool = False) -> str | None:
    """What is wrong with the cut outline of a panel, or None.

    Parameters
    ----------
    panel
        Finished outline, cut outline and edges.
    tips
        Whether sharp corners may be cut back: the cut outline then has corners more, but still holds the
        finished one.
    """
    finished, cut = panel.finished, panel.cut
    n, m = len(finished), len(cut)
    if not _convex(cut):
        return tr("the cut outline is not convex and counter-clockwise")
    if g.double_area(finished) <= 0:
        return tr("the finished outline is not counter-clockwise")
    if len(panel.edges) != n:
        return tr("the edges do not match the finished outline")
    convex = _convex(finished)
    if convex and m != n and not (tips and m > n):
        return tr("the cut outline has other corners than the finished one")
    for i, edge in enumerate(panel.edges):
        a, b = finished[i], finished[(i + 1) % n]
        beyond, within = zip(*g.offsets_within(a, b, cut, edge.allowance, ALLOWED), strict=True)
        if convex:
            # exactly one edge of the cut outline lies along this one, and nothing beyond it
            on = [k for k in range(m) if beyond[k] and within[k]]
            along = [k for k in on if (k + 1) % m in on and _same_way(a, b, cut[k], cut[(k + 1) % m])]
            if not along or not all(within):
                return tr("edge {number} is not moved out by its allowance", number=i + 1)
        elif not any(beyond):
            return tr("the cut outline leaves no allowance at edge {number}", number=i + 1)
    if convex and m == n:
        return None
    sides = (g.offsets_within(cut[k - 1], cut[k], finished, 0, ALLOWED) for k in range(m))
    if not all(inside for side in sides for _, inside in side):
        return tr("the cut outline does not hold the finished one")
    return None


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
