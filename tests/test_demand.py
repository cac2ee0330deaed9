"""What the order book tells of demand: products, shut weeks, season, levels, booking curve, orders called off."""

from __future__ import annotations

from datetime import date, timedelta
from math import exp, lgamma, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.demand import levels as levels_module
from panewright.nesting.demand.book import BookedOrder, OrderBook
from panewright.nesting.demand.booking import booking_curve, prior_share
from panewright.nesting.demand.called_off import called_off
from panewright.nesting.demand.content import pools_of
from panewright.nesting.demand.counted import Products, products_of
from panewright.nesting.demand.exposure import open_weeks, week_counts
from panewright.nesting.demand.findings import findings_of
from panewright.nesting.demand.levels import POINTS, levels_of
from panewright.nesting.demand.model import demand_of
from panewright.nesting.demand.season import season_of
from panewright.nesting.demand.weeks import monday, week_of
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.units import mm

FIRST = week_of(date(2025, 1, 6))
OUTLINE = rectangle(mm(600), mm(400))
PANEL = Panel(
    id="1", order="1", name="front", glass="clear-6", thickness=mm(6), finished=OUTLINE, cut=OUTLINE, edges=()
)


def order(week, number=0, product="tank", lead=10, panels=1, **more):
    """An order that was cut on the Friday of a week and booked so many days before its Monday."""
    day = monday(week) + timedelta(days=4)
    booked = None if lead is None else monday(week) - timedelta(days=lead)
    more = {"cut": day, **more}
    return BookedOrder(
        order=f"{week}-{number}", product=product, booked=booked, due=day, panels=(PANEL,) * panels, **more
    )


def book(counts, *, weeks_ago=0, more=(), shut=(), product="tank", **of_orders):
    """So many orders in each week from FIRST on, looked at on the Monday after the last of them."""
    orders = [order(FIRST + w, i, product, **of_orders) for w, n in enumerate(counts) for i in range(int(n))]
    return OrderBook(
        today=monday(FIRST + len(counts) + weeks_ago),
        orders=(*orders, *more),
        first_week=FIRST,
        shut=frozenset(shut),
    )


def test_rare_products_are_pooled_and_remakes_stand_alone():
    orders = [order(FIRST, i, "tank") for i in range(100)] + [order(FIRST, i, "shelf") for i in range(40)]
    orders += [order(FIRST, i, f"odd {i}") for i in range(20)] + [
        order(FIRST, i, remake=True) for i in range(3)
    ]
    products = products_of(orders)
    assert products.names == ("tank", "shelf", "others", "remakes")
    assert products.names[products.index(order(FIRST, product="odd 3"))] == "others"
    assert products.names[products.index(order(FIRST, product="never seen"))] == "others"
    assert products.names[products.index(order(FIRST, remake=True))] == "remakes"
    assert len(products_of([order(FIRST, i, f"p{i % 9}") for i in range(900)])) == 8


def test_empty_weeks_of_a_busy_shop_are_seen_as_shut_and_come_again():
    counts = np.full(104, 9)
    counts[[51, 103]] = 0  # the weeks of New Year's Day 2026 and of the last of December 2026
    known = book(counts)
    past = week_counts(known, products_of(known.past))
    assert past.seen_shut == (FIRST + 51, FIRST + 103)
    assert past.weeks == 102
    later = OrderBook(today=monday(FIRST + 150), orders=known.orders, first_week=FIRST)
    gone = week_counts(later, products_of(later.past))
    # the weeks after the last order are many: no busy shop any more
    assert gone.seen_shut == ()
    # by the day of the year: the numbers of the last weeks of a year shift
    coming = open_weeks(OrderBook(today=monday(FIRST + 153), orders=(), first_week=FIRST), past, 5)
    assert coming.tolist() == [1, 1, 0, 1, 1]


def test_empty_weeks_of_lumpy_demand_stay_demand():
    counts = np.tile([0, 12, 0, 3, 9], 20)
    known = book(counts)
    past = week_counts(known, products_of(known.past))
    assert past.seen_shut == () and past.weeks == 100
    assert past.counts[:, 0].tolist() == counts.tolist()


