"""Moves of the tree search: how one more rectangle enters a sheet, and what that leaves.

A state is the front of one sheet in a frame whose first cuts are square to the x axis:

========  =====================================================================
index     meaning (lengths in search units)
========  =====================================================================
SHEET     index into the sequence of sheets, -1 before the first
FRAME     0: first cut vertical; 1: first cut horizontal (x and y swapped)
X1P, X1C  left and right end of the open strip
Y2P, Y2C  bottom and top of the open row
X3P, X3C  left and right end of the last column
Y4        top of the last rectangle in that column
LAST      variant that began the last column; LAST4 the last one stacked in it
SFLAG     strip: 0 tight, 1 grown by the break-out distance, 2 open to the far raw side
RFLAG     row: likewise; LOCK: holds a rectangle narrower than the break-out distance
========  =====================================================================

Waste between a rectangle and its row, or a row and its strip, is nothing or at least the break-out
distance wide. Two rectangles whose heights differ by less share a row only where the row is at least
that distance higher than the taller one (`grown`), or where no cut bounds it (`open`).
"""

from __future__ import annotations

from typing import Any, Final

import numba
import numpy as np

SHEET: Final = 0
FRAME: Final = 1
X1P: Final = 2
X1C: Final = 3
Y2P: Final = 4
Y2C: Final = 5
X3P: Final = 6
X3C: Final = 7
Y4: Final = 8
LAST: Final = 9
LAST4: Final = 10
SFLAG: Final = 11
RFLAG: Final = 12
LOCK: Final = 13
STATE: Final = 14
"""Number of integers in a state."""

COLUMN: Final = 0
ROW: Final = 1
STRIP: Final = 2
SHEET_V: Final = 3
SHEET_H: Final = 4
STACK: Final = 5

TIGHT: Final = 0
GROWN: Final = 1
OPEN: Final = 2


def jit(function: Any) -> Any:
    """Compile for the search: no fast-math, lock released, cached where a folder can be written."""
    try:
        return numba.njit(cache=True, nogil=True)(function)
    except RuntimeError:  # no writable place for the cache
        return numba.njit(nogil=True)(function)


def inlined(function: Any) -> Any:
    """Compile as a part of each caller: for small functions of inner loops, whose arrays are dear to hand over."""
    return numba.njit(nogil=True, forceinline=True)(function)


@jit
def ends_well(rest: int, break_out: int, far_raw: int) -> bool:
    """Whether what is left between the last cut and the far side may be broken off."""
    return bool(rest == 0 or rest >= break_out or (far_raw != 0 and rest > 0))


@jit
def close_row(
    x1c: int, x3c: int, sflag: int, length: int, far_x: int, break_out: int
) -> tuple[bool, int, int]:
    """Close a row that ends at `x3c` in a strip that ends at `x1c`: allowed?, strip end, strip flag."""
    gap = x1c - x3c
    if gap == 0 or gap >= break_out or sflag == OPEN:
        return True, x1c, sflag
    grown = x1c + break_out
    if sflag == TIGHT and grown <= length and ends_well(length - grown, break_out, far_x):
        return True, grown, GROWN
    if far_x != 0:
        return True, length, OPEN
    return False, x1c, sflag


@jit
def begin(
    o: Any, x1p: int, x1c: int, sflag: int, y2p: int, w: int, h: int, v: int,
    first_row: bool, length: int, depth: int, far_x: int, far_y: int, break_out: int, levels: int, exact: int,
) -> bool:  # fmt: skip
    """The first rectangle of a new row: it fixes the row's height, and in a new strip its width."""
    height = h
    rflag = TIGHT
    lock = 0
    if break_out > 0:
        if h < break_out:  # a low row could not be broken off: leave the least waste above
            if w < break_out or levels == 2 or (levels == 3 and exact != 0):
                return False
            height = h + break_out
            rflag = GROWN
        if w < break_out:
            lock = 1
    top = y2p + height
    if top > depth or not ends_well(depth - top, break_out, far_y):
        return False
    right = x1p + w
    if first_row:
        if right > length or not ends_well(length - right, break_out, far_x):
            return False
        x1c = right
        sflag = TIGHT
    elif right > x1c:
        return False
    o[X1P] = x1p
    o[X1C] = x1c
    o[SFLAG] = sflag
    o[Y2P] = y2p
    o[Y2C] = top
    o[RFLAG] = rflag
    o[LOCK] = lock
    o[X3P] = x1p
    o[X3C] = right
    o[Y4] = y2p + h
    o[LAST] = v
    o[LAST4] = v
    return True


