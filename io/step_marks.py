"""Step numbers at the cuts of a sheet: in rings, where they hide neither labels nor each other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import hypot

from panewright.io import palette
from panewright.io.scene_model import Circle, Line, Sketch, Text
from panewright.nesting.outlines import Point
from panewright.nesting.plan import Cut, CutKind, Layout

Obstacle = tuple[int, int, int, int]
"""A rectangle that no ring may cover: least x, least y, greatest x, greatest y. [nm]"""

_PLACES = (50, 42, 58, 34, 66, 27, 73, 21, 79, 16, 84, 12, 88, 8, 92, 5, 95, 3, 97, 100, 0)
"""Where along a cut a ring may sit, the best first. [per cent]"""
_SIZES = (100, 80, 62)
"""Sizes of a ring. [per cent]"""


def put_step_numbers(sketch: Sketch, layout: Layout, labels: Sequence[Obstacle]) -> tuple[int, int]:
    """Number all cuts.

    Trims and cuts of level 1 that reach the right or upper side of the sheet have their number beyond
    it, all others have it beside the line.

    Returns
    -------
    tuple
        How far the numbers reach beyond the right and the upper side. [nm]
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
    reach = (_row(sketch, layout, outside[0], upright=True), _row(sketch, layout, outside[1], upright=False))
    _rings(sketch, layout, within, labels)
    return reach


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


def _rings(sketch: Sketch, layout: Layout, cuts: Sequence[Cut], labels: Sequence[Obstacle]) -> None:
    taken = list(labels)
    w, h = layout.width, layout.height
    sides = [(0, 0, 0, h), (w, 0, w, h), (0, 0, w, 0), (0, h, w, h)]
    for cut in cuts:
        (x0, y0), (x1, y1) = cut.start, cut.end
        lo_x, lo_y, hi_x, hi_y = _span(cut.start, cut.end)
        reach = 2 * sketch.grain
        near = [o for o in taken if _close(o, lo_x, lo_y, hi_x, hi_y, reach)]
        spans = [_span(c.start, c.end) for c in layout.cuts if c is not cut] + sides
        others = [o for o in spans if _close(o, lo_x, lo_y, hi_x, hi_y, reach)]
        long = hypot(x1 - x0, y1 - y0) or 1.0
        best: tuple[int, Point, int] | None = None
        for rank, size in enumerate(_SIZES):
            radius = _radius(cut, round(sketch.grain * 0.75)) * size // 100
            for place, (percent, side) in enumerate(product(_PLACES, (1, -1))):
                # beside the line and touching it: no line runs through the figures
                centre = (
                    x0 + (x1 - x0) * percent // 100 - round(side * radius * (y1 - y0) / long),
                    y0 + (y1 - y0) * percent // 100 + round(side * radius * (x1 - x0) / long),
                )
                cost = place // 2 + 35 * rank
                cost += 1000 * sum(_covers(centre, radius, o) for o in near)
                cost += 25 * sum(_covers(centre, radius, o) for o in others)
                # a ring between two lines should be nearer to its own
                cost += 10 * sum(_covers(centre, radius * 3 // 2, o) for o in others)
                if best is None or cost < best[0]:
                    best = (cost, centre, radius)
            if best is not None and best[0] < 35 * (rank + 1):
                break
        assert best is not None
        _, centre, radius = best
        _ring(sketch, cut, centre, radius)
        taken.append((centre[0] - radius, centre[1] - radius, centre[0] + radius, centre[1] + radius))


def _span(a: Point, b: Point) -> Obstacle:
    """The box of a line; near enough for a choice of places where the line is angled."""
    return min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])


def _close(o: Obstacle, lo_x: int, lo_y: int, hi_x: int, hi_y: int, reach: int) -> bool:
    return o[0] <= hi_x + reach and o[2] >= lo_x - reach and o[1] <= hi_y + reach and o[3] >= lo_y - reach


def _covers(centre: Point, radius: int, o: Obstacle) -> bool:
    return (
        o[0] < centre[0] + radius
        and o[2] > centre[0] - radius
        and o[1] < centre[1] + radius
        and o[3] > centre[1] - radius
    )
