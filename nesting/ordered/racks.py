"""Orders as racks: the panels of each order leave the table in the order of the list."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from ..panels import Panel, Purpose


def orders_as_racks(panels: Sequence[Panel]) -> list[Panel]:
    """The panels, with a rack for every order that has none of its own.

    Parameters
    ----------
    panels
        Everything ordered, in the order of the lists.

    Returns
    -------
    list of Panel
        The same in the same order. The rack bears the name of the order, with the glass behind it where the order
        has several glasses (a rack holds panels of one glass), and counts up where a rack is called so already.
        Slots count from 1. Spares and fillers have no rack.
    """
    own = {p.order for p in panels if p.rack}
    mine = [p for p in panels if p.purpose is Purpose.ORDER and p.order not in own]
    glasses: dict[str, set[str]] = {}
    for panel in mine:
        glasses.setdefault(panel.order, set()).add(panel.glass)
    taken = {p.rack for p in panels if p.rack}
    names: dict[tuple[str, str], str] = {}
    for panel in mine:
        key = panel.order, panel.glass
        if key not in names:
            plain = panel.order if len(glasses[panel.order]) == 1 else f"{panel.order} {panel.glass}"
            names[key] = free_name(plain, taken)
            taken.add(names[key])
    slots: Counter[tuple[str, str]] = Counter()
    out = []
    for panel in panels:
        key = panel.order, panel.glass
        if panel.purpose is Purpose.ORDER and panel.order not in own:
            slots[key] += 1
            panel = replace(panel, rack=names[key], slot=slots[key])
        out.append(panel)
    return out


def free_name(name: str, taken: set[str]) -> str:
    """A name that is not taken: itself, else with a number behind it.

    Examples
    --------
    >>> free_name("K-204", {"K-204", "K-204 (2)"})
    'K-204 (3)'
    """
    count, free = 1, name
    while free in taken:
        count += 1
        free = f"{name} ({count})"
    return free
