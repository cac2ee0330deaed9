"""The engine over sheets: whole sheets first, filling sheet by sheet, ruin and recreate, and partition.

A caller who has the clock calls `advance` until it has had enough; all work is counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .filler import Fill, Filler, Guide
from .partition import SCALE, choose, most_whole
from .pruning import pruned, settled, used_part
from .shapes import Filled, Shape, SheetSize, Slivers
from .whole_sheets import Composites

WORK_A_STEP: Final = 1_000
"""Trials of a panel on an edge in one counted step."""
POOL: Final = 2_500
"""Sheets that are kept for the partition."""
OFFERED: Final = 300
"""Of these, that are offered to others."""
PARTITION_EVERY: Final = 120
"""Rounds of ruin and recreate between two partitions."""
PARTITION_EFFORT: Final = 1.5
"""Of one partition. [s of deterministic time]"""
EASE: Final = 10
"""Rounds back with which a changed plan is compared (late acceptance)."""

PATIENCE: Final = 150
"""Rounds without less left over after which a goal is given up."""

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Taken:
    """One sheet of a plan: how many of each shape, and what part of the sheet is used."""

    filled: Filled
    uses: Ints
    part: int


class Nest:
    """Nests convex panels on sheets.

    Parameters
    ----------
    shapes, demand
        The panels and how many there are of each.
    sheets
        Stock sizes.
    slivers
        What may be broken off.
    seed
        Of everything that is drawn.
    near
        How equal edges must be that are joined without waste. [mm]

    Attributes
    ----------
    steps
        Counted work so far.
    best
        The best plan, its last sheet the one that is used least.
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
        self._filler = Filler(self._shapes, self._sheets, self._slivers)
        self._more_work = 0
        self._pool: dict[tuple[int, tuple[int, ...]], Taken] = {}
        self._best: list[Taken] = []
        self._now: list[Taken] = []
        self._past: list[float] = []
        self._bins: list[Taken] = []
        self._rooms: list[tuple[float, float] | None] = []
        self._spare = self._demand.copy()
        self._weights = np.ones(len(self._shapes))
        self._aim = 0.0
        self._stale = 0
        self._round = 0
        self._tried: set[int] = set()
        self.unplaced = self._demand.copy()
        self.bound = self._area_bound()

    # ------------------------------------------------------------------ what there is

    @property
    def steps(self) -> int:
        """Counted work so far."""
        return (int(self._filler.work[0]) + self._more_work) // WORK_A_STEP

    @property
    def best(self) -> list[Filled]:
        """The best plan, its last sheet the one that is used least."""
        return [one.filled for one in self._best]

    @property
    def cost(self) -> int:
        """Of the best plan."""
        return sum(self._sheets[one.filled.sheet].cost for one in self._best)

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
        ranked = sorted(self._pool.items(), key=lambda pair: (-self._share(pair[1]), pair[0]))
        return [one.filled for _, one in ranked[:OFFERED]]

    def _share(self, one: Taken) -> float:
        size = self._sheets[one.filled.sheet]
        return one.filled.area / (size.width * size.height)

    def _area_bound(self) -> int:
        """Least cost by area alone; a whole number, since costs are."""
        total = float(self._filler.tables.sizes @ self._demand)
        if not self._sheets or total <= 0:
            return 0
        return ceil(min(total / (s.width * s.height) * s.cost for s in self._sheets) - 1e-6)

    # ------------------------------------------------------------------ the search

    def start(self) -> None:
        """Find the sheets without waste, and a first whole plan."""
        composites = Composites(self._shapes, self._demand, self._sheets, self._slivers, self._near)
        self._more_work += composites.work
        whole = [self._taken(filled) for filled in composites.whole()]
        del composites
        columns = [(one.filled.sheet, _key(one.uses)) for one in whole]
        worth = [round(one.filled.area) for one in whole]
        chosen = most_whole(columns, worth, self._demand.tolist(), self._sheets, 2.0, 0)
        for one in whole:
            self._enter(one)
        kept = [whole[k] for k in chosen]
        rest = self._demand - sum((one.uses for one in kept), np.zeros_like(self._demand))
        plan, left = self._one_by_one(rest, Guide(), 0, self._stock_left(kept))
        self.unplaced = left
        self._best = self._in_order(kept + plan)
        self._now = list(self._best)

    def advance(self) -> bool:
        """One slice of counted work; False when the best plan cannot be bettered or all is done."""
        if self._done():
            return False
        self._round += 1
        if self.unplaced.any() or self._round <= 6 or self._round % 60 == 0:
            self._afresh()
        elif self._round % PARTITION_EVERY == 0:
            self._partition()
        else:
            self._recreate()
        return not self._done()

    def _done(self) -> bool:
        if not self._demand.any() or not self._sheets:
            return True
        if not self.proven:
            return False
        one = self._best[-1]
        return one.part >= SCALE and self._share(one) > 1 - 1e-9

    def _guide(self) -> Guide:
        """A guide drawn at random: which weights suit differs from sheet to sheet."""
        r = self._rng.random(6)
        return Guide(
            density=0.6 + 0.4 * float(r[0]),
            small=float(10 ** (-2 + 2 * r[1])),
            narrow=float(10 ** (-2 + 2 * r[2])),
            power=1.0 + 0.4 * float(r[3]) ** 2,
            noise=float(10 ** (-2 + 1.7 * r[4])),
            beam=(2, 3, 4, 6)[int(4 * r[5])],
        )

    def _seed(self) -> int:
        return int(self._rng.integers(2**40))

    def _afresh(self) -> None:
        plan, left = self._one_by_one(self._demand, self._guide(), self._seed(), self._stock_left([]))
        plan = self._in_order(plan)
        if left.sum() < self.unplaced.sum() or (not left.any() and self._better(plan)):
            self.unplaced = left
            self._best = plan
            self._now = list(plan)
            self._bins = []

    def _better(self, plan: list[Taken]) -> bool:
        return self._rank(plan) < self._rank(self._best)

    def _rank(self, plan: list[Taken]) -> tuple[int, int]:
        """Cost, then the used part of the last sheet."""
        return sum(self._sheets[one.filled.sheet].cost for one in plan), plan[-1].part if plan else 0

    def _energy(self, plan: list[Taken]) -> float:
        """As `_rank`, but the panels' area on the last sheet counts too."""
        if not plan:
            return 0.0
        cost, part = self._rank(plan)
        last = plan[-1]
        price = self._sheets[last.filled.sheet].cost
        return cost - price + price * (0.5 * part / SCALE + 0.5 * self._share(last))

    def _in_order(self, plan: list[Taken]) -> list[Taken]:
        """The sheet whose rest is worth most comes last."""
        if not plan:
            return []
        saved = [
            (self._sheets[one.filled.sheet].cost * (SCALE - one.part), -k) for k, one in enumerate(plan)
        ]
        last = -max(saved)[1]
        return [*plan[:last], *plan[last + 1 :], plan[last]]

    def _taken(self, filled: Filled) -> Taken:
        size = self._sheets[filled.sheet]
        uses = np.array(filled.uses(len(self._shapes)), np.int64)
        return Taken(filled, uses, used_part(filled, size.width, size.height, SCALE))

    def _enter(self, one: Taken) -> None:
        """Keep a sheet in the pool; of two with the same panels the one that is used less."""
        if not one.filled.placed:
            return
        key = (one.filled.sheet, _key(one.uses))
        other = self._pool.get(key)
        if other is None or one.part < other.part:
            self._pool[key] = one
        if len(self._pool) > 2 * POOL:
            ranked = sorted(self._pool.items(), key=lambda pair: (-self._share(pair[1]), pair[0]))
            self._pool = dict(ranked[:POOL])

    def _stock_left(self, plan: list[Taken]) -> list[int | None]:
        used = [0] * len(self._sheets)
        for one in plan:
            used[one.filled.sheet] += 1
        return [None if s.available is None else s.available - n for s, n in zip(self._sheets, used, strict=True)]

    def _fill(
        self, sheet: int, demand: Ints, guide: Guide, seed: int, room: tuple[float, float] | None = None, weights: NDArray[np.float64] | None = None,
    ) -> Taken | None:
        """One filled sheet whose room keeps the sliver rules; None where nothing fits."""
        got: Fill = self._filler.fill(sheet, demand, guide, seed, room=room, weights=weights)
        if not got.uses.any():
            return None
        size = self._sheets[sheet]
        filled = settled(got.filled, size.width, size.height, self._slivers)
        one = self._taken(filled)
        self._enter(one)
        return one

    def _one_by_one(
        self, demand: Ints, guide: Guide, seed: int, stock: list[int | None]
    ) -> tuple[list[Taken], Ints]:
        """Fill sheet by sheet, each time the size with the most area for its cost; what is left over."""
        left = demand.copy()
        plan: list[Taken] = []
        stock = list(stock)
        while left.any():
            best: Taken | None = None
            best_key = (False, 0.0)
            for h, size in enumerate(self._sheets):
                if stock[h] == 0:
                    continue
                one = self._fill(h, left, guide, seed + len(plan))
                if one is None:
                    continue
                key = (bool((one.uses == left).all()), one.filled.area / max(size.cost, 1e-9))
                if key[0]:
                    key = (True, -float(size.cost))
                if best is None or key > best_key:
                    best, best_key = one, key
            if best is None:
                break
            plan.append(best)
            left -= best.uses
            count = stock[best.filled.sheet]
            if count is not None:
                stock[best.filled.sheet] = count - 1
        return plan, left

    def _begin(self) -> None:
        """A new goal: the last sheet of the plan at hand in a smaller room, its panels to be placed anew."""
        plan = self._now
        last = plan[-1]
        size = self._sheets[last.filled.sheet]
        cut = 0.004 + 0.03 * float(self._rng.random()) ** 2
        part = min(last.part, self._best[-1].part if len(plan) >= len(self._best) else SCALE) / SCALE - cut
        self._rooms = [None] * (len(plan) - 1)
        self._bins = list(plan[:-1])
        self._spare = last.uses.copy()
        self._weights = np.ones(len(self._shapes))
        self._stale = 0
        if part > 0.01:
            upright = self._rng.random() < 0.5
            room = (size.width * part, size.height) if upright else (size.width, size.height * part)
            self._rooms.append(room)
            one = self._fill(last.filled.sheet, self._spare, self._guide(), self._seed(), room)
            self._bins.append(one or replace(last, filled=Filled(last.filled.sheet, 0, 0, ()), uses=0 * last.uses))
            self._spare = self._spare - self._bins[-1].uses
        self._aim = float(self._filler.tables.sizes @ self._spare)
        self._past = [self._aim] * EASE

    def _recreate(self) -> None:
        """Empty one to three rooms and fill them anew with what was in them and what is left over."""
        if not self._bins:
            self._begin()
        many = len(self._bins)
        count = min(many, (1, 2, 2, 3)[int(self._rng.integers(4))])
        gone = self._rng.choice(many, count, replace=False).tolist()
        spare = sum((self._bins[k].uses for k in gone), self._spare)
        fresh: list[tuple[int, Taken]] = []
        guide = self._guide()
        for k in gone:
            sheet = self._bins[k].filled.sheet
            one = self._fill(sheet, spare, guide, self._seed(), self._rooms[k], self._weights) if spare.any() else None
            if one is None:
                one = Taken(Filled(sheet, 0, 0, ()), np.zeros_like(spare), 0)
            fresh.append((k, one))
            spare = spare - one.uses
        sizes = self._filler.tables.sizes
        new = float((sizes * self._weights) @ spare)
        old = float((sizes * self._weights) @ self._spare)
        slot = self._round % EASE
        if new <= old or new <= self._past[slot]:
            for k, one in fresh:
                self._bins[k] = one
            self._spare = spare
        self._past[slot] = float((sizes * self._weights) @ self._spare)
        self._weights[self._spare > 0] *= 1.003
        self._stale += 1
        left = float(sizes @ self._spare)
        if left < self._aim:
            self._aim, self._stale = left, 0
        if not self._spare.any():
            self._reached()
        elif self._stale > PATIENCE:
            self._now = list(self._best)
            self._bins = []

    def _reached(self) -> None:
        plan = self._in_order([one for one in self._bins if one.filled.placed])
        self._now = plan
        self._bins = []
        if self._better(plan):
            self._best = plan

    def _partition(self) -> None:
        """The best plan from the pool; panels that it has twice are left out of one sheet."""
        for one in self._best:
            self._enter(one)
        entries = sorted(self._pool.items(), key=lambda pair: pair[0])
        index = {key: k for k, (key, _) in enumerate(entries)}
        keys = [(one.filled.sheet, _key(one.uses)) for one in self._best]
        hint = [index[key] for key in keys] if all(key in index for key in keys) else []
        chosen = choose(
            [key for key, _ in entries],
            [one.part for _, one in entries],
            self._demand.tolist(),
            self._sheets,
            PARTITION_EFFORT,
            self._round,
            hint,
        )
        self._more_work += int(PARTITION_EFFORT * 1_500_000)
        if chosen is None:
            return
        surplus = sum((entries[k][1].uses for k in chosen), -self._demand)
        plan = []
        for k in reversed(chosen):
            one = entries[k][1]
            drop = np.minimum(surplus, one.uses)
            if drop.any():
                surplus = surplus - drop
                size = self._sheets[one.filled.sheet]
                filled = settled(pruned(one.filled, drop.tolist()), size.width, size.height, self._slivers)
                one = self._taken(replace(filled, area=float((one.uses - drop) @ self._filler.tables.sizes)))
            if one.filled.placed:
                plan.append(one)
        plan = self._in_order(plan)
        self._now = plan
        self._bins = []
        if self._better(plan):
            self._best = plan


def _key(uses: Ints) -> tuple[int, ...]:
    return tuple(uses.tolist())
