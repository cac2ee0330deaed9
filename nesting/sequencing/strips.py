"""One placement a strip: a piece is laid down once, its parallel scores are made, then it is broken by halves.

A heavy plate is moved once instead of once a cut, and every break is near the middle of what is in hand.
What comes off is cut up before the next break, so that little waits and little is taken up again.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ..plan import CutKind
from ..shop_table import TableWork
from .tree import Blank, Broken, Node
from .work import PieceKey, Work

Run = tuple[int, int]
"""First child and last (exclusive) of a part that a placement makes."""


def strip_order(work: Work, table: TableWork) -> list[Broken]:
    """The breaks of a sheet, placement by placement; where they belong to one they bear its number."""
    out = _Strips(work, table)
    out.piece(work.start(), 0)
    return out.order


@dataclass(slots=True)
class _Strips:
    work: Work
    table: TableWork
    order: list[Broken] = field(default_factory=list)
    placements: int = 0
    _needs: dict[PieceKey, int] = field(default_factory=dict)

    def piece(self, piece: PieceKey, waiting: int) -> None:
        """Cut a piece up while so many others wait."""
        number, i, j = piece
        node = self.work.tree.nodes[number]
        if isinstance(node, Blank):
            self.order.append((number, 0, 1, -1, 0))
            return
        trim = next((m for m in range(i + 1, j) if node.bounds[m - 1].kind is CutKind.TRIM), None)
        if trim is not None:
            self._parted(number, (i, trim), (trim, j), trim, 0, waiting)
            return
        runs = self._block(node, i, j)
        placement = 0
        if len(runs) > 2:
            self.placements += 1
            placement = self.placements
        self._halve(number, runs, placement, waiting)

    def _block(self, node: Node, i: int, j: int) -> list[Run]:
        """The parts that one placement makes: single children from a straight edge, and the rest as one."""
        scores = min(self.table.scores_a_placement, j - i - 1)
        if node.raw[0] and i == 0 and not (node.raw[1] and j == len(node.children)):
            return [(i, j - scores), *((k, k + 1) for k in range(j - scores, j))]
        return [*((k, k + 1) for k in range(i, i + scores)), (i + scores, j)]

    def _halve(self, number: int, runs: list[Run], placement: int, waiting: int) -> None:
        """Break the parts of a placement from each other, and cut up each as it comes off."""
        if len(runs) == 1:
            part = self.work.part(number, *runs[0])
            if part is not None:
                self.piece(part, waiting)
            return
        at = min(range(1, len(runs)), key=lambda k: (*self._judged(number, runs, k, waiting), k))
        low, high = runs[:at], runs[at:]
        self.order.append((number, runs[0][0], runs[-1][1], runs[at][0], placement))
        # what needs less room goes first, while the other waits
        parts = sorted((low, high), key=lambda part: (self._room(number, part), self._mass(number, part)))
        first, second = parts
        self._halve(number, first, placement, waiting + bool(self._room(number, second)))
        self._halve(number, second, placement, waiting)

    def _parted(self, number: int, low: Run, high: Run, at: int, placement: int, waiting: int) -> None:
        self.order.append((number, low[0], high[1], at, placement))
        parts = sorted(([low], [high]), key=lambda part: (self._room(number, part), self._mass(number, part)))
        first, second = parts
        self._halve(number, first, placement, waiting + bool(self._room(number, second)))
        self._halve(number, second, placement, waiting)

    def _judged(self, number: int, runs: list[Run], k: int, waiting: int) -> tuple[int, int]:
        """Pieces that wait beyond what may, then how far a break lies from the middle."""
        rooms = sorted((self._room(number, runs[:k]), self._room(number, runs[k:])))
        most = max(rooms[0] - 1 + bool(rooms[1]), rooms[1] - 1) if rooms[0] else rooms[1] - 1
        pos = self.work.tree.pos[number]
        far = abs(2 * pos[runs[k][0]] - pos[runs[0][0]] - pos[runs[-1][1]])
        return max(0, waiting + most - self.table.waiting), far

    def _mass(self, number: int, runs: list[Run]) -> int:
        return self.work.mass((number, runs[0][0], runs[-1][1]))

    def _room(self, number: int, runs: list[Run]) -> int:
        """Pieces on the table at most while these parts are cut up one from the other; 0 for nothing to do."""
        rooms = [self._need(part) for part in (self.work.part(number, *run) for run in runs) if part]
        if len(runs) == 1:
            return rooms[0] if rooms else 0
        # one comes off, the rest waits: the last has the table to itself
        rooms.sort()
        return max([1, *(r + 1 for r in rooms[:-1]), *rooms[-1:]])

    def _need(self, piece: PieceKey) -> int:
        known = self._needs.get(piece)
        if known is None:
            number, i, j = piece
            node = self.work.tree.nodes[number]
            known = 1
            if isinstance(node, Node):
                known = self._room(number, [(k, k + 1) for k in range(i, j)])
            self._needs[piece] = known
        return known
