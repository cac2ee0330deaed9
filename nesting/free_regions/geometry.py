"""Compiled geometry of convex polygons: splitting, area, least width, angles at a score."""

from __future__ import annotations

from typing import Any, Final

import numba
import numpy as np

NEAR: Final = 1e-7
"""Points nearer to a line than this lie on it. [mm]"""
FLUSH: Final = 1e-6
"""A score that would break off less depth than this is none. [mm]"""


def jit(function: Any) -> Any:
    """Compile: no fast-math, lock released, cached where a folder can be written."""
    try:
        return numba.njit(cache=True, nogil=True)(function)
    except RuntimeError:  # no writable place for the cache
        return numba.njit(nogil=True)(function)


@jit
def area_of(x: Any, y: Any, n: int) -> float:
    """Signed area. [mm2]"""
    total = 0.0
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        total += x[i] * y[j] - x[j] * y[i]
    return 0.5 * total


@jit
def width_of(x: Any, y: Any, n: int) -> float:
    """Least distance of two parallel lines that hold the polygon; one of them carries an edge. [mm]"""
    least = np.inf
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        ex, ey = x[j] - x[i], y[j] - y[i]
        length = np.sqrt(ex * ex + ey * ey)
        if length < NEAR:
            continue
        most = 0.0
        for k in range(n):
            d = (ex * (y[k] - y[i]) - ey * (x[k] - x[i])) / length
            most = max(most, d)
        least = min(least, most)
    return least


@jit
def split(x: Any, y: Any, n: int, ax: float, ay: float, bx: float, by: float, left: Any, right: Any) -> Any:
    """Split along the line from a to b; the numbers of corners of the left and the right part.

    `left` and `right` are (2, room) arrays. -1 where they have no room. Nothing lies right of the line where it
    would be no deeper than `FLUSH`. The corners of the score are the
    first of the right part and its last.
    """
    ex, ey = bx - ax, by - ay
    length = np.sqrt(ex * ex + ey * ey)
    ex /= length
    ey /= length
    room = left.shape[1]
    nl = nr = 0
    start = -1
    # begin the right part at the point where the outline crosses from left to right
    depth = 0.0
    dj = ex * (y[0] - ay) - ey * (x[0] - ax)
    for i in range(n):
        di = dj
        j = i + 1 if i + 1 < n else 0
        dj = ex * (y[j] - ay) - ey * (x[j] - ax)
        depth = max(depth, -di)
        if di >= -NEAR and dj < -NEAR:
            start = i
    if depth <= FLUSH:
        start = -1
    if start < 0:
        for i in range(n):
            left[0, i] = x[i]
            left[1, i] = y[i]
        return n, 0
    for s in range(n):
        i = start + s
        if i >= n:
            i -= n
        j = i + 1 if i + 1 < n else 0
        di = ex * (y[i] - ay) - ey * (x[i] - ax)
        dj = ex * (y[j] - ay) - ey * (x[j] - ax)
        if nl + 2 > room or nr + 2 > room:
            return -1, -1
        if di > NEAR:
            left[0, nl] = x[i]
            left[1, nl] = y[i]
            nl += 1
        elif di < -NEAR:
            right[0, nr] = x[i]
            right[1, nr] = y[i]
            nr += 1
        else:
            left[0, nl] = x[i]
            left[1, nl] = y[i]
            nl += 1
            right[0, nr] = x[i]
            right[1, nr] = y[i]
            nr += 1
        if (di > NEAR and dj < -NEAR) or (di < -NEAR and dj > NEAR):
            t = di / (di - dj)
            px = x[i] + t * (x[j] - x[i])
            py = y[i] + t * (y[j] - y[i])
            left[0, nl] = px
            left[1, nl] = py
            nl += 1
            right[0, nr] = px
            right[1, nr] = py
            nr += 1
    return nl, nr


@jit
def cosine_at(x: Any, y: Any, n: int, i: int) -> float:
    """Cosine of the inner angle at corner i."""
    p = i - 1 if i > 0 else n - 1
    q = i + 1 if i + 1 < n else 0
    ax, ay, bx, by = x[p] - x[i], y[p] - y[i], x[q] - x[i], y[q] - y[i]
    return float((ax * bx + ay * by) / np.sqrt((ax * ax + ay * ay) * (bx * bx + by * by)))
