"""Drawn pairs of convex panels: laid side by side, parted by cuts, and held against what was wanted.

Two things of their own judge the places: separating axes (two convex sets that do not meet lie on either
side of a line square to an edge of one of them; Gottschalk, Lin and Manocha 1996), and the exact outlines
of what the cuts leave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from typing import Final

import numpy as np

from panewright.io.bench_draw import Draw
from panewright.io.bench_groups import deviation
from panewright.io.bench_log import Clock
from panewright.nesting.angled.cluster import Cluster, Kind, joints, kind_of, laid, single
from panewright.nesting.angled.convex import box_along
from panewright.nesting.angled.placing import blank_of
from panewright.nesting.blanks import Blank
from panewright.nesting.outlines import Outline, box, hull, narrower_than
from panewright.nesting.panels import Turn
from panewright.nesting.rules import Rules
from panewright.nesting.units import TICK, mm

PAIRS: Final = 10_000
NO_RULES: Final = Rules(break_out=0, corner_depth=0, least_angle=0)
ROOM: Final = (6000.0, 3210.0)
"""Sheet that must hold the blank. [mm]"""
GAP: Final = 30.0
"""Distance at which waste between both could be broken off. [mm]"""
THINNEST: Final = mm(5)
FLATTEST: Final = 300
"""Corners turn by more than one part in this: where edges turn less, one nanometre off moves their corner by
as many nanometres."""
MICRON: Final = 1000.0
"""What places and corners may be off. [nm]"""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two cut outlines. [nm]"""

    name: str
    how: str
    a: Outline
    b: Outline


