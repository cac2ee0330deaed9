"""A panel into the waste of a sheet, everything else on it unchanged.

The panel, or the blank that it is cut from, lies in a corner of the rectangle of waste; at most four cuts
free it, first those along one side, then those along the other. Where flaws lie in the waste it may lie beside
one of them. Everything is exact.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from ..blanks import Blank, candidates, quarter_turned
from ..outlines import box
from ..panels import Panel
from ..plan import Cut, CutKind, Layout, Leaf, LeafKind
from ..rules import Rules
from .flaw_boxes import boxes_in, crosses, near_ends, overlaps
from .tree import Box, Spot, X, Y, box_outline, ordered, parts, raw_sides, spots_of, waste_leaf

QUARTER = 90 * 10**9


@dataclass(frozen=True, slots=True)
class Shape:
    """A rectangle from which a panel is cut: its size [nm], the turn of a plain panel, the blank of another."""

    width: int
    height: int
    turned: int = 0
    blank: Blank | None = None


def shapes_of(panel: Panel, rules: Rules) -> list[Shape]:
    """The rectangles that yield a panel, each way round that it may lie."""
    if panel.is_rectangle:
        x0, y0, x1, y1 = box(panel.cut)
        out = [Shape(x1 - x0, y1 - y0)]
        if panel.turn.by_quarter and x1 - x0 != y1 - y0:
            out.append(Shape(y1 - y0, x1 - x0, QUARTER))
        return out
    out = []
    for blank in candidates(panel.cut, panel.turn, rules):
        out.append(Shape(blank.width, blank.height, 0, blank))
        if panel.turn.by_quarter and blank.width != blank.height:
            turned = quarter_turned(blank)
            out.append(Shape(turned.width, turned.height, 0, turned))
    return out


@dataclass(frozen=True, slots=True)
class _Gap:
    """A cut that frees one side of the rectangle: its axis, where, and whether it is a trim."""

    axis: int
    at: int
    near: bool
    trim: bool


def inserted(
    layout: Layout,
    panel: Panel,
    rules: Rules,
    taken: frozenset[int] = frozenset(),
    within: Collection[str] | None = None,
) -> Iterator[Layout]:
    """The sheet with one more panel in its waste, all ways that are tried, in a fixed order.

    Parameters
    ----------
    layout
        The sheet.
    panel
        To be added.
    rules
        Of the glass; what they say beyond levels, trims and the break-out distance is for the checker.
    taken
        Steps that are done already: what came off by them is not there any more.
    within
        Names of the pieces of waste that may be cut; None for all.
    """
    spots = spots_of(layout)
    made = {name: cut.step for cut in layout.cuts for name in cut.makes}
    shapes = shapes_of(panel, rules)
    for leaf in layout.leaves:
        spot = spots.get(leaf.piece)
        if leaf.kind is LeafKind.PANEL or spot is None or spot.closed or made.get(leaf.piece) in taken:
            continue
        if within is not None and leaf.piece not in within:
            continue
        for shape in shapes:
            if shape.width <= spot.width and shape.height <= spot.height:
                yield from _in_spot(layout, leaf, spot, shape, panel, rules)


def _in_spot(
    layout: Layout, leaf: Leaf, spot: Spot, shape: Shape, panel: Panel, rules: Rules
) -> Iterator[Layout]:
    t = layout.trim
    inner = (t.left, t.bottom, layout.width - t.right, layout.height - t.top)
    low = (max(spot.box[0], inner[0]), max(spot.box[1], inner[1]))
    high = (min(spot.box[2], inner[2]), min(spot.box[3], inner[3]))
    size = (shape.width, shape.height)
    if any(high[a] - low[a] < size[a] for a in (X, Y)):
        return
    flaws, hard = boxes_in(layout, spot.box)
    ends = [
        near_ends(flaws, spot.box, a, low[a], high[a] - size[a], size[a], rules.break_out) for a in (X, Y)
    ]
    for x in dict.fromkeys((low[0], high[0] - size[0], *ends[X])):
        for y in dict.fromkeys((low[1], high[1] - size[1], *ends[Y])):
            where = (x, y, x + size[0], y + size[1])
            if any(overlaps(where, flaw) for flaw in hard):
                continue
            for first in (X, Y):
                gaps = _gaps(layout, spot, where, first, rules)
                if gaps is None:
                    continue
                new = _cut_out(layout, leaf, spot, where, gaps, shape, panel, rules)
                if new is not None:
                    yield new
                if len({gap.axis for gap in gaps}) < 2:
                    break


def _gaps(layout: Layout, spot: Spot, where: Box, first: int, rules: Rules) -> list[_Gap] | None:
    """The cuts that free a rectangle, trims first; None where a strip beside it cannot be broken off."""
    t = layout.trim
    near, far = (t.left, t.bottom), (t.right, t.top)
    ends = (layout.width, layout.height)
    trims: list[_Gap] = []
    mains: list[_Gap] = []
    raw = {side.value for side in layout.raw}
    names = (("left", "right"), ("bottom", "top"))
    for axis in (first, 1 - first):
        for side in (0, 1):
            gap = where[axis] - spot.box[axis] if side == 0 else spot.box[axis + 2] - where[axis + 2]
            if not gap:
                continue
            at = where[axis] if side == 0 else where[axis + 2]
            at_raw = names[axis][side] in raw and (
                spot.box[axis] == 0 if side == 0 else spot.box[axis + 2] == ends[axis]
            )
            depth = (near if side == 0 else far)[axis]
            if gap < rules.break_out and not (at_raw and depth and gap >= depth):
                return None
            trim = at_raw and depth > 0 and gap == depth
            (trims if trim else mains).append(_Gap(axis, at, side == 0, trim))
    return [*trims, *mains]


def _cut_out(
    layout: Layout,
    leaf: Leaf,
    spot: Spot,
    where: Box,
    gaps: list[_Gap],
    shape: Shape,
    panel: Panel,
    rules: Rules,
) -> Layout | None:
    cuts = list(layout.cuts)
    leaves = [x for x in layout.leaves if x is not leaf]
    hand = spot
    flaws, _ = boxes_in(layout, spot.box)
    for i, gap in enumerate(gaps):
        if any(crosses(hand.box, gap.axis, gap.at, flaw) for flaw in flaws):
            return None
        kind = CutKind.TRIM if gap.trim else CutKind.MAIN
        if not gap.trim:
            level = 1 if hand.axis is None else hand.level + (hand.axis != gap.axis)
            if rules.levels is not None and level > rules.levels:
                if not rules.last_cut or level > rules.levels + 1 or i + 1 < len(gaps):
                    return None
                kind = CutKind.LAST
        near, far, cut = cut_once(hand, gap.axis, gap.at, kind, len(cuts) + 1)
        cuts.append(cut)
        hand, waste = (far, near) if gap.near else (near, far)
        off = waste_leaf(layout, waste, rules)
        # a trim is never kept, and a strip less wide than can be broken off is waste at a raw edge
        leaves.append(replace(off, kind=LeafKind.CULLET, raw=()) if gap.trim else off)
    assert hand.box == where
    leaves += placed(layout, hand, shape, panel, cuts)
    return ordered(layout, cuts, leaves)


def cut_once(spot: Spot, axis: int, at: int, kind: CutKind, step: int) -> tuple[Spot, Spot, Cut]:
    """A cut square to an axis: the near and the far part, and the cut with the near part at its left."""
    names = (f"{spot.piece}.1", f"{spot.piece}.2")
    near, far = parts(spot, axis, at, names, kind)
    x0, y0, x1, y1 = spot.box
    start, end = ((at, y0), (at, y1)) if axis == X else ((x1, at), (x0, at))
    level = 0 if kind is CutKind.TRIM else near.level
    cut = Cut(step=step, piece=spot.piece, start=start, end=end, makes=names, kind=kind, level=level)
    return near, far, cut


def placed(layout: Layout, spot: Spot, shape: Shape, panel: Panel, cuts: list[Cut]) -> list[Leaf]:
    """The leaves of a panel in a rectangle of its size; shape cuts are added to `cuts`."""
    ox, oy = spot.box[:2]
    if shape.blank is None:
        outline = box_outline(spot.box)
        return [
            Leaf(piece=spot.piece, outline=outline, kind=LeafKind.PANEL, panel=panel.id, turned=shape.turned)
        ]
    names = {0: spot.piece}
    for i, score in enumerate(shape.blank.cuts.scores):
        name = names[score.piece]
        names[2 * i + 1], names[2 * i + 2] = f"{name}.1", f"{name}.2"
        start, end = ((x + ox, y + oy) for x, y in (score.start, score.end))
        cuts.append(
            Cut(
                step=len(cuts) + 1,
                piece=name,
                start=start,
                end=end,
                makes=(f"{name}.1", f"{name}.2"),
                kind=CutKind.SHAPE,
                level=None,
            )
        )
    leaves = []
    for number, points, at in shape.blank.cuts.leaves:
        outline = tuple((x + ox, y + oy) for x, y in points)
        if at is None:
            leaves.append(Leaf(piece=names[number], outline=outline, kind=LeafKind.CULLET))
            continue
        member = shape.blank.members[at]
        leaves.append(
            Leaf(
                piece=names[number],
                outline=outline,
                kind=LeafKind.PANEL,
                panel=panel.id,
                turned=member.turned,
                mirrored=member.mirrored,
            )
        )
    return leaves


__all__ = ["Shape", "inserted", "raw_sides", "shapes_of"]
