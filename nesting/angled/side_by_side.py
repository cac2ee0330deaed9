"""The best ways to lay one convex polygon beside another: for the least blank, or the least hull.

For a given turn of B and a given direction of the blank, its width and height are convex and piecewise
linear along each edge of the no-fit polygon, so that their product is least at an end of a linear piece:
at a corner of the no-fit polygon, or where an extreme of B is level with one of A. No continuous search is
needed. Turns tried are those that lay an edge of B parallel or square to one of A.
"""

from __future__ import annotations

from math import sqrt
from typing import Any, Final

import numpy as np

from ..optimizer.moves import jit
from .convex import (
    TOUCH,
    area_of,
    area_of_both,
    both_edges,
    directions,
    extent_along,
    hull,
    no_fit,
    turned,
)

KEPT: Final = 4
"""Places kept for each of the two aims."""
ABOUT: Final = 1e-5
"""`area_of_both` is this near to the area of the hull: a part of it."""
FIELDS: Final = 6
"""Columns of a place: measure [mm2], cosine and sine of the turn of B, its shift, and 1 if B is flipped."""


@jit
def turns_of(a: Any, b: Any, step: int, given: Any, every: bool) -> Any:
    """Cosine and sine of the turns of `b` to try: an edge lies against one of `a`, each turn once.

    With `every` also parallel the other way, or square to it. With a `step` other than 0 the turns are
    those `given`.
    """
    if step != 0:
        return given
    na, nb = len(a), len(b)
    out = np.empty((4 * na * nb, 2))
    size = 0
    for i in range(na):
        k = i + 1 if i + 1 < na else 0
        ax, ay = a[k, 0] - a[i, 0], a[k, 1] - a[i, 1]
        for j in range(nb):
            k = j + 1 if j + 1 < nb else 0
            bx, by = b[k, 0] - b[j, 0], b[k, 1] - b[j, 1]
            scale = sqrt((ax * ax + ay * ay) * (bx * bx + by * by))
            c, s = (ax * bx + ay * by) / scale, (bx * ay - by * ax) / scale
            c, s = -c, -s  # counter-clockwise both: edges that touch run against each other
            for _ in range(4 if every else 1):
                known = False
                for q in range(size):
                    dc, ds = out[q, 0] - c, out[q, 1] - s
                    if dc * dc + ds * ds < 1e-18:
                        known = True
                        break
                if not known:
                    out[size, 0] = c
                    out[size, 1] = s
                    size += 1
                c, s = -s, c
    return out[:size].copy()


@jit
def _hull_of_both(a: Any, b: Any, x: float, y: float) -> float:
    """Area of the hull of `a` and of `b` shifted. [mm2]"""
    na, nb = len(a), len(b)
    points = np.empty((na + nb, 2))
    points[:na] = a
    for j in range(nb):
        points[na + j, 0] = b[j, 0] + x
        points[na + j, 1] = b[j, 1] + y
    return float(area_of(hull(points)))


@jit
def _keep(
    best: Any,
    a: Any,
    b: Any,
    measure: float,
    apart: bool,
    c: float,
    s: float,
    x: float,
    y: float,
    flip: float,
) -> None:
    """Put a place among the best, rising by measure; of equals the first found stays first.

    One that is as good as another is a mirror image of it, mostly, and left out. Where both lie `apart`
    only if the hull is the same too: else their waste has another shape, and may break off where the
    other's does not.
    """
    n = len(best)
    if measure >= best[n - 1, 0] * (1 - 1e-9):
        return
    around = _hull_of_both(a, b, x, y) if apart else 0.0
    for i in range(n):
        if abs(best[i, 0] - measure) <= 1e-9 * measure and abs(best[i, FIELDS] - around) <= 1e-9 * around:
            return
    k = n - 1
    while k > 0 and best[k - 1, 0] > measure:
        best[k] = best[k - 1]
        k -= 1
    best[k, 0] = measure
    best[k, 1] = c
    best[k, 2] = s
    best[k, 3] = x
    best[k, 4] = y
    best[k, 5] = flip
    best[k, FIELDS] = around


