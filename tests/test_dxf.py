"""DXF drawings, read back by a reader that shares nothing with the writer (GDAL, through pyogrio)."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from dataclasses import replace
from io import StringIO
from pathlib import Path

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io import palette
from panewright.io.drawings import drawing_files
from panewright.io.dxf_drawing import DrawingFault, dxf_bytes
from panewright.io.dxf_text import dxf_escaped
from panewright.io.plan_file import dumps
from panewright.io.scene import Polyline, Scene, Text, panel_scene, sheet_scene
from panewright.nesting.outlines import area2
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.units import INCH, NM_PER_INCH, NM_PER_MM, mm


def reread(data: bytes):
    """The drawing through the library's own reader, for header and tables."""
    return ezdxf.read(StringIO(data.decode("utf-8")))  # type: ignore[attr-defined]


def outsider_rows(data: bytes, folder: Path):
    """Layer, text and geometry of every entity as GDAL sees them."""
    pyogrio = pytest.importorskip("pyogrio", reason="the second DXF reader comes with the extra `test`")
    shapely = pytest.importorskip("shapely")
    path = folder / "drawing.dxf"
    path.write_bytes(data)
    _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer", "Text"])
    return list(zip(fields[0], fields[1], (shapely.from_wkb(s) for s in shapes), strict=True))


def areas(rows, layer: str) -> list[float]:
    from shapely import Polygon

    out = []
    for name, _, shape in rows:
        if name == layer and shape.geom_type in ("LineString", "Polygon"):
            ring = shape.coords if shape.geom_type == "LineString" else shape.exterior.coords
            if len(ring) > 2:
                assert ring[0] == ring[-1], "outlines are closed"
                out.append(Polygon(ring).area)
    return sorted(out)


def test_outsider_reads_the_areas_of_the_plan(hand_plan, pentagon_plan, octagon_plan, inch_plan, tmp_path):
    for plan, unit, nm in (
        (hand_plan, "mm", NM_PER_MM),
        (pentagon_plan, "mm", NM_PER_MM),
        (octagon_plan, "mm", NM_PER_MM),
        (inch_plan, "in", NM_PER_INCH),
    ):
        layout = plan.layouts[0]
        rows = outsider_rows(dxf_bytes(sheet_scene(plan, layout), unit), tmp_path)
        wanted = {
            "PANEL-CUT": [area2(p.cut) for p in plan.panels],
            "OFFCUT": [area2(f.outline) for f in layout.leaves if f.kind is LeafKind.OFFCUT],
            "CULLET": [area2(f.outline) for f in layout.leaves if f.kind is LeafKind.CULLET],
            "SHEET-EDGE": [2 * layout.width * layout.height],
        }
        if any(p.cut != p.finished for p in plan.panels):
            wanted["PANEL-FINISHED"] = [area2(p.finished) for p in plan.panels]
        for layer, twice in wanted.items():
            expected = sorted(a / 2 / nm**2 for a in twice)
            assert areas(rows, layer) == pytest.approx(expected, rel=1e-6), layer
        leaves = sum(areas(rows, "PANEL-CUT")) + sum(areas(rows, "OFFCUT")) + sum(areas(rows, "CULLET"))
        assert leaves == pytest.approx(sum(areas(rows, "SHEET-EDGE")), rel=1e-6)


def test_outsider_reads_cuts_and_texts(hand_plan: Plan, tmp_path: Path):
    layout = hand_plan.layouts[0]
    scene = sheet_scene(hand_plan, layout)
    rows = outsider_rows(dxf_bytes(scene, "mm"), tmp_path)
    lines = {tuple(s.coords) for n, _, s in rows if n.startswith("SCORE-") and s.geom_type == "LineString"}
    for cut in layout.cuts:
        ends = ((cut.start[0] / 1e6, cut.start[1] / 1e6), (cut.end[0] / 1e6, cut.end[1] / 1e6))
        assert ends in {tuple(p[:2] for p in line) for line in lines}
    read = sorted(t for n, t, s in rows if s.geom_type == "Point")
    assert read == sorted(p.text for p in scene.parts if isinstance(p, Text))


