"""Moves on one sheet with flaws: fronts that grow, waste before a flaw, exact places of the cuts around it.

The state is that of a strip, a row and what is closed in both (`MX`, `Z1` and `MY`, `Z2`): every closed end e
asks of the cut beyond it "at e, or at least the least waste further". Of any number of ends this leaves
{m} and [m + waste, ..) with z = 0, [m + waste, ..) with z = 1, and m alone with z = 2 (`LOCKED`).
A strip that widens draws out its older cuts: `XLIM` is the nearest flaw that one of them would meet, `YLIM`
the same of a row. Family of Libralesso and Fontan (EJOR 2021).
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .moves import COLUMN, ROW, jit

X1P: Final = 0
"""Left end of the open strip."""
MX: Final = 1
Z1: Final = 2
XLIM: Final = 3
Y2P: Final = 4
"""Bottom of the open row."""
MY: Final = 5
Z2: Final = 6
YLIM: Final = 7
X3C: Final = 8
"""Right end of the last column."""
X1: Final = 9
Y2: Final = 10
"""Where the strip and the row would end if they ended now; the side of the sheet: without a cut."""
X: Final = 11
Y: Final = 12
"""Place of the last block."""
STATE: Final = 13

FREE: Final = 0
BEYOND: Final = 1
LOCKED: Final = 2
FAR: Final = 2**60

LENGTH: Final = 0
DEPTH: Final = 1
RAW_X: Final = 2
RAW_Y: Final = 3
"""Whether waste of any width may end at the far side."""
NEAR_X: Final = 4
NEAR_Y: Final = 5
"""Whether a trim comes off before a panel lies at the near side."""
WASTE: Final = 6
"""Least width of waste between two cuts."""
LEAST_1: Final = 7
MOST_1: Final = 8
"""Widths of strips, the sides of the sheet counted as cuts."""
GAP_LEAST: Final = 9
GAP_MOST: Final = 10
"""Distances of level-1 cuts."""
LEAST_2: Final = 11
"""Least height of a row."""
LONGEST: Final = 12
TRIM_X: Final = 13
"""Longest cut, and the far trim that cuts across the last strip run through."""
IN_COLUMN: Final = 14
"""Cuts in a column: 0 none, 1 between a rectangle and waste, 2 between two rectangles, 3 both."""
WHOLE_ROW: Final = 15
"""Whether columns may lie in a row over the full depth: they are parted by level-1 cuts."""
TWO_LEVELS: Final = 16
"""A row holds one rectangle; 2: of exactly the width of its strip."""
DISTANCES: Final = 17
NUMBERS: Final = 18

OK: Final = 0
NO: Final = -1
BLOCKED: Final = 1


@jit
def merge(m: int, z: int, e: int, waste: int) -> tuple[int, int]:
    """The places left for a cut when one more piece ends at `e`."""
    if e >= m + waste:
        return e, FREE
    if e > m:
        return e, BEYOND
    if e > m - waste and e < m:
        return m, BEYOND
    return m, z


@jit
def at_end(c: int, m: int, z: int, end: int, raw: int, waste: int) -> int:
    """The place `c`, or the far side where what is left beyond it would be too narrow; NO for neither."""
    if c < end and (raw != 0 or end - c >= waste):
        return c
    if raw != 0 or end >= m + waste or (z == FREE and m == end) or (z == LOCKED and m == end):
        return end
    return NO


@jit
def strip_ends(m: int, z: int, x1p: int, n: Any, flaws: Any, nf: int) -> int:
    """The first place where the strip may end, clear of flaws; NO for none."""
    waste = n[WASTE]
    end = n[LENGTH]
    least = x1p + (n[LEAST_1] if x1p == 0 else max(n[LEAST_1], n[GAP_LEAST]))
    c = m if z != BEYOND else m + waste
    if c < least:
        c = max(least, m + waste)
    moved = True
    while moved and c < end:
        moved = False
        for k in range(nf):
            if flaws[k, 0] < c < flaws[k, 2]:
                c = max(flaws[k, 2], m + waste)
                moved = True
    if z == LOCKED and c != m:
        return NO
    c = int(at_end(c, m, z, end, n[RAW_X], waste))
    if c < 0 or (z == LOCKED and c != m):
        return NO
    width = c - x1p
    if width > n[MOST_1] or width < n[LEAST_1]:
        return NO
    if c == end:
        return c if width + n[TRIM_X] <= n[LONGEST] else NO
    if width > n[LONGEST] or (x1p > 0 and width > n[GAP_MOST]):
        return NO
    return c


@jit
def row_ends(m: int, z: int, y2p: int, left: int, right: int, n: Any, flaws: Any, nf: int) -> int:
    """The same of a row between `left` and `right`."""
    waste = n[WASTE]
    end = n[DEPTH]
    c = m if z != BEYOND else m + waste
    if c < y2p + n[LEAST_2]:
        c = max(y2p + n[LEAST_2], m + waste)
    moved = True
    while moved and c < end:
        moved = False
        for k in range(nf):
            if flaws[k, 1] < c < flaws[k, 3] and flaws[k, 0] < right and flaws[k, 2] > left:
                c = max(flaws[k, 3], m + waste)
                moved = True
    if z == LOCKED and c != m:
        return NO
    c = int(at_end(c, m, z, end, n[RAW_Y], waste))
    if c < 0 or (z == LOCKED and c != m) or c - y2p < n[LEAST_2]:
        return NO
    return c


@jit
def bearable(flaws: Any, k: int, bands: Any, b: int, place: int, x: int, y: int, w: int, h: int) -> bool:
    """Whether flaw `k` of a sheet may lie under a rectangle of block `b`: wholly within one of its bands."""
    kind = flaws[k, 4]
    if kind < 0:
        return False
    side, upright = bands[b, place, kind, 0], bands[b, place, kind, 1]
    if side < 0 and upright < 0:
        return False
    x0, y0, x1, y1 = flaws[k, 0], flaws[k, 1], flaws[k, 2], flaws[k, 3]
    if x0 < x or y0 < y or x1 > x + w or y1 > y + h:
        return False
    if side >= 0 and (x1 <= x + side or x0 >= x + w - side):
        return True
    return bool(upright >= 0 and (y1 <= y + upright or y0 >= y + h - upright))


@jit
def lay(
    s: Any, o: Any, n: Any, flaws: Any, nf: int, bands: Any, b: int, kind: int, sx: int, x: int, y: int, w: int, h: int,
    split: int, hung: bool,
) -> tuple[int, int, int, int]:  # fmt: skip
    """Lay a block: in the open row, or in a new row with its bottom at `y`, or in a new strip from `sx`.

    Parameters
    ----------
    s, o
        State, and the new one.
    x
        Left end of the block; where it lies beyond what is there, a column of waste is between.
    split
        Height of the lower of two rectangles; 0 for one.
    hung
        Against the top of the open row, with waste below.

    Returns
    -------
    tuple of int
        OK, NO or BLOCKED; where a flaw is in the way, from which x, bottom of a row and left end of a strip on it
        is not (0: no such shift helps).
    """
    length, depth, waste = n[LENGTH], n[DEPTH], n[WASTE]
    x1p, mx, z1, xlim = s[X1P], s[MX], s[Z1], s[XLIM]
    y2p, my, z2, ylim, x3c = s[Y2P], s[MY], s[Z2], s[YLIM], s[X3C]
    was = s[X1]
    bottom = False  # whether a cut at the bottom of the row is made now
    if kind == COLUMN:
        if n[TWO_LEVELS] != 0:
            return NO, 0, 0, 0
    else:
        if kind == ROW:
            top = s[Y2]
            for k in range(nf):
                if x3c == was and flaws[k, 0] < x3c < flaws[k, 2] and flaws[k, 1] < top and flaws[k, 3] > y2p:
                    xlim = min(xlim, x3c)
                if flaws[k, 1] < top < flaws[k, 3] and flaws[k, 0] >= was:
                    xlim = min(xlim, flaws[k, 0])
            mx, z1 = merge(mx, z1, x3c, waste)
            if n[TWO_LEVELS] == 2:
                z1 = LOCKED
            bottom = y > top
        else:
            x1p = sx
            mx = -FAR
            z1 = FREE
            xlim = FAR
            bottom = y > 0 or n[NEAR_Y] != 0
            if sx > was or (sx == 0 and n[NEAR_X] != 0):
                for k in range(nf):
                    if flaws[k, 0] < sx < flaws[k, 2]:
                        return BLOCKED, 0, 0, flaws[k, 2]
                if sx > was > 0 and (sx - was < n[GAP_LEAST] or sx - was > n[GAP_MOST]):
                    return NO, 0, 0, 0
                if sx - was > n[MOST_1]:
                    return NO, 0, 0, 0
        y2p = y
        my = -FAR
        z2 = FREE
        ylim = FAR
        x3c = x1p
    low = y2p
    if hung:
        low = s[Y2] - h
    e = x + w
    t = low + h
    if e > length or t > depth or (n[TWO_LEVELS] != 0 and x > x1p):
        return NO, 0, 0, 0
    for k in range(nf):
        if flaws[k, 0] < e and flaws[k, 2] > x and flaws[k, 1] < t and flaws[k, 3] > low:
            if split > 0:
                if not (
                    bearable(flaws, k, bands, b, 0, x, low, w, split)
                    or bearable(flaws, k, bands, b, 1, x, low + split, w, h - split)
                ):
                    return BLOCKED, flaws[k, 2], flaws[k, 3], flaws[k, 2]
            elif not bearable(flaws, k, bands, b, 0, x, low, w, h):
                return BLOCKED, flaws[k, 2], flaws[k, 3], flaws[k, 2]
    if z1 == LOCKED and e != mx:
        return NO, 0, 0, 0
    m1, f1 = merge(mx, z1, e, waste)
    if n[TWO_LEVELS] == 2:
        f1 = LOCKED
    right = strip_ends(m1, f1, x1p, n, flaws, nf)
    if right < 0:
        return NO, 0, 0, 0
    over = FAR if right == length else right
    if over > xlim:
        return NO, 0, 0, 0
    # the top of the row
    lock = hung or n[IN_COLUMN] == 0 or (split > 0 and n[IN_COLUMN] == 2)
    if z2 == LOCKED:
        if t != my and (t > my - waste or lock):
            return NO, 0, 0, 0
        m2, f2 = my, z2
    else:
        m2, f2 = merge(my, z2, t, waste)
        if lock:
            if m2 != t or f2 == BEYOND:
                return NO, 0, 0, 0
            f2 = LOCKED
    top = row_ends(m2, f2, y2p, x1p, over, n, flaws, nf)
    if top < 0:
        return NO, 0, 0, 0
    up = FAR if top == depth else top
    if up > ylim:
        return NO, 0, 0, 0
    if (
        n[LEAST_2] > (h if split == 0 else min(split, h - split))
        and x == x1p
        and e == right
        and (t < top or hung or split > 0)
    ):
        # no cut parts it from its row, so that those above and below it are of the row's level
        return NO, 0, 0, 0
    if n[DISTANCES] != 0:
        if x1p == 0 and right == length and (y2p > 0 or top < depth):
            return NO, 0, 0, 0
        if y2p == 0 and top == depth and n[WHOLE_ROW] == 0 and (x > x1p or right > e):
            return NO, 0, 0, 0
    for k in range(nf):
        x0, y0, x1, y1 = flaws[k, 0], flaws[k, 1], flaws[k, 2], flaws[k, 3]
        if y0 < up and y1 > y2p:
            if x3c > x1p and x0 < x3c < x1:
                return NO, 0, 0, 0
            if x > x3c and x0 < x < x1:
                return BLOCKED, x1, y1, x1
            if e < right and x0 < e < x1:
                return BLOCKED, x1 - w, y1, x1
        if y0 >= up and ((x3c > x1p and x0 < x3c < x1) or (x > x1p and x0 < x < x1)):
            ylim = min(ylim, y0)
        if bottom and y0 < y2p < y1:
            if x0 < over and x1 > x1p:
                return BLOCKED, 0, y1, x1
            if x0 >= over:
                xlim = min(xlim, x0)
        # a cut in a column that ends at the far side runs through the trim there
        if e == length and x1 > length and (y0 < t < y1 or (split > 0 and y0 < low + split < y1)):
            return NO, 0, 0, 0
        if e == length and x1 > length and hung and y0 < low < y1:
            return NO, 0, 0, 0
    o[X1P] = x1p
    o[MX] = mx
    o[Z1] = z1
    o[XLIM] = xlim
    o[Y2P] = y2p
    o[MY] = m2
    o[Z2] = f2
    o[YLIM] = ylim
    o[X3C] = e
    o[X1] = right
    o[Y2] = top
    o[X] = x
    o[Y] = low
    return OK, 0, 0, 0


@jit
def least_used(s: Any, kind: int, w: int, h: int, start: int, depth: int) -> tuple[int, bool]:
    """Area that is used up at the least with a block laid; whether the row or the strip might end where it does."""
    x1p, y2p, x1, y2 = s[X1P], s[Y2P], s[X1], s[Y2]
    if kind == COLUMN:
        e = s[X3C] + w
        used = (max(x1, e) - x1p) * y2p + (e - x1p) * (max(y2, y2p + h) - y2p)
        return (x1p - start) * depth + used, s[MX] != -FAR and e <= x1 and y2p + h <= y2
    if kind == ROW:
        used = (max(x1, x1p + w) - x1p) * y2 + w * h
        return (x1p - start) * depth + used, x1p + w <= x1
    return (x1 - start) * depth + w * h, False


@jit
def swept(s: Any, n: Any, least_w: int, least_h: int) -> int:
    """Area of the sheet that is used up behind the front, dead space counted at once."""
    x1p, x1c, y2p, y2c, x3c = s[X1P], s[X1], s[Y2P], s[Y2], s[X3C]
    length, depth = n[LENGTH], n[DEPTH]
    if y2p > 0 and x1c - x3c < least_w:
        x3c = x1c
    area = x1p * depth + (x1c - x1p) * y2p + (x3c - x1p) * (y2c - y2p)
    if depth - y2c < least_h:
        area += (x3c - x1p) * (depth - y2c)
    if length - x1c < least_w:
        area += (length - x1c) * depth
    return int(area)


@jit
def dominates(a: Any, b: Any) -> bool:
    """Whether front `a` leaves at least as much glass everywhere as front `b` (same panels laid)."""
    if a[X1] > b[X1]:
        return False
    at = a[X1] if b[Y2P] < a[Y2P] else (a[X3C] if b[Y2P] < a[Y2] else a[X1P])
    if at > b[X3C]:
        return False
    at = a[X1] if b[Y2] < a[Y2P] else (a[X3C] if b[Y2] < a[Y2] else a[X1P])
    return bool(at <= b[X1P])


@jit
def mix(h: int, s: Any) -> int:
    """A mark of the set laid and the state, to drop equal candidates."""
    for k in range(STATE - 2):
        h = (h ^ s[k]) * np.int64(-7046029254386353131)
        h ^= h >> 29
    return h
