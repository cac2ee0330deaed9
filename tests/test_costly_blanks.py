"""Panels that leave little beside them to break off: which blank they get, on which sheet, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from math import dist

import pytest

from panewright.io import bench_angled
from panewright.io.blank_words import blank_words
from panewright.nesting.angled.exact import breaks_off
from panewright.nesting.angled.offers import own_blanks
from panewright.nesting.blanks import candidates, least_rectangle
from panewright.nesting.checker import check
from panewright.nesting.costly_blanks import costly_blanks
from panewright.nesting.figures import figures_of
from panewright.nesting.joint_blanks import Bundle, tied
from panewright.nesting.once import once_a_sheet
from panewright.nesting.outlines import box, hull, make_outline
from panewright.nesting.panels import Turn
from panewright.nesting.plan import CutKind
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.rules import Rules
from panewright.nesting.sequence import steps_of
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.shop_table import Table
from panewright.nesting.steps import Caution
from panewright.nesting.units import mm

SMALL = "clear-10 3210x2250"
DUBBED = [(0, 0), (800, 0), (800, 480), (780, 500), (0, 500)]
STRIP = [(0, 0), (3600, 0), (3600, 150), (0, "150.5")]
RULES = Rules(break_out=mm(20), corner_depth=mm(15), least_angle=30_000)


def outline(corners):
    return make_outline([(mm(str(x)), mm(str(y))) for x, y in corners])


def copies(name, corners, count, *, allowance="0", **more):
    panels = [
        bench_angled.angled_panel(f"{name}/{i}", outline(corners), allowance) for i in range(1, count + 1)
    ]
    return [replace(p, **more) for p in panels]


def planned(panels, stock, shop=None):
    shop = shop or Shop()
    planner = Planner(panels, stock, shop, effort=40, unplaced=impossible(panels, stock, shop))
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


def passes(plan):
    """The panels that are placed, of a plan that the checker passes."""
    assert [str(v) for v in check(plan)] == []
    return {leaf.panel for x in plan.layouts for leaf in x.leaves if leaf.panel}


def test_a_panel_with_a_small_corner_off_stands_a_little_askew_and_not_at_half_a_right_angle():
    rules = Shop().rules("clear-10")
    cut = outline(DUBBED)
    least, size = least_rectangle(cut, Turn.ANY)
    assert (least, size) == (mm(800) * mm(500), (mm(800), mm(500)))
    flush = candidates(cut, Turn.ANY, rules)[0]
    assert (
        flush.width * flush.height > 2 * least
    )  # on the edge of the corner, the only one with nothing beside it
    chosen = own_blanks(cut, Turn.ANY, rules)[0]
    assert chosen.width * chosen.height < least * 5 / 4
    assert own_blanks(cut, Turn.QUARTER, rules) == ()


def test_what_a_costly_blank_takes_is_said_with_the_remedy(make_stock, outsider, tmp_path):
    # by machine, whose angled scores may be long: a strip longer than the sheet lies across it
    shop = Shop(table=Table.MACHINE)
    plan = planned(copies("U/strip", STRIP, 1), [make_stock(3210, 2250)], shop)
    assert passes(plan) == {"U/strip/1"}
    outsider(plan, tmp_path)
    (one,) = costly_blanks(plan)
    assert one.tenths > 100 and one.least == (mm(3600), mm("150.5"))
    (said,) = blank_words(plan)
    assert "3600 x 150.5 mm" in said and "U/strip" in said and "taper left on" in said
    # straight and alone, or sharing a blank, is nothing to speak of
    plain = planned(copies("K/trap", [(0, 0), (600, 0), (450, 450), (150, 450)], 5), [make_stock(3210, 2250)])
    assert costly_blanks(plain) == [] and blank_words(plain) == []


def test_joint_blanks_leave_the_choice_of_the_sheet(make_stock):
    stock = [make_stock(3210, 2250), make_stock(6000, 3210)]
    tapers = [
        *copies("K/a", [(0, 0), (2000, 0), (2000, 300), (0, 276)], 2, turn=Turn.QUARTER),
        *copies("K/b", [(0, 0), (1500, 0), (1500, "324.6"), (0, 300)], 1, turn=Turn.QUARTER),
        *copies("K/c", [(0, 0), (2000, 0), (2000, 300), (0, 299)], 1, turn=Turn.QUARTER),
    ]
    plan = planned(tapers, stock)
    assert len(passes(plan)) == 4
    assert [layout.stock for layout in plan.layouts] == [SMALL]


def test_a_pair_whose_score_would_be_too_long_is_named_with_that_reason(make_stock):
    slivers = copies("T/s", [(0, 0), (900, 0), (900, 60), (0, 55)], 2)
    stock = [make_stock(3210, 2250)]
    assert impossible(slivers, stock, Shop()) == []
    short = Shop(cutting=CuttingChoice(longest_angled_cut=mm(400)))
    assert {u.rule for u in impossible(slivers, stock, short)} == {"longest angled score"}
    alone = [replace(p, turn=Turn.NONE) for p in slivers[:1]]
    assert {u.rule for u in impossible(alone, stock, short)} == {"corner of a blank"}


@pytest.mark.parametrize(
    ("corners", "breaks"),
    [
        ([(0, 0), (300, 0), (300, 14), (0, 18)], False),  # shallow from end to end
        ([(0, 0), (300, 0), (300, 1), (0, 18)], False),  # a wedge with a blunt tip
        ([(0, 0), (300, 0), (300, 16), (0, 18)], True),
        ([(0, 0), (60, 0), (30, 18)], True),
        ([(0, 0), (60, 0), (40, 16), (20, 16)], True),
    ],
)
def test_a_wedge_with_a_blunt_tip_is_no_corner(corners, breaks):
    piece = outline(corners)
    # the score runs along the bottom; the piece lies to its right
    assert breaks_off(piece, piece[1], piece[0], RULES) is breaks


def test_a_slim_strip_beside_an_angled_score_is_said_to_be_one(make_stock):
    tapers = copies("K/t", [(0, 0), (1200, 0), (1200, 300), (0, 255)], 1)
    plan = planned(tapers, [make_stock(3210, 2250)])
    passes(plan)
    for layout in plan.layouts:
        for step in steps_of(plan, layout):
            strips = [c for c in layout.cuts if c.step == step.number and c.start[0] != c.end[0]]
            if strips and strips[0].start[1] != strips[0].end[1] and not step.cautions:
                long = dist(strips[0].start, strips[0].end)
                assert long < mm(400)  # nothing long comes off without a word
    assert any(Caution.NARROW in s.cautions for x in plan.layouts for s in steps_of(plan, x))


def test_pinned_panels_share_blanks_with_each_other(make_stock, outsider, tmp_path):
    triangles = copies("S/tri", [(0, 0), (500, 0), (0, 600)], 44)
    stock = [replace(make_stock(3210, 2250), on_hand=1, buyable=False), make_stock(6000, 3210, on_hand=1)]
    plan = planned([replace(p, from_stock=SMALL) for p in triangles], stock)
    assert len(passes(plan)) == 44
    assert [layout.stock for layout in plan.layouts] == [SMALL]
    shape_cuts = sum(cut.kind is CutKind.SHAPE for cut in plan.layouts[0].cuts)
    assert shape_cuts < 44  # two of them come of one score
    outsider(plan, tmp_path)


def test_what_is_short_is_told_by_the_stock_it_is_tied_to(make_panel, make_stock):
    offcuts = [
        make_stock(1800, 700, raw=(), on_hand=1, buyable=False, offcut=True, name="R-7"),
        make_stock(1200, 720, raw=(), on_hand=1, buyable=False, offcut=True, name="R-8"),
    ]
    panels = [replace(make_panel(1500, 600, id=f"A/p/{k}"), from_stock="R-7") for k in (1, 2)]
    panels += [replace(make_panel(1100, 650, id=f"B/p/{k}"), from_stock="R-8") for k in (1, 2, 3)]
    plan = planned(panels, offcuts)
    told = {u.panel[0]: u.reason for u in plan.unplaced}
    assert "R-7" in told["A"] and "R-8" not in told["A"]
    assert "R-8" in told["B"] and "R-7" not in told["B"]
    assert figures_of(plan).total.panels == 2


def test_work_on_a_sheet_is_done_once_for_one_plan(hand_plan):
    asked = []

    @once_a_sheet
    def work(plan, layout, *, more=1):
        asked.append(more)
        return plan.id, layout.number, more

    layout = hand_plan.layouts[0]
    assert work(hand_plan, layout) == work(hand_plan, layout) == (hand_plan.id, layout.number, 1)
    assert work(hand_plan, layout, more=2)[2] == 2
    assert asked == [1, 2]
    other = replace(hand_plan, id="other")
    assert work(other, layout)[0] == "other" and work(hand_plan, layout)[0] == hand_plan.id
    assert asked == [1, 2, 1, 1]


def test_a_joint_blank_that_may_not_turn_fits_the_sheet_as_it_lies(make_panel, make_stock):
    # two panels that may not turn, tied to a third: upright their blank is higher than the sheet
    shop = Shop(cutting=CuttingChoice(break_out=mm(30), corner_depth=0, longest_angled_cut=0))
    rects = [(851, 196), (109, 294), (154, 430), (675, 273)]
    panels = [make_panel(w, h, id=f"R{i}/p/1") for i, (w, h) in enumerate(rects)]
    kite = [(73, 612), (141, 52), (321, 266), (303, 544), (199, 700)]
    wing = [(61, 92), (253, 18), (900, 130), (286, 574), (126, 622)]
    dart = [(189, 338), (482, 23), (565, 28), (380, 401)]
    panels += copies("A0/p", hull(kite), 2, allowance="1", mirror=False)
    panels += copies("A1/p", hull(wing), 2, allowance="1", mirror=False)
    panels += copies("A2/p", hull(dart), 3, allowance="1", turn=Turn.NONE, narrow=True)
    stock = [make_stock(1605, 1100)]
    rules = shop.rules("clear-10")
    for panel in tied(panels, stock, rules).panels:
        x0, y0, x1, y1 = box(panel.cut)
        if isinstance(panel, Bundle) and panel.turn is Turn.NONE:
            assert x1 - x0 <= stock[0].inner_width and y1 - y0 <= stock[0].inner_height
    plan = planned(panels, stock, shop)
    assert len(passes(plan)) + len(plan.unplaced) == len(panels)
