"""Outlines: closed polygons with vertices in whole nanometres, counter-clockwise.

An outline never repeats its first point and has no two edges on one line. All answers are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isqrt
from typing import Final

from .errors import InvalidOutline
from .text import tr

Point = tuple[int, int]
Outline = tuple[Point, ...]


def cross(o: Point, a: Point, b: Point) -> int:
    """Twice the signed area of the triangle o, a, b. [nm2]"""
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def area2(outline: Sequence[Point]) -> int:
    """Twice the signed area, positive when counter-clockwise. [nm2]"""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, (*outline[1:], outline[0]), strict=True))


def box(outline: Sequence[Point]) -> tuple[int, int, int, int]:
    """Least x, least y, greatest x, greatest y. [nm]"""
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    return min(xs), min(ys), max(xs), max(ys)


def sides(outline: Sequence[Point]) -> list[tuple[Point, Point]]:
    """Both ends of every edge, in order."""
    return list(zip(outline, (*outline[1:], outline[0]), strict=True))


def rectangle(width: int, height: int, x: int = 0, y: int = 0) -> Outline:
    """The rectangle with its lower left corner at (x, y). [nm]"""
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def is_rectangle(outline: Sequence[Point]) -> bool:
    """Whether the outline is a rectangle with sides along the axes."""
    if len(outline) != 4:
        return False
    x0, y0, x1, y1 = box(outline)
    return set(outline) == {(x0, y0), (x1, y0), (x1, y1), (x0, y1)}


def is_convex(outline: Sequence[Point]) -> bool:
    """Whether every corner of a counter-clockwise outline turns left."""
    n = len(outline)
    return n >= 3 and all(cross(outline[i - 2], outline[i - 1], outline[i]) > 0 for i in range(n))


def reentrant_corners(outline: Sequence[Point]) -> list[int]:
    """Indexes of the corners that turn inwards: no score can make them."""
    n = len(outline)
    return [i for i in range(n) if cross(outline[i - 1], outline[i], outline[(i + 1) % n]) < 0]


def hull(points: Sequence[Point]) -> Outline:
    """Convex hull, counter-clockwise from the least point (Andrew's monotone chain)."""
    pts = sorted(set(points))

    def half(chain: Sequence[Point]) -> list[Point]:
        out: list[Point] = []
        for p in chain:
            while len(out) > 1 and cross(out[-2], out[-1], p) <= 0:
                out.pop()
            out.append(p)
        return out[:-1]

    return (*half(pts), *half(pts[::-1]))


FLAT: Final = 1000
"""A listed corner this near to the straight line between its neighbours is none: on a slanted edge the
rounding of the readers moves a corner by up to 442 nm, and its neighbours likewise. [nm]"""


@dataclass(frozen=True, slots=True)
class Traced:
    """A clean outline of listed corners.

    Parameters
    ----------
    outline
        Counter-clockwise, from the first corner that is one. [nm]
    listed
        Index in the list of every corner of the outline.
    """

    outline: Outline
    listed: tuple[int, ...]

    @property
    def names(self) -> tuple[int, ...]:
        """Numbers of the corners in the list, counted from 1."""
        return tuple(i + 1 for i in self.listed)


def traced(points: Sequence[Point], flat: int = 0) -> Traced:
    """A clean outline from corner points in either sense.

    Corners on the straight line between their neighbours are dropped, those that come twice in a row (the
    first one once more at the end too) count once, and the sense is turned to counter-clockwise; the
    first kept corner stays first.

    Parameters
    ----------
    points
        Once round. [nm]
    flat
        Corners so near to the line between their neighbours lie on it. [nm]

    Raises
    ------
    InvalidOutline
        Fewer than three corners, no area, or edges that touch, cross or run back.
    """
    kept = [(i, (p[0], p[1])) for i, p in enumerate(points) if i == 0 or tuple(p) != tuple(points[i - 1])]
    if len(kept) > 1 and kept[0][1] == kept[-1][1]:
        kept.pop()
    kept = [] if len(kept) < 3 or _on_one_line([p for _, p in kept], flat) else _without_flat(kept, flat)
    if len(kept) < 3:
        raise InvalidOutline(tr("the outline has fewer than three corners"), tr("give at least three"))
    seen: dict[Point, int] = {}
    for i, p in kept:
        if p in seen:
            raise InvalidOutline(
                tr(
                    "the outline touches or crosses itself: corners {a} and {b} are one point",
                    a=seen[p] + 1,
                    b=i + 1,
                ),
                tr("list the corners once round, in order"),
            )
        seen[p] = i
    if met := _crossing([p for _, p in kept]):
        (a, b), (c, d) = ((kept[k][0] + 1, kept[(k + 1) % len(kept)][0] + 1) for k in met)
        raise InvalidOutline(
            tr(
                "the outline touches or crosses itself: the edge from corner {a} to {b} meets that from {c} to {d}",
                a=a,
                b=b,
                c=c,
                d=d,
            ),
            tr("list the corners once round, in order"),
        )
    if area2([p for _, p in kept]) < 0:
        kept = [kept[0], *kept[:0:-1]]
    return Traced(tuple(p for _, p in kept), tuple(i for i, _ in kept))


def make_outline(points: Sequence[Point]) -> Outline:
    """The clean outline of corner points in either sense (see `traced`)."""
    return traced(points).outline


def _on_one_line(points: Sequence[Point], flat: int) -> bool:
    """Whether points lie on one straight line, or so near to it."""
    a = points[0]
    b = max(points, key=lambda p: (p[0] - a[0]) ** 2 + (p[1] - a[1]) ** 2)
    most = (flat * flat) * ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2)
    return all(cross(a, b, p) ** 2 <= most for p in points)