@dataclass(frozen=True, slots=True)
class Numbered:
    """A pair that is yet to be drawn."""

    number: int

    @property
    def name(self) -> str:
        """Of the pair."""
        return f"pair-{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What came out for one pair.

    Parameters
    ----------
    places
        How many places were judged, the best of every aim first.
    overlap
        Greatest depth to which the panels of any place lie in each other; negative where they are apart. [nm]
    beyond
        Greatest distance by which a panel reaches over its blank. [nm]
    uncut
        Places for which no cuts were found.
    off
        Greatest distance of a corner from where it should be, after the cuts. [nm]
    seconds
        CPU time to find the places, without cuts. [s]
    cut_seconds
        CPU time to make a blank with its cuts of every place. [s]
    """

    places: int
    overlap: float
    beyond: float
    uncut: int
    off: float
    seconds: float
    cut_seconds: float

    @property
    def good(self) -> bool:
        """Whether all places are as they should be."""
        near = max(self.overlap, self.off) <= MICRON and self.beyond <= 0
        return self.places > 0 and near and not self.uncut


def _point(draw: Draw, wide: int, high: int) -> tuple[int, int]:
    return TICK * draw.below(mm(wide) // TICK), TICK * draw.below(mm(high) // TICK)


def _is_glass(outline: Outline) -> bool:
    """Whether it is thick enough, and no corner is so flat that the lattice cannot hold it to a micrometre."""
    if len(outline) < 3 or narrower_than(outline, THINNEST):
        return False
    for i, (x, y) in enumerate(outline):
        (px, py), (qx, qy) = outline[i - 1], outline[(i + 1) % len(outline)]
        ux, uy, vx, vy = x - px, y - py, qx - x, qy - y
        if (ux * vy - uy * vx) * FLATTEST < hypot(ux, uy) * hypot(vx, vy):
            return False
    return True


def _hull(draw: Draw, wide: int, high: int) -> Outline:
    """The hull of three to nine points, not too thin to be glass."""
    while True:
        found = hull([_point(draw, wide, high) for _ in range(draw.between(3, 9))])
        if _is_glass(found):
            return found


def _round(draw: Draw) -> Outline:
    return _hull(draw, draw.between(100, 1200), draw.between(100, 1200))


def _slender(draw: Draw) -> Outline:
    return _hull(draw, draw.between(600, 2800), draw.between(10, 60))


def _nearly(draw: Draw, outline: Outline) -> Outline:
    """The outline with one corner moved by some nanometres or micrometres: edges nearly parallel to before."""
    reach = (3, 300, 30_000, 1_000_000)[draw.below(4)]
    while True:
        points = list(outline)
        k = draw.below(len(points))
        x, y = points[k]
        points[k] = (x + draw.between(-reach, reach), y + draw.between(-reach, reach))
        moved = hull(points)
        if _is_glass(moved):
            return moved


def _same_edge(draw: Draw, outline: Outline) -> Outline:
    """Another outline on the far side of an edge of this one."""
    k = draw.below(len(outline))
    (ax, ay), (bx, by) = outline[k - 1], outline[k]
    dx, dy = bx - ax, by - ay
    while True:
        points = [(ax, ay), (bx, by)]
        for _ in range(draw.between(1, 4)):
            # to the right of the edge, so far along it and so far off it
            along, off = draw.between(-200, 1200), draw.between(50, 1000)
            points.append((ax + (dx * along + dy * off) // 1000, ay + (dy * along - dx * off) // 1000))
        found = hull(points)
        if (ax, ay) in found and (bx, by) in found and _is_glass(found):
            return found


def _mirrored(outline: Outline) -> Outline:
    return tuple((-x, y) for x, y in reversed(outline))


HOW: Final = ("random", "slender", "slender and random", "equal", "nearly equal", "mirrored", "equal edge")


def pair(seed: int, number: int) -> Pair:
    """The pair of this number, from 1; kinds of pairs take turns."""
    draw, how = Draw(seed, 7, number), HOW[number % len(HOW)]
    a = _slender(draw) if how.startswith("slender") else _round(draw)
    match how:
        case "slender":
            b = _slender(draw)
        case "equal":
            b = a
        case "nearly equal":
            b = _nearly(draw, a)
        case "mirrored":
            b = _mirrored(a)
        case "equal edge":
            b = _same_edge(draw, a)
        case _:
            b = _round(draw)
    return Pair(f"pair-{number}", how, a, b)


def _projected(points: Sequence[Sequence[float]], x: float, y: float) -> tuple[float, float]:
    reach = [p[0] * x + p[1] * y for p in points]
    return min(reach), max(reach)


def penetration(a: Sequence[Sequence[float]], b: Sequence[Sequence[float]]) -> float:
    """How deep two convex polygons lie in each other, by separating axes; negative where they are apart.

    In the unit of the points. Below zero it is the widest gap along an axis square to an edge.
    """
    best = float("inf")
    for shape in (a, b):
        for p, q in pairwise([*shape, shape[0]]):
            dx, dy = q[0] - p[0], q[1] - p[1]
            long = hypot(dx, dy)
            (a0, a1), (b0, b1) = (_projected(s, dy / long, -dx / long) for s in (a, b))
            best = min(best, a1 - b0, b1 - a0)
    return best


def tried(two: Pair, clock: Clock) -> Tried:
    """Lay a pair side by side and judge every place that the search keeps."""
    equal = two.a == two.b
    kinds = [kind_of(two.a, Turn.ANY, True, 2 if equal else 1)]
    if not equal:
        kinds.append(kind_of(two.b, Turn.ANY, True, 1))
    outlines = (two.a, two.b)
    one, other = single(0, kinds), single(len(kinds) - 1, kinds)
    began = clock()
    found = joints(one, other, np.array([ROOM]), every=True, gap=GAP)
    seconds = clock() - began
    places = [joint for aim in found for joint in aim]
    overlap = beyond = -float("inf")
    off = cut_seconds = 0.0
    uncut = 0
    for joint in places:
        cluster = joint.cluster()
        corners = [laid(kinds[p.kind].shape, p).tolist() for p in cluster.parts]
        overlap = max(overlap, penetration(corners[0], corners[1]) * 1e6)
        began = clock()
        made = _made(cluster, kinds)
        cut_seconds += clock() - began
        if made is None:
            uncut += 1
            continue
        for member in made.members:
            x0, y0, x1, y1 = box(member.outline)
            beyond = max(beyond, -x0, -y0, x1 - made.width, y1 - made.height)
        for _, shape, place in made.cuts.leaves:
            if place is not None:
                member = made.members[place]
                off = max(off, deviation(shape, outlines[member.kind], member.turned, member.mirrored))
    return Tried(
        places=len(places),
        overlap=overlap,
        beyond=beyond,
        uncut=uncut,
        off=off,
        seconds=seconds,
        cut_seconds=cut_seconds,
    )


def _made(cluster: Cluster, kinds: Sequence[Kind]) -> Blank | None:
    """The least blank of a cluster, with its cuts."""
    _, along = min((w * h, d) for d in cluster.directions() for w, h in [box_along(cluster.outline, *d)])
    return blank_of(cluster, along, kinds, NO_RULES)
