"""Remakes of one long plan: what breaks, is flawed, cancelled or comes in, and how soon there is an answer.

The plan holds the drawn orders of the set ``sequence`` for sheets of 3210 x 2250, so many that they take about
60 sheets; a third of its sheets is cut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.bench_order import Order, shop_panels
from panewright.io.bench_sequence import SIZES, weeks
from panewright.nesting.check_remake import check_remake
from panewright.nesting.errors import PlanFault
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import AtStep, Happened
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.planner import Planner
from panewright.nesting.remake.request import Request
from panewright.nesting.remake.search import Remaking
from panewright.nesting.units import mm

SHEETS: Final = 60
STREAM: Final = 70
FILLED: Final = 96
"""So much of the sheets is panels, about. [per cent]"""
PLAN_EFFORT: Final = 200
ONE: Final = 40
"""Draws of a single broken panel; of the other cases there are fewer."""
FEW: Final = 8
MOST_FLAW: Final = 40
"""Greatest side of a flaw. [mm]"""


@dataclass(frozen=True, slots=True)
class Case:
    """Something that happened: its name, kind, and what the remake is asked."""

    name: str
    kind: str
    happened: Happened
    added: tuple[Panel, ...] = ()
    cancelled: tuple[str, ...] = ()
    on_hand: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remade:
    """What came of a case.

    Parameters
    ----------
    case
        What happened.
    first_cpu, first_wall
        Until the plan of the first whole answer is there. [s]
    cpu
        Until the search ended, without the check. [s]
    checked_cpu
        What the check of the whole plan takes besides. [s]
    first_cost, cost
        Stock taken more than before, by the first answer and in the end. [sheets]
    changed
        Sheets planned otherwise in the end.
    unplaced
        Panels without a place.
    """

    case: Case
    first_cpu: float
    first_wall: float
    cpu: float
    checked_cpu: float
    first_cost: int
    cost: int
    changed: int
    unplaced: int


def long_order(draw: int) -> Order:
    """Orders for about 60 sheets."""
    found = [order for order in weeks(draw) if order.group == 0]
    sheet = found[0].stock[0]
    room = SHEETS * sheet.inner_width * sheet.inner_height * FILLED // 100
    panels: list[Panel] = []
    for w, order in enumerate(found):
        for panel in order.panels:
            name = f"W{w}{panel.order}"
            room -= panel.cut_area2 // 2
            if room < 0 and (not panels or panels[-1].order != name):
                break
            panels.append(replace(panel, id=f"{name}/{panel.name}", order=name))
    return replace(found[0], name="long", panels=tuple(panels))


def long_plan(draw: int, seed: int) -> tuple[Plan, Order]:
    """A plan of them, made with little effort."""
    order = long_order(draw)
    planner = Planner(order.panels, order.stock, order.shop, seed=seed, effort=PLAN_EFFORT)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort"), order


def cases(plan: Plan, draw: int) -> Iterator[Case]:
    """Broken panels, one, three and eight; a flawed sheet; an order more, and one less; a sheet half cut; flaws."""
    cut = [x.number for x in plan.layouts[: len(plan.layouts) // 3]]
    left = [x.number for x in plan.layouts[len(plan.layouts) // 3 :]]
    on_cut = [leaf.panel for x in plan.layouts if x.number in cut for leaf in x.leaves if leaf.panel]
    glass = SIZES[0]
    for kind, count, many in (
        ("one panel broken", ONE, 1),
        ("three panels", FEW, 3),
        ("eight panels", FEW, 8),
    ):
        for k in range(count):
            chosen = Draw(draw, STREAM, many, k).pick(many, len(on_cut))
            broken = {on_cut[i]: AtStep.EDGING for i in chosen}
            yield Case(f"{kind} {k + 1}", kind, Happened(cut=frozenset(cut), broken=broken))
    for k in range(FEW):
        d = Draw(draw, STREAM, 100, k)
        number = left[d.below(len(left))]
        happened = Happened(cut=frozenset(cut), flawed={number: "flaw"})
        yield Case(f"a sheet flawed {k + 1}", "a sheet flawed", happened, on_hand=len(left) - 1)
        sizes = [(5 * d.between(60, 240), 5 * d.between(50, 130)) for _ in range(5)]
        added = shop_panels(f"U{k}", sizes, glass=f"clear-{glass.thickness}", thickness=glass.thickness)
        now = Happened(cut=frozenset(cut))
        yield Case(f"five panels more {k + 1}", "five panels more", now, added)
        order = plan.panels[d.below(len(plan.panels))].order
        yield Case(f"an order less {k + 1}", "an order less", now, cancelled=(order,))
        layout = plan.layouts[len(cut)]
        half = Happened(
            cut=frozenset(cut),
            half={layout.number: d.between(1, len(layout.cuts))},
            broken={on_cut[d.below(len(on_cut))]: AtStep.EDGING},
        )
        yield Case(f"broken, a sheet half cut {k + 1}", "broken, a sheet half cut", half)
    for k in range(FEW):
        d = Draw(draw, STREAM, 200, k)
        layout = plan.layouts[len(cut) + d.below(len(left))]
        flaws = {layout.number: (_flaw(d, layout),)}
        uncut = Happened(cut=frozenset(cut), flaws=flaws)
        yield Case(f"a flaw on an uncut sheet {k + 1}", "a flaw on an uncut sheet", uncut)
        begun = replace(uncut, half={layout.number: d.between(1, max(1, len(layout.cuts) // 2))})
        yield Case(f"a flaw on a half cut sheet {k + 1}", "a flaw on a half cut sheet", begun)


def _flaw(d: Draw, layout: Layout) -> Flaw:
    """A scratch anywhere on a sheet."""
    wide, high = mm(d.between(1, MOST_FLAW)), mm(d.between(1, MOST_FLAW))
    x, y = d.between(0, layout.width - wide), d.between(0, layout.height - high)
    return Flaw(x, y, wide, high, "scratch")


def remade(
    case: Case,
    plan: Plan,
    order: Order,
    *,
    seed: int,
    stop: Callable[[int], bool],
    clock: Callable[[], float],
    wall: Callable[[], float],
    passed: Callable[[str, Plan], None],
) -> Remade:
    """Remake a case: the first answer, then until `stop` says so.

    Raises
    ------
    PlanFault
        Where a check refuses the first answer or the last.
    """
    stock = order.stock
    if case.on_hand is not None:
        # the racks hold what the plan takes, and the flawed sheet is not among them; more can be bought
        stock = tuple(replace(s, on_hand=case.on_hand) for s in stock)
    began, began_wall = clock(), wall()
    it = Remaking(
        Request(
            earlier=plan,
            happened=case.happened,
            stock=stock,
            shop=order.shop,
            added=case.added,
            cancelled=case.cancelled,
            seed=seed,
        )
    )
    it.start()
    first = it.finish("first answer")
    first_cpu, first_wall = clock() - began, wall() - began_wall
    again = clock()
    while not stop(it.spent) and it.advance():
        pass
    last = it.finish("effort")
    ended = clock()
    for one in (first, last):
        faults = check_remake(plan, it.request.happened, one)
        if faults:
            raise PlanFault(tuple(f"{case.name}: {fault}" for fault in faults))
    began_check = clock()
    passed(case.name, last)
    checked = clock() - began_check
    passed(case.name, first)
    price = max(1, order.stock[0].cost)
    before = sum(x.cost for x in plan.layouts)
    return Remade(
        case=case,
        first_cpu=first_cpu,
        first_wall=first_wall,
        cpu=first_cpu + ended - again,
        checked_cpu=checked,
        first_cost=(sum(x.cost for x in first.layouts) - before) // price,
        cost=(sum(x.cost for x in last.layouts) - before) // price,
        changed=len(it.ending.changes.sheets),
        unplaced=len(last.unplaced),
    )
