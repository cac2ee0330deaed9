"""The planning of one glass: its instance, the sheets that are settled, and the search for the rest."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from fractions import Fraction

from .lp.free_levels import FreeLevels
from .lp.generation import Generation
from .optimizer.instance import Instance, sheet_of
from .optimizer.params import Params
from .optimizer.pattern import Pattern
from .optimizer.search import Search
from .optimizer.shortage import use_what_is_there
from .phantoms import is_phantom, on_phantom, real_sheets
from .plan import Bound
from .plan_bound import area_bound, bound_of, lp_bound
from .stock import StockPiece

MOST_SIZES = 6
"""Other stock sizes of which the worth is told."""


def reduced(instance: Instance, settled: Sequence[Pattern]) -> Instance:
    """The instance without the panels and the stock of settled sheets; types and sheets keep their index."""
    demand = list(instance.demand)
    taken = [0] * len(instance.sheets)
    for pattern in settled:
        taken[pattern.sheet] += 1
        for kind, count in pattern.uses(instance).items():
            demand[kind] -= count
    if not any(taken):
        return instance
    sheets = tuple(
        replace(s, piece=replace(s.piece, on_hand=max(0, s.piece.on_hand - n))) if n else s
        for s, n in zip(instance.sheets, taken, strict=True)
    )
    return replace(instance, demand=tuple(demand), sheets=sheets)


def use_all_stock(search: Search, patterns: list[Pattern]) -> list[Pattern]:
    """Patterns of a search; where stock ran out, with all that it can hold."""
    phantoms = {k for k, s in enumerate(search.instance.sheets) if is_phantom(s.piece)}
    if not any(p.sheet in phantoms for p in patterns):
        return patterns
    return use_what_is_there(search.runner, patterns, phantoms)


@dataclass(slots=True)
class Variant:
    """One way to plan a glass: settled sheets, and a search for what they do not hold.

    Parameters
    ----------
    instance
        Of the whole glass.
    settled
        Sheets that the search does not touch.
    search
        None where the settled sheets hold everything.
    """

    instance: Instance
    settled: tuple[Pattern, ...]
    search: Search | None

    @classmethod
    def of(cls, instance: Instance, settled: Sequence[Pattern], seed: int, params: Params | None) -> Variant:
        """The variant with these settled sheets."""
        rest = reduced(instance, settled)
        if not sum(rest.demand):
            return cls(instance, tuple(settled), None)
        search = Search(
            rest,
            bound=area_bound(rest, rest.demand),
            better_bound=lambda: bound_of(rest, rest.demand, phantoms=True).cost,
            seed=seed,
            params=params,
            real=real_sheets(rest),
        )
        return cls(instance, tuple(settled), search)

    def tolerate(self, share: Fraction) -> None:
        """Let plans of equal cost count as equal whose largest offcuts differ by no more than this share."""
        if self.search is not None:
            self.search.keeper.tolerance = share

    def start(self) -> None:
        """Make a first whole plan."""
        if self.search is not None:
            self.search.start()

    def advance(self, executor: Executor | None = None) -> bool:
        """One more slice (see `Search.advance`); False when there is nothing left to try."""
        return self.search is not None and self.search.advance(executor)

    def stops_after(self, steps: int) -> None:
        """Tell the search after how many of its steps it will be stopped; here it makes no difference."""

    def stops_at(self, end: float, spent: float) -> None:
        """Tell it when it will be stopped, and how long it has gone on; here it makes no difference. [s]"""

    @property
    def _settled_cost(self) -> int:
        return sum(self.instance.sheets[p.sheet].piece.cost for p in self.settled)

    @property
    def cost(self) -> int:
        """Cost of the plan so far. [1/10,000 of the currency]"""
        return self._settled_cost + (self.search.cost if self.search else 0)

    @property
    def bound(self) -> int:
        """What no plan with these settled sheets can go below. [1/10,000 of the currency]"""
        return self._settled_cost + (self.search.bound if self.search else 0)

    @property
    def steps(self) -> int:
        """Counted search steps."""
        return self.search.steps if self.search else 0

    @property
    def proven(self) -> bool:
        """Whether its rest costs no more than its bound."""
        return self.search is None or self.search.proven

    @property
    def finished(self) -> bool:
        """Whether there is nothing left to try."""
        return self.search is None or self.search.finished

    @property
    def patterns(self) -> list[Pattern]:
        """All sheets, the settled ones first."""
        return [*self.settled, *(self.search.patterns if self.search else ())]

    def with_all_stock(self) -> list[Pattern]:
        """All sheets; where stock ran out, with all that it can hold, stock that is not there last."""
        return self.stocked(self.patterns)

    def stocked(self, patterns: Sequence[Pattern]) -> list[Pattern]:
        """The same of any plan that begins with as many settled sheets: these are not touched."""
        settled, rest = patterns[: len(self.settled)], list(patterns[len(self.settled) :])
        full = use_all_stock(self.search, rest) if self.search else rest
        return sorted([*settled, *full], key=lambda p: on_phantom(self.instance, p))


@dataclass(slots=True)
class Job:
    """One glass: all variants of its plan, of which the best will be taken.

    Parameters
    ----------
    glass, instance
        What is planned.
    budget
        Search steps, or None for no limit.
    variants
        At least one, once the job has begun.
    spent
        Steps that were spent before the variants began.
    """

    glass: str
    instance: Instance
    budget: int | None
    variants: list[Variant] = field(default_factory=list)
    spent: int = 0
    turn: int = 0

    def add(self, variant: Variant) -> None:
        """Make a first whole plan in one more variant."""
        variant.start()
        self.variants.append(variant)

    @property
    def best(self) -> Variant:
        """The cheapest variant; of equals the first."""
        return min(self.variants, key=lambda v: v.cost)

    @property
    def steps(self) -> int:
        """Counted search steps."""
        return self.spent + sum(v.steps for v in self.variants)

    def lp_bounds(self) -> list[Bound]:
        """What the cutting-stock LP proves of the whole glass, where it has proved anything."""
        searches = [v.search for v in self.variants if v.search and not v.settled and not v.search.nests]
        bounds = [lp_bound(s.lp) for s in searches if s.lp is not None]
        return [b for b in bounds if b is not None]

    def best_bound(self, instance: Instance, demand: Sequence[int]) -> Bound:
        """The best bound known: the LP's too, where all panels of this glass are meant."""
        bounds = [bound_of(instance, demand, phantoms=False)]
        if instance is self.instance and list(demand) == list(instance.demand):
            bounds += self.lp_bounds()
        return max(bounds, key=lambda b: b.cost)

    @property
    def _lp(self) -> Generation | FreeLevels | None:
        """The LP of the whole glass, where it has proved anything."""
        searches = (v.search for v in self.variants if v.search is not None and not v.settled)
        return next((s.lp for s in searches if s.lp is not None and s.lp.bound > 0), None)

    def premiums(self) -> list[tuple[StockPiece, int]]:
        """What one more of each scarce stock piece would save by the LP's prices. [1/10,000 of the currency]"""
        found = self._lp.premiums() if self._lp is not None else []
        return [(self.instance.sheets[k].piece, worth) for k, worth in found if worth > 0]

    def other_sizes(self, stock: Sequence[StockPiece]) -> list[tuple[StockPiece, int]]:
        """Sheets of these that this glass is not cut from, one of each size, and what one is worth to it.

        By the prices of the LP; only those worth something. [1/10,000 of the currency]
        """
        lp = self._lp
        if not isinstance(lp, Generation):
            return []
        have = {(s.piece.width, s.piece.height) for s in self.instance.sheets}
        found: dict[tuple[int, int], StockPiece] = {}
        for piece in stock:
            if not piece.is_offcut and (piece.width, piece.height) not in have:
                found.setdefault((piece.width, piece.height), piece)
        sheets = [(piece, sheet_of(piece, self.instance.unit)) for _, piece in sorted(found.items())]
        worths = [(piece, lp.worth(sheet)) for piece, sheet in sheets[:MOST_SIZES]]
        return [(piece, worth) for piece, worth in worths if worth > 0]

    @property
    def out_of_budget(self) -> bool:
        """Whether the steps are spent."""
        return self.budget is not None and self.steps >= self.budget

    @property
    def finished(self) -> bool:
        """Whether nothing is left to try."""
        return all(v.finished for v in self._open())

    @property
    def done(self) -> bool:
        """Whether nothing is left to try, or the steps are spent."""
        return self.out_of_budget or self.finished

    def _open(self) -> list[Variant]:
        """The variants that may still win: a proven best ends those that cannot go below it."""
        best = self.best
        return [v for v in self.variants if v is best or v.bound < best.cost]

    def advance(self, executor: Executor | None = None) -> bool:
        """One slice of the next variant that may still win; False when there is none."""
        alive = self._open()
        for _ in alive:
            variant = alive[self.turn % len(alive)]
            self.turn += 1
            if self.budget is not None:
                variant.stops_after(self.budget - self.steps + variant.steps)
            if not variant.finished and variant.advance(executor):
                return True
        return False
