"""The rules of the glass-cutting challenge of 2018, held against a table of nodes as its solutions are published.

Independent of the program's search, plans and own checker. Source of the rules: the problem description by
Tlilane and Viaud, 23 February 2018, as the README of the shared data tells it. Where its words leave a choice
the stricter reading is taken: no cut goes through a defect, what is left for later use is no narrower than
waste may be, every branch is cut at least once, and numbers of nodes are unique in the whole table.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from panewright.io.bench_challenge_data import Challenge
from panewright.nesting.text import tr

COLUMNS: Final = ("PLATE_ID", "NODE_ID", "X", "Y", "WIDTH", "HEIGHT", "TYPE", "CUT", "PARENT")
WASTE, BRANCH, RESIDUAL = -1, -2, -3
MOST_NODES: Final = 200_000
DEEPEST: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One row: a piece of a plate. [mm]

    `kind` is the number of an item, or `WASTE`, `BRANCH`, `RESIDUAL`; `cut` the cut that makes it, 0 for the
    plate itself; `parent` the node that it is cut from, None for the plate.
    """

    plate: int
    node: int
    x: int
    y: int
    width: int
    height: int
    kind: int
    cut: int
    parent: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """A rule that a solution breaks: its word, what is wrong, and on which plate and node."""

    rule: str
    text: str
    plate: int | None = None
    node: int | None = None

    def __str__(self) -> str:
        where = [
            *([] if self.plate is None else [tr("plate {number}", number=self.plate)]),
            *([] if self.node is None else [tr("node {number}", number=self.node)]),
        ]
        return ": ".join([*([", ".join(where)] if where else []), self.rule, self.text])


def objective(challenge: Challenge, nodes: Sequence[Node]) -> int:
    """H W m - H r - area of the items: m plates, r the width left for later use on the last one. [mm2]"""
    limits = challenge.limits
    plates = len({n.plate for n in nodes})
    left = sum(n.width for n in nodes if n.kind == RESIDUAL)
    return limits.height * (limits.width * plates - left) - challenge.area


def read_table(text: str) -> tuple[list[Node], list[Broken]]:
    """The rows of a solution, and those that are none."""
    nodes: list[Node] = []
    broken: list[Broken] = []

    def bad(line: int, why: str) -> None:
        broken.append(Broken(rule="table", text=tr("line {line}: {why}", line=line, why=why)))

    lines = text.removeprefix("\ufeff").splitlines()
    if not lines or tuple(lines[0].strip().split(";")) != COLUMNS:
        bad(1, tr("the columns are {columns}", columns=";".join(COLUMNS)))
        return nodes, broken
    for number, line in enumerate(lines[1:], 2):
        if not line.strip():
            continue
        if len(nodes) >= MOST_NODES:
            bad(number, tr("more than {most} nodes", most=MOST_NODES))
            break
        fields = line.strip().split(";")
        whole = all(re.fullmatch(r"-?[0-9]{1,7}", f, re.ASCII) for f in fields[:8])
        if len(fields) != 9 or not whole or not re.fullmatch(r"[0-9]{0,7}", fields[8], re.ASCII):
            bad(number, tr("{text} is not nine whole numbers, the last perhaps empty", text=repr(line[:80])))
            continue
        plate, node, x, y, width, height, kind, cut = map(int, fields[:8])
        parent = int(fields[8]) if fields[8] else None
        nodes.append(
            Node(
                plate=plate,
                node=node,
                x=x,
                y=y,
                width=width,
                height=height,
                kind=kind,
                cut=cut,
                parent=parent,
            )
        )
    return nodes, broken


def broken_rules(challenge: Challenge, nodes: Sequence[Node]) -> list[Broken]:
    """Every rule that the solution breaks, in words; an empty list is a pass."""
    return _Walk(challenge, nodes).run()


