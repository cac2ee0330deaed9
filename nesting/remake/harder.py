"""Sheets with marked flaws tried again with more effort, where panels of them found no place at first."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from typing import TYPE_CHECKING

from .draft import with_sheet
from .marking import Marks
from .sheets import How, Sheet
from .tree import panels_on

if TYPE_CHECKING:
    from .search import Remaking

WIDTHS = (300, 1200)
"""Of the beams, in turn."""


def tried_harder(it: Remaking) -> Generator[None, None, None]:
    """Offer what wider beams find; yields after every sheet."""
    moved = {mark.number: set(mark.moved) for mark in it.marked if mark.moved}
    before = {x.number: x for x in it.request.earlier.layouts}
    known = {*it.request.happened.broken, *it.history.broken}
    for width in WIDTHS:
        for number in sorted(moved):
            sheet = next((s for s in it.base if s.origin == number and s.flawed), None)
            if sheet is None or not moved[number]:
                continue
            old = _again(it, sheet, number)
            found = Marks(it.request, it.history, known, it.counter, width).on(
                before[number], old, fixed=False
            )
            if found is not None and len(found.mark.moved) < len(moved[number]):
                moved[number] = set(found.mark.moved)
                new = replace(sheet, layout=found.layout, done=found.done)
                _offer(it, sheet, new)
            yield


def _again(it: Remaking, sheet: Sheet, number: int) -> frozenset[int]:
    """The steps of the sheet as it was planned that are done."""
    if sheet.how is not How.ON_TABLE:
        return frozenset()
    layout = next(x for x in it.request.earlier.layouts if x.number == number)
    made = {cut.makes for cut in sheet.layout.cuts if cut.step in sheet.done}
    return frozenset(cut.step for cut in layout.cuts if cut.makes in made)


def _offer(it: Remaking, old: Sheet, new: Sheet) -> None:
    """The best answer with this sheet, and what it still lacks in waste or on free stock."""
    glass = new.layout.glass
    sheets, needs = it.of_glass(glass)
    wanted = {n.remakes or n.panel.id: n for n in needs}
    found = {p: wanted[p].panel.id for p in panels_on(new.layout) if p in wanted}
    leaves = tuple(replace(v, panel=found[v.panel]) if v.panel in found else v for v in new.layout.leaves)
    new = replace(new, layout=replace(new.layout, leaves=leaves))
    there = set(found.values())
    left = [n for n in needs if n.panel.id not in there]
    into, rest = it.into_waste(with_sheet(sheets, sheets.index(old), new), left)
    it.offer(it.finished(glass, into, rest))
