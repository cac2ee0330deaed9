"""The engine over sheets: sheets without waste, filling sheet by sheet, goals, and partition.

A caller who has the clock calls `advance` until it has had enough; all work is counted.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from fractions import Fraction
from math import ceil
from typing import Final

import numpy as np

from ..slices import to_the_end
from .filler import Guide
from .goal import Goal
from .partition import SCALE, choose, most_whole
from .shapes import Filled, Shape, SheetSize, Slivers
from .source import Source, Taken
from .whole_sheets import Composites

WORK_A_STEP: Final = 1_000
"""Trials of a panel on an edge in one counted step."""
OFFERED: Final = 300
"""Filled sheets that are offered to others."""
FIRST_PLANS: Final = 6
FRESH_EVERY: Final = 100
"""Whole plans made anew at first, and later one in so many rounds."""
PARTITION_EVERY: Final = 300
"""Rounds between two partitions."""
PARTITION_EFFORT: Final = 1.0
"""Of one partition. [s of deterministic time]"""
PARTITION_WORK: Final = 1_500_000
"""Work that is counted for one."""
PATIENCE: Final = 150
"""Rounds without less left over after which a goal is given up."""

_END: Final = object()


class Nest:
    """Nests convex panels on sheets.

    Parameters
    ----------
    shapes, demand
        The panels and how many there are of each.
    sheets
        Stock sizes.
    slivers
        What may be broken off; None for no rules.
    seed
        Of everything that is drawn.
    near
        How equal edges must be that are joined without waste. [mm]

    Attributes
    ----------
    bound
        Least cost by area alone.
    unplaced
        Panels of each shape that no sheet was found for.
    """

    def __init__(
        self,
        shapes: Sequence[Shape],
        demand: Sequence[int],
        sheets: Sequence[SheetSize],
        slivers: Slivers | None = None,
        seed: int = 0,
        near: float = 1e-6,
    ) -> None:
        self._shapes, self._sheets = list(shapes), list(sheets)
        self._demand = np.array(demand, np.int64)
        self._slivers = slivers or Slivers()
        self._near = near
        self._rng = np.random.Generator(np.random.PCG64(seed))
        self._source = Source(self._shapes, self._sheets, self._slivers, self._rng)
        self._more_work = 0
        self._best: list[Taken] = []
        self._goal: Goal | None = None
        self._round = 0
        self._fresh: Iterator[None] | None = None
        self.unplaced = self._demand.copy()
        self.bound = self._area_bound()

    # ------------------------------------------------------------------ what there is

    @property
    def steps(self) -> int:
        """Counted work so far."""
        return (int(self._source.filler.work[0]) + self._more_work) // WORK_A_STEP

    @property
    def best(self) -> list[Filled]:
        """The best plan, its last sheet the one whose rest is worth most."""
        return [one.filled for one in self._best]

    @property
    def cost(self) -> int:
        """Of the best plan."""
        return self._source.cost(self._best)

    @property
    def last_part(self) -> Fraction:
        """Part of the last sheet that is used: all but the largest strip along a side."""
        return Fraction(self._best[-1].part, SCALE) if self._best else Fraction(0)

    @property
    def proven(self) -> bool:
        """Whether everything is placed at the cost of the bound."""
        return not self.unplaced.any() and self.cost <= self.bound

    @property
    def pool(self) -> list[Filled]:
        """The best filled sheets found, the fullest first, no two of the same panels."""
        return [one.filled for one in self._source.ranked()[:OFFERED]]

    def _area_bound(self) -> int:
        """Least cost by area alone; a whole number, since costs are."""
        total = float(self._source.areas @ self._demand)
        if not self._sheets or total <= 0:
            return 0
        return ceil(min(total / (s.width * s.height) * s.cost for s in self._sheets) - 1e-6)

    # ------------------------------------------------------------------ the search

    def start(self) -> None:
        """Find the sheets without waste, and a first whole plan."""
        to_the_end(self.starting())

    def starting(self) -> Generator[None, None, None]:
        """The same in slices; there is no plan before it ends."""
        source = self._source
        composites = Composites(self._shapes, self._demand, self._sheets, self._slivers, self._near)
        self._more_work += composites.work
        whole = [source.taken(filled) for filled in composites.whole()]
        del composites
        chosen = most_whole(
            [one.key for one in whole],
            [round(one.filled.area) for one in whole],
            self._demand.tolist(),
            self._sheets,
            PARTITION_EFFORT,
            0,
        )
        for one in whole:
            source.enter(one)
        kept = [whole[k] for k in chosen]
        rest = self._demand - sum((one.uses for one in kept), np.zeros_like(self._demand))
        plan, self.unplaced = yield from source.one_by_one(rest, Guide(), 0, source.stock_left(kept))
        self._best = self._in_order(kept + plan)

    def advance(self) -> bool:
        """One slice of counted work; False when the best plan cannot be bettered."""
        if self._done():
            return False
        if self._fresh is None:
            self._round += 1
            if self.unplaced.any() or self._round <= FIRST_PLANS or self._round % FRESH_EVERY == 0:
                self._fresh = self._afresh()
            elif self._round % PARTITION_EVERY == 1:
                self._partition()
            else:
                self._pursue()
        if self._fresh is not None and next(self._fresh, _END) is _END:
            self._fresh = None
        return not self._done()

    def _done(self) -> bool:
        if not self._demand.any() or not self._sheets:
            return True
        if not self.proven:
            return False
        # no waste at all, unless it is on one side of the last sheet
        last = self._best[-1]
        full = all(self._source.share(one) > 1 - 1e-9 for one in self._best[:-1])
        return full and self._source.share(last) > last.part / SCALE - 1.5 / SCALE

    def _afresh(self) -> Iterator[None]:
        """A whole plan sheet by sheet; yields after every fill."""
        source = self._source
        guide, seed = source.guide(), source.seed()
        plan, left = yield from source.one_by_one(self._demand, guide, seed, source.stock_left([]))
        if int(left.sum()) < int(self.unplaced.sum()):
            self.unplaced = left
            self._best = self._in_order(plan)
        elif not left.any():
            self._offer(plan)

    def _pursue(self) -> None:
        """A round of the goal at hand."""
        if self._goal is None:
            self._goal = Goal(self._source, self._best, self._best[-1].part)
        goal = self._goal
        if not goal.reached:
            goal.step()
        if goal.reached:
            self._goal = None
            self._offer(goal.plan)
        elif goal.stale > PATIENCE:
            self._goal = None

    def _partition(self) -> None:
        """The best plan from the pool; panels that it has twice are left out of one sheet."""
        source = self._source
        for one in self._best:
            source.enter(one)
        entries = sorted(source.pool.values(), key=lambda one: one.key)
        index = {one.key: k for k, one in enumerate(entries)}
        hint = [index[one.key] for one in self._best] if all(o.key in index for o in self._best) else []
        chosen = choose(
            [one.key for one in entries],
            [one.part for one in entries],
            self._demand.tolist(),
            self._sheets,
            PARTITION_EFFORT,
            self._round,
            hint,
        )
        self._more_work += PARTITION_WORK
        if chosen is None:
            return
        surplus = sum((entries[k].uses for k in chosen), -self._demand)
        plan = []
        for k in reversed(chosen):
            one = entries[k]
            drop = np.minimum(surplus, one.uses)
            if drop.any():
                surplus = surplus - drop
                smaller = source.without(one, drop)
                if smaller is None:
                    return
                one = smaller
            if one.filled.placed:
                plan.append(one)
        self._offer(plan)

    def _offer(self, plan: list[Taken]) -> None:
        """Take a whole plan if it is better than the best: cost, then the used part of the last sheet."""
        plan = self._in_order(plan)
        if self._rank(plan) < self._rank(self._best):
            self._best = plan
            self._goal = None

    def _rank(self, plan: list[Taken]) -> tuple[int, int]:
        return self._source.cost(plan), plan[-1].part if plan else 0

    def _in_order(self, plan: list[Taken]) -> list[Taken]:
        """The sheet whose rest is worth most comes last."""
        if not plan:
            return []
        saved = [(self._sheets[one.filled.sheet].cost * (SCALE - one.part), -k) for k, one in enumerate(plan)]
        last = -max(saved)[1]
        return [*plan[:last], *plan[last + 1 :], plan[last]]
