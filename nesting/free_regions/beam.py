"""Filling one sheet: a beam over the panels placed, each node a set of free regions.

All nodes of a level hold the same number of panels. A node is extended in its smallest region that takes
any panel at all; regions that take none are waste. A node is worth the values of its panels and what its
regions are worth (`trial.use_of`).
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .children import (
    BOX,
    CHILD,
    EDGE,
    FIRST,
    NODE,
    REGION,
    ROOM,
    SECOND,
    VARIANT,
    lines_of,
    place,
    try_region,
)
from .geometry import area_of, jit
from .trial import cut_out, frame, ranked, use_of

MOST_REGIONS: Final = 40
"""Free regions of a node that are kept, the most useful first come."""
PARENT: Final = 0
PLACED: Final = 1
PIECE: Final = 2
NUMBER: Final = 3
SCORES: Final = 4
RECORD: Final = 5
"""Columns of a record: the one before, the variant that was placed, the piece that it came from, the number of
scores before it, and its scores; their lines follow."""

U64 = np.uint64

I64: Any = np.int64


@jit
def fill(
    width: float,
    height: float,
    demand: Any,
    wanted: Any,
    values: Any,
    table: Any,
    corners: Any,
    first: Any,
    spans: Any,
    sizes: Any,
    rules: Any,
    guide: Any,
    beam: int,
    kept: int,
    noise: float,
    seed: int,
    codes: Any,
    records: Any,
    where: Any,
    count: Any,
) -> Any:
    """Fill a room; the last record of the best node (-1: nothing fits) and its value.

    Parameters
    ----------
    width, height
        Of the room. [mm]
    demand, wanted, values
        Of each shape: how many there are, whether it may be taken here, and the value of one.
    table, corners, first, spans, sizes
        Variants of the shapes (see `filler.Tables`).
    rules, guide
        See `trial`.
    beam, kept, noise, seed
        Nodes of a level, children of a node, range of the noise in the value of a child, start of its draw.
    codes
        A random number of 64 bits for each shape, to tell equal nodes.
    records, where
        Receive the records, and the lines of each (see `children.lines_of`).
    count
        Work is added here.
    """
    n_shapes = demand.shape[0]
    rx = np.empty((2, beam, MOST_REGIONS, ROOM))
    ry = np.empty((2, beam, MOST_REGIONS, ROOM))
    rn = np.zeros((2, beam, MOST_REGIONS), np.int64)
    piece = np.zeros((2, beam, MOST_REGIONS), np.int64)
    worth = np.zeros((2, beam, MOST_REGIONS))
    size = np.zeros((2, beam, MOST_REGIONS))
    open_n = np.zeros((2, beam), np.int64)
    used = np.zeros((2, beam, n_shapes), np.int64)
    value = np.zeros((2, beam))
    pieces = np.zeros((2, beam), np.int64)
    last = np.full((2, beam), -1, np.int64)
    code = np.zeros((2, beam), np.uint64)
    lines = np.empty((ROOM, 3, ROOM))
    axes = np.empty((ROOM, 5))
    vx, vy, px, py = np.empty(ROOM), np.empty(ROOM), np.empty(ROOM), np.empty(ROOM)
    work = np.empty((2, 2, ROOM))
    most = np.empty(n_shapes)
    rank = np.empty(n_shapes, np.int64)
    ends = np.empty((4, ROOM))
    turns = np.empty((2, ROOM))
    scratch = (lines, axes, vx, vy, px, py, ends, turns, work, most, rank)
    parts = np.empty((ROOM, 2, ROOM))
    order = np.zeros(ROOM, np.int64)
    part_n = np.zeros(ROOM, np.int64)
    uses = np.zeros(ROOM)
    cand = np.zeros((beam * kept + kept, CHILD), np.int64)
    shift = np.zeros(beam * kept + kept)
    score = np.zeros(beam * kept + kept)
    taken_code = np.zeros(beam, np.uint64)
    taken_score = np.zeros(beam)
    state = np.array([U64(seed) * U64(2) + U64(88172645463325252)])

    for i in range(4):
        rx[0, 0, 0, i] = width if i in (1, 2) else 0.0
        ry[0, 0, 0, i] = height if i >= 2 else 0.0
    rn[0, 0, 0] = 4
    size[0, 0, 0] = width * height
    worth[0, 0, 0] = use_of(rx[0, 0, 0], ry[0, 0, 0], 4, width * height, guide)
    open_n[0, 0] = 1
    nodes, now = 1, 0
    made = 0
    best, best_value = -1, 0.0
    while nodes > 0:
        total_cand = 0
        for b in range(nodes):
            if value[now, b] > best_value:
                best_value = value[now, b]
                best = last[now, b]
            base = value[now, b]
            for r in range(open_n[now, b]):
                base += worth[now, b, r]
            dead = 0
            while dead < open_n[now, b]:
                # smallest region not yet known as waste: waste has size -1
                pick, least = I64(-1), np.inf  # typed, so that nothing is compiled for the literal
                for r in range(open_n[now, b]):
                    if 0 <= size[now, b, r] < least:
                        pick, least = r, size[now, b, r]
                if pick < 0:
                    break
                got = try_region(
                    b,
                    pick,
                    rx[now, b, pick],
                    ry[now, b, pick],
                    rn[now, b, pick],
                    worth[now, b, pick],
                    base,
                    size[now, b, pick],
                    used[now, b],
                    demand,
                    wanted,
                    table,
                    corners,
                    first,
                    spans,
                    sizes,
                    values,
                    rules,
                    guide,
                    noise,
                    state,
                    scratch,
                    order,
                    parts,
                    part_n,
                    uses,
                    kept,
                    cand[total_cand:],
                    shift[total_cand:],
                    score[total_cand:],
                    count,
                )
                if got > 0:
                    total_cand += got
                    break
                base -= worth[now, b, pick]
                worth[now, b, pick] = 0.0
                size[now, b, pick] = -1.0
                dead += 1
        new = 1 - now
        fresh = 0
        ranks = np.argsort(-score[:total_cand], kind="mergesort")
        for q in ranks:
            if fresh == beam:
                break
            b, r, v = cand[q, NODE], cand[q, REGION], cand[q, VARIANT]
            s = table[v, 0]
            mark = code[now, b] + codes[s]
            again = False
            for k in range(fresh):
                if taken_code[k] == mark and abs(taken_score[k] - score[q]) < 1e-3:
                    again = True
                    break
            if again or made == records.shape[0]:
                continue
            x, y, n, j = rx[now, b, r], ry[now, b, r], rn[now, b, r], cand[q, EDGE]
            ex, ey = frame(x, y, n, j, lines[j])
            m = place(table, corners, v, x, y, j, ex, ey, shift[q], px, py)
            lines_of(px, py, m, x[j], y[j], ex, ey, ends)
            deep = ranked(x, y, n, ends, m, turns)
            cuts = cut_out(
                x,
                y,
                n,
                ends,
                turns,
                deep,
                cand[q, FIRST],
                cand[q, SECOND],
                -1.0,
                rules,
                guide,
                work,
                order,
                parts,
                part_n,
                uses,
            )
            taken_code[fresh] = mark
            taken_score[fresh] = score[q]
            code[new, fresh] = mark
            for k in range(n_shapes):
                used[new, fresh, k] = used[now, b, k]
            used[new, fresh, s] += 1
            value[new, fresh] = value[now, b] + values[s]
            records[made, PARENT] = last[now, b]
            records[made, PLACED] = v
            records[made, PIECE] = piece[now, b, r]
            records[made, NUMBER] = pieces[now, b]
            records[made, SCORES] = cuts
            for k in range(cuts):
                records[made, RECORD + k] = order[k]
            for k in range(m + BOX):
                for i in range(4):
                    where[made, i, k] = ends[i, k]
            last[new, fresh] = made
            made += 1
            # what stays open
            at = 0
            for k in range(open_n[now, b]):
                if k == r or size[now, b, k] < 0:
                    continue
                rn[new, fresh, at] = rn[now, b, k]
                for i in range(rn[now, b, k]):
                    rx[new, fresh, at, i] = rx[now, b, k, i]
                    ry[new, fresh, at, i] = ry[now, b, k, i]
                piece[new, fresh, at] = piece[now, b, k]
                worth[new, fresh, at] = worth[now, b, k]
                size[new, fresh, at] = size[now, b, k]
                at += 1
            for k in range(cuts):
                if uses[k] <= 0.0 or at == MOST_REGIONS:
                    continue
                rn[new, fresh, at] = part_n[k]
                for i in range(part_n[k]):
                    rx[new, fresh, at, i] = parts[k, 0, i]
                    ry[new, fresh, at, i] = parts[k, 1, i]
                piece[new, fresh, at] = pieces[now, b] + k + 1
                worth[new, fresh, at] = uses[k]
                size[new, fresh, at] = area_of(parts[k, 0], parts[k, 1], part_n[k])
                at += 1
            open_n[new, fresh] = at
            pieces[new, fresh] = pieces[now, b] + cuts
            fresh += 1
        nodes, now = fresh, new
    return best, best_value
