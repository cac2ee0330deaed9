"""Marks of angled scores: which corner the tape hooks, what the table reads, what the drawing shows."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from math import sqrt
from pathlib import Path

import ezdxf
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from panewright.io import palette
from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.label_fit import holds
from panewright.io.mark_words import check_words, mark_words
from panewright.io.plan_file import PlanFileError, dumps, loads
from panewright.io.scene import Circle, Text, sheet_scene
from panewright.io.sequence_csv import sequence_csv
from panewright.io.sequence_files import sequence_text
from panewright.io.shop_file import default_shop
from panewright.nesting.blanks import candidates
from panewright.nesting.checker import check
from panewright.nesting.marks import measured
from panewright.nesting.outlines import Outline, box, hull
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.pieces import SLACK, CutFault, Direction, Piece, split
from panewright.nesting.plan import Cut, CutKind, Plan
from panewright.nesting.rules import Rules
from panewright.nesting.sequence import steps_of
from panewright.nesting.shop_table import Table
from panewright.nesting.steps import Caution, End, Mark, Step
from panewright.nesting.stock import Trim
from panewright.nesting.tanks.findings import findings
from panewright.nesting.units import INCH, MM, inch, mm, use_style

RULE = "-" * 78 + "\n"


@pytest.fixture(autouse=True)
def metric():
    use_style(MM)
    yield
    use_style(MM)


def with_rules(plan: Plan, **changes: object) -> Plan:
    return replace(plan, rules={glass: replace(r, **changes) for glass, r in plan.rules.items()})


def rows_of(plan: Plan) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(sequence_csv(plan).lstrip("\ufeff"), newline="")))


def shape_steps(plan: Plan) -> list[Step]:
    return [s for s in steps_of(plan, plan.layouts[0]) if s.kind is CutKind.SHAPE]


def test_pairs_pass_both_checkers(
    trapezoids: Plan, pentagons: Plan, outsider: Callable, tmp_path: Path
) -> None:
    for plan in (trapezoids, pentagons):
        assert [str(v) for v in check(plan)] == []
        outsider(plan, tmp_path)


# ---------------------------------------------------------------- golden cut sheets
# The pairs and their marks are those of a feasibility study of angled panels (measured there, two decimals):
# trapezoids bottom 500, top 350, height 400, allowance 1.5: blank 856.20 x 403.00, score 430.40, marks 503.67
# and 352.54; corner pentagons, legs 600, returns 250: blank 1107.24 x 603.00, marks 855.12 and 252.12, then 603.00

TRAPEZOIDS_EXACT = """\
 _        HAND    bottom part of step 2, 856.2 x 403 mm, 8.7 kg, one person
 _|       MARK    503.66 mm from the left end of the bottom edge
 _|               check: 352.54 mm from the right end
          MARK    352.54 mm from the left end of the top edge
                  check: 503.66 mm from the right end
                  score 430.4 mm, shape cut
             ->   LEFT: panel K-204 baffle, 503.66 x 403 mm angled
             ->   RIGHT: panel K-204 baffle, 503.66 x 403 mm angled
"""
TRAPEZOIDS_ROUNDED = """\
 _        HAND    bottom part of step 2, 856.2 x 403 mm, 8.7 kg, one person
 _|       MARK    503.5 mm from the left end of the bottom edge
 _|               check: 352.5 mm from the right end
          MARK    352.5 mm from the left end of the top edge
                  check: 503.5 mm from the right end
                  score 430.4 mm, shape cut
             ->   LEFT: panel K-204 baffle, 503.66 x 403 mm angled, rounded
                  marks: up to 0.15 mm short
             ->   RIGHT: panel K-204 baffle, 503.66 x 403 mm angled, rounded
                  marks: up to 0.15 mm over
"""
PENTAGONS_EXACT = """\
 _        HAND    bottom part of step 2, 1107.24 x 603 mm, 16.7 kg, one person
 _|       MARK    855.12 mm from the left end of the bottom edge
 _|               check: 252.12 mm from the right end
          MARK    252.12 mm from the left end of the top edge
                  check: 855.12 mm from the right end
                  score 852.77 mm, shape cut
             ->   LOWER LEFT: cut on in step 4, 855.12 x 603 mm angled
             ->   UPPER RIGHT: set aside until step 5, 855.12 x 603 mm angled
             !    runs to a point: support the whole score, start the break at
                  the wide end
             !    sharp point: support it, break from the wide end, cover the
                  point
------------------------------------------------------------------------------
          HAND    lower left part of step 3, 855.12 x 603 mm angled, 8.4 kg,
