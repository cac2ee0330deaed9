"""How well each method would have foretold the past: forecasts from earlier weeks, each from what was known then.

For every origin the book is taken as it stood on that Monday, rules and season are fitted on the weeks before it, and the sums of
the next weeks are held against what those weeks took. The simulation of orders is used unless another method has lost less by
more than one standard error; forecasts from neighbouring weeks overlap, so that errors are those of blocks of weeks.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..demand.book import BookedOrder, OrderBook
from ..demand.weeks import monday
from ..each import each
from ..week_sheets.counts import WeekCount
from ..week_sheets.rule import SheetRules
from .futures import Futures
from .past_sheets import past_of, sheets_of
from .rival_futures import rival_futures
from .rivals import ALL, FITTED, rivals
from .scores import BANDS, block_means, held, loss, standard_error
from .simulate import prepare
from .without_open import without_open

SIMULATION: Final = "simulation"
ORDERS_ONLY: Final = "simulation, no open orders"
METHODS: Final = (SIMULATION, ORDERS_ONLY, *ALL)
"""All names that a method may have; people read them through `tr`."""
SUMS: Final = (1, 4)
"""Weeks whose sums are foretold; the last of them chooses."""
LEAST_HISTORY: Final = 26
"""Weeks before the first origin."""
MOST_ORIGINS: Final = 26
BLOCK: Final = 4
LEAST_BLOCKS: Final = 3
"""With fewer blocks of origins nothing can be said against the simulation."""
TOGETHER: Final = 4
"""Origins of one task."""

Fit = Callable[[Sequence[BookedOrder], Sequence[WeekCount]], SheetRules]
"""Fits the rules on orders that were cut and on what their weeks took."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BackTest:
    """Losses of every method.

    Parameters
    ----------
    methods
        The simulation first, then the simulation without open orders, then the rivals.
    series, glasses
        Names of the stock sizes, and the glass of each.
    sums
        Weeks that were summed.
    origins
        First weeks of the forecasts that were made, rising.
    losses
        Pinball losses, float64 of shape (methods, origins, sums, series). [sheets]
    held
        Whether what came lay in the bands of 80 and 95 %, bool of shape (methods, origins, sums, bands, series).
    came
        Sheets that the weeks took, int64 of shape (origins, sums, series).
    library
        Whether the extra ``forecast`` was there; without it SES and AutoETS are not among the rivals.
    whole
        Whether all origins were done, not interrupted.
    """

    methods: tuple[str, ...]
    series: tuple[str, ...]
    glasses: tuple[str, ...]
    sums: tuple[int, ...]
    origins: tuple[int, ...]
    losses: Any
    held: Any
    came: Any
    library: bool
    whole: bool = True

    def places(self, glass: str | None = None) -> list[int]:
        """Indexes of the series of a glass, or of all."""
        return [s for s, g in enumerate(self.glasses) if glass in (None, g)]

    def _blocks(self, method: str, weeks: int, glass: str | None) -> Any:
        found = self.losses[self.methods.index(method), :, self.sums.index(weeks)]
        return block_means(found[:, self.places(glass)].sum(axis=1), BLOCK)

    def loss(self, method: str, weeks: int, glass: str | None = None) -> tuple[float, float]:
        """Mean loss of a sum of weeks, the series added, and its standard error. [sheets]

        Raises
        ------
        ValueError
            When there is no origin, no such method or no such sum.
        """
        blocks = self._blocks(method, weeks, glass)
        return float(blocks.mean()), float(standard_error(blocks))

    def coverage(self, method: str, weeks: int, band: float, glass: str | None = None) -> float:
        """Share of forecasts whose band held."""
        found = self.held[self.methods.index(method), :, self.sums.index(weeks), BANDS.index(band)]
        return float(found[:, self.places(glass)].mean())

    def gain(self, method: str, glass: str | None = None) -> tuple[float, float]:
        """By how much a method loses less than the simulation over the longest sum, and the standard error. [sheets]"""
        mine = self._blocks(SIMULATION, self.sums[-1], glass)
        other = self._blocks(method, self.sums[-1], glass)
        return float((mine - other).mean()), float(standard_error(mine - other))

    def chosen(self, glass: str | None = None) -> str:
        """The method to use for a glass: the simulation, unless one wins by more than a standard error."""
        best, most = SIMULATION, 0.0
        if len(self.origins) < BLOCK * LEAST_BLOCKS:
            return best
        for method in self.methods[2:]:
            gain, error = self.gain(method, glass)
            if gain > error and gain > most:
                best, most = method, gain
        return best


def origins_of(book: OrderBook, longest: int = SUMS[-1], most: int = MOST_ORIGINS) -> tuple[int, ...]:
    """First weeks from which the book can be foretold: enough weeks before them, and all that they foretell over."""
    last = book.this_week - longest
    first = max(book.first_week + LEAST_HISTORY, last - most + 1)
    return tuple(w for w in range(first, last + 1) if w not in book.shut)


