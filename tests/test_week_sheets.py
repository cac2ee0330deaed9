"""Weeks to sheets: real plans of weeks, the history nested again, and the rules fitted on it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io.shop_file import default_shop
from panewright.io.stock_list import shop_stock
from panewright.nesting.buying.settings import PriceStep, Supply
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.weeks import monday, week_of
from panewright.nesting.each import Inline, each
from panewright.nesting.outlines import Outline, rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.rules import Rules
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import mm
from panewright.nesting.week_sheets.bounds import sure_fills, undecided
from panewright.nesting.week_sheets.carry import Carry, carry_of
from panewright.nesting.week_sheets.contents import MILLION, Measure
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.cover_rule import Cover, best_fill
from panewright.nesting.week_sheets.fit import CalibratedRules, GlassWeeks, fit_rules, fit_weeks, weeks_of
from panewright.nesting.week_sheets.glass_rule import crps
from panewright.nesting.week_sheets.joint import pooling
from panewright.nesting.week_sheets.kinds import kinds_of
from panewright.nesting.week_sheets.material import Material, materials_of, pieces_of
from panewright.nesting.week_sheets.nest import nest_week
from panewright.nesting.week_sheets.renest import renest

FIRST = week_of(date(2025, 1, 6))
GLASS = "clear-6"
TWO = "clear-12"
SHOP = default_shop()
TRIM = 15
EFFORT = 8


def sheet(glass: str, width: int, height: int, cost: int | None = None) -> StockPiece:
    return StockPiece(
        name=f"{glass} {width}x{height}",
        glass=glass,
        width=mm(width),
        height=mm(height),
        trim=Trim(*(mm(TRIM),) * 4),
        cost=width * height // 100 if cost is None else cost,
        buyable=True,
    )


def panel(outline: Outline, glass: str, name: str) -> Panel:
    return Panel(
        id=name,
        order=name,
        name=name,
        glass=glass,
        thickness=mm(glass.rsplit("-", 1)[1]),
        finished=outline,
        cut=outline,
        edges=(),
        mirror=True,
    )


def order(week: int, number: int, panels: Sequence[tuple[int, int]], glass: str = GLASS) -> BookedOrder:
    day = monday(week)
    return BookedOrder(
        order=f"{week}-{number}",
        product="tank",
        booked=day - timedelta(10),
        due=day,
        cut=day,
        panels=tuple(
            panel(rectangle(mm(a), mm(b)), glass, f"{week}-{number}-{k}") for k, (a, b) in enumerate(panels)
        ),
    )


def drawn(weeks: int, seed: int) -> list[BookedOrder]:
    """Small tanks and single panels of 6 mm, and longer tanks of 12 mm for which two sizes are kept."""
    rng = np.random.default_rng(seed)
    found = []
    for week in range(FIRST, FIRST + weeks):
        for k in range(int(rng.poisson(5))):
            a, b, c = (10 * int(rng.integers(*r)) for r in ((40, 130), (25, 50), (30, 55)))
            found.append(order(week, k, [(a, c), (a, c), (b, c), (b, c), (a, b)]))
        for k in range(int(rng.poisson(1.3))):
            a, b, c = (10 * int(rng.integers(*r)) for r in ((100, 290), (50, 80), (50, 80)))
            found.append(order(week, 100 + k, [(a, c), (a, c), (b, c), (b, c), (a, b)], TWO))
    return found


MATERIALS = {
    GLASS: Material(glass=GLASS, stock=(sheet(GLASS, 3210, 2250),), rules=SHOP.rules(GLASS)),
    TWO: Material(
        glass=TWO,
        stock=(sheet(TWO, 2440, 1830), sheet(TWO, 3660, 2440, 100_000)),
        rules=SHOP.rules(TWO),
    ),
}


@pytest.fixture(scope="module")
def history() -> list[BookedOrder]:
    return drawn(48, 3)


@pytest.fixture(scope="module")
def counts(history: list[BookedOrder]) -> list[WeekCount]:
    return renest(history, MATERIALS, effort=EFFORT)


@pytest.fixture(scope="module")
def measured(history: list[BookedOrder], counts: list[WeekCount]) -> tuple[Measure, dict[str, GlassWeeks]]:
    measure = Measure(MATERIALS)
    return measure, weeks_of(history, counts, measure)


# ------------------------------------------------------------------------------------------- real plans


def test_a_week_by_hand() -> None:
    """Two panels of over half a sheet whichever way cannot share one; small ones fill up what is left."""
    big = [(1700, 1650)] * 3
    found = nest_week(
        [order(FIRST, 0, [*big, (300, 300)])], GLASS, MATERIALS[GLASS].stock, Rules(), week=FIRST
    )
    assert found.sheets == {"clear-6 3210x2250": 3}
    assert found.cut == 3 * mm(1700) * mm(1650) + mm(300) ** 2
    assert found.sheet == 3 * mm(3210) * mm(2250)
    assert found.bound <= found.cost == 3 * (3210 * 2250 // 100)
    assert (found.week, found.glass, found.unplaced, found.offcuts) == (FIRST, GLASS, 0, 0)


def test_the_order_of_the_lists_does_not_matter() -> None:
    one = order(FIRST, 0, [(700, 400), (400, 700), (900, 500), (650, 300)])
    other = replace(one, panels=one.panels[::-1])
    assert kinds_of(one.panels) == kinds_of(other.panels)
    assert [k.panels for k in kinds_of(one.panels)] == [1, 2, 1]


def test_what_no_sheet_yields_is_counted_not_planned() -> None:
    found = nest_week([order(FIRST, 0, [(4000, 400), (500, 400)])], GLASS, MATERIALS[GLASS].stock, Rules())
    assert found.unplaced == 1
    assert found.sheets == {"clear-6 3210x2250": 1}
    nothing = nest_week([order(FIRST, 0, [(4000, 400)])], GLASS, MATERIALS[GLASS].stock, Rules())
    assert (nothing.unplaced, nothing.sheets, nothing.cost) == (1, {}, 0)
    assert nest_week([], GLASS, MATERIALS[GLASS].stock, Rules()) == WeekCount(week=0, glass=GLASS)


def test_an_offcut_of_long_ago_binds_nobody() -> None:
    free = replace(order(FIRST, 0, [(500, 400)], TWO).panels[0], from_stock="P-1 3/1")
    bound = replace(free, from_stock="clear-12 3660x2440")
    stock = MATERIALS[TWO].stock
    assert nest_week([free], TWO, stock, SHOP.rules(TWO)).sheets == {"clear-12 2440x1830": 1}
    assert nest_week([bound], TWO, stock, SHOP.rules(TWO)).sheets == {"clear-12 3660x2440": 1}


def test_angled_panels_share_blanks() -> None:
    """Two right triangles of half a sheet each are one rectangle: one sheet, not two."""
    legs = (mm(3100), mm(2100))
    triangle = ((0, 0), (legs[0], 0), (0, legs[1]))
    rules = replace(SHOP.rules(GLASS), longest_angled_cut=None)
    pair = [panel(triangle, GLASS, f"t{k}") for k in range(2)]
    found = nest_week(pair, GLASS, MATERIALS[GLASS].stock, rules)
    assert found.sheets == {"clear-6 3210x2250": 1}
    assert found.cut == legs[0] * legs[1]


def test_sheets_on_hand_that_run_out() -> None:
    few = replace(MATERIALS[GLASS].stock[0], buyable=False, on_hand=1)
    found = nest_week([order(FIRST, 0, [(1700, 1650)] * 2)], GLASS, [few], Rules())
    assert (found.sheets, found.unplaced) == ({few.name: 1}, 1)


def test_counts_against_bounds_of_our_own(history: list[BookedOrder], counts: list[WeekCount]) -> None:
    """No plan is under the area of its panels, nor under the number of those that exclude each other."""
    for count in counts:
        mine = [p for o in history if o.week == count.week for p in o.panels if p.glass == count.glass]
        stock = MATERIALS[count.glass].stock
        room = max(s.inner_width * s.inner_height for s in stock)
        area = sum(p.cut[2][0] * p.cut[2][1] for p in mine)
        assert count.cut == area and not count.unplaced
        least = -(-area // room)
        width, height = max((s.inner_width, s.inner_height) for s in stock)
        # whichever way two such panels lie, they overlap the middle of the sheet
        large = sum(2 * min(p.cut[2]) > max(width, height) for p in mine)
        assert sum(count.sheets.values()) >= max(least, large)
        assert count.bound <= count.cost
        assert count.cost == sum(s.cost * count.sheets.get(s.name, 0) for s in stock)


# --------------------------------------------------------------------------------------------- carry-over


def half_sheets(weeks: int) -> list[BookedOrder]:
    return [order(FIRST + w, 0, [(1500, 2200)]) for w in range(weeks)]


def test_an_offcut_serves_the_next_week() -> None:
    material = MATERIALS[GLASS]
    carry = {GLASS: carry_of(SHOP, material)}
    found = renest(half_sheets(4), MATERIALS, carry=carry, effort=EFFORT)
    assert [sum(c.sheets.values()) for c in found] == [1, 0, 1, 0]
    assert [c.offcuts for c in found] == [0, 1, 0, 1]
    assert [sum(c.sheets.values()) for c in renest(half_sheets(4), MATERIALS, effort=EFFORT)] == [1] * 4


def test_the_rack_has_an_end_and_its_worth_falls() -> None:
    no_rack = Carry(worth=Fraction(1, 10**9), rack=0)
    found = renest(half_sheets(2), MATERIALS, carry={GLASS: no_rack}, effort=EFFORT)
    assert [sum(c.sheets.values()) for c in found] == [1, 1]
    price = MATERIALS[GLASS].stock[0].cost
    whole = Fraction(price, mm(3210) * mm(2250)) / 2
    steady, falling = Carry(worth=whole), Carry(worth=whole, days=14)
    gap = [half_sheets(1)[0], order(FIRST + 1, 0, [(1500, 2200)])]
    costs = [
        [c.cost for c in renest(gap, MATERIALS, carry={GLASS: carry}, effort=EFFORT)]
        for carry in (steady, falling)
    ]
    assert costs[0][0] == costs[1][0] == price
    assert costs[0][1] // 2 == costs[1][1] > 0


# ------------------------------------------------------------------------------------------- the history


def test_known_weeks_are_not_nested_again(history: list[BookedOrder], counts: list[WeekCount]) -> None:
    some = [o for o in history if o.week < FIRST + 3]
    marked = WeekCount(week=FIRST, glass=GLASS, cost=-1)
    known = {(FIRST, GLASS): marked}
    told: list[tuple[int, int]] = []
    found = renest(some, MATERIALS, known=known, effort=EFFORT, progress=lambda a, b: told.append((a, b)))
    assert next(c for c in found if c.glass == GLASS) is marked
    assert [c for c in found if c.glass == TWO] == [
        c for c in counts if c.glass == TWO and c.week < FIRST + 3
    ]
    assert told[-1] == (len(found) - 1, len(found) - 1)


def test_an_interrupt_keeps_what_is_done(history: list[BookedOrder]) -> None:
    some = [o for o in history if o.week < FIRST + 6]
    known: dict[tuple[int, str], WeekCount] = {}

    def stop(done: int, _: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        renest(some, MATERIALS, Inline(), known=known, effort=EFFORT, progress=stop)
    assert len(known) == 3
    rest: list[int] = []
    found = renest(some, MATERIALS, known=known, effort=EFFORT, progress=lambda k, _: rest.append(k))
    assert len(found) == len(known) == 3 + rest[-1]


def test_tasks_come_in_their_order_and_errors_in_their_turn() -> None:
    assert list(each(None, str, [3, 1, 2])) == [(0, "3"), (1, "1"), (2, "2")]
    got = []
    with pytest.raises(ValueError):
        for _, value in each(Inline(), int, ["1", "x", "3"]):
            got.append(value)
    assert got == [1]


# ------------------------------------------------------------------------------------------------- rules


def test_single_size_rule_is_within_its_goal(
    measured: tuple[Measure, dict[str, GlassWeeks]], counts: list[WeekCount]
) -> None:
    """At most 0.04 sheets a week from real plans in the weeks fitted on, and little more in weeks left out."""
    measure, weeks = measured
    rules = fit_weeks(measure, weeks)
    report = next(r for r in rules.reports if r.glass == GLASS)
    got = rules.by_glass[GLASS].sheets(weeks[GLASS].sums, np.zeros(len(weeks[GLASS].weeks)))
    assert np.abs(got - weeks[GLASS].sheets).mean() <= 0.04
    assert report.error is not None and report.error <= 0.06
    assert report.bias is not None and abs(report.bias) <= report.error
    assert report.weeks == len(weeks[GLASS].weeks) == sum(c.glass == GLASS for c in counts)
    assert report.rule.startswith("cover") and 800 < (report.fill or 0) <= 1000


def test_two_sizes_keep_their_sums(measured: tuple[Measure, dict[str, GlassWeeks]]) -> None:
    """Drawn jointly, both sizes and the glass in all come out as real plans have them, on average."""
    measure, weeks = measured
    rule = fit_weeks(measure, weeks).by_glass[TWO]
    mine = weeks[TWO]
    draws = [rule.sheets(mine.sums, np.full(len(mine.weeks), u)) for u in (np.arange(40) + 0.5) / 40]
    mean = np.mean(draws, axis=(0, 1))
    assert np.abs(mean - mine.sheets.mean(axis=0)).max() < 0.15
    forced = mine.sums[:, 1] > 0
    assert np.mean([d[forced, 1] > 0 for d in draws]) > 0.9


def test_rules_hold_the_protocol(history: list[BookedOrder], counts: list[WeekCount]) -> None:
    rules = fit_rules(history, counts, MATERIALS)
    assert rules.series == ("clear-12 2440x1830", "clear-12 3660x2440", "clear-6 3210x2250")
    contents = rules.contents(history[:7])
    assert contents.values.shape == (7, len(contents.features))
    sums = contents.values.reshape(7, 1, -1)
    found = rules.sheets(sums, np.zeros((7, 1, rules.draws)))
    assert found.shape == (7, 1, 3) and found.dtype == np.int32
    assert (rules.sheets(sums * 0, np.full((7, 1, rules.draws), 0.99)) == 0).all()


def test_no_history_and_little_of_it(history: list[BookedOrder], counts: list[WeekCount]) -> None:
    """Common practice until there are weeks; then the fill of the glasses that have some."""
    bare = fit_rules([], [], MATERIALS)
    assert [(r.rule, r.fill, r.weeks, r.error) for r in bare.reports] == [("usual fill", 900, 0, None)] * 2
    early = [c for c in counts if c.glass == GLASS or c.week < FIRST + 4]
    pooled = fit_rules(history, early, MATERIALS)
    by_glass = {r.glass: r for r in pooled.reports}
    assert by_glass[TWO].rule == "usual fill"
    assert by_glass[TWO].fill == by_glass[GLASS].fill
    one = order(FIRST, 0, [(1000, 500)])
    sums = bare.contents([one]).values
    assert bare.sheets(sums, np.zeros((1, 2))).tolist() == [[0, 0, 1]]


def test_no_later_week_is_looked_at(measured: tuple[Measure, dict[str, GlassWeeks]]) -> None:
    """A rule of before a week is the same whatever comes later."""
    measure, weeks = measured
    spoilt = {
        g: GlassWeeks(w.weeks, w.sums, np.where((w.weeks >= FIRST + 36)[:, None], 9, w.sheets))
        for g, w in weeks.items()
    }
    sums = np.arange(1, 400, 7)[:, None] * np.ones(len(measure.features)) / 10
    draws = np.linspace(0, 0.999, len(sums))[:, None] * np.ones(2)

    def answers(of: dict[str, GlassWeeks]) -> list[list[int]]:
        found: list[list[int]] = fit_weeks(measure, of, before=FIRST + 36).sheets(sums, draws).tolist()
        return found

    assert answers(weeks) == answers(spoilt)
    assert fit_weeks(measure, spoilt).sheets(sums, draws).tolist() != answers(weeks)


def test_carried_weeks_take_nothing_now_and_then() -> None:
    """The rule learns from the weeks that an offcut serves half of them."""
    orders = half_sheets(24)
    carry = {GLASS: carry_of(SHOP, MATERIALS[GLASS])}
    one = {GLASS: MATERIALS[GLASS]}
    rules = fit_rules(orders, renest(orders, one, carry=carry, effort=2), one, carried=True)
    sums = np.repeat(rules.contents(orders[:1]).values, 100, axis=0)
    draws = ((np.arange(100) + 0.5) / 100)[:, None]
    assert abs(rules.sheets(sums, draws).mean() - 0.5) < 0.1
    assert rules.reports[0].rule in ("cover and rest", "line and rest")


AREAS = st.lists(st.integers(0, 60_000_000), min_size=2, max_size=2)


@given(AREAS, st.integers(600, 1000))
def test_more_area_never_takes_fewer_sheets(areas: list[int], fill: int) -> None:
    rule = Cover((7_000_000,), (1,), fill)
    less, more = rule.base(np.array(sorted(areas), dtype=np.int64)[:, None])[:, 0].tolist()
    assert less <= more
    low, high = sorted(areas)
    assert less == -(-low * 1000 // (fill * 7_000_000))
    assert more * fill * 7_000_000 >= high * 1000


@given(
    st.integers(0, 12_000_000),
    st.integers(0, 12_000_000),
    st.tuples(st.integers(1, 90), st.integers(1, 90)),
)
def test_cheapest_cover_against_every_number(small: int, large: int, costs: tuple[int, int]) -> None:
    rooms, fill = (4_000_000, 8_500_000), 900
    found = Cover(rooms, costs, fill).base(np.array([[small, large]], dtype=np.int64))[0].tolist()

    def enough(n: tuple[int, ...]) -> bool:
        held = [k * r * fill for k, r in zip(n, rooms, strict=True)]
        return held[1] >= large * 1000 and sum(held) >= (small + large) * 1000

    every = [n for n in product(range(9), range(5)) if enough(n)]
    least = min(n[0] * costs[0] + n[1] * costs[1] for n in every)
    assert enough(tuple(found))
    assert found[0] * costs[0] + found[1] * costs[1] == least


def test_large_weeks_are_filled_by_the_cheapest_area() -> None:
    rule = Cover((4_000_000, 8_500_000), (40, 90), 1000)
    found = rule.base(np.array([[4_000_000 * 1000, 0], [0, 8_500_000 * 300]], dtype=np.int64))
    assert found.tolist() == [[1000, 0], [0, 300]]


def test_best_fill_stays_clear_of_the_ends() -> None:
    fills = list(range(800, 1000, 10))
    errors = np.where((np.arange(20) >= 4) & (np.arange(20) <= 12), 0.0, 1.0)
    assert fills[best_fill(errors, fills, 700)] == 860
    assert fills[best_fill(errors, fills, 890)] == 890
    assert fills[best_fill(errors, fills, 990)] == 900


def test_score_of_a_drawn_answer() -> None:
    """Gneiting and Raftery 2007, section 4.2: of one answer the absolute error; worked by hand for 0 and 1."""
    assert crps(np.array([[3], [3]]), np.array([1])).tolist() == [2.0]
    # mean |X - 0| = 1/2, half the mean |X - X'| = 1/4
    assert crps(np.array([[0], [1]]), np.array([0])).tolist() == [0.25]


def test_numbers_of_sheets_by_sides_are_lower_bounds(
    measured: tuple[Measure, dict[str, GlassWeeks]],
) -> None:
    """Fekete and Schepers 2001: no plan needs fewer sheets; panels that cannot lie together need one each."""
    measure, weeks = measured
    for glass, mine in weeks.items():
        bars = mine.sums[:, 2 * mine.sheets.shape[1] :]
        assert (mine.sheets[:, -1:] * MILLION >= bars).all()
        assert bars.any() == (glass == TWO)
    big = measure.contents([order(FIRST, 0, [(1700, 1650)] * 3)]).values[0]
    assert big[measure.columns[GLASS]].tolist()[-1] == 3.0


def test_sums_come_back_as_whole_numbers(measured: tuple[Measure, dict[str, GlassWeeks]]) -> None:
    measure, _ = measured
    orders = drawn(3, 11)
    values = measure.contents(orders).values
    area = sum(p.cut_area2 for o in orders for p in o.panels if p.glass == GLASS) // (2 * 10**12)
    whole = round(float(values[:, measure.columns[GLASS]].sum(axis=0)[0]) * MILLION)
    assert whole == area


# ---------------------------------------------------------------------------------- weeks left to a plan


def test_bounds_decide_most_weeks_and_rightly(
    measured: tuple[Measure, dict[str, GlassWeeks]],
) -> None:
    """What the sure fills decide, a real plan of other weeks takes; the study found 95 to 99 % decided."""
    measure, weeks = measured
    rules = fit_weeks(measure, weeks)
    fresh = [o for o in drawn(15, 29) if o.panels[0].glass == GLASS]
    one = {GLASS: MATERIALS[GLASS]}
    found = weeks_of(fresh, renest(fresh, one, effort=EFFORT), Measure(one))[GLASS]
    sums = np.zeros((len(found.weeks), len(measure.features)))
    sums[:, measure.columns[GLASS]] = found.sums / MILLION
    left = undecided(rules, sums, weeks)
    assert not left[TWO].any()
    assert left[GLASS].mean() < 0.35
    low = replace(measure.cover(GLASS), fill=sure_fills(measure.cover(GLASS), weeks[GLASS]).low)
    assert (low.base(found.sums)[~left[GLASS], 0] == found.sheets[~left[GLASS], 0]).all()
    assert undecided(rules, np.ones((2, 3, len(measure.features))))[TWO].all()


def test_sure_fills_hold_in_every_nested_week(
    measured: tuple[Measure, dict[str, GlassWeeks]],
) -> None:
    measure, weeks = measured
    cover = measure.cover(GLASS)
    sure = sure_fills(cover, weeks[GLASS])
    assert sure.low < sure.high
    assert (replace(cover, fill=sure.high).base(weeks[GLASS].sums) <= weeks[GLASS].sheets).all()
    assert (replace(cover, fill=sure.low).base(weeks[GLASS].sums) >= weeks[GLASS].sheets).all()


# ------------------------------------------------------------------------------------------------ pooling


def test_two_half_sheets_are_one() -> None:
    (found,) = pooling(half_sheets(4), {GLASS: MATERIALS[GLASS]}, effort=EFFORT)
    assert (found.windows, found.weeks, found.saved) == (2, 2, Fraction(1, 2))
    assert found.area_apart == 2 * found.area_together == 4 * mm(3210) * mm(2250)
    assert found.cut == 4 * mm(1500) * mm(2200)


def test_together_never_costs_more(history: list[BookedOrder], counts: list[WeekCount]) -> None:
    some = [o for o in history if o.week < FIRST + 12]
    known = {(c.week, c.glass): c for c in counts}
    found = pooling(some, MATERIALS, weeks=3, most=3, effort=4, known=known)
    assert [f.glass for f in found] == [TWO, GLASS]
    for one in found:
        assert one.windows == 3 and 0 <= one.saved < 1
        assert one.cost_together <= one.cost_apart
        apart = [c for c in counts if c.glass == one.glass and FIRST + 3 <= c.week < FIRST + 12]
        assert one.cost_apart == sum(c.cost for c in apart)


# ------------------------------------------------------------------------------------------------- stock


def test_supply_terms_become_stock(make_panel: Callable[..., Panel]) -> None:
    """The cheaper of two suppliers counts, freight for each sheet is part of its price."""
    terms = Supply(
        name="clear-10 3210x2250",
        glass="clear-10",
        width=mm(3210),
        height=mm(2250),
        prices=(PriceStep(sheets=1, price=900_000), PriceStep(sheets=10, price=800_000)),
        freight_a_sheet=20_000,
        lead_days=9,
    )
    dear = replace(terms, supplier="other", prices=(PriceStep(sheets=1, price=990_000),))
    (piece,) = pieces_of([dear, terms], SHOP)
    assert (piece.cost, piece.lead_days, piece.buyable) == (920_000, 9, True)
    assert piece.trim == SHOP.trim("clear-10")
    found = nest_week([make_panel(500, 400)], "clear-10", [piece], SHOP.rules("clear-10"))
    assert found.sheets == {"clear-10 3210x2250": 1}


def test_materials_of_the_shop_file() -> None:
    found = materials_of(SHOP, shop_stock(SHOP))
    assert list(found) == sorted(found)
    for glass, material in found.items():
        assert {s.glass for s in material.stock} == {glass}
        rooms = [s.inner_width * s.inner_height for s in material.sizes]
        assert rooms == sorted(rooms)
    assert isinstance(fit_rules([], [], found), CalibratedRules)
