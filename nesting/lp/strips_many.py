"""Compiled tables that hold for many sheet sizes at once: strips of every width and many lengths.

The best rows of a strip up to a height are found on the way to those of a higher one, and the best strips of
a sheet up to a length on the way to those of a longer one. So one table for the longest sheet holds the
values of all shorter ones, and a hundred sizes cost little more than the largest of them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..optimizer.moves import jit
from .tables import BLOCK, I32, raise_by_four, raise_by_one, reachable, useful


@jit
def strips_many(rows: Any, heights: Any, tops: Any, top_heights: Any, depths: Any, reach: Any) -> Any:
    """Best value of a strip of every width and of each of some lengths; its far end is a raw side.

    Parameters
    ----------
    rows, heights, tops, top_heights
        As for `tables.strips_raw`.
    depths
        Lengths of strips, rising.
    reach
        For every width, the greatest length that is asked for; it never rises. Values beyond it are not told.

    Returns
    -------
    array
        int32 of shape (depths, widths).
    """
    n_x = rows.shape[1]
    out = np.zeros((depths.shape[0], n_x), np.int32)
    none = np.zeros(rows.shape[0], np.bool_)
    none[:] = True
    for b in range(0, n_x, BLOCK):
        e = min(b + BLOCK, n_x)
        m = e - b
        depth = reach[b]
        if depth <= 0:
            break
        kept = useful(rows, heights, none, b, e, False)
        block = np.empty((kept.shape[0], BLOCK), np.int32)
        high = np.empty(kept.shape[0], np.int64)
        for i in range(kept.shape[0]):
            high[i] = heights[kept[i]]
            for x in range(m):
                block[i, x] = rows[kept[i], b + x]
        points = reachable(high, depth)
        below = np.empty(depth + 1, np.int64)
        p = 0
        for y in range(depth + 1):
            if p + 1 < points.shape[0] and points[p + 1] <= y:
                p += 1
            below[y] = p
        best = np.zeros((points.shape[0], BLOCK), np.int32)
        source = np.empty(kept.shape[0], np.int64)
        for p in range(1, points.shape[0]):
            k = 0
            while k < high.shape[0] and high[k] <= points[p]:
                source[k] = below[points[p] - high[k]]
                k += 1
            now = best[p]
            before = best[p - 1]
            for x in range(m):
                now[x] = before[x]
            i = 0
            while i + 3 < k:
                raise_by_four(
                    now, best[source[i]], best[source[i + 1]], best[source[i + 2]], best[source[i + 3]],
                    block[i], block[i + 1], block[i + 2], block[i + 3], m,
                )  # fmt: skip
                i += 4
            while i < k:
                raise_by_one(now, best[source[i]], block[i], m)
                i += 1
        for d in range(depths.shape[0]):
            if depths[d] > depth:
                break
            last = best[below[depths[d]]]
            for x in range(m):
                out[d, b + x] = last[x]
            for j in range(tops.shape[0]):
                if top_heights[j] <= depths[d]:
                    from_ = best[below[depths[d] - top_heights[j]]]
                    for x in range(m):
                        c = I32(from_[x] + tops[j, b + x])
                        out[d, b + x] = max(out[d, b + x], c)
    return out


@jit
def side_by_side(widths: Any, closed: Any, length: int) -> Any:
    """Best value of strips side by side up to every length whose far side is raw, and the last strip of each.

    Parameters
    ----------
    widths
        Rising strip widths.
    closed
        Value of a strip of each.
    length
        The greatest length.

    Returns
    -------
    tuple
        Values, and indexes of the last strip (-1: the same as one unit shorter).
    """
    best = np.zeros(length + 1, np.int32)
    by = np.full(length + 1, -1, np.int64)
    for x in range(1, length + 1):
        value = best[x - 1]
        at = -1
        for i in range(widths.shape[0]):
            w = widths[i]
            if w > x:
                break
            c = best[x - w] + closed[i]
            if c > value:
                value = c
                at = i
        best[x] = value
        by[x] = at
    return best, by


@jit
def last_open(best: Any, opened: Any, length: int) -> Any:
    """Where the best last strip that runs to the raw side begins, and the sheet's value; -1 for no such strip."""
    value, at = best[length], -1
    for x in range(length):
        c = best[x] + opened[length - x - 1]
        if c > value:
            value, at = c, x
    return value, at


@jit
def rising(closed: Any) -> Any:
    """Indexes of the strips worth more than every narrower one: beside a raw side no other is of use."""
    keep = np.empty(closed.shape[0], np.int64)
    count = 0
    most = 0
    for i in range(closed.shape[0]):
        if closed[i] > most:
            most = closed[i]
            keep[count] = i
            count += 1
    return keep[:count].copy()
