"""The rows of a priced strip, and the items of a row, found again for its width alone."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..optimizer.moves import jit
from .tables import NONE


@jit
def rows_of_strip(
    closed: Any, heights: Any, grown: Any, tops: Any, top_heights: Any, depth: int, least: int, exact: bool
) -> Any:
    """The rows of the best strip of one width, from the far end: rows (row kind, or -1 - top number).

    Parameters
    ----------
    closed, tops
        Value of each row kind, and of each last row that runs to the raw side, at this width.
    exact
        Whether the rest at the far end must be nothing or at least `least`, unless a grown row takes it up.
    """
    n = depth + 1
    best = np.full((2, n), NONE, np.int64)
    by = np.full((2, n), -1, np.int64)
    best[0, 0] = 0
    for y in range(1, n):
        if not exact:
            best[0, y] = best[0, y - 1]
        for i in range(closed.shape[0]):
            h = heights[i]
            if h > y:
                break
            if closed[i] <= 0:
                continue
            for was in range(2):
                now = 1 if was == 1 or (exact and grown[i]) else 0
                v = best[was, y - h] + closed[i]
                if v > best[now, y]:
                    best[now, y] = v
                    by[now, y] = 2 * i + was
    value, y, state, top = 0, 0, 0, -1
    for k in range(n):
        if (not exact or k == depth or k <= depth - least) and best[0, k] > value:
            value, y, state = best[0, k], k, 0
        if best[1, k] > value:
            value, y, state = best[1, k], k, 1
    for j in range(tops.shape[0]):
        rest = depth - top_heights[j]
        if rest >= 0 and best[0, rest] + tops[j] > value:
            value, y, state, top = best[0, rest] + tops[j], rest, 0, j
    out = np.empty(n + 1, np.int64)
    count = 0
    if top >= 0:
        out[count] = -1 - top
        count += 1
    while y > 0:
        if not exact and best[0, y] == best[0, y - 1]:
            y -= 1
            continue
        code = by[state, y]
        out[count] = code // 2
        count += 1
        y -= heights[code // 2]
        state = code % 2
    return out[:count].copy()


@jit
def items_of_row(
    table: Any, sizes: Any, values: Any, low: int, begin: int, end: int, width: int, least: int, flush: bool
) -> Any:
    """The items of the best row of a width, from its exact-fill table; ends with -1 where there is none.

    Parameters
    ----------
    low, begin, end
        The row may hold the items below `low`, and those from `begin` to before `end`.
    least
        Waste at the end is at least this wide, or nothing where `flush`.
    """
    x = 0
    for e in range(1, width - least + 1):
        if table[e] > table[x]:
            x = e
    if flush and (width < least or table[width] > table[x]):
        x = width
    out = np.empty(x + 1, np.int64)
    count = 0
    while x > 0:
        found = -1
        for i in range(low + end - begin):
            k = i if i < low else begin + i - low
            w = sizes[k]
            if w <= x and table[x - w] > NONE // 2 and table[x - w] + values[k] == table[x]:
                found = k
                break
        out[count] = found
        count += 1
        if found < 0:
            break
        x -= sizes[found]
    return out[:count].copy()
