"""Odd outlines in every reader: corner lists in CSV, XLSX, JSON and TOML, DXF outlines, tanks."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import ezdxf
import openpyxl
import pytest

from panewright.io.order_lists import Orders, read_orders
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop, read_shop
from panewright.nesting.edgework import Work
from panewright.nesting.openings import Hole
from panewright.nesting.outlines import area2, box, rectangle
from panewright.nesting.shop import Shop
from panewright.nesting.units import mm

SHOP = default_shop()
Corners = list[tuple[float | str, float | str]]

BAD: dict[str, tuple[Corners, str, str]] = {
    # corners, edges, and what is said
    "crossing": ([(0, 0), (600, 400), (600, 0), (0, 400)], "cut", "touches or crosses itself"),
    "running back": ([(0, 0), (600, 0), (300, 0), (300, 400)], "cut", "runs back on itself at corner 2"),
    "vanishing": (
        [(0, 0), (600, 0), (600, 399.5), (599.5, 400), (0, 400)],
        "cut|cut|polished|cut|cut",
        "from corner 3 to corner 4 vanishes",
    ),
    "vanishing in a pocket": (
        [(0, 0), (600, 0), (600, 400), (302, 400), (302, 200), (300, 200), (300, 400), (0, 400)],
        "polished",
        "from corner 5 to corner 6 vanishes",
    ),
}
FLAGGED: dict[str, tuple[Corners, str, str]] = {
    "tip": (
        [(0, 0), (600, 0), (0, 100)],
        "polished",
        "tip of 9.5 degrees at corner 2: the cut outline reaches 18.19",
    ),
    "tip as cut": ([(0, 0), (600, 0), (0, 100)], "cut", "tip of 9.5 degrees at corner 2; thin tips break"),
    "inwards": (
        [(0, 0), (600, 0), (600, 300), (300, 300), (300, 600), (0, 600)],
        "cut",
        "corner 4 turns inwards and cannot be scored",
    ),
    "short": (
        [(0, 0), (600, 0), (600, 399.5), (599.5, 400), (0, 400)],
        "cut",
        "the edge from corner 3 to corner 4 is only 0.71 mm long",
    ),
}


def read(folder: Path, kind: str, at: Corners, edges: str, **more: str) -> tuple[Orders, Problems]:
    """The panel of these corners from a list of this kind; ``dxf`` draws it beside the list."""
    row = {"order": "A", "panel": "p", "glass": "clear-10", "edges": edges, **more}
    words = " | ".join(f"{x} {y}" for x, y in at)
    path = folder / f"list.{kind}"
    if kind == "csv":
        full = row | {"corners": words}
        path.write_text(";".join(full) + "\n" + ";".join(full.values()) + "\n", encoding="utf-8")
    elif kind == "xlsx":
        book = openpyxl.Workbook()
        full = row | {"corners": words}
        book.active.append(list(full))
        book.active.append(list(full.values()))
        book.save(path)
    elif kind == "json":
        path.write_text(json.dumps([row | {"corners": at}]), encoding="utf-8")
    elif kind == "toml":
        lines = [f"{key} = {json.dumps(value)}" for key, value in row.items()]
        path.write_text("\n".join(["[[orders]]", *lines, f"corners = {json.dumps(at)}"]), encoding="utf-8")
    else:
        doc = ezdxf.new("R2010")
        doc.header["$INSUNITS"] = 4
        doc.modelspace().add_lwpolyline(at, close=True)
        doc.saveas(folder / "p.dxf")
        path = folder / "list.json"
        path.write_text(json.dumps([row | {"drawing": "p.dxf"}]), encoding="utf-8")
    problems = Problems()
    return read_orders([path], SHOP, problems), problems


KINDS = ("csv", "xlsx", "json", "toml", "dxf")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_cut_is_refused_in_every_reader(tmp_path: Path, kind: str, name: str) -> None:
    corners, edges, words = BAD[name]
    orders, problems = read(tmp_path, kind, corners, edges)
    assert not orders.panels and not orders.singles
    found = [error for error in problems.errors if words in error.reason]
    assert len(found) == 1 and found[0].remedy


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", FLAGGED)
def test_what_needs_care_is_flagged_in_every_reader(tmp_path: Path, kind: str, name: str) -> None:
    corners, edges, words = FLAGGED[name]
    orders, problems = read(tmp_path, kind, corners, edges)
    assert len(orders.panels) == 1 and not problems
    (note,) = problems.notes
    assert words in note.reason and note.remedy
    assert note.row is not None and note.column == ("drawing" if kind == "dxf" else "corners")


@pytest.mark.parametrize("kind", KINDS)
def test_every_reader_gives_the_same_panel(tmp_path: Path, kind: str) -> None:
    corners = [(10, 20), (610, 20), (610, 270), (260, 620), (10, 620)]
    orders, problems = read(tmp_path, kind, corners, "polished|cut|ground|seamed|cut")
    assert not problems.lines()
    (panel,) = orders.panels
    assert panel.finished[0] == (0, 0) and area2(panel.finished) == 2 * (mm(600) ** 2 - mm(350) ** 2 // 2)
    assert [e.work for e in panel.edges] == [Work.POLISHED, Work.CUT, Work.GROUND, Work.SEAMED, Work.CUT]


@pytest.mark.parametrize("kind", ("csv", "json"))
def test_a_clockwise_closed_list_with_a_corner_too_many(tmp_path: Path, kind: str) -> None:
    """Each edge keeps its work, and the corner on the straight line goes where both sides agree."""
    corners: Corners = [(0, 0), (0, 400), (300, 400), (600, 400), (600, 0), (0, 0)]
    orders, problems = read(tmp_path, kind, corners, "ground|polished|polished|cut|seamed")
    assert not problems.lines()
    (panel,) = orders.panels
    assert panel.finished == rectangle(mm(600), mm(400))
    assert [e.work for e in panel.edges] == [Work.SEAMED, Work.CUT, Work.POLISHED, Work.GROUND]
    orders, problems = read(tmp_path, kind, corners, "ground|polished|cut|cut|seamed")
    (error,) = problems.errors
    assert error.column == "edges" and "corner 3 lies on the straight line" in error.reason and error.remedy


def test_clockwise_corners_are_named_as_listed(tmp_path: Path) -> None:
    _, problems = read(tmp_path, "csv", [(0, 0), (0, 100), (600, 0)], "polished")
    assert "at corner 3" in problems.notes[0].reason


@pytest.mark.parametrize(
    ("tips", "reach"),
    [("cut back", "4.5"), ("yes", "4.5"), ("8 mm", "8"), ("8", "8"), ("keep", None), ("", None)],
)
def test_tips_of_a_row(tmp_path: Path, tips: str, reach: str | None) -> None:
    orders, problems = read(tmp_path, "json", [(0, 0), (600, 0), (0, 100)], "polished", tips=tips)
    assert not problems
    (panel,) = orders.panels
    assert [tip.reach for tip in panel.tips] == ([] if reach is None else [mm(reach)])


@pytest.mark.parametrize("tips", ["1 mm", "0", "600", "blunt", "-3"])
def test_odd_tips_are_refused(tmp_path: Path, tips: str) -> None:
    orders, problems = read(tmp_path, "json", [(0, 0), (600, 0), (0, 100)], "polished", tips=tips)
    (error,) = problems.errors
    assert error.column == "tips" and error.remedy and not orders.panels


def test_the_shop_may_cut_tips_back_and_state_a_radius(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text("[tips]\ncut_back = true\nreach = 2\n[cutting]\ninner_radius = 6\n", encoding="utf-8")
    problems = Problems()
    shop = read_shop(path, problems)
    assert not problems
    assert shop.tips.cut_back and shop.rules("clear-10").inner_radius == mm(6)
    assert not SHOP.tips.cut_back and SHOP.rules("clear-10").inner_radius is None
    found = _polygon(tmp_path, shop, "0 0 | 600 0 | 0 100", "")
    assert [tip.reach for tip in found.panels[0].tips] == [mm(3)]
    assert not _polygon(tmp_path, shop, "0 0 | 600 0 | 0 100", "keep").panels[0].tips
    for wrong in ("reach = 0.5", "cut_back = 1", "no = 1"):
        path.write_text(f"[tips]\n{wrong}\n", encoding="utf-8")
        problems = Problems()
        read_shop(path, problems)
        assert problems


def _polygon(folder: Path, shop: Shop, corners: str, tips: str) -> Orders:
    path = folder / "list.csv"
    path.write_text(
        f"order;panel;glass;edges;corners;tips\nA;p;clear-10;polished;{corners};{tips}\n", encoding="utf-8"
    )
    return read_orders([path], shop, Problems())


# ---------------------------------------------------------------- outlines at an angle


def test_a_turned_rectangle_is_laid_along_the_axes(tmp_path: Path) -> None:
    corners: Corners = [(0, 0), (501.49, 329.41), (281.88, 663.74), (-219.61, 334.33)]
    orders, problems = read(tmp_path, "csv", corners, "polished|ground|cut|ground")
    (panel,) = orders.panels
    assert panel.is_rectangle and [e.work for e in panel.edges][:2] == [Work.POLISHED, Work.GROUND]
    width, height = box(panel.finished)[2:]
    assert abs(width - mm(600)) < mm("0.02") and abs(height - mm(400)) < mm("0.02")
    (note,) = problems.notes
    assert "at an angle of 33.3 degrees" in note.reason and note.remedy


def test_it_keeps_its_frame_where_it_may_not_be_turned(tmp_path: Path) -> None:
    corners: Corners = [(0, 0), (501.49, 329.41), (281.88, 663.74), (-219.61, 334.33)]
    orders, _ = read(tmp_path, "csv", corners, "cut", turn="quarter")
    assert box(orders.panels[0].finished)[2:] == (mm("721.1"), mm("663.74"))


def test_holes_turn_along_and_cut_outs_keep_the_frame(tmp_path: Path) -> None:
    corners: Corners = [(0, 0), (300, 400), (-500, 1000), (-800, 600)]  # 500 x 1000, turned by 3-4-5
    orders, problems = read(tmp_path, "csv", corners, "cut", openings="hole 35 at 900 300")
    (panel,) = orders.panels
    # from the first corner, at 800, 0 of the box, the hole lies 100, 300 off: 300 along and 100 across
    (hole,) = panel.openings
    assert panel.is_rectangle and sorted(box(panel.finished)[2:]) == [mm(500), mm(1000)]
    corner = panel.finished[0]
    assert sorted((abs(hole.center[0] - corner[0]), abs(hole.center[1] - corner[1]))) == [mm(100), mm(300)]
    orders, problems = read(tmp_path, "csv", corners, "cut", openings="slot 40 x 40 at 700 400")
    assert box(orders.panels[0].finished)[2:] == (mm(1100), mm(1000))
    assert any("has cut-outs" in note.reason for note in problems.notes)


# ---------------------------------------------------------------- drawings of single panels


def test_a_drawing_and_corners_do_not_go_together(tmp_path: Path) -> None:
    _, problems = read(tmp_path, "dxf", [(0, 0), (600, 0), (0, 400)], "cut", corners="0 0 | 1 0 | 0 1")
    assert any(error.column == "drawing" for error in problems.errors)


@pytest.mark.parametrize("name", ["../p.dxf", "/p.dxf", "C:\\p.dxf", "none.dxf", "list.json"])
def test_a_drawing_that_is_none_is_refused(tmp_path: Path, name: str) -> None:
    path = tmp_path / "list.json"
    row = {"order": "A", "panel": "p", "glass": "clear-10", "drawing": name}
    path.write_text(json.dumps([row]), encoding="utf-8")
    problems = Problems()
    assert not read_orders([path], SHOP, problems).panels
    assert any(error.column == "drawing" and error.row == 1 for error in problems.errors)


def test_a_size_beside_a_drawing_must_agree(tmp_path: Path) -> None:
    triangle: Corners = [(0, 0), (600, 0), (0, 400)]
    orders, problems = read(tmp_path, "dxf", triangle, "cut", width="600", height="400")
    assert len(orders.panels) == 1 and not problems
    _, problems = read(tmp_path, "dxf", triangle, "cut", width="610", height="400")
    assert problems.errors[0].column == "width"


# ---------------------------------------------------------------- tanks

TANK = {"order": "P", "glass": "clear-10", "height": "400", "rim": "rimless"}


def tanks(folder: Path, *rows: dict[str, str], shop: Shop = SHOP) -> tuple[Orders, Problems]:
    path = folder / "tanks.json"
    path.write_text(json.dumps([TANK | row for row in rows]), encoding="utf-8")
    problems = Problems()
    return read_orders([path], shop, problems), problems


def test_a_tank_flags_its_tip_and_cuts_it_back_on_request(tmp_path: Path) -> None:
    shape = {"shape": "polygon", "corners": "0 0 | 900 0 | 0 400"}
    orders, problems = tanks(tmp_path, shape, shape | {"tips": "cut back"})
    assert not problems
    kept, back = orders.tanks
    assert any("tip of 24.0 degrees at corner 2: the cut outline reaches" in f.words for f in kept.findings)
    assert any("is cut back to 3 mm" in f.words for f in back.findings)
    assert any("base: tip of 24.0 degrees" in note.reason for note in problems.notes)
    bases = [p for p in orders.panels if p.name == "base"]
    assert [len(p.tips) for p in bases] == [0, 1]
    assert box(bases[1].cut)[2] < box(bases[0].cut)[2]


def test_a_tank_that_turns_inwards_lists_the_pocket_of_its_base(tmp_path: Path) -> None:
    shop = replace(SHOP, cutting=replace(SHOP.cutting, inner_radius=mm(15)))
    ell = {"shape": "L", "length": "900", "width": "560", "corner": "380 | 240"}
    orders, problems = tanks(tmp_path, ell, shop=shop)
    assert not problems
    (said,) = [f for f in orders.tanks[0].findings if "turns inwards" in f.words]
    assert said.panel == "base" and "a pocket of 381 x 241 mm" in said.words
    assert "inner radius at least 15 mm" in said.remedy and "angled score of 450.28 mm" in said.remedy


def test_a_vanished_edge_of_a_tank_names_panel_and_corners(tmp_path: Path) -> None:
    shop = replace(SHOP, allowances=dict(SHOP.allowances) | {Work.GROUND: SHOP.allowances[Work.GROUND]})
    step = replace(SHOP.allowances[Work.GROUND][0], allowance=mm(9))
    shop = replace(SHOP, allowances=dict(SHOP.allowances) | {Work.GROUND: (step,)})
    shape = {
        "shape": "polygon",
        "corners": "0 0 | 900 0 | 900 400 | 300 400 | 300 385 | 285 385 | 285 400 | 0 400",
    }
    orders, problems = tanks(tmp_path, shape, shop=shop)
    assert not orders.panels and problems.errors and all(e.remedy for e in problems.errors)


# ---------------------------------------------------------------- edges off by noise


@pytest.mark.parametrize("kind", KINDS)
def test_a_rectangle_but_for_noise_is_one_in_every_reader(tmp_path: Path, kind: str) -> None:
    works = [Work.POLISHED, Work.CUT, Work.GROUND, Work.SEAMED]
    corners: Corners = [(100000, 50000), (100600, 50000), (100600, 50300.0006), (100000.0004, 50300)]
    orders, problems = read(
        tmp_path, kind, corners, "polished|cut|ground|seamed", openings="hole 35 at 500 200"
    )
    assert not problems.lines(), "less than a micrometre is not worth a word"
    (panel,) = orders.panels
    assert panel.finished == rectangle(mm(600), mm(300)) and panel.is_rectangle
    assert [edge.work for edge in panel.edges] == works
    assert isinstance(panel.openings[0], Hole) and panel.openings[0].center == (mm(500), mm(200))


@pytest.mark.parametrize("kind", KINDS)
def test_a_note_says_what_was_straightened(tmp_path: Path, kind: str) -> None:
    corners: Corners = [(0, 0), (600, 0), (600, 300.04), (0.002, 300)]
    orders, problems = read(tmp_path, kind, corners, "polished", width="600", height="300.04")
    assert not problems and orders.panels[0].finished == rectangle(mm(600), mm(300))
    (note,) = problems.notes
    assert "corners 3 and 4 are taken as level: 0.04 mm off" in note.reason
    assert "corners 1 and 4 are taken as upright: 0.002 mm off" in note.reason
    assert "0.05 mm" in note.remedy and note.value
    assert note.row is not None and note.column == ("drawing" if kind == "dxf" else "corners")


def test_clockwise_edges_off_by_noise_keep_their_work_and_their_names(tmp_path: Path) -> None:
    corners: Corners = [(0, 0), (0, 400), (600, 400.03), (600, 0)]
    orders, problems = read(tmp_path, "csv", corners, "ground|polished|cut|seamed")
    (panel,) = orders.panels
    assert panel.finished == rectangle(mm(600), mm(400))
    assert [edge.work for edge in panel.edges] == [Work.SEAMED, Work.CUT, Work.POLISHED, Work.GROUND]
    assert "corners 2 and 3 are taken as level" in problems.notes[0].reason


def test_a_notch_in_an_edge_off_by_noise(tmp_path: Path) -> None:
    notch = "cut-out r 12: 200 260, 300 260, 300 300, 200 300"
    orders, problems = read(
        tmp_path, "csv", [(0, 0), (600, 0), (600, 300.0006), (0, 300)], "cut", openings=notch
    )
    assert not problems and orders.panels[0].is_rectangle and len(orders.panels[0].openings) == 1


def test_single_edges_of_a_rectangle_off_by_noise_may_be_named(tmp_path: Path) -> None:
    orders, problems = read(
        tmp_path, "csv", [(0, 0), (600, 0), (600, "300.0010"), (0, 300)], "cut", top="polished"
    )
    assert not problems
    assert [e.work for e in orders.panels[0].edges] == [Work.CUT, Work.CUT, Work.POLISHED, Work.CUT]


@pytest.mark.parametrize("edges", ["ground", "ground|ground|cut|cut|polished"])
@pytest.mark.parametrize("kind", ("csv", "dxf"))
def test_a_corner_of_noise_goes_where_its_edges_are_alike(tmp_path: Path, kind: str, edges: str) -> None:
    corners: Corners = [(0, 0.03), (300, 0), (600, 0.02), (600, 300), (0, 300)]
    orders, problems = read(tmp_path, kind, corners, edges)
    assert not problems and "corners 1, 2 and 3 are taken as level" in problems.notes[0].reason
    (panel,) = orders.panels
    assert panel.finished == rectangle(mm(600), mm(300))
    words = [edge.work.value for edge in panel.edges]
    assert words == (["ground"] * 4 if "|" not in edges else ["ground", "cut", "cut", "polished"])


def test_a_corner_of_noise_stays_where_its_edges_differ(tmp_path: Path) -> None:
    """Here both take off nothing; an unlike allowance makes an edge vanish, as it did before."""
    corners: Corners = [(0, 0.03), (300, 0), (600, 0.02), (600, 300.01), (0, 300)]
    orders, problems = read(tmp_path, "csv", corners, "cut|seamed|cut|cut|cut")
    assert not problems
    (panel,) = orders.panels
    assert len(panel.finished) == 5 and [e.work for e in panel.edges][:2] == [Work.CUT, Work.SEAMED]
    assert panel.finished[3][1] == panel.finished[4][1], "the top is laid straight all the same"


def test_a_trapezoid_laid_on_its_longest_edge_says_what_else_it_straightened(tmp_path: Path) -> None:
    # 600 and 300.04 wide, turned by 3-4-5; its short side leans by 0.04 mm
    corners: Corners = [(0, 0), (480, 360), (180, 510), ("-60.0240", "330.0320")]
    orders, problems = read(tmp_path, "csv", corners, "cut")
    (panel,) = orders.panels
    assert sorted(y for _, y in panel.finished)[2:] == [box(panel.finished)[3]] * 2
    laid, straight = problems.notes
    assert (
        "laid on its longest edge" in laid.reason and "corners 3 and 4 are taken as level" in straight.reason
    )


@pytest.mark.parametrize("noisy", ["0 0 | 900 0 | 900 400.03 | 0 400", "0 0.0006 | 900 0 | 900 400 | 0 400"])
def test_corners_of_a_tank_are_laid_straight(tmp_path: Path, noisy: str) -> None:
    found = []
    for corners in ("0 0 | 900 0 | 900 400 | 0 400", noisy):
        orders, problems = tanks(tmp_path, {"shape": "polygon", "corners": corners})
        assert not problems
        found.append([(p.name, p.finished, p.edges) for p in orders.panels])
        told = [n for n in problems.notes if "corners 3 and 4 are taken as level: 0.03 mm" in n.reason]
        assert len(told) == ("400.03" in corners) and all(n.column == "corners" for n in told)
    assert found[0] == found[1]


def test_a_clockwise_tank_keeps_its_front(tmp_path: Path) -> None:
    plain = {"shape": "polygon", "corners": "900 0 | 0 0 | 0 400 | 700 400"}
    noisy = plain | {"corners": "900 0 | 0 0.02 | 0 400 | 700 400"}
    found = []
    for row in (plain, noisy):
        orders, problems = tanks(tmp_path, row)
        assert not problems
        found.append([(p.name, p.finished, p.edges) for p in orders.panels])
    assert found[0] == found[1]


def test_a_drawn_base_of_a_tank_is_laid_straight(tmp_path: Path) -> None:
    found = []
    for name, last in (("a.dxf", 400.0), ("b.dxf", 400.02)):
        doc = ezdxf.new("R2010")
        doc.header["$INSUNITS"] = 4
        doc.modelspace().add_lwpolyline([(0, 0), (900, 0), (700, 400), (200, last)], close=True)
        doc.saveas(tmp_path / name)
        orders, problems = tanks(tmp_path, {"shape": "drawing", "drawing": name})
        assert not problems
        found.append([(p.name, p.finished, p.edges) for p in orders.panels])
        told = [n for n in problems.notes if "taken as level: 0.02 mm off" in n.reason]
        assert len(told) == (last != 400) and all(n.column == "drawing" for n in told)
    assert found[0] == found[1]
