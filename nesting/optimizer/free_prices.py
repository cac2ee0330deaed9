"""What guides the merging of blocks: bounds on what a block and the glass beside it are worth.

Tables with copies without limit (`points`) overrate panels of which there are few. Each use is charged a
price; the most worth of a pattern plus the prices of the whole demand is an upper bound for any prices
(Lagrangian relaxation of the copies). Subgradient steps look for a low bound. Sheets with too many points
for tables are judged by area alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from .points import floor_index, most_beside, most_inside, normal_points, taken

SCALE = 64
"""Parts of a unit of value in which worth and prices are counted, so that bounds are exact integers."""
LONGEST = 20_000
"""Sheets longer than this in search units get no points."""
CALLS = 6
"""Tables are made only where the work allows this many."""
PATIENCE = 5
"""Steps without a lower bound after which the steps get shorter."""
SHORTEST = 0.01
"""Relative length at which the steps end."""
NONE = np.zeros((1, 1), np.int64)
EMPTY = np.zeros(0, np.int64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """Ways to lay a rectangle: its index, width, height, value, and the demands it uses (int64 arrays)."""

    rect: Any
    width: Any
    height: Any
    value: Any
    uses: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """Bounds for one vector of prices, as `free_kernel.merge` takes them.

    `bound` is the most value of any pattern, break-out distance or not; `work` is what they took, `again`
    the least that others would take.
    """

    fx: Any
    fy: Any
    inside: Any
    beside: Any
    rx: Any
    ry: Any
    dense: int
    floor: int
    scale: int
    prices: Any
    bound: int
    work: int
    again: int


def _points(sides: Any, ways: Ways, demand: Any, length: int) -> Any:
    copies = np.where(ways.uses > 0, demand // np.maximum(ways.uses, 1), np.iinfo(np.int64).max).min(axis=1)
    return normal_points([(int(s), int(c)) for s, c in zip(sides, copies, strict=True)], length)


def make_guide(
    width: int,
    height: int,
    ways: Ways,
    demand: Any,
    target: int,
    most_work: int,
    prices: Any = None,
    *,
    search: bool = True,
) -> Guide:
    """Bounds for one sheet.

    Parameters
    ----------
    width, height
        Of the sheet. [search units]
    ways
        At least one.
    demand
        Copies of each type.
    target
        A value that is known to be reached; the search for prices ends where the bound meets it.
    most_work
        Elementary steps, half a nanosecond or so each.
    prices
        To start from.
    search
        Whether to look for better ones.
    """
    everything = everything_in(ways, demand)
    if max(width, height) > LONGEST:
        return _by_area(width, height, ways, EMPTY, EMPTY, everything)
    px = _points(ways.width, ways, demand, width)
    py = _points(ways.height, ways, demand, height)
    fx, fy = floor_index(px, width), floor_index(py, height)
    one = max(1, len(px) * len(py) * (len(px) + len(py)) // 4)
    if CALLS * one > most_work:
        return _by_area(width, height, ways, px[fx], py[fy], everything)
    if prices is None:
        prices = np.zeros(len(demand), np.int64)
    best: tuple[int, Any, Any] | None = None
    work = stale = 0
    lean = 1.0
    while True:
        worth = SCALE * ways.value - ways.uses @ prices
        table = most_inside(px, py, fx, fy, ways.width, ways.height, worth)
        work += one
        found = int(table[-1, -1]) + int(prices @ demand)
        if best is None or found < best[0] - best[0] // 100_000:
            stale = 0
        else:
            stale += 1
        if best is None or found < best[0]:
            best = (found, prices, table)
        if not search or best[0] < SCALE * (target + 1) or work + 4 * one > most_work:
            break
        if stale >= PATIENCE:
            lean /= 2
            stale = 0
            if lean < SHORTEST:
                break
        over = taken(px, py, fx, fy, ways.width, ways.height, worth, table) @ ways.uses - demand
        over[(over < 0) & (prices == 0)] = 0
        norm = int(over @ over)
        if norm == 0:
            break
        step = lean * (found - SCALE * target) / norm
        prices = np.maximum(0, prices + np.rint(step * over).astype(np.int64))
    bound, prices, inside = best
    return Guide(
        fx=fx,
        fy=fy,
        inside=inside,
        beside=most_beside(px, py, fx, fy, inside),
        rx=EMPTY,
        ry=EMPTY,
        dense=0,
        floor=int(prices @ demand),
        scale=SCALE,
        prices=prices,
        bound=min(bound // SCALE, everything),
        work=work + 4 * one,
        again=CALLS * one,
    )


def everything_in(ways: Ways, demand: Any) -> int:
    """Value of the whole demand, each type at its dearest use: no pattern is worth more."""
    total = 0
    for t, copies in enumerate(demand):
        users = np.flatnonzero(ways.uses[:, t])
        most = max((-(-int(ways.value[k]) // int(ways.uses[k, t])) for k in users), default=0)
        total += int(copies) * most
    return total


def _by_area(width: int, height: int, ways: Ways, rx: Any, ry: Any, everything: int) -> Guide:
    """Bounds by area alone: exact where the value is the area."""
    area = ways.width * ways.height
    scale = dense = 1
    if (ways.value != area).any():
        # fine enough that the best worth of a unit of area is a number of four digits
        k = int(np.argmax(ways.value / area))
        scale = max(1, int(1000 * area[k] // max(1, ways.value[k])))
        dense = max(-(-scale * int(v) // int(a)) for v, a in zip(ways.value, area, strict=True))
    return Guide(
        fx=EMPTY,
        fy=EMPTY,
        inside=NONE,
        beside=NONE,
        rx=rx,
        ry=ry,
        dense=dense,
        floor=0,
        scale=scale,
        prices=np.zeros(ways.uses.shape[1], np.int64),
        bound=min(dense * width * height // scale, everything),
        work=0,
        again=0,
    )
