"""Weeks for the order of cuts: the same plans cut in a plain order, and in that of the program.

The plain order walks the tree of every sheet from the left and the bottom: each part is measured, taken
off and cut up before the next one; trims come first there, as everywhere. Four drawn weeks for each
sheet size: 26 orders of one to four equal tanks (base, two fronts, two sides, cut 3 mm larger), two of
five of them in one of eight usual sizes; and the sample week of the demo.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.bench_order import Order, shop_panels
from panewright.nesting.assemble import numbered
from panewright.nesting.figures import thickness_of
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.planner import Planner
from panewright.nesting.sequence import steps_of
from panewright.nesting.sequencing.arrange import arranged, plain_order
from panewright.nesting.sequencing.counts import Counts, counts_of
from panewright.nesting.sequencing.score_path import Score, score_path, travel
from panewright.nesting.sequencing.tree import Broken, Indexed, indexed, tree_of, written
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.shop_table import Habit, TableWork
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import MONEY, mm

WEEKS: Final = 4
ORDERS: Final = 26
USUAL: Final = (
    (600, 300, 360),
    (800, 350, 400),
    (1000, 400, 500),
    (1200, 400, 500),
    (1200, 500, 500),
    (1500, 500, 600),
    (450, 300, 300),
    (1800, 600, 600),
)
"""Length, depth and height of usual tanks. [mm]"""
ALLOWED: Final = 3
"""What edgework takes off both edges of a panel. [mm]"""
TRIM: Final = mm(15)


@dataclass(frozen=True, slots=True)
class Size:
    """A size of sheet, its glass and thickness [mm], and the stream of its weeks."""

    width: int
    height: int
    thickness: int
    stream: int

    @property
    def name(self) -> str:
        """As in ``3210x2250``."""
        return f"{self.width}x{self.height}"


SIZES: Final = (Size(3210, 2250, 6, 1), Size(6000, 3210, 10, 2))


def weeks(draw: int) -> Iterator[Order]:
    """The drawn weeks; ``group`` is the place of the sheet size."""
    for group, size in enumerate(SIZES):
        for week in range(WEEKS):
            yield _week(Draw(draw, size.stream, week), size, group, week)


def _week(draw: Draw, size: Size, group: int, week: int) -> Order:
    glass = f"clear-{size.thickness}"
    panels: list[Panel] = []
    for number in range(ORDERS):
        if draw.below(5) < 2:
            length, depth, height = USUAL[draw.below(len(USUAL))]
        else:
            length, depth, height = (5 * draw.between(a, b) for a, b in ((60, 360), (40, 140), (50, 150)))
        walls = [(length, depth), (length, height), (length, height), (depth, height), (depth, height)]
        sizes = [(a + ALLOWED, b + ALLOWED) for a, b in walls] * draw.between(1, 4)
        panels += shop_panels(f"S{number:02d}", sizes, glass=glass, thickness=size.thickness)
    sheet = StockPiece(
        name=f"{glass} {size.name}",
        glass=glass,
        width=mm(size.width),
        height=mm(size.height),
        cost=MONEY,
        buyable=True,
        trim=Trim(TRIM, TRIM, TRIM, TRIM),
    )
    return Order(
        name=f"{size.name} week {week + 1}",
        group=group,
        panels=tuple(panels),
        stock=(sheet,),
        shop=Shop(cutting=CuttingChoice(levels=3, last_cut=True), work=TableWork(habit=Habit.STOP)),
    )


@dataclass(slots=True)
class Measured:
    """What a week asks of the table, the plan in a plain order first.

    Parameters
    ----------
    plain, ordered
        By habit; the same plan, its pieces left where they are or put side by side.
    near, easiest
        Cut by cut, in the easiest of the plans of equal cost whose largest offcut is about as large, and in
        the easiest of all of equal cost.
    travel
        Empty travel of a scoring head in the plain order, each score the same way, and on its path. [nm]
    seconds
        CPU time of the order of one sheet, with its number of cuts, by habit.
    """

    name: str
    group: int
    plain: dict[Habit, Counts] = field(default_factory=dict)
    ordered: dict[Habit, Counts] = field(default_factory=dict)
    near: Counts = field(default_factory=Counts)
    easiest: Counts = field(default_factory=Counts)
    travel: tuple[int, int] = (0, 0)
    seconds: dict[Habit, list[tuple[int, float]]] = field(default_factory=dict)


def measured(
    name: str,
    group: int,
    planner: Planner,
    work: TableWork,
    clock: Callable[[], float],
    passed: Callable[[str, Plan], None],
) -> Measured:
    """What the plan that a planner found asks of the table.

    Parameters
    ----------
    planner
        Searched.
    work
        Rates and waiting pieces.
    clock
        Seconds.
    passed
        Raises where a plan does not pass the checker.
    """
    raw = planner.finish("bench", plain=True)
    out = Measured(name, group)
    for habit in Habit:
        out.plain[habit] = sum((_plain(raw, x, habit, work) for x in raw.layouts), Counts())
        layouts, times = [], []
        for layout in raw.layouts:
            begun = clock()
            layouts.append(_arranged(raw, layout, habit, work))
            times.append((len(layout.cuts), clock() - begun))
        out.seconds[habit] = times
        plan = _renamed(raw, layouts)
        passed(name, plan)
        out.ordered[habit] = sum((_counts(plan, x, habit, work) for x in layouts), Counts())
    out.near = _easiest(name, planner, work, passed)
    planner.tolerate(Fraction(1))
    out.easiest = _easiest(name, planner, work, passed)
    out.travel = (sum(map(_plain_travel, raw.layouts)), sum(travel(score_path(x)) for x in raw.layouts))
    return out


def _easiest(name: str, planner: Planner, work: TableWork, passed: Callable[[str, Plan], None]) -> Counts:
    easy = planner.finish("bench")
    layouts = [_arranged(easy, x, Habit.STOP, work) for x in easy.layouts]
    plan = _renamed(easy, layouts)
    passed(name, plan)
    return sum((_counts(plan, x, Habit.STOP, work) for x in layouts), Counts())


def _arranged(plan: Plan, layout: Layout, habit: Habit, work: TableWork) -> Layout:
    rules, thickness = plan.rules[layout.glass], thickness_of(plan, layout.glass)
    return arranged(layout, rules, thickness, work, habit, permute=True)


def _renamed(plan: Plan, layouts: list[Layout]) -> Plan:
    name = plan_id(plan.seed, layouts)
    return replace(plan, id=name, layouts=tuple(numbered(x, name) for x in layouts))


def _counts(plan: Plan, layout: Layout, habit: Habit, work: TableWork) -> Counts:
    return counts_of(steps_of(plan, layout), habit, work.rates)


def _plain(plan: Plan, layout: Layout, habit: Habit, work: TableWork) -> Counts:
    """The plain order: every part is measured that is taken off, so that one stop serves equal neighbours."""
    tree = indexed(tree_of(layout))
    if not tree.nodes:
        return Counts(sheets=1)
    order = plain_order(tree)
    cuts, leaves = written(tree, order)
    manner = Habit.MACHINE if habit is Habit.MACHINE else Habit.STOP
    sheet = replace(layout, cuts=cuts, leaves=leaves, habit=manner.value)
    counts = counts_of(steps_of(replace(plan, layouts=(sheet,)), sheet), manner, work.rates)
    if habit is Habit.MACHINE:
        return counts
    settings = _settings(tree, order)
    more = settings - counts.settings
    return replace(counts, settings=settings, milliseconds=counts.milliseconds + more * work.rates.setting)


def _settings(tree: Indexed, order: list[Broken]) -> int:
    spans = [tree.pos[n][m] - tree.pos[n][i] for n, i, _, m, _ in order if m > 0]
    return len(spans[:1]) + sum(a != b for a, b in pairwise(spans))


def _plain_travel(layout: Layout) -> int:
    """Empty travel where every cut is a score of its own, drawn from the left or the bottom."""
    ends = [tuple(sorted((cut.start, cut.end))) for cut in layout.cuts]
    return travel([Score(start, end, ()) for start, end in ends])
