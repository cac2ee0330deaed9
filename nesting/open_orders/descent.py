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
        # with the unit at place k, those before it have it ahead of them and those behind it have it behind
        early = [((before[i + 1]) & (masks[v] | after[i + 1] | mine)).bit_count() for i, v in enumerate(rest)]
        late = [
            ((before[i] | masks[v] | mine) & (masks[v] | after[i + 1])).bit_count()
            for i, v in enumerate(rest)
        ]
        widths = [sizes[v] for v in rest]
        here = [((b | mine) & (a | mine)).bit_count() for b, a in zip(before, after, strict=True)]
        # sums and the most, from the left with the unit ahead and from the right with the unit behind
        sum_early, top_early = [0], [0]
        for n, w in zip(early, widths, strict=True):
            sum_early.append(sum_early[-1] + n * w)
            top_early.append(max(top_early[-1], n))
        sum_late, top_late = [0], [0]
        for n, w in zip(reversed(late), reversed(widths), strict=True):
            sum_late.append(sum_late[-1] + n * w)
            top_late.append(max(top_late[-1], n))
        sum_late.reverse()
        top_late.reverse()
        totals = [sum_early[k] + here[k] * size + sum_late[k] for k in range(len(order))]
        tops = [max(top_early[k], here[k], top_late[k]) for k in range(len(order))]
        places = sorted(
            (totals[k], k) for k in range(len(order)) if totals[k] < totals[at] and tops[k] <= self.most
        )
        for _, k in places:
            trial = [*rest[:k], u, *rest[k:]]
            if self.due is None or self.due.kept_by(trial):
                return trial
        return None
