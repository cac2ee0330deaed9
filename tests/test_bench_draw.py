"""Drawn problems of the bench: the stream, fresh packing problems, weeks of a tank shop, large orders."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io import bench_data, bench_weeks
from panewright.io.bench_draw import Draw
from panewright.io.bench_fresh import EQUAL, KINDS, counterparts, fresh, fresh_problem
from panewright.io.bench_scale import exponent, scale_order
from panewright.nesting.outlines import box
from panewright.nesting.planner import impossible
from panewright.nesting.units import MONEY, mm


def test_the_stream_is_that_in_print() -> None:
    # First words of SplitMix64 from the seed 1234567, as widely given for checking implementations
    # (from memory).
    stream = Draw(1234567)
    assert [stream.word() for _ in range(5)] == [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ]


def test_streams_of_different_paths_differ() -> None:
    words = {Draw(1, *path).word() for path in [(), (0,), (1,), (0, 0), (0, 1), (1, 0), (1, 1)]}
    assert len(words) == 7


@given(st.integers(0, 2**40), st.integers(-50, 50), st.integers(0, 60))
def test_numbers_lie_in_their_range(seed: int, low: int, more: int) -> None:
    draw = Draw(seed)
    assert all(low <= draw.between(low, low + more) <= low + more for _ in range(20))


@given(st.integers(0, 2**40), st.integers(1, 30), st.integers(1, 30))
def test_a_pick_is_of_different_ones_and_rising(seed: int, number: int, count: int) -> None:
    picked = Draw(seed).pick(number, count)
    assert picked == sorted(set(picked))
    assert len(picked) == min(number, count)
    assert set(picked) <= set(range(count))


def test_every_number_comes_up() -> None:
    draw = Draw(7)
    counts = [0] * 6
    for _ in range(6000):
        counts[draw.below(6)] += 1
    # six standard deviations of a fair die around 1,000
    assert all(abs(n - 1000) < 174 for n in counts)


def test_fresh_problems_are_a_hundred_and_repeat() -> None:
    classes = range(1, 11)
    problems = fresh(5, classes)
    assert problems == fresh(5, classes)
    assert problems != fresh(6, classes)
    assert len(problems) == 100
    assert len({p.name for p in problems}) == 100
    assert [len(p.items) for p in problems if p.group == 4] == [20, 20, 40, 40, 60, 60, 80, 80, 100, 100]


@pytest.mark.parametrize("group", range(1, 7))
def test_equal_classes_keep_their_ranges(group: int) -> None:
    # Berkey and Wang 1987, J. Oper. Res. Soc. 38 (the ranges from memory)
    largest, side = {1: (10, 10), 2: (10, 30), 3: (35, 40), 4: (35, 100), 5: (100, 100), 6: (100, 300)}[group]
    for problem in fresh(1, [group]):
        assert (problem.width, problem.height) == (side, side)
        assert {1 <= w <= largest and 1 <= h <= largest for w, h in problem.items} == {True}
    assert EQUAL[group] == (largest, side)
    sides = {s for p in fresh(1, [group]) for item in p.items for s in item}
    assert min(sides) == 1
    assert max(sides) == largest


@pytest.mark.parametrize("group", range(7, 11))
def test_seven_in_ten_are_of_the_main_kind(group: int) -> None:
    items = [item for copy in range(1, 60) for item in fresh_problem(1, group, 100, copy).items]
    (w0, w1), (h0, h1) = KINDS[group - 7]
    main = sum(w0 <= w <= w1 and h0 <= h <= h1 for w, h in items)
    # the other kinds reach into the main one at its border alone (kind 4 below 50, kind 3 above)
    assert 0.67 < main / len(items) < 0.77
    assert {1 <= w <= 100 and 1 <= h <= 100 for w, h in items} == {True}


def test_fresh_classes_are_like_the_published_ones(data_folder) -> None:
    # Item counts by kind in the published classes 7 to 10 (bwmv data set): both sums of each class agree
    # within the spread of a draw.
    for group in range(7, 11):
        published = [item for p in bench_data.packing_class(data_folder, group) for item in p.items]
        drawn = [item for copy in range(1, 31) for item in fresh_problem(1, group, 100, copy).items]
        for kind in KINDS:
            (w0, w1), (h0, h1) = kind
            shares = [
                sum(w0 <= w <= w1 and h0 <= h <= h1 for w, h in items) / len(items)
                for items in (published, drawn)
            ]
            assert abs(shares[0] - shares[1]) < 0.05, (group, kind)
        for side in (0, 1):
            values = {item[side] for item in published}
            assert {min(values), max(values)} == {1, 100}


def test_counterparts_are_of_the_same_number() -> None:
    drawn = fresh(1, [3])
    beside = counterparts(drawn, fresh(2, [3]))
    assert set(beside) == {p.name for p in drawn}
    assert len({p.name for p in beside.values()}) == len(drawn)
    assert {len(beside[p.name].items) == len(p.items) for p in drawn} == {True}
    assert counterparts(drawn, []) == {}


@pytest.mark.parametrize("seed", [1, 2, 99])
def test_weeks_are_as_described(seed: int) -> None:
    made = bench_weeks.weeks(seed)
    assert made == bench_weeks.weeks(seed)
    assert [w.name for w in made] == ["small-1", "small-2", "mid-1", "mid-2", "big-1", "big-2"]
    for week in made:
        sizes, panels, area = {"small": (20, 179, 19), "mid": (40, 466, 163), "big": (60, 633, 384)}[
            week.group
        ]
        assert (len(week.rows), week.panels) == (sizes, panels)
        assert abs(week.area - area * 10**6) <= area * 50_000
        assert len({row[:2] for row in week.rows}) == sizes
        for long, short, copies in week.rows:
            assert 300 <= long <= 2400
            assert 60 <= short <= min(long, 1200)
            assert 2 <= copies <= 20
    assert made != bench_weeks.weeks(seed + 1)


def test_weeks_have_the_stock_that_their_set_says() -> None:
    sets = {which: bench_weeks.orders(1, which) for which in ("weeks", "weeks-three", "weeks-offcuts")}
    for which, count in {"weeks": 1, "weeks-three": 3, "weeks-offcuts": 13}.items():
        assert [len(o.stock) for o in sets[which]] == [count] * 6
        assert [o.panels for o in sets[which]] == [o.panels for o in sets["weeks"]]
    first = sets["weeks"][0]
    assert impossible(first.panels, first.stock, first.shop) == []
    rules = first.shop.rules("clear-10")
    assert (rules.levels, rules.last_cut, rules.break_out) == (3, True, mm(30))
    sheet = first.stock[0]
    assert (sheet.inner_width, sheet.inner_height) == (mm(3270), mm(2110))
    # 3.3 m x 2.14 m at 1 a square metre
    assert sheet.cost == 70_620
    for order in sets["weeks-offcuts"]:
        for piece in order.stock[1:]:
            assert piece.is_offcut
            assert (piece.on_hand, piece.buyable, piece.raw) == (1, False, ())
            assert mm(600) <= piece.width <= mm(2000)
            assert mm(500) <= piece.height <= mm(1500)
            assert piece.cost == piece.width * piece.height * MONEY // (2 * mm(1000) ** 2)
    racks = [o.stock[1:] for o in sets["weeks-offcuts"]]
    assert len(set(racks)) == 6


def test_large_orders_hold_different_panels() -> None:
    order = scale_order(1, 300)
    assert order == scale_order(1, 300)
    sizes = {tuple(sorted(box(p.cut)[2:])) for p in order.panels}
    assert len(order.panels) == len(sizes) == 300
    assert min(min(s) for s in sizes) >= mm(200)
    assert max(max(s) for s in sizes) <= mm(2500)
    assert scale_order(2, 300) != order


def test_the_exponent_is_the_slope_of_the_logarithms() -> None:
    assert exponent([(500, 1.0)]) is None
    assert exponent([(500, 1.0), (500, 2.0)]) is None
    assert exponent([(500, 1.0), (5000, 10.0), (50_000, 100.0)]) == pytest.approx(1.0)
    assert exponent([(10, 0.1), (100, 10.0)]) == pytest.approx(2.0)
