"""The order history in the store: days of booking and cutting, followed and withdrawn plans, remakes."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from sqlalchemy import update

from panewright.io.bench_store_plans import Wish, made_plan
from panewright.io.plan_file import dumps
from panewright.io.record_file import Event, Record, What
from panewright.io.shop_file import default_shop
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.items import SHEET, Item, receive
from panewright.io.store.ledger import Because
from panewright.io.store.order_history import booked_orders
from panewright.io.store.plan_panels import PlanPanels
from panewright.io.store.recording import apply_events
from panewright.io.store.schema import plan as plans
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import Plan
from panewright.nesting.units import mm

SHOP = default_shop()
START = datetime(2027, 2, 1, 9, 0, tzinfo=UTC)
TANK = ("base", "front", "back", "left", "right")


def on(day: int) -> Because:
    """The desk at noon, so many days after the first of February."""
    return Because(at=START + timedelta(days=day - 1), who="desk")


def week(order: str, sheets: int = 2, *, said: dict[str, object] | None = None, **more: object) -> Plan:
    """A plan of one order: each sheet holds the five panels of a tank."""
    plan = made_plan(order, [Wish(across=5, **more)] * sheets)
    panels = tuple(
        replace(p, name=TANK[i % 5], due=date(2027, 2, 20), **(said or {})) for i, p in enumerate(plan.panels)
    )
    return replace(plan, panels=panels)


def stock(c, sheets: int = 40) -> None:
    case = Item(
        kind=SHEET, name="C-1", glass="clear-10", width=mm(3210), height=mm(2250), since=date(2027, 1, 1)
    )
    receive(c, case, sheets, on(1))


def cut(c, plan: Plan, *sheets: int, day: int) -> None:
    events = tuple(
        Event(id=f"{plan.id}-{number}", at=on(day).at, what=What.SHEET_CUT, sheet=number) for number in sheets
    )
    apply_events(c, Record(plan=plan.id, device="table", events=events), on(day))


def told(found: list[BookedOrder]) -> list[tuple[object, ...]]:
    def day(d: date | None) -> int | None:
        return None if d is None else (d - date(2027, 1, 31)).days

    return [
        (o.order, len(o.panels), day(o.booked), day(o.cut), day(o.cancelled), o.remake) for o in found
    ]  # fmt: skip


def test_an_order_is_cut_when_its_last_sheet_is(store) -> None:
    plan = week("K-1", 3)
    with store.writing() as c:
        stock(c)
        commit_plan(c, plan, on(3))
        cut(c, plan, 1, day=5)
        assert told(booked_orders(c, SHOP)) == [
            ("K-1", 5, 3, 5, None, False),
            ("K-1", 10, 3, None, None, False),
        ]
        cut(c, plan, 2, 3, day=9)
        (line,) = booked_orders(c, SHOP)
    assert told([line]) == [("K-1", 15, 3, 9, None, False)]
    assert line.product == "rectangle tanks clear-10" and line.due == date(2027, 2, 20)
    assert {p.id for p in line.panels} == {p.id for p in plan.panels}


def test_what_lists_said_of_booking_and_product_is_kept(store) -> None:
    first = week("K-1", said={"booked": date(2027, 1, 20), "product": "rows"})
    again = replace(
        week("K-1", 3, said={"booked": date(2027, 2, 4), "product": "rows"}), extra={"follows": [first.id]}
    )
    with store.writing() as c:
        stock(c)
        commit_plan(c, first, on(3))
        commit_plan(c, again, on(5))
        (line,) = booked_orders(c, SHOP)
    # panels of the third sheet came with the second list; the day of the others is not overwritten
    assert line.booked == date(2027, 1, 20) and line.product == "rows" and len(line.panels) == 15


def test_a_plan_that_takes_its_glass_again_is_no_newer_order(store) -> None:
    plan = week("K-1")
    with store.writing() as c:
        stock(c)
        commit_plan(c, plan, on(3))
        withdraw_plan(c, plan.id, on(4))
        assert booked_orders(c, SHOP) == []
        commit_plan(c, plan, on(8))
        assert told(booked_orders(c, SHOP)) == [("K-1", 10, 3, None, None, False)]


def test_of_a_withdrawn_plan_counts_what_is_cut_and_each_panel_once(store) -> None:
    plan = week("K-1")
    # planned again on other sheets: same panels, another plan
    other = replace(week("K-1", 2, day=date(2027, 2, 12)), seed=7, id="ZZZZ-ZZZZ")
    with store.writing() as c:
        stock(c)
        commit_plan(c, plan, on(3))
        cut(c, plan, 1, day=5)
        withdraw_plan(c, plan.id, on(6))
        assert told(booked_orders(c, SHOP)) == [("K-1", 5, 3, 5, None, False)]
        commit_plan(c, other, on(7))
        found = booked_orders(c, SHOP)
    assert told(found) == [("K-1", 5, 3, 5, None, False), ("K-1", 5, 3, None, None, False)]


def test_an_order_that_a_later_plan_leaves_out_was_called_off(store) -> None:
    both = week("K-1")
    panels = tuple(replace(p, order="K-2") if k > 4 else p for k, p in enumerate(both.panels))
    both = replace(both, panels=panels)
    rest = week("K-1", 1)
    rest = replace(rest, extra={"follows": [both.id]})
    with store.writing() as c:
        stock(c)
        commit_plan(c, both, on(3))
        commit_plan(c, rest, on(6))
        assert told(booked_orders(c, SHOP)) == [
            ("K-1", 5, 3, None, None, False),
            ("K-2", 5, 3, None, 6, False),
        ]


def test_remakes_count_apart_and_cut_pieces_of_cancelled_orders_were_cut(store) -> None:
    plan = week("K-1")
    names = [p.id for p in plan.panels]
    beside = {
        names[9]: {"remakes": names[0]},
        names[1]: {"cancelled": True},
        names[0]: {"broken": "breaking"},
    }
    panels = [*plan.panels[:8], replace(plan.panels[8], purpose=Purpose.SPARE), plan.panels[9]]
    plan = replace(plan, panels=tuple(panels), extra={"panels": beside})
    with store.writing() as c:
        stock(c)
        commit_plan(c, plan, on(3))
        cut(c, plan, 1, 2, day=4)
        found = booked_orders(c, SHOP)
    assert sorted(told(found), key=str) == [
        ("K-1", 1, 3, 4, 3, False), ("K-1", 1, 3, 4, None, True), ("K-1", 7, 3, 4, None, False),
    ]  # fmt: skip


def test_days_and_glasses_that_are_missing(store) -> None:
    plan = week("K-1", 1, day=date(2027, 2, 12))
    bare = replace(plan, panels=tuple(replace(p, due=None) for p in plan.panels))
    with store.writing() as c:
        stock(c)
        commit_plan(c, bare, on(3))
        (line,) = booked_orders(c, SHOP)
        assert line.due == date(2027, 2, 12)
        assert booked_orders(c, SHOP, since=date(2027, 2, 4)) == []
        clear = replace(SHOP.kinds["clear"], thicknesses=(mm(6),))
        assert booked_orders(c, replace(SHOP, kinds=SHOP.kinds | {"clear": clear})) == []


def test_a_plan_file_in_any_form_gives_the_same_panels(store) -> None:
    plan = week("K-1", said={"booked": date(2027, 1, 20), "note": 'a "glass": \\ note'})
    names = [p.id for p in plan.panels]
    plan = replace(plan, extra={"panels": {names[3]: {"remakes": names[0], "glass": 1}}})
    text = dumps(plan)
    with store.writing() as c:
        stock(c)
        commit_plan(c, plan, on(3))
        found = PlanPanels(c).of(plan.id)
        assert [panel for panel, _ in found] == list(plan.panels)
        assert [beside.get("remakes") for _, beside in found] == [None] * 3 + [names[0]] + [None] * 6
        for other in (json.dumps(json.loads(text)), text.replace('"glass": "', '"glass":"')):
            c.execute(update(plans).values(file=other))
            assert PlanPanels(c).of(plan.id) == found
        c.execute(update(plans).values(file=text.replace('"narrow": false', '"narrow": 5', 1)))
        assert [panel for panel, _ in PlanPanels(c).of(plan.id)] == list(plan.panels[1:])


def test_an_empty_store_has_no_history(store) -> None:
    with store.reading() as c:
        assert booked_orders(c, SHOP) == []