class _Walk:
    def __init__(self, challenge: Challenge, nodes: Sequence[Node]) -> None:
        self.challenge, self.limits, self.nodes = challenge, challenge.limits, nodes
        self.broken: list[Broken] = []
        self.children: dict[int, list[Node]] = {}
        self.seen = 0
        self.cut_order: list[Node] = []

    def bad(self, rule: str, text: str, node: Node | None = None) -> None:
        plate, number = (None, None) if node is None else (node.plate, node.node)
        self.broken.append(Broken(rule=rule, text=text, plate=plate, node=number))

    def run(self) -> list[Broken]:
        roots = self._roots()
        for root in roots:
            self._plate(root)
        if self.seen < len(self.nodes) and not self.broken:
            self.bad("nodes", tr("some nodes hang on no plate"))
        self._residual(roots)
        self._items()
        self._stacks()
        return self.broken

    # ------------------------------------------------------------------------------------------ the tree

    def _roots(self) -> list[Node]:
        by_number: dict[int, Node] = {}
        for node in self.nodes:
            if node.node in by_number:
                self.bad("nodes", tr("the number is used twice"), node)
            by_number[node.node] = node
        roots = []
        for node in self.nodes:
            if node.parent is None:
                roots.append(node)
                continue
            parent = by_number.get(node.parent)
            if parent is None or parent.plate != node.plate:
                self.bad("nodes", tr("there is no node {parent} on its plate", parent=node.parent), node)
            elif parent.kind != BRANCH:
                self.bad(
                    "nodes", tr("it is cut from node {parent}, which is no branch", parent=node.parent), node
                )
            elif node.cut != parent.cut + 1:
                text = tr("cut {cut} follows cut {before}", cut=node.cut, before=parent.cut)
                self.bad("nodes", text, node)
            else:
                self.children.setdefault(node.parent, []).append(node)
        roots.sort(key=lambda n: n.plate)
        numbers = [n.plate for n in roots]
        if numbers != list(range(len(numbers))) or len(numbers) != len({n.plate for n in self.nodes}):
            text = tr("the plates are taken as 0, 1, 2 ..., each with one whole plate as its first node")
            self.bad("plates", text)
        if len(numbers) > self.limits.plates:
            self.bad("plates", tr("there are only {count} plates", count=self.limits.plates))
        return roots

    def _plate(self, root: Node) -> None:
        size = (root.x, root.y, root.width, root.height)
        if size != (0, 0, self.limits.width, self.limits.height) or root.cut != 0 or root.kind != BRANCH:
            self.bad("plates", tr("it is no whole plate that is cut up"), root)
        defects = [d for d in self.challenge.defects if d.plate == root.plate]
        for node in self._walk(root):
            self.seen += 1
            self._size(node)
            if node.kind == BRANCH:
                self._branch(node)
                self._lines(node, [(d.x, d.y, d.x + d.width, d.y + d.height) for d in defects])
                continue
            if node.kind < RESIDUAL or node.kind >= len(self.challenge.items):
                self.bad("items", tr("there is no item {number}", number=node.kind), node)
            elif node.kind >= 0:
                self.cut_order.append(node)
                right, top = node.x + node.width, node.y + node.height
                for d in defects:
                    beside = d.x + d.width <= node.x or right <= d.x
                    if not (beside or d.y + d.height <= node.y or top <= d.y):
                        text = tr("item {item} has defect {number}", item=node.kind, number=d.number)
                        self.bad("defects", text, node)

    def _walk(self, root: Node) -> Iterator[Node]:
        """Depth first, from left to right and from bottom to top."""
        at = {root.node}
        stack = [root]
        while stack:
            node = stack.pop()
            yield node
            below = sorted(self.children.get(node.node, ()), key=lambda n: (n.x, n.y))
            fresh = [n for n in below if n.node not in at]
            at.update(n.node for n in fresh)
            stack += reversed(fresh)

    # ---------------------------------------------------------------------------------------- each piece

    def _size(self, node: Node) -> None:
        limits = self.limits
        if node.width <= 0 or node.height <= 0:
            self.bad("sizes", tr("it has no size"), node)
            return
        if node.cut < 0 or node.cut > DEEPEST:
            self.bad("4-cut", tr("there is no cut {cut}", cut=node.cut), node)
        if node.cut == DEEPEST and node.kind == BRANCH:
            self.bad("4-cut", tr("what a 4-cut makes is cut again"), node)
        if node.kind in (WASTE, RESIDUAL) and min(node.width, node.height) < limits.waste:
            self.bad("waste", tr("it is less than {least} mm wide or high", least=limits.waste), node)
        if node.cut == 1:
            if node.kind not in (WASTE, RESIDUAL) and node.width < limits.least1:
                self.bad(
                    "1-cut", tr("less than {least} mm after the 1-cut before", least=limits.least1), node
                )
            if node.kind != RESIDUAL and node.width > limits.most1:
                self.bad("1-cut", tr("more than {most} mm after the 1-cut before", most=limits.most1), node)
        if node.cut == 2 and node.kind != WASTE and node.height < limits.least2:
            self.bad("2-cut", tr("less than {least} mm after the 2-cut before", least=limits.least2), node)

    def _branch(self, node: Node) -> None:
        """What a branch is cut into fills it, side by side along the way of its cuts."""
        parts = sorted(self.children.get(node.node, ()), key=lambda n: (n.x, n.y))
        if len(parts) < 2:
            self.bad("partition", tr("a branch is cut into {count} pieces", count=len(parts)), node)
        upright = node.cut % 2 == 0
        at = node.x if upright else node.y
        for part in parts:
            if upright:
                fits = (part.x, part.y, part.height) == (at, node.y, node.height)
                at = part.x + part.width
            else:
                fits = (part.x, part.y, part.width) == (node.x, at, node.width)
                at = part.y + part.height
            if not fits:
                self.bad("partition", tr("it does not lie beside what was cut off before"), part)
        if parts and at != (node.x + node.width if upright else node.y + node.height):
            self.bad("partition", tr("what it is cut into does not fill it"), node)
        if node.cut == DEEPEST - 1:
            items = sum(p.kind >= 0 for p in parts)
            if len(parts) > 2 or not items:
                text = tr("a 4-cut parts an item from waste or two items, once")
                self.bad("4-cut", text, node)

    def _lines(self, node: Node, defects: Sequence[tuple[int, int, int, int]]) -> None:
        """No cut within a branch goes through a defect; along its border it may."""
        parts = sorted(self.children.get(node.node, ()), key=lambda n: (n.x, n.y))
        axis = node.cut % 2
        low, high = (node.y, node.y + node.height) if axis == 0 else (node.x, node.x + node.width)
        for _, part in pairwise(parts):
            at = (part.x, part.y)[axis]
            for box in defects:
                across = box[axis] < at < box[axis + 2]
                if across and box[1 - axis] < high and low < box[3 - axis]:
                    self.bad("defects", tr("the cut at {at} mm goes through a defect", at=at), part)

    # ------------------------------------------------------------------------------------ the whole table

    def _residual(self, roots: Sequence[Node]) -> None:
        left = [n for n in self.nodes if n.kind == RESIDUAL]
        if len(left) > 1:
            self.bad("residual", tr("there is more than one"))
        for node in left:
            if not roots or node.plate != roots[-1].plate:
                self.bad("residual", tr("it is not on the last plate"), node)
            if node.cut != 1 or node.x + node.width != self.limits.width:
                self.bad("residual", tr("it does not lie at the right of the last 1-cut"), node)

    def _items(self) -> None:
        cut = Counter(n.kind for n in self.cut_order)
        for item in self.challenge.items:
            if cut[item.number] != 1:
                self.bad(
                    "items", tr("item {item} is cut {count} times", item=item.number, count=cut[item.number])
                )
        for node in self.cut_order:
            item = self.challenge.items[node.kind]
            if (node.width, node.height) not in ((item.length, item.width), (item.width, item.length)):
                self.bad("sizes", tr("it has not the size of item {item}", item=item.number), node)

    def _stacks(self) -> None:
        """What of a stack comes off later stands later in it."""
        last: dict[int, int] = {}
        for node in self.cut_order:
            item = self.challenge.items[node.kind]
            if item.sequence <= last.get(item.stack, -1):
                text = tr(
                    "item {item} leaves after a later one of stack {stack}",
                    item=item.number,
                    stack=item.stack,
                )
                self.bad("stacks", text, node)
            last[item.stack] = max(item.sequence, last.get(item.stack, -1))
