"""The cutting-stock LP and the dives on it, beside the other engines of a search.

They work in steps that know only what was known when the step began, with a generator, a counter and a
kernel of their own, and hand their results over when the step is done. So a step may run on a second
core while the others work, and the plan is the same as on one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..lp.generation import Generation
from .dive import TAIL, Diver
from .instance import Instance
from .params import NODES_A_STEP, Params
from .pattern import Pattern
from .runner import Counter, Runner

_END = object()
LP, DIVE = 0, 1
FEW = 5
"""Sheets up to which the LP and the dives have the lesser share."""


@dataclass(frozen=True, slots=True)
class Known:
    """What a step starts from: the best plan, its cost, the bound, and the nodes of the other engines."""

    patterns: tuple[Pattern, ...]
    cost: int
    bound: int
    nodes: int


class Aside:
    """LP and dives of one instance.

    Parameters
    ----------
    instance
        One that `applies` to the LP.
    real
        Indexes of the stock that is really there.
    params, seed
        Of the search.
    """

    def __init__(self, instance: Instance, real: Sequence[int], params: Params, seed: int) -> None:
        self.instance, self.real, self.params = instance, list(real), params
        self.counter = Counter()
        self.lp: Generation | None = None
        self.bound = 0
        self._found: list[list[Pattern]] = []
        self._runner = Runner(instance, self.counter)
        self._rng = np.random.Generator(np.random.PCG64([seed, 1]))
        self._known = Known((), 0, 0, 0)
        self._share = 0.0
        self._begun = 0
        self._spent = [0, 0]
        self._work: list[Iterator[None]] = []

    def step(self, known: Known) -> None:
        """Work until both have had their share of all nodes."""
        self._known = known
        p = self.params
        if self.lp is None:
            self.lp = Generation(self.instance, self.real)
            diver = Diver(self._runner, self.lp, self._rng)
            self._work = [self._lp_rounds(self.lp), self._dive(diver)]
            self._begun = known.nodes
            # where few sheets are taken dives gain little, and the other engines more
            many = diver.sheets(self.instance.demand, self.real) > FEW
            self._share = p.lp_share + p.dive_share if many else p.dive_share
        others = known.nodes - self._begun
        while sum(self._spent) <= self._share * (others + self.counter.nodes) and not self._proven:
            # the LP goes first; once it has priced exactly its columns are worth diving on
            behind = self._spent[LP] * p.dive_share <= self._spent[DIVE] * p.lp_share
            turn = LP if not self.lp.ready or (behind and not self.lp.solved) else DIVE
            before = self.counter.nodes
            ended = next(self._work[turn], _END) is _END
            self._spent[turn] += self.counter.nodes - before
            if ended and (turn == DIVE or not self.lp.ready):
                break

    def taken(self) -> list[list[Pattern]]:
        """The plans found since the last call."""
        found, self._found = self._found, []
        return found

    @property
    def _proven(self) -> bool:
        return self._known.cost <= max(self._known.bound, self.bound)

    def _lp_rounds(self, lp: Generation) -> Iterator[None]:
        done = 0
        for _ in lp.rounds():
            self.counter.nodes += lp.work - done
            done = lp.work
            self.bound = max(self.bound, lp.bound)
            yield

    def _dive(self, diver: Diver) -> Iterator[None]:
        stock = self.instance.sheets
        while diver.sheets(self.instance.demand, self.real) > 2 * TAIL:
            self.counter.nodes += NODES_A_STEP  # a dive of no beams still takes a step
            diver.feed(self._known.patterns)
            counts = {k: (None if stock[k].piece.buyable else stock[k].piece.on_hand) for k in self.real}
            for found in diver.dive(self.instance.demand, counts, self._known.cost):
                if found is not None:
                    self._found.append(found)
                yield
            yield
