"""Small compiled parts of the beam: demand left, marks of equal states, the candidate buffer."""

from __future__ import annotations

from typing import Any

import numpy as np

from .limits import LIMITS, SIDES, place_within
from .moves import EMPTY, FRAME, SHEET, SHEET_H, SHEET_V, STATE, jit, place

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
def choose(
    out: Any, widths: Any, vrect: Any, counts: Any, uptr: Any, utype: Any, ucount: Any,
    first: int, room: int, some: int, phase: int,
) -> int:  # fmt: skip
    """Choose variants from `first` on to begin a row, strip or sheet with; their number is returned.

    The next `some` / 2 that fit (their heights fill the room best), and of each of `some` classes by
    height the first that fits, from a place that `phase` moves, and the widest.
    """
    n = widths.shape[0]
    found = 0
    for v in range(first, n):
        if found >= some // 2:
            break
        if widths[v] <= room and enough(counts, uptr, utype, ucount, vrect[v]):
            out[found] = v
            found += 1
    stride = max(1, (n - first + some - 1) // some)
    for start in range(first, n, stride):
        one = -1
        widest = 0
        best = -1
        end = min(n, start + stride)
        for k in range(end - start):
            v = start + (k + phase) % (end - start)
            if widths[v] > room or (one >= 0 and widths[v] <= widest):
                continue
            if not enough(counts, uptr, utype, ucount, vrect[v]):
                continue
            if one < 0:
                one = v
            widest = widths[v]
            best = v
        if one >= 0:
            out[found] = one
            found += 1
            if best != one:
                out[found] = best
                found += 1
    return found


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


@jit
def retrace(
    hist: Any, level: int, node: int, seq: Any, vw: Any, vh: Any, vrect: Any,
    break_out: int, levels: int, exact: int,
) -> Any:  # fmt: skip
    """The moves that led to a node: variant, rectangle and kind of each, and the state after it."""
    moves = np.empty((level, 3 + STATE), np.int64)
    for k in range(level, 0, -1):
        moves[k - 1, 0] = hist[k, node, 1]
        moves[k - 1, 2] = hist[k, node, 2]
        node = hist[k, node, 0]
    limited = seq.shape[1] > SIDES
    cur = EMPTY.copy()
    out = np.empty(STATE, np.int64)
    for k in range(level):
        v = moves[k, 0]
        kind = moves[k, 2]
        f = cur[FRAME]
        to = cur[SHEET]
        if kind == SHEET_V or kind == SHEET_H:
            f = 0 if kind == SHEET_V else 1
            to += 1
        length, depth, far_x, far_y = seq[to, f], seq[to, 1 - f], seq[to, 2 + f], seq[to, 3 - f]
        w, h = vw[f, v], vh[f, v]
        if limited:
            lim = seq[to, SIDES + f * LIMITS :]
            place_within(cur, out, w, h, v, kind, lim, length, depth, far_x, far_y, break_out, levels, exact)
        else:
            place(cur, out, w, h, v, kind, length, depth, far_x, far_y, break_out, levels, exact)
        cur[:] = out
        moves[k, 1] = vrect[f, v]
        moves[k, 3:] = cur
    return moves
