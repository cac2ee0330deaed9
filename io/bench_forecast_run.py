"""One drawn shop through the bench: real plans of all its weeks, forecasts from every origin, and what became of them."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

import numpy as np

from panewright.io import kernel_cache, solver_banner
from panewright.io.bench_forecast_area import by_area
from panewright.io.bench_forecast_shops import (
    AHEAD,
    BANK,
    HISTORY,
    ORIGINS,
    DrawnShop,
    Law,
    Size,
    bank,
    drawn_shop,
    oracle,
    stream,
)
from panewright.io.bench_forecast_stock import COVER, SETTINGS, stocked
from panewright.io.bench_run import memory_peak
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.weeks import monday
from panewright.nesting.forecast.futures import quantile_of
from panewright.nesting.forecast.past_sheets import past_of, sheets_of
from panewright.nesting.forecast.rivals import ALL, FITTED, rivals
from panewright.nesting.forecast.scores import BANDS, held, loss
from panewright.nesting.forecast.simulate import prepare
from panewright.nesting.forecast.without_open import without_open
from panewright.nesting.week_sheets.contents import Measure
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.fit import fit_weeks, weeks_of
from panewright.nesting.week_sheets.material import Material, materials_of
from panewright.nesting.week_sheets.renest import renest
from panewright.nesting.week_sheets.rule import Contents, SheetRules

SUMS: Final = (1, 4, 8)
FUTURES: Final = 500
ORACLE: Final = "oracle"
SIMULATION: Final = "simulation"
WITH_OPEN: Final = "simulation, open orders"
_RIVALS: Final = 9
_GRID: Final = 41


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A shop that is wanted: law, size, seed; how long its history is, how many forecasts
    are made, against which rivals (None: all that can run here), and how many orders of a kind the oracle draws from."""

    law: Law
    size: Size
    seed: int
    history: int = HISTORY
    origins: int = ORIGINS
    futures: int = FUTURES
    against: tuple[str, ...] | None = None
    bank: int = BANK

    @property
    def name(self) -> str:
        """In one word."""
        return f"{self.law}-{self.size}-{self.seed}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopFound:
    """What came of a shop.

    Parameters
    ----------
    wish
        The shop.
    methods, series
        Names of the methods; of the stock sizes.
    losses
        Mean pinball losses, shape (methods, sums, series). [sheets]
    held
        Shares of 4-week sums in their bands, shape (methods, bands).
    service, stock
        Share of lead times over which the stock lasted, and mean stock on hand [m2], shape (methods, settings).
    lead_times
        How many there were.
    rule_error, rule_bias, rule_weeks
        Of the glass with one size, in the weeks after its rule was fitted: mean absolute and mean error [sheets], and weeks.
    sheets, panels
        A week.
    simulate_seconds
        CPU time of the futures of all 8 weeks and all glasses, the middle one of the origins. [s]
    seconds, nest_seconds
        CPU time in all, and of the real plans. [s]
    memory
        Most memory that its process has held, or None. [bytes]
    """

    wish: Wish
    methods: tuple[str, ...]
    series: tuple[str, ...]
    losses: Any
    held: Any
    service: Any
    stock: Any
    lead_times: int
    rule_error: float
    rule_bias: float
    rule_weeks: int
    sheets: float
    panels: float
    simulate_seconds: float
    seconds: float
    nest_seconds: float
    memory: int | None


