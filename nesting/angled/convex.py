"""Convex polygons in floats: hulls, extents, and all ways to lay two of them side by side.

Everything here guides a search and is compiled; what is cut is worked out afresh in whole nanometres
(`cut_apart`). Polygons are (n, 2) arrays, counter-clockwise. [mm]
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np

from ..optimizer.moves import jit

TOUCH = 1e-6
"""Lengths under this are nothing: a nanometre. [mm]"""


@jit
def area_of(p: Any) -> float:
    """Area of a polygon. [mm2]"""
    total = 0.0
    n = len(p)
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        total += p[i, 0] * p[j, 1] - p[j, 0] * p[i, 1]
    return total / 2


@jit
def hull(points: Any) -> Any:
    """Convex hull, counter-clockwise (Andrew 1979); corners within TOUCH of a line through others are dropped.

    The points are swept in a direction that no edge of glass is square to, so that rounding cannot change
    the order of points on one edge.
    """
    n = len(points)
    order = np.empty(n, np.int64)
    reach = np.empty(n)
    for i in range(n):  # few points: insertion sort
        reach[i] = 0.540302305868 * points[i, 0] + 0.841470984808 * points[i, 1]
        k = i
        while k > 0 and reach[order[k - 1]] > reach[i]:
            order[k] = order[k - 1]
            k -= 1
        order[k] = i
    out = np.empty((2 * n + 2, 2))
    size = 0
    for sweep in range(2):
        base = size
        for k in range(n):
            i = order[k] if sweep == 0 else order[n - 1 - k]
            x, y = points[i, 0], points[i, 1]
            while size - base >= 2:
                ax, ay = out[size - 2, 0], out[size - 2, 1]
                ux, uy = out[size - 1, 0] - ax, out[size - 1, 1] - ay
                vx, vy = x - ax, y - ay
                if ux * vy - uy * vx > TOUCH * sqrt(vx * vx + vy * vy):
                    break
                size -= 1
            if size - base == 1:
                dx, dy = out[size - 1, 0] - x, out[size - 1, 1] - y
                if dx * dx + dy * dy < TOUCH * TOUCH:
                    continue
            out[size, 0] = x
            out[size, 1] = y
            size += 1
        size -= 1  # the last point begins the other half
    return out[:size].copy()


@jit
def turned(p: Any, c: float, s: float) -> Any:
    """The polygon turned counter-clockwise by the angle of cosine `c` and sine `s`."""
    out = np.empty_like(p)
    for i in range(len(p)):
        out[i, 0] = p[i, 0] * c - p[i, 1] * s
        out[i, 1] = p[i, 0] * s + p[i, 1] * c
    return out


@jit
def _lowest(p: Any) -> int:
    """Index of the lowest corner, of equals the leftmost: equal within TOUCH, so that rounding decides nothing."""
    low = p[0, 1]
    for i in range(len(p)):
        low = min(low, p[i, 1])
    best = -1
    for i in range(len(p)):
        if p[i, 1] < low + TOUCH and (best < 0 or p[i, 0] < p[best, 0]):
            best = i
    return best


@jit
def no_fit(a: Any, b: Any) -> Any:
    """Where the origin of `b` may stand so that `b` touches `a` from outside: a convex polygon.

    The Minkowski sum of `a` and `-b`, by merging their edges in the order of their angles (Lozano-Perez
    1983). Edges that are parallel within rounding are taken together, with the places where ends of both
    meet between them.
    """
    na, nb = len(a), len(b)
    m = -b
    i0, j0 = _lowest(a), _lowest(m)
    out = np.empty((2 * (na + nb), 2))
    x, y = a[i0, 0] + m[j0, 0], a[i0, 1] + m[j0, 1]
    i = j = size = 0
    while i < na or j < nb:
        out[size, 0] = x
        out[size, 1] = y
        size += 1
        p, q = (i0 + i) % na, (i0 + i + 1) % na
        ux, uy = a[q, 0] - a[p, 0], a[q, 1] - a[p, 1]
        p, q = (j0 + j) % nb, (j0 + j + 1) % nb
        vx, vy = m[q, 0] - m[p, 0], m[q, 1] - m[p, 1]
        turn = ux * vy - uy * vx
        slack = TOUCH * (sqrt(ux * ux + uy * uy) + sqrt(vx * vx + vy * vy))
        take_a = i < na and (j >= nb or turn > -slack)
        take_b = j < nb and (i >= na or turn < slack)
        if take_a and take_b:
            # along two parallel edges the ends meet twice on the way
            short_a = ux * ux + uy * uy < vx * vx + vy * vy
            for k in range(2):
                first = short_a == (k == 0)
                out[size, 0] = x + (ux if first else vx)
                out[size, 1] = y + (uy if first else vy)
                size += 1
        if take_a:
            x, y, i = x + ux, y + uy, i + 1
        if take_b:
            x, y, j = x + vx, y + vy, j + 1
    return out[:size].copy()


@jit
def both_edges(a: Any, b: Any) -> tuple[Any, Any]:
    """The edges of two polygons in the order of their angles, and after each the corners of `a` and `b` reached."""
    na, nb = len(a), len(b)
    i0, j0 = _lowest(a), _lowest(b)
    edges, corners = np.empty((na + nb, 2)), np.empty((na + nb, 2), np.int64)
    i = j = 0
    for k in range(na + nb):
        p, q = (i0 + i) % na, (i0 + i + 1) % na
        ux, uy = a[q, 0] - a[p, 0], a[q, 1] - a[p, 1]
        p, q = (j0 + j) % nb, (j0 + j + 1) % nb
        vx, vy = b[q, 0] - b[p, 0], b[q, 1] - b[p, 1]
        if j >= nb or (i < na and ux * vy - uy * vx >= 0):
            edges[k, 0], edges[k, 1], i = ux, uy, i + 1
        else:
            edges[k, 0], edges[k, 1], j = vx, vy, j + 1
        corners[k, 0], corners[k, 1] = (i0 + i) % na, (j0 + j) % nb
    return edges, corners


@jit
def area_of_both(a: Any, b: Any, x: float, y: float, edges: Any, corners: Any) -> float:
    """About the area of the hull of `a` and of `b` shifted, given their `both_edges`. [mm2]

    Square to every edge the polygon that reaches farther is on the hull; between two edges this changes once at
    most. No sorting, so that it is done in a tenth of the time of `hull`.
    """
    total = 0.0
    fx = fy = px = py = 0.0
    begun = False
    n = len(edges)
    last = corners[n - 1]
    ex, ey = edges[n - 1, 0], edges[n - 1, 1]
    ahead = ey * (a[last[0], 0] - b[last[1], 0] - x) - ex * (a[last[0], 1] - b[last[1], 1] - y)
    for k in range(n):
        # the corners between the edge before and this one
        i, j = corners[k - 1, 0], corners[k - 1, 1]
        ax, ay, bx, by = a[i, 0], a[i, 1], b[j, 0] + x, b[j, 1] + y
        before, ahead = ahead, edges[k, 1] * (ax - bx) - edges[k, 0] * (ay - by)
        for step in range(2):
            if step == 1 and (before >= 0) == (ahead >= 0):
                break
            mine = before >= 0 if step == 0 else ahead >= 0
            qx, qy = (ax, ay) if mine else (bx, by)
            if begun:
                total += px * qy - qx * py
            else:
                fx, fy, begun = qx, qy, True
            px, py = qx, qy
    return (total + px * fy - fx * py) / 2


@jit
def extent_along(p: Any, ux: float, uy: float) -> tuple[float, float]:
    """Least and greatest reach of a polygon in a direction. [mm]"""
    low = high = p[0, 0] * ux + p[0, 1] * uy
    for i in range(1, len(p)):
        reach = p[i, 0] * ux + p[i, 1] * uy
        low = min(low, reach)
        high = max(high, reach)
    return low, high


@jit
def box_along(p: Any, ux: float, uy: float) -> tuple[float, float]:
    """Width along the unit vector (ux, uy) and height square to it. [mm]"""
    a, b = extent_along(p, ux, uy)
    c, d = extent_along(p, -uy, ux)
    return b - a, d - c


@jit
def directions(p: Any) -> Any:
    """Unit vectors of the edges of a polygon, mod a quarter turn, each once."""
    n = len(p)
    out = np.empty((n, 2))
    size = 0
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        dx, dy = p[j, 0] - p[i, 0], p[j, 1] - p[i, 1]
        long = sqrt(dx * dx + dy * dy)
        dx, dy = dx / long, dy / long
        while not (dx > 0 and dy >= 0):
            dx, dy = -dy, dx
        known = False
        for k in range(size):
            # parallel, or square to each other, within a nanometre over three metres
            turn = out[k, 0] * dy - out[k, 1] * dx
            dot = out[k, 0] * dx + out[k, 1] * dy
            known = known or abs(turn) < 3e-10 or abs(dot) < 3e-10
        if not known:
            out[size, 0] = dx
            out[size, 1] = dy
            size += 1
    return out[:size].copy()
