"""Sheets that are cut from an offcut of another one come after it, and the promises of the day hold all the same.

Orders of few sheets are tried out in all ways; what is open is counted by plain enumeration.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.day.day_plan import plan_day
from panewright.nesting.day.filling import DayLimits, fill_days
from panewright.nesting.day.precedence import OffcutsInARing, makers_first, makers_told
from panewright.nesting.day.standing import standing
from panewright.nesting.plan import Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.shop import Shop
from panewright.nesting.shop_table import Racks

MONDAY = date(2027, 3, 1)
ORDERS = "ABCDE"
dues = st.fixed_dictionaries(
    dict.fromkeys(ORDERS, st.one_of(st.none(), st.integers(-1, 5).map(lambda n: MONDAY + timedelta(days=n))))
)
rows = st.lists(st.lists(st.sampled_from(ORDERS), min_size=1, max_size=3), min_size=1, max_size=5)
shops = st.sampled_from([None, 1, 2]).map(
    lambda n: Shop(cutting_days=CuttingDays(sheets=n), racks=Racks(names=("A",), slots=9))
)


def chained(plan: Plan, after: dict[int, str]) -> Plan:
    return replace(plan, extra={"sheets": {str(n): {"after": maker} for n, maker in after.items()}})


@settings(max_examples=80)
@given(
    rows=rows,
    due=dues,
    shop=shops,
    pairs=st.lists(st.tuples(st.integers(1, 5), st.integers(1, 5))),
    cut=st.booleans(),
)
def test_makers_come_first_and_every_promise_holds(rows, due, shop, pairs, cut, week_plan):
    plan = week_plan(*([(order, due.get(order)) for order in row] for row in rows))
    count = len(rows)
    # the sheet with the smaller number of a shuffle makes the offcut: there is no ring
    rank = {n: (n * 3) % 7 for n in range(1, 6)}
    after = {a: b for a, b in pairs if a <= count and b <= count and rank[a] > rank[b]}
    plan = chained(plan, {a: f"{plan.id}.{b}" for a, b in after.items()})
    done = [(plan.id, 1)] if cut else []
    day = plan_day([plan], shop, MONDAY, done=done)
    place = {one.sheet.layout.number: (one.day, k) for k, one in enumerate(day.sheets)}
    assert sorted([*place, *(s.layout.number for s in day.done)]) == list(range(1, count + 1))
    for number, maker in after.items():
        if number in place and maker in place:
            assert place[maker] < place[number]
    assert [one.day for one in day.sheets] == sorted(one.day for one in day.sheets)
    most = shop.cutting_days.sheets
    assert all(most is None or len(total.sheets) <= most for total in day.days)
    late = {p.id for one in day.sheets for p in one.sheet.ordered if p.due is not None and p.due < one.day}
    assert late == {panel for order in day.late for panel in order.panels}
    held = [{p.order for p in one.sheet.panels} for one in day.sheets]
    opened = {p.order for s in day.done for p in s.panels}
    for at, one in enumerate(day.sheets):
        begun = opened.union(*held[: at + 1])
        still = set().union(*held[at:])
        assert one.open_orders == len(begun & still)
        places = [day.places[order] for order in begun & still]
        assert len(set(places)) == len(places), "a place holds one order"


def test_orders_tried_out_in_all_ways_are_seldom_better(week_plan: Callable[..., Plan]):
    """Forty drawn weeks of three to five sheets, half of which wait for an offcut."""
    draw = Random(5)
    equal = 0
    for _ in range(40):
        due = {o: draw.choice([None, *(MONDAY + timedelta(days=d) for d in range(-1, 5))]) for o in ORDERS}
        rows = [
            [(o, due[o]) for o in draw.choices(ORDERS, k=draw.randint(1, 3))]
            for _ in range(draw.randint(3, 5))
        ]
        plan = week_plan(*rows)
        rank = draw.sample(range(len(rows)), len(rows))
        first = {
            n: [m for m in range(1, len(rows) + 1) if rank[m - 1] < rank[n - 1]]
            for n in range(1, len(rows) + 1)
        }
        after = {n: draw.choice(earlier) for n, earlier in first.items() if earlier and draw.random() < 0.5}
        plan = chained(plan, {n: f"{plan.id}.{m}" for n, m in after.items()})
        limits = DayLimits(CuttingDays(sheets=draw.choice([1, 2])))
        day = plan_day([plan], Shop(cutting_days=limits.table), MONDAY)
        sheets = [one.sheet for one in day.sheets]
        best = min(
            standing(
                [sheets[i] for i in order], fill_days(MONDAY, [sheets[i] for i in order], limits), (), MONDAY
            )
            for order in permutations(range(len(sheets)))
            if all(
                order.index(k) > order.index(j)
                for k, s in enumerate(sheets)
                for j, maker in enumerate(sheets)
                if s.after == maker.key
            )
        )
        assert best <= day.ordered.standing, "and no better than all of them"
        assert best.missed == day.ordered.standing.missed
        equal += best == day.ordered.standing
    assert equal >= 36


def test_the_maker_is_brought_forward_where_that_keeps_a_due_day(week_plan: Callable[..., Plan]):
    """A is due on Monday and lies on sheet 2, which is cut from an offcut of sheet 3; one sheet fits a day."""
    tuesday = MONDAY + timedelta(days=1)
    plan = week_plan([("B", None)], [("A", tuesday)], [("C", None)])
    plan = chained(plan, {2: f"{plan.id}.3"})
    day = plan_day([plan], Shop(cutting_days=CuttingDays(sheets=1)), MONDAY)
    assert [one.sheet.layout.number for one in day.sheets] == [3, 2, 1] and not day.late
    assert makers_told(plan) == {2: (plan.id, 3)}
    forward, back = makers_first([s.sheet for s in sorted(day.sheets, key=lambda s: s.sheet.key)], [0, 1, 2])
    assert (forward, back) == ([0, 2, 1], [0, 2, 1])


def test_across_plans_and_lines_of_plans(week_plan: Callable[..., Plan]):
    makers = week_plan([("A", None)], [("B", None)])
    follower = replace(makers, id=plan_id(7, makers.layouts), extra={"follows": [makers.id]})
    users = chained(week_plan([("C", MONDAY)], seed=1), {1: f"{makers.id}.2"})
    shop = Shop(cutting_days=CuttingDays(sheets=1))
    day = plan_day([users, follower], shop, MONDAY)
    keys = [one.sheet.key for one in day.sheets]
    assert keys.index((follower.id, 2)) < keys.index((users.id, 1))
    assert [late.order for late in day.late] == ["C"]
    done = plan_day([users, follower], shop, MONDAY, done=[(follower.id, 2)])
    assert done.sheets[0].sheet.key == (users.id, 1) and not done.late
    # the store knows that the offcut is there
    known = plan_day([users, follower], shop, MONDAY, makers={users.id: {}})
    assert known.sheets[0].sheet.key == (users.id, 1)
    # nobody here cuts the maker
    alone = plan_day([users, week_plan([("D", None)], seed=2)], shop, MONDAY)
    assert [s.key for s in alone.waiting] == [(users.id, 1)] and alone.sheets[-1].sheet.key == (users.id, 1)


def test_a_ring_of_offcuts_is_refused(week_plan: Callable[..., Plan]):
    plan = week_plan([("A", None)], [("B", None)], [("C", None)])
    for after in ({1: 2, 2: 1}, {3: 3}, {1: 2, 2: 3, 3: 1}):
        ring = chained(plan, {a: f"{plan.id}.{b}" for a, b in after.items()})
        with pytest.raises(OffcutsInARing, match="wait for offcuts of each other"):
            plan_day([ring], Shop(), MONDAY)
    for text in ("", "x", f"{plan.id}.", f"{plan.id}.-1", 7):
        odd = replace(plan, extra={"sheets": {"1": {"after": text}}})
        assert plan_day([odd], Shop(), MONDAY).waiting == []
