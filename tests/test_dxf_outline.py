"""The outline of a base from DXF: the right size in every unit, and everything else refused by name."""

from __future__ import annotations

import logging
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from ezdxf import recover
from ezdxf.filemanagement import new
from hypothesis import given
from hypothesis import strategies as st

from panewright.io import dxf_reading
from panewright.io.dxf_outline import read_outline
from panewright.io.problems import Problems
from panewright.nesting.outlines import Outline, area2, box, make_outline, rectangle
from panewright.nesting.units import LengthUnit, inch, mm, to_tick

Draw = Callable[[Any], object]
RECTANGLE = [(10.0, 20.0), (610.5, 20.0), (610.5, 420.0), (10.0, 420.0)]
EXPECTED = rectangle(mm("600.5"), mm(400))


def text_of(draw: Draw, units: int = 4, version: str = "R2010") -> str:
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
    doc = new(version, units=units)
    draw(doc.modelspace())
    stream = StringIO()
    doc.write(stream)
    return stream.getvalue()


def outline_of(
    path: Path, content: str | bytes, unit: LengthUnit | None = None
) -> tuple[Outline | None, Problems]:
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    problems = Problems()
    found = read_outline(path, problems, unit_if_none=unit)
    assert (found is None) == bool(problems.errors), problems.lines()
    assert all(p.reason and p.remedy and p.file == str(path) for p in problems.errors)
    return found and found.outline, problems


@pytest.fixture
def dxf(tmp_path: Path) -> Path:
    return tmp_path / "base.dxf"


def closed(points: list[tuple[float, ...]], **more: Any) -> Draw:
    return lambda msp: msp.add_lwpolyline(points, close=True, dxfattribs=more)


# ---------------------------------------------------------------- what is read


@pytest.mark.parametrize(
    "draw",
    [
        closed(RECTANGLE),
        closed(RECTANGLE[::-1]),
        closed([*RECTANGLE, RECTANGLE[0]]),
        lambda msp: msp.add_lwpolyline([*RECTANGLE, RECTANGLE[0]]),
        lambda msp: msp.add_polyline2d(RECTANGLE, close=True),
        lambda msp: msp.add_polyline2d([*RECTANGLE, RECTANGLE[0]]),
        closed([(x - 1e6, y) for x, y in RECTANGLE]),
        closed([(-x, y) for x, y in RECTANGLE], extrusion=(0, 0, -1)),
        closed([*RECTANGLE[:1], (300, 20), *RECTANGLE[1:]]),  # a corner on a straight line
    ],
)
@pytest.mark.parametrize("version", ["R2000", "R2010", "R2018"])
def test_a_rectangle_however_it_is_drawn(dxf: Path, draw: Draw, version: str) -> None:
    found, problems = outline_of(dxf, text_of(draw, version=version))
    assert not problems.lines()
    assert found is not None and set(found) == set(EXPECTED) and area2(found) > 0


@pytest.mark.parametrize(
    ("units", "points", "expected"),
    [
        (
            1,
            [(0, 0), (23.625, 0), (23.625, 12.5)],
            [(0, 0), (inch("189/8"), 0), (inch("189/8"), inch("25/2"))],
        ),
        (2, [(0, 0), (2.5, 0), (2.5, 1)], [(0, 0), (inch(30), 0), (inch(30), inch(12))]),
        (4, [(0, 0), (600.01, 0), (600.01, 400)], [(0, 0), (mm("600.01"), 0), (mm("600.01"), mm(400))]),
        (5, [(0, 0), (60.1, 0), (60.1, 40)], [(0, 0), (mm(601), 0), (mm(601), mm(400))]),
        (6, [(0, 0), (0.6, 0), (0.6, 0.4)], [(0, 0), (mm(600), 0), (mm(600), mm(400))]),
    ],
)
def test_units_are_those_of_the_header(
    dxf: Path, units: int, points: list[tuple[float, float]], expected: list[tuple[int, int]]
) -> None:
    found, _ = outline_of(dxf, text_of(closed(points), units))
    assert found == make_outline(expected)
    # the unit of the file goes before the one that the caller names
    assert outline_of(dxf, text_of(closed(points), units), "mm")[0] == found


def test_without_a_unit_the_caller_must_name_one(dxf: Path) -> None:
    text = text_of(closed([(0, 0), (24, 0), (24, 12)]), units=0)
    _, problems = outline_of(dxf, text)
    assert "names no unit" in problems.errors[0].reason and "name the unit" in problems.errors[0].remedy
    found, _ = outline_of(dxf, text, "in")
    assert found is not None and box(found) == (0, 0, inch(24), inch(12))
    # drawings of the oldest version have no unit in their header at all
    old = text_of(lambda msp: msp.add_polyline2d(RECTANGLE, close=True), version="R12")
    assert "names no unit" in outline_of(dxf, old)[1].errors[0].reason
    assert outline_of(dxf, old, "mm")[0] == EXPECTED


