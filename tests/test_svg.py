"""SVG drawings: well formed, self-contained, right way up, safe whatever the orders are called."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace

from panewright.io import palette
from panewright.io.scene import Line, Polyline, Scene, Text, panel_scene, sheet_scene
from panewright.io.svg_drawing import mm_text, svg_text
from panewright.nesting.plan import Plan
from panewright.nesting.units import mm

NAME = "{http://www.w3.org/2000/svg}"


def scenes(plan: Plan) -> Iterator[Scene]:
    yield sheet_scene(plan, plan.layouts[0])
    for panel in plan.panels:
        yield panel_scene(plan, panel)


def test_every_part_of_the_scene_is_there_once(hand_plan: Plan, pentagon_plan: Plan):
    for plan in (hand_plan, pentagon_plan):
        for scene in scenes(plan):
            root = ET.fromstring(svg_text(scene))
            assert [t.text for t in root.iter(f"{NAME}text")] == [
                p.text for p in scene.parts if isinstance(p, Text)
            ]
            closed = [p for p in root.iter(f"{NAME}polygon") if "line" in (p.get("class") or "").split()]
            assert len(closed) == sum(isinstance(p, Polyline) for p in scene.parts)
            assert len(list(root.iter(f"{NAME}line"))) == sum(isinstance(p, Line) for p in scene.parts)


def test_coordinates_are_millimetres_with_y_turned_down(hand_plan: Plan):
    root = ET.fromstring(svg_text(sheet_scene(hand_plan, hand_plan.layouts[0])))
    sheet = next(p for p in root.iter(f"{NAME}polygon") if p.get("class") == "line sheet-edge")
    assert sheet.get("points") == "0,0 2000,0 2000,-1000 0,-1000"


def test_nothing_is_cut_off(hand_plan: Plan, inch_plan: Plan):
    for plan in (hand_plan, inch_plan):
        for scene in scenes(plan):
            x, y, w, h = (float(v) for v in (ET.fromstring(svg_text(scene)).get("viewBox") or "").split())
            x0, y0, x1, y1 = (v / 1e6 for v in scene.bounds())
            assert x < x0 and x + w > x1 and y < -y1 and y + h > -y0


def test_nothing_is_fetched_and_nothing_runs(hand_plan: Plan):
    evil = '</text><script>alert(1)</script><image href="http://x"/>&amp;]]>'
    plan = replace(
        hand_plan,
        id='"><x',
        panels=tuple(replace(p, order=evil, name="<b onclick='x'>") for p in hand_plan.panels),
    )
    for scene in scenes(plan):
        root = ET.fromstring(svg_text(scene))
        tags = {element.tag for element in root.iter()}
        assert tags <= {
            f"{NAME}{t}"
            for t in ("svg", "title", "style", "rect", "polygon", "line", "circle", "text", "path")
        }
        for element in root.iter():
            assert not any("href" in key or key.startswith("on") for key in element.attrib)
    assert evil[:30] in " ".join(t.text or "" for t in ET.fromstring(svg_text(scene)).iter(f"{NAME}text"))


def test_blanks_of_names_are_not_swallowed(hand_plan: Plan):
    root = ET.fromstring(svg_text(sheet_scene(hand_plan, hand_plan.layouts[0])))
    assert root.get("{http://www.w3.org/XML/1998/namespace}space") == "preserve"


def test_titles_keep_plan_and_order_apart(hand_plan: Plan):
    panel = hand_plan.panels[0]
    root = ET.fromstring(svg_text(panel_scene(hand_plan, panel)))
    title = root.find(f"{NAME}title")
    assert title is not None and title.text == f"plan {hand_plan.id} | {panel.order} {panel.name}"


def test_every_class_has_a_style(hand_plan: Plan, pentagon_plan: Plan):
    for plan in (hand_plan, pentagon_plan):
        for scene in scenes(plan):
            root = ET.fromstring(svg_text(scene))
            style = next(root.iter(f"{NAME}style")).text or ""
            for element in root.iter():
                for name in (element.get("class") or "").split():
                    assert f".{name}{{" in style


def test_score_layers_keep_their_weights_and_dashes(hand_plan: Plan):
    style = (
        next(ET.fromstring(svg_text(sheet_scene(hand_plan, hand_plan.layouts[0]))).iter(f"{NAME}style")).text
        or ""
    )
    rules = dict(line.rstrip("}").split("{", 1) for line in style.splitlines() if "{" in line)
    width = {
        layer.name: float(rules[f".{layer.name.lower()}"].split("stroke-width:")[1].split(";")[0])
        for layer in (palette.SCORE_1, palette.SCORE_2, palette.SCORE_3)
    }
    assert width["SCORE-1"] > width["SCORE-2"] > width["SCORE-3"]
    assert "stroke-dasharray" not in rules[".score-1"] and "stroke-dasharray" in rules[".score-2"]


def test_lengths_are_rounded_to_a_thousandth():
    assert [mm_text(v) for v in (0, -1, mm(1), -mm("1.5"), 1_234_567, -499, 500)] == [
        "0",
        "0",
        "1",
        "-1.5",
        "1.235",
        "0",
        "0.001",
    ]
