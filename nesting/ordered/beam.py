"""The ordered beam: level by level, all nodes of a level hold the same number of rectangles.

Iterated level beam in the family of Libralesso and Fontan (EJOR 2021), growing strips and rows. Chains give
what may come next, so that an order costs nothing; a pair in one column enters the level after the next. Of
nodes with the same panels placed, those go that another one dominates, however many fronts are left. Runs in
slices of whole levels; compiled without flaws (None), and with them when a sheet has some.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..optimizer.moves import jit
from .beam_state import (
    BEFORE,
    BEST,
    CRAMPED,
    DROPPED,
    EXPANDED,
    LEVEL,
    LIMIT,
    MOVE,
    NODES,
    RING,
    USED,
    Beam,
    halve,
    mix,
    tidy,
)
from .borrowed import borrowed
from .front import (
    ALONE,
    DEPTH,
    FRAME,
    LENGTH,
    PAIRS,
    PLATE,
    STATE,
    STOCK,
    USABLE,
    X1,
    X1P,
    X3C,
    Y2,
    Y2P,
    dead,
    swept,
)
from .levels import next_level
from .offers import heads, pairs
from .problem import Chains, Sheets
from .shifts import AT_ONCE, ITEM_HIGHER, SHIFTS, beside
from .trial import COLUMN, GOOD, ROW, SHEET_H, SHEET_V, STRIP, trial

I64: Any = np.int64


def _advance(
    beam: Beam,
    chains: Chains,
    sheets: Sheets,
    own: int,
    worths: Any,  # (rects,) float64
    lean: float,
    foresee: bool,  # count as waste what is too narrow for any rectangle
    least: int,  # the least side of any rectangle
    fill: bool,  # one sheet, most value; else all panels, least swept area
    frames: int,  # bit 0: first cut vertical, bit 1: horizontal
    open_racks: int,  # 0: any number
    slice_nodes: int,
    flaws: Any,  # sheets.flaws, or None
) -> bool:
    """Expand whole levels until so many nodes are expanded; whether there is more to do."""
    ctl = borrowed(beam.ctl)
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
    seen = borrowed(beam.seen)
    kids = borrowed(beam.kids)
    about = borrowed(beam.about)
    first = borrowed(chains.first)
    racked = borrowed(chains.racked)
    ptype = borrowed(chains.ptype)
    codes = borrowed(chains.codes)
    tchain = borrowed(chains.tchain)
    tplace = borrowed(chains.tplace)
    tfirst = borrowed(chains.tfirst)
    tlast = borrowed(chains.tlast)
    vw = borrowed(chains.vw)
    vh = borrowed(chains.vh)
    wclass = borrowed(chains.wclass)
    vrect = borrowed(chains.vrect)
    vtol = borrowed(chains.vtol)
    vinner = borrowed(chains.vinner)
    vrack = borrowed(chains.vrack)
    tol = borrowed(chains.tol)
    tied = borrowed(chains.tie)
    uptr = borrowed(chains.uptr)
    utype = borrowed(chains.utype)
    ucount = borrowed(chains.ucount)
    area = borrowed(chains.area)
    numbers = borrowed(sheets.numbers)
    prefix = borrowed(sheets.prefix)
    fptr = borrowed(sheets.fptr)
    worth = borrowed(worths)
    width = state.shape[0]
    cap = keys.shape[1]
    n_seq = numbers.shape[0]
    n_var = vrect.shape[0]
    many = n_var + 4 * n_var * 8 + 64
    ins = np.empty(many, np.int64)
    ins2 = np.empty(many, np.int64)
    at = np.empty(many, np.int64)
    bucket = np.full(n_var + 1, -1, np.int64)
    follow = np.empty(n_var + 1, np.int64)
    order_of = np.empty(RING, np.int64)
    done = 0
    while done < slice_nodes:
        level = ctl[LEVEL]
        here = level % RING
        n_nodes = ctl[NODES]
        if ctl[USED] + width > moves.shape[0]:
            order_of[:] = 0
            order_of[here] = n_nodes
            order_of[(level + 2) % RING] = ctl[BEFORE]
            ctl[USED], ctl[BEST] = tidy(moves, ctl[USED], node, order_of, ctl[BEST])
            if 2 * (ctl[USED] + width) > moves.shape[0]:
                ctl[CRAMPED] = 1
                return True
        for p in range(n_nodes):
            if lefts[here, p] == 0:
                continue
            ctl[EXPANDED] += 1
            done += 1
            s = state[p]
            plate = s[PLATE]
            ptr = ptrs[here, p]
            n_heads = heads(
                ptr, first, racked, ptype, tchain, tplace, tfirst, tlast, vrect, uptr, utype,
                ucount, own, open_racks, ins, at,
            )  # fmt: skip
            paired = -1
            n_ins = n_heads
            closed = False
            ahead = 1
            kind = COLUMN - 1
            while True:
                kind += 1
                if kind > SHEET_H:
                    # a sheet that yields none of the heads is laid aside
                    if closed or fill or plate + ahead + 1 >= n_seq:
                        break
                    ahead += 1
                    kind = SHEET_V
                if plate < 0 and kind < SHEET_V:
                    continue
                if closed and kind != SHEET_H:
                    break
                frame = s[FRAME]
                to = plate
                if kind >= SHEET_V:
                    frame = kind - SHEET_V
                    to = plate + ahead
                    if to >= n_seq or (fill and plate >= 0) or (frames >> frame) & 1 == 0:
                        continue
                g = numbers[to, frame]
                if g[USABLE] == 0:
                    continue
                if kind == COLUMN and g[ALONE] != 0:
                    continue
                length, depth = g[LENGTH], g[DEPTH]
                if g[PAIRS] == 0:
                    n_ins = n_heads
                elif paired != frame:
                    n_ins = pairs(
                        ins, ins2, at, n_heads, wclass[frame], ptr, first, racked, ptype, tfirst,
                        tlast, bucket, follow, flaws is not None, open_racks, many,
                    )  # fmt: skip
                    paired = frame
                lo = hi = 0
                if flaws is not None:
                    lo, hi = fptr[frame, to], fptr[frame, to + 1]
                xs0 = ys0 = x0 = 0
                if kind == COLUMN:
                    xs0, ys0, x0 = s[X1P], s[Y2P], s[X3C]
                elif kind == ROW:
                    xs0, ys0, x0 = s[X1P], s[Y2], s[X1P]
                elif kind == STRIP:
                    xs0, ys0, x0 = s[X1], 0, s[X1]
                n_kids = 0
                for i in range(n_ins):
                    v = ins[i]
                    w, h, h2 = vw[frame, v], vh[frame, v], I64(0)
                    if i >= n_heads:
                        h2 = vh[frame, ins2[i]]
                    if x0 + w > length or ys0 + h + h2 > depth:
                        continue
                    band = vtol[frame, v]
                    inner = vinner[v] != 0
                    rack = vrack[v]
                    rack2 = I64(-1)
                    if i >= n_heads:
                        rack2 = vrack[ins2[i]]
                        inner = inner or vinner[ins2[i]] != 0
                    tie = tied[vrect[v]]
                    if tie != -1 and tie != g[STOCK]:
                        continue
                    if i >= n_heads:
                        tie = tied[vrect[ins2[i]]]
                        if tie != -1 and tie != g[STOCK]:
                            continue
                    xs, ys, x, y = xs0, ys0, x0, ys0
                    way = AT_ONCE
                    tries = 0
                    met = I64(0)
                    while n_kids < kids.shape[0]:
                        if flaws is None:
                            r = trial(
                                s, kids, n_kids, kind, to, frame, xs, ys, x, y, w, h, h2, rack, rack2, inner, g,
                                None, 0, 0, tol, 0,
                            )  # fmt: skip
                        else:
                            r = trial(
                                s, kids, n_kids, kind, to, frame, xs, ys, x, y, w, h, h2, rack, rack2, inner, g,
                                flaws, lo, hi, tol, band,
                            )  # fmt: skip
                        if r == GOOD:
                            about[n_kids, 0] = p
                            about[n_kids, 1] = v
                            about[n_kids, 2] = -1 if i < n_heads else ins2[i]
                            about[n_kids, 3] = kind
                            about[n_kids, 4] = xs
                            about[n_kids, 5] = ys
                            about[n_kids, 6] = x
                            about[n_kids, 7] = y
                            about[n_kids, 8] = 2 * to + frame
                            about[n_kids, 9] = kids[n_kids, X1]
                            about[n_kids, 10] = kids[n_kids, Y2]
                            n_kids += 1
                        if flaws is None:
                            break
                        if way == AT_ONCE:
                            if r <= 0:
                                break
                            met = r - 1
                        if r <= 0 or way == AT_ONCE or tries >= SHIFTS:
                            # another way, from the flaw that was met first
                            r = met + 1
                            tries = 0
                            way += 1
                            xs, ys, x, y = xs0, ys0, x0, ys0
                        else:
                            tries += 1
                        way, tries, xs, ys, x, y = beside(
                            way,
                            tries,
                            kind,
                            xs,
                            ys,
                            x,
                            y,
                            xs0,
                            ys0,
                            x0,
                            s[Y2],
                            w,
                            h,
                            h2,
                            g,
                            flaws,
                            r - 1,
                            met,
                        )
                        if way > ITEM_HIGHER:
                            break
                for i in range(n_kids):
                    out = kids[i]
                    v, v2 = about[i, 1], about[i, 2]
                    if kind == COLUMN:
                        if out[X1] == s[X1] and out[Y2] == s[Y2]:
                            closed = True
                    elif kind == ROW:
                        if out[X1] == s[X1]:
                            closed = True
                    else:
                        closed = True
                    rect = vrect[v]
                    new_area = area_at[p] + area[rect]
                    new_value = value_at[p] + worth[rect]
                    into = (level + 1) % RING
                    if v2 >= 0:
                        new_area += area[vrect[v2]]
                        new_value += worth[vrect[v2]]
                        into = (level + 2) % RING
                    used = swept(out, depth) + (0 if fill else prefix[to])
                    waste = used - new_area
                    if waste >= ctl[LIMIT]:
                        continue
                    if foresee:
                        extra = dead(out, length, depth, least)
                        used += extra
                        waste += extra
                    if fill:
                        key = (lean * float(length) * float(depth) + float(used)) / new_value
                    else:
                        key = (lean + float(waste) / float(used)) / new_value
                    if key >= bar[into]:
                        continue
                    code = code_at[p]
                    for q in range(2):
                        u = v if q == 0 else v2
                        if u < 0:
                            break
                        for k in range(uptr[vrect[u]], uptr[vrect[u] + 1]):
                            t = utype[k]
                            c = tchain[t]
                            # the second of a pair out of one chain takes the place behind the first
                            b = first[c] + ptr[c]
                            if q == 1 and utype[uptr[vrect[v]]] >= 0 and tchain[utype[uptr[vrect[v]]]] == c:
                                b += 1
                            for j in range(ucount[k]):
                                code += codes[b + j]
                    mark = mix(code, out) | 1
                    where = (mark >> 7) & (seen.shape[0] - 1)
                    if seen[where] == mark:
                        continue
                    seen[where] = mark
                    n = count[into]
                    if n == cap:
                        n = cap // 2
                        ctl[DROPPED] = 1
                        bar[into] = halve(
                            keys[into], cap, n, rows[into], meta[into], codes_in[into],
                            areas[into], values[into],
                        )  # fmt: skip
                        count[into] = n
                        if key >= bar[into]:
                            continue
                    keys[into, n] = key
                    for k in range(STATE):
                        rows[into, n, k] = out[k]
                    for k in range(MOVE):
                        meta[into, n, k] = about[i, k]
                    codes_in[into, n] = code
                    areas[into, n] = new_area
                    values[into, n] = new_value
                    count[into] = n + 1
        if not next_level(beam, chains, sheets, fill):
            return False
    return True


advance: Any = jit(_advance)


def _advance_beam(
    beam: Beam, chains: Chains, sheets: Sheets, own: int, worths: Any, lean: float, foresee: bool, least: int,
    fill: bool, frames: int, open_racks: int, slice_nodes: int, flaws: Any,
) -> Any:  # fmt: skip
    if flaws is None:
        return advance(
            beam,
            chains,
            sheets,
            own,
            worths,
            lean,
            foresee,
            least,
            fill,
            frames,
            open_racks,
            slice_nodes,
            None,
        )
    return advance(
        beam, chains, sheets, own, worths, lean, foresee, least, fill, frames, open_racks, slice_nodes,
        borrowed(flaws),
    )  # fmt: skip


advance_beam: Any = jit(_advance_beam)