@given(
    st.lists(
        st.tuples(st.integers(0, 500_000), st.integers(0, 500_000)), min_size=3, max_size=3, unique=True
    ),
    st.integers(-10_000, 10_000),
    st.booleans(),
)
def test_decimals_are_exact_wherever_the_outline_lies(
    tmp_path_factory: pytest.TempPathFactory, corners: list[tuple[int, int]], away: int, turned: bool
) -> None:
    points = [(0, 0), (60_000, 0), (60_000, 40_000), (0, 40_010 + corners[0][1] // 10)]
    drawn = [((x + away) / 100, (y - away) / 100) for x, y in points]
    text = text_of(closed(drawn[::-1] if turned else drawn))
    found, _ = outline_of(tmp_path_factory.mktemp("dxf") / "a.dxf", text)
    assert found is not None
    assert set(found) == {(to_tick(x * 10_000), to_tick(y * 10_000)) for x, y in points}


def test_what_says_something_about_the_outline_is_left_out(dxf: Path) -> None:
    def draw(msp: Any) -> None:
        msp.add_lwpolyline(RECTANGLE, close=True, dxfattribs={"layer": "BASE"})
        msp.add_text("base", dxfattribs={"layer": "BASE"})
        msp.add_mtext("base {x}", dxfattribs={"layer": "BASE"})
        msp.add_linear_dim((0, 0), (0, 0), (600, 0)).render()
        msp.add_line((0, 0), (10, 10), dxfattribs={"layer": "AXIS"})
        msp.add_circle((0, 0), 10, dxfattribs={"layer": "HOLES"})
        msp.add_lwpolyline([(0, 0), (10, 10), (20, 0)], dxfattribs={"layer": "AXIS"})

    found, problems = outline_of(dxf, text_of(draw))
    assert found == EXPECTED
    (note,) = problems.notes
    for kind in ("1 TEXT", "1 MTEXT", "1 DIMENSION", "1 LINE", "1 CIRCLE", "1 open POLYLINE"):
        assert kind in note.reason


# ---------------------------------------------------------------- what is refused


def beside(add: Draw) -> Draw:
    def draw(msp: Any) -> None:
        msp.add_lwpolyline(RECTANGLE, close=True)
        add(msp)

    return draw


def block(msp: Any) -> None:
    msp.doc.blocks.new("B").add_lwpolyline(RECTANGLE, close=True)
    msp.add_blockref("B", (0, 0))


def smoothed(msp: Any) -> None:
    msp.add_polyline2d(RECTANGLE, close=True).dxf.flags |= 4


@pytest.mark.parametrize(
    ("draw", "reason"),
    [
        (lambda msp: None, "no closed polyline"),
        (lambda msp: msp.add_line((0, 0), (600, 0)), "no closed polyline"),
        (lambda msp: msp.add_lwpolyline(RECTANGLE), "is open"),
        (lambda msp: msp.add_polyline2d(RECTANGLE), "is open"),
        (lambda msp: msp.add_polyline3d(RECTANGLE, close=True), "flat"),
        (closed(RECTANGLE, extrusion=(0, 1, 0)), "flat"),
        (smoothed, "smoothed"),
        (block, "a block"),
        (beside(block), "a block"),
        (beside(lambda msp: msp.add_lwpolyline([(0, 0), (9, 0), (9, 9)], close=True)), "2 closed outlines"),
        (beside(lambda msp: msp.add_lwpolyline([(0, 0), (9, 0), (9, 9)])), "more than the outline"),
        (beside(lambda msp: msp.add_line((0, 0), (9, 0))), "more than the outline"),
        (beside(lambda msp: msp.add_circle((50, 50), 9)), "a curve (circle)"),
        (beside(lambda msp: msp.add_arc((50, 50), 9, 0, 90)), "a curve (arc)"),
        (beside(lambda msp: msp.add_ellipse((50, 50), (9, 0))), "a curve (ellipse)"),
        (beside(lambda msp: msp.add_spline([(0, 0), (5, 5), (9, 0)])), "a curve (spline)"),
        (
            lambda msp: msp.add_lwpolyline([(0, 0, 1), (600, 0, 0), (600, 400, 0)], "xyb", close=True),
            "an arc",
        ),
        (
            lambda msp: msp.add_polyline2d([(0, 0, 1), (600, 0, 1), (600, 400, 0)], "xyb", close=True),
            "2 arcs",
        ),
        (closed([(0, 0), (600, 400), (600, 0), (0, 400)]), "touches or crosses"),
        (closed([(0, 0), (600, 0)]), "fewer than three"),
        (closed([(0, 0), (600, 0), (600, 0.0001)]), "fewer than three"),
        (closed([(i * 10, i * i) for i in range(61)]), "more than 60 corners"),
        (closed([(0, 0), (7001, 0), (7001, 400)]), "is no panel"),
        (closed([(0, 0), (600, 0), (600, 9)]), "is no panel"),
        (closed([(0, 0), (1e12, 0), (1e12, 400)]), "beyond every drawing"),
        (closed([(0, 0), (1e300, 0), (1e300, 400)]), "beyond every drawing"),
    ],
)
def test_what_is_no_outline_is_refused_with_its_reason(dxf: Path, draw: Draw, reason: str) -> None:
    _, problems = outline_of(dxf, text_of(draw))
    assert len(problems.errors) == 1
    assert reason in problems.errors[0].reason


def test_all_faults_are_said_at_once(dxf: Path) -> None:
    def draw(msp: Any) -> None:
        block(msp)
        msp.add_lwpolyline([(0, 0, 1), *[(i * 10, i * i, 0) for i in range(70)]], "xyb", close=True)
        msp.add_circle((0, 0), 1)

    _, problems = outline_of(dxf, text_of(draw, units=7))
    found = " ".join(p.reason for p in problems.errors)
    for words in ("kilometres", "block", "circle", "arc", "60 corners"):
        assert words in found


@pytest.mark.parametrize(
    ("units", "name"), [(3, "miles"), (10, "yards"), (14, "decimetres"), (21, "survey feet")]
)
def test_other_units_are_refused_by_name(dxf: Path, units: int, name: str) -> None:
    _, problems = outline_of(dxf, text_of(closed(RECTANGLE), units), "mm")
    assert name in problems.errors[0].reason


@pytest.mark.parametrize("bad", ["nan", "inf", "-inf", "1e400", "abc", "", "1.2.3"])
def test_coordinates_that_are_no_numbers(dxf: Path, bad: str) -> None:
    outline_of(dxf, text_of(closed(RECTANGLE)).replace("610.5", bad))


@pytest.mark.parametrize("bad", ["99", "-1", "x", "1e9", "4.0"])
def test_odd_units_in_the_header(dxf: Path, bad: str) -> None:
    text = text_of(closed(RECTANGLE)).replace("$INSUNITS\n 70\n4\n", f"$INSUNITS\n 70\n{bad}\n")
    dxf.write_text(text)
    problems = Problems()
    found = read_outline(dxf, problems)
    assert (found is None) == bool(problems.errors)
    assert found is None or bad == "4.0"


def test_every_truncation_is_refused(dxf: Path) -> None:
    data = text_of(closed(RECTANGLE)).encode()
    end = data.rindex(b"EOF")
    for length in [0, 1, 5, 100, *range(1000, end, len(data) // 40), end - 2, end, end + 2]:
        found, problems = outline_of(dxf, data[:length])
        assert found is None and len(problems.errors) == 1


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "no DXF file"),
        (b"hello", "no DXF file"),
        (b"\x89PNG\r\n\x1a\n\0\0", "not text|no DXF in text form"),
        (bytes(range(1, 256)) * 40, "no DXF file"),
        (b"order,width\nA,1\n", "no DXF file"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n10\n1\n0\nENDSEC\n0\nEOF\n", "damaged"),
        (b"0\nSECTION\n2\nENTITIES\nx\ny\n0\nENDSEC\n0\nEOF\n", "damaged"),
        (b"0\nSECTION\n0\nEOF\n", ""),
        (b"0\nSECTION\n" + b"0\nLINE\n" * 20_001 + b"0\nEOF\n", "more than 20000 entities"),
    ],
)
def test_hostile_files(dxf: Path, content: bytes, reason: str) -> None:
    found, problems = outline_of(dxf, content)
    assert found is None
    assert any(part in problems.errors[0].reason for part in reason.split("|"))


@given(data=st.data())
def test_flipped_bytes_never_give_a_traceback(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    content = bytearray(_sample())
    for _ in range(data.draw(st.integers(1, 6))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(1, 255))
    outline_of(tmp_path_factory.mktemp("dxf") / "a.dxf", bytes(content))


_kept: list[bytes] = []


def _sample() -> bytes:
    if not _kept:
        _kept.append(text_of(lambda msp: msp.add_polyline2d(RECTANGLE, close=True), version="R12").encode())
    return _kept[0]


def test_files_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for path in (tmp_path / "none.dxf", tmp_path):
        problems = Problems()
        assert read_outline(path, problems) is None
        assert len(problems.errors) == 1 and problems.errors[0].remedy
    monkeypatch.setattr(dxf_reading, "MAX_BYTES", 1000)
    _, problems = outline_of(tmp_path / "a.dxf", text_of(closed(RECTANGLE)))
    assert "larger than" in problems.errors[0].reason


def test_whatever_the_library_raises_is_a_problem(dxf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("\x1b[31m")

    monkeypatch.setattr(recover, "read", fail)
    _, problems = outline_of(dxf, text_of(closed(RECTANGLE)))
    assert "damaged" in problems.errors[0].reason and "\x1b" not in problems.errors[0].reason
