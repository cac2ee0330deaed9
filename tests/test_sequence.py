"""The cut sequence: exact pieces, where the tape hooks, who lifts, and the files made of it."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from panewright.io import step_words as words
from panewright.io.sequence_csv import sequence_csv
from panewright.io.sequence_files import LINE, screen_tables, sequence_files, sequence_text
from panewright.nesting.checker import check
from panewright.nesting.glass import mass_grams
from panewright.nesting.outlines import area2
from panewright.nesting.panels import Panel
from panewright.nesting.pieces import CutFault, Direction, Piece, split, whole_sheet
from panewright.nesting.plan import Cut, CutKind, LeafKind, Plan
from panewright.nesting.sequence import lift_for, steps_of
from panewright.nesting.shop_table import Lifts
from panewright.nesting.steps import Caution, End, Lift
from panewright.nesting.units import INCH, MM, mm, use_style


@pytest.fixture(autouse=True)
def metric():
    use_style(MM)
    yield
    use_style(MM)


def test_both_parts_add_up_to_the_piece_in_hand(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    steps = steps_of(hand_plan, layout)
    assert [s.number for s in steps] == [c.step for c in layout.cuts]
    for step in steps:
        one, two = step.makes
        assert step.piece.is_rectangle and one.is_rectangle and two.is_rectangle
        if step.edge in (Direction.LEFT, Direction.RIGHT):
            assert one.width + two.width == step.piece.width
            assert one.height == two.height == step.piece.height == step.score
            assert step.distance == one.width
        else:
            assert one.height + two.height == step.piece.height
            assert one.width == two.width == step.piece.width == step.score
            assert step.distance == one.height
        assert one.part is step.edge


def test_the_leaves_below_a_piece_weigh_as_much_as_the_piece(
    hand_plan: Plan, pentagon_plan: Plan, octagon_plan: Plan, inch_plan: Plan
):
    for plan in (hand_plan, pentagon_plan, octagon_plan, inch_plan):
        layout = plan.layouts[0]
        steps = steps_of(plan, layout)
        # twice the area of every piece from the outlines of the leaves alone, upwards from the last cut
        twice = {leaf.piece: area2(leaf.outline) for leaf in layout.leaves}
        for step in reversed(steps):
            twice[step.piece.name] = sum(twice[part.name] for part in step.makes)
        assert twice["s"] == 2 * layout.width * layout.height
        for step in steps:
            assert step.piece.mass == mass_grams(twice[step.piece.name], plan.panels[0].thickness)
            for part in step.makes:
                assert part.width <= step.piece.width and part.height <= step.piece.height
                assert part.is_rectangle == (2 * part.width * part.height == twice[part.name])


def test_octagon_corners_are_marked_on_the_piece_as_it_is_by_then(octagon_plan: Plan):
    shape = [s for s in steps_of(octagon_plan, octagon_plan.layouts[0]) if s.kind is CutKind.SHAPE]
    assert [{(m.edge, m.end) for m in s.marks} for s in shape] == [
        {(Direction.BOTTOM, End.RIGHT), (Direction.RIGHT, End.LOWER)},
        {(Direction.RIGHT, End.UPPER), (Direction.TOP, End.RIGHT)},
        {(Direction.TOP, End.LEFT), (Direction.LEFT, End.UPPER)},
        {(Direction.LEFT, End.LOWER), (Direction.BOTTOM, End.LEFT)},
    ]
    assert {m.distance for s in shape for m in s.marks} == {mm(40)}
    # the first score shortened the bottom and the right edge by 40 mm, and so on round
    lengths = [{m.edge: m.edge_length for m in s.marks} for s in shape]
    assert lengths[1] == {Direction.RIGHT: mm(560), Direction.TOP: mm(600)}
    assert lengths[3] == {Direction.LEFT: mm(560), Direction.BOTTOM: mm(560)}


def test_each_part_is_named_by_what_it_is(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    steps = steps_of(hand_plan, layout)
    parts = [part for step in steps for part in step.makes]
    leaves = {leaf.piece: leaf for leaf in layout.leaves}
    cut_on = {cut.piece: cut.step for cut in layout.cuts}
    assert {p.name for p in parts} == set(leaves) | (set(cut_on) - {"s"})
    for part in parts:
        if part.name in leaves:
            leaf = leaves[part.name]
            assert (part.kind, part.panel, part.offcut) == (leaf.kind, leaf.panel, leaf.offcut)
            assert part.next_step is None
        else:
            assert part.kind is None and part.next_step == cut_on[part.name]
    named = {p.panel: (p.order, p.panel_name) for p in parts if p.panel}
    assert named == {p.id: (p.order, p.name) for p in hand_plan.panels}
    for step in steps[1:]:
        maker = steps[(step.piece.made_by or 0) - 1]
        assert any(p.name == step.piece.name and p.part is step.piece.part for p in maker.makes)


def test_first_trim_is_measured_from_its_raw_side(hand_plan: Plan):
    first, second = steps_of(hand_plan, hand_plan.layouts[0])[:2]
    assert (first.kind, first.edge, first.edge_is_raw, first.distance) == (
        CutKind.TRIM,
        Direction.LEFT,
        True,
        mm(20),
    )
    assert (second.edge, second.edge_is_raw, second.distance) == (Direction.BOTTOM, True, mm(20))
    assert Caution.RAW not in first.cautions


def test_a_cut_edge_goes_before_a_nearer_raw_one(hand_plan: Plan):
    # the sheet is 2000 wide and trimmed at the left: 1500 + 480 with the raw right side
    step = steps_of(hand_plan, hand_plan.layouts[0])[2]
    assert step.edge is Direction.LEFT and not step.edge_is_raw
    assert step.distance == mm(1500)


def test_what_is_kept_is_measured_and_cullet_takes_the_rest(hand_plan: Plan):
    last = next(s for s in steps_of(hand_plan, hand_plan.layouts[0]) if s.kind is CutKind.LAST)
    measured, other = last.makes
    assert (measured.kind, other.kind) == (LeafKind.PANEL, LeafKind.CULLET)
    assert (last.distance or 0) > other.height


def test_angled_score_is_marked_along_both_edges(pentagon_plan: Plan):
    layout = pentagon_plan.layouts[0]
    shape = [s for s in steps_of(pentagon_plan, layout) if s.kind is CutKind.SHAPE]
    assert len(shape) == 1
    step = shape[0]
    assert step.edge is None and step.distance is None and step.level is None
    by_edge = {mark.edge: mark for mark in step.marks}
    # corner pentagon, legs 600 and returns 250: both ends of the score lie 350 from the far corner
    assert set(by_edge) == {Direction.RIGHT, Direction.TOP}
    assert by_edge[Direction.RIGHT].end is End.LOWER and by_edge[Direction.RIGHT].distance == mm(250)
    assert by_edge[Direction.TOP].end is End.LEFT and by_edge[Direction.TOP].distance == mm(250)
    assert by_edge[Direction.TOP].edge_length == mm(600)
    assert (2 * step.score - 1) ** 2 <= 8 * mm(350) ** 2 <= (2 * step.score + 1) ** 2
    kinds = {part.part: part.kind for part in step.makes}
    assert kinds == {Direction.LOWER_LEFT: LeafKind.PANEL, Direction.UPPER_RIGHT: LeafKind.CULLET}
    assert "250 mm from the lower end of the right edge" in words.measure_words(step)
    assert Caution.CORNER in step.cautions


def test_mass_is_that_of_the_piece_in_hand(hand_plan: Plan):
    for step in steps_of(hand_plan, hand_plan.layouts[0]):
        assert step.piece.mass == mass_grams(2 * step.piece.width * step.piece.height, mm(10))
    # a sheet of 2 m2 and 10 mm: 2.5 kg per m2 and mm (EN 572-1) make 50 kg
    assert steps_of(hand_plan, hand_plan.layouts[0])[0].piece.mass == 50_000


def test_lift_limits_are_inclusive_and_the_shops_own():
    lifts = Lifts()
    assert lift_for(25_000, mm(1800), lifts) is Lift.ONE
    assert lift_for(25_001, mm(1800), lifts) is Lift.TWO
    assert lift_for(25_000, mm(1800) + 1, lifts) is Lift.TWO
    assert lift_for(50_000, mm(3000), lifts) is Lift.TWO
    assert lift_for(50_001, mm(100), lifts) is Lift.CRANE
    assert lift_for(25_000, mm(500), Lifts(one_grams=15_000, two_grams=20_000)) is Lift.CRANE


def test_cuts_that_cannot_be_made_are_named(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    twice = replace(layout, cuts=(*layout.cuts, replace(layout.cuts[0], step=99)))
    with pytest.raises(CutFault, match="sheet 1, step 99: piece s is not in hand"):
        steps_of(hand_plan, twice)
    outside = replace(layout.cuts[0], start=(mm(-5), 0), end=(mm(-5), mm(1000)))
    with pytest.raises(CutFault, match="step 1: the cut leaves no glass"):
        steps_of(hand_plan, replace(layout, cuts=(outside, *layout.cuts[1:])))
    with pytest.raises(CutFault, match="nothing is said of piece"):
        steps_of(hand_plan, replace(layout, leaves=layout.leaves[1:]))


coordinate = st.integers(0, 1000)


@given(st.lists(st.tuples(coordinate, coordinate, coordinate, coordinate), max_size=7))
def test_exact_parts_never_lose_or_make_glass(lines):
    pieces = [Piece("s", ((0, 0), (1000, 0), (1000, 1000), (0, 1000)), (None,) * 4)]
    for n, (x0, y0, x1, y1) in enumerate(lines, 1):
        cut = Cut(
            step=n,
            piece="s",
            start=(x0, y0),
            end=(x1, y1),
            makes=(f"{n}l", f"{n}r"),
            kind=CutKind.SHAPE,
            level=None,
        )
        for piece in list(pieces):
            try:
                parts = split(piece, cut, 1)
            except CutFault:
                continue
            pieces.remove(piece)
            pieces += [parts.left, parts.right]
            assert parts.left.area2 > 0 and parts.right.area2 > 0
            assert parts.left.area2 + parts.right.area2 == piece.area2
            (ax, ay), (bx, by) = parts.score
            for px, py in ((ax, ay), (bx, by)):
                assert Fraction(px - x0) * (y1 - y0) == Fraction(py - y0) * (x1 - x0)
            assert (bx - ax) * (x1 - x0) + (by - ay) * (y1 - y0) > 0
    assert sum(p.area2 for p in pieces) == 2 * 1000 * 1000


def test_raw_sides_stay_with_the_edges_that_have_them(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    sheet = whole_sheet(layout)
    assert set(sheet.raw) == set(layout.raw)
    parts = split(sheet, layout.cuts[0], 1)  # the left trim, score upwards
    assert "left" in {s.value for s in parts.left.raw if s}
    assert {s.value for s in parts.right.raw if s} == {"right", "bottom", "top"}


# ---------------------------------------------------------------- words and files


def test_text_for_the_table_fits_and_says_everything(hand_plan: Plan):
    text = sequence_text(hand_plan)
    assert max(map(len, text.splitlines())) <= LINE
    assert f"plan {hand_plan.id}   sheet 1" in text
    assert "clear-10 2000x1000  (sheet from the rack)" in text
    assert "2000 x 1000 mm   50.0 kg" in text
    assert "MEASURE 1500 mm from the left edge" in text
    assert "panel K-204 front, 700 x 500 mm" in text
    assert f"keep as offcut {hand_plan.id}.1.a" in text
    assert "gloves" in text and "local rules" in text
    assert sum(line.startswith("-" * LINE) for line in text.splitlines()) == len(hand_plan.layouts[0].cuts)


def test_step_numbers_are_big_figures(hand_plan: Plan):
    block = sequence_text(hand_plan).split("-" * LINE)[4].splitlines()[1:4]
    assert [line[:3].ljust(3) for line in block] == ["   ", "|_|", "  |"]


def test_csv_has_a_row_a_step_and_runs_no_formula(hand_plan: Plan):
    evil = tuple(replace(p, order="=HYPERLINK(1)", name="@x", id=f"={p.id}") for p in hand_plan.panels)
    layout = hand_plan.layouts[0]
    leaves = tuple(replace(f, panel=f"={f.panel}") if f.panel else f for f in layout.leaves)
    plan = replace(hand_plan, panels=evil, layouts=(replace(layout, leaves=leaves, stock="-1+1"),))
    rows = list(csv.reader(io.StringIO(sequence_csv(plan).lstrip("\ufeff"), newline="")))
    assert len(rows) == 1 + len(layout.cuts)
    assert {len(row) for row in rows} == {len(rows[0])}
    assert rows[1][rows[0].index("stock")] == "'-1+1"
    for row in rows[1:]:
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)
    assert rows[3][rows[0].index("measure [mm]")] == "1500"
    sheet = [rows[1][rows[0].index(f"sheet {what}")] for what in ("width [mm]", "height [mm]", "mass [kg]")]
    assert sheet == ["2000", "1000", "50"]
    assert ["gloves" in row[-1] for row in rows[1:]] == [True] + [False] * (len(layout.cuts) - 1)


def test_inch_shops_read_inches_everywhere(inch_plan: Plan):
    use_style(INCH)
    rows = list(csv.reader(io.StringIO(sequence_csv(inch_plan).lstrip("\ufeff"), newline="")))
    assert rows[1][rows[0].index("measure [in]")] == '3/4"'
    text = sequence_text(inch_plan)
    assert 'MEASURE 23-5/8" from the left edge' in text and " mm" not in text


def test_control_characters_and_markup_of_names_are_harmless(hand_plan: Plan):
    from rich.console import Console

    evil = tuple(replace(p, order="\x1b[31m[bold]red", name="a\nb\u202e") for p in hand_plan.panels)
    plan = replace(hand_plan, panels=evil)
    assert "\x1b" not in sequence_text(plan) and "\u202e" not in sequence_text(plan)
    console = Console(width=160, file=io.StringIO(), markup=True)
    for part in screen_tables(plan):
        console.print(part)
    shown = console.file.getvalue()  # type: ignore[attr-defined]
    assert "\x1b" not in shown and "[bold]red" in shown
    assert "1500 mm from the left edge" in shown and "gloves" in shown


def test_files_bear_the_plan_id_and_repeat(hand_plan: Plan, make_panel: Callable[..., Panel]):
    files = sequence_files(hand_plan)
    names = [f"sequence-{hand_plan.id}.csv", f"sequence-{hand_plan.id}.txt", f"work-{hand_plan.id}.csv"]
    assert sorted(files) == names
    assert files == sequence_files(hand_plan)
    empty = replace(hand_plan, layouts=(), panels=(make_panel(100, 100),))
    assert "no sheets" in sequence_text(empty)


def test_sheet_used_whole_says_so(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    leaf = replace(layout.leaves[0], piece="s")
    text = sequence_text(replace(hand_plan, layouts=(replace(layout, cuts=(), leaves=(leaf,)),)))
    assert "no cuts: the whole sheet is used as it is" in text


def test_plans_made_by_hand_pass_both_checkers(
    hand_plan, pentagon_plan, octagon_plan, inch_plan, outsider, tmp_path
):
    for plan in (hand_plan, pentagon_plan, octagon_plan, inch_plan):
        assert check(plan) == []
        outsider(plan, tmp_path)


def test_screen_and_text_say_what_to_do_before_a_piece_is_laid_down(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    cuts = tuple(replace(cut, placement=1) if cut.step in (5, 6) else cut for cut in layout.cuts)
    plan = replace(hand_plan, layouts=(replace(layout, cuts=cuts, habit="strip"),))
    steps = steps_of(plan, plan.layouts[0])
    (first,) = (step for step in steps if step.is_first)
    assert first.turns
    console = Console(width=200, file=io.StringIO())
    console.print(*screen_tables(plan))
    screen, text = console.file.getvalue(), sequence_text(plan)
    assert screen.count("turn it a quarter") == sum(step.turns for step in steps)
    laid = re.search(r"LAY(.*?)MARK", text, re.DOTALL)
    assert laid and "turn it a quarter" in (said := " ".join(laid[1].split()))
    assert ("from the waiting ones" in said) == first.takes_up


def test_a_machine_table_scores_before_the_first_break(hand_plan: Plan):
    layouts = tuple(replace(layout, habit="machine") for layout in hand_plan.layouts)
    text = sequence_text(replace(hand_plan, layouts=layouts))
    assert 0 < text.index("SCORES before the first break") < text.index("BREAK  ")
