"""Checks the order in which panels leave the table into their racks, and in which numbered sheets are taken."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from itertools import groupby

from .panels import Panel
from .plan import Layout, Plan
from .text import tr

Say = Callable[[str, str, int | None, str | None], None]
"""Takes a rule word, a text, a sheet and a panel."""


def check_order(plan: Plan, panels: dict[str, Panel], say: Say) -> None:
    """Hold racks and numbered sheets against their order.

    Parameters
    ----------
    plan
        As read from its file.
    panels
        Its panels by id.
    say
        Receives every violation.

    Notes
    -----
    A panel comes free by the cut that makes its piece, sheets in the order of the plan. Two that one cut frees may
    come in any order. A piece that is made again for another is where it can be. In a plan that follows another,
    what is cut already can be put in no other order: neither are such pieces compared, nor such sheets.
    """
    _racks(panels, plan, say)
    _rising(plan, panels, say)
    _taken(plan, say)


def _beside(plan: Plan, part: str, name: str) -> Mapping[str, object]:
    kept = plan.extra.get(part)
    found = kept.get(name) if isinstance(kept, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def _made_again(plan: Plan, name: str) -> bool:
    return isinstance(_beside(plan, "panels", name).get("remakes"), str)


def _done(plan: Plan, layout: Layout) -> int | None:
    """The last step of a sheet that is done in a plan that follows another: 0 for none, None for all."""
    said = _beside(plan, "sheets", str(layout.number))
    if not plan.extra.get("follows"):
        return 0
    if said.get("cut") or said.get("broken_off"):
        return None
    step = said.get("cut_to_step")
    return step if isinstance(step, int) else 0


def _racks(panels: dict[str, Panel], plan: Plan, say: Say) -> None:
    """A rack holds panels of one glass, each in a slot of its own."""
    glass: dict[str, str] = {}
    slots: dict[tuple[str, int], str] = {}
    for name, panel in panels.items():
        if not panel.rack:
            continue
        if panel.slot is None:
            say("rack", tr("{panel} has no slot in rack {rack}", panel=name, rack=panel.rack), None, name)
            continue
        if glass.setdefault(panel.rack, panel.glass) != panel.glass:
            say("rack", tr("rack {rack} holds panels of two kinds of glass", rack=panel.rack), None, name)
        if not _made_again(plan, name) and slots.setdefault((panel.rack, panel.slot), name) != name:
            text = tr("slot {slot} of rack {rack} is given twice", slot=panel.slot, rack=panel.rack)
            say("rack", text, None, name)


def _rising(plan: Plan, panels: dict[str, Panel], say: Say) -> None:
    """Panels of a rack come free in rising order of their slots."""
    racks: dict[str, list[tuple[int, int, int, str]]] = defaultdict(list)
    number = {place: layout.number for place, layout in enumerate(plan.layouts)}
    for place, layout in enumerate(plan.layouts):
        freed = {name: cut.step for cut in layout.cuts for name in cut.makes}
        done = _done(plan, layout)
        for leaf in layout.leaves:
            panel = panels.get(leaf.panel or "")
            step = freed.get(leaf.piece, 0)
            if panel is None or not panel.rack or panel.slot is None or _made_again(plan, panel.id):
                continue
            if done is not None and (step > done or not done):
                racks[panel.rack].append((place, step, panel.slot, panel.id))
    for rack, entries in sorted(racks.items()):
        last: tuple[int, str] | None = None
        for (place, _), together in groupby(sorted(entries), key=lambda e: e[:2]):
            found = [(slot, name) for _, _, slot, name in together]
            for slot, name in found:
                if last is not None and slot < last[0]:
                    text = tr(
                        "slot {slot} of rack {rack} comes free after slot {later}",
                        slot=slot, rack=rack, later=last[0],
                    )  # fmt: skip
                    say("rack order", text, number[place], name)
            last = max([*found, *([last] if last is not None else [])])


def _taken(plan: Plan, say: Say) -> None:
    """Numbered sheets of a glass come in rising order of their numbers, and before all others."""
    last: dict[str, int | None] = {}
    for layout in plan.layouts:
        if _done(plan, layout) is None:
            continue
        before = last.setdefault(layout.glass, layout.take)
        if layout.take is not None and before is None:
            text = tr("the sheet taken as number {take} comes after one without a number", take=layout.take)
            say("sheet order", text, layout.number, None)
        elif layout.take is not None and before is not None and layout.take < before:
            text = tr(
                "the sheet taken as number {take} comes after number {later}", take=layout.take, later=before
            )
            say("sheet order", text, layout.number, None)
        else:
            last[layout.glass] = layout.take
