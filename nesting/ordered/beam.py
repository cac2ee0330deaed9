"""The ordered beam: level by level, all nodes of a level hold the same number of rectangles.

Iterated level beam in the family of Libralesso and Fontan (EJOR 2021), growing strips and rows. Chains give
what may come next, so that an order costs nothing; a pair in one column enters the level after the next. Of
nodes with the same panels placed, those go that another one dominates, however many fronts are left. Runs in
slices of whole levels; compiled without flaws (None), and with them when a sheet has some.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from ..optimizer.moves import jit
from .front import (
    ALONE,
    DEPTH,
    FRAME,
    LEAST,
    LENGTH,
    PAIRS,
    PLATE,
    STATE,
    STOCK,
    USABLE,
    WASTE1,
    WIDE1,
    X1,
    X1P,
    X3C,
    Y2,
    Y2P,
    dead,
    dominates,
    swept,
)
from .problem import Chains, Sheets
from .trial import COLUMN, GOOD, ROW, SHEET_H, SHEET_V, STRIP, trial

BUFFER: Final = 4
"""Candidates held for each node of the beam before the worst half is dropped."""
RING: Final = 3
"""Levels in hand: a pair reaches the one after the next."""
SHIFTS: Final = 10
"""Places tried in one direction beside flaws."""
CHILDREN: Final = 8192
"""Children of one node and kind at most."""
MOVE: Final = 8
"""Of a move: parent, variant, variant upon it or -1, kind, strip, row, x, y."""

I64: Any = np.int64

# what a run counts, in `Beam.ctl`
LEVEL: Final = 0
NODES: Final = 1
USED: Final = 2
EXPANDED: Final = 3
BEST: Final = 4
BEST_END: Final = 5
LIMIT: Final = 6
OVER: Final = 7
BEFORE: Final = 8
"""Nodes of the level before."""
CRAMPED: Final = 9
"""There is no more room for moves."""
CTL: Final = 10


class Beam(NamedTuple):
    """All that a run keeps between its slices."""

    ctl: Any  # (CTL,)
    best: Any  # (1,) float64: value of the best, when a sheet is filled
    state: Any  # (width, STATE)
    code: Any  # (width,)
    area: Any
    value: Any
    ptr: Any  # (RING, width, chains)
    left: Any  # (RING, width)
    node: Any  # (RING, width): place among the moves
    moves: Any  # (room, MOVE)
    keys: Any  # (RING, cap)
    rows: Any  # (RING, cap, STATE)
    meta: Any  # (RING, cap, MOVE)
    codes: Any
    areas: Any
    values: Any
    count: Any  # (RING,)
    bar: Any  # (RING,)
    seen: Any
    table: Any
    chain: Any
    kids: Any  # (CHILDREN, STATE)
    about: Any  # (CHILDREN, MOVE)


def new_beam(width: int, chains: int, panels: int, limit: int) -> Beam:
    """An empty sheet, nothing placed.

    Parameters
    ----------
    width
        Nodes kept of a level.
    chains, panels
        Of the part.
    limit
        A node that wastes this much or more is dropped.
    """
    cap = BUFFER * width + 8
    size = 1
    while size < 4 * cap:
        size *= 2
    room = 24 * width + panels + 64
    ctl = np.zeros(CTL, np.int64)
    ctl[NODES], ctl[USED], ctl[BEST], ctl[BEST_END], ctl[LIMIT] = 1, 1, -1, 2**62, limit
    made = Beam(
        ctl=ctl,
        best=np.full(1, -1.0),
        state=np.zeros((width, STATE), np.int64),
        code=np.zeros(width, np.int64),
        area=np.zeros(width, np.int64),
        value=np.zeros(width, np.float64),
        ptr=np.zeros((RING, width, max(chains, 1)), np.int32),
        left=np.zeros((RING, width), np.int64),
        node=np.zeros((RING, width), np.int64),
        moves=np.zeros((room, MOVE), np.int64),
        keys=np.empty((RING, cap), np.float64),
        rows=np.empty((RING, cap, STATE), np.int64),
        meta=np.empty((RING, cap, MOVE), np.int64),
        codes=np.empty((RING, cap), np.int64),
        areas=np.empty((RING, cap), np.int64),
        values=np.empty((RING, cap), np.float64),
        count=np.zeros(RING, np.int64),
        bar=np.full(RING, np.inf),
        seen=np.zeros(size, np.int64),
        table=np.empty(size, np.int32),
        chain=np.empty(width, np.int32),
        kids=np.empty((CHILDREN, STATE), np.int64),
        about=np.empty((CHILDREN, MOVE), np.int64),
    )
    made.state[0, PLATE] = -1
    made.left[0, 0] = panels
    made.moves[0] = -1
    return made


@jit
def mix(h: int, s: Any) -> int:
    """A mark of the set placed and the front, to drop equal candidates."""
    for k in range(STATE):
        h = (h ^ s[k]) * I64(-7046029254386353131)
        h ^= h >> 29
    return h


@jit
def halve(keys: Any, count: int, keep: int, rows: Any, meta: Any, codes: Any, areas: Any, values: Any) -> float:
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
            codes[i] = codes[j]
            areas[i] = areas[j]
            values[i] = values[j]
    return float(worst)


@jit
def tidy(moves: Any, used: int, node: Any, counts: Any, best: int) -> tuple[int, int]:
    """Drop the moves that lead to no node in hand: moves left, place of the best."""
    at = np.zeros(used, np.int64)
    at[0] = 1
    for r in range(node.shape[0]):
        for p in range(counts[r]):
            at[node[r, p]] = 1
    if best >= 0:
        at[best] = 1
    for k in range(used - 1, 0, -1):
        if at[k] != 0:
            at[moves[k, 0]] = 1
    kept = 0
    for k in range(used):
        if at[k] != 0:
            at[k] = kept
            if k != kept:
                moves[kept] = moves[k]
            if k > 0:
                moves[kept, 0] = at[moves[kept, 0]]
            kept += 1
    for r in range(node.shape[0]):
        for p in range(counts[r]):
            node[r, p] = at[node[r, p]]
    return kept, (at[best] if best >= 0 else best)


@jit
def heads(
    ptr: Any, first: Any, racked: Any, ptype: Any, tchain: Any, tplace: Any, tfirst: Any, tlast: Any,
    vrect: Any, uptr: Any, utype: Any, ucount: Any, own: int, open_racks: int, out: Any, out_chain: Any,
) -> int:  # fmt: skip
    """The variants of what may be placed next; their number."""
    n = 0
    begun = 0
    if open_racks > 0:
        for c in range(first.shape[0] - 1):
            if racked[c] != 0 and 0 < ptr[c] < first[c + 1] - first[c]:
                begun += 1
    for c in range(first.shape[0] - 1):
        size = first[c + 1] - first[c]
        if ptr[c] >= size:
            continue
        if open_racks > 0 and racked[c] != 0 and ptr[c] == 0 and size > 1 and begun >= open_racks:
            continue
        t = ptype[first[c] + ptr[c]]
        for v in range(tfirst[t], tlast[t]):
            out[n] = v
            out_chain[n] = c
            n += 1
    for v in range(own, vrect.shape[0]):
        rect = vrect[v]
        fine = True
        for k in range(uptr[rect], uptr[rect + 1]):
            c = tchain[utype[k]]
            if c < 0 or first[c + 1] - first[c] - ptr[c] < ucount[k]:
                fine = False
                break
        if fine:
            out[n] = v
            out_chain[n] = -1
            n += 1
    return n


@jit
def pairs(
    ins: Any, ins2: Any, at: Any, n: int, wclass: Any, ptr: Any, first: Any, racked: Any, ptype: Any,
    tfirst: Any, tlast: Any, bucket: Any, follow: Any, both: bool, open_racks: int, limit: int,
) -> int:  # fmt: skip
    """Append the pairs of equal width: two heads, or a head and the next of its chain; their end.

    `both`: in either order, which matters where flaws are about.
    """
    begun = 0
    if open_racks > 0:
        for c in range(first.shape[0] - 1):
            if racked[c] != 0 and 0 < ptr[c] < first[c + 1] - first[c]:
                begun += 1
    end = n
    for i in range(n):
        c = at[i]
        if c < 0:
            continue
        v = ins[i]
        one = wclass[v]
        begins = open_racks > 0 and racked[c] != 0 and ptr[c] == 0 and first[c + 1] - first[c] > 1
        j = bucket[one]
        while j >= 0:
            d = at[j]
            fine = d != c
            if fine and begins and racked[d] != 0 and ptr[d] == 0 and first[d + 1] - first[d] > 1:
                fine = begun + 2 <= open_racks
            if fine and end + 2 < limit:
                ins[end] = v
                ins2[end] = ins[j]
                at[end] = c
                end += 1
                if both:
                    ins[end] = ins[j]
                    ins2[end] = v
                    at[end] = d
                    end += 1
            j = follow[j]
        follow[i] = bucket[one]
        bucket[one] = i
        if ptr[c] + 1 < first[c + 1] - first[c]:
            t = ptype[first[c] + ptr[c] + 1]
            for u in range(tfirst[t], tlast[t]):
                if wclass[u] == one and end < limit:
                    ins[end] = v
                    ins2[end] = u
                    at[end] = c
                    end += 1
    for i in range(n):
        if at[i] >= 0:
            bucket[wclass[ins[i]]] = -1
    return end


def _advance(
    beam: Beam,
    chains: Chains,
    sheets: Sheets,
    own: int,
    worth: Any,  # (rects,) float64
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
    ctl, state, kids, about = beam.ctl, beam.state, beam.kids, beam.about
    first, racked, ptype, tchain = chains.first, chains.racked, chains.ptype, chains.tchain
    tplace, vw, vh, vrect = chains.tplace, chains.vw, chains.vh, chains.vrect
    uptr, utype, ucount, area = chains.uptr, chains.utype, chains.ucount, chains.area
    numbers, prefix, fptr = sheets.numbers, sheets.prefix, sheets.fptr
    width = state.shape[0]
    cap = beam.keys.shape[1]
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
        if ctl[USED] + width > beam.moves.shape[0]:
            order_of[:] = 0
            order_of[here] = n_nodes
            order_of[(level + 2) % RING] = ctl[BEFORE]
            ctl[USED], ctl[BEST] = tidy(beam.moves, ctl[USED], beam.node, order_of, ctl[BEST])
            if 2 * (ctl[USED] + width) > beam.moves.shape[0]:
                ctl[CRAMPED] = 1
                return True
        for p in range(n_nodes):
            if beam.left[here, p] == 0:
                continue
            ctl[EXPANDED] += 1
            done += 1
            s = state[p]
            plate = s[PLATE]
            ptr = beam.ptr[here, p]
            n_heads = heads(
                ptr, first, racked, ptype, tchain, tplace, chains.tfirst, chains.tlast, vrect, uptr, utype,
                ucount, own, open_racks, ins, at,
            )  # fmt: skip
            paired = -1
            n_ins = n_heads
            closed = False
            for kind in range(COLUMN, SHEET_H + 1):
                if plate < 0 and kind < SHEET_V:
                    continue
                if closed and kind != SHEET_H:
                    break
                frame = s[FRAME]
                to = plate
                if kind >= SHEET_V:
                    frame = kind - SHEET_V
                    to = plate + 1
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
                        ins, ins2, at, n_heads, chains.wclass[frame], ptr, first, racked, ptype, chains.tfirst,
                        chains.tlast, bucket, follow, flaws is not None, open_racks, many,
                    )  # fmt: skip
                    paired = frame
                lo = hi = 0
                if flaws is not None:
                    lo, hi = fptr[to], fptr[to + 1]
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
                    tie = chains.tie[vrect[v]]
                    if tie != -1 and tie != g[STOCK]:
                        continue
                    if i >= n_heads:
                        tie = chains.tie[vrect[ins2[i]]]
                        if tie != -1 and tie != g[STOCK]:
                            continue
                    xs, ys, x, y = xs0, ys0, x0, ys0
                    way = 0  # 0: at once, 1: right, 2: row higher, 3: strip to the right, 4: item higher
                    tries = 0
                    met = I64(0)
                    while n_kids < CHILDREN:
                        if flaws is None:
                            r = trial(
                                s, kids[n_kids], kind, to, frame, xs, ys, x, y, w, h, h2, g, None, 0, 0,
                                chains.tol[0, 0],
                            )  # fmt: skip
                        else:
                            r = trial(
                                s, kids[n_kids], kind, to, frame, xs, ys, x, y, w, h, h2, g, flaws[frame], lo,
                                hi, chains.tol[frame, chains.vtol[v]],
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
                            n_kids += 1
                        if flaws is None:
                            break
                        if way == 0:
                            if r <= 0:
                                break
                            met = r - 1
                        again = r > 0 and way != 0 and tries < SHIFTS
                        if again:
                            k = r - 1
                            tries += 1
                        else:
                            k = met
                            tries = 0
                            way += 1
                            xs, ys, x, y = xs0, ys0, x0, ys0
                        # where this flaw is passed
                        if way == 1:
                            if g[ALONE] == 0:
                                x = max(flaws[frame, k, 2], x0 + g[LEAST])
                                if x + w <= length:
                                    continue
                            way = 2
                            k = met
                            tries = 0
                            xs, ys, x, y = xs0, ys0, x0, ys0
                        if way == 2:
                            if kind != COLUMN:
                                ys = max(flaws[frame, k, 3], ys0 + g[LEAST], ys)
                                y = ys
                                if ys + h + h2 <= depth:
                                    continue
                            way = 3
                            k = met
                            tries = 0
                            xs, ys, x, y = xs0, ys0, x0, ys0
                        if way == 3:
                            if kind >= STRIP:
                                xs = max(flaws[frame, k, 2], xs0 + g[WASTE1], xs)
                                x = xs
                                if x + w <= length and xs - xs0 <= g[WIDE1]:
                                    continue
                            way = 4
                            k = met
                            tries = 0
                            xs, ys, x, y = xs0, ys0, x0, ys0
                        if way == 4 and tries == 0 and h2 == 0:
                            if kind == COLUMN:
                                y = s[Y2] - h
                                if y > ys:
                                    tries = SHIFTS
                                    continue
                            else:
                                y = max(flaws[frame, k, 3], ys0 + g[LEAST])
                                if y + h <= depth:
                                    tries = SHIFTS
                                    continue
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
                    new_area = beam.area[p] + area[rect]
                    new_value = beam.value[p] + worth[rect]
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
                    if key >= beam.bar[into]:
                        continue
                    code = beam.code[p]
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
                                code += chains.codes[b + j]
                    mark = mix(code, out) | 1
                    where = (mark >> 7) & (beam.seen.shape[0] - 1)
                    if beam.seen[where] == mark:
                        continue
                    beam.seen[where] = mark
                    n = beam.count[into]
                    if n == cap:
                        n = cap // 2
                        beam.bar[into] = halve(
                            beam.keys[into], cap, n, beam.rows[into], beam.meta[into], beam.codes[into],
                            beam.areas[into], beam.values[into],
                        )  # fmt: skip
                        beam.count[into] = n
                        if key >= beam.bar[into]:
                            continue
                    beam.keys[into, n] = key
                    for k in range(STATE):
                        beam.rows[into, n, k] = out[k]
                    for k in range(MOVE):
                        beam.meta[into, n, k] = about[i, k]
                    beam.codes[into, n] = code
                    beam.areas[into, n] = new_area
                    beam.values[into, n] = new_value
                    beam.count[into] = n + 1
        # the next level
        level += 1
        into = level % RING
        n_cand = beam.count[into]
        if n_cand == 0 and beam.count[(level + 1) % RING] == 0:
            ctl[OVER] = 1
            return False
        kept = 0
        order = np.argsort(beam.keys[into, :n_cand], kind="mergesort")
        beam.table[:] = -1
        mask = beam.table.shape[0] - 1
        for i in range(n_cand):
            if kept == width:
                break
            c = order[i]
            row = beam.rows[into, c]
            to, frame = row[PLATE], row[FRAME]
            if not fill:
                if prefix[to] + swept(row, numbers[to, frame, DEPTH]) - beam.areas[into, c] >= ctl[LIMIT]:
                    continue
            code = beam.codes[into, c]
            slot = ((code * I64(-7046029254386353131)) >> 17) & mask
            while beam.table[slot] >= 0 and beam.code[beam.table[slot]] != code:
                slot = (slot + 1) & mask
            k = beam.table[slot]
            bad = False
            while k >= 0:
                if dominates(state[k], row):
                    bad = True
                    break
                k = beam.chain[k]
            if bad:
                continue
            for k in range(STATE):
                state[kept, k] = row[k]
            beam.code[kept] = code
            beam.area[kept] = beam.areas[into, c]
            beam.value[kept] = beam.values[into, c]
            v, v2 = beam.meta[into, c, 1], beam.meta[into, c, 2]
            from_ = (level - 1) % RING if v2 < 0 else (level - 2) % RING
            parent = beam.meta[into, c, 0]
            left = beam.left[from_, parent]
            for k in range(beam.ptr.shape[2]):
                beam.ptr[into, kept, k] = beam.ptr[from_, parent, k]
            for q in range(2):
                u = v if q == 0 else v2
                if u < 0:
                    break
                for k in range(uptr[vrect[u]], uptr[vrect[u] + 1]):
                    beam.ptr[into, kept, tchain[utype[k]]] += ucount[k]
                    left -= ucount[k]
            beam.left[into, kept] = left
            used = ctl[USED]
            beam.moves[used, 0] = beam.node[from_, parent]
            for k in range(1, MOVE):
                beam.moves[used, k] = beam.meta[into, c, k]
            beam.node[into, kept] = used
            beam.chain[kept] = beam.table[slot]
            beam.table[slot] = kept
            if fill or left == 0:
                end = prefix[to] + row[X1] * numbers[to, frame, DEPTH]
                if fill:
                    value = beam.values[into, c]
                    better = value > beam.best[0] or (value == beam.best[0] and end < ctl[BEST_END])
                else:
                    better = end < ctl[BEST_END] and end - beam.areas[into, c] < ctl[LIMIT]
                if better:
                    ctl[BEST] = used
                    ctl[BEST_END] = end
                    beam.best[0] = beam.values[into, c]
                    if not fill:
                        ctl[LIMIT] = end - beam.areas[into, c]
            ctl[USED] += 1
            kept += 1
        beam.count[into] = 0
        beam.bar[into] = np.inf
        ctl[LEVEL] = level
        ctl[BEFORE] = n_nodes
        ctl[NODES] = kept
    return True


advance_beam = jit(_advance)


def roomier(beam: Beam) -> Beam:
    """The same with room for twice as many moves."""
    beam.ctl[CRAMPED] = 0
    return beam._replace(moves=np.concatenate([beam.moves, np.zeros_like(beam.moves)]))


@jit
def retrace(
    beam: Beam, vw: Any, vh: Any, numbers: Any, fptr: Any, flaws: Any, tol: Any, vtol: Any, node: int
) -> Any:
    """The moves that lead to a node, first to last, and the front after each."""
    n = 0
    k = node
    while k > 0:
        n += 1
        k = beam.moves[k, 0]
    out = np.empty((n, MOVE + STATE), np.int64)
    k = node
    for i in range(n - 1, -1, -1):
        out[i, :MOVE] = beam.moves[k]
        k = beam.moves[k, 0]
    s = np.zeros(STATE, np.int64)
    s[PLATE] = -1
    for i in range(n):
        v, v2, kind = out[i, 1], out[i, 2], out[i, 3]
        to = s[PLATE] + (1 if kind >= SHEET_V else 0)
        frame = kind - SHEET_V if kind >= SHEET_V else s[FRAME]
        h2 = I64(0) if v2 < 0 else vh[frame, v2]
        o = out[i, MOVE:]
        if flaws is None:
            trial(
                s, o, kind, to, frame, out[i, 4], out[i, 5], out[i, 6], out[i, 7], vw[frame, v], vh[frame, v],
                h2, numbers[to, frame], None, 0, 0, tol[0, 0],
            )  # fmt: skip
        else:
            trial(
                s, o, kind, to, frame, out[i, 4], out[i, 5], out[i, 6], out[i, 7], vw[frame, v], vh[frame, v],
                h2, numbers[to, frame], flaws[frame], fptr[to], fptr[to + 1], tol[frame, vtol[v]],
            )  # fmt: skip
        s[:] = o
    return out
