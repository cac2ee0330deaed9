"""Of plans that cost the same and leave about the same offcut, the one that is easiest to cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from .cut_tree import build_layout
from .job import Job
from .optimizer.pattern import Pattern
from .phantoms import on_phantom
from .sequencing.effort import estimated
from .shop import Shop


class Easiest:
    """Judges the plans of one glass by the time that the table takes for them.

    Parameters
    ----------
    job
        The glass, searched.
    shop
        Its rates and habit.
    """

    def __init__(self, job: Job, shop: Shop) -> None:
        self._job, self._shop = job, shop
        self._known: dict[Pattern, int] = {}

    def effort(self, patterns: Sequence[Pattern]) -> int:
        """Time to cut these sheets up. [ms]"""
        return sum(self._of(p) for p in patterns)

    def _of(self, pattern: Pattern) -> int:
        if pattern not in self._known:
            instance = self._job.instance
            # which of equal panels it is does not matter to the hands
            first = [t.panels[0] for t in instance.types]
            layout = build_layout(pattern, instance, lambda kind: first[kind], (), 1, False)
            self._known[pattern] = estimated(layout, instance.rules, self._shop)
        return self._known[pattern]

    def choose(
        self, patterns: list[Pattern], allowed: Callable[[list[Pattern]], bool] = lambda _: True
    ) -> list[Pattern]:
        """The easiest of the plans of equal cost that the search kept, or these patterns.

        Parameters
        ----------
        patterns
            The plan that counts.
        allowed
            Whether another plan is no later than that.
        """
        search, settled = self._job.best.search, self._job.best.settled
        if search is None or any(on_phantom(self._job.instance, p) for p in patterns):
            return patterns
        cost = self._cost(patterns)
        best, least = patterns, self.effort(patterns)
        for rest in search.keeper.equals():
            other = [*settled, *rest]
            if self._cost(other) == cost and self.effort(other) < least and allowed(other):
                best, least = other, self.effort(other)
        return best

    def _cost(self, patterns: Sequence[Pattern]) -> int:
        return sum(self._job.instance.sheets[p.sheet].piece.cost for p in patterns)
