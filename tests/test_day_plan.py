"""The plan of a day: order of sheets, days, places on the racks, lateness and its rule.

Open orders are counted here once more by plain enumeration, and orders of few sheets are tried out in all ways;
that an order is open from its first sheet to its last is the usual definition (Yanasse, Int. J. Prod. Res. 1997,
from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.day_words import late_words
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.day.day_plan import DayPlan, NoSuchSheet, plan_day
from panewright.nesting.day.filling import DayLimits, fill_days
from panewright.nesting.day.lateness import LateBy, late_orders
from panewright.nesting.day.ordering import SheetsToOrder, best_order
from panewright.nesting.day.racks import place_names, rack_places
from panewright.nesting.day.sheets import DaySheet, SamePanelTwice, sheets_of
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import Plan, Unplaced
from panewright.nesting.shop import Shop, StockSize
from panewright.nesting.shop_table import Racks
from panewright.nesting.units import MONEY, mm

MONDAY = date(2027, 3, 1)
FRIDAY = MONDAY + timedelta(days=4)
ORDERS = "ABCDEFG"
METRE = mm(1000)


def shop(
    sheets: int | None = None,
    seconds: int | None = None,
    edging: int | None = None,
    racks: Racks | None = None,
    **more: object,
) -> Shop:
    clock = {} if seconds is None else {"a_sheet": 600, "a_cut": 60}
    return Shop(
        cutting_days=CuttingDays(sheets=sheets, seconds=seconds, **clock, **more),
        racks=replace(racks or Racks(), edging_metres=edging),
    )


days = st.one_of(st.none(), st.integers(-2, 9).map(lambda n: MONDAY + timedelta(days=n)))
dues = st.fixed_dictionaries(dict.fromkeys(ORDERS, days))
rows = st.lists(st.lists(st.sampled_from(ORDERS), min_size=1, max_size=4), min_size=1, max_size=7)
shops = st.builds(
    shop,
    sheets=st.sampled_from([None, 1, 2, 3]),
    seconds=st.sampled_from([None, 700, 1500, 2500]),
    edging=st.sampled_from([None, 2 * METRE, 5 * METRE, 9 * METRE]),
    racks=st.sampled_from([Racks(), Racks(names=("A", "rack 2"), slots=2)]),
)


def week(make: Callable[..., Plan], rows: list[list[str]], due: dict[str, date | None]) -> Plan:
    return make(*([(order, due.get(order)) for order in row] for row in rows))


def open_by_hand(sheets: list[DaySheet], opened: set[str]) -> list[set[str]]:
    """Open at a sheet: met by then, or before the first one, and met again from there on."""
    held = [{panel.order for panel in sheet.panels} for sheet in sheets]
    return [
        {
            order
            for order in set().union(*held)
            if (order in opened or any(order in mine for mine in held[: at + 1]))
            and any(order in mine for mine in held[at:])
        }
        for at in range(len(held))
    ]


@settings(max_examples=150)
@given(rows=rows, due=dues, shop=shops, cut=st.integers(0, 3))
def test_every_sheet_once_on_a_day_that_holds_it(rows, due, shop, cut, week_plan):
    plan = week(week_plan, rows, due)
    done = [(plan.id, number) for number in range(min(cut, len(rows)), 0, -1)]
    day = plan_day([plan], shop, MONDAY, done=done)
    sequence = [one.sheet for one in day.sheets]
    assert sorted(s.key for s in (*day.done, *sequence)) == [(plan.id, n) for n in range(1, len(rows) + 1)]
    assert [one.day for one in day.sheets] == sorted(one.day for one in day.sheets)
    assert sum(len(total.sheets) for total in day.days) == len(sequence)
    table = shop.cutting_days
    for total in day.days:
        assert total.day.weekday() in table.working
        if len(total.sheets) > 1:
            assert table.sheets is None or len(total.sheets) <= table.sheets
            assert table.seconds is None or total.seconds <= table.seconds
            edging = shop.racks.edging_metres
            assert edging is None or total.edging <= edging
    opened = {p.order for sheet in day.done for p in sheet.panels}
    by_hand = open_by_hand(sequence, opened)
    assert [one.open_orders for one in day.sheets] == [len(orders) for orders in by_hand]
    assert day.ordered.standing.most_open == max(map(len, by_hand), default=0)
    assert day.ordered.standing.open_sum == sum(map(len, by_hand))
    assert day.ordered.bound <= day.ordered.standing.most_open
    assert day.ordered.bound_in_time <= day.ordered.standing.most_open
    assert day.ordered.standing <= day.filed


@settings(max_examples=100)
@given(rows=rows, due=dues, shop=shops)
def test_no_place_is_shared_and_each_is_the_lowest_free(rows, due, shop, week_plan):
    day = plan_day([week(week_plan, rows, due)], shop, MONDAY)
    sequence = [one.sheet for one in day.sheets]
    names = place_names(shop.racks)
    held: set[str] = set()
    for one, orders in zip(day.sheets, open_by_hand(sequence, set()), strict=True):
        begun = [order for order in dict.fromkeys(p.order for p in one.sheet.panels) if order in one.opened]
        for order in begun:
            free = [name for name in names if name not in held]
            assert day.places[order] == (free[0] if free else None)
            held |= {day.places[order]} - {None}
        taken = [day.places[order] for order in orders if day.places[order] is not None]
        assert len(taken) == len(set(taken))
        assert held == set(taken)
        held -= {day.places[order] for order in one.closed}


@settings(max_examples=60)
@given(rows=rows, due=dues, shop=shops)
def test_an_open_order_keeps_its_place_overnight(rows, due, shop, week_plan):
    plan = week(week_plan, rows, due)
    today = plan_day([plan], shop, MONDAY)
    done = [one.sheet.key for one in today.today]
    tomorrow = plan_day([plan], shop, today.on + timedelta(days=1), done=done)
    for order in tomorrow.orders:
        if order.is_open:
            assert order.place == today.places[order.name]


@settings(max_examples=60)
@given(rows=st.lists(st.lists(st.sampled_from(ORDERS), min_size=1, max_size=3), min_size=1, max_size=6))
def test_without_due_days_the_fewest_open_orders_of_all_ways(rows, week_plan):
    day = plan_day([week(week_plan, rows, {})], shop(sheets=2), MONDAY)
    sheets = [one.sheet for one in day.sheets]
    least = min(max(map(len, open_by_hand(list(way), set()))) for way in permutations(sheets))
    assert day.ordered.standing.most_open == least == day.ordered.bound
    assert day.ordered.proven


@settings(max_examples=60)
@given(
    rows=st.lists(st.lists(st.sampled_from(ORDERS), min_size=1, max_size=3), min_size=1, max_size=5),
    due=dues,
    a_day=st.integers(1, 3),
)
def test_the_proof_in_time_holds_for_all_ways(rows, due, a_day, week_plan):
    day = plan_day([week(week_plan, rows, due)], shop(sheets=a_day), MONDAY)
    sheets = [one.sheet for one in day.sheets]
    table = CuttingDays(sheets=a_day)

    def ends(way: list[DaySheet]) -> dict[str, int]:
        return {panel.order: place for place, sheet in enumerate(way) for panel in sheet.panels}

    slots = fill_days(MONDAY, sheets, DayLimits(table))
    here = ends(sheets)
    for way in map(list, permutations(sheets)):
        in_time = all(
            place <= here[order] or (due[order] is not None and slots[place] <= due[order])
            for order, place in ends(way).items()
            if due[order] is not None
        )
        if in_time:
            assert max(map(len, open_by_hand(way, set()))) >= day.ordered.bound_in_time


def test_each_order_in_time_where_some_way_has_all_in_time(week_plan):
    tuesday = MONDAY + timedelta(days=1)
    due = {"A": tuesday, "B": MONDAY, "C": tuesday}
    day = plan_day([week(week_plan, [["A", "C"], ["C"], ["B"], ["B", "A"]], due)], shop(sheets=2), MONDAY)
    assert not day.late
    assert [one.sheet.layout.number for one in day.today] == [3, 4]
    assert day.filed.late == 1


def lone(make: Callable[..., Plan], due: date, count: int = 3) -> Plan:
    """Sheets of one order each, all due on one day."""
    return make(*([(order, due)] for order in ORDERS[:count]))


def only_late(day: DayPlan) -> tuple[str, LateBy, date]:
    (late,) = day.late
    return late.order, late.by, late.until


def test_late_by_the_table(week_plan):
    day = plan_day([lone(week_plan, MONDAY)], shop(sheets=2), MONDAY)
    assert only_late(day) == ("C", LateBy.TABLE, MONDAY + timedelta(days=1))
    assert day.late[0].panels == ("C/front/1",)
    # three sheets of 600 s without a cut: two in 1300 s
    day = plan_day([lone(week_plan, MONDAY)], shop(seconds=1300), MONDAY)
    assert only_late(day) == ("C", LateBy.TABLE, MONDAY + timedelta(days=1))


def test_late_by_the_edging_line_over_a_weekend(week_plan):
    # each panel has 2 x (300 + 400) mm = 1.4 m of edge: two of them in 3 m
    day = plan_day([lone(week_plan, FRIDAY)], shop(sheets=9, edging=3 * METRE), FRIDAY)
    assert only_late(day) == ("C", LateBy.EDGING, FRIDAY + timedelta(days=3))


def test_late_because_the_due_day_is_over(week_plan):
    day = plan_day([lone(week_plan, MONDAY, 1)], shop(), MONDAY + timedelta(days=5))
    assert day.on == MONDAY + timedelta(days=7)
    assert only_late(day) == ("A", LateBy.OVER, day.on)


def bought_plan(make: Callable[..., Plan], due: date) -> tuple[Plan, Shop]:
    plan = lone(make, due, 2)
    size = StockSize(glass="clear-10", width=mm(300), height=mm(400), price=60 * MONEY, lead_days=3)
    first = replace(plan.layouts[0], buy=True, stock=size.name, is_offcut=False)
    return replace(plan, layouts=(first, *plan.layouts[1:])), replace(shop(), stock_sizes=(size,))


def test_late_by_stock_that_is_bought_and_the_others_go_first(week_plan):
    plan, mine = bought_plan(week_plan, MONDAY + timedelta(days=1))
    day = plan_day([plan], mine, MONDAY)
    assert [(one.day - MONDAY).days for one in day.sheets] == [0, 3]
    assert only_late(day) == ("A", LateBy.STOCK, MONDAY + timedelta(days=3))
    # bought on the Friday before it is here
    assert not plan_day([plan], mine, MONDAY, bought=MONDAY - timedelta(days=3)).late


def test_stock_that_is_not_there_is_the_rule_whatever_the_table_has_to_do(week_plan):
    plan, mine = bought_plan(week_plan, MONDAY)
    day = plan_day([plan], replace(mine, cutting_days=CuttingDays(sheets=1)), MONDAY)
    assert only_late(day) == ("A", LateBy.STOCK, MONDAY + timedelta(days=3))


def test_late_by_the_order_of_sheets(week_plan):
    plan = week_plan([("A", None)], [("B", MONDAY)])
    sheets = sheets_of([plan], shop(), bought=MONDAY)
    limits = DayLimits(CuttingDays(sheets=1))
    (late,) = late_orders(sheets, fill_days(MONDAY, sheets, limits), MONDAY, limits)
    assert (late.order, late.by, late.until) == ("B", LateBy.ORDER, MONDAY + timedelta(days=1))
    # and the search does not do so
    assert not plan_day([plan], shop(sheets=1), MONDAY).late


def test_an_order_whose_due_day_is_over_does_not_wait_for_those_that_are_due(week_plan):
    tuesday = MONDAY + timedelta(days=1)
    # one sheet a day: A would be in time if C waited once more; of A and D only one can be
    plan = week_plan([("A", tuesday)], [("C", MONDAY)], [("D", tuesday + timedelta(days=1))])
    day = plan_day([plan], shop(sheets=1), tuesday)
    assert [one.sheet.orders for one in day.sheets] == [("C",), ("D",), ("A",)]
    assert [(late.order, late.by) for late in day.late] == [
        ("C", LateBy.OVER),
        ("A", LateBy.TABLE),
    ]


def test_days_go_round_weekends_and_free_days(week_plan):
    free = frozenset({FRIDAY + timedelta(days=3)})
    day = plan_day([lone(week_plan, FRIDAY, 2)], shop(sheets=1, free=free), FRIDAY)
    assert [one.day for one in day.sheets] == [FRIDAY, FRIDAY + timedelta(days=4)]


def test_a_sheet_beyond_a_day_has_one_of_its_own(week_plan):
    plan = week_plan([("A", None)], [("B", None), ("B", None), ("B", None)], [("C", None)])
    day = plan_day([plan], shop(edging=2 * METRE), MONDAY)
    assert sorted(len(total.sheets) for total in day.days) == [1, 1, 1]
    assert not day.limits.holds(next(one.sheet for one in day.sheets if one.sheet.layout.number == 2))


def test_without_limits_all_is_cut_on_the_first_day_in_modelled_time(week_plan):
    day = plan_day([lone(week_plan, FRIDAY)], Shop(), MONDAY)
    assert len(day.today) == 3
    # nothing is scored: six minutes to lay a sheet up and clear it away, as the default rates say
    assert [one.sheet.load.seconds for one in day.today] == [360, 360, 360]


def test_what_is_cut_counts_as_open_until_its_order_is_complete(week_plan):
    plan = week_plan([("A", None), ("B", None)], [("C", None)], [("A", None)], [("B", None)])
    day = plan_day([plan], shop(), MONDAY, done=[(plan.id, 1)])
    assert [sheet.layout.number for sheet in day.done] == [1]
    assert day.ordered.standing.most_open == 2
    assert day.ordered.proven
    # C comes last, when A and B are closed
    assert [one.open_orders for one in day.sheets] == [2, 1, 1]
    by_name = {order.name: order for order in day.orders}
    assert (by_name["A"].cut, by_name["A"].count(), by_name["A"].is_open) == (1, 1, True)
    assert not by_name["C"].is_open
    assert [one.opened for one in day.sheets].count(("C",)) == 1
    whole = plan_day([plan], shop(), MONDAY, done=[(plan.id, n) for n in (2, 1, 4, 3)])
    assert (whole.sheets, whole.late, whole.days) == ((), (), [])
    assert all(order.closes is None and not order.is_open for order in whole.orders)


def test_places_run_out(week_plan):
    plan = week_plan([("A", None), ("B", None), ("C", None)], [("A", None), ("B", None), ("C", None)])
    sheets = sheets_of([plan], shop(), bought=MONDAY)
    assert rack_places(sheets, Racks(names=("A",), slots=2)) == {"A": "A-1", "B": "A-2", "C": None}


def test_spares_and_fillers_are_no_orders(week_plan):
    plan = week_plan([("A", MONDAY), ("S", MONDAY), ("F", MONDAY)])
    kinds = (Purpose.ORDER, Purpose.SPARE, Purpose.FILLER)
    plan = replace(plan, panels=tuple(replace(p, purpose=k) for p, k in zip(plan.panels, kinds, strict=True)))
    day = plan_day([plan], shop(), MONDAY + timedelta(days=1))
    assert [order.name for order in day.orders] == ["A"]
    assert [late.order for late in day.late] == ["A"]
    assert day.today[0].open_orders == 1
    assert len(day.today[0].sheet.panels) == 3


def test_unplaced_panels_are_named_with_their_order(week_plan):
    plan = week_plan([("A", None)])
    missing = replace(plan.panels[0], id="A/lid/1", name="lid")
    plan = replace(
        plan,
        panels=(*plan.panels, missing),
        unplaced=(Unplaced(panel="A/lid/1", rule="size", reason="large"),),
    )
    day = plan_day([plan], shop(), MONDAY)
    assert day.unplaced == 1
    assert day.orders[0].unplaced == ("A/lid/1",)


def test_sheets_of_several_plans_are_one_week(week_plan):
    one = week_plan([("A", MONDAY), ("B", FRIDAY)], [("C", FRIDAY)])
    two = week_plan([("D", MONDAY)], seed=1)
    more = replace(two.panels[0], id="B/back/1", order="B", name="back")
    layout = two.layouts[0]
    two = replace(
        two, panels=(more,), layouts=(replace(layout, leaves=(replace(layout.leaves[0], panel=more.id),)),)
    )
    day = plan_day([one, two], shop(sheets=1), MONDAY, done=[(one.id, 1)])
    assert [s.key for s in day.done] == [(one.id, 1)]
    # B is open and due first
    assert [one.sheet.key for one in day.sheets] == [(two.id, 1), (one.id, 2)]
    assert next(order for order in day.orders if order.name == "B").is_open


def test_a_panel_in_two_plans_and_a_sheet_in_none_are_refused(week_plan):
    one, two = week_plan([("A", MONDAY)]), week_plan([("A", MONDAY)], seed=1)
    with pytest.raises(SamePanelTwice, match=f"A/front/1 is in plan {one.id} and in plan {two.id}"):
        plan_day([one, two], shop(), MONDAY)
    with pytest.raises(NoSuchSheet, match=f"{one.id} has no sheet 2"):
        plan_day([one], shop(), MONDAY, done=[(one.id, 2)])


def test_no_sheets_at_all(week_plan):
    given_none = SheetsToOrder(sheets=(), opened=frozenset(), start=MONDAY, limits=DayLimits(CuttingDays()))
    assert best_order(given_none).order == ()


def test_late_although_the_bought_sheets_come_in_time(week_plan):
    # both sheets come on Thursday and are due then; the table cuts one a day
    thursday, friday = MONDAY + timedelta(days=3), MONDAY + timedelta(days=4)
    plan, mine = bought_plan(week_plan, thursday)
    plan = replace(
        plan,
        layouts=tuple(
            replace(plan.layouts[0], number=la.number, leaves=la.leaves, cuts=la.cuts) for la in plan.layouts
        ),
    )
    day = plan_day([plan], replace(mine, cutting_days=CuttingDays(sheets=1)), MONDAY)
    (late,) = day.late
    assert (late.by, late.until, late.here) == (LateBy.STOCK, friday, thursday)
    assert "2027-03-04" in late_words(late) and "2027-03-05" in late_words(late)
