"""The anytime search for one glass: fills, whole-order beams, then ruin and recreate over sheets.

Every slice is one or a few kernel calls from a fixed schedule; randomness comes from one seeded
generator and budgets are counted in nodes, so that a seed and an effort give the same plan again.
Sheets cost what they cost; at equal cost the plan with the largest single offcut is kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .free_refill import MOST_SHEETS, may_be_free, place_free
from .instance import Instance
from .params import NODES_A_STEP, Params
from .pattern import Pattern, leftovers, other_frame
from .runner import Counter, Runner
from .sequential import fill_all


@dataclass(frozen=True, slots=True)
class Taken:
    """One sheet of a plan in the search: its pattern, what it yields and what is left of it."""

    pattern: Pattern
    uses: tuple[tuple[int, int], ...]
    area: int
    keeps: tuple[int, ...]


Key = tuple[int, int, int]
_END = object()


class Search:
    """The search of one instance.

    Parameters
    ----------
    instance
        What to cut.
    bound
        A valid lower bound on the cost; the search is over when it is met.
        [1/10,000 of the currency]
    seed
        Of the one random generator.
    params
        See `Params`.
    """

    def __init__(
        self, instance: Instance, *, bound: int = 0, seed: int = 0, params: Params | None = None
    ) -> None:
        self.instance = instance
        self.params = params or Params()
        self.bound = bound
        self.counter = Counter()
        self.runner = Runner(instance, self.counter)
        self.rng = np.random.Generator(np.random.PCG64(seed))
        self.best: list[Taken] = []
        self.best_key: Key | None = None
        self.current: list[Taken] = []
        self.finished = False
        self._slices = self._schedule()

    @property
    def steps(self) -> int:
        """Counted search steps so far."""
        return self.counter.nodes // NODES_A_STEP

    @property
    def cost(self) -> int:
        """Cost of the best plan. [1/10,000 of the currency]"""
        return self.best_key[0] if self.best_key else 0

    @property
    def proven(self) -> bool:
        """Whether the best plan costs no more than the bound."""
        return self.best_key is not None and self.best_key[0] <= self.bound

    @property
    def patterns(self) -> list[Pattern]:
        """The best plan, in canonical order: fullest sheets first."""
        order = sorted(
            self.best, key=lambda t: (-t.area * 10**6 // self._room(t.pattern), t.pattern.sheet, t.uses)
        )
        return [t.pattern for t in order]

    def start(self) -> None:
        """Make a first whole plan."""
        next(self._slices)

    def advance(self) -> bool:
        """One more slice; False when there is nothing left to try."""
        self.finished = self.finished or next(self._slices, _END) is _END
        return not self.finished

    # ------------------------------------------------------------------ plans

    def _room(self, pattern: Pattern) -> int:
        return self.instance.sheets[pattern.sheet].area

    def _price(self, sheet: int) -> int:
        return self.instance.sheets[sheet].piece.cost

    def _taken(self, pattern: Pattern) -> Taken:
        keeps = leftovers(pattern, self.instance)
        turned = other_frame(pattern, self.instance)
        if turned is not None:
            other = leftovers(turned, self.instance)
            if other > keeps:
                pattern, keeps = turned, other
        uses = tuple(sorted(pattern.uses(self.instance).items()))
        area = sum(self.runner.type_area[t] * c for t, c in uses)
        return Taken(pattern, uses, area, tuple(keeps))

    def _key(self, plan: Sequence[Taken]) -> Key:
        cost = sum(self._price(t.pattern.sheet) for t in plan)
        keeps = [k for t in plan for k in t.keeps]
        return cost, -max(keeps, default=0), -sum(sorted(keeps, reverse=True)[:6])

    def _fullness(self, plan: Sequence[Taken]) -> float:
        return sum((t.area / self._room(t.pattern)) ** 2 for t in plan)

    def _offer(self, plan: list[Taken]) -> None:
        """Keep a whole plan if it is the best so far."""
        key = self._key(plan)
        if self.best_key is None or key < self.best_key:
            cheaper = self.best_key is None or key[0] < self.best_key[0]
            self.best, self.best_key = plan, key
            if cheaper:
                self.current = plan

    def _offer_patterns(self, patterns: list[Pattern] | None) -> None:
        if patterns is not None:
            self._offer([self._taken(p) for p in patterns])

    # --------------------------------------------------------------- schedule

    def _schedule(self) -> Iterator[None]:
        """All slices: those for the cost until it is proven, then a few more for the largest offcut."""
        for _ in self._for_cost():
            yield
            if self.proven:
                break
        for _ in range(self.params.polish_slices):
            self._polish()
            yield

    def _for_cost(self) -> Iterator[None]:
        """The fixed order of slices; yields after each."""
        p = self.params
        full = list(self.instance.demand)
        everything = list(range(len(self.instance.sheets)))
        plentiful = [k for k in everything if self._plenty(k, full)]
        self._fill(full, everything, p.fill_exponents[0], 3, p.fill_width)
        yield
        for exponent in p.fill_exponents:
            for frames in (1, 2):
                self._fill(full, everything, exponent, frames, p.fill_width)
                yield
        if len(everything) > 1:
            for k in plentiful:
                self._fill(full, [k], p.fill_exponents[0], 3, p.fill_width)
                yield
        count = sum(full)
        width = float(p.first_widths[-1])
        whole = count <= p.whole_limit and bool(plentiful)
        if whole:
            for first in p.first_widths:
                for guide in range(len(p.guides)):
                    for k in plentiful:
                        self._whole(k, guide, first)
                        yield
        turn = 0
        while True:
            for _ in range(24):
                for _ in range(4):
                    self._repack(p.windows[turn % len(p.windows)], turn)
                    turn += 1
                    if self.proven:
                        break
                yield
            self._polish()
            yield
            if whole and width * count < p.widest:
                width *= p.growth
                for guide in range(len(p.guides)):
                    for k in plentiful:
                        self._whole(k, guide, int(width))
                        yield
            noise = 0.02 + 0.04 * float(self.rng.random())
            exponent = float(self.rng.choice(np.array(p.fill_exponents)))
            self._fill(full, everything, exponent, int(self.rng.integers(1, 4)), p.fill_width, noise)
            yield

    def _plenty(self, sheet: int, demand: Sequence[int]) -> bool:
        """Whether this size alone is sure not to run out."""
        piece = self.instance.sheets[sheet].piece
        return not piece.is_offcut and (piece.buyable or piece.on_hand >= sum(demand))

    def _fill(
        self,
        demand: Sequence[int],
        sheets: Sequence[int],
        exponent: float,
        frames: int,
        width: int,
        noise: float = 0.0,
    ) -> None:
        patterns = fill_all(
            self.runner,
            demand,
            sheets,
            exponent=exponent,
            frames=frames,
            width=width,
            noise=noise,
            rng=self.rng,
        )
        self._offer_patterns(patterns)

    def _whole(self, sheet: int, guide: int, width: int) -> None:
        """A beam over the whole order on one stock size, aiming one sheet below the best plan."""
        lean, exponent = self.params.guides[guide]
        price, area = self._price(sheet), self.instance.sheets[sheet].area
        part = self.runner.part(self.instance.demand)
        least = -(-part.area // area)
        target = len(self.best) - 1 if price == 0 else (self.cost - 1) // price
        if target < least:
            return
        target = min(target, sum(self.instance.demand), 2 * least + 8)
        patterns = self.runner.run(
            part,
            [sheet] * target,
            value=self.runner.value(exponent),
            lean=lean,
            width=width,
            levels=self._fewer_levels(2 / 3),
        )
        self._offer_patterns(patterns)

    def _fewer_levels(self, share: float) -> int | None:
        """Three levels in this share of the calls where four are allowed: less choice, more depth."""
        return 3 if self.instance.levels == 4 and self.rng.random() < share else None

    # ---------------------------------------------------- ruin and recreate

    def _repack(self, most: int, turn: int) -> None:
        """Free a few sheets and place their panels anew, cheaper or at least fuller."""
        plan = self.current
        if not plan:
            return
        rng = self.rng
        k = min(len(plan), int(rng.integers(2, most + 1)))
        waste = np.array([1.0 - t.area / self._room(t.pattern) for t in plan]) + 1e-3
        chosen: list[int] = []
        if rng.random() < 0.4:
            chosen.append(int(np.argmax(waste)))
        while len(chosen) < k:
            left = [i for i in range(len(plan)) if i not in chosen]
            weight = waste[left] if turn % 2 else np.ones(len(left))
            chosen.append(left[int(rng.choice(len(left), p=weight / weight.sum()))])
        freed = [plan[i] for i in chosen]
        target = self._target(freed, [t for i, t in enumerate(plan) if i not in chosen])
        old_cost = sum(self._price(t.pattern.sheet) for t in freed)
        cheaper = sum(self._price(s) for s in target) < old_cost
        free = cheaper and k <= MOST_SHEETS and turn % 2 == 1 and may_be_free(self.instance)
        new = (self._place_free if free else self._place_anew)(freed, target)
        if new is None:
            return
        new_cost = sum(self._price(t.pattern.sheet) for t in new)
        if new_cost > old_cost:
            return
        if new_cost == old_cost and self._fullness(new) < self._fullness(freed) - 0.01:
            return
        taken = set(chosen)
        self.current = [t for i, t in enumerate(plan) if i not in taken] + new
        self._offer(self.current)

    def _place_anew(self, freed: Sequence[Taken], target: Sequence[int]) -> list[Taken] | None:
        """The panels of the freed sheets on the sheets of `target`, by a beam drawn at random."""
        demand = [0] * len(self.instance.demand)
        for t in freed:
            for kind, count in t.uses:
                demand[kind] += count
        p, rng = self.params, self.rng
        lean, exponent = p.guides[int(rng.integers(len(p.guides)))]
        width = p.repack_widths[int(rng.integers(len(p.repack_widths)))]
        patterns = self.runner.run(
            self.runner.part(demand),
            target,
            value=self.runner.value(exponent),
            lean=lean,
            width=width,
            levels=self._fewer_levels(2 / 3),
            frames=3 if rng.random() < 0.6 else int(rng.integers(1, 3)),
        )
        return None if patterns is None else [self._taken(q) for q in patterns]

    def _place_free(self, freed: Sequence[Taken], target: Sequence[int]) -> list[Taken] | None:
        """The panels of the freed sheets on the sheets of `target`, without a limit of levels."""
        demand = [0] * len(self.instance.demand)
        for t in freed:
            for kind, count in t.uses:
                demand[kind] += count
        patterns = place_free(self.runner, demand, target, effort=self.params.free_nodes, rng=self.rng)
        return None if patterns is None else [self._taken(q) for q in patterns]

    def _polish(self) -> None:
        """At the same cost, try for a larger offcut on the sheet that leaves most and a few others."""
        plan, rng = self.best, self.rng
        for _ in range(4):
            order = sorted(range(len(plan)), key=lambda i: (-max(plan[i].keeps, default=0), i))
            chosen = order[:1]
            others = order[1:]
            for _ in range(int(rng.integers(0, min(3, len(others)) + 1))):
                chosen.append(others.pop(int(rng.integers(len(others)))))
            freed = [plan[i] for i in chosen]
            # the sheet that leaves most is opened last: the beam ends it as early as it can
            sheets = [t.pattern.sheet for t in freed]
            before = [sheets[1:][i] for i in rng.permutation(len(sheets) - 1)]
            new = self._place_anew(freed, [*before, sheets[0]])
            if new is not None:
                taken = set(chosen)
                self._offer([t for i, t in enumerate(plan) if i not in taken] + new)
                plan = self.best

    def _target(self, freed: Sequence[Taken], others: Sequence[Taken]) -> list[int]:
        """Sheets to try for the panels of the freed ones: cheaper where the area allows, else the same."""
        area = sum(t.area for t in freed)
        sheets = [t.pattern.sheet for t in freed]
        cost = sum(self._price(s) for s in sheets)
        rng = self.rng
        used = [0] * len(self.instance.sheets)
        for t in others:
            used[t.pattern.sheet] += 1
        options = [
            s
            for s in range(len(used))
            if self.instance.sheets[s].piece.buyable or self.instance.sheets[s].piece.on_hand > used[s]
        ]
        if len(options) == 1:
            room = self.instance.sheets[options[0]].area
            fewer = len(sheets) - 1
            if fewer * room >= area and rng.random() < 0.4:
                return [options[0]] * fewer
            return [options[0]] * len(sheets)
        for _ in range(8):
            trial = list(sheets)
            drop = int(rng.integers(1, min(len(trial), 3) + 1))
            for _ in range(drop):
                trial.pop(int(rng.integers(len(trial))))
            count = list(used)
            for s in trial:
                count[s] += 1
            room = sum(self.instance.sheets[s].area for s in trial)
            price = sum(self._price(s) for s in trial)
            while room < area:
                s = options[int(rng.integers(len(options)))]
                piece = self.instance.sheets[s].piece
                if not piece.buyable and count[s] >= piece.on_hand:
                    options_left = [
                        o
                        for o in options
                        if self.instance.sheets[o].piece.buyable
                        or count[o] < self.instance.sheets[o].piece.on_hand
                    ]
                    if not options_left:
                        break
                    continue
                count[s] += 1
                trial.append(s)
                room += self.instance.sheets[s].area
                price += self._price(s)
            if room >= area and price < cost:
                return [trial[i] for i in rng.permutation(len(trial))]
        return [sheets[i] for i in rng.permutation(len(sheets))]
