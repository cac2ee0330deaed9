"""One more rectangle, or a pair upon one another, at one place of a front: what that leaves, if it may be.

Compiled twice from one source: with no flaws given (None) all that concerns them is left out.
"""

from __future__ import annotations

from typing import Any, Final

from ..optimizer.moves import inlined
from .front import (
    AFTER,
    AT,
    BEYOND,
    COLS,
    DEPTH,
    FAR,
    FILLS,
    FILLS_X,
    FRAME,
    HIGH,
    HIGH_END,
    LEAST,
    LENGTH,
    LOCKED,
    LONG,
    LONG_END,
    LRACK,
    LRACK2,
    LTOP,
    MAX1,
    MIN1,
    MIN2,
    MX,
    MY,
    NEAR_X,
    NEAR_Y,
    NEXT_MAX1,
    NEXT_MIN1,
    NONE,
    PLATE,
    RACKS,
    RACKS2,
    RAW_X,
    RAW_Y,
    RULED,
    STRICT,
    TRIM_X,
    TRIM_Y,
    X1,
    X1P,
    X3C,
    XLIM,
    Y2,
    Y2P,
    YLIM,
    ZX,
    ZY,
    beyond,
    lock,
    merge,
)

COLUMN: Final = 0
ROW: Final = 1
STRIP: Final = 2
SHEET_V: Final = 3
SHEET_H: Final = 4

GOOD: Final = 0
HOPELESS: Final = -1
"""Neither here nor farther right or up; a result above 0 is the number of a flaw in the way, plus 1."""


@inlined
def cut_at(
    m: int, z: int, low: int, end: int, raw: int, least: int, known: int,
    flaws: Any, first: int, last: int, axis: int, near: int, far: int,
) -> int:  # fmt: skip
    """The least place of a cut that the pieces before it allow and no flaw crosses; -1: nowhere.

    Parameters
    ----------
    low
        Least place by the rules.
    end, raw
        Far side of the area; where it is raw, waste of any width may lie at it.
    known
        A place that is known to be clear of flaws.
    near, far
        Ends of the cut, across.
    """
    c = m if z != BEYOND else m + least
    if c < low:
        if z == LOCKED:
            return -1
        c = max(low, m + least)
    if flaws is not None:
        if c != known:
            moved = True
            while moved and c < end:
                moved = False
                for k in range(first, last):
                    if (
                        flaws[k, axis] < c < flaws[k, axis + 2]
                        and flaws[k, 1 - axis] < far
                        and flaws[k, 3 - axis] > near
                    ):
                        if z == LOCKED:
                            return -1
                        c = max(flaws[k, axis + 2], m + least)
                        moved = True
    if c == end or (c < end and (raw != 0 or end - c >= least)):
        return int(c)
    if z != LOCKED and end >= low and (end >= m + least or (end == m and z == AT) or (raw != 0 and end >= m)):
        return int(end)
    return -1


@inlined
def tolerated(
    tol: Any, band: int, kind: int, x0: int, y0: int, x1: int, y1: int, a0: int, b0: int, a1: int, b1: int
) -> bool:
    """Whether a flaw (a0, b0, a1, b1) of this kind may lie in the rectangle: in one band of it as a whole."""
    if a0 < x0 or b0 < y0 or a1 > x1 or b1 > y1:
        return False
    dx, dy = tol[band, kind, 0], tol[band, kind, 1]
    return bool(a1 - x0 <= dx or x1 - a0 <= dx or b1 - y0 <= dy or y1 - b0 <= dy)


