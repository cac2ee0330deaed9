"""From panels side by side, in floats, to a blank in whole nanometres with its shape cuts."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, degrees

import numpy as np

from ..blanks import FULL_TURN, Blank, Member
from ..outlines import Point
from ..rules import Rules
from ..units import ceil_tick
from .cluster import NM, Cluster, Kind, Part, laid
from .cut_apart import cut_along, cut_apart

Line = tuple[int, tuple[float, float], tuple[float, float]]
"""A cut that was found elsewhere: number of the piece, as in `cut_along`, and two points of the line. [mm]"""


def _nm(length: float) -> int:
    return round(length / NM)


def blank_of(
    cluster: Cluster, along: tuple[float, float], kinds: Sequence[Kind], rules: Rules
) -> Blank | None:
    """The blank of a cluster in this direction; None where some waste cannot be broken off."""
    c, s = along
    return blank_around([p.moved(False, c, -s, 0.0, 0.0) for p in cluster.parts], kinds, rules)


def blank_around(
    parts: Sequence[Part], kinds: Sequence[Kind], rules: Rules, lines: Sequence[Line] = ()
) -> Blank | None:
    """The blank around panels as they lie; None where some waste cannot be broken off.

    Where no cuts are found for it, those along the given `lines` are tried, in the frame of the parts.

    The whole group is stretched to the next tick, under 625 nm a side: a stretch keeps lines straight and
    panels apart, and no panel grows by more than its share.
    """
    corners = [laid(kinds[p.kind].shape, p) for p in parts]
    every = np.concatenate(corners)
    x0, y0 = float(every[:, 0].min()), float(every[:, 1].min())
    wide, high = _nm(float(every[:, 0].max()) - x0), _nm(float(every[:, 1].max()) - y0)
    width, height = ceil_tick(wide), ceil_tick(high)

    def place(value: float, low: float, size: int, stretched: int) -> int:
        at = round((value - low) / NM * stretched / size)
        if abs(at) <= 5:
            return 0
        return stretched if abs(at - stretched) <= 5 else at

    outlines = [
        tuple((place(float(x), x0, wide, width), place(float(y), y0, high, height)) for x, y in points)
        for points in corners
    ]
    cuts = cut_apart(width, height, outlines, rules)
    if cuts is None and lines:

        def at(point: tuple[float, float]) -> Point:
            return place(point[0], x0, wide, width), place(point[1], y0, high, height)

        placed = [(piece, at(a), at(b)) for piece, a, b in lines]
        cuts = cut_along(width, height, outlines, placed, rules)
    if cuts is None:
        return None
    members = tuple(
        Member(p.kind, round(degrees(atan2(p.sine, p.cosine)) * 10**9) % FULL_TURN, p.flipped, outline)
        for p, outline in zip(parts, outlines, strict=True)
    )
    return Blank(width=width, height=height, members=members, cuts=cuts)
