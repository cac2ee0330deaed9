"""Closed outlines with rounded corners: arcs as DXF and SVG want them, or many short sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, cos, hypot, sin, sqrt, tan

from panewright.nesting.openings import tangent_lengths
from panewright.nesting.outlines import Outline, Point, cross

STEPS = 12
"""Short sides that stand for an arc."""


@dataclass(frozen=True, slots=True)
class Corner:
    """One corner: where its arc begins and ends. [nm]

    Parameters
    ----------
    start, end
        Both are the corner itself where it is not rounded.
    radius
        0 where it is not rounded.
    bulge
        Tangent of a quarter of the arc's angle; positive where it turns to the left.
    """

    start: tuple[float, float]
    end: tuple[float, float]
    radius: float = 0.0
    bulge: float = 0.0


def corners(points: Outline, radii: Sequence[int]) -> list[Corner]:
    """The corners of a closed outline with their arcs; radii without room for them are made smaller.

    Parameters
    ----------
    points
        [nm]
    radii
        One a corner, 0 for none. [nm]
    """
    n = len(points)
    wanted = tangent_lengths(points, tuple(radii))
    sides = [
        hypot(points[(i + 1) % n][0] - p[0], points[(i + 1) % n][1] - p[1]) for i, p in enumerate(points)
    ]
    out = []
    for i, p in enumerate(points):
        taken = wanted[i]
        for side, other in ((sides[i - 1], wanted[i - 1]), (sides[i], wanted[(i + 1) % n])):
            if taken + other > side:
                taken = min(taken, side * wanted[i] / (wanted[i] + other))
        if not taken:
            out.append(Corner(p, p))
            continue
        before, after = points[i - 1], points[(i + 1) % n]
        radius = radii[i] * taken / wanted[i]
        # the arc turns by what the inner angle lacks of a half turn: its half has the tangent taken / radius
        bulge = tan(atan(taken / radius) / 2)
        out.append(
            Corner(
                _towards(p, before, taken / sides[i - 1]),
                _towards(p, after, taken / sides[i]),
                radius,
                bulge if cross(before, p, after) > 0 else -bulge,
            )
        )
    return out


def _towards(a: Point, b: Point, part: float) -> tuple[float, float]:
    return a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part


def bulged(points: Outline, radii: Sequence[int]) -> list[tuple[float, float, float]]:
    """Vertices x, y and bulge of the side that begins there, without sides of no length. [nm]"""
    out: list[tuple[float, float, float]] = []
    found = corners(points, radii)
    for i, corner in enumerate(found):
        if corner.bulge:
            out.append((*corner.start, corner.bulge))
        (x, y), following = corner.end, found[(i + 1) % len(found)]
        if (
            not (corner.bulge and following.bulge)
            or hypot(following.start[0] - x, following.start[1] - y) > 1
        ):
            out.append((x, y, 0.0))
    return out


def flattened(points: Outline, radii: Sequence[int]) -> Outline:
    """The outline with every arc as short sides between points of the arc, rounded to the nanometre."""
    out: list[Point] = []
    for corner in corners(points, radii):
        (ax, ay), (bx, by) = corner.start, corner.end
        if not corner.bulge:
            out.append((round(ax), round(ay)))
            continue
        # centre of the arc: from the middle of its chord to the left of it, or to the right
        b = corner.bulge
        half = hypot(bx - ax, by - ay) / 2 or 0.5
        up = sqrt(max(corner.radius**2 - half**2, 0.0)) * (1 if b > 0 else -1)
        cx = (ax + bx) / 2 - (by - ay) / (2 * half) * up
        cy = (ay + by) / 2 + (bx - ax) / (2 * half) * up
        sweep = 4 * atan(b)
        for k in range(STEPS + 1):
            c, s = cos(sweep * k / STEPS), sin(sweep * k / STEPS)
            dx, dy = ax - cx, ay - cy
            out.append((round(cx + dx * c - dy * s), round(cy + dx * s + dy * c)))
    return tuple(out)
