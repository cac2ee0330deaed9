"""The one tree-search kernel: a level-synchronised beam over the fronts of `moves`.

Iterated level beam in the family of Libralesso and Fontan (EJOR 2021): all nodes of a level hold the
same number of rectangles, so that they compare fairly without a heap. Two nodes with the same
rectangles placed keep at most three fronts that do not dominate each other. One source serves every
instance: `beam_plain` is compiled without the break-out distance, `beam_broken` with it, `beam_limited`
with the longest score and the distances of level-1 cuts as well.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .beam_parts import choose, count_rows, enough, first_fit, keep_best, mix, retrace, take_chain
from .limits import LIMITS, SIDES, end_strip, place_within
from .moves import (
    COLUMN,
    EMPTY,
    FRAME,
    LAST,
    LAST4,
    ROW,
    SFLAG,
    SHEET,
    SHEET_H,
    SHEET_V,
    STACK,
    STATE,
    STRIP,
    X1C,
    X3C,
    Y2C,
    Y2P,
    can_close,
    close_row,
    dominates,
    jit,
    place,
    swept,
)

FRONTS: Final = 3
"""Fronts kept for one set of rectangles."""
BUFFER: Final = 4
"""Candidates held for each node of the beam before the worst half is dropped."""

I64: Any = np.int64


def _make(broken: bool, limited: bool) -> Any:
    """The kernel with the break-out distance, and with the limits of `limits`, compiled in or left out."""

    def beam(
        seq: Any,  # (sheets, 4) int64: inner width and height, right and top side raw (0, 1); limits follow
        vw: Any,  # (2, V) int64: variant width by frame, variants by falling height, then width
        vh: Any,  # (2, V) int64
        vrect: Any,  # (2, V) int64: the rectangle of a variant
        uptr: Any,  # (R + 1,) int64: which demands a rectangle uses up
        utype: Any,
        ucount: Any,
        area: Any,  # (R,) int64
        value: Any,  # (R,) float64
        demand: Any,  # (T,) int32
        codes: Any,  # (T,) int64: random code of a type, for the hash of what is placed
        distance: int,
        levels: int,
        exact: int,
        frames: int,  # bit 0: first cut vertical, bit 1: horizontal
        fill: bool,  # one sheet, most value; else all demands, least swept area
        width: int,
        lean: float,
        limit: int,  # a node that wastes this much or more is dropped
        many: int,  # with more variants than this, only some of the children are made
        some: int,  # that many of a kind, and then those that fit the width better
    ) -> Any:
        break_out = distance if broken else 0
        n_types = demand.shape[0]
        n_var = vw.shape[1]
        n_seq = seq.shape[0]
        total = 0
        for t in range(n_types):
            total += demand[t]
        cap = BUFFER * width + 8
        keys = np.empty(cap, np.float64)
        rows = np.empty((cap, STATE), np.int64)
        meta = np.empty((cap, 3), np.int64)  # parent, variant, kind
        hashes = np.empty(cap, np.int64)
        values = np.empty(cap, np.float64)
        areas = np.empty(cap, np.int64)
        prefix = np.zeros(n_seq + 1, np.int64)
        for k in range(n_seq):
            prefix[k + 1] = prefix[k] + seq[k, 0] * seq[k, 1]
        most = min(total, prefix[n_seq] // area.min())  # rectangles at most
        state = np.empty((width, STATE), np.int64)
        nxt_state = np.empty((width, STATE), np.int64)
        # on one sheet the few rectangles placed are found along the chain of parents, so that memory
        # does not grow with the types; over many sheets each node holds what is left
        slots = count_rows(width, fill)
        counts = np.empty((slots, n_types), np.int32)
        nxt_counts = np.empty((slots, n_types), np.int32)
        node_hash = np.empty(width, np.int64)
        nxt_hash = np.empty(width, np.int64)
        node_value = np.empty(width, np.float64)
        nxt_value = np.empty(width, np.float64)
        node_area = np.empty(width, np.int64)
        nxt_area = np.empty(width, np.int64)
        node_left = np.empty(width, np.int64)
        nxt_left = np.empty(width, np.int64)
        hist = np.empty((most + 1, width, 4), np.int32)
        seen_size = 1
        while seen_size < 4 * cap:
            seen_size *= 2
        seen = np.zeros(seen_size, np.int64)
        table = np.empty(seen_size, np.int32)
        chain = np.empty(width, np.int32)

        least = np.empty((2, 2), np.int64)
        for f in range(2):
            least[f, 0] = vw[f].min()
            least[f, 1] = vh[f].min()

        state[0] = EMPTY
        node_hash[0] = 0
        node_value[0] = 0.0
        node_area[0] = 0
        node_left[0] = total
        counts[0] = demand
        n_nodes = 1
        # typed, so that no part is compiled a second time for the literal
        level = I64(0)
        expanded = 0
        best_level = I64(-1)
        best_node = I64(-1)
        best_end = I64(2**62)
        best_value = -1.0
        out = np.empty(STATE, np.int64)
        stacked = levels >= 4
        sampled = n_var > many
        choice = np.empty(3 * some + 2 if sampled else 0, np.int64)
        bare = levels == 2 and exact != 0

        while n_nodes > 0 and level < most:
            n_cand = I64(0)
            bar = np.inf
            seen[:] = 0
            for p in range(n_nodes):
                if node_left[p] == 0:
                    continue
                expanded += 1
                s = state[p]
                at = s[SHEET]
                slot = 0 if fill else p
                if fill:
                    take_chain(counts[0], hist, level, p, uptr, utype, ucount, -1)
                closed = -1  # first move kind that is no longer needed
                # the order of kinds is that of freedom kept: a move that costs no glass forbids the next
                for kind in (COLUMN, STACK, ROW, STRIP, SHEET_V, SHEET_H):
                    if at < 0 and kind != SHEET_V and kind != SHEET_H:
                        continue
                    if kind == COLUMN or kind == STACK:
                        if kind == COLUMN and levels == 2:
                            continue
                        if kind == STACK and not stacked:
                            continue
                    elif closed >= 0 and not (kind == SHEET_H and closed == SHEET_V):
                        continue
                    f = s[FRAME]
                    to = at
                    if kind == SHEET_V or kind == SHEET_H:
                        f = 0 if kind == SHEET_V else 1
                        to = at + 1
                        if to >= n_seq or (fill and at >= 0) or (frames >> f) & 1 == 0:
                            continue
                        if at >= 0:
                            of = s[FRAME]
                            if limited:
                                ok, _, _ = end_strip(
                                    s, True, seq[at, SIDES + of * LIMITS :], seq[at, of], seq[at, 1 - of],
                                    seq[at, 2 + of], break_out, bare,
                                )  # fmt: skip
                            else:
                                ok = can_close(s, seq[at, of], seq[at, 2 + of], break_out)
                            if not ok:
                                continue
                    length = seq[to, f]
                    depth = seq[to, 1 - f]
                    far_x = seq[to, 2 + f]
                    far_y = seq[to, 3 - f]
                    lo = 0
                    room_w = length
                    room_h = depth
                    if kind == COLUMN:
                        lo = s[LAST]
                        room_w = (length if s[Y2P] == 0 else s[X1C]) - s[X3C]
                    elif kind == STACK:
                        lo = s[LAST4]
                        room_h = s[Y2C]
                    elif kind == ROW:
                        room_h = depth - s[Y2C]
                    elif kind == STRIP:
                        room_w = length - s[X1C]
                    if room_w < least[f, 0] or room_h < least[f, 1]:
                        continue
                    lo = max(lo, first_fit(vh[f], room_h))
                    # of many variants: a choice begins rows, strips and sheets; the next heights go on
                    # with a row or column, then only what fits its width better
                    chosen = sampled and kind != COLUMN and kind != STACK
                    n_try = n_var - lo
                    if chosen:
                        n_try = choose(
                            choice, vw[f], vrect[f], counts[slot], uptr, utype, ucount, lo, room_w, some,
                            (node_hash[p] >> 9) & 0xFFFF,
                        )  # fmt: skip
                    ahead = some
                    widest = I64(0)
                    for i in range(n_try):
                        v = choice[i] if chosen else lo + i
                        w = vw[f, v]
                        if w > room_w or (ahead <= 0 and w <= widest):
                            continue
                        rect = vrect[f, v]
                        if not enough(counts[slot], uptr, utype, ucount, rect):
                            continue
                        if limited:
                            ok = place_within(
                                s, out, w, vh[f, v], v, kind, seq[to, SIDES + f * LIMITS :], length, depth,
                                far_x, far_y, break_out, levels, exact,
                            )  # fmt: skip
                        else:
                            ok = place(
                                s, out, w, vh[f, v], v, kind, length, depth, far_x, far_y, break_out,
                                levels, exact,
                            )  # fmt: skip
                        if not ok:
                            continue
                        if sampled and not chosen:
                            ahead -= 1
                            widest = max(widest, w)
                        if closed < 0:
                            if kind == COLUMN:
                                if (
                                    s[Y2P] > 0
                                    and out[Y2C] == s[Y2C]
                                    and (
                                        out[X1C] == out[X3C]
                                        or out[X1C] - out[X3C] >= break_out
                                        or s[SFLAG] == 2
                                    )
                                ):
                                    closed = COLUMN
                            elif kind == STACK:
                                closed = STACK
                            elif kind == ROW:
                                if out[SFLAG] == s[SFLAG]:
                                    closed = ROW
                            elif kind == STRIP:
                                closed = STRIP
                            elif kind == SHEET_V:
                                closed = SHEET_V
                        new_area = node_area[p] + area[rect]
                        new_value = node_value[p] + value[rect]
                        used = swept(out, length, depth, least[f, 0], least[f, 1])
                        if fill:
                            key = (lean * float(length) * float(depth) + float(used)) / new_value
                        else:
                            used += prefix[to]
                            waste = used - new_area
                            if waste >= limit:
                                continue
                            key = (lean + float(waste) / float(used)) / new_value
                        if key >= bar:
                            continue
                        code = node_hash[p]
                        for k in range(uptr[rect], uptr[rect + 1]):
                            code += codes[utype[k]] * ucount[k]
                        mark = mix(code, out) | 1
                        where = (mark >> 7) & (seen_size - 1)
                        if seen[where] == mark:
                            continue
                        seen[where] = mark
                        if n_cand == cap:
                            bar = keep_best(keys, n_cand, cap // 2, rows, meta, hashes, values, areas)
                            n_cand = cap // 2
                            if key >= bar:
                                continue
                        keys[n_cand] = key
                        rows[n_cand] = out
                        meta[n_cand, 0] = p
                        meta[n_cand, 1] = v
                        meta[n_cand, 2] = kind
                        hashes[n_cand] = code
                        values[n_cand] = new_value
                        areas[n_cand] = new_area
                        n_cand += 1
                if fill:
                    take_chain(counts[0], hist, level, p, uptr, utype, ucount, 1)
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
                code = hashes[c]
                slot = ((code * I64(-7046029254386353131)) >> 17) & (seen_size - 1)
                while table[slot] >= 0 and nxt_hash[table[slot]] != code:
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
                if bad or fronts >= FRONTS:
                    continue
                parent = meta[c, 0]
                v = meta[c, 1]
                nxt_state[kept] = rows[c]
                nxt_hash[kept] = code
                nxt_value[kept] = values[c]
                nxt_area[kept] = areas[c]
                rect = vrect[rows[c, FRAME], v]
                nxt_left[kept] = node_left[parent]
                if not fill:
                    nxt_counts[kept] = counts[parent]
                for k in range(uptr[rect], uptr[rect + 1]):
                    nxt_left[kept] -= ucount[k]
                    if not fill:
                        nxt_counts[kept, utype[k]] -= ucount[k]
                hist[level, kept, 0] = parent
                hist[level, kept, 1] = v
                hist[level, kept, 2] = meta[c, 2]
                hist[level, kept, 3] = rect
                chain[kept] = table[slot]
                table[slot] = kept
                if fill or nxt_left[kept] == 0:
                    s = nxt_state[kept]
                    at = s[SHEET]
                    f = s[FRAME]
                    length = seq[at, f]
                    depth = seq[at, 1 - f]
                    far_x = seq[at, 2 + f]
                    if limited:
                        ok, x1c, _ = end_strip(
                            s, True, seq[at, SIDES + f * LIMITS :], length, depth, far_x, break_out, bare
                        )
                    else:
                        ok = can_close(s, length, far_x, break_out)
                        _, x1c, _ = close_row(s[X1C], s[X3C], s[SFLAG], length, far_x, break_out)
                    if ok:
                        if fill:
                            better = nxt_value[kept] > best_value
                        else:
                            end = prefix[at] + x1c * depth
                            better = end < best_end
                            if better:
                                best_end = end
                        if better:
                            best_value = nxt_value[kept]
                            best_level = level
                            best_node = kept
                kept += 1
            state, nxt_state = nxt_state, state
            if not fill:
                counts, nxt_counts = nxt_counts, counts
            node_hash, nxt_hash = nxt_hash, node_hash
            node_value, nxt_value = nxt_value, node_value
            node_area, nxt_area = nxt_area, node_area
            node_left, nxt_left = nxt_left, node_left
            n_nodes = kept

        if best_level < 0:
            return np.empty((0, 3 + STATE), np.int64), expanded
        return retrace(hist, best_level, best_node, seq, vw, vh, vrect, break_out, levels, exact), expanded

    return jit(beam)


beam_plain = _make(False, False)
beam_broken = _make(True, False)
beam_limited = _make(True, True)
