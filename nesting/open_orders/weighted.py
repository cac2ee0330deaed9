"""Nests filled sheet by sheet with weights for what is due soon and for orders that are open already."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from ..cutting_days import CuttingDays
from ..optimizer.instance import Instance
from ..optimizer.pattern import Pattern
from ..optimizer.runner import Counter, Runner
from ..optimizer.sequential import fill_all
from .hand_out import First, HandOut
from .weights import Weights, working_days

WAYS = tuple(
    (exponent, frames, width)
    for width in (20, 60)
    for exponent in (1.0, 1.1, 1.2, 1.05, 1.15, 1.3)
    for frames in (3, 1, 2)
)
"""Exponent of the area, first cuts (see `filling`) and beam width: tried until the nodes are spent."""
ENOUGH = 300_000
"""Nodes of the tree search after which no further way is begun, for one glass and one set of weights."""


class Pressing:
    """The factors of a fill (see `sequential.Worth`): who is due soon, and whose order is open.

    Parameters
    ----------
    instance
        What is filled.
    weights
        Of the two.
    days
        On which days the table works.
    settled
        What is placed before, by type.
    """

    def __init__(
        self, instance: Instance, weights: Weights, days: CuttingDays, settled: Mapping[int, int]
    ) -> None:
        self._weights, self._arrays = weights, instance.arrays
        self._area = np.array(instance.type_area, dtype=np.float64)
        kinds = [t for t, n in enumerate(instance.demand) if n or settled.get(t)]
        self._hand = HandOut({(0, t): instance.types[t] for t in kinds}, First.OPEN)
        self._number = working_days(
            days, [p.due for t in kinds for p in instance.types[t].panels if p.due is not None]
        )
        self._kinds = kinds
        self.took(settled)

    def factors(self) -> Any:
        """See `Worth`; of equal panels the one that is handed out next counts."""
        soonest = self._hand.soonest
        of_type = np.ones(len(self._area))
        for t in self._kinds:
            panel = self._hand.next_of((0, t))
            if panel is not None:
                of_type[t] += self._weights.urgency * self._urgency(panel.due, soonest)
                of_type[t] += self._weights.begun * self._hand.is_open(panel)
        arrays = self._arrays
        area = self._area[arrays.utype] * arrays.ucount
        weighed = np.add.reduceat(of_type[arrays.utype] * area, arrays.uptr[:-1])
        return weighed / np.maximum(1.0, np.add.reduceat(area, arrays.uptr[:-1]))

    def _urgency(self, due: date | None, soonest: date | None) -> float:
        if due is None or soonest is None:
            return 0.0
        return max(0.0, 1.0 - (self._number[due] - self._number[soonest]) / self._weights.days)

    def took(self, uses: Mapping[int, int]) -> None:
        """See `Worth`."""
        self._hand.take(((0, t), n) for t, n in uses.items())


def weighted_nests(
    instance: Instance,
    settled: Mapping[int, int],
    sheets: Sequence[int],
    weights: Weights,
    days: CuttingDays,
    counter: Counter,
    enough: int = ENOUGH,
) -> Iterator[list[Pattern]]:
    """Nests of one glass with these weights, each in the order in which its sheets were filled.

    Parameters
    ----------
    instance
        Of what is not settled; the types hold all panels.
    settled
        Number of panels of each type on settled sheets.
    sheets
        Indexes of the stock that may be taken.
    weights, days
        See `Pressing`.
    counter
        Receives the nodes.
    enough
        Nodes after which no further way is begun.
    """
    runner = Runner(instance, counter)
    begun = counter.nodes
    for number, (exponent, frames, width) in enumerate(WAYS):
        if number and counter.nodes - begun >= enough:
            return
        found = fill_all(
            runner,
            instance.demand,
            sheets,
            exponent=exponent,
            frames=frames,
            width=width,
            noise=0.0,
            rng=np.random.Generator(np.random.PCG64(0)),
            worth=Pressing(instance, weights, days, settled),
        )
        if found is not None:
            yield found
