"""Futures of the order book: nothing counts twice, nothing is known before its time, any engine draws the same."""

from __future__ import annotations

import pickle
from concurrent.futures import BrokenExecutor, Executor, Future, ThreadPoolExecutor
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.demand.book import BookedOrder, OrderBook
from panewright.nesting.demand.content import Pools
from panewright.nesting.demand.levels import DRIFT, POINTS
from panewright.nesting.demand.weeks import monday, week_of
from panewright.nesting.forecast import draws as draws_module
from panewright.nesting.forecast.draws import Law, draw_counts
from panewright.nesting.forecast.nested import Cell, open_cells, with_nests
from panewright.nesting.forecast.simulate import prepare, simulate
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.rules import Rules
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import mm
from panewright.nesting.week_sheets.material import Material
from panewright.nesting.week_sheets.nest import nest_week
from panewright.nesting.week_sheets.rule import Contents

FIRST = week_of(date(2025, 1, 6))
WEEKS = 40
SIZE = "clear-6 3210x2250"
STOCK = StockPiece(name=SIZE, glass="clear-6", width=mm(3210), height=mm(2250), cost=700_000, buyable=True)
MATERIALS = {
    "clear-6": Material(
        glass="clear-6",
        stock=(STOCK,),
        rules=Rules(break_out=mm(30), corner_depth=mm(25), least_angle=30_000),
    )
}


class ByArea:
    """Sheets by the area alone."""

    series = (SIZE,)
    draws = 1

    def contents(self, orders):
        area = [[sum(p.cut_area2 for p in o.panels) / 2e18, float(len(o.panels))] for o in orders]
        return Contents(features=("area", "panels"), values=np.array(area).reshape(-1, 2))

    def sheets(self, sums, uniform):
        area = np.asarray(sums)[..., :1]
        return ((area > 0) * np.ceil(area / 6 + 0.2 * uniform)).astype(np.int32)


def panels(name, count, long, short):
    outline = rectangle(mm(long), mm(short))
    return tuple(
        Panel(
            id=f"{name}/{i}",
            order=name,
            name=str(i),
            glass="clear-6",
            thickness=mm(6),
            finished=outline,
            cut=outline,
            edges=(),
        )
        for i in range(count)
    )


def drawn_book(seed=1, today_in=0, called_off=False):
    """Four orders a week of two products, half of them booked two weeks ahead; a book that knows all."""
    rng = np.random.default_rng(seed)
    orders = []
    for week in range(WEEKS + 8):
        start = monday(FIRST + week)
        for i in range(int(rng.poisson(4))):
            name = f"{week}-{i}"
            day = start + timedelta(days=int(rng.integers(5)))
            lead = int(rng.choice([17, 10, -int((day - start).days)]))
            gone = called_off and rng.random() < 0.1 and lead > 0
            orders.append(
                BookedOrder(
                    order=name,
                    product=("tank", "shelf")[i % 2],
                    booked=start - timedelta(days=lead),
                    due=day,
                    cut=None if gone else day,
                    cancelled=start - timedelta(days=3) if gone else None,
                    panels=panels(name, 1 + int(rng.integers(4)), 5 * int(rng.integers(60, 240)), 400),
                )
            )
    all_of = OrderBook(today=monday(FIRST + WEEKS + 8), orders=tuple(orders), first_week=FIRST)
    return all_of.as_known(monday(FIRST + WEEKS) + timedelta(days=today_in)), all_of


@pytest.fixture(scope="module")
def ready():
    return prepare(drawn_book()[0], ByArea(), seed=7)


