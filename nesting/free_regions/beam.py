"""Filling one sheet: a beam over the panels placed, each node a set of free regions.

All nodes of a level hold the same number of panels. A node is extended in its smallest region that takes
any panel at all; regions that take none are waste. A node is worth the values of its panels and what its
regions are worth (`trial.use_of`).
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .geometry import NEAR, area_of, jit
from .trial import cut_out, frame, slide, use_of

MOST_REGIONS: Final = 40
"""Free regions of a node that are kept, the most useful first come."""
ROOM: Final = 16
"""Corners of a region that the kernel has room for."""
KEPT: Final = 16
"""Most children of a node."""
ORDERS: Final = 5
"""Orders of scores that are tried for a place: each edge first, then the largest off-cuts."""

NODE: Final = 0
REGION: Final = 1
VARIANT: Final = 2
EDGE: Final = 3
FIRST: Final = 4
CHILD: Final = 5

PARENT: Final = 0
SHAPE: Final = 1
MIRRORED: Final = 2
PIECE: Final = 3
NUMBER: Final = 4
SCORES: Final = 5
RECORD: Final = 6
"""Columns of a record: the one before, what was placed, the piece that it came from, the number of scores
before it, and its scores; their edges follow."""

U64 = np.uint64


@jit
def _draw(state: Any) -> float:
    """The next random number in [0, 1), xorshift64*."""
    s = state[0]
    s ^= s >> U64(12)
    s ^= s << U64(25)
    s ^= s >> U64(27)
    state[0] = s
    return float((s * U64(2685821657736338717)) >> U64(11)) / 9007199254740992.0


@jit
def place(
    table: Any, corners: Any, v: int, rx: Any, ry: Any, j: int, ex: float, ey: float, t: float, px: Any, py: Any
) -> int:
    """Corners of variant v on edge j of the region, shifted by t along it."""
    m = table[v, 2]
    for k in range(m):
        x, y = corners[v, 0, k], corners[v, 1, k]
        if table[v, 3] == 0:
            x += t
            px[k] = rx[j] + ex * x - ey * y
            py[k] = ry[j] + ey * x + ex * y
        else:
            px[k] = rx[j] + x
            py[k] = ry[j] + y
    if table[v, 3] != 0:
        # a turned variant keeps its direction: from the edge outwards until it touches, then along it
        least = np.inf
        for k in range(m):
            d = ex * corners[v, 1, k] - ey * corners[v, 0, k]
            if d < least:
                least = d
        for k in range(m):
            px[k] += ey * least + ex * t
            py[k] += -ex * least + ey * t
    return int(m)


@jit
def _try_region(
    node: int, region: int, rx: Any, ry: Any, n: int, mine: float, base: float, size: float, used: Any, demand: Any,
    wanted: Any, table: Any, corners: Any, first: Any, spans: Any, sizes: Any, values: Any, rules: Any, guide: Any,
    noise: float, state: Any, scratch: Any, order: Any, parts: Any, part_n: Any, uses: Any, many: int, cand: Any,
    shift: Any, score: Any, count: Any,
) -> int:
    """The best children of a node in one region, into the rows of `cand`; their number."""
    lines, axes, vx, vy, px, py, work, most, rank = scratch
    # what each shape can give at most: one free region of all that is left is worth more than several
    shapes = 0
    for s in range(demand.shape[0]):
        if wanted[s] == 0 or used[s] >= demand[s] or sizes[s] > size + 1.0:
            continue
        rest = max(size - sizes[s], 0.0)
        limit = base + values[s] - mine + guide[4] * rest * rest / (rest + guide[2]) + 0.5 * noise
        at = shapes
        while at > 0 and most[at - 1] < limit:
            most[at] = most[at - 1]
            rank[at] = rank[at - 1]
            at -= 1
        most[at] = limit
        rank[at] = s
        shapes += 1
    if shapes == 0:
        return 0
    for j in range(n):
        ex, ey = frame(rx, ry, n, j, lines[j])
        axes[j, 0], axes[j, 1] = ex, ey
        # how far the region reaches, seen from this edge
        k = j + 1 if j + 1 < n else 0
        axes[j, 2] = ex * (rx[k] - rx[j]) + ey * (ry[k] - ry[j]) + NEAR
        x0, x1, y1 = np.inf, -np.inf, 0.0
        for k in range(n):
            fx, fy = ex * (rx[k] - rx[j]) + ey * (ry[k] - ry[j]), ex * (ry[k] - ry[j]) - ey * (rx[k] - rx[j])
            x0, x1, y1 = min(x0, fx), max(x1, fx), max(y1, fy)
        axes[j, 3], axes[j, 4] = x1 - x0 + NEAR, y1 + NEAR
    filled = 0
    for at_shape in range(shapes):
        if filled == many and most[at_shape] <= score[many - 1]:
            break
        s = rank[at_shape]
        for j in range(n):
            ex, ey = axes[j, 0], axes[j, 1]
            if ex == 0.0 and ey == 0.0:
                continue
            for v in range(first[s], first[s + 1]):
                m = table[v, 2]
                count[0] += 1
                if table[v, 3] == 0:
                    if spans[v, 0] > axes[j, 2] or spans[v, 1] > axes[j, 3] or spans[v, 2] > axes[j, 4]:
                        continue
                    low, high = slide(lines[j], n, corners[v, 0], corners[v, 1], m)
                else:
                    least = np.inf
                    for k in range(m):
                        vx[k] = ex * corners[v, 0, k] + ey * corners[v, 1, k]
                        vy[k] = ex * corners[v, 1, k] - ey * corners[v, 0, k]
                        if vy[k] < least:
                            least = vy[k]
                    for k in range(m):
                        vy[k] -= least
                    low, high = slide(lines[j], n, vx, vy, m)
                count[0] += 2
                if low > high:
                    continue
                for end in range(2):
                    if end == 1 and high - low < 1e-6:
                        break
                    t = low if end == 0 else high
                    place(table, corners, v, rx, ry, j, ex, ey, t, px, py)
                    for begin in range(-1, min(m, ORDERS)):
                        if begin >= 0 and not _worth(order, part_n, begin):
                            continue
                        cuts = cut_out(
                            rx, ry, n, px, py, m, begin, rules, guide, work, order, parts, part_n, uses
                        )
                        count[0] += 3
                        if begin == -1:
                            part_n[ROOM - 1] = cuts
                            for k in range(max(cuts, 0)):
                                order[ROOM + k] = order[k]
                        if cuts < 0:
                            continue
                        total = base + values[s] - mine + noise * (_draw(state) - 0.5)
                        for k in range(cuts):
                            total += uses[k]
                        at = filled
                        if at == many:
                            if total <= score[many - 1]:
                                continue
                            at = many - 1
                        while at > 0 and score[at - 1] < total:
                            if at < many:
                                score[at] = score[at - 1]
                                shift[at] = shift[at - 1]
                                for c in range(CHILD):
                                    cand[at, c] = cand[at - 1, c]
                            at -= 1
                        score[at] = total
                        shift[at] = t
                        cand[at, NODE] = node
                        cand[at, REGION] = region
                        cand[at, VARIANT] = v
                        cand[at, EDGE] = j
                        cand[at, FIRST] = begin
                        if filled < many:
                            filled += 1
    return filled


@jit
def _worth(order: Any, part_n: Any, begin: int) -> bool:
    """Whether to try edge `begin` first: the usual order is not allowed, or has it, but not first."""
    cuts = part_n[ROOM - 1]
    if cuts < 0:
        return True
    if cuts < 2 or order[ROOM] == begin:
        return False
    for k in range(1, cuts):
        if order[ROOM + k] == begin:
            return True
    return False


@jit
def fill(
    width: float, height: float, demand: Any, wanted: Any, values: Any, table: Any, corners: Any, first: Any,
    spans: Any, sizes: Any, rules: Any, guide: Any, beam: int, kept: int, noise: float, seed: int, codes: Any, records: Any,
    where: Any, count: Any,
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
        Receive the records and the corners of what was placed.
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
    work = np.empty((3, 2, ROOM))
    most = np.empty(n_shapes)
    rank = np.empty(n_shapes, np.int64)
    scratch = (lines, axes, vx, vy, px, py, work, most, rank)
    parts = np.empty((ROOM, 2, ROOM))
    order = np.zeros(2 * ROOM, np.int64)
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
    worth[0, 0, 0] = use_of(rx[0, 0, 0], ry[0, 0, 0], 4, guide)
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
                pick, least = -1, np.inf
                for r in range(open_n[now, b]):
                    if 0 <= size[now, b, r] < least:
                        pick, least = r, size[now, b, r]
                if pick < 0:
                    break
                got = _try_region(
                    b, pick, rx[now, b, pick], ry[now, b, pick], rn[now, b, pick], worth[now, b, pick], base,
                    size[now, b, pick], used[now, b], demand, wanted, table, corners, first, spans, sizes, values, rules,
                    guide, noise, state, scratch, order, parts, part_n, uses, kept, cand[total_cand:],
                    shift[total_cand:], score[total_cand:], count,
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
            cuts = cut_out(x, y, n, px, py, m, cand[q, FIRST], rules, guide, work, order, parts, part_n, uses)
            taken_code[fresh] = mark
            taken_score[fresh] = score[q]
            code[new, fresh] = mark
            for k in range(n_shapes):
                used[new, fresh, k] = used[now, b, k]
            used[new, fresh, s] += 1
            value[new, fresh] = value[now, b] + values[s]
            records[made, PARENT] = last[now, b]
            records[made, SHAPE] = s
            records[made, MIRRORED] = table[v, 1]
            records[made, PIECE] = piece[now, b, r]
            records[made, NUMBER] = pieces[now, b]
            records[made, SCORES] = cuts
            for k in range(cuts):
                records[made, RECORD + k] = order[k]
            for k in range(m):
                where[made, 0, k] = px[k]
                where[made, 1, k] = py[k]
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
