"""Flaws from drawings of sheets: our own drawing read back, units, kinds, and drawings that are refused."""

from __future__ import annotations

import csv
import logging
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from ezdxf.filemanagement import new
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io import flaw_drawing
from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.flaw_drawing import read_flaws
from panewright.io.flaw_text import MAX_FLAWS
from panewright.io.problems import Problems
from panewright.io.scene import sheet_scene
from panewright.io.shop_file import default_shop
from panewright.io.stock_list import read_stock_list
from panewright.nesting.flaws import Flaw
from panewright.nesting.plan import Plan
from panewright.nesting.spots import with_flaws
from panewright.nesting.units import LengthUnit, inch, mm

Draw = Callable[[Any], object]
SHEET = [(0, 0), (2000, 0), (2000, 1000), (0, 1000)]


def text_of(*draws: Draw, units: int = 4, sheet: bool = True, version: str = "R2010") -> str:
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
    doc = new(version, units=units)
    if sheet:
        doc.modelspace().add_lwpolyline(SHEET, close=True, dxfattribs={"layer": "SHEET-EDGE"})
    for draw in draws:
        draw(doc.modelspace())
    stream = StringIO()
    doc.write(stream)
    return stream.getvalue()


def flaws_of(path: Path, content: str | bytes, width: int = mm(2000), height: int = mm(1000)):
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    problems = Problems()
    found = read_flaws(path, width, height, problems)
    assert bool(found) != bool(problems.errors), problems.lines()
    assert all(p.reason and p.remedy and p.file == str(path) for p in problems.errors)
    return found, problems


@pytest.fixture
def dxf(tmp_path: Path) -> Path:
    return tmp_path / "sheet-7.dxf"


def on(layer: str) -> dict[str, Any]:
    return {"dxfattribs": {"layer": layer}}


def box(x: float, y: float, w: float, h: float, layer: str = "FLAW") -> Draw:
    points = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    return lambda msp: msp.add_lwpolyline(points, close=True, **on(layer))


def word(text: str) -> Draw:
    return lambda msp: msp.add_text(text, **on("FLAW")).set_placement((5, 5))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_our_own_drawing_of_a_sheet_reads_back(dxf: Path, hand_plan: Plan, unit: LengthUnit) -> None:
    flaws = (
        Flaw(mm(900), mm(400), mm(30), mm(20)),
        Flaw(inch(10), inch(10), inch("0.5"), inch("0.25")),
        Flaw(0, 0, mm(5), mm(5)),
    )
    layout = with_flaws(hand_plan.layouts[0], flaws)
    plan = replace(hand_plan, layouts=(layout,))
    content = dxf_bytes(sheet_scene(plan, layout), unit)
    found, problems = flaws_of(dxf, content)
    # the key of the drawing has layers of its own
    assert not problems
    assert len(found) == len(flaws)
    for got, want in zip(found, sorted(flaws), strict=True):
        # rounded outwards: never less than was drawn, and by no more than the drawing's own digits
        assert got.x <= want.x and got.y <= want.y
        assert got.x + got.width >= want.x + want.width and got.y + got.height >= want.y + want.height
        assert max(abs(a - b) for a, b in zip(got.box, want.box, strict=True)) < mm("0.01")


