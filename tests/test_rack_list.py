"""The racks of a plan: what each cut frees, how many racks stand open, orders as racks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from panewright.nesting.ordered.rack_list import leaves_table, open_racks, racks_in_order
from panewright.nesting.ordered.racks import orders_as_racks
from panewright.nesting.panels import Panel, Purpose
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.remake.racks import out_of_order


def racked(plan: Plan, **places: tuple[str, int]) -> Plan:
    """The plan with racks and slots for panels of these names (blanks of a name as underscores)."""
    panels = []
    for panel in plan.panels:
        rack, slot = places.get(panel.name.replace(" ", "_"), ("", None))
        panels.append(replace(panel, rack=rack, slot=slot))
    return replace(plan, panels=tuple(panels))


def behind(plan: Plan) -> list[str]:
    return out_of_order(plan.layouts, {p.id: p for p in plan.panels})


def test_the_step_that_frees_each_panel(hand_plan: Plan) -> None:
    plan = racked(hand_plan, front=("R", 1), back=("R", 2), left_side=("S", 7))
    (layout,) = plan.layouts
    got = {p.name: (p.sheet, p.step) for p in leaves_table(plan)}
    # by hand: the cut that has the leaf's piece among what it makes
    for leaf in layout.leaves:
        if leaf.kind is LeafKind.PANEL and leaf.panel:
            (step,) = (c.step for c in layout.cuts if leaf.piece in c.makes)
            assert got[plan.panel(leaf.panel).name] == (1, step)
    places = leaves_table(plan)
    assert [p.turn for p in places] == sorted(p.turn or 0 for p in places)
    assert [(p.rack, p.slot) for p in places if p.rack == "R"] == [("R", 1), ("R", 2)]
    assert behind(plan) == []
    assert list(racks_in_order(places)) == ["R", "S"]


def test_a_rack_against_the_order_of_the_cuts_is_told(hand_plan: Plan) -> None:
    plan = racked(hand_plan, front=("R", 2), back=("R", 1))
    (late,) = behind(plan)
    assert plan.panel(late).name == "back"


def test_racks_are_open_from_their_first_to_their_last_panel(hand_plan: Plan) -> None:
    split = racked(hand_plan, front=("R", 1), back=("S", 1), left_side=("R", 2))
    assert [o.racks for o in open_racks(leaves_table(split))] == [("R",), ("R",), ()]
    alone = racked(hand_plan, front=("A", 1), back=("B", 1), left_side=("C", 1))
    assert [o.racks for o in open_racks(leaves_table(alone))] == [(), (), ()]
    assert open_racks(leaves_table(hand_plan)) == []


def test_sheets_count_in_the_order_of_the_plan(chained_plans: tuple[Plan, Plan]) -> None:
    plan = chained_plans[0]
    panels = tuple(replace(p, rack=p.name, slot=int(p.order[-1])) for p in plan.panels)
    places = leaves_table(replace(plan, panels=panels))
    assert [p.sheet for p in places] == [1, 1, 1, 2, 2, 2]
    assert behind(replace(plan, panels=panels)) == []
    assert [len(o.racks) for o in open_racks(places)] == [1, 2, 3, 2, 1, 0]
    turned = replace(plan, panels=panels, layouts=plan.layouts[::-1])
    assert [p.sheet for p in leaves_table(turned)] == [2, 2, 2, 1, 1, 1]
    assert len(behind(turned)) == 3


def test_a_panel_on_no_sheet_stands_last(hand_plan: Plan, make_panel: Callable[..., Panel]) -> None:
    lost = replace(make_panel(100, 100, id="K/lost/1"), rack="A", slot=1)
    plan = racked(hand_plan, front=("R", 1))
    places = leaves_table(replace(plan, panels=(lost, *plan.panels)))
    assert [(p.name, p.sheet, p.step, p.turn) for p in places][-1] == ("lost", None, None, None)
    assert [o.racks for o in open_racks(places)] == [()]


def test_orders_as_racks(make_panel: Callable[..., Panel]) -> None:
    panels = [
        make_panel(100, 100, id="K-1/front/1"),
        make_panel(100, 100, id="K-2/front/1"),
        make_panel(100, 100, id="K-1/back/1"),
        make_panel(100, 100, id="K-2/lid/1", glass="clear-6"),
        replace(make_panel(100, 100, id="K-3/own/1"), rack="K-1", slot=4),
        make_panel(100, 100, id="K-3/other/1"),
        replace(make_panel(100, 100, id="K-4/spare/1"), purpose=Purpose.SPARE),
    ]
    assert [(p.rack, p.slot) for p in orders_as_racks(panels)] == [
        ("K-1 (2)", 1),  # a rack of the list is called K-1 already
        ("K-2 clear-10", 1),
        ("K-1 (2)", 2),
        ("K-2 clear-6", 1),
        ("K-1", 4),
        ("", None),  # its order has a rack of its own
        ("", None),
    ]


@given(st.lists(st.tuples(st.sampled_from("ABC"), st.sampled_from(["clear-6", "clear-10"])), max_size=12))
def test_orders_as_racks_hold_one_glass_and_slots_in_the_order_of_the_list(
    make_panel: Callable[..., Panel], rows: list[tuple[str, str]]
) -> None:
    panels = [make_panel(100, 100, id=f"{o}/p/{i}", glass=g) for i, (o, g) in enumerate(rows)]
    out = orders_as_racks(panels)
    assert [replace(p, rack="", slot=None) for p in out] == panels
    for rack in {p.rack for p in out}:
        mine = [p for p in out if p.rack == rack]
        assert len({(p.order, p.glass) for p in mine}) == 1
        assert [p.slot for p in mine] == list(range(1, len(mine) + 1))
    assert orders_as_racks(out) == out
