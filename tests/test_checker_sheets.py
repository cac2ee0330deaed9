"""The checker on sheets cut up by hand: all four sides, last cuts that free blanks, parallel shape cuts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from panewright.nesting.check_outlines import cut_outline_fault
from panewright.nesting.checker import check
from panewright.nesting.outlines import Outline, Point, cross
from panewright.nesting.plan import CutKind, LeafKind, Plan
from panewright.nesting.rules import Rules
from panewright.nesting.stock import ALL_SIDES, Side, Trim
from panewright.nesting.units import mm

W, H, T = mm(2000), mm(1000), mm(20)
SIDES = pytest.mark.parametrize("side", list(Side), ids=lambda side: side.value)


def words(plan: Plan) -> set[str]:
    return {violation.rule for violation in check(plan)}


def with_rules(plan: Plan, **changes: object) -> Plan:
    return replace(plan, rules={glass: replace(r, **changes) for glass, r in plan.rules.items()})


def with_sheet(plan: Plan, **changes: object) -> Plan:
    return replace(plan, layouts=(replace(plan.layouts[0], **changes),))


@pytest.fixture
def trimmed(hand_sheet: Callable, make_panel: Callable) -> Callable[..., Plan]:
    """A sheet that is trimmed by a cut on all four sides; one strip may be cut across near its start."""

    def make(across: Side | None = None, at: int = 0) -> Plan:
        s = hand_sheet(W, H, ALL_SIDES, Trim(T, T, T, T))
        strips: dict[Side, str] = {}
        strips[Side.LEFT], rest = s.upright("s", T, CutKind.TRIM, 0)
        rest, strips[Side.RIGHT] = s.upright(rest, W - T, CutKind.TRIM, 0)
        strips[Side.BOTTOM], rest = s.level(rest, T, CutKind.TRIM, 0)
        rest, strips[Side.TOP] = s.level(rest, H - T, CutKind.TRIM, 0)
        if across in (Side.LEFT, Side.RIGHT):
            s.cullet(*s.level(strips.pop(across), at, CutKind.MAIN, 1))
        elif across is not None:
            s.cullet(*s.upright(strips.pop(across), T + at, CutKind.MAIN, 1))
        s.cullet(*strips.values())
        panel = make_panel(1960, 960)
        s.panel(rest, panel)
        return s.plan([panel], stock="clear-10 2000x1000")

    return make


def test_a_sheet_may_be_trimmed_on_every_side(trimmed: Callable, outsider: Callable, tmp_path: Path) -> None:
    assert check(trimmed()) == []
    outsider(trimmed(), tmp_path)


@SIDES
def test_a_panel_a_nanometre_in_the_trim_is_refused(side: Side, trimmed: Callable) -> None:
    plan = trimmed()
    trim = replace(plan.layouts[0].trim, **{side.value: T + 1})
    assert words(with_sheet(plan, trim=trim)) == {"panel in the trim", "trim", "break-out distance"}


@SIDES
def test_a_side_that_is_not_raw_is_not_trimmed(side: Side, trimmed: Callable) -> None:
    plan = trimmed()
    trim = replace(plan.layouts[0].trim, **{side.value: 0})
    raw = tuple(s for s in Side if s is not side)
    assert words(with_sheet(plan, trim=trim, raw=raw)) == {"trim", "break-out distance"}


@SIDES
def test_waste_at_a_raw_side_is_as_long_as_the_break_out_distance(side: Side, trimmed: Callable) -> None:
    assert check(trimmed(side, mm(30))) == []
    (found,) = check(trimmed(side, mm(30) - 1))
    assert (found.rule, found.sheet) == ("break-out distance", 1)


@SIDES
def test_a_piece_is_trimmed_only_where_it_has_the_side(
    side: Side, hand_sheet: Callable, make_panel: Callable
) -> None:
    s = hand_sheet(W, H, ALL_SIDES, Trim(T, T, T, T))
    half = {Side.LEFT: T // 2, Side.RIGHT: W - T // 2, Side.BOTTOM: T // 2, Side.TOP: H - T // 2}[side]
    at = {Side.LEFT: T, Side.RIGHT: W - T, Side.BOTTOM: T, Side.TOP: H - T}[side]
    cut = s.upright if side in (Side.LEFT, Side.RIGHT) else s.level
    low, high = cut("s", half, CutKind.MAIN, 1)
    near, far = (low, high) if side in (Side.LEFT, Side.BOTTOM) else (high, low)
    strip, rest = cut(far, at, CutKind.TRIM, 0)
    if side in (Side.RIGHT, Side.TOP):
        strip, rest = rest, strip
    s.cullet(near, strip)
    s.offcut(rest)
    plan = s.plan([make_panel(500, 500)], stock="x")
    assert [v.step for v in check(plan) if v.rule == "trim"] == [2]


# ---------------------------------------------------------------- shape cuts


def pentagon_sheet(
    s: object, cuts: list[tuple[Point, Point, Outline, Outline]], piece: str
) -> tuple[str, ...]:
    """Shape cuts one after the other, each through what the one before left on its left side."""
    out = []
    for start, end, left, right in cuts:
        piece, off = s.shape(piece, start, end, left, right)  # type: ignore[attr-defined]
        out.append(off)
    return (piece, *out)


@pytest.mark.parametrize("axis", ["upright", "level"])
def test_a_shape_cut_may_run_along_the_sheet_across_an_angled_side(
    axis: str, hand_sheet: Callable, make_panel: Callable, outsider: Callable, tmp_path: Path
) -> None:
    w, a, b = mm(600), mm(250), mm(424)
    # the sloping side runs from (600, 250) to (250, 601): it meets the parallel cut off the nanometre lattice
    corner, top = (w, a), (a, w)
    pentagon = ((0, 0), (w, 0), corner, top, (0, w))
    if axis == "upright":
        ends = ((b, 0), (b, w + a - b))
        left = ((0, 0), ends[0], ends[1], top, (0, w))
        right = (ends[0], (w, 0), corner, ends[1])
    else:
        ends = ((w + a - b, b), (0, b))
        left = ((0, 0), (w, 0), corner, ends[0], ends[1])
        right = (ends[1], ends[0], top, (0, w))
        left, right = right, left
        ends = ends[::-1]
    one, two = make_panel(id="A/one/1", outline=left), make_panel(id="A/two/1", outline=right)
    s = hand_sheet(mm(1240), w, (), Trim())
    blank, keep = s.upright("s", w, CutKind.MAIN, 1)
    s.offcut(keep)
    shapes = [(corner, top, pentagon, (corner, (w, w), top)), (*ends, left, right)]
    piece, waste, second = pentagon_sheet(s, shapes, blank)
    s.cullet(waste)
    s.panel(piece, one)
    s.panel(second, two)
    plan = s.plan([one, two], stock="x")
    assert [str(v) for v in check(plan)] == []
    outsider(plan, tmp_path)


def test_angled_scores_count_by_their_true_length(pentagon_plan: Plan) -> None:
    # 350 mm times the square root of 2 is 494.974746... mm
    def steps(longest: int) -> list[int | None]:
        return [v.step for v in check(with_rules(pentagon_plan, longest_cut=longest))]

    assert 3 in steps(494_974_746)
    assert 3 not in steps(494_974_747)


def test_a_last_cut_may_free_a_blank(
    hand_sheet: Callable, make_panel: Callable, outsider: Callable, tmp_path: Path
) -> None:
    w, a = mm(600), mm(250)
    outline = ((0, 0), (w, 0), (w, a), (a, w), (0, w))
    panel = make_panel(outline=outline)
    s = hand_sheet(mm(1300), mm(640), (), Trim())
    strip, keep = s.upright("s", mm(640), CutKind.MAIN, 1)
    lower, upper = s.level(strip, w, CutKind.MAIN, 2)
    blank, waste = s.upright(lower, w, CutKind.LAST, 3)
    piece, corner = s.shape(blank, (w, a), (a, w), outline, ((w, a), (w, w), (a, w)))
    s.panel(piece, panel)
    s.offcut(keep)
    s.cullet(upper, waste, corner)
    plan = s.plan([panel], stock="x")
    plan = replace(plan, rules={"clear-10": Rules(levels=2)})
    assert [str(v) for v in check(plan)] == []
    outsider(plan, tmp_path)
    # the same cut frees nothing where the blank is no blank but waste as well
    layout = plan.layouts[0]
    leaves = tuple(x for x in layout.leaves if x.piece not in (piece, corner))
    whole = replace(leaves[0], piece=blank, kind=LeafKind.CULLET, outline=((0, 0), (w, 0), (w, w), (0, w)))
    whole = replace(whole, offcut=None, raw=())
    bare = with_sheet(plan, cuts=layout.cuts[:-1], leaves=(*leaves, whole))
    assert words(bare) == {"last cut", "plan id", "placed once"}


# ---------------------------------------------------------------- outlines


def test_a_star_turns_left_at_every_corner_and_is_not_convex(make_panel: Callable) -> None:
    # a pentagram: five left turns, twice round
    star = tuple((mm(x), mm(y)) for x, y in ((0, 0), (500, 360), (-100, 360), (400, 0), (200, 600)))
    panel = replace(make_panel(500, 500), finished=star, cut=star)
    assert all(cross(star[i - 2], star[i - 1], star[i]) > 0 for i in range(5))
    assert "not convex" in str(cut_outline_fault(replace(panel, edges=panel.edges[:1] * 5)))
