"""What can be cut from an offcut: against the planner's own test of a single panel, and by small examples."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.shop_file import default_shop
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.feasible import impossible
from panewright.nesting.fits import Fit, Sheet, fit, fit_panel
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Panel, Turn, cut_of
from panewright.nesting.rules import Rules
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece, Trim
from panewright.nesting.units import mm

SHOP = default_shop()
GLASS = "clear-10"
TRIM = SHOP.trim(GLASS)
"""20 mm at the near sides, 25 at the far ones; break-out distance 30 mm; offcuts from 600 x 300 mm."""
RULES = Rules(break_out=mm(30), least_offcut=(mm(600), mm(300)))


def sheet(width: int, height: int, *raw: Side) -> Sheet:
    return Sheet(width=mm(width), height=mm(height), raw=raw, trim=TRIM.on(raw))


def sizes(found: Fit | None) -> list[tuple[int, int]] | None:
    return None if found is None else [(w // mm(1), h // mm(1)) for w, h in found.left]


def panel(width: int, height: int, *, turn: Turn = Turn.ANY, narrow: bool = False) -> Panel:
    outline = rectangle(width, height)
    edges = tuple(Edge(work=Work.CUT, allowance=0) for _ in outline)
    return Panel(
        id="A/p/1",
        order="A",
        name="p",
        glass=GLASS,
        thickness=mm(10),
        finished=outline,
        cut=cut_of(outline, edges),
        edges=edges,
        turn=turn,
        narrow=narrow,
    )


@settings(max_examples=120)
@given(
    width=st.integers(5, 40),
    height=st.integers(5, 40),
    w=st.integers(1, 40),
    h=st.integers(1, 40),
    raw=st.sets(st.sampled_from(list(Side))),
    turn=st.sampled_from(list(Turn)),
    narrow=st.booleans(),
    longest=st.none() | st.integers(5, 40),
)
def test_it_fits_where_the_planner_says_that_the_stock_yields_it(
    width: int, height: int, w: int, h: int, raw: set[Side], turn: Turn, narrow: bool, longest: int | None
) -> None:
    # steps of 20 mm meet trims (20, 25) and the break-out distance (30) from both sides
    step = mm(20)
    sides = tuple(side for side in Side if side in raw)
    trim = TRIM.on(sides)
    if width * step <= trim.left + trim.right or height * step <= trim.bottom + trim.top:
        return
    cutting = replace(SHOP.cutting, longest_cut=None if longest is None else longest * step)
    shop = replace(SHOP, cutting=cutting)
    rules = shop.rules(GLASS)
    piece = StockPiece(
        name="R-1",
        glass=GLASS,
        width=width * step,
        height=height * step,
        is_offcut=True,
        raw=sides,
        trim=trim,
        on_hand=1,
    )
    one = panel(w * step, h * step, turn=turn, narrow=narrow)
    mine = fit_panel(Sheet(width=piece.width, height=piece.height, raw=sides, trim=trim), one, rules)
    theirs = impossible([one], [piece], shop)
    if longest is None or {w, h} != {width, height}:
        # a panel that is the whole piece needs no score at all; the planner's test does not ask for it
        assert (mine is not None) == (not theirs), theirs
    if mine is not None:
        assert sum(a * b for a, b in mine.left) + one.cut_area2 // 2 <= piece.width * piece.height
        assert all(rules.keeps(*size) for size in mine.left)
        assert list(mine.left) == sorted(mine.left, key=lambda s: -s[0] * s[1])


def test_the_whole_offcut_leaves_nothing() -> None:
    found = fit(sheet(900, 600), mm(900), mm(600), RULES)
    assert found == Fit(turned=False, left=())


def test_a_sliver_beside_it_cannot_be_broken_off() -> None:
    assert fit(sheet(900, 600), mm(871), mm(600), RULES) is None
    assert fit(sheet(900, 600), mm(870), mm(600), RULES) is not None
    # along a raw side it leaves together with the trim
    assert fit(sheet(900, 600, Side.RIGHT), mm(871), mm(600), RULES) is not None
    assert fit(sheet(900, 600, Side.RIGHT), mm(876), mm(600), RULES) is None


def test_the_larger_of_two_ways_to_part_the_rest_is_chosen() -> None:
    # 1200 x 900, panel 500 x 400: upright first leaves 700 x 900 and 500 x 500, level first 1200 x 500 and 700 x 400
    assert sizes(fit(sheet(1200, 900), mm(500), mm(400), RULES, quarter=False)) == [(700, 900)]
    # with offcuts from 300 x 300 mm both strips are kept
    small = replace(RULES, least_offcut=(mm(300), mm(300)))
    assert sizes(fit(sheet(1200, 900), mm(500), mm(400), small, quarter=False)) == [(700, 900), (500, 500)]


def test_a_turn_is_taken_only_where_it_is_allowed() -> None:
    assert fit(sheet(900, 500), mm(450), mm(900), RULES, quarter=False) is None
    found = fit(sheet(900, 500), mm(450), mm(900), RULES)
    assert found is not None and found.turned


def test_the_rest_keeps_its_raw_side() -> None:
    # the panel goes to the cut side; the strip along the raw one goes back to the rack with its trim
    assert sizes(fit(sheet(1300, 600, Side.LEFT), mm(600), mm(600), RULES)) == [(700, 600)]
    # between two raw sides one trim is lost
    both = (Side.LEFT, Side.RIGHT)
    assert sizes(fit(sheet(1300, 600, *both), mm(600), mm(600), RULES)) == [(680, 600)]


def test_scores_are_no_longer_than_the_table_makes() -> None:
    short = replace(RULES, longest_cut=mm(900))
    assert fit(sheet(1000, 1000), mm(500), mm(500), short) is None
    # the first score goes along the shorter side
    found = fit(sheet(1000, 900), mm(500), mm(500), short)
    assert sizes(found) == [(500, 900)] if found and found.left else found is not None
    assert fit(sheet(1000, 900), mm(950), mm(500), short) is None


@pytest.mark.parametrize("raw", [(), ALL_SIDES])
def test_a_narrow_panel_must_be_allowed(raw: tuple[Side, ...]) -> None:
    assert fit(sheet(900, 600, *raw), mm(20), mm(500), RULES) is None
    assert fit(sheet(900, 600, *raw), mm(20), mm(500), RULES, narrow=True) is not None


def test_the_trim_of_a_side_that_is_not_raw_does_not_count() -> None:
    odd = Sheet(width=mm(900), height=mm(600), raw=(), trim=Trim(mm(20), mm(20), mm(20), mm(20)))
    assert fit(odd, mm(900), mm(600), RULES) is not None
