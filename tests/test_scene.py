"""The scene of sheets and panels: everything in place, every text where it belongs."""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io import palette
from panewright.io.label_fit import fitted, holds, middle_of
from panewright.io.scene import Circle, Line, Polyline, Scene, Text, panel_scene, placed, sheet_scene
from panewright.io.scene_model import text_width
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import area2, box, hull, make_outline, narrower_than, rectangle
from panewright.nesting.panels import Panel, Turn, cut_of
from panewright.nesting.plan import CutKind, Leaf, LeafKind, Plan
from panewright.nesting.stock import Trim
from panewright.nesting.units import INCH, MM, mm, show, show_size

PENTAGON = make_outline([(0, 0), (mm(600), 0), (mm(600), mm(250)), (mm(250), mm(600)), (0, mm(600))])


def texts(scene: Scene, layer: palette.Layer) -> list[str]:
    return [p.text for p in scene.parts if isinstance(p, Text) and p.layer is layer]


def outlines(scene: Scene, layer: palette.Layer) -> list[tuple[tuple[int, int], ...]]:
    return [p.points for p in scene.parts if isinstance(p, Polyline) and p.layer is layer]


@pytest.fixture
def crowded(hand_sheet, make_panel: Callable[..., Panel]) -> Plan:
    """A sheet of 6 m whose strips are far too small for any label."""
    s = hand_sheet(mm(6000), mm(1000), (), Trim())
    strip, keep = s.level("s", mm(60), CutKind.MAIN, 1)
    panels = []
    rest = strip
    for i in range(12):
        panel = make_panel(30 + i, 60, id=f"S-{i}/brace with a long name {i}/1")
        x0 = box(s.pieces[rest])[0]
        piece, rest = s.upright(rest, x0 + mm(30 + i), CutKind.MAIN, 2)
        s.panel(piece, panel)
        panels.append(panel)
    s.cullet(rest)
    s.offcut(keep)
    return s.plan(panels, stock="jumbo")


@pytest.fixture
def braces(hand_sheet, make_panel: Callable[..., Panel]) -> Plan:
    """A sheet of 6 m with brace strips that their labels fill from end to end."""
    s = hand_sheet(mm(6000), mm(1000), (), Trim())
    rest, panels = "s", []
    for row in range(6):
        strip, rest = s.level(rest, mm(102 * (row + 1)), CutKind.MAIN, 1)
        for i in range(6):
            panel = make_panel("892.18", "102", id=f"H-27{row}{i}/brace long/1")
            piece, strip = s.upright(strip, mm("892.18") * (i + 1), CutKind.MAIN, 2)
            s.panel(piece, panel)
            panels.append(panel)
        s.cullet(strip)
    s.offcut(rest)
    return s.plan(panels, stock="jumbo")


# ---------------------------------------------------------------- placing


def test_quarter_turns_place_the_finished_outline_exactly(hand_plan: Plan):
    for leaf in hand_plan.layouts[0].leaves:
        if leaf.panel is None:
            continue
        cut, finished = placed(hand_plan.panel(leaf.panel), leaf)
        x0, y0, x1, y1 = box(cut)
        assert box(leaf.outline) == (x0, y0, x1, y1) and area2(cut) == area2(leaf.outline)
        # polished all round with 1.5 mm: the finished outline lies that far inside at every side
        assert box(finished) == (x0 + mm("1.5"), y0 + mm("1.5"), x1 - mm("1.5"), y1 - mm("1.5"))


def moved_by_hand(outline, angle, mirrored, shift):
    """An independent way: points as complex numbers, turned by multiplication."""
    turn = cmath.exp(1j * math.radians(angle / 10**9))
    points = [complex(-x if mirrored else x, y) * turn + complex(*shift) for x, y in outline]
    return [(round(z.real), round(z.imag)) for z in (points[::-1] if mirrored else points)]


