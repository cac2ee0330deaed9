"""Ruin and recreate over sheets: free a few of them and place their panels anew."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .flawed import needs_room
from .free_refill import MOST_SHEETS, may_be_free, place_free
from .keeper import Keeper, Taken
from .params import Params
from .pattern import Pattern
from .runner import Runner
from .sequential import fill_all


class Recreate:
    """Changes the current plan of a keeper.

    Parameters
    ----------
    keeper, runner, params, rng
        Of the search.
    """

    def __init__(self, keeper: Keeper, runner: Runner, params: Params, rng: np.random.Generator) -> None:
        self.keeper, self.runner, self.params, self.rng = keeper, runner, params, rng
        self.instance = keeper.instance

    def _chosen(self, plan: Sequence[Taken], count: int, by_waste: bool) -> list[int]:
        """Indexes of sheets to free: often the emptiest, the others at random."""
        rng = self.rng
        waste = np.array([1.0 - t.area / self.keeper.room(t.pattern) for t in plan]) + 1e-3
        chosen: list[int] = []
        if rng.random() < 0.7:
            chosen.append(int(np.argmax(waste)))
        left = [i for i in range(len(plan)) if i not in chosen]
        while len(chosen) < count:
            weight = waste[left] if by_waste else np.ones(len(left))
            # as `rng.choice` draws, without its checks
            upto = (weight / weight.sum()).cumsum()
            chosen.append(left.pop(int((upto / upto[-1]).searchsorted(rng.random(), side="right"))))
        return chosen

    def repack(self, most: int, turn: int) -> None:
        """Free a few sheets and place their panels by one beam, on cheaper sheets or at least fuller."""
        plan = self.keeper.current
        if not plan:
            return
        count = min(len(plan), int(self.rng.integers(2, most + 1)))
        chosen = self._chosen(plan, count, bool(turn % 2))
        freed = [plan[i] for i in chosen]
        target = self._target(freed, [t for i, t in enumerate(plan) if i not in chosen])
        cheaper = sum(self.keeper.price(s) for s in target) < self.keeper.cost_of(freed)
        free = cheaper and count <= MOST_SHEETS and turn % 2 == 1 and may_be_free(self.instance)
        free = free and not any(needs_room(self.instance, k) for k in target)
        new = (self._place_free if free else self.place_anew)(freed, target)
        if new is not None:
            self.keeper.replace(chosen, new)

    def refill(self, turn: int) -> None:
        """Free one to six sheets of any size and fill again sheet by sheet, over all sizes or some."""
        plan, rng, inst = self.keeper.current, self.rng, self.instance
        if not plan:
            return
        count = min(len(plan), int(rng.integers(1, 7)))
        chosen = self._chosen(plan, count, bool(turn % 2))
        freed = [plan[i] for i in chosen]
        left: dict[int, int | None] = {
            k: (None if s.piece.buyable else s.piece.on_hand) for k, s in enumerate(inst.sheets)
        }
        kept = set(chosen)
        for i, t in enumerate(plan):
            have = left[t.pattern.sheet]
            if i not in kept and have is not None:
                left[t.pattern.sheet] = have - 1
        sizes = [k for k, n in left.items() if n is None or n > 0]
        if len(sizes) > 1 and rng.random() < 0.6:
            most = int(rng.integers(1, len(sizes) + 1))
            sizes = sorted(int(k) for k in rng.choice(np.array(sizes), most, replace=False))
        found = fill_all(
            self.runner,
            self._demand(freed),
            sizes,
            exponent=0.95 + 0.2 * float(rng.random()),
            frames=3 if rng.random() < 0.5 else int(rng.integers(1, 3)),
            width=int(rng.choice(np.array([10, 20, 40]))),
            noise=0.06 * float(rng.random()),
            rng=rng,
            left=left,
        )
        if found is not None:
            self.keeper.replace(chosen, found)

    def _demand(self, freed: Sequence[Taken]) -> list[int]:
        demand = [0] * len(self.instance.demand)
        for t in freed:
            for kind, count in t.uses:
                demand[kind] += count
        return demand

    def place_anew(self, freed: Sequence[Taken], target: Sequence[int]) -> list[Pattern] | None:
        """The panels of the freed sheets on the sheets of `target`, by a beam drawn at random."""
        p, rng = self.params, self.rng
        lean, exponent = p.guides[int(rng.integers(len(p.guides)))]
        width = p.repack_widths[int(rng.integers(len(p.repack_widths)))]
        return self.runner.run(
            self.runner.part(self._demand(freed)),
            target,
            value=self.runner.value(exponent),
            lean=lean,
            width=width,
            levels=self.fewer_levels(),
            frames=3 if rng.random() < 0.6 else int(rng.integers(1, 3)),
        )

    def _place_free(self, freed: Sequence[Taken], target: Sequence[int]) -> list[Pattern] | None:
        """The same without a limit of levels."""
        return place_free(
            self.runner, self._demand(freed), target, effort=self.params.free_nodes, rng=self.rng
        )

    def fewer_levels(self) -> int | None:
        """Three levels in most calls where four are allowed: less choice, more depth."""
        return 3 if self.instance.levels == 4 and self.rng.random() < 2 / 3 else None

    def polish(self) -> None:
        """At the same cost, try for a larger offcut on the sheet that leaves most and a few others."""
        plan, rng = self.keeper.best, self.rng
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
            new = self.place_anew(freed, [*before, sheets[0]])
            if new is not None:
                taken = set(chosen)
                kept = [t for i, t in enumerate(plan) if i not in taken]
                self.keeper.offer(kept + [self.keeper.taken(q) for q in new])
                plan = self.keeper.best

    # --------------------------------------------------------- what to try for

    def _target(self, freed: Sequence[Taken], others: Sequence[Taken]) -> list[int]:
        """Sheets to try for the panels of the freed ones: cheaper where the area allows, else the same."""
        area = sum(t.area for t in freed)
        sheets = [t.pattern.sheet for t in freed]
        rng, stock = self.rng, self.instance.sheets
        used = [0] * len(stock)
        for t in others:
            used[t.pattern.sheet] += 1
        options = [s for s in range(len(used)) if stock[s].piece.buyable or stock[s].piece.on_hand > used[s]]
        if len(options) == 1:
            room = stock[options[0]].area
            fewer = len(sheets) - 1
            if fewer * room >= area and rng.random() < 0.4:
                return [options[0]] * fewer
            return [options[0]] * len(sheets)
        cost = sum(self.keeper.price(s) for s in sheets)
        for _ in range(8):
            trial = self._cheaper(sheets, area, options, used)
            if trial is not None and sum(self.keeper.price(s) for s in trial) < cost:
                return [trial[i] for i in rng.permutation(len(trial))]
        return [sheets[i] for i in rng.permutation(len(sheets))]

    def _cheaper(
        self, sheets: Sequence[int], area: int, options: Sequence[int], used: Sequence[int]
    ) -> list[int] | None:
        """The sheets with one to three of them changed for others drawn at random that hold the area."""
        rng, stock = self.rng, self.instance.sheets
        trial, count = list(sheets), list(used)
        for _ in range(int(rng.integers(1, min(len(trial), 3) + 1))):
            trial.pop(int(rng.integers(len(trial))))
        for s in trial:
            count[s] += 1
        room = sum(stock[s].area for s in trial)
        while room < area:
            free = [s for s in options if stock[s].piece.buyable or count[s] < stock[s].piece.on_hand]
            if not free:
                return None
            s = free[int(rng.integers(len(free)))]
            count[s] += 1
            trial.append(s)
            room += stock[s].area
        return trial
