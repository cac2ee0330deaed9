"""Fewer open orders on the mean: units are moved while that helps and the most open at once stays.

A unit that goes past its neighbour changes the number of open orders at these two places only. So one unit
is tried at every place with one look at two bit sets for each.
"""

from __future__ import annotations

from collections.abc import Sequence

from .deadlines import Deadlines

ROUNDS = 60
"""Rounds over all units at most."""


class Descent:
    """Moves units of sheets.

    Parameters
    ----------
    masks
        Orders on each unit, as bit sets.
    sizes
        Sheets of each unit.
    begun
        Orders that are open at the start.
    most
        Orders that may be open at once.
    due
        Limits that are kept, or None.
    """

    def __init__(
        self, masks: Sequence[int], sizes: Sequence[int], begun: int, most: int, due: Deadlines | None
    ) -> None:
        self.masks, self.sizes, self.begun, self.most, self.due = masks, sizes, begun, most, due

    def run(self, order: Sequence[int], rounds: int = ROUNDS) -> list[int]:
        """An order with no more open orders on the mean, from which no single move leads to fewer."""
        best = list(order)
        for _ in range(rounds):
            moved = False
            for u in list(best):
                found = self._moved(best, u)
                if found is not None:
                    best, moved = found, True
            if not moved:
                break
        return best

    def _moved(self, order: list[int], u: int) -> list[int] | None:
        """The order with the unit where it serves best, or None where it stays."""
        masks, sizes = self.masks, self.sizes
        at = order.index(u)
        rest = order[:at] + order[at + 1 :]
        before = [self.begun]
        for v in rest:
            before.append(before[-1] | masks[v])
        after = [0]
        for v in reversed(rest):
            after.append(after[-1] | masks[v])
        after.reverse()
        mine, size = masks[u], sizes[u]
        # sums and the most, from the left with the unit still ahead, from the right with it behind
        sums, tops = [0], [0]
        total = top = 0
        for i, v in enumerate(rest):
            n = (before[i + 1] & (masks[v] | after[i + 1] | mine)).bit_count()
            total += n * sizes[v]
            top = max(top, n)
            sums.append(total)
            tops.append(top)
        total = top = 0
        for i in range(len(rest), -1, -1):
            if i < len(rest):
                v = rest[i]
                n = ((before[i] | masks[v] | mine) & (masks[v] | after[i + 1])).bit_count()
                total += n * sizes[v]
                top = max(top, n)
            here = ((before[i] | mine) & (after[i] | mine)).bit_count()
            sums[i] += total + here * size
            tops[i] = max(tops[i], top, here)
        now = sums[at]
        places = sorted((n, k) for k, n in enumerate(sums) if n < now and tops[k] <= self.most)
        for _, k in places:
            trial = [*rest[:k], u, *rest[k:]]
            if self.due is None or self.due.kept_by(trial):
                return trial
        return None
