"""A glass that is planned in an order, of racks or of the sheets, or by rules between its cuts."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Protocol

from ..job import Variant
from ..joint_blanks import needs_company
from ..optimizer.instance import Instance
from ..optimizer.pattern import Pattern
from ..pace import Pace
from ..panels import Panel
from ..phantoms import on_phantom
from ..plan import Unplaced
from ..plan_bound import area_bound, bound_of
from ..rules import Rules
from ..text import tr


class InOrderSearch(Protocol):
    """What a search in an order offers; its patterns are in cutting order."""

    aim: int | None
    """Steps after which the caller will stop, if it knows."""

    @property
    def cost(self) -> int:
        """Cost of the best plan. [1/10,000 of the currency]"""

    @property
    def steps(self) -> int:
        """Counted search steps."""

    @property
    def patterns(self) -> Sequence[Pattern]:
        """The best plan, sheet by sheet."""

    @property
    def finished(self) -> bool:
        """Whether nothing is left to try."""

    @property
    def proven(self) -> bool:
        """Whether the best plan costs no more than the bound."""

    def start(self) -> None:
        """Make a first whole plan."""

    def advance(self) -> bool:
        """One more slice; False when there is nothing left to try."""


@dataclass(slots=True, kw_only=True)
class InOrder(Variant):
    """The one way to plan such a glass; no sheet of it changes places with another.

    Parameters
    ----------
    work
        Its search.
    low
        Lower bound on its cost. [1/10,000 of the currency]
    sharp
        Whether a better bound, which takes longer, was worked out already.
    """

    work: InOrderSearch
    low: int
    sharp: bool = False
    pace: Pace = field(default_factory=Pace)

    @classmethod
    def all_of(cls, instance: Instance, seed: int, open_racks: int | None) -> InOrder:
        """The search for a whole glass: along its racks, or free where it has none."""
        low = area_bound(instance, instance.demand)
        work: InOrderSearch
        if any(t.panels[0].rack for t in instance.types) or bound_or_thin(instance):
            from .search import OrderedSearch

            work = OrderedSearch(instance, seed=seed, bound=low, open_racks=open_racks)
        else:
            from .free_order import FreeOrderSearch

            work = FreeOrderSearch(instance, seed=seed, bound=low)
        return cls(instance, (), None, work=work, low=low)

    def tolerate(self, share: Fraction) -> None:
        """Nothing: the residual of the last sheet decides between plans of equal cost."""

    def stops_after(self, steps: int) -> None:
        """Let the last beam end there (see `OrderedSearch.aim`)."""
        self.work.aim = steps

    def stops_at(self, end: float, spent: float) -> None:
        """The same by the pace of late."""
        self.work.aim = self.pace.steps_at(end, spent, self.work.steps)

    def start(self) -> None:
        """Make a first whole plan."""
        self.work.start()

    def advance(self, executor: Executor | None = None) -> bool:
        """One more slice; False when there is nothing left to try."""
        if not self.sharp:
            self.sharp = True
            self.low = max(self.low, bound_of(self.instance, self.instance.demand, phantoms=True).cost)
            return not self.finished
        return self.work.advance()

    @property
    def cost(self) -> int:
        """Cost of the plan so far. [1/10,000 of the currency]"""
        return self.work.cost

    @property
    def bound(self) -> int:
        """What no plan can go below. [1/10,000 of the currency]"""
        return self.low

    @property
    def steps(self) -> int:
        """Counted search steps."""
        return self.work.steps

    @property
    def proven(self) -> bool:
        """Whether the plan costs no more than the bound."""
        return self.work.proven

    @property
    def finished(self) -> bool:
        """Whether there is nothing left to try."""
        return self.work.finished

    @property
    def patterns(self) -> list[Pattern]:
        """All sheets, in cutting order."""
        return list(self.work.patterns)

    def stocked(self, patterns: Sequence[Pattern]) -> list[Pattern]:
        """The same with stock that is not there last."""
        return sorted(patterns, key=lambda p: on_phantom(self.instance, p))


def bound_or_thin(instance: Instance) -> bool:
    """Whether a panel is bound to a stock piece, or thinner than waste may be, which the free search knows nothing of."""
    least = max(instance.rules.break_out, instance.rules.least_waste)
    return any(t.panels[0].from_stock is not None for t in instance.types) or any(
        min(r.width, r.height) * instance.unit < least for r in instance.rects
    )


def lone_in_racks(panels: Sequence[Panel], rules: Rules) -> list[Unplaced]:
    """Panels of racks that no blank yields alone: beside another they would leave the table together with it."""
    return [
        Unplaced(
            panel=p.id,
            rule="rack",
            reason=tr(
                "it can only be cut from one blank with another panel, so that it cannot leave the table in its "
                "place of the rack; list it without a rack"
            ),
        )
        for p in panels
        if p.rack and needs_company(p, rules)
    ]
