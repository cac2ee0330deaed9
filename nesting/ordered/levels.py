"""From one level of the ordered beam to the next: the best candidates that no other dominates."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..optimizer.borrowed import borrowed
from ..optimizer.moves import jit
from .beam_state import (
    AHEAD,
    BEFORE,
    BEST,
    BEST_END,
    DROPPED,
    KEPT,
    LEVEL,
    LIMIT,
    NODES,
    OVER,
    RING,
    USED,
    Beam,
)
from .by_key import by_key
from .front import DEPTH, FRAME, PLATE, STATE, X1, X1P, X3C, Y2, Y2P, dominates, swept
from .problem import Chains, Sheets, W

I64: Any = np.int64


def _next_level(beam: Beam, chains: Chains, sheets: Sheets, fill: bool) -> bool:
    """Make the nodes of the next level; whether there are any, there or beyond."""
    ctl = borrowed(beam.ctl)
    best = borrowed(beam.best)
    state = borrowed(beam.state)
    code_at = borrowed(beam.code)
    area_at = borrowed(beam.area)
    value_at = borrowed(beam.value)
    ptrs = borrowed(beam.ptr)
    lefts = borrowed(beam.left)
    node = borrowed(beam.node)
    moves = borrowed(beam.moves)
    keys = borrowed(beam.keys)
    rows = borrowed(beam.rows)
    meta = borrowed(beam.meta)
    codes_in = borrowed(beam.codes)
    areas = borrowed(beam.areas)
    values = borrowed(beam.values)
    count = borrowed(beam.count)
    bar = borrowed(beam.bar)
    table = borrowed(beam.table)
    chain = borrowed(beam.chain)
    ahead = borrowed(beam.ahead)
    turn = borrowed(beam.turn)
    tchain = borrowed(chains.tchain)
    vrect = borrowed(chains.vrect)
    shape = borrowed(chains.shape)
    uptr = borrowed(chains.uptr)
    utype = borrowed(chains.utype)
    ucount = borrowed(chains.ucount)
    numbers = borrowed(sheets.numbers)
    prefix = borrowed(sheets.prefix)
    width = ctl[KEPT]
    n_nodes = ctl[NODES]
    level = ctl[LEVEL] + 1
    into, here = level % AHEAD, level % RING
    n_cand = count[into]
    if n_cand == 0 and count[(level + 1) % AHEAD] == 0:
        ctl[OVER] = 1
        return False
    kept = 0
    order = by_key(keys[into, :n_cand])
    table[:] = -1
    mask = table.shape[0] - 1
    for i in range(n_cand):
        if kept == width:
            ctl[DROPPED] = 1
            break
        c = order[i]
        row = rows[into, c]
        to, frame = row[PLATE], row[FRAME]
        end = prefix[to] + swept(row, numbers[to, frame, DEPTH])
        if not fill and end - areas[into, c] >= ctl[LIMIT]:
            continue
        code = codes_in[into, c]
        slot = ((code * I64(-7046029254386353131)) >> 17) & mask
        while table[slot] >= 0 and code_at[table[slot]] != code:
            slot = (slot + 1) & mask
        k = table[slot]
        bad = False
        while k >= 0:
            if dominates(state[k], row):
                bad = True
                break
            k = chain[k]
        if bad:
            continue
        for k in range(STATE):
            state[kept, k] = row[k]
        code_at[kept] = code
        area_at[kept] = areas[into, c]
        value_at[kept] = values[into, c]
        v, v2 = meta[into, c, 1], meta[into, c, 2]
        from_ = (level - 1) % RING if v2 < 0 else (level - 2) % RING
        parent = meta[into, c, 0]
        left = lefts[from_, parent]
        for k in range(ptrs.shape[2]):
            ptrs[here, kept, k] = ptrs[from_, parent, k]
        for q in range(2):
            u = v if q == 0 else v2
            if u < 0:
                break
            for k in range(uptr[vrect[u]], uptr[vrect[u] + 1]):
                ptrs[here, kept, tchain[utype[k]]] += ucount[k]
                left -= ucount[k]
        lefts[here, kept] = left
        used = ctl[USED]
        moves[used, 0] = node[from_, parent]
        moves[used, 1], moves[used, 2], moves[used, 3] = v, v2, meta[into, c, 3]
        moves[used, 4], moves[used, 5] = row[X1P], row[Y2P]
        moves[used, 6], moves[used, 7] = row[X3C] - shape[frame, v, W], meta[into, c, 4]
        moves[used, 8], moves[used, 9], moves[used, 10] = 2 * to + frame, row[X1], row[Y2]
        node[here, kept] = used
        chain[kept], ahead[kept] = table[slot], -1
        if table[slot] >= 0:
            ahead[table[slot]] = kept
        table[slot] = kept
        if fill or left == 0:
            end = prefix[to] + row[X1] * numbers[to, frame, DEPTH]
            if fill:
                value = values[into, c]
                better = value > best[0] or (value == best[0] and end < ctl[BEST_END])
            else:
                better = end < ctl[BEST_END] and end - areas[into, c] < ctl[LIMIT]
            if better:
                ctl[BEST] = used
                ctl[BEST_END] = end
                best[0] = values[into, c]
                if not fill:
                    ctl[LIMIT] = end - areas[into, c]
        ctl[USED] += 1
        kept += 1
    n = 0
    for p in range(kept):
        k = p if chain[p] < 0 else -1
        while k >= 0:
            turn[n] = k
            n += 1
            k = ahead[k]
    count[into] = 0
    bar[into] = np.inf
    ctl[LEVEL] = level
    ctl[BEFORE] = n_nodes
    ctl[NODES] = kept
    return True


next_level: Any = jit(_next_level)