def _ahead(a: Point, p: Point, b: Point) -> int:
    """Positive where the way from a over p to b goes on, negative where it turns back."""
    return (p[0] - a[0]) * (b[0] - p[0]) + (p[1] - a[1]) * (b[1] - p[1])


def _flat(before: Point, corner: tuple[int, Point], after: Point, flat: int) -> bool:
    """Whether a corner lies on the line between its neighbours.

    Raises
    ------
    InvalidOutline
        When the outline turns back there instead of going on.
    """
    number, p = corner[0] + 1, corner[1]
    turn = cross(before, p, after)
    long2 = (after[0] - before[0]) ** 2 + (after[1] - before[1]) ** 2
    if turn and turn * turn > flat * flat * long2:
        return False
    near = min(abs(q[0] - p[0]) + abs(q[1] - p[1]) for q in (before, after))
    if _ahead(before, p, after) < 0 and near > 2 * flat:
        raise InvalidOutline(
            tr("the outline runs back on itself at corner {number}", number=number),
            tr("list the corners once round, in order"),
        )
    return True


def _without_flat(kept: list[tuple[int, Point]], flat: int) -> list[tuple[int, Point]]:
    """Without the corners on the line between their neighbours."""
    n = len(kept)
    kept = [c for k, c in enumerate(kept) if not _flat(kept[k - 1][1], c, kept[(k + 1) % n][1], 0)]
    # the flattest goes first, so that what remains lies as near to what was listed as can be
    while flat and len(kept) > 3:
        n = len(kept)
        around = [(kept[k - 1][1], c, kept[(k + 1) % n][1]) for k, c in enumerate(kept)]
        found = [(abs(cross(a, c[1], b)), k) for k, (a, c, b) in enumerate(around) if _flat(a, c, b, flat)]
        if not found:
            break
        del kept[min(found)[1]]
    return kept


def _crossing(pts: Sequence[Point]) -> tuple[int, int] | None:
    """The first two edges that touch or cross each other where they should not, by their first corners."""
    n = len(pts)

    def on(a: Point, b: Point, p: Point) -> bool:
        return min(a[0], b[0]) <= p[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])

    for i in range(n):
        a, b = pts[i], pts[(i + 1) % n]
        for j in range(i + 1, n):
            c, d = pts[j], pts[(j + 1) % n]
            if j == i + 1 or (i == 0 and j == n - 1):
                # neighbours share a corner; they must not fold back onto each other
                shared, p, q = (b, a, d) if j == i + 1 else (a, b, c)
                folded = (p[0] - shared[0]) * (q[0] - shared[0]) + (p[1] - shared[1]) * (q[1] - shared[1]) > 0
                if cross(shared, p, q) == 0 and folded:
                    return i, j
                continue
            s1, s2, s3, s4 = cross(a, b, c), cross(a, b, d), cross(c, d, a), cross(c, d, b)
            if (s1 > 0) != (s2 > 0) and (s3 > 0) != (s4 > 0) and 0 not in (s1, s2, s3, s4):
                return i, j
            if any(
                s == 0 and on(u, v, p)
                for s, u, v, p in ((s1, a, b, c), (s2, a, b, d), (s3, c, d, a), (s4, c, d, b))
            ):
                return i, j
    return None


def round_ratio(top: int, root_of: int) -> int:
    """``top / sqrt(root_of)`` rounded to the nearest whole number, without a float."""
    # |v| = sqrt(top^2 / root_of); round(v) = floor(v + 1/2) = (isqrt(4 v^2) + 1) // 2
    v = (isqrt(4 * top * top // root_of) + 1) // 2
    return v if top >= 0 else -v


def narrower_than(outline: Sequence[Point], distance: int) -> bool:
    """Whether a convex outline passes a gap of `distance`: its least width is smaller. [nm]

    The least width of a convex polygon is met square to one of its edges (rotating calipers,
    Toussaint 1983).
    """
    n = len(outline)
    for i, a in enumerate(outline):
        b = outline[(i + 1) % n]
        reach = max(cross(a, b, p) for p in outline)
        length2 = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
        if reach * reach < distance * distance * length2:
            return True
    return False
