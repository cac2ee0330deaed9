"""The plans of a search: the best so far, the one being changed, and how plans compare."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .ease import Equals, ease_of
from .flawed import suits
from .instance import Instance
from .pattern import Pattern, leftovers, other_frame
from .runner import Runner


@dataclass(frozen=True, slots=True)
class Taken:
    """One sheet of a plan in the search: its pattern, what it yields, what is left of it, how easy it is to cut."""

    pattern: Pattern
    uses: tuple[tuple[int, int], ...]
    area: int
    keeps: tuple[int, ...]
    ease: int = 0


Key = tuple[int, int, int]


class Keeper:
    """Keeps the best whole plan of an instance.

    Sheets cost what they cost; at equal cost the plan with the largest single offcut is the better one.
    Where `admits` is set, plans that it refuses do not count, however cheap. Of equally cheap plans whose
    largest offcuts differ by no more than the share `tolerance`, the easiest to cut are kept as well.
    """

    def __init__(self, instance: Instance, runner: Runner) -> None:
        self.instance, self.runner = instance, runner
        self.best: list[Taken] = []
        self.best_key: Key | None = None
        self.current: list[Taken] = []
        self.admits: Callable[[list[Pattern]], bool] | None = None
        self.tolerance = Fraction(0)
        self._equals, self._near_equals = Equals(), Equals()

    @property
    def cost(self) -> int:
        """Cost of the best plan. [1/10,000 of the currency]"""
        return self.best_key[0] if self.best_key else 0

    def room(self, pattern: Pattern) -> int:
        """Inner area of the pattern's sheet. [search units squared]"""
        return self.instance.sheets[pattern.sheet].area

    def price(self, sheet: int) -> int:
        """Cost of a stock piece. [1/10,000 of the currency]"""
        return self.instance.sheets[sheet].piece.cost

    def cost_of(self, plan: Sequence[Taken]) -> int:
        """Cost of the sheets of a plan. [1/10,000 of the currency]"""
        return sum(self.price(t.pattern.sheet) for t in plan)

    def taken(self, pattern: Pattern) -> Taken:
        """A sheet with its yield, in the frame that leaves the larger offcut."""
        keeps = leftovers(pattern, self.instance)
        turned = other_frame(pattern, self.instance)
        if turned is not None:
            other = leftovers(turned, self.instance)
            if other > keeps:
                pattern, keeps = turned, other
        uses = tuple(sorted(pattern.uses(self.instance).items()))
        area = sum(self.runner.type_area[t] * c for t, c in uses)
        return Taken(pattern, uses, area, tuple(keeps), ease_of(pattern))

    def _key(self, plan: Sequence[Taken]) -> Key:
        keeps = [k for t in plan for k in t.keeps]
        return self.cost_of(plan), -max(keeps, default=0), -sum(sorted(keeps, reverse=True)[:6])

    def fullness(self, plan: Sequence[Taken]) -> float:
        """How unevenly full the sheets are: a guide towards emptying one."""
        return sum((t.area / self.room(t.pattern)) ** 2 for t in plan)

    def _full(self, pattern: Pattern) -> float:
        """The same of one sheet, before its offcuts are known."""
        area = sum(self.runner.type_area[t] * c for t, c in pattern.uses(self.instance).items())
        return float((area / self.room(pattern)) ** 2)

    def _admitted(self, plan: Sequence[Taken]) -> bool:
        return self.admits is None or self.admits([t.pattern for t in plan])

    def offer(self, plan: list[Taken], *, admitted: bool = False) -> None:
        """Keep a whole plan if it is the best so far; `admitted`: `admits` has been asked already."""
        key = self._key(plan)
        if self.best_key is not None and key >= self.best_key:
            if key[0] == self.best_key[0]:
                self._keep_equal(plan, key, admitted)
            return
        if admitted or self._admitted(plan):
            self._keep_equal(plan, key, True)
            cheaper = self.best_key is None or key[0] < self.best_key[0]
            self.best, self.best_key = plan, key
            if cheaper:
                self.current = plan

    def _keep_equal(self, plan: list[Taken], key: Key, admitted: bool) -> None:
        ease = sum(t.ease for t in plan)
        near = self._near(key)
        if not self._equals.wants(key[0], ease) and not (near and self._near_equals.wants(key[0], ease)):
            return
        if admitted or self._admitted(plan):
            self._equals.add(key[0], ease, plan)
            if near:
                self._near_equals.add(key[0], ease, plan)

    def _near(self, key: Key) -> bool:
        """Whether the largest offcut is about as large as that of the best plan."""
        return self.best_key is None or -key[1] >= (1 - self.tolerance) * -self.best_key[1]

    def equals(self) -> list[list[Pattern]]:
        """Plans as cheap as the best, with about as large an offcut, the easiest to cut first."""
        found: list[list[Pattern]] = []
        for plan in (*self._near_equals.plans(self.cost), *self._equals.plans(self.cost)):
            taken = [t for t in plan if isinstance(t, Taken)]
            if self._near(self._key(taken)):
                found.append(self._canonical(taken))
        return found

    def offer_patterns(self, patterns: list[Pattern] | None) -> None:
        """The same for patterns alone; None is no plan."""
        if patterns is not None and all(suits(p, self.instance) for p in patterns):
            self.offer([self.taken(p) for p in patterns])

    def restart(self, patterns: Sequence[Pattern]) -> None:
        """Go on from this whole plan, whatever was found before."""
        self.best = self.current = [self.taken(p) for p in patterns]
        self.best_key = self._key(self.best)

    def replace(self, chosen: Sequence[int], new: Sequence[Pattern]) -> None:
        """Put new sheets in the place of some of the current plan, unless that is worse."""
        plan = self.current
        freed = [plan[i] for i in chosen]
        old_cost, new_cost = self.cost_of(freed), sum(self.price(p.sheet) for p in new)
        if new_cost > old_cost or not all(suits(p, self.instance) for p in new):
            return
        if new_cost == old_cost and sum(self._full(p) for p in new) < self.fullness(freed) - 0.01:
            return
        taken = set(chosen)
        changed = [t for i, t in enumerate(plan) if i not in taken] + [self.taken(p) for p in new]
        if self._admitted(changed):
            self.current = changed
            self.offer(changed, admitted=True)

    def patterns(self) -> list[Pattern]:
        """The best plan, in canonical order: fullest sheets first."""
        return self._canonical(self.best)

    def _canonical(self, plan: Sequence[Taken]) -> list[Pattern]:
        order = sorted(plan, key=lambda t: (-t.area * 10**6 // self.room(t.pattern), t.pattern.sheet, t.uses))
        return [t.pattern for t in order]
