"""Where a rectangle is tried next when a flaw is in its way."""

from __future__ import annotations

from typing import Any, Final

from ..optimizer.moves import inlined
from .front import ALONE, DEPTH, LEAST, LENGTH, WASTE1, WIDE1
from .trial import COLUMN, STRIP

SHIFTS: Final = 10
"""Places tried in one direction."""

AT_ONCE: Final = 0
RIGHT: Final = 1
ROW_HIGHER: Final = 2
STRIP_RIGHT: Final = 3
ITEM_HIGHER: Final = 4


@inlined
def beside(
    way: int, tries: int, kind: int, xs: int, ys: int, x: int, y: int, xs0: int, ys0: int, x0: int, y2: int,
    w: int, h: int, h2: int, g: Any, flaws: Any, flaw: int, met: int,
) -> tuple[int, int, int, int, int, int]:  # fmt: skip
    """The next place: way, tries, left of the strip, bottom of the row, left and bottom of the rectangle.

    Parameters
    ----------
    way
        Waste before it in its row, below its row, before its strip, or below it in its column; where one does
        not help, the next.
    xs0, ys0, x0
        The place at once.
    y2
        Top of the open row.
    flaw, met
        The flaw in the way now, and the one at first.
    """
    if way == RIGHT:
        if g[ALONE] == 0:
            x = max(flaws[flaw, 2], x0 + g[LEAST])
            if x + w <= g[LENGTH]:
                return way, tries, xs, ys, x, y
        way, tries, flaw = ROW_HIGHER, 0, met
        xs, ys, x, y = xs0, ys0, x0, ys0
    if way == ROW_HIGHER:
        if kind != COLUMN:
            ys = max(flaws[flaw, 3], ys0 + g[LEAST], ys)
            if ys + h + h2 <= g[DEPTH]:
                return way, tries, xs, ys, x, ys
        way, tries, flaw = STRIP_RIGHT, 0, met
        xs, ys, x, y = xs0, ys0, x0, ys0
    if way == STRIP_RIGHT:
        if kind >= STRIP:
            xs = max(flaws[flaw, 2], xs0 + g[WASTE1], xs)
            if xs + w <= g[LENGTH] and xs - xs0 <= g[WIDE1]:
                return way, tries, xs, ys, xs, y
        way, tries, flaw = ITEM_HIGHER, 0, met
        xs, ys, x, y = xs0, ys0, x0, ys0
    if way == ITEM_HIGHER and tries == 0 and h2 == 0:
        # under the top of the open row, or above the flaw in a new one
        y = y2 - h if kind == COLUMN else max(flaws[flaw, 3], ys0 + g[LEAST])
        if y > ys and y + h <= g[DEPTH]:
            return way, SHIFTS, xs, ys, x, y
    return ITEM_HIGHER + 1, tries, xs, ys, x, y
