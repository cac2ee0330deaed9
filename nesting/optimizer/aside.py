"""The cutting-stock LP and the dives on it, beside the other engines of a search.

They work in steps that know only what was known when the step began, with a generator, a counter and a
kernel of their own, and hand their results over when the step is done. So a step may run on a second
core while the others work, and the plan is the same as on one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..compositions import least_sheets_composed
from ..lp.free_levels import FreeLevels, applies_free
from ..lp.generation import Generation, applies
from .dive import TAIL, Diver
from .flawed import needs_room
from .instance import Instance
from .params import NODES_A_STEP, Params
from .pattern import Pattern
from .runner import Counter, Runner

_END = object()
LP, DIVE = 0, 1
LATE = 3_000_000
COMPOSED_NODES = 500_000
"""Nodes after which the bound of composed functions is worth its time, and nodes that it counts for."""
WAIT = 80_000
"""Nodes that the other engines have for themselves where the LP is not that of the rules, or none dives on it."""
STAGED = 3
"""Levels of the patterns that dives are made of where levels are free."""
COPIES = 2
"""Panels of a size, on the average, from which such dives are worth their time."""
STILL = 40
"""Slices without a node after which the other engines count as having nothing to do."""
SETTLED = 5
"""An LP that can raise no bound has its share divided by this, once its columns are good."""
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
        What is cut.
    real
        Indexes of the stock that is really there.
    params, seed
        Of the search.
    staged
        Dive on the LP of fewer levels than the rules allow: its plans are good, its bound is not one.
    """

    def __init__(
        self, instance: Instance, real: Sequence[int], params: Params, seed: int, *, staged: bool = False
    ) -> None:
        if staged:
            rules = replace(instance.rules, levels=STAGED, last_cut=True)
            instance = replace(instance, rules=rules)
        self.instance, self.real, self.params = instance, list(real), params
        self._staged = staged
        self.counter = Counter()
        self.lp: Generation | FreeLevels | None = None
        self.bound = 0
        self._found: list[list[Pattern]] = []
        self._chosen = False
        self._rng = np.random.Generator(np.random.PCG64([seed, 2 if staged else 1]))
        self._known = Known((), 0, 0, 0)
        self._share = 0.0
        self._begun = self._before = self._still = 0
        self._spent = [0, 0]
        self._work: list[Iterator[None]] = []

    def step(self, known: Known) -> None:
        """Work until both have had their share of all nodes."""
        self._known = known
        at_once = applies(self.instance, self.real) and not self._staged
        if not self._chosen and (known.nodes >= WAIT or at_once):
            self._begin(known)
        lp, p = self.lp, self.params
        if lp is None:
            return
        others = known.nodes - self._begun
        self._still = self._still + 1 if known.nodes == self._before else 0
        self._before = known.nodes
        idle = self._still >= STILL
        while not self._proven:
            # the LP goes first; once its columns are good they are worth diving on
            lp_share = p.lp_share / SETTLED if lp.settled(self._known.bound) else p.lp_share
            behind = self._spent[LP] * p.dive_share <= self._spent[DIVE] * lp_share
            turn = LP if not lp.ready or (behind and not lp.over) else DIVE
            # a round is begun when it keeps to the share, so that a long one waits its time
            ahead = lp.next_work if turn == LP else 0
            if sum(self._spent) + ahead > self._share * (others + self.counter.nodes + ahead) and not idle:
                break
            idle = False
            before = self.counter.nodes
            ended = next(self._work[turn], _END) is _END
            self._spent[turn] += self.counter.nodes - before
            if (turn == DIVE and self.counter.nodes == before) or (ended and not lp.ready):
                break

    def _begin(self, known: Known) -> None:
        """Choose the LP, if one applies, and the share that it and the dives may take."""
        p = self.params
        self._chosen, self._begun = True, known.nodes
        if applies(self.instance, self.real):
            lp = Generation(self.instance, self.real)
            diver = Diver(Runner(self.instance, self.counter), lp, self._rng)
            self.lp, self._work = lp, [self._lp_rounds(lp), self._dive(diver)]
            # where few sheets are taken dives gain little, and the other engines more
            many = diver.sheets(self.instance.demand, self.real) > FEW
            self._share = p.lp_share + p.dive_share if many and not self._staged else p.dive_share
        elif applies_free(self.instance, self.real):
            free = FreeLevels(self.instance, self.real)
            self.lp, self._work = free, [self._lp_rounds(free), self._composed(free)]
            self._share = p.dive_share

    def taken(self) -> list[list[Pattern]]:
        """The plans found since the last call."""
        found, self._found = self._found, []
        return found

    @property
    def _proven(self) -> bool:
        return self._known.cost <= max(self._known.bound, self.bound)

    def _lp_rounds(self, lp: Generation | FreeLevels) -> Iterator[None]:
        done = 0
        for _ in lp.rounds():
            self.counter.nodes += lp.work - done
            done = lp.work
            if not self._staged:
                self.bound = max(self.bound, lp.bound)
            yield

    def _composed(self, lp: FreeLevels) -> Iterator[None]:
        """When all else has had its time: the bound of composed dual feasible functions."""
        inst = self.instance
        turns = [r.turns and r.width != r.height for r in inst.rects]
        square = all(s.width == s.height for s in inst.sheets)
        plain = len(inst.rects) == len(inst.types) and all(r.blank is None for r in inst.rects)
        if len(inst.sheets) > 1 or not plain or (any(turns) and not square):
            return
        while self._known.nodes + self.counter.nodes < LATE:
            yield
        sheet = inst.sheets[0]
        least = least_sheets_composed(
            (sheet.width, sheet.height), [(r.width, r.height) for r in inst.rects], inst.demand,
            turn=any(turns),
        )  # fmt: skip
        self.counter.nodes += COMPOSED_NODES
        if least * sheet.piece.cost > lp.bound:
            lp.bound, lp.by = least * sheet.piece.cost, "dual feasible functions"
        self.bound = max(self.bound, lp.bound)
        yield

    def _dive(self, diver: Diver) -> Iterator[None]:
        stock = self.instance.sheets
        # the patterns that dives choose from know nothing of flaws
        clean = [k for k in self.real if not needs_room(self.instance, k)]
        while clean and diver.sheets(self.instance.demand, self.real) > 2 * TAIL:
            self.counter.nodes += NODES_A_STEP  # a dive of no beams still takes a step
            diver.feed(self._known.patterns)
            counts = {k: (None if stock[k].piece.buyable else stock[k].piece.on_hand) for k in clean}
            for found in diver.dive(self.instance.demand, counts, self._known.cost):
                self.counter.nodes += 1  # whatever it did
                if found is not None:
                    self._found.append(found)
                yield
            yield


def worth_staging(instance: Instance) -> bool:
    """Whether levels are free, and sizes repeat so often that dives on fewer levels find good plans."""
    types = sum(1 for d in instance.demand if d)
    return instance.rules.levels not in (2, 3) and sum(instance.demand) >= COPIES * types
