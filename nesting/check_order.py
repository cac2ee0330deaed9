"""Checks the order in which panels leave the table into their racks, and in which numbered sheets are taken."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping

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
    A panel comes free by the cut that makes its piece, sheets in the order of the plan. The right or upper one of two
    pieces may wait on the table while the other one is cut up. A piece that is made again for another is where it can be. In a plan that follows another,
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
    """Panels of a rack leave the table in rising order of their slots."""
    racks: dict[str, list[tuple[int, str, int, Window]]] = defaultdict(list)
    for place, layout in enumerate(plan.layouts):
        windows = _windows(layout)
        done = _done(plan, layout)
        for leaf in layout.leaves:
            panel = panels.get(leaf.panel or "")
            first, last = windows.get(leaf.piece, (0, 0))
            if panel is None or not panel.rack or panel.slot is None or _made_again(plan, panel.id):
                continue
            if done is not None and (first > done or not done):
                window = (place, first), (place, last)
                racks[panel.rack].append((panel.slot, panel.id, layout.number, window))
    for rack, entries in sorted(racks.items()):
        now, before = (-1, 0), (0, "", 0)
        for slot, name, number, (first_at, last_at) in sorted(entries):
            if now > last_at:
                text = tr(
                    "slot {slot} of rack {rack} comes free after slot {later}",
                    slot=before[0], rack=rack, later=slot,
                )  # fmt: skip
                say("rack order", text, before[2], before[1])
                continue
            if first_at >= now:
                before = slot, name, number
            now = max(now, first_at)


Window = tuple[tuple[int, int], tuple[int, int]]
"""Place of the sheet and step: when a panel comes free, and until when it may wait on the table."""


def _windows(layout: Layout) -> dict[str, tuple[int, int]]:
    """Step that makes each piece, and until when it may wait: while the piece left of it or below is cut up."""
    last: dict[str, int] = {}
    for cut in reversed(layout.cuts):
        last[cut.piece] = max([cut.step, *(last.get(name, 0) for name in cut.makes)])
    out = {}
    for cut in layout.cuts:
        (x0, y0), (x1, y1) = cut.start, cut.end
        near, far = cut.makes if (y1 > y0 if x0 == x1 else x1 < x0) else cut.makes[::-1]
        out[near] = cut.step, cut.step
        out[far] = cut.step, last.get(near, cut.step) if x0 == x1 or y0 == y1 else cut.step
    return out


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
