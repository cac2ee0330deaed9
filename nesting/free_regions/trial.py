"""Where a panel may lie in a free region, and what its scores leave there.

A panel lies with an edge on an edge of the region (or, where it may only be turned by steps, touches it),
slid to either end of where it fits. Its other edges are scored one after another; each off-cut is a convex
free region again, so that whatever is made in this way can be cut edge to edge.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .geometry import FLUSH, NEAR, area_of, cosine_at, jit, split, width_of

BREAK_OUT: Final = 0
CORNER_DEPTH: Final = 1
COSINE: Final = 2
LONGEST: Final = 3
FAR_X: Final = 4
FAR_Y: Final = 5
RULES: Final = 6
"""Rules of a trial: as in `Slivers` (cosine of the least angle), and the far sides of the room. [mm]"""


@jit
def frame(rx: Any, ry: Any, n: int, j: int, out: Any) -> Any:
    """The region seen from its edge j: lines a x + b y >= c of its edges into `out` (3, n).

    The frame has its origin at the first corner of the edge and its x axis along it; returns the axis.
    """
    k = j + 1 if j + 1 < n else 0
    ex, ey = rx[k] - rx[j], ry[k] - ry[j]
    length = np.sqrt(ex * ex + ey * ey)
    if length < FLUSH:
        return 0.0, 0.0
    ex /= length
    ey /= length
    for i in range(n):
        m = i + 1 if i + 1 < n else 0
        dx, dy = rx[m] - rx[i], ry[m] - ry[i]
        size = np.sqrt(dx * dx + dy * dy)
        if size < FLUSH:
            out[0, i] = out[1, i] = 0.0
            out[2, i] = -1.0
            continue
        a, b = -dy / size, dx / size
        out[0, i] = a * ex + b * ey
        out[1, i] = b * ex - a * ey
        out[2, i] = a * (rx[i] - rx[j]) + b * (ry[i] - ry[j])
    return ex, ey


@jit
def slide(lines: Any, n: int, vx: Any, vy: Any, m: int) -> Any:
    """First and last shift along the x axis at which all corners are within all lines."""
    low, high = -np.inf, np.inf
    for i in range(n):
        a, b, c = lines[0, i], lines[1, i], lines[2, i]
        least = np.inf
        for k in range(m):
            d = a * vx[k] + b * vy[k]
            least = min(least, d)
        gap = c - least
        if a > 1e-9:
            low = max(low, gap / a)
        elif a < -1e-9:
            high = min(high, gap / a)
        elif gap > NEAR:
            return 1.0, 0.0
        if low > high + NEAR:
            return 1.0, 0.0
    if low > high:
        low = high = 0.5 * (low + high)
    return low, high


@jit
def breaks(x: Any, y: Any, n: int, sx: float, sy: float, rules: Any) -> bool:
    """Whether the right part of a split may be broken off; (sx, sy) is the direction of the score."""
    if rules[LONGEST] > 0 and abs(sx) > 1e-9 and abs(sy) > 1e-9:
        dx, dy = x[0] - x[n - 1], y[0] - y[n - 1]
        if dx * dx + dy * dy > rules[LONGEST] ** 2:
            return False
    if rules[BREAK_OUT] <= 0:
        return True
    width = width_of(x, y, n)
    if width >= rules[BREAK_OUT] - FLUSH:
        return True
    # waste along a far side goes with the straight cuts that take the room out of the sheet
    side = 0 if abs(sx) < 1e-9 else (1 if abs(sy) < 1e-9 else -1)
    if side >= 0:
        far = rules[FAR_X + side]
        reached = 0
        for i in range(n):
            p = x[i] if side == 0 else y[i]
            if abs(p - far) < FLUSH:
                reached += 1
        if reached >= 2:
            return True
    if width < rules[CORNER_DEPTH] - FLUSH:
        return False
    most = rules[COSINE] + 1e-9
    return bool(cosine_at(x, y, n, 0) <= most and cosine_at(x, y, n, n - 1) <= most)


@jit
def use_of(x: Any, y: Any, n: int, guide: Any) -> float:
    """What a free region is worth: less than its area, the less the smaller and narrower it is. [mm2]"""
    size = area_of(x, y, n)
    if size < guide[0]:
        return 0.0
    width = width_of(x, y, n)
    if width < guide[1]:
        return 0.0
    return float(guide[4] * size * (size / (size + guide[2])) * (width / (width + guide[3])))


@jit
def cut_out(
    rx: Any,
    ry: Any,
    n: int,
    ends: Any,
    m: int,
    first: int,
    second: int,
    rules: Any,
    guide: Any,
    work: Any,
    order: Any,
    parts: Any,
    sizes: Any,
    uses: Any,
) -> int:
    """Score a panel out of a region: the number of scores, or -1 where that is not allowed.

    Parameters
    ----------
    rx, ry, n
        The region.
    ends, m
        Lines (4, m or more) with the panel on their left: its m edges, then those that may be scored first.
    first, second
        Lines that are scored first; -1 for the edge with the deepest off-cut, as for all that follow.
    work
        (3, 2, room) scratch.
    order, parts, sizes, uses
        Receive the lines in the order of their scores, the off-cuts, their corners and what they are worth.
    """
    hand = work[0]
    for i in range(n):
        hand[0, i] = rx[i]
        hand[1, i] = ry[i]
    count = 0
    done = 0
    while True:
        best, deepest = -1, FLUSH
        if count == 0 and first >= 0:
            best = first
        elif count == 1 and second >= 0:
            best = second
        else:
            for e in range(m):
                if done & (1 << e):
                    continue
                depth = _depth(hand, n, ends[0, e], ends[1, e], ends[2, e], ends[3, e])
                if depth <= FLUSH:
                    done |= 1 << e
                elif depth > deepest:
                    best, deepest = e, depth
        if best < 0:
            break
        part = parts[count]
        ax, ay, bx, by = ends[0, best], ends[1, best], ends[2, best], ends[3, best]
        left, k = split(hand[0], hand[1], n, ax, ay, bx, by, work[1], part)
        if k < 3 or left < 3 or not breaks(part[0], part[1], k, bx - ax, by - ay, rules):
            return -1
        n = left
        for i in range(n):
            hand[0, i] = work[1, 0, i]
            hand[1, i] = work[1, 1, i]
        order[count] = best
        sizes[count] = k
        uses[count] = use_of(part[0], part[1], k, guide)
        done |= 1 << best
        count += 1
    return count


@jit
def _depth(hand: Any, n: int, ax: float, ay: float, bx: float, by: float) -> float:
    """How far the piece in hand reaches beyond a line, on its right. [mm]"""
    ex, ey = bx - ax, by - ay
    length = np.sqrt(ex * ex + ey * ey)
    most = 0.0
    for i in range(n):
        d = -(ex * (hand[1, i] - ay) - ey * (hand[0, i] - ax)) / length
        most = max(most, d)
    return most
