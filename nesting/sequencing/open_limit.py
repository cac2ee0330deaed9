"""A limit on the racks that are begun and not full, held by the order of the cuts, sheet after sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby

from ..plan import Layout, LeafKind
from .rack_order import Slots


class OpenLimit:
    """Racks begun on the sheets so far.

    Parameters
    ----------
    layouts
        All sheets of the plan: a rack is full with its last panel on one of them.
    slots
        Racks of the panels.
    most
        So many racks of each glass may be open.
    """

    def __init__(self, layouts: Sequence[Layout], slots: Slots, most: int) -> None:
        self.most = most
        self._slots = slots
        self._full = Counter(rack for layout in layouts for _, rack in _freed(layout, slots))
        self._there: dict[str, Counter[str]] = {}

    def open_on(self, layout: Layout) -> int:
        """The most racks of its glass that are open while a sheet is cut, now that those before are."""
        return self._cut(layout, Counter(self._there.get(layout.glass)))

    def take(self, layout: Layout) -> None:
        """The sheet is cut."""
        self._cut(layout, self._there.setdefault(layout.glass, Counter()))

    def better(self, found: Layout, left: Layout) -> Layout:
        """The order that was found, unless it opens too many racks and the one that was left opens fewer."""
        now = self.open_on(found)
        return left if now > self.most and self.open_on(left) < now else found

    def _cut(self, layout: Layout, there: Counter[str]) -> int:
        most = 0
        for _, group in groupby(_freed(layout, self._slots), key=lambda one: one[0]):
            there.update(rack for _, rack in group)
            most = max(most, sum(n < self._full[rack] for rack, n in there.items()))
        return most


def _freed(layout: Layout, slots: Slots) -> Iterator[tuple[int, str]]:
    """Step and rack of every panel of a rack, in the order in which they come free."""
    steps = {name: cut.step for cut in layout.cuts for name in cut.makes}
    panels = (leaf for leaf in layout.leaves if leaf.kind is LeafKind.PANEL and leaf.panel in slots)
    yield from sorted((steps.get(leaf.piece, 0), slots[leaf.panel or ""][0]) for leaf in panels)
