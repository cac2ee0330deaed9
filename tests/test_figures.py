"""Figures: each defined once, exact, and adding up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.nesting.edgework import Work
from panewright.nesting.figures import Figures, figures_of, gap, shares, thickness_of
from panewright.nesting.outlines import area2, rectangle
from panewright.nesting.panels import Panel, Purpose
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.units import MONEY, NM2_PER_M2, NM2_PER_MM2, mm

MM2 = 2 * NM2_PER_MM2
"""Twice a square millimetre, the unit of the sums below. [nm2]"""


def parts(f: Figures) -> int:
    return f.cut + f.spare + f.filler + f.offcut + f.trim + f.cullet


def test_figures_of_a_sheet_by_hand(hand_plan: Plan) -> None:
    f = figures_of(hand_plan).total
    assert f.sheet == 2000 * 1000 * MM2
    assert f.cut == (700 * 500 + 700 * 500 + 600 * 400) * MM2
    assert f.finished == (2 * 697 * 497 + 597 * 397) * MM2
    assert f.edgework_loss == f.cut - f.finished
    assert f.offcut == (480 * 980 + 900 * 480) * MM2
    # left strip, lower strip; of the waste above the last cut only what lies within 25 mm of the top
    assert f.trim == (20 * 1000 + 1980 * 20 + 600 * 25) * MM2
    assert f.cullet == (100 * 500 + 600 * 55) * MM2
    assert parts(f) == f.sheet
    assert (f.sheets, f.panels, f.offcuts, f.cuts) == (1, 3, 2, 8)
    assert f.cost == 60 * MONEY
    # 2.5 kg per m2 and mm (EN 572-1)
    assert f.scrap_grams == round((74_600 + 83_000) * 2.5 * 10 / 1000)
    assert f.panel_grams == 2 * round(697 * 497 / 40) + round(597 * 397 / 40)


def test_yields_are_exact_fractions(hand_plan: Plan) -> None:
    f = figures_of(hand_plan).total
    assert f.gross_yield == Fraction(940_000, 2_000_000)
    assert f.net_yield == Fraction(940_000, 2_000_000 - 902_400)
    assert f.finished_yield == Fraction(2 * 697 * 497 + 597 * 397, 2_000_000)


def test_scores_count_by_level_and_edgework_by_finish(hand_plan: Plan, pentagon_plan: Plan) -> None:
    f = figures_of(hand_plan).total
    assert f.score_by_level == {
        "0": mm(1000 + 1980),
        "1": mm(980),
        "2": mm(1500),
        "3": mm(500 + 500 + 480),
        "4": mm(600),
    }
    assert f.score_nm == sum(f.score_by_level.values())
    assert f.edgework_nm == {"polished": mm(4 * (697 + 497) + 2 * (597 + 397))}
    shape = figures_of(pentagon_plan).total.score_by_level["shape"]
    assert shape == 494_974_746  # 350 times the square root of 2, in whole nm


def test_spares_and_fillers_stand_beside_the_yield(hand_plan: Plan) -> None:
    panels = list(hand_plan.panels)
    panels[0] = replace(panels[0], purpose=Purpose.SPARE)
    panels[2] = replace(panels[2], purpose=Purpose.FILLER)
    found = figures_of(replace(hand_plan, panels=tuple(panels)))
    f = found.total
    assert (f.spare, f.filler, f.cut) == (350_000 * MM2, 240_000 * MM2, 350_000 * MM2)
    assert f.gross_yield == Fraction(350_000, 2_000_000)
    assert parts(f) == f.sheet
    assert list(found.by_order) == ["K-204"]
    assert found.by_order["K-204"].cost_share == f.cost
    assert found.by_order["K-204"].waste_share == f.trim + f.cullet


def test_a_sheet_without_orders_costs_no_order(hand_plan: Plan) -> None:
    spares = tuple(replace(p, purpose=Purpose.SPARE) for p in hand_plan.panels)
    found = figures_of(replace(hand_plan, panels=spares))
    assert found.by_order == {}
    assert found.total.cost == 60 * MONEY


@pytest.mark.parametrize("which", ["hand_plan", "pentagon_plan", "octagon_plan", "inch_plan"])
def test_areas_and_shares_add_up(which: str, request: pytest.FixtureRequest) -> None:
    plan = request.getfixturevalue(which)
    found = figures_of(plan)
    for f in (found.total, *found.by_sheet.values(), *found.by_glass.values()):
        assert parts(f) == f.sheet
    assert sum(o.cost_share for o in found.by_order.values()) == found.total.cost
    waste = found.total.trim + found.total.cullet
    assert sum(o.waste_share for o in found.by_order.values()) == waste
    assert sum(o.cut for o in found.by_order.values()) == found.total.cut
    assert found.gaps == dict.fromkeys(plan.outcomes, Fraction(0))


def test_an_order_shares_waste_and_cost_by_its_cut_area_on_the_sheet(hand_plan: Plan) -> None:
    found = figures_of(hand_plan)
    one, two = found.by_order["K-204"], found.by_order["K-205"]
    assert (one.panels, two.panels) == (2, 1)
    assert one.waste_share == Fraction(157_600 * MM2 * 700, 940)
    # 60 x 24 / 94 = 15.31914..., 60 x 70 / 94 = 44.68085...: the larger remainder takes the odd unit
    assert (one.cost_share, two.cost_share) == (446_809, 153_191)


def test_trims_of_angled_cullet_are_cut_out_exactly(pentagon_plan: Plan) -> None:
    layout = pentagon_plan.layouts[0]
    trim = replace(layout.trim, right=mm(1240 - 500))
    cut = figures_of(replace(pentagon_plan, layouts=(replace(layout, trim=trim),))).total
    # the corner triangle (600,250) (600,600) (250,600) right of x = 500: 100 x (250 + 350) / 2
    assert cut.trim == (100 * 300 + 100 * 40) * MM2
    assert parts(cut) == cut.sheet


@pytest.mark.parametrize(
    ("side", "depth", "expected"),
    [
        # the corner triangle (600,250) (600,600) (250,600) of the offcut of 1240 x 640, and of the two
        # cullet rectangles what lies in the same strip
        ("left", 500, 250 * 250 / 2 + 500 * 40),
        ("right", 1240 - 300, 350 * 350 / 2 - 50 * 50 / 2 + 300 * 40),
        ("bottom", 400, 150 * 150 / 2),
        ("top", 640 - 500, 100 * (250 + 350) / 2 + 600 * 40),
    ],
)
def test_angled_cullet_is_cut_at_the_trim_of_each_side(
    side: str, depth: int, expected: float, pentagon_plan: Plan
) -> None:
    layout = pentagon_plan.layouts[0]
    trim = replace(layout.trim, **{side: mm(depth)})
    f = figures_of(replace(pentagon_plan, layouts=(replace(layout, trim=trim),))).total
    assert f.trim == int(expected) * MM2
    assert parts(f) == f.sheet


def test_edgework_counts_the_edge_that_it_belongs_to(pentagon_plan: Plan) -> None:
    # edges of the pentagon in order: 600, 250, 350 times the square root of 2, 250, 600
    for i, expected in enumerate([mm(600), mm(250), 494_974_746, mm(250), mm(600)]):
        edges = list(pentagon_plan.panels[0].edges)
        edges[i] = replace(edges[i], work=Work.BEVEL)
        panel = replace(pentagon_plan.panels[0], edges=tuple(edges))
        assert figures_of(replace(pentagon_plan, panels=(panel,))).total.edgework_nm["bevel"] == expected


def test_the_thickness_of_a_glass_comes_from_its_key_or_its_panels(hand_plan: Plan) -> None:
    assert thickness_of(hand_plan, "clear-10") == mm(10)
    other = replace(hand_plan.panels[0], glass="odd", thickness=mm(7))
    assert thickness_of(replace(hand_plan, panels=(*hand_plan.panels, other)), "odd") == mm(7)
    assert thickness_of(hand_plan, "odd") == 0


def test_excess_of_a_blank_stays_in_the_sum(hand_plan: Plan) -> None:
    narrower = tuple((x - 624 if x > mm(600) else x, y) for x, y in hand_plan.panels[0].cut)
    panel = replace(hand_plan.panels[0], cut=narrower)
    f = figures_of(replace(hand_plan, panels=(panel, *hand_plan.panels[1:]))).total
    assert f.cut == 940_000 * MM2 - 2 * 624 * mm(500)
    assert parts(f) == f.sheet


def test_a_plan_without_sheets_has_figures_of_nought(hand_plan: Plan) -> None:
    found = figures_of(replace(hand_plan, layouts=()))
    assert found.total == Figures()
    assert found.total.gross_yield == found.total.net_yield == found.total.finished_yield == 0
    assert found.by_glass == {"clear-10": Figures()}


def test_a_sheet_kept_whole_has_a_net_yield_of_nought(hand_plan: Plan) -> None:
    layout = hand_plan.layouts[0]
    whole = replace(
        layout.leaves[-1],
        kind=LeafKind.OFFCUT,
        panel=None,
        outline=rectangle(layout.width, layout.height),
    )
    f = figures_of(replace(hand_plan, layouts=(replace(layout, cuts=(), leaves=(whole,)),))).total
    assert f.net_yield == 0
    assert f.offcut == f.sheet


def test_glasses_add_up_to_the_total(hand_plan: Plan, inch_plan: Plan) -> None:
    second = replace(inch_plan.layouts[0], number=2)
    both = replace(
        hand_plan,
        rules=hand_plan.rules | inch_plan.rules,
        panels=hand_plan.panels + inch_plan.panels,
        layouts=(*hand_plan.layouts, second),
    )
    found = figures_of(both)
    assert list(found.by_glass) == ["clear-10", "clear-12"]
    total = Figures()
    for f in found.by_glass.values():
        total.add(f)
    assert total == found.total
    assert found.by_glass["clear-12"].sheet == 2 * (48 * 36 * 25_400_000**2)


@pytest.mark.parametrize(
    ("cost", "bound", "expected"), [(120, 100, Fraction(1, 5)), (100, 100, 0), (0, 0, 0), (5, 0, None)]
)
def test_gap_is_of_the_cost_alone(cost: int, bound: int, expected: Fraction | None) -> None:
    assert gap(cost, bound) == expected


@given(
    amount=st.integers(0, 10**12),
    weights=st.lists(st.integers(0, 10**20), min_size=1, max_size=9).filter(any),
)
def test_shares_add_up_and_lie_within_one_unit(amount: int, weights: list[int]) -> None:
    found = shares(amount, weights)
    assert sum(found) == amount
    for part, weight in zip(found, weights, strict=True):
        assert abs(Fraction(amount * weight, sum(weights)) - part) < 1


def test_mass_of_a_square_metre(make_panel: Callable[..., Panel]) -> None:
    # 2.5 kg per m2 and mm: EN 572-1
    panel = make_panel(1000, 1000)
    assert area2(panel.cut) == 2 * NM2_PER_M2
    assert panel.mass_grams == 25_000