@jit
def _clear_of(spots: Any, x: float, y: float) -> bool:
    """Whether a place lies outside a no-fit polygon, or on it."""
    n = len(spots)
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        dx, dy = spots[j, 0] - spots[i, 0], spots[j, 1] - spots[i, 1]
        if dx * (y - spots[i, 1]) - dy * (x - spots[i, 0]) <= TOUCH * (abs(dx) + abs(dy)):
            if dx * dx + dy * dy > TOUCH * TOUCH:
                return True
    return False


@jit
def _in_corners(
    a: Any, b: Any, spots: Any, along: Any, rooms: Any, best: Any, c: float, s: float, flip: float
) -> None:
    """Try `b` in each corner of the blank of `a`, or the other way round, clear of each other."""
    for k in range(len(along)):
        ux, uy = along[k, 0], along[k, 1]
        a0, a1 = extent_along(a, ux, uy)
        a2, a3 = extent_along(a, -uy, ux)
        b0, b1 = extent_along(b, ux, uy)
        b2, b3 = extent_along(b, -uy, ux)
        w, h = max(a1 - a0, b1 - b0), max(a3 - a2, b3 - b2)
        if w * h >= best[len(best) - 1, 0] or not _fits(w, h, rooms):
            continue
        for corner in range(4):
            du = a0 - b0 if corner % 2 == 0 else a1 - b1
            dv = a2 - b2 if corner < 2 else a3 - b3
            x, y = du * ux - dv * uy, du * uy + dv * ux
            if _clear_of(spots, x, y):
                _keep(best, a, b, w * h, True, c, s, x, y, flip)


@jit
def grown(p: Any, gap: float) -> Any:
    """The polygon with every edge moved out by `gap`. [mm]"""
    n = len(p)
    out = np.empty_like(p)
    for i in range(n):
        h, j = i - 1, i + 1 if i + 1 < n else 0
        ux, uy, vx, vy = p[i, 0] - p[h, 0], p[i, 1] - p[h, 1], p[j, 0] - p[i, 0], p[j, 1] - p[i, 1]
        lu, lv = sqrt(ux * ux + uy * uy), sqrt(vx * vx + vy * vy)
        ux, uy, vx, vy = ux / lu, uy / lu, vx / lv, vy / lv
        turn = ux * vy - uy * vx
        # the corner moves along the sum of both outward normals
        out[i, 0] = p[i, 0] + gap * (ux - vx) / turn
        out[i, 1] = p[i, 1] + gap * (uy - vy) / turn
    return out


@jit
def _fits(w: float, h: float, rooms: Any) -> bool:
    for k in range(len(rooms)):
        if (w <= rooms[k, 0] and h <= rooms[k, 1]) or (h <= rooms[k, 0] and w <= rooms[k, 1]):
            return True
    return False


