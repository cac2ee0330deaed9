"""What futures say of stock sizes, against plain counting."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.buying.settings import Arriving, PriceStep, StockNow, Supply
from panewright.nesting.demand.weeks import monday, week_of
from panewright.nesting.forecast.futures import Futures, quantile_of
from panewright.nesting.forecast.outlook import OF_TOTALS, SHARES, outlook
from panewright.nesting.units import mm

FIRST = week_of(date(2027, 3, 8))
BIG, SMALL = "clear-10 3210x2250", "clear-10 2440x1830"


def _supply(name: str, width: int, height: int, price: int) -> Supply:
    return Supply(
        name=name,
        glass="clear-10",
        width=mm(width),
        height=mm(height),
        prices=(PriceStep(sheets=1, price=price),),
    )


SUPPLIES = (_supply(BIG, 3210, 2250, 900_000), _supply(SMALL, 2440, 1830, 500_000))


def _futures(sheets: object, known: object = None) -> Futures:
    paths = np.array(sheets, dtype=np.int32)
    mine = np.zeros(paths.shape[1:], dtype=np.int32) if known is None else np.array(known, dtype=np.int32)
    return Futures(first=FIRST, series=(BIG, SMALL), sheets=paths, known=mine)


@given(
    st.lists(st.integers(0, 30), min_size=1, max_size=60),
    st.sampled_from([0.025, 0.1, 0.5, 0.8, 0.9, 0.95, 0.975, 0.99]),
)
@settings(derandomize=True, deadline=None, max_examples=80)
def test_a_quantile_is_the_least_count_that_enough_futures_do_not_exceed(
    values: list[int], share: float
) -> None:
    got = int(quantile_of(np.array(values), share))
    assert sum(v <= got for v in values) >= share * len(values) - 1e-9
    assert all(sum(v <= less for v in values) < share * len(values) for less in range(got))


def test_bands_of_sums_are_no_sums_of_bands() -> None:
    # a path with four sheets in one week has none in the other
    paths = [[[4, 0], [0, 0]], [[0, 0], [4, 0]]] * 50
    size = outlook(_futures(paths), SUPPLIES, None).sizes[0]
    assert [b.sheets[-1] for b in size.weeks] == [4, 4]
    assert [b.sheets for b in size.upto] == [(0, 0, 0, 4, 4), (4, 4, 4, 4, 4)]
    assert size.lasts is None


def test_the_joint_total_is_less_than_the_sizes_own_quantiles_together() -> None:
    paths = [[[3, 0]], [[0, 3]]] * 50
    found = outlook(_futures(paths), SUPPLIES, None)
    assert found.money.added_up == 3 * 900_000 + 3 * 500_000
    assert found.money.shares[-1] == 3 * 900_000
    assert found.mass.shares[-1] == pytest.approx(
        3 * 2.5 * 10 * 3.21 * 2.25 * 1000, abs=3
    )  # each to the gram
    assert found.area.shares[-1] == 3 * 321 * 225
    assert len(found.money.shares) == len(OF_TOTALS) and len(SHARES) == 5


def test_stock_lasts_until_it_does_not_and_a_later_delivery_mends_nothing() -> None:
    paths = [[[2, 0], [2, 0], [0, 0]], [[1, 0], [1, 0], [1, 0]]]
    stock = StockNow(on_hand={BIG: 3}, arriving=(Arriving(name=BIG, sheets=5, day=monday(FIRST + 2)),))
    big, small = outlook(_futures(paths), SUPPLIES, stock).sizes
    assert big.lasts == (1.0, 0.5, 0.5)
    assert small.lasts == (1.0, 1.0, 1.0)


def test_an_overdue_delivery_counts_as_there_and_a_far_one_does_not() -> None:
    paths = [[[2, 0], [2, 0]]]
    late = Arriving(name=BIG, sheets=2, day=date(2027, 2, 1))
    far = Arriving(name=BIG, sheets=2, day=date(2027, 9, 1))
    big = outlook(_futures(paths), SUPPLIES, StockNow(arriving=(late, far))).sizes[0]
    assert big.lasts == (1.0, 0.0)


def test_what_is_booked_has_its_share() -> None:
    found = outlook(_futures([[[2, 0], [2, 0]]], [[1, 0], [0, 0]]), SUPPLIES, None)
    assert found.known_share == pytest.approx(0.25)
    assert [b.known for b in found.sizes[0].upto] == [1, 1]
