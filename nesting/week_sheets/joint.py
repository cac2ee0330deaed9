"""What planning several weeks together would save: the same orders nested week by week, and in windows.

The last sheet of a week is rarely full. In drawn shops planning two weeks together saved 6 to 14 % of the
glass in steady demand, more than any optimizer gains. It costs days: what is due first must not wait.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from fractions import Fraction

from ..demand.book import BookedOrder
from ..each import Progress, each
from .counts import WeekCount
from .kinds import kinds_of, panels_in
from .material import Material
from .nest import EFFORT
from .renest import Counts, WeekTask, nest_task, renest, weeks_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooling:
    """Windows of some weeks of one glass, apart and together.

    Parameters
    ----------
    glass
        Glass key.
    weeks
        Weeks of a window.
    windows
        How many were nested; the first week of each is in `firsts`.
    cost_apart, cost_together
        Of the sheets. [1/10,000 of the currency]
    area_apart, area_together
        Of the sheets. [nm2]
    cut
        Area of the cut outlines. [nm2]
    """

    glass: str
    weeks: int
    windows: int
    firsts: tuple[int, ...]
    cost_apart: int
    cost_together: int
    area_apart: int
    area_together: int
    cut: int

    @property
    def saved(self) -> Fraction:
        """Share of the cost that planning together would have saved."""
        return 1 - Fraction(self.cost_together, self.cost_apart) if self.cost_apart else Fraction(0)


def pooling(
    orders: Sequence[BookedOrder],
    materials: Mapping[str, Material],
    executor: Executor | None = None,
    *,
    weeks: int = 2,
    most: int = 26,
    effort: int = EFFORT,
    seed: int = 0,
    known: Counts | None = None,
    progress: Progress | None = None,
) -> list[Pooling]:
    """Nest windows of weeks together, and compare them with their weeks apart.

    Parameters
    ----------
    orders
        That were cut (`OrderBook.past`).
    materials
        Stock sizes and rules by glass.
    executor
        See `renest`.
    weeks
        Of a window; 2 or more. Windows do not overlap.
    most
        Windows of each glass, the latest ones.
    effort, seed
        Of every plan.
    known
        Counts of single weeks that are known already (see `renest`).
    progress
        Told of every window that is done.

    Returns
    -------
    list of Pooling
        One a glass, in order of the keys; glasses that are never cut are left out.
    """
    counts: Counts = {} if known is None else known
    tasks: list[WeekTask] = []
    firsts: dict[str, tuple[int, ...]] = {}
    wanted: set[int] = set()
    last = max((o.week for o in orders), default=0)
    for glass, material in sorted(materials.items()):
        held = weeks_in(orders, glass)
        # backwards from the last week, so that windows are the same in every glass
        starts = list(range(last - weeks + 1, min(held, default=last) - 1, -weeks))[:most]
        windows = {s: [o for w in range(s, s + weeks) for o in held.get(w, ())] for s in sorted(starts)}
        windows = {s: mine for s, mine in windows.items() if mine}
        if not windows:
            continue
        firsts[glass] = tuple(windows)
        names = [s.name for s in material.stock]
        for start, mine in windows.items():
            kinds = kinds_of(panels_in(mine, glass), names)
            tasks.append(WeekTask(glass, ((start, kinds),), material.stock, material.rules, effort, seed))
            wanted |= {o.week for o in mine}
    # whole weeks, with all their orders: what is counted of a week may be kept for others
    singles = [o for o in orders if o.week in wanted]
    renest(singles, materials, executor, effort=effort, seed=seed, known=counts)
    together: dict[str, list[WeekCount]] = {}
    for k, found in each(executor, nest_task, tasks, progress):
        together.setdefault(tasks[k].glass, []).extend(found)
    return [_compared(g, weeks, firsts[g], together[g], counts) for g in sorted(together)]


def _compared(
    glass: str, weeks: int, firsts: tuple[int, ...], together: Sequence[WeekCount], counts: Counts
) -> Pooling:
    apart = [counts[w, glass] for s in firsts for w in range(s, s + weeks) if (w, glass) in counts]
    return Pooling(
        glass=glass,
        weeks=weeks,
        windows=len(firsts),
        firsts=firsts,
        cost_apart=sum(c.cost for c in apart),
        # a plan of the window may be as its weeks apart, so that it never costs more
        cost_together=sum(min(c.cost, _sum(counts, glass, c.week, weeks)[0]) for c in together),
        area_apart=sum(c.sheet for c in apart),
        area_together=sum(
            c.sheet
            if c.cost <= _sum(counts, glass, c.week, weeks)[0]
            else _sum(counts, glass, c.week, weeks)[1]
            for c in together
        ),
        cut=sum(c.cut for c in together),
    )


def _sum(counts: Counts, glass: str, first: int, weeks: int) -> tuple[int, int]:
    """Cost and sheet area of a window's weeks apart."""
    mine = [counts[w, glass] for w in range(first, first + weeks) if (w, glass) in counts]
    return sum(c.cost for c in mine), sum(c.sheet for c in mine)
