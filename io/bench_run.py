"""Runs of the optimizer on published problems, each result replayed by the checker."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from panewright.io.bench_data import Problem
from panewright.io.bench_log import Clock, Entry, Log
from panewright.io.bench_order import PLAIN, Order, shop_panels
from panewright.nesting.checker import check
from panewright.nesting.cut_tree import build_layout
from panewright.nesting.errors import PlanFault
from panewright.nesting.optimizer.equal_sheets import sheets_needed
from panewright.nesting.optimizer.instance import Instance
from panewright.nesting.optimizer.pattern import Pattern
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import MONEY, mm

GLASS = "clear-6"


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
    """What came out for one problem.

    Parameters
    ----------
    name, group, panels
        Of the problem.
    sheets, bound
        Sheets taken, and our lower bound on their number.
    cost, cost_bound
        Cost of the stock taken and our lower bound on it, in the unit of the problem.
    steps, seconds
        Search steps and seconds of the clock, the first plan and the bound included, the check not.
    unplaced
        Panels on no sheet.
    log
        Quality over time.
    """

    name: str
    group: int
    panels: int
    sheets: int
    bound: int
    cost: int
    cost_bound: int
    steps: int
    seconds: float
    unplaced: int = 0
    log: tuple[Entry, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether everything is placed at the cost of the bound."""
        return self.cost <= self.cost_bound and not self.unplaced

    @property
    def first(self) -> float:
        """Seconds to the first whole plan."""
        return self.log[0].seconds if self.log else self.seconds


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan, its steps, the seconds to the first whole plan of all glasses, all seconds, and its log."""

    plan: Plan
    steps: int
    first: float
    seconds: float
    log: tuple[Entry, ...] = ()


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


def pass_check(name: str, plan: Plan) -> None:
    """Replay a plan by the checker; raises PlanFault with the name of the problem."""
    violations = check(plan)
    if violations:
        raise PlanFault(tuple(f"{name}: {v}" for v in violations))


def pack(
    problem: Problem,
    limits: Limits,
    *,
    turn: bool,
    clock: Clock,
    seed: int = 0,
    levels: int | None = None,
) -> Result:
    """The fewest sheets found for one problem, no trims; ends at our bound; raises PlanFault.

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
    levels
        2, 3 or 4 and a last cut, or None for free.
    """
    log = Log(clock)
    found = sheets_needed(
        mm(problem.width),
        mm(problem.height),
        [(mm(w), mm(h)) for w, h in problem.items],
        turn=turn,
        stop=limits.stop(clock),
        seed=seed,
        levels=levels,
        watch=lambda sheets, bound, steps: log.see(cost=sheets, sheets=sheets, bound=bound, steps=steps),
    )
    seconds = log.seconds()
    pass_check(problem.name, plan_of(found.patterns, found.instance, seed))
    return Result(
        name=problem.name,
        group=problem.group,
        panels=len(problem.items),
        sheets=found.sheets,
        bound=found.bound,
        cost=found.sheets,
        cost_bound=found.bound,
        steps=found.steps,
        seconds=seconds,
        log=log.entries,
    )


def plan_of(patterns: Sequence[Pattern], instance: Instance, seed: int, *, all_panels: bool = True) -> Plan:
    """Patterns as a plan, so that the checker can replay them.

    Parameters
    ----------
    patterns, instance
        Of a plain problem.
    seed
        Of the search.
    all_panels
        Whether every panel must be there; else those that the patterns leave out are not asked for.
    """
    queues: list[Iterator[Panel]] = [iter(kind.panels) for kind in instance.types]
    used: set[str] = set()

    def hand_out(kind: int) -> Panel:
        panel = next(queues[kind])
        used.add(panel.id)
        return panel

    layouts = tuple(
        build_layout(pattern, instance, hand_out, (), number, buy=True)
        for number, pattern in enumerate(patterns, 1)
    )
    panels = tuple(
        replace(panel, edges=PLAIN)
        for kind in instance.types
        for panel in kind.panels
        if all_panels or panel.id in used
    )
    return Plan(
        id=plan_id(seed, layouts),
        program="bench",
        seed=seed,
        effort=None,
        length_unit="mm",
        currency="EUR",
        rules={instance.types[0].panels[0].glass: instance.rules},
        panels=panels,
        layouts=layouts,
        unplaced=(),
        outcomes={},
    )


def run_order(
    order: Order, limits: Limits, *, clock: Clock, seed: int = 0, to_bound: bool = True
) -> tuple[Result, Plan]:
    """The cheapest stock found for one order by the whole planner; raises PlanFault.

    Parameters
    ----------
    order
        Panels, stock and shop, of one glass.
    limits
        When to stop.
    clock
        Seconds, for the limit and the report.
    seed
        Of the search.
    to_bound
        End when the cost meets the bound; else go on for the largest offcut.
    """
    planned = run_planner(
        order.panels, order.stock, order.shop, limits, clock=clock, seed=seed, to_bound=to_bound
    )
    plan = planned.plan
    pass_check(order.name, plan)
    outcomes = list(plan.outcomes.values())
    return (
        Result(
            name=order.name,
            group=order.group,
            panels=len(order.panels),
            sheets=len(plan.layouts),
            bound=sum(o.bound.sheets for o in outcomes),
            cost=sum(layout.cost for layout in plan.layouts),
            cost_bound=sum(o.bound.cost for o in outcomes),
            steps=planned.steps,
            seconds=planned.seconds,
            unplaced=len(plan.unplaced),
            log=planned.log,
        ),
        plan,
    )


def glass_order(problem: Problem) -> Order:
    """A panel list as an order: three levels and a last cut, break-out distance 20 mm, no trims, turning."""
    sheet = StockPiece(
        name="sheet",
        glass=GLASS,
        width=mm(problem.width),
        height=mm(problem.height),
        cost=MONEY,
        buyable=True,
    )
    return Order(
        name=problem.name,
        group=problem.group,
        panels=shop_panels(problem.name, problem.items, glass=GLASS, thickness=6),
        stock=(sheet,),
        shop=Shop(cutting=CuttingChoice(levels=3, last_cut=True, break_out=mm(20))),
    )


def glass_list(problem: Problem, limits: Limits, *, clock: Clock, seed: int = 0) -> Result:
    """The fewest sheets found for a panel list by the whole planner (see `glass_order`); raises PlanFault."""
    result, _ = run_order(glass_order(problem), limits, clock=clock, seed=seed, to_bound=False)
    return result


def run_planner(
    panels: Sequence[Panel],
    stock: Sequence[StockPiece],
    shop: Shop,
    limits: Limits,
    *,
    clock: Clock,
    seed: int = 0,
    to_bound: bool = False,
    groups: bool = True,
) -> Planned:
    """A plan of all panels that some stock can yield, and what it took.

    With `to_bound` it ends when every glass meets the bound on its cost; `groups` as in `Planner`.
    """
    log = Log(clock)
    stop = limits.stop(clock)
    cannot = impossible(panels, stock, shop)
    planner = Planner(panels, stock, shop, seed=seed, effort=limits.effort, unplaced=cannot, groups=groups)
    planner.start()
    first = log.seconds()
    going = True
    while going:
        glasses = planner.progress()
        cost, bound = sum(g.cost for g in glasses), sum(g.bound for g in glasses)
        steps = sum(g.steps for g in glasses)
        log.see(cost=cost, sheets=sum(g.sheets for g in glasses), bound=bound, steps=steps)
        met = to_bound and cost <= bound
        going = not met and not stop(steps) and planner.advance()
    plan = planner.finish("time" if limits.effort is None else "effort")
    return Planned(plan, steps, first, log.seconds(), log.entries)


def prepare() -> None:
    """Compile both kernels, so that no measured run pays for it."""
    few = Limits(effort=1)
    pack(Problem("prepare", 0, 10, 10, ((5, 5), (6, 4), (7, 3))), few, turn=True, clock=float)
    glass_list(Problem("prepare", 0, 6000, 3210, ((500, 500), (600, 400))), few, clock=float)
