"""Real plans of the open orders, week by week: which sheets they take, by when, and for whom."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from ..demand.book import BookedOrder
from ..demand.weeks import week_of
from ..each import Progress, gathered
from ..optimizer.params import Params
from ..panels import Panel
from ..plan import Layout, Plan, Unplaced
from ..planner import Planner, impossible
from ..shop import Shop
from ..stock import StockPiece

EFFORT: Final = 20
"""Slices of search for a week of one glass."""
QUICK: Final = Params(lp_share=0.0, dive_share=0.0)
"""Sheets are wanted, no proof: the search without its linear programme finds their number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NeededSheet:
    """One sheet or offcut that the open orders take.

    Parameters
    ----------
    week
        In which its panels are due (see `demand.weeks`); what is overdue counts in the week of the look.
    day
        Day by which it must be cut: the first due day on it.
    glass, stock
        Glass key, and name of the stock size or number of the offcut.
    is_offcut
        Whether it is an offcut of the rack.
    due
        The orders on it and their due days on it.
    cut, area
        Cut outlines on it, and the sheet. [nm2]
    cost
        [1/10,000 of the currency]
    """

    week: int
    day: date
    glass: str
    stock: str
    is_offcut: bool
    due: Mapping[str, date]
    cut: int
    area: int
    cost: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedNeeds:
    """The sheets of the open orders, and the panels that no stock yields with the rule that forbids them."""

    sheets: tuple[NeededSheet, ...] = ()
    unplaced: tuple[Unplaced, ...] = ()


@dataclass(frozen=True, slots=True)
class GlassTask:
    """The open orders of one glass, by week; offcuts that a week takes are gone for those after it."""

    glass: str
    weeks: tuple[tuple[int, tuple[Panel, ...]], ...]
    stock: tuple[StockPiece, ...]
    offcuts: tuple[StockPiece, ...]
    shop: Shop
    today: date
    effort: int
    seed: int


def plan_task(task: GlassTask) -> PlannedNeeds:
    """The plans of one glass."""
    offcuts = {piece.name: piece for piece in task.offcuts}
    sheets: list[NeededSheet] = []
    unplaced: list[Unplaced] = []
    for week, panels in task.weeks:
        pieces = [*task.stock, *offcuts.values()]
        plan = quick_plan(panels, pieces, task.shop, effort=task.effort, seed=task.seed)
        mine = sorted(
            (_needed(layout, week, plan, task.today) for layout in plan.layouts),
            key=lambda s: (s.day, s.stock, sorted(s.due.items())),
        )
        for sheet in mine:
            if sheet.is_offcut:
                offcuts.pop(sheet.stock, None)
        sheets += mine
        unplaced += plan.unplaced
    return PlannedNeeds(sheets=tuple(sheets), unplaced=tuple(unplaced))


def quick_plan(
    panels: Sequence[Panel], stock: Sequence[StockPiece], shop: Shop, *, effort: int = EFFORT, seed: int = 0
) -> Plan:
    """A whole plan of these panels by a short search of the planner; cost alone decides."""
    lost = impossible(panels, stock, shop)
    planner = Planner(panels, stock, shop, seed=seed, unplaced=lost, params=QUICK, any_order=True)
    planner.start()
    for _ in range(effort):
        if not planner.advance():
            break
    return planner.finish("effort", plain=True)


def _needed(layout: Layout, week: int, plan: Plan, today: date) -> NeededSheet:
    by_id = {p.id: p for p in plan.panels}
    mine = [by_id[leaf.panel] for leaf in layout.leaves if leaf.panel is not None]
    due: dict[str, date] = {}
    for panel in mine:
        day = panel.due or today
        due[panel.order] = min(day, due.get(panel.order, day))
    return NeededSheet(
        week=week,
        day=min(due.values(), default=today),
        glass=layout.glass,
        stock=layout.stock,
        is_offcut=layout.is_offcut,
        due=dict(sorted(due.items())),
        cut=sum(p.cut_area2 for p in mine) // 2,
        area=layout.width * layout.height,
        cost=layout.cost,
    )


def plan_needs(
    orders: Iterable[BookedOrder],
    stock: Sequence[StockPiece],
    shop: Shop,
    *,
    today: date,
    offcuts: Sequence[StockPiece] = (),
    effort: int = EFFORT,
    seed: int = 0,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> PlannedNeeds:
    """The sheets that the open orders take.

    Parameters
    ----------
    orders
        Open orders; the due day of a panel without one is that of its order.
    stock
        Stock sizes that can be bought (see `week_sheets.material.pieces_of`).
    shop
        Its rules.
    today
        The day of the look.
    offcuts
        In the rack.
    effort, seed
        Of every plan.
    executor, progress
        The glasses are planned side by side; the result is the same.
    """
    by_glass: dict[str, dict[int, list[Panel]]] = defaultdict(lambda: defaultdict(list))
    for order in orders:
        for panel in order.panels:
            dated = replace(panel, due=panel.due or order.due)
            week = max(week_of(today), week_of(dated.due or today))
            by_glass[panel.glass][week].append(dated)
    tasks = [
        GlassTask(
            glass=glass,
            weeks=tuple(
                (week, tuple(sorted(panels, key=_first_due))) for week, panels in sorted(weeks.items())
            ),
            stock=tuple(s for s in stock if s.glass == glass),
            offcuts=tuple(s for s in offcuts if s.glass == glass),
            shop=shop,
            today=today,
            effort=effort,
            seed=seed,
        )
        for glass, weeks in sorted(by_glass.items())
    ]
    found = gathered(executor, plan_task, tasks, progress)
    return PlannedNeeds(
        sheets=tuple(sheet for one in found for sheet in one.sheets),
        unplaced=tuple(panel for one in found for panel in one.unplaced),
    )


def _first_due(panel: Panel) -> tuple[date, str]:
    return panel.due or date.max, panel.id