def test_every_kind_of_mark_and_every_way_to_say_its_kind(dxf: Path) -> None:
    found, problems = flaws_of(
        dxf,
        text_of(
            box(900, 400, 30, 20, "FLAW-SEED"),
            lambda m: m.add_line((100, 900), (180, 850), **on("flaw-scratch")),
            lambda m: m.add_circle((500, 500), 10, **on("FLAW_STONE".replace("_", "-"))),
            lambda m: m.add_point((300, 300), **on("FLAW")),
            lambda m: m.add_lwpolyline([(1000, 100), (1100, 120), (1050, 190)], **on("FLAW-RUB")),
            lambda m: m.add_polyline2d([(1500, 500), (1510, 500), (1510, 520)], close=True, **on("FLAW")),
            lambda m: m.add_text("a chip, seen by day", **on("FLAW")).set_placement((1502, 505)),
            lambda m: m.add_line((0, 0), (2000, 1000), **on("0")),
            lambda m: m.add_text("crack", **on("NOTES")).set_placement((300, 300)),
        ),
    )
    assert not problems.lines()
    assert set(found) == {
        Flaw(mm(900), mm(400), mm(30), mm(20), "seed"),
        Flaw(mm(100), mm(850), mm(80), mm(50), "scratch"),
        Flaw(mm(490), mm(490), mm(20), mm(20), "stone"),
        Flaw(mm(300), mm(300), 0, 0),
        Flaw(mm(1000), mm(100), mm(100), mm(90), "rub"),
        Flaw(mm(1500), mm(500), mm(10), mm(20), "chip"),
    }


@pytest.mark.parametrize(("units", "size"), [(0, 1), (4, 1), (5, 10), (6, 1000), (0, 10), (0, 1000)])
def test_the_sheet_tells_origin_and_unit(dxf: Path, units: int, size: int) -> None:
    def sheet(m: Any) -> None:
        points = [(7 + x / size, -3 + y / size) for x, y in SHEET]
        m.add_lwpolyline(points, close=True, **on("SHEET"))

    found, _ = flaws_of(
        dxf,
        text_of(sheet, box(7 + 40 / size, -3 + 50 / size, 10 / size, 20 / size), sheet=False, units=units),
    )
    (flaw,) = found
    assert max(abs(a - b) for a, b in zip(flaw.box, (mm(40), mm(50), mm(10), mm(20)), strict=True)) < mm(
        "0.01"
    )


def test_inches_without_a_unit(dxf: Path) -> None:
    points = [(0, 0), (96, 0), (96, 48), (0, 48)]
    sheet: Draw = lambda m: m.add_lwpolyline(points, close=True, **on("SHEET-EDGE"))
    found, _ = flaws_of(dxf, text_of(sheet, box(10, 10, 0.5, 0.25), sheet=False, units=0), inch(96), inch(48))
    assert found == (Flaw(inch(10), inch(10), inch("0.5"), inch("0.25")),)


