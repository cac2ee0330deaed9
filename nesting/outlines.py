"""Outlines: closed polygons with vertices in whole nanometres, counter-clockwise.

An outline never repeats its first point and has no two edges on one line. All answers are exact;
where a true corner is irrational it is rounded once to the nanometre.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Context, Decimal
from math import isqrt

from .errors import InvalidOutline
from .text import tr

Point = tuple[int, int]
Outline = tuple[Point, ...]

_EXACT = Context(prec=45)


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


def make_outline(points: Sequence[Point]) -> Outline:
    """A clean outline from corner points in either sense.

    Corners on the straight line between their neighbours are dropped and the sense is turned to
    counter-clockwise; the first kept corner stays first.

    Raises
    ------
    InvalidOutline
        Fewer than three corners, no area, or edges that touch or cross.
    """
    pts = [tuple(p) for i, p in enumerate(points) if tuple(p) != tuple(points[i - 1]) or len(points) == 1]
    kept = [
        (p[0], p[1])
        for i, p in enumerate(pts)
        if cross(pts[i - 1], p, pts[(i + 1) % len(pts)]) != 0  # type: ignore[arg-type]
    ]
    if len(kept) < 3:
        raise InvalidOutline(tr("the outline has fewer than three corners"), tr("give at least three"))
    if len(set(kept)) < len(kept) or _crosses_itself(kept):
        raise InvalidOutline(
            tr("the outline touches or crosses itself"), tr("list the corners once round, in order")
        )
    if area2(kept) < 0:
        kept = [kept[0], *kept[:0:-1]]
    return tuple(kept)


def _crosses_itself(pts: Sequence[Point]) -> bool:
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
                    return True
                continue
            s1, s2, s3, s4 = cross(a, b, c), cross(a, b, d), cross(c, d, a), cross(c, d, b)
            if (s1 > 0) != (s2 > 0) and (s3 > 0) != (s4 > 0) and 0 not in (s1, s2, s3, s4):
                return True
            if any(
                s == 0 and on(u, v, p)
                for s, u, v, p in ((s1, a, b, c), (s2, a, b, d), (s3, c, d, a), (s4, c, d, b))
            ):
                return True
    return False


def round_ratio(top: int, root_of: int) -> int:
    """``top / sqrt(root_of)`` rounded to the nearest whole number, without a float."""
    # |v| = sqrt(top^2 / root_of); round(v) = floor(v + 1/2) = (isqrt(4 v^2) + 1) // 2
    v = (isqrt(4 * top * top // root_of) + 1) // 2
    return v if top >= 0 else -v


def offset(outline: Outline, allowances: Sequence[int]) -> Outline:
    """Move every edge of a convex outline outwards by its own allowance.

    Parameters
    ----------
    outline
        Convex, counter-clockwise. [nm]
    allowances
        One an edge, edge i from corner i to corner i + 1; none negative. [nm]

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
    lines: list[tuple[int, int, Decimal]] = []
    for i, a in enumerate(outline):
        b = outline[(i + 1) % n]
        nx, ny = b[1] - a[1], a[0] - b[0]  # outward normal, as long as the edge
        length = _EXACT.sqrt(Decimal(nx * nx + ny * ny))
        reach = _EXACT.add(Decimal(nx * a[0] + ny * a[1]), _EXACT.multiply(Decimal(allowances[i]), length))
        lines.append((nx, ny, reach))
    moved: list[Point] = []
    for i in range(n):
        (a1, b1, c1), (a2, b2, c2) = lines[i - 1], lines[i]
        det = Decimal(a1 * b2 - a2 * b1)
        x = _EXACT.divide(_EXACT.subtract(_EXACT.multiply(c1, b2), _EXACT.multiply(c2, b1)), det)
        y = _EXACT.divide(_EXACT.subtract(_EXACT.multiply(c2, a1), _EXACT.multiply(c1, a2)), det)
        moved.append((int(x.to_integral_value()), int(y.to_integral_value())))
    for i, a in enumerate(outline):
        b, p, q = outline[(i + 1) % n], moved[i], moved[(i + 1) % n]
        if (b[0] - a[0]) * (q[0] - p[0]) + (b[1] - a[1]) * (q[1] - p[1]) <= 0:
            raise InvalidOutline(
                tr("edge {number} vanishes under the allowances of its neighbours", number=i + 1),
                tr("lengthen the edge or give its neighbours a smaller allowance"),
            )
    return tuple(moved)


def cut_outline(finished: Outline, allowances: Sequence[int]) -> Outline:
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
        return offset(finished, allowances)
    around = hull(finished)
    at = {p: i for i, p in enumerate(finished)}
    n = len(finished)
    bridged = []
    for k, p in enumerate(around):
        i, j = at[p], at[around[(k + 1) % len(around)]]
        span = range(i, j if j > i else j + n)
        bridged.append(max(allowances[s % n] for s in span))
    return offset(around, bridged)


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