def test_given_shut_weeks_and_weeks_before_the_first_do_not_count():
    known = book([3, 0, 4], shut=(FIRST + 1,), more=(order(FIRST - 5),))
    past = week_counts(known, products_of(known.past))
    assert past.opened.tolist() == [1, 0, 1]
    assert past.counts.sum() == 7


def test_season_recovers_a_known_one_and_is_not_seen_where_there_is_none():
    rng = np.random.default_rng(5)
    weeks = FIRST + np.arange(156)
    true = np.exp(0.4 * np.cos(2 * np.pi * (weeks - 2000) / 52))
    found = season_of(FIRST, rng.poisson(40 * true), np.ones(156))
    assert np.abs(np.log(found.factor(weeks) / true)).max() < 0.1
    assert season_of(FIRST, rng.poisson(40, 156), np.ones(156)).waves == ()
    assert season_of(FIRST, rng.poisson(40 * true)[:79], np.ones(79)).waves == ()


def test_a_step_of_level_is_not_taken_for_a_season_of_a_later_year():
    rng = np.random.default_rng(6)
    y = rng.poisson(np.where(np.arange(104) < 92, 30, 22))
    factor = season_of(FIRST, y, np.ones(104)).factor(FIRST + np.arange(104))
    assert np.ptp(factor) < 0.25


def only(monkeypatch, **values):
    for name, value in values.items():
        monkeypatch.setattr(levels_module, name, value)


def test_without_noise_and_change_the_level_is_gamma_poisson(monkeypatch):
    """Conjugate posterior Gamma(sum y, weeks) under a flat prior of the log level (Gelman and others, Bayesian
    Data Analysis, 2.6; from memory), by scipy's incomplete gamma function."""
    gammainc = pytest.importorskip("scipy.special").gammainc
    only(
        monkeypatch, SHAPES=(1e8,), SHAPE_PRIOR=(1.0,), BUSY=(1.0,), BUSY_PRIOR=(1.0,),
        DRIFT=(0.0,), DRIFT_PRIOR=(1.0,), OWN=0.0, SHARED=0.0, SPREAD=1e3, SPAN=log(3.0),
    )  # fmt: skip
    y = np.array([3, 5, 4, 2, 6, 4, 4, 7, 3, 4])
    found = levels_of(y[:, None], np.ones(10))
    grid, weight = found.grid(0), found.weights[0].sum(axis=(0, 1))
    half = exp(found.step[0] / 2)
    expected = gammainc(y.sum(), 10 * grid * half) - gammainc(y.sum(), 10 * grid / half)
    assert np.abs(weight - expected).max() < 2e-4
    assert found.means()[0] == pytest.approx(y.sum() / 10, rel=1e-3)


