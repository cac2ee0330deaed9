"""Checks the cutting days of a plan: no more sheets a day than the table cuts, and who is late."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from .plan import Plan
from .text import tr

Say = Callable[[str, str], None]


def check_days(plan: Plan, say: Say) -> None:
    """Hold days and late panels against what the plan says of them.

    Parameters
    ----------
    plan
        As read from its file.
    say
        Takes the rule's word and a text.
    """
    stated = plan.extra.get("cutting_days")
    if isinstance(stated, dict):
        most, start = stated.get("sheets_a_day"), stated.get("from")
        follows = bool(plan.extra.get("follows"))
        count = Counter(layout.day for layout in plan.layouts)
        for layout in plan.layouts:
            if layout.day is None:
                say("cutting days", tr("sheet {number} has no day", number=layout.number))
            elif isinstance(start, str) and layout.day.isoformat() < start and not follows:
                say("cutting days", tr("sheet {number} is cut before the first day", number=layout.number))
        for when, sheets in sorted((d.isoformat(), n) for d, n in count.items() if d is not None):
            if isinstance(most, int) and sheets > most and not follows:
                say(
                    "cutting days",
                    tr("{count} sheets on {day}, the table cuts {most}", count=sheets, day=when, most=most),
                )
    listed = plan.extra.get("late")
    if listed is None:
        return
    due = {p.id: p.due for p in plan.panels}
    found: set[tuple[object, object, object]] = set()
    for layout in plan.layouts:
        for leaf in layout.leaves:
            wanted = due.get(leaf.panel) if leaf.panel is not None else None
            if wanted is not None and layout.day is not None and wanted < layout.day:
                found.add((leaf.panel, wanted.isoformat(), layout.day.isoformat()))
    said: set[tuple[object, object, object]] = set()
    if isinstance(listed, list):
        said = {(x.get("panel"), x.get("due"), x.get("day")) for x in listed if isinstance(x, dict)}
    for panel, *_ in sorted(found - said, key=str):
        say("late", tr("{panel} is cut after its due day and not listed as late", panel=panel))
    for panel, *_ in sorted(said - found, key=str):
        say("late", tr("{panel} is listed as late and is not", panel=panel))
