"""Compiled tables of exact staged pricing: rows, strips and sheets with the break-out distance.

Gilmore and Gomory 1965 (multistage knapsacks), with exact filling, so that waste is nothing or at
least the break-out distance. Values are whole numbers in 32 bits; `NONE` marks what cannot be filled.
The sums stay far from overflow because the caller scales values to at most `MOST` a sheet.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from ..optimizer.moves import jit

NONE: Final = -(2**30)
MOST: Final = 2**28
BLOCK: Final = 128
"""Strip widths worked on together: their rows fit the processor's cache."""

I32 = np.int32


@jit
def extend(table: Any, sizes: Any, values: Any, begin: int, end: int) -> None:
    """Let items `begin` to `end` be used any number of times; table[x]: best value filling x exactly."""
    n = table.shape[0]
    for i in range(begin, end):
        w, v = sizes[i], values[i]
        for x in range(w, n):
            c = table[x - w] + v
            table[x] = max(table[x], c)


@jit
def prefixes(sizes: Any, values: Any, ends: Any, capacity: int) -> Any:
    """Exact-fill tables of the first items: row j + 1 holds items up to ends[j], row 0 none."""
    out = np.full((ends.shape[0] + 1, capacity + 1), NONE, np.int32)
    out[0, 0] = 0
    begin = 0
    for j in range(ends.shape[0]):
        out[j + 1] = out[j]
        extend(out[j + 1], sizes, values, begin, ends[j])
        begin = ends[j]
    return out


@jit
def exact_rows(upto: Any, sizes: Any, values: Any, low: Any, begin: Any, end: Any) -> Any:
    """Exact-fill tables of rows: each holds the first items of a row of `upto`, and a run of its own."""
    out = np.empty((low.shape[0], upto.shape[1]), np.int32)
    for r in range(low.shape[0]):
        out[r] = upto[low[r]]
        extend(out[r], sizes, values, begin[r], end[r])
    return out


@jit
def wasted(tables: Any, least: int) -> Any:
    """Value of every length when it ends with waste at least `least` wide."""
    out = np.empty_like(tables)
    for r in range(tables.shape[0]):
        best = I32(NONE)
        for x in range(tables.shape[1]):
            if x >= least:
                best = max(best, tables[r, x - least])
            out[r, x] = best
    return out


def ended(tables: Any, least: int) -> Any:
    """Value of every length when waste at its end is nothing or at least `least` wide."""
    return np.maximum(wasted(tables, least), tables)


@jit
def useful(rows: Any, heights: Any, grown: Any, begin: int, end: int, exact: bool) -> Any:
    """Rows that no lower row matches at all strip widths of a block.

    Where the far end is cut (`exact`), only a lower row that may be stretched can stand for another.
    """
    n = rows.shape[0]
    keep = np.ones(n, np.bool_)
    for r in range(n):
        some = False
        for x in range(begin, end):
            if rows[r, x] > 0:
                some = True
                break
        if not some:
            keep[r] = False
            continue
        for q in range(n):
            if q == r or not keep[q] or heights[q] > heights[r] or (grown[r] and not grown[q]):
                continue
            if heights[q] == heights[r] and q > r:
                continue
            if exact and heights[q] != heights[r] and not grown[q]:
                continue
            better = True
            for x in range(begin, end):
                if rows[r, x] > rows[q, x]:
                    better = False
                    break
            if better:
                keep[r] = False
                break
    return np.flatnonzero(keep)


@jit
def reachable(heights: Any, depth: int) -> Any:
    """Sums of row heights up to the depth, 0 and the depth included."""
    mark = np.zeros(depth + 1, np.bool_)
    mark[0] = True
    for r in range(heights.shape[0]):
        h = heights[r]
        for y in range(h, depth + 1):
            if mark[y - h]:
                mark[y] = True
    mark[depth] = True
    return np.flatnonzero(mark)


@jit
def raise_by_one(now: Any, a: Any, row: Any, count: int) -> None:
    """Raise `now` to a sum."""
    for x in range(count):
        now[x] = max(now[x], I32(a[x] + row[x]))


@jit
def raise_by_four(
    now: Any, a: Any, b: Any, c: Any, d: Any, row_a: Any, row_b: Any, row_c: Any, row_d: Any, count: int
) -> None:
    """Raise `now` to the best of four sums."""
    for x in range(count):
        p = I32(a[x] + row_a[x])
        q = I32(b[x] + row_b[x])
        r = I32(c[x] + row_c[x])
        s = I32(d[x] + row_d[x])
        now[x] = max(now[x], max(max(p, q), max(r, s)))


