"""Panels that go into racks by their slots: which breaks may be made without a later slot coming off too soon.

Of what is still on the table the least slot of each rack is known; a break may free a panel only where no panel of
its rack with a lower slot is left. Two that one break frees may come in any order.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Final

from ..panels import Panel
from ..plan import Layout, Leaf
from .tree import Blank, Broken, Child, Indexed, Node
from .work import PieceKey

NONE_LEFT: Final = 2**62
"""The least slot of a rack of which nothing is left."""
Slots = Mapping[str, tuple[str, int]]
"""Panel id -> rack and slot."""
NO_SLOTS: Final[Slots] = {}


def slots_of(panels: Iterable[Panel]) -> dict[str, tuple[str, int]]:
    """Where the panels go that go into a rack."""
    return {p.id: (p.rack, p.slot) for p in panels if p.rack and p.slot is not None}


def shared_racks(layout: Layout, slots: Slots) -> list[str]:
    """The racks for which a sheet has more than one panel: only for these does the order of its cuts matter."""
    count = Counter(
        slots[leaf.panel][0] for leaf in layout.leaves if leaf.panel is not None and leaf.panel in slots
    )
    return sorted(rack for rack, many in count.items() if many > 1)


def keeps_order(layout: Layout, slots: Slots) -> bool:
    """Whether the cuts of a sheet free the panels of each rack in rising order of their slots."""
    freed = {name: cut.step for cut in layout.cuts for name in cut.makes}
    racks: dict[str, list[tuple[int, int]]] = {}
    for leaf in layout.leaves:
        if leaf.panel is not None and leaf.panel in slots:
            rack, slot = slots[leaf.panel]
            racks.setdefault(rack, []).append((slot, freed.get(leaf.piece, 0)))
    return all(step <= later for found in racks.values() for (_, step), (_, later) in pairwise(sorted(found)))


class RackOrder:
    """Which breaks of a sheet keep the order of its racks.

    Parameters
    ----------
    tree
        The sheet.
    layout
        The same, its cuts in an order that keeps the racks.
    slots
        Where its panels go.
    """

    def __init__(self, tree: Indexed, layout: Layout, slots: Slots) -> None:
        self.tree, self.slots = tree, slots
        self.racks = {rack: k for k, rack in enumerate(shared_racks(layout, slots))}
        self._none = (NONE_LEFT,) * len(self.racks)
        self._least: dict[PieceKey, tuple[int, ...]] = {}
        self._hopeful: dict[PieceKey, bool] = {}
        freed = {name: cut.step for cut in layout.cuts for name in cut.makes}
        self._turn = {leaf.panel: freed.get(leaf.piece, 0) for leaf in layout.leaves if leaf.panel in slots}

    def least(self, piece: PieceKey) -> tuple[int, ...]:
        """The least slot of each rack in a piece."""
        known = self._least.get(piece)
        if known is None:
            number, i, j = piece
            node = self.tree.nodes[number]
            parts = [self._none]
            if isinstance(node, Blank):
                parts += [self._slot(leaf) for leaf in node.leaves]
            else:
                parts += [self._of(number, k) for k in range(i, j)]
            known = self._least[piece] = tuple(min(column) for column in zip(*parts, strict=True))
        return known

    def turn(self, number: int, i: int, j: int) -> int:
        """When the first panel of a run of children came off in the order that is known; nothing last."""
        node = self.tree.nodes[number]
        found = [NONE_LEFT]
        for child in node.children[i:j] if isinstance(node, Node) else [node]:
            found += [self._turn[leaf.panel] for leaf in _leaves(child) if leaf.panel in self._turn]
        return min(found)

    def may(self, what: Broken, left: Sequence[PieceKey]) -> bool:
        """Whether a break may be made that leaves these pieces on the table."""
        most = self._freed(what)
        if all(slot < 0 for slot in most):
            return True
        return not any(
            slot > least for piece in left for slot, least in zip(most, self.least(piece), strict=True)
        )

    def hopeful(self, piece: PieceKey) -> bool:
        """Whether a piece can be cut up in the order of the racks, if nothing else lies on the table.

        Only single breaks and each of their parts for itself are looked at: what is hopeful may still fail.
        """
        known = self._hopeful.get(piece)
        if known is None:
            number, i, j = piece
            known = True
            if isinstance(self.tree.nodes[number], Node) and min(self.least(piece), default=0) != NONE_LEFT:
                known = False
                for m in range(i + 1, j):
                    left = [p for p in (self.part(number, i, m), self.part(number, m, j)) if p is not None]
                    if self.may((number, i, j, m, 0), left) and all(self.hopeful(p) for p in left):
                        known = True
                        break
            self._hopeful[piece] = known
        return known

    def part(self, number: int, i: int, j: int) -> PieceKey | None:
        """A run of children as a piece that is still to be cut, or None where it is done."""
        if j - i > 1:
            return number, i, j
        inner = self.tree.inner[number][i]
        if inner < 0:
            return None
        node = self.tree.nodes[inner]
        return inner, 0, len(node.children) if isinstance(node, Node) else 1

    def _of(self, number: int, k: int) -> tuple[int, ...]:
        node, inner = self.tree.nodes[number], self.tree.inner[number][k]
        if inner >= 0:
            part = self.part(number, k, k + 1)
            return self._none if part is None else self.least(part)
        child = node.children[k] if isinstance(node, Node) else None
        return self._slot(child) if isinstance(child, Leaf) else self._none

    def _slot(self, leaf: Leaf) -> tuple[int, ...]:
        rack, slot = self.slots.get(leaf.panel or "", ("", 0))
        if rack not in self.racks:
            return self._none
        out = list(self._none)
        out[self.racks[rack]] = slot
        return tuple(out)

    def _freed(self, what: Broken) -> list[int]:
        """The greatest slot of each rack that a break frees, -1 for none."""
        number, i, j, m, _ = what
        node = self.tree.nodes[number]
        if isinstance(node, Blank):
            leaves = list(node.leaves)
        else:
            alone = [k for k, n in ((i, m - i), (m, j - m)) if n == 1]
            leaves = [leaf for k in alone if isinstance(leaf := node.children[k], Leaf)]
        most = [-1] * len(self.racks)
        for leaf in leaves:
            rack, slot = self.slots.get(leaf.panel or "", ("", 0))
            if rack in self.racks:
                most[self.racks[rack]] = max(most[self.racks[rack]], slot)
        return most


def _leaves(child: Child) -> list[Leaf]:
    if isinstance(child, Leaf):
        return [child]
    if isinstance(child, Blank):
        return list(child.leaves)
    return [leaf for part in child.children for leaf in _leaves(part)]
