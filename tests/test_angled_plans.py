"""Plans with groups of angled panels: never dearer than without, due days, kept sheets, fillers, joint blanks."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io import bench_angled
from panewright.io.bench_groups import deviations
from panewright.io.plan_file import dumps, loads
from panewright.nesting.checker import check
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.figures import figures_of
from panewright.nesting.fillers import Filler
from panewright.nesting.joint_blanks import Bundle, needs_company, tied
from panewright.nesting.kept import keep_sheets
from panewright.nesting.late import late_of
from panewright.nesting.optimizer.params import Params
from panewright.nesting.outlines import area2, hull, make_outline, narrower_than
from panewright.nesting.panels import Panel, Purpose, Turn
from panewright.nesting.plan import CutKind, LeafKind, Plan
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.rules import Rules
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.tanks import plan_shapes
from panewright.nesting.tanks.build import build
from panewright.nesting.tanks.findings import findings
from panewright.nesting.tanks.made import Edges
from panewright.nesting.tanks.tank import GlassWish, Role, Tank
from panewright.nesting.units import mm

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))
PENTAGON = [(0, 0), (600, 0), (600, 250), (250, 600), (0, 600)]
TRAPEZOID = [(0, 0), (600, 0), (450, 450), (150, 450)]
TRIANGLE = [(0, 0), (300, 0), (0, 600)]
RULES = Rules()


def copies(name: str, corners, count: int, *, allowance: str = "1.5", **more) -> list[Panel]:
    outline = make_outline([(mm(str(x)), mm(str(y))) for x, y in corners])
    return [
        replace(bench_angled.angled_panel(f"{name}/{i}", outline, allowance), **more)
        for i in range(1, count + 1)
    ]


def planned(panels, stock, shop=None, *, effort=40, **more) -> Plan:
    shop = shop or Shop()
    planner = Planner(
        panels, stock, shop, effort=effort, params=QUICK, unplaced=impossible(panels, stock, shop), **more
    )
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


def passes(plan: Plan) -> set[str]:
    """The panels that are placed, of a plan that the checker passes."""
    assert [str(v) for v in check(plan)] == []
    assert loads(dumps(plan)) == plan
    assert max(deviations(plan), default=0) <= 1000
    placed = Counter(leaf.panel for x in plan.layouts for leaf in x.leaves if leaf.panel)
    assert set(placed.values()) <= {1}
    return set(placed)


def cost(plan: Plan) -> int:
    return figures_of(plan).total.cost


def blanks_of(plan: Plan) -> list[set[str]]:
    """The panels of every blank: those that come of the first shape cut of a piece."""
    out = []
    for layout in plan.layouts:
        made_by = {name: cut for cut in layout.cuts for name in cut.makes}
        panels = {leaf.piece: leaf.panel for leaf in layout.leaves if leaf.panel}
        held: dict[str, set[str]] = {}
        for piece, panel in panels.items():
            blank = piece
            while blank in made_by and made_by[blank].kind is CutKind.SHAPE:
                blank = made_by[blank].piece
            held.setdefault(blank, set()).add(panel)
        out += held.values()
    return out


# ---------------------------------------------------------------- any convex panels

points = st.tuples(st.integers(0, 900), st.integers(0, 700))
drawn = st.lists(points, min_size=3, max_size=6)
freedom = st.tuples(
    st.sampled_from([Turn.ANY, Turn.ANY, Turn.QUARTER, Turn.HALF, Turn.NONE]), st.booleans(), st.booleans()
)
kinds = st.lists(st.tuples(drawn, st.integers(1, 3), freedom), min_size=1, max_size=2)
rectangles = st.lists(st.tuples(st.integers(80, 900), st.integers(60, 700)), max_size=4)


@given(
    kinds=kinds,
    others=rectangles,
    break_out=st.sampled_from([0, 20, 30]),
    depth=st.sampled_from([0, 25]),
    levels=st.sampled_from([2, 3, 0]),
    longest=st.sampled_from([0, 700]),
)
@settings(max_examples=8)
def test_plans_of_any_convex_panels_pass_and_are_never_dearer_than_own_blanks(
    kinds, others, break_out, depth, levels, longest, make_panel, make_stock, outsider, tmp_path_factory
):
    shop = Shop(
        cutting=CuttingChoice(
            levels=levels, break_out=mm(break_out), corner_depth=mm(depth), longest_angled_cut=mm(longest)
        )
    )
    panels = [make_panel(w, h, id=f"R{i}/p/1") for i, (w, h) in enumerate(others)]
    for k, (corners, count, (turn, mirror, narrow)) in enumerate(kinds):
        outline = hull(corners)
        if len(outline) > 2 and not narrower_than(outline, 20):
            more = {"turn": turn, "mirror": mirror, "narrow": narrow, "allowance": "1"}
            panels += copies(f"A{k}/p", outline, count, **more)
    if not panels:
        return
    stock = [make_stock(1605, 1100)]
    plan = planned(panels, stock, shop, effort=15)
    placed = passes(plan)
    outsider(plan, tmp_path_factory.mktemp("angled"))
    assert placed | {u.panel for u in plan.unplaced} == {p.id for p in panels}
    assert all(u.reason and u.rule for u in plan.unplaced)
    single = planned(panels, stock, shop, effort=15, groups=False)
    assert passes(single) == placed
    assert cost(plan) <= cost(single)


def test_groups_save_a_sheet_where_blanks_alone_take_one_more(make_stock, outsider, tmp_path):
    """Twelve right triangles: two share a rectangle of 303.93 x 607.85 mm."""
    panels = copies("A/p", TRIANGLE, 12)
    stock = [make_stock(1300, 1000)]
    plan, single = planned(panels, stock), planned(panels, stock, groups=False)
    assert passes(plan) == passes(single) == {p.id for p in panels}
    assert len(plan.layouts) < len(single.layouts)
    assert {len(b) for b in blanks_of(single)} == {1}
    assert max(len(b) for b in blanks_of(plan)) >= 2
    outsider(plan, tmp_path)


def test_the_same_plan_whatever_the_order_of_rows(make_stock):
    panels = [*copies("A/p", PENTAGON, 3), *copies("B/p", TRAPEZOID, 5), *copies("C/p", TRIANGLE, 3)]
    stock = [make_stock(2550, 1605)]
    one, other = planned(panels, stock), planned(panels[::-1], stock)
    assert one == other


def test_no_angled_score_is_longer_than_the_table_makes(make_stock):
    panels = copies("A/p", PENTAGON, 6)
    stock = [make_stock(2550, 1605)]
    for most in (600, 0):
        plan = planned(panels, stock, Shop(cutting=CuttingChoice(longest_angled_cut=mm(most))))
        assert passes(plan) == {p.id for p in panels}
        scores = [
            (c.end[0] - c.start[0]) ** 2 + (c.end[1] - c.start[1]) ** 2
            for x in plan.layouts
            for c in x.cuts
            if c.start[0] != c.end[0] and c.start[1] != c.end[1]
        ]
        assert scores
        assert most == 0 or max(scores) <= mm(most) ** 2
    # the one of a pair is 852.77 mm long
    assert max(len(b) for b in blanks_of(plan)) > 1


def test_panels_bound_to_a_stock_piece_stay_there(make_stock):
    bound = copies("A/p", TRIANGLE, 2, from_stock="R-1")
    free = copies("B/p", TRIANGLE, 3)
    stock = [
        make_stock(2550, 1605),
        make_stock(900, 700, raw=(), on_hand=1, buyable=False, offcut=True, name="R-1"),
    ]
    plan = planned([*bound, *free], stock)
    assert passes(plan) == {p.id for p in [*bound, *free]}
    where = {leaf.panel: x.stock for x in plan.layouts for leaf in x.leaves if leaf.panel}
    assert {where[p.id] for p in bound} == {"R-1"}


# ---------------------------------------------------------------- due days, kept sheets, fillers


def test_what_is_due_first_comes_first_out_of_a_group_too(make_stock, outsider, tmp_path):
    days = [date(2027, 3, d) for d in (3, 4, 5)]
    panels = [
        replace(p, due=days[i % 3]) for i, p in enumerate([*copies("A/p", PENTAGON, 12), *copies("B/p", TRAPEZOID, 9)])
    ]  # fmt: skip
    stock = [make_stock(1605, 1300)]
    shop = Shop(cutting_days=CuttingDays(sheets=2))
    for start in (None, date(2027, 3, 1)):
        plan = planned(panels, stock, shop, start_day=start)
        assert passes(plan) == {p.id for p in panels}
        outsider(plan, tmp_path)
        sheet = {leaf.panel: x.number for x in plan.layouts for leaf in x.leaves if leaf.panel}
        for name in ("A", "B"):
            kind = [p for p in panels if p.order == name]
            first = [max(sheet[p.id] for p in kind if p.due <= day) for day in days]
            assert first == sorted(first)
        if start is None:
            assert [row["due"] for row in plan.extra["due_order"]] == sorted(
                row["due"] for row in plan.extra["due_order"]
            )
        else:
            assert all(x.day is not None for x in plan.layouts)
            assert late_of(plan) == plan.extra.get("late", late_of(plan))
    # of equal panels the one that is due first lies on the earlier sheet
    for one in panels:
        for other in panels:
            if one.order == other.order and one.due < other.due:
                assert sheet[one.id] <= sheet[other.id]


def test_sheets_with_groups_stay_as_they_are(make_stock, outsider, tmp_path):
    panels = [*copies("A/p", TRIANGLE, 8), *copies("B/p", TRAPEZOID, 9)]
    stock = [make_stock(1605, 1300)]
    earlier = planned(panels, stock)
    assert max(len(b) for b in blanks_of(earlier)) > 1
    first = {earlier.layouts[0].number}
    more = [*panels, *copies("C/p", PENTAGON, 3)]
    kept = keep_sheets(earlier, first, more, stock, Shop())
    plan = planned(more, stock, kept=kept)
    assert passes(plan) == {p.id for p in more}
    outsider(plan, tmp_path)
    (old,) = [x for x in earlier.layouts if x.number in first]
    (new,) = [x for x in plan.layouts if x.number in first]
    assert (new.cuts, [(x.piece, x.outline, x.panel) for x in new.leaves]) == (
        old.cuts,
        [(x.piece, x.outline, x.panel) for x in old.leaves],
    )
    assert plan.extra["follows"] == [earlier.id]


def test_fillers_come_from_the_waste_beside_groups(make_panel, make_stock, outsider, tmp_path):
    panels = [*copies("A/p", TRIANGLE, 8), *copies("B/p", TRAPEZOID, 5)]
    stock = [make_stock(1605, 1300)]
    shelf = replace(make_panel(150, 100, id="filler/shelf"), purpose=Purpose.FILLER)
    fillers = [Filler(panel=shelf, worth=30_000, most=30)]
    plain, filled = planned(panels, stock), planned(panels, stock, fillers=fillers)
    assert passes(filled) >= {p.id for p in panels}
    outsider(filled, tmp_path)
    assert cost(filled) == cost(plain)
    assert any(p.purpose is Purpose.FILLER for p in filled.panels)
    assert max(len(b) for b in blanks_of(filled)) > 1


# ---------------------------------------------------------------- panels that no blank yields alone

BRACES = [(0, 0), (400, 0), (379.29, 50), (20.71, 50)]
"""Rim brace of an eight-sided tank: its ends are cut at 67.5 degrees, 50 / tan 67.5 degrees back."""


def test_rim_braces_of_an_eight_sided_tank_are_cut_from_joint_blanks(make_stock, outsider, tmp_path):
    # along the sheet's sides alone none has a blank: the corners at its ends are 19 mm deep
    braces = copies("K-8/rim brace", BRACES, 8, turn=Turn.QUARTER)
    assert all(needs_company(b, RULES) for b in braces)
    stock = [make_stock(1605, 1100)]
    assert impossible(braces, stock, Shop()) == []
    for groups in (True, False):
        plan = planned(braces, stock, groups=groups)
        assert passes(plan) == {b.id for b in braces}
        assert plan.unplaced == ()
        assert min(len(b) for b in blanks_of(plan)) >= 2
    outsider(plan, tmp_path)


def test_left_and_right_handed_braces_pair_up(make_stock, outsider, tmp_path):
    right = [(0, 0), (400, 0), (379.29, 50), (0, 50)]
    left = [(0, 0), (400, 0), (400, 50), (20.71, 50)]
    braces = [
        *copies("K-9/right", right, 1, turn=Turn.HALF, mirror=False),
        *copies("K-9/left", left, 1, turn=Turn.HALF, mirror=False),
        *copies("K-9/pair", right, 2, mirror=False),
    ]
    assert all(needs_company(b, RULES) for b in braces)
    ties = tied(braces, [make_stock(1605, 1100)], RULES)
    assert ties.left == ()
    plan = planned(braces, [make_stock(1605, 1100)])
    assert passes(plan) == {b.id for b in braces}
    outsider(plan, tmp_path)


def test_a_slight_taper_alone_is_named_and_beside_a_rectangle_it_is_cut(make_panel, make_stock):
    """From 300 down to 290 over 800: the waste runs to nothing, 10 mm at its wide end. It may not stand askew."""
    taper = [(0, 0), (800, 0), (800, 300), (0, 290)]
    tapered = copies("K-1/shelf", taper, 1, allowance="0", turn=Turn.QUARTER)
    stock = [make_stock(1605, 1100)]
    (refused,) = impossible(tapered, stock, Shop())
    assert (refused.panel, refused.rule) == ("K-1/shelf/1", "corner of a blank")
    assert "no other panel of this glass can lie beside it" in refused.reason
    assert "order it in pairs" in refused.reason
    plan = planned(tapered, stock)
    assert [u.panel for u in plan.unplaced] == ["K-1/shelf/1"]
    beside = [*tapered, make_panel(800, 400, id="K-1/base/1")]
    assert impossible(beside, stock, Shop()) == []
    plan = planned(beside, stock)
    assert passes(plan) == {p.id for p in beside}
    assert {"K-1/shelf/1", "K-1/base/1"} in blanks_of(plan)
    # whichever comes first by its name
    renamed = [replace(beside[0], id="K-1/a/1", name="a"), beside[1]]
    assert impossible(renamed, stock, Shop()) == []


def test_two_slight_tapers_share_one_score(make_stock):
    tapered = copies("K-1/shelf", [(0, 0), (800, 0), (800, 300), (0, 290)], 2, allowance="0")
    plan = planned(tapered, [make_stock(1605, 1100)])
    assert passes(plan) == {p.id for p in tapered}
    assert blanks_of(plan) == [{p.id for p in tapered}]
    assert sum(c.kind is CutKind.SHAPE for x in plan.layouts for c in x.cuts) == 1


def test_the_odd_one_out_is_named_with_the_reason(make_stock):
    """Three tapers that may not turn or be flipped: none of them meets another one's slope."""
    tapered = copies(
        "K-1/shelf", [(0, 0), (800, 0), (800, 300), (0, 290)], 3, allowance="0", turn=Turn.NONE, mirror=False
    )
    stock = [make_stock(1605, 1100)]
    refused = impossible(tapered, stock, Shop())
    plan = planned(tapered, stock)
    placed = passes(plan)
    assert {u.panel for u in plan.unplaced} | placed == {p.id for p in tapered}
    assert {u.panel for u in refused} == {u.panel for u in plan.unplaced}
    assert all(u.rule == "corner of a blank" for u in refused)
    free = copies("K-1/shelf", [(0, 0), (800, 0), (800, 300), (0, 290)], 3, allowance="0")
    assert len(passes(planned(free, stock))) >= 2


