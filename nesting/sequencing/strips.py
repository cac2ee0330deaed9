"""One placement a strip: a piece is laid down once, its parallel scores are made, then it is broken by halves.

A heavy plate is moved once instead of once a cut, and every break is near the middle of what is in hand.
What is still to be cut waits; the smallest goes first, so that the most waits while the least is needed.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ..plan import CutKind
from ..shop_table import TableWork
from .tree import Blank, Broken, Node
from .work import PieceKey, Work


def strip_order(work: Work, table: TableWork) -> list[Broken]:
    """The breaks of a sheet, placement by placement."""
    out = _Strips(work, table)
    out.piece(work.start(), 0)
    return out.order


@dataclass(slots=True)
class _Strips:
    work: Work
    table: TableWork
    order: list[Broken] = field(default_factory=list)

    def piece(self, piece: PieceKey, waiting: int) -> None:
        """Cut a piece up while so many others wait."""
        number, i, j = piece
        node = self.work.tree.nodes[number]
        if isinstance(node, Blank):
            self.order.append((number, 0, 1, -1))
            return
        trim = next((m for m in range(i + 1, j) if node.bounds[m - 1].kind is CutKind.TRIM), None)
        if trim is not None:
            self.order.append((number, i, j, trim))
            self._rest(self._open(number, [(i, trim), (trim, j)]), waiting)
            return
        runs = self._block(node, number, i, j, waiting)
        self._halve(number, runs, 0, len(runs), waiting)
        self._rest(self._open(number, runs), waiting)

    def _rest(self, open_pieces: list[PieceKey], waiting: int) -> None:
        """Cut up what is left of a piece, the lightest first; equal ones in their order."""
        todo = sorted(open_pieces, key=lambda p: (self.work.mass(p), p))
        for done, part in enumerate(todo):
            self.piece(part, waiting + len(todo) - done - 1)

    def _open(self, number: int, runs: list[tuple[int, int]]) -> list[PieceKey]:
        parts = [self.work.part(number, a, b) for a, b in runs]
        return [p for p in parts if p is not None]

    def _block(self, node: Node, number: int, i: int, j: int, waiting: int) -> list[tuple[int, int]]:
        """The parts that one placement makes: single children from a straight edge, and the rest as one."""
        from_high = node.raw[0] and i == 0 and not (node.raw[1] and j == len(node.children))
        best: list[tuple[int, int]] = []
        for scores in range(1, min(self.table.scores_a_placement, j - i - 1) + 1):
            if from_high:
                runs = [(i, j - scores), *((k, k + 1) for k in range(j - scores, j))]
            else:
                runs = [*((k, k + 1) for k in range(i, i + scores)), (i + scores, j)]
            if best and waiting + len(self._open(number, runs)) - 1 > self.table.waiting:
                break
            best = runs
        return best

    def _halve(self, number: int, runs: list[tuple[int, int]], a: int, b: int, waiting: int) -> None:
        """Break runs a to b of a placement, nearest to the middle where another piece may wait."""
        if b - a < 2:
            return
        at = min(
            range(a + 1, b),
            key=lambda k: (self._over(number, runs, a, k, b, waiting), self._far(number, runs, a, k, b), k),
        )
        self.order.append((number, runs[a][0], runs[b - 1][1], runs[at][0]))
        # the part that is done sooner goes first, so that the other waits alone
        first, second = ((a, at), (at, b)) if at - a <= b - at else ((at, b), (a, at))
        more = self._needs(number, runs, *second)
        self._halve(number, runs, *first, waiting + int(more))
        self._halve(number, runs, *second, waiting + len(self._open(number, runs[first[0] : first[1]])))

    def _needs(self, number: int, runs: list[tuple[int, int]], a: int, b: int) -> bool:
        return b - a > 1 or bool(self._open(number, runs[a:b]))

    def _over(self, number: int, runs: list[tuple[int, int]], a: int, k: int, b: int, waiting: int) -> bool:
        both = self._needs(number, runs, a, k) and self._needs(number, runs, k, b)
        return both and waiting + 1 > self.table.waiting

    def _far(self, number: int, runs: list[tuple[int, int]], a: int, k: int, b: int) -> int:
        pos = self.work.tree.pos[number]
        return abs(2 * pos[runs[k][0]] - pos[runs[a][0]] - pos[runs[b - 1][1]])
