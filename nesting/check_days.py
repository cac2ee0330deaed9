"""Checks the cutting days of a plan: no more a day than the table cuts, who is late, and what comes first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping

from .plan import Plan
from .text import tr

Say = Callable[[str, str], None]


def check_days(plan: Plan, say: Say) -> None:
    """Hold days, late panels and the order of due days against what the plan says of them.

    Parameters
    ----------
    plan
        As read from its file.
    say
        Takes the rule's word and a text.
    """
    stated = plan.extra.get("cutting_days")
    if isinstance(stated, dict):
        _check_table(plan, stated, say)
    _check_late(plan, say)
    _check_order(plan, say)


def _check_table(plan: Plan, stated: Mapping[str, object], say: Say) -> None:
    start, most, seconds = stated.get("from"), stated.get("sheets_a_day"), stated.get("seconds_a_day")
    a_sheet, a_cut = stated.get("seconds_a_sheet", 0), stated.get("seconds_a_cut", 0)
    follows = bool(plan.extra.get("follows"))
    count: Counter[str] = Counter()
    spent: Counter[str] = Counter()
    for layout in plan.layouts:
        if layout.day is None:
            say("cutting days", tr("sheet {number} has no day", number=layout.number))
            continue
        day = layout.day.isoformat()
        if isinstance(start, str) and day < start and not follows:
            say("cutting days", tr("sheet {number} is cut before the first day", number=layout.number))
        count[day] += 1
        if isinstance(a_sheet, int) and isinstance(a_cut, int):
            spent[day] += a_sheet + a_cut * len(layout.cuts)
    for day, sheets in sorted(count.items()):
        if follows:
            break
        if isinstance(most, int) and sheets > most:
            text = tr("{count} sheets on {day}, the table cuts {most}", count=sheets, day=day, most=most)
            say("cutting days", text)
        # one sheet may take longer than a day has
        if isinstance(seconds, int) and sheets > 1 and spent[day] > seconds:
            text = tr(
                "{count} seconds on {day}, the table has {most}", count=spent[day], day=day, most=seconds
            )
            say("cutting days", text)


def _check_order(plan: Plan, say: Say) -> None:
    stated = plan.extra.get("due_order")
    if stated is None:
        return
    due = {p.id: p.due for p in plan.panels}
    for row in stated if isinstance(stated, list) else [stated]:
        if not isinstance(row, dict) or not isinstance(row.get("due"), str):
            say("due order", tr("this is no row of the due order"))
            continue
        place = last = 0
        for layout in plan.layouts:
            if layout.glass == row.get("glass"):
                place += 1
                days = [due.get(leaf.panel) for leaf in layout.leaves if leaf.panel is not None]
                if any(d is not None and d.isoformat() <= row["due"] for d in days):
                    last = place
        if row.get("sheets") != last:
            say(
                "due order",
                tr(
                    "{glass} due by {day} lies on the first {found} sheets, the plan says {stated}",
                    glass=row.get("glass"), day=row["due"], found=last, stated=row.get("sheets"),
                ),
            )  # fmt: skip


def _check_late(plan: Plan, say: Say) -> None:
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
