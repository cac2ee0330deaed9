"""Parts of the demand: the variants that can serve it, found without looking at all the others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from .instance import Instance

FEW = 4000
"""Up to so many variants a look at all of them is quicker than the index."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of the demand and what can serve it, numbered afresh; built once for several calls.

    Parameters
    ----------
    types, rects
        Indexes of its types and rectangles in the instance, rising.
    vw, vh, vrect
        (2, V) width, height and rectangle (in this part) of each variant by frame.
    uptr, utype, ucount
        Which types (of this part) a rectangle uses up.
    rect_area
        Of each rectangle. [search units squared]
    demand
        Of each type.
    codes
        Random code of each type.
    area
        Least area of the demand. [search units squared]
    """

    types: Any
    rects: Any
    vw: Any
    vh: Any
    vrect: Any
    uptr: Any
    utype: Any
    ucount: Any
    rect_area: Any
    type_area: Any
    demand: Any
    codes: Any
    area: int

    def without(self, uses: Mapping[int, int]) -> Part:
        """What is left when this much of each type (of the instance) is placed.

        The cost does not depend on the size of the instance. Types that run out keep their number;
        the variants that need them go.
        """
        demand = self.demand.copy()
        gone = False
        area = self.area
        for t, count in uses.items():
            k = int(np.searchsorted(self.types, t))
            demand[k] -= count
            area -= count * int(self.type_area[k])
            gone = gone or demand[k] == 0
        if not gone:
            return replace(self, demand=demand, area=area)
        usable = np.minimum.reduceat(demand[self.utype], self.uptr[:-1]) > 0
        keep = [usable[self.vrect[f]] for f in (0, 1)]

        def kept(table: Any) -> Any:
            return np.stack([table[f][keep[f]] for f in (0, 1)])

        return replace(
            self, vw=kept(self.vw), vh=kept(self.vh), vrect=kept(self.vrect), demand=demand, area=area
        )

    def has(self, kind: int) -> bool:
        """Whether it holds this type of the instance."""
        k = int(np.searchsorted(self.types, kind))
        return k < len(self.types) and int(self.types[k]) == kind

    @property
    def live(self) -> int:
        """Number of types still in demand."""
        return int(np.count_nonzero(self.demand))


def _ranges(starts: Any, ends: Any) -> Any:
    """The whole numbers of all these ranges, one range after another."""
    sizes = ends - starts
    before = np.cumsum(sizes) - sizes
    return np.repeat(starts - before, sizes) + np.arange(int(sizes.sum()))


class Index:
    """From types to rectangles to variants, so that a part costs what it holds.

    Parameters
    ----------
    instance
        Whose variants these are.
    """

    def __init__(self, instance: Instance) -> None:
        arrays = instance.arrays
        self._arrays = arrays
        self._type_area = np.array(instance.type_area, dtype=np.int64)
        rects, types = len(instance.rects), len(instance.types)
        of_use = np.repeat(np.arange(rects), np.diff(arrays.uptr))
        order = np.argsort(arrays.utype, kind="stable")
        self._rect_of = of_use[order]
        self._type_start = np.searchsorted(arrays.utype[order], np.arange(types + 1))
        # one use each, and numbered as the types are
        self._single = bool(len(of_use) == rects and (np.diff(arrays.utype) >= 0).all())
        self._at = [np.argsort(arrays.vrect[f], kind="stable") for f in (0, 1)]
        self._rect_start = [
            np.searchsorted(arrays.vrect[f][self._at[f]], np.arange(rects + 1)) for f in (0, 1)
        ]

    def part(self, demand: Sequence[int] | Mapping[int, int]) -> Part:
        """The variants that this demand can use: one number a type, or a mapping of types to numbers."""
        arrays = self._arrays
        if isinstance(demand, Mapping):
            types = np.array(sorted(t for t, c in demand.items() if c), dtype=np.int64)
            numbers = np.array([demand[t] for t in types.tolist()], dtype=np.int64)
        else:
            full = np.asarray(demand, dtype=np.int64)
            types = np.flatnonzero(full)
            numbers = full[types]
        rects = self._rect_of[_ranges(self._type_start[types], self._type_start[types + 1])]
        if self._single:
            utype, uptr = np.searchsorted(types, arrays.utype[rects]), np.arange(len(rects) + 1)
            ucount = arrays.ucount[rects]
        else:
            rects = np.unique(rects)
            # a rectangle may be used only if all it uses up is in demand
            utype, uptr, _ = self._uses(rects, types)
            rects = rects[np.minimum.reduceat(utype, uptr[:-1]) >= 0]
            utype, uptr, ucount = self._uses(rects, types)
        at = [self._variants(f, rects) for f in (0, 1)]
        size = (2, len(at[0]))
        vw, vh, vrect = (np.empty(size, dtype=np.int64) for _ in range(3))
        for f in (0, 1):
            arrays.vw[f].take(at[f], out=vw[f])
            arrays.vh[f].take(at[f], out=vh[f])
            vrect[f] = np.searchsorted(rects, arrays.vrect[f].take(at[f]))
        return Part(
            types=types,
            rects=rects,
            vw=vw,
            vh=vh,
            vrect=vrect,
            uptr=uptr,
            utype=utype,
            ucount=ucount,
            rect_area=arrays.area[rects],
            type_area=self._type_area[types],
            demand=numbers.astype(np.int32),
            codes=arrays.codes[types],
            area=int(self._type_area[types] @ numbers),
        )

    def _variants(self, frame: int, rects: Any) -> Any:
        """Where the variants of these rectangles stand, rising."""
        if len(self._at[frame]) <= FEW:
            wanted = np.zeros(len(self._rect_start[frame]), dtype=np.bool_)
            wanted[rects] = True
            return np.flatnonzero(wanted[self._arrays.vrect[frame]])
        start = self._rect_start[frame]
        return np.sort(self._at[frame][_ranges(start[rects], start[rects + 1])])

    def _uses(self, rects: Any, types: Any) -> tuple[Any, Any, Any]:
        """Types, by their number in `types` or -1, where each rectangle's begin, and how many of each."""
        starts, ends = self._arrays.uptr[rects], self._arrays.uptr[rects + 1]
        where = _ranges(starts, ends)
        wanted = self._arrays.utype[where]
        local = np.minimum(np.searchsorted(types, wanted), len(types) - 1)
        local[types[local] != wanted] = -1
        uptr = np.zeros(len(rects) + 1, dtype=np.int64)
        uptr[1:] = np.cumsum(ends - starts)
        return local.astype(np.int64), uptr, self._arrays.ucount[where]
