"""What a study of stock sizes has found so far, as plain data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from ..plan import Unplaced
from ..week_sheets.kinds import Kind
from .best_sets import BestSets
from .demand import Demand
from .price_breaks import PriceBreaks
from .rule_changes import RuleCost
from .safety import SizeStock
from .size_pool import SetValue
from .weekly_plans import Planned

Stage = Literal["demand", "prices", "sets", "plans", "rules"]


@dataclass(slots=True)
class SetStudy:
    """One set of sizes.

    Parameters
    ----------
    sizes
        Indexes among the offers, rising.
    lp
        Its LP, or None where only its bound is known.
    whole
        Whole sheets week by week cost at least this, in the weeks of the LP. [1/10,000 of the currency]
    planned
        All weeks planned, or None.
    stock
        Stock of each size, once it is planned.
    """

    sizes: tuple[int, ...]
    lp: SetValue | None = None
    whole: int = 0
    planned: Planned | None = None
    stock: tuple[SizeStock, ...] = ()
    stocked: bool = False

    @property
    def holding(self) -> int:
        """What its stock costs in a year. [1/10,000 of the currency]"""
        return sum(s.cost for s in self.stock)


@dataclass(frozen=True, slots=True)
class Addition:
    """A size bought beside the stocked ones, and what that saves in the weeks of the LP. [1/10,000 of the currency]

    Parameters
    ----------
    size
        Index among the offers.
    by_weeks
        In whole sheets week by week, as far as the prices of the LP tell (see `whole_weeks`).
    by_lp
        By an LP of its own, in which all weeks are cut at once; None where it was not solved.
    """

    size: int
    by_weeks: int
    by_lp: float | None = None


@dataclass(slots=True)
class Found:
    """What is known so far.

    Parameters
    ----------
    refused
        Kinds that no size on offer yields, with the reason; they are left out.
    demand, sample
        The weeks that are planned, and those that the LP is about.
    breaks
        The price-break list beside the stocked sizes.
    additions
        What every other size saves beside the stocked ones.
    sets
        The search for the best sets.
    studies
        The sets that are planned, and of those of one number of sizes the best first.
    rules, larger
        What rules cost; the best set where the table were larger.
    stage
        What is done last.
    """

    demand: Demand
    sample: Demand
    refused: list[tuple[Kind, Unplaced]] = field(default_factory=list)
    breaks: PriceBreaks | None = None
    additions: list[Addition] = field(default_factory=list)
    sets: BestSets | None = None
    studies: list[SetStudy] = field(default_factory=list)
    rules: list[RuleCost] = field(default_factory=list)
    larger: tuple[int, ...] = ()
    stage: Stage = "demand"

    def best_first(self) -> list[SetStudy]:
        """The planned sets: those with the fewest panels left over, the cheapest in glass and holding first."""

        def rank(s: SetStudy) -> tuple[int, int, int, tuple[int, ...]]:
            return (s.planned.unplaced if s.planned else 0, self.a_year(s), len(s.sizes), s.sizes)

        return sorted((s for s in self.studies if s.planned is not None), key=rank)

    def a_year(self, one: SetStudy) -> int:
        """Glass and holding of a planned set in a year. [1/10,000 of the currency]"""
        return one.holding + (self.demand.a_year(one.planned.cost) if one.planned else 0)