def test_a_bundle_is_due_when_its_first_panel_is_and_hands_out_every_panel(make_stock):
    days = [date(2027, 3, 9), date(2027, 3, 2)]
    braces = [
        replace(b, due=days[i % 2])
        for i, b in enumerate(copies("K-8/rim brace", BRACES, 4, turn=Turn.QUARTER))
    ]
    ties = tied(braces, [make_stock(1605, 1100)], RULES)
    bundles = [p for p in ties.panels if isinstance(p, Bundle)]
    assert sorted(p.id for b in bundles for p in b.parts) == sorted(b.id for b in braces)
    assert all(b.due == min(p.due for p in b.parts) for b in bundles)
    for bundle in bundles:
        assert bundle.cut_area2 == sum(area2(p.cut) for p in bundle.parts)
        assert bundle.is_rectangle and len(bundle.blank.members) == len(bundle.parts)
    plan = planned(braces, [make_stock(1605, 1100)])
    assert passes(plan) == {b.id for b in braces}
    assert not any(
        leaf.kind is LeafKind.PANEL and "+" in (leaf.panel or "") for x in plan.layouts for leaf in x.leaves
    )


def test_no_panel_is_drawn_into_a_bundle_from_another_stock_or_glass(make_panel, make_stock):
    taper = [(0, 0), (800, 0), (800, 300), (0, 290)]
    tapered = copies("K-1/shelf", taper, 1, allowance="0", turn=Turn.QUARTER)
    other = replace(make_panel(800, 400, id="K-1/base/1"), from_stock="R-1")
    stock = [
        make_stock(1605, 1100),
        make_stock(1000, 600, raw=(), on_hand=1, buyable=False, offcut=True, name="R-1"),
    ]
    assert [u.panel for u in impossible([*tapered, other], stock, Shop())] == ["K-1/shelf/1"]
    thin = make_panel(800, 400, id="K-1/base/2", glass="clear-8")
    stock.append(make_stock(1605, 1100, glass="clear-8"))
    assert [u.panel for u in impossible([*tapered, thin], stock, Shop())] == ["K-1/shelf/1"]


