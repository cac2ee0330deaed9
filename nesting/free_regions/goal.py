"""A goal of the search over sheets: the same panels in less glass, reached by ruin and recreate.

The rooms of a plan are given, one of them smaller than it was, so that some panels are left over. One to
three rooms are emptied and filled anew from what was in them and what is left over; the change is kept if
no more is left over than now, or than some rounds ago (late acceptance, Burke and Bykov 2017). Panels that
are left over for long gain weight.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from .partition import SCALE
from .source import Source, Taken

LATE: Final = 10
"""Rounds back with which what is left over is compared."""
GAIN: Final = 1.003
"""Factor by which a panel gains weight in each round in which it is left over."""

Room = tuple[float, float] | None


class Goal:
    """One smaller room, or a cheaper sheet, for a plan.

    Parameters
    ----------
    source
        Of filled sheets.
    plan
        A whole plan, its last sheet the one with the largest rest.
    part
        Used part of the last sheet that is to be undercut. [1 / SCALE]
    """

    def __init__(self, source: Source, plan: Sequence[Taken], part: int) -> None:
        self._source = source
        self._bins = list(plan)
        self._rooms: list[Room] = [None] * len(plan)
        self._spare = np.zeros(len(source.areas), np.int64)
        self._weights = np.ones(len(source.areas))
        if not self._take_cheaper():
            self._shrink(part)
        self.least = self._left()
        self.stale = 0
        self._past = [self.least] * LATE
        self._round = 0

    @property
    def reached(self) -> bool:
        """Whether nothing is left over."""
        return not self._spare.any()

    @property
    def plan(self) -> list[Taken]:
        """The sheets with anything on them."""
        return [one for one in self._bins if one.filled.placed]

    def _left(self) -> float:
        return float(self._source.areas @ self._spare)

    def _weighed(self, spare: np.ndarray) -> float:
        return float((self._source.areas * self._weights) @ spare)

    def _shrink(self, part: int) -> None:
        """The last sheet in a smaller room, along one of its sides; a small one is given up."""
        source, last = self._source, self._bins.pop()
        size = source.sheets[last.filled.sheet]
        room = part / SCALE - (0.004 + 0.03 * float(source.rng.random()) ** 2)
        upright = source.rng.random() < 0.5
        self._rooms.pop()
        self._spare = last.uses.copy()
        if room > 0.01:
            self._rooms.append(
                (size.width * room, size.height) if upright else (size.width, size.height * room)
            )
            self._bins.append(source.empty(last.filled.sheet))
            self._refill(len(self._bins) - 1)

    def _take_cheaper(self) -> bool:
        """With several sizes, sometimes: one sheet becomes a cheaper one."""
        source = self._source
        stock = source.stock_left(self._bins)
        pairs = [
            (k, h)
            for k, one in enumerate(self._bins)
            for h, size in enumerate(source.sheets)
            if size.cost < source.sheets[one.filled.sheet].cost and stock[h] != 0
        ]
        if not pairs or source.rng.random() < 0.5:
            return False
        k, h = pairs[int(source.rng.integers(len(pairs)))]
        self._spare = self._bins[k].uses.copy()
        self._bins[k] = source.empty(h)
        self._refill(k)
        return True

    def _refill(self, k: int) -> None:
        source = self._source
        one = source.fill(
            self._bins[k].filled.sheet,
            self._spare,
            source.guide(),
            source.seed(),
            self._rooms[k],
            self._weights,
        )
        if one is not None:
            self._bins[k] = one
            self._spare = self._spare - one.uses

    def step(self) -> None:
        """Empty one to three rooms and fill them anew."""
        source = self._source
        before, old = list(self._bins), self._spare
        if self._bins:
            count = min(len(self._bins), (1, 2, 2, 3)[int(source.rng.integers(4))])
            gone = source.rng.choice(len(self._bins), count, replace=False).tolist()
            self._spare = sum((self._bins[k].uses for k in gone), self._spare)
            for k in gone:
                self._bins[k] = source.empty(self._bins[k].filled.sheet)
            for k in gone:
                self._refill(k)
        slot = self._round % LATE
        new = self._weighed(self._spare)
        if new > self._weighed(old) and new > self._past[slot]:
            self._bins, self._spare = before, old
        self._past[slot] = self._weighed(self._spare)
        self._weights[self._spare > 0] *= GAIN
        self._round += 1
        self.stale += 1
        left = self._left()
        if left < self.least:
            self.least, self.stale = left, 0
