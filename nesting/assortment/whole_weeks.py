"""What whole sheets week by week cost at least, by the prices of the LP: quick enough for every set of sizes.

At prices u under which no pattern of a size is worth more than V_s, the panels of a week, worth w, take whole
numbers n_s of sheets with sum n_s V_s >= w (the cut of Benders 1962 that `lp.stock_choice` uses for one plan).
The cheapest such numbers, summed over the weeks, tell what the LP of a year cannot: how well a set of sizes
ends a week.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

import numpy as np

from ..joint_blanks import single_panels
from .demand import Demand
from .size_pool import Row, SizePool

MOST: Final = 4
"""Sizes of a set that are combined; of more only the cheapest for their worth."""


def cheapest_cover(worth: int, values: Sequence[int], costs: Sequence[int]) -> int:
    """The least cost of whole sheets whose worth reaches `worth`.

    Parameters
    ----------
    worth
        To be reached.
    values, costs
        Of a sheet of each size; only sizes of some value count.

    Examples
    --------
    >>> cheapest_cover(10, [7, 3], [70, 40])
    110
    """
    rows = sorted(
        ((c, v) for v, c in zip(values, costs, strict=True) if v > 0), key=lambda r: (r[0] / r[1], r[0])
    )[:MOST]
    if worth <= 0 or not rows:
        return 0
    return _cover(worth, rows)


def _cover(worth: int, rows: Sequence[tuple[int, int]]) -> int:
    (cost, value), *rest = rows
    most = -(-worth // value)
    if not rest:
        return most * cost
    if len(rest) == 1:
        n = np.arange(most + 1, dtype=np.int64)
        left = np.maximum(0, worth - n * value)
        return int((n * cost - (-left // rest[0][1]) * rest[0][0]).min())
    # the best size fills all but a few sheets: what beats it differs from it at the end of the week
    return min(
        n * cost + (_cover(worth - n * value, rest) if worth > n * value else 0)
        for n in range(max(0, most - 12), most + 1)
    )


class WholeWeeks:
    """Covers the weeks of the demand of a pool.

    Parameters
    ----------
    pool, demand
        Of which the pool was made.
    """

    def __init__(self, pool: SizePool, demand: Demand) -> None:
        self.pool = pool
        at = {t: i for i, t in enumerate(pool.types)}
        kind_of: dict[int, Counter[int]] = {}
        for t, panel_type in enumerate(pool.instance.types):
            for panel in panel_type.panels:
                for one in single_panels(panel):
                    kind_of.setdefault(int(one.id.split("/")[0]), Counter())[t] += 1
        numbers = {kind[:-1]: k for k, kind in enumerate(demand.kinds)}
        self._weeks: list[list[tuple[int, int]]] = []
        for _, kinds in demand.weeks:
            week: Counter[int] = Counter()
            for kind in kinds:
                mine = kind_of.get(numbers[kind[:-1]])
                if mine:
                    week[at[min(mine)]] += kind.panels
            self._weeks.append(sorted(week.items()))

    def cost(self, sizes: Sequence[int], row: Row | None = None) -> int:
        """What the weeks of this set cost at least in whole sheets, by the prices of a row of the pool.

        Default: the row that proves most of the set. [1/10,000 of the currency]
        """
        row = row or self.pool.best_row(sizes)
        return 0 if row is None else sum(self._of(row, sizes))

    def _of(self, row: Row, sizes: Sequence[int]) -> list[int]:
        values = [row.best[s] for s in sizes]
        costs = [self.pool.costs[s] for s in sizes]
        return [cheapest_cover(sum(row.whole[t] * n for t, n in week), values, costs) for week in self._weeks]