@given(
    st.integers(0, 360 * 10**9 - 1),
    st.booleans(),
    st.tuples(st.integers(0, mm(5000)), st.integers(0, mm(3000))),
    st.integers(0, 4),
)
def test_any_angle_lays_the_cut_outline_on_its_leaf(angle, mirrored, shift, begin):
    edges = tuple(Edge(work=Work.GROUND, allowance=mm(a)) for a in (1, 2, 3, 0, 2))
    panel = Panel(
        id="a", order="a", name="a", glass="clear-10", thickness=mm(10), finished=PENTAGON,
        cut=cut_of(PENTAGON, edges), edges=edges, mirror=True,
    )  # fmt: skip
    target = moved_by_hand(panel.cut, angle, mirrored, shift)
    target = target[begin:] + target[:begin]
    leaf = Leaf(
        piece="p", outline=tuple(target), kind=LeafKind.PANEL, panel="a", turned=angle, mirrored=mirrored
    )
    cut, finished = placed(panel, leaf)
    wanted = moved_by_hand(panel.finished, angle, mirrored, shift)
    for got, want in ((cut, moved_by_hand(panel.cut, angle, mirrored, shift)), (finished, wanted)):
        assert all(abs(a - c) <= 2 and abs(b - d) <= 2 for (a, b), (c, d) in zip(got, want, strict=True))
    assert area2(finished) > 0 and area2(cut) > area2(finished)


# ---------------------------------------------------------------- the sheet


