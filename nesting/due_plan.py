"""Holds a plan to its due days: which plans count, judged by lateness first and by cost then.

Every glass is planned by its search, which is refused what makes more panels late. Where its cheapest
plan is late, the glass is planned due day by due day as well (`due_stages`), and the search goes on from
the best of these plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from functools import partial

from .due_days import Lateness
from .due_judge import Judge, due_by, has_an_order
from .due_stages import alone, few_due_days, stages
from .job import Variant
from .optimizer.keeper import Key as FoundKey
from .optimizer.params import Params
from .optimizer.pattern import Pattern

SEARCHED = 2
"""Slices of the search of a glass for one of its plans by due days, once the first of these is there."""

Key = tuple[Lateness, int]


@dataclass(slots=True)
class _Glass:
    """How far a glass is.

    `base` is its search, `variant` and `patterns` are the plan that counts and `key` how good that is;
    `spared` is the cost of the cheapest plan that was refused. `work` is what is done beside the search,
    and `must` whether its next slice is done whatever it costs.
    """

    base: Variant
    variant: Variant
    patterns: list[Pattern]
    key: Key = (Lateness(), 0)
    seen: FoundKey | None = None
    work: Iterator[bool] | None = None
    must: bool = False
    turn: int = 0
    found: list[Variant] = field(default_factory=list)
    refused: bool = False
    spared: int | None = None
    staged: bool = False


class DuePlan:
    """Which sheets of every glass count so far.

    Parameters
    ----------
    judge
        Of all glasses, with their first plans.
    seed, params
        Of the searches.
    """

    def __init__(self, judge: Judge, seed: int, params: Params | None) -> None:
        self.judge, self.seed, self.params = judge, seed, params
        self.jobs = judge.jobs
        self._glasses: list[_Glass] = []
        for job in self.jobs:
            best = job.best
            job.variants = [best]
            self._glasses.append(_Glass(base=best, variant=best, patterns=best.patterns))
        for j, (job, glass) in enumerate(zip(self.jobs, self._glasses, strict=True)):
            search = glass.base.search
            glass.key = self._key(j, glass.patterns)
            if search is not None:
                glass.seen = search.keeper.best_key
                if judge.dated or has_an_order(job.instance):
                    search.keeper.admits = partial(self._admits, j)
            if judge.dated:
                glass.refused = glass.key[0].panels > 0
            elif has_an_order(job.instance):
                glass.work, glass.must = self._limits(j), True
            self.settle(j)

    # ---------------------------------------------------------------- judging

    @property
    def patterns(self) -> list[list[Pattern]]:
        """The sheets of each glass that count so far."""
        return [glass.patterns for glass in self._glasses]

    @property
    def lateness(self) -> Lateness:
        """How late they are, all glasses together."""
        counted = self._glasses[:1] if self.judge.dated else self._glasses
        return sum((glass.key[0] for glass in counted), Lateness())

    def _late(self, j: int, patterns: Sequence[Pattern]) -> Lateness:
        """How late a plan of one glass is; where all share the days, with the plans of the others."""
        if self.judge.dated:
            return self.judge.lateness({**dict(enumerate(self.patterns)), j: patterns})
        return self.judge.lateness({j: patterns})

    def _cost(self, j: int, patterns: Sequence[Pattern]) -> int:
        return sum(self.jobs[j].instance.sheets[p.sheet].piece.cost for p in patterns)

    def _key(self, j: int, patterns: Sequence[Pattern]) -> Key:
        return self._late(j, patterns), self._cost(j, patterns)

    def _admits(self, j: int, patterns: list[Pattern]) -> bool:
        """Whether a plan of the search of a glass is no later than the one that counts."""
        glass = self._glasses[j]
        late, cost = self._key(j, [*glass.base.settled, *patterns])
        if late <= glass.key[0]:
            return True
        glass.refused = True
        glass.spared = cost if glass.spared is None else min(glass.spared, cost)
        return False

    def _take(self, j: int, patterns: list[Pattern], late: Lateness) -> None:
        """Let a plan count; where all share the days, what one glass does tells on the lateness of all."""
        self._glasses[j].patterns = patterns
        for i, glass in enumerate(self._glasses):
            if i == j or self.judge.dated:
                glass.key = late, self._cost(i, glass.patterns)

    def _offer(self, j: int, variant: Variant) -> bool:
        """Take the best plan of a variant if it is no later, and as late no dearer, than what counts so far."""
        glass, patterns = self._glasses[j], variant.patterns
        key = self._key(j, patterns)
        if key > glass.key:
            return False
        glass.variant = variant
        self._take(j, patterns, key[0])
        return True

    def exchange(self, j: int, old: Sequence[Pattern], new: Sequence[Pattern]) -> bool:
        """Put one pattern each in the place of one sheet of these patterns, where that is less late."""
        glass = self._glasses[j]
        patterns = replaced(glass.patterns, old, new)
        key = self._key(j, patterns)
        if key >= glass.key:
            return False
        self._take(j, patterns, key[0])
        return True

    def take(self, j: int, patterns: list[Pattern]) -> bool:
        """Let another plan of a glass count, if it is no later and no dearer."""
        key = self._key(j, patterns)
        if key > self._glasses[j].key:
            return False
        self._take(j, patterns, key[0])
        return True

    def no_later(self, j: int, patterns: list[Pattern]) -> bool:
        """Whether `take` would take a plan."""
        return self._key(j, patterns) <= self._glasses[j].key

    def final(self, j: int) -> list[Pattern]:
        """The sheets of a glass that count; where stock ran out, with all that it can hold, if no more is late."""
        glass = self._glasses[j]
        stocked = glass.variant.stocked(glass.patterns)
        return stocked if self._late(j, stocked) <= self._late(j, glass.patterns) else glass.patterns

    def spared(self, j: int) -> int:
        """What the cheapest plan that was refused for being late would have saved. [1/10,000 of the currency]"""
        glass = self._glasses[j]
        return 0 if glass.spared is None else max(0, glass.key[1] - glass.spared)

    # ---------------------------------------------------------------- search

    def done(self, j: int) -> bool:
        """Whether nothing is left to try for a glass, or its steps are spent."""
        glass, job = self._glasses[j], self.jobs[j]
        return job.done if glass.work is None else job.out_of_budget and not glass.must

    def advance(self, j: int, executor: Executor | None = None) -> None:
        """One slice for a glass, which changes nothing for the others."""
        glass, job = self._glasses[j], self.jobs[j]
        glass.turn += 1
        waits = not glass.must and glass.turn % (SEARCHED + 1) and not job.done
        if glass.work is None or waits:
            job.advance(executor)
            return
        must = next(glass.work, None)
        glass.must = must is True
        if must is None:
            glass.work = None

    def settle(self, j: int) -> None:
        """Judge what a glass has found since the last time, and see what is to be done for it next."""
        glass = self._glasses[j]
        search, astray = glass.base.search, False
        if search is not None and search.keeper.best_key != glass.seen:
            glass.seen = search.keeper.best_key
            astray = not self._offer(j, glass.base)
        for variant in glass.found:
            astray = self._offer(j, variant) or astray
        glass.found.clear()
        if astray:
            self._go_on(j)
        if glass.refused and not glass.staged and glass.work is None:
            glass.staged = glass.must = True
            glass.work = self._stages(j)

    def _limits(self, j: int) -> Iterator[bool]:
        """How many sheets the panels due by a day take alone; then the first plan is judged by that."""
        job, glass = self.jobs[j], self._glasses[j]
        found = []
        for day in few_due_days(job.instance):
            wanted, number = due_by(job.instance, day), len(glass.patterns)
            if wanted != list(job.instance.demand):
                number = yield from alone(job, wanted, self.seed, self.params)
            found.append((day, number))
        # sheets that hold what is due later hold what is due before, too
        least, limits = len(glass.patterns), {}
        for day, number in reversed(found):
            least = min(least, number)
            limits[day] = least + 1
        self.judge.limit(j, dict(sorted(limits.items())))
        glass.key = self._key(j, glass.patterns)
        glass.refused = glass.key[0].panels > 0

    def _stages(self, j: int) -> Iterator[bool]:
        glass = self._glasses[j]
        return stages(self.jobs[j], glass.base.settled, glass.found.append, self.seed, self.params)

    def _go_on(self, j: int) -> None:
        """Let the search of a glass go on from the plan that counts."""
        glass = self._glasses[j]
        if glass.base.search is not None:
            glass.base.search.restart(glass.patterns[len(glass.base.settled) :])
            glass.seen = glass.base.search.keeper.best_key


def replaced(patterns: Sequence[Pattern], old: Sequence[Pattern], new: Sequence[Pattern]) -> list[Pattern]:
    """The patterns with one of the new in the place of each of the old; equal sheets may be one object."""
    out = list(patterns)
    for before, after in zip(old, new, strict=True):
        out[next(i for i, p in enumerate(out) if p is before)] = after
    return out
