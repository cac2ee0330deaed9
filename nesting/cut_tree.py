"""From a pattern to a layout: the cut tree of one sheet, with its leaves in place.

Cuts come in a plain cutting order: a kept far piece first (it goes back to the rack untrimmed), then
the near trims, then strip by strip, each cut up before the next is taken off. Far trims leave with the
waste beside them; without a limit of levels they are cut off where there is none.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass, field

from .blanks import Blank, quarter_turned
from .cut_laid import lay
from .flaw_parts import worth_keeping
from .flaws import kinds_of
from .joint_blanks import Bundle, single_panels
from .optimizer.free_pattern import Free, Node
from .optimizer.instance import Instance
from .optimizer.pattern import Column, Item, Pattern, Row, Staged, Strip
from .ordered.laid import Laid
from .outlines import Outline, Point
from .panels import Panel
from .plan import Cut, CutKind, Layout, Leaf, LeafKind
from .stock import Side

X, Y = 0, 1
Box = tuple[int, int, int, int]
Draw = Callable[[int], Panel]
"""Hands out the next panel of a type."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece in hand, in frame coordinates: level and axis of the last main cut on its way. [nm]"""

    name: str
    box: Box
    level: int = 0
    axis: int | None = None


@dataclass(frozen=True, slots=True)
class Waste:
    """A rectangle of waste worth keeping: its place in the walk, and its area. [nm2]"""

    sheet: int
    index: int
    area: int


