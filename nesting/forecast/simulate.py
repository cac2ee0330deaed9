"""Futures of the order book in whole sheets: orders drawn by their law, turned to sheets by the rules of the shop.

Every future has random streams of its own, so that any part of the futures can be drawn anywhere and is the
same.
"""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..demand.book import BookedOrder, OrderBook
from ..demand.model import DemandModel, demand_of
from ..each import Progress, gathered
from ..week_sheets.rule import SheetRules
from .draws import Law, draw_contents, draw_counts, summed
from .futures import Futures
from .streams import SHEETS, stream

CHUNK: Final = 50
"""Futures that are drawn together; what comes of them does not depend on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """All that a worker needs to draw futures.

    Parameters
    ----------
    law
        Of the orders.
    past, open
        Values of past and of open orders (see `Contents`), shape (orders, features).
    rules
        From sums of values to sheets.
    seed
        Of all streams.
    """

    law: Law
    past: Any
    open: Any
    rules: SheetRules
    seed: int

    def sheets(self, futures: range) -> Any:
        """Sheets of these futures, int32 of shape (futures, weeks, series)."""
        weeks = self.law.shape[0]
        uniform = [stream(self.seed, SHEETS, f).random((weeks, self.rules.draws)) for f in futures]
        draws = np.array(uniform).reshape(len(futures), weeks, self.rules.draws)
        return self.rules.sheets(self.sums(futures), draws)

    def sums(self, futures: range) -> Any:
        """What the orders of these futures hold, shape (futures, weeks, features)."""
        weeks = self.law.shape[0]
        counts = draw_counts(self.law, self.seed, futures)
        picks = draw_contents(self.law.pools, counts.rest, self.seed, futures)
        sums = summed(picks, self.past, len(futures) * weeks).reshape(len(futures), weeks, -1)
        return sums + self._open_sums(counts.kept)

    def known(self) -> Any:
        """Sheets that the open orders alone take, int32 of shape (weeks, series)."""
        sums = self._open_sums(np.ones((1, len(self.law.week)), dtype=bool))[0]
        return self.rules.sheets(sums, np.full((len(sums), self.rules.draws), 0.5))

    def _open_sums(self, kept: Any) -> Any:
        futures, weeks = len(kept), self.law.shape[0]
        cells = np.arange(futures)[:, None] * weeks + self.law.week[None, :]
        out = np.zeros((futures, weeks, self.open.shape[1]))
        for f in range(out.shape[2]):
            weights = (kept * self.open[:, f]).ravel()
            out[:, :, f] = np.bincount(cells.ravel(), weights=weights, minlength=futures * weeks).reshape(
                futures, weeks
            )
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulation:
    """A forecast that can be drawn from: whole, in parts, and order by order."""

    model: DemandModel
    drawing: Drawing

    def futures(
        self,
        number: int = 500,
        *,
        executor: Executor | None = None,
        chunk: int = CHUNK,
        progress: Progress | None = None,
    ) -> Futures:
        """So many futures, on any executor.

        Raises
        ------
        KeyboardInterrupt
            When it is interrupted.
        """
        parts = [range(a, min(number, a + chunk)) for a in range(0, number, chunk)]
        drawn = gathered(executor, self.drawing.sheets, parts, progress)
        series = self.drawing.rules.series
        none = np.zeros((0, self.model.weeks, len(series)), dtype=np.int32)
        return Futures(
            first=self.model.first,
            series=series,
            sheets=np.concatenate([none, *drawn]),
            known=self.drawing.known(),
        )

    def drawn_weeks(self, future: int) -> list[tuple[BookedOrder, ...]]:
        """The orders of every week of a future: first the open ones that are not called off, then those drawn."""
        law, seed = self.drawing.law, self.drawing.seed
        one = range(future, future + 1)
        counts = draw_counts(law, seed, one)
        picks = draw_contents(law.pools, counts.rest, seed, one)
        found: list[list[BookedOrder]] = [[] for _ in range(self.model.weeks)]
        for k in np.flatnonzero(counts.kept[0]).tolist():
            found[int(law.week[k])].append(self.model.open.orders[k])
        for week, k in zip(picks.cell.tolist(), picks.order.tolist(), strict=True):
            found[week].append(self.model.past_orders[k])
        return [tuple(week) for week in found]

    def drawn_orders(self, future: int, week: int) -> tuple[BookedOrder, ...]:
        """The orders of one week of a future, both counted from 0 (see `drawn_weeks`)."""
        return self.drawn_weeks(future)[week]


def prepare(
    book: OrderBook,
    rules: SheetRules,
    *,
    weeks: int = 8,
    seed: int = 0,
    use_open: bool = True,
    half_life: float | None = None,
) -> Simulation:
    """Learn the law of the demand, and make all ready to draw.

    Parameters
    ----------
    book
        What is known on the day of the look (see `OrderBook.as_known`).
    rules
        From orders to whole sheets.
    weeks
        Weeks of a future, the week of the day of the look included: of that, what is still to be cut.
    seed
        Same seed, same futures.
    use_open
        Let the open orders enter; without them a future is the whole demand of its weeks.
    half_life
        Weeks after which a past order is drawn half as often; None: all alike.
    """
    model = demand_of(book, weeks=weeks, use_open=use_open, half_life=half_life)
    return Simulation(
        model=model,
        drawing=Drawing(
            law=Law.of(model),
            past=_values(rules, model.past_orders),
            open=_values(rules, model.open.orders),
            rules=rules,
            seed=seed,
        ),
    )


def _values(rules: SheetRules, orders: tuple[BookedOrder, ...]) -> Any:
    found = rules.contents(orders)
    return np.asarray(found.values, dtype=np.float64).reshape(len(orders), len(found.features))


def simulate(
    book: OrderBook,
    rules: SheetRules,
    *,
    weeks: int = 8,
    futures: int = 500,
    seed: int = 0,
    use_open: bool = True,
    half_life: float | None = None,
    executor: Executor | None = None,
    chunk: int = CHUNK,
    progress: Progress | None = None,
) -> Futures:
    """Simulate the coming weeks (see `prepare` and `Simulation.futures`)."""
    ready = prepare(book, rules, weeks=weeks, seed=seed, use_open=use_open, half_life=half_life)
    return ready.futures(futures, executor=executor, chunk=chunk, progress=progress)
