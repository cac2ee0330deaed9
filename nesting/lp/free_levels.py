"""Column generation without a limit of levels: a lower bound for edge-to-edge cuts of any depth.

The best pattern of a size comes from the exact table over normal points with copies without limit
(Gilmore and Gomory 1966; Herz 1972; Christofides and Whitlock 1977). The break-out distance is left out,
which can only raise a pattern's worth, so the bound holds with it as well. Prices are smoothed towards
those of the best bound (Wentges 1997); the bound is Farley's, in whole numbers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..optimizer.instance import Instance
from ..optimizer.points import floor_index, most_inside, normal_points
from .cutting_stock import CuttingStock, merged
from .farley import dual_bound, reachable_cost

LARGEST = 3 * 10**8
"""Cells of all tables of one round beyond which this LP is not tried."""
LONGEST = 10**6
MOST_TYPES = 500
"""Longest side of a sheet [search units], and most types, for the same."""
CELLS_A_NODE = 2_000
"""Cells that are filled in the time of one node of the tree search."""
ROUND_NODES = 1_500
"""Nodes of the tree search that take as long as the rest of a round."""
SCALE = 10**8
"""Whole prices of the panels of one sheet, about."""
SMOOTH = 0.5
TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class _Plate:
    """One stock size with its points, and the ways to lay a rectangle on it."""

    offer: int
    px: Any
    py: Any
    fx: Any
    fy: Any
    width: Any
    height: Any
    rect: Any

    @property
    def cells(self) -> int:
        """Sums that filling the table takes."""
        return len(self.px) * len(self.py) * (len(self.px) + len(self.py)) // 4


def _plate(instance: Instance, sheet: int, offer: int) -> _Plate:
    stock = instance.sheets[sheet]
    ways = []
    along: tuple[Counter[int], Counter[int]] = (Counter(), Counter())
    for r, rect in enumerate(instance.rects):
        most = min(instance.demand[t] // n for t, n in rect.uses)
        sizes = {(rect.width, rect.height)}
        if rect.turns:
            sizes.add((rect.height, rect.width))
        for w, h in sorted(sizes):
            if most and w <= stock.width and h <= stock.height:
                ways.append((w, h, r))
                along[0][w] += most
                along[1][h] += most
    px, py = (
        normal_points(sorted(sides.items()), length)
        for sides, length in zip(along, (stock.width, stock.height), strict=True)
    )
    # the plate itself is a point: what is beside the last one is waste
    px, py = np.union1d(px, [stock.width]), np.union1d(py, [stock.height])
    table = np.array(ways, np.int64).reshape(-1, 3)
    return _Plate(
        offer, px, py, floor_index(px, stock.width), floor_index(py, stock.height),
        table[:, 0].copy(), table[:, 1].copy(), table[:, 2].copy(),
    )  # fmt: skip


class FreeLevels(CuttingStock):
    """The LP over all patterns of any number of levels; see `applies_free`.

    Parameters
    ----------
    instance
        What is cut.
    sheets
        Stock that is really there, as indexes.
    """

    def __init__(self, instance: Instance, sheets: Sequence[int]) -> None:
        super().__init__(instance, sheets)
        self.plates = [_plate(instance, k, i) for i, k in enumerate(self.sheets)]
        self.by = "cutting-stock LP"

    def rounds(self) -> Iterator[None]:
        """Solve the LP; yields after every round of pricing."""
        smooth = SMOOTH
        while True:
            self.value = self.master.solve()
            if float(self.raw) >= self.value * (1 - TOLERANCE):
                break
            true = self.master.prices()
            prices = [smooth * b + (1 - smooth) * p for b, p in zip(self.best_prices, true, strict=True)]
            added = self._price(prices)
            yield
            if not added and smooth == 0.0:
                break
            smooth = SMOOTH if added else 0.0
        self.solved = self.ready = self.over = True

    @property
    def next_work(self) -> int:
        """About the nodes of the tree search that the next round takes as long as."""
        return sum(ROUND_NODES + plate.cells // CELLS_A_NODE for plate in self.plates)

    # ---------------------------------------------------------------- pricing

    def _price(self, prices: Sequence[float]) -> bool:
        """Price every size exactly; whether a column was added. Raises the bound."""
        dearest = max(o.cost for o in self.offers)
        whole = [int(p * SCALE / dearest) for p in prices]
        best = [0] * len(self.offers)
        added = False
        worth = self._worths(whole)
        for plate in self.plates:
            values = np.array([worth[r] for r in plate.rect], np.int64)
            table = most_inside(plate.px, plate.py, plate.fx, plate.fy, plate.width, plate.height, values)
            best[plate.offer] = int(table[-1, -1])
            self.work += ROUND_NODES + plate.cells // CELLS_A_NODE
            column = self._column(plate.offer, _rects(plate, table, values))
            if column.uses and self.master.add(column):
                added = True
        total = sum(p * d for p, d in zip(whole, self.demand, strict=True))
        low, _ = dual_bound(total, best, self.offers)
        if low > self.raw:
            self.raw = low
            self.best_prices = list(prices)
            self.bound = max(self.bound, reachable_cost(low, self.area, self.offers, self.areas))
        return added


def _rects(plate: _Plate, table: Any, values: Any) -> Iterator[int]:
    """The rectangles of the best pattern, found again from its table."""
    px, py, fx, fy = plate.px, plate.py, plate.fx, plate.fy
    stack = [(len(px) - 1, len(py) - 1)]
    while stack:
        i, j = stack.pop()
        value = table[i, j]
        if value <= 0:
            continue
        fits = np.flatnonzero((plate.width <= px[i]) & (plate.height <= py[j]) & (values == value))
        if len(fits):
            yield int(plate.rect[fits[0]])
            continue
        near = np.arange(1, i)
        split = np.flatnonzero(table[near, j] + table[fx[px[i] - px[near]], j] == value)
        if len(split):
            k = int(near[split[0]])
            stack += [(k, j), (int(fx[px[i] - px[k]]), j)]
            continue
        near = np.arange(1, j)
        split = np.flatnonzero(table[i, near] + table[i, fy[py[j] - py[near]]] == value)
        if len(split):
            k = int(near[split[0]])
            stack += [(i, k), (i, int(fy[py[j] - py[k]]))]
        else:  # the value is that of a smaller plate
            stack.append((i - 1, j) if i and table[i - 1, j] == value else (i, j - 1))


def applies_free(instance: Instance, sheets: Sequence[int]) -> bool:
    """Whether levels are free or many, there is a cost to bound, and the tables are small enough."""
    if instance.rules.levels in (2, 3) or not instance.rects:
        return False
    if not any(instance.sheets[k].piece.cost > 0 for k in sheets):
        return False
    if sum(1 for d in instance.demand if d) > MOST_TYPES:
        return False
    longest = max(max(instance.sheets[k].width, instance.sheets[k].height) for k in sheets)
    if longest > LONGEST:
        return False
    return sum(_plate(instance, k, 0).cells for k in merged(instance, sheets)) <= LARGEST
