"""Shops of the bench put together: losses over the oracle's by law, coverage, service and stock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from typing import Any, Final

import numpy as np

from panewright.io.bench_forecast_run import (
    ORACLE,
    SIMULATION,
    SUMS,
    WITH_OPEN,
    ShopFound,
    Wish,
    run_shop,
)
from panewright.io.bench_forecast_shops import LAWS, RATES, Law, Size
from panewright.io.bench_forecast_stock import EQUAL, stock_at
from panewright.nesting.each import each
from panewright.nesting.forecast.scores import standard_error

EACH: Final[dict[Size, int]] = {"medium": 2, "small": 4}
"""Shops of a law; the large ones first, they take longest."""
A_DRAW: Final = 1000
"""Seeds that belong to one --draw; those of draw 0 were used for tuning, the tables are of draw 1."""


def wishes(draw: int) -> list[Wish]:
    """All shops of a draw."""
    return [
        Wish(law=law, size=size, seed=A_DRAW * draw + k)
        for size, count in EACH.items()
        for law in LAWS
        for k in range(count)
    ]


def run_shops(wanted: Sequence[Wish], executor: Executor | None) -> Iterator[ShopFound]:
    """The shops in their order; after an interrupt those that are done, and then it comes."""
    for _, found in each(executor, run_shop, wanted):
        yield found


class Shops:
    """Shops of one size.

    Parameters
    ----------
    found
        At least one, all of one size.
    """

    def __init__(self, found: Sequence[ShopFound]) -> None:
        self.found = tuple(found)
        self.methods = found[0].methods
        self.laws: tuple[Law, ...] = tuple(law for law in LAWS if any(f.wish.law == law for f in found))

    def _row(self, method: str) -> int:
        return self.methods.index(method)

    def _of(self, law: Law) -> list[ShopFound]:
        return [f for f in self.found if f.wish.law == law]

    def lost(self, method: str, weeks: int, law: Law) -> float:
        """Loss of a method over a sum of weeks, shops and series added. [sheets]"""
        h = SUMS.index(weeks)
        return float(sum(f.losses[self._row(method), h].sum() for f in self._of(law)))

    def over(self, method: str, weeks: int, law: Law | None = None, *, than: str = ORACLE) -> float:
        """Loss over that of another method: of a law, or the mean of the laws."""
        if law is None:
            return float(np.mean([self.over(method, weeks, one, than=than) for one in self.laws]))
        return self.lost(method, weeks, law) / max(1e-9, self.lost(than, weeks, law))

    def error(self, method: str, weeks: int, *, than: str = ORACLE) -> float:
        """Standard error of the loss over another's, from the shops."""
        h = SUMS.index(weeks)
        ratios = [
            f.losses[self._row(method), h].sum() / max(1e-9, f.losses[self._row(than), h].sum())
            for f in self.found
        ]
        return float(standard_error(np.array(ratios)))

    def held(self, method: str, band: int, law: Law) -> float:
        """Share of the 4-week sums of a law in a band."""
        return float(np.mean([f.held[self._row(method), band] for f in self._of(law)]))

    def service(self, method: str, setting: int, law: Law | None = None) -> float:
        """Share of lead times over which the stock lasted; None for all laws, each counting the same."""
        if law is None:
            return float(np.mean([self.service(method, setting, one) for one in self.laws]))
        return float(np.mean([f.service[self._row(method), setting] for f in self._of(law)]))

    def held_stock(self, method: str, setting: int, law: Law) -> float:
        """Mean stock on hand. [m2]"""
        return float(np.mean([f.stock[self._row(method), setting] for f in self._of(law)]))

    def equal_stock(self, method: str, law: Law) -> float | None:
        """Stock with which the service of `EQUAL` is achieved, or None. [m2]"""
        service: Any = np.mean([f.service[self._row(method)] for f in self._of(law)], axis=0)
        stock: Any = np.mean([f.stock[self._row(method)] for f in self._of(law)], axis=0)
        return stock_at(service, stock, EQUAL)

    def stock_over(self, method: str, than: str = ORACLE) -> float | None:
        """Stock for an equal service over another method's, the mean of the laws; None where one cannot reach it."""
        ratios = []
        for law in self.laws:
            mine, other = self.equal_stock(method, law), self.equal_stock(than, law)
            if mine is None or other is None:
                return None
            ratios.append(mine / other)
        return float(np.mean(ratios))

    @property
    def lead_times(self) -> int:
        """Simulated ones, of each method and setting."""
        return sum(f.lead_times for f in self.found)

    def open_gains(self) -> tuple[float, float, float | None]:
        """What open orders take off: loss of week 1 and of 4 weeks, and stock at an equal service; shares."""
        stock = self.stock_over(WITH_OPEN, SIMULATION)
        week, four = (1 - self.over(WITH_OPEN, h, than=SIMULATION) for h in (1, 4))
        return week, four, None if stock is None else 1 - stock

    def best_classical(self, weeks: int, law: Law) -> tuple[str, float]:
        """The rival that loses least in a law, and its loss over the oracle's."""
        rivals = [m for m in self.methods if m not in (ORACLE, SIMULATION, WITH_OPEN)]
        return min(((m, self.over(m, weeks, law)) for m in rivals), key=lambda pair: (pair[1], pair[0]))


def by_size(found: Sequence[ShopFound]) -> dict[Size, Shops]:
    """The shops by their size."""
    sizes: list[Size] = [size for size in RATES if any(f.wish.size == size for f in found)]
    return {size: Shops([f for f in found if f.wish.size == size]) for size in sizes}