@jit
def place_column(
    s: Any, o: Any, w: int, h: int, v: int, length: int, depth: int, far_x: int, far_y: int,
    break_out: int, levels: int, exact: int,
) -> bool:  # fmt: skip
    """Next column in the open row. `o` may be `s` itself; it is written only on success."""
    right = s[X3C] + w
    first_row = s[Y2P] == 0
    if first_row:
        if right > length or not ends_well(length - right, break_out, far_x):
            return False
    elif right > s[X1C]:
        return False
    top = s[Y2C]
    rflag = s[RFLAG]
    gap = top - s[Y2P] - h
    if gap < 0 or (exact != 0 and levels == 3 and gap != 0):
        return False
    lock = s[LOCK]
    if break_out > 0:
        if w < break_out:
            if gap != 0 or rflag == OPEN:
                return False
            lock = 1
        elif gap != 0 and gap < break_out and rflag != OPEN:
            if s[LOCK] != 0:
                return False
            if (
                rflag == TIGHT
                and top + break_out <= depth
                and ends_well(depth - top - break_out, break_out, far_y)
            ):
                top += break_out
                rflag = GROWN
            elif far_y != 0:
                top = depth
                rflag = OPEN
            else:
                return False
    o[SHEET] = s[SHEET]
    o[FRAME] = s[FRAME]
    o[X1P] = s[X1P]
    o[X1C] = right if first_row else s[X1C]
    o[SFLAG] = s[SFLAG]
    o[Y2P] = s[Y2P]
    o[X3P] = s[X3C]
    o[Y4] = s[Y2P] + h
    o[Y2C] = top
    o[RFLAG] = rflag
    o[LOCK] = lock
    o[X3C] = right
    o[LAST] = v
    o[LAST4] = v
    return True


@jit
def place_stack(s: Any, o: Any, w: int, h: int, v: int, break_out: int, exact: int) -> bool:
    """On top of the last rectangle in its column, with four levels."""
    column = s[X3C] - s[X3P]
    gap_x = column - w
    gap_y = s[Y2C] - s[Y4] - h
    if gap_x < 0 or gap_y < 0 or (exact != 0 and gap_x != 0):
        return False
    if break_out > 0:
        if column < break_out or s[LOCK] != 0:
            return False
        if gap_x != 0 and (gap_x < break_out or h < break_out):
            return False
        if gap_y != 0 and gap_y < break_out and s[RFLAG] != OPEN:
            return False
    for k in range(STATE):
        o[k] = s[k]
    o[Y4] = s[Y4] + h
    o[LAST4] = v
    return True


@jit
def place(
    s: Any, o: Any, w: int, h: int, v: int, kind: int, length: int, depth: int, far_x: int, far_y: int,
    break_out: int, levels: int, exact: int,
) -> bool:  # fmt: skip
    """Enter a rectangle of frame size `w` x `h` by a move `kind`; `o` gets the new state.

    `length`, `depth`, `far_x` and `far_y` are those of the sheet the rectangle enters, in its frame;
    closing an open sheet first is `can_close`'s business.
    """
    if kind == COLUMN:
        return bool(place_column(s, o, w, h, v, length, depth, far_x, far_y, break_out, levels, exact))
    if kind == STACK:
        return bool(place_stack(s, o, w, h, v, break_out, exact))
    if kind == ROW:
        if s[RFLAG] == OPEN:
            return False
        ok, x1c, sflag = close_row(s[X1C], s[X3C], s[SFLAG], length, far_x, break_out)
        if not ok or not begin(
            o,
            s[X1P],
            x1c,
            sflag,
            s[Y2C],
            w,
            h,
            v,
            False,
            length,
            depth,
            far_x,
            far_y,
            break_out,
            levels,
            exact,
        ):
            return False
        o[SHEET] = s[SHEET]
        o[FRAME] = s[FRAME]
        return not (levels == 2 and exact != 0 and s[X1P] + w != x1c)
    if kind == STRIP:
        ok, x1c, sflag = close_row(s[X1C], s[X3C], s[SFLAG], length, far_x, break_out)
        if not ok or sflag == OPEN or x1c - s[X1P] < break_out:
            return False
        if not begin(
            o, x1c, x1c, TIGHT, 0, w, h, v, True, length, depth, far_x, far_y, break_out, levels, exact
        ):
            return False
        o[SHEET] = s[SHEET]
        o[FRAME] = s[FRAME]
        return True
    if not begin(o, 0, 0, TIGHT, 0, w, h, v, True, length, depth, far_x, far_y, break_out, levels, exact):
        return False
    o[SHEET] = s[SHEET] + 1
    o[FRAME] = 0 if kind == SHEET_V else 1
    return True


@jit
def can_close(s: Any, length: int, far_x: int, break_out: int) -> bool:
    """Whether the sheet of this state may be left as it is."""
    ok, x1c, sflag = close_row(s[X1C], s[X3C], s[SFLAG], length, far_x, break_out)
    return bool(ok and (sflag == OPEN or x1c - s[X1P] >= break_out))


@jit
def swept(s: Any, length: int, depth: int, least_w: int, least_h: int) -> int:
    """Area of the sheet that is used up behind the front, dead space counted at once."""
    x1p, x1c, y2p, y2c, x3c = s[X1P], s[X1C], s[Y2P], s[Y2C], s[X3C]
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
    """Whether front `a` leaves at least as much glass everywhere as front `b` (same panels placed)."""
    if a[SHEET] != b[SHEET]:
        return bool(a[SHEET] < b[SHEET])
    if a[FRAME] != b[FRAME]:
        return False
    if a[X1C] > b[X1C]:
        return False
    at = a[X1C] if b[Y2P] < a[Y2P] else (a[X3C] if b[Y2P] < a[Y2C] else a[X1P])
    if at > b[X3C]:
        return False
    at = a[X1C] if b[Y2C] < a[Y2P] else (a[X3C] if b[Y2C] < a[Y2C] else a[X1P])
    return bool(at <= b[X1P])


EMPTY: Final = np.full(STATE, 0, dtype=np.int64)
EMPTY[SHEET] = -1
EMPTY.setflags(write=False)
