"""The cut tree of a layout as pieces with boxes: what may still be cut where, and waste that grows together."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from ..flaw_parts import worth_keeping
from ..outlines import Outline
from ..plan import Cut, CutKind, Layout, Leaf, LeafKind
from ..rules import Rules
from ..spots import flaws_of
from ..stock import Side

X, Y = 0, 1
Box = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Spot:
    """A rectangle of the tree.

    Parameters
    ----------
    piece
        Its name.
    box
        Left, bottom, right, top on the sheet. [nm]
    level, axis
        Of the last main cut on its way (axis 0 for a vertical one, None before the first).
    closed
        It came off by a last cut, so that no main cut may follow.
    """

    piece: str
    box: Box
    level: int = 0
    axis: int | None = None
    closed: bool = False

    @property
    def width(self) -> int:
        """[nm]"""
        return self.box[2] - self.box[0]

    @property
    def height(self) -> int:
        """[nm]"""
        return self.box[3] - self.box[1]


def axis_of(cut: Cut) -> int | None:
    """0 for a vertical cut, 1 for a horizontal one, None for an angled one."""
    if cut.start[X] == cut.end[X]:
        return X
    return Y if cut.start[Y] == cut.end[Y] else None


def parts(spot: Spot, axis: int, at: int, names: tuple[str, str], kind: CutKind) -> tuple[Spot, Spot]:
    """The near and the far part of a piece cut square to an axis."""
    x0, y0, x1, y1 = spot.box
    near, far = ((x0, y0, at, y1), (at, y0, x1, y1)) if axis == X else ((x0, y0, x1, at), (x0, at, x1, y1))
    level, last, closed = spot.level, spot.axis, spot.closed
    if kind is not CutKind.TRIM:
        level = 1 if last is None else level + (last != axis)
        last, closed = axis, kind is CutKind.LAST
    return Spot(names[0], near, level, last, closed), Spot(names[1], far, level, last, closed)


def spots_of(layout: Layout) -> dict[str, Spot]:
    """Every piece that main cuts and trims make, the sheet included; what shape cuts make is left out."""
    out = {"s": Spot("s", (0, 0, layout.width, layout.height))}
    for cut in layout.cuts:
        spot, axis = out.get(cut.piece), axis_of(cut)
        if spot is None or axis is None or cut.kind is CutKind.SHAPE:
            continue
        rising = cut.end[1 - axis] > cut.start[1 - axis]
        # to the left of an upward cut lies the near part, to the left of a rightward one the far part
        names = cut.makes if rising == (axis == X) else (cut.makes[1], cut.makes[0])
        near, far = parts(spot, axis, cut.start[axis], names, cut.kind)
        out |= {near.piece: near, far.piece: far}
    return out


def box_outline(box: Box) -> Outline:
    """The corners of a box, counter-clockwise from the lower left."""
    x0, y0, x1, y1 = box
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def raw_sides(layout: Layout, box: Box) -> tuple[Side, ...]:
    """The raw sides of the sheet that a box lies on."""
    touches = {
        Side.LEFT: box[0] == 0,
        Side.RIGHT: box[2] == layout.width,
        Side.BOTTOM: box[1] == 0,
        Side.TOP: box[3] == layout.height,
    }
    return tuple(side for side in Side if touches[side] and side in layout.raw)


def waste_leaf(layout: Layout, spot: Spot, rules: Rules) -> Leaf:
    """A rectangle of waste as a leaf: an offcut where it is worth keeping, else cullet.

    What a last cut leaves is waste by its rule, however large, and so is what has too little glass without flaws.
    """
    outline = box_outline(spot.box)
    if not spot.closed and worth_keeping(outline, flaws_of(layout), rules):
        return Leaf(piece=spot.piece, outline=outline, kind=LeafKind.OFFCUT, raw=raw_sides(layout, spot.box))
    return Leaf(piece=spot.piece, outline=outline, kind=LeafKind.CULLET)


def without_flawed_offcuts(layout: Layout, rules: Rules, off: Collection[str]) -> Layout:
    """The sheet with offcuts as cullet that have too little glass without flaws; those that are `off` it stay."""
    flaws = flaws_of(layout)

    def leaf_of(leaf: Leaf) -> Leaf:
        if leaf.kind is not LeafKind.OFFCUT or leaf.piece in off or worth_keeping(leaf.outline, flaws, rules):
            return leaf
        return replace(leaf, kind=LeafKind.CULLET, offcut=None, raw=())

    return replace(layout, leaves=tuple(leaf_of(leaf) for leaf in layout.leaves))


def renumbered(cuts: Sequence[Cut]) -> tuple[Cut, ...]:
    """The cuts with their steps counted anew, in the order given."""
    return tuple(replace(cut, step=i) if cut.step != i else cut for i, cut in enumerate(cuts, 1))


def ordered(layout: Layout, cuts: Sequence[Cut], leaves: Sequence[Leaf]) -> Layout:
    """The layout with these cuts, and its leaves in the order in which they come off."""
    made = {name: i for i, cut in enumerate(cuts) for name in cut.makes}
    return replace(
        layout,
        cuts=renumbered(cuts),
        leaves=tuple(sorted(leaves, key=lambda x: (made.get(x.piece, -1), x.piece))),
    )


def panels_on(layout: Layout) -> list[str]:
    """Ids of the panels of a layout, in the order in which they come off."""
    return [leaf.panel for leaf in layout.leaves if leaf.panel is not None]


def descendants(layout: Layout, piece: str) -> set[str]:
    """A piece with all that is cut from it, by name."""
    found = {piece}
    for cut in layout.cuts:
        if cut.piece in found:
            found |= set(cut.makes)
    return found


def begun_cuts(layout: Layout, step: int, habit: str) -> set[int]:
    """Steps that are done when `step` is, and those whose score is on the glass already.

    Scores of one placement are all made before its first break; a machine scores the whole sheet first.
    What is scored is broken as it is scored.
    """
    if step <= 0:
        return set()
    if (layout.habit or habit) == "machine":
        return {cut.step for cut in layout.cuts}
    laid = {cut.placement for cut in layout.cuts if cut.step <= step} - {None}
    return {cut.step for cut in layout.cuts if cut.step <= step or cut.placement in laid}


def truncated(layout: Layout, steps: Collection[int], rules: Rules) -> Layout:
    """Only these cuts; whatever would have been cut further is cullet. Waste grows together again."""
    cuts = [cut for cut in layout.cuts if cut.step in steps]
    old = {leaf.piece: leaf for leaf in layout.leaves}
    whole = Outliner(layout)
    cut_up = {cut.piece for cut in cuts}
    names = [n for n in ["s", *(name for cut in cuts for name in cut.makes)] if n not in cut_up]
    lost = {n for n in names if n not in old}
    leaves = [old.get(n) or Leaf(piece=n, outline=whole.outline(n), kind=LeafKind.CULLET) for n in names]
    # a last cut frees one piece from waste: where that piece is lost too, the cut means nothing any more
    return _merged(layout, cuts, leaves, rules, only_last=True, grown=lost)


class Outliner:
    """Outlines of the pieces of a layout, also of those that are cut further."""

    def __init__(self, layout: Layout) -> None:
        self.spots = spots_of(layout)
        self.leaves = {leaf.piece: leaf for leaf in layout.leaves}
        self.cuts = {cut.piece: cut for cut in layout.cuts}

    def outline(self, piece: str) -> Outline:
        """The outline of a piece; inside a blank that of the leaves together, which are convex in one."""
        if piece in self.spots:
            return box_outline(self.spots[piece].box)
        if piece in self.leaves:
            return self.leaves[piece].outline
        first, second = (self.outline(name) for name in self.cuts[piece].makes)
        return _hull([*first, *second])


def _hull(points: Sequence[tuple[int, int]]) -> Outline:
    """The convex hull, counter-clockwise (Andrew 1979)."""
    rows = sorted(set(points))

    def chain(run: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
        out: list[tuple[int, int]] = []
        for p in run:
            while len(out) > 1 and (out[-1][0] - out[-2][0]) * (p[1] - out[-2][1]) <= (
                out[-1][1] - out[-2][1]
            ) * (p[0] - out[-2][0]):
                out.pop()
            out.append(p)
        return out

    return (*chain(rows)[:-1], *chain(rows[::-1])[:-1])


def pruned(layout: Layout, gone: Collection[str], rules: Rules, done: Collection[int] = ()) -> Layout:
    """The layout without some of its panels: their glass is waste, and waste side by side is not cut apart.

    Parameters
    ----------
    gone
        Ids of the panels.
    rules
        Of the glass.
    done
        Steps that are done, and stay.
    """
    made = {name: cut.step for cut in layout.cuts for name in cut.makes}
    leaves, grown = [], set()
    for leaf in layout.leaves:
        if leaf.panel in gone and leaf.panel is not None and made.get(leaf.piece) not in done:
            leaf = Leaf(piece=leaf.piece, outline=leaf.outline, kind=LeafKind.CULLET)
            grown.add(leaf.piece)
        leaves.append(leaf)
    return _merged(layout, list(layout.cuts), leaves, rules, done=done, grown=grown)


def _merged(
    layout: Layout,
    cuts: list[Cut],
    leaves: Sequence[Leaf],
    rules: Rules,
    *,
    done: Collection[int] = (),
    only_last: bool = False,
    grown: set[str],
) -> Layout:
    """Take out cuts between two pieces of waste of which one is new waste."""
    spots = spots_of(layout)
    by_piece = {leaf.piece: leaf for leaf in leaves}
    for cut in reversed(list(cuts)):
        two = [by_piece.get(name) for name in cut.makes]
        waste = [x for x in two if x is not None and x.kind is not LeafKind.PANEL]
        if len(waste) < 2 or cut.step in done or not grown & set(cut.makes):
            continue
        if only_last and cut.kind is not CutKind.LAST:
            continue
        spot = spots.get(cut.piece)
        cuts.remove(cut)
        for name in cut.makes:
            del by_piece[name]
        grown.add(cut.piece)
        outline = box_outline(spot.box) if spot is not None else _hull([p for x in waste for p in x.outline])
        by_piece[cut.piece] = Leaf(piece=cut.piece, outline=outline, kind=LeafKind.CULLET)
    if not only_last:
        for name in sorted(grown & set(by_piece) & set(spots)):
            by_piece[name] = waste_leaf(layout, spots[name], rules)
    return ordered(layout, cuts, list(by_piece.values()))