@dataclass(slots=True)
class Builder:
    """Builds one layout.

    Parameters
    ----------
    instance, pattern
        What is cut up, and how.
    draw
        Next panel of a type.
    keep
        Places in the walk of the waste that is kept as offcuts.
    """

    instance: Instance
    pattern: Pattern
    draw: Draw
    keep: Container[int]
    cuts: list[Cut] = field(default_factory=list)
    leaves: list[Leaf] = field(default_factory=list)
    wastes: list[tuple[int, int]] = field(default_factory=list)
    _walk: int = 0

    # ------------------------------------------------------------- coordinates

    def _point(self, x: int, y: int) -> Point:
        return (x, y) if self.pattern.frame == 0 else (y, x)

    def _outline(self, box: Box) -> Outline:
        (x0, y0), (x1, y1) = self._point(box[0], box[1]), self._point(box[2], box[3])
        return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))

    # ------------------------------------------------------------------- cuts

    def cut(self, piece: Piece, axis: int, at: int, kind: CutKind = CutKind.MAIN) -> tuple[Piece, Piece]:
        """Cut a piece square to the frame axis at `at`: the near and the far part."""
        x0, y0, x1, y1 = piece.box
        level, last = piece.level, piece.axis
        if kind is not CutKind.TRIM:
            level = 1 if last is None else level + (last != axis)
            last = axis
            if self.instance.rules.levels is not None and level == self.instance.rules.levels + 1:
                kind = CutKind.LAST
        # upwards for a vertical cut, leftwards for a horizontal one: the near part lies to the left
        if axis == X:
            start, end = self._point(at, y0), self._point(at, y1)
            near, far = (x0, y0, at, y1), (at, y0, x1, y1)
        else:
            start, end = self._point(x1, at), self._point(x0, at)
            near, far = (x0, y0, x1, at), (x0, at, x1, y1)
        if self.pattern.frame == 1:
            start, end = end, start
        names = (f"{piece.name}.1", f"{piece.name}.2")
        self.cuts.append(
            Cut(
                step=len(self.cuts) + 1,
                piece=piece.name,
                start=start,
                end=end,
                makes=names,
                kind=kind,
                level=0 if kind is CutKind.TRIM else level,
            )
        )
        return Piece(names[0], near, level, last), Piece(names[1], far, level, last)

    # ------------------------------------------------------------------ leaves

    def _size(self) -> tuple[int, int]:
        piece = self.instance.sheets[self.pattern.sheet].piece
        return self._point(piece.width, piece.height)

    def _kept(self, box: Box) -> bool:
        """Count a rectangle of waste in the walk; whether it is kept as an offcut."""
        index, self._walk = self._walk, self._walk + 1
        width, height = box[2] - box[0], box[3] - box[1]
        stock = self.instance.sheets[self.pattern.sheet].piece
        if width > 0 and height > 0 and worth_keeping(self._outline(box), stock.flaws, self.instance.rules):
            self.wastes.append((index, width * height))
            return index in self.keep
        return False

    def _raw(self, outline: Outline) -> tuple[Side, ...]:
        stock = self.instance.sheets[self.pattern.sheet].piece
        (x0, y0), (x1, y1) = outline[0], outline[2]
        touches = {
            Side.LEFT: x0 == 0,
            Side.RIGHT: x1 == stock.width,
            Side.BOTTOM: y0 == 0,
            Side.TOP: y1 == stock.height,
        }
        return tuple(side for side in Side if touches[side] and side in stock.raw)

    def is_waste(self, piece: Piece, *, counted: bool = True) -> None:
        # what a last cut leaves is waste by its rule, however large
        levels = self.instance.rules.levels
        free = levels is None or piece.level <= levels
        kept = counted and free and self._kept(piece.box)
        outline = self._outline(piece.box)
        kind, raw = (LeafKind.OFFCUT, self._raw(outline)) if kept else (LeafKind.CULLET, ())
        self.leaves.append(Leaf(piece=piece.name, outline=outline, kind=kind, raw=raw))

    def is_panel(self, piece: Piece, item: Item) -> None:
        rect = self.instance.rect(item.rect)
        outline = self._outline(piece.box)
        width = outline[1][0] - outline[0][0]
        if rect.blank is None:
            (kind, _), *_ = rect.uses
            panel = self.draw(kind)
            if isinstance(panel, Bundle):
                self._blank(piece, outline, panel.blank, panel.parts)
                return
            xs = [p[0] for p in panel.cut]
            turned = 0 if max(xs) - min(xs) == width else 90 * 10**9
            self.leaves.append(
                Leaf(piece=piece.name, outline=outline, kind=LeafKind.PANEL, panel=panel.id, turned=turned)
            )
            return
        panels: list[Panel] = []
        bundle: tuple[Panel, ...] = ()
        for member in rect.blank.members:
            if member.part == 0:
                bundle = single_panels(self.draw(member.kind))
            panels.append(bundle[member.part])
        self._blank(piece, outline, rect.blank, panels)

    def _blank(self, piece: Piece, outline: Outline, blank: Blank, panels: Sequence[Panel]) -> None:
        """The shape cuts of a blank, and the leaves of its panels."""
        if blank.width != outline[1][0] - outline[0][0]:
            blank = quarter_turned(blank)
        ox, oy = outline[0]

        def shift(points: Sequence[Point]) -> Outline:
            return tuple((x + ox, y + oy) for x, y in points)

        names = {0: piece.name}
        for i, score in enumerate(blank.cuts.scores):
            name = names[score.piece]
            made = (f"{name}.1", f"{name}.2")
            names[2 * i + 1], names[2 * i + 2] = made
            start, end = shift((score.start, score.end))
            self.cuts.append(
                Cut(
                    step=len(self.cuts) + 1,
                    piece=name,
                    start=start,
                    end=end,
                    makes=made,
                    kind=CutKind.SHAPE,
                    level=None,
                )
            )
        for number, shape, at in blank.cuts.leaves:
            if at is None:
                leaf = Leaf(piece=names[number], outline=shift(shape), kind=LeafKind.CULLET)
            else:
                member = blank.members[at]
                leaf = Leaf(
                    piece=names[number],
                    outline=shift(shape),
                    kind=LeafKind.PANEL,
                    panel=panels[at].id,
                    turned=member.turned,
                    mirrored=member.mirrored,
                )
            self.leaves.append(leaf)

    # ------------------------------------------------------------------- walk

    def sheet(self) -> None:
        """Cut up the whole sheet."""
        pattern = self.pattern
        if isinstance(pattern, Staged):
            far = None if pattern.strips[-1].open else sum(s.width for s in pattern.strips)
            work, _ = self._begin(X, far)
            self._strips(work, pattern.strips)
        elif isinstance(pattern, Free):
            tree, first = pattern.tree, pattern.first_waste
            far = None if first is None else (tree.parts[0].width, tree.parts[0].height)[tree.axis]
            work, kept = self._begin(tree.axis, far)
            self._node(work, tree.parts[0] if kept else tree, first)
        elif isinstance(pattern, Laid):
            lay(self, pattern, Piece("s", (0, 0, *self._size())))
        else:
            raise TypeError(type(pattern).__name__)

    def _begin(self, axis: int, far: int | None) -> tuple[Piece, bool]:
        """Take off a kept piece beyond `far` [search units], then the near trims; whether it was kept."""
        stock = self.instance.sheets[self.pattern.sheet].piece
        near = self._point(stock.trim.left, stock.trim.bottom)
        whole = Piece("s", (0, 0, *self._size()))
        work = whole if far is None else self.take_far(whole, axis, near[axis] + self.instance.unit * far)
        kept = work is not whole
        work = self.trimmed(work, X, near[X])
        if isinstance(self.pattern, Free) or self._whole_trim:
            work = self.trimmed(work, Y, near[Y])
        return work, kept

    def take_far(self, work: Piece, axis: int, at: int) -> Piece:
        """The whole sheet without what is beyond `at`, if that is kept as an offcut; else as it is."""
        size = self._size()
        if at >= size[axis] or not self._kept((at, 0, *size) if axis == X else (0, at, *size)):
            return work
        work, rest = self.cut(work, axis, at)
        outline = self._outline(rest.box)
        self.leaves.append(
            Leaf(piece=rest.name, outline=outline, kind=LeafKind.OFFCUT, raw=self._raw(outline))
        )
        return work

    def _strips(self, work: Piece, strips: tuple[Strip, ...]) -> None:
        at = work.box[0]
        for strip in strips:
            at += self.instance.unit * strip.width
            if strip.open or at == work.box[2]:
                self._strip(work, strip)
                return
            part, work = self.cut(work, X, at)
            self._strip(part, strip)
        self.is_waste(work, counted=False)

    def trimmed(self, piece: Piece, axis: int, at: int) -> Piece:
        if piece.box[axis] >= at:
            return piece
        trim, piece = self.cut(piece, axis, at, CutKind.TRIM)
        self.is_waste(trim, counted=False)
        return piece

    @property
    def _whole_trim(self) -> bool:
        """Whether the near trim along the strips comes off in one; else strip by strip."""
        longest = self.instance.rules.longest_cut
        near = self.instance.sheets[self.pattern.sheet].piece.trim
        return longest is None or self._size()[X] - self._point(near.left, near.bottom)[X] <= longest

    def _node(self, piece: Piece, node: Node, first: Node | None) -> None:
        """Cut up a tree without a limit of levels; waste `first` has been counted already."""
        if node.is_waste:
            self.is_waste(piece, counted=node is not first)
            return
        for axis in (X, Y):
            end = piece.box[axis] + self.instance.unit * (node.width, node.height)[axis]
            if end < piece.box[axis + 2] and not node.wasted_at(axis):
                piece, trim = self.cut(piece, axis, end, CutKind.TRIM)
                self.is_waste(trim, counted=False)
        if not node.parts:
            self.is_panel(piece, Item(node.rect, node.width, node.height))
            return
        near, far = node.parts
        at = piece.box[node.axis] + self.instance.unit * (near.width, near.height)[node.axis]
        part, rest = self.cut(piece, node.axis, at)
        self._node(part, near, first)
        self._node(rest, far, first)

    def _strip(self, piece: Piece, strip: Strip) -> None:
        near = self.instance.sheets[self.pattern.sheet].piece.trim
        piece = self.trimmed(piece, Y, self._point(near.left, near.bottom)[Y])
        at = piece.box[1]
        for row in strip.rows:
            at += self.instance.unit * row.height
            if row.open or at == piece.box[3]:
                self._row(piece, row)
                return
            part, piece = self.cut(piece, Y, at)
            self._row(part, row)
        self.is_waste(piece)

    def _row(self, piece: Piece, row: Row) -> None:
        at = piece.box[0]
        for column in row.columns:
            at += self.instance.unit * column.width
            if at == piece.box[2]:
                self._column(piece, column)
                return
            part, piece = self.cut(piece, X, at)
            self._column(part, column)
        self.is_waste(piece)

    def _column(self, piece: Piece, column: Column) -> None:
        at = piece.box[1]
        for item in column.items:
            at += self.instance.unit * item.height
            if at == piece.box[3]:
                self._stacked(piece, item)
                return
            part, piece = self.cut(piece, Y, at)
            self._stacked(part, item)
        self.is_waste(piece)

    def _stacked(self, piece: Piece, item: Item) -> None:
        at = piece.box[0] + self.instance.unit * item.width
        if at == piece.box[2]:
            self.is_panel(piece, item)
            return
        part, rest = self.cut(piece, X, at)
        self.is_panel(part, item)
        self.is_waste(rest)


