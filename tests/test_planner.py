"""The planner's promises: every plan passes the checker, whatever the panels, stock and rules."""

from __future__ import annotations

import random
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.plan_file import dumps, loads
from panewright.nesting.checker import check
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.figures import figures_of
from panewright.nesting.optimizer.params import Params
from panewright.nesting.outlines import make_outline, rectangle
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.shop_table import Habit, TableWork
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece
from panewright.nesting.units import NM2_PER_MM2, mm

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))
SHAPES = {
    "corner pentagon": [(0, 0), (600, 0), (600, 250), (250, 600), (0, 600)],
    "octagon": [(176, 0), (424, 0), (600, 176), (600, 424), (424, 600), (176, 600), (0, 424), (0, 176)],
    "right trapezoid": [(0, 0), (500, 0), (350, 400), (0, 400)],
    "right triangle": [(0, 0), (700, 0), (0, 600)],
    "hexagon": [(150, 0), (450, 0), (600, 260), (450, 520), (150, 520), (0, 260)],
}


def outline(name):
    return make_outline([(mm(x), mm(y)) for x, y in SHAPES[name]])


def make_plan(panels, stock, shop, effort=300, seed=0):
    bad = impossible(panels, stock, shop)
    planner = Planner(panels, stock, shop, effort=effort, seed=seed, unplaced=bad, params=QUICK)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


sizes = st.tuples(st.integers(40, 1900), st.integers(40, 1300))
rows = st.lists(
    st.tuples(
        st.one_of(sizes, sizes, st.sampled_from(sorted(SHAPES))),
        st.integers(1, 4),
        st.sampled_from([Turn.ANY, Turn.ANY, Turn.QUARTER, Turn.HALF, Turn.NONE]),
        st.sampled_from(["0", "1", "1.5", "0.79375"]),
        st.booleans(),
    ),
    min_size=1,
    max_size=14,
)
racks = st.lists(
    st.tuples(st.integers(500, 2000), st.integers(350, 1500), st.sets(st.sampled_from(list(Side)))),
    max_size=4,
)


@given(
    rows=rows,
    rack=racks,
    levels=st.sampled_from([0, 2, 3, 3, 4]),
    last=st.booleans(),
    break_out=st.sampled_from([0, 20, 30, 47]),
    buyable=st.booleans(),
    trims=st.sampled_from([(20, 25, 20, 25), (0, 0, 0, 0), (10, 15, 10, 15)]),
    habit=st.sampled_from([None, *Habit]),
)
@settings(max_examples=25)
def test_every_plan_passes_the_checker(
    rows,
    rack,
    levels,
    last,
    break_out,
    buyable,
    trims,
    habit,
    make_panel,
    make_stock,
    outsider,
    tmp_path_factory,
):
    cutting = CuttingChoice(levels=levels, last_cut=last or levels == 0, break_out=mm(break_out))
    shop = Shop(cutting=cutting, work=TableWork(habit=habit))
    panels = []
    for i, (what, count, turn, allowance, narrow) in enumerate(rows):
        for k in range(count):
            options = {"id": f"O{i}/p/{k + 1}", "turn": turn, "allowance": allowance, "narrow": narrow}
            if isinstance(what, str):
                panels.append(make_panel(outline=outline(what), **options))
            else:
                panels.append(make_panel(*what, **options))
    stock = [make_stock(3210, 2250, trim=trims, buyable=buyable, on_hand=2)]
    for i, (w, h, raw) in enumerate(rack):
        side = tuple(s for s in Side if s in raw)
        stock.append(
            make_stock(w, h, raw=side, trim=trims, buyable=False, on_hand=1, offcut=True, name=f"R{i}")
        )
    plan = make_plan(panels, stock, shop, effort=80)
    assert [str(v) for v in check(plan)] == []
    assert loads(dumps(plan)) == plan
    outsider(plan, tmp_path_factory.mktemp("plan"))
    figures = figures_of(plan)
    for layout in plan.layouts:
        f = figures.by_sheet[layout.number]
        total = f.cut + f.offcut + f.trim + f.cullet
        if all(p.is_rectangle for p in plan.panels):
            assert total == f.sheet
        else:
            assert abs(total - f.sheet) <= 2 * NM2_PER_MM2
    assert sum(o.cost_share for o in figures.by_order.values()) == figures.total.cost
    assert sum(o.waste_share for o in figures.by_order.values()) == figures.total.trim + figures.total.cullet


