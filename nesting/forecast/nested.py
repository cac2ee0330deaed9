"""Real plans in place of the rule, for those weeks of the futures where a rule does not do.

Weeks that bounds do not decide, glasses of several sizes, weeks with open orders. Futures whose week holds the same
panels share one plan; what most of them share is planned first, and of the rest the soonest, which is bought for now.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Executor
from dataclasses import dataclass, replace
from typing import Any, Final, NamedTuple

import numpy as np

from ..demand.book import BookedOrder
from ..each import Progress, each
from ..week_sheets.counts import WeekCount
from ..week_sheets.kinds import Kind, joined, kinds_of, panels_in
from ..week_sheets.material import Material
from ..week_sheets.nest import EFFORT
from ..week_sheets.renest import WeekTask, nest_task
from .futures import Futures
from .simulate import Simulation

MOST: Final = 400
"""Plans at most: half a minute on one core."""

ENOUGH: Final = 20
"""Planned cells of a week and glass from which on the others may take after them."""


class Cell(NamedTuple):
    """A week of a future of one glass, future and week counted from 0."""

    week: int
    future: int
    glass: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Nested:
    """Futures with real plans.

    Parameters
    ----------
    futures
        By the plans where there is one, by the rule elsewhere.
    cells
        Weeks of futures of one glass that a plan tells.
    plans
        Plans made for them.
    wanted
        Cells that were asked for.
    interrupted
        Not all plans were made: it was interrupted, or the workers were lost.
    """

    futures: Futures
    cells: int
    plans: int
    wanted: int
    interrupted: bool


def open_cells(undecided: Mapping[str, Any], weeks: Sequence[int] | None = None) -> list[Cell]:
    """The cells that want a plan, the soonest weeks first.

    Parameters
    ----------
    undecided
        By glass, booleans of shape (futures, weeks), see `week_sheets.bounds.undecided` of `Drawing.sums`.
    weeks
        Only these; None: all. Plans tell most of weeks 0 and 1, where most orders are known.
    """
    found = [
        Cell(int(week), int(future), glass)
        for glass, open_ in undecided.items()
        for future, week in np.argwhere(open_)
        if weeks is None or week in weeks
    ]
    return sorted(found)


def with_nests(
    simulation: Simulation,
    futures: Futures,
    materials: Mapping[str, Material],
    cells: Iterable[Cell],
    executor: Executor | None = None,
    *,
    most: int = MOST,
    effort: int = EFFORT,
    seed: int = 0,
    areas: Mapping[str, Any] | None = None,
    progress: Progress | None = None,
) -> Nested:
    """Replace the rule by real plans.

    Parameters
    ----------
    simulation, futures
        What was drawn; the futures are those of this simulation.
    materials
        Stock sizes and rules by glass.
    cells
        Which, the most wanted first.
    executor
        Where the plans are made; each is a task of its own, so that a lost worker costs no more.
    most
        Plans at most; the cells beyond them keep the rule.
    effort, seed
        Of every plan.
    areas
        By glass, what the weeks of the futures hold, shape (futures, weeks). With it a cell beyond `most` takes the
        sheets of the planned one of its week and glass that is nearest in area: the rule knows how many sheets
        a week takes, but hardly which of several sizes.
    progress
        Told of every plan.

    Notes
    -----
    An interrupt ends the planning, not the forecast: the plans that are done are kept.
    """
    wanted = list(cells)
    tasks, users = _tasks(simulation, futures, materials, wanted, most, effort, seed)
    sheets = np.array(futures.sheets)
    columns = {name: k for k, name in enumerate(futures.series)}
    done, interrupted = 0, False
    planned: dict[Cell, WeekCount] = {}
    try:
        for k, counts in each(executor, nest_task, tasks, progress):
            done += 1
            for cell in users[k]:
                planned[cell] = counts[0]
                _put(sheets[cell.future, cell.week], columns, materials[cell.glass], counts[0])
    except (KeyboardInterrupt, BrokenExecutor):
        interrupted = True
    for cell, count in _nearest(wanted, planned, areas or {}):
        _put(sheets[cell.future, cell.week], columns, materials[cell.glass], count)
    return Nested(
        futures=replace(futures, sheets=sheets),
        cells=len(planned),
        plans=done,
        wanted=len(wanted),
        interrupted=interrupted,
    )


def _nearest(
    wanted: Sequence[Cell], planned: Mapping[Cell, WeekCount], areas: Mapping[str, Any]
) -> Iterator[tuple[Cell, WeekCount]]:
    """For cells without a plan the count of the planned one that is nearest in area, of equals the first future's."""
    known: dict[tuple[int, str], list[Cell]] = {}
    for cell in sorted(planned):
        known.setdefault((cell.week, cell.glass), []).append(cell)
    for cell in wanted:
        there = known.get((cell.week, cell.glass))
        if cell in planned or there is None or cell.glass not in areas or len(there) < ENOUGH:
            continue
        mine = areas[cell.glass]
        away = np.abs(mine[[c.future for c in there], cell.week] - mine[cell.future, cell.week])
        yield cell, planned[there[int(np.argmin(away))]]