@pytest.mark.parametrize("seed", [1, 2])
def test_a_drawn_week_passes_with_groups(seed, make_stock, outsider, tmp_path):
    week = bench_angled.tank_weeks(seed)[0]
    panels, stock, shop = week.panels(), [bench_angled.sheet()], bench_angled.shop()
    plan = planned(panels, stock, shop, effort=30)
    assert passes(plan) == {p.id for p in panels}
    outsider(plan, tmp_path)
    single = planned(panels, stock, shop, effort=30, groups=False)
    assert cost(plan) <= cost(single)


def test_the_finding_of_a_tank_says_that_a_taper_is_cut_beside_another_panel():
    """The base of a trapezoidal tank that narrows by 10 mm over 400: a note, no warning."""
    shop = bench_angled.shop()
    glass = {role: GlassWish("clear", mm(10)) for role in Role}
    shape = plan_shapes.trapezoid(mm(900), mm(890), mm(400))
    tank = Tank(order="T-1", shape=shape, height=mm(450), glass=glass)
    found = [
        f for f in findings(build(tank, Edges(shop)), shop) if "it is cut beside another panel" in f.words
    ]
    assert [(f.panel, f.loud) for f in found] == [("base", False)]
    assert "less than 25 mm deep" in found[0].words and "order it in pairs" in found[0].remedy
    straight = replace(tank, shape=plan_shapes.rectangular(mm(900), mm(400)))
    assert not [f for f in findings(build(straight, Edges(shop)), shop) if "beside another" in f.words]