def test_sheet_drawing_holds_every_part_on_its_layer(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    scene = sheet_scene(hand_plan, layout)
    assert outlines(scene, palette.SHEET) == [rectangle(mm(2000), mm(1000))]
    assert outlines(scene, palette.TRIM_LIMIT) == [rectangle(mm(1955), mm(955), mm(20), mm(20))]
    by_kind = {kind: [f.outline for f in layout.leaves if f.kind is kind] for kind in LeafKind}
    assert sorted(map(box, outlines(scene, palette.PANEL_CUT))) == sorted(map(box, by_kind[LeafKind.PANEL]))
    assert outlines(scene, palette.OFFCUT) == by_kind[LeafKind.OFFCUT]
    assert outlines(scene, palette.CULLET) == by_kind[LeafKind.CULLET]
    assert len(outlines(scene, palette.PANEL_FINISHED)) == 3
    lines = {(p.layer.name, p.start, p.end) for p in scene.parts if isinstance(p, Line)}
    for cut in layout.cuts:
        assert (palette.score_layer(cut).name, cut.start, cut.end) in lines
    used = {palette.score_layer(c).name for c in layout.cuts}
    assert used == {"SCORE-TRIM", "SCORE-1", "SCORE-2", "SCORE-3", "SCORE-LAST"}


def test_every_cut_bears_its_step_number_in_a_ring(hand_plan, pentagon_plan, octagon_plan, crowded, braces):
    for plan in (hand_plan, pentagon_plan, octagon_plan, crowded, braces):
        scene = sheet_scene(plan, plan.layouts[0])
        assert sorted(map(int, texts(scene, palette.STEP_NUMBER))) == [c.step for c in plan.layouts[0].cuts]
        rings = [p for p in scene.parts if isinstance(p, Circle)]
        numbers = [p for p in scene.parts if isinstance(p, Text) and p.layer is palette.STEP_NUMBER]
        for ring, number in zip(rings, numbers, strict=True):
            assert ring.centre == number.at
            assert all(math.dist(corner, ring.centre) <= ring.radius for corner in number.box()[2:])
        for i, a in enumerate(rings):
            for b in rings[:i]:
                assert math.dist(a.centre, b.centre) >= (a.radius + b.radius) * 0.98


def test_rings_hide_no_label(hand_plan, pentagon_plan, octagon_plan, inch_plan, crowded, braces):
    for plan in (hand_plan, pentagon_plan, octagon_plan, inch_plan, crowded, braces):
        scene = sheet_scene(plan, plan.layouts[0])
        rings = [p for p in scene.parts if isinstance(p, Circle)]
        for text in scene.parts:
            if isinstance(text, Text) and text.layer in (palette.PANEL_TEXT, palette.OFFCUT_TEXT):
                x0, y0, x1, y1 = box(text.box())
                for ring in rings:
                    near = (min(max(ring.centre[0], x0), x1), min(max(ring.centre[1], y0), y1))
                    assert math.dist(near, ring.centre) >= ring.radius * 0.89


def test_labels_step_aside_rather_than_shrink_the_step_numbers(braces: Plan):
    scene = sheet_scene(braces, braces.layouts[0])
    rings = [p for p in scene.parts if isinstance(p, Circle)]
    assert len(rings) == 42 and min(r.radius for r in rings) >= scene.grain * 3 // 5
    assert not any(t.startswith("(") for t in texts(scene, palette.PANEL_TEXT))
    inside_their_leaves(braces, scene)


def inside_their_leaves(plan: Plan, scene: Scene) -> None:
    leaves = [f.outline for f in plan.layouts[0].leaves]
    for part in scene.parts:
        if isinstance(part, Text) and part.layer in (palette.PANEL_TEXT, palette.OFFCUT_TEXT):
            assert sum(holds(outline, part.box()) for outline in leaves) == 1, part


def test_labels_stay_within_their_panels(hand_plan, pentagon_plan, octagon_plan, inch_plan, crowded):
    for plan in (hand_plan, pentagon_plan, octagon_plan, inch_plan, crowded):
        inside_their_leaves(plan, sheet_scene(plan, plan.layouts[0]))


def test_labels_name_order_panel_and_finished_size(hand_plan: Plan):
    found = texts(sheet_scene(hand_plan, hand_plan.layouts[0]), palette.PANEL_TEXT)
    assert {"K-204", "front", "697 x 497 mm"} <= set(found)
    offcuts = texts(sheet_scene(hand_plan, hand_plan.layouts[0]), palette.OFFCUT_TEXT)
    assert f"{hand_plan.id}.1.a" in " ".join(offcuts) and "keep" in " ".join(offcuts)


def test_panels_too_small_for_a_label_get_a_number_and_a_legend(crowded: Plan):
    scene = sheet_scene(crowded, crowded.layouts[0])
    numbers = texts(scene, palette.PANEL_TEXT)
    assert numbers == [f"({i})" for i in range(1, 13)]
    legend = [t for t in texts(scene, palette.NOTES) if re.match(r"\(\d+\) ", t)]
    wanted = {f"({n}) " for n in range(1, 13)}
    assert {line.split(") ")[0] + ") " for line in legend} == wanted
    for panel in crowded.panels:
        assert any(f"{panel.order} {panel.name}" in line for line in legend)
    for part in scene.parts:
        if isinstance(part, Text) and part.layer is palette.NOTES:
            assert max(y for _, y in part.box()) < 0, "the legend stands outside the sheet"


def test_texts_beside_the_sheet_do_not_run_into_it(hand_plan, pentagon_plan, crowded):
    for plan in (hand_plan, pentagon_plan, crowded):
        w, h = plan.layouts[0].width, plan.layouts[0].height
        for part in sheet_scene(plan, plan.layouts[0]).parts:
            if isinstance(part, Text) and part.layer in (palette.TITLE, palette.NOTES, palette.MEASURE):
                x0, y0, x1, y1 = box(part.box())
                assert x1 <= 0 or y1 <= 0 or x0 >= w or y0 >= h, part


def test_measures_of_level_1_add_up_to_the_sheet(hand_plan: Plan):
    found = texts(sheet_scene(hand_plan, hand_plan.layouts[0]), palette.MEASURE)
    assert {"20", "1500", "480", "2000 mm", "980", "1000 mm"} == set(found)
    assert 20 + 1500 + 480 == 2000


def test_title_says_what_it_is_and_the_caution_is_there(hand_plan: Plan):
    scene = sheet_scene(hand_plan, hand_plan.layouts[0])
    title = " ".join(texts(scene, palette.TITLE))
    for part in (hand_plan.id, "sheet 1 of 1", "clear-10 2000x1000", "2000 x 1000 mm", "50.0 kg", "in mm"):
        assert part in title
    notes = " ".join(texts(scene, palette.NOTES))
    assert "gloves" in notes and "local rules" in notes and "level 2" in notes and "last cut" in notes


def test_inch_shops_see_inches_alone(inch_plan: Plan):
    scene = sheet_scene(inch_plan, inch_plan.layouts[0], style=INCH)
    every = [p.text for p in scene.parts if isinstance(p, Text)]
    assert '23-5/8" x 15-1/2"' in every and '48"' in every and "3/4" in every
    assert not any(" mm" in t for t in every)


def test_flaws_are_drawn(hand_plan: Plan):
    layout = replace(hand_plan.layouts[0], flaws=((mm(1600), mm(300), mm(40), mm(30)),))
    scene = sheet_scene(replace(hand_plan, layouts=(layout,)), layout)
    assert outlines(scene, palette.FLAW) == [rectangle(mm(40), mm(30), mm(1600), mm(300))]


def test_mirrored_panels_say_turn_over(pentagon_plan: Plan):
    layout = pentagon_plan.layouts[0]
    leaves = tuple(replace(f, mirrored=True, turned=90 * 10**9) if f.panel else f for f in layout.leaves)
    layout = replace(layout, leaves=leaves)
    scene = sheet_scene(pentagon_plan, layout)
    assert any("turn over" in t for t in texts(scene, palette.PANEL_TEXT))


def test_names_from_outside_stay_on_one_line_and_within(hand_plan: Plan):
    name = "\x1b[2J" + "W" * 300 + "\n\u202e"
    plan = replace(hand_plan, panels=tuple(replace(p, order=name, name=name) for p in hand_plan.panels))
    scene = sheet_scene(plan, plan.layouts[0])
    inside_their_leaves(plan, scene)
    for part in scene.parts:
        if isinstance(part, Text):
            assert part.text.isprintable() and len(part.text) < 300


def test_outlines_without_area_are_drawn_all_the_same(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    flat = tuple(replace(f, outline=((0, 0), (mm(5), 0), (mm(9), 0))) for f in layout.leaves)
    broken = replace(layout, leaves=flat, cuts=tuple(replace(c, end=c.start) for c in layout.cuts))
    assert sheet_scene(hand_plan, broken).parts


# ---------------------------------------------------------------- the panel


def test_panel_drawing_says_size_edgework_and_title(make_panel: Callable[..., Panel], hand_plan: Plan):
    works = (Work.POLISHED, Work.CUT, Work.MITRE, Work.GROUND)
    base = make_panel(900, 450, id="K-9/lid/1")
    edges = tuple(
        Edge(
            work=work,
            allowance=0 if work is Work.CUT else mm("1.5"),
            mitre=22_500 if work is Work.MITRE else 0,
            small_face="up" if work is Work.MITRE else None,
        )
        for work in works
    )
    panel = replace(base, edges=edges, cut=cut_of(base.finished, edges), turn=Turn.HALF)
    scene = panel_scene(hand_plan, panel, style=MM)
    assert texts(scene, palette.EDGEWORK) == [
        "polished +1.5 mm",
        "as cut",
        "mitre 22.5 deg, small face up +1.5 mm",
        "ground +1.5 mm",
    ]
    assert outlines(scene, palette.PANEL_CUT) == [panel.cut]
    assert outlines(scene, palette.PANEL_FINISHED) == [panel.finished]
    assert set(texts(scene, palette.MEASURE)) == {"900 mm", "450 mm"}
    title = " ".join(texts(scene, palette.TITLE))
    # 900 x 450 x 10 mm at 2.5 kg per m2 and mm: 10.125 kg (EN 572-1)
    for part in (
        hand_plan.id,
        "K-9 lid",
        "clear-10",
        "finished 900 x 450 mm",
        "cut 901.5 x 453 mm",
        "10.2 kg",
    ):
        assert part in title
    notes = " ".join(texts(scene, palette.NOTES))
    assert "gloves" in notes and "half turns only" in notes


def test_edge_notes_lie_outside_along_their_edges(make_panel: Callable[..., Panel], hand_plan: Plan):
    panel = make_panel(id="K-9/base/1", outline=PENTAGON, allowance="1.5")
    notes = [
        p for p in panel_scene(hand_plan, panel).parts if isinstance(p, Text) and p.layer is palette.EDGEWORK
    ]
    assert len(notes) == 5
    for i, note in enumerate(notes):
        a, b = panel.finished[i], panel.finished[(i + 1) % 5]
        assert show(round(math.dist(a, b))) in note.text
        assert -90_000 < note.rotation <= 90_000, "readable from below or from the right"
        for corner in note.box():
            outward = (b[1] - a[1]) * (corner[0] - a[0]) - (b[0] - a[0]) * (corner[1] - a[1])
            assert outward > 0


def test_short_edges_get_a_number_and_a_line(make_panel: Callable[..., Panel], hand_plan: Plan):
    scene = panel_scene(hand_plan, make_panel(900, 30, allowance="2"))
    assert texts(scene, palette.EDGEWORK) == ["polished +2 mm", "(2)", "polished +2 mm", "(4)"]
    notes = texts(scene, palette.NOTES)
    assert "(2) polished +2 mm" in notes and "(4) polished +2 mm" in notes


def test_reentrant_panels_name_what_is_not_scored(make_panel: Callable[..., Panel], hand_plan: Plan):
    corner = make_outline(
        [(0, 0), (mm(500), 0), (mm(500), mm(200)), (mm(200), mm(200)), (mm(200), mm(500)), (0, mm(500))]
    )
    panel = make_panel(outline=corner, allowance="1")
    scene = panel_scene(hand_plan, panel)
    assert outlines(scene, palette.PANEL_CUT) == [panel.cut] and len(panel.cut) == 5
    assert any("saw, drill or water jet" in t for t in texts(scene, palette.NOTES))


# ---------------------------------------------------------------- labels and palette


@given(
    st.lists(st.tuples(st.integers(0, mm(900)), st.integers(0, mm(900))), min_size=3, max_size=8),
    st.text(min_size=1, max_size=30),
)
def test_a_label_that_fits_lies_within_any_convex_outline(points, words):
    outline = hull(points)
    if len(outline) < 3 or narrower_than(outline, mm(1)):
        return
    assert holds(outline, [middle_of(outline)])
    lines, heights = [(words, "600 x 400 mm"), (words,)], [mm(40), mm(20), mm(5)]
    for aside in (0, mm(30)):
        label = fitted(outline, lines, heights, palette.PANEL_TEXT, aside=aside)
        if label is None:
            continue
        for text in label.texts:
            assert holds(outline, text.box())
            x0, y0, x1, y1 = box(text.box())
            free = (
                [(x0, y1 + aside), (x1, y1 + aside)]
                if text.rotation
                else [(x1 + aside, y0), (x1 + aside, y1)]
            )
            assert holds(outline, free), "a ring has room behind the lines"


def test_text_widths_are_estimated_rather_too_wide():
    # Helvetica's own widths, in units of the font size (Adobe font metrics): digit .556, W .944, e .556,
    # K .667, i .222, x .5, blank .278; its capitals are .718 high
    font = {"0": 0.556, "W": 0.944, "e": 0.556, "K": 0.667, "i": 0.222, "x": 0.5, " ": 0.278}
    for c, width in font.items():
        assert text_width(c, 1000) >= width / 0.718 * 1000 * 0.95, c


def test_layers_have_plain_names_and_differ_without_colour():
    names = [layer.name for layer in palette.LAYERS]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[A-Z0-9]+(-[A-Z0-9]+)*", name) for name in names)
    scores = [layer for layer in palette.LAYERS if layer.name.startswith("SCORE-")]
    assert len({(layer.weight, layer.dashes) for layer in scores}) == len(scores)
    dxf_weights = {
        0,
        5,
        9,
        13,
        15,
        18,
        20,
        25,
        30,
        35,
        40,
        50,
        53,
        60,
        70,
        80,
        90,
        100,
        106,
        120,
        140,
        158,
        200,
        211,
    }
    assert {layer.weight for layer in palette.LAYERS} <= dxf_weights


def test_colours_read_on_white_and_on_black():
    """Contrast after WCAG 2.1 (relative luminance): 3 to 1 for lines, on both grounds."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for layer in palette.LAYERS:
        if layer.colour:
            own = luminance(layer.colour)
            assert 1.05 / (own + 0.05) >= 3 and (own + 0.05) / 0.05 >= 3, layer.name


def test_sizes_are_those_of_the_finished_panel(hand_plan: Plan):
    for panel in hand_plan.panels:
        x0, y0, x1, y1 = box(panel.finished)
        scene = panel_scene(hand_plan, panel)
        assert show_size(x1 - x0, y1 - y0) in " ".join(texts(scene, palette.PANEL_TEXT))
