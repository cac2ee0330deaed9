"""Openings in drawings: true arcs, places from two edges, and the same in every format."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from math import hypot, pi

import pytest
from ezdxf.entities import LWPolyline
from ezdxf.filemanagement import read as read_dxf
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from panewright.io import palette
from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.rounded import bulged, corners, flattened
from panewright.io.scene import Circle, Line, Polyline, Scene, Text, Tint, panel_scene, sheet_scene
from panewright.io.svg_drawing import svg_text
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.openings import CutOut, Hole, Opening, distance, slot
from panewright.nesting.outlines import area2, box, make_outline, rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.placing import placed, placed_openings
from panewright.nesting.plan import Leaf, LeafKind, Plan
from panewright.nesting.units import INCH, MM, mm

HOLE = Hole(center=(mm(100), mm(150)), diameter=mm(60))
SLOT = slot(mm(250), mm(200), mm(120), mm(40), mm(12))
NOTCH = slot(mm(300), 0, mm(80), mm(50), mm(10))


def with_openings(plan: Plan, *openings: Opening) -> tuple[Plan, Panel]:
    panel = replace(plan.panels[0], openings=openings)
    return replace(plan, panels=(panel, *plan.panels[1:])), panel


@pytest.fixture
def scene(hand_plan: Plan) -> Scene:
    plan, panel = with_openings(hand_plan, HOLE, SLOT, NOTCH)
    assert box(panel.finished)[2] >= mm(600) and box(panel.finished)[3] >= mm(300)
    return panel_scene(plan, panel, style=MM)


def on(scene: Scene, kind: type) -> list:
    return [p for p in scene.parts if isinstance(p, kind) and p.layer is palette.OPENING]


# ---------------------------------------------------------------- arcs


def area_of(vertices: list[tuple[float, float, float]]) -> float:
    """Area within straight sides and arcs: a bulge b over a chord c adds a segment of the circle."""
    total = 0.0
    for i, (x, y, b) in enumerate(vertices):
        u, v, _ = vertices[(i + 1) % len(vertices)]
        total += (x * v - u * y) / 2
        if b:
            angle, chord = 4 * math.atan(b), hypot(u - x, v - y)
            radius = chord / (2 * math.sin(angle / 2))
            total += radius * radius * (angle - math.sin(angle)) / 2
    return total


def test_a_rounded_rectangle_has_the_area_of_the_textbook() -> None:
    # a b - (4 - pi) r^2
    for a, b, r in ((200, 100, 20), (200, 100, 50), (100, 100, 50)):
        vertices = bulged(rectangle(a, b), (r,) * 4)
        assert area_of(vertices) == pytest.approx(a * b - (4 - pi) * r * r)
        assert all(bulge in (0.0, pytest.approx(math.sqrt(2) - 1)) for _, _, bulge in vertices)
    assert len(bulged(rectangle(100, 100), (50,) * 4)) == 4  # a circle: no side of no length
    assert len(bulged(rectangle(200, 100), (50,) * 4)) == 6  # a slot with round ends
    assert len(bulged(rectangle(200, 100), (0, 20, 0, 0))) == 5


@given(
    st.lists(st.tuples(st.integers(0, 10**9), st.integers(0, 10**9)), min_size=3, max_size=9, unique=True),
    st.data(),
)
def test_arcs_stay_on_their_sides_and_short_sides_on_their_arcs(
    points: list[tuple[int, int]], data: st.DataObject
) -> None:
    try:
        outline = make_outline(points)
    except InvalidOutline:
        assume(False)
    radii = tuple(data.draw(st.integers(0, 5 * 10**8)) for _ in outline)
    found = corners(outline, radii)
    n = len(outline)
    for i, p in enumerate(outline):
        side = hypot(outline[(i + 1) % n][0] - p[0], outline[(i + 1) % n][1] - p[1])
        taken = math.dist(found[i].end, p) + math.dist(found[(i + 1) % n].start, outline[(i + 1) % n])
        assert taken <= side + 1e-6 * side
        assert found[i].radius <= radii[i] * (1 + 1e-9)
        assert (found[i].bulge == 0) == (found[i].start == found[i].end)
    short = flattened(outline, radii)
    assert area2(short) / 2 == pytest.approx(area_of(bulged(outline, radii)), rel=0.05, abs=1e12)
    x0, y0, x1, y1 = box(outline)
    assert all(x0 - 2 <= x <= x1 + 2 and y0 - 2 <= y <= y1 + 2 for x, y in short)


# ---------------------------------------------------------------- the panel


def test_a_panel_shows_its_openings(scene: Scene) -> None:
    (circle,) = on(scene, Circle)
    assert (circle.centre, circle.radius) == (HOLE.center, mm(30))
    first, second = on(scene, Polyline)
    assert (first.points, first.radii) == (SLOT.outline, (mm(12),) * 4)
    assert (second.points, second.radii) == (NOTCH.outline, (0, 0, mm(10), mm(10)))
    words = [t.text for t in on(scene, Text)]
    assert words == ["1: dia 60 mm", "2: 120 x 40 mm r 12 mm", "3: 80 x 50 mm r 10 mm"]


def test_their_places_are_measured_from_two_edges(scene: Scene) -> None:
    rows = [p for p in scene.parts if isinstance(p, Text) and p.layer is palette.MEASURE]
    assert {t.text for t in rows if not t.rotation} >= {"100", "250", "300"}
    assert {t.text for t in rows if t.rotation} >= {"150", "200"}
    notes = [p.text for p in scene.parts if isinstance(p, Text) and p.layer is palette.NOTES]
    assert "opening 1: hole, dia 60 mm, centre 100 mm from the left, 150 mm from the bottom" in notes
    assert any("250 mm from the left, 200 mm from the bottom" in note for note in notes)
    assert any("not scored" in note and "water jet" in note for note in notes)
    title = " ".join(p.text for p in scene.parts if isinstance(p, Text) and p.layer is palette.TITLE)
    assert "3 openings" in title


def test_dimension_lines_run_from_the_edge_to_the_opening(scene: Scene, hand_plan: Plan) -> None:
    x0, y0, _, _ = box(hand_plan.panels[0].finished)
    lines = [p for p in scene.parts if isinstance(p, Line) and p.layer is palette.MEASURE]
    level = {(p.start[0], p.end[0]) for p in lines if p.start[1] == p.end[1]}
    upright = {(p.start[1], p.end[1]) for p in lines if p.start[0] == p.end[0]}
    assert {(x0, mm(100)), (x0, mm(250)), (x0, mm(300))} <= level
    assert {(y0, mm(150)), (y0, mm(200))} <= upright


def test_no_text_lies_on_another_or_on_an_opening(scene: Scene) -> None:
    boxes = [box(p.box()) for p in scene.parts if isinstance(p, Text)]
    openings = [box(SLOT.outline), box(NOTCH.outline), (mm(70), mm(120), mm(130), mm(180))]
    everything = boxes + openings
    for i, a in enumerate(boxes):
        for b in everything[i + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (a, b)


def test_a_panel_without_openings_is_drawn_as_before(hand_plan: Plan) -> None:
    scene = panel_scene(hand_plan, hand_plan.panels[0], style=MM)
    assert palette.OPENING not in scene.layers()
    assert not [p for p in scene.parts if isinstance(p, Text) and "opening" in p.text.lower()]


def test_many_openings_are_listed_without_dimension_lines(hand_plan: Plan) -> None:
    many = [Hole(center=(mm(40 + 40 * i), mm(40 + 20 * i)), diameter=mm(8)) for i in range(9)]
    plan, panel = with_openings(hand_plan, *many)
    scene = panel_scene(plan, panel, style=MM)
    measures = [p.text for p in scene.parts if isinstance(p, Text) and p.layer is palette.MEASURE]
    assert len(measures) == 2
    assert sum("opening " in t.text for t in scene.parts if isinstance(t, Text)) == 9


def test_lengths_are_written_in_the_style_of_the_drawing(hand_plan: Plan) -> None:
    plan, panel = with_openings(hand_plan, Hole(center=(25_400_000 * 4, 25_400_000 * 6), diameter=12_700_000))
    scene = panel_scene(plan, panel, style=INCH)
    words = [t.text for t in scene.parts if isinstance(t, Text)]
    assert '1: dia 1/2"' in words
    assert any('4" from the left' in w for w in words)


# ---------------------------------------------------------------- formats


def test_dxf_has_true_arcs_and_circles(scene: Scene) -> None:
    doc = read_dxf(StringIO(dxf_bytes(scene, "mm").decode()))
    (circle,) = doc.modelspace().query('CIRCLE[layer=="OPENING"]')
    assert (circle.dxf.center.x, circle.dxf.center.y, circle.dxf.radius) == (100, 150, 30)
    outlines = list(doc.modelspace().query('LWPOLYLINE[layer=="OPENING"]'))
    assert [entity.closed for entity in outlines] == [True, True]
    first, second = outlines
    assert isinstance(first, LWPolyline) and isinstance(second, LWPolyline)
    assert (
        sorted(round(b, 9) for _, _, b in first.get_points("xyb"))
        == [0] * 4 + [round(math.sqrt(2) - 1, 9)] * 4
    )
    assert sum(b != 0 for _, _, b in second.get_points("xyb")) == 2
    points = [(x, y, b) for x, y, b in first.get_points("xyb")]
    assert area_of(points) == pytest.approx(120 * 40 - (4 - pi) * 144)


def test_svg_has_the_arcs_too(scene: Scene) -> None:
    text = svg_text(scene)
    paths = re.findall(r'<path class="line opening" d="([^"]+)"/>', text)
    assert [path.count("A") for path in paths] == [4, 2]
    # left turns of an outline that runs counter-clockwise; y points down in SVG
    assert all(re.findall(r"A12,12 0 0 (\d)", paths[0])[i] == "0" for i in range(4))
    assert paths[0].startswith("M250,-212 ") or "250,-212" in paths[0]
    assert '<circle class="ring opening" cx="100" cy="-150" r="30"/>' in text
    assert "tint-opening" in text


# ---------------------------------------------------------------- the sheet


def test_a_sheet_shows_openings_in_place(hand_plan: Plan) -> None:
    plan, panel = with_openings(hand_plan, HOLE, SLOT)
    layout = next(x for x in plan.layouts if any(leaf.panel == panel.id for leaf in x.leaves))
    scene = sheet_scene(plan, layout, style=MM)
    leaf = next(leaf for leaf in layout.leaves if leaf.panel == panel.id)
    (circle,) = on(scene, Circle)
    x0, y0, x1, y1 = box(leaf.outline)
    assert x0 < circle.centre[0] < x1 and y0 < circle.centre[1] < y1
    assert len(on(scene, Polyline)) == 1
    assert not on(scene, Tint)
    key = [p.text for p in scene.parts if isinstance(p, Text) and p.layer is palette.NOTES]
    assert any("not scored" in words for words in key)
    many, _ = with_openings(hand_plan, *[replace(HOLE, center=(mm(20 * i), mm(9))) for i in range(1, 10)])
    assert not on(sheet_scene(many, layout, style=MM), Circle)


@given(
    angle=st.integers(0, 360 * 10**9 - 1),
    mirrored=st.booleans(),
    x=st.integers(-(10**9), 10**9),
    y=st.integers(-(10**9), 10**9),
)
def test_placing_keeps_every_distance(
    angle: int, mirrored: bool, x: int, y: int, make_panel: Callable[..., Panel]
) -> None:
    panel = replace(make_panel(600, 400, allowance="1.5"), openings=(HOLE, SLOT, NOTCH))
    leaf = Leaf(
        piece="s", outline=panel.cut, kind=LeafKind.PANEL, panel=panel.id, turned=angle, mirrored=mirrored
    )
    at_origin, _ = placed(panel, leaf)
    leaf = replace(leaf, outline=tuple((px + x, py + y) for px, py in at_origin))
    _, finished = placed(panel, leaf)
    found = placed_openings(panel, leaf)
    hole, cut_out, notch = (opening for opening, _ in found)
    assert isinstance(hole, Hole) and isinstance(cut_out, CutOut) and isinstance(notch, CutOut)
    assert hole.diameter == HOLE.diameter
    assert distance(hole, cut_out) == pytest.approx(distance(HOLE, SLOT), abs=5)
    assert area2(cut_out.outline) == pytest.approx(area2(SLOT.outline), rel=1e-6)
    before = sorted(math.dist(p, HOLE.center) for p in panel.finished)
    after = sorted(math.dist(p, hole.center) for p in finished)
    assert after == pytest.approx(before, abs=5)
    # the radii of a notch belong to its two inner corners, which lie away from the edge
    radii = found[2][1]
    assert sorted(radii) == [0, 0, mm(10), mm(10)]
    for p, r in zip(notch.outline, radii, strict=True):
        edge = min(
            abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / math.dist(a, b)
            for a, b in zip(finished, (*finished[1:], finished[0]), strict=True)
        )
        assert (edge > mm(1)) == bool(r)


near = st.tuples(st.integers(-mm(200), mm(900)), st.integers(-mm(200), mm(900)))
anything = st.builds(Hole, center=near, diameter=st.integers(0, mm(300))) | st.builds(
    CutOut, outline=st.lists(near, min_size=3, max_size=6).map(tuple), corner_radius=st.integers(0, mm(300))
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(found=st.lists(anything, max_size=12))
def test_whatever_a_plan_file_holds_can_be_drawn(hand_plan: Plan, found: list[Opening]) -> None:
    # a reader takes openings as they are: outside the glass, crossing themselves, without a size
    plan, panel = with_openings(hand_plan, *found)
    layout = next(x for x in plan.layouts if any(leaf.panel == panel.id for leaf in x.leaves))
    for scene in (panel_scene(plan, panel, style=MM), sheet_scene(plan, layout, style=MM)):
        assert "nan" not in svg_text(scene)
        assert dxf_bytes(scene, "mm")