def test_header_gives_the_unit(hand_plan: Plan, inch_plan: Plan):
    # $INSUNITS 4 = millimetres, 1 = inches; $MEASUREMENT 1 = metric, 0 = imperial (DXF reference)
    doc = reread(dxf_bytes(sheet_scene(hand_plan, hand_plan.layouts[0]), "mm"))
    assert (doc.dxfversion, doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == ("AC1024", 4, 1)
    doc = reread(dxf_bytes(sheet_scene(inch_plan, inch_plan.layouts[0], style=INCH), "in"))
    assert (doc.dxfversion, doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == ("AC1024", 1, 0)
    sheet = next(e for e in doc.modelspace() if e.dxf.layer == "SHEET-EDGE")
    assert {tuple(p[:2]) for p in sheet.get_points()} == {(0, 0), (48, 0), (48, 36), (0, 36)}


def test_audit_is_clean_and_outlines_are_closed(hand_plan, pentagon_plan, octagon_plan, inch_plan):
    for plan in (hand_plan, pentagon_plan, octagon_plan, inch_plan):
        drawn = [sheet_scene(plan, plan.layouts[0]), *(panel_scene(plan, p) for p in plan.panels)]
        for scene in drawn:
            doc = reread(dxf_bytes(scene, "mm"))
            audit = doc.audit()
            assert not audit.errors and not audit.fixes
            polylines = list(doc.modelspace().query("LWPOLYLINE"))
            assert len(polylines) == sum(isinstance(p, Polyline) for p in scene.parts) > 0
            assert all(p.closed for p in polylines)
            kinds = {e.dxftype() for e in doc.modelspace()}
            assert kinds <= {"LWPOLYLINE", "LINE", "CIRCLE", "TEXT"}


def test_layers_are_ours_and_carry_colour_weight_and_dashes(hand_plan: Plan):
    doc = reread(dxf_bytes(sheet_scene(hand_plan, hand_plan.layouts[0]), "mm"))
    ours = {layer.name: layer for layer in palette.LAYERS}
    found = {e.dxf.name: e for e in doc.layers if e.dxf.name not in ("0", "Defpoints")}
    assert set(found) <= set(ours) and {"SCORE-1", "PANEL-CUT", "OFFCUT"} <= set(found)
    assert {e.dxf.layer for e in doc.modelspace()} == set(found)
    for name, entry in found.items():
        layer = ours[name]
        assert entry.dxf.lineweight == layer.weight
        if layer.colour:
            assert f"#{entry.dxf.true_color:06x}" == layer.colour
        else:
            assert entry.dxf.color == 7 and not entry.has_dxf_attrib("true_color")
        assert (entry.dxf.linetype == "Continuous") == (not layer.dashes)
        assert entry.dxf.linetype in doc.linetypes


def test_codes_in_names_do_nothing(hand_plan: Plan, tmp_path: Path):
    evil = "%%c50 {\\fArial;x} a^Jb \\P 5%"
    plan = replace(
        hand_plan, panels=tuple(replace(p, order=evil, name="ä\\U+0041") for p in hand_plan.panels)
    )
    data = dxf_bytes(panel_scene(plan, plan.panels[0]), "mm")
    doc = reread(data)
    shown = [e.plain_text() for e in doc.modelspace().query("TEXT")]
    assert any(evil in text for text in shown)
    assert b"\\U+0041" not in data and b"\\U+005CU+0041" in data
    assert not doc.audit().errors
    # carets and braces come back from the outsider as they were typed
    rows = outsider_rows(
        dxf_bytes(Scene("t", mm(5), (Text(palette.NOTES, "a^Jb {x} \\P", (0, 0), mm(5)),)), "mm"), tmp_path
    )
    assert [t for _, t, _ in rows] == ["a^Jb {x} \\P"]


@settings(max_examples=40)
@given(st.text(alphabet="%^\\{}cdU+0Pa1 ", max_size=12))
def test_escaped_text_reads_as_it_was(text):
    if "\\U+" in text or "\\u+" in text:
        return
    text = f"x{text}x"
    scene = Scene("t", mm(5), (Text(palette.NOTES, text, (0, 0), mm(5)),))
    (entity,) = reread(dxf_bytes(scene, "mm")).modelspace()
    assert entity.plain_text() == text


def test_escapes_are_those_of_the_text_entity():
    assert dxf_escaped("50%") == "50%"
    assert dxf_escaped("%%d") == "%%%%%%d"
    assert dxf_escaped("a^b") == "a^ b"
    assert dxf_escaped("\\M+1 \\P") == "\\U+005CM+1 \\P"


def test_a_drawing_that_the_audit_refuses_is_a_fault(hand_plan: Plan):
    bad = palette.Layer(name="NO:SUCH*NAME")
    with pytest.raises((DrawingFault, ValueError)):
        dxf_bytes(Scene("t", mm(5), (Polyline(bad, ((0, 0), (1, 0), (0, 1))),)), "mm")


PROGRAM = """
import hashlib, sys
from pathlib import Path
from panewright.io.drawings import drawing_files
from panewright.io.plan_file import loads
from panewright.io.sequence_files import sequence_files
plan = loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
files = dict(drawing_files(plan)) | {n: t.encode() for n, t in sequence_files(plan).items()}
for name in files:
    print(name, hashlib.sha256(files[name]).hexdigest())
"""


def test_two_processes_write_the_same_bytes(hand_plan: Plan, tmp_path: Path):
    path = tmp_path / "plan.json"
    path.write_text(dumps(hand_plan), encoding="utf-8")
    outputs = set()
    for seed, zone in (("1", "Asia/Tokyo"), ("4711", "America/Lima")):
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM, str(path)],
            capture_output=True,
            check=True,
            text=True,
            encoding="utf-8",
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone},
        )
        assert len(done.stdout.splitlines()) == 2 * (1 + len(hand_plan.panels)) + 3
        outputs.add(done.stdout)
    assert len(outputs) == 1


def test_the_librarys_switch_is_put_back(hand_plan: Plan):
    options = ezdxf.options  # type: ignore[attr-defined]
    assert options.write_fixed_meta_data_for_testing is False
    list(drawing_files(hand_plan, formats=["dxf"], panels=False))
    assert options.write_fixed_meta_data_for_testing is False


def test_coordinates_keep_the_nanometre(pentagon_plan: Plan):
    point = (mm(600) + 1, mm(250) - 1)
    scene = Scene("t", mm(5), (Polyline(palette.PANEL_CUT, ((0, 0), point, (0, mm(300)))),))
    (entity,) = reread(dxf_bytes(scene, "mm")).modelspace()
    x, y = entity.get_points()[1][:2]
    assert (round(x * 1e6), round(y * 1e6)) == point
    assert math.isclose(x, 600.000001, abs_tol=1e-9)