def run_shop(wish: Wish) -> ShopFound:
    """Nest a shop's weeks and forecast it from every origin."""
    began = time.process_time()
    kernel_cache.prepare()
    solver_banner.hush()
    drawn = drawn_shop(wish.law, wish.size, wish.seed, history=wish.history, origins=wish.origins)
    materials = materials_of(drawn.shop, drawn.stock)
    counts = renest(drawn.book.orders, materials)
    nested = time.process_time() - began
    # what orders hold is the same for every origin; what is fitted is not
    measure = HeldContents(materials)
    fit = partial(fit_weeks, measure, weeks_of(drawn.book.orders, counts, measure))
    names = [p.name for p in drawn.stock]
    weeks = range(drawn.origins[0], drawn.origins[-1] + AHEAD)
    first = fit(before=drawn.origins[0])
    contents = [Measure(materials).contents(orders).values for orders in bank(drawn.demand.law, wish.bank)]
    told = [_forecasts(drawn, week, counts, contents, fit, wish) for week in drawn.origins]
    series = first.series
    took = sheets_of(counts, series, weeks)
    came = [np.stack([took[k : k + h].sum(axis=0) for h in SUMS]) for k in range(len(told))]
    methods = tuple(told[0].sums)
    area = np.array([p.width * p.height / 1e18 for p in (drawn.stock[names.index(s)] for s in series)])
    losses, bands, service, stock = [], [], [], []
    four = SUMS.index(COVER)
    for method in methods:
        mine = [t.sums[method] for t in told]
        losses.append(np.mean([[loss(s, c) for s, c in zip(m, w)] for m, w in zip(mine, came)], axis=0))
        bands.append([np.mean([held(m[four], w[four], b) for m, w in zip(mine, came)]) for b in BANDS])
        of = [stocked(np.stack([quantile_of(m[four], level) for m in mine]), took) for level in SETTINGS]
        service.append([lasted.mean() for lasted, _ in of])
        stock.append([(held_stock.mean(axis=0) * area).sum() for _, held_stock in of])
    rule_error, rule_bias, rule_weeks = _rule_errors(drawn, counts, first)
    return ShopFound(
        wish=wish,
        methods=methods,
        series=series,
        losses=np.array(losses),
        held=np.array(bands),
        service=np.array(service),
        stock=np.array(stock),
        lead_times=len(told) * len(series),
        rule_error=rule_error,
        rule_bias=rule_bias,
        rule_weeks=rule_weeks,
        sheets=float(sheets_of(counts, series, sorted({c.week for c in counts})).sum(axis=1).mean()),
        panels=sum(len(o.panels) for o in drawn.book.orders) / (wish.history + wish.origins - 1 + AHEAD),
        simulate_seconds=sorted(t.seconds for t in told)[len(told) // 2],
        seconds=time.process_time() - began,
        nest_seconds=nested,
        memory=memory_peak(),
    )


def _before(counts: Sequence[WeekCount], week: int) -> list[WeekCount]:
    return [c for c in counts if c.week < week]


class HeldContents(Measure):
    """Measures every order once: its name tells it from the others."""

    def __init__(self, materials: Mapping[str, Material]) -> None:
        super().__init__(materials)
        self._held: dict[str, Any] = {}

    def contents(self, orders: Sequence[BookedOrder]) -> Contents:
        """What these orders hold, a row an order."""
        new = [o for o in orders if o.order not in self._held]
        self._held |= {o.order: row for o, row in zip(new, super().contents(new).values)}
        rows = [self._held[o.order] for o in orders]
        return Contents(features=self.features, values=np.array(rows).reshape(len(rows), len(self.features)))


@dataclass(frozen=True, slots=True)
class _Told:
    """Sums of one origin, by method an array for each of `SUMS`."""

    sums: dict[str, list[Any]]
    seconds: float


def _forecasts(
    drawn: DrawnShop,
    week: int,
    counts: Sequence[WeekCount],
    contents: Sequence[Any],
    fit: Callable[..., SheetRules],
    wish: Wish,
) -> _Told:
    futures = wish.futures
    against = rivals() if wish.against is None else wish.against
    known, before = drawn.book.as_known(monday(week)), _before(counts, week)
    rules = fit(before=week)
    paths = {ORACLE: oracle(drawn, week, contents, rules.sheets, rules.draws, futures=futures)}
    began = time.process_time()
    ready = prepare(known, rules, weeks=AHEAD, seed=week)
    booked = ready.futures(futures).sheets
    seconds = time.process_time() - began
    paths |= {SIMULATION: without_open(ready).futures(futures).sheets, WITH_OPEN: booked}
    past = past_of(known, before, rules.series, AHEAD)
    for k, name in enumerate(against):
        paths[name] = ALL[name](past, futures, stream(drawn.seed, _RIVALS, week, k))
    if set(FITTED) <= set(against):
        pieces = {p.name: p for p in drawn.stock}
        ordered = [pieces[name] for name in rules.series]
        paths |= by_area(before, ordered, past, futures, lambda: stream(drawn.seed, _RIVALS, week, 99))
    sums = {name: [p[:, :h].sum(axis=1) for h in SUMS] for name, p in paths.items()}
    return _Told(sums, seconds)


def _rule_errors(
    drawn: DrawnShop, counts: Sequence[WeekCount], rules: SheetRules
) -> tuple[float, float, int]:
    """How far the rule of the first origin is off real plans of later weeks, for glasses of one size.

    The middle of its answers is held against the plan, and their mean for the bias.
    """
    glasses = [p.glass for p in drawn.stock]
    single = [p.name for p in drawn.stock if glasses.count(p.glass) == 1]
    weeks = sorted({o.week for o in drawn.book.orders if o.week >= drawn.origins[0]})
    took = sheets_of(counts, single, weeks)
    columns = [rules.series.index(name) for name in single]
    by_week = [[o for o in drawn.book.orders if o.week == w] for w in weeks]
    sums = np.stack([rules.contents(orders).values.sum(axis=0) for orders in by_week])
    uniform = ((np.arange(_GRID) + 0.5) / _GRID)[:, None, None] + np.zeros((1, len(weeks), rules.draws))
    found = rules.sheets(sums + np.zeros((_GRID, 1, 1)), uniform)[:, :, columns]
    error = np.abs(np.median(found, axis=0) - took).mean()
    return float(error), float((found.mean(axis=0) - took).mean()), took.size
