"""Sheets of the day keep the order of the racks and the numbers by which sheets are taken, each within its plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.checker import check
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.day.day_plan import plan_day
from panewright.nesting.day.filling import DayLimits, fill_days
from panewright.nesting.day.precedence import OffcutsInARing, taken_before
from panewright.nesting.day.standing import standing
from panewright.nesting.plan import Plan
from panewright.nesting.shop import Shop

MONDAY = date(2027, 3, 1)
ORDERS = "ABCDE"
WeekPlan = Callable[..., Plan]


def racked(plan: Plan, racks: Mapping[str, str]) -> Plan:
    """The panels of these orders in racks, their slots as they come off."""
    freed = {
        leaf.panel: (place, next((c.step for c in layout.cuts if leaf.piece in c.makes), 0), leaf.piece)
        for place, layout in enumerate(plan.layouts)
        for leaf in layout.leaves
        if leaf.panel is not None
    }
    coming = sorted(freed, key=lambda name: freed[name])
    return replace(
        plan,
        panels=tuple(
            replace(p, rack=racks[p.order], slot=coming.index(p.id)) if p.order in racks else p
            for p in plan.panels
        ),
    )


def numbered(plan: Plan, *takes: int | None) -> Plan:
    return replace(plan, layouts=tuple(replace(x, take=t) for x, t in zip(plan.layouts, takes, strict=True)))


def after(plan: Plan, makers: Mapping[int, str]) -> Plan:
    return replace(plan, extra={"sheets": {str(n): {"after": maker} for n, maker in makers.items()}})


def in_order(plan: Plan, keys: list[tuple[str, int]]) -> Plan:
    """The plan with its sheets as the day cuts them: the checker says whether they may be."""
    place = {number: k for k, (name, number) in enumerate(keys) if name == plan.id}
    layouts = [x for x in plan.layouts if x.number in place]
    return replace(plan, layouts=tuple(sorted(layouts, key=lambda x: place[x.number])))


def broken(plan: Plan) -> set[str]:
    return {v.rule for v in check(plan)} & {"rack", "rack order", "sheet order"}


rows = st.lists(st.lists(st.sampled_from(ORDERS), min_size=1, max_size=3), min_size=1, max_size=5)
dues = st.fixed_dictionaries(
    dict.fromkeys(ORDERS, st.one_of(st.none(), st.integers(-1, 5).map(lambda n: MONDAY + timedelta(days=n))))
)
racks = st.dictionaries(st.sampled_from(ORDERS), st.sampled_from(["cart 1", "cart 2"]))
takes = st.lists(st.none() | st.integers(1, 4), min_size=5, max_size=5).map(
    lambda found: sorted(found, key=lambda t: (t is None, t or 0))
)


@settings(max_examples=15)
@given(weeks=st.tuples(rows, rows), due=dues, rack=st.tuples(racks, racks), take=st.tuples(takes, takes),
       each=st.integers(1, 2), cut=st.booleans())  # fmt: skip
def test_two_plans_keep_each_its_order(weeks, due, rack, take, each, cut, week_plan: WeekPlan) -> None:
    plans = []
    for seed, week in enumerate(weeks):
        mine = [[(f"{order}{seed}", due.get(order)) for order in row] for row in week]
        plan = week_plan(*mine, seed=seed)
        plan = racked(plan, {f"{order}{seed}": name for order, name in rack[seed].items()})
        plans.append(numbered(plan, *take[seed][: len(week)]))
    assert not broken(plans[0]) and not broken(plans[1])
    done = [(plans[0].id, 1)] if cut else []
    day = plan_day(plans, Shop(cutting_days=CuttingDays(sheets=each)), MONDAY, done=done)
    keys = [one.sheet.key for one in day.sheets]
    assert sorted([*keys, *done]) == sorted((p.id, x.number) for p in plans for x in p.layouts)
    assert [one.day for one in day.sheets] == sorted(one.day for one in day.sheets)
    for plan in plans:
        assert not broken(in_order(plan, keys))


def test_every_order_tried_out_none_is_better(week_plan: WeekPlan) -> None:
    """Ten drawn weeks of three or four sheets with a cart of two orders."""
    draw = Random(9)
    equal = 0
    for _ in range(10):
        due = {o: draw.choice([None, *(MONDAY + timedelta(days=d) for d in range(-1, 5))]) for o in ORDERS}
        week = [
            [(o, due[o]) for o in draw.choices(ORDERS, k=draw.randint(1, 2))]
            for _ in range(draw.randint(3, 4))
        ]
        plan = racked(week_plan(*week), dict.fromkeys(draw.sample(ORDERS, 2), "cart"))
        limits = DayLimits(CuttingDays(sheets=draw.choice([1, 2])))
        day = plan_day([plan], Shop(cutting_days=limits.table), MONDAY)
        sheets = [one.sheet for one in day.sheets]
        best = min(
            standing(
                [sheets[i] for i in order], fill_days(MONDAY, [sheets[i] for i in order], limits), (), MONDAY
            )
            for order in permutations(range(len(sheets)))
            if not broken(in_order(plan, [sheets[i].key for i in order]))
        )
        assert best <= day.ordered.standing
        assert best.missed == day.ordered.standing.missed
        equal += best == day.ordered.standing
    assert equal >= 9


def test_a_later_slot_waits_for_a_sheet_that_is_not_here(week_plan: WeekPlan) -> None:
    """The first sheet is bought and comes on Wednesday: the cart waits for it, the third sheet does not."""
    plan = racked(week_plan([("A", None)], [("A", None)], [("B", None)]), {"A": "cart"})
    day = plan_day([plan], Shop(), MONDAY)
    late = replace(day.sheets[0].sheet, not_before=MONDAY + timedelta(days=2))
    assert late.layout.number == 1
    others = [one.sheet for one in day.sheets[1:]]
    found = dict(
        zip(
            [late.key, *(s.key for s in others)],
            fill_days(MONDAY, [late, *others], DayLimits(CuttingDays())),
            strict=True,
        )
    )
    wednesday = MONDAY + timedelta(days=2)
    assert found == {(plan.id, 1): wednesday, (plan.id, 2): wednesday, (plan.id, 3): MONDAY}


def test_what_is_cut_holds_nobody_back(week_plan: WeekPlan) -> None:
    plan = racked(week_plan([("A", None)], [("A", None)], [("A", None)], [("B", None)]), {"A": "cart"})
    assert taken_before(plan, {1, 2, 3, 4}) == {2: [1], 3: [2]}
    assert taken_before(plan, {1, 3, 4}) == {3: [1]}
    assert taken_before(plan, {2, 4}) == {}
    again = replace(plan, extra={"panels": {"A/front/3": {"remakes": "A/front/1"}}})
    assert taken_before(again, {1, 2, 3, 4}) == {2: [1]}
    case = numbered(plan, 3, 3, 7, None)
    assert taken_before(replace(case, panels=week_plan([("A", None)] * 3, [("B", None)]).panels), {1, 2, 3, 4}) == {
        3: [1, 2], 4: [3],
    }  # fmt: skip


def test_rings_of_racks_and_offcuts_are_refused(week_plan: WeekPlan) -> None:
    # within one plan: the first sheet of the cart is cut from an offcut of the second
    plan = after(racked(week_plan([("A", None)], [("A", None)]), {"A": "cart"}), {})
    ring = after(plan, {1: f"{plan.id}.2"})
    with pytest.raises(
        OffcutsInARing, match="wait for each other, by offcuts and by the order of racks or sheets"
    ):
        plan_day([ring], Shop(), MONDAY)
    # in two plans, each with a cart: 2 of the one waits for 1 of it, that for 2 of the other, that for 1 of the other
    other = racked(week_plan([("B", None)], [("B", None)], seed=1), {"B": "cart"})
    one, two = after(plan, {1: f"{other.id}.2"}), after(other, {1: f"{plan.id}.2"})
    with pytest.raises(OffcutsInARing, match="by offcuts and by the order of racks"):
        plan_day([one, two], Shop(), MONDAY)
    assert [s.sheet.key for s in plan_day([one, other], Shop(), MONDAY).sheets] == [
        (other.id, 1), (other.id, 2), (plan.id, 1), (plan.id, 2),
    ]  # fmt: skip
    # a cart of the same name in two plans is two carts
    assert {s.sheet.behind for s in plan_day([plan, other], Shop(), MONDAY).sheets} == {
        (), ((plan.id, 1),), ((other.id, 1),),
    }  # fmt: skip


def test_a_cart_behind_a_sheet_that_nobody_cuts_stands_at_the_end(week_plan: WeekPlan) -> None:
    plan = racked(week_plan([("A", None)], [("A", MONDAY)], [("B", None)]), {"A": "cart"})
    day = plan_day([after(plan, {1: "ZZZZ-9999.4"})], Shop(), MONDAY)
    assert [one.sheet.layout.number for one in day.sheets] == [3, 1, 2]
    assert [s.layout.number for s in day.waiting] == [1]
