"""Exact convex pieces while a blank is cut up: splitting, the ends of a score, and what breaks off.

Corners are whole nanometres, or fractions of one where an angled score crosses an edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import cos, hypot, radians

from ..outlines import Outline, Point, narrower_than
from ..rules import Rules

Exact = tuple[Fraction | int, Fraction | int]
Rough = list[tuple[float, float]]


def side_of(a: Exact | Point, b: Exact | Point, p: Exact | Point) -> Fraction | int:
    """Positive where p lies to the left of the line from a through b. [nm2]"""
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _crossing(p: Exact, q: Exact, sp: Fraction | int, sq: Fraction | int) -> Exact:
    t = Fraction(sp) / (sp - sq)
    x, y = p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])
    return _plain(x), _plain(y)


def _plain(value: Fraction | int) -> Fraction | int:
    return int(value) if value.denominator == 1 else value


def split(piece: Sequence[Exact], a: Point, b: Point) -> tuple[list[Exact], list[Exact]]:
    """The parts of a convex piece to the left and right of the line a -> b."""
    left: list[Exact] = []
    right: list[Exact] = []
    where = [side_of(a, b, p) for p in piece]
    for (p, sp), (q, sq) in pairwise([*zip(piece, where, strict=True), (piece[0], where[0])]):
        if sp >= 0:
            left.append(p)
        if sp <= 0:
            right.append(p)
        if (sp > 0 > sq) or (sp < 0 < sq):
            x = _crossing(p, q, sp, sq)
            left.append(x)
            right.append(x)
    return left, right


def halves(piece: Rough, a: Point, b: Point) -> tuple[Rough, Rough]:
    """`split` in floats: near enough to choose a score, whose effect is then worked out exactly."""
    left: Rough = []
    right: Rough = []
    ax, ay, dx, dy = a[0], a[1], b[0] - a[0], b[1] - a[1]
    px, py = piece[-1]
    sp = dx * (py - ay) - dy * (px - ax)
    for qx, qy in piece:
        sq = dx * (qy - ay) - dy * (qx - ax)
        if (sp > 0 > sq) or (sp < 0 < sq):
            t = sp / (sp - sq)
            x = (px + t * (qx - px), py + t * (qy - py))
            left.append(x)
            right.append(x)
        if sq >= 0:
            left.append((qx, qy))
        if sq <= 0:
            right.append((qx, qy))
        px, py, sp = qx, qy, sq
    return left, right


def rough_area2(piece: Rough) -> float:
    """Twice the area. [nm2]"""
    return sum(p[0] * q[1] - q[0] * p[1] for p, q in pairwise([*piece, piece[0]]))


def depth_beyond(piece: Rough, a: Point, b: Point) -> float:
    """How far a piece reaches to the right of the line a -> b. [nm]"""
    dx, dy = b[0] - a[0], b[1] - a[1]
    return max(dy * (x - a[0]) - dx * (y - a[1]) for x, y in piece) / hypot(dx, dy)


def rough_ends(piece: Rough, a: Point, b: Point, snap: int) -> tuple[Point, Point] | None:
    """Where the line a -> b crosses the border of a piece, in its direction, in whole nm; None if nowhere.

    An end that falls within `snap` [nm] of a corner of the piece is moved into the corner, so that no edge of
    some nanometres arises there.
    """
    ax, ay, dx, dy = a[0], a[1], b[0] - a[0], b[1] - a[1]
    first = last = None
    px, py = piece[-1]
    sp = dx * (py - ay) - dy * (px - ax)
    for qx, qy in piece:
        sq = dx * (qy - ay) - dy * (qx - ax)
        if (sp > 0 > sq) or (sp < 0 < sq):
            t = sp / (sp - sq)
            x, y = px + t * (qx - px), py + t * (qy - py)
        elif sq == 0:
            x, y = qx, qy
        else:
            px, py, sp = qx, qy, sq
            continue
        along = (x - ax) * dx + (y - ay) * dy
        if first is None or along < first[0]:
            first = (along, x, y)
        if last is None or along > last[0]:
            last = (along, x, y)
        px, py, sp = qx, qy, sq
    if first is None or last is None:
        return None
    found = []
    for _, x, y in (first, last):
        near = min(piece, key=lambda p: (p[0] - x) * (p[0] - x) + (p[1] - y) * (p[1] - y))
        if (near[0] - x) ** 2 + (near[1] - y) ** 2 <= snap * snap:
            x, y = near
        found.append((round(x), round(y)))
    return (found[0], found[1]) if found[0] != found[1] else None


def lines_near(
    start: Point, end: Point, left: Sequence[Outline], right: Sequence[Outline], slack: int
) -> list[tuple[Point, Point]]:
    """The lines through two corners that part the same outlines as the line start -> end, near to it.

    Corners within `slack` [nm] of that line; no more than this may reach over any. Those come first over
    which least reaches, of these the ones whose corners lie farthest apart.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    most = slack * slack * (dx * dx + dy * dy)
    near = [p for outline in (*left, *right) for p in outline if side_of(start, end, p) ** 2 <= most]
    ranked = []
    for a in near:
        for b in near:
            ux, uy = b[0] - a[0], b[1] - a[1]
            if ux * dx + uy * dy <= 0:
                continue
            over = [-side_of(a, b, p) for outline in left for p in outline]
            over += [side_of(a, b, p) for outline in right for p in outline]
            over2, long2 = max(0, *over) ** 2, ux * ux + uy * uy
            if over2 <= slack * slack * long2:
                ranked.append((over2 // long2, -long2, a, b))
    return [(a, b) for _, _, a, b in sorted(ranked)]


def whole(piece: Sequence[Exact] | Rough) -> Outline:
    """The piece with corners in whole nanometres, repeated points dropped."""
    pts = [(round(x), round(y)) for x, y in piece]
    return tuple(p for i, p in enumerate(pts) if p != pts[i - 1])


def tidy(piece: Sequence[Exact], slack: int = 2) -> list[Exact]:
    """Without points within `slack` [nm] of the one before or of the line between their neighbours.

    Points are dropped one by one from the least: of two that lie side by side at a corner one stays, the same
    one wherever the piece begins.
    """
    first = min(range(len(piece)), key=lambda i: piece[i], default=0)
    kept = without_twins([*piece[first:], *piece[:first]], slack)
    i = 0
    while i < len(kept) and len(kept) > 2:
        a, p, b = kept[i - 1], kept[i], kept[(i + 1) % len(kept)]
        off = side_of(a, b, p)
        if off * off > slack * slack * ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2):
            i += 1
        else:
            del kept[i]
    return kept


def without_twins(piece: Sequence[Exact], distance: int) -> list[Exact]:
    """Without points within a distance [nm] of the one before."""
    kept: list[Exact] = []
    for p in piece:
        if not kept or _far(kept[-1], p, distance):
            kept.append(p)
    while len(kept) > 1 and not _far(kept[0], kept[-1], distance):
        kept.pop()
    return kept


def _far(p: Exact, q: Exact, slack: int) -> bool:
    return (p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2 > slack * slack


def breaks_off(corner: Outline, start: Point, end: Point, rules: Rules) -> bool:
    """Whether waste that a shape cut frees may be broken off (rule 5 of the plan file)."""
    if len(corner) < 3:
        return False
    if not narrower_than(corner, max(rules.break_out, rules.least_waste)):
        return True
    return not narrower_than(corner, rules.corner_depth) and _blunt(corner, start, end, rules)


def _blunt(corner: Outline, start: Point, end: Point, rules: Rules) -> bool:
    """Whether the corner piece meets the score at the least angle or more at both ends.

    An end that is less deep than the corner depth is as thin as what follows it: a long wedge with a blunt
    tip does not pass for a corner. Half a thousandth of a degree is forgiven: corners of a regular hexagon
    meet the score at 30 degrees exactly, and their points are rounded to the nanometre.
    """
    most = int(cos(radians((rules.least_angle - 0.5) / 1000)) ** 2 * 10**15)  # square of the cosine
    n = len(corner)

    def nearest(p: Point) -> int:
        return min(range(n), key=lambda i: (corner[i][0] - p[0]) ** 2 + (corner[i][1] - p[1]) ** 2)

    found = (nearest(start), nearest(end))
    for k, other in (found, found[::-1]):
        at = corner[k]
        for way in (-1, 1):
            q = (k + way) % n
            if q == other:
                continue
            while not _far(at, corner[q], rules.corner_depth - 1) and (q + way) % n != other:
                q = (q + way) % n
            ux, uy = corner[other][0] - at[0], corner[other][1] - at[1]
            vx, vy = corner[q][0] - at[0], corner[q][1] - at[1]
            dot = ux * vx + uy * vy
            if dot > 0 and dot * dot * 10**15 > most * (ux * ux + uy * uy) * (vx * vx + vy * vy):
                return False
    return True


def too_long(start: Point, end: Point, rules: Rules) -> bool:
    """Whether a score is longer than the rules allow."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    # one parallel to a side of the blank is a plain score, however long the hand reaches
    limits = (rules.longest_cut, rules.longest_angled_cut if dx and dy else None)
    return any(most is not None and dx * dx + dy * dy > most**2 for most in limits)
