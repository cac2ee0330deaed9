"""Pockets: the glass between the cut outline of a panel and its inward corners, which no score can take out.

A score runs from edge to edge of the piece in hand, so an outline that turns inwards is scored along its
hull at most. What is left of the hull, and the strip of edgework beside it, is a pocket: for saw, drill
or water jet. All of it follows from the finished and the cut outline alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from .offsets import hull_spans
from .outlines import Outline, Point, area2, box, cross, is_convex, reentrant_corners
from .tips import distance

NEAR: Final = 2000
"""Corners of the cut outline are rounded: an edge counts as parallel within this at its ends. [nm]"""


@dataclass(frozen=True, slots=True)
class Pocket:
    """A polygon of glass that is left to saw, drill or water jet.

    Parameters
    ----------
    outline
        Counter-clockwise, in the frame of the panel; sharp at its inner corners. [nm]
    edges
        Indexes of the edges of the finished outline along it, in order.
    corners
        Indexes of the corners of the finished outline that turn inwards in it.
    score
        Length of the angled score that takes the corner of the blank off, up to the pocket; 0 where
        there is none. [nm]
    """

    outline: Outline
    edges: tuple[int, ...]
    corners: tuple[int, ...]
    score: int = 0

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of its box. [nm]"""
        x0, y0, x1, y1 = box(self.outline)
        return x1 - x0, y1 - y0

    @property
    def area2(self) -> int:
        """Twice its area. [nm2]"""
        return area2(self.outline)


def pockets(finished: Outline, cut: Outline) -> tuple[Pocket, ...]:
    """The pockets of a panel, in the order of its edges; none where it is convex.

    Parameters
    ----------
    finished
        Finished outline. [nm]
    cut
        Cut outline in the same frame: convex, and holds the finished one. [nm]

    Notes
    -----
    Corners are those of both outlines. Where a pocket ends in the middle of an edge of the cut outline, the
    point square to the finished corner is rounded to the nanometre.
    """
    if is_convex(finished):
        return ()
    spans = hull_spans(finished)
    sides = [_side_along(finished[i], finished[j], cut) for i, j in spans]
    if all(side is None for side in sides):
        return tuple(_closed(finished, i, j, (), 0) for i, j in spans if _is_bridge(finished, i, j))
    out = []
    for k, (i, j) in enumerate(spans):
        at = sides[k]
        if at is not None:
            open_ends = (sides[k - 1] is None, sides[(k + 1) % len(spans)] is None)
            out += _along(finished, i, j, cut, at, open_ends)
        elif sides[k - 1] is not None:
            # bridges that are not scored: the pocket reaches out to the corner of the cut outline
            last, after = j, k + 1
            while sides[after % len(spans)] is None:
                last, after = spans[after % len(spans)][1], after + 1
            out += _to_corners(finished, i, last, cut, sides[k - 1] or 0, sides[after % len(spans)] or 0)
    return tuple(sorted((pocket for pocket in out if pocket.area2), key=lambda pocket: pocket.edges))


def scored_edges(finished: Outline, cut: Outline) -> tuple[int, ...]:
    """Indexes of the edges of the finished outline that scores make."""
    sawn = {i for pocket in pockets(finished, cut) for i in pocket.edges}
    return tuple(i for i in range(len(finished)) if i not in sawn)


def _is_bridge(finished: Outline, i: int, j: int) -> bool:
    return (j - i) % len(finished) != 1


def _side_along(a: Point, b: Point, cut: Outline) -> int | None:
    """The edge of the cut outline that runs along an edge of the hull; None where there is none."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long2 = dx * dx + dy * dy
    n = len(cut)
    for k, p in enumerate(cut):
        q = cut[(k + 1) % n]
        ex, ey = q[0] - p[0], q[1] - p[1]
        if dx * ex + dy * ey <= 0:
            continue
        # the ends lie equally far from the line a -> b; a short edge may lean by the rounding of its ends
        lean = dx * ey - dy * ex
        if lean * lean <= NEAR * NEAR * long2:
            return k
    return None


def _chain(finished: Outline, i: int, j: int) -> list[int]:
    """The corners from i on to j."""
    n = len(finished)
    return [(i + s) % n for s in range((j - i) % n + 1)]


def _closed(finished: Outline, i: int, j: int, outer: Sequence[Point], score: int) -> Pocket:
    """The pocket between the finished outline from corner i to j and the outer points from i to j."""
    chain = _chain(finished, i, j)
    points = [*outer, *(finished[k] for k in reversed(chain))]
    inwards = set(reentrant_corners(finished))
    return Pocket(
        tuple(p for k, p in enumerate(points) if p != points[k - 1]),
        tuple(chain[:-1]),
        tuple(k for k in chain[1:-1] if k in inwards),
        score,
    )


def _along(
    finished: Outline, i: int, j: int, cut: Outline, side: int, open_ends: tuple[bool, bool]
) -> list[Pocket]:
    """The pockets that an edge of the cut outline bridges: one between every two corners on the hull.

    Where an end is open, the edge runs on beyond the hull: there another pocket begins.
    """
    a, b = finished[i], finished[j]
    begin, end = cut[side], cut[(side + 1) % len(cut)]
    chain = _chain(finished, i, j)
    on = [k for k in chain if cross(a, b, finished[k]) == 0]
    out = []
    for first, last in pairwise(on):
        if not _is_bridge(finished, first, last):
            continue
        start = begin if first == i and not open_ends[0] else _foot(finished[first], begin, end)
        stop = end if last == j and not open_ends[1] else _foot(finished[last], begin, end)
        slanted = begin[0] != end[0] and begin[1] != end[1]
        score = distance(begin, end) if slanted and len(on) == 2 else 0
        out.append(_closed(finished, first, last, (start, stop), score))
    return out


def _to_corners(finished: Outline, i: int, j: int, cut: Outline, before: int, after: int) -> list[Pocket]:
    """The pockets that reach out to corners of the cut outline, from its edge before them to the one after.

    Where corners of the panel bear an edge between, one pocket ends and the next begins.
    """
    n = len(cut)
    corners = [cut[(before + 1 + s) % n] for s in range((after - before - 1) % n + 1)]
    chain = _chain(finished, i, j)
    marks = [(i, _foot(finished[i], cut[before], corners[0]))]
    for p, q in pairwise(corners):
        first = chain.index(marks[-1][0])
        # the corner farthest to the right of the edge p -> q, the first of equals
        bearing = min(chain[first:], key=lambda k: (cross(p, q, finished[k]), chain.index(k)))
        marks.append((bearing, _foot(finished[bearing], p, q)))
    marks.append((j, _foot(finished[j], corners[-1], cut[(after + 1) % n])))
    return [
        _closed(finished, a, b, (start, corner, stop), 0)
        for ((a, start), (b, stop)), corner in zip(pairwise(marks), corners, strict=True)
        if a != b
    ]


def _foot(p: Point, a: Point, b: Point) -> Point:
    """The point of the line a -> b that is nearest to p, rounded to the nanometre."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long2 = dx * dx + dy * dy
    along = dx * (p[0] - a[0]) + dy * (p[1] - a[1])

    def rounded(value: int) -> int:
        return (2 * value + long2) // (2 * long2)

    return a[0] + rounded(dx * along), a[1] + rounded(dy * along)
