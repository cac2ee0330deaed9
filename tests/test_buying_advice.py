"""The choice of orders: brute force on tiny cases, cases and racks obeyed, deliveries shared, totals that add up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from panewright.nesting.buying.advice import Advice, SizeAdvice, advise
from panewright.nesting.buying.calendar import calendar_of
from panewright.nesting.buying.lead_time import Receiving
from panewright.nesting.buying.order_choice import EXTRA, LEAST_WEEKS, Delivery, Review, choose
from panewright.nesting.buying.paths import paths_of
from panewright.nesting.buying.settings import Arriving, BuyingSettings, PriceStep, StockNow, Supply
from panewright.nesting.buying.storage import sheet_grams
from panewright.nesting.buying.totals import Of, totals_of
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.demand.weeks import week_of
from panewright.nesting.forecast.futures import Futures

MONDAY = date(2027, 3, 8)
EURO = 10_000
SMALL, BIG, THIN = "clear-10 3210x2250", "clear-10 3660x2440", "clear-6 3210x2250"
NAMES = (SMALL, BIG, THIN)


def terms(
    name: str, *prices: tuple[int, int], who: str = "North Glass", lead: int = 7, **more: int
) -> Supply:
    """Terms of one of the invented sizes; prices in euro."""
    glass, size = name.split()
    width, height = (int(side) * 10**6 for side in size.split("x"))
    return Supply(
        name=name,
        glass=glass,
        width=width,
        height=height,
        supplier=who,
        prices=tuple(PriceStep(sheets=n, price=p * EURO) for n, p in prices or ((1, 140),)),
        lead_days=lead,
        **more,
    )


def look(
    demand: Sequence[Sequence[Sequence[int]]] | np.ndarray,  # type: ignore[type-arg]
    *,
    names: Sequence[str] = NAMES,
    on_hand: dict[str, int] | None = None,
    arriving: Sequence[Arriving] = (),
    more: int = 32,
    **own: object,
) -> Review:
    """A look at the stock with this demand of futures, weeks and sizes."""
    sheets = np.asarray(demand, np.int32)
    known = np.zeros(sheets.shape[1:], np.int32)
    futures = Futures(first=week_of(MONDAY), series=tuple(names), sheets=sheets, known=known)
    return Review(
        paths=paths_of(futures, LEAST_WEEKS + more),
        stock=StockNow(on_hand=on_hand or {}, arriving=tuple(arriving)),
        receiving=Receiving(today=MONDAY, calendar=CuttingDays()),
        settings=BuyingSettings(**own),  # type: ignore[arg-type]
        seed=7,
    )


def poisson(means: Sequence[float], futures: int = 60, weeks: int = 8, seed: int = 2) -> np.ndarray:  # type: ignore[type-arg]
    """Poisson weeks of several sizes, busy and quiet futures."""
    stream = np.random.Generator(np.random.Philox(seed))
    level = stream.gamma(12, 1 / 12, (futures, 1, 1))
    return stream.poisson(level * np.array(means), (futures, weeks, len(means)))


def by_hand(look: Review, supply: Supply, today: int, quantity: int, levels: Sequence[int], once: int) -> int:
    """Cost of a way of ordering, future by future and sheet by sheet, from the words of the docstrings alone."""
    demand = look.paths.of(supply.name)
    lead = -(-supply.lead_days // 7)
    total = {"glass": 0, "fees": 0, "short": 0}
    halves = 0
    for future in demand:
        hand = position = look.stock.on_hand.get(supply.name, 0)
        coming: dict[int, int] = {}
        bought = paid = fees = 0
        for week in range(look.weeks):
            order = today
            if week:
                lack = levels[week] - position
                order = 0
                if lack > 0:
                    order = max(lack, quantity, supply.least)
                    order += -order % supply.case
            price = [s.price for s in supply.prices if s.sheets <= max(1, order)][-1]
            paid += order * price
            fees += once if order else 0
            bought += order
            position += order
            coming[week + lead] = coming.get(week + lead, 0) + order
            hand += coming.pop(week, 0)
            halves += max(0, hand)
            hand -= int(future[week])
            position -= int(future[week])
            halves += max(0, hand)
            total["short"] += max(0, -hand) * look.settings.short_cost
        used = min(bought, max(0, bought - max(0, position)))
        total["glass"] += paid * used // max(1, bought)
        total["fees"] += fees * used // max(1, bought)
    n = len(demand)
    held = Fraction(halves * supply.prices[0].price, 104) * look.settings.holding / n
    return total["glass"] // n + total["fees"] // n + int(held) + total["short"] // n


@pytest.mark.parametrize(("mean", "hand", "case", "least"), [(1.5, 2, 1, 1), (0.7, 0, 3, 4), (3.0, 12, 2, 1)])
def test_the_choice_is_the_best_of_trying_every_way(mean: float, hand: int, case: int, least: int) -> None:
    supply = terms(SMALL, (1, 140), (8, 131), lead=7, case=case, least=least, freight=60 * EURO)
    mine = look(poisson([mean, 0, 0], 12, 6), on_hand={SMALL: hand})
    found = choose([supply], mine)
    once = mine.settings.order_cost + supply.freight
    costs = {}
    start = mine.start(supply)
    weeks = start.demand.shape[1]
    for quantity in {t.quantity for t in found.tried}:
        for extra in EXTRA:
            # one week to come and one of review: the quantile of two weeks' demand, from each week on
            ends = [min(weeks, w + 2) for w in range(weeks)]
            sums = [sorted(int(f[w : ends[w]].sum()) for f in start.demand) for w in range(weeks)]
            levels = [s[11] + extra for s in sums]  # 95 of 100 of 12 futures are all 12
            lack = levels[0] - hand
            today = 0
            if lack > 0:
                today = max(quantity, lack, least)
                today += -today % case
            costs[quantity, extra] = by_hand(mine, supply, today, quantity, levels, once)
    best = min(costs.items(), key=lambda c: (c[1], c[0]))
    assert (found.best.quantity, found.best.extra) == best[0]
    assert found.best.cost.total == best[1]


def test_nothing_is_advised_where_nothing_is_needed() -> None:
    supplies = [terms(name, case=4, freight=90 * EURO) for name in NAMES]
    advice = advise(supplies, look(np.zeros((50, 8, 3), int)))
    assert [s.sheets for s in advice.sizes] == [0, 0, 0]
    assert (advice.orders, advice.deliveries, advice.money) == ((), (), 0)
    assert calendar_of(advice).orders == ()
    assert all(t.high == 0 for t in totals_of(advice).totals)
    # nor is anything where the stock lasts
    full = advise(supplies, look(poisson([1, 1, 1]), on_hand=dict.fromkeys(NAMES, 60)))
    assert [s.sheets for s in full.sizes] == [0, 0, 0]


SUPPLIES = st.tuples(
    st.integers(1, 8), st.integers(1, 12), st.integers(0, 120), st.integers(1, 25), st.integers(0, 5)
)


@given(
    shape=SUPPLIES,
    hands=st.tuples(*[st.integers(-2, 15)] * 3),
    means=st.tuples(*[st.floats(0, 4)] * 3),
    limit=st.none() | st.integers(0, 40),
    kilos=st.none() | st.integers(0, 9000),
)
@settings(max_examples=5, derandomize=True, deadline=None, phases=[Phase.generate])
def test_orders_obey_cases_least_order_and_racks(
    shape: tuple[int, int, int, int, int],
    hands: tuple[int, int, int],
    means: tuple[float, float, float],
    limit: int | None,
    kilos: int | None,
) -> None:
    case, least, freight, lead, spread = shape
    supplies = [
        terms(
            n,
            (1, 140),
            (10, 130),
            lead=lead,
            case=case,
            least=least,
            freight=freight * EURO,
            lead_spread=spread,
        )
        for n in NAMES
    ]
    mine = look(
        poisson(means, 30),
        on_hand=dict(zip(NAMES, hands, strict=True)),
        storage_sheets={} if limit is None else {"clear-10": limit},
        storage_kg=kilos,
    )
    advice = advise(supplies, mine)
    for size in advice.sizes:
        assert size.sheets % case == 0
        assert not size.sheets or size.sheets >= least
        assert size.sheets <= size.choice.wanted
        assert size.limited == (size.sheets < size.choice.wanted)
        if not size.limited and size.need.need:
            assert size.service >= size.need.service
    _racks_hold(advice, mine, limit, kilos)


def _racks_hold(advice: Advice, mine: Review, limit: int | None, kilos: int | None) -> None:
    """When an order of today comes the racks hold it in 95 of 100 futures; later orders do not count."""
    rows = np.arange(mine.paths.futures)

    def in_racks(size: SizeAdvice, week: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        summed = np.cumsum(size.choice.start.demand, axis=1)
        gone = np.where(week > 0, summed[rows, np.maximum(0, week - 1)], 0)
        come = size.sheets * (size.choice.start.lines.usable[:, 0] <= week)
        return np.maximum(0, size.need.on_hand + come - gone)

    for size in advice.orders:
        week = size.choice.start.lines.usable[:, 0]
        if limit is not None and size.supply.glass == "clear-10":
            there = sum(in_racks(o, week) for o in advice.sizes if o.supply.glass == "clear-10")
            assert (np.asarray(there) <= limit).sum() >= Fraction(95, 100) * len(rows)
        if kilos is not None:
            grams = sum(in_racks(o, week) * sheet_grams(o.supply) for o in advice.sizes)
            assert (np.asarray(grams) <= kilos * 1000).sum() >= Fraction(95, 100) * len(rows)


def test_racks_that_hold_too_little_are_told_and_the_most_pressing_size_goes_first() -> None:
    supplies = [terms(n) for n in NAMES]
    mine = look(poisson([2, 2, 1]), on_hand={SMALL: 0, BIG: 3, THIN: 4}, storage_sheets={"clear-10": 6})
    found = {s.supply.name: s for s in advise(supplies, mine).sizes}
    assert found[SMALL].limited
    assert found[SMALL].sheets > 0
    assert found[SMALL].room is not None
    assert found[THIN].room is None


def test_a_size_rides_along_where_the_delivery_comes_anyway() -> None:
    def sheets(freight: int, who: str) -> dict[str, tuple[int, bool]]:
        supplies = [
            terms(SMALL, freight=freight * EURO),
            terms(THIN, freight=freight * EURO, who=who),
        ]
        mine = look(
            poisson([2, 2], 80), names=(SMALL, THIN), on_hand={SMALL: 0, THIN: 9}, order_cost=0, short_cost=0
        )
        return {s.supply.name: (s.sheets, s.joins) for s in advise(supplies, mine).sizes}

    along = sheets(150, "North Glass")
    assert along[SMALL][0] > 0
    assert not along[SMALL][1]
    assert along[THIN][0] > 0
    assert along[THIN][1]
    # not with another supplier, and not where deliveries cost nothing
    assert sheets(150, "South Glass")[THIN] == (0, False)
    assert sheets(0, "North Glass")[THIN] == (0, False)


def test_a_delivery_is_paid_once_for_all_sizes_of_a_supplier() -> None:
    supplies = [terms(n, freight=90 * EURO, freight_a_sheet=2 * EURO) for n in NAMES]
    advice = advise(supplies, look(poisson([2, 2, 2])))
    assert len(advice.orders) == 3
    assert len(advice.deliveries) == 1
    assert advice.deliveries[0].names == tuple(s.supply.name for s in advice.sizes)
    glass = sum(s.sheets * (s.each + 2 * EURO) for s in advice.sizes)
    assert advice.money == glass + 90 * EURO + 40 * EURO


def test_a_dear_supplier_is_taken_where_running_short_costs_more() -> None:
    slow = terms(SMALL, (1, 130), who="Works", lead=35)
    fast = terms(SMALL, (1, 150), who="Stockist", lead=7)

    def taken(short_cost: int) -> str:
        mine = look(poisson([3, 0, 0]), on_hand={SMALL: 4}, short_cost=short_cost * EURO)
        found = advise([slow, fast], mine).sizes[0]
        assert {t.supply.supplier for t in found.choice.tried} == {"Works", "Stockist"}
        return found.supply.supplier

    assert taken(5) == "Works"
    assert taken(500) == "Stockist"


def test_a_larger_sheet_of_the_glass_helps_out() -> None:
    found = {
        s.supply.name: s
        for s in advise([terms(n) for n in NAMES], look(poisson([2, 0, 1]), on_hand={BIG: 7})).sizes
    }
    assert [(s.name, s.spare) for s in found[SMALL].substitutes] == [(BIG, 7)]
    assert found[BIG].substitutes == ()
    assert found[THIN].substitutes == ()


def test_open_orders_that_are_short_are_bought_for() -> None:
    mine = look(poisson([0.02, 0, 0]), short_cost=0)
    assert advise([terms(SMALL)], mine).sizes[0].sheets == 0
    assert advise([terms(SMALL, case=2)], mine, missing={SMALL: [MONDAY] * 3}).sizes[0].sheets >= 4
    # those that an order of the next look is in time for can wait
    late = MONDAY + timedelta(days=30)
    assert advise([terms(SMALL, case=2)], mine, missing={SMALL: [late] * 3}).sizes[0].sheets == 0


def test_a_quicker_supplier_bridges_where_open_orders_wait_or_running_short_is_dear() -> None:
    slow = terms(SMALL, (1, 130), who="Works", lead=21)
    fast = terms(SMALL, (1, 150), who="Stockist", lead=4)

    def bridged(hand: int, short_cost: int, missing: int = 0) -> tuple[int, int, int]:
        mine = look(
            poisson([2, 0, 0], 100), on_hand={SMALL: hand}, short_cost=short_cost * EURO, order_cost=0
        )
        found = advise([slow, fast], mine, missing={SMALL: [MONDAY + timedelta(days=2)] * missing})
        size = found.sizes[0]
        assert size.supply.supplier == "Works"
        if size.bridge is None:
            return 0, 0, len(found.deliveries)
        assert size.bridge.supply.supplier == "Stockist"
        assert size.bridge.money == size.bridge.sheets * 150 * EURO
        firm = [o.supply.supplier for o in calendar_of(found).orders if o.firm]
        assert firm == ["Stockist", "Works"]
        return size.bridge.sheets, size.bridge.for_open, len(found.deliveries)

    assert bridged(2, 1) == (0, 0, 1)
    sheets, for_open, deliveries = bridged(0, 40)
    assert sheets > 0
    assert (for_open, deliveries) == (0, 2)
    assert bridged(2, 1, missing=2)[1:] == (2, 2)


def test_extra_safety_pays_where_running_short_is_dear() -> None:
    dear = choose(
        [terms(SMALL)], look(poisson([2, 0, 0], 200), service=Fraction(1, 2), short_cost=2000 * EURO)
    )
    cheap = choose([terms(SMALL)], look(poisson([2, 0, 0], 200), service=Fraction(1, 2), short_cost=0))
    assert dear.best.extra == max(EXTRA)
    assert cheap.best.extra == 0


def test_riding_along_pays_no_delivery() -> None:
    supply = terms(SMALL, freight=100 * EURO)
    mine = look(poisson([1, 0, 0]), on_hand={SMALL: 9})
    alone = choose([supply], mine)
    joins = choose([supply], mine, delivery=Delivery(joins=True))
    assert alone.best.today == 0
    assert joins.best.today > 0


def test_calendar_and_totals_add_up() -> None:
    supplies = [terms(n, (1, 140), (10, 130), case=3, freight=90 * EURO, lead_spread=2) for n in NAMES]
    arriving = [Arriving(name=BIG, sheets=6, day=MONDAY + timedelta(days=3))]
    mine = look(poisson([3, 1.5, 2], 100), on_hand={SMALL: 5, BIG: 2, THIN: 9}, arriving=arriving)
    advice = advise(supplies, mine)
    calendar = calendar_of(advice)
    firm = {o.supply.name: o.sheets for o in calendar.orders if o.firm}
    assert firm == {s.supply.name: s.sheets for s in advice.orders}
    assert all(o.earliest <= o.week and o.sheets % 3 == 0 for o in calendar.orders)
    assert [o.week for o in calendar.orders] == sorted(o.week for o in calendar.orders)
    for order in calendar.orders:
        assert order.arrival >= order.day + timedelta(days=7)
        assert order.money == order.sheets * (130 if order.sheets >= 10 else 140) * EURO
    for stock, size in zip(calendar.stock, advice.sizes, strict=True):
        assert len(stock.median) == calendar.weeks == 8
        for _, low, high in stock.bands:
            assert all(a <= b <= c for a, b, c in zip(low, stock.median, high, strict=True))
        # hand and order less demand is what is left, in every future
        made = size.run.orders.sum(axis=1)
        left = (
            size.need.on_hand
            + size.need.on_order
            + made
            - size.choice.start.demand[:, : mine.weeks].sum(axis=1)
        )
        assert np.array_equal(size.run.position, left)
    totals = totals_of(advice)
    demand = mine.paths.demand[:, :8].sum(axis=1)
    need = totals.of(Of.NEED_SHEETS)
    ranked = sorted(demand.sum(axis=1).tolist())
    assert (need.mean, need.median, need.high) == (sum(ranked) // 100, ranked[49], ranked[94])
    assert need.apart == sum(sorted(demand[:, k].tolist())[94] for k in range(3))
    area = totals.of(Of.NEED_AREA)
    sizes = [
        s.supply.width * s.supply.height
        for s in sorted(advice.sizes, key=lambda s: NAMES.index(s.supply.name))
    ]
    assert area.high == sorted(sum(int(n) * a for n, a in zip(row, sizes, strict=True)) for row in demand)[94]
    assert totals.of(Of.DELIVERY_MONEY).apart is None
    racks = {r.glass: r for r in totals.racks}
    assert racks["clear-10"].high <= racks["clear-10"].apart


def test_the_same_seed_gives_the_same_advice() -> None:
    supplies = [terms(n, lead=9, lead_spread=4) for n in NAMES]
    one, two = (advise(supplies, look(poisson([2, 1, 1]))) for _ in range(2))
    assert [(s.sheets, s.choice.best) for s in one.sizes] == [(s.sheets, s.choice.best) for s in two.sizes]
    other = advise(supplies, replace(look(poisson([2, 1, 1])), seed=8))
    assert not np.array_equal(
        one.sizes[0].choice.start.lines.usable, other.sizes[0].choice.start.lines.usable
    )
