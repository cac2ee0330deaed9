"""From panels and stock to a plan: one search a glass, in turns, then layouts, offcuts and figures.

The planner knows no clock. Its caller starts it, advances it slice by slice for as long as it likes,
and takes the plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from datetime import date
from fractions import Fraction
from functools import partial

from .assemble import Hands, build_layouts, cut_sheets, missing_panels, numbered, offcuts_kept, unplaced_of
from .due_judge import Judge
from .due_plan import DuePlan
from .due_repair import repair
from .easiest import Easiest
from .feasible import impossible
from .fillers import Filler, Filling, fillers_on, left_after
from .job import Job, Variant
from .jobs import jobs_of
from .kept import Kept
from .late import days_extra, order_extra
from .open_orders.curve import Point, choose
from .open_orders.judged import RackJudge
from .optimizer.params import Params
from .optimizer.pattern import Pattern
from .ordered.merge import merged
from .ordered.variant import InOrder
from .outcomes import outcomes
from .panels import Panel
from .phantoms import on_phantom, with_phantoms
from .pins import settled_pins
from .plan import Plan, Unplaced
from .plan_bound import bound_of
from .plan_id import plan_id
from .progress import GlassProgress
from .sequencing.arrange import sequenced
from .shop import Shop
from .spots import told_apart
from .stock import StockPiece
from .translate import translated
from .why import SLICES, Why, why

__all__ = ["GlassProgress", "Planner", "bound_of", "impossible", "with_phantoms"]


LEAST_SHARE = 100
"""Steps left over for each glass from which they are shared out."""


class Planner:
    """Plans panels on stock.

    Parameters
    ----------
    panels
        Everything ordered; none that `impossible` names, save those listed in `unplaced`.
    stock
        Sheets and offcuts of all glasses.
    shop
        Rules, currency and habits.
    seed
        Of the search.
    effort
        Search steps over all glasses, or None for no limit.
    program
        Name and version for the plan.
    unplaced
        Panels left out, with the rule that forbids them.
    params
        Of the search.
    kept
        Sheets of an earlier plan that stay as they are; their stock counts in place of `stock`.
    any_order
        Let the cost alone decide, not the due days of the panels (see `due_plan`).
    start_day
        The first cutting day; with what the shop cuts a day every sheet then has a day.
    fillers
        Stock items that may be cut from waste.
    executor, workers
        Threads that search several glasses at once, and how many; None: one after another. The plan of
        an effort is the same with any number.
    begun
        A planner of the same panels with less freedom, which has searched: its plans are a start.
    groups
        Whether several angled panels may share a blank.
    few_open
        Nests with few open orders are made besides: the number of the point of their `curve` that is
        taken, or -1 for the one with the fewest late and open orders. None: the plan of the search.
    open_racks
        At most so many racks may be begun and not finished at once; None: no limit.
    """

    def __init__(
        self,
        panels: Sequence[Panel],
        stock: Sequence[StockPiece],
        shop: Shop,
        *,
        seed: int = 0,
        effort: int | None = None,
        program: str = "panewright",
        unplaced: Sequence[Unplaced] = (),
        params: Params | None = None,
        kept: Kept | None = None,
        any_order: bool = False,
        start_day: date | None = None,
        fillers: Sequence[Filler] = (),
        executor: Executor | None = None,
        workers: int = 2,
        begun: Planner | None = None,
        groups: bool = True,
        few_open: int | None = None,
        open_racks: int | None = None,
    ) -> None:
        self.shop, self.seed = shop, seed
        self.effort, self.program, self.unplaced = effort, program, tuple(unplaced)
        self._params, self._any_order, self._start_day = params, any_order, start_day
        self._executor, self._workers = executor, max(1, workers)
        self._judge: Judge | None = None
        self._due: DuePlan | None = None
        self._begun = begun
        self._few_open, self._open_racks = few_open, open_racks
        self.points: list[Point] = []
        """The curve of nests with few open orders, once the plan is made and if it was asked for."""
        self.taken: Point | None = None
        self._chosen: dict[int, list[Pattern]] = {}
        self._fillers = tuple(fillers)
        self.kept = kept or Kept(stock=tuple(stock))
        self.panels = tuple(self.kept.settled(panels))
        left_out = {u.panel for u in unplaced}
        placed = [p for p in self.kept.rest(panels) if p.id not in left_out]
        made = jobs_of(placed, self.kept.stock, shop, effort, groups=groups)
        self._jobs, self._loose, self._round = made.jobs, made.loose, list[int]()
        self.unplaced += made.unplaced
        self._unsettled: list[int] = []

    def start(self) -> None:
        """Make a first whole plan of every glass."""
        for job in self._jobs[self._loose :]:
            job.add(InOrder.all_of(job.instance, self.seed, self._open_racks))
        for job in self._jobs[: self._loose]:
            settled, job.spent = settled_pins(job.instance, self.seed, self._params)
            for sheets in settled:
                job.add(Variant.of(job.instance, sheets, self.seed, self._params))
            self._go_on(job)
        self.tolerate(self.shop.offcut_tolerance)
        loose = self._jobs[: self._loose]
        judge = Judge(loose, self.shop.cutting_days, self.kept, self._start_day)
        if any(p.due is not None for job in loose for t in job.instance.types for p in t.panels):
            self._due = None if self._any_order else DuePlan(judge, self.seed, self._params)
        self._judge = judge if judge.dated or self._due is not None else None

    def tolerate(self, share: Fraction) -> None:
        """Let plans of equal cost count as equal whose largest offcuts differ by no more than this share."""
        for variant in (v for job in self._jobs for v in job.variants):
            variant.tolerate(share)

    def stops_at(self, end: float, spent: float) -> None:
        """Let the searches that make use of it know when they will be stopped, and how long it has gone on. [s]"""
        for variant in (v for job in self._jobs for v in job.variants):
            variant.stops_at(end, spent)

    def _go_on(self, job: Job) -> None:
        """Offer the plan of a planner with less freedom to the search of a glass."""
        for j, other in enumerate(self._begun._jobs if self._begun else ()):
            search = job.variants[0].search
            if self._begun and other.glass == job.glass and search and not job.variants[0].settled:
                patterns = self._begun._patterns(j)
                search.keeper.offer_patterns(translated(patterns, other.instance, job.instance))

    def _patterns(self, j: int) -> list[Pattern]:
        """The plan of a glass that counts so far."""
        return self._due.patterns[j] if self._judged(j) and self._due else self._jobs[j].best.patterns

    def _judged(self, j: int) -> bool:
        """Whether the due days decide which plan of a glass counts."""
        return self._due is not None and j < self._loose

    def advance(self) -> bool:
        """One slice of search on the next glass, or on several; False when every glass is done.

        Every glass has a search, a seed and a budget of its own, so that the order in which slices end
        changes nothing. Where all glasses share the days of the table, each is judged by the plans that
        the others had before the round.
        """
        chosen = self._next_up()
        if not chosen:
            return False
        if len(chosen) == 1:
            # a glass alone has the other threads for its LP
            self._slice(chosen[0], self._executor)
        elif self._executor is not None:
            list(self._executor.map(self._slice, chosen))
        self._unsettled += chosen
        if not (self._shares_days and self._round):
            self._settle()
        return True

    def _settle(self) -> None:
        if self._due is not None:
            for j in sorted(self._unsettled):
                if self._judged(j):
                    self._due.settle(j)
        self._unsettled.clear()

    def _next_up(self) -> list[int]:
        """The next glasses, one a worker; where all share the days, of one round."""
        chosen: list[int] = []
        while len(chosen) < (1 if self._executor is None else self._workers):
            if not self._round:
                if chosen and self._shares_days:
                    break
                self._round = [j for j in range(len(self._jobs)) if j not in chosen and not self._done(j)]
                if not self._round:
                    if chosen or not self._share_out():
                        break
                    continue
            chosen.append(self._round.pop(0))
        return chosen

    def _share_out(self) -> bool:
        """Give the steps that finished glasses left over to the others, once all are done; False for none."""
        waiting = [job for job in self._jobs if job.out_of_budget and not job.finished]
        if self.effort is None or not waiting:
            return False
        left = (self.effort - sum(job.steps for job in self._jobs)) // len(waiting)
        if left < LEAST_SHARE:
            return False
        for job in waiting:
            job.budget = job.steps + left
        return True

    @property
    def _shares_days(self) -> bool:
        return self._due is not None and self._due.judge.dated

    def _done(self, j: int) -> bool:
        return self._due.done(j) if self._due and self._judged(j) else self._jobs[j].done

    def _slice(self, j: int, executor: Executor | None = None) -> None:
        if self._due is not None and self._judged(j):
            self._due.advance(j, executor)
        else:
            self._jobs[j].advance(executor)

    def _choose(self, plain: bool) -> None:
        """Of plans of equal cost that leave as good an offcut, let the one count that is easiest to cut."""
        for j, job in enumerate(self._jobs):
            easiest = Easiest(job, self.shop)
            if self._due is None or not self._judged(j):
                found = job.best.with_all_stock()
                self._chosen[j] = found if plain else easiest.choose(found)
            elif not plain:
                now = self._due.patterns[j]
                found = easiest.choose(now, partial(self._due.no_later, j))
                if found is not now:
                    self._due.take(j, found)

    def _final(self, j: int) -> list[Pattern]:
        """The sheets of a glass, after `_choose`."""
        return self._due.final(j) if self._due and self._judged(j) else self._chosen[j]

    def _take_point(self) -> None:
        """Make the curve of nests with few open orders, where it is asked for."""
        if self._few_open is not None and self._loose:
            loose = self._jobs[: self._loose]
            every = Judge(loose, self.shop.cutting_days, self.kept, self._start_day)
            first = [self._final(j) for j in range(self._loose)]
            racks = RackJudge.of(every, self.kept, self.panels)
            self.points, self.taken = choose(racks, first, self._few_open)

    def _taken_patterns(self) -> list[list[Pattern]]:
        """The sheets of every glass, of the point of the curve where there is one."""
        taken = [list(patterns) for patterns in self.taken.patterns] if self.taken is not None else []
        return [*taken, *(self._final(j) for j in range(len(taken), len(self._jobs)))]

    def progress(self) -> list[GlassProgress]:
        """Cost, bound and steps of every glass; short stock and kept sheets are not counted."""
        out = []
        for j, job in enumerate(self._jobs):
            best = job.best
            real = [p for p in self._patterns(j) if not on_phantom(job.instance, p)]
            out.append(
                GlassProgress(
                    glass=job.glass,
                    cost=sum(job.instance.sheets[p.sheet].piece.cost for p in real),
                    sheets=len(real),
                    bound=min(best.bound, best.cost),
                    steps=job.steps,
                    done=self._done(j),
                )
            )
        return out

    def finish(self, stopped_by: str, *, plain: bool = False) -> Plan:
        """The plan from the best of every glass.

        Parameters
        ----------
        stopped_by
            Why the search ended, for the glasses that are not proven optimal.
        plain
            Leave every sheet as the search left it, and look for no easier plan: for comparison.
        """
        due, judge = self._due, self._judge
        self._settle()
        if due is not None:
            repair(due)
        self._choose(plain)
        self._take_point()
        patterns = self._taken_patterns()
        every = cut_sheets(self._jobs, patterns)
        sheets = [s for s in every if s.job < self._loose]
        missing = missing_panels(self._jobs, patterns)
        hands = [Hands(job.instance) for job in self._jobs]
        days: list[date] | None = None
        if self.taken is not None:
            sheets, days = self.taken.nest.cut(hands)
        elif judge is not None:
            arranged = judge.arranged(sheets)
            judge.hand_out(arranged, hands)
            sheets, days = arranged.sheets, arranged.days
        offcuts = self.shop.offcuts_a_plan - self.kept.offcuts
        if self._fillers:
            taken = [p.id for p in (*self.panels, *self.kept.extras)]
            left = left_after(self._fillers, self.kept.extras)
            filled = Filling(self._jobs[: self._loose], sheets, left, self.shop, offcuts, taken).filled()
            sheets = filled if judge is None or days is None else judge.on_the_same_days(sheets, filled)
        sheets = merged(sheets, [s for s in every if s.job >= self._loose])
        keep = offcuts_kept(sheets, offcuts)
        fresh = build_layouts(sheets, hands, keep, self.kept.last_sheet + 1)
        if not plain:
            fresh = sequenced(fresh, self.shop, panels=self.panels, open_racks=self._open_racks)
        fresh = told_apart(fresh, self.panels)
        unplaced = [*self.unplaced, *unplaced_of(missing, self._jobs, hands)]
        name = plan_id(self.seed, [*self.kept.layouts, *fresh])
        panels = (*self.panels, *self.kept.extras, *fillers_on(sheets, fresh))
        layouts = [*self.kept.layouts, *(numbered(layout, name) for layout in fresh)]
        extra = self.kept.extra()
        if judge is not None and days is not None and self._start_day is not None:
            layouts = judge.dated_layouts(layouts)
            extra |= days_extra(panels, layouts, self.shop.cutting_days, self._start_day)
        elif due is not None:
            extra |= order_extra(panels, layouts, due.judge.alone(self.kept))
        return Plan(
            id=name,
            program=self.program,
            seed=self.seed,
            effort=self.effort,
            length_unit=self.shop.length_style.unit,
            currency=self.shop.currency,
            rules={glass: self.shop.rules_as_set(glass) for glass in sorted({p.glass for p in panels})},
            panels=tuple(sorted(panels, key=lambda p: (p.glass, p.order, p.name, len(p.id), p.id))),
            layouts=tuple(layouts),
            unplaced=tuple(sorted(unplaced, key=lambda u: u.panel)),
            outcomes=outcomes(
                self._jobs, patterns, self.kept, stopped_by, free=due is None and self.taken is None
            ),
            extra=extra,
        )

    def why(self, *, slices: int = SLICES) -> list[Why]:
        """Why each glass costs what it costs, of the sheets that are planned anew; after `finish`.

        Parameters
        ----------
        slices
            Of each short search without one of the rules.
        """
        sheets = cut_sheets(self._jobs, self._taken_patterns())
        return [
            why(
                job.glass,
                job.instance,
                [s for s in sheets if s.job == j],
                seed=self.seed,
                params=self._params,
                bound=job.best_bound,
                slices=slices,
                premiums=job.premiums(),
                other_sizes=job.other_sizes(self.kept.stock),
                spared=self._due.spared(j) if self._due and self._judged(j) else 0,
                in_order=j >= self._loose,
            )
            for j, job in enumerate(self._jobs)
        ]
