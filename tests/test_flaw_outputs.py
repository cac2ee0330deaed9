"""Flaws and racks in drawings, cut book, labels and texts; our own drawings read again as drawings of the sheet."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from panewright.io import palette
from panewright.io.cut_book import book_bytes
from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.flaw_drawing import read_flaws
from panewright.io.flaw_words import flaw_words, goes_to, sheet_flaw_words
from panewright.io.piece_labels import labels_bytes
from panewright.io.problems import Problems
from panewright.io.scene import Polyline, Text, sheet_scene
from panewright.io.scene_model import Scene
from panewright.io.sequence_files import sequence_csv, sequence_text
from panewright.io.sheet_scene import SheetView
from panewright.nesting.flaws import Flaw, Tolerance
from panewright.nesting.outlines import box, rectangle
from panewright.nesting.plan import Plan
from panewright.nesting.shop_table import LabelSheet
from panewright.nesting.spots import flaws_of, with_flaws
from panewright.nesting.units import mm

LONG = "Furnace batch 7 with a rather long name"
FLAWS = (
    Flaw(mm(1440), mm(60), mm(60), mm(300), "stone"),
    Flaw(mm(1600), mm(500), mm(300), 0, "stain"),
    Flaw(mm(1800), mm(900), mm(40), mm(30)),
    Flaw(mm(300), mm(300), mm(6), mm(6), "seed"),
    Flaw(mm(1000), mm(200), mm(200), mm(120), "scratch"),
)


@pytest.fixture
def flawed_plan(hand_plan: Plan) -> Plan:
    """The sheet cut by hand, with flaws, two kinds of them tolerated, and its panels on two racks."""
    takes = (Tolerance("seed", "anywhere"), Tolerance("scratch", "anywhere"))
    places = (("H-12", 1), ("H-12", 2), (LONG, 4))
    panels = tuple(
        replace(panel, rack=rack, slot=slot, tolerates=takes)
        for panel, (rack, slot) in zip(hand_plan.panels, places, strict=True)
    )
    (layout,) = hand_plan.layouts
    return replace(hand_plan, panels=panels, layouts=(with_flaws(layout, FLAWS, ("seed", "scratch")),))


def of_layer(scene: Scene, layer: palette.Layer) -> list[Any]:
    return [part for part in scene.parts if part.layer == layer]


def test_tolerated_flaws_are_drawn_apart_from_the_others(flawed_plan: Plan) -> None:
    scene = sheet_scene(flawed_plan, flawed_plan.layouts[0])
    for layer, flaws in ((palette.FLAW, FLAWS[:3]), (palette.SPOT, FLAWS[3:])):
        found = {part.points for part in of_layer(scene, layer) if isinstance(part, Polyline)}
        assert found == {rectangle(f.width, f.height, f.x, f.y) for f in flaws if f.width and f.height}
        words = {part.text for part in of_layer(scene, layer) if isinstance(part, Text)}
        assert words == {f.kind for f in flaws if f.kind}
        # a kind lies within its flaw as far as it has two sides
        for part in of_layer(scene, layer):
            if isinstance(part, Text):
                flaw = next(f for f in flaws if f.kind == part.text)
                x0, y0, x1, y1 = box(part.box())
                grain = part.height // 3
                assert flaw.x - grain <= x0 and x1 <= flaw.x + flaw.width + grain
                assert not flaw.height or (flaw.y - grain <= y0 and y1 <= flaw.y + flaw.height + grain)
    notes = [part.text for part in of_layer(scene, palette.NOTES)]
    assert "scratch 200 x 120 mm at 1000 / 200 mm, tolerated in places" in notes
    assert {"flaw", "flaw tolerated in places"} <= set(notes)
    # the one that is too small to be seen has four strokes around it
    assert len(of_layer(scene, palette.FLAW_SIGN)) == 4


@pytest.mark.parametrize(
    "view", [SheetView(), SheetView(grain=mm(40), ladder=(2.0, 1.6, 1.2, 1.0, 0.8), bare=True)]
)
def test_labels_step_aside_for_flaws(flawed_plan: Plan, view: SheetView) -> None:
    (layout,) = flawed_plan.layouts
    scene = sheet_scene(flawed_plan, layout, view=view)
    for layer in (palette.PANEL_TEXT, palette.OFFCUT_TEXT):
        labels = of_layer(scene, layer)
        assert labels
        for part in labels:
            x0, y0, x1, y1 = box(part.box())
            assert not [
                f for f in FLAWS if x0 < f.x + f.width and f.x < x1 and y0 < f.y + f.height and f.y < y1
            ], part


@pytest.mark.parametrize(("unit", "off"), [("mm", 0), ("in", 625)])
def test_a_drawing_of_ours_gives_its_flaws_back(
    flawed_plan: Plan, tmp_path: Path, unit: Any, off: int
) -> None:
    (layout,) = flawed_plan.layouts
    path = tmp_path / "sheet.dxf"
    path.write_bytes(dxf_bytes(sheet_scene(flawed_plan, layout), unit))
    problems = Problems()
    found = read_flaws(path, layout.width, layout.height, problems)
    assert not problems.lines()
    for got, flaw in zip(sorted(found), sorted(flaws_of(layout)), strict=True):
        assert got.kind == flaw.kind
        for a, b in zip(got.box, flaw.box, strict=True):
            assert abs(a - b) <= 2 * off  # rounded outwards to the tick, where inches hide the nanometre


def test_flaws_in_words(flawed_plan: Plan) -> None:
    assert flaw_words(FLAWS[0]) == "stone 60 x 300 mm at 1440 / 60 mm"
    assert flaw_words(FLAWS[2]).startswith("flaw 40 x 30 mm")
    hard, spots = sheet_flaw_words(flawed_plan.layouts[0])
    assert hard.startswith("flaws: stone") and hard.count(";") == 2
    front, back, _ = (panel.id for panel in flawed_plan.panels)
    assert spots == (
        f"tolerated in places: seed 6 x 6 mm at 300 / 300 mm in {front}; "
        f"scratch 200 x 120 mm at 1000 / 200 mm in {back}"
    )
    many = replace(
        flawed_plan.layouts[0], flaws=tuple((i, 0, 1, 1) for i in range(20)), flaw_kinds=(), spots=()
    )
    assert sheet_flaw_words(many)[0].endswith("; 8 more")


def test_the_texts_say_where_a_panel_goes(
    flawed_plan: Plan, hand_plan: Plan, read_pdf: Callable[..., Any]
) -> None:
    text = " ".join(sequence_text(flawed_plan).split())
    book = " ".join(read_pdf(book_bytes(flawed_plan)).text.split())
    assert goes_to("H-12", 2) == "-> rack H-12, slot 2"
    for panel in flawed_plan.panels:
        assert f"{panel.name}, " in text and goes_to(panel.rack, panel.slot) in text
        assert goes_to(panel.rack, panel.slot) in book
    for line in sheet_flaw_words(flawed_plan.layouts[0]):
        assert line in text and line in book
    rows = list(csv.DictReader(StringIO(sequence_csv(flawed_plan).lstrip("\ufeff"))))
    told = {
        (row[f"{p} id"], row[f"{p} rack"], row[f"{p} slot"])
        for row in rows
        for p in ("measured part", "other part")
    }
    assert {(p.id, p.rack, str(p.slot)) for p in flawed_plan.panels} <= told
    assert rows[0]["flaws"].count(";") == 4 and not rows[1]["flaws"]
    # nothing of it where there are neither
    head = sequence_csv(hand_plan).splitlines()[0]
    assert "rack" not in head and "flaws" not in head


@pytest.mark.parametrize("size", [None, (mm(60), mm(34)), (mm(148), mm(70))])
def test_labels_show_rack_and_slot(flawed_plan: Plan, read_pdf: Callable[..., Any], size: Any) -> None:
    form = LabelSheet() if size is None else replace(LabelSheet(), paper=None, width=size[0], height=size[1])
    words = " ".join(read_pdf(labels_bytes(flawed_plan, form=form, slots={"K-204": "A-9"})).text.split())
    assert "H-12" in words and "A-9" not in words
    if size is None or size[0] > mm(62):
        assert all(word in words for word in LONG.split())
        assert words.count("rack") == words.count("slot") == 3
    else:
        assert "slot 4, rack Furnace" in words and "slot 2, rack H-12" in words
