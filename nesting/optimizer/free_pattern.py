"""A pattern without a limit of levels: a tree of cuts, and how it is read from merged blocks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from . import free_kernel as fk
from .free_prices import Ways
from .instance import Instance
from .pattern import Item, Pattern

X, Y = 0, 1
WASTE = -1


@dataclass(frozen=True, slots=True)
class Node:
    """A rectangle of the inner area, in search units.

    Either cut once into a near and a far part (`parts`), square to the axis `axis`, or not cut at all: then
    it is the rectangle `rect` or `WASTE`.
    """

    width: int
    height: int
    rect: int = WASTE
    axis: int = X
    parts: tuple[Node, ...] = ()

    @property
    def is_waste(self) -> bool:
        """Whether nothing lies in it."""
        return not self.parts and self.rect == WASTE

    def leaves(self, far_x: bool = True, far_y: bool = True) -> Iterator[tuple[Node, bool, bool]]:
        """All leaves, near before far, and whether each reaches the far side in x, and in y."""
        if not self.parts:
            yield self, far_x, far_y
            return
        near, far = self.parts
        yield from near.leaves(far_x and self.axis == Y, far_y and self.axis == X)
        yield from far.leaves(far_x, far_y)

    def wasted_at(self, axis: int) -> bool:
        """Whether waste reaches the far side along an axis."""
        return any(leaf.is_waste and (far_x, far_y)[axis] for leaf, far_x, far_y in self.leaves())


@dataclass(frozen=True, slots=True)
class Free(Pattern):
    """A pattern of any number of levels; its frame is always 0."""

    tree: Node

    def items(self) -> list[Item]:
        """All rectangles, near before far."""
        return [Item(n.rect, n.width, n.height) for n, _, _ in self.tree.leaves() if not n.is_waste]

    def waste(self, instance: Instance) -> list[tuple[int, int]]:
        """Width and height of the waste rectangles that may be kept. [nm]"""
        unit = instance.unit
        trim = instance.sheets[self.sheet].piece.trim
        first = self.first_waste
        out = []
        for leaf, far_x, far_y in self.tree.leaves():
            if leaf.is_waste:
                width = leaf.width * unit + (trim.right if far_x else 0)
                height = leaf.height * unit + (trim.top if far_y else 0)
                if leaf is first and self.tree.axis == X:
                    height += trim.bottom
                elif leaf is first:
                    width += trim.left
                out.append((width, height))
        return out

    @property
    def first_waste(self) -> Node | None:
        """The waste that the first cut frees at the far side, if any."""
        tree = self.tree
        return tree.parts[1] if tree.parts and tree.parts[1].is_waste else None


@dataclass(frozen=True, slots=True)
class Reader:
    """Reads a pattern from the blocks of `free_kernel.merge`.

    Parameters
    ----------
    blocks
        As the kernel left them.
    ways
        What its seeds stand for.
    distance
        Break-out distance. [search units]
    """

    blocks: Any
    ways: Ways
    distance: int

    def tree(self, block: int, width: int, height: int, far: tuple[bool, bool]) -> Node:
        """The block laid into a rectangle; `far` tells where the far side of that is raw."""
        b = self.blocks[block]
        size = (width, height)
        extra = [self._outer(b, axis, size[axis], far[axis]) for axis in (X, Y)]
        if extra[X] or extra[Y]:
            # the larger waste strip goes over the whole side
            over_x, over_y = extra[X] * height, extra[Y] * width
            axis = X if over_x > over_y else Y
            rest = [width, height]
            rest[axis] -= extra[axis]
            strip = [width, height]
            strip[axis] = extra[axis]
            still = (far[X] and axis != X, far[Y] and axis != Y)
            near = self.tree(block, rest[X], rest[Y], still)
            return Node(width, height, axis=axis, parts=(near, Node(strip[X], strip[Y])))
        axis = int(b[fk.AXIS])
        if axis < 0:
            return Node(width, height, rect=int(self.ways.rect[b[fk.A]]))
        near_block, far_block, at = self._split(b, axis, size[axis])
        parts = []
        for child, length, last in ((near_block, at, False), (far_block, size[axis] - at, True)):
            inner = [width, height]
            inner[axis] = length
            reaches = (far[X] and (last or axis == Y), far[Y] and (last or axis == X))
            parts.append(self.tree(child, inner[X], inner[Y], reaches))
        return Node(width, height, axis=axis, parts=tuple(parts))

    def _outer(self, b: Any, axis: int, length: int, far: bool) -> int:
        """Width of the waste strip beside the whole block, 0 where what is left goes into it."""
        rest = length - int(b[fk.W + axis])
        return rest if rest > 0 and (far or rest >= self.distance) else 0

    def _split(self, b: Any, axis: int, length: int) -> tuple[int, int, int]:
        """Near part, far part, and the place of the cut between them."""
        one, two = int(b[fk.A]), int(b[fk.B])
        p, q = self.blocks[one], self.blocks[two]
        along = fk.W + axis
        rest = length - int(b[along])
        if rest < 0:  # the far part lies at a raw side and needs less there
            if int(p[along]) + int(q[along + 4]) > length:
                one, two, p, q = two, one, q, p
            return one, two, int(p[along])
        # a part that takes any length takes the rest
        return one, two, int(p[along]) + (rest if p[along + 2] == fk.FLEX else 0)
