"""Step numbers at the cuts of a sheet: in rings, where they hide neither labels nor each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np
import numpy.typing as npt

from panewright.io import palette
from panewright.io.scene_model import Circle, Line, Sketch, Text
from panewright.nesting.outlines import Point
from panewright.nesting.plan import Cut, CutKind, Layout

Obstacle = tuple[int, int, int, int]
"""A rectangle that no ring may cover: least x, least y, greatest x, greatest y. [nm]"""

_PLACES = (50, 42, 58, 34, 66, 27, 73, 21, 79, 16, 84, 12, 88, 8, 92, 5, 95, 3, 97, 100, 0)
"""Where along a cut a ring may sit, the best first. [per cent]"""
Numbers = npt.NDArray[np.int64]
_PERCENT: Numbers = np.repeat(np.array(_PLACES, dtype=np.int64), 2)
_SIDE: Numbers = np.tile(np.array((1, -1), dtype=np.int64), len(_PLACES))
_FIRST: Numbers = np.arange(2 * len(_PLACES), dtype=np.int64) // 2
"""What each place costs: the first ones are the best."""
_SIZES = (100, 80, 62, 46, 34)
"""Sizes of a ring. [per cent]"""


@dataclass(frozen=True, slots=True)
class Marks:
    """What the step numbers of a sheet take up.

    Parameters
    ----------
    right, top
        How far they reach beyond these sides of the sheet. [nm]
    hidden
        Indexes of the labels that a ring covers, for want of a free place.
    near
        Indexes of the labels beside which a ring is too small to be read well.
    """

    right: int
    top: int
    hidden: frozenset[int]
    near: frozenset[int]


def put_step_numbers(sketch: Sketch, layout: Layout, labels: Sequence[Obstacle]) -> Marks:
    """Number all cuts.

    Trims and cuts of level 1 that reach the right or upper side of the sheet have their number beyond
    it, all others have it beside the line.
    """
    outside: tuple[list[Cut], list[Cut]] = ([], [])
    within: list[Cut] = []
    for cut in layout.cuts:
        main = cut.kind is CutKind.TRIM or (cut.kind is CutKind.MAIN and cut.level == 1)
        far_x = max(cut.start[0], cut.end[0]) >= layout.width - layout.trim.right
        far_y = max(cut.start[1], cut.end[1]) >= layout.height - layout.trim.top
        if main and cut.start[1] == cut.end[1] and far_x:
            outside[0].append(cut)
        elif main and cut.start[0] == cut.end[0] and far_y:
            outside[1].append(cut)
        else:
            within.append(cut)
    right, top = (
        _row(sketch, layout, outside[0], upright=True),
        _row(sketch, layout, outside[1], upright=False),
    )
    return Marks(right, top, *_rings(sketch, layout, within, labels))


def _row(sketch: Sketch, layout: Layout, cuts: Sequence[Cut], *, upright: bool) -> int:
    """Numbers beyond the right side (upright) or the upper one; near ones step outwards."""
    g, axis = sketch.grain, 1 if upright else 0
    edge = layout.width if upright else layout.height
    lanes: list[int] = []
    for cut in sorted(cuts, key=lambda c: (c.start[axis], c.step)):
        at, radius = cut.start[axis], _radius(cut, g)
        lane = next((i for i, last in enumerate(lanes) if at - radius >= last), len(lanes))
        if lane == len(lanes):
            lanes.append(0)
        lanes[lane] = at + radius + g // 4
        out = edge + round((1.6 + 2.4 * lane) * g)
        end = max(cut.start[1 - axis], cut.end[1 - axis])
        centre, foot, tip = (out, at), (end, at), (out - radius, at)
        if not upright:
            centre, foot, tip = (at, out), (at, end), (at, out - radius)
        sketch.add(Line(palette.STEP_NUMBER, foot, tip))
        _ring(sketch, cut, centre, radius)
    return round((1.6 + 2.4 * (len(lanes) - 1) + 1.2) * g) if lanes else 0


def _radius(cut: Cut, height: int) -> int:
    return height * _per_ten(cut) // 10


def _per_ten(cut: Cut) -> int:
    """Radius of the ring around the number of a step, in tenths of its text height."""
    return (11, 11, 14)[len(str(cut.step)) - 1] if cut.step < 1000 else 20


def _ring(sketch: Sketch, cut: Cut, centre: Point, radius: int) -> None:
    height = radius * 9 // _per_ten(cut)
    sketch.add(
        Circle(palette.STEP_NUMBER, centre, radius),
        Text(palette.STEP_NUMBER, str(cut.step), centre, height, "centre", "middle"),
    )


def _rings(
    sketch: Sketch, layout: Layout, cuts: Sequence[Cut], labels: Sequence[Obstacle]
) -> tuple[frozenset[int], frozenset[int]]:
    """Draw the rings; which labels they cover, and which keep one of them small."""
    grain = sketch.grain
    least = [0] * len(cuts)
    for _ in range(len(_SIZES)):
        placed, clashing = _places(grain, layout, cuts, labels, least)
        if not clashing:
            break
        for i in clashing:
            least[i] = min(least[i] + 1, len(_SIZES) - 1)
    hidden: set[int] = set()
    beside: set[int] = set()
    for cut, (centre, radius) in zip(cuts, placed, strict=True):
        _ring(sketch, cut, centre, radius)
        hidden.update(i for i, label in enumerate(labels) if _distance(centre, label) * 10 < 9 * radius)
        if radius < _full_radius(cut, grain) * _SIZES[1] // 100:
            span = _span(cut.start, cut.end)
            beside.update(i for i, label in enumerate(labels) if _close(label, span, 2 * grain))
    return frozenset(hidden), frozenset(beside)


_Ring = tuple[Point, int]
"""Centre and radius. [nm]"""


def _places(
    grain: int, layout: Layout, cuts: Sequence[Cut], labels: Sequence[Obstacle], least: Sequence[int]
) -> tuple[list[_Ring], set[int]]:
    """Centre and radius of every ring, and the indexes of the rings that lie on each other."""
    w, h = layout.width, layout.height
    spans = {c.step: _span(c.start, c.end) for c in layout.cuts}
    sides = [(0, 0, 0, h), (w, 0, w, h), (0, 0, w, 0), (0, h, w, h)]
    taken = list(labels)
    placed: list[_Ring] = []
    clashing: set[int] = set()
    for i, cut in enumerate(cuts):
        span = _span(cut.start, cut.end)
        near = [o for o in taken if _close(o, span, 2 * grain)]
        lines = [o for step, o in spans.items() if step != cut.step] + sides
        lines = [o for o in lines if _close(o, span, 2 * grain)]
        centre, radius = _place(cut, grain, near, lines, least[i])
        for j, (other, its_radius) in enumerate(placed):
            if hypot(centre[0] - other[0], centre[1] - other[1]) < (radius + its_radius) * 0.98:
                clashing |= {i, j}
        placed.append((centre, radius))
        taken.append((centre[0] - radius, centre[1] - radius, centre[0] + radius, centre[1] + radius))
    return placed, clashing


def _place(cut: Cut, grain: int, near: Sequence[Obstacle], lines: Sequence[Obstacle], least: int) -> _Ring:
    """The best place of one ring: beside its cut, off labels and rings, off other lines if it can be."""
    (x0, y0), (x1, y1) = cut.start, cut.end
    long = hypot(x1 - x0, y1 - y0) or 1.0
    sizes = [_full_radius(cut, grain) * size // 100 for size in _SIZES[least:]]
    radius = np.array(sizes, dtype=np.int64)[:, None]
    # beside the line and touching it: no line runs through the figures
    x = x0 + (x1 - x0) * _PERCENT // 100 - np.rint(_SIDE * radius * (y1 - y0) / long).astype(np.int64)
    y = y0 + (y1 - y0) * _PERCENT // 100 + np.rint(_SIDE * radius * (x1 - x0) / long).astype(np.int64)
    cost = _FIRST + 35 * np.arange(len(sizes))[:, None]
    cost = cost + 1000 * _covered(x, y, radius, near)
    cost += 25 * _covered(x, y, radius, lines)
    # a ring between two lines should be nearer to its own
    cost += 10 * _covered(x, y, radius * 3 // 2, lines)
    best, at = int(cost[0].min()), (0, int(cost[0].argmin()))
    for rank in range(1, len(sizes)):
        if best < 35 * rank:
            break
        if (least_cost := int(cost[rank].min())) < best:
            best, at = least_cost, (rank, int(cost[rank].argmin()))
    return (int(x[at]), int(y[at])), sizes[at[0]]


def _covered(x: Numbers, y: Numbers, radius: Numbers, obstacles: Sequence[Obstacle]) -> Numbers:
    """How many rectangles the box of each ring meets."""
    if not obstacles:
        return np.zeros_like(x)
    o = np.array(obstacles, dtype=np.int64).T[:, :, None, None]
    met = (o[0] < x + radius) & (o[2] > x - radius) & (o[1] < y + radius) & (o[3] > y - radius)
    count: Numbers = met.sum(axis=0, dtype=np.int64)
    return count


def _full_radius(cut: Cut, grain: int) -> int:
    return _radius(cut, round(grain * 0.75))


def _span(a: Point, b: Point) -> Obstacle:
    """The box of a line; near enough for a choice of places where the line is angled."""
    return min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])


def _close(o: Obstacle, span: Obstacle, reach: int) -> bool:
    lo_x, lo_y, hi_x, hi_y = span
    return o[0] <= hi_x + reach and o[2] >= lo_x - reach and o[1] <= hi_y + reach and o[3] >= lo_y - reach


def _distance(centre: Point, o: Obstacle) -> float:
    x, y = min(max(centre[0], o[0]), o[2]), min(max(centre[1], o[1]), o[3])
    return hypot(centre[0] - x, centre[1] - y)
