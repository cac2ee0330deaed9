"""Small compiled parts of the beam: demand left, marks of equal states, the candidate buffer."""

from __future__ import annotations

from typing import Any

import numpy as np

from .moves import STATE, jit

I64 = np.int64


@jit
def enough(counts: Any, uptr: Any, utype: Any, ucount: Any, rect: int) -> bool:
    """Whether the demand left holds all that a rectangle uses up."""
    for k in range(uptr[rect], uptr[rect + 1]):
        if counts[utype[k]] < ucount[k]:
            return False
    return True


@jit
def mix(h: int, s: Any) -> int:
    """A mark of the set placed and the state, to drop equal candidates."""
    for k in range(STATE):
        h = (h ^ s[k]) * I64(-7046029254386353131)
        h ^= h >> 29
    return h


@jit
def keep_best(
    keys: Any, count: int, keep: int, rows: Any, meta: Any, hashes: Any, values: Any, areas: Any
) -> float:
    """Move the `keep` best candidates to the front; the key of the worst kept is returned."""
    order = np.argsort(keys[:count], kind="mergesort")[:keep]
    worst = keys[order[keep - 1]]
    order = np.sort(order)
    for i in range(keep):
        j = order[i]
        if i != j:
            keys[i] = keys[j]
            rows[i] = rows[j]
            meta[i] = meta[j]
            hashes[i] = hashes[j]
            values[i] = values[j]
            areas[i] = areas[j]
    return float(worst)


@jit
def first_fit(heights: Any, room: int) -> int:
    """The first of these falling heights that is at most `room`."""
    lo, hi = 0, heights.shape[0]
    while lo < hi:
        mid = (lo + hi) // 2
        if heights[mid] > room:
            lo = mid + 1
        else:
            hi = mid
    return lo


@jit
def count_rows(width: int, fill: bool) -> int:
    """Rows of demand left that a beam holds: one for each node, or a single one that all share."""
    return 1 if fill else width


@jit
def take_chain(
    left: Any, hist: Any, level: int, node: int, uptr: Any, utype: Any, ucount: Any, sign: int
) -> None:
    """Take what a node and its parents placed from the demand `left` (sign -1), or put it back (1)."""
    for k in range(level, 0, -1):
        rect = hist[k, node, 3]
        for u in range(uptr[rect], uptr[rect + 1]):
            left[utype[u]] += sign * ucount[u]
        node = hist[k, node, 0]
