"""Filled sheets: where every part of the search gets them from, and the pool of the best."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .filler import Filler, Guide
from .partition import SCALE
from .pruning import pruned, settled, used_part
from .shapes import Filled, Shape, SheetSize, Slivers

POOL: Final = 2_500
"""Sheets that are kept for the partition."""

WINDOW: Final = 160
"""Shapes that a fill chooses among; of longer orders the largest quarter and a draw of the others."""

Ints = NDArray[np.int64]
Key = tuple[int, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Taken:
    """A filled sheet, how many of each shape it holds, and what part of it is used. [1 / SCALE]"""

    filled: Filled
    uses: Ints
    part: int

    @property
    def key(self) -> Key:
        """Stock size and panels."""
        return self.filled.sheet, tuple(self.uses.tolist())


class Source:
    """Fills sheets, counts the work, and keeps the best that it made.

    Parameters
    ----------
    shapes, sheets, slivers
        See `shapes`.
    rng
        Of all guides and seeds.
    """

    def __init__(
        self, shapes: list[Shape], sheets: list[SheetSize], slivers: Slivers, rng: np.random.Generator
    ) -> None:
        self.sheets, self.slivers, self.rng = sheets, slivers, rng
        self.filler = Filler(shapes, sheets, slivers)
        self.areas = self.filler.tables.sizes
        self.pool: dict[Key, Taken] = {}

    def share(self, one: Taken) -> float:
        """Part of the whole sheet that is panels."""
        size = self.sheets[one.filled.sheet]
        return one.filled.area / (size.width * size.height)

    def cost(self, plan: Sequence[Taken]) -> int:
        """Of all sheets of a plan."""
        return sum(self.sheets[one.filled.sheet].cost for one in plan)

    def stock_left(self, plan: Sequence[Taken]) -> list[int | None]:
        """Sheets of each size that a plan leaves; None for any number."""
        left = [size.available for size in self.sheets]
        for one in plan:
            count = left[one.filled.sheet]
            if count is not None:
                left[one.filled.sheet] = count - 1
        return left

    def guide(self) -> Guide:
        """A guide drawn at random: which weights suit differs from sheet to sheet."""
        r = self.rng.random(7)
        ruled = self.slivers.break_out > 0 or self.slivers.longest is not None
        return Guide(
            density=0.6 + 0.4 * float(r[0]),
            small=float(10 ** (-2 + 2 * r[1])),
            narrow=float(10 ** (-2 + 2 * r[2])),
            power=1.0 + 0.4 * float(r[3]) ** 2,
            noise=float(10 ** (-2 + 1.7 * r[4])),
            boxes=ruled or float(r[6]) < 0.25,
            beam=(2, 3, 4, 6)[int(4 * r[5])],
        )

    def seed(self) -> int:
        """Of a fill."""
        return int(self.rng.integers(2**40))

    def taken(self, filled: Filled) -> Taken:
        """A filled sheet with its figures."""
        size = self.sheets[filled.sheet]
        uses = np.array(filled.uses(len(self.areas)), np.int64)
        return Taken(filled, uses, used_part(filled, size.width, size.height, SCALE))

    def empty(self, sheet: int) -> Taken:
        """A sheet with nothing on it."""
        return Taken(Filled(sheet, 0.0, 0.0, ()), np.zeros(len(self.areas), np.int64), 0)

    def without(self, one: Taken, drop: Ints) -> Taken | None:
        """The sheet with as many panels of each shape left out; None where that breaks a rule."""
        size = self.sheets[one.filled.sheet]
        filled = pruned(replace(one.filled, area=float((one.uses - drop) @ self.areas)), drop.tolist())
        small = settled(filled, size.width, size.height, self.slivers)
        return None if small is None else self.taken(small)

    def enter(self, one: Taken) -> None:
        """Keep a sheet in the pool; of two with the same panels the one that is used less."""
        if not one.filled.placed:
            return
        other = self.pool.get(one.key)
        if other is None or one.part < other.part:
            self.pool[one.key] = one
        if len(self.pool) > 2 * POOL:
            self.pool = {kept.key: kept for kept in self.ranked()[:POOL]}

    def ranked(self) -> list[Taken]:
        """The pool, the fullest first."""
        return sorted(self.pool.values(), key=lambda one: (-self.share(one), one.key))

    def fill(
        self,
        sheet: int,
        demand: Ints,
        guide: Guide,
        seed: int,
        room: tuple[float, float] | None = None,
        weights: NDArray[np.float64] | None = None,
    ) -> Taken | None:
        """One filled sheet, or room of it, that keeps the sliver rules; None where nothing fits."""
        if not demand.any():
            return None
        size = self.sheets[sheet]
        wanted = self._window(demand)
        for strict in (False, True):
            got = self.filler.fill(
                sheet, demand, guide, seed, wanted=wanted, room=room, weights=weights, strict=strict
            )
            if not got.uses.any():
                return None
            # what lies on the far sides is cut off first, which may leave narrow waste behind
            filled = settled(got.filled, size.width, size.height, self.slivers)
            if filled is not None:
                one = self.taken(filled)
                self.enter(one)
                return one
        return None

    def _window(self, demand: Ints) -> Ints | None:
        """The shapes that a fill may take: all of them where there are not too many."""
        there = np.flatnonzero(demand)
        if len(there) <= WINDOW:
            return None
        ranked = there[np.argsort(-self.areas[there], kind="stable")]
        large = WINDOW // 4
        drawn = self.rng.choice(len(ranked) - large, WINDOW - large, replace=False) + large
        wanted = np.zeros_like(demand)
        wanted[ranked[:large]] = 1
        wanted[ranked[drawn]] = 1
        return wanted

    def one_by_one(
        self, demand: Ints, guide: Guide, seed: int, stock: Sequence[int | None]
    ) -> Generator[None, None, tuple[list[Taken], Ints]]:
        """Fill sheet by sheet, each time the size with the most area for its cost; and what is left over.

        Yields after every fill.
        """
        left, counts = demand.copy(), list(stock)
        plan: list[Taken] = []
        while left.any():
            best: Taken | None = None
            best_key = (False, 0.0)
            for h, size in enumerate(self.sheets):
                if counts[h] == 0:
                    continue
                one = self.fill(h, left, guide, seed + len(plan))
                yield
                if one is None:
                    continue
                # the cheapest size that takes all, else the most area for the money
                ends = bool((one.uses == left).all())
                key = (ends, -float(size.cost) if ends else one.filled.area / max(size.cost, 1e-9))
                if best is None or key > best_key:
                    best, best_key = one, key
            if best is None:
                break
            plan.append(best)
            left -= best.uses
            count = counts[best.filled.sheet]
            if count is not None:
                counts[best.filled.sheet] = count - 1
        return plan, left
