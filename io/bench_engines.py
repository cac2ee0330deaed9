"""The order history of a drawn small shop nested again on several engines: speed-up, overhead, sameness."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from time import perf_counter
from typing import Any, Final

import numpy as np

from panewright.io.bench_draw import Draw
from panewright.io.engines import NoEngine, engine
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.weeks import monday, week_of
from panewright.nesting.each import gathered
from panewright.nesting.outlines import Outline, rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr
from panewright.nesting.units import mm
from panewright.nesting.week_sheets.contents import Measure
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.fit import fit_weeks, weeks_of
from panewright.nesting.week_sheets.material import Material, materials_of
from panewright.nesting.week_sheets.renest import renest

WEEKS: Final = 104
FIRST: Final = week_of(date(2027, 1, 4))
SIZES: Final = (
    ("clear-6", 3210, 2250),
    ("clear-10", 3210, 2250),
    ("clear-12", 2440, 1830),
    ("clear-12", 3660, 2440),
)
"""Stock of the drawn shop: the larger sheet of 12 mm is dearer, and forced for what is longer than the other."""
DEARER: Final = (100, 100, 100, 110)
"""Price per area. [%]"""
TASK_SECONDS: Final = 0.5
TASKS: Final = 24
FUTURES: Final = (500, 8)


# ------------------------------------------------------------------------------------------ the drawn shop


def drawn_materials(shop: Shop) -> dict[str, Material]:
    """Stock and rules of the drawn shop."""
    pieces = [
        StockPiece(
            name=f"{glass} {w}x{h}",
            glass=glass,
            width=mm(w),
            height=mm(h),
            trim=shop.trim(glass),
            cost=w * h * dearer // 100,
            buyable=True,
        )
        for (glass, w, h), dearer in zip(SIZES, DEARER, strict=True)
    ]
    return materials_of(shop, pieces)


def drawn_orders(weeks: int, seed: int) -> list[BookedOrder]:
    """Some eleven orders a week: small tanks of 6 mm, octagons of 10, long tanks of 12, and single panels."""
    found: list[BookedOrder] = []
    for week in range(weeks):
        draw = Draw(seed, week)
        for product, chance, of in (
            ("tank", 50, 8),
            ("long tank", 40, 4),
            ("octagon", 40, 2),
            ("panel", 50, 8),
        ):
            for _ in range(sum(draw.below(100) < chance for _ in range(of))):
                found.append(_order(draw, product, week, len(found)))
    return found


def _order(draw: Draw, product: str, week: int, number: int) -> BookedOrder:
    def tens(low: int, high: int) -> int:
        return mm(10 * draw.between(low, high))

    sides: list[tuple[str, Outline]] = []
    if product == "octagon":
        across, high = tens(50, 100), tens(40, 70)
        corner = across * 29 // 100
        sides = [("clear-10", rectangle(across - 2 * corner, high))] * 8
        a, b = across, across - corner
        base = ((corner, 0), (b, 0), (a, corner), (a, b), (b, a), (corner, a), (0, b), (0, corner))
        sides.append(("clear-10", base))
    elif product == "panel":
        glass = ("clear-6", "clear-10", "clear-12")[draw.below(3)]
        sides = [(glass, rectangle(tens(30, 150), tens(20, 80)))] * draw.between(1, 3)
    else:
        glass, low, high = ("clear-6", 40, 120) if product == "tank" else ("clear-12", 100, 290)
        deep = (25, 50) if product == "tank" else (50, 80)
        long, wide, tall = tens(low, high), tens(*deep), tens(*deep)
        walls = [rectangle(long, tall)] * 2 + [rectangle(wide, tall)] * 2 + [rectangle(long, wide)]
        sides = [(glass, wall) for wall in walls]
    day = monday(FIRST + week)
    name = f"{week:03d}-{number:05d}"
    return BookedOrder(
        order=name,
        product=product,
        booked=day - timedelta(draw.between(3, 30)),
        due=day,
        cut=day,
        panels=tuple(_panel(f"{name}/{k}", name, glass, outline) for k, (glass, outline) in enumerate(sides)),
    )


def _panel(name: str, order: str, glass: str, outline: Outline) -> Panel:
    return Panel(
        id=name,
        order=order,
        name=name,
        glass=glass,
        thickness=mm(glass.rsplit("-", 1)[1]),
        finished=outline,
        cut=outline,
        edges=(),
        mirror=True,
    )


# -------------------------------------------------------------------------------------------- measurements


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineRun:
    """One engine on the whole history, and on tasks of half a second.

    Parameters
    ----------
    name, workers
        Of the engine.
    start
        Until its workers had each done a first week. [s]
    seconds
        Of the history, the start not counted in. [s]
    overhead
        Of the tasks of half a second, over their own time shared out evenly; None: not measured.
    """

    name: str
    workers: int
    start: float
    seconds: float
    overhead: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineReport:
    """What was measured; `missing` says why there was no cluster.

    Parameters
    ----------
    weeks, nests, panels
        Of the history.
    runs
        Engine by engine, one worker first.
    same
        Whether all counts were the same.
    measure, fit, futures
        To measure the history, to fit its rules, and to turn `FUTURES` into sheets. [s]
    tried
        Weeks times futures of the last.
    """

    weeks: int
    nests: int
    panels: int
    runs: tuple[EngineRun, ...]
    same: bool
    measure: float
    fit: float
    futures: float
    tried: int
    missing: str = ""


def busy(seconds: float) -> float:
    """Work for so long; the seconds that it took."""
    began = perf_counter()
    while perf_counter() - began < seconds:
        pass
    return perf_counter() - began


def _overhead(executor: Executor, workers: int) -> float:
    """How much longer than their own time, shared out evenly, tasks of half a second take."""
    began = perf_counter()
    spent = gathered(executor, busy, [TASK_SECONDS] * TASKS)
    return (perf_counter() - began) * workers / sum(spent) - 1


@contextmanager
def loopback_cluster(workers: int) -> Iterator[str]:
    """A Dask cluster of processes on the loopback, without its web page; the address of its scheduler."""
    try:
        from distributed import LocalCluster
    except ImportError:
        raise NoEngine(
            tr("a cluster needs Dask, which is not installed here"),
            tr('install it with: pip install "panewright[cluster]"'),
        ) from None
    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=workers,
        threads_per_worker=1,
        host="127.0.0.1",
        dashboard_address=None,
        silence_logs=50,
    ) as cluster:
        yield str(cluster.scheduler_address)


def measured(
    shop: Shop, weeks: int, seed: int, *, workers: int = 2, told: Callable[[str], None] = lambda _: None
) -> EngineReport:
    """Nest a drawn history again with one worker, several, and on a cluster of as many."""
    materials = drawn_materials(shop)
    orders = drawn_orders(weeks, seed)
    first = [o for o in orders if o.week < FIRST + 2 * workers]
    run = partial(_run, orders, first, materials)
    runs: list[EngineRun] = []
    results: list[list[WeekCount]] = []
    missing = ""
    for name, number in ((tr("this process"), 1), (tr("processes"), workers)):
        told(name)
        with engine(number) as executor:
            one, counts = run(executor, name, number)
        runs.append(one)
        results.append(counts)
    try:
        told("Dask")
        with loopback_cluster(workers) as address, engine(cluster=address) as executor:
            one, counts = run(executor, "Dask", workers)
        runs.append(one)
        results.append(counts)
    except NoEngine as error:
        missing = str(error)
    began = perf_counter()
    measure = Measure(materials)
    table = weeks_of(orders, results[0], measure)
    at_table = perf_counter()
    rules = fit_weeks(measure, table)
    fitted = perf_counter()
    sums, uniform = _futures(measure.contents(orders).values, seed, rules.draws)
    at_futures = perf_counter()
    rules.sheets(sums, uniform)
    return EngineReport(
        weeks=weeks,
        nests=len(results[0]),
        panels=sum(len(o.panels) for o in orders),
        runs=tuple(runs),
        same=all(r == results[0] for r in results),
        measure=at_table - began,
        fit=fitted - at_table,
        futures=perf_counter() - at_futures,
        tried=FUTURES[0] * FUTURES[1],
        missing=missing,
    )


def _run(
    orders: Sequence[BookedOrder],
    first: Sequence[BookedOrder],
    materials: dict[str, Material],
    executor: Executor,
    name: str,
    workers: int,
) -> tuple[EngineRun, list[WeekCount]]:
    began = perf_counter()
    renest(first, materials, executor)
    start = perf_counter() - began
    began = perf_counter()
    counts = renest(orders, materials, executor)
    seconds = perf_counter() - began
    overhead = _overhead(executor, workers) if workers > 1 else None
    return EngineRun(name=name, workers=workers, start=start, seconds=seconds, overhead=overhead), counts


def _futures(values: Any, seed: int, draws: int) -> tuple[Any, Any]:
    """Weeks of eleven orders drawn from the history, and their uniform numbers."""
    rng = np.random.Generator(np.random.Philox(seed))
    picked = rng.integers(0, len(values), (*FUTURES, 11))
    return values[picked].sum(axis=2), rng.random((*FUTURES, draws))
