"""The children of a node: the best places of any panel in one of its free regions."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from .geometry import NEAR, jit
from .trial import BREAK_OUT, cut_out, frame, ranked, slide, worth_at_most

ROOM: Final = 16
"""Corners of a region that the kernel has room for."""
ORDERS: Final = 5
"""Edges that may be scored first, besides the one with the deepest off-cut."""

PADDED: Final = 1.1
"""Break-out distances by which a panel stands off from the end of where it fits, as another choice."""

NODE: Final = 0
REGION: Final = 1
VARIANT: Final = 2
EDGE: Final = 3
FIRST: Final = 4
SECOND: Final = 5
CHILD: Final = 6
"""Columns of a child: node and region, variant and edge of the region that it lies on, lines scored first."""

TOP: Final = 0
RIGHT: Final = 1
LEFT: Final = 2
BOX: Final = 3
"""Lines beside the edges of a panel: the sides of its box on the region's edge that are not on it."""

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
    table: Any,
    corners: Any,
    v: int,
    rx: Any,
    ry: Any,
    j: int,
    ex: float,
    ey: float,
    t: float,
    px: Any,
    py: Any,
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
            least = min(least, d)
        for k in range(m):
            px[k] += ey * least + ex * t
            py[k] += -ex * least + ey * t
    return int(m)


@jit
def lines_of(px: Any, py: Any, m: int, x0: float, y0: float, ex: float, ey: float, ends: Any) -> None:
    """Lines with the panel on their left: its edges, then `TOP`, `RIGHT`, `LEFT` seen from an edge."""
    low, high, top = np.inf, -np.inf, 0.0
    for k in range(m):
        f = k + 1 if k + 1 < m else 0
        ends[0, k] = px[k]
        ends[1, k] = py[k]
        ends[2, k] = px[f]
        ends[3, k] = py[f]
        u = ex * (px[k] - x0) + ey * (py[k] - y0)
        low, high = min(low, u), max(high, u)
        top = max(top, ex * (py[k] - y0) - ey * (px[k] - x0))
    right_x, right_y = x0 + high * ex, y0 + high * ey
    left_x, left_y = x0 + low * ex, y0 + low * ey
    ends[0, m + TOP] = ends[2, m + RIGHT] = right_x - top * ey
    ends[1, m + TOP] = ends[3, m + RIGHT] = right_y + top * ex
    ends[2, m + TOP] = ends[0, m + LEFT] = left_x - top * ey
    ends[3, m + TOP] = ends[1, m + LEFT] = left_y + top * ex
    ends[0, m + RIGHT] = right_x
    ends[1, m + RIGHT] = right_y
    ends[2, m + LEFT] = left_x
    ends[3, m + LEFT] = left_y


@jit
def try_region(
    node: int,
    region: int,
    rx: Any,
    ry: Any,
    n: int,
    mine: float,
    base: float,
    size: float,
    used: Any,
    demand: Any,
    wanted: Any,
    table: Any,
    corners: Any,
    first: Any,
    spans: Any,
    sizes: Any,
    values: Any,
    rules: Any,
    guide: Any,
    noise: float,
    state: Any,
    scratch: Any,
    order: Any,
    parts: Any,
    part_n: Any,
    uses: Any,
    many: int,
    cand: Any,
    shift: Any,
    score: Any,
    count: Any,
) -> int:
    """The best children of a node in one region, into the rows of `cand`; their number."""
    lines, axes, vx, vy, px, py, ends, turns, work, most, rank = scratch
    boxes = 4 if guide[5] > 0 else 0
    # waste that is too thin at one end is made thicker by the break-out distance
    padding = PADDED * rules[BREAK_OUT]
    # what each shape can give at most: one free region of all that is left is worth more than several
    shapes = 0
    for s in range(demand.shape[0]):
        if wanted[s] == 0 or used[s] >= demand[s] or sizes[s] > size + 1.0:
            continue
        rest = max(size - sizes[s], 0.0)
        limit = base + values[s] - mine + worth_at_most(rest, guide) + 0.5 * noise
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
                        least = min(least, vy[k])
                    for k in range(m):
                        vy[k] -= least
                    low, high = slide(lines[j], n, vx, vy, m)
                count[0] += 2
                if low > high:
                    continue
                refused = True
                for end in range(4 if padding > 0 else 2):
                    if end == 1 and high - low < 1e-6:
                        break
                    if end >= 2 and (not refused or high - low < padding):
                        break
                    t = (low, high, low + padding, high - padding)[end]
                    place(table, corners, v, rx, ry, j, ex, ey, t, px, py)
                    lines_of(px, py, m, rx[j], ry[j], ex, ey, ends)
                    far = m + RIGHT if end in (0, 2) else m + LEFT
                    deep = ranked(rx, ry, n, ends, m, turns)
                    ways = max(1, min(deep, ORDERS))
                    for way in range(ways + boxes):
                        begin, then = -1, -1
                        if way >= ways:
                            box = way - ways
                            begin = m + TOP if box in (0, 2) else far
                            then = far if box == 2 else (m + TOP if box == 3 else -1)
                        elif way > 0:
                            begin = int(turns[0, way])
                        gain = base + values[s] - mine
                        need = score[many - 1] - gain - 0.5 * noise if filled == many else -1.0
                        cuts = cut_out(
                            rx,
                            ry,
                            n,
                            ends,
                            turns,
                            deep,
                            begin,
                            then,
                            need,
                            rules,
                            guide,
                            work,
                            order,
                            parts,
                            part_n,
                            uses,
                        )
                        count[0] += 2
                        refused = refused and cuts == -1
                        if cuts < 0:
                            continue
                        total = gain + noise * (_draw(state) - 0.5)
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
                        cand[at, SECOND] = then
                        if filled < many:
                            filled += 1
    return filled
