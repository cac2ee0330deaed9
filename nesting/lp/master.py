"""The restricted master LP of cutting stock (Gilmore and Gomory 1961), kept warm in HiGHS.

min sum c_p x_p   so that every type is covered, scarce stock is not overdrawn, x >= 0
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import highspy
import numpy as np


@dataclass(frozen=True, slots=True)
class Column:
    """A pattern: index of its stock size among the offers, and panels of each type that it yields."""

    offer: int
    uses: tuple[tuple[int, int], ...]


class Master:
    """The LP over a growing set of columns.

    Parameters
    ----------
    demand
        Panels of each type; all positive.
    costs, counts
        Of the stock sizes; count None: no end of it.
    rescue
        Cost of one panel of each type outside every pattern, so that there is always a solution.
    """

    def __init__(
        self,
        demand: Sequence[int],
        costs: Sequence[int],
        counts: Sequence[int | None],
        rescue: Sequence[float],
    ) -> None:
        self.costs = tuple(costs)
        self.scale = float(max(costs)) or max(rescue)
        self.columns: list[Column] = []
        self._known: set[Column] = set()
        self._first = len(demand)
        self._shut: frozenset[int] = frozenset()
        lp = highspy.Highs()  # type: ignore[no-untyped-call]
        lp.setOptionValue("output_flag", False)
        lp.setOptionValue("threads", 1)
        lp.setOptionValue("presolve", "off")
        self._lp = lp
        nothing = np.zeros(0, np.int32)
        for d in demand:
            lp.addRow(float(d), highspy.kHighsInf, 0, nothing, np.zeros(0))
        self._stock_row: dict[int, int] = {}
        for s, n in enumerate(counts):
            if n is not None:
                self._stock_row[s] = len(demand) + len(self._stock_row)
                lp.addRow(-highspy.kHighsInf, float(n), 0, nothing, np.zeros(0))
        for t, cost in enumerate(rescue):
            lp.addCol(cost / self.scale, 0.0, highspy.kHighsInf, 1, np.array([t], np.int32), np.ones(1))

    def add(self, column: Column) -> bool:
        """Add a column; False where it is there already."""
        if column in self._known:
            return False
        self._known.add(column)
        self.columns.append(column)
        rows = [t for t, _ in column.uses]
        numbers = [float(n) for _, n in column.uses]
        if column.offer in self._stock_row:
            rows.append(self._stock_row[column.offer])
            numbers.append(1.0)
        most = 0.0 if column.offer in self._shut else highspy.kHighsInf
        self._lp.addCol(
            self.costs[column.offer] / self.scale, 0.0, most, len(rows),
            np.array(rows, np.int32), np.array(numbers),
        )  # fmt: skip
        return True

    def require(self, demand: Mapping[int, int]) -> None:
        """Change the demand of some types."""
        for t, d in demand.items():
            self._lp.changeRowBounds(t, float(d), highspy.kHighsInf)

    def stock(self, counts: Mapping[int, int]) -> None:
        """Change the numbers of some scarce sizes."""
        for s, n in counts.items():
            self._lp.changeRowBounds(self._stock_row[s], -highspy.kHighsInf, float(n))

    def shut(self, offers: Collection[int]) -> None:
        """Take no patterns of these sizes, and those of all others again; the basis stays for a warm start."""
        changed = self._shut.symmetric_difference(offers)
        self._shut = frozenset(offers)
        for k, column in enumerate(self.columns):
            if column.offer in changed:
                most = 0.0 if column.offer in self._shut else highspy.kHighsInf
                self._lp.changeColBounds(self._first + k, 0.0, most)

    def solve(self) -> float:
        """Solve; the value. [1/10,000 of the currency]"""
        self._lp.run()
        if self._lp.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise ArithmeticError("the cutting-stock LP has no optimum")
        return float(self._lp.getInfo().objective_function_value) * self.scale

    def prices(self) -> list[float]:
        """Price of one panel of each type. [1/10,000 of the currency]"""
        duals = self._lp.getSolution().row_dual
        return [max(0.0, float(duals[t])) * self.scale for t in range(self._first)]

    def premiums(self) -> dict[int, float]:
        """What one more piece of each scarce size would save, by offer. [1/10,000 of the currency]"""
        duals = self._lp.getSolution().row_dual
        return {s: max(0.0, -float(duals[r])) * self.scale for s, r in self._stock_row.items()}

    def shares(self) -> list[float]:
        """How much of each column the solution takes."""
        values = self._lp.getSolution().col_value
        return [float(v) for v in values[self._first :]]