def test_same_seed_same_futures_in_any_parts_and_on_any_engine(ready):
    whole = ready.futures(60)
    assert whole.sheets.dtype == np.int32 and whole.sheets.shape == (60, 8, 1)
    for chunk in (1, 7, 1000):
        assert (ready.futures(60, chunk=chunk).sheets == whole.sheets).all()
    with ThreadPoolExecutor(3) as pool:
        assert (ready.futures(60, executor=pool, chunk=5).sheets == whole.sheets).all()
    elsewhere = pickle.loads(pickle.dumps(ready.drawing))
    assert (elsewhere.sheets(range(30, 60)) == whole.sheets[30:]).all()
    assert (ready.futures(20).sheets == whole.sheets[:20]).all()
    assert not (
        replace(ready, drawing=replace(ready.drawing, seed=8)).futures(60).sheets == whole.sheets
    ).all()


def test_open_orders_are_in_every_future_and_nothing_twice(ready):
    known = drawn_book()[0]
    by_week = {}
    for o in known.open:
        by_week.setdefault(max(0, o.week - known.this_week), set()).add(o.order)
    assert sum(map(len, by_week.values())) == 8
    cut = {o.order for o in known.past}
    for future in range(12):
        weeks = ready.drawn_weeks(future)
        for week in range(8):
            names = [o.order for o in weeks[week]]
            first = by_week.get(week, set())
            assert set(names[: len(first)]) == first
            assert set(names[len(first) :]) <= cut
    total = np.array([sum(map(len, ready.drawn_weeks(f))) for f in range(150)])
    # four a week: with the open ones on top of the whole demand there would be a third more
    assert total.mean() == pytest.approx(4 * 8, rel=0.15)


def test_drawn_orders_are_what_the_sheets_come_from(ready):
    sums = ready.drawing.sums(range(5, 9))
    for i, future in enumerate(range(5, 9)):
        for week in range(8):
            there = ready.drawn_orders(future, week)
            assert sums[i, week] == pytest.approx(ByArea().contents(there).values.sum(axis=0))


@settings(max_examples=4, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 6))
def test_nothing_is_known_before_its_time(seed, today_in):
    """Whatever comes after the day of the look changes nothing: orders, days of cutting, orders called off."""
    day = monday(FIRST + WEEKS) + timedelta(days=today_in)
    _, all_of = drawn_book(called_off=True)
    rng = np.random.default_rng(seed)
    changed = []
    for o in all_of.orders:
        if o.booked > day:
            if rng.random() < 0.5:
                continue
            o = replace(o, panels=o.panels * 30, product="new")
        elif o.cut is not None and o.cut >= day:
            o = replace(o, cut=o.cut + timedelta(days=int(rng.integers(30))))
            if rng.random() < 0.3:
                o = replace(o, cut=None, cancelled=day + timedelta(days=1 + int(rng.integers(9))))
        changed.append(o)
    jump = [
        replace(
            all_of.orders[0],
            order=f"j{i}",
            booked=day + timedelta(days=1),
            due=day,
            cut=day + timedelta(days=2),
        )
        for i in range(50)
    ]
    a = prepare(all_of.as_known(day), ByArea())
    b = prepare(replace(all_of, orders=(*changed, *jump)).as_known(day), ByArea())
    assert (a.futures(8).sheets == b.futures(8).sheets).all()
    assert (a.drawing.sums(range(8)) == b.drawing.sums(range(8))).all()


def law(mean, shape, busy, known, booked):
    """One product whose level is sure."""
    at = POINTS // 2
    cells = np.zeros((1, len(DRIFT) * POINTS))
    cells[0, at:] = 1.0
    week = np.repeat(np.arange(len(booked)), booked)
    n = len(week)
    return Law(
        cells=cells, middle=np.array([mean]), step=np.array([1e-9]), shapes=np.array([[shape]]),
        busy=np.array([[busy]]), exposure=np.ones((len(booked), 1)), known=np.array(known)[:, None],
        week=week, product=np.zeros(n, np.int64), stays=np.ones(n), expected=np.ones(n, bool),
        begun=np.zeros(1, np.int64),
        pools=Pools(np.zeros(1, np.int64), np.ones(1), np.array([0, 1])),
    )  # fmt: skip


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.integers(0, 40), min_size=1, max_size=8),
    st.sampled_from((0.6, 5.0, 1e4)),
    st.sampled_from((1.0, 0.3)),
)
def test_a_week_that_is_booked_up_gets_no_more(booked, shape, busy):
    rest = draw_counts(law(20.0, shape, busy, [1.0] * len(booked), booked), 3, range(20)).rest
    assert (rest == 0).all()


