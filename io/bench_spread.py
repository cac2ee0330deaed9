"""Drawn weeks with due days: how few orders are open at once, and how few are late, for how much more glass.

One thickness a week. An order is some tanks of one size; a tank is a base, two fronts and two sides. Four
orders in ten are of one of eight usual sizes. All edges are polished, 3 mm more in each direction. Due days
run over five working days so that each has the same work, and the table cuts a fifth of the sheets of the
cheapest nest a day, and a tenth more. Own problems, like those of the feasibility study (guide "sequence",
section 6.4).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.bench_log import Clock
from panewright.io.bench_order import Order, shop_panels
from panewright.io.bench_run import Limits, pass_check
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.open_orders.curve import least_pressed
from panewright.nesting.panels import Panel
from panewright.nesting.planner import Planner
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import MONEY, mm

GLASS: Final = "clear-6"
THICKNESS: Final = 6
TRIM: Final = 15
POLISH: Final = 3
BREAK_OUT: Final = 20
USUAL: Final = 8
"""Usual sizes of tanks."""
USUAL_SHARE: Final = 4
"""Orders in ten that are of a usual size."""
DAYS: Final = 5
START: Final = date(2027, 3, 1)
"""A Monday."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Weeks of one kind: orders, tanks of an order, and the sheet. [mm]"""

    name: str
    group: int
    orders: int
    tanks: tuple[int, int]
    sheet: tuple[int, int]


KINDS: Final = (
    Kind(name="30 orders", group=1, orders=30, tanks=(1, 4), sheet=(3210, 2250)),
    Kind(name="40 orders", group=2, orders=40, tanks=(1, 6), sheet=(3210, 2250)),
    Kind(name="40 large orders", group=3, orders=40, tanks=(4, 12), sheet=(6000, 3210)),
)


def _tank(draw: Draw) -> tuple[int, int, int]:
    """Length, depth and height of a tank. [mm]"""
    return 5 * draw.between(80, 320), 5 * draw.between(50, 140), 5 * draw.between(55, 150)


def spread_week(seed: int, kind: Kind) -> Order:
    """A week by its seed."""
    draw = Draw(seed, kind.group - 1)
    usual = [_tank(draw) for _ in range(USUAL)]
    panels: list[Panel] = []
    areas: list[int] = []
    for number in range(kind.orders):
        size = usual[draw.below(USUAL)] if draw.below(10) < USUAL_SHARE else _tank(draw)
        length, depth, height = (s + POLISH for s in size)
        tanks = draw.between(*kind.tanks)
        sizes = [(length, depth), *[(length, height)] * 2, *[(depth, height)] * 2] * tanks
        panels += shop_panels(f"order-{number + 1:02d}", sizes, glass=GLASS, thickness=THICKNESS)
        areas.append(sum(a * b for a, b in sizes))
    # orders come in any order, so that their due days are drawn with them
    due, done = {}, 0
    for number, area in enumerate(areas):
        day = min(DAYS - 1, (2 * done + area) * DAYS // (2 * sum(areas)))
        due[f"order-{number + 1:02d}"] = START + timedelta(days=day)
        done += area
    width, height = kind.sheet
    sheet = StockPiece(
        name=f"{GLASS} {width}x{height}",
        glass=GLASS,
        width=mm(width),
        height=mm(height),
        trim=Trim(*(mm(TRIM),) * 4),
        cost=width * height * MONEY // 10**6,
        buyable=True,
    )
    return Order(
        name=f"{kind.name} {seed}",
        group=kind.group,
        panels=tuple(replace(p, due=due[p.order]) for p in panels),
        stock=(sheet,),
        shop=Shop(cutting=CuttingChoice(levels=3, last_cut=True, break_out=mm(BREAK_OUT))),
    )


def capacity(sheets: int) -> CuttingDays:
    """A table that cuts a fifth of so many sheets a day, and a tenth more, rounded to the nearest."""
    return CuttingDays(sheets=max(1, (11 * sheets + 5 * DAYS) // (10 * DAYS)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One point of the curve of a week: sheets, most orders open at once, late orders."""

    sheets: int
    most_open: int
    late: int
    within: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A week: the cheapest nest and the points with weights, which of them is taken, and CPU seconds.

    Parameters
    ----------
    name, group
        Of the week.
    rows
        One a point of the curve; the first is the cheapest nest, its sheets in the best order.
    taken
        The point with the least pressure within the tolerance.
    seconds
        Of the curve alone.
    """

    name: str
    group: int
    rows: tuple[Row, ...]
    taken: int
    seconds: float


def spread(week: Order, limits: Limits, clock: Clock, seed: int) -> Spread:
    """Plan a week by cost alone, then make the curve; the plan that is taken is checked; raises PlanFault."""
    bare = Planner(week.panels, week.stock, week.shop, seed=seed, effort=limits.effort, any_order=True)
    bare.start()
    stop = limits.stop(clock)
    while not stop(0) and bare.advance():
        pass
    sheets = len(bare.finish("bench").layouts)
    # goes on from that plan, now that the table's capacity is known
    planner = Planner(
        week.panels,
        week.stock,
        replace(week.shop, cutting_days=capacity(sheets)),
        seed=seed,
        effort=limits.effort,
        any_order=True,
        start_day=START,
        few_open=-1,
        begun=bare,
    )
    planner.start()
    began = clock()
    plan = planner.finish("bench")
    seconds = clock() - began
    pass_check(week.name, plan)
    rows = tuple(
        Row(
            sheets=len(p.nest.sheets),
            most_open=p.nest.ordered.most_open,
            late=len(p.nest.late),
            within=p.within,
        )
        for p in planner.points
    )
    return Spread(
        name=week.name, group=week.group, rows=rows, taken=least_pressed(planner.points), seconds=seconds
    )


def spread_weeks(draw: int, seeds: int = 4) -> list[Order]:
    """So many weeks of every kind."""
    return [spread_week(draw + number, kind) for kind in KINDS for number in range(seeds)]
