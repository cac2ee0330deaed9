"""Cut outlines by exact offset, tips cut back, hulls that can be scored, and outlines laid square."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import cos, hypot, pi, sin

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Polygon

from panewright.nesting.blanks import candidates
from panewright.nesting.check_outlines import cut_outline_fault
from panewright.nesting.cut_shape import CutShape, cut_shape, least_blank
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.laid_square import laid_square
from panewright.nesting.offsets import cut_outline, offset
from panewright.nesting.outlines import (
    FLAT,
    Outline,
    area2,
    box,
    cross,
    is_convex,
    is_rectangle,
    make_outline,
    rectangle,
    traced,
)
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.rules import Rules
from panewright.nesting.straight_edges import NOISE
from panewright.nesting.tips import TipRule, angle_at, sharp_corners, sharper
from panewright.nesting.units import mm, to_tick

RULES = Rules()
KEEP, BACK = TipRule(), TipRule(cut_back=True)


def of(*corners: tuple[float, float]) -> Outline:
    return make_outline([(mm(str(x)), mm(str(y))) for x, y in corners])


def edges(allowances: Sequence[int]) -> tuple[Edge, ...]:
    return tuple(Edge(work=Work.POLISHED, allowance=a) for a in allowances)


def shaped(outline: Outline, allowance: str, tips: TipRule = KEEP, rules: Rules = RULES) -> CutShape:
    return cut_shape(outline, edges([mm(allowance)] * len(outline)), rules, Turn.ANY, tips)


def panel_of(finished: Outline, work: tuple[Edge, ...], shape: CutShape) -> Panel:
    return Panel(
        id="A/p/1",
        order="A",
        name="p",
        glass="clear-10",
        thickness=mm(10),
        finished=finished,
        cut=shape.outline,
        edges=work,
        tips=shape.tips,
    )


WEDGE = of((0, 0), (600, 0), (0, 100))


# ---------------------------------------------------------------- tips


@pytest.mark.parametrize(("allowance", "long"), [("1.5", "619.6"), ("3", "639.3")])
def test_a_tip_of_nine_and_a_half_degrees_grows_far(allowance: str, long: str) -> None:
    """600 x 100 mm becomes 619.6 and 639.3 mm long: by hand, a (1 + 1 / tan(4.731 degrees)) more."""
    x0, _, x1, _ = box(shaped(WEDGE, allowance).outline)
    assert abs(x1 - x0 - mm(long)) < mm("0.06")
    assert angle_at(*WEDGE) == pytest.approx(9.462, abs=0.001)  # atan(1 / 6)


def test_a_right_triangle_grows_as_by_hand() -> None:
    """300 x 600 mm with 1.5 mm an edge: 303.93 x 607.85 mm (1.5 (1 + 1 / tan of half the corner))."""
    x0, y0, x1, y1 = box(shaped(of((0, 0), (300, 0), (0, 600)), "1.5").outline)
    assert abs(x1 - x0 - mm("303.93")) < mm("0.01") and abs(y1 - y0 - mm("607.85")) < mm("0.01")


def test_a_tip_is_cut_back_to_three_times_the_allowance() -> None:
    shape = shaped(WEDGE, "1.5", BACK)
    (tip,) = shape.tips
    assert (tip.corner, tip.reach) == (1, mm("4.5"))
    # of the three directions that square to the long edge alone leaves a blank by one score
    assert shape.outline == ((-mm("1.5"), -mm("1.5")), (mm("604.5"), -mm("1.5")), *shape.outline[2:])
    assert shape.outline[2][0] == mm("604.5") and len(shape.outline) == 4
    blank = candidates(shape.outline, Turn.ANY, RULES)[0]
    assert (blank.width, len(blank.cuts.scores)) == (mm(606), 1)


@pytest.mark.parametrize(
    ("rule", "reach"),
    [
        (replace(BACK, reach=mm(8)), "8"),
        (replace(BACK, times=Fraction(2)), "3"),
        (replace(BACK, reach=1), "1.5"),
    ],
)
def test_a_reach_is_stated_or_times_the_allowance_and_never_below_it(rule: TipRule, reach: str) -> None:
    assert [tip.reach for tip in shaped(WEDGE, "1.5", rule).tips] == [mm(reach)]


@pytest.mark.parametrize("first", range(3))
def test_it_does_not_matter_where_the_list_begins(first: int) -> None:
    wedge = (*WEDGE[first:], *WEDGE[:first])
    shape = shaped(wedge, "1.5", BACK)
    assert set(shape.outline) == set(shaped(WEDGE, "1.5", BACK).outline)
    assert [tip.corner for tip in shape.tips] == [(1 - first) % 3]
    assert cut_outline_fault(panel_of(wedge, edges([mm("1.5")] * 3), shape)) is None


def test_tips_that_reach_less_stay() -> None:
    assert shaped(WEDGE, "1.5", replace(BACK, reach=mm("18.2"))).tips == ()
    assert shaped(WEDGE, "0", BACK).tips == ()
    assert shaped(of((0, 0), (600, 0), (0, 600)), "1.5", BACK).tips == ()  # 45 degrees reach 2.6 times


def test_a_symmetric_tip_is_cut_square_to_its_bisector() -> None:
    """A slim isosceles triangle, its tip to the right: only the bisector leaves the box as blank."""
    slim = of((0, 0), (800, 100), (0, 200))
    shape = shaped(slim, "2", BACK)
    (tip,) = shape.tips
    at = [p for p in shape.outline if p[0] == mm(800) + tip.reach]
    assert len(at) == 2 and at[0][1] + at[1][1] == mm(200)


def test_no_tip_is_cut_back_where_no_blank_becomes_smaller() -> None:
    """A rhomboid with its points at both ends of the long diagonal: the box keeps its length by the rules."""
    flat = of((0, 0), (600, 0), (800, 90), (200, 90))
    kept, back = shaped(flat, "1.5"), shaped(flat, "1.5", BACK)
    least = least_blank(kept.outline, RULES, Turn.ANY)
    other = least_blank(back.outline, RULES, Turn.ANY)
    assert least is not None and other is not None and other <= least
    assert bool(back.tips) == (other < least)


@given(
    st.lists(st.integers(0, 359), min_size=3, max_size=8, unique=True),
    st.lists(st.integers(0, 4000), min_size=8, max_size=8),
    st.integers(150, 700),
    st.integers(20, 700),
    st.integers(1000, 6000),
)
def test_cut_back_outlines_lie_in_the_offset_and_pass_the_checker(
    turns: list[int], thousandths: list[int], a: int, b: int, times: int
) -> None:
    """Corners on an ellipse are convex; the checker shares no code with the offset."""
    corners = [
        (to_tick(round(a * 10**6 * cos(t * pi / 180))), to_tick(round(b * 10**6 * sin(t * pi / 180))))
        for t in sorted(turns)
    ]
    try:
        finished = make_outline(corners)
    except InvalidOutline:
        assume(False)
    allowances = [thousandths[i] * 1250 for i in range(len(finished))]
    work = edges(allowances)
    try:
        whole = offset(finished, allowances)
    except InvalidOutline:
        assume(False)
    shape = cut_shape(finished, work, RULES, Turn.ANY, replace(BACK, times=Fraction(times, 1000)))
    assert cut_outline_fault(panel_of(finished, work, shape)) is None
    assert is_convex(shape.outline) and len(shape.outline) == len(whole) + len(shape.tips)
    n = len(whole)
    # within the offset up to rounding, and only the corners of the tips are gone
    for i, p in enumerate(whole):
        q = whole[(i + 1) % n]
        far = hypot(q[0] - p[0], q[1] - p[1])
        assert all(cross(p, q, c) >= -2 * far for c in shape.outline)
    assert [i for i, p in enumerate(whole) if p not in shape.outline] == [tip.corner for tip in shape.tips]
    for tip in shape.tips:
        assert tip.reach >= max(allowances[tip.corner - 1], allowances[tip.corner])


def test_sharp_means_below_the_least_angle() -> None:
    assert sharp_corners(WEDGE, 30_000) == [1]
    assert not sharper((0, mm(100)), (0, 0), (mm(100), 0), 30_000)
    # a corner of a regular hexagon cut in two is 30 degrees but for its rounding
    half = (0, 0), (mm("519.615"), mm(300)), (0, mm(600))
    assert not sharper(half[2], half[1], half[0], 30_000)
    # a corner that turns inwards is no tip, however sharp
    dart = of((0, 0), (400, 20), (800, 0), (400, 30))
    assert 1 not in sharp_corners(dart, 179_000)


# ---------------------------------------------------------------- edges that vanish


def test_an_edge_that_vanishes_is_named_by_its_corners() -> None:
    """A dub of 0.71 mm, moved out by 3 mm alone, would lose 3 / tan(45 degrees) = 3 mm at each end."""
    dubbed = of((0, 0), (600, 0), (600, 399.5), (599.5, 400), (0, 400))
    with pytest.raises(InvalidOutline) as caught:
        cut_outline(dubbed, [0, 0, mm(3), 0, 0], (7, 6, 5, 4, 3))
    assert "from corner 5 to corner 4" in caught.value.reason and "0.71 mm" in caught.value.reason
    assert caught.value.remedy


def test_an_edge_in_a_pocket_that_vanishes_is_refused_too() -> None:
    slot = of((0, 0), (600, 0), (600, 400), (302, 400), (302, 200), (300, 200), (300, 400), (0, 400))
    with pytest.raises(InvalidOutline, match="corner 5 to corner 6"):
        shaped(slot, "1")
    assert is_rectangle(shaped(slot, "0.9").outline)


# ---------------------------------------------------------------- hulls


def test_an_l_keeps_the_score_to_its_hull() -> None:
    ell = of((0, 0), (900, 0), (900, 320), (520, 320), (520, 560), (0, 560))
    shape = shaped(ell, "1")
    assert shape.outline == cut_outline(ell, [mm(1)] * 6) and len(shape.outline) == 5


def test_a_corner_that_cannot_be_broken_off_is_left_on_the_blank() -> None:
    """The corner of 70 x 20 mm is 19 mm deep: less than a corner of 10 mm glass may be."""
    notched = of((0, 0), (600, 0), (600, 380), (530, 380), (530, 400), (0, 400))
    shape = shaped(notched, "1")
    assert box(shape.outline) == (-mm(1), -mm(1), mm(601), mm(401)) and is_rectangle(shape.outline)
    work = edges([mm(1)] * 6)
    assert cut_outline_fault(panel_of(notched, work, shape)) is None
    # thin glass breaks off shallower corners
    thin = Rules(break_out=mm(12), corner_depth=mm(10), least_angle=10_000)
    assert len(shaped(notched, "1", rules=thin).outline) == 5


@given(
    st.lists(st.integers(40, 400), min_size=5, max_size=9),
    st.lists(st.integers(0, 40), min_size=9, max_size=9),
)
def test_hulls_of_stars_hold_them_with_their_allowances(radii: list[int], tenths: list[int]) -> None:
    n = len(radii)
    corners = [
        (to_tick(round(r * 10**6 * cos(2 * pi * k / n))), to_tick(round(r * 10**6 * sin(2 * pi * k / n))))
        for k, r in enumerate(radii)
    ]
    try:
        finished = make_outline(corners)
        work = edges([tenths[i] * 100_000 for i in range(len(finished))])
        shape = cut_shape(finished, work, RULES, Turn.ANY, BACK)
    except InvalidOutline:
        assume(False)
    assert cut_outline_fault(panel_of(finished, work, shape)) is None
    assert Polygon(shape.outline).buffer(2000).contains(Polygon(finished))


# ---------------------------------------------------------------- outlines as listed


def test_corners_know_their_place_in_the_list() -> None:
    square = [(0, 0), (0, mm(400)), (mm(300), mm(400)), (mm(600), mm(400)), (mm(600), 0), (0, 0)]
    found = traced(square)
    assert found.outline == rectangle(mm(600), mm(400)) and found.names == (1, 5, 4, 2)


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        ([(0, 0), (600, 400), (600, 0), (0, 400)], "from corner 1 to 2 meets that from 3 to 4"),
        ([(0, 0), (600, 0), (300, 0), (300, 400)], "runs back on itself at corner 2"),
        ([(0, 0), (600, 0), (500, "0.0005"), (500, 400)], "runs back on itself at corner 2"),
        ([(0, 0), (300, 0), (600, 300), (300, 300), (300, 0), (0, 300)], "corners 2 and 5 are one point"),
        ([(0, 0), (600, 0), (600, 0), (0, 0)], "fewer than three"),
        ([(0, 0), (300, 0), (600, "0.0005"), (200, 0)], "fewer than three"),
    ],
)
def test_what_is_no_outline_says_where(corners: list[tuple[object, object]], words: str) -> None:
    with pytest.raises(InvalidOutline) as caught:
        traced([(mm(str(x)), mm(str(y))) for x, y in corners], FLAT)
    assert words in caught.value.reason and caught.value.remedy


def test_a_notch_or_a_bend_under_a_micrometre_is_none() -> None:
    notch = [
        (0, 0),
        (600, 0),
        (600, 400),
        (300, 400),
        (300, "399.9995"),
        (200, "399.9995"),
        (200, 400),
        (0, 400),
    ]
    assert traced([(mm(str(x)), mm(str(y))) for x, y in notch], FLAT).outline == rectangle(mm(600), mm(400))
    # the middle of a slanted edge, rounded to the tick
    bent = [
        (0, 0),
        (mm(600), 0),
        (to_tick(mm(600) - mm(100) // 3), to_tick(mm(400) // 3)),
        (mm(500), mm(400)),
    ]
    assert len(traced(bent, FLAT).outline) == 3


def test_a_notch_of_a_hundredth_stays() -> None:
    notch = [(0, 0), (600, 0), (600, 400), (300, 400), (300, "399.99"), (200, "399.99"), (200, 400), (0, 400)]
    assert len(traced([(mm(str(x)), mm(str(y))) for x, y in notch], FLAT).outline) == 8


# ---------------------------------------------------------------- laid square


def at_angle(outline: Outline, degrees: float, step: int = 1) -> Outline:
    c, s = cos(degrees * pi / 180), sin(degrees * pi / 180)
    return make_outline(
        [(round((x * c - y * s) / step) * step, round((x * s + y * c) / step) * step) for x, y in outline]
    )


@given(
    st.floats(0.5, 89.5), st.integers(100, 3000), st.integers(100, 2000), st.sampled_from([1, 625, 10_000])
)
def test_a_turned_rectangle_becomes_one_again(degrees: float, width: int, height: int, step: int) -> None:
    """Whether its corners are exact, rounded to the tick, or listed with two decimals."""
    turned = at_angle(rectangle(mm(width), mm(height)), degrees, step)
    laid = laid_square(turned)
    assert laid is not None and is_rectangle(laid.outline)
    sizes = sorted(box(laid.outline)[2:])
    assert all(abs(got - mm(want)) <= NOISE for got, want in zip(sizes, sorted((width, height)), strict=True))
    # every corner is where turning puts it, within what counts as noise
    for p, q in zip(turned, laid.outline, strict=True):
        moved = laid.place(p)
        assert max(abs(moved[0] - q[0]), abs(moved[1] - q[1])) <= NOISE


def test_an_outline_along_an_axis_is_left_alone() -> None:
    assert laid_square(WEDGE) is None and laid_square(rectangle(mm(600), mm(400))) is None


def test_a_turned_trapezoid_gets_its_flush_blank_back() -> None:
    trapezoid = of((0, 0), (600, 0), (450, 450), (150, 450))
    laid = laid_square(at_angle(trapezoid, 30, 625))
    assert laid is not None
    want = least_blank(shaped(trapezoid, "1.5").outline, RULES, Turn.ANY)
    got = least_blank(shaped(laid.outline, "1.5").outline, RULES, Turn.ANY)
    assert want is not None and got is not None and abs(got - want) < 10**-5 * want
    assert abs(area2(laid.outline) - area2(trapezoid)) < 10**-5 * area2(trapezoid)
