"""One sheet filled by the beam over free regions, from tables of all shapes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .beam import NUMBER, PARENT, PIECE, PLACED, RECORD, SCORES, fill
from .children import ROOM
from .geometry import area_of, width_of
from .shapes import Filled, Placed, Score, Shape, SheetSize, Slivers
from .trial import BREAK_OUT, CORNER_DEPTH, COSINE, FAR_X, FAR_Y, LONGEST, RULES

_QUARTERS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """How a fill weighs what it leaves.

    Parameters
    ----------
    density
        What a large free region is worth, of its area.
    small, narrow
        Area and width at which a region is worth half, in parts of the mean panel's.
    power
        Of a panel's area in its value: above 1 large panels come first.
    noise
        Range of what is drawn and added to a child, in parts of the mean panel's area.
    boxes
        Whether sides of a panel's box may be scored first.
    beam, kept
        Nodes of a level, and most children of a node.
    """

    density: float = 0.8
    small: float = 0.1
    narrow: float = 0.1
    power: float = 1.1
    noise: float = 0.0
    boxes: bool = True
    beam: int = 4
    kept: int = 4


class Tables:
    """Shapes as the kernel wants them.

    A *variant* is a shape, turned over or not, seen from one of its edges (any angle), or turned by a
    multiple of its step. Rows of `table`: shape, turned over, corners, whether the turn is fixed, and the
    corner of the shape (turned over: of the reversed one) that is the first of the variant. Rows of
    `spans`: length of the edge, and how far the variant reaches along it and from it. [mm]
    """

    def __init__(self, shapes: list[Shape]) -> None:
        rows: list[tuple[int, int, int, int, int]] = []
        found: list[NDArray[np.float64]] = []
        first = [0]
        for s, shape in enumerate(shapes):
            mine: list[NDArray[np.float64]] = []
            for mirrored in (0, 1) if shape.mirror else (0,):
                p = shape.corners * (-1.0, 1.0) if mirrored else shape.corners
                p = p[::-1] if mirrored else p
                for i, turned in enumerate(_seen(p, shape.step)):
                    if any(_alike(turned, other, fixed=shape.step > 0) for other in mine):
                        continue
                    mine.append(turned)
                    rows.append((s, mirrored, len(p), int(shape.step > 0), 0 if shape.step else i))
            found += mine
            first.append(len(rows))
        self.table = np.array(rows, np.int64).reshape(-1, 5)
        self.corners = np.zeros((len(rows), 2, ROOM))
        for v, p in enumerate(found):
            self.corners[v, :, : len(p)] = p.T
        self.first = np.array(first, np.int64)
        self.spans = np.array(
            [(float(np.hypot(*(p[1] - p[0]))), float(np.ptp(p[:, 0])), float(p[:, 1].max())) for p in found]
        ).reshape(-1, 3)
        columns = [np.ascontiguousarray(shape.corners.T) for shape in shapes]
        self.sizes = np.array([area_of(p[0], p[1], p.shape[1]) for p in columns])
        self.widths = np.array([width_of(p[0], p[1], p.shape[1]) for p in columns])
        self.codes = np.random.Generator(np.random.PCG64(20270302)).integers(
            0, 2**64, len(shapes), np.uint64, endpoint=False
        )


def _seen(p: NDArray[np.float64], step: int) -> list[NDArray[np.float64]]:
    """The polygon seen from each edge (origin at its start, x along it), or turned by its steps."""
    if step:
        turns = _QUARTERS[:: step // 90] if step < 360 else _QUARTERS[:1]
        return [p @ np.array([[c, s], [-s, c]]) for c, s in turns]
    out = []
    for i in range(len(p)):
        e = p[(i + 1) % len(p)] - p[i]
        c, s = e / np.hypot(*e)
        out.append((np.roll(p, -i, axis=0) - p[i]) @ np.array([[c, -s], [s, c]]))
    return out


def _alike(p: NDArray[np.float64], q: NDArray[np.float64], *, fixed: bool) -> bool:
    """Whether two variants cover the same; corners of a fixed one may begin anywhere."""
    if len(p) != len(q):
        return False
    if not fixed:
        return bool(np.abs(p - q).max() < 1e-7)
    p, q = p - p.min(axis=0), q - q.min(axis=0)
    return any(bool(np.abs(p - np.roll(q, k, axis=0)).max() < 1e-7) for k in range(len(p)))


@dataclass(frozen=True, slots=True)
class Fill:
    """What one call of the kernel gave: how many of each shape, their area, and the sheet."""

    uses: NDArray[np.int64]
    area: float
    filled: Filled


class Filler:
    """Fills rooms of sheets; counts its work.

    Parameters
    ----------
    shapes, sheets, slivers
        See `shapes`.
    """

    def __init__(self, shapes: list[Shape], sheets: list[SheetSize], slivers: Slivers) -> None:
        self.tables, self.sheets, self.slivers = Tables(shapes), sheets, slivers
        self.work = np.zeros(1, np.int64)
        self._records = np.zeros((4096, RECORD + ROOM), np.int64)
        self._where = np.zeros((4096, 4, ROOM))

    def rules(self, width: float, height: float) -> NDArray[np.float64]:
        """The rules in a room as the kernel wants them."""
        s = self.slivers
        out = np.zeros(RULES)
        out[BREAK_OUT], out[CORNER_DEPTH] = s.break_out, s.corner_depth
        out[COSINE] = np.cos(np.radians(s.least_angle))
        out[LONGEST] = s.longest or 0.0
        out[FAR_X], out[FAR_Y] = width, height
        return out

    def fill(
        self,
        sheet: int,
        demand: NDArray[np.int64],
        guide: Guide,
        seed: int,
        *,
        weights: NDArray[np.float64] | None = None,
        wanted: NDArray[np.int64] | None = None,
        room: tuple[float, float] | None = None,
        strict: bool = False,
    ) -> Fill:
        """Fill a sheet, or a room of it, with panels of the most value.

        Parameters
        ----------
        sheet
            Index of the stock size.
        demand
            How many of each shape there are.
        guide, seed
            Of the beam.
        weights
            Of the value of each shape; None for one.
        wanted
            Which shapes may be taken; None for all.
        room
            Width and height; None for the whole sheet. [mm]
        strict
            Hold waste at the far sides to the sliver rules as well.
        """
        t = self.tables
        size = self.sheets[sheet]
        width, height = room or (size.width, size.height)
        asked = demand > 0 if wanted is None else (demand > 0) & (wanted > 0)
        if not asked.any():
            return Fill(np.zeros_like(demand), 0.0, Filled(sheet, width, height, ()))
        count = demand * asked
        mean = float(t.sizes @ count) / float(count.sum())
        mean_width = float(t.widths @ count) / float(count.sum())
        values = t.sizes * (t.sizes / mean) ** (guide.power - 1.0)
        if weights is not None:
            values = values * weights
        weighing = np.array(
            [
                t.sizes[asked].min() * (1 - 1e-9),
                t.widths[asked].min() * (1 - 1e-9),
                guide.small * mean,
                guide.narrow * mean_width,
                guide.density,
                float(guide.boxes),
            ]
        )
        last, _ = fill(
            width,
            height,
            demand,
            asked.astype(np.int64),
            values,
            t.table,
            t.corners,
            t.first,
            t.spans,
            t.sizes,
            self.rules(-1.0, -1.0) if strict else self.rules(width, height),
            weighing,
            guide.beam,
            guide.kept,
            guide.noise * mean,
            seed,
            t.codes,
            self._records,
            self._where,
            self.work,
        )
        return self._read(sheet, width, height, last)

    def _read(self, sheet: int, width: float, height: float, last: int) -> Fill:
        chain: list[int] = []
        while last >= 0:
            chain.append(last)
            last = int(self._records[last, PARENT])
        uses = np.zeros(len(self.tables.sizes), np.int64)
        placed: list[Placed] = []
        scores: list[Score] = []
        pieces: list[int] = []
        for r in reversed(chain):
            record: Any = self._records[r]
            s, mirrored, m, _, first = self.tables.table[int(record[PLACED])].tolist()
            lines = self._where[r]
            p = np.ascontiguousarray(lines[:2, :m].T)
            assert int(record[NUMBER]) == len(scores)
            for k in range(int(record[SCORES])):
                e = int(record[RECORD + k])
                ax, ay, bx, by = lines[:, e].tolist()
                scores.append(Score(int(record[PIECE]), (ax, ay), (bx, by)))
            placed.append(Placed(s, bool(mirrored), np.roll(p, first, axis=0)))
            pieces.append(int(record[PIECE]))
            uses[s] += 1
        size = float(uses @ self.tables.sizes)
        return Fill(
            uses, size, Filled(sheet, width, height, tuple(placed), tuple(scores), tuple(pieces), size)
        )