|_|               one person
  |       MEASURE 603 mm from the left edge; the stop stays set
                  score 252.12 mm, shape cut
             ->   LEFT: panel K-310 base, 603 x 603 mm angled
             ->   RIGHT: cullet, 252.12 x 252.12 mm angled
             !    sharp points: break from the wide end, bin the corner at
                  once
------------------------------------------------------------------------------
 _        HAND    upper right part of step 3, from the waiting ones, 855.12 x
|_                603 mm angled, 8.4 kg, one person
 _|       MEASURE 603 mm from the right edge; the stop stays set
                  score 252.12 mm, shape cut
             ->   RIGHT: panel K-310 base, 603 x 603 mm angled
             ->   LEFT: cullet, 252.12 x 252.12 mm angled
             !    sharp points: break from the wide end, bin the corner at
                  once
"""


def steps_from(text: str, step: int) -> str:
    return text.split(RULE, step)[step].partition("=" * 78)[0]


def test_golden_cut_sheet_of_a_right_trapezoid_pair(trapezoids: Plan) -> None:
    exact = sequence_text(trapezoids)
    assert steps_from(exact, 3) == TRAPEZOIDS_EXACT
    assert "marks " not in exact
    rounded = sequence_text(with_rules(trapezoids, mark_step=mm("0.5")))
    assert steps_from(rounded, 3) == TRAPEZOIDS_ROUNDED
    head = " ".join(rounded.split(RULE, 1)[0].split())
    assert "rounded to 0.5 mm: 2 panels are off by that, K-204/baffle/1 most, up to 0.15 mm" in head
    assert "WARNING" not in head
    # by the offset lines: 500 + 1.5 + 1.5 (slope + tangent); the study rounds its 503.6645 up to 503.67
    slant = sqrt(400**2 + 150**2)
    bottom = 500 + 1.5 + 1.5 * slant / 400 + 1.5 * 150 / 400
    marks = [mark.distance / 1e6 for mark in shape_steps(trapezoids)[0].marks]
    assert marks == pytest.approx([bottom, bottom - 403 * 150 / 400], abs=2e-6)
    assert marks == pytest.approx([503.67, 352.54], abs=0.0056)


def test_golden_cut_sheet_of_a_corner_pentagon_pair(pentagons: Plan) -> None:
    assert steps_from(sequence_text(pentagons), 3) == PENTAGONS_EXACT
    rounded = sequence_text(with_rules(pentagons, mark_step=mm("0.5")))
    assert "MARK    855 mm from the left end of the bottom edge" in rounded
    assert "MARK    252 mm from the left end of the top edge" in rounded
    assert [text.count("MEASURE 603 mm") for text in rounded.split(RULE)[4:]] == [1, 1]


def test_exact_marks_stay_in_the_csv(trapezoids: Plan) -> None:
    row = rows_of(with_rules(trapezoids, mark_step=mm("0.5")))[2]
    assert row["first mark"] == "503.66 mm from the left end of the bottom edge"
    assert row["first mark at the table"] == "503.5 mm from the left end of the bottom edge"
    assert row["second mark"] == "352.54 mm from the left end of the top edge"
    assert (row["measured part short by [mm]"], row["measured part over by [mm]"]) == ("0.15", "0")
    assert (row["other part short by [mm]"], row["other part over by [mm]"]) == ("0", "0.15")


def test_a_cutter_by_the_inch_reads_thirty_seconds(trapezoids: Plan) -> None:
    use_style(INCH)
    text = sequence_text(with_rules(trapezoids, mark_step=inch("1/32")))
    # 503.6645 mm are 634.54 thirty-seconds, 352.5395 mm are 444.14
    assert 'MARK    19-27/32" from the left end of the bottom edge' in text
    assert 'MARK    13-7/8" from the left end of the top edge' in text


# ---------------------------------------------------------------- which corner


def how(corners: Outline, start: tuple, end: tuple, *, raw: tuple = (), step: int | None = None):
    piece = Piece("p", corners, raw or (None,) * len(corners), tuple(range(len(corners))))
    cut = Cut(step=9, piece="p", start=start, end=end, makes=("l", "r"), kind=CutKind.SHAPE, level=None)
    return piece, measured(piece, split(piece, cut, 1), cut, (False, False), step)


def test_no_tape_hooks_a_sharp_point() -> None:
    # the nearer corner of the bottom edge, at the right, has 63 degrees, of the slanted edge the lower one
    trapezoid = ((0, 0), (mm(900), 0), (mm(700), mm(400)), (0, mm(400)))
    _, found = how(trapezoid, (mm(800), 0), (mm(100), mm(400)))
    bottom, top = (p.mark for p in found.marks)
    assert (bottom.end, bottom.distance, bottom.is_sharp) == (End.LEFT, mm(800), False)
    assert not bottom.can_check and check_words(bottom) == ""
    assert (top.end, top.distance, top.can_check) == (End.LEFT, mm(100), True)
    # a triangle of 60 degrees has no other corners: then it is said
    triangle = ((0, 0), (mm(1000), 0), (mm(500), mm(866)))
    _, found = how(triangle, (mm(300), 0), (mm(600), mm("692.8")))
    assert all(p.mark.is_sharp for p in found.marks)
    assert "a sharp point: lay a rule to it, hook nothing" in mark_words(found.marks[0].mark)


def test_a_corner_is_named_as_such() -> None:
    square = ((0, 0), (mm(600), 0), (mm(600), mm(400)), (0, mm(400)))
    _, found = how(square, (0, 0), (mm(450), mm(400)))
    first, second = (p.mark for p in found.marks)
    assert mark_words(first) == "at the corner itself: left end of the bottom edge"
    assert mark_words(second) == "150 mm from the right end of the top edge"
    # a mark that the step rounds into the corner is there too
    _, found = how(square, (mm("0.2"), 0), (mm(450), mm(400)), step=mm(1))
    assert mark_words(found.marks[0].mark) == "at the corner itself: left end of the bottom edge"
    assert mark_words(found.marks[0].mark, exact=True) == "0.2 mm from the left end of the bottom edge"


def test_both_marks_hook_one_cut_edge_rather_than_a_raw_one() -> None:
    from panewright.nesting.stock import Side

    square = ((0, 0), (mm(600), 0), (mm(600), mm(400)), (0, mm(400)))
    raw = (None, None, None, Side.LEFT)
    _, found = how(square, (mm(100), 0), (mm(150), mm(400)), raw=raw)
    assert {(p.mark.end, p.mark.is_raw) for p in found.marks} == {(End.RIGHT, False)}
    _, found = how(square, (mm(100), 0), (mm(150), mm(400)))
    assert {p.mark.end for p in found.marks} == {End.LEFT}
    _, found = how(square, (mm(100), 0), (mm(550), mm(400)))
    assert {p.hook for p in found.marks} in ({1}, {3})


def test_a_row_of_rhomboids_is_measured_from_the_edge_before() -> None:
    # 70 degrees: the second score is parallel to the left edge, which it meets at no right angle
    lean = mm(150)
    piece = ((0, 0), (mm(2000), 0), (mm(2000) + lean, mm(400)), (lean, mm(400)))
    _, found = how(piece, (mm(400), 0), (mm(400) + lean, mm(400)))
    assert found.hook is not None and not found.hook.squares and found.hook.edge is Direction.LEFT
    assert found.hook.distance == pytest.approx(mm(400) * 400 / sqrt(400**2 + 150**2), abs=2)


def test_a_score_square_to_a_slanted_edge_is_measured_from_the_side_parallel_to_it() -> None:
    # a rectangle of 500 x 400 that stands on a corner, by a triangle of 3, 4 and 5, with its corner cut off
    def at(u: int, v: int) -> tuple[int, int]:
        return mm(Fraction(4 * u - 3 * v, 5)), mm(Fraction(3 * u + 4 * v, 5))

    piece = (at(0, 0), at(500, 0), at(500, 250), at(350, 400), at(0, 400))
    _, found = how(piece, at(450, 0), at(450, 300))
    hook = found.hook
    assert hook is not None and hook.squares
    assert (hook.distance, hook.is_left) in ((mm(450), True), (mm(50), False))


def test_octagon_corners_are_marked_not_measured_from_the_corner_opposite(octagon_plan: Plan) -> None:
    assert [len(s.marks) for s in shape_steps(octagon_plan)] == [2, 2, 2, 2]


# ---------------------------------------------------------------- any convex piece

points = st.tuples(st.integers(0, 2000), st.integers(0, 1500))
shares = st.fractions(0, 1, max_denominator=997)


@given(st.lists(points, min_size=4, max_size=9), st.tuples(shares, shares), st.sampled_from([None, 1, 5, 10]))
def test_marks_measured_again_give_the_ends_back(corners: list, along: tuple, tenths: int | None) -> None:
    outline = tuple((mm(x), mm(y)) for x, y in hull(corners))
    assume(len(outline) > 2)
    n = len(outline)

    def on_border(share: Fraction, start: int) -> tuple[int, int]:
        i = int(share * (n - 1)) if share < 1 else n - 2
        (ax, ay), (bx, by) = outline[(start + i) % n], outline[(start + i + 1) % n]
        part = (share * (n - 1)) % 1
        return round(ax + part * (bx - ax)), round(ay + part * (by - ay))

    start, end = on_border(along[0], 0), on_border(along[1], n // 2)
    step = None if tenths is None else mm(Fraction(tenths, 10))
    assume(start != end)
    try:
        piece, found = how(outline, start, end, step=step)
    except CutFault:
        assume(False)
    cut = Cut(step=1, piece="p", start=start, end=end, makes=("l", "r"), kind=CutKind.SHAPE, level=None)
    score = split(piece, cut, 1).score
    if found.hook is not None:
        a, b = (tuple(map(float, p)) for p in piece.edge(found.hook.index))
        long = sqrt((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2)
        for x, y in score:
            off = ((b[0] - a[0]) * (float(y) - a[1]) - (b[1] - a[1]) * (float(x) - a[0])) / long
            assert off == pytest.approx(found.hook.distance, abs=SLACK + 5)
        return
    for placed, (x, y) in zip(found.marks, score, strict=True):
        mark = placed.mark
        (cx, cy), (ox, oy) = mark.corner, piece.edge(placed.side)[1 if placed.from_start else 0]
        long = sqrt((float(ox) - cx) ** 2 + (float(oy) - cy) ** 2)
        there = (
            cx + mark.distance / long * (float(ox) - cx),
            cy + mark.distance / long * (float(oy) - cy),
        )
        assert there == pytest.approx((float(x), float(y)), abs=SLACK + 5)
        assert mark.corner in outline
        assert abs(mark.table - mark.distance) * 2 <= (step or 0)
        assert step is None or mark.table % step == 0 or mark.table == mark.edge_length


# ---------------------------------------------------------------- many cuts


@pytest.fixture
def octagons(hand_sheet: Callable, make_panel: Callable[..., Panel]) -> Plan:
    """Eighty octagons of 250 mm by 320 angled scores, edge to edge on a sheet without waste between them."""
    c, b, w = mm(60), mm(190), mm(250)
    outline = ((c, 0), (b, 0), (w, c), (w, b), (b, w), (c, w), (0, b), (0, c))
    s = hand_sheet(20 * w, 4 * w, (), Trim())
    rest, blanks, panels = "s", [], []
    for k in range(1, 21):
        strip = rest
        if k < 20:
            strip, rest = s.upright(rest, k * w, CutKind.MAIN, 1)
        for j in range(1, 5):
            blank = strip
            if j < 4:
                blank, strip = s.level(strip, j * w, CutKind.MAIN, 2)
            blanks.append(blank)
    for number, blank in enumerate(blanks):
        panels.append(make_panel(id=f"O/lid/{number}", outline=outline))
        x, y = box(s.pieces[blank])[:2]
        for i in (1, 3, 5, 7):
            (ax, ay), (bx, by) = outline[i], outline[(i + 1) % 8]
            blank, corner = s.angled(blank, (x + ax, y + ay), (x + bx, y + by))
            s.cullet(corner)
        s.panel(blank, panels[-1])
    return s.plan(panels, stock="R-9", is_offcut=True)


def test_more_than_three_hundred_angled_cuts_replay(
    octagons: Plan, outsider: Callable, tmp_path: Path
) -> None:
    plan = with_rules(octagons, mark_step=mm("0.5"))
    steps = shape_steps(plan)
    assert len(steps) == 320
    assert check(plan) == []
    outsider(plan, tmp_path)
    # 60 mm each way: no mark needs rounding, and no panel is off
    assert {mark.table for step in steps for mark in step.marks} == {mm(60)}
    assert "rounded to 0.5 mm; no panel is off by that" in " ".join(sequence_text(plan).split())


# ---------------------------------------------------------------- turned over


def test_a_mirrored_panel_says_turn_over_everywhere(blank_sheet: Callable, make_panel: Callable) -> None:
    outline = ((0, 0), (mm(500), 0), (mm(350), mm(400)), (0, mm(400)))
    panel = replace(make_panel(id="K-9/side/1", outline=outline), mirror=True)
    s, blank = blank_sheet(mm(500), mm(400))
    corner, rest = s.angled(blank, (0, 0), (mm(150), mm(400)))
    s.panel(rest, panel, mirrored=True)
    s.cullet(corner)
    plan = s.plan([panel], stock="R-3", is_offcut=True)
    assert check(plan) == []
    step = shape_steps(plan)[0]
    assert Caution.TURN in step.cautions
    text = " ".join(sequence_text(plan).split())
    assert "panel K-9 side, turn over" in text and "cut mirror-image: turn over before edging" in text
    row = rows_of(plan)[2]
    assert row["other part is"] == "panel K-9 side, turn over" or (
        row["measured part is"] == "panel K-9 side, turn over"
    )
    assert "turn over before edging" in row["mind"]
    words = [p.text for p in sheet_scene(plan, plan.layouts[0]).parts if isinstance(p, Text)]
    assert any("turn over" in word for word in words)


# ---------------------------------------------------------------- drawing


def test_the_drawing_shows_the_marks_beside_the_edge(trapezoids: Plan, pentagons: Plan) -> None:
    for plan, expected in ((trapezoids, {"503.5", "352.5"}), (pentagons, {"855", "252"})):
        plan = with_rules(plan, mark_step=mm("0.5"))
        layout = plan.layouts[0]
        scene = sheet_scene(plan, layout)
        marks = [p for p in scene.parts if isinstance(p, Text) and p.layer is palette.MARK]
        assert {p.text for p in marks} == {f"{words} from left" for words in expected}
        on = (
            ezdxf.read(io.StringIO(dxf_bytes(scene, "mm").decode())).modelspace().query('TEXT[layer=="MARK"]')
        )
        assert {text.dxf.text for text in on} == {p.text for p in marks}
        rings = [p for p in scene.parts if isinstance(p, Circle)]
        for text in marks:
            assert any(holds(leaf.outline, text.box()) for leaf in layout.leaves)
            x0, y0, x1, y1 = box(text.box())
            for ring in rings:
                dx = max(x0 - ring.centre[0], 0, ring.centre[0] - x1)
                dy = max(y0 - ring.centre[1], 0, ring.centre[1] - y1)
                assert dx * dx + dy * dy >= ring.radius**2


def test_a_plan_that_cannot_be_cut_is_drawn_without_marks(trapezoids: Plan) -> None:
    layout = trapezoids.layouts[0]
    broken = replace(layout, cuts=(*layout.cuts, replace(layout.cuts[2], step=9)))
    scene = sheet_scene(trapezoids, broken)
    assert not any(p.layer is palette.MARK for p in scene.parts)


# ---------------------------------------------------------------- longest angled score


def test_blanks_keep_to_the_longest_angled_score() -> None:
    outline = ((0, 0), (mm(1500), 0), (mm(1500), mm(300)), (mm(300), mm(1500)), (0, mm(1500)))
    blank = candidates(outline, Turn.QUARTER, Rules())[0]
    (score,) = blank.cuts.scores
    start, end = score.start, score.end
    long2 = (end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2
    assert long2 == 2 * mm(1200) ** 2
    most = int(sqrt(long2))
    assert candidates(outline, Turn.QUARTER, Rules(longest_angled_cut=most - 1)) == []
    assert candidates(outline, Turn.QUARTER, Rules(longest_angled_cut=most + 1)) == [blank]


def test_marks_name_their_own_edge(pentagon_plan: Plan) -> None:
    marks: tuple[Mark, ...] = shape_steps(pentagon_plan)[0].marks
    for mark in marks:
        assert sqrt((mark.at[0] - mark.corner[0]) ** 2 + (mark.at[1] - mark.corner[1]) ** 2) == pytest.approx(
            mark.distance, abs=2
        )


# ---------------------------------------------------------------- plan file


def test_plans_without_the_new_rules_read_as_before(trapezoids: Plan) -> None:
    text = dumps(with_rules(trapezoids, mark_step=inch("1/32"), longest_angled_cut=mm(1800)))
    assert loads(text).rules["clear-10"].mark_step == inch("1/32")
    assert loads(text).rules["clear-10"].longest_angled_cut == mm(1800)
    old = text.replace(', "longest_angled_cut": 1800, "mark_step": 0.79375', "")
    assert old != text
    assert loads(old).rules == trapezoids.rules
    with pytest.raises(PlanFileError, match="mark_step"):
        loads(text.replace('"mark_step": 0.79375', '"mark_step": 0'))


def test_a_tank_says_which_panel_needs_too_long_an_angled_score(desk) -> None:
    row = {"shape": "corner", "length": "2500", "width": "2500", "side": "300 | 300", "height": "500"}
    built = desk.read(desk.rectangle | row).tanks[0].settled.built
    long = "needs an angled score longer than 2500 mm"
    assert long in [f.words for f in findings(built, default_shop())]
    by_machine = findings(built, replace(default_shop(), table=Table.MACHINE))
    assert long not in [f.words for f in by_machine]