@pytest.mark.parametrize(("shape", "busy"), [(3.0, 1.0), (2.0, 0.4)])
def test_booked_and_unbooked_orders_add_up_to_the_demand(monkeypatch, shape, busy):
    """Mean and variance of the whole are those of the law, whatever is booked (laws of total expectation and
    variance; negative binomial mean m, variance m + m^2 / shape: any textbook)."""
    monkeypatch.setattr(draws_module, "AHEAD", 0.0)
    rng = np.random.default_rng(11)
    mean, known, looks = 6.0, [0.9, 0.5, 0.2, 0.0], 1200
    whole = np.zeros((looks, 4))
    for look in range(looks):
        level = mean / busy * rng.gamma(shape, 1 / shape, 4) * (rng.random(4) < busy)
        booked = rng.poisson(level * known)
        rest = draw_counts(law(mean, shape, busy, known, booked.tolist()), look, range(1)).rest
        whole[look] = booked + rest[0, :, 0]
    m = mean / busy
    variance = busy * (m + m * m * (1 + 1 / shape)) - mean**2
    assert whole.mean(axis=0) == pytest.approx([mean] * 4, abs=4 * (variance / looks) ** 0.5)
    assert whole.var(axis=0) == pytest.approx([variance] * 4, rel=0.3)


def test_the_chance_of_a_silent_week_is_that_of_bayes():
    """A week without booked orders brings one with P(busy | none booked), counted by hand."""
    shape, busy, mean, known = 2.0, 0.4, 6.0, 0.5
    rest = draw_counts(law(mean, shape, busy, [known] * 8, [0] * 8), 5, range(800)).rest.ravel()
    none = busy * (1 + mean / busy * known / shape) ** -shape
    comes = none / (none + 1 - busy)
    m = mean / busy * (1 - known)
    # the noise told by the silence: Gamma(shape, shape + told), so negative binomial with this chance of none
    stays = ((shape + mean / busy * known) / (shape + mean / busy * known + m)) ** shape
    assert (rest == 0).mean() == pytest.approx(1 - comes * (1 - stays), abs=0.02)


def test_of_a_week_partly_over_only_the_rest_is_drawn():
    known, _ = drawn_book(today_in=4)
    begun = [o for o in known.orders if o.cut is not None and o.week == known.this_week]
    assert begun
    ready = prepare(known, ByArea())
    assert ready.model.open.begun.sum() == len(begun)
    assert (ready.model.known[0] > prepare(drawn_book()[0], ByArea()).model.known[0]).all()
    drawn = {o.order for f in range(20) for o in ready.drawn_orders(f, 0)}
    assert not drawn & {o.order for o in begun}


def test_shut_weeks_take_nothing_and_their_open_orders_come_before():
    known, _ = drawn_book()
    week = known.this_week + 2
    ready = prepare(replace(known, shut=frozenset({week})), ByArea())
    due = {o.order for o in known.open if o.week == week}
    assert due
    assert (ready.drawing.sums(range(30))[:, 2] == 0).all()
    assert due <= {o.order for o in ready.drawn_orders(0, 1)}


def test_called_off_orders_thin_the_open_ones():
    known, _ = drawn_book(called_off=True)
    ready = prepare(known, ByArea())
    kept = draw_counts(ready.drawing.law, 0, range(400)).kept
    assert 0.8 < ready.drawing.law.stays.min() < 1
    assert kept.mean(axis=0) == pytest.approx(ready.drawing.law.stays, abs=0.07)


