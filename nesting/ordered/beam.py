"""The ordered beam: level by level, all nodes of a level hold the same number of rectangles.

Iterated level beam in the family of Libralesso and Fontan (EJOR 2021), growing strips and rows. Chains give
what may come next, so that an order costs nothing; a pair in one column enters the level after the next. Of
nodes with the same panels placed, those go that another one dominates, however many fronts are left. Runs in
slices of whole levels; compiled without flaws (None), and with them when a sheet has some.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..optimizer.borrowed import borrowed
from ..optimizer.moves import jit
from .beam_state import (
    AHEAD,
    BEFORE,
    BEST,
    CRAMPED,
    DROPPED,
    EXPANDED,
    KEPT,
    LEVEL,
    LIMIT,
    NODES,
    RING,
    USED,
    Beam,
    candidates,
    tidy,
)
from .entering import enter, mix, set_with
from .front import (
    ALONE,
    DEPTH,
    FRAME,
    LENGTH,
    PAIRS,
    PLATE,
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
from .problem import AREA, BAND, INNER, RACK, TIE, Chains, H, Sheets, W
from .shifts import AT_ONCE, ITEM_HIGHER, SHIFTS, beside
from .trial import COLUMN, GOOD, ROW, SHEET_H, SHEET_V, STRIP, trial

I64: Any = np.int64


def _advance_beam(
    beam: Beam,
    chains: Chains,
    sheets: Sheets,
    own: int,
    worths: Any,  # (variants,) float64
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
    if flaws is not None:
        spots = borrowed(flaws)
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
    out = borrowed(beam.front)
    about = borrowed(beam.about)
    first = borrowed(chains.first)
    racked = borrowed(chains.racked)
    ptype = borrowed(chains.ptype)
    codes = borrowed(chains.codes)
    tchain = borrowed(chains.tchain)
    tfirst = borrowed(chains.tfirst)
    tlast = borrowed(chains.tlast)
    shape = borrowed(chains.shape)
    vrect = borrowed(chains.vrect)
    tol = borrowed(chains.tol)
    uptr = borrowed(chains.uptr)
    utype = borrowed(chains.utype)
    ucount = borrowed(chains.ucount)
    numbers = borrowed(sheets.numbers)
    prefix = borrowed(sheets.prefix)
    fptr = borrowed(sheets.fptr)
    worth = borrowed(worths)
    width = state.shape[0]
    n_seq = numbers.shape[0]
    offers = borrowed(beam.offers)
    bucket = borrowed(beam.bucket)
    follow = borrowed(beam.follow)
    turn = borrowed(beam.turn)
    order_of = np.empty(RING, np.int64)
    n_heads = n_pairs = 0
    done = 0
    while done < slice_nodes:
        level = ctl[LEVEL]
        here = level % RING
        n_nodes = ctl[NODES]
        most_kept = candidates(ctl[KEPT])
        if ctl[USED] + width > moves.shape[0]:
            order_of[:] = 0
            order_of[here] = n_nodes
            order_of[(level + 2) % RING] = ctl[BEFORE]
            ctl[USED], ctl[BEST] = tidy(moves, ctl[USED], node, order_of, ctl[BEST])
            if 4 * (ctl[USED] + width) > 3 * moves.shape[0]:
                ctl[CRAMPED] = 1
                return True
        paired = -1
        last = I64(-1)
        for k in range(n_nodes):
            p = turn[k]
            if lefts[here, p] == 0:
                continue
            ctl[EXPANDED] += 1
            done += 1
            s = state[p]
            plate = s[PLATE]
            ptr = ptrs[here, p]
            if last < 0 or code_at[p] != code_at[last]:
                n_heads = heads(
                    ptr, first, racked, ptype, tchain, tfirst, tlast, vrect, uptr, utype, ucount, own,
                    open_racks, offers,
                )  # fmt: skip
                paired = -1
            last = p
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
                n_offers = n_heads
                if g[PAIRS] != 0:
                    if paired != frame:
                        n_pairs = pairs(
                            offers, n_heads, shape[frame], ptr, first, racked, ptype, tfirst, tlast, bucket,
                            follow, flaws is not None, open_racks,
                        )  # fmt: skip
                        paired = frame
                    n_offers = n_pairs
                xs0 = ys0 = x0 = x1_was = y2_was = 0
                if kind == COLUMN:
                    xs0, ys0, x0, x1_was, y2_was = s[X1P], s[Y2P], s[X3C], s[X1], s[Y2]
                elif kind == ROW:
                    xs0, ys0, x0, x1_was = s[X1P], s[Y2], s[X1P], s[X1]
                elif kind == STRIP:
                    xs0, x0 = s[X1], s[X1]
                lo = hi = 0
                if flaws is not None:
                    lo, hi = fptr[frame, to], fptr[frame, to + 1]
                    while lo < hi and spots[lo, 2] <= xs0:
                        lo += 1
                before = 0 if fill else prefix[to]
                behind = before + xs0 * depth
                lead = lean * float(length) * float(depth) if fill else lean
                flawed = False
                for i in range(n_offers):
                    if offers[i, 4] != 0 and not flawed:
                        continue  # the other order is another one only around a flaw
                    flawed = False
                    v, v2 = offers[i, 0], offers[i, 1]
                    one = shape[frame, v]
                    w, h, h2 = one[W], one[H], I64(0)
                    if v2 >= 0:
                        h2 = shape[frame, v2, H]
                    right, top = x0 + w, ys0 + h + h2
                    if right > length or top > depth:
                        continue
                    area, value = area_at[p] + one[AREA], value_at[p] + worth[v]
                    into = (level + 1) % AHEAD
                    rack2, inner, tie, tie2 = I64(-1), one[INNER], one[TIE], I64(-1)
                    if v2 >= 0:
                        two = shape[frame, v2]
                        area, value = area + two[AREA], value + worth[v2]
                        into = (level + 2) % AHEAD
                        rack2, inner, tie2 = two[RACK], inner | two[INNER], two[TIE]
                    if (tie != -1 and tie != g[STOCK]) or (tie2 != -1 and tie2 != g[STOCK]):
                        continue
                    # what lies behind the front at least: no trial where that is too much
                    x1, y2 = max(x1_was, right), max(y2_was, top)
                    closes = x1 == x1_was if kind <= ROW else True
                    if kind == COLUMN:
                        closes = closes and y2 == y2_was
                    most = bar[into] * value - lead
                    if closed or not closes:
                        used = behind + (x1 - xs0) * ys0 + (right - xs0) * (y2 - ys0)
                        if used - area >= ctl[LIMIT]:
                            continue
                        if fill:
                            if float(used) >= most:
                                continue
                        elif float(used - area) >= most * float(used):
                            continue
                    xs, ys, x, y = xs0, ys0, x0, ys0
                    way = AT_ONCE
                    tries = 0
                    met = I64(0)
                    while True:
                        if flaws is None:
                            r = trial(
                                s, out, kind, to, frame, xs, ys, x, y, w, h, h2, one[RACK], rack2, inner != 0, g,
                                None, 0, 0, tol, 0,
                            )  # fmt: skip
                        else:
                            r = trial(
                                s, out, kind, to, frame, xs, ys, x, y, w, h, h2, one[RACK], rack2, inner != 0, g,
                                spots, lo, hi, tol, one[BAND],
                            )  # fmt: skip
                        if r == GOOD:
                            if (
                                closes
                                and (kind > ROW or out[X1] == x1_was)
                                and (kind > COLUMN or out[Y2] == y2_was)
                            ):
                                closed = True
                            used = before + swept(out, depth)
                            waste = used - area
                            if waste < ctl[LIMIT]:
                                if foresee:
                                    extra = dead(out, depth, least)
                                    used += extra
                                    waste += extra
                                key = (lead + (float(used) if fill else float(waste) / float(used))) / value
                                if key < bar[into]:
                                    code = set_with(
                                        code_at[p],
                                        offers[i],
                                        ptr,
                                        first,
                                        codes,
                                        vrect[v],
                                        tchain,
                                        uptr,
                                        utype,
                                        ucount,
                                    )
                                    mark = mix(code, out)
                                    where = (mark >> 7) & (seen.shape[0] - 1)
                                    if seen[where] != mark:
                                        seen[where] = mark
                                        about[0], about[1], about[2], about[3], about[4] = p, v, v2, kind, y
                                        count[into], bar[into], dropped = enter(
                                            key, code, area, value, out, about, count[into], most_kept, bar[into],
                                            keys[into], rows[into], meta[into], codes_in[into], areas[into],
                                            values[into],
                                        )  # fmt: skip
                                        if dropped:
                                            ctl[DROPPED] = 1
                        if flaws is None:
                            break
                        if way == AT_ONCE:
                            if r <= 0:
                                break
                            met = r - 1
                            flawed = True
                        if r <= 0 or way == AT_ONCE or tries >= SHIFTS:
                            # another way, from the flaw that was met first
                            r = met + 1
                            tries = 0
                            way += 1
                            xs, ys, x, y = xs0, ys0, x0, ys0
                        else:
                            tries += 1
                        way, tries, xs, ys, x, y = beside(
                            way, tries, kind, xs, ys, x, y, xs0, ys0, x0, s[Y2], w, h, h2, g, spots, r - 1, met
                        )  # fmt: skip
                        if way > ITEM_HIGHER:
                            break
        if not next_level(beam, chains, sheets, fill):
            return False
    return True


advance_beam: Any = jit(_advance_beam)
