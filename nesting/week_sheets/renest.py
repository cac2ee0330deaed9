"""The order history nested again: every week of every glass by a real plan, under the rules of today.

Sheet counts of old weeks tell of old stock sizes and old rules. The orders stay valid: nested again,
they tell what they would take now.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, MutableMapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from ..demand.book import BookedOrder
from ..each import Progress, each
from ..rules import Rules
from ..stock import StockPiece
from .carry import Carry, Kept, in_rack, put_away
from .counts import WeekCount
from .kinds import Kind, kinds_of, panels_in
from .material import Material
from .nest import EFFORT, plan_kinds

Counts = MutableMapping[tuple[int, str], WeekCount]
"""Counts by week and glass."""


@dataclass(frozen=True, slots=True)
class WeekTask:
    """All that a plan of some weeks of one glass needs, and nothing else: it travels to other processes.

    Weeks are nested one after another where offcuts pass from one to the next; else there is one.
    """

    glass: str
    weeks: tuple[tuple[int, tuple[Kind, ...]], ...]
    stock: tuple[StockPiece, ...]
    rules: Rules
    effort: int
    seed: int
    carry: Carry | None = None
    rack: tuple[Kept, ...] = ()


def nest_task(task: WeekTask) -> list[WeekCount]:
    """The counts of a task, in the order of its weeks."""
    rack = task.rack
    found = []
    for week, kinds in task.weeks:
        held = () if task.carry is None else in_rack(rack, week, task.carry)
        plan = plan_kinds(
            kinds,
            task.glass,
            (*task.stock, *held),
            task.rules,
            week=week,
            effort=task.effort,
            seed=task.seed,
            carry=task.carry,
        )
        if task.carry is not None:
            rack = put_away(rack, plan.made, plan.used, task.carry)
        found.append(plan.count)
    return found


def weeks_in(orders: Iterable[BookedOrder], glass: str) -> dict[int, list[BookedOrder]]:
    """The orders that hold this glass, by week, in order of the weeks."""
    found: dict[int, list[BookedOrder]] = {}
    for order in orders:
        if any(p.glass == glass for p in order.panels):
            found.setdefault(order.week, []).append(order)
    return dict(sorted(found.items()))


def tasks_of(
    orders: Sequence[BookedOrder],
    materials: Mapping[str, Material],
    *,
    effort: int = EFFORT,
    seed: int = 0,
    carry: Mapping[str, Carry] | None = None,
    racks: Mapping[str, Sequence[Kept]] | None = None,
) -> list[WeekTask]:
    """A task for every week of every glass, or with `carry` for all weeks of a glass."""
    found: list[WeekTask] = []
    for glass, material in sorted(materials.items()):
        names = [s.name for s in material.stock]
        weeks = [
            (week, kinds_of(panels_in(mine, glass), names)) for week, mine in weeks_in(orders, glass).items()
        ]
        one = (carry or {}).get(glass)
        rack = tuple((racks or {}).get(glass, ()))
        chains = [tuple(weeks)] if one is not None and weeks else [(week,) for week in weeks]
        found += [
            WeekTask(glass, chain, material.stock, material.rules, effort, seed, one, rack if one else ())
            for chain in chains
        ]
    return found


def renest(
    orders: Sequence[BookedOrder],
    materials: Mapping[str, Material],
    executor: Executor | None = None,
    *,
    effort: int = EFFORT,
    seed: int = 0,
    carry: Mapping[str, Carry] | None = None,
    racks: Mapping[str, Sequence[Kept]] | None = None,
    known: Counts | None = None,
    progress: Progress | None = None,
) -> list[WeekCount]:
    """Nest the weeks of an order history again.

    Parameters
    ----------
    orders
        Of the weeks, in any order; those called off must be left out.
    materials
        Stock sizes and rules by glass; orders of other glasses are passed over.
    executor
        Where the tasks run; None: here, one after another. The counts are the same.
    effort, seed
        Of every plan (see `nest_week`).
    carry
        By glass: offcuts pass from week to week, and the weeks of a glass are one task.
    racks
        With `carry`: what lies in the rack before the first week.
    known
        Counts that are known already; they are not made again. New ones are put in as they come, so that
        after an interrupt it holds what was done.
    progress
        Told of every task that is done.

    Returns
    -------
    list of WeekCount
        By glass and week; weeks in which a glass is not cut are left out.
    """
    found: Counts = {} if known is None else known
    tasks = tasks_of(orders, materials, effort=effort, seed=seed, carry=carry, racks=racks)
    missing = [t for t in tasks if any((week, t.glass) not in found for week, _ in t.weeks)]
    for _, counts in each(executor, nest_task, missing, progress):
        found.update({(c.week, c.glass): c for c in counts})
    return [found[week, t.glass] for t in tasks for week, _ in t.weeks]
