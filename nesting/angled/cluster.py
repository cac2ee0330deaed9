"""Clusters: panels lying side by side in a frame of their own, as the search for groups knows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ..outlines import Outline
from ..panels import Turn
from .convex import area_of, box_along, directions, hull
from .side_by_side import side_by_side

NM = 1e-6
"""A nanometre. [mm]"""
STEPS = {Turn.ANY: 0, Turn.QUARTER: 1, Turn.HALF: 2, Turn.NONE: 4}
"""Least turn of a panel, in quarter turns; 0: any."""
QUARTERS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


@dataclass(frozen=True, slots=True)
class Part:
    """A panel in a cluster: its kind, flipped (x -> -x) or not, then turned, then shifted. [mm]"""

    kind: int
    flipped: bool
    cosine: float
    sine: float
    x: float
    y: float

    def moved(self, flip: bool, c: float, s: float, x: float, y: float) -> Part:
        """The part after the whole cluster is flipped, turned and shifted."""
        kc, ks, kx, ky = self.cosine, self.sine, self.x, self.y
        if flip:  # a reflection and a turn by a: a turn by -a after the reflection
            ks, kx = -ks, -kx
        return Part(
            self.kind,
            self.flipped != flip,
            c * kc - s * ks,
            s * kc + c * ks,
            c * kx - s * ky + x,
            s * kx + c * ky + y,
        )


def laid(shape: Any, part: Part) -> Any:
    """The corners of a panel's cut outline where a part lies, counter-clockwise. [mm]"""
    points = shape[::-1] * np.array([-1.0, 1.0]) if part.flipped else shape
    c, s = part.cosine, part.sine
    return points @ np.array([[c, s], [-s, c]]) + np.array([part.x, part.y])


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of panel for the search: its cut outline [mm], how it may turn, whether it may be flipped.

    Parameters
    ----------
    shape
        (n, 2), counter-clockwise, lower left of its box at the origin. [mm]
    step
        See `STEPS`.
    flips
        Whether it may be cut mirror-image.
    demand
        How many there are.
    """

    shape: Any
    step: int
    flips: bool
    demand: int

    @property
    def area(self) -> float:
        """Area of the cut outline. [mm2]"""
        return float(area_of(self.shape))


def kind_of(cut: Outline, turn: Turn, mirror: bool, demand: int) -> Kind:
    """The kind of a panel with this cut outline [nm] and freedom."""
    x0, y0 = min(p[0] for p in cut), min(p[1] for p in cut)
    shape = np.array([((x - x0) * NM, (y - y0) * NM) for x, y in cut])
    return Kind(shape, STEPS[turn], mirror, demand)


@dataclass(frozen=True)
class Cluster:
    """Panels side by side.

    Parameters
    ----------
    parts
        In the order in which they were laid.
    counts
        Pairs (kind, number), rising by kind.
    outline
        Their convex hull. [mm]
    step
        Least turn of the whole, in quarter turns; 0: any.
    flips
        Whether the whole may be flipped.
    """

    parts: tuple[Part, ...]
    counts: tuple[tuple[int, int], ...]
    outline: Any
    step: int
    flips: bool

    @cached_property
    def hull_area(self) -> float:
        """Area of the hull. [mm2]"""
        return float(area_of(self.outline))

    def uses(self, kind: int) -> int:
        """How many of a kind it holds."""
        return dict(self.counts).get(kind, 0)

    @property
    def size(self) -> int:
        """Number of panels."""
        return len(self.parts)

    @cached_property
    def blank(self) -> tuple[float, float, float]:
        """Least area of a blank, and the direction along which it lies. [mm2]"""
        along = self.directions()
        areas = []
        for ux, uy in along:
            w, h = box_along(self.outline, ux, uy)
            areas.append((w * h, float(ux), float(uy)))
        return min(areas, key=lambda a: a[0])

    def directions(self) -> list[tuple[float, float]]:
        """Directions along which a blank may lie, each standing for its four quarter turns."""
        if self.step:
            return [(1.0, 0.0)]
        return [(float(x), float(y)) for x, y in directions(self.outline)]


def single(kind: int, kinds: Sequence[Kind]) -> Cluster:
    """A panel alone."""
    k = kinds[kind]
    return Cluster((Part(kind, False, 1.0, 0.0, 0.0, 0.0),), ((kind, 1),), hull(k.shape), k.step, k.flips)


def together(a: Cluster, b: Cluster) -> tuple[tuple[int, int], ...]:
    """How many of each kind both hold."""
    counts = dict(a.counts)
    for kind, n in b.counts:
        counts[kind] = counts.get(kind, 0) + n
    return tuple(sorted(counts.items()))


@dataclass(frozen=True, slots=True)
class Joint:
    """A way to lay two clusters side by side, not yet worked out: its measure, and how the second lies."""

    measure: float
    a: Cluster
    b: Cluster
    place: tuple[float, float, float, float, bool]

    def cluster(self) -> Cluster:
        """Both as one cluster."""
        a, b, (c, s, x, y, flip) = self.a, self.b, self.place
        moved = tuple(p.moved(flip, c, s, x, y) for p in b.parts)
        points = b.outline[::-1] * np.array([-1.0, 1.0]) if flip else b.outline
        points = points @ np.array([[c, s], [-s, c]]) + np.array([x, y])
        outline = hull(np.concatenate((a.outline, points)))
        return Cluster((*a.parts, *moved), together(a, b), outline, a.step, a.flips and b.flips)


def joints(
    a: Cluster, b: Cluster, rooms: Any, *, every: bool, gap: float = 0.0, most: float = 1e300
) -> tuple[list[Joint], list[Joint], list[Joint]]:
    """The best ways to lay two clusters side by side: for the blank, for the hull, for the blank clear of each other.

    Parameters
    ----------
    a, b
        What is laid together.
    rooms
        Sizes of which one must hold the blank. [mm]
    every
        Try also turns in which no edge of one lies against an edge of the other, and places apart.
    gap
        Distance at which waste between them can be broken off. [mm]
    most
        Nothing as large as this is of any use. [mm2]
    """
    if b.step and (not a.step or b.step > a.step):
        a, b = b, a  # what may turn less keeps its place
    elif a.step == b.step and a.size < b.size:
        a, b = b, a
    given = np.array(QUARTERS[:: b.step] if b.step else [], dtype=np.float64).reshape(-1, 2)
    flips = b.flips and b.size == 1
    tables = side_by_side(a.outline, b.outline, b.step, given, every, flips, a.step != 0, rooms, gap, most)
    found = [
        [
            Joint(measure, a, b, (c, s, x, y, bool(flip)))
            for measure, c, s, x, y, flip in table.tolist()
            if measure < most
        ]
        for table in tables
    ]
    return found[0], found[1], found[2]
