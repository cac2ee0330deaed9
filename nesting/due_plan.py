"""Holds a plan to its due days: which plans count as better, and plans made due day by due day.

Two ways. With a day to start from and the table's capacity every sheet has a cutting day. Without, the
panels of a glass due by a day belong on its first sheets: as many as a plan of these panels alone takes,
and at most one more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from .assemble import CutSheet, Hands, cut_sheets
from .due_days import NEVER, Lateness, assign, order_of_sheets, places
from .fill_up import fill_up
from .job import Job, Variant, reduced
from .kept import Kept
from .optimizer import runner as kernel
from .optimizer.instance import Instance
from .optimizer.params import NODES_A_STEP, Params
from .optimizer.pattern import Pattern
from .panels import Panel
from .phantoms import on_phantom
from .pins import short_search
from .plan import Layout
from .shop import Shop

LIMIT_SLICES = 4
"""Slices of search for the number of sheets that the panels due by a day take alone."""
SLICES = 12
"""Slices of search for the panels due by one day."""
MOST_DAYS = 8
"""Due days that a plan is cut at; the rest of them count as one."""

Key = tuple[Lateness, int]


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


class DuePlan:
    """Which sheets of every glass count so far, judged by lateness first and by cost then.

    Parameters
    ----------
    jobs
        Of all glasses, with their first plans.
    shop
        Its cutting days.
    kept
        Sheets that are set down for days already.
    start
        The first cutting day, or None: then the first sheets of every glass count.
    seed, params
        Of the searches.
    """

    def __init__(
        self,
        jobs: Sequence[Job],
        shop: Shop,
        kept: Kept,
        start: date | None,
        seed: int,
        params: Params | None,
    ) -> None:
        self.jobs, self.seed, self.params = jobs, seed, params
        self.days, self.start = shop.cutting_days, start
        self.taken = Counter(layout.day for layout in kept.layouts if layout.day is not None)
        self.undated = sum(layout.day is None for layout in kept.layouts)
        self.dated = start is not None and self.days.sheets is not None
        self.limits = [{} if self.dated else self._limits(job) for job in jobs]
        self.patterns = [job.best.patterns for job in jobs]
        self.key = self._key(self.patterns)
        self.variants = [job.best for job in jobs]
        self._base = list(self.variants)
        self._seen = [v.search.keeper.best_key if v.search else None for v in self._base]
        for job in jobs:
            job.variants = [job.best]
        late = self.key[0].panels > 0
        self._ways = [self._staging(j) for j in range(len(jobs))] if late else []
        self._staged_too = [late] * len(jobs)

    def _limits(self, job: Job) -> dict[date, int]:
        """The greatest place that is not late, by due day: one more than the panels due by then take alone."""
        out = {}
        for day in _few(due_days_of(job.instance)):
            sheets = list(range(len(job.instance.sheets)))
            found, steps = short_search(
                job.instance, due_by(job.instance, day), sheets, self.seed, self.params, LIMIT_SLICES
            )
            job.spent += steps
            out[day] = len(found) + 1
        return out

    def _due(self, job: int, panel: Panel) -> int:
        if panel.due is None:
            return NEVER
        if self.dated:
            return panel.due.toordinal()
        later = [n for day, n in self.limits[job].items() if day >= panel.due]
        return min(later, default=NEVER)

    def _cost(self, patterns: Sequence[Sequence[Pattern]]) -> int:
        return sum(
            job.instance.sheets[p.sheet].piece.cost for job, mine in zip(self.jobs, patterns) for p in mine
        )

    def _key(self, patterns: Sequence[Sequence[Pattern]]) -> Key:
        return self.arranged(cut_sheets(self.jobs, patterns)).lateness, self._cost(patterns)

    def dues(self, sheets: Sequence[CutSheet]) -> dict[tuple[int, int], list[int]]:
        """Dues of the panels that these sheets hold, by job and type, rising."""
        count: Counter[tuple[int, int]] = Counter()
        for s in sheets:
            for kind, n in s.pattern.uses(s.instance).items():
                count[s.job, kind] += n
        return {
            (j, kind): [self._due(j, p) for p in self.jobs[j].instance.types[kind].panels[:n]]
            for (j, kind), n in count.items()
        }

    def arranged(self, sheets: Sequence[CutSheet]) -> Arranged:
        """The sheets in cutting order; all glasses together where they share days, else glass by glass."""
        if self.dated and self.start is not None:
            slots = self.days.slots(self.start, len(sheets) + self.undated, self.taken)[self.undated :]
            order, late = self._ordered(list(sheets), [d.toordinal() for d in slots])
            return Arranged(order, slots, late)
        out: list[CutSheet] = []
        panels = delay = 0
        for j in range(len(self.jobs)):
            mine = [s for s in sheets if s.job == j]
            order, late = self._ordered(mine, list(range(1, len(mine) + 1)))
            out += order
            panels, delay = panels + late.panels, delay + late.delay
        return Arranged(out, None, Lateness(panels, delay))

    def _ordered(self, sheets: list[CutSheet], times: list[int]) -> tuple[list[CutSheet], Lateness]:
        contents = [{(s.job, k): n for k, n in s.pattern.uses(s.instance).items()} for s in sheets]
        order, late = order_of_sheets(contents, times, self.dues(sheets))
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

    def dated_layouts(self, layouts: Sequence[Layout]) -> list[Layout]:
        """The layouts with their days: kept ones that have none come first."""
        out = list(layouts)
        first = [i for i, x in enumerate(out) if x.day is None]
        if self.start is not None:
            slots = self.days.slots(self.start, len(first), self.taken)
            for i, day in zip(first, slots, strict=True):
                out[i] = replace(out[i], day=day)
        return out

    # ---------------------------------------------------------------- search

    def _with(self, job: int, patterns: list[Pattern]) -> list[list[Pattern]]:
        return [*self.patterns[:job], patterns, *self.patterns[job + 1 :]]

    def offer(self, job: int, variant: Variant) -> bool:
        """Take the best plan of a variant if it is no later, and as late no dearer, than what counts so far."""
        patterns = variant.patterns
        trial = self._with(job, patterns)
        key = self._key(trial)
        if key > self.key:
            return False
        self.patterns, self.key = trial, key
        self.variants[job] = variant
        return True

    def consider(self, j: int) -> None:
        """Look at what the search of a glass has found since the last look.

        What is cheaper and later does not count: the search goes back to the plan that does, and the
        first time the glass is planned due day by due day as well.
        """
        search = self._base[j].search
        if search is None or search.keeper.best_key is None or search.keeper.best_key == self._seen[j]:
            return
        self._seen[j] = search.keeper.best_key
        if not self.offer(j, self._base[j]):
            if not self._staged_too[j]:
                self._staged_too[j] = True
                self._ways.append(self._staging(j))
            self._go_on(j)

    def _go_on(self, j: int) -> None:
        """Let the search of a glass go on from the plan that counts."""
        base = self._base[j]
        if base.search is not None:
            base.search.restart(self.patterns[j][len(base.settled) :])
            self._seen[j] = base.search.keeper.best_key

    def exchange(self, job: int, new: Mapping[int, Pattern]) -> bool:
        """Put patterns in the place of others, named by identity, where that is less late."""
        patterns = [new.get(id(p), p) for p in self.patterns[job]]
        trial = self._with(job, patterns)
        key = self._key(trial)
        if key >= self.key:
            return False
        self.patterns, self.key = trial, key
        return True

    def final(self, job: int) -> list[Pattern]:
        """The sheets of a glass that count; where stock ran out, with all that it can hold."""
        return self.variants[job].stocked(self.patterns[job])

    def stage(self) -> bool:
        """One more way to plan a glass due day by due day, where that is called for; False where it is not."""
        while self._ways:
            # the glasses in turn, so that each has had its first way early
            way = self._ways.pop(0)
            if next(way, None) is not None:
                self._ways.append(way)
                return True
        return False

    def _staging(self, j: int) -> Iterator[bool]:
        """Plan a glass due day by due day, way by way; its search goes on from the best of them."""
        job = self.jobs[j]
        days = _few(due_days_of(job.instance))
        cuts_at = [days, *([d] for d in days[:-1])] if len(days) > 1 else [days]
        # fewer and larger sheets leave more of the table's time
        for cuts, fewest in [(c, f) for f in (False, True) for c in cuts_at]:
            if not cuts:
                return
            variant = self._staged(j, cuts, fewest)
            variant.start()
            self.offer(j, variant)
            for _ in range(SLICES):
                if variant.proven or not variant.advance():
                    break
                self.offer(j, variant)
            job.spent += variant.steps
            yield True
        self._go_on(j)

    def _staged(self, j: int, cuts: Sequence[date], fewest: bool) -> Variant:
        """The panels due by each of these days on sheets of their own, filled up with later ones."""
        job = self.jobs[j]
        instance = job.instance
        settled = list(self._base[j].settled)
        counter = kernel.Counter()
        runner = kernel.Runner(instance, counter)
        for day in cuts:
            rest = reduced(instance, settled)
            placed = [a - b for a, b in zip(instance.demand, rest.demand, strict=True)]
            wanted = [max(0, c - p) for c, p in zip(due_by(instance, day), placed, strict=True)]
            wanted = [min(c, r) for c, r in zip(wanted, rest.demand, strict=True)]
            if not any(wanted):
                continue
            sheets = list(range(len(instance.sheets)))
            found, steps = short_search(rest, wanted, sheets, self.seed, self.params, SLICES, fewest=fewest)
            job.spent += steps
            found = [p for p in found if not on_phantom(instance, p)]
            others = reduced(instance, [*settled, *found]).demand
            soon = next((d for d in due_days_of(instance) if d > day), None)
            if soon is not None:
                # what is due next goes first, then whatever fits
                due = [max(0, c - p) for c, p in zip(due_by(instance, soon), placed, strict=True)]
                due = [max(0, min(c - w, o)) for c, w, o in zip(due, wanted, others, strict=True)]
                found = fill_up(runner, found, due)
                others = reduced(instance, [*settled, *found]).demand
            found = fill_up(runner, found, others)
            settled += found
        job.spent += counter.nodes // NODES_A_STEP
        return Variant.of(instance, settled, self.seed, self.params)


def _few(days: list[date]) -> list[date]:
    """At most so many of the days, the first ones and the last."""
    return days if len(days) <= MOST_DAYS else [*days[: MOST_DAYS - 1], days[-1]]
