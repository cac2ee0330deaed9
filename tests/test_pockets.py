"""Pockets of panels that turn inwards: their geometry, and where they are told."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from math import cos, pi, sin
from pathlib import Path

import ezdxf
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Polygon, set_precision, unary_union

from panewright.io.palette import POCKET
from panewright.io.panel_scene import panel_scene
from panewright.io.scene_model import Polyline, Text
from panewright.io.sequence_files import screen_tables, sequence_text
from panewright.nesting.cut_shape import cut_shape
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.outlines import Outline, area2, make_outline, rectangle
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.pockets import pockets, scored_edges
from panewright.nesting.rules import Rules
from panewright.nesting.shape_findings import edge_names
from panewright.nesting.tips import TipRule
from panewright.nesting.units import mm, to_tick


def of(*corners: tuple[float, float]) -> Outline:
    return make_outline([(mm(str(x)), mm(str(y))) for x, y in corners])


def cut(outline: Outline, allowance: str = "1") -> Outline:
    edges = [Edge(work=Work.GROUND, allowance=mm(allowance))] * len(outline)
    return cut_shape(outline, edges, Rules(), Turn.ANY, TipRule()).outline


ELL = of((0, 0), (900, 0), (900, 320), (520, 320), (520, 560), (0, 560))
COMB = of(
    (0, 0), (600, 0), (600, 400), (400, 400), (400, 350), (300, 350), (300, 400), (200, 400), (200, 390),
    (100, 390), (100, 400), (0, 400),
)  # fmt: skip


def test_an_l_has_one_pocket_beyond_one_score() -> None:
    """380 x 240 mm is the notch; a ground edge of 1 mm beside it makes the box 381 x 241 mm."""
    (pocket,) = pockets(ELL, cut(ELL))
    assert (pocket.edges, pocket.corners) == ((2, 3), (3,))
    assert pocket.size == (mm(381), mm(241))
    # half the notch, and the strip along the score of hypot(380, 240) = 449.44 mm
    assert abs(pocket.area2 / 2e12 - (380 * 240 / 2 + 449.44)) < 1
    assert abs(pocket.score - mm("450.28")) < mm("0.01")
    assert scored_edges(ELL, cut(ELL)) == (0, 1, 4, 5)


def test_notches_in_an_edge_are_pockets_of_their_own() -> None:
    found = pockets(COMB, cut(COMB))
    assert [p.outline[0][0] - p.outline[1][0] for p in found] == [mm(100), mm(100)]
    assert [p.size for p in found] == [(mm(100), mm(51)), (mm(100), mm(11))]
    assert [p.area2 // 2 for p in found] == [mm(100) * mm(51), mm(100) * mm(11)]
    assert [p.corners for p in found] == [(4, 5), (8, 9)] and not any(p.score for p in found)
    assert scored_edges(COMB, cut(COMB)) == (0, 1, 2, 6, 10, 11)


def test_a_pocket_reaches_out_to_the_corner_that_is_not_broken_off() -> None:
    notched = of((0, 0), (600, 0), (600, 380), (530, 380), (530, 400), (0, 400))
    (pocket,) = pockets(notched, cut(notched))
    assert pocket.size == (mm(71), mm(21)) and pocket.area2 // 2 == mm(71) * mm(21)
    assert pocket.score == 0


def test_convex_panels_have_none() -> None:
    assert pockets(rectangle(9, 9), rectangle(9, 9)) == ()
    triangle = of((0, 0), (600, 0), (0, 100))
    assert pockets(triangle, cut(triangle)) == () and scored_edges(triangle, cut(triangle)) == (0, 1, 2)


def test_a_foreign_cut_outline_gives_pockets_within_the_hull() -> None:
    """Where no edge of the cut outline runs along the hull, the pockets end at the hull."""
    rhomb = of((450, -900), (1800, 280), (450, 1460), (-900, 280))
    (pocket,) = pockets(ELL, rhomb)
    assert pocket.area2 // 2 == mm(380) * mm(240) // 2


@given(st.lists(st.integers(40, 400), min_size=5, max_size=10), st.integers(0, 30))
def test_pockets_and_strips_fill_the_cut_outline(radii: list[int], tenths: int) -> None:
    """shapely, a library of its own: pockets lie in the cut outline, off the panel and off each other."""
    n = len(radii)
    corners = [
        (to_tick(round(r * 10**6 * cos(2 * pi * k / n))), to_tick(round(r * 10**6 * sin(2 * pi * k / n))))
        for k, r in enumerate(radii)
    ]
    try:
        finished = make_outline(corners)
        outline = cut(finished, f"{tenths / 10}")
    except InvalidOutline:
        assume(False)
    found = pockets(finished, outline)
    edges = [i for pocket in found for i in pocket.edges]
    assert sorted([*edges, *scored_edges(finished, outline)]) == list(range(len(finished)))
    panel, sheet = Polygon(finished), Polygon(outline)
    shapes = [Polygon(pocket.outline) for pocket in found]
    # on a grid of 1 um, since nearly coincident edges mislead the overlay
    slack = 4000 * sheet.length
    for pocket, shape in zip(found, shapes, strict=True):
        assert shape.is_valid and pocket.area2 > 0
        assert set_precision(shape, 1000).difference(set_precision(sheet, 1000)).area <= slack
        assert set_precision(shape, 1000).intersection(set_precision(panel, 1000)).area <= slack
    if shapes:
        together = unary_union([set_precision(s, 1000) for s in shapes], grid_size=1000)
        assert abs(together.area - sum(pocket.area2 for pocket in found) / 2) <= slack
        # what neither panel nor pocket is, is the strip of edgework, as wide as it at most where pockets
        # do not reach out to a corner
        hollow = panel.convex_hull.area - panel.area
        assert together.area >= hollow - slack
    assert sum(p.area2 for p in found) <= area2(outline) - area2(finished) + 2 * slack


def test_edges_are_named_by_their_corners() -> None:
    assert edge_names((2, 3), range(1, 7)) == "3-4-5"
    assert edge_names((0, 2, 3), range(1, 5)) == "1-2, 3-4-1"
    assert edge_names((0, 1), (1, 4, 3, 2)) == "1-4-3"


# ---------------------------------------------------------------- drawing and sequence


@pytest.fixture
def notched_plan(hand_plan):  # type: ignore[no-untyped-def]
    """The front of the hand plan has a notch in its top."""
    front = hand_plan.panels[0]
    finished = of((0, 0), (697, 0), (697, 497), (400, 497), (400, 400), (300, 400), (300, 497), (0, 497))
    edges = (front.edges[0],) * len(finished)
    panel = replace(front, finished=finished, edges=edges)
    rules = {glass: replace(rules, inner_radius=mm(12)) for glass, rules in hand_plan.rules.items()}
    return replace(hand_plan, panels=(panel, *hand_plan.panels[1:]), rules=rules)


def test_the_drawing_shows_the_pocket_dashed_on_its_own_layer(notched_plan, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    from panewright.io.dxf_drawing import dxf_bytes

    scene = panel_scene(notched_plan, notched_plan.panels[0])
    (shape,) = [p for p in scene.parts if isinstance(p, Polyline) and p.layer is POCKET]
    assert Polygon(shape.points).area == mm(100) * (mm(97) + mm("1.5"))
    said = [p.text for p in scene.parts if isinstance(p, Text)]
    assert "pocket P1: 100 x 98.5 mm, 0.0098 m2, along corners 4-5-6-7, inner radius at least 12 mm" in said
    path = tmp_path / "p.dxf"
    path.write_bytes(dxf_bytes(scene, "mm"))
    doc = ezdxf.readfile(path)
    (found,) = doc.modelspace().query('LWPOLYLINE[layer=="POCKET"]')
    assert found.closed and doc.layers.get("POCKET").dxf.linetype.upper() not in ("CONTINUOUS", "BYLAYER")
    assert not doc.audit().errors


def test_the_sequence_ends_with_the_pockets(notched_plan, hand_plan) -> None:  # type: ignore[no-untyped-def]
    text = " ".join(sequence_text(notched_plan).split())
    assert "AFTER THE SCORES, by saw, drill or water jet K-204/front/1 of step" in text
    assert "pocket P1: 100 x 98.5 mm" in text and "inner radius at least 12 mm" in text
    assert any("K-204/front/1 of step" in str(part) for part in screen_tables(notched_plan))
    assert "AFTER THE SCORES" not in sequence_text(hand_plan)


# ---------------------------------------------------------------- lists, panels, plans

ODD = """order,panel,quantity,glass,edges,corners,tips
T-1,wedge,2,clear-10,polished,0 0 | 600 0 | 0 100,cut back
T-2,notched,1,clear-10,ground,0 0 | 900 0 | 900 320 | 520 320 | 520 560 | 0 560,
T-3,comb,1,clear-10,ground,0 0 | 0 400 | 200 400 | 200 350 | 300 350 | 300 400 | 600 400 | 600 0,
T-4,turned,2,clear-10,polished|ground|cut|ground,0 0 | 501.49 329.41 | 281.88 663.74 | -219.61 334.33,
"""


def test_panels_lists_tips_and_pockets_of_single_panels(tmp_path: Path) -> None:
    from tests.test_panels_command import call

    orders = tmp_path / "odd.csv"
    orders.write_text(ODD, encoding="utf-8")
    said = " ".join(call("panels", orders).stdout.split())
    assert "T-1 wedge: tip of 9.5 degrees at corner 2: the cut outline is cut back to 4.5 mm" in said
    assert "T-2 notched: corner 4 turns inwards and cannot be scored: a pocket of 381 x 241 mm" in said
    assert "left to saw, drill or water jet" in said
    data = json.loads(call("panels", orders, "--json").stdout)
    wedge, notched, comb, *_ = data["singles"]
    assert wedge["tips"] == [{"corner": 2, "reach": 4.5}] and "pockets" not in wedge
    (pocket,) = notched["pockets"]
    assert pocket["corners"] == [4] and pocket["edges"] == [[3, 4], [4, 5]] and pocket["size"] == [381, 241]
    assert pocket["inner_radius"] == 10 and pocket["made_by"] == "saw, drill or water jet"
    assert notched["scored_edges"] == [[1, 2], [2, 3], [5, 6], [6, 1]]
    # listed clockwise: named as listed
    assert comb["corners"] == [1, 8, 7, 6, 5, 4, 3, 2]
    assert comb["pockets"][0]["corners"] == [5, 4]


def test_odd_panels_are_planned_checked_and_read_back(tmp_path: Path, outsider: Callable[..., None]) -> None:
    from tests.test_panels_command import call

    from panewright.io.plan_file import dumps, loads

    orders, out = tmp_path / "odd.csv", tmp_path / "plan"
    orders.write_text(ODD, encoding="utf-8")
    done = call("plan", orders, "--out", out, "--effort", 20)
    assert done.exit_code == 0, done.stderr
    assert "tip of 9.5 degrees" in done.stderr and "a pocket of" in done.stderr
    text = (out / "plan.json").read_text(encoding="utf-8")
    plan = loads(text, source="plan.json")
    assert dumps(plan) == text
    assert [panel.tips[0].corner for panel in plan.panels if panel.tips] == [1, 1]
    turned: list[Panel] = [panel for panel in plan.panels if panel.name == "turned"]
    assert all(panel.is_rectangle for panel in turned)
    assert call("check", out).exit_code == 0
    outsider(plan, tmp_path)
    # the list that `panels` writes gives the same panels
    assert call("panels", orders, "--out", tmp_path / "list").exit_code == 0
    assert (
        call("plan", tmp_path / "list" / "panels.csv", "--out", tmp_path / "again", "--effort", 20).exit_code
        == 0
    )
    again = loads((tmp_path / "again" / "plan.json").read_text(encoding="utf-8"), source="plan.json")
    assert again.panels == plan.panels