@given(rows=st.lists(st.tuples(sizes, st.integers(1, 4)), min_size=2, max_size=12), order=st.randoms())
@settings(max_examples=12)
def test_order_of_rows_names_and_swapped_sides_never_change_the_cost(rows, order, make_panel, make_stock):
    shop = Shop(cutting=CuttingChoice(break_out=mm(30)))
    stock = [make_stock(3210, 2250), make_stock(2550, 1605)]

    def cost(entries, tag):
        panels = [
            make_panel(w, h, id=f"{tag}{i}/p/{k + 1}")
            for i, ((w, h), q) in enumerate(entries)
            for k in range(q)
        ]
        return figures_of(make_plan(panels, stock, shop, effort=80)).total.cost

    other = [((h, w) if order.random() < 0.5 else (w, h), q) for (w, h), q in rows]
    order.shuffle(other)
    assert cost(rows, "K") == cost(other, "Z")


def test_more_search_is_never_worse_and_the_first_plan_is_whole(make_panel, make_stock):
    rng = random.Random(5)
    panels = [
        make_panel(rng.randrange(200, 1500), rng.randrange(200, 1200), id=f"O{i}/p/1") for i in range(40)
    ]
    stock, shop = [make_stock(3210, 2250)], Shop()
    costs = []
    for effort in (1, 200, 2000):
        plan = make_plan(panels, stock, shop, effort=effort)
        assert len([leaf for s in plan.layouts for leaf in s.leaves if leaf.panel]) == 40
        costs.append(figures_of(plan).total.cost)
    assert costs[0] >= costs[1] >= costs[2]


def test_steps_that_a_finished_glass_leaves_over_go_to_the_others(make_panel, make_stock):
    panels = [make_panel(900, 700, id=f"a/p/{k}") for k in range(20)]
    panels += [
        make_panel(300 + 37 * (k * 5 % 23), 250 + 29 * (k * 7 % 19), id=f"b/p/{k}", glass="clear-6")
        for k in range(30)
    ]
    stock = [make_stock(3210, 2250, glass=glass) for glass in ("clear-10", "clear-6")]
    planner = Planner(panels, stock, Shop(), effort=3000, params=QUICK)
    planner.start()
    while planner.advance():
        pass
    easy, hard = planner.progress()
    assert easy.cost == easy.bound and easy.steps < 1000
    assert hard.cost == hard.bound or hard.steps > 2000


def test_offcuts_are_taken_before_sheets_when_they_are_enough(make_panel, make_stock):
    panels = [make_panel(500, 400, id=f"O/p/{k}") for k in (1, 2)]
    stock = [
        make_stock(3210, 2250, cost=400_000),
        make_stock(1200, 900, raw=(), on_hand=1, buyable=False, offcut=True, name="R7", cost=30_000),
    ]
    plan = make_plan(panels, stock, Shop())
    assert [s.stock for s in plan.layouts] == ["R7"]
    assert plan.outcomes["clear-10"].optimal


def test_sheets_in_the_rack_come_before_those_to_buy(make_panel, make_stock):
    panels = [make_panel(3000, 2000, id=f"O/p/{k}") for k in range(1, 4)]
    plan = make_plan(panels, [make_stock(3210, 2250, on_hand=2)], Shop())
    assert [s.buy for s in plan.layouts] == [False, False, True]


def test_shortage_is_named_in_sheets_and_the_rest_is_planned(make_panel, make_stock):
    panels = [make_panel(3000, 2000, id=f"O/p/{k}") for k in range(1, 5)]
    plan = make_plan(panels, [make_stock(3210, 2250, on_hand=1, buyable=False)], Shop())
    assert len(plan.layouts) == 1
    assert len(plan.unplaced) == 3
    assert "3 of clear-10 3210x2250" in plan.unplaced[0].reason
    assert check(plan) == []


def test_impossible_panels_are_named_with_their_rule(make_panel, make_stock):
    shop = Shop()
    stock = [make_stock(3210, 2250)]
    cases = {
        "larger than every sheet": make_panel(3300, 500, id="A/p/1"),
        "break-out distance": make_panel(20, 500, id="B/p/1"),
        "no stock of this glass": make_panel(500, 500, id="C/p/1", glass="clear-8"),
        "corner of a blank": make_panel(
            id="D/p/1",
            outline=make_outline([(0, 0), (mm(500), 0), (mm(495), mm(400)), (mm(5), mm(400))]),
            turn=Turn.QUARTER,
        ),
    }
    found = impossible(list(cases.values()), stock, shop)
    assert [(u.panel, u.rule) for u in found] == [(p.id, rule) for rule, p in cases.items()]
    assert all(u.reason for u in found)


def test_a_panel_that_leaves_a_sliver_at_a_cut_side_is_named(make_panel, make_stock):
    offcut = make_stock(1000, 800, raw=(), offcut=True, on_hand=1, buyable=False)
    assert impossible([make_panel(990, 700)], [offcut], Shop())[0].rule == "break-out distance"
    assert impossible([make_panel(1000, 700)], [offcut], Shop()) == []
    raw = make_stock(1000, 800, raw=ALL_SIDES, trim=(0, 0, 0, 0), offcut=True, on_hand=1, buyable=False)
    assert impossible([make_panel(990, 700)], [raw], Shop()) == []


