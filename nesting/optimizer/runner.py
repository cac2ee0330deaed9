"""Calls of the kernel for a part of the demand, with counted nodes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .flawed import FlawedSheets, needs_room
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
        self._apart = [needs_room(instance, k) for k in range(len(instance.sheets))]
        self._flawed: FlawedSheets | None = None
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
        if any(self._apart[k] for k in sequence):
            return self._around_flaws(
                part, sequence, value=value, lean=lean, width=width, frames=frames, fill=fill, levels=levels
            )
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

    def _around_flaws(
        self, part: Part, sequence: Sequence[int], *, fill: bool, **how: Any
    ) -> list[Pattern] | None:
        """The same where some sheets have flaws: these one by one, each as full as can be, the rest at once.

        What is opened last takes all that is left.
        """
        inst = self.instance
        if not fill and sum(inst.sheets[k].area for k in sequence) < part.area:
            return None
        *others, last = sequence
        apart = [k for k in others if self._apart[k]]
        plain = [k for k in sequence if not self._apart[k]]
        if self._apart[last]:
            apart, plain = others, []
        out: list[Pattern] = []
        for k in [] if fill else apart:
            found = self.run(part, [k], fill=True, **how)
            if found:
                out += found
                part = part.without(found[0].uses(inst))
                if not part.live:
                    return out
        if plain:
            rest = self.run(part, plain, fill=fill, **how)
            return None if rest is None else out + rest
        pattern = self._one_flawed(part, last, whole=not fill, **how)
        return None if pattern is None else [*out, pattern]

    def _one_flawed(
        self,
        part: Part,
        sheet: int,
        *,
        whole: bool,
        value: Any,
        lean: float,
        width: int,
        frames: int,
        levels: int | None,
    ) -> Pattern | None:
        if self._flawed is None:
            self._flawed = FlawedSheets(self.instance)
        demand = np.zeros(len(self.instance.types), dtype=np.int64)
        demand[part.types] = part.demand
        found, nodes = self._flawed.fill(
            sheet, demand, value=value, lean=lean, width=width, frames=frames, whole=whole, levels=levels
        )
        self.counter.nodes += nodes
        return None if found is None else found.pattern
