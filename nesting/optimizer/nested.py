"""The second engine of angled orders: polygons nested in free regions, its sheets as patterns.

What it lays on a sheet, rectangles included, becomes one blank the size of a sheet with shape cuts alone.
Where most of the glass is angled this fills sheets better than groups in rectangles do; the search offers
both to one keeper of plans, and the better plan wins.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import hypot

import numpy as np

from ..angled.cluster import NM, QUARTERS, Kind, Part, kind_of, laid
from ..angled.placing import blank_around
from ..blanks import Blank
from ..free_regions.nest import Nest
from ..free_regions.shapes import MOST_CORNERS, Corners, Filled, Shape, SheetSize, Slivers
from ..joint_blanks import Bundle
from . import moves as m
from .flawed import needs_room
from .instance import Instance, Rect
from .limits import obeys
from .pattern import Column, Item, Pattern, Row, Staged, Strip
from .runner import Runner

MOSTLY = 0.4
"""Part of the area of an order from which on its angled panels are nested as polygons."""
LEAN, WIDTH = 0.1, 100
"""Guide and beam width where a sheet holds rectangles alone."""
NEAR = 1e-5
"""Edges that differ by no more than this are equal: their ends were rounded. [mm]"""
MOST = 600
"""Panels beyond which they are not."""


def worth_nesting(instance: Instance, demand: Sequence[int]) -> bool:
    """Whether enough of an order is angled, and nothing forbids nesting it as polygons."""
    total = angled = 0
    for t, n in enumerate(demand):
        if n:
            kind = instance.types[t]
            panel = kind.panels[0]
            if panel.from_stock is not None or len(panel.cut) > MOST_CORNERS:
                return False
            total += n * panel.cut_area2
            angled += n * panel.cut_area2 if kind.angled or kind.joint else 0
    return 0 < sum(demand) <= MOST and angled >= MOSTLY * total and not instance.ruled


def clean_sheets(instance: Instance, real: Sequence[int]) -> list[int]:
    """The stock that polygons may be nested on: its flaws they would not see."""
    return [
        k
        for k in real
        if min(instance.sheets[k].width, instance.sheets[k].height) > 0 and not needs_room(instance, k)
    ]


class Nested:
    """The engine for one instance.

    Parameters
    ----------
    runner
        The kernel on what is cut; `Instance.found` receives the blanks.
    demand
        Panels of each type.
    real
        Indexes of the stock that is there.
    seed
        Of what is drawn.
    """

    def __init__(self, runner: Runner, demand: Sequence[int], real: Sequence[int], seed: int) -> None:
        self.instance = instance = runner.instance
        self._runner = runner
        self._types = [t for t, n in enumerate(demand) if n]
        self._kinds: list[Kind] = []
        self._parts: dict[int, list[Part]] = {}
        shapes = []
        for t in self._types:
            panel = instance.types[t].panels[0]
            kind = kind_of(panel.cut, panel.turn, panel.mirror, demand[t])
            self._kinds.append(kind)
            flips = kind.flips and instance.types[t].angled
            shapes.append(Shape(kind.shape, 90 * kind.step, flips))
        for shape, t in enumerate(self._types):
            panel = instance.types[t].panels[0]
            if isinstance(panel, Bundle):
                self._parts[shape] = self._take_apart(panel)
        self._sheets = clean_sheets(instance, real)
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
        self._nest = Nest(shapes, [demand[t] for t in self._types], sizes, slivers, seed, NEAR)
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
        for _ in nest.starting():
            yield None
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

    def _plain(self, filled: Filled) -> Pattern | None:
        """A sheet of rectangles alone: no blank may hold such, so the kernel lays them anew."""
        wanted: dict[int, int] = {}
        for placed in filled.placed:
            t = self._types[placed.shape]
            wanted[t] = wanted.get(t, 0) + 1
        runner = self._runner
        part, value = runner.part(wanted), runner.value(1.0)
        found = runner.run(part, [self._sheets[filled.sheet]], value=value, lean=LEAN, width=WIDTH)
        return found[0] if found else None

    def _exact(self, filled: Filled) -> Pattern | None:
        kinds = [self.instance.types[self._types[p.shape]] for p in filled.placed]
        if not any(kind.angled or kind.joint for kind in kinds):
            return self._plain(filled)
        parts: list[Part] = []
        owners: list[tuple[int, int]] = []
        for placed in filled.placed:
            whole = self._part(self._kinds[placed.shape], placed.shape, placed.mirrored, placed.corners)
            t = self._types[placed.shape]
            for number, part in enumerate(self._parts.get(placed.shape, ())):
                parts.append(part.moved(False, whole.cosine, whole.sine, whole.x, whole.y))
                owners.append((t, number))
            if placed.shape not in self._parts:
                parts.append(whole)
                owners.append((t, 0))
        lines = [(s.piece, s.start, s.end) for s in filled.scores]
        blank = blank_around(parts, self._kinds, self.instance.rules, lines)
        if blank is None:
            return None
        members = zip(blank.members, owners, strict=True)
        blank = replace(blank, members=tuple(replace(m, kind=t, part=number) for m, (t, number) in members))
        sheet = self._sheets[filled.sheet]
        for frame in (0, 1):
            pattern = self._staged(blank, sheet, frame)
            if pattern is not None:
                return pattern
        return None

    def _take_apart(self, bundle: Bundle) -> list[Part]:
        """The panels of a bundle in the frame of its blank, as kinds of their own."""
        out = []
        for panel, member in zip(bundle.parts, bundle.blank.members, strict=True):
            kind = kind_of(panel.cut, panel.turn, panel.mirror, 1)
            self._kinds.append(kind)
            corners = np.array(member.outline, dtype=np.float64) * NM
            out.append(self._part(kind, len(self._kinds) - 1, member.mirrored, corners))
        return out

    def _part(self, kind: Kind, number: int, mirrored: bool, there: Corners) -> Part:
        """Where a panel lies that has its corners there, from its longest edge."""
        flat = laid(kind.shape, Part(number, mirrored, 1.0, 0.0, 0.0, 0.0))
        edges = [(hypot(*(flat[i] - flat[i - 1])), i) for i in range(len(flat))]
        _, i = max(edges)
        (ax, ay), (bx, by) = flat[i] - flat[i - 1], there[i] - there[i - 1]
        scale = hypot(ax, ay) * hypot(bx, by)
        c, s = (ax * bx + ay * by) / scale, (ax * by - ay * bx) / scale
        if kind.step:
            c, s = max(QUARTERS, key=lambda q: q[0] * c + q[1] * s)
        turned = flat @ np.array([[c, s], [-s, c]])
        x, y = np.mean(there - turned, axis=0)
        return Part(number, mirrored, float(c), float(s), float(x), float(y))

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