def _tasks(
    simulation: Simulation,
    futures: Futures,
    materials: Mapping[str, Material],
    wanted: Sequence[Cell],
    most: int,
    effort: int,
    seed: int,
) -> tuple[list[WeekTask], list[list[Cell]]]:
    """A task for each set of panels, and the cells that it serves."""
    places: dict[tuple[str, tuple[tuple[int, int], ...]], list[Cell]] = {}
    drawn: dict[int, list[tuple[BookedOrder, ...]]] = {}
    alike = {glass: _Alike(glass, material) for glass, material in materials.items()}
    for cell in wanted:
        if cell.glass not in materials:
            continue
        if cell.future not in drawn:
            drawn[cell.future] = simulation.drawn_weeks(cell.future)
        key = (cell.glass, alike[cell.glass].key(drawn[cell.future][cell.week]))
        places.setdefault(key, []).append(cell)
    # a plan that many futures share tells most; of equals the first that was asked for
    users = sorted(places.values(), key=lambda cells: -len(cells))[:most]
    tasks = []
    for cells in users:
        week, future, glass = cells[0]
        kinds = alike[glass].kinds(drawn[future][week])
        material = materials[glass]
        tasks.append(
            WeekTask(glass, ((futures.first + week, kinds),), material.stock, material.rules, effort, seed)
        )
    return tasks, users


class _Alike:
    """Tells weeks of the same panels: the few orders that thousands of weeks are drawn from are looked at once."""

    def __init__(self, glass: str, material: Material) -> None:
        self._glass, self._names = glass, [s.name for s in material.stock]
        self._numbers: dict[tuple[Any, ...], int] = {}
        # the order is kept beside its kinds, so that no other one can come to its identity
        self._of: dict[int, tuple[BookedOrder, tuple[Kind, ...], tuple[tuple[int, int], ...]]] = {}

    def _known(self, order: BookedOrder) -> tuple[tuple[Kind, ...], tuple[tuple[int, int], ...]]:
        if id(order) not in self._of:
            kinds = kinds_of(panels_in([order], self._glass), self._names)
            numbers = tuple((self._numbers.setdefault(k[:-1], len(self._numbers)), k.panels) for k in kinds)
            self._of[id(order)] = order, kinds, numbers
        return self._of[id(order)][1:]

    def key(self, orders: Iterable[BookedOrder]) -> tuple[tuple[int, int], ...]:
        """Number of each kind, and how many panels of it."""
        counts: Counter[int] = Counter()
        for order in orders:
            for number, panels in self._known(order)[1]:
                counts[number] += panels
        return tuple(sorted(counts.items()))

    def kinds(self, orders: Iterable[BookedOrder]) -> tuple[Kind, ...]:
        """All of them together."""
        return joined(self._known(order)[0] for order in orders)


def _put(row: Any, columns: Mapping[str, int], material: Material, count: WeekCount) -> None:
    for size in material.sizes:
        if size.name in columns:
            row[columns[size.name]] = count.sheets.get(size.name, 0)