@inlined
def trial(
    s: Any, out: Any, kind: int, plate: int, frame: int, xs: int, ys: int, x: int, y: int, w: int,
    h: int, h2: int, rack: int, rack2: int, inner: bool, g: Any, flaws: Any, first: int, last: int, tol: Any,
    band: int,
) -> int:  # fmt: skip
    """Lay a rectangle `w` x `h` at (x, y), one of height `h2` upon it if that is not 0.

    `out` gets the new front.

    Parameters
    ----------
    kind
        Next column, new row, strip or sheet.
    plate, frame
        The sheet of the sequence that it enters.
    xs, ys
        Left end of the strip and bottom of the row that it enters.
    rack, rack2
        Racks of the two, -1: none.
    inner
        Whether it is a blank, to be cut up further.
    g
        Numbers of the sheet in its frame (see `front`).
    flaws, first, last
        Flaws of the sheet in its frame: left, bottom, right, top, kind; None: there is none on any sheet.
    tol
        Depths of the bands in which flaws of each kind may lie, table by table; `band` is the one that counts.

    Returns
    -------
    int
        `GOOD`, `HOPELESS`, or the number of the flaw in the way, plus 1.
    """
    length, depth, least = g[LENGTH], g[DEPTH], g[LEAST]
    right, top = x + w, y + h + h2
    if right > length or top > depth:
        return HOPELESS
    if y > ys and (w < least or y - ys < least or g[FILLS] != 0):
        return HOPELESS
    if (w < least and top == depth and g[TRIM_Y] != 0) or (h < least and right == length and g[TRIM_X] != 0):
        return HOPELESS  # its trim could not be broken off
    mx, zx, xlim = NONE, AT, FAR
    x1_was = y2_was = -1
    ahead = 0
    if kind <= ROW:
        mx, zx, xlim, x1_was = s[MX], s[ZX], s[XLIM], s[X1]
        if kind == ROW:
            if s[AFTER] == 0:
                _, mx, zx = merge(mx, zx, s[X3C], least)
            else:
                _, mx, zx = beyond(mx, zx, s[X3C], least)
    lone = x == xs and kind != COLUMN
    if g[FILLS_X] != 0 and not lone:
        return HOPELESS
    low = xs + (g[MIN1] if xs == 0 else g[NEXT_MIN1])
    x1 = y2 = x1_far = y2_far = 0
    my, zy, ylim = NONE, AT, FAR
    for after in range(2):
        if g[FILLS_X] != 0:
            fine, m, z = lock(mx, zx, right, least)
        elif after == 0:
            fine, m, z = merge(mx, zx, right, least)
        else:
            fine, m, z = beyond(mx, zx, right, least)
        if not fine:
            return HOPELESS
        x1 = cut_at(m, z, low, length, g[RAW_X], least, x1_was, flaws, first, last, 0, -FAR, FAR)
        if x1 < 0 or x1 - xs > (g[MAX1] if xs == 0 or x1 == length else g[NEXT_MAX1]):
            return HOPELESS
        x1_far = x1 if x1 < length else FAR
        my, zy, ylim = NONE, AT, FAR
        if kind == COLUMN:
            my, zy, ylim = s[MY], s[ZY], s[YLIM]
            if x1 == x1_was:
                y2_was = s[Y2]
        if h2 != 0 or y != ys or w < least or g[FILLS] != 0:
            fine, my, zy = lock(my, zy, top, least)
        else:
            fine, my, zy = merge(my, zy, top, least)
        if not fine:
            return HOPELESS
        y2 = cut_at(
            my, zy, ys + g[MIN2], depth, g[RAW_Y], least, y2_was, flaws, first, last, 1, xs, x1_far
        )  # fmt: skip
        if y2 < 0:
            return HOPELESS
        y2_far = y2 if y2 < depth else FAR
        if rack < 0 or inner or not too_soon(s, kind, rack, lone, xs, ys, x, y, right, top, x1, y2, h2, g):
            break
        if after == 1 or kind != COLUMN or right == length:
            return HOPELESS
        ahead = 1

    if flaws is not None:
        for k in range(first, last):
            a0, b0, a1, b1 = flaws[k, 0], flaws[k, 1], flaws[k, 2], flaws[k, 3]
            if a0 < right and a1 > x and b0 < top and b1 > y:
                if (
                    band == 0
                    or not tolerated(tol, band, flaws[k, 4], x, y, right, top, a0, b0, a1, b1)
                    or h2 != 0
                ):
                    return k + 1
            # the cuts at the ends of the column
            if b1 > ys:
                if a0 < right < a1 and right < length:
                    if b0 < y2_far:
                        return k + 1
                    ylim = min(ylim, b0)
                if a0 < x < a1 and (x > xs if kind != COLUMN else x > s[X3C]):
                    if b0 < y2_far:
                        return k + 1
                    ylim = min(ylim, b0)
            # the cut above the row before, and the one below this row
            if kind == ROW and b0 < s[Y2] < b1 and a1 > xs:
                xlim = min(xlim, a0)
            if kind != COLUMN and b0 < ys < b1 and a1 > xs and (ys > 0 or g[NEAR_Y] != 0):
                if a0 < x1_far:
                    return k + 1
                xlim = min(xlim, a0)
            # the cut before the strip
            if kind >= STRIP and a0 < xs < a1 and (xs > 0 or g[NEAR_X] != 0):
                return k + 1
            # what is cut within the column goes through the trim beyond it
            if right == length and a1 > length:
                if h2 != 0 and b0 < y + h < b1:
                    return k + 1
                if (top < y2 and b0 < top < b1) or (y > ys and b0 < y < b1):
                    return k + 1
                if top == depth and a0 < length and b1 > y:
                    return k + 1
        if x1_far > xlim or y2_far > ylim:
            return HOPELESS
    if g[RULED] != 0:
        if not ruled(kind, s, lone, xs, ys, x1, y2, right, y, h, h2, top, g):
            return HOPELESS
        if ys == 0 and y2 == depth:
            mx, zx = right, LOCKED
    if x1 - xs > (g[LONG] if x1 < length else g[LONG_END]) and not (
        ys == 0 and y2 == depth and g[NEAR_Y] == 0
    ):
        return HOPELESS
    if y2 - ys > (g[HIGH] if y2 < depth else g[HIGH_END]):
        if not lone or right != x1:
            return HOPELESS
        mx, zx = right, LOCKED
    elif g[FILLS_X] != 0 and mx == NONE:
        mx, zx = right, LOCKED

    out[PLATE] = plate
    out[FRAME] = frame
    out[X1P] = xs
    out[MX] = mx
    out[ZX] = zx
    out[XLIM] = xlim
    out[Y2P] = ys
    out[MY] = my
    out[ZY] = zy
    out[YLIM] = ylim
    out[X3C] = right
    out[X1] = x1
    out[Y2] = y2
    out[COLS] = 1 if lone else 2
    out[LTOP] = -1 if h2 != 0 or y != ys or inner else top
    out[LRACK] = rack
    out[LRACK2] = rack2
    out[RACKS] = s[RACKS] if kind == COLUMN else 0
    out[RACKS2] = s[RACKS2] if kind == COLUMN else 0
    if rack >= 0:
        out[RACKS + rack // 31 % 2] |= 1 << (rack % 31)
    if rack2 >= 0:
        out[RACKS + rack2 // 31 % 2] |= 1 << (rack2 % 31)
    out[AFTER] = ahead
    return GOOD


@inlined
def too_soon(
    s: Any, kind: int, rack: int, lone: bool, xs: int, ys: int, x: int, y: int, right: int, top: int, x1: int,
    y2: int, h2: int, g: Any,
) -> bool:  # fmt: skip
    """Whether a panel comes free with a cut that leaves panels before it in its rack in the other piece."""
    if g[STRICT] == 0 or h2 != 0 or y != ys or top != y2 or right != x1:
        return False
    if (right == g[LENGTH] and g[TRIM_X] != 0) or (top == g[DEPTH] and g[TRIM_Y] != 0):
        return False  # its trim is cut off later
    if kind == COLUMN:
        return bool(x == s[X3C] and s[LTOP] != y2 and (rack in (s[LRACK], s[LRACK2])))
    if not lone or y2 != g[DEPTH]:
        return False
    if kind == ROW:
        one = s[COLS] == 1 and s[LTOP] == s[Y2] and s[X3C] == x1
        return bool(ys == s[Y2] and not one and (s[RACKS + rack // 31 % 2] >> (rack % 31)) & 1 != 0)
    return bool(kind == STRIP and ys == 0 and x1 == g[LENGTH] and xs == s[X1])


@inlined
def ruled(
    kind: int, s: Any, lone: bool, xs: int, ys: int, x1: int, y2: int, right: int, y: int, h: int, h2: int,
    top: int, g: Any,
) -> bool:  # fmt: skip
    """Whether widths between cuts hold where a strip or a row takes all of what it lies in.

    No cut bounds it then, so that the next cuts are of its level: they are held to its widths, or refused.
    """
    whole_row = ys == 0 and y2 == g[DEPTH]
    if whole_row:
        return bool(lone and right == x1 and top == y2 and h2 == 0 and y == ys)
    if xs == 0 and x1 == g[LENGTH]:
        return False
    if lone and right == x1 and (h2 != 0 or top < y2 or y > ys):
        return bool(h >= g[MIN2] and (h2 == 0 or h2 >= g[MIN2]))
    return True