def test_due_panels_of_one_size_go_to_the_first_sheets(make_panel, make_stock):
    from datetime import date

    late = [replace(make_panel(1500, 1000, id=f"L/p/{k}"), due=date(2027, 3, 9)) for k in range(1, 5)]
    soon = [replace(make_panel(1500, 1000, id=f"S/p/{k}"), due=date(2027, 3, 2)) for k in range(1, 5)]
    plan = make_plan(late + soon, [make_stock(3210, 2250)], Shop())
    first = [leaf.panel for leaf in plan.layouts[0].leaves if leaf.panel]
    assert all(name.startswith("S/") for name in first)


@pytest.mark.parametrize("levels", [2, 3, 4, 0])
def test_deeper_levels_are_kept_to(levels, make_panel, make_stock):
    rng = random.Random(levels)
    panels = [make_panel(rng.randrange(150, 900), rng.randrange(150, 700), id=f"O{i}/p/1") for i in range(30)]
    plan = make_plan(panels, [make_stock(3210, 2250)], Shop(cutting=CuttingChoice(levels=levels)))
    deepest = max(c.level or 0 for s in plan.layouts for c in s.cuts)
    assert deepest <= (levels + 1 if levels else 5)
    assert check(plan) == []


def test_panels_that_only_scarce_sheets_hold_are_short_not_lost(make_panel, make_stock):
    # one large sheet in the rack, small ones to buy: two of three long panels cannot be had
    panels = [make_panel(4000, 2000, id=f"L/p/{k}") for k in range(1, 4)]
    panels += [make_panel(600, 500, id=f"S/p/{k}") for k in range(1, 9)]
    stock = [make_stock(6000, 3210, on_hand=1, buyable=False), make_stock(3210, 2250)]
    plan = make_plan(panels, stock, Shop(), effort=200)
    assert check(plan) == []
    assert sorted(u.panel[0] for u in plan.unplaced) == ["L", "L"]
    assert "of clear-10 6000x3210" in plan.unplaced[0].reason


def test_a_panel_that_only_an_offcut_holds_is_short_when_two_are_wanted(make_panel, make_stock):
    panels = [make_panel(2600, 300, id=f"L/p/{k}") for k in (1, 2)]
    stock = [
        make_stock(2000, 2000),
        make_stock(2800, 400, raw=(), on_hand=1, buyable=False, offcut=True, name="R1"),
    ]
    plan = make_plan(panels, stock, Shop(), effort=200)
    assert check(plan) == []
    assert [layout.stock for layout in plan.layouts] == ["R1"]
    assert len(plan.unplaced) == 1


def test_short_stock_is_used_up_before_panels_are_left_out(make_panel, make_stock):
    panels = [make_panel(600, 500, id=f"S/p/{k}") for k in range(1, 31)]
    offcuts = [
        make_stock(1450, 900, raw=(), on_hand=1, buyable=False, offcut=True, name="R1"),
        make_stock(700, 650, raw=(), on_hand=1, buyable=False, offcut=True, name="R2"),
    ]
    plan = make_plan(panels, [make_stock(3210, 2250, on_hand=1, buyable=False), *offcuts], Shop(), effort=200)
    assert check(plan) == []
    assert {layout.stock for layout in plan.layouts} >= {"R1", "R2"}
    placed = 30 - len(plan.unplaced)
    assert placed >= 22
    assert impossible(panels[:1], offcuts, Shop()) == []


def test_workers_change_nothing_but_the_time() -> None:
    shop = Shop()
    panels, stock = [], []
    for k, glass in enumerate(("clear-6", "clear-8", "clear-10")):
        stock.append(
            StockPiece(name=glass, glass=glass, width=mm(2000), height=mm(1500), cost=1000, buyable=True)
        )
        for i in range(12):
            outline = rectangle(mm(300 + 37 * ((i * 7 + k) % 11)), mm(200 + 29 * ((i * 5 + k) % 13)))
            panels.append(
                Panel(
                    id=f"{glass}/{i}",
                    order="o",
                    name=f"{i}",
                    glass=glass,
                    thickness=mm(int(glass[6:])),
                    finished=outline,
                    cut=outline,
                    edges=(Edge(work=Work.CUT),) * 4,
                )
            )
    plans = []
    for workers in (1, 2, 5):
        with ThreadPoolExecutor(workers) as threads:
            planner = Planner(
                panels,
                stock,
                shop,
                seed=3,
                effort=60,
                executor=threads if workers > 1 else None,
                workers=workers,
            )
            planner.start()
            while planner.advance():
                pass
            plans.append(planner.finish("effort"))
    assert plans[0] == plans[1] == plans[2]
    assert not check(plans[0])
