"""Lead times, reorder points from futures, and the service that they really give."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from math import exp, isclose, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.buying.lead_time import (
    Receiving,
    day_law,
    gamma_share,
    lead_draws,
    weeks_needed,
)
from panewright.nesting.buying.paths import Paths, paths_of
from panewright.nesting.buying.protection import protection
from panewright.nesting.buying.service import Served, level_of, served
from panewright.nesting.buying.settings import Arriving, PriceStep, StockNow, Supply
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.demand.weeks import week_of
from panewright.nesting.forecast.futures import Futures

MONDAY = date(2027, 3, 8)
NAME = "clear-10 3210x2250"
FIVE_DAYS = Receiving(today=MONDAY, calendar=CuttingDays())
WANTED = (Fraction(90, 100), Fraction(95, 100), Fraction(975, 1000))


def supply(lead: int = 7, spread: int = 0, *, case: int = 1, least: int = 1, who: str = "") -> Supply:
    """Terms of an invented size."""
    return Supply(
        name=NAME,
        glass="clear-10",
        width=3_210_000_000,
        height=2_250_000_000,
        supplier=who,
        prices=(PriceStep(sheets=1, price=1_400_000),),
        lead_days=lead,
        lead_spread=spread,
        case=case,
        least=least,
    )


def poisson(mean: float, futures: int, weeks: int, seed: int = 1) -> Paths:
    """Paths of one size with Poisson weeks."""
    draws = np.random.Generator(np.random.Philox(seed)).poisson(mean, (futures, weeks, 1)).astype(np.int32)
    known = np.zeros((weeks, 1), np.int32)
    return paths_of(Futures(first=week_of(MONDAY), series=(NAME,), sheets=draws, known=known), weeks)


def poisson_share(mean: float, sheets: int) -> float:
    """P(X <= sheets), summed term by term."""
    term = total = exp(-mean)
    for n in range(1, sheets + 1):
        term *= mean / n
        total += term
    return total


def poisson_quantile(mean: float, share: float) -> int:
    """The least whole number that is not exceeded with this chance."""
    return next(n for n in range(10_000) if poisson_share(mean, n) >= share)


@given(shape=st.integers(1, 30), x=st.floats(0.1, 60))
@settings(max_examples=40, derandomize=True)
def test_gamma_share_is_the_poisson_sum(shape: int, x: float) -> None:
    # DLMF 8.4.10: for whole shapes P(n, x) = 1 - exp(-x) sum of x^k / k! below n
    assert isclose(gamma_share(shape, x), 1 - poisson_share(x, shape - 1), rel_tol=1e-9, abs_tol=1e-12)


@pytest.mark.parametrize(("mean", "spread"), [(9, 3), (21, 5), (40, 20), (3, 6)])
def test_lead_times_have_their_mean_and_spread(mean: int, spread: int) -> None:
    first, shares = day_law(mean, spread)
    single = np.diff(np.array((0.0, *shares)))
    days = first + np.arange(len(shares))
    assert single.min() >= 0
    assert float(single @ days) == pytest.approx(mean, abs=0.35)
    # whole days add a twelfth to the variance
    assert sqrt(float(single @ (days - single @ days) ** 2)) == pytest.approx(
        sqrt(spread**2 + 1 / 12), rel=0.08
    )


def test_a_sure_lead_time_does_not_vary_and_draws_do_not_depend_on_the_number_of_futures() -> None:
    assert set(lead_draws(supply(9), 50, 4, 0).ravel().tolist()) == {9}
    few, many = lead_draws(supply(9, 3), 20, 4, 5), lead_draws(supply(9, 3), 200, 4, 5)
    assert np.array_equal(few, many[:20])
    assert not np.array_equal(few, lead_draws(supply(9, 3), 20, 4, 6))
    # sizes of one supplier come together, those of two do not
    assert np.array_equal(
        lead_draws(supply(9, 3, who="A"), 20, 4, 5), lead_draws(supply(9, 3, who="A"), 20, 4, 5)
    )
    assert not np.array_equal(
        lead_draws(supply(9, 3, who="A"), 20, 4, 5), lead_draws(supply(9, 3, who="B"), 20, 4, 5)
    )


def test_what_comes_on_the_first_working_day_of_a_week_counts_for_it() -> None:
    assert FIVE_DAYS.usable(MONDAY + timedelta(days=7)) == 1
    assert FIVE_DAYS.usable(MONDAY + timedelta(days=8)) == 2
    # Saturday comes on Monday; with Monday free, Tuesday is the first day of that week
    assert FIVE_DAYS.usable(MONDAY + timedelta(days=5)) == 1
    free = Receiving(today=MONDAY, calendar=CuttingDays(free=frozenset({MONDAY + timedelta(days=7)})))
    assert free.usable(MONDAY + timedelta(days=7)) == 1
    assert free.usable(MONDAY + timedelta(days=8)) == 1
    # a week that is shut receives nothing
    shut = frozenset(MONDAY + timedelta(days=7 + d) for d in range(7))
    assert Receiving(today=MONDAY, calendar=CuttingDays(free=shut)).usable(MONDAY + timedelta(days=9)) == 2


def test_futures_have_weeks_for_the_longest_lead_time() -> None:
    assert weeks_needed([supply(7), supply(30, 6)], 2, weeks=8) == 9
    assert weeks_needed([], 1, weeks=8) == 8


def test_longer_paths_repeat_weeks_of_their_own_future() -> None:
    short = poisson(3, 30, 6)
    futures = Futures(first=0, series=(NAME,), sheets=short.demand, known=np.zeros((6, 1), np.int32))
    long = paths_of(futures, 20)
    assert long.weeks == 6
    assert long.demand.shape == (30, 20, 1)
    for f in range(30):
        own = set(short.demand[f, 3:, 0].tolist())
        assert set(long.demand[f, 6:, 0].tolist()) <= own


@pytest.mark.parametrize("service", WANTED)
def test_reorder_point_is_the_quantile_of_poisson_demand(service: Fraction) -> None:
    # one week of lead time and one of review, steady Poisson demand: the quantile of Poisson(2 x mean), closed form
    found = protection(
        supply(7), poisson(4, 20_000, 6), StockNow(), FIVE_DAYS, service=service, review_weeks=1
    )
    exact = poisson_quantile(8, float(service))
    assert abs(found.reorder_point - exact) <= 1
    assert poisson_share(8, found.reorder_point) == pytest.approx(float(service), abs=0.04)
    assert found.until == 2
    assert found.mean_demand == pytest.approx(8, abs=0.1)
    # the same figure by the book: 8 + z sqrt(2 x 4)
    assert found.textbook.mean == pytest.approx(8, abs=0.1)
    assert found.textbook.safety == pytest.approx(
        {90: 1.2816, 95: 1.6449, 97: 1.96}[int(service * 100)] * sqrt(8), abs=0.1
    )


LINES = st.builds(
    lambda lead, spread, hand, coming, days: (
        supply(lead, spread),
        StockNow(
            on_hand={NAME: hand},
            arriving=(Arriving(name=NAME, sheets=coming, day=MONDAY + timedelta(days=days)),)
            if coming
            else (),
        ),
    ),
    st.integers(0, 30),
    st.integers(0, 10),
    st.integers(-3, 40),
    st.integers(0, 20),
    st.integers(-10, 40),
)


@given(lines=LINES, mean=st.floats(0, 6), review=st.integers(1, 3))
@settings(max_examples=15, derandomize=True, deadline=None)
def test_more_service_never_needs_less(lines: tuple[Supply, StockNow], mean: float, review: int) -> None:
    terms, stock = lines
    paths = poisson(mean, 60, 12)
    found = [
        protection(terms, paths, stock, FIVE_DAYS, service=s, review_weeks=review)
        for s in (Fraction(1, 2), *WANTED, Fraction(999, 1000))
    ]
    points = [f.reorder_point for f in found]
    assert points == sorted(points)
    assert [f.lack for f in found] == sorted(f.lack for f in found)
    for f in found:
        # nothing being needed and the stock lasting in enough futures is the same thing
        assert (f.need == 0) == (f.lasts_now >= f.service)
        assert list(f.lasts) == sorted(f.lasts, reverse=True)


@given(hand=st.integers(0, 60), mean=st.floats(0.1, 6))
@settings(max_examples=30, derandomize=True, deadline=None)
def test_without_open_deliveries_the_need_is_reorder_point_less_stock(hand: int, mean: float) -> None:
    found = protection(
        supply(14),
        poisson(mean, 80, 8),
        StockNow(on_hand={NAME: hand}),
        FIVE_DAYS,
        service=Fraction(9, 10),
        review_weeks=1,
    )
    assert found.lack == found.reorder_point - hand


def test_what_comes_too_late_does_not_help() -> None:
    paths = poisson(4, 300, 8)
    hand = {NAME: 6}
    late = (Arriving(name=NAME, sheets=50, day=MONDAY + timedelta(days=40)),)
    soon = (Arriving(name=NAME, sheets=50, day=MONDAY + timedelta(days=7)),)
    over = (Arriving(name=NAME, sheets=50, day=MONDAY - timedelta(days=7)),)
    needs = [
        protection(
            supply(7),
            paths,
            StockNow(on_hand=hand, arriving=a),
            FIVE_DAYS,
            service=Fraction(95, 100),
            review_weeks=1,
        ).need
        for a in ((), late, soon, over)
    ]
    assert needs[0] == needs[1] > 0
    # what is overdue is taken to come now
    assert needs[2] == needs[3] == 0


def _simulated(mean: float, service: Fraction, lead: int, spread: int, cycles: int, seed: int) -> Served:
    """Levels from some futures, judged by other weeks of the same law: one look a week."""
    draws = np.random.Generator(np.random.Philox(seed))
    terms = supply(lead, spread)
    days = lead_draws(terms, cycles + 40, 1, seed)[:, 0]
    weeks = np.array([FIVE_DAYS.usable(MONDAY + timedelta(days=int(d))) for d in days])
    other = lead_draws(terms, 4000, 1, seed + 1)[:, 0]
    ahead = np.array([FIVE_DAYS.usable(MONDAY + timedelta(days=int(d))) for d in other])
    futures = draws.poisson(mean, (4000, 26))
    level = level_of(futures, ahead, review_weeks=1, service=service)
    demand = draws.poisson(mean, cycles + 40)
    return served(demand, np.full(cycles + 40, level), weeks)


@pytest.mark.parametrize("service", WANTED)
def test_service_achieved_is_within_three_points_of_that_wanted(service: Fraction) -> None:
    # at least 2,000 lead times of three weeks; of order-up-to levels in whole sheets the exact service is known
    found = _simulated(12, service, 21, 0, 6000, 3)
    assert found.cycles >= 5900
    assert abs(found.service - service) <= Fraction(3, 100)
    exact = poisson_share(4 * 12, poisson_quantile(4 * 12, float(service)))
    assert float(found.service) == pytest.approx(exact, abs=0.015)


@pytest.mark.parametrize("service", WANTED)
def test_service_holds_where_lead_times_vary(service: Fraction) -> None:
    found = _simulated(15, service, 21, 6, 6000, 4)
    assert found.cycles >= 2000
    assert abs(found.service - service) <= Fraction(3, 100)


def test_served_counts_by_hand() -> None:
    # three on hand, orders up to three, a week to come. Week 0 takes all 3. Week 1 orders 3 and is short of 2.
    # Week 2 gets 3, has 1 left for 4 and is short of 3. Week 3 gets the 2 ordered in week 2 and stays short of 1.
    found = served([3, 2, 4, 0], [3, 3, 3, 3], [1, 1, 1, 1])
    assert (found.asked, found.at_once, found.orders, found.stock) == (9, 4, 3, 0)
    assert (found.weeks, found.full_weeks, found.cycles, found.lasted) == (4, 1, 3, 0)
    # in cases of 4 the order of week 1 is of 4, that of week 2 too
    cases = served([3, 2, 4, 0], [3, 3, 3, 3], [1, 1, 1, 1], supply=supply(case=4))
    assert (cases.at_once, cases.full_weeks, cases.lasted, cases.stock) == (5, 2, 1, 2)
    both = found + cases
    assert (both.cycles, both.service) == (6, Fraction(1, 6))