@jit
def strips_raw(rows: Any, heights: Any, grown: Any, tops: Any, top_heights: Any, depth: int) -> Any:
    """Best value of a strip of every width whose far end is a raw side: any waste may be left there.

    Parameters
    ----------
    rows
        (rows, widths) value of a row bounded by a cut.
    heights, grown
        Of the rows.
    tops
        (tops, widths) value of a last row that runs to the raw side, holding panels up to `top_heights`.
    depth
        Length of the strip.
    """
    n_x = rows.shape[1]
    out = np.zeros(n_x, np.int32)
    none = np.zeros(rows.shape[0], np.bool_)
    none[:] = True
    for b in range(0, n_x, BLOCK):
        e = min(b + BLOCK, n_x)
        m = e - b
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
            # four rows at a time: the processor is kept busy by sums, not by stores
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
        last = best[points.shape[0] - 1]
        for x in range(m):
            out[b + x] = last[x]
        for j in range(tops.shape[0]):
            if top_heights[j] <= depth:
                from_ = best[below[depth - top_heights[j]]]
                for x in range(m):
                    c = I32(from_[x] + tops[j, b + x])
                    out[b + x] = max(out[b + x], c)
    return out


@jit
def strips_cut(rows: Any, heights: Any, grown: Any, depth: int, least: int) -> Any:
    """The same where the far end is a cut side: nothing left, or at least `least`.

    A row that leaves waste above all its panels may be made higher, so that with one such row (`grown`)
    any rest may be taken up.
    """
    n_x = rows.shape[1]
    out = np.zeros(n_x, np.int32)
    for b in range(0, n_x, BLOCK):
        e = min(b + BLOCK, n_x)
        m = e - b
        kept = useful(rows, heights, grown, b, e, True)
        tight = np.full((depth + 1, BLOCK), NONE, np.int32)
        loose = np.full((depth + 1, BLOCK), NONE, np.int32)
        tight[0] = 0
        for y in range(1, depth + 1):
            for i in range(kept.shape[0]):
                r = kept[i]
                h = heights[r]
                if h > y:
                    continue
                from_tight, from_loose = tight[y - h], loose[y - h]
                now_tight, now_loose = tight[y], loose[y]
                for x in range(m):
                    v = rows[r, b + x]
                    c = I32(from_loose[x] + v)
                    now_loose[x] = max(now_loose[x], c)
                    c = I32(from_tight[x] + v)
                    if grown[r]:
                        now_loose[x] = max(now_loose[x], c)
                    else:
                        now_tight[x] = max(now_tight[x], c)
        for y in range(depth + 1):
            whole = y == depth or y <= depth - least
            for x in range(m):
                v = loose[y, x]
                if whole:
                    v = max(v, tight[y, x])
                out[b + x] = max(out[b + x], v)
    return out


@jit
def sheet_value(
    widths: Any, closed: Any, opened: Any, stretched: Any, length: int, least: int, raw: bool
) -> Any:
    """Best value of a sheet, and the strips that give it, as rows (index of the width, kind).

    Parameters
    ----------
    widths
        Rising strip widths.
    closed
        Value of a strip of each width bounded by a cut; kind 0.
    opened
        Value, by length left, of a last strip that runs to the raw side; kind 1 (index: its width).
        Empty where there is none.
    stretched
        Value of a strip of each width in which every row ends with waste, so that it may be wider; kind
        2. Empty where the far side is raw.
    length
        Of the sheet across the strips.
    least
        Break-out distance.
    raw
        Whether the far side is raw.
    """
    n = widths.shape[0]
    tight = np.full(length + 1, NONE, np.int32)
    loose = np.full(length + 1, NONE, np.int32)
    by_tight = np.full(length + 1, -1, np.int64)
    by_loose = np.full((length + 1, 2), -1, np.int64)
    tight[0] = 0
    for x in range(1, length + 1):
        if raw:
            tight[x] = tight[x - 1]
        for i in range(n):
            w = widths[i]
            if w > x:
                break
            if closed[i] <= 0:  # an empty strip is waste: it has rules of its own at the far side
                continue
            c = I32(tight[x - w] + closed[i])
            if c > tight[x]:
                tight[x] = c
                by_tight[x] = i
            if stretched.shape[0] > 0:
                c = I32(loose[x - w] + closed[i])
                if c > loose[x]:
                    loose[x] = c
                    by_loose[x, 0] = i
                    by_loose[x, 1] = 0
                c = I32(tight[x - w] + stretched[i])
                if stretched[i] > 0 and c > loose[x]:
                    loose[x] = c
                    by_loose[x, 0] = i
                    by_loose[x, 1] = 2
    best = 0
    at = 0
    end = 0  # 0: tight, 1: open strip after it, 2: loose
    for x in range(length + 1):
        if (raw or x == length or x <= length - least) and tight[x] > best:
            best, at, end = tight[x], x, 0
        if opened.shape[0] > 0 and tight[x] + opened[length - x] > best:
            best, at, end = tight[x] + opened[length - x], x, 1
        if loose[x] > best:
            best, at, end = loose[x], x, 2
    trace = np.empty((length + 1, 2), np.int64)
    count = 0
    if end == 1:
        trace[count, 0] = length - at
        trace[count, 1] = 1
        count += 1
    free = end == 2
    x = at
    while x > 0:
        if free:
            i, kind = by_loose[x, 0], by_loose[x, 1]
            free = kind != 2
            trace[count, 0] = i
            trace[count, 1] = kind
            count += 1
            x -= widths[i]
        else:
            i = by_tight[x]
            if i < 0:
                x -= 1
                continue
            trace[count, 0] = i
            trace[count, 1] = 0
            count += 1
            x -= widths[i]
    return best, trace[:count][::-1].copy()
