"""The racks of a plan: which step of which sheet frees each panel, and how many racks are open meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

from ..plan import Layout, LeafKind, Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class RackPlace:
    """A place on a rack, and when its panel comes free.

    Parameters
    ----------
    rack, slot
        The place.
    panel, order, name, glass
        What stands there: its id, order, name in it and glass.
    sheet
        Number of the sheet that it is cut from; None where it is on no sheet.
    step
        Step of that sheet after which it is free; 0 where the sheet is used as it is.
    turn
        How many cuts of the plan are made by then, that one included, sheet after sheet; None where it is on no
        sheet. Places of one turn are freed by one cut.
    day
        Cutting day of the sheet, if it has one.
    """

    rack: str
    slot: int
    panel: str
    order: str
    name: str
    glass: str
    sheet: int | None = None
    step: int | None = None
    turn: int | None = None
    day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRacks:
    """Racks that are begun and not full when a cut has freed panels of racks.

    Parameters
    ----------
    sheet, step
        The cut.
    racks
        Their names in the order in which they were begun.
    """

    sheet: int
    step: int
    racks: tuple[str, ...]


def leaves_table(plan: Plan) -> list[RackPlace]:
    """Every panel of a rack, in the order in which they leave the table; those on no sheet last.

    Panels that one cut frees stand in the order of racks and slots.
    """
    freed = _freed(plan.layouts)
    out = []
    for panel in plan.panels:
        if not panel.rack:
            continue
        place = RackPlace(
            rack=panel.rack,
            slot=panel.slot or 0,
            panel=panel.id,
            order=panel.order,
            name=panel.name,
            glass=panel.glass,
        )
        if panel.id in freed:
            layout, step, turn = freed[panel.id]
            place = replace(place, sheet=layout.number, step=step, turn=turn, day=layout.day)
        out.append(place)
    return sorted(out, key=lambda p: (p.turn is None, p.turn or 0, p.rack, p.slot, p.panel))


def _freed(layouts: Sequence[Layout]) -> dict[str, tuple[Layout, int, int]]:
    """Sheet, step and turn that free each panel, by its id."""
    out = {}
    made = 0
    for layout in layouts:
        cuts = sorted(layout.cuts, key=lambda c: c.step)
        steps = {name: (cut.step, at) for at, cut in enumerate(cuts, start=1) for name in cut.makes}
        for leaf in layout.leaves:
            if leaf.kind is LeafKind.PANEL and leaf.panel is not None:
                step, at = steps.get(leaf.piece, (0, 1))
                out[leaf.panel] = layout, step, made + at
        # a sheet that is used as it is takes a turn of its own
        made += max(1, len(layout.cuts))
    return out


def racks_in_order(places: Sequence[RackPlace]) -> dict[str, list[RackPlace]]:
    """The places of each rack in rising order of their slots; racks in the order of their names."""
    racks: dict[str, list[RackPlace]] = {}
    for place in sorted(places, key=lambda p: (p.rack, p.slot, p.panel)):
        racks.setdefault(place.rack, []).append(place)
    return racks


def open_racks(places: Sequence[RackPlace]) -> list[OpenRacks]:
    """The racks that are open at each cut which frees a panel of one.

    Parameters
    ----------
    places
        As `leaves_table` gives them.

    Notes
    -----
    A rack is open from its first panel until its last one is there, so that a rack of one panel never is. Panels on
    no sheet keep no rack open.
    """
    last = {p.rack: p.turn for p in places if p.turn is not None}
    begun: list[str] = []
    out = []
    for _, group in groupby((p for p in places if p.turn is not None), key=lambda p: p.turn):
        freed = list(group)
        begun += [rack for rack in dict.fromkeys(p.rack for p in freed) if rack not in begun]
        begun = [rack for rack in begun if last[rack] != freed[0].turn]
        sheet, step = freed[0].sheet, freed[0].step
        if sheet is not None and step is not None:
            out.append(OpenRacks(sheet=sheet, step=step, racks=tuple(begun)))
    return out
