"""An outline that was given at an angle, laid along the axes on its longest edge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import atan2, degrees
from typing import Final

from .outlines import Outline, Point, is_convex, round_ratio, sides, traced
from .units import to_tick

NOISE: Final = 20_000
"""Edges that lean by no more than this between their ends were meant to lie along an axis: what is left of
a drawing whose corners were listed with two decimals of a millimetre. [nm]"""


@dataclass(frozen=True, slots=True)
class Laid:
    """An outline laid along the axes.

    Parameters
    ----------
    outline
        Its corners in the same order, in whole ticks. [nm]
    angle
        By which the outline as given stands counter-clockwise of it. [degree]
    place
        Moves any other point along, rounded to the nanometre.
    """

    outline: Outline
    angle: float
    place: Callable[[Point], Point]


def laid_square(outline: Outline) -> Laid | None:
    """The outline turned so that its longest edge lies at the bottom; None where an edge lies along an axis.

    Notes
    -----
    Corners are moved by rounding alone, at most by half of `NOISE` and half a tick: so a rectangle is one
    again, and edges that are square or parallel to the longest are so exactly.
    """
    edges = sides(outline)
    if any(a[0] == b[0] or a[1] == b[1] for a, b in edges):
        return None
    a, b = max(edges, key=lambda edge: (edge[1][0] - edge[0][0]) ** 2 + (edge[1][1] - edge[0][1]) ** 2)
    dx, dy = b[0] - a[0], b[1] - a[1]
    norm = dx * dx + dy * dy

    def turned(p: Point) -> Point:
        return round_ratio(p[0] * dx + p[1] * dy, norm), round_ratio(p[1] * dx - p[0] * dy, norm)

    points = [turned(p) for p in outline]
    xs, ys = (_evened([p[axis] for p in points]) for axis in (0, 1))
    x0, y0 = min(xs), min(ys)
    laid = tuple((x - x0, y - y0) for x, y in zip(xs, ys, strict=True))
    if traced(laid).outline != laid or is_convex(laid) != is_convex(outline):
        return None

    def place(p: Point) -> Point:
        x, y = turned(p)
        return x - x0, y - y0

    return Laid(laid, degrees(atan2(dy, dx)), place)


def _evened(values: list[int]) -> list[int]:
    """Coordinates of the corners in whole ticks, equal along edges that lean by noise alone."""
    n = len(values)
    group = list(range(n))
    for _ in range(2):  # twice round, so that the first corner meets the last
        for i in range(n):
            j = (i + 1) % n
            if abs(values[i] - values[j]) <= NOISE:
                group[j] = group[i] = min(group[i], group[j])
    out = []
    for i in range(n):
        mine = [values[k] for k in range(n) if group[k] == group[i]]
        out.append(to_tick((min(mine) + max(mine)) // 2))
    return out
