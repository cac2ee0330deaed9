"""The second engine of angled orders: polygons nested in free regions, its sheets as patterns.

What it lays on a sheet, rectangles included, becomes one blank the size of a sheet with shape cuts alone.
Where most of the glass is angled this fills sheets better than groups in rectangles do; the search offers
both to one keeper of plans, and the better plan wins.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot

import numpy as np

from ..angled.cluster import NM, QUARTERS, Kind, Part, kind_of, laid
from ..angled.placing import blank_around
from ..blanks import Blank
from ..free_regions.nest import Nest
from ..free_regions.shapes import MOST_CORNERS, Filled, Placed, Shape, SheetSize, Slivers
from ..outlines import area2
from . import moves as m
from .instance import Instance, Rect
from .limits import obeys
from .pattern import Column, Item, Pattern, Row, Staged, Strip

MOSTLY = 0.4
"""Part of the area of an order from which on its angled panels are nested as polygons."""
MOST = 600
"""Panels beyond which they are not."""


def worth_nesting(instance: Instance, demand: Sequence[int]) -> bool:
    """Whether enough of an order is angled, and nothing forbids nesting it as polygons."""
    total = angled = 0
    for t, n in enumerate(demand):
        if n:
            kind = instance.types[t]
            if kind.joint or kind.panels[0].from_stock is not None or len(kind.panels[0].cut) > MOST_CORNERS:
                return False
            area = n * area2(kind.panels[0].cut)
            total += area
            angled += area if kind.angled else 0
    return 0 < sum(demand) <= MOST and angled >= MOSTLY * total and not instance.ruled


class Nested:
    """The engine for one instance.

    Parameters
    ----------
    instance
        What to cut; `found` is appended to its rectangles.
    demand
        Panels of each type.
    real
        Indexes of the stock that is there.
    seed
        Of what is drawn.
    """

    def __init__(self, instance: Instance, demand: Sequence[int], real: Sequence[int], seed: int) -> None:
        self.instance = instance
        self._types = [t for t, n in enumerate(demand) if n]
        self._kinds: list[Kind] = []
        shapes = []
        for t in self._types:
            panel = instance.types[t].panels[0]
            kind = kind_of(panel.cut, panel.turn, panel.mirror, demand[t])
            self._kinds.append(kind)
            shapes.append(Shape(kind.shape, 90 * kind.step, kind.flips and instance.types[t].angled))
        self._sheets = [k for k in real if min(instance.sheets[k].width, instance.sheets[k].height) > 0]
        rules, unit = instance.rules, instance.unit * NM
        sizes = [
            SheetSize(
                s.width * unit,
                s.height * unit,
                s.piece.cost,
                None if s.piece.buyable else s.piece.on_hand,
            )
            for s in (instance.sheets[k] for k in self._sheets)
        ]
        longest = [v for v in (rules.longest_cut, rules.longest_angled_cut) if v is not None]
        slivers = Slivers(
            rules.break_out * NM,
            rules.corner_depth * NM,
            rules.least_angle / 1000,
            min(longest) * NM if longest else None,
        )
        self._nest = Nest(shapes, [demand[t] for t in self._types], sizes, slivers, seed)
        self._made: dict[int, Pattern | None] = {}
        self._kept: list[Filled] = []
        self._blanks: dict[tuple[object, ...], int] = {}

    @property
    def steps(self) -> int:
        """Counted work so far. [steps of the engine]"""
        return self._nest.steps

    def plans(self) -> Iterator[list[Pattern] | None]:
        """A whole plan whenever one is found that is better than those before, else None; ends when done."""
        nest = self._nest
        nest.start()
        best: tuple[Filled, ...] = ()
        going = True
        while going:
            new = tuple(nest.best)
            if not nest.unplaced.any() and (
                len(new) != len(best) or any(a is not b for a, b in zip(new, best, strict=True))
            ):
                best = new
                yield self._plan(best)
            else:
                yield None
            going = nest.advance()
        new = tuple(nest.best)
        yield self._plan(new) if not nest.unplaced.any() else None

    def _plan(self, sheets: Sequence[Filled]) -> list[Pattern] | None:
        out = []
        for filled in sheets:
            pattern = self._pattern(filled)
            if pattern is None:
                return None
            out.append(pattern)
        return out

    def _pattern(self, filled: Filled) -> Pattern | None:
        """A filled sheet as a pattern; None where it cannot be cut exactly, or leaves too narrow a rest."""
        key = id(filled)
        if key not in self._made:
            self._kept.append(filled)  # so that no other is given its id
            self._made[key] = self._exact(filled)
        return self._made[key]

    def _exact(self, filled: Filled) -> Pattern | None:
        parts = [self._part(p) for p in filled.placed]
        blank = blank_around(parts, self._kinds, self.instance.rules)
        if blank is None:
            return None
        blank = blank.of_kinds(self._types)
        sheet = self._sheets[filled.sheet]
        for frame in (0, 1):
            pattern = self._staged(blank, sheet, frame)
            if pattern is not None:
                return pattern
        return None

    def _part(self, placed: Placed) -> Part:
        """Where a panel lies, from its longest edge."""
        kind = self._kinds[placed.shape]
        flat = laid(kind.shape, Part(placed.shape, placed.mirrored, 1.0, 0.0, 0.0, 0.0))
        there = placed.corners
        edges = [(hypot(*(flat[i] - flat[i - 1])), i) for i in range(len(flat))]
        _, i = max(edges)
        (ax, ay), (bx, by) = flat[i] - flat[i - 1], there[i] - there[i - 1]
        scale = hypot(ax, ay) * hypot(bx, by)
        c, s = (ax * bx + ay * by) / scale, (ax * by - ay * bx) / scale
        if kind.step:
            c, s = max(QUARTERS, key=lambda q: q[0] * c + q[1] * s)
        turned = flat @ np.array([[c, s], [-s, c]])
        x, y = np.mean(there - turned, axis=0)
        return Part(placed.shape, placed.mirrored, float(c), float(s), float(x), float(y))

    def _staged(self, blank: Blank, sheet: int, frame: int) -> Pattern | None:
        """The blank in the corner of the sheet; waste beyond it comes off by one cut on either side."""
        inst = self.instance
        unit = inst.unit
        if blank.width % unit or blank.height % unit:
            return None
        rect = self._rect(blank)
        w, h = blank.width // unit, blank.height // unit
        if frame == 1:
            w, h = h, w
        row = Row(h, False, (Column(w, (Item(rect, w, h),)),))
        pattern = Staged(sheet, frame, (Strip(w, False, (row,)),))
        length, depth = pattern.frame_size(inst)
        far_x, far_y = pattern.far_raw(inst)
        if w > length or h > depth:
            return None
        fits = m.ends_well(length - w, inst.break_out, int(far_x)) and m.ends_well(
            depth - h, inst.break_out, int(far_y)
        )
        return pattern if fits and obeys(pattern, inst) else None

    def _rect(self, blank: Blank) -> int:
        """The number of the rectangle that is this blank."""
        key = (blank.width, blank.height, blank.members)
        if key not in self._blanks:
            unit = self.instance.unit
            rect = Rect(
                width=blank.width // unit,
                height=blank.height // unit,
                turns=False,
                uses=blank.uses,
                blank=blank,
            )
            self._blanks[key] = self.instance.take_up(rect)
        return self._blanks[key]
