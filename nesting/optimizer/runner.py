"""Calls of the kernel for a part of the demand, with counted nodes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .instance import Instance
from .kernel import beam_broken, beam_limited, beam_plain
from .parts import Index, Part
from .pattern import Pattern, decode

MANY = 400
"""Variants up to which the kernel makes every child of a node."""
SOME = 32
"""Children of a kind that it makes beyond that, and more where they fit better."""


@dataclass(slots=True)
class Counter:
    """Nodes of the tree search spent so far."""

    nodes: int = 0


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
        if instance.ruled:
            self._kernel = beam_limited
        self._index = Index(instance)
        self._values: dict[float, Any] = {}
        self.type_area = instance.type_area

    def value(self, exponent: float) -> Any:
        """Value of every rectangle: its area to the power of `exponent`, scaled to about 1."""
        if exponent not in self._values:
            area = self.instance.arrays.area.astype(np.float64)
            self._values[exponent] = (area / area.max()) ** exponent
        return self._values[exponent]

    def part(self, demand: Sequence[int] | Mapping[int, int]) -> Part:
        """Restrict the instance to the types in demand (see `Index.part`)."""
        return self._index.part(demand)

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
        seq = inst.sequence(sequence)
        room = sum(inst.sheets[k].area for k in sequence)
        limit = room - part.area + 1 if not fill else 2**62
        moves, nodes = self._kernel(
            seq,
            part.vw,
            part.vh,
            part.vrect,
            part.uptr,
            part.utype,
            part.ucount,
            part.rect_area,
            value[part.rects],
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
            MANY,
            SOME,
        )
        self.counter.nodes += int(nodes)
        if len(moves) == 0:
            return None
        moves[:, 1] = part.rects[moves[:, 1]]
        return decode(moves, sequence, inst, (part.vw, part.vh))
