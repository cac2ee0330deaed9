"""Composites without waste: two convex polygons that share a whole edge, joined to a convex polygon again.

A layout that fills its sheet and comes by edge-to-edge cuts is a tree of such joins, because every cut is
a whole edge of both parts that it makes. So all of them are found from below: edges are looked up by
length, composites that use the same panels and have the same outline count once, and what no sheet can
hold is dropped.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .geometry import jit

ROOM: Final = 14
"""Most corners of a composite."""
MOST_PARTS: Final = 64
"""Most panels in a composite."""

A: Final = 0
B: Final = 1
EDGE_A: Final = 2
EDGE_B: Final = 3
CORNERS: Final = 4
STEP: Final = 5
PARTS: Final = 6
COLUMNS: Final = 7
"""Columns of a composite: its parts (a shape and whether it is turned over, with EDGE_A -1, for a single
panel), the edges that they share, corners, step of turning, and number of panels."""

U64 = np.uint64
_CELL: Final = 1e-3
"""Cell of the table of edges. [mm]"""


@jit
def _spread(z: Any) -> Any:
    z = (z ^ (z >> U64(30))) * U64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> U64(27))) * U64(0x94D049BB133111EB)
    return z ^ (z >> U64(31))


@jit
def _mark(x: Any, y: Any, n: int, parts: Any, many: int, step: int, tx: float, ty: float, codes: Any) -> Any:
    """A number of 64 bits that tells panels and outline, wherever the outline lies."""
    mark = U64(0)
    for k in range(many):
        mark += codes[parts[k]]
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        k = j + 1 if j + 1 < n else 0
        ax, ay, bx, by = x[j] - x[i], y[j] - y[i], x[k] - x[j], y[k] - y[j]
        length = np.sqrt(ax * ax + ay * ay)
        z = _spread(U64(np.int64(np.floor(length * 64.0 + 0.5))))
        z = _spread(z + U64(np.int64(np.floor(0.25 * (ax * bx + ay * by) + 0.5))))
        if step > 0:
            # seen from the direction in which the panels may not turn freely
            z = _spread(z + U64(np.int64(np.floor(16.0 * (ax * tx + ay * ty) + 0.5))))
            z = _spread(z + U64(np.int64(np.floor(16.0 * (ay * tx - ax * ty) + 0.5))))
        mark += z
    mark = _spread(mark)
    return mark if mark != U64(0) else U64(1)


@jit
def allowed(c: float, s: float, step: int) -> bool:
    """Whether a turn, by its cosine and sine, is a multiple of the step."""
    if step == 0:
        return True
    if step == 90:
        return bool(abs(c) < 1e-9 or abs(s) < 1e-9)
    if step == 180:
        return bool(abs(s) < 1e-9)
    return bool(abs(s) < 1e-9 and c > 0)


@jit
def _fresh(table: Any, mark: Any) -> bool:
    """Enter a mark; False where it is there, or the table is full."""
    size = table.shape[0]
    at: Any = np.int64(mark & U64(size - 1))
    for _ in range(64):
        if table[at] == mark:
            return False
        if table[at] == U64(0):
            table[at] = mark
            return True
        at += 1
        if at == size:
            at = 0
    return False


@jit
def _fills(x: Any, y: Any, step: int, tx: float, ty: float, width: float, height: float, near: float) -> int:
    """The edge that lies along the lower side where a rectangle is the whole sheet; else -1."""
    for k in range(4):
        p, q = (k + 1) % 4, (k + 2) % 4
        ax, ay, bx, by = x[p] - x[k], y[p] - y[k], x[q] - x[p], y[q] - y[p]
        la, lb = np.sqrt(ax * ax + ay * ay), np.sqrt(bx * bx + by * by)
        if abs(la - width) > near or abs(lb - height) > near or abs(ax * bx + ay * by) > near * (la + lb):
            continue
        # the turn by which the edge comes to lie along x, after that of the panels
        c, s = ax / la, -ay / la
        if allowed(c * tx - s * ty, s * tx + c * ty, step):
            return k
    return -1


@jit
def join_all(
    seeds: int,
    facts: Any,
    parts: Any,
    xs: Any,
    ys: Any,
    turn: Any,
    size: Any,
    demand: Any,
    codes: Any,
    sheets: Any,
    longest: float,
    near: float,
    table: Any,
    heads: Any,
    links: Any,
    owner: Any,
    whole: Any,
    count: Any,
    most_work: int,
) -> Any:
    """Join composites until there are no new ones, or no room or work is left.

    Parameters
    ----------
    seeds
        Composites of single panels, the first rows.
    facts, parts, xs, ys, turn, size
        Composites: `COLUMNS`, shapes (rising), corners, direction of the turn, area.
    demand, codes
        Of each shape.
    sheets
        Width and height of each stock size. [mm]
    longest, near
        Longest score (0: any), and how equal lengths must be. [mm]
    table, heads, links, owner
        Marks seen; lists of edges by length.
    whole
        Receives rows (composite, sheet, edge along the lower side).
    count
        Work is added here.
    most_work
        Pairs of edges that are looked at, at most.

    Returns
    -------
    int, int
        Numbers of composites and of whole sheets.
    """
    edges = 0
    found = 0
    far = 0.0
    large = 0.0
    for k in range(sheets.shape[0]):
        far = max(far, sheets[k, 0] ** 2 + sheets[k, 1] ** 2)
        large = max(large, sheets[k, 0] * sheets[k, 1])
    far *= 1 + 1e-9
    large *= 1 + 1e-9
    slots = heads.shape[0]
    n = seeds
    x, y = np.empty(2 * ROOM), np.empty(2 * ROOM)
    mine = np.zeros(demand.shape[0], np.int64)
    merged = np.empty(MOST_PARTS, np.int64)
    spent = 0
    for k in range(seeds):
        _fresh(table, _mark(xs[k], ys[k], facts[k, CORNERS], parts[k], 1, facts[k, STEP], 1.0, 0.0, codes))
        if facts[k, CORNERS] == 4 and found < whole.shape[0]:
            for h in range(sheets.shape[0]):
                e = _fills(xs[k], ys[k], facts[k, STEP], 1.0, 0.0, sheets[h, 0], sheets[h, 1], near)
                if e >= 0 and found < whole.shape[0]:
                    whole[found, 0], whole[found, 1], whole[found, 2] = k, h, e
                    found += 1
    c = 0
    while c < n:
        nc = facts[c, CORNERS]
        # its edges are entered first: a composite may be joined to its like
        for i in range(nc):
            if edges == links.shape[0]:
                count[0] += spent
                return n, found
            i2 = (i + 1) % nc
            length = np.sqrt((xs[c, i2] - xs[c, i]) ** 2 + (ys[c, i2] - ys[c, i]) ** 2)
            slot = np.int64(np.floor(length / _CELL + 0.5)) % slots
            owner[edges] = (c << 4) | i
            links[edges] = heads[slot]
            heads[slot] = edges
            edges += 1
        for k in range(facts[c, PARTS]):
            mine[parts[c, k]] += 1
        for i in range(nc):
            i2 = (i + 1) % nc
            lx, ly = xs[c, i2] - xs[c, i], ys[c, i2] - ys[c, i]
            length = np.sqrt(lx * lx + ly * ly)
            if longest > 0 and length > longest:
                continue
            cell = np.int64(np.floor(length / _CELL + 0.5))
            for near_cell in range(cell - 1, cell + 2):
                e = heads[near_cell % slots]
                while e >= 0:
                    d, j = owner[e] >> 4, owner[e] & 15
                    e = links[e]
                    spent += 1
                    if size[c] + size[d] > large or facts[c, PARTS] + facts[d, PARTS] > MOST_PARTS:
                        continue
                    nd = facts[d, CORNERS]
                    j2 = (j + 1) % nd
                    mx, my = xs[d, j2] - xs[d, j], ys[d, j2] - ys[d, j]
                    other = np.sqrt(mx * mx + my * my)
                    if abs(other - length) > near:
                        continue
                    good = True
                    run = 0
                    for k in range(facts[d, PARTS]):
                        run = run + 1 if k > 0 and parts[d, k] == parts[d, k - 1] else 1
                        if mine[parts[d, k]] + run > demand[parts[d, k]]:
                            good = False
                            break
                    if not good:
                        continue
                    # the turn that lays the edge of d on that of c, the other way round
                    cs, sn = -(mx * lx + my * ly) / (length * other), -(mx * ly - my * lx) / (length * other)
                    tx, ty = turn[c, 0], turn[c, 1]
                    step = facts[c, STEP]
                    if facts[d, STEP] > 0:
                        ux, uy = cs * turn[d, 0] - sn * turn[d, 1], sn * turn[d, 0] + cs * turn[d, 1]
                        if step > 0 and not allowed(
                            tx * ux + ty * uy, tx * uy - ty * ux, min(step, facts[d, STEP])
                        ):
                            continue
                        if facts[d, STEP] > step:
                            step, tx, ty = facts[d, STEP], ux, uy
                    ip, i3 = (i - 1) % nc, (i2 + 1) % nc
                    jp, j3 = (j - 1) % nd, (j2 + 1) % nd
                    bend1 = _bend(
                        xs[c, i] - xs[c, ip],
                        ys[c, i] - ys[c, ip],
                        cs * (xs[d, j3] - xs[d, j2]) - sn * (ys[d, j3] - ys[d, j2]),
                        sn * (xs[d, j3] - xs[d, j2]) + cs * (ys[d, j3] - ys[d, j2]),
                    )
                    bend2 = _bend(
                        cs * (xs[d, j] - xs[d, jp]) - sn * (ys[d, j] - ys[d, jp]),
                        sn * (xs[d, j] - xs[d, jp]) + cs * (ys[d, j] - ys[d, jp]),
                        xs[c, i3] - xs[c, i2],
                        ys[c, i3] - ys[c, i2],
                    )
                    flat = near * 1e-3
                    if bend1 < -flat or bend2 < -flat:
                        continue
                    straight1, straight2 = bend1 <= flat, bend2 <= flat
                    m = nc + nd - 2 - int(straight1) - int(straight2)
                    if m > ROOM or m < 3:
                        continue
                    m = 0
                    ox = xs[c, i2] - (cs * xs[d, j] - sn * ys[d, j])
                    oy = ys[c, i2] - (sn * xs[d, j] + cs * ys[d, j])
                    for k in range(nc):
                        if not ((k == 0 and straight2) or (k == nc - 1 and straight1)):
                            x[m], y[m] = xs[c, (i2 + k) % nc], ys[c, (i2 + k) % nc]
                            m += 1
                    for k in range(nd - 2):
                        p = (j3 + k) % nd
                        x[m] = cs * xs[d, p] - sn * ys[d, p] + ox
                        y[m] = sn * xs[d, p] + cs * ys[d, p] + oy
                        m += 1
                    for p in range(m):
                        for q in range(p):
                            if (x[p] - x[q]) ** 2 + (y[p] - y[q]) ** 2 > far:
                                good = False
                    if not good:
                        continue
                    many = _merge(parts[c], facts[c, PARTS], parts[d], facts[d, PARTS], merged)
                    if not _fresh(table, _mark(x, y, m, merged, many, step, tx, ty, codes)):
                        continue
                    if n == facts.shape[0]:
                        count[0] += spent
                        return n, found
                    facts[n, A], facts[n, B], facts[n, EDGE_A], facts[n, EDGE_B] = c, d, i, j
                    facts[n, CORNERS], facts[n, STEP], facts[n, PARTS] = m, step, many
                    for k in range(m):
                        xs[n, k], ys[n, k] = x[k], y[k]
                    for k in range(many):
                        parts[n, k] = merged[k]
                    turn[n, 0], turn[n, 1] = tx, ty
                    size[n] = size[c] + size[d]
                    if m == 4:
                        for h in range(sheets.shape[0]):
                            edge = _fills(x, y, step, tx, ty, sheets[h, 0], sheets[h, 1], near)
                            if edge >= 0 and found < whole.shape[0]:
                                whole[found, 0], whole[found, 1], whole[found, 2] = n, h, edge
                                found += 1
                    n += 1
                if spent > most_work:
                    count[0] += spent
                    return n, found
        for k in range(facts[c, PARTS]):
            mine[parts[c, k]] = 0
        c += 1
    count[0] += spent
    return n, found


@jit
def _bend(ax: float, ay: float, bx: float, by: float) -> float:
    """Sine of the turn from one direction to the next."""
    return float((ax * by - ay * bx) / np.sqrt((ax * ax + ay * ay) * (bx * bx + by * by)))


@jit
def _merge(p: Any, np_: int, q: Any, nq: int, out: Any) -> int:
    """Two rising lists as one."""
    i = j = 0
    while i < np_ or j < nq:
        if j == nq or (i < np_ and p[i] <= q[j]):
            out[i + j] = p[i]
            i += 1
        else:
            out[i + j] = q[j]
            j += 1
    return np_ + nq
