"""The back-test: nothing of the future is seen, open orders count as booked then, the winner must win clearly."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from panewright.io.bench_order import shop_panels
from panewright.nesting.demand.book import BookedOrder, OrderBook
from panewright.nesting.demand.weeks import monday, week_of
from panewright.nesting.each import Inline
from panewright.nesting.forecast.back_test import (
    BLOCK,
    ORDERS_ONLY,
    SIMULATION,
    BackTest,
    back_test,
    origins_of,
)
from panewright.nesting.forecast.past_sheets import past_of, sheets_of
from panewright.nesting.forecast.rival_futures import by_choice, rival_futures
from panewright.nesting.forecast.simulate import simulate
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.rule import Contents

FIRST = week_of(date(2027, 1, 4))
WEEKS = 40
SERIES = ("clear-6 3210x2250", "clear-12 3660x2440")
AGAINST = ("last 52 weeks", "TSB")


class HalfSheets:
    """Rules of the tests: every panel takes half a sheet of its glass."""

    series = SERIES
    draws = 2

    def __init__(self, seen: Sequence[BookedOrder], counts: Sequence[WeekCount]) -> None:
        self.last = max((o.week for o in seen), default=0), max((c.week for c in counts), default=0)

    def contents(self, orders: Sequence[BookedOrder]) -> Contents:
        glasses = [name.partition(" ")[0] for name in SERIES]
        rows = [[sum(p.glass == g for p in o.panels) for g in glasses] for o in orders]
        return Contents(features=SERIES, values=np.array(rows, float).reshape(len(orders), 2))

    def sheets(self, sums: Any, uniform: Any) -> Any:
        return np.ceil(np.asarray(sums) / 2).astype(np.int32)


def order(week: int, number: int, glass: str, *, ahead: int = 10, panels: int = 2) -> BookedOrder:
    name = f"{week}-{glass}-{number}"
    day = monday(week) + timedelta(days=2)
    return BookedOrder(
        order=name,
        product=f"panel {glass}",
        booked=day - timedelta(days=ahead),
        due=day,
        cut=day,
        panels=shop_panels(name, [(900, 600)] * panels, glass=glass, thickness=int(glass[6:])),
    )


def counts_of(orders: Sequence[BookedOrder]) -> list[WeekCount]:
    rules = HalfSheets((), ())
    out = []
    for week in sorted({o.week for o in orders}):
        sums = rules.contents([o for o in orders if o.week == week]).values.sum(axis=0)
        for name, sheets in zip(SERIES, rules.sheets(sums, None).tolist()):
            out.append(WeekCount(week=week, glass=name.partition(" ")[0], sheets={name: sheets}))
    return out


def orders_of(weeks: int = WEEKS) -> list[BookedOrder]:
    """2 to 4 orders of thin glass a week, one of thick glass every other week."""
    out = []
    for week in range(FIRST, FIRST + weeks):
        out += [order(week, i, "clear-6", ahead=3 + 9 * (i % 2)) for i in range(2 + week * 7 % 3)]
        out += [order(week, 0, "clear-12")] if week % 2 else []
    return out


def book_of(orders: Sequence[BookedOrder], weeks: int = WEEKS) -> OrderBook:
    return OrderBook(today=monday(FIRST + weeks), orders=tuple(orders), first_week=FIRST)


def outcome(orders: Sequence[BookedOrder], executor: Executor | None = None, **more: Any) -> BackTest:
    options: dict[str, Any] = {"against": AGAINST, "futures": 40, "seed": 3} | more
    return back_test(book_of(orders), counts_of(orders), HalfSheets, executor=executor, **options)


@pytest.fixture(scope="module")
def plain() -> BackTest:
    return outcome(orders_of())


def test_shape_and_numbers(plain: BackTest) -> None:
    assert plain.methods == (SIMULATION, ORDERS_ONLY, *AGAINST)
    assert plain.series == SERIES and plain.glasses == ("clear-6", "clear-12")
    assert plain.origins == tuple(range(FIRST + 26, FIRST + WEEKS - 3))
    assert plain.losses.shape == (4, 11, 2, 2) and plain.whole and not plain.library
    took = sheets_of(counts_of(orders_of()), SERIES, range(plain.origins[0], plain.origins[0] + 4))
    assert plain.came[0].tolist() == [took[0].tolist(), took.sum(axis=0).tolist()]
    mean, error = plain.loss(SIMULATION, 4)
    assert mean == pytest.approx(sum(plain.loss(SIMULATION, 4, g)[0] for g in plain.glasses))
    assert 0 < error < mean
    assert 0.5 < plain.coverage(SIMULATION, 4, 0.95) <= 1


def test_a_jump_to_come_changes_no_forecast_before_it() -> None:
    """From the jump on there are six times as many orders. Whatever was told before it is the same, to the last bit."""
    jump = FIRST + 32
    usual = orders_of()
    more = [order(o.week, 100 + i, "clear-6", ahead=3) for o in usual if o.week >= jump for i in range(5)]
    before = [w for w in range(FIRST + 26, jump + 1) if w + 4 <= jump]
    assert len(before) == 3
    a, b = (outcome(orders, origins=before) for orders in (usual, [*usual, *more]))
    assert np.array_equal(a.losses, b.losses) and np.array_equal(a.held, b.held)
    # and the jump is seen once it is there
    after = [jump + 3]
    a, b = (outcome(orders, origins=after) for orders in (usual, [*usual, *more]))
    assert not np.array_equal(a.losses, b.losses)


def test_rules_are_fitted_on_earlier_weeks_alone() -> None:
    seen: list[tuple[int, int]] = []

    def fit(orders: Sequence[BookedOrder], counts: Sequence[WeekCount]) -> HalfSheets:
        rules = HalfSheets(orders, counts)
        seen.append(rules.last)
        return rules

    origins = [FIRST + 30, FIRST + 35]
    orders = orders_of()
    back_test(book_of(orders), counts_of(orders), fit, origins=origins, against=AGAINST, futures=10)
    assert seen == [(w - 1, w - 1) for w in origins]


def test_open_orders_count_as_booked_then() -> None:
    """Orders that were all booked long before make the forecast better; unknown booking days give nothing away."""
    early = [replace(o, booked=monday(o.week - 6)) for o in orders_of()]
    never = [replace(o, booked=None) for o in orders_of()]
    known = outcome(early, against=(), origins=range(FIRST + 30, FIRST + 34))
    assert known.loss(SIMULATION, 4)[0] < 0.6 * known.loss(ORDERS_ONLY, 4)[0]
    unknown = outcome(never, against=(), origins=[FIRST + 35])
    day = book_of(never).as_known(monday(FIRST + 35))
    assert not day.open and not simulate(day, HalfSheets((), ()), weeks=4, futures=5).known.any()
    assert len(unknown.origins) == 1


def test_same_answer_on_any_engine(plain: BackTest) -> None:
    for executor in (Inline(), ProcessPoolExecutor(2)):
        with executor:
            other = outcome(orders_of(), executor, origins=plain.origins[:5])
        assert np.array_equal(plain.losses[:, :5], other.losses)
        assert np.array_equal(plain.held[:, :5], other.held)


def test_an_interrupt_keeps_what_is_done(plain: BackTest) -> None:
    told: list[tuple[int, int]] = []

    def progress(done: int, of: int) -> None:
        told.append((done, of))
        if done == 3:
            raise KeyboardInterrupt

    found = outcome(orders_of(), progress=progress)
    assert not found.whole and 2 <= len(found.origins) <= 3
    assert np.array_equal(found.losses, plain.losses[:, : len(found.origins)])
    assert told == [(1, 11), (2, 11), (3, 11)]


def test_short_books() -> None:
    assert origins_of(book_of([], 20)) == ()
    found = outcome([], origins=())
    assert found.origins == () and found.chosen("clear-6") == SIMULATION
    shut = replace(book_of([]), shut=frozenset({FIRST + 30}))
    assert FIRST + 30 not in origins_of(shut) and FIRST + 29 in origins_of(shut)


def made(losses: dict[str, list[float]]) -> BackTest:
    table = np.array(list(losses.values()))[:, :, None, None]
    return BackTest(
        methods=tuple(losses),
        series=("clear-6 1x1",),
        glasses=("clear-6",),
        sums=(4,),
        origins=tuple(range(table.shape[1])),
        losses=table,
        held=np.ones((*table.shape[:3], 2, 1), bool),
        came=np.ones((table.shape[1], 1, 1), int),
        library=False,
    )


def test_only_a_clear_winner_replaces_the_simulation() -> None:
    blocks = [1.0, 3.0, 2.0, 2.0]
    simulation = [x for x in blocks for _ in range(BLOCK)]
    close = [x for x in (0.0, 4.0, 2.5, 1.0) for _ in range(BLOCK)]
    clear = [x - 0.5 for x in simulation]
    base = {SIMULATION: simulation, ORDERS_ONLY: [0.0] * 16}
    # better on average by 1/8, but with a standard error of about 0.5 of the difference
    assert made(base | {"SBA": close}).chosen() == SIMULATION
    found = made(base | {"SBA": close, "TSB": clear})
    assert found.gain("TSB") == (0.5, 0.0) and found.chosen("clear-6") == "TSB"
    # the simulation without open orders is there to be compared, never to be used
    assert made(base).chosen() == SIMULATION
    # with two blocks nobody can tell
    assert (
        made({name: row[: 2 * BLOCK] for name, row in (base | {"TSB": clear}).items()}).chosen() == SIMULATION
    )


def test_paths_of_a_rival_take_its_place() -> None:
    orders = orders_of()
    shut = frozenset({FIRST + WEEKS + 1})
    book = replace(book_of(orders), shut=shut)
    ahead = [replace(order(FIRST + WEEKS, 0, "clear-6", panels=40), booked=book.today, cut=None)]
    book = replace(book, orders=(*book.orders, *ahead))
    simulated = simulate(book, HalfSheets((), ()), weeks=4, futures=30, seed=1)
    past = past_of(book, counts_of(orders), SERIES, 4)
    told = rival_futures("last 52 weeks", past, simulated, shut=shut, seed=1)
    assert told.sheets.shape == simulated.sheets.shape and told.sheets.dtype == np.int32
    assert (told.sheets[:, 1] == 0).all(), "nothing is cut in a shut week"
    assert (told.sheets >= simulated.known).all() and (told.sheets[:, 0, 0] == 20).all()
    mixed = by_choice(
        simulated,
        ("clear-6", "clear-12"),
        {"clear-6": SIMULATION, "clear-12": "last 52 weeks"},
        past,
        shut=shut,
        seed=1,
    )
    assert np.array_equal(mixed.sheets[:, :, 0], simulated.sheets[:, :, 0])
    assert np.array_equal(mixed.sheets[:, :, 1], told.sheets[:, :, 1])
