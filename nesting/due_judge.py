"""How late the panels of a plan are: the order of its sheets, their days, and who gets which of equal panels.

Two ways. With a day to start from and what the table cuts a day, every sheet has a cutting day. Without,
the panels of a glass due by a day belong on its first sheets: as many as a plan of these panels alone
takes, and at most one more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from .assemble import CutSheet, Hands, cut_sheets
from .cut_tree import cuts_of
from .cutting_days import CuttingDays, Load
from .due_days import NEVER, TRIES, Lateness, assign, order_of_sheets, places
from .job import Job
from .kept import Kept
from .optimizer.instance import Instance
from .optimizer.pattern import Pattern
from .panels import Panel
from .phantoms import on_phantom
from .plan import Layout

QUICK = 40
"""Changes to an order of sheets that are tried while the search goes on; see `order_of_sheets`."""


@dataclass(frozen=True, slots=True)
class Arranged:
    """Sheets in cutting order, with their days where there are any, and how late the panels are."""

    sheets: list[CutSheet]
    days: list[date] | None
    lateness: Lateness


def due_days_of(instance: Instance) -> list[date]:
    """The due days of a glass, rising."""
    return sorted({p.due for t in instance.types for p in t.panels if p.due is not None})


def due_by(instance: Instance, day: date) -> list[int]:
    """Panels of each type that are due by a day."""
    return [sum(p.due is not None and p.due <= day for p in t.panels) for t in instance.types]


def has_an_order(instance: Instance) -> bool:
    """Whether some panels of a glass are due before others."""
    return len({p.due for t in instance.types for p in t.panels}) > 1


class Judge:
    """Puts the sheets of plans in order and tells how late their panels are.

    Parameters
    ----------
    jobs
        Of all glasses.
    days
        What the table cuts on a day.
    kept
        Sheets that are set down for days already.
    start
        The first cutting day, or None: then the first sheets of every glass count.
    """

    def __init__(self, jobs: Sequence[Job], days: CuttingDays, kept: Kept, start: date | None) -> None:
        self.jobs, self.days, self.start = jobs, days, start
        self.taken: dict[date, Load] = {}
        for layout in kept.layouts:
            if layout.day is not None:
                self.taken[layout.day] = self.taken.get(layout.day, Load()) + self._load_of(layout)
        self._undated = [self._load_of(x) for x in kept.layouts if x.day is None]
        self.dated = start is not None and days.limited
        self.limits: list[dict[date, int]] = [{} for _ in jobs]
        """Without days: the greatest place of a glass that is not late, by due day."""
        dues = [p.due for job in jobs for t in job.instance.types for p in t.panels if p.due is not None]
        days_due = sorted(set(dues), reverse=True)
        self._weights = {day: (len(dues) + 1) ** rank for rank, day in enumerate(days_due)}
        """Of a missing panel by its due day: one outweighs all that are due later."""
        self._dues = [self._dues_of(j) for j in range(len(jobs))]
        self._cuts: dict[tuple[int, Pattern], int] = {}

    def _load_of(self, layout: Layout) -> Load:
        return self.days.load(len(layout.cuts))

    def load(self, sheet: CutSheet) -> Load:
        """What a sheet asks of the table."""
        if self.days.seconds is None:
            return self.days.load(0)
        key = (id(sheet.instance), sheet.pattern)
        if key not in self._cuts:
            self._cuts[key] = cuts_of(sheet.pattern, sheet.instance)
        return self.days.load(self._cuts[key])

    @property
    def set_down(self) -> dict[date, Load]:
        """What is set down for a day already: kept sheets, those without a day first."""
        out = dict(self.taken)
        if self.start is not None and self.days.limited:
            slots = self.days.slots(self.start, self._undated, self.taken)
            for day, load in zip(slots, self._undated, strict=True):
                out[day] = out.get(day, Load()) + load
        return out

    def limit(self, j: int, limits: dict[date, int]) -> None:
        """Set the greatest places of a glass that are not late, by due day."""
        self.limits[j] = limits
        self._dues[j] = self._dues_of(j)

    def _dues_of(self, j: int) -> list[list[int]]:
        """Dues of all panels of a glass, type by type, rising."""
        return [[self._due(j, p) for p in t.panels] for t in self.jobs[j].instance.types]

    def _due(self, job: int, panel: Panel) -> int:
        if panel.due is None:
            return NEVER
        if self.dated:
            return panel.due.toordinal()
        later = [n for day, n in self.limits[job].items() if day >= panel.due]
        return min(later, default=NEVER)

    def dues(self, sheets: Sequence[CutSheet]) -> dict[tuple[int, int], list[int]]:
        """Dues of the panels that these sheets hold, by job and type, rising."""
        count: Counter[tuple[int, int]] = Counter()
        for s in sheets:
            for kind, n in s.pattern.uses(s.instance).items():
                count[s.job, kind] += n
        return {(j, kind): self._dues[j][kind][:n] for (j, kind), n in count.items()}

    def arranged(self, sheets: Sequence[CutSheet], *, tries: int = TRIES) -> Arranged:
        """The sheets in cutting order; all glasses together where they share days, else glass by glass."""
        if self.dated:
            order, late = self._ordered(list(sheets), tries)
            return Arranged(order, self._slots(order), late)
        out: list[CutSheet] = []
        total = Lateness()
        for j in range(len(self.jobs)):
            order, late = self._ordered([s for s in sheets if s.job == j], tries, self._first(j))
            out, total = out + order, total + late
        return Arranged(out, None, total)

    def lateness(self, patterns: Mapping[int, Sequence[Pattern]]) -> Lateness:
        """How late the panels of these plans of glasses are, in a good order of the sheets.

        Panels for which there is no stock count as the latest.
        """
        plans = [patterns.get(j, ()) for j in range(len(self.jobs))]
        late = self.arranged(cut_sheets(self.jobs, plans), tries=QUICK).lateness
        return sum((self._missing(j, plan) for j, plan in patterns.items()), late)

    def _missing(self, j: int, plan: Sequence[Pattern]) -> Lateness:
        """Panels with a due day on stock that is not there; of equal ones those due last."""
        instance = self.jobs[j].instance
        short = [p for p in plan if on_phantom(instance, p)]
        if not short:
            return Lateness()
        placed: Counter[int] = Counter()
        for p in plan:
            if not on_phantom(instance, p):
                placed.update(p.uses(instance))
        lacking: Counter[int] = Counter()
        for p in short:
            lacking.update(p.uses(instance))
        missing = panels = 0
        for kind, count in lacking.items():
            for panel in instance.types[kind].panels[placed[kind] : placed[kind] + count]:
                if panel.due is not None:
                    missing += self._weights[panel.due]
                    panels += 1
        return Lateness(missing=missing, panels=panels)

    def _first(self, j: int) -> int:
        """The due of what is due first of a glass, where the first sheets count."""
        return -1 if self.dated else min(self.limits[j].values(), default=-1)

    def _slots(self, sheets: Sequence[CutSheet]) -> list[date]:
        assert self.start is not None
        loads = [*self._undated, *(self.load(s) for s in sheets)]
        return self.days.slots(self.start, loads, self.taken)[len(self._undated) :]

    def _ordered(
        self, sheets: list[CutSheet], tries: int, first: int = -1
    ) -> tuple[list[CutSheet], Lateness]:
        contents = [{(s.job, k): n for k, n in s.pattern.uses(s.instance).items()} for s in sheets]

        def times_of(order: Sequence[int]) -> list[int]:
            if not self.dated:
                return list(range(1, len(order) + 1))
            return [day.toordinal() for day in self._slots([sheets[i] for i in order])]

        order, late = order_of_sheets(contents, times_of, self.dues(sheets), first=first, tries=tries)
        return [sheets[i] for i in order], late

    def times(self, arranged: Arranged) -> list[int]:
        """The time of each sheet: its day, or its place among those of its glass."""
        if arranged.days is not None:
            return [day.toordinal() for day in arranged.days]
        begin = {s.job: i for i, s in reversed(list(enumerate(arranged.sheets)))}
        return [i - begin[s.job] + 1 for i, s in enumerate(arranged.sheets)]

    def hand_out(self, arranged: Arranged, hands: Sequence[Hands]) -> None:
        """Let equal panels go to the sheets in the order that makes the fewest late."""
        sheets, dues = arranged.sheets, self.dues(arranged.sheets)
        times = self.times(arranged)
        contents = [{(s.job, k): n for k, n in s.pattern.uses(s.instance).items()} for s in sheets]
        for (j, kind), where in places(range(len(sheets)), contents).items():
            panels = self.jobs[j].instance.types[kind].panels
            picks = assign([times[p] for p in where], dues[j, kind])
            hands[j].order(kind, [*(panels[i] for i in picks), *panels[len(picks) :]])

    def on_the_same_days(self, sheets: Sequence[CutSheet], filled: Sequence[CutSheet]) -> list[CutSheet]:
        """The filled sheets, save those whose further cuts would move a sheet to a later day."""
        out = list(sheets)
        days = self._slots(out)
        for i, sheet in enumerate(filled):
            if sheet.pattern is not out[i].pattern and self._slots([*out[:i], sheet, *out[i + 1 :]]) == days:
                out[i] = sheet
        return out

    def alone(self, kept: Kept) -> list[tuple[str, date, int]]:
        """By glass and due day: how many sheets what is due by then takes alone, beside the kept ones."""
        return [
            (job.glass, day, place - 1 + len(kept.on(job.glass)))
            for job, limits in zip(self.jobs, self.limits, strict=True)
            for day, place in sorted(limits.items())
        ] + [
            # all of it is due on one day, if at all: it takes what the plan takes
            (job.glass, day, sum(job.instance.demand) + len(kept.on(job.glass)))
            for job in self.jobs
            if not has_an_order(job.instance)
            for day in due_days_of(job.instance)
        ]

    def dated_layouts(self, layouts: Sequence[Layout]) -> list[Layout]:
        """The layouts with their days, by the cuts that they really have: kept ones have theirs, or come first."""
        assert self.start is not None
        first = [i for i, x in enumerate(layouts) if x.day is None]
        slots = self.days.slots(self.start, [self._load_of(layouts[i]) for i in first], self.taken)
        out = list(layouts)
        for i, day in zip(first, slots, strict=True):
            out[i] = replace(out[i], day=day)
        return out
