"""The best set of one, two, three ... sizes: sets are ruled out by the bounds that other sets left behind.

Every exact round of pricing bounds all sets (see `size_pool`), so that few sets need an LP of their own. The set
with the lowest bound is always looked at next; when no set can be cheaper than the best one, it is proved.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from math import comb

from .size_pool import SetValue, SizePool

MOST_SETS = 5_000
"""Sets of one number of sizes that are looked through one by one."""
MOST_VALUED = 20
"""Sets of one number of sizes that are given an LP of their own; where all bounds are close, that proves nothing."""
WIDE = 12
"""Sizes that are combined where all of them would be too many."""
GAP = 2e-3
"""Default of the relative distance of value and bound at which a set counts as known."""
ROUGH = 5e-3
"""The same for the LP over all sizes, which only leaves bounds and patterns behind."""


@dataclass(slots=True)
class Ranking:
    """The sets of one number of sizes that were looked at.

    Parameters
    ----------
    count
        How many sizes.
    found
        Values by set, the best first after `settle`.
    proved
        Whether no set of so many of the sizes combined costs less than the best by more than the gap.
    combined
        The sizes that were combined.
    """

    count: int
    found: dict[tuple[int, ...], SetValue] = field(default_factory=dict)
    proved: bool = False
    combined: tuple[int, ...] = ()

    @property
    def best(self) -> SetValue | None:
        """The cheapest; of equals that with the first sizes."""
        return min(self.found.values(), key=lambda v: (v.value, v.sizes), default=None)

    def sorted(self) -> list[SetValue]:
        """All, the cheapest first."""
        return sorted(self.found.values(), key=lambda v: (v.value, v.sizes))


class BestSets:
    """The search for the best sets; its results grow while `steps` runs.

    Parameters
    ----------
    pool
        Of all sizes on offer.
    most
        Greatest number of sizes.
    known
        Sets that are valued in any case, such as the sizes that are stocked now.
    gap
        Relative distance of value and bound at which a set counts as known.
    """

    def __init__(
        self, pool: SizePool, most: int, known: Sequence[Collection[int]] = (), gap: float = GAP
    ) -> None:
        self.pool, self.gap = pool, gap
        self.most = min(most, len(pool.offers))
        self.known = [tuple(sorted(set(k))) for k in known]
        self.rankings: list[Ranking] = []
        self.values: dict[tuple[int, ...], SetValue] = {}
        self.everything: SetValue | None = None

    def run(self) -> BestSets:
        """Search to the end."""
        for _ in self.steps():
            pass
        return self

    def steps(self) -> Iterator[None]:
        """Search; yields after every round, so that a caller may look at its clock or stop for good."""
        pool = self.pool
        every = tuple(range(len(pool.offers)))
        if pool.left_out(every):
            return
        for value in pool.steps(every, max(ROUGH, self.gap)):
            self.everything = value
            yield
        for sizes in self.known:
            if sizes and not pool.left_out(sizes):
                yield from self._solve(sizes)
        for count in range(1, self.most + 1):
            ranking = Ranking(count)
            self.rankings.append(ranking)
            yield from self._of(ranking)

    def value_of(self, sizes: Collection[int]) -> SetValue | None:
        """What is known of a set."""
        return self.values.get(tuple(sorted(set(sizes))))

    # ---------------------------------------------------------------- one number of sizes

    def _of(self, ranking: Ranking) -> Iterator[None]:
        pool = self.pool
        ranking.combined = self._combined(ranking.count)
        sets = [s for s in combinations(ranking.combined, ranking.count) if not pool.left_out(s)]
        for sizes in sets:
            if sizes in self.values:
                ranking.found[sizes] = self.values[sizes]
        open_ = [s for s in sets if s not in ranking.found]
        # values over the patterns known so far say where the best is likely to be
        first = sorted(open_, key=lambda s: (pool.bound_of(s), s))[: 2 * WIDE]
        if first:
            quick = {s: pool.quick_value(s) for s in first}
            likely = min(first, key=lambda s: (quick[s], s))
            yield from self._rank(ranking, likely)
            open_.remove(likely)
        while open_ and len(ranking.found) < MOST_VALUED:
            best = ranking.best
            lows = {s: float(pool.bound_of(s)) for s in open_}
            sizes = min(open_, key=lambda s: (lows[s], s))
            if best is not None and lows[sizes] >= best.value * (1 - self.gap):
                break
            yield from self._rank(ranking, sizes)
            open_.remove(sizes)
        best = ranking.best
        ranking.proved = best is not None and all(
            float(pool.bound_of(s)) >= best.value * (1 - self.gap) for s in sets if s != best.sizes
        )

    def _rank(self, ranking: Ranking, sizes: tuple[int, ...]) -> Iterator[None]:
        best = ranking.best
        yield from self._solve(sizes, None if best is None else best.value)
        if sizes in self.values:
            ranking.found[sizes] = self.values[sizes]

    def _solve(self, sizes: tuple[int, ...], beaten: float | None = None) -> Iterator[None]:
        """Value a set; given up as soon as it is sure to cost no less than `beaten`."""
        for value in self.pool.steps(sizes, self.gap):
            if beaten is not None and value.bound >= beaten * (1 - self.gap):
                return
            self.values[sizes] = value
            yield

    def _combined(self, count: int) -> tuple[int, ...]:
        """The sizes that are combined: all, or those that look best alone, together and beside the best so far."""
        pool = self.pool
        n = len(pool.offers)
        if comb(n, count) <= MOST_SETS:
            return tuple(range(n))
        keep: list[int] = []
        for ranking in self.rankings[:-1]:
            for value in ranking.sorted()[:3]:
                keep += [s for s in value.sizes if s not in keep]
        orders = [self._nearest(row_of) for row_of in (tuple(range(n)), tuple(keep))]
        for pair in zip(*orders, strict=True):
            for s in pair:
                if s not in keep and len(keep) < WIDE:
                    keep.append(s)
        return tuple(sorted(keep))

    def _nearest(self, sizes: Sequence[int]) -> list[int]:
        """All sizes by cost over worth at the prices of a set."""
        pool = self.pool
        row = pool.best_row(sizes)
        if row is None:
            return list(range(len(pool.offers)))
        if len(row.best) < len(pool.offers):
            pool.price(row.prices, range(len(pool.offers)), None)
            row = pool.rows[-1]
        costs = pool.costs
        return sorted(
            range(len(costs)), key=lambda s: (costs[s] / row.best[s] if row.best.get(s) else float("inf"), s)
        )
