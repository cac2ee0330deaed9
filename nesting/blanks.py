"""Blanks: the rectangles from which a panel that is no rectangle can be cut by shape cuts.

A blank is flush with an edge of the cut outline (for a free turn) or its bounding box at the turns
allowed. Each corner of the blank comes off by straight scores along the panel's edges; a corner
piece must be at least the break-out distance wide, or deep enough and blunt enough for a corner
(rule 5 of the plan file, in DEVELOPERS.md).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import atan2, cos, degrees, radians

from .outlines import (
    Outline,
    Point,
    box,
    cross,
    is_rectangle,
    narrower_than,
    rectangle,
    round_ratio,
    sides,
)
from .panels import Turn
from .rules import Rules
from .units import ceil_tick

Exact = tuple[Fraction, Fraction]
FULL_TURN = 360 * 10**9
QUARTER = 90 * 10**9


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A rectangle that yields one panel.

    Parameters
    ----------
    width, height
        Multiples of the tick. [nm]
    turned
        Counter-clockwise turn of the panel's frame. [1e-9 degree]
    outline
        The panel in place, lower left corner of the blank at the origin. [nm]
    scores
        Shape cuts in order, each along the panel's edge from one border of the piece in hand to the
        other; the panel lies to the left. Ends rounded to the nanometre. [nm]
    """

    width: int
    height: int
    turned: int
    outline: Outline
    scores: tuple[tuple[Point, Point], ...]

    def pieces(self) -> tuple[Outline, tuple[Outline, ...]]:
        """The panel that the scores leave, and the corner each of them breaks off. [nm]"""
        piece: list[Exact] = [(Fraction(x), Fraction(y)) for x, y in rectangle(self.width, self.height)]
        corners = []
        for start, end in self.scores:
            piece, off = _split(piece, start, end)
            corners.append(_whole(off))
        return _whole(piece), tuple(corners)


def _turned(outline: Outline, direction: Point) -> Outline:
    """The outline turned so that `direction` points right, rounded to the nanometre."""
    dx, dy = direction
    norm = dx * dx + dy * dy
    return tuple((round_ratio(x * dx + y * dy, norm), round_ratio(y * dx - x * dy, norm)) for x, y in outline)


def _in_place(outline: Outline) -> tuple[int, int, Outline]:
    """Shift to the origin; the far sides snap out to the next tick, under 625 nm."""
    x0, y0, x1, y1 = box(outline)
    width, height = ceil_tick(x1 - x0), ceil_tick(y1 - y0)

    def snap(value: int, low: int, high: int, size: int) -> int:
        return size if value == high else value - low

    return width, height, tuple((snap(x, x0, x1, width), snap(y, y0, y1, height)) for x, y in outline)


def _cross(a: Exact | Point, b: Exact | Point, p: Exact | Point) -> Fraction | int:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _split(piece: list[Exact], a: Point, b: Point) -> tuple[list[Exact], list[Exact]]:
    """The parts of a convex piece to the left and right of the line a -> b."""
    left: list[Exact] = []
    right: list[Exact] = []
    sides = [_cross(a, b, p) for p in piece]
    for (p, sp), (q, sq) in pairwise([*zip(piece, sides, strict=True), (piece[0], sides[0])]):
        if sp >= 0:
            left.append(p)
        if sp <= 0:
            right.append(p)
        if (sp > 0 > sq) or (sp < 0 < sq):
            t = Fraction(sp) / (sp - sq)
            x = (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]))
            left.append(x)
            right.append(x)
    return left, right


def _ends(piece: list[Exact], a: Point, b: Point) -> tuple[Point, Point] | None:
    """Where the line a -> b crosses the border of the piece, in its direction, in whole nm."""
    left, _ = _split(piece, a, b)
    on = [p for p in left if _cross(a, b, p) == 0]
    if len(on) < 2:
        return None
    along = sorted(on, key=lambda p: (p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1]))
    start, end = along[0], along[-1]
    return (round(start[0]), round(start[1])), (round(end[0]), round(end[1]))


def _whole(piece: list[Exact]) -> Outline:
    """The piece with corners in whole nanometres, repeated points dropped."""
    pts = [(round(x), round(y)) for x, y in piece]
    return tuple(p for i, p in enumerate(pts) if p != pts[i - 1])


def _breaks_off(corner: Outline, start: Point, end: Point, rules: Rules) -> bool:
    if len(corner) < 3:
        return False
    if not narrower_than(corner, rules.break_out):
        return True
    return not narrower_than(corner, rules.corner_depth) and _blunt(corner, start, end, rules.least_angle)


