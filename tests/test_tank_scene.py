"""The exploded drawing of a tank: every panel by its name, nothing outside, SVG and DXF that others read."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO
from itertools import combinations
from pathlib import Path

import pytest
from defusedxml import ElementTree
from ezdxf.filemanagement import read
from shapely.geometry import Polygon as Area

from panewright.io import palette
from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.order_lists import TankOrder, read_orders
from panewright.io.order_template import ROWS, template_files
from panewright.io.problems import Problems
from panewright.io.scene_model import Circle, Polyline, Scene, Text
from panewright.io.shop_file import default_shop
from panewright.io.svg_drawing import svg_text
from panewright.io.tank_figures import piece_rows
from panewright.io.tank_scene import tank_scene
from panewright.nesting.openings import Hole
from panewright.nesting.outlines import Point, area2, is_convex
from panewright.nesting.shop import Shop
from panewright.nesting.tanks.tank import Role
from panewright.nesting.units import INCH

SHOP = default_shop()
INCH_SHOP = replace(SHOP, length_style=INCH)
NUMBERS = range(len(ROWS) - 1)


@pytest.fixture(scope="module")
def tanks(tmp_path_factory: pytest.TempPathFactory) -> list[TankOrder]:
    """The tanks of the template, one of each kind."""
    folder = tmp_path_factory.mktemp("template")
    files = template_files(folder / "orders.csv")
    assert files is not None
    for path, content in files.items():
        path.write_bytes(content)
    return read_orders([folder / "orders.csv"], SHOP, Problems()).tanks


def hostile(tmp_path: Path) -> TankOrder:
    """A tank whose names and note hold what drawings could trip over."""
    path = tmp_path / "orders.csv"
    path.write_text(
        "order,tank,shape,length,width,height,glass,note\n"
        '"<b>&""%%d^{\\P}",\\U+0041 ]]>,rectangle,900,450,450,clear-10,"</text><script>x</script> %%c"\n',
        encoding="utf-8",
    )
    problems = Problems()
    (order,) = read_orders([path], SHOP, problems).tanks
    assert not problems
    return order


def texts(scene: Scene) -> list[str]:
    return [part.text for part in scene.parts if isinstance(part, Text)]


def outlines(scene: Scene) -> list[tuple[Point, ...]]:
    return [p.points for p in scene.parts if isinstance(p, Polyline) and p.layer == palette.PANEL_CUT]


def labels(scene: Scene) -> str:
    """All that stands on or under panels, one text after the other."""
    return " | ".join(p.text for p in scene.parts if isinstance(p, Text) and p.layer == palette.PANEL_TEXT)


@pytest.mark.parametrize("number", NUMBERS)
def test_every_panel_is_named(tanks: list[TankOrder], number: int) -> None:
    scene, order = tank_scene(tanks[number], SHOP), tanks[number]
    words = labels(scene).replace(" | ", ", ").split(", ")
    found = [word.split("  ")[0] for word in words]
    for piece in order.settled.built.pieces:
        assert found.count(piece.name) == 1, piece.name


@pytest.mark.parametrize("number", NUMBERS)
def test_panels_are_drawn_in_their_size_and_apart(tanks: list[TankOrder], number: int) -> None:
    order = tanks[number]
    built, drawn = order.settled.built, outlines(tank_scene(order, SHOP))
    groups = {row.names: row.piece for row in piece_rows(order, SHOP)}
    folded = is_convex(built.vessel.inner)
    once = [p for p in built.pieces if p.role is Role.BASE or (p.role is Role.WALL and folded)]
    for names, piece in groups.items():
        if not any(p.name in names for p in once):
            once.append(piece)
    wanted = sorted(area2(p.finished) for p in once)
    found = sorted(abs(area2(points)) for points in drawn)
    # turned panels are rounded to the nanometre: a nm along a side of 2 m
    assert found == pytest.approx(wanted, abs=8 * 2 * 10**9)
    areas = [Area(points) for points in drawn]
    for one, other in combinations(areas, 2):
        assert one.intersection(other).area == 0


@pytest.mark.parametrize("number", NUMBERS)
def test_everything_lies_within_the_drawing(tanks: list[TankOrder], number: int) -> None:
    scene = tank_scene(tanks[number], SHOP)
    x0, y0, x1, y1 = scene.bounds()
    assert x1 - x0 < 60 * 10**9 and y1 - y0 < 60 * 10**9
    for part in scene.parts:
        points = part.box() if isinstance(part, Text) else getattr(part, "points", ())
        assert all(x0 <= x <= x1 and y0 <= y <= y1 for x, y in points)
    # no text lies on another
    boxes = [Area(part.box()) for part in scene.parts if isinstance(part, Text)]
    for one, other in combinations(boxes, 2):
        assert one.intersection(other).area <= 0.02 * min(one.area, other.area)


@pytest.mark.parametrize("number", NUMBERS)
def test_openings_are_drawn_once_each(tanks: list[TankOrder], number: int) -> None:
    order = tanks[number]
    holes = [o for p in order.settled.built.pieces for o in p.openings if isinstance(o, Hole)]
    circles = [part for part in tank_scene(order, SHOP).parts if isinstance(part, Circle)]
    assert sorted(2 * c.radius for c in circles) == sorted(h.diameter for h in holes)


def test_the_template_has_holes_and_a_tank_that_cannot_be_folded(tanks: list[TankOrder]) -> None:
    assert any(p.openings for order in tanks for p in order.settled.built.pieces)
    assert any(not is_convex(order.settled.built.vessel.inner) for order in tanks)


def test_verdict_and_cautions_stand_on_the_drawing(tanks: list[TankOrder]) -> None:
    for order in tanks:
        text = " ".join(texts(tank_scene(order, SHOP)))
        assert order.settled.check.words in text
        for caution in order.settled.check.cautions:
            assert caution in text


@pytest.mark.parametrize("number", NUMBERS)
def test_svg_is_well_formed_and_names_every_panel(tanks: list[TankOrder], number: int) -> None:
    root = ElementTree.fromstring(svg_text(tank_scene(tanks[number], SHOP)))
    assert root.tag.endswith("svg")
    left, top, wide, high = map(float, root.attrib["viewBox"].split())
    scene = tank_scene(tanks[number], SHOP)
    x0, y0, x1, y1 = scene.bounds()
    assert left <= x0 / 10**6 and left + wide >= x1 / 10**6 and wide > 0
    assert top <= -y1 / 10**6 and top + high >= -y0 / 10**6 and high > 0
    said = " ".join("".join(element.itertext()) for element in root.iter() if element.tag.endswith("text"))
    for piece in tanks[number].settled.built.pieces:
        assert piece.name in said


@pytest.mark.parametrize(("shop", "unit", "code"), [(SHOP, "mm", 4), (INCH_SHOP, "in", 1)], ids=["mm", "in"])
@pytest.mark.parametrize("number", NUMBERS)
def test_dxf_passes_the_audit_in_its_unit(
    tanks: list[TankOrder], number: int, shop: Shop, unit: str, code: int
) -> None:
    """$INSUNITS 4 is millimetres and 1 inches (DXF reference, header section)."""
    scene = tank_scene(tanks[number], shop)
    document = read(StringIO(dxf_bytes(scene, unit).decode("utf-8")))  # type: ignore[arg-type]
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    assert document.header["$INSUNITS"] == code
    lines = [e for e in document.modelspace() if e.dxftype() == "LWPOLYLINE"]
    assert len(lines) >= len(outlines(scene)) and all(line.closed for line in lines)
    nm = 10**6 if unit == "mm" else 25_400_000
    xs = [x for line in lines for x, *_ in line.get_points()]
    drawn = [x for part in scene.parts if isinstance(part, Polyline) for x, _ in part.points]
    assert max(xs) - min(xs) == pytest.approx((max(drawn) - min(drawn)) / nm, abs=1e-6)
    assert {e.dxf.text for e in document.modelspace() if e.dxftype() == "TEXT"}


def test_hostile_names_stay_text(tmp_path: Path) -> None:
    order = hostile(tmp_path)
    scene = tank_scene(order, SHOP)
    root = ElementTree.fromstring(svg_text(scene))
    assert not any(element.tag.endswith("script") for element in root.iter())
    said = " ".join("".join(element.itertext()) for element in root.iter() if element.tag.endswith("text"))
    assert '<b>&"%%d^{\\P}' in said.replace("\u00a0", " ")
    document = read(StringIO(dxf_bytes(scene, "mm").decode("utf-8")))
    assert not document.audit().errors
