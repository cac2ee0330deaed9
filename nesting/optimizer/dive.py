"""Diving: fix the sheets that the LP likes best, one after another, over a shared pool of patterns.

Each step clips the pool to the panels still wanted, solves the LP over it, prices a few more patterns
for that rest, and fixes a sheet (restricted diving; Sadykov and others 2019). What is nearly done is
left to sheet-by-sheet filling. All patterns stay in the pool, so that later dives start from more.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..lp.generation import Generation
from ..lp.master import Column, Master
from ..lp.pricing import Priced
from .limits import obeys
from .pattern import Pattern
from .pool import Pool
from .priced import clipped, to_pattern
from .runner import Runner
from .sequential import fill_all

KEPT = 500
"""Columns of one LP in a dive."""
TAIL = 1.3
"""Largest sheets of area below which filling takes over."""
SURE = 0.97
BEAM = 30
BEAMS = (20, 60, 150)
STEP_NODES = 5000
"""Nodes of the tree search that take about as long as setting up the LP of a step."""
ROUNDS = 16
RETURNS = 12
"""Times that a dive goes back to another way on."""
TRIALS = 5
WAYS = 2
"""Columns tried for the next sheet, and how many of them a dive may come back to."""
LAST = range(1, 5)
"""Sheets of one size left at which whole-order beams try to end the dive."""
LAST_BEAM = 120
GUIDES = ((0.1, 1.0), (0.05, 1.2), (0.1, 1.5), (0.03, 1.0))
"""Leans and exponents of these beams."""
ENOUGH = 3e-4
"""Relative fall of the LP below which a round of pricing counts as idle."""


@dataclass(slots=True)
class _State:
    """A state of a dive: what is left to place, and with what; what is fixed; the ways on from here."""

    rest: tuple[int, ...]
    left: dict[int, int | None]
    fixed: tuple[Pattern, ...]
    cost: int
    ways: list[list[tuple[Pattern, int]]]


class Diver:
    """Dives of one instance.

    Parameters
    ----------
    runner
        The beam, for patterns of a part of the demand.
    lp
        The LP at the root; its columns feed the pool where the grid is exact.
    rng
        The search's generator.
    """

    def __init__(self, runner: Runner, lp: Generation, rng: np.random.Generator) -> None:
        self.runner, self.lp, self.rng = runner, lp, rng
        self.instance = runner.instance
        self.pool = Pool(runner.instance)
        self._taken = 0
        self._frames = {(f.sheet, f.frame): f for f in lp.grid.frames}

    def sheets(self, demand: Sequence[int], sheets: Sequence[int]) -> float:
        """The area of the demand in largest sheets."""
        area = sum(self.instance.type_area[t] * n for t, n in enumerate(demand))
        return area / max(self.instance.sheets[k].area for k in sheets)

    def feed(self, patterns: Sequence[Pattern]) -> None:
        """Patterns found elsewhere."""
        for p in patterns:
            self.pool.add(p, dict(p.uses(self.instance)))

    def _feed_columns(self) -> None:
        if not self.lp.grid.exact:
            return
        for priced in list(self.lp.patterns.values())[self._taken :]:
            pattern = self.pattern_of(priced)
            if pattern is not None:
                self.pool.add(pattern, dict(pattern.uses(self.instance)))
        self._taken = len(self.lp.patterns)

    def pattern_of(self, priced: Priced) -> Pattern | None:
        """A priced pattern as one that can be cut; None where the rules forbid it."""
        pattern = to_pattern(priced, self._frames[priced.sheet, priced.frame], self.instance.break_out)
        return pattern if pattern is not None and obeys(pattern, self.instance) else None

    def dive(
        self, demand: Sequence[int], counts: dict[int, int | None], most: int
    ) -> Iterator[list[Pattern] | None]:
        """One dive; yields None after every step, and at last the plan, where one was found.

        Parameters
        ----------
        demand
            Panels of each type to place.
        counts
            Stock that may be taken: index and number (None: no end).
        most
            A plan must cost less than this. [1/10,000 of the currency]
        """
        inst = self.instance
        self._feed_columns()
        goal = self._goal(counts, most)
        dearest = max(inst.sheets[k].area for k in counts)
        open_: list[_State] = []
        returns = RETURNS
        state: _State | None = _State(tuple(demand), dict(counts), (), 0, [])
        while state is not None:
            area = sum(inst.type_area[t] * n for t, n in enumerate(state.rest))
            close = self._close(state, goal)
            if close is not None:
                yield [*state.fixed, *close]
                return
            if area <= TAIL * dearest:
                tail = self._tail(state.rest, state.left, goal + 1 - state.cost)
                if tail is not None:
                    yield [*state.fixed, *tail]
                    return
            else:
                step = _Step(self, state.rest, state.left)
                step.price()
                yield None
                if state.cost + step.value <= goal * (1 + 1e-9) and step.patterns:
                    state.ways = step.ways()
                    open_.append(state)
            # the next way from here; where there is none, or it came to nothing, from the last state that has one
            if not open_ or open_[-1] is not state:
                returns -= 1
            while open_ and not open_[-1].ways:
                open_.pop()
            state = self._after(open_[-1]) if open_ and returns >= 0 else None
            yield None

    def _goal(self, counts: dict[int, int | None], most: int) -> int:
        """The most that a plan below `most` can cost."""
        costs = {self.instance.sheets[k].piece.cost for k in counts}
        if len(costs) > 1 or 0 in costs:
            return most - 1
        (cost,) = costs
        return (most - 1) // cost * cost

    def _after(self, state: _State) -> _State:
        """The state when the next way is fixed."""
        rest, left, cost = list(state.rest), dict(state.left), state.cost
        fixed = list(state.fixed)
        for pattern, copies in state.ways.pop(0):
            for t, n in pattern.uses(self.instance).items():
                rest[t] -= n * copies
            have = left[pattern.sheet]
            left[pattern.sheet] = None if have is None else have - copies
            cost += copies * self.instance.sheets[pattern.sheet].piece.cost
            fixed += [pattern] * copies
        return _State(tuple(rest), left, tuple(fixed), cost, [])

    def _close(self, state: _State, goal: int) -> list[Pattern] | None:
        """The rest on the last few sheets that the goal leaves, by beams over all of it."""
        if not any(state.rest):
            return []
        (size, number), *others = state.left.items()
        cost = self.instance.sheets[size].piece.cost
        if others or number is not None or not cost or (goal - state.cost) // cost not in LAST:
            return None
        part = self.runner.part(state.rest)
        sheets = [size] * ((goal - state.cost) // cost)
        if part.area > len(sheets) * self.instance.sheets[size].area:
            return None
        for lean, exponent in GUIDES:
            found = self.runner.run(
                part, sheets, value=self.runner.value(exponent), lean=lean, width=LAST_BEAM
            )
            if found is not None:
                return found
        return None

    def _tail(self, rest: Sequence[int], left: dict[int, int | None], most: int) -> list[Pattern] | None:
        """The rest by filling, over each size alone and all of them."""
        if not any(rest):
            return []
        inst = self.instance
        best: tuple[int, list[Pattern]] | None = None
        sizes = [k for k, n in left.items() if n is None or n > 0]
        for sheets in [sizes, *([k] for k in sizes if len(sizes) > 1)]:
            for exponent in (1.0, 1.1):
                found = fill_all(
                    self.runner, rest, sheets, exponent=exponent, frames=3, width=BEAM, noise=0.02,
                    rng=self.rng, left=left,
                )  # fmt: skip
                if found is None:
                    continue
                cost = sum(inst.sheets[p.sheet].piece.cost for p in found)
                if cost < most and (best is None or cost < best[0]):
                    best = (cost, found)
        return None if best is None else best[1]


class _Step:
    """One LP over the pool clipped to the rest."""

    def __init__(self, diver: Diver, rest: Sequence[int], left: dict[int, int | None]) -> None:
        self.diver, self.rest, self.left = diver, rest, left
        inst = diver.instance
        self.types = [t for t, n in enumerate(rest) if n]
        self.at = {t: i for i, t in enumerate(self.types)}
        self.offers = [k for k, n in left.items() if n is None or n > 0]
        costs = [inst.sheets[k].piece.cost for k in self.offers]
        dearest = max(c / max(1, inst.sheets[k].area) for c, k in zip(costs, self.offers, strict=True))
        self.master = Master(
            [rest[t] for t in self.types],
            costs,
            [left[k] for k in self.offers],
            [2.0 * inst.type_area[t] * dearest for t in self.types],
        )
        self.where = {k: i for i, k in enumerate(self.offers)}
        self.patterns: list[Pattern] = []
        self.value = 0.0
        self._take_pool()

    def _take_pool(self) -> None:
        """The columns of the pool that are worth most for the rest, clipped to it."""
        pool = self.diver.pool
        chosen = pool.best(self.rest, self.where, KEPT)
        simple = [i for i in chosen if pool.simple[i]]
        for i, uses in zip(simple, pool.wanted(simple, self.rest), strict=True):
            self._column(pool.patterns[i], uses)
        for i in chosen:
            if not pool.simple[i]:
                self._add(pool.patterns[i], pool.uses[i])

    def _add(self, pattern: Pattern, uses: Mapping[int, int]) -> None:
        if any(n > self.rest[t] for t, n in uses.items()):
            short = clipped(pattern, self.rest, self.diver.instance)
            if short is None or not obeys(short, self.diver.instance):
                return
            pattern, uses = short, short.uses(self.diver.instance)
        self._column(pattern, uses)

    def _column(self, pattern: Pattern, uses: Mapping[int, int]) -> None:
        """A column that yields so much of the rest, from a pattern that may still yield more."""
        column = Column(
            self.where[pattern.sheet], tuple(sorted((self.at[t], n) for t, n in uses.items() if t in self.at))
        )
        if column.uses and self.master.add(column):
            self.patterns.append(pattern)

    def _pattern(self, number: int) -> Pattern:
        """The pattern of a column, clipped to the rest."""
        pattern, inst = self.patterns[number], self.diver.instance
        if all(n <= self.rest[t] for t, n in pattern.uses(inst).items()):
            return pattern
        short = clipped(pattern, self.rest, inst)
        if short is None:
            raise ArithmeticError("a simple pattern can be clipped to anything")
        return short

    def price(self) -> None:
        """Rounds of beams at the LP's prices over all sizes, while they help."""
        diver, inst = self.diver, self.diver.instance
        runner = diver.runner
        part = runner.part(self.rest)
        self.value = self.master.solve()
        runner.counter.nodes += STEP_NODES
        idle = 0
        for turn in range(ROUNDS):
            before = self.value
            prices = self.master.prices()
            worth = np.array(
                [sum(prices[self.at[t]] * n for t, n in r.uses if t in self.at) for r in inst.rects]
            )
            worth = np.maximum(worth, 1e-9) / max(1e-9, float(worth.max()))
            if turn >= 2:
                worth *= 1.0 + 0.05 * (2.0 * diver.rng.random(len(worth)) - 1.0)
            if turn == 0:
                self._staged(prices)
            for k in self.offers:
                frames = 1 + turn % 2 if inst.sheets[k].width != inst.sheets[k].height else 3
                lean = (0.1, 0.03)[int(diver.rng.integers(2))]
                width = BEAMS[int(diver.rng.integers(len(BEAMS)))]
                found = runner.run(part, [k], value=worth, lean=lean, width=width, frames=frames, fill=True)
                for p in found or ():
                    uses = dict(p.uses(inst))
                    diver.pool.add(p, uses)
                    self._add(p, uses)
            self.value = self.master.solve()
            idle = 0 if self.value < before * (1 - ENOUGH) else idle + 1
            if idle == 2:
                break

    def _staged(self, prices: Sequence[float]) -> None:
        """Patterns of the staged pricing, clipped to the rest."""
        diver, inst = self.diver, self.diver.instance
        lp = diver.lp
        if not lp.grid.exact:
            return
        full = [prices[self.at[t]] if t in self.at else 0.0 for t in lp.types]
        for k in self.offers:
            if k not in lp.sheets:
                continue
            found, work = lp.sampled(full, k)
            diver.runner.counter.nodes += work
            for priced in found:
                pattern = diver.pattern_of(priced)
                if pattern is not None:
                    self._add(pattern, dict(pattern.uses(inst)))

    def ways(self) -> list[list[tuple[Pattern, int]]]:
        """What to fix: whole parts of large shares, else the sheet after which the LP rises least; then others."""
        shares = self.master.shares()
        order = sorted(range(len(shares)), key=lambda i: (-round(shares[i] * 10**6), i))
        sure: list[tuple[Pattern, int]] = []
        rest = list(self.rest)
        room = dict(self.left)
        for i in order:
            copies = int(shares[i] + 1 - SURE)
            have = room[self.patterns[i].sheet]
            if copies < 1 or (have is not None and have < copies):
                continue
            pattern = self._pattern(i)
            uses = pattern.uses(self.diver.instance)
            while copies and any(rest[t] < n * copies for t, n in uses.items()):
                copies -= 1
            if copies:
                for t, n in uses.items():
                    rest[t] -= n * copies
                room[pattern.sheet] = None if have is None else have - copies
                sure.append((pattern, copies))
        single = [[(self._pattern(i), 1)] for i in self._strong(order[:TRIALS], shares)]
        return [sure, *single[:1]] if sure else single[:WAYS]

    def _strong(self, trials: Sequence[int], shares: Sequence[float]) -> list[int]:
        """These columns by how little the LP rises when one is fixed."""
        inst = self.diver.instance
        found: list[tuple[int, int, int]] = []
        for place, i in enumerate(trials):
            if shares[i] <= 0 and found:
                continue
            uses = self.master.columns[i].uses
            changed = {k: max(0, self.rest[self.types[k]] - n) for k, n in uses}
            self.master.require(changed)
            value = self.master.solve() + inst.sheets[self.patterns[i].sheet].piece.cost
            self.master.require({k: self.rest[self.types[k]] for k, _ in uses})
            found.append((round(value), place, i))
        return [i for _, _, i in sorted(found)]
