"""Sheets before which another one must be cut: it leaves their offcut, holds lower slots of their racks, or is taken
before them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Final

from ..errors import NestingError
from ..kept import line_ids
from ..plan import Layout, Plan
from ..remake.history import History
from ..text import tr
from .sheets import DaySheet, SheetKey

AFTER: Final = "after"
"""Key of a sheet in the plan file: ``PLAN.SHEET``, which leaves the offcut that it is cut from."""


class OffcutsInARing(NestingError, ValueError):
    """Sheets of which each is to be cut from an offcut of the next, or, with `racks`, after it for its racks."""

    def __init__(self, sheets: Sequence[SheetKey], racks: bool = False) -> None:
        self.sheets, self.racks = tuple(sheets), racks
        super().__init__(self.sheets, racks)

    def __str__(self) -> str:
        names = ", ".join(f"{plan[:20]}.{number}" for plan, number in self.sheets)
        if self.racks:
            return tr(
                "the sheets {sheets} wait for each other, by offcuts and by the order of racks or sheets, so that none "
                "of them can be cut; plan one of them again without --expected",
                sheets=names,
            )
        return tr(
            "the sheets {sheets} wait for offcuts of each other, so that none of them can be cut; "
            "plan one of them again without --expected",
            sheets=names,
        )


def makers_told(plan: Plan) -> dict[int, SheetKey]:
    """Number of a sheet -> plan and sheet that leave the offcut which it is cut from, as the plan file says."""
    beside = plan.extra.get("sheets")
    out = {}
    for layout in plan.layouts:
        said = beside.get(str(layout.number)) if isinstance(beside, Mapping) else None
        text = said.get(AFTER) if isinstance(said, Mapping) else None
        maker, dot, number = text.rpartition(".") if isinstance(text, str) else ("", "", "")
        if dot and number.isascii() and number.isdecimal() and len(number) <= 6:
            out[layout.number] = (maker, int(number))
    return out


def makers_of(
    plans: Sequence[Plan], known: Mapping[str, Mapping[int, SheetKey]] | None = None
) -> dict[SheetKey, SheetKey]:
    """Sheet -> the sheet that comes first, which is named by the plan that has it now.

    Parameters
    ----------
    plans
        All plans of the day.
    known
        Plan id -> what is known of its sheets by somebody who knows better than the plan file: the store.
    """
    stands: dict[str, str] = {}
    for plan in plans:
        for name in line_ids(plan):
            stands.setdefault(name, plan.id)
    stands |= {plan.id: plan.id for plan in plans}
    out = {}
    for plan in plans:
        told = (known or {}).get(plan.id)
        for number, (maker, sheet) in (makers_told(plan) if told is None else told).items():
            out[plan.id, number] = (stands.get(maker, maker), sheet)
    return out


def taken_before(plan: Plan, left: Collection[int]) -> dict[int, list[int]]:
    """Number of a sheet -> numbers of those that come first in the plan's own order of racks and of numbered sheets.

    Parameters
    ----------
    plan
        That the checker has passed: its sheets stand in such an order.
    left
        Numbers of the sheets that are not cut yet; the others are named nowhere.
    """
    panels, again = {p.id: p for p in plan.panels}, History(plan).remakes
    last: dict[str, int] = {}
    out: dict[int, list[int]] = {}
    for layout in plan.layouts:
        if layout.number not in left:
            continue
        named = [leaf.panel for leaf in layout.leaves if leaf.panel in panels and leaf.panel not in again]
        racks = sorted({panels[name].rack for name in named if name is not None} - {""})
        found = {last[rack] for rack in racks if rack in last}
        found.update(_numbered_before(plan, layout, left))
        last |= dict.fromkeys(racks, layout.number)
        if found:
            out[layout.number] = sorted(found)
    return out


def _numbered_before(plan: Plan, layout: Layout, left: Collection[int]) -> list[int]:
    """The sheets with the next lower number of the same glass; before one without a number those with the greatest."""
    sheets = [x for x in plan.layouts if x.glass == layout.glass and x.number in left]
    lower = [x.take for x in sheets if x.take is not None and (layout.take is None or x.take < layout.take)]
    return [x.number for x in sheets if lower and x.take == max(lower)]


def refuse_rings(sheets: Sequence[DaySheet]) -> None:
    """Raise `OffcutsInARing` where sheets wait for each other."""
    by_key = {sheet.key: sheet for sheet in sheets}
    free: set[SheetKey] = set()
    for start in by_key:
        path: list[SheetKey] = [start]
        while path:
            sheet = by_key[path[-1]]
            nearest = next((key for key in sheet.first if key in by_key and key not in free), None)
            if nearest is None:
                free.add(path.pop())
            elif nearest in path:
                ring = path[path.index(nearest) :]
                afters = [by_key[key].after for key in ring]
                raise OffcutsInARing(ring, racks=afters != [*ring[1:], ring[0]])
            else:
                path.append(nearest)


def waiting(sheets: Sequence[DaySheet]) -> list[bool]:
    """Whether each sheet waits for one that nobody here cuts, itself or through others."""
    late = {sheet.key for sheet in sheets if sheet.waits_for is not None}
    grown = bool(late)
    while grown:
        more = {s.key for s in sheets if s.key not in late and not late.isdisjoint(s.first)}
        late |= more
        grown = bool(more)
    return [sheet.key in late for sheet in sheets]


def makers_first(sheets: Sequence[DaySheet], order: Sequence[int]) -> list[list[int]]:
    """An order, changed as little as may be so that every sheet comes after those that must be cut first.

    Parameters
    ----------
    sheets
        Without a ring.
    order
        Indexes.

    Returns
    -------
    list
        One order where none is to be changed; else two: what must be cut first brought forward to the sheets that
        wait for it, and those sheets put off until it comes. In both, sheets that wait for one which nobody
        here cuts stand at the end.
    """
    if all(not sheet.first and sheet.waits_for is None for sheet in sheets):
        return [list(order)]
    late = waiting(sheets)
    order = [*(i for i in order if not late[i]), *(i for i in order if late[i])]
    at = {sheets[i].key: i for i in order}
    first = {i: [at[key] for key in sheets[i].first if key in at] for i in order}
    place = {i: k for k, i in enumerate(order)}
    if all(place[of] < place[i] for i, found in first.items() for of in found):
        return [order]
    return [_forward(order, first), _back(order, first)]


def _forward(order: Sequence[int], first: Mapping[int, Sequence[int]]) -> list[int]:
    out: dict[int, None] = {}
    for i in order:
        path = [i]
        while path:
            before = next((of for of in first[path[-1]] if of not in out), None)
            if before is None:
                out[path.pop()] = None
            else:
                path.append(before)
    return list(out)


def _back(order: Sequence[int], first: Mapping[int, Sequence[int]]) -> list[int]:
    out: list[int] = []
    done: set[int] = set()
    held: dict[int, list[int]] = {}
    for start in order:
        ready = [start]
        while ready:
            i = ready.pop(0)
            before = next((of for of in first[i] if of not in done), None)
            if before is not None:
                held.setdefault(before, []).append(i)
                continue
            out.append(i)
            done.add(i)
            ready = held.pop(i, []) + ready
    return out