def back_test(
    book: OrderBook,
    counts: Sequence[WeekCount],
    fit: Fit,
    *,
    sums: tuple[int, ...] = SUMS,
    origins: Sequence[int] | None = None,
    against: Sequence[str] | None = None,
    futures: int = 200,
    seed: int = 0,
    executor: Executor | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> BackTest:
    """Forecast every origin from what was known on its Monday, by every method.

    Parameters
    ----------
    book
        As it stands today.
    counts
        What its past weeks took by real plans, as they would be nested today.
    fit
        Fits rules; it sees orders and counts of weeks before the origin alone.
    sums
        Weeks that are summed, rising.
    origins
        First weeks of the forecasts; None for as many as the book allows.
    against
        Names of the rivals; None: all that can run here.
    futures
        Of each forecast; 200 tell bands well enough (excess loss under 1 %).
    seed
        Of all draws; every origin and method has a stream of its own.
    executor
        Does several origins at once; None: one after another. The answer is the same.
    progress
        Told how many origins are done, and of how many.

    Notes
    -----
    `KeyboardInterrupt` ends the test early: the origins that are done are kept, and `whole` is False.
    """
    wanted = tuple(origins_of(book, sums[-1]) if origins is None else origins)
    names = tuple(rivals() if against is None else against)
    test = _Test(book, tuple(counts), fit, sums, names, futures, seed)
    # a book is heavy: where it has to travel, it does so once for several origins
    together = 1 if executor is None else TOGETHER
    tasks = [(test, wanted[k : k + together]) for k in range(0, len(wanted), together)]
    done: dict[int, _Told] = {}
    whole = True

    def told(tasks_done: int, _: int) -> None:
        if progress is not None:
            progress(min(len(wanted), tasks_done * together), len(wanted))

    try:
        for _, found in each(executor, _foretell, tasks, told):
            done |= found
    except KeyboardInterrupt:
        whole = False
    return _together(test, done, whole)


@dataclass(frozen=True, slots=True)
class _Told:
    """One origin: series, and by method the losses (sums, series) and bands (sums, bands, series)."""

    series: tuple[str, ...]
    losses: dict[str, Any]
    held: dict[str, Any]
    came: Any


@dataclass(frozen=True, slots=True)
class _Test:
    """What all origins share."""

    book: OrderBook
    counts: tuple[WeekCount, ...]
    fit: Fit
    sums: tuple[int, ...]
    against: tuple[str, ...]
    futures: int
    seed: int


def _foretell(task: tuple[_Test, Sequence[int]]) -> dict[int, _Told]:
    test, origins = task
    return {week: _origin(test, week) for week in origins}


def _origin(test: _Test, week: int) -> _Told:
    sums, futures, seed = test.sums, test.futures, test.seed
    known = test.book.as_known(monday(week))
    before = [c for c in test.counts if c.week < week]
    rules = test.fit(known.past, before)
    longest = sums[-1]
    ready = prepare(known, rules, weeks=longest, seed=seed)
    told: dict[str, Futures] = {
        SIMULATION: ready.futures(futures),
        ORDERS_ONLY: without_open(ready).futures(futures),
    }
    past = past_of(known, before, rules.series, longest)
    for name in test.against:
        told[name] = rival_futures(name, past, told[SIMULATION], shut=known.shut, seed=seed)
    took = sheets_of(test.counts, rules.series, range(week, week + longest))
    came = np.stack([took[:h].sum(axis=0) for h in sums])
    return _Told(
        series=rules.series,
        losses={
            name: np.stack([loss(f.summed(h), came[i]) for i, h in enumerate(sums)])
            for name, f in told.items()
        },
        held={
            name: np.stack(
                [np.stack([held(f.summed(h), came[i], b) for b in BANDS]) for i, h in enumerate(sums)]
            )
            for name, f in told.items()
        },
        came=came,
    )


def _together(test: _Test, done: dict[int, _Told], whole: bool) -> BackTest:
    origins = tuple(sorted(done))
    methods = (SIMULATION, ORDERS_ONLY, *test.against)
    told = [done[week] for week in origins]
    series = told[0].series if told else test.fit(test.book.past, test.counts).series
    shape = (len(methods), len(told), len(test.sums))
    losses, held_ = np.zeros((*shape, len(series))), np.zeros((*shape, len(BANDS), len(series)), bool)
    came = np.zeros((*shape[1:], len(series)), np.int64)
    for k, one in enumerate(told):
        came[k] = one.came
        for m, method in enumerate(methods):
            losses[m, k], held_[m, k] = one.losses[method], one.held[method]
    return BackTest(
        methods=methods,
        series=series,
        glasses=tuple(name.rpartition(" ")[0] for name in series),
        sums=test.sums,
        origins=origins,
        losses=losses,
        held=held_,
        came=came,
        library=set(FITTED) <= set(test.against),
        whole=whole,
    )
