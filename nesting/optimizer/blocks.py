"""Blocks: what the kernel for flawed sheets lays in one move, a rectangle or two of equal width upon one another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from typing import Any, Final

import numpy as np

from .instance import Instance

MOST_PAIRS: Final = 20_000
"""Pairs of an instance at most; with more only the largest are there."""


class Blocks:
    """All blocks of an instance in one frame, by falling height, then width.

    Parameters
    ----------
    instance
        Whose rectangles these are.
    frame
        0: first cut vertical; 1: horizontal.
    pairs
        Whether two rectangles may lie in one column.
    without
        Rectangles that are left out.

    Attributes
    ----------
    width, height, split
        Of each block; the height of the lower of two rectangles, 0 for one. [search units]
    rects, heights
        (B, 2) the rectangles from the bottom and their heights, -1 and 0 for none.
    uptr, utype, ucount
        Which demands a block uses up.
    area
        What its panels take. [search units squared]
    """

    def __init__(self, instance: Instance, frame: int, *, pairs: bool, without: Collection[int] = ()) -> None:
        arrays = instance.arrays
        banned = set(without)
        highest = max((s.height if frame == 0 else s.width for s in instance.sheets), default=0)
        singles = [
            (h, w, r)
            for w, h, r in zip(
                arrays.vw[frame].tolist(),
                arrays.vh[frame].tolist(),
                arrays.vrect[frame].tolist(),
                strict=True,
            )
            if r not in banned and h <= highest
        ]
        rows = [(h, w, r, -1, h, 0) for h, w, r in singles]
        if pairs:
            by_width: dict[int, list[tuple[int, int]]] = {}
            for h, w, r in singles:
                by_width.setdefault(w, []).append((h, r))
            two = [
                (a + b, w, r, q, a, b)
                for w, mine in sorted(by_width.items())
                for i, (a, r) in enumerate(mine)
                for b, q in mine[i:]
                if a + b <= highest and _enough(instance, r, q)
            ]
            two.sort(key=lambda row: (-row[0] * row[1], row))
            rows += two[:MOST_PAIRS]
        rows.sort(key=lambda row: (-row[0], -row[1], row[2:]))
        table = np.array(rows, dtype=np.int64).reshape(-1, 6)
        self.height, self.width = np.ascontiguousarray(table[:, 0]), np.ascontiguousarray(table[:, 1])
        self.rects, self.heights = np.ascontiguousarray(table[:, 2:4]), np.ascontiguousarray(table[:, 4:6])
        self.split = np.where(self.rects[:, 1] >= 0, self.heights[:, 0], 0)
        uses = [sorted(_uses(instance, r, q).items()) for _, _, r, q, _, _ in rows]
        self.uptr = np.zeros(len(rows) + 1, dtype=np.int64)
        self.uptr[1:] = np.cumsum([len(u) for u in uses])
        self.utype = np.array([t for u in uses for t, _ in u], dtype=np.int64)
        self.ucount = np.array([c for u in uses for _, c in u], dtype=np.int64)
        self._first = self.uptr.tolist()
        self.area = self._sum(arrays.area)

    def _sum(self, table: Any) -> Any:
        """Of a number for each rectangle that of each block."""
        if not len(self.width):
            return np.zeros(0, dtype=table.dtype)
        two = self.rects[:, 1] >= 0
        return table[self.rects[:, 0]] + np.where(two, table[self.rects[:, 1]], table.dtype.type(0))

    def value(self, value: Any) -> Any:
        """Of the value of each rectangle that of each block."""
        return self._sum(value)

    def uses(self, laid: Any, types: int) -> Any:
        """Panels of each of so many types in blocks."""
        out = np.zeros(types, dtype=np.int64)
        for b in laid.tolist():
            for k in range(self._first[b], self._first[b + 1]):
                out[self.utype[k]] += self.ucount[k]
        return out

    def live(self, demand: Any) -> Any:
        """The blocks of which everything is in demand."""
        if not len(self.width):
            return np.zeros(0, dtype=np.int64)
        short = demand[self.utype] < self.ucount
        return np.flatnonzero(~np.logical_or.reduceat(short, self.uptr[:-1]))


def _uses(instance: Instance, r: int, q: int) -> Counter[int]:
    out = Counter(dict(instance.rects[r].uses))
    if q >= 0:
        out.update(dict(instance.rects[q].uses))
    return out


def _enough(instance: Instance, r: int, q: int) -> bool:
    return all(instance.demand[t] >= n for t, n in _uses(instance, r, q).items())
