"""Cut outlines: every edge of a finished outline moved out by the glass that its edgework removes.

Intersections of the moved lines are worked out with 45 digits and rounded once to the nanometre.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Context, Decimal
from math import isqrt
from typing import Final, NamedTuple

from .errors import InvalidOutline
from .outlines import Outline, Point, hull, is_convex
from .text import tr
from .units import show

EXACT: Final = Context(prec=45)


class Line(NamedTuple):
    """The straight line of all points p with ``normal . p = reach``; the normal may have any length."""

    x: Decimal
    y: Decimal
    reach: Decimal


def moved_line(a: Point, b: Point, distance: int) -> Line:
    """The line through a and b, moved to its right by a distance. [nm]"""
    nx, ny = b[1] - a[1], a[0] - b[0]
    far = EXACT.sqrt(Decimal(nx * nx + ny * ny))
    reach = EXACT.add(Decimal(nx * a[0] + ny * a[1]), EXACT.multiply(Decimal(distance), far))
    return Line(Decimal(nx), Decimal(ny), reach)


def meeting(s: Line, t: Line) -> Point:
    """Where two lines that are not parallel meet, rounded to the nanometre."""
    times, less = EXACT.multiply, EXACT.subtract
    det = less(times(s.x, t.y), times(t.x, s.y))
    x = EXACT.divide(less(times(s.reach, t.y), times(t.reach, s.y)), det)
    y = EXACT.divide(less(times(t.reach, s.x), times(s.reach, t.x)), det)
    return int(x.to_integral_value()), int(y.to_integral_value())


def offset(outline: Outline, allowances: Sequence[int], names: Sequence[int] = ()) -> Outline:
    """Move every edge of an outline outwards by its own allowance.

    Parameters
    ----------
    outline
        Counter-clockwise. [nm]
    allowances
        One an edge, edge i from corner i to corner i + 1; none negative. [nm]
    names
        Numbers of the corners for messages; empty: from 1.

    Returns
    -------
    Outline
        Corner i of the result belongs to corner i of the outline; rounded to the nanometre.

    Raises
    ------
    InvalidOutline
        When an edge would vanish between its neighbours.
    """
    n = len(outline)
    lines = [moved_line(a, outline[(i + 1) % n], allowances[i]) for i, a in enumerate(outline)]
    moved = [meeting(lines[i - 1], lines[i]) for i in range(n)]
    for i, a in enumerate(outline):
        j = (i + 1) % n
        b, p, q = outline[j], moved[i], moved[j]
        if (b[0] - a[0]) * (q[0] - p[0]) + (b[1] - a[1]) * (q[1] - p[1]) <= 0:
            numbers = names or range(1, n + 1)
            raise InvalidOutline(
                tr(
                    "the edge of {length} from corner {a} to corner {b} vanishes when the edges are moved out by their allowances",
                    length=show(isqrt((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2)),
                    a=numbers[i],
                    b=numbers[j],
                ),
                tr(
                    "lengthen the edge, leave it out, or give it and its neighbours the same or less edgework"
                ),
            )
    return tuple(moved)


def cut_outline(finished: Outline, allowances: Sequence[int], names: Sequence[int] = ()) -> Outline:
    """The outline that leaves the cutting table for a finished outline.

    Convex: each edge moved out by its allowance. Any other: the hull of the corners, moved out
    likewise, where an edge of the hull that bridges a pocket takes the pocket's largest allowance;
    what lies between hull and finished outline is left to saw, drill or water jet.

    Raises
    ------
    InvalidOutline
        See `offset`.
    """
    if moved := offset_rectangle(finished, allowances):
        return moved
    if is_convex(finished):
        return offset(finished, allowances, names)
    spans = hull_spans(finished)
    around = tuple(finished[i] for i, _ in spans)
    numbers = names or range(1, len(finished) + 1)
    return offset(around, bridged(allowances, spans), [numbers[i] for i, _ in spans])


def hull_spans(finished: Outline) -> list[tuple[int, int]]:
    """First and last corner of the outline on every edge of its hull, counter-clockwise."""
    around = hull(finished)
    at = {p: i for i, p in enumerate(finished)}
    return [(at[p], at[around[(k + 1) % len(around)]]) for k, p in enumerate(around)]


def bridged(allowances: Sequence[int], spans: Sequence[tuple[int, int]]) -> list[int]:
    """The allowance of every edge of a hull: the largest of the edges of the outline that it bridges. [nm]"""
    n = len(allowances)
    return [max(allowances[s % n] for s in range(i, j if j > i else j + n)) for i, j in spans]


def offset_rectangle(finished: Outline, allowances: Sequence[int]) -> Outline | None:
    """`offset` of a rectangle that begins at its lower left, in whole numbers alone; None for any other."""
    if len(finished) != 4:
        return None
    (x0, y0), (x1, ya), (xb, y1), (xc, yc) = finished
    if not (y0 == ya < y1 == yc and x0 == xc < x1 == xb):
        return None
    bottom, right, top, left = allowances
    x0, y0, x1, y1 = x0 - left, y0 - bottom, x1 + right, y1 + top
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)
