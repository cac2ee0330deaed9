"""Marks of angled scores: which corner the tape hooks, rounding at the table, and what that does to sizes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from panewright.io.sequence_files import sequence_csv, sequence_text
from panewright.nesting.checker import check
from panewright.nesting.outlines import Outline, Point, make_outline
from panewright.nesting.panels import Panel
from panewright.nesting.pieces import Piece, split
from panewright.nesting.plan import Cut, CutKind, Plan
from panewright.nesting.stock import Trim
from panewright.nesting.units import MM, mm, use_style


@pytest.fixture(autouse=True)
def metric():
    use_style(MM)
    yield
    use_style(MM)


def with_rules(plan: Plan, **changes: object) -> Plan:
    return replace(plan, rules={glass: replace(r, **changes) for glass, r in plan.rules.items()})


def shaped(s, piece: str, start: Point, end: Point) -> tuple[str, str]:
    """A shape cut from border to border; the left and the right part."""
    held = s.pieces[piece]
    cut = Cut(step=1, piece=piece, start=start, end=end, makes=("l", "r"), kind=CutKind.SHAPE, level=None)
    n = len(held)
    parts = split(Piece(piece, held, (None,) * n, tuple(range(n))), cut, 1)
    left, right = (tuple((round(x), round(y)) for x, y in p.corners) for p in (parts.left, parts.right))
    return s.shape(piece, start, end, left, right)


@pytest.fixture
def blank_sheet(hand_sheet: Callable) -> Callable:
    """A sheet from which one blank is cut by two main cuts; the sheet and the name of the blank."""

    def make(width: int, height: int):
        s = hand_sheet(width + mm(700), height + mm(400), (), Trim())
        strip, keep = s.upright("s", width, CutKind.MAIN, 1)
        blank, upper = s.level(strip, height, CutKind.MAIN, 2)
        s.offcut(keep)
        s.offcut(upper)
        return s, blank

    return make


@pytest.fixture
def trapezoids(blank_sheet: Callable, make_panel: Callable[..., Panel]) -> Plan:
    """Two right trapezoids, bottom 500, top 350, height 400, 1.5 mm all round, that share the slanted score."""
    outline = make_outline([(0, 0), (mm(500), 0), (mm(350), mm(400)), (0, mm(400))])
    one, two = (make_panel(id=f"K-204/baffle/{i}", outline=outline, allowance="1.5") for i in (1, 2))
    (x0, y0), (x1, _), (x2, y2), _ = one.cut
    bottom, top, high = x1 - x0, x2 - x0, y2 - y0
    s, blank = blank_sheet(bottom + top, high)
    left, right = shaped(s, blank, (bottom, 0), (top, high))
    s.panel(left, one)
    s.panel(right, two, turned=180)
    return s.plan([one, two], stock="R-1", is_offcut=True)


@pytest.fixture
def pentagons(blank_sheet: Callable, make_panel: Callable[..., Panel]) -> Plan:
    """Two corner pentagons, legs 600, returns 250, 1.5 mm all round, that share the angled score."""
    a, w = mm(250), mm(600)
    outline: Outline = ((0, 0), (w, 0), (w, a), (a, w), (0, w))
    one, two = (make_panel(id=f"K-310/base/{i}", outline=outline, allowance="1.5") for i in (1, 2))
    (x0, _), (x1, _), (_, ya), *_ = one.cut
    side, back = x1 - x0, ya - x0
    wide = side + back
    s, blank = blank_sheet(wide + back, side)
    left, right = shaped(s, blank, (wide, 0), (back, side))
    first, tip = shaped(s, left, (side, 0), (side, back))
    s.panel(first, one)
    second, other = right, ""
    at = wide + back - side
    other, second = shaped(s, right, (at, side - back), (at, side))
    s.panel(second, two, turned=180)
    s.cullet(tip, other)
    return s.plan([one, two], stock="R-2", is_offcut=True)


def test_pairs_pass_both_checkers(
    trapezoids: Plan, pentagons: Plan, outsider: Callable, tmp_path: Path
) -> None:
    for plan in (trapezoids, pentagons):
        assert [str(v) for v in check(plan)] == []
        outsider(plan, tmp_path)


def test_show(trapezoids, pentagons):
    for plan in (trapezoids, pentagons):
        for step in (None, mm("0.5")):
            print(sequence_text(with_rules(plan, mark_step=step)))
    print(sequence_csv(with_rules(trapezoids, mark_step=mm("0.5"))))


def test_pics(trapezoids, pentagons):
    from panewright.io.scene import sheet_scene
    from panewright.io.svg_drawing import svg_text

    for n, plan in (("t", trapezoids), ("p", pentagons)):
        plan = with_rules(plan, mark_step=mm("0.5"))
        Path(f"/tmp/angled/{n}.svg").write_text(svg_text(sheet_scene(plan, plan.layouts[0])))