def test_the_filter_is_the_plain_recursion(monkeypatch):
    """The same filter as loops over plain numbers."""
    shapes, busy, drift = (2.5, 50.0), (1.0, 0.4), (0.0, 0.024)
    only(
        monkeypatch, SHAPES=shapes, SHAPE_PRIOR=(1.0, 2.0), BUSY=busy, BUSY_PRIOR=(2.0, 1.0),
        DRIFT=drift, DRIFT_PRIOR=(3.0, 1.0), SHARED=0.0, OWN=0.01,
    )  # fmt: skip
    y, exposure = [4, 0, 3, 6, 5, 0, 9, 14, 11], [1.0, 0.8, 0.9, 1.0, 1.2, 0.0, 1.1, 1.0, 1.0]
    found = levels_of(np.array(y)[:, None], np.array(exposure))
    middle, step = float(found.middle[0]), float(found.step[0])
    offsets = [step * (g - POINTS // 2) for g in range(POINTS)]
    fresh = [exp(-0.5 * (x / levels_module.SPREAD) ** 2) for x in offsets]
    fresh = [x / sum(fresh) for x in fresh]
    p = {
        (d, r, b): [(0.75, 0.25)[d] * (1 / 3, 2 / 3)[r] * (2 / 3, 1 / 3)[b] * x for x in fresh]
        for d in range(2)
        for r in range(2)
        for b in range(2)
    }
    for n, e in zip(y, exposure, strict=True):
        for (d, r, b), row in p.items():
            a = 0.5 * (drift[d] / step) ** 2
            kept, out = sum(row), []
            for g in range(POINTS):
                left, right = row[max(0, g - 1)], row[min(POINTS - 1, g + 1)]
                x = 0.99 * (row[g] * (1 - 2 * a) + a * (left + right)) + 0.01 * kept * fresh[g]
                if e > 0:
                    m, s = middle * exp(offsets[g]) * e / busy[b], shapes[r]
                    chance = exp(
                        lgamma(n + s)
                        - lgamma(s)
                        - lgamma(n + 1)
                        + s * log(s / (s + m))
                        + n * log(m / (s + m))
                    )
                    x *= busy[b] * chance + (0 if n else 1 - busy[b])
                out.append(x)
            p[d, r, b] = out
        total = sum(map(sum, p.values()))
        p = {k: [x / total for x in row] for k, row in p.items()}
    points = [sum(row[g] for row in p.values()) for g in range(POINTS)]
    assert np.abs(found.weights[0].sum(axis=(0, 1)) - points).max() < 1e-12


def test_a_change_is_found_and_one_of_the_mix_sooner():
    rng = np.random.default_rng(8)
    weeks, at = 60, 54
    a = rng.poisson(np.where(np.arange(weeks) < at, 8, 16))
    b = rng.poisson(np.where(np.arange(weeks) < at, 12, 6))
    both = levels_of(np.stack([a, b], axis=1), np.ones(weeks))
    alone = levels_of(b[:, None], np.ones(weeks))
    assert both.means()[0] == pytest.approx(16, rel=0.2)
    assert abs(both.means()[1] - 6) <= abs(alone.means()[0] - 6)
    assert both.changed[at - 3 : at + 4, 1].sum() > alone.changed[at - 3 : at + 4, 0].sum()


def test_lumps_are_not_taken_for_changes():
    rng = np.random.default_rng(9)
    y = (rng.random(104) < 0.35) * rng.poisson(12, 104)
    found = levels_of(y[:, None], np.ones(104))
    assert found.means()[0] == pytest.approx(y.mean(), rel=0.15)
    busy = (found.weights[0].sum(axis=(0, 2)) * found.busy[0]).sum()
    assert busy == pytest.approx((y > 0).mean(), abs=0.12)


@settings(max_examples=8, deadline=None)
@given(st.lists(st.integers(0, 30), max_size=30), st.integers(0, 100_000))
def test_any_counts_give_a_posterior(counts, absurd):
    y = np.array([*counts, absurd], dtype=np.int64)[:, None]
    found = levels_of(y, np.ones(len(y)))
    assert found.weights.sum() == pytest.approx(1)
    assert np.isfinite(found.means()).all() and (found.weights >= 0).all()


def test_booking_curve_by_the_past_orders_and_the_prior():
    products = Products(("tank", "others", "remakes"))
    none = booking_curve([], products, monday(FIRST))
    assert none.shares(7) == pytest.approx(prior_share(7))
    # six in ten are booked two weeks ahead, the others in the week itself
    past = [order(FIRST + w, i, lead=14 if i < 6 else -2) for w in range(100) for i in range(10)]
    curve = booking_curve(past, products, monday(FIRST + 100))
    assert curve.shares(7)[0] == pytest.approx(0.6, abs=0.03)
    assert curve.shares(-1)[0] < curve.shares(-2)[0] and curve.shares(-7)[0] == pytest.approx(1)
    assert curve.changed is None and curve.dated == 1000


def test_a_change_of_booking_habit_is_noticed_and_believed():
    products = Products(("tank", "others", "remakes"))
    past = [
        order(FIRST + w, i, lead=14 if i < (9 if w >= 92 else 4) else -2)
        for w in range(100)
        for i in range(10)
    ]
    curve = booking_curve(past, products, monday(FIRST + 100))
    assert curve.changed is not None and curve.changed.recent > curve.changed.before
    assert curve.shares(7)[0] > 0.7
    told = findings_of(*_looked_at(past))
    assert any("customers book earlier" in line for line in told)


def _looked_at(orders, today=None, shut=(), first=FIRST):
    known = OrderBook(
        today=today or monday(FIRST + 100), orders=tuple(orders), first_week=first, shut=frozenset(shut)
    )
    return known, demand_of(known)


def test_orders_called_off_thin_those_that_are_open_long_before():
    day = monday(FIRST + 10) + timedelta(days=4)
    gone = [order(FIRST + 10, i, cut=None, cancelled=day - timedelta(days=12)) for i in range(20)]
    found = called_off(book([9] * 20, more=gone))
    assert found.share == pytest.approx(20 / 200)
    # one that was not called off until a week before its day will not be any more
    assert found.stays(14) == pytest.approx(1 - 20 / 220) and found.stays(7) == 1
    assert called_off(book([9] * 20)).stays(14) == 1


def test_contents_are_whole_orders_of_the_product_and_rare_ones_borrow():
    products = Products(("tank", "shelf", "others", "remakes"))
    orders = [order(FIRST + w, 0, "tank") for w in range(10)] + [order(FIRST, 1, "shelf")] * 2
    pools = pools_of(orders, products, FIRST + 10)
    assert pools.filled().tolist() == [True, True, False, False]
    u = np.linspace(0, 1, 1000, endpoint=False)
    tanks = pools.drawn(np.zeros(1000, np.int64), u)
    assert np.bincount(tanks, minlength=12).tolist() == [100] * 10 + [0, 0]
    shelves = pools.drawn(np.ones(1000, np.int64), u)
    # two of their own, and the ten others stand in for three
    assert np.isin(shelves, (10, 11)).sum() == 400
    faded = pools_of(orders, products, FIRST + 10, half_life=1)
    drawn = np.bincount(faded.drawn(np.zeros(1000, np.int64), u), minlength=12)
    assert drawn[9] > 450 and (np.diff(drawn[:10]) >= 0).all()


def test_findings_of_hardly_any_history():
    assert "there is no past order" in findings_of(*_looked_at([]))[0]
    one = findings_of(*_looked_at([order(FIRST + 99)], first=FIRST + 99))
    assert any("one past order" in x for x in one) and any("1 weeks" in x for x in one)
    half = findings_of(
        *_looked_at([order(FIRST + w, i) for w in range(60, 100) for i in range(3)], first=FIRST + 60)
    )
    assert any("no season" in x for x in half) and not any("assumptions" in x for x in half)


def test_findings_of_gaps_absurd_values_and_days():
    orders = [order(FIRST + w, i, panels=5) for w in range(100) if not 40 <= w < 48 for i in range(3)]
    assert any("no order was cut" in x for x in findings_of(*_looked_at(orders)))
    huge = findings_of(*_looked_at([*orders, order(FIRST + 99, 77, panels=500)]))
    assert any(f"{FIRST + 99}-77 has 500 panels" in x for x in huge)
    assert any("no past order has its booking day" in x for x in findings_of(*_looked_at([
        order(FIRST + w, lead=None) for w in range(100)
    ])))  # fmt: skip
    late = [order(FIRST + 99, 50, lead=-6)]
    assert any("booked after they were cut" in x for x in findings_of(*_looked_at([*orders, *late])))


def test_findings_of_called_off_remade_and_overdue():
    orders = [order(FIRST + w, i) for w in range(100) for i in range(3)]
    day = monday(FIRST + 95)
    gone = [order(FIRST + 96, 10 + i, cut=None, cancelled=day, lead=30) for i in range(30)]
    remade = [order(FIRST + 90 + i, 5, remake=True) for i in range(30)]
    overdue = [order(FIRST + 99 - i, 60, cut=None, lead=30) for i in range(7)]
    told = findings_of(*_looked_at([*orders, *gone, *remade, *overdue]))
    assert any("were called off" in x for x in told)
    assert any("7 open orders are overdue" in x for x in told)
    assert any("3 of them are overdue by more than 28 days" in x for x in told)
    assert any("remakes" in x for x in findings_of(*_looked_at([*orders, *[
        order(FIRST + w, 5, remake=True) for w in range(100)
    ]])))  # fmt: skip


def test_a_steady_busy_history_has_no_findings():
    rng = np.random.default_rng(3)
    known = book(rng.poisson(10, 100))
    assert findings_of(known, demand_of(known)) == []
