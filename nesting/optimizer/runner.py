"""Calls of the kernel for a part of the demand, with counted nodes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .instance import Instance
from .kernel import beam_broken, beam_plain
from .pattern import Pattern, decode


@dataclass(slots=True)
class Counter:
    """Nodes of the tree search spent so far."""

    nodes: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """The variants that a part of the demand can use; built once for several calls."""

    vw: Any
    vh: Any
    vrect: Any
    utype: Any
    demand: Any
    codes: Any
    area: int


class Runner:
    """The kernel bound to one instance.

    Parameters
    ----------
    instance
        What to cut.
    counter
        Receives the nodes of every call.
    """

    def __init__(self, instance: Instance, counter: Counter) -> None:
        self.instance = instance
        self.counter = counter
        self._kernel = beam_broken if instance.break_out > 0 else beam_plain
        self._values: dict[float, Any] = {}
        self.type_area = instance.type_area
        self._by_area: Any = None
        self._rank: Any = None

    def value(self, exponent: float) -> Any:
        """Value of every rectangle: its area to the power of `exponent`, scaled to about 1."""
        if exponent not in self._values:
            area = self.instance.arrays.area.astype(np.float64)
            self._values[exponent] = (area / area.max()) ** exponent
        return self._values[exponent]

    def part(self, demand: Any, most: int | None = None) -> Part:
        """Restrict the instance to the types in demand.

        Parameters
        ----------
        demand
            Panels of each type.
        most
            Where more types than this are in demand, only so many are taken: a quarter of them the
            largest, which are the hardest to place late, the others spread evenly over all sizes.
        """
        arrays = self.instance.arrays
        full = np.asarray(demand, dtype=np.int64)
        present = np.flatnonzero(full)
        if most is not None and len(present) > most:
            present = self._spread(present, most)
            some = np.zeros_like(full)
            some[present] = full[present]
            full = some
        local = np.full(len(full), -1, dtype=np.int64)
        local[present] = np.arange(len(present))
        utype = local[arrays.utype]
        # a rectangle may be used only if all it uses up is in demand
        usable = np.minimum.reduceat(utype, arrays.uptr[:-1]) >= 0
        frames = [np.flatnonzero(usable[arrays.vrect[f]]) for f in (0, 1)]
        return Part(
            vw=np.stack([arrays.vw[f][frames[f]] for f in (0, 1)]),
            vh=np.stack([arrays.vh[f][frames[f]] for f in (0, 1)]),
            vrect=np.stack([arrays.vrect[f][frames[f]] for f in (0, 1)]),
            utype=utype,
            demand=full[present].astype(np.int32),
            codes=arrays.codes[present],
            area=sum(self.type_area[t] * int(full[t]) for t in present),
        )

    def _spread(self, present: Any, most: int) -> Any:
        """Some of the types: the largest, and others at even steps of rank by area."""
        if self._by_area is None:
            self._by_area = np.argsort(-np.array(self.type_area, dtype=np.int64), kind="stable")
            self._rank = np.empty_like(self._by_area)
            self._rank[self._by_area] = np.arange(len(self._by_area))
        ranked = np.sort(self._rank[present])
        large = most // 4
        rest = ranked[large:]
        steps = np.arange(most - large, dtype=np.int64) * len(rest) // (most - large)
        return np.sort(self._by_area[np.concatenate((ranked[:large], rest[steps]))])

    def run(
        self,
        part: Part,
        sequence: Sequence[int],
        *,
        value: Any,
        lean: float,
        width: int,
        frames: int = 3,
        fill: bool = False,
        levels: int | None = None,
    ) -> list[Pattern] | None:
        """One beam: the patterns of the sheets it used, or None where it found no whole plan.

        Parameters
        ----------
        part
            Demand to place (as much of it as pays, with `fill`).
        sequence
            Indexes of the stock sizes, in the order in which sheets are opened.
        value
            Of every rectangle.
        lean
            Constant of the guide.
        width
            Of the beam.
        frames
            Bit 0: first cut vertical; bit 1: horizontal.
        fill
            Fill the one sheet of the sequence with most value.
        levels
            Default: as deep as the rules allow.
        """
        inst = self.instance
        arrays = inst.arrays
        seq = inst.sequence(sequence)
        room = sum(inst.sheets[k].area for k in sequence)
        limit = room - part.area + 1 if not fill else 2**62
        moves, nodes = self._kernel(
            seq,
            part.vw,
            part.vh,
            part.vrect,
            arrays.uptr,
            part.utype,
            arrays.ucount,
            arrays.area,
            value,
            part.demand,
            part.codes,
            inst.break_out,
            levels or inst.levels,
            int(inst.exact),
            frames,
            fill,
            width,
            lean,
            limit,
        )
        self.counter.nodes += int(nodes)
        if len(moves) == 0:
            return None
        return decode(moves, sequence, inst, (part.vw, part.vh))
