"""A plan as a table of nodes, the published form of solutions of the glass-cutting challenge of 2018.

Cuts that follow one another along one axis divide one branch; rows stand depth first, as in the organisers'
example. What is left beyond the last 1-cut of the last plate is the residual; waste that is wider than two
neighbouring 1-cuts may be apart is cut once more, past the defects.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from panewright.io.bench_challenge_check import BRANCH, COLUMNS, RESIDUAL, WASTE, Node
from panewright.io.bench_challenge_data import Challenge, plate_name
from panewright.nesting.plan import Layout, LeafKind, Plan
from panewright.nesting.text import tr
from panewright.nesting.units import mm

Box = tuple[int, int, int, int]


class NoTable(ValueError):
    """A plan that has no such form: an angled cut, a length that is no whole millimetre, another stock."""


@dataclass(frozen=True, slots=True)
class _Piece:
    box: Box
    kind: int = WASTE
    axis: int = 0
    """Of the cut that divides it, where there is one."""
    near: _Piece | None = None
    far: _Piece | None = None

    def parts(self, axis: int) -> Iterator[_Piece]:
        """What its cuts along one axis make of it, from near to far."""
        if self.near is None or self.far is None or self.axis != axis:
            yield self
        else:
            yield from self.near.parts(axis)
            yield from self.far.parts(axis)


def nodes_of(challenge: Challenge, plan: Plan) -> list[Node]:
    """The rows of a plan of this instance; raises `NoTable`."""
    numbers = {panel.id: i.number for panel, i in zip(challenge.panels, challenge.items, strict=True)}
    plates = {plate_name(plate): plate for plate in range(challenge.limits.plates)}
    table = _Table(challenge)
    for k, layout in enumerate(plan.layouts):
        if layout.stock not in plates:
            raise NoTable(tr("{stock} is no plate of the challenge", stock=layout.stock))
        plate = plates[layout.stock]
        table.plate(plate, _tree(layout, numbers), last=k == len(plan.layouts) - 1)
    return table.nodes


def table_text(nodes: Sequence[Node]) -> str:
    """The rows as they are published."""
    rows = [
        (n.plate, n.node, n.x, n.y, n.width, n.height, n.kind, n.cut, "" if n.parent is None else n.parent)
        for n in nodes
    ]
    return "\n".join(";".join(map(str, row)) for row in (COLUMNS, *rows)) + "\n"


def _whole(length: int) -> int:
    if length % mm(1):
        raise NoTable(tr("a length is no whole millimetre"))
    return length // mm(1)


def _tree(layout: Layout, numbers: dict[str, int]) -> _Piece:
    """The cuts of a sheet as a tree of halves."""
    cuts = {cut.piece: cut for cut in layout.cuts}
    leaves = {leaf.piece: leaf for leaf in layout.leaves}

    def piece(name: str, box: Box) -> _Piece:
        cut = cuts.get(name)
        if cut is None:
            leaf = leaves[name]
            held = leaf.kind is LeafKind.PANEL
            return _Piece(box, numbers[leaf.panel or ""] if held else WASTE)
        (x0, y0), (x1, y1) = cut.start, cut.end
        if (x0 == x1) == (y0 == y1):
            raise NoTable(tr("a cut is not parallel to a side"))
        axis = 0 if x0 == x1 else 1
        at = _whole(x0 if axis == 0 else y0)
        # to the left of an upright cut that runs up lies the near part, and of a level one that runs left
        first_near = y1 > y0 if axis == 0 else x1 < x0
        near, far = cut.makes if first_near else cut.makes[::-1]
        low, high = list(box), list(box)
        high[axis], low[axis + 2] = at, at
        return _Piece(box, BRANCH, axis, piece(near, _box(low)), piece(far, _box(high)))

    return piece("s", (0, 0, _whole(layout.width), _whole(layout.height)))


def _box(values: list[int]) -> Box:
    x0, y0, x1, y1 = values
    return x0, y0, x1, y1


class _Table:
    def __init__(self, challenge: Challenge) -> None:
        self.challenge = challenge
        self.nodes: list[Node] = []

    def plate(self, plate: int, whole: _Piece, *, last: bool) -> None:
        root = self._add(plate, whole.box, BRANCH, 0, None)
        strips = list(whole.parts(0))
        for k, strip in enumerate(strips):
            if strip.kind != WASTE:
                self._branch(plate, strip, 1, root)
            elif last and k == len(strips) - 1:
                self._add(plate, strip.box, RESIDUAL, 1, root)
            else:
                for box in self._narrow(plate, strip.box):
                    self._add(plate, box, WASTE, 1, root)

    def _branch(self, plate: int, piece: _Piece, cut: int, parent: int) -> None:
        number = self._add(plate, piece.box, piece.kind, cut, parent)
        if piece.kind == BRANCH:
            for part in piece.parts(cut % 2):
                self._branch(plate, part, cut + 1, number)

    def _narrow(self, plate: int, box: Box) -> Iterator[Box]:
        """A strip of waste, cut where no defect lies until no piece of it is too wide."""
        x0, y0, x1, y1 = box
        limits = self.challenge.limits
        defects = [d for d in self.challenge.defects if d.plate == plate]
        while x1 - x0 > limits.most1:
            at = min(x0 + limits.most1, x1 - limits.waste)
            while hit := [d.x for d in defects if d.x < at < d.x + d.width]:
                at = min(hit)
            if at < x0 + limits.waste:
                raise NoTable(tr("there is no place for a cut through waste on plate {plate}", plate=plate))
            yield x0, y0, at, y1
            x0 = at
        yield x0, y0, x1, y1

    def _add(self, plate: int, box: Box, kind: int, cut: int, parent: int | None) -> int:
        x0, y0, x1, y1 = box
        number = len(self.nodes)
        self.nodes.append(
            Node(
                plate=plate,
                node=number,
                x=x0,
                y=y0,
                width=x1 - x0,
                height=y1 - y0,
                kind=kind,
                cut=cut,
                parent=parent,
            )
        )
        return number
