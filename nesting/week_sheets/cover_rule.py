"""Whole sheets that hold an area: the cheapest number of each size whose filled area is enough.

With one size this is `ceil(area / (fill x sheet))`. With several the areas are told by the least size
that yields a panel, and all sizes from that one on may hold them. Everything is a whole number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

THOUSAND: Final = 1000
USUAL_FILL: Final = 900
"""Share of the inner area of sheets that panels fill, where nothing is known [common practice]. [1/1000]"""
EDGE: Final = 4
"""Sheets of a size that are weighed against other sizes; beyond them an area is filled by the cheapest."""
BLOCK: Final = 2000
"""Weeks worked on at once."""


@dataclass(frozen=True, slots=True)
class Cover:
    """The rule of one glass.

    Parameters
    ----------
    rooms
        Inner area of each size, rising. [mm2]
    costs
        Of a sheet of each size. [1/10,000 of the currency]
    fill
        Share of the inner area that is filled. [1/1000]
    first
        Column of the first area.
    bars
        Columns of lower bounds on the largest sheets, in millionths of one.
    """

    rooms: tuple[int, ...]
    costs: tuple[int, ...]
    fill: int
    first: int = 0
    bars: tuple[int, ...] = ()

    def base(self, sums: Any) -> Any:
        """Sheets of weeks.

        Parameters
        ----------
        sums
            int64 of shape (weeks, columns of the glass). [mm2, and millionths of a sheet]

        Returns
        -------
        array
            int64 of shape (weeks, sizes).
        """
        areas = sums[:, self.first : self.first + len(self.rooms)] * THOUSAND
        least = np.zeros(len(sums), dtype=np.int64)
        for column in self.bars:
            least = np.maximum(least, -(-sums[:, column] // 10**6))
        if len(self.rooms) == 1:
            return np.maximum(least, -(-areas[:, 0] // (self.fill * self.rooms[0])))[:, None]
        # what needs at least size k, and all larger ones
        needs = np.cumsum(areas[:, ::-1], axis=1)[:, ::-1]
        held = np.array(self.rooms, dtype=np.int64) * self.fill
        counts = np.zeros(areas.shape, dtype=np.int64)
        counts[:, -1] = least
        for k in range(len(self.rooms) - 1, -1, -1):
            best = self._best(k)
            counts[:, best] += np.maximum(0, areas[:, k] // held[best] - EDGE)
        combos = _combos(self.rooms, self.costs)
        room = np.cumsum((combos * held)[:, ::-1], axis=1)[:, ::-1]
        for start in range(0, len(counts), BLOCK):
            part = slice(start, start + BLOCK)
            has = np.cumsum((counts[part] * held)[:, ::-1], axis=1)[:, ::-1]
            wanting = needs[part] - has
            enough = room[None, :, 0] >= wanting[:, None, 0]
            for k in range(1, len(self.rooms)):  # a size at a time: a short last axis is slow
                enough &= room[None, :, k] >= wanting[:, None, k]
            counts[part] += combos[np.argmax(enough, axis=1)]
        return counts

    def _best(self, least: int) -> int:
        """The size of the cheapest area among those from `least` on."""
        sizes = range(least, len(self.rooms))
        return min(sizes, key=lambda k: (self.costs[k] * 10**9 // self.rooms[k], -self.rooms[k]))


_KNOWN: dict[tuple[tuple[int, ...], tuple[int, ...]], Any] = {}


def _combos(rooms: tuple[int, ...], costs: tuple[int, ...]) -> Any:
    """Numbers of each size, the cheapest first, without those that a cheaper one can stand in for.

    Which stands in for which does not depend on the fill, as long as it is the same for all sizes.
    """
    if (rooms, costs) not in _KNOWN:
        found = np.zeros((1, len(rooms)), dtype=np.int64)
        for k in range(len(rooms) - 1, -1, -1):
            found = np.repeat(found, EDGE + 2, axis=0)
            found[:, k] = np.arange(len(found)) % (EDGE + 2)
            found = _undominated(found, rooms, costs)
        if len(_KNOWN) > 500:
            _KNOWN.clear()
        _KNOWN[rooms, costs] = found
    return _KNOWN[rooms, costs]


def _undominated(combos: Any, rooms: Sequence[int], costs: Sequence[int]) -> Any:
    """Those of which no one before, by cost, number and room, has at least as much room from every size on."""
    room = np.cumsum((combos * np.array(rooms, dtype=np.int64))[:, ::-1], axis=1)[:, ::-1]
    cost = combos @ np.array(costs, dtype=np.int64)
    keys = (*combos.T[::-1], *(-room.T)[::-1], combos.sum(axis=1), cost)
    ranked = np.lexsort(keys)
    kept: list[int] = []
    seen = np.empty_like(room)
    for row in ranked.tolist():
        if not (seen[: len(kept)] >= room[row]).all(axis=1).any():
            seen[len(kept)] = room[row]
            kept.append(row)
    return combos[kept]


def best_fill(errors: Any, fills: Sequence[int], usual: int) -> int:
    """Index of the fill with the least error; of the longest run of equals the one nearest to the usual.

    A quarter of the run is left free at either end: fills near the end of what the weeks allow are the
    first that the next week refutes.
    """
    least = errors.min()
    runs: list[tuple[int, int]] = []
    for k in np.flatnonzero(errors <= least + 1e-9).tolist():
        if runs and runs[-1][1] == k - 1:
            runs[-1] = (runs[-1][0], k)
        else:
            runs.append((k, k))
    low, high = max(runs, key=lambda run: (run[1] - run[0], -run[0]))
    free = (high - low) // 4
    return min(range(low + free, high - free + 1), key=lambda k: (abs(fills[k] - usual), k))
