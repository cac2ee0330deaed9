"""Column generation for one glass: from area prices to the LP's optimum, with a valid bound at all times.

Order of pricing (each phase only when the one before finds no more): two levels; three levels over a
sample of strip widths; three levels over all of them, which is exact and gives bounds. Prices are
smoothed towards those of the best bound (Wentges 1997; Pessoa and others 2018).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ..optimizer.instance import Instance, Sheet
from .cutting_stock import CuttingStock
from .farley import dual_bound, reachable_cost
from .grid import Frame, grid_of
from .master import Column, Master
from .pricing import Priced, Pricer
from .stock_choice import StockChoice
from .tables import MOST

SMOOTH = 0.6
TOLERANCE = 2e-4
"""Relative distance of bound and LP value at which the LP counts as solved."""
NEAR = 0.9995
"""Share of the LP value that the bound must reach before the columns count as good."""
SAMPLE = 60
"""Strip widths in the second phase."""
MORE = 3
"""Patterns beside the best one that every three-level pricing gives."""
FALL, QUICK_FALL = 1e-5, 3e-4
"""Relative fall of the LP value that counts as progress, of an exact round and of a quick one."""
NEARLY = 0.99
"""Share of the LP value that the bound must reach before whole stock is looked at."""
NODES_A_LOOK = 20
"""Nodes of the tree search that take about as long as looking at one choice of stock."""
HELD = 1e-7
"""Share of the area that may be left out where stock counts as holding all panels in parts of patterns."""


class Generation(CuttingStock):
    """The LP over all staged patterns of an instance.

    Parameters
    ----------
    instance
        With two or three levels; see `applies`.
    sheets
        Stock that is really there, as indexes.
    """

    def __init__(self, instance: Instance, sheets: Sequence[int]) -> None:
        super().__init__(instance, sheets)
        keys = list(self.sheets)
        self.grid = grid_of(instance, keys)
        self.pricers = [Pricer(self.grid, f, last_cut=not instance.exact) for f in self.grid.frames]
        self._offer_of = {k: i for i, k in enumerate(keys)}
        self.patterns: dict[Column, Priced] = {}
        self.choice = StockChoice(self.offers, self.areas, self.area)
        self._last = 0 if instance.levels == 2 else 2
        self._phase = 0
        self._scale = 0.0

    # ---------------------------------------------------------------- pricing

    def _whole(self, prices: Sequence[float]) -> list[int]:
        """Prices as whole numbers, so that no pattern is worth more than the tables can hold."""
        factor = self._factor(prices, self.grid.frames)
        return [int(p * factor) for p in prices]

    def _factor(self, prices: Sequence[float], frames: Sequence[Frame]) -> float:
        densest = 1e-300
        for frame in frames:
            for o in frame.items:
                size = max(1, o.width * o.height)
                densest = max(densest, self._worth_of(prices, o.rect) / size * frame.length * frame.depth)
        return MOST / 2 / densest

    def _worth_of(self, prices: Sequence[float], rect: int) -> float:
        return sum(prices[self._at[t]] * n for t, n in self.instance.rects[rect].uses if t in self._at)

    def _values(self, whole: Sequence[int], pricer: Pricer) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        worth = self._worths(whole)
        return np.array([worth[o.rect] for o in pricer.frame.items], np.int64)

    def _price(self, prices: Sequence[float], phase: int, turn: int) -> tuple[list[int], list[int], bool]:
        """Best worth of every size at whole prices, these prices, and whether a column was added."""
        whole = self._whole(prices)
        best = [0] * len(self.offers)
        added = False
        for pricer in self.pricers:
            values = self._values(whole, pricer)
            if self.instance.levels == 2 or phase == 0:
                found = [pricer.best_of_two(values)]
                self.work += pricer.effort(1)
            else:
                widths = None
                if phase == 1:
                    widths = self._sample(pricer, turn)
                    self.work += pricer.effort(len(widths))
                else:
                    self.work += pricer.effort(2 * pricer.frame.length)
                found = pricer.best(values, widths, MORE)
            for i, one in enumerate(found):
                column = self._column(self._offer_of[one.sheet], one.rects(pricer.frame).elements())
                if i == 0:
                    best[column.offer] = max(best[column.offer], one.value)
                if column.uses and self.master.add(column):
                    self.patterns[column] = one
                    added = True
        return best, whole, added

    @property
    def next_work(self) -> int:
        """About the nodes of the tree search that the next round of pricing takes as long as."""
        if self.instance.levels == 2 or self._phase == 0:
            return sum(p.effort(1) for p in self.pricers)
        widths = [2 * SAMPLE if self._phase == 1 else 2 * p.frame.length for p in self.pricers]
        return sum(p.effort(w) for p, w in zip(self.pricers, widths, strict=True))

    def sampled(self, prices: Sequence[float], sheet: int) -> tuple[list[Priced], int]:
        """Good patterns of one stock size at these prices, over a sample of strip widths; none a bound.

        Parameters
        ----------
        prices
            Of each of `types`.
        sheet
            Index of the stock size, one of `sheets`.

        Returns
        -------
        tuple
            The patterns, and the nodes of the tree search that take about as long.
        """
        whole = self._whole(prices)
        found: list[Priced] = []
        work = 0
        for pricer in self.pricers:
            if pricer.frame.sheet != sheet:
                continue
            values = self._values(whole, pricer)
            if self.instance.levels == 2:
                work += pricer.effort(1)
                found.append(pricer.best_of_two(values))
            else:
                widths = self._sample(pricer, 0)
                work += pricer.effort(len(widths))
                found += pricer.best(values, widths, MORE)
        return found, work

    def _sample(self, pricer: Pricer, turn: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        step = max(1, (len(pricer.sums) - 1) // SAMPLE)
        return np.union1d(pricer.sums[1 + turn * 7 % step :: step], pricer.good)

    # ------------------------------------------------------------------- loop

    def rounds(self) -> Iterator[None]:
        """Solve the LP; yields after every round of pricing."""
        last = self._last
        turn = stalled = 0
        while not self.solved:
            phase = self._phase
            before = self.value = self.master.solve()
            true = self.master.prices()
            smooth = phase == last or (turn and not stalled)
            prices = true
            if smooth:
                prices = [SMOOTH * b + (1 - SMOOTH) * p for b, p in zip(self.best_prices, true, strict=True)]
            best, whole, added = self._price(prices, phase, turn)
            if phase == last:
                self._certify(whole, best, prices)
            self.value = self.master.solve()
            self.ready = self.ready or float(self.raw) >= NEAR * self.value
            turn += 1
            fell = self.value < before * (1 - (FALL if phase == last else QUICK_FALL))
            if phase == last:
                near = float(self.raw) >= self.value * (1 - TOLERANCE)
                self.solved = near or not (fell or smooth or added)
                # quick rounds over the widths that looked best, then exact again
                self._phase, stalled = (1 if last == 2 else last), 0
            else:
                stalled = 0 if fell else stalled + 1
                if stalled >= (2 if smooth or phase == 0 else 3):
                    self._phase, stalled = phase + 1, 0
            self.ready = self.ready or self.solved
            yield
        if len(self.offers) > 1:
            yield from self._choices()
        self.over = True

    def _certify(self, whole: Sequence[int], best: Sequence[int], prices: Sequence[float]) -> None:
        """Raise the bound by exactly priced whole prices."""
        worth = sum(p * d for p, d in zip(whole, self.demand, strict=True))
        low, scale = dual_bound(worth, best, self.offers)
        if low > self.raw:
            self.raw = low
            self.best_prices = list(prices)
            self._scale = float(scale) * sum(whole) / max(1e-300, sum(prices))
        if len(self.offers) == 1:
            self.bound = max(self.bound, reachable_cost(self.raw, self.area, self.offers, self.areas))
            return
        self.choice.add(worth, best)
        if float(self.raw) >= NEARLY * self.value:
            before = self.choice.looked
            self.choice.look()
            self.work += NODES_A_LOOK * (self.choice.looked - before)
        self.bound = max(self.bound, self.choice.bound, -(-self.raw.numerator // self.raw.denominator))

    def _choices(self) -> Iterator[None]:
        """Whether the cheapest stock that the prices allow can hold the panels, by an LP of its own; else on.

        Its prices rule that stock out, or end it: then the bound is the best that patterns taken in parts give.
        """
        rescue = [float(self.instance.type_area[t]) for t in self.types]
        master = Master(self.demand, [0] * len(self.offers), [0] * len(self.offers), rescue)
        for column in self.master.columns:
            master.add(column)
        while (numbers := self.choice.numbers) is not None:
            master.stock(dict(enumerate(numbers)))
            if master.solve() <= HELD * self.area:
                return
            known = len(self.master.columns)
            prices = master.prices()
            best, whole, _ = self._price(prices, self._last, 0)
            self._certify(whole, best, prices)
            added = [master.add(column) for column in self.master.columns[known:]]
            yield
            if self.choice.numbers == numbers and not any(added):
                return

    def worth(self, sheet: Sheet) -> int:
        """What a sheet of another size is worth at the prices of the best bound. [1/10,000 of the currency]

        Where it costs less, the LP with it costs less (reduced cost; Gilmore and Gomory 1965).
        """
        if not self.raw:
            return 0
        grid = grid_of(replace(self.instance, sheets=(sheet,)), [0])
        factor = self._factor(self.best_prices, grid.frames)
        whole = [int(p * factor) for p in self.best_prices]
        best = 0
        for frame in grid.frames:
            pricer = Pricer(grid, frame, last_cut=not self.instance.exact)
            values = self._values(whole, pricer)
            two = self.instance.levels == 2
            best = max(best, (pricer.best_of_two(values) if two else pricer.best(values)[0]).value)
        return round(best / factor * self._scale)


def applies(instance: Instance, sheets: Sequence[int]) -> bool:
    """Whether the staged class holds every pattern that the rules allow, and there is a cost to bound."""
    priced = any(instance.sheets[k].piece.cost > 0 for k in sheets)
    return instance.rules.levels in (2, 3) and bool(instance.rects) and priced
