"""Exact geometry of openings: what lies in an outline, and how much glass is left between.

Distances are rounded down to the nanometre, so that comparing one with a whole number is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import isqrt

from .outlines import Outline, Point, cross, sides

Exact = tuple[int | Fraction, int | Fraction]


def on_segment(p: Exact, a: Point, b: Point) -> bool:
    """Whether a point lies on the straight line from a to b, its ends included."""
    return (
        (b[0] - a[0]) * (p[1] - a[1]) == (b[1] - a[1]) * (p[0] - a[0])
        and min(a[0], b[0]) <= p[0] <= max(a[0], b[0])
        and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])
    )


def on_border(p: Point, outline: Outline) -> bool:
    """Whether a point lies on the border of an outline."""
    return any(on_segment(p, a, b) for a, b in sides(outline))


def inside(p: Point, outline: Outline) -> bool:
    """Whether a point lies in an outline, off its border."""
    return not on_border(p, outline) and _winds_round((Fraction(p[0]), Fraction(p[1])), outline)


def _winds_round(p: tuple[Fraction, Fraction], outline: Outline) -> bool:
    """Whether a ray to the right from a point off the border crosses it an odd number of times."""
    odd = False
    for (ax, ay), (bx, by) in sides(outline):
        if (ay > p[1]) != (by > p[1]):
            odd ^= p[0] < ax + (p[1] - ay) * (bx - ax) / (by - ay)
    return odd


def _square(p: Point, a: Point, b: Point) -> Fraction:
    """Square of the distance of a point from the straight line from a to b. [nm2]"""
    dx, dy, px, py = b[0] - a[0], b[1] - a[1], p[0] - a[0], p[1] - a[1]
    along, long2 = px * dx + py * dy, dx * dx + dy * dy
    if along <= 0 or not long2:
        return Fraction(px * px + py * py)
    if along >= long2:
        return Fraction((p[0] - b[0]) ** 2 + (p[1] - b[1]) ** 2)
    return Fraction((px * dy - py * dx) ** 2, long2)


def _root_less_half(square: Fraction, diameter: int) -> int:
    """The root of a square less half a diameter, rounded down. [nm]"""
    # floor(sqrt(s) - d/2) = floor((sqrt(4 s) - d) / 2), and floor(sqrt(4 s)) serves as well
    return (isqrt(int(4 * square)) - diameter) // 2


def edge_distance(p: Point, a: Point, b: Point, diameter: int = 0) -> int:
    """Distance of a point from an edge, less half a diameter, rounded down. [nm]"""
    return _root_less_half(_square(p, a, b), diameter)


def nearest(p: Point, outline: Sequence[Point], diameter: int = 0) -> int:
    """Distance of a point from an outline, less half a diameter, rounded down; 0 or less within it. [nm]"""
    pts = tuple(outline)
    least = min(_root_less_half(_square(p, a, b), diameter) for a, b in sides(pts))
    return min(least, 0) if len(pts) > 2 and inside(p, pts) else least


def side_gap(a: tuple[Point, Point], b: tuple[Point, Point]) -> int:
    """Distance between two straight lines, rounded down. [nm]"""
    (p, q), (r, s) = a, b
    s1, s2, s3, s4 = cross(p, q, r), cross(p, q, s), cross(r, s, p), cross(r, s, q)
    if s1 and s2 and s3 and s4 and (s1 > 0) != (s2 > 0) and (s3 > 0) != (s4 > 0):
        return 0
    square = min(_square(r, p, q), _square(s, p, q), _square(p, r, s), _square(q, r, s))
    return isqrt(int(square))


def gap(a: Outline, b: Outline) -> int:
    """Distance between two outlines, rounded down; 0 where they touch or overlap. [nm]"""
    if inside(a[0], b) or inside(b[0], a):
        return 0
    return min(side_gap(s, t) for s in sides(a) for t in sides(b))


def disc_in(outline: Outline, center: Point, diameter: int) -> bool:
    """Whether a disc lies in an outline and leaves glass all round."""
    return inside(center, outline) and all(
        4 * _square(center, a, b) > diameter * diameter for a, b in sides(outline)
    )


def _parts(outline: Outline, panel: Outline) -> list[bool]:
    """Whether each stretch of an outline, between the points where the panel's border meets it, lies on that.

    Empty where a stretch lies outside the panel.
    """
    out = []
    for a, b in sides(outline):
        dx, dy = b[0] - a[0], b[1] - a[1]
        stops = {Fraction(0), Fraction(1)}
        for c, d in sides(panel):
            ex, ey = d[0] - c[0], d[1] - c[1]
            det = dx * ey - dy * ex
            if det:
                t = Fraction((c[0] - a[0]) * ey - (c[1] - a[1]) * ex, det)
                u = Fraction((c[0] - a[0]) * dy - (c[1] - a[1]) * dx, det)
                if 0 <= t <= 1 and 0 <= u <= 1:
                    stops.add(t)
            elif cross(a, b, c) == 0:
                long2 = dx * dx + dy * dy
                for p in (c, d):
                    t = Fraction((p[0] - a[0]) * dx + (p[1] - a[1]) * dy, long2)
                    if 0 <= t <= 1:
                        stops.add(t)
        marks = sorted(stops)
        for low, high in pairwise(marks):
            t = (low + high) / 2
            middle = (a[0] + t * dx, a[1] + t * dy)
            along = any(on_segment(middle, c, d) for c, d in sides(panel))
            if not along and not _winds_round(middle, panel):
                return []
            out.append(along)
    return out


def in_outline(panel: Outline, outline: Outline) -> bool:
    """Whether an outline lies in a panel; it may touch the panel's border or run along it."""
    return bool(_parts(outline, panel))


@dataclass(frozen=True, slots=True)
class Mouths:
    """Where a cut-out meets the border of its panel: separate stretches of it, and single points."""

    stretches: int
    points: int


def mouths(panel: Outline, outline: Outline) -> Mouths | None:
    """Where an outline within a panel meets the panel's border; None where all of it does."""
    along = _parts(outline, panel)
    if all(along):
        return None
    starts = sum(now and not before for before, now in zip((along[-1], *along), along, strict=False))
    return Mouths(starts, _points(panel, outline))


def _points(panel: Outline, outline: Outline) -> int:
    """Single points in which the two borders meet."""
    corners = {p for p in outline if on_border(p, panel)} | {p for p in panel if on_border(p, outline)}
    along = [(a, b) for a, b in sides(outline) if any(_overlap(a, b, c, d) for c, d in sides(panel))]
    return sum(not any(on_segment(p, a, b) for a, b in along) for p in corners)


def _overlap(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two straight lines share more than a point."""
    if cross(a, b, c) or cross(a, b, d):
        return False
    axis = 0 if a[0] != b[0] else 1
    low = max(min(a[axis], b[axis]), min(c[axis], d[axis]))
    return low < min(max(a[axis], b[axis]), max(c[axis], d[axis]))


def open_at(panel: Outline, outline: Outline) -> list[int]:
    """Indexes of the panel's edges at which a cut-out is open: edges along which a side of it runs."""
    return [
        i for i, (c, d) in enumerate(sides(panel)) if any(_overlap(a, b, c, d) for a, b in sides(outline))
    ]
