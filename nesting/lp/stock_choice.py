"""The least cost of whole stock that no prices rule out.

Stock can hold the panels only if, at any prices, the best patterns of its sheets are worth as much as all
panels: one linear row in the numbers of sheets for every vector of prices (the cuts of Benders 1962 for
the choice of stock). The cheapest whole numbers within all rows are a lower bound, above that of any one
row, where few sheets are taken or sizes differ much. Rows, costs and comparisons are whole numbers.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import highspy
import numpy as np

from .farley import Offer

MOST_NODES = 3_000
"""Choices looked at; beyond it the least bound among the open ones counts."""
MOST_ROWS = 40
FINE = 1 << 20
"""Weights of rows are whole multiples of one in so many."""


@dataclass(frozen=True, slots=True)
class Row:
    """Whatever stock holds the panels, its numbers times `best` sum up to `worth` or more."""

    worth: int
    best: tuple[int, ...]

    def holds(self, numbers: Sequence[int]) -> bool:
        """Whether these numbers of sheets satisfy the row."""
        return sum(b * n for b, n in zip(self.best, numbers, strict=True)) >= self.worth


class StockChoice:
    """The rows known so far, and the cheapest choice within them.

    Parameters
    ----------
    offers
        The stock sizes.
    areas
        Their inner areas. [any unit squared]
    area
        Of all panels. [the same unit]
    """

    def __init__(self, offers: Sequence[Offer], areas: Sequence[int], area: int) -> None:
        self.offers = list(offers)
        self.rows = [Row(area, tuple(areas))]
        self.bound = 0
        self.numbers: tuple[int, ...] | None = (0,) * len(self.offers)
        """A choice of that cost; None where the search for one was cut short."""
        self.looked = 0
        """Choices looked at so far, all searches together."""

    def add(self, worth: int, best: Sequence[int]) -> None:
        """Take up the row of some prices.

        Parameters
        ----------
        worth
            Of all panels, at whole prices.
        best
            For every size, the worth of its best pattern, or anything above it.
        """
        self.rows.append(Row(worth, tuple(best)))
        if len(self.rows) > MOST_ROWS:
            del self.rows[1]

    def look(self) -> None:
        """Raise the bound, where a row rules the choice out that gave it."""
        if self.numbers is None or not all(row.holds(self.numbers) for row in self.rows):
            bound, self.numbers = self._cheapest()
            self.bound = max(self.bound, bound)

    def _cheapest(self) -> tuple[int, tuple[int, ...] | None]:
        """Best-first over the sizes, the dearest first; every part is bounded by one row at a time."""
        offers = self.offers
        order = sorted(range(len(offers)), key=lambda k: (-offers[k].cost, k))
        guides = [self._joined(), self.rows[0], self.rows[-1]]
        ranked = [self._ranked(guide, order) for guide in guides]
        heap: list[tuple[int, int, tuple[int, ...]]] = [(0, 0, ())]
        nodes = 0
        while heap:
            low, depth, chosen = heapq.heappop(heap)
            if depth == -len(order):
                numbers = [0] * len(order)
                for k, n in zip(order, chosen, strict=True):
                    numbers[k] = n
                return low, tuple(numbers)
            nodes, self.looked = nodes + 1, self.looked + 1
            if nodes > MOST_NODES:
                return low, None
            at = -depth
            taken = list(zip(order, chosen, strict=False))
            needs = [row.worth - sum(row.best[k] * n for k, n in taken) for row in self.rows]
            cost = sum(offers[k].cost * n for k, n in taken)
            for n in range(self._most(order[at], needs) + 1):
                k = order[at]
                if at + 1 == len(order) and any(
                    need > row.best[k] * n for need, row in zip(needs, self.rows, strict=True)
                ):
                    continue
                here = cost + offers[k].cost * n
                covers = [
                    _cover(guide.worth - sum(guide.best[i] * m for i, m in [*taken, (k, n)]), rest[at + 1])
                    for guide, rest in zip(guides, ranked, strict=True)
                ]
                known = [c for c in covers if c is not None]
                if len(known) == len(covers):
                    heapq.heappush(heap, (max(low, here + max(known)), depth - 1, (*chosen, n)))
        # no choice satisfies the rows: the stock is too short whatever it costs
        return self.bound, None

    def _most(self, k: int, needs: Sequence[int]) -> int:
        """Sheets of a size beyond which one more is of no use."""
        useful = [-(-need // row.best[k]) for need, row in zip(needs, self.rows, strict=True) if row.best[k]]
        most = max([0, *useful])
        count = self.offers[k].count
        return most if count is None else min(most, count)

    def _ranked(self, row: Row, order: Sequence[int]) -> list[list[tuple[int, int, int | None]]]:
        """From each place in the order on: cost, worth and number of the sizes, the best value first."""
        out = []
        for at in range(len(order) + 1):
            rest = [
                (self.offers[k].cost, row.best[k], self.offers[k].count)
                for k in order[at:]
                if row.best[k] > 0
            ]
            out.append(sorted(rest, key=lambda r: Fraction(r[0], r[1])))
        return out

    def _joined(self) -> Row:
        """One row from all, weighted by the duals of the linear program: any weights give a valid row."""
        lp = highspy.Highs()  # type: ignore[no-untyped-call]
        lp.setOptionValue("output_flag", False)
        lp.setOptionValue("threads", 1)
        scale = float(max(1, *(o.cost for o in self.offers)))
        for offer in self.offers:
            most = highspy.kHighsInf if offer.count is None else float(offer.count)
            lp.addCol(offer.cost / scale, 0.0, most, 0, np.zeros(0, np.int32), np.zeros(0))
        columns = np.arange(len(self.offers), dtype=np.int32)
        for row in self.rows:
            size = float(max(1, row.worth))
            values = np.array([b / size for b in row.best])
            lp.addRow(row.worth / size, highspy.kHighsInf, len(columns), columns, values)
        lp.run()
        duals = lp.getSolution().row_dual if lp.getModelStatus() == highspy.HighsModelStatus.kOptimal else []
        weights = [max(0, round(float(d) * FINE)) for d in duals]
        if not any(weights):
            return self.rows[-1]
        # each row counts by its share of its own worth: brought to one size in whole numbers
        most = max(row.worth for row in self.rows)
        factors = [w * (most // max(1, row.worth)) for w, row in zip(weights, self.rows, strict=True)]
        return Row(
            sum(f * row.worth for f, row in zip(factors, self.rows, strict=True)),
            tuple(
                sum(f * row.best[k] for f, row in zip(factors, self.rows, strict=True))
                for k in range(len(self.offers))
            ),
        )


def _cover(need: int, rest: Sequence[tuple[int, int, int | None]]) -> int | None:
    """The least cost of covering a need by parts of sheets, rounded up; None where all of them are too few."""
    cost = 0
    for price, worth, count in rest:
        if need <= 0:
            break
        if count is None or count * worth >= need:
            return cost - (-need * price // worth)
        cost += count * price
        need -= count * worth
    return cost if need <= 0 else None
