"""Sheets filled without waste, from composites of whole edges, and the best choice among them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .shapes import Filled, Placed, Score, Shape, SheetSize, Slivers, area
from .whole_edges import COLUMNS, CORNERS, EDGE_A, EDGE_B, MOST_PARTS, PARTS, ROOM, STEP, A, B, join_all

MOST_COMPOSITES = 60_000
MOST_WORK = 40_000_000
MOST_WHOLE = 2_000

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Turn = tuple[float, float, float, float]
"""Cosine, sine and shift of a placement."""


class Composites:
    """All joins of whole edges of some panels, as far as the limits of memory and work go.

    Parameters
    ----------
    shapes, demand, sheets, slivers
        See `shapes`.
    near
        How equal the lengths of joined edges must be. [mm]
    """

    def __init__(
        self, shapes: list[Shape], demand: Ints, sheets: list[SheetSize], slivers: Slivers, near: float = 1e-6
    ) -> None:
        self.shapes, self.sheets = shapes, sheets
        most = MOST_COMPOSITES
        self.facts = np.zeros((most, COLUMNS), np.int64)
        self.parts = np.zeros((most, MOST_PARTS), np.int32)
        self.xs, self.ys = np.zeros((most, ROOM)), np.zeros((most, ROOM))
        turn, size = np.zeros((most, 2)), np.zeros(most)
        seeds = 0
        for s, shape in enumerate(shapes):
            if not demand[s]:
                continue
            for mirrored in (0, 1) if shape.mirror else (0,):
                p = _as_seed(shape, mirrored)
                n = len(p)
                self.facts[seeds, [A, B, EDGE_A, CORNERS, STEP, PARTS]] = s, mirrored, -1, n, shape.step, 1
                self.parts[seeds, 0] = s
                self.xs[seeds, :n], self.ys[seeds, :n] = p[:, 0], p[:, 1]
                turn[seeds, 0] = 1.0
                size[seeds] = area(p)
                seeds += 1
        codes = np.random.Generator(np.random.PCG64(20270303)).integers(0, 2**64, len(shapes), np.uint64)
        whole = np.zeros((MOST_WHOLE, 3), np.int64)
        work = np.zeros(1, np.int64)
        self.count, found = join_all(
            seeds,
            self.facts,
            self.parts,
            self.xs,
            self.ys,
            turn,
            size,
            demand,
            codes,
            np.array([[s.width, s.height] for s in sheets]),
            slivers.longest or 0.0,
            near,
            np.zeros(1 << 18, np.uint64),
            np.full(1 << 17, -1, np.int64),
            np.zeros(most * 6, np.int64),
            np.zeros(most * 6, np.int64),
            whole,
            work,
            MOST_WORK,
        )
        self.work = int(work[0])
        self._whole = whole[:found]

    def whole(self) -> list[Filled]:
        """The sheets that are filled without waste; of those that use the same panels one."""
        seen: set[tuple[int, tuple[int, ...]]] = set()
        out = []
        for row, sheet, edge in self._whole.tolist():
            key = (sheet, tuple(self.parts[row, : self.facts[row, PARTS]].tolist()))
            if key not in seen:
                seen.add(key)
                out.append(self._filled(row, sheet, edge))
        return out

    def _filled(self, row: int, sheet: int, edge: int) -> Filled:
        """The composite laid on its sheet with this edge along the lower side; scores from the outside in."""
        following = (edge + 1) % 4
        ex, ey = self.xs[row, following] - self.xs[row, edge], self.ys[row, following] - self.ys[row, edge]
        length = float(np.hypot(ex, ey))
        c, s = float(ex) / length, -float(ey) / length
        x, y = float(self.xs[row, edge]), float(self.ys[row, edge])
        stack: list[tuple[int, int, Turn]] = [(row, 0, (c, s, -(c * x - s * y), -(s * x + c * y)))]
        placed: list[Placed] = []
        scores: list[Score] = []
        pieces: list[int] = []
        total = 0.0
        while stack:
            at, piece, turn = stack.pop()
            facts = self.facts[at]
            corners = _moved(np.column_stack((self.xs[at], self.ys[at]))[: facts[CORNERS]], turn)
            if facts[EDGE_A] < 0:
                placed.append(Placed(int(facts[A]), bool(facts[B]), corners))
                pieces.append(piece)
                total += area(corners)
                continue
            a, b, i, j = (int(facts[k]) for k in (A, B, EDGE_A, EDGE_B))
            na, nb = int(self.facts[a, CORNERS]), int(self.facts[b, CORNERS])
            pa = _moved(np.column_stack((self.xs[a], self.ys[a]))[:na], turn)
            pb = np.column_stack((self.xs[b], self.ys[b]))[:nb]
            start, end = pa[i], pa[(i + 1) % na]
            scores.append(Score(piece, (float(start[0]), float(start[1])), (float(end[0]), float(end[1]))))
            stack.append((a, piece, turn))
            stack.append((b, len(scores), _onto(pb[j], pb[(j + 1) % nb], end, start)))
        size = self.sheets[sheet]
        return Filled(sheet, size.width, size.height, tuple(placed), tuple(scores), tuple(pieces), total)


def _as_seed(shape: Shape, mirrored: int) -> Floats:
    return (shape.corners * (-1.0, 1.0))[::-1].copy() if mirrored else shape.corners


def _moved(p: Floats, turn: Turn) -> Floats:
    c, s, x, y = turn
    return np.column_stack((c * p[:, 0] - s * p[:, 1] + x, s * p[:, 0] + c * p[:, 1] + y))


def _onto(p: Floats, q: Floats, start: Floats, end: Floats) -> Turn:
    """The turn and shift that lay the edge from p to q along that from start to end."""
    mx, my, lx, ly = (
        float(q[0] - p[0]),
        float(q[1] - p[1]),
        float(end[0] - start[0]),
        float(end[1] - start[1]),
    )
    size = float(np.hypot(mx, my) * np.hypot(lx, ly))
    c, s = (mx * lx + my * ly) / size, (mx * ly - my * lx) / size
    x, y = float(p[0]), float(p[1])
    return c, s, float(start[0]) - (c * x - s * y), float(start[1]) - (s * x + c * y)
