"""Runs of the optimizer on published problems, each result replayed by the checker."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from panewright.io.bench_data import Problem
from panewright.nesting.checker import check
from panewright.nesting.cut_tree import build_layout
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.errors import PlanFault
from panewright.nesting.optimizer.equal_sheets import EqualSheets, sheets_needed
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import MONEY, mm

Clock = Callable[[], float]
GLASS = "clear-6"
PLAIN = (Edge(work=Work.CUT),) * 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """When one problem ends: seconds of the clock given, or counted steps."""

    seconds: float | None = None
    effort: int | None = None

    def stop(self, clock: Clock) -> Callable[[int], bool]:
        """A question to be asked with the steps so far; its clock starts now."""
        began = clock()
        return lambda steps: (
            (self.seconds is not None and clock() - began >= self.seconds)
            or (self.effort is not None and steps >= self.effort)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """Sheets taken, our bound, steps and seconds for one problem."""

    name: str
    group: int
    panels: int
    sheets: int
    bound: int
    steps: int
    seconds: float
    unplaced: int = 0


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan, its steps, the seconds to the first whole plan of all glasses, and all seconds."""

    plan: Plan
    steps: int
    first: float
    seconds: float


def memory_peak() -> int | None:
    """Most memory that this process has held, or None where the system does not say. [bytes]

    Notes
    -----
    getrusage counts in kilobytes on Linux and in bytes on macOS (their manual pages).
    """
    try:
        import resource
    except ImportError:
        return None
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak if sys.platform == "darwin" else peak * 1024


def pack(problem: Problem, limits: Limits, *, turn: bool, clock: Clock, seed: int = 0) -> Result:
    """The fewest sheets found for one problem, free levels, no trims; raises PlanFault.

    Parameters
    ----------
    problem
        The rectangles.
    limits
        When to stop.
    turn
        Whether they may turn a quarter.
    clock
        Seconds, for the limit and the report.
    seed
        Of the search.
    """
    began = clock()
    found = sheets_needed(
        mm(problem.width),
        mm(problem.height),
        [(mm(w), mm(h)) for w, h in problem.items],
        turn=turn,
        stop=limits.stop(clock),
        seed=seed,
    )
    seconds = clock() - began
    violations = check(_plan_of(found, seed))
    if violations:
        raise PlanFault(tuple(f"{problem.name}: {v}" for v in violations))
    return Result(
        name=problem.name,
        group=problem.group,
        panels=len(problem.items),
        sheets=found.sheets,
        bound=found.bound,
        steps=found.steps,
        seconds=seconds,
    )


def _plan_of(found: EqualSheets, seed: int) -> Plan:
    """The patterns as a plan, so that the checker can replay them."""
    queues: list[Iterator[Panel]] = [iter(kind.panels) for kind in found.instance.types]
    layouts = tuple(
        build_layout(pattern, found.instance, lambda kind: next(queues[kind]), (), number, buy=True)
        for number, pattern in enumerate(found.patterns, 1)
    )
    panels = tuple(replace(panel, edges=PLAIN) for kind in found.instance.types for panel in kind.panels)
    return Plan(
        id=plan_id(seed, layouts),
        program="bench",
        seed=seed,
        effort=None,
        length_unit="mm",
        currency="EUR",
        rules={panels[0].glass: found.instance.rules},
        panels=panels,
        layouts=layouts,
        unplaced=(),
        outcomes={},
    )


def glass_list(problem: Problem, limits: Limits, *, clock: Clock, seed: int = 0) -> Result:
    """The fewest sheets found for a panel list by the whole planner; raises PlanFault.

    Three levels and a last cut, break-out distance 20 mm, no trims, turning allowed.
    """
    shop = Shop(cutting=CuttingChoice(levels=3, last_cut=True, break_out=mm(20)))
    width, height = mm(problem.width), mm(problem.height)
    stock = [StockPiece(name="sheet", glass=GLASS, width=width, height=height, cost=MONEY, buyable=True)]
    panels = [
        Panel(
            id=f"{problem.name}/{i:04d}",
            order=problem.name,
            name=f"{i:04d}",
            glass=GLASS,
            thickness=mm(6),
            finished=outline,
            cut=outline,
            edges=PLAIN,
        )
        for i, (w, h) in enumerate(problem.items)
        for outline in [rectangle(mm(w), mm(h))]
    ]
    began = clock()
    planned = run_planner(panels, stock, shop, limits, clock=clock, seed=seed)
    seconds = clock() - began
    plan = planned.plan
    violations = check(plan)
    if violations:
        raise PlanFault(tuple(f"{problem.name}: {v}" for v in violations))
    return Result(
        name=problem.name,
        group=problem.group,
        panels=len(panels),
        sheets=len(plan.layouts),
        bound=plan.outcomes[GLASS].bound.sheets if plan.outcomes else 0,
        steps=planned.steps,
        seconds=seconds,
        unplaced=len(plan.unplaced),
    )


def run_planner(
    panels: Sequence[Panel],
    stock: Sequence[StockPiece],
    shop: Shop,
    limits: Limits,
    *,
    clock: Clock,
    seed: int = 0,
) -> Planned:
    """A plan of all panels that some stock can yield, and what it took."""
    began = clock()
    stop = limits.stop(clock)
    cannot = impossible(panels, stock, shop)
    planner = Planner(panels, stock, shop, seed=seed, effort=limits.effort, unplaced=cannot)
    planner.start()
    first = clock() - began

    def steps() -> int:
        return sum(glass.steps for glass in planner.progress())

    while not stop(steps()) and planner.advance():
        pass
    plan = planner.finish("time" if limits.effort is None else "effort")
    return Planned(plan, steps(), first, clock() - began)


def prepare() -> None:
    """Compile both kernels, so that no measured run pays for it."""
    few = Limits(effort=1)
    pack(Problem("prepare", 0, 10, 10, ((5, 5), (6, 4), (7, 3))), few, turn=True, clock=float)
    glass_list(Problem("prepare", 0, 6000, 3210, ((500, 500), (600, 400))), few, clock=float)
