"""The whole question of one glass: price-break list, best sets of sizes, their plans, and what rules cost.

It is worked through in steps, so that a caller may look at its clock or stop for good: what was found stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from typing import Final

from ..each import Progress
from ..rules import Rules
from ..shop import Shop
from ..week_sheets.nest import EFFORT
from .best_sets import BestSets
from .demand import MOST_KINDS, Demand
from .found import Addition, Found, SetStudy, Stage
from .offers import DELIVERIES, OfferedSize, on_the_table, order_size
from .price_breaks import price_breaks
from .rule_changes import RuleChange, RuleCost, rule_changes
from .safety import SizeStock, size_stock
from .size_pool import SetValue, SizePool
from .staged import not_held, pool_of
from .weekly_plans import Case, Planned, best_known, plan_weeks
from .whole_weeks import WholeWeeks

PLANNED: Final = 6
"""Sets that are planned week by week, besides the sizes that are stocked."""
NEAR: Final = 0.03
"""Sets whose bound is further above the best value than this share are not looked at by whole weeks."""
MOST_LOOKED: Final = 60
GAP: Final = 4e-3
"""Relative distance of value and bound of the LPs: plans of whole weeks differ by far more."""
EXACT: Final = 4
"""Exact rounds of pricing that a set is given."""
FINE: Final = 1e-3
"""Relative distance of value and bound of the LPs that rules are compared by."""
USED: Final = 0.005
"""A size that makes up less than this share of the sheets is none of its set."""
ADDED: Final = 3
"""Sizes of the price-break list whose saving beside the stocked ones is worked out."""


class Study:
    """The study of one glass.

    Parameters
    ----------
    demand
        Of past weeks.
    offers
        All sizes on offer, those too large for the tables among them.
    stocked
        Names of the sizes that are stocked now; may be empty.
    shop
        Rules, offcuts and buying habits.
    most
        Greatest number of sizes in a set.
    deliveries
        Orders of a size in a year.
    effort, seed
        Of the plans.
    kinds
        Most kinds of panels in the LP.
    """

    def __init__(
        self,
        demand: Demand,
        offers: Sequence[OfferedSize],
        stocked: Sequence[str],
        shop: Shop,
        *,
        most: int = 3,
        deliveries: int = DELIVERIES,
        effort: int = EFFORT,
        seed: int = 0,
        kinds: int = MOST_KINDS,
    ) -> None:
        self.shop, self.glass = shop, demand.glass
        self.rules: Rules = shop.rules(demand.glass)
        self.offers, self.too_large = on_the_table(offers, self.rules)
        self.stocked = tuple(i for i, o in enumerate(self.offers) if o.name in set(stocked))
        self.most, self.deliveries, self.effort, self.seed = most, deliveries, effort, seed
        self._kinds = kinds
        self.found = Found(demand=demand, sample=demand)
        self.pool: SizePool | None = None
        self.base: SetStudy | None = None

    # ---------------------------------------------------------------- steps

    def steps(
        self, executor: Executor | None = None, progress: Progress | None = None, *, rules: bool = True
    ) -> Iterator[Stage]:
        """Work it all out; yields what is being worked on, often.

        Parameters
        ----------
        executor
            Where weeks are planned; None: here. The result is the same.
        progress
            Told of every week that is planned.
        rules
            Whether to work out what rules cost.
        """
        found = self.found
        if not self.offers:
            return
        pieces = [o.piece for o in self.offers]
        found.refused = not_held(found.demand.kinds, self.glass, pieces, self.rules)
        found.demand = found.demand.without(kind for kind, _ in found.refused)
        if not found.demand.weeks:
            return
        found.sample = found.demand.sample(self._kinds)
        yield "demand"
        self.pool = pool_of(found.sample, pieces, self.rules, found.demand, EXACT)
        yield from self._prices(self.pool)
        yield from self._sets(self.pool)
        yield from self._plans(executor, progress)
        if rules:
            yield from self._rules(executor, progress)

    def a_year(self, amount: float) -> int:
        """What an amount of the LP's weeks is in a year, rounded."""
        return self.found.sample.a_year(round(amount))

    def _prices(self, pool: SizePool) -> Iterator[Stage]:
        found = self.found
        if not self.stocked or pool.left_out(self.stocked):
            return
        for _ in pool.steps(self.stocked, GAP):
            yield "prices"
        found.breaks = price_breaks(pool, self.stocked, GAP)
        weeks = WholeWeeks(pool, found.sample)
        row = found.breaks.row
        alone = weeks.cost(self.stocked, row)
        others = [b for b in found.breaks.breaks if not b.stocked]
        found.additions = [Addition(b.size, alone - weeks.cost((*self.stocked, b.size), row)) for b in others]
        found.stage = "prices"
        yield "prices"
        for one in [b for b in others if b.is_worth][:ADDED]:
            solved: list[SetValue] = []
            for value in pool.steps((*self.stocked, one.size), GAP):
                solved.append(value)
                yield "prices"
            saves = max(0.0, found.breaks.stocked.value - solved[-1].value)
            found.additions = [replace(a, by_lp=saves) if a.size == one.size else a for a in found.additions]

    def _sets(self, pool: SizePool) -> Iterator[Stage]:
        self.found.sets = BestSets(pool, self.most, [self.stocked] if self.stocked else [], GAP)
        for _ in self.found.sets.steps():
            yield "sets"
        self.found.stage = "sets"

    # ---------------------------------------------------------------- plans

    def to_plan(self) -> list[SetStudy]:
        """The sets that are planned: the stocked one, and of every number of sizes the best by LP and whole weeks."""
        sets, pool = self.found.sets, self.pool
        if sets is None or pool is None:
            return []
        weeks = WholeWeeks(pool, self.found.sample)
        out: dict[tuple[int, ...], SetStudy] = {}

        def take(sizes: tuple[int, ...], *, stocked: bool = False) -> None:
            if sizes not in out and not pool.left_out(sizes):
                out[sizes] = SetStudy(sizes, sets.value_of(sizes), weeks.cost(sizes), stocked=stocked)

        if self.stocked:
            take(self.stocked, stocked=True)
        for ranking in sets.rankings:
            best = ranking.best
            if best is None:
                continue
            if all(n >= USED * sum(best.sheets) for n in best.sheets):
                take(best.sizes)
            lows = [
                (pool.bound_of(s), s)
                for s in combinations(ranking.combined, ranking.count)
                if not pool.left_out(s)
            ]
            near = sorted(x for x in lows if float(x[0]) <= best.value * (1 + NEAR))[:MOST_LOOKED]
            by_weeks = sorted((weeks.cost(s), s) for _, s in near)
            for _, s in by_weeks[: max(1, PLANNED // max(1, self.most))]:
                take(s)
        return list(out.values())[: PLANNED + 1]

    def _plans(self, executor: Executor | None, progress: Progress | None) -> Iterator[Stage]:
        found = self.found
        found.studies = self.to_plan()
        cases = [self._case(s.sizes) for s in found.studies]
        done: list[Planned | None] = []
        try:
            self._plan(cases, executor, progress, done)
        finally:
            done += [None] * (len(cases) - len(done))
            for study, planned in zip(found.studies, best_known(cases, done), strict=True):
                study.planned = planned
                if planned is not None:
                    study.stock = self._stock(study, planned)
        self._value()
        found.stage = "plans"
        yield "plans"

    def _case(self, sizes: Sequence[int]) -> Case:
        return Case(stock=tuple(self.offers[s].piece for s in sizes), rules=self.rules)

    def _plan(
        self,
        cases: Sequence[Case],
        executor: Executor | None,
        progress: Progress | None,
        done: list[Planned | None],
    ) -> list[Planned | None]:
        return plan_weeks(
            self.found.demand,
            cases,
            executor,
            effort=self.effort,
            seed=self.seed,
            progress=progress,
            done=done,
        )

    def _value(self) -> None:
        """The LP of every planned set that has none yet."""
        if self.pool is not None:
            for study in self.found.studies:
                if study.lp is None:
                    study.lp = self.pool.solve(study.sizes, GAP)

    def _stock(self, study: SetStudy, planned: Planned) -> tuple[SizeStock, ...]:
        out = []
        for s in study.sizes:
            offer = self.offers[s]
            by_week = planned.by_week(offer.name)
            year = self.found.demand.a_year(sum(by_week))
            order = order_size(offer.supply, -(-year // self.deliveries))
            out.append(
                size_stock(
                    offer.supply, offer.cost, order, by_week, self.found.demand.number, self.shop.buying
                )
            )
        return tuple(out)

    # ---------------------------------------------------------------- rules

    def _rules(self, executor: Executor | None, progress: Progress | None) -> Iterator[Stage]:
        """What rules cost, for the stocked sizes, else for the best set."""
        found, pool = self.found, self.pool
        best = found.best_first()
        self.base = next((s for s in best if s.stocked), best[0] if best else None)
        if self.base is None or self.base.lp is None or self.base.planned is None or pool is None:
            return
        for value in pool.steps(self.base.sizes, FINE):
            self.base.lp = value
            yield "rules"
        base, pieces = self.base.lp.value, [self.offers[s].piece for s in self.base.sizes]
        changes = rule_changes(pieces, self.shop, self.glass)
        lp: list[float | None] = []
        for change in changes:
            solved: list[SetValue] = []
            if change.in_lp:
                other = pool_of(found.sample, pieces, change.rules, None, EXACT)
                for value in other.steps(range(len(pieces)), FINE):
                    solved.append(value)
                    yield "rules"
            # a rule that forbids less costs no more: what seems so is the distance of the LPs from their bounds
            saves = base - solved[-1].value if solved else None
            lp.append(max(0.0, saves) if saves is not None and self._looser(change) else saves)
        if self.too_large:
            change, saves = self._larger(base)
            changes.append(change)
            lp.append(saves)
            yield "rules"
        done: list[Planned | None] = []
        try:
            self._plan([c.case for c in changes], executor, progress, done)
        finally:
            done += [None] * (len(changes) - len(done))
            base_plans = [(self._case(self.base.sizes), self.base.planned)]
            known = [
                best_known([c.case], [p], base_plans if self._looser(c) else ())[0]
                for c, p in zip(changes, done, strict=True)
            ]
            found.rules = [self._cost(*x) for x in zip(changes, lp, known, strict=True)]
        found.stage = "rules"
        yield "rules"

    def _looser(self, change: RuleChange) -> bool:
        """Whether the changed rule allows all that the rule as it is does, with the same sizes."""
        if change.rule == "levels":
            now, then = self.rules.levels, change.rules.levels
            return then is None or (now is not None and then > now)
        return change.rule in ("break-out distance", "longest score")

    def _larger(self, base: float) -> tuple[RuleChange, float]:
        """The best set of as many sizes where the table took every size on offer."""
        if self.base is None:
            raise ValueError("nothing to compare with")
        sizes = [*self.offers, *self.too_large]
        rules = replace(self.rules, largest_piece=None, longest_cut=None)
        pool = pool_of(self.found.sample, [o.piece for o in sizes], rules, self.found.demand, EXACT)
        sets = BestSets(pool, len(self.base.sizes), gap=GAP).run()
        value = min((r.best for r in sets.rankings if r.best is not None), key=lambda v: (v.value, v.sizes))
        self.found.larger = value.sizes
        case = Case(stock=tuple(sizes[s].piece for s in value.sizes), rules=rules)
        fit = min((v.value for v in self._fitting()), default=base)
        return RuleChange(rule="larger table", case=case, in_lp=True), fit - value.value

    def _fitting(self) -> list[SetValue]:
        """The best sets of no more sizes than the base that the table takes."""
        if self.found.sets is None or self.base is None:
            return []
        most = len(self.base.sizes)
        return [r.best for r in self.found.sets.rankings if r.count <= most and r.best is not None]

    def _cost(self, change: RuleChange, by_lp: float | None, planned: Planned | None) -> RuleCost:
        base = self.base
        if base is None or base.lp is None or base.planned is None:
            raise ValueError("nothing to compare with")
        against = base.planned.cost
        if change.rule == "larger table":
            # the table is compared with the best that fits it, not with what happens to be stocked
            against = min(
                s.planned.cost for s in self.found.studies if s.planned and len(s.sizes) <= len(base.sizes)
            )
        plans = (
            None if planned is None or planned.unplaced > base.planned.unplaced else against - planned.cost
        )
        return RuleCost(
            change=change,
            by_lp=None if by_lp is None else self.a_year(by_lp),
            by_plans=None if plans is None else self.found.demand.a_year(plans),
            lp_share=None if by_lp is None else Fraction(round(by_lp), max(1, round(base.lp.value))),
            plan_share=None if plans is None else Fraction(plans, max(1, against)),
        )