@jit
def _least_blanks(
    a: Any,
    b: Any,
    spots: Any,
    along: Any,
    rooms: Any,
    best: Any,
    apart: bool,
    c: float,
    s: float,
    flip: float,
) -> None:
    """Try every place of the turned `b` for the least blank in every direction."""
    m = len(spots)
    for k in range(len(along)):
        ux, uy = along[k, 0], along[k, 1]
        a0, a1 = extent_along(a, ux, uy)
        a2, a3 = extent_along(a, -uy, ux)
        b0, b1 = extent_along(b, ux, uy)
        b2, b3 = extent_along(b, -uy, ux)
        # no blank is smaller than the larger of both in either direction
        wide, high = max(a1 - a0, b1 - b0), max(a3 - a2, b3 - b2)
        if wide * high >= best[len(best) - 1, 0]:
            continue
        for i in range(m):
            j = i + 1 if i + 1 < m else 0
            px, py, qx, qy = spots[i, 0], spots[i, 1], spots[j, 0], spots[j, 1]
            pu, pv = px * ux + py * uy, -px * uy + py * ux
            qu, qv = qx * ux + qy * uy, -qx * uy + qy * ux
            for level in range(5):
                part = 0.0
                if level == 1:
                    gap, way = a0 - b0 - pu, qu - pu
                elif level == 2:
                    gap, way = a1 - b1 - pu, qu - pu
                elif level == 3:
                    gap, way = a2 - b2 - pv, qv - pv
                else:
                    gap, way = a3 - b3 - pv, qv - pv
                if level > 0:
                    if abs(way) < TOUCH or gap * way <= 0 or abs(gap) >= abs(way):
                        continue
                    part = gap / way
                du, dv = pu + part * (qu - pu), pv + part * (qv - pv)
                w = max(a1, b1 + du) - min(a0, b0 + du)
                h = max(a3, b3 + dv) - min(a2, b2 + dv)
                if w * h < best[len(best) - 1, 0] and _fits(w, h, rooms):
                    x, y = px + part * (qx - px), py + part * (qy - py)
                    _keep(best, a, b, w * h, apart, c, s, x, y, flip)


@jit
def _least_hulls(a: Any, b: Any, spots: Any, best: Any, c: float, s: float, flip: float) -> None:
    """Try every corner of the no-fit polygon for the least hull."""
    edges, corners = both_edges(a, b)
    for i in range(len(spots)):
        x, y = spots[i, 0], spots[i, 1]
        if area_of_both(a, b, x, y, edges, corners) * (1 - ABOUT) >= best[len(best) - 1, 0]:
            continue
        area = _hull_of_both(a, b, x, y)
        _keep(best, a, b, area, False, c, s, x, y, flip)


@jit
def side_by_side(
    a: Any,
    b: Any,
    step: int,
    given: Any,
    every: bool,
    flips: bool,
    fixed: bool,
    rooms: Any,
    gap: float,
    most: float,
) -> Any:
    """The best places of `b` beside `a`.

    Parameters
    ----------
    a, b
        Convex polygons. [mm]
    step, given, every
        As in `turns_of`.
    flips
        Whether `b` may be flipped (x -> -x) before it is turned.
    fixed
        Whether the blank lies along the axes of `a`; else along any edge.
    rooms
        (n, 2) sizes of which one must hold the blank. [mm]
    gap
        Distance at which waste between both can be broken off. [mm]
    most
        Nothing as large as this is of any use. [mm2]

    Returns
    -------
    array
        (3, KEPT, FIELDS): for the least blank with both touching, for the least hull, and for the least
        blank with both `gap` apart or more; each rising, unused rows with a measure of `most`.
    """
    best = np.full((3, KEPT, FIELDS + 1), most)
    wide = grown(a, gap) if gap > 0 else a
    for flip in range(2 if flips else 1):
        this = b
        if flip == 1:
            this = b[::-1].copy()
            for i in range(len(this)):
                this[i, 0] = -this[i, 0]
        turns = turns_of(a, this, step, given, every)
        own = directions(a)
        for t in range(len(turns)):
            c, s = turns[t, 0], turns[t, 1]
            laid = turned(this, c, s)
            if fixed:
                along = np.array([[1.0, 0.0]])
            else:
                along = np.concatenate((own, directions(laid)))
            spots = no_fit(a, laid)
            _least_blanks(a, laid, spots, along, rooms, best[0], False, c, s, float(flip))
            _least_hulls(a, laid, spots, best[1], c, s, float(flip))
            if every:
                spots = no_fit(wide, laid)
                _in_corners(a, laid, spots, along, rooms, best[2], c, s, float(flip))
                _least_blanks(a, laid, spots, along, rooms, best[2], True, c, s, float(flip))
    return best[:, :, :FIELDS].copy()