REFUSED: list[tuple[list[Draw], dict[str, Any], str]] = [
    ([], {}, "no flaw on the layer FLAW"),
    ([box(1, 1, 1, 1)], {"sheet": False}, "no outline of the sheet"),
    ([box(1, 1, 1, 1), box(0, 0, 500, 500, "SHEET-EDGE")], {}, "several outlines"),
    ([box(1, 1, 1, 1, "FLAW-BUBBLE")], {}, "no kind of flaw"),
    ([box(1990, 1, 30, 1)], {}, "beyond the sheet"),
    ([box(2500, 1, 30, 1), box(1, -9, 9, 1)], {}, "no flaw on the layer FLAW"),
    ([box(-20, 1, 30, 1)], {}, "beyond the sheet"),
    ([box(1, 1, 1, 1)], {"units": 1}, "is 50800 x 25400 mm, not 2000 x 1000 mm"),
    ([box(1, 1, 1, 1)], {"units": 13}, "microns"),
    ([lambda m: m.add_arc((5, 5), 2, 0, 90, **on("FLAW"))], {}, "marks no flaw (ARC)"),
    ([lambda m: m.add_spline([(0, 0), (9, 9), (5, 1)], **on("FLAW"))], {}, "marks no flaw"),
    ([lambda m: m.add_blockref(m.doc.blocks.new("b").name, (1, 1), **on("FLAW"))], {}, "(INSERT)"),
    ([lambda m: m.add_lwpolyline([(1, 1, 0.5), (9, 9, 0)], format="xyb", **on("FLAW"))], {}, "an arc"),
    ([lambda m: m.add_circle((5, 5), 2, dxfattribs={"layer": "FLAW", "extrusion": (1, 0, 0)})], {}, "flat"),
    ([lambda m: m.add_point((1e12, 1), **on("FLAW"))], {}, "beyond every drawing"),
    ([lambda m: m.add_point((float("nan"), 1), **on("FLAW"))], {}, ""),
    ([box(1, 1, 9, 9), word("seed"), word("rub")], {}, "several kinds"),
    ([box(10 * (i % 20), 20 * (i // 20), 1, 1) for i in range(MAX_FLAWS + 1)], {}, "more than 200 flaws"),
]  # fmt: skip


@pytest.mark.parametrize(("draws", "how", "reason"), REFUSED)
def test_drawings_that_are_refused(dxf: Path, draws: list[Draw], how: dict[str, Any], reason: str) -> None:
    found, problems = flaws_of(dxf, text_of(*draws, **how))
    assert found == ()
    assert reason in problems.errors[0].reason


def test_too_many_marks(dxf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(flaw_drawing, "MAX_MARKS", 3)
    _, problems = flaws_of(dxf, text_of(*(box(i, 1, 1, 1) for i in range(4))))
    assert "more than 3 marks" in problems.errors[0].reason


def test_a_sheet_that_lies_the_other_way_round(dxf: Path) -> None:
    _, problems = flaws_of(dxf, text_of(box(1, 1, 1, 1)), mm(1000), mm(2000))
    assert "quarter turn" in problems.errors[0].reason
    _, problems = flaws_of(dxf, text_of(box(1, 1, 1, 1), units=0), mm(1500), mm(900))
    assert "names no unit" in problems.errors[0].reason


@pytest.mark.parametrize(
    "content", [b"", b"\0\0", b"PK\x03\x04", b"  0\nSECTION\n", text_of(box(1, 1, 1, 1))[:-9]]
)
def test_files_that_are_no_drawing(dxf: Path, content: str | bytes) -> None:
    _, problems = flaws_of(dxf, content)
    assert len(problems.errors) == 1


def test_a_flaw_at_the_very_edge_is_cut_to_the_sheet(dxf: Path) -> None:
    (flaw,), problems = flaws_of(dxf, text_of(box(1990, 990.5, 10.5, 10)))
    assert not problems.errors
    assert flaw == Flaw(mm(1990), mm("990.5"), mm(10), mm("9.5"))


@settings(max_examples=25)
@given(st.data())
def test_damaged_bytes_never_fail(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    content = bytearray(_sample())
    for _ in range(data.draw(st.integers(1, 6))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(1, 255))
    flaws_of(tmp_path_factory.mktemp("dxf") / "a.dxf", bytes(content))


_kept: list[bytes] = []


def _sample() -> bytes:
    if not _kept:
        draws = (
            lambda m: m.add_polyline2d([(1, 1), (9, 1), (9, 9)], close=True, **on("FLAW")),
            lambda m: m.add_polyline2d(SHEET, close=True, **on("SHEET")),
        )
        _kept.append(text_of(*draws, sheet=False, version="R12").encode())
    return _kept[0]


def test_a_stock_list_names_the_drawing(tmp_path: Path) -> None:
    (tmp_path / "sheet-7.dxf").write_text(text_of(box(900, 400, 30, 20, "FLAW-SEED")))
    rows = [
        {"kind": "offcut", "glass": "clear-10", "width": "2000", "height": "1000", "number": "R-7", "flaws": "sheet-7.dxf"},
        {"kind": "offcut", "glass": "clear-10", "width": "2000", "height": "900", "number": "R-8", "flaws": "sheet-7.dxf"},
    ]  # fmt: skip
    path = tmp_path / "stock.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    problems = Problems()
    pieces = read_stock_list(path, default_shop(), problems)
    assert [(p.name, p.flaws) for p in pieces] == [("R-7", (Flaw(mm(900), mm(400), mm(30), mm(20), "seed"),))]
    drawing, row = problems.errors
    assert drawing.file.endswith("sheet-7.dxf") and "2000 x 1000 mm, not 2000 x 900 mm" in drawing.reason
    assert (row.row, row.column) == (3, "flaws")
