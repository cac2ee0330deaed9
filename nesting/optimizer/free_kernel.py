"""Merging blocks: the kernel of the engine without level limit.

A *block* is a guillotine pattern of some panels with a least outer size. Two blocks side by side, or one
upon the other, make a block again; a block that fits the sheet is a pattern (Wang 1983). Blocks are built
by the number of their seeds, the best of each number are kept. A block is dropped when its value and the
most value beside it (Viswanathan and Bagchi 1993) do not beat the best pattern known.

With the break-out distance D a block lies in an outer rectangle of its own size or at least D larger
(`TIGHT`), or of any size from its least one (`FLEX`): blocks that differ by less than D in height stand side
by side in a rectangle at least D higher than the lower of them, any height from there. Where the outer
rectangle reaches a far raw side, any size from `wt`, `ht` will do.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .moves import jit

W: Final = 0
H: Final = 1
FX: Final = 2
FY: Final = 3
WT: Final = 4
HT: Final = 5
A: Final = 6
B: Final = 7
AXIS: Final = 8
VALUE: Final = 9
WORTH: Final = 10
HASH: Final = 11
LOSS: Final = 12
FIELDS: Final = 13
"""Columns of a block: least outer size, whether FLEX, the same at far raw sides, the two parts, axis of
the join (0: side by side, 1: one upon the other, -1: a seed, which A names), value, value less the prices
of what it uses, code of the uses, and the least loss inside."""

TIGHT: Final = 0
FLEX: Final = 1
I64 = np.int64


@jit
def meet(p: int, fp: int, q: int, fq: int, distance: int) -> tuple[int, int]:
    """Least size, and flag, of a rectangle across two blocks of sizes `p` and `q`."""
    if p < q:
        p, fp, q, fq = q, fq, p, fp
    if p == q:
        return p, fp & fq
    if fp == TIGHT:
        if fq == FLEX or p - q >= distance:
            return p, TIGHT
        return p + distance, FLEX
    if fq == TIGHT:
        return max(p, q + distance), FLEX
    return p, FLEX


@jit
def holds(length: int, size: int, flag: int, distance: int) -> bool:
    """Whether a block of this size and flag may lie in an outer rectangle of this length."""
    return bool(size == length or size + (0 if flag == FLEX else distance) <= length)


@jit
def join(p: Any, q: Any, out: Any, axis: int, distance: int) -> None:
    """The least outer size of two blocks joined along an axis."""
    along, across = (W, H) if axis == 0 else (H, W)
    out[along] = p[along] + q[along]
    out[along + 2] = p[along + 2] | q[along + 2]
    out[along + 4] = min(p[along] + q[along + 4], q[along] + p[along + 4])
    size, flag = meet(p[across], p[across + 2], q[across], q[across + 2], distance)
    out[across] = size
    out[across + 2] = flag
    out[across + 4] = max(p[across + 4], q[across + 4])


@jit
def alive(b: Any, width: int, height: int, far_x: int, far_y: int, distance: int) -> bool:
    """Whether the sheet can hold the block; it is then a pattern by itself."""
    if far_x != 0:
        if b[WT] > width:
            return False
    elif not holds(width, b[W], b[FX], distance):
        return False
    if far_y != 0:
        return bool(b[HT] <= height)
    return bool(holds(height, b[H], b[FY], distance))


@jit
def covers(p: int, fp: int, q: int, fq: int, distance: int) -> bool:
    """Whether a block of size `p` lies in every rectangle that holds one of size `q`."""
    if fp == FLEX:
        return bool(p <= q)
    if fq == FLEX:
        return bool(p + distance <= q)
    return bool(p == q or p + distance <= q)


@jit
def better(p: Any, q: Any, distance: int) -> bool:
    """Whether block `p` can stand for block `q`, which uses the same."""
    return bool(
        p[VALUE] >= q[VALUE]
        and p[WT] <= q[WT]
        and p[HT] <= q[HT]
        and covers(p[W], p[FX], q[W], q[FX], distance)
        and covers(p[H], p[FY], q[H], q[FY], distance)
    )


@jit
def spare(gap: int, reach: Any, least: int) -> int:
    """How much of a gap beside a block no row of panels can take up."""
    if reach.shape[0] > 0:
        return int(gap - reach[gap])
    return gap if gap < least else 0


@jit
def enough(one: Any, two: Any, demand: Any) -> bool:
    """Whether the demand holds what two blocks use; no branch inside, so that it runs in wide registers."""
    over = 0
    for t in range(demand.shape[0]):
        over += one[t] + two[t] > demand[t]
    return over == 0


@jit
def mark_of(b: Any) -> int:
    """A hash of what a block uses, of its value and of its sizes."""
    code = b[HASH] + b[VALUE]
    for k in range(6):
        code = (code ^ b[k]) * I64(-7046029254386353131)
        code ^= (code >> 29) & I64(0x7FFFFFFFF)
    return int(code)


@jit
def merge(
    sheet: Any,  # (5,) int64: width, height, far side in x and in y raw (0, 1), break-out distance
    seeds: Any,  # (n, FIELDS) int64
    uses: Any,  # (n, T) int16
    demand: Any,  # (T,) int16
    fx: Any, fy: Any,  # floor indexes of the tables
    inside: Any, beside: Any,  # tables of `points` for the worth
    rx: Any, ry: Any,  # without tables: how much of a length panels can take up (empty: all from `least`)
    least: int,  # shortest side of a panel
    dense: int,  # without tables: most worth of a unit of area; 0: the tables hold
    floor: int,  # prices of the whole demand; a pattern is worth at most its worth plus this
    scale: int,  # the worth is in this many parts of the value
    best: int,  # a pattern must beat this value
    width: int,  # blocks kept of each number of seeds
    lean: float,  # of the order of blocks: weight of the loss inside; without tables as in the beam's guide
    stop: int,  # pairs to examine at most
) -> Any:  # fmt: skip
    """Build blocks; the blocks, the index of the best pattern (-1: none beats `best`), whether all were
    looked at, and the pairs examined."""
    wide, high, far_x, far_y, distance = sheet[0], sheet[1], sheet[2], sheet[3], sheet[4]
    n_types = demand.shape[0]
    total = 0
    for t in range(n_types):
        total += demand[t]
    most = min(total, 250)
    cap = 4 * width + 64
    store = np.empty((seeds.shape[0] + 64, FIELDS), np.int64)
    counts = np.empty((seeds.shape[0] + 64, n_types), np.int16)
    first = np.zeros(most + 2, np.int64)  # level n lies in store[first[n]:first[n + 1]]
    cand = np.empty((cap, FIELDS), np.int64)
    keys = np.empty(cap, np.float64)
    size = 1
    while size < 8 * cap:
        size *= 2
    seen = np.zeros(size, np.int64)
    table = np.empty(size, np.int64)
    chain = np.empty(cap, np.int64)
    out = np.zeros(FIELDS, np.int64)
    if dense == 0:
        root = inside[inside.shape[0] - 1, inside.shape[1] - 1] + floor
    else:
        root = dense * wide * high + floor
    n = 0
    winner = -1
    whole = True
    pairs = 0
    deepest = 0
    for level in range(1, most + 1):
        first[level] = n
        if level > 1 and (level > 2 * deepest or pairs > stop):
            if pairs > stop:
                whole = False
            break
        n_cand = 0
        bar = np.inf
        seen[:] = 0
        for i in range(0 if level == 1 else 1, 1 if level == 1 else level // 2 + 1):
            if level == 1:
                a_lo, a_hi = 0, seeds.shape[0]
            else:
                a_lo, a_hi = first[i], first[i + 1]
            for a in range(a_lo, a_hi):
                if pairs > stop:
                    whole = False
                    break
                if level == 1:
                    b_lo, b_hi = 0, 1
                else:
                    b_lo, b_hi = first[level - i], first[level - i + 1]
                    if 2 * i == level:
                        b_lo = a
                for b in range(b_lo, b_hi):
                    if level > 1:
                        pairs += 1
                        if root - store[a, LOSS] - store[b, LOSS] < scale * (best + 1):
                            break
                    for axis in range(1 if level == 1 else 2):
                        # sizes at raw sides, worth and bound first: most pairs end here
                        if level == 1:
                            wt = seeds[a, WT]
                            ht = seeds[a, HT]
                            worth = seeds[a, WORTH]
                        else:
                            if axis == 0:
                                wt = min(store[a, W] + store[b, WT], store[b, W] + store[a, WT])
                                ht = max(store[a, HT], store[b, HT])
                            else:
                                wt = max(store[a, WT], store[b, WT])
                                ht = min(store[a, H] + store[b, HT], store[b, H] + store[a, HT])
                            worth = store[a, WORTH] + store[b, WORTH]
                        if wt > wide or ht > high:
                            continue
                        if dense == 0:
                            loss = inside[fx[wt], fy[ht]] - worth
                            bound = worth + beside[fx[wt], fy[ht]] + floor
                        else:
                            loss = dense * wt * ht - worth
                            dead = spare(wide - wt, rx, least) * ht + spare(high - ht, ry, least) * wt
                            bound = root - loss - dense * dead
                        if bound < scale * (best + 1):
                            continue
                        if dense == 0:
                            key = lean * float(loss) - float(bound)
                        else:
                            key = (lean * float(root) + float(root - bound)) / float(max(worth, 1))
                        if key >= bar:
                            continue
                        if level == 1:
                            for k in range(FIELDS):
                                out[k] = seeds[a, k]
                        else:
                            join(store[a], store[b], out, axis, distance)
                        if not alive(out, wide, high, far_x, far_y, distance):
                            continue
                        if level > 1:
                            if not enough(counts[a], counts[b], demand):
                                continue
                            out[A] = a
                            out[B] = b
                            out[AXIS] = axis
                            out[VALUE] = store[a, VALUE] + store[b, VALUE]
                            out[WORTH] = worth
                            out[HASH] = store[a, HASH] + store[b, HASH]
                        out[LOSS] = loss
                        mark = mark_of(out) | 1
                        slot = (mark >> 7) & (size - 1)
                        if seen[slot] == mark:
                            continue
                        seen[slot] = mark
                        if n_cand == cap:
                            order = np.argsort(keys, kind="mergesort")
                            half = 2 * width + 32
                            keep = np.sort(order[:half])
                            bar = keys[order[half]]
                            for k in range(half):
                                keys[k] = keys[keep[k]]
                                cand[k] = cand[keep[k]]
                            n_cand = half
                            whole = False
                            if key >= bar:
                                continue
                        keys[n_cand] = key
                        cand[n_cand] = out
                        n_cand += 1
        if n_cand == 0:
            continue
        # the best by key, without those that another one stands for
        order = np.argsort(keys[:n_cand], kind="mergesort")
        table[:] = -1
        kept = np.empty(min(width, n_cand), np.int64)
        n_kept = 0
        for o in range(n_cand):
            c = order[o]
            code = cand[c, HASH]
            slot = ((code * I64(-7046029254386353131)) >> 17) & (size - 1)
            while table[slot] >= 0 and cand[table[slot], HASH] != code:
                slot = (slot + 1) & (size - 1)
            k = table[slot]
            bad = False
            while k >= 0:
                if better(cand[k], cand[c], distance):
                    bad = True
                    break
                k = chain[k]
            if bad:
                continue
            if n_kept == width:
                whole = False
                break
            kept[n_kept] = c
            n_kept += 1
            chain[c] = table[slot]
            table[slot] = c
        chosen = kept[:n_kept]
        losses = np.empty(n_kept, np.float64)
        for k in range(n_kept):
            losses[k] = float(cand[chosen[k], LOSS])
        by_loss = np.argsort(losses, kind="mergesort")
        if n + n_kept > store.shape[0]:
            room = 2 * (n + n_kept)
            new_store = np.empty((room, FIELDS), np.int64)
            new_store[:n] = store[:n]
            store = new_store
            new_counts = np.empty((room, n_types), np.int16)
            new_counts[:n] = counts[:n]
            counts = new_counts
        for k in range(n_kept):
            c = chosen[by_loss[k]]
            store[n] = cand[c]
            if level == 1:
                counts[n] = uses[cand[c, A]]
            else:
                counts[n] = counts[cand[c, A]] + counts[cand[c, B]]
            if store[n, VALUE] > best:
                best = store[n, VALUE]
                winner = n
            n += 1
        deepest = level
        first[level + 1] = n
    if most < total and 2 * deepest > most:
        whole = False
    return store[:n].copy(), winner, whole, pairs
