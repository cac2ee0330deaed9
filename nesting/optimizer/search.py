"""The anytime search for one glass: a fixed schedule of independent engines over one set of plans.

Engines: sheet-by-sheet filling, whole-order beams, ruin and recreate, refilling over several stock
sizes, the cutting-stock LP and dives on its columns, and a last phase for the largest offcut. Every
slice is one or a few calls from the schedule; randomness comes from one seeded generator and budgets
are counted in nodes, so that a seed and an effort give the same plan again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor

import numpy as np

from ..lp.free_levels import FreeLevels
from ..lp.generation import Generation
from .aside import Aside, Known, worth_staging
from .bundles import Bundled, bundled
from .ease import easy_ways
from .instance import Instance
from .keeper import Keeper
from .nested import Nested, clean_sheets, worth_nesting
from .params import NODES_A_NEST_STEP, NODES_A_STEP, Params
from .pattern import Pattern
from .recreate import Recreate
from .runner import Counter, Runner
from .sequential import IN_SIGHT, filling

_END = object()
SHEETS_A_SLICE = 10
"""Sheets that are filled before the caller may look at its clock."""


class Search:
    """The search of one instance.

    Parameters
    ----------
    instance
        What to cut.
    bound
        A valid lower bound on the cost; the search is over when it is met. The LP raises it.
        [1/10,000 of the currency]
    better_bound
        Gives a better one that takes longer: worked out in a slice of its own, after the first plan.
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
        better_bound: Callable[[], int] | None = None,
        seed: int = 0,
        params: Params | None = None,
        real: Sequence[int] | None = None,
    ) -> None:
        self.instance = instance
        self._better_bound = better_bound
        self.params = params or Params()
        self.bound = bound
        self.real = list(range(len(instance.sheets))) if real is None else list(real)
        self.counter = Counter()
        self.runner = Runner(instance, self.counter)
        self.rng = np.random.Generator(np.random.PCG64(seed))
        self.keeper = Keeper(instance, self.runner)
        self.finished = False
        self._seed = seed
        self.nests = instance.shares and worth_nesting(instance, instance.demand)
        self.nests = self.nests and bool(clean_sheets(instance, self.real))
        ways = (False, True) if worth_staging(instance) else (False,)
        self._asides = [
            Aside(instance, self.real, self.params, seed, staged=staged)
            for staged in (ways if self.params.lp_share > 0 else ())
        ]
        self._aside_due = False
        self._recreate = Recreate(self.keeper, self.runner, self.params, self.rng)
        self._slices = self._schedule()

    @property
    def steps(self) -> int:
        """Counted search steps so far."""
        return (self.counter.nodes + sum(a.counter.nodes for a in self._asides)) // NODES_A_STEP

    @property
    def lp(self) -> Generation | FreeLevels | None:
        """The cutting-stock LP, once it has begun."""
        return self._asides[0].lp if self._asides else None

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

    def advance(self, executor: Executor | None = None) -> bool:
        """One more slice; False when there is nothing left to try.

        Parameters
        ----------
        executor
            With a thread for the LP and the dives; the plan is the same without.
        """
        if self._better_bound is not None:
            self.bound, self._better_bound = max(self.bound, self._better_bound()), None
            return not self.finished
        asides = self._asides if self._aside_due and not self.proven else []
        self._aside_due = False
        if not asides:
            self._next()
            return not self.finished
        known = Known(tuple(t.pattern for t in self.keeper.best), self.cost, self.bound, self.counter.nodes)

        def beside() -> None:
            for aside in asides:
                aside.step(known)

        if executor is None:
            beside()
            self._next()
        else:
            work = executor.submit(beside)
            try:
                self._next()
            finally:
                work.result()
        for aside in asides:
            if not self.nests:  # the LP knows no more than its rectangles
                self.bound = max(self.bound, aside.bound)
            for patterns in aside.taken():
                self.keeper.offer_patterns(patterns)
        return not self.finished

    def _next(self) -> None:
        self.finished = self.finished or next(self._slices, _END) is _END

    def restart(self, patterns: Sequence[Pattern]) -> None:
        """Go on from this whole plan, whatever was found before."""
        self.keeper.restart(patterns)

    # --------------------------------------------------------------- schedule

    def _schedule(self) -> Iterator[None]:
        """All slices: for the cost until it is proven, then a few for the largest offcut, then for easy cutting."""
        for _ in self._for_cost():
            yield
            if self.proven:
                break
        for _ in range(self.params.polish_slices):
            self._recreate.polish()
            yield
        yield from self._easing(list(self.instance.demand), list(range(len(self.instance.sheets))))

    def _for_cost(self) -> Iterator[None]:
        """The fixed order of slices; yields after each."""
        p = self.params
        full = list(self.instance.demand)
        everything = list(range(len(self.instance.sheets)))
        plentiful = [k for k in everything if self.instance.sheets[k].piece.never_runs_out(sum(full))]
        many = sum(1 for d in full if d) > p.many_types
        if self.instance.grouped:
            yield from self._group_starts(full, everything)
        if many:
            yield from self._many(full, everything)
        else:
            yield from self._fill(full, everything, p.fill_exponents[0], 3, p.fill_width)
            for exponent in p.fill_exponents if len(everything) > 1 else ():
                for frames in (1, 2):
                    yield from self._fill(full, everything, exponent, frames, p.fill_width)
        if len(everything) > 1:
            for k in plentiful:
                yield from self._fill(full, [k], p.fill_exponents[0], 3, p.fill_width)
        filled = self.counter.nodes
        whole = self._whole_orders(plentiful)
        for _ in range(len(p.guides) * len(plentiful)):
            next(whole, None)
            yield
        work = [whole, self._repacking(), self._filling(full, everything)]
        shares, spent = (
            [p.whole_share, p.repack_share, p.fill_share],
            [self.counter.nodes - filled, 0, filled],
        )
        more = [(self._easing(full, everything), p.ease_share, filled)] if not many else []
        more += [(self._nesting(full), p.nest_share, 0)] if self.nests else []
        for engine, share, begun in more:
            work.append(engine)
            shares.append(share)
            spent.append(begun)
        while True:
            # whichever is furthest behind its share of the nodes
            turn = min(range(len(work)), key=lambda i: (spent[i] / shares[i], i))
            before = self.counter.nodes
            if next(work[turn], _END) is _END:
                del work[turn], shares[turn], spent[turn]
                continue
            spent[turn] += max(1, self.counter.nodes - before)
            self._aside_due = True
            yield

    def _group_starts(self, full: Sequence[int], sheets: Sequence[int]) -> Iterator[None]:
        """Plans in which every panel has a blank of its own, then plans of the partition into groups.

        The first are what the result can never be worse than.
        """
        p = self.params
        own = Runner(self.instance.without_groups(), self.counter)
        for exponent in p.fill_exponents:
            yield from self._fill(full, sheets, exponent, 3, p.fill_width, runner=own)
        parted = bundled(self.instance, full)
        if parted is not None:
            runner = Runner(parted.instance, self.counter)
            for exponent in p.fill_exponents:
                yield from self._fill(
                    parted.instance.demand, sheets, exponent, 3, p.fill_width, runner=runner, parted=parted
                )

    def _nesting(self, demand: Sequence[int]) -> Iterator[None]:
        """Polygons in free regions (see `nested`)."""
        engine = Nested(self.runner, demand, self.real, self._seed)
        done = 0
        for found in engine.plans():
            self.counter.nodes += (engine.steps - done) * NODES_A_NEST_STEP + 1
            done = engine.steps
            self.keeper.offer_patterns(found)
            yield

    def _whole_orders(self, plentiful: Sequence[int]) -> Iterator[None]:
        """Beams over the whole order, guide after guide, wider every round."""
        p = self.params
        count = sum(self.instance.demand)
        width = float(p.first_width)
        if count > p.whole_limit:
            return
        while width * count < p.widest:
            for guide in range(len(p.guides)):
                for k in plentiful:
                    before = self.counter.nodes
                    self._whole(k, guide, int(width))
                    if self.counter.nodes > before:  # else there was nothing to aim for
                        yield
            width *= p.growth

    def _repacking(self) -> Iterator[None]:
        """Ruin and recreate for the cost, and now and then for the largest offcut."""
        p = self.params
        mixed = len(self.instance.sheets) > 1
        turn = 0
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
            self._recreate.polish()
            yield

    def _easing(self, demand: Sequence[int], sheets: Sequence[int]) -> Iterator[None]:
        """Fills with few levels: of plans of equal cost the keeper keeps those that are easy to cut."""
        if len(self.keeper.best) < 2:
            return
        for levels, frames, exponent, width in easy_ways(self.instance.levels, self.params.ease_fills):
            yield from self._fill(demand, sheets, exponent, frames, width, levels=levels)

    def _filling(self, demand: Sequence[int], sheets: Sequence[int]) -> Iterator[None]:
        """Fills sheet by sheet with values drawn at random."""
        p = self.params
        while True:
            noise = 0.02 + 0.04 * float(self.rng.random())
            exponent = float(self.rng.choice(np.array(p.fill_exponents)))
            frames = int(self.rng.integers(1, 4))
            yield from self._fill(demand, sheets, exponent, frames, p.fill_width, noise)

    # ---------------------------------------------------------------- engines

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
        levels: int | None = None,
        runner: Runner | None = None,
        parted: Bundled | None = None,
    ) -> Iterator[None]:
        """Fill sheet by sheet; a slice is some sheets, the first plan of all is one slice.

        Another `runner` is one of the same rectangles, or of those of `parted`.
        """
        work = filling(
            runner or self.runner,
            demand,
            sheets,
            exponent=exponent,
            frames=frames,
            width=width,
            noise=noise,
            rng=self.rng,
            types=types,
            levels=levels,
        )
        done = 0
        while True:
            try:
                next(work)
            except StopIteration as end:
                found = end.value
                self.keeper.offer_patterns(parted.patterns(found) if parted and found is not None else found)
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
