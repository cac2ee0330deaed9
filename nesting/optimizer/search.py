"""The anytime search for one glass: a fixed schedule of independent engines over one set of plans.

Engines: sheet-by-sheet filling, whole-order beams, ruin and recreate, refilling over several stock
sizes, the cutting-stock LP and dives on its columns, and a last phase for the largest offcut. Every
slice is one or a few calls from the schedule; randomness comes from one seeded generator and budgets
are counted in nodes, so that a seed and an effort give the same plan again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..lp.generation import Generation, applies
from .dive import Diver
from .instance import Instance
from .keeper import Keeper
from .params import NODES_A_STEP, Params
from .pattern import Pattern
from .recreate import Recreate
from .runner import Counter, Runner
from .sequential import IN_SIGHT, filling

_END = object()
SHEETS_A_SLICE = 10
"""Sheets that are filled before the caller may look at its clock."""


@dataclass(frozen=True, slots=True)
class Result:
    """What a search gives: patterns, their cost, a lower bound on it, steps, and whether it is optimal."""

    patterns: list[Pattern]
    cost: int
    bound: int
    steps: int
    proven: bool


def solve(
    problem: Instance,
    stop: Callable[[int], bool],
    seed: int = 0,
    params: Params | None = None,
    *,
    bound: int = 0,
    real: Sequence[int] | None = None,
) -> Result:
    """Search until `stop`, or until nothing is left to try.

    Parameters
    ----------
    problem
        What to cut.
    stop
        Asked with the steps so far, after every slice.
    seed, params, bound, real
        As for `Search`.
    """
    search = Search(problem, bound=bound, seed=seed, params=params, real=real)
    search.start()
    while not stop(search.steps) and search.advance():
        pass
    return Result(search.patterns, search.cost, search.bound, search.steps, search.proven)


class Search:
    """The search of one instance.

    Parameters
    ----------
    instance
        What to cut.
    bound
        A valid lower bound on the cost; the search is over when it is met. The LP raises it.
        [1/10,000 of the currency]
    seed
        Of the one random generator.
    params
        See `Params`.
    real
        Indexes of the stock that is really there; None for all.
    """

    def __init__(
        self,
        instance: Instance,
        *,
        bound: int = 0,
        seed: int = 0,
        params: Params | None = None,
        real: Sequence[int] | None = None,
    ) -> None:
        self.instance = instance
        self.params = params or Params()
        self.bound = bound
        self.real = list(range(len(instance.sheets))) if real is None else list(real)
        self.counter = Counter()
        self.runner = Runner(instance, self.counter)
        self.rng = np.random.Generator(np.random.PCG64(seed))
        self.keeper = Keeper(instance, self.runner)
        self.lp: Generation | None = None
        self.finished = False
        self._recreate = Recreate(self.keeper, self.runner, self.params, self.rng)
        self._slices = self._schedule()

    @property
    def steps(self) -> int:
        """Counted search steps so far."""
        return self.counter.nodes // NODES_A_STEP

    @property
    def cost(self) -> int:
        """Cost of the best plan. [1/10,000 of the currency]"""
        return self.keeper.cost

    @property
    def proven(self) -> bool:
        """Whether the best plan costs no more than the bound."""
        return self.keeper.best_key is not None and self.keeper.cost <= self.bound

    @property
    def patterns(self) -> list[Pattern]:
        """The best plan, in canonical order: fullest sheets first."""
        return self.keeper.patterns()

    def start(self) -> None:
        """Make a first whole plan."""
        next(self._slices)

    def advance(self) -> bool:
        """One more slice; False when there is nothing left to try."""
        self.finished = self.finished or next(self._slices, _END) is _END
        return not self.finished

    def restart(self, patterns: Sequence[Pattern]) -> None:
        """Go on from this whole plan, whatever was found before."""
        self.keeper.restart(patterns)

    # --------------------------------------------------------------- schedule

    def _schedule(self) -> Iterator[None]:
        """All slices: those for the cost until it is proven, then a few more for the largest offcut."""
        for _ in self._for_cost():
            yield
            if self.proven:
                break
        for _ in range(self.params.polish_slices):
            self._recreate.polish()
            yield

    def _for_cost(self) -> Iterator[None]:
        """The fixed order of slices; yields after each."""
        p = self.params
        full = list(self.instance.demand)
        everything = list(range(len(self.instance.sheets)))
        plentiful = [k for k in everything if self._plenty(k, full)]
        many = sum(1 for d in full if d) > p.many_types
        if many:
            yield from self._many(full, everything)
        else:
            yield from self._fill(full, everything, p.fill_exponents[0], 3, p.fill_width)
            for exponent in p.fill_exponents:
                for frames in (1, 2):
                    yield from self._fill(full, everything, exponent, frames, p.fill_width)
        if len(everything) > 1:
            for k in plentiful:
                yield from self._fill(full, [k], p.fill_exponents[0], 3, p.fill_width)
        beside = self._beside()
        count = sum(full)
        width = float(p.first_widths[-1])
        whole = count <= p.whole_limit and bool(plentiful)
        if whole:
            for first in p.first_widths:
                for guide in range(len(p.guides)):
                    for k in plentiful:
                        self._whole(k, guide, first)
                        yield
                    next(beside, None)
                    yield
        turn = 0
        mixed = len(everything) > 1
        while True:
            for _ in range(24):
                for _ in range(4):
                    if mixed and turn % 2:
                        self._recreate.refill(turn // 2)
                    else:
                        self._recreate.repack(p.windows[turn % len(p.windows)], turn)
                    turn += 1
                    if self.proven:
                        break
                yield
                next(beside, None)
                yield
            self._recreate.polish()
            yield
            if whole and width * count < p.widest:
                width *= p.growth
                for guide in range(len(p.guides)):
                    for k in plentiful:
                        self._whole(k, guide, int(width))
                        yield
            noise = 0.02 + 0.04 * float(self.rng.random())
            exponent = float(self.rng.choice(np.array(p.fill_exponents)))
            frames = int(self.rng.integers(1, 4))
            yield from self._fill(full, everything, exponent, frames, p.fill_width, noise)

    # ------------------------------------------------- the LP, and dives on it

    def _beside(self) -> Iterator[None]:
        """The LP and the dives, a share of all nodes each; every step may take several slices' worth."""
        p = self.params
        if p.lp_share <= 0 or not applies(self.instance, self.real):
            return
        lp = self.lp = Generation(self.instance, self.real)
        spent = {"lp": 0, "dive": 0}
        rounds = self._lp_rounds(lp)
        dives = self._dives(lp)
        while True:
            for name, share, work in (("lp", p.lp_share, rounds), ("dive", p.dive_share, dives)):
                while spent[name] < share * self.counter.nodes and not self.proven:
                    before = self.counter.nodes
                    if next(work, _END) is _END:
                        break
                    spent[name] += self.counter.nodes - before
            yield

    def _lp_rounds(self, lp: Generation) -> Iterator[None]:
        done = 0
        for _ in lp.rounds():
            self.counter.nodes += lp.work - done
            done = lp.work
            self.bound = max(self.bound, lp.bound)
            yield

    def _dives(self, lp: Generation) -> Iterator[None]:
        diver = Diver(self.runner, lp, self.rng)
        stock = self.instance.sheets
        while diver.pays(self.instance.demand, self.real):
            self.counter.nodes += NODES_A_STEP  # a dive of no beams still takes a step
            diver.feed([t.pattern for t in self.keeper.best])
            counts = {k: (None if stock[k].piece.buyable else stock[k].piece.on_hand) for k in self.real}
            for found in diver.dive(self.instance.demand, counts, self.cost):
                self.keeper.offer_patterns(found)
                yield
            yield

    # ---------------------------------------------------------------- engines

    def _plenty(self, sheet: int, demand: Sequence[int]) -> bool:
        """Whether this size alone is sure not to run out."""
        piece = self.instance.sheets[sheet].piece
        return not piece.is_offcut and (piece.buyable or piece.on_hand >= sum(demand))

    def _many(self, demand: Sequence[int], sheets: Sequence[int]) -> Iterator[None]:
        """Fills of an order of many types, each with more choice than the one before."""
        for types, width, frames, exponent in self.params.large_fills:
            yield from self._fill(demand, sheets, exponent, frames, width, types=types)

    def _fill(
        self,
        demand: Sequence[int],
        sheets: Sequence[int],
        exponent: float,
        frames: int,
        width: int,
        noise: float = 0.0,
        *,
        types: int = IN_SIGHT,
    ) -> Iterator[None]:
        """Fill sheet by sheet; a slice is some sheets, the first plan of all is one slice."""
        work = filling(
            self.runner,
            demand,
            sheets,
            exponent=exponent,
            frames=frames,
            width=width,
            noise=noise,
            rng=self.rng,
            types=types,
        )
        done = 0
        while True:
            try:
                next(work)
            except StopIteration as end:
                self.keeper.offer_patterns(end.value)
                break
            done += 1
            if self.keeper.best_key is not None and done % SHEETS_A_SLICE == 0:
                yield
        yield

    def _whole(self, sheet: int, guide: int, width: int) -> None:
        """A beam over the whole order on one stock size, aiming one sheet below the best plan."""
        lean, exponent = self.params.guides[guide]
        price, area = self.keeper.price(sheet), self.instance.sheets[sheet].area
        part = self.runner.part(self.instance.demand)
        least = -(-part.area // area)
        target = len(self.keeper.best) - 1 if price == 0 else (self.cost - 1) // price
        if target < least:
            return
        target = min(target, sum(self.instance.demand), 2 * least + 8)
        patterns = self.runner.run(
            part,
            [sheet] * target,
            value=self.runner.value(exponent),
            lean=lean,
            width=width,
            levels=self._recreate.fewer_levels(),
        )
        self.keeper.offer_patterns(patterns)
