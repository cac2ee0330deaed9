"""Which sizes to stock: LPs of sets, price breaks, the best sets and whole weeks, against enumeration and LPs of their own."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.assortment.best_sets import BestSets
from panewright.nesting.assortment.demand import Demand, demand_of, spread
from panewright.nesting.assortment.offers import cost_of, offers_of, order_size
from panewright.nesting.assortment.price_breaks import price_breaks
from panewright.nesting.assortment.size_pool import SizePool
from panewright.nesting.assortment.staged import not_held, pool_of
from panewright.nesting.assortment.weekly_plans import Case, Planned, WeekWork, best_known, plan_weeks
from panewright.nesting.assortment.whole_weeks import WholeWeeks, cheapest_cover
from panewright.nesting.buying.settings import PriceStep, Supply
from panewright.nesting.lp.generation import Generation
from panewright.nesting.optimizer.instance import build
from panewright.nesting.optimizer.plain import plain_panel, plain_sheet
from panewright.nesting.outlines import rectangle
from panewright.nesting.rules import Rules
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import mm
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.kinds import Kind

GLASS = "clear-10"
RULES = Rules(break_out=mm(30))
SIZES = ((2400, 1600), (3000, 2000), (2000, 1500))


def piece(width: int, height: int, per_m2: int = 10) -> StockPiece:
    return StockPiece(
        name=f"{GLASS} {width}x{height}",
        glass=GLASS,
        width=mm(width),
        height=mm(height),
        trim=Trim(*(mm(15),) * 4),
        cost=width * height * per_m2 // 100,
        buyable=True,
    )


def kind(width: int, height: int, panels: int) -> Kind:
    return Kind(rectangle(mm(width), mm(height)), "any", False, False, "", panels)


def week(*rows: tuple[int, int, int]) -> tuple[Kind, ...]:
    return tuple(sorted(kind(*row) for row in rows))


WEEKS = Demand(
    glass=GLASS,
    weeks=(
        (1, week((1200, 500, 4), (700, 450, 6), (900, 380, 3))),
        (2, week((1200, 500, 2), (610, 330, 9))),
        (4, week((1500, 600, 3), (700, 450, 2))),
    ),
    number=4,
)


@pytest.fixture(scope="module")
def pool() -> SizePool:
    return pool_of(WEEKS, [piece(*size) for size in SIZES], RULES)


def lp_of(pieces: list[StockPiece], rules: Rules = RULES) -> tuple[float, float]:
    """Value and bound of the LP of these sizes alone, by the LP of the planner: another pricing."""
    instance = pool_of(WEEKS, pieces, rules).instance
    lp = Generation(instance, range(len(pieces)))
    for _ in lp.rounds():
        if lp.solved:
            break
    return lp.value, float(lp.raw)


def test_lp_of_every_set_agrees_with_an_lp_of_its_own(pool: SizePool) -> None:
    for count in (1, 2, 3):
        for sizes in combinations(range(3), count):
            mine = pool.solve(sizes, 3e-4)
            value, bound = lp_of([piece(*SIZES[s]) for s in sizes])
            assert mine.bound <= value * (1 + 1e-7)
            assert bound <= mine.value * (1 + 1e-7)
            assert mine.value == pytest.approx(value, rel=6e-4)


@pytest.mark.parametrize("rules", [Rules(break_out=mm(30), levels=2), Rules(break_out=0, last_cut=False)])
def test_other_levels_agree_too(rules: Rules) -> None:
    pieces = [piece(*size) for size in SIZES[:2]]
    mine = pool_of(WEEKS, pieces, rules).solve(range(2), 1e-5)
    assert mine.value == pytest.approx(lp_of(pieces, rules)[0], rel=3e-4)


def test_panels_that_may_not_turn_have_tables_of_their_own() -> None:
    panels = [plain_panel(w, h, f"{k}", turn=False) for k, (w, h) in enumerate([(700, 300), (400, 500)] * 6)]
    rules = Rules(break_out=0, corner_depth=0)
    instance = build(panels, [plain_sheet(2000, 1100), plain_sheet(1500, 900)], rules)
    lp = Generation(instance, [0, 1])
    for _ in lp.rounds():
        pass
    assert SizePool(instance).solve([0, 1], 1e-6).value == pytest.approx(lp.value, rel=3e-4)


@pytest.mark.parametrize(("turn", "value"), [(False, 293.25), (True, 290.25)])
def test_gcut1d_has_the_published_value(turn: bool, value: float) -> None:
    """gcut1 of Beasley 1985 with the demands of gcut1d: 294 sheets, 291 with turning (Cintra and others 2008, EJOR
    191:61-85, values and LP values from memory; the order of the items from memory too).
    """
    sizes = [
        (167, 184),
        (114, 118),
        (167, 152),
        (83, 140),
        (70, 86),
        (143, 166),
        (120, 160),
        (66, 148),
        (87, 141),
        (69, 165),
    ]
    demand = [90, 75, 71, 13, 39, 79, 63, 93, 61, 85]
    panels = [
        plain_panel(w, h, f"{k}-{i}", turn=turn)
        for k, ((w, h), n) in enumerate(zip(sizes, demand, strict=True))
        for i in range(n)
    ]
    rules = Rules(break_out=0, corner_depth=0)
    found = SizePool(build(panels, [piece_at(plain_sheet(250, 250), 10_000)], rules)).solve([0], 1e-6)
    assert found.value / 10_000 == pytest.approx(value, abs=0.01)
    assert value - 0.1 < found.bound / 10_000 <= value + 1e-6


def test_best_sets_are_those_of_plain_enumeration(pool: SizePool) -> None:
    found = BestSets(pool, 3, gap=1e-4).run()
    for ranking in found.rankings:
        every = [pool.solve(s, 1e-4).value for s in combinations(range(3), ranking.count)]
        assert ranking.proved
        assert ranking.best is not None
        assert ranking.best.value <= min(every) * (1 + 2e-4)


def test_a_size_enters_below_its_price_break_and_not_above() -> None:
    pieces = [piece(*SIZES[0]), piece(*SIZES[1])]
    found = price_breaks(pool_of(WEEKS, pieces, RULES), [0], 1e-6)
    below = next(b.below for b in found.breaks if b.size == 1)

    def share(cost: int) -> float:
        other = pool_of(WEEKS, [pieces[0], piece_at(pieces[1], cost)], RULES)
        return other.solve([0, 1], 1e-6).sheets[1]

    assert share(below * 1002 // 1000) == pytest.approx(0.0, abs=1e-6)
    assert share(below * 990 // 1000) > 0.01


def piece_at(one: StockPiece, cost: int) -> StockPiece:
    return replace(one, cost=cost)


def test_a_stocked_size_is_worth_what_it_costs(pool: SizePool) -> None:
    found = price_breaks(pool, [1], 1e-4)
    mine = next(b for b in found.breaks if b.size == 1)
    assert (mine.stocked, mine.cost, mine.is_worth) == (True, mine.below, False)


@settings(max_examples=6, deadline=None)
@given(
    rows=st.lists(
        st.tuples(st.integers(30, 120), st.integers(30, 90), st.integers(1, 5)),
        min_size=1,
        max_size=4,
        unique_by=lambda r: r[:2],
    ),
    dearer=st.integers(1, 4),
)
def test_one_more_size_or_a_lower_price_never_costs_more(
    rows: list[tuple[int, int, int]], dearer: int
) -> None:
    demand = Demand(glass=GLASS, weeks=((1, week(*((10 * w, 10 * h, n) for w, h, n in rows))),), number=1)
    sizes = [piece(*size) for size in SIZES]
    pool = pool_of(demand, sizes, RULES)
    one, two = pool.solve([0], 1e-4), pool.solve([0, 1], 1e-4)
    assert two.bound <= one.value * (1 + 1e-9)
    assert two.value <= one.value * (1 + 2e-4)
    up = pool_of(demand, [piece_at(sizes[0], sizes[0].cost * (10 + dearer) // 10)], RULES).solve([0], 1e-4)
    assert up.value >= one.bound * (1 - 1e-9)


@given(
    worth=st.integers(0, 60),
    rows=st.lists(st.tuples(st.integers(1, 20), st.integers(1, 30)), min_size=1, max_size=3),
)
def test_cheapest_cover_is_that_of_enumeration(worth: int, rows: list[tuple[int, int]]) -> None:
    values, costs = [v for v, _ in rows], [c for _, c in rows]
    most = [-(-worth // v) for v in values]
    best = min(
        sum(n * c for n, c in zip(ns, costs, strict=True))
        for ns in product(*(range(m + 1) for m in most))
        if sum(n * v for n, v in zip(ns, values, strict=True)) >= worth
    )
    assert cheapest_cover(worth, values, costs) == best


def test_whole_weeks_bound_the_plans(pool: SizePool) -> None:
    weeks = WholeWeeks(pool, WEEKS)
    sets = [(0,), (1,), (0, 2)]
    planned = plan_weeks(
        WEEKS, [Case(stock=tuple(piece(*SIZES[s]) for s in x), rules=RULES) for x in sets], effort=6
    )
    for sizes, plan in zip(sets, planned, strict=True):
        assert plan is not None
        assert plan.unplaced == 0
        assert weeks.cost(sizes) <= plan.cost
        assert pool.solve(sizes, 1e-3).bound <= plan.cost
        assert plan.bound <= plan.cost
        assert plan.cut == WEEKS.area
        assert sum(plan.sheets().values()) == sum(sum(plan.by_week(piece(*SIZES[s]).name)) for s in sizes)
        assert plan.cuts > WEEKS.panels
        assert plan.score > 0


def test_a_panel_longer_than_a_size_forces_a_larger_one() -> None:
    demand = Demand(glass=GLASS, weeks=((1, week((2700, 400, 2), (700, 450, 2))),), number=1)
    pool = pool_of(demand, [piece(*size) for size in SIZES], RULES)
    assert pool.left_out([0, 2])
    assert not pool.left_out([0, 1])
    found = BestSets(pool, 2).run()
    assert found.rankings[0].best is not None
    assert found.rankings[0].best.sizes == (1,)
    assert found.rankings[1].best is not None
    assert 1 in found.rankings[1].best.sizes
    with pytest.raises(ValueError, match="fits none"):
        pool.solve([0])


def test_what_no_size_yields_is_named() -> None:
    kinds = week((3300, 400, 1), (700, 450, 2))
    refused = not_held(kinds, GLASS, [piece(*size) for size in SIZES], RULES)
    assert [k.panels for k, _ in refused] == [1]
    assert refused[0][1].rule == "larger than every sheet"


def test_a_long_score_keeps_large_sheets_out_of_the_lp() -> None:
    shorter = Rules(break_out=mm(30), longest_cut=mm(1700))
    wide = pool_of(WEEKS, [piece(3000, 2000)], RULES).solve([0], 1e-3)
    tight = pool_of(WEEKS, [piece(2400, 1600)], shorter).solve([0], 1e-3)
    assert tight.value > 0
    assert pool_of(WEEKS, [piece(3000, 2000)], shorter).many.families == []
    assert wide.value > 0


def test_orders_are_whole_cases_and_take_their_part_of_the_freight() -> None:
    terms = Supply(
        name="a", glass=GLASS, width=mm(3000), height=mm(2000), case=12, least=20, freight=900, freight_a_sheet=7,
        prices=(PriceStep(sheets=1, price=1000), PriceStep(sheets=24, price=900)),
    )  # fmt: skip
    assert order_size(terms, 13) == 24
    assert cost_of(terms, 24) == 900 + 7 + 38
    assert cost_of(terms, 12) == 1000 + 7 + 75


def test_of_two_suppliers_the_cheaper_counts_at_the_wanted_quantity() -> None:
    def terms(supplier: str, price: int, least: int) -> Supply:
        return Supply(
            name=f"{GLASS} 3000x2000", glass=GLASS, width=mm(3000), height=mm(2000), supplier=supplier,
            prices=(PriceStep(sheets=1, price=price),), least=least, freight=60_000,
        )  # fmt: skip

    supplies = [terms("near", 500_000, 1), terms("far", 490_000, 100)]
    few = offers_of(supplies, GLASS, Shop(), WEEKS.area)
    assert [(o.supply.supplier, o.sheets) for o in few] == [("far", 100)]
    assert [s.supplier for s, _ in few[0].others] == ["near"]


def test_weeks_of_a_sample_are_spread_and_hold_no_more_kinds() -> None:
    assert spread(6) == [0, 3, 1, 4, 2, 5]
    part = WEEKS.sample(4)
    assert 0 < len(part.weeks) < 3
    assert len(part.kinds) <= 4
    assert WEEKS.sample(50) is WEEKS
    assert WEEKS.a_year(100) == 1300


def test_nothing_ordered_is_an_empty_demand() -> None:
    assert demand_of([], GLASS, range(5), [2]) == Demand(glass=GLASS, weeks=(), number=4)


def test_a_plan_of_fewer_sizes_is_a_plan_of_more() -> None:
    small, large = piece(2000, 1000), piece(3000, 2000)

    def found(*weeks: tuple[StockPiece, int, int]) -> Planned:
        counts = [
            WeekCount(week=w, glass="clear-10", sheets={s.name: n}, cost=s.cost * n, bound=bound)
            for w, (s, n, bound) in enumerate(weeks)
        ]
        return Planned(weeks=tuple(WeekWork(c, 0, 0) for c in counts), whole=True)

    cases = [Case(stock=s, rules=RULES) for s in ((small,), (small, large), (large,))]
    # the pair was unlucky in both weeks: in the first it should have cut small sheets, in the second large ones
    alone, both, big = (
        found((small, 2, 5), (small, 7, 5)),
        found((large, 1, 4), (small, 7, 4)),
        found((large, 1, 4), (large, 1, 9)),
    )
    told = best_known(cases, [alone, both, big])
    assert told[0] == alone
    assert told[2] == big
    assert told[1] is not None
    assert told[1].sheets() == {large.name: 1, small.name: 2}
    assert told[1].cost <= min(alone.cost, big.cost)
    assert told[1].bound == 8  # its own, not that of the plans that it takes over
    assert best_known(cases, [alone, None, None]) == [alone, None, None]