def test_no_history_leaves_the_open_orders_alone_and_no_order_nothing():
    known, _ = drawn_book()
    alone = replace(known, orders=known.open)
    found = simulate(alone, ByArea(), futures=5)
    assert (found.sheets >= found.known - 1).all() and found.known.sum() > 0
    assert simulate(replace(known, orders=()), ByArea(), futures=3).sheets.sum() == 0
    assert simulate(replace(known, orders=()), ByArea(), futures=0).sheets.shape == (0, 8, 1)


def test_without_the_open_orders_nothing_is_known(ready):
    found = simulate(drawn_book()[0], ByArea(), futures=40, use_open=False)
    assert found.known.sum() == 0
    assert found.sheets[:, 0].std() > ready.futures(40).sheets[:, 0].std()


def test_real_plans_replace_the_rule(ready):
    futures = ready.futures(4)
    cells = [Cell(0, f, "clear-6") for f in range(3)]
    found = with_nests(ready, futures, MATERIALS, cells, effort=2)
    assert (found.cells, found.wanted, found.interrupted) == (3, 3, False)
    for f in range(3):
        plan = nest_week(ready.drawn_orders(f, 0), "clear-6", (STOCK,), MATERIALS["clear-6"].rules, effort=2)
        assert found.futures.sheets[f, 0, 0] == plan.sheets.get(SIZE, 0)
    assert (found.futures.sheets[:, 1:] == futures.sheets[:, 1:]).all()
    assert (found.futures.sheets[3] == futures.sheets[3]).all()
    one = with_nests(ready, futures, MATERIALS, cells, effort=2, most=1)
    assert one.plans == 1 and 1 <= one.cells <= 3


def test_beyond_the_most_plans_weeks_take_after_the_nearest_in_area(ready, monkeypatch):
    monkeypatch.setattr("panewright.nesting.forecast.nested.ENOUGH", 2)
    futures = ready.futures(5)
    cells = [Cell(2, f, "clear-6") for f in range(5)]
    areas = {"clear-6": np.array([[0, 0, a] for a in (10.0, 20.0, 19.0, 12.0, 15.0)])}
    part = with_nests(ready, futures, MATERIALS, cells[:2], effort=1)
    found = with_nests(ready, futures, MATERIALS, cells, effort=1, most=2, areas=areas)
    if part.plans < 2:
        pytest.skip("both weeks hold the same panels")
    assert found.plans == 2
    assert found.futures.sheets[:, 2, 0].tolist() == part.futures.sheets[[0, 1, 1, 0, 0], 2, 0].tolist()


class Lost(Executor):
    """Does some tasks; then it is interrupted, or its workers are gone."""

    def __init__(self, left, error):
        self.left, self.error = left, error

    def submit(self, fn, /, *args, **kwargs):
        future = Future()
        if self.left == 0 and self.error is KeyboardInterrupt:
            raise KeyboardInterrupt
        if self.left == 0:
            future.set_exception(self.error())
        else:
            self.left -= 1
            future.set_result(fn(*args, **kwargs))
        return future


@pytest.mark.parametrize("error", [KeyboardInterrupt, BrokenExecutor])
def test_what_was_planned_before_an_interrupt_is_kept(ready, error):
    futures = ready.futures(4)
    cells = [Cell(3, f, "clear-6") for f in range(3)]
    whole = with_nests(ready, futures, MATERIALS, cells, effort=1)
    found = with_nests(ready, futures, MATERIALS, cells, Lost(2, error), effort=1)
    assert found.interrupted and found.plans == 2
    assert (found.futures.sheets[:2] == whole.futures.sheets[:2]).all()
    assert (found.futures.sheets[2:] == futures.sheets[2:]).all()


def test_the_soonest_weeks_are_planned_first():
    open_ = np.zeros((2, 3), dtype=bool)
    open_[0, 2] = open_[1, 0] = open_[1, 1] = True
    assert open_cells({"clear-6": open_}) == [(0, 1, "clear-6"), (1, 1, "clear-6"), (2, 0, "clear-6")]
    assert open_cells({"clear-6": open_}, weeks=(0, 1)) == [(0, 1, "clear-6"), (1, 1, "clear-6")]
