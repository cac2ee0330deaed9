"""The beam over one sheet with flaws, or with rules of its own for what lies between its cuts.

The same level-synchronised beam as `kernel`, over the fronts of `flawed_moves`: all nodes of a level hold the
same number of blocks, a rectangle or two upon one another. Apart from it, so that plain sheets pay nothing.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .beam_parts import choose, enough, first_fit, keep_best, take_chain
from .borrowed import borrowed, held
from .flawed_moves import (
    BLOCKED,
    DEPTH,
    IN_COLUMN,
    LENGTH,
    MX,
    MY,
    OK,
    STATE,
    WASTE,
    X1,
    X1P,
    X3C,
    Y2,
    Y2P,
    dominates,
    lay,
    least_used,
    mix,
    swept,
)
from .moves import COLUMN, ROW, STRIP, jit

FRONTS: Final = 3
FEW: Final = 10
MANY_FRONTS: Final = 12
"""Fronts kept for one set of panels; where there are few panels, more."""
BUFFER: Final = 4
SHIFTS: Final = 6
"""Flaws that one block may be shifted past, one after another, in one direction."""
FAR: Final = 2**60
I64: Any = np.int64


@jit
def beam_flawed(
    n: Any,  # numbers of the sheet in its frame (`flawed_moves`)
    flaws: Any,  # (F, 5) int64: x0, y0, x1, y1, kind or -1
    bw: Any,  # (V,) int64: widths and heights of the blocks, by falling height, then width
    bh: Any,
    bid: Any,  # (V,) their numbers in the tables below
    split: Any,  # (B,) height of the lower of two rectangles, 0 for one
    bands: Any,  # (B, 2, K, 2) depths of the bands in which a kind of flaw may lie, of each rectangle
    uptr: Any,
    utype: Any,
    ucount: Any,
    area: Any,
    value: Any,  # (B,) float64
    demand: Any,  # (T,) int32
    codes: Any,
    whole: bool,  # all of the demand, and least of the sheet; else most value
    width: int,
    lean: float,
    power: float,  # of the value in the guide
    limit: int,  # with `whole`: what wastes this much or more is dropped
    slack: int,  # by so much may a block widen the strip, or raise the row, that others began
    many: int,
    some: int,
    start: int,  # the sheet is filled from here on
) -> Any:
    """Fill one sheet: the blocks laid (number, kind, state after each) and the nodes expanded."""
    n, bw, bh, bid = borrowed(n), borrowed(bw), borrowed(bh), borrowed(bid)
    split, bands = borrowed(split), borrowed(bands)
    uptr, utype, ucount = borrowed(uptr), borrowed(utype), borrowed(ucount)
    area, value, codes = borrowed(area), borrowed(value), borrowed(codes)
    length, depth, waste = n[LENGTH], n[DEPTH], n[WASTE]
    n_var = bw.shape[0]
    own_near = flaws.copy()
    flaws, near = borrowed(flaws), borrowed(own_near)
    total = 0
    for t in range(demand.shape[0]):
        total += demand[t]
    cap = BUFFER * width + 8
    keys = np.empty(cap, np.float64)
    rows = np.empty((cap, STATE), np.int64)
    meta = np.empty((cap, 3), np.int64)
    hashes = np.empty(cap, np.int64)
    values = np.empty(cap, np.float64)
    areas = np.empty(cap, np.int64)
    least_area, least_w, least_h = FAR, FAR, FAR
    for v in range(n_var):
        least_area = min(least_area, area[bid[v]])
        least_w = min(least_w, bw[v])
        least_h = min(least_h, bh[v])
    most = min(total, (length * depth) // max(1, least_area))
    state = np.empty((width, STATE), np.int64)
    nxt_state = np.empty((width, STATE), np.int64)
    counts = demand.copy()
    node_hash = np.empty(width, np.int64)
    nxt_hash = np.empty(width, np.int64)
    node_value = np.empty(width, np.float64)
    nxt_value = np.empty(width, np.float64)
    node_area = np.empty(width, np.int64)
    nxt_area = np.empty(width, np.int64)
    node_left = np.empty(width, np.int64)
    nxt_left = np.empty(width, np.int64)
    hist = np.empty((most + 1, width, 4), np.int32)
    states = np.empty((most + 1, width, STATE), np.int64)
    seen_size = 1
    while seen_size < 4 * cap:
        seen_size *= 2
    seen = np.zeros(seen_size, np.int64)
    table = np.empty(seen_size, np.int32)
    chain = np.empty(width, np.int32)
    state[0] = 0
    state[0, MX] = -FAR
    state[0, MY] = -FAR
    state[0, X1] = start
    node_hash[0] = 0
    node_value[0] = 0.0
    node_area[0] = 0
    node_left[0] = total
    n_nodes = 1
    level = I64(0)
    expanded = 0
    best_level, best_node = I64(-1), I64(-1)
    best_key = -1.0e300
    out = np.empty(STATE, np.int64)
    sampled = n_var > many
    choice = np.empty(3 * some + 2 if sampled else 0, np.int64)
    base = lean * float(length) * float(depth)
    own = (own_near, keys, rows, meta, hashes, values, areas, counts, hist, seen, out, choice)
    keys, rows, meta, hashes = borrowed(keys), borrowed(rows), borrowed(meta), borrowed(hashes)
    areas, counts, hist, seen = borrowed(areas), borrowed(counts), borrowed(hist), borrowed(seen)
    values, out, choice = borrowed(values), borrowed(out), borrowed(choice)

    while n_nodes > 0 and level < most:
        n_cand = I64(0)
        bar = np.inf
        seen[:] = 0
        for p in range(n_nodes):
            if node_left[p] == 0:
                continue
            expanded += 1
            s = borrowed(state[p])
            take_chain(counts, hist, level, p, uptr, utype, ucount, -1)
            closed = False
            nf = 0  # flaws left of the open strip are out of reach
            for k in range(flaws.shape[0]):
                if flaws[k, 2] > s[X1P]:
                    near[nf] = flaws[k]
                    nf += 1
            for kind in (COLUMN, ROW, STRIP):
                if closed or (level == 0 and kind != STRIP):
                    continue
                first_row = s[MX] == -FAR
                lo = 0
                if kind == COLUMN:
                    room_w = (length if first_row else min(length, s[X1] + slack)) - s[X3C]
                    room_h = min(depth, s[Y2] + slack) - s[Y2P]
                elif kind == ROW:
                    room_w = min(length, s[X1] + slack) - s[X1P]
                    room_h = depth - s[Y2]
                else:
                    room_w = length - s[X1]
                    room_h = depth
                if room_w < least_w or room_h < least_h:
                    continue
                lo = first_fit(bh, room_h)
                chosen = sampled and kind != COLUMN
                n_try = n_var - lo
                if chosen:
                    n_try = choose(
                        choice, bw, bid, counts, uptr, utype, ucount, lo, room_w, some,
                        (node_hash[p] >> 9) & 0xFFFF,
                    )  # fmt: skip
                ahead = some
                widest = I64(0)
                for i in range(n_try):
                    v = choice[i] if chosen else lo + i
                    w = bw[v]
                    if w > room_w or (ahead <= 0 and w <= widest):
                        continue
                    b = bid[v]
                    if not enough(counts, uptr, utype, ucount, b):
                        continue
                    h = bh[v]
                    new_area = node_area[p] + area[b]
                    new_value = node_value[p] + value[b]
                    worth = new_value if power == 1.0 else new_value**power
                    used, may_close = least_used(s, kind, w, h, start, depth)
                    if closed or not may_close:
                        if whole:
                            used -= new_area
                        if (base + float(used)) / worth >= bar or (whole and used >= limit):
                            if sampled and not chosen:
                                ahead -= 1
                                widest = max(widest, w)
                            continue
                    fits = False
                    # straight, then past flaws: hung, along x, up, and with the whole strip
                    x0 = s[X3C] if kind == COLUMN else (s[X1P] if kind == ROW else s[X1])
                    y0 = s[Y2P] if kind == COLUMN else (s[Y2] if kind == ROW else I64(0))
                    sx = s[X1]
                    to_x, to_y, to_s = I64(0), I64(0), I64(0)
                    code = BLOCKED
                    for way in range(7):
                        if way > 0 and to_x == 0 and to_y == 0 and to_s == 0:
                            break
                        x, y, left = x0, y0, sx
                        hung = False
                        tries = 1
                        if way == 0:
                            pass
                        elif way == 1:
                            if kind == COLUMN:
                                if n[IN_COLUMN] == 0 or split[b] > 0 or s[Y2] - h - s[Y2P] < waste:
                                    continue
                                hung = True
                            else:
                                if to_y <= 0:
                                    continue
                                y = max(to_y, y0 + waste)
                                tries = SHIFTS
                        elif way == 2:
                            if to_x <= 0:
                                continue
                            x = max(to_x, x0 + waste)
                            tries = SHIFTS
                        elif way == 3:
                            if kind != STRIP or to_s <= 0:
                                continue
                            left = max(to_s, sx + waste)
                            x = left
                            tries = SHIFTS
                        elif fits:
                            break
                        elif way == 4:  # against the far sides, where less than the least waste would be left
                            x = length - w
                            if x < x0 + waste:
                                continue
                        elif kind == COLUMN:
                            break
                        elif way == 5:
                            y = depth - h
                            if y < y0 + waste:
                                continue
                        else:
                            x = max(to_x, x0 + waste)
                            y = max(to_y, y0 + waste)
                            tries = SHIFTS
                        code = BLOCKED
                        while tries > 0 and code == BLOCKED:
                            tries -= 1
                            code, ax, ay, az = lay(
                                s, out, n, near, nf, bands, b, kind, left, x, y, w, h, split[b], hung
                            )
                            if code != BLOCKED:
                                break
                            if way == 0:
                                to_x, to_y, to_s = ax, ay, az
                            elif way == 1:
                                if ay <= y:
                                    break
                                y = ay
                            elif way == 2:
                                if ax <= x:
                                    break
                                x = ax
                            elif way == 3:
                                if az <= left:
                                    break
                                left = az
                                x = left
                            elif ax > x:
                                x = ax
                            else:
                                if ay <= y:
                                    break
                                y = ay
                        if code == OK:
                            fits = True
                            if kind == COLUMN:
                                if not first_row and out[Y2] == s[Y2] and out[X1] == s[X1]:
                                    closed = True
                            elif kind == ROW and out[X1] == s[X1]:
                                closed = True
                            used = swept(out, n, least_w, least_h) - start * depth
                            if whole:
                                used -= new_area
                                if used >= limit:
                                    continue
                            key = (base + float(used)) / worth
                            if key < bar:
                                mark_code = node_hash[p]
                                for k in range(uptr[b], uptr[b + 1]):
                                    mark_code += codes[utype[k]] * ucount[k]
                                mark = mix(mark_code, out) | 1
                                where = (mark >> 7) & (seen_size - 1)
                                if seen[where] != mark:
                                    seen[where] = mark
                                    room = True
                                    if n_cand == cap:
                                        bar = keep_best(
                                            keys, n_cand, cap // 2, rows, meta, hashes, values, areas
                                        )
                                        n_cand = cap // 2
                                        room = key < bar
                                    if room:
                                        keys[n_cand] = key
                                        rows[n_cand] = out
                                        meta[n_cand, 0] = p
                                        meta[n_cand, 1] = b
                                        meta[n_cand, 2] = kind
                                        hashes[n_cand] = mark_code
                                        values[n_cand] = new_value
                                        areas[n_cand] = new_area
                                        n_cand += 1
                    if fits and sampled and not chosen:
                        ahead -= 1
                        widest = max(widest, w)
            take_chain(counts, hist, level, p, uptr, utype, ucount, 1)
        if n_cand == 0:
            break
        order = np.argsort(keys[:n_cand], kind="mergesort")
        table[:] = -1
        kept = 0
        level += 1
        for i in range(n_cand):
            if kept == width:
                break
            c = order[i]
            code_c = hashes[c]
            slot = ((code_c * I64(-7046029254386353131)) >> 17) & (seen_size - 1)
            while table[slot] >= 0 and nxt_hash[table[slot]] != code_c:
                slot = (slot + 1) & (seen_size - 1)
            fronts = 0
            bad = False
            k = table[slot]
            while k >= 0:
                fronts += 1
                if dominates(nxt_state[k], rows[c]):
                    bad = True
                    break
                k = chain[k]
            parent = meta[c, 0]
            b = meta[c, 1]
            left_over = node_left[parent]
            for k in range(uptr[b], uptr[b + 1]):
                left_over -= ucount[k]
            ends = left_over == 0 and (-float(rows[c, X1]) > best_key or not whole)
            if bad or (fronts >= (FRONTS if total > FEW else MANY_FRONTS) and not ends):
                continue
            nxt_state[kept] = rows[c]
            states[level, kept] = rows[c]
            nxt_hash[kept] = code_c
            nxt_value[kept] = values[c]
            nxt_area[kept] = areas[c]
            nxt_left[kept] = left_over
            hist[level, kept, 0] = parent
            hist[level, kept, 1] = b
            hist[level, kept, 2] = meta[c, 2]
            hist[level, kept, 3] = b
            chain[kept] = table[slot]
            table[slot] = kept
            if whole:
                better = nxt_left[kept] == 0 and -float(rows[c, X1]) > best_key
                end_key = -float(rows[c, X1])
            else:
                # of equal value what leaves more of the sheet
                end_key = nxt_value[kept] * (1.0 + 1e-9 * float(length - rows[c, X1]) / float(length))
                better = end_key > best_key
            if better:
                best_key = end_key
                best_level = level
                best_node = kept
            kept += 1
        state, nxt_state = nxt_state, state
        node_hash, nxt_hash = nxt_hash, node_hash
        node_value, nxt_value = nxt_value, node_value
        node_area, nxt_area = nxt_area, node_area
        node_left, nxt_left = nxt_left, node_left
        n_nodes = kept

    if best_level < 0:
        held(own)
        return np.empty((0, 2 + STATE), np.int64), expanded
    moves = np.empty((best_level, 2 + STATE), np.int64)
    node = best_node
    for k in range(best_level, 0, -1):
        moves[k - 1, 0] = hist[k, node, 1]
        moves[k - 1, 1] = hist[k, node, 2]
        moves[k - 1, 2:] = states[k, node]
        node = hist[k, node, 0]
    held(own)
    return moves, expanded
