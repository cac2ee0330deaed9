"""Fillers: stock items that the shop is glad to have, cut from what would else be waste.

They come in after the search, sheet by sheet, and never cost a sheet: a sheet is cut up anew with all
that it holds and some fillers, and the new pattern counts only where everything is still there and the
worth of the fillers exceeds that of the offcuts lost. A sheet whose panels leave the table in the order
of a rack stays as it is.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from .assemble import CutSheet
from .cut_tree import waste_of
from .fill_up import refill_content
from .job import Job
from .optimizer.instance import Instance, build
from .optimizer.pattern import Pattern
from .optimizer.runner import Counter, Runner
from .panels import Panel, Purpose
from .phantoms import is_phantom
from .plan import Layout
from .shop import Shop

RUNS = 600
"""Sheets cut up anew in a whole plan."""
SINGLES = 24
"""Fillers added one by one to a sheet, at most."""
WIDTH = 60
LEAN = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Filler:
    """A stock item that may be cut from waste.

    Parameters
    ----------
    panel
        What it is; its id stands for all its pieces.
    worth
        Of one piece. [1/10,000 of the currency]
    most
        Pieces that the shop is glad to have.
    falling
        Worth of the first, second ... piece where each is worth less than the one before; empty where all are
        worth the same. [1/10,000 of the currency]
    """

    panel: Panel
    worth: int
    most: int
    falling: tuple[int, ...] = ()

    @property
    def worths(self) -> tuple[int, ...]:
        """Worth of every piece, the first one first."""
        return self.falling[: self.most] if self.falling else (self.worth,) * self.most


def offcut_worth(instance: Instance, shop: Shop) -> Fraction:
    """Worth of an offcut of this glass. [1/10,000 of the currency per nm2]"""
    real = [s.piece for s in instance.sheets if not is_phantom(s.piece)]
    sheets = [Fraction(p.cost, p.width * p.height) for p in real if not p.is_offcut]
    if sheets:
        return shop.offcut_worth * min(sheets)
    return max((Fraction(p.cost, p.width * p.height) for p in real), default=Fraction(0))


def left_after(fillers: Sequence[Filler], there: Sequence[Panel]) -> list[Filler]:
    """The fillers, with so many fewer wanted as there are already (on kept sheets)."""
    names = [p.id.rpartition("/")[0] for p in there if p.purpose is not Purpose.ORDER]
    here = [(f, names.count(f.panel.id)) for f in fillers]
    return [replace(f, most=max(0, f.most - n), falling=f.falling[n:]) for f, n in here]


def fillers_on(sheets: Sequence[CutSheet], layouts: Sequence[Layout]) -> list[Panel]:
    """The fillers that lie on these layouts."""
    ids = {leaf.panel for layout in layouts for leaf in layout.leaves}
    found = {
        p.id: p
        for s in sheets
        for t in s.instance.types
        if t.panels[0].purpose is not Purpose.ORDER
        for p in t.panels
        if p.id in ids
    }
    return list(found.values())


@dataclass(slots=True)
class _Sheet:
    """A sheet while it is filled: its pattern, the leftovers worth keeping, the worth of its fillers."""

    index: int
    job: int
    instance: Instance
    pattern: Pattern
    keeps: list[int]
    worth: int = 0


class Filling:
    """Fills the sheets of a plan.

    Parameters
    ----------
    jobs, sheets
        The glasses, and the sheets in their order.
    fillers
        What may be added.
    shop
        Worth and number of offcuts.
    offcuts
        How many offcuts the plan may leave.
    taken
        Ids that fillers may not have, since there are such panels already.
    """

    def __init__(
        self,
        jobs: Sequence[Job],
        sheets: Sequence[CutSheet],
        fillers: Sequence[Filler],
        shop: Shop,
        offcuts: int,
        taken: Collection[str],
    ) -> None:
        self.jobs, self.shop, self.offcuts, self.taken = jobs, shop, max(0, offcuts), set(taken)
        self.fillers = [f for f in fillers if f.worth > 0 and f.most > 0]
        self.runs = RUNS
        self.prices = [offcut_worth(job.instance, shop) for job in jobs]
        self.sheets = [
            _Sheet(i, s.job, s.instance, s.pattern, _keeps(s.pattern, s.instance, i))
            for i, s in enumerate(sheets)
        ]

    def filled(self) -> list[CutSheet]:
        """The same sheets in the same order, with fillers where they pay."""
        for j, job in enumerate(self.jobs):
            mine = [s for s in self.sheets if s.job == j]
            fillers = [f for f in self.fillers if f.panel.glass == job.glass]
            if mine and fillers:
                self._glass(job, mine, fillers)
        return [CutSheet(s.job, s.instance, s.pattern) for s in self.sheets]

    # ------------------------------------------------------------------ worth

    def _total(self, changed: _Sheet | None = None) -> Fraction:
        """Worth of the fillers and of the offcuts that will be kept, with one sheet changed."""
        sheets = [changed if changed is not None and s.index == changed.index else s for s in self.sheets]
        areas = sorted(((k, s.job) for s in sheets for k in s.keeps), reverse=True)
        kept = sum((self.prices[j] * area for area, j in areas[: self.offcuts]), Fraction(0))
        return kept + sum(s.worth for s in sheets)

    # ------------------------------------------------------------------ filling

    def _glass(self, job: Job, mine: Sequence[_Sheet], fillers: Sequence[Filler]) -> None:
        pieces = self._pieces(job, mine, fillers)
        if not pieces:
            return
        ordered = [p for t in job.instance.types for p in t.panels]
        worths = {p.id: worth for p, worth in pieces}
        instance = _dearest_first(
            build(
                [*ordered, *(p for p, _ in pieces)],
                [s.piece for s in job.instance.sheets],
                job.instance.rules,
                groups=job.instance.grouped,
            ),
            worths,
        )
        counter = Counter()
        runner = Runner(instance, counter)
        kinds = {p.id: k for k, t in enumerate(instance.types) for p in t.panels}
        same = [kinds[t.panels[0].id] for t in job.instance.types]
        left = {
            k: [worths[p.id] for p in t.panels]
            for k, t in enumerate(instance.types)
            if t.panels[0].purpose is not Purpose.ORDER
        }
        for sheet in sorted(mine, key=lambda s: (_used(s) - _room(s), s.index)):
            own = {same[k]: n for k, n in sheet.pattern.uses(job.instance).items()}
            if not any(instance.types[k].panels[0].rack for k in own):
                self._sheet(runner, sheet, own, left)

    def _pieces(self, job: Job, mine: Sequence[_Sheet], fillers: Sequence[Filler]) -> list[tuple[Panel, int]]:
        """The pieces of all fillers, no more of each than the waste could hold, with ids and worth of their own."""
        unit = job.instance.unit
        free = sum(_room(s) - _used(s) for s in mine) * unit * unit
        out: list[tuple[Panel, int]] = []
        for f in fillers:
            xs, ys = zip(*f.panel.cut, strict=True)
            area = (max(xs) - min(xs)) * (max(ys) - min(ys))
            number = 0
            for worth in f.worths[: free // area]:
                number += 1
                while f"{f.panel.id}/{number}" in self.taken:
                    number += 1
                out.append((replace(f.panel, id=f"{f.panel.id}/{number}"), worth))
        return out

    def _sheet(
        self,
        runner: Runner,
        sheet: _Sheet,
        own: Mapping[int, int],
        left: Mapping[int, list[int]],
    ) -> None:
        """Fill one sheet; `left` holds the worths of the fillers still to be cut, by type, and is used up."""
        instance = runner.instance
        spare = _room(sheet) - _used(sheet)
        scale = sheet.instance.unit // instance.unit
        worth = {k: worths for k, worths in left.items() if worths}
        most = {k: min(len(w), spare * scale * scale // instance.type_area[k]) for k, w in worth.items()}
        if not any(most.values()) or self.runs <= 0:
            return
        others = [most.get(k, 0) for k in range(len(instance.types))]
        self.runs -= 3
        tried = refill_content(runner, sheet.pattern.sheet, own, others, _values(runner, worth))
        best = sheet
        for pattern in tried:
            best = self._better(best, sheet, pattern, runner.instance, worth)
        best = self._one_by_one(runner, sheet, best, own, worth, most)
        if best is not sheet:
            for k, n in best.pattern.uses(instance).items():
                if k in left:
                    del left[k][:n]
            self.sheets[sheet.index] = best

    def _one_by_one(
        self,
        runner: Runner,
        sheet: _Sheet,
        best: _Sheet,
        own: Mapping[int, int],
        worth: Mapping[int, Sequence[int]],
        most: Mapping[int, int],
    ) -> _Sheet:
        """Add single fillers as long as that pays; these beams leave as much as they can in one piece."""
        area = runner.instance.type_area
        tries = SINGLES
        order = sorted(most, key=lambda k: (-Fraction(worth[k][0], area[k]), k))
        for kind in order:
            while tries > 0 and self.runs > 0:
                held = dict(best.pattern.uses(runner.instance)) if best is not sheet else dict(own)
                if held.get(kind, 0) >= most[kind]:
                    break
                tries -= 1
                self.runs -= 1
                demand = [0] * len(area)
                for k, n in held.items():
                    demand[k] = n
                demand[kind] += 1
                found = runner.run(
                    runner.part(demand),
                    [sheet.pattern.sheet],
                    value=runner.value(1.0),
                    lean=LEAN,
                    width=WIDTH,
                )
                new = self._better(best, sheet, found[0], runner.instance, worth) if found else best
                if new is best:
                    break
                best = new
        return best

    def _better(
        self,
        best: _Sheet,
        sheet: _Sheet,
        pattern: Pattern,
        instance: Instance,
        worth: Mapping[int, Sequence[int]],
    ) -> _Sheet:
        new = _Sheet(
            sheet.index,
            sheet.job,
            instance,
            pattern,
            _keeps(pattern, instance, sheet.index),
            sum(sum(worth.get(k, ())[:n]) for k, n in pattern.uses(instance).items()),
        )
        return new if self._total(new) > self._total(best) else best


def _dearest_first(instance: Instance, worths: Mapping[str, int]) -> Instance:
    """The instance with the panels of every type in falling worth, in which they are handed out.

    Spares of panels that differ in their openings alone are of one type.
    """
    types = [
        replace(t, panels=tuple(sorted(t.panels, key=lambda p: (-worths[p.id], len(p.id), p.id))))
        if t.panels[0].id in worths
        else t
        for t in instance.types
    ]
    return replace(instance, types=tuple(types))


def _values(runner: Runner, worth: Mapping[int, Sequence[int]]) -> Any:
    """Value of every rectangle: of a filler its worth as a share of the greatest, of the rest by area."""
    values = runner.value(1.0).copy()
    greatest = max(w[0] for w in worth.values())
    for i, rect in enumerate(runner.instance.rects):
        held = sum(sum(worth.get(kind, ())[:n]) for kind, n in rect.uses)
        if held:
            values[i] = held / greatest
    return values


def _keeps(pattern: Pattern, instance: Instance, index: int) -> list[int]:
    return [w.area for w in waste_of(pattern, instance, index)]


def _room(sheet: _Sheet) -> int:
    return sheet.instance.sheets[sheet.pattern.sheet].area


def _used(sheet: _Sheet) -> int:
    return sum(sheet.instance.type_area[k] * n for k, n in sheet.pattern.uses(sheet.instance).items())