def _blunt(corner: Outline, start: Point, end: Point, least_angle: int) -> bool:
    """Whether the corner piece meets the score at `least_angle` [1/1000 degree] or more at both ends.

    Half a thousandth of a degree is forgiven: corners of a regular hexagon meet it at 30 degrees
    exactly, and their points are rounded to the nanometre.
    """
    most = int(cos(radians((least_angle - 0.5) / 1000)) ** 2 * 10**15)  # square of the cosine

    def nearest(p: Point) -> int:
        return min(range(len(corner)), key=lambda i: (corner[i][0] - p[0]) ** 2 + (corner[i][1] - p[1]) ** 2)

    ends = (nearest(start), nearest(end))
    for k, other in (ends, ends[::-1]):
        at = corner[k]
        for q in (k - 1, (k + 1) % len(corner)):
            if q % len(corner) == other:
                continue
            ux, uy = corner[other][0] - at[0], corner[other][1] - at[1]
            vx, vy = corner[q][0] - at[0], corner[q][1] - at[1]
            dot = ux * vx + uy * vy
            if dot > 0 and dot * dot * 10**15 > most * (ux * ux + uy * uy) * (vx * vx + vy * vy):
                return False
    return True


def _too_long(start: Point, end: Point, rules: Rules) -> bool:
    dx, dy = end[0] - start[0], end[1] - start[1]
    # one parallel to a side of the blank is a plain score, however long the hand reaches
    limits = (rules.longest_cut, rules.longest_angled_cut if dx and dy else None)
    return any(most is not None and dx * dx + dy * dy > most**2 for most in limits)


def _scores(
    width: int, height: int, outline: Outline, rules: Rules
) -> tuple[tuple[Point, Point], ...] | None:
    """An order of shape cuts in which every corner piece may be broken off, or None."""
    piece: list[Exact] = [(Fraction(x), Fraction(y)) for x, y in rectangle(width, height)]
    todo = [
        (a, b)
        for a, b in sides(outline)
        if not (a[0] == b[0] and a[0] in (0, width)) and not (a[1] == b[1] and a[1] in (0, height))
    ]
    scores: list[tuple[Point, Point]] = []
    while todo:
        best: tuple[int, tuple[Point, Point], list[Exact], int] | None = None
        for i, (a, b) in enumerate(todo):
            ends = _ends(piece, a, b)
            if ends is None or ends[0] == ends[1] or _too_long(*ends, rules):
                continue
            kept, off = _split(piece, *ends)
            corner = _whole(off)
            if not _breaks_off(corner, *ends, rules):
                continue
            depth = max(abs(cross(*ends, p)) for p in corner)
            if best is None or depth > best[0]:
                best = (depth, ends, kept, i)
        if best is None:
            return None
        scores.append(best[1])
        piece = best[2]
        del todo[best[3]]
    return tuple(scores)


def candidates(cut: Outline, turn: Turn, rules: Rules) -> list[Blank]:
    """The blanks of a convex cut outline that the rules allow, smallest area first.

    Parameters
    ----------
    cut
        Convex cut outline. [nm]
    turn
        Rotations allowed; a quarter turn of the blank itself is the optimizer's business.
    rules
        Of the glass.

    Returns
    -------
    list of Blank
        At most one a size, those within 15 % of the smallest, none of which holds another; empty
        when every blank leaves a corner that cannot be broken off. A rectangle is its own blank.

    Notes
    -----
    The least rectangle about a convex polygon is flush with one of its edges (Freeman and Shapira
    1975); larger flush ones are offered too, since their sides may fit a sheet better.
    """
    found: dict[tuple[int, int], Blank] = {}
    directions: list[Point] = [(1, 0)]
    if turn is Turn.ANY and not is_rectangle(cut):
        directions += [(b[0] - a[0], b[1] - a[1]) for a, b in sides(cut)]
    for direction in directions:
        width, height, outline = _in_place(_turned(cut, direction))
        size = (
            (max(width, height), min(width, height)) if turn in (Turn.ANY, Turn.QUARTER) else (width, height)
        )
        if size in found:
            continue
        scores = _scores(width, height, outline, rules)
        if scores is None:
            continue
        angle = round(degrees(atan2(-direction[1], direction[0])) * 10**9) % FULL_TURN
        found[size] = Blank(width=width, height=height, turned=angle, outline=outline, scores=scores)
    blanks = sorted(found.values(), key=lambda b: (b.width * b.height, b.width, b.turned))
    if blanks:
        most = blanks[0].width * blanks[0].height * 115
        blanks = [b for b in blanks if b.width * b.height * 100 <= most]
    sizes = [sorted((b.width, b.height)) for b in blanks]
    return [
        b
        for i, b in enumerate(blanks)
        if not any(
            j < i and sizes[j][0] <= sizes[i][0] and sizes[j][1] <= sizes[i][1] for j in range(len(blanks))
        )
    ]


def quarter_turned(blank: Blank) -> Blank:
    """The same blank turned a quarter counter-clockwise."""

    def turn(p: Point) -> Point:
        return (blank.height - p[1], p[0])

    return Blank(
        width=blank.height,
        height=blank.width,
        turned=(blank.turned + QUARTER) % FULL_TURN,
        outline=tuple(turn(p) for p in blank.outline),
        scores=tuple((turn(a), turn(b)) for a, b in blank.scores),
    )
