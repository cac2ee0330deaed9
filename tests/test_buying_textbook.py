"""Textbook formulas of purchasing against worked examples, and quantities in cases and price steps."""

from __future__ import annotations

from math import isclose

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.buying.quantity import allowed, allowed_within, glass_cost, price_at
from panewright.nesting.buying.settings import PriceStep, Supply
from panewright.nesting.buying.textbook import (
    best_service,
    cheapest_quantity,
    newsvendor,
    order_quantity,
    reorder_point,
    yearly_cost,
)

EURO = 10_000


def supply(*prices: tuple[int, int], **more: int) -> Supply:
    """Terms of an invented size; prices in euro."""
    steps = tuple(PriceStep(sheets=n, price=p * EURO) for n, p in prices)
    size = 10**9
    return Supply(name="clear-10 1000x1000", glass="clear-10", width=size, height=size, prices=steps, **more)


def test_reorder_points_of_the_worked_examples() -> None:
    # Stevenson, Operations Management, chapter 12, example 8: mean 50, spread 5 over the lead time, 3 % risk:
    # safety 9.40 and reorder point 59.40 with z rounded to 1.88; 59.404 with z = 1.8808
    point = reorder_point(demand=50, spread=5, lead=1, service=0.97)
    assert point.safety == pytest.approx(9.40, abs=0.01)
    assert point.sheets == pytest.approx(59.404, abs=0.001)
    # Stevenson, same chapter, the jars: 50 a week, spread 3, two weeks, 10 % risk; 105.43 with z 1.28
    assert reorder_point(demand=50, spread=3, lead=2, service=0.90).sheets == pytest.approx(
        105.437, abs=0.001
    )
    # Stevenson, same chapter: 12 a day, spread 5, six days, 5 % risk (answer worked out)
    assert reorder_point(demand=12, spread=5, lead=6, service=0.95).sheets == pytest.approx(92.145, abs=0.001)


def test_lead_time_spread_alone_and_both() -> None:
    # Stevenson, chapter 12: d sigma_LT where the lead time varies alone, the root of both squares where both vary
    alone = reorder_point(demand=40, spread=0, lead=3, lead_spread=0.5, service=0.95)
    assert alone.safety == pytest.approx(1.6449 * 40 * 0.5, abs=0.01)
    demand = reorder_point(demand=40, spread=10, lead=3, service=0.95)
    both = reorder_point(demand=40, spread=10, lead=3, lead_spread=0.5, service=0.95)
    assert isclose(both.safety**2, alone.safety**2 + demand.safety**2, rel_tol=1e-9)


def test_newsvendor_of_the_newsstand() -> None:
    # Nahmias, Production and Operations Analysis (mean 11.73, spread 4.74, ratio .5/.65): 15.24 with z .74, 15.22 exact
    assert newsvendor(mean=11.73, spread=4.74, under=0.50, over=0.15) == pytest.approx(15.22, abs=0.005)
    assert best_service(under=0.50, over=0.15) == pytest.approx(0.769, abs=0.001)


@given(
    a_year=st.integers(1, 5000),
    an_order=st.integers(1, 500),
    holding=st.integers(1, 50),
    off=st.floats(0.5, 2),
)
@settings(max_examples=30, derandomize=True)
def test_no_quantity_is_cheaper_than_the_economic_one(
    a_year: int, an_order: int, holding: int, off: float
) -> None:
    # Harris 1913: D S / q + h q / 2 is least at sqrt(2 D S / h), where it is sqrt(2 D S h)
    def cost(q: float) -> float:
        return a_year * an_order / q + holding * q / 2

    best = order_quantity(a_year=a_year, an_order=an_order, holding=holding)
    assert isclose(cost(best), (2 * a_year * an_order * holding) ** 0.5, rel_tol=1e-9)
    assert cost(best) <= cost(best * off) * (1 + 1e-12)


def test_quantity_with_price_breaks_of_a_worked_example() -> None:
    # Stevenson, chapter 12, quantity discounts with constant holding cost rate (example from memory: the toggle
    # switches: 4,000 a year, order cost 30, holding 40 % of the price, .90 to 499, .85 from 500, .82 from 1,000 on;
    # the published plan is 1,000 at 3,564); prices times 10,000 stay whole here
    terms = Supply(
        name="switch",
        glass="clear-10",
        width=1,
        height=1,
        prices=tuple(PriceStep(sheets=n, price=p) for n, p in ((1, 9000), (500, 8500), (1000, 8200))),
    )
    found = cheapest_quantity(terms, a_year=4000, an_order=30 * EURO, holding=0.4)
    assert found is not None
    assert found.sheets == 1000
    assert found.cost / EURO == pytest.approx(3564, abs=0.5)
    assert yearly_cost(500, terms, a_year=4000, an_order=30 * EURO, holding=0.4).cost / EURO == pytest.approx(
        3725, abs=0.5
    )


TERMS = st.builds(
    lambda case, least, first, more, freight: supply(
        (1, first),
        *((n, max(1, first - n)) for n in sorted(more)),
        case=case,
        least=least,
        freight=freight * EURO,
    ),
    st.integers(1, 9),
    st.integers(1, 20),
    st.integers(50, 300),
    st.sets(st.integers(2, 40), max_size=3),
    st.integers(0, 200),
)


@given(terms=TERMS, a_year=st.integers(1, 400), holding=st.integers(1, 40))
@settings(max_examples=40, derandomize=True)
def test_cheapest_quantity_is_that_of_trying_all(terms: Supply, a_year: int, holding: int) -> None:
    share = holding / 100
    found = cheapest_quantity(terms, a_year=a_year, an_order=40 * EURO, holding=share)
    every = {allowed(terms, n) for n in range(1, 1500)}
    costs = [yearly_cost(q, terms, a_year=a_year, an_order=40 * EURO, holding=share).cost for q in every]
    assert found is not None
    assert found.cost <= min(costs) * (1 + 1e-12)


@given(terms=TERMS, sheets=st.integers(0, 300))
@settings(max_examples=60, derandomize=True)
def test_what_can_be_bought_is_whole_cases_and_enough(terms: Supply, sheets: int) -> None:
    bought = allowed(terms, sheets)
    assert bought % terms.case == 0
    assert bought >= sheets
    assert not bought or bought >= terms.least
    # one case fewer would be too few
    assert not bought or bought - terms.case < max(sheets, terms.least)
    within = allowed_within(terms, sheets)
    assert within <= sheets
    assert within in (0, allowed(terms, within))
    assert within + terms.case > sheets or allowed(terms, 1) > sheets


@given(terms=TERMS, sheets=st.integers(1, 100))
@settings(max_examples=40, derandomize=True)
def test_the_price_of_more_sheets_is_no_higher(terms: Supply, sheets: int) -> None:
    assert price_at(terms, sheets + 1) <= price_at(terms, sheets)
    assert glass_cost(terms, sheets) == sheets * price_at(terms, sheets)
