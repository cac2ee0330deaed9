"""The cut tree with all parallel cuts of a piece side by side: what may be reordered without changing a size.

A node is a rectangle whose children lie side by side along one axis. Any run of neighbouring children is
a piece that may come to hand, and may be broken between any two of them; children may change places. A
blank is one child: its shape cuts keep their order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from ..outlines import Outline, Point, box
from ..plan import Cut, CutKind, Layout, Leaf, LeafKind

X, Y = 0, 1


@dataclass(frozen=True, slots=True)
class Boundary:
    """The cut between two children: its kind and level."""

    kind: CutKind
    level: int | None


@dataclass(frozen=True, slots=True)
class Blank:
    """A rectangle cut up by shape cuts, in their order.

    Parameters
    ----------
    piece
        Its old name; those of its pieces begin with it.
    cuts, leaves
        Where they lay. [nm]
    size
        Along x and y. [nm]
    corner
        Its lower left one, as it lay. [nm]
    """

    piece: str
    cuts: tuple[Cut, ...]
    leaves: tuple[Leaf, ...]
    size: tuple[int, int]
    corner: Point


@dataclass(slots=True)
class Node:
    """A rectangle cut up along an axis.

    Parameters
    ----------
    axis
        Along which the children lie.
    size
        Along x and y. [nm]
    children
        In their order along the axis.
    bounds
        Between every two children.
    raw
        Whether the piece has a side still as bought at its low and at its high end along the axis.
    """

    axis: int
    size: tuple[int, int]
    children: list[Child]
    bounds: list[Boundary]
    raw: tuple[bool, bool]
    touches: list[bool] = field(default_factory=list)
    """Of each child: whether it lies on a raw side at an end of the axis, so that it must stay there."""


Child = Node | Blank | Leaf


def size_of(child: Child) -> tuple[int, int]:
    """Along x and y. [nm]"""
    if isinstance(child, Leaf):
        x0, y0, x1, y1 = box(child.outline)
        return x1 - x0, y1 - y0
    return child.size


def is_waste(child: Child) -> bool:
    """Whether it is cullet as a whole."""
    return isinstance(child, Leaf) and child.kind is LeafKind.CULLET


def tree_of(layout: Layout) -> Child:
    """The tree of a layout."""
    return _Reader(layout).child("s", (0, 0, layout.width, layout.height))


Box = tuple[int, int, int, int]


class _Reader:
    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.cut_of = {cut.piece: cut for cut in layout.cuts}
        self.leaf_of = {leaf.piece: leaf for leaf in layout.leaves}
        self.raw = {side.value for side in layout.raw}

    def child(self, piece: str, where: Box) -> Child:
        cut = self.cut_of.get(piece)
        if cut is None:
            return self.leaf_of[piece]
        if cut.kind is CutKind.SHAPE:
            return self._blank(piece, where)
        axis = X if cut.start[0] == cut.end[0] else Y
        parts: list[tuple[str, Box]] = []
        bounds: list[Boundary] = []
        self._run(cut, where, axis, parts, bounds)
        node = Node(
            axis,
            (where[2] - where[0], where[3] - where[1]),
            [self.child(name, at) for name, at in parts],
            bounds,
            self._raw_ends(where, axis),
        )
        low, high = node.raw
        last = len(parts) - 1
        node.touches = [(low and i == 0) or (high and i == last) for i in range(last + 1)]
        return node

    def _raw_ends(self, where: Box, axis: int) -> tuple[bool, bool]:
        names = ("left", "right") if axis == X else ("bottom", "top")
        most = (self.layout.width, self.layout.height)[axis]
        return (
            names[0] in self.raw and where[axis] == 0,
            names[1] in self.raw and where[axis + 2] == most,
        )

    def _run(
        self, cut: Cut, where: Box, axis: int, parts: list[tuple[str, Box]], bounds: list[Boundary]
    ) -> None:
        """Both parts of a cut, each taken apart further by parallel cuts of the same level."""
        at = cut.start[axis]
        # to the left of an upward cut lies less x, to the left of one to the left less y
        forward = cut.end[Y] > cut.start[Y] if axis == X else cut.end[X] < cut.start[X]
        near, far = cut.makes if forward else cut.makes[::-1]
        x0, y0, x1, y1 = where
        low, high = (
            ((x0, y0, at, y1), (at, y0, x1, y1)) if axis == X else ((x0, y0, x1, at), (x0, at, x1, y1))
        )
        for name, part in ((near, low), (far, high)):
            further = self.cut_of.get(name)
            if further is not None and self._same(cut, further, axis):
                self._run(further, part, axis, parts, bounds)
            else:
                parts.append((name, part))
            if part is low:
                bounds.append(Boundary(cut.kind, cut.level))

    @staticmethod
    def _same(cut: Cut, further: Cut, axis: int) -> bool:
        if further.kind is CutKind.SHAPE or further.start[axis] != further.end[axis]:
            return False
        kinds = {cut.kind, further.kind}
        if CutKind.LAST in kinds:
            return False
        return CutKind.TRIM in kinds or cut.level == further.level

    def _blank(self, piece: str, where: Box) -> Blank:
        inside = piece + "."
        cuts = tuple(c for c in self.layout.cuts if c.piece == piece or c.piece.startswith(inside))
        leaves = tuple(x for x in self.layout.leaves if x.piece.startswith(inside))
        return Blank(piece, cuts, leaves, (where[2] - where[0], where[3] - where[1]), where[:2])


# ---------------------------------------------------------------- from a tree and an order to a layout

Broken = tuple[int, int, int, int, int]
"""A break: number of the node, first and last child (exclusive) of the piece, the child that it comes before,
and the placement that it belongs to, or 0."""
BLANK = -1


@dataclass(slots=True)
class Indexed:
    """Nodes and blanks by number, each before its children; where each child of a node begins.

    Parameters
    ----------
    nodes
        Every node and blank; the whole sheet first.
    inner
        Of each node the number of every child, or -1 for a leaf.
    pos
        Of each node where its children begin along the axis, and where the last ends. [nm]
    """

    nodes: list[Node | Blank]
    inner: list[list[int]]
    pos: list[list[int]]


def indexed(root: Child) -> Indexed:
    """Number the nodes and blanks of a tree."""
    out = Indexed([], [], [])
    if isinstance(root, Leaf):
        return out

    def add(child: Node | Blank) -> int:
        number = len(out.nodes)
        out.nodes.append(child)
        out.inner.append([])
        at = [0]
        out.pos.append(at)
        if isinstance(child, Node):
            for part in child.children:
                at.append(at[-1] + size_of(part)[child.axis])
                out.inner[number].append(-1 if isinstance(part, Leaf) else add(part))
        return number

    add(root)
    return out


@dataclass(slots=True)
class _Writer:
    tree: Indexed
    cuts: list[Cut] = field(default_factory=list)
    leaves: dict[str, Leaf] = field(default_factory=dict)
    at: dict[tuple[int, int, int], tuple[str, Point]] = field(default_factory=dict)
    """Name and lower left corner of the pieces in hand, by node and run of children."""

    def broken(self, what: Broken) -> None:
        number, i, j, m, placement = what
        node = self.tree.nodes[number]
        name, (x, y) = self.at.pop((number, i, j))
        if isinstance(node, Blank):
            self._blank(node, name, (x, y))
            return
        pos, axis = self.tree.pos[number], node.axis
        cross = node.size[1 - axis]
        along = pos[m] - pos[i]
        if axis == X:
            start, end = (x + along, y), (x + along, y + cross)
        else:
            start, end = (x + cross, y + along), (x, y + along)
        bound = node.bounds[m - 1]
        makes = (f"{name}.1", f"{name}.2")
        self.cuts.append(
            Cut(
                step=len(self.cuts) + 1,
                piece=name,
                start=start,
                end=end,
                makes=makes,
                kind=bound.kind,
                level=bound.level,
                placement=placement or None,
            )
        )
        far = (x + along, y) if axis == X else (x, y + along)
        self._piece(number, i, m, makes[0], (x, y))
        self._piece(number, m, j, makes[1], far)

    def _piece(self, number: int, i: int, j: int, name: str, corner: Point) -> None:
        if j - i > 1:
            self.at[number, i, j] = (name, corner)
            return
        node = self.tree.nodes[number]
        assert isinstance(node, Node)
        child = node.children[i]
        if isinstance(child, Leaf):
            x0, y0, _, _ = box(child.outline)
            self.leaves[name] = _moved(child, name, (corner[0] - x0, corner[1] - y0))
        else:
            self.begin(self.tree.inner[number][i], name, corner)

    def begin(self, number: int, name: str, corner: Point) -> None:
        """A node or blank comes to hand."""
        node = self.tree.nodes[number]
        self.at[number, 0, len(node.children) if isinstance(node, Node) else 1] = (name, corner)

    def _blank(self, blank: Blank, name: str, corner: Point) -> None:
        """All its shape cuts, moved to where the blank lies now."""
        dx, dy = (a - b for a, b in zip(corner, blank.corner, strict=True))
        skip = len(blank.piece)
        for cut in blank.cuts:
            self.cuts.append(
                Cut(
                    step=len(self.cuts) + 1,
                    piece=name + cut.piece[skip:],
                    start=(cut.start[0] + dx, cut.start[1] + dy),
                    end=(cut.end[0] + dx, cut.end[1] + dy),
                    makes=(name + cut.makes[0][skip:], name + cut.makes[1][skip:]),
                    kind=cut.kind,
                    level=cut.level,
                )
            )
        for leaf in blank.leaves:
            renamed = name + leaf.piece[skip:]
            self.leaves[renamed] = _moved(leaf, renamed, (dx, dy))


def _moved(leaf: Leaf, name: str, by: tuple[int, int]) -> Leaf:
    outline: Outline = tuple((x + by[0], y + by[1]) for x, y in leaf.outline)
    return Leaf(
        piece=name,
        outline=outline,
        kind=leaf.kind,
        panel=leaf.panel,
        turned=leaf.turned,
        mirrored=leaf.mirrored,
        offcut=leaf.offcut,
        raw=leaf.raw,
    )


def written(tree: Indexed, order: Sequence[Broken]) -> tuple[tuple[Cut, ...], tuple[Leaf, ...]]:
    """Cuts and leaves of a tree that is cut up in this order.

    Raises
    ------
    KeyError
        When a piece is broken that is not in hand.
    """
    out = _Writer(tree)
    out.begin(0, "s", (0, 0))
    for what in order:
        out.broken(what)
    if out.at:
        raise KeyError(min(out.at))
    ends = {name: i for i, cut in enumerate(out.cuts) for name in cut.makes}
    return tuple(out.cuts), tuple(sorted(out.leaves.values(), key=lambda x: (ends[x.piece], x.piece)))
