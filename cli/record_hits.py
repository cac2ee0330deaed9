"""What flaws that are told hit on the sheets as they are planned, and what of that is to be planned again."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Final

from sqlalchemy import Connection

from panewright.io.plan_reader import loads
from panewright.io.problems import shown
from panewright.io.record_file import Event, What
from panewright.io.store.happening import happened_of
from panewright.io.store.outcomes import SheetKey
from panewright.io.store.plan_lists import plan_text
from panewright.io.store.recording import Applied
from panewright.nesting.flaw_hits import hits
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import Happened
from panewright.nesting.plan import Plan
from panewright.nesting.remake.under import off_under_flaws
from panewright.nesting.text import tr, tr_count

MOST_NAMES: Final = 12
"""Panels under the flaws of a sheet that are named; the rest is counted."""


def marked_sheets(events: Iterable[Event]) -> list[int]:
    """Sheets on which these events mark a flaw with its place."""
    numbers = (e.sheet for e in events if e.what is What.SHEET_FLAWED and e.located is not None)
    return sorted({number for number in numbers if number is not None})


def cut_sheets(events: Iterable[Event]) -> list[int]:
    """Sheets that these events tell to be cut."""
    numbers = (e.sheet for e in events if e.what is What.SHEET_CUT)
    return sorted({number for number in numbers if number is not None})


def hit_lines(
    plan: Plan, flaws: Mapping[int, Sequence[Flaw]], sheets: Collection[int]
) -> tuple[list[str], list[int]]:
    """A line for each of these sheets that has flaws the plan does not know; and the sheets on which they hit nothing.

    What is cut of a sheet already is not known here: a flaw that lies in it counts as if nothing were.
    """
    lines, whole = [], []
    for layout in plan.layouts:
        if layout.number not in sheets or not flaws.get(layout.number):
            continue
        hit = hits(layout, plan.panels, *flaws[layout.number])
        words = []
        if hit.panels:
            words.append(tr("Under it lies: {panels}.", panels=_names(hit.panels)))
        if hit.cuts:
            words.append(tr_count("{count} cut crosses it.", "{count} cuts cross it.", len(hit.cuts)))
        if not hit:
            whole.append(layout.number)
            words.append(tr("Neither a panel nor a cut is hit: the sheet is cut as planned."))
        lines.append(tr("sheet {number}: {flaws}", number=layout.number, flaws=" ".join(words)))
    return lines, whole


def under_flaws(found: Mapping[int, Sequence[str]]) -> list[str]:
    """A line for each sheet with panels that are off it and lay where a flaw is marked."""
    return [
        tr(
            "sheet {number}: {panels} came off already and lay where a flaw is marked: look at that glass before it goes "
            "on, and record what is no good (panewright record broken)",
            number=number,
            panels=_names(panels),
        )
        for number, panels in sorted(found.items())
    ]


def cut_over_flaws(plan: Plan, happened: Happened, sheets: Collection[int]) -> dict[int, list[str]]:
    """Of these sheets the panels that are off and lay where a flaw is marked."""
    return {n: panels for n, panels in off_under_flaws(plan, happened).items() if n in sheets}


def under_json(found: Mapping[int, Sequence[str]]) -> dict[str, object]:
    """The same for programs; nothing where there are none."""
    rows = [{"sheet": number, "panels": list(panels)} for number, panels in sorted(found.items())]
    return {"off_under_flaws": rows} if rows else {}


def _names(panels: Sequence[str]) -> str:
    names = ", ".join(shown(name, 160) for name in panels[:MOST_NAMES])
    if len(panels) > MOST_NAMES:
        names += tr(" and {count} more", count=len(panels) - MOST_NAMES)
    return names


def hits_in_store(connection: Connection, applied: Applied) -> tuple[list[str], list[str]]:
    """What is said of the flaws in these records; and the plans of which something must be planned again."""
    marked: dict[str, list[Event]] = {}
    for outcome in applied.outcomes:
        if outcome.changed and (marked_sheets([outcome.event]) or cut_sheets([outcome.event])):
            marked.setdefault(outcome.plan, []).append(outcome.event)
    lines: list[str] = []
    needless: set[SheetKey] = set()
    for name, events in marked.items():
        happened = happened_of(connection, name)
        if not happened.flaws:
            continue
        plan = loads(plan_text(connection, name))
        more, whole = hit_lines(plan, happened.flaws, marked_sheets(events))
        lines += [*more, *under_flaws(cut_over_flaws(plan, happened, cut_sheets(events)))]
        needless |= {(name, number) for number in whole}
    return lines, applied.to_remake_but(needless)
