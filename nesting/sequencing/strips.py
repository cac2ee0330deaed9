"""One placement a strip: a piece is laid down once, its parallel scores are made, then it is broken by halves.

A heavy plate is moved once instead of once a cut, scores are broken at once, and every break is near the
middle of what lies there. What is still to be cut waits: a placement makes no more of that than may wait,
and the lightest goes first, so that the most waits while the least is needed.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ..plan import CutKind
from ..shop_table import TableWork
from .rack_order import RackOrder
from .tree import Blank, Broken, Node
from .work import PieceKey, Work

Run = tuple[int, int]
"""First child and last (exclusive) of a part that a placement makes."""


def strip_order(work: Work, table: TableWork, racks: RackOrder | None = None) -> list[Broken]:
    """The breaks of a sheet, placement by placement; where they belong to one they bear its number.

    With `racks` the parts of a placement are broken off from its ends, and taken, as their panels are needed. That
    does not always keep the order of the racks.
    """
    out = _Strips(work, table, racks)
    out.piece(work.start(), 0)
    return out.order


@dataclass(slots=True)
class _Strips:
    work: Work
    table: TableWork
    racks: RackOrder | None = None
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
            runs = [(i, trim), (trim, j)]
        else:
            runs = self._block(node, number, i, j, waiting)
        placement = 0
        if len(runs) > 2:
            self.placements += 1
            placement = self.placements
        self._halve(number, runs, placement)
        todo = self._todo(number, runs)
        for done, part in enumerate(todo):
            self.piece(part, waiting + len(todo) - done - 1)

    def _todo(self, number: int, runs: list[Run]) -> list[PieceKey]:
        """What is still to be cut, in the order in which it is taken: what needs little room first."""
        parts = [p for p in (self.work.part(number, a, b) for a, b in runs) if p is not None]
        racks = self.racks
        if racks is not None:
            parts.sort(key=lambda p: racks.turn(*p))
            return parts
        return sorted(parts, key=lambda p: (self._need(p), self.work.mass(p), p))

    def _block(self, node: Node, number: int, i: int, j: int, waiting: int) -> list[Run]:
        """The parts that one placement makes: single children from a straight edge, and the rest as one."""
        best: list[Run] = []
        for scores in range(1, min(self.table.scores_a_placement, j - i - 1) + 1):
            runs = _runs(node, i, j, scores)
            if best and waiting + self._room(number, runs) - 1 > self.table.waiting:
                continue
            best = runs
        if len(best) == 2 and waiting + self._room(number, best) - 1 > self.table.waiting:
            return min(_parted(node, i, j), key=lambda runs: self._room(number, runs))
        return best

    def _room(self, number: int, runs: list[Run]) -> int:
        """Pieces still to be cut that lie on the table at most, from the breaks of these parts on."""
        needs = sorted(self._need(p) for p in self._todo(number, runs))
        return max([1, len(needs), *(need + len(needs) - k - 1 for k, need in enumerate(needs))])

    def _need(self, piece: PieceKey) -> int:
        """The same of a piece by itself, where every part is taken off alone, and the piece itself."""
        known = self._needs.get(piece)
        if known is None:
            number, i, j = piece
            node = self.work.tree.nodes[number]
            known = 1
            if isinstance(node, Node):
                known = min(self._room(number, runs) for runs in _parted(node, i, j))
            self._needs[piece] = known
        return known

    def _halve(self, number: int, runs: list[Run], placement: int) -> None:
        """Break the parts of a placement from each other, always nearest to the middle."""
        if len(runs) < 2:
            return
        pos = self.work.tree.pos[number]
        if self.racks is None:
            middle = pos[runs[0][0]] + pos[runs[-1][1]]
            at = min(range(1, len(runs)), key=lambda k: (abs(2 * pos[runs[k][0]] - middle), k))
        else:
            low, high = self.racks.turn(number, *runs[0]), self.racks.turn(number, *runs[-1])
            at = 1 if low <= high else len(runs) - 1
        self.order.append((number, runs[0][0], runs[-1][1], runs[at][0], placement))
        self._halve(number, runs[:at], placement)
        self._halve(number, runs[at:], placement)


def _runs(node: Node, i: int, j: int, scores: int) -> list[Run]:
    """So many children from an edge that is straight already, and the rest as one part."""
    if node.raw[0] and i == 0 and not (node.raw[1] and j == len(node.children)):
        return [(i, j - scores), *((k, k + 1) for k in range(j - scores, j))]
    return [*((k, k + 1) for k in range(i, i + scores)), (i + scores, j)]


def _parted(node: Node, i: int, j: int) -> list[list[Run]]:
    """All ways to break a piece in two, the first child off first."""
    trim = next((m for m in range(i + 1, j) if node.bounds[m - 1].kind is CutKind.TRIM), None)
    return [[(i, m), (m, j)] for m in (range(i + 1, j) if trim is None else [trim])]
