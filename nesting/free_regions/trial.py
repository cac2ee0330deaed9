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
def use_of(x: Any, y: Any, n: int, size: float, guide: Any) -> float:
    """What a free region of this area is worth: less, the smaller and narrower it is. [mm2]"""
    if size < guide[0]:
        return 0.0
    width = width_of(x, y, n)
    if width < guide[1]:
        return 0.0
    return float(worth_at_most(size, guide) * (width / (width + guide[3])))


@jit
def worth_at_most(size: float, guide: Any) -> float:
    """A bound on what free regions of this area together are worth. [mm2]"""
    return float(guide[4] * size * (size / (size + guide[2])))


@jit
def ranked(rx: Any, ry: Any, n: int, ends: Any, m: int, turns: Any) -> int:
    """The edges of a panel that have to be scored, the deepest off-cut first, into `turns`; their number."""
    count = 0
    for e in range(m):
        ex, ey = ends[2, e] - ends[0, e], ends[3, e] - ends[1, e]
        most = 0.0
        for i in range(n):
            most = max(most, ey * (rx[i] - ends[0, e]) - ex * (ry[i] - ends[1, e]))
        most /= np.sqrt(ex * ex + ey * ey)
        if most <= FLUSH:
            continue
        at = count
        while at > 0 and turns[1, at - 1] < most:
            turns[0, at] = turns[0, at - 1]
            turns[1, at] = turns[1, at - 1]
            at -= 1
        turns[0, at] = e
        turns[1, at] = most
        count += 1
    return count


@jit
def cut_out(
    rx: Any,
    ry: Any,
    n: int,
    ends: Any,
    turns: Any,
    many: int,
    first: int,
    second: int,
    need: float,
    rules: Any,
    guide: Any,
    work: Any,
    order: Any,
    parts: Any,
    sizes: Any,
    uses: Any,
) -> int:
    """Score a panel out of a region: the number of scores; -1 where that is not allowed, -2 if not worth it.

    Parameters
    ----------
    rx, ry, n
        The region.
    ends
        Lines (4, any number) with the panel on their left.
    turns, many
        The lines that have to be scored, in this order (see `ranked`).
    first, second
        Lines that are scored before; -1 for none.
    need
        What the off-cuts must be worth together at least. [mm2]
    work
        (2, 2, room) scratch.
    order, parts, sizes, uses
        Receive the lines in the order of their scores, the off-cuts, their corners and what they are worth.
    """
    hand, other = work[0], work[1]
    for i in range(n):
        hand[0, i] = rx[i]
        hand[1, i] = ry[i]
    count = 0
    total = 0.0
    for at in range(-2, many):
        if at < 0:
            e = first if at == -2 else second
            if e < 0:
                continue
        else:
            e = int(turns[0, at])
            if e == first:
                continue
        part = parts[count]
        ax, ay, bx, by = ends[0, e], ends[1, e], ends[2, e], ends[3, e]
        left, k = split(hand[0], hand[1], n, ax, ay, bx, by, other, part)
        if k == 0 and at >= 0:
            continue
        if k < 3 or left < 3 or not breaks(part[0], part[1], k, bx - ax, by - ay, rules):
            return -1
        n = left
        hand, other = other, hand
        order[count] = e
        sizes[count] = k
        size = area_of(part[0], part[1], k)
        uses[count] = size
        total += worth_at_most(size, guide)
        count += 1
    if total < need:
        return -2
    for k in range(count):
        uses[k] = use_of(parts[k, 0], parts[k, 1], sizes[k], uses[k], guide)
    return count