def waste_of(pattern: Pattern, instance: Instance, sheet: int) -> list[Waste]:
    """The leftovers of a pattern that are worth keeping."""
    found = Builder(instance, pattern, lambda kind: instance.types[kind].panels[0], ())
    found.sheet()
    return [Waste(sheet, index, area) for index, area in found.wastes]


def cuts_of(pattern: Pattern, instance: Instance) -> int:
    """The number of cuts of a pattern; it does not depend on what is kept of it."""
    found = Builder(instance, pattern, lambda kind: instance.types[kind].panels[0], ())
    found.sheet()
    return len(found.cuts)


def build_layout(
    pattern: Pattern, instance: Instance, draw: Draw, keep: Container[int], number: int, buy: bool
) -> Layout:
    """The layout of a pattern.

    Parameters
    ----------
    draw
        Hands out the next panel of a type.
    keep
        Which of `waste_of` are kept as offcuts.
    number
        Of the sheet in the plan.
    buy
        Whether the sheet must be bought.
    """
    made = Builder(instance, pattern, draw, keep)
    made.sheet()
    stock = instance.sheets[pattern.sheet].piece
    return Layout(
        number=number,
        glass=stock.glass,
        stock=stock.name,
        is_offcut=stock.is_offcut,
        cost=stock.cost,
        width=stock.width,
        height=stock.height,
        raw=stock.raw,
        trim=stock.trim,
        cuts=tuple(made.cuts),
        leaves=tuple(made.leaves),
        flaws=tuple(f.box for f in stock.flaws),
        flaw_kinds=kinds_of(stock.flaws),
        buy=buy,
        take=stock.take,
    )
