"""Plans of sheets in a given order where no rack asks for an order of the panels.

Sheet by sheet with the kernel for flaws, with values that rise for panels which made poor sheets; then some
sheets are emptied and filled anew, the last one nearly always among them, since it is that one that gets
smaller. Values corrected from plan to plan: Belov and Scheithauer (EJOR 2007).
Mostly, though, a strip or two of another sheet are filled anew out of what lay in them and on the last one
(`exchange`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np

from ..optimizer.flawed import BOTH_FRAMES
from ..optimizer.instance import Instance
from ..optimizer.params import NODES_A_STEP
from .exchange import Exchange
from .laid import Laid
from .slot import CHOICES, LEANS, Filler, Plan, Slot

EXPONENTS: Final = (1.0, 1.1, 1.2, 1.3)
WIDTHS: Final = (10, 20, 40, 80)
ATTEMPTS: Final = 24
"""Times that a first plan is looked for where the stock is scarce."""
MARGIN: Final = 1.05
"""How much further the last sheet may be used than it is, while others are filled anew."""
NODES_A_TURN: Final = 20
"""What a turn takes beside its nodes."""
SLICE: Final = 3_000
"""Nodes of a slice."""
LATE: Final = 30
"""Changes after which a worse plan may no longer be gone on from (late acceptance, Burke and Bykov 2017)."""
FULLNESS: Final = 0.25
"""What a sheet more that is wholly full counts, in lengths of the last sheet."""
REBUILD: Final = 256
"""Turns between two plans from nothing."""
EXCHANGES: Final = 5
"""Of so many turns and one, those that exchange."""
FINISH_LOSS: Final = 1.15


class FreeOrderSearch:
    """The search of one glass whose sheets are taken in an order, or have rules of their own, without racks.

    Parameters
    ----------
    instance
        What to cut; no panel has a rack.
    seed
        Of the one generator.
    bound
        A valid lower bound on the cost. [1/10,000 of the currency]
    open_racks
        Of no meaning here: there is no rack.
    frames
        Bit 0: first cut vertical; bit 1: horizontal.
    """

    def __init__(
        self,
        instance: Instance,
        *,
        seed: int = 0,
        bound: int = 0,
        open_racks: int | None = None,
        frames: int = BOTH_FRAMES,
    ) -> None:
        self.instance, self.bound = instance, bound
        self.finished = False
        self.aim: int | None = None  # no matter here: every plan is short
        self._filler = Filler(instance, frames)
        self._rng = np.random.Generator(np.random.PCG64(seed))
        stock = list(enumerate(instance.sheets))
        numbered = sorted((s.piece.take, k) for k, s in stock if s.piece.take is not None)
        self._first = [k for _, k in numbered for _ in range(instance.sheets[k].piece.on_hand)]
        self._others = [k for k, s in stock if s.piece.take is None and s.piece.is_there]
        self._worth = np.ones(len(instance.rects))
        self._best: Plan = ()
        self._best_key: tuple[int, int] | None = None
        self._now: Plan = ()
        self._history: list[float] = []
        self._exchanges: Exchange | None = None
        self._turn = 0

    # ------------------------------------------------------------------ results

    @property
    def nodes(self) -> int:
        """Nodes of the beams, and what turns take beside them."""
        return self._filler.nodes + NODES_A_TURN * self._turn

    @property
    def steps(self) -> int:
        """Counted search steps."""
        return self.nodes // NODES_A_STEP

    @property
    def cost(self) -> int:
        """Cost of the best plan. [1/10,000 of the currency]"""
        return self._best_key[0] if self._best_key else 0

    @property
    def proven(self) -> bool:
        """Whether the best plan costs no more than the bound."""
        return self._best_key is not None and self.cost <= self.bound

    @property
    def patterns(self) -> list[Laid]:
        """The best plan, in the order of the sheets."""
        return [slot.filled.pattern for slot in self._best]

    # ------------------------------------------------------------------ search

    def start(self) -> None:
        """Make a first whole plan."""
        self._rebuild(EXPONENTS[1], 20, 0.0)
        for attempt in range(ATTEMPTS):
            if self._best:
                break
            self._rebuild(EXPONENTS[attempt % len(EXPONENTS)], WIDTHS[-1], 0.02 * attempt)

    def advance(self) -> bool:
        """One more slice; False when there is nothing left to try."""
        goal = self.nodes + SLICE
        if len(self._best) == 1 and self._turn > 4 * len(EXPONENTS):
            self.finished = True
        while self.nodes < goal and not self.finished:
            self._turn += 1
            self._filler.lean, self._filler.some = self._drawn(LEANS), self._drawn(CHOICES)
            if self._turn <= len(EXPONENTS):
                self._rebuild(EXPONENTS[self._turn - 1], 40, 0.0)
            elif self._turn % REBUILD == 0 or len(self._now) < 2:
                self._rebuild(self._drawn(EXPONENTS), self._drawn(WIDTHS), 0.1 * float(self._rng.random()))
            elif self._turn % (EXCHANGES + 1) and len(self._best) > 1:
                self._exchange()
            else:
                self._again()
        return not self.finished

    def _drawn(self, choices: tuple[Any, ...]) -> Any:
        return choices[int(self._rng.integers(len(choices)))]

    # ------------------------------------------------------------------ building

    def _values(self, exponent: float, noise: float) -> Any:
        value = self._filler.rect_area**exponent * self._worth
        if noise:
            value = value * (1.0 + noise * (2.0 * self._rng.random(len(value)) - 1.0))
        return value

    def _rebuild(self, exponent: float, width: int, noise: float) -> None:
        plan = self._built(exponent, width, noise)
        if plan is not None:
            self._offer(plan, go_on=True)

    def _built(self, exponent: float, width: int, noise: float) -> Plan | None:
        """A plan from nothing."""
        rest = np.array(self.instance.demand, dtype=np.int64)
        plan: list[Slot] = []
        value = self._values(exponent, noise)
        for sheet in self._first:
            if not rest.any():
                break
            slot = self._filler.all_on(sheet, rest, value, width) or self._filler.fill(
                sheet, rest, value, width
            )
            # one that yields nothing may not be passed over: it goes whole
            plan.append(slot or self._filler.unused(sheet))
            rest -= plan[-1].uses
        left = {k: (None if s.piece.buyable else s.piece.on_hand) for k, s in enumerate(self.instance.sheets)}
        while rest.any():
            slot = self._best_of_others(rest, left, value, width)
            if slot is None:
                return None
            plan.append(slot)
            rest -= slot.uses
            count = left[slot.sheet]
            if count is not None:
                left[slot.sheet] = count - 1
        self._learn(plan)
        return tuple(plan)

    def _best_of_others(
        self, rest: Any, left: Mapping[int, int | None], value: Any, width: int
    ) -> Slot | None:
        """The cheapest sheet that takes the whole rest, or the one with most value for its cost."""
        stock = self.instance.sheets
        there = sorted((k for k in self._others if left[k] != 0), key=lambda k: (stock[k].piece.cost, k))
        area = int(self._filler.area @ rest)
        cheapest = min((stock[k].piece.cost / max(1, stock[k].area) for k in there), default=0.0)
        for k in there:
            if stock[k].piece.cost > FINISH_LOSS * area * cheapest and k != there[0]:
                break
            slot = self._filler.all_on(k, rest, value, width)
            if slot is not None:
                return slot
        best: tuple[float, Slot] | None = None
        for k in there:
            slot = self._filler.fill(k, rest, value, width)
            if slot is not None:
                score = slot.filled.value / max(1, stock[k].piece.cost)
                if best is None or score > best[0]:
                    best = (score, slot)
        return None if best is None else best[1]

    def _learn(self, plan: Sequence[Slot]) -> None:
        """Let panels of poor sheets count more in the next plans."""
        seen = np.zeros(len(self.instance.types))
        count = np.zeros(len(self.instance.types))
        for slot in plan[:-1]:
            seen += slot.uses / max(0.3, slot.share)
            count += slot.uses
        known = count > 0
        factor = np.ones(len(seen))
        factor[known] = seen[known] / count[known]
        for i, rect in enumerate(self.instance.rects):
            mine = float(np.mean([factor[t] for t, _ in rect.uses]))
            self._worth[i] = 0.7 * self._worth[i] + 0.3 * mine
        self._worth /= self._worth.mean()

    # ------------------------------------------------------------------ changing

    def _again(self) -> None:
        """Empty some sheets and fill them anew; what is left over goes on the last of them."""
        rng, plan = self._rng, self._now
        last = len(plan) - 1
        count = min(len(plan), int(rng.integers(2, 5)))
        chosen = [last] if rng.random() < 0.75 else []
        others = [i for i in range(last + 1) if i not in chosen]
        waste = np.array([1.02 - plan[i].share for i in others]) ** float(rng.integers(0, 3))
        picked = rng.choice(np.array(others), count - len(chosen), replace=False, p=waste / waste.sum())
        order = [int(i) for i in rng.permutation(picked)] + chosen
        rest = self._filler.none()
        for i in order:
            rest += plan[i].uses
        exponent = float(rng.choice(np.array(EXPONENTS)))
        width = int(rng.choice(np.array(WIDTHS)))
        value = self._values(exponent, float(rng.choice(np.array([0.0, 0.05, 0.1, 0.2]))))
        new = dict(enumerate(plan))
        for i in order[:-1]:
            if not rest.any():
                return
            slot = self._filler.fill(plan[i].sheet, rest, value, width)
            if slot is None:
                return
            new[i] = slot
            rest -= slot.uses
        end = order[-1]
        if rest.any():
            upto = int(MARGIN * plan[end].filled.end) + 1 if end == last and len(new) == len(plan) else None
            slot = self._filler.all_on(plan[end].sheet, rest, value, 2 * width, upto)
            if slot is None:
                return
            new[end] = slot
        elif end == last:
            del new[end]
        else:
            return
        self._offer(tuple(new[i] for i in sorted(new)), go_on=False)

    def _exchange(self) -> None:
        """Fill strips of the other sheets out of what lies in them and on the last one, for more area on them."""
        going = self._exchanges
        if going is not None and going.over:
            # from another plan on, once this one leads no further
            plan = self._built(self._drawn(EXPONENTS), self._drawn(WIDTHS), 0.1 * float(self._rng.random()))
            going = None if plan is None or len(plan) < 2 else Exchange(self._filler, self._rng, plan)
        if going is None:
            going = Exchange(self._filler, self._rng, self._best)
        more, used = len(self._best) > going.sheets, self._key(self._best)[1]
        self._exchanges = going
        plan = going.turn(self.instance.sheets[going.end].area + 1 if more else used)
        if plan is not None:
            self._offer(plan, go_on=len(plan) < len(self._best))

    def _key(self, plan: Plan) -> tuple[int, int]:
        cost = sum(self.instance.sheets[s.sheet].piece.cost for s in plan)
        last = plan[-1].filled
        return cost, last.end * last.pattern.frame_size(self.instance)[1]

    def _score(self, plan: Plan) -> float:
        """What the changes go by: cost in units of the last sheet, its used part, and how full the others are."""
        cost, used = self._key(plan)
        last = self.instance.sheets[plan[-1].sheet]
        full = sum(s.share**2 for s in plan[:-1])
        return cost / max(1, last.piece.cost) + used / max(1, last.area) - FULLNESS * full

    def _offer(self, plan: Plan, *, go_on: bool) -> None:
        key = self._key(plan)
        score = self._score(plan)
        better = self._best_key is None or key < self._best_key
        if better:
            self._best, self._best_key = plan, key
            going, area = self._exchanges, int(self._filler.area @ plan[-1].uses)
            if going is None or len(plan) != going.sheets or area < going.least:
                self._exchanges = None
        if go_on:
            if better or not self._now:
                self._now = plan
                self._history = [score] * LATE
            return
        at = self._turn % len(self._history)
        if better or score <= self._history[at] or score <= self._score(self._now):
            self._now = plan
        self._history[at] = self._score(self._now)
