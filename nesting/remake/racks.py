"""Racks: their panels come off the table in rising order of their slots, over all sheets of a plan."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from ..panels import Panel
from ..plan import Layout


def out_of_order(
    layouts: Iterable[Layout], panels: Mapping[str, Panel], but: Collection[str] = ()
) -> list[str]:
    """Ids of racked panels that come off behind one of a later slot of their rack.

    Parameters
    ----------
    layouts
        In the order in which they are cut.
    panels
        All panels by id.
    but
        Ids of panels that stand in no order any more.
    """
    slots: dict[str, int] = {}
    out = []
    for layout in layouts:
        made = {name: cut.step for cut in layout.cuts for name in cut.makes}
        rows = []
        for leaf in layout.leaves:
            panel = panels.get(leaf.panel or "")
            if panel is not None and panel.rack and panel.id not in but:
                rows.append((made.get(leaf.piece, 0), panel.slot or 0, panel.rack, panel.id))
        # two that one cut frees may come in any order
        for _, slot, rack, name in sorted(rows):
            if slot < slots.get(rack, slot):
                out.append(name)
            slots[rack] = max(slot, slots.get(rack, slot))
    return out


def racked(layout: Layout, panels: Mapping[str, Panel]) -> bool:
    """Whether a panel of a sheet goes into a rack."""
    return any(leaf.panel in panels and panels[leaf.panel].rack for leaf in layout.leaves if leaf.panel)
