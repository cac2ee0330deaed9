"""Order lists: tanks from every format, what is wrong in every column, hostile cells, days and volumes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panewright.io.order_lists import COLUMNS, Orders, read_orders
from panewright.io.order_template import DRAWING, ROWS, template_files
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.io.tank_list import PANEL_ONLY, TANK_COLUMNS

if TYPE_CHECKING:
    from conftest import Desk

SHOP = default_shop()
FORMATS = (".csv", ".xlsx", ".toml", ".json")


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Orders]:
    """The template in a format, read back."""
    folder = tmp_path_factory.mktemp("template")
    done: dict[str, Orders] = {}

    def read(suffix: str) -> Orders:
        if suffix not in done:
            files = template_files(folder / f"orders{suffix}")
            assert files is not None and [path.name for path in files] == [f"orders{suffix}", DRAWING]
            for path, content in files.items():
                path.write_bytes(content)
            problems = Problems()
            done[suffix] = read_orders([folder / f"orders{suffix}"], SHOP, problems)
            assert not problems, list(problems.lines())
        return done[suffix]

    return read


@pytest.mark.parametrize("suffix", FORMATS[1:])
def test_the_template_is_the_same_in_every_format(template: Callable[[str], Orders], suffix: str) -> None:
    one, other = template(".csv"), template(suffix)
    assert [t.settled.built for t in one.tanks] == [t.settled.built for t in other.tanks]
    assert [t.settled.advice for t in one.tanks] == [t.settled.advice for t in other.tanks]
    assert one.panels == other.panels


def test_the_template_has_a_row_of_each_kind(template: Callable[[str], Orders]) -> None:
    orders = template(".csv")
    assert len(orders.tanks) == len(ROWS) - 1
    kinds = {tank.settled.built.tank.shape.kind for tank in orders.tanks}
    assert kinds == {
        "rectangle", "corner", "regular", "long octagon", "long hexagon", "trapezoid", "right trapezoid",
        "bent front", "L", "polygon", "drawing",
    }  # fmt: skip
    used = {column for row in ROWS for column in row}
    assert used <= {column.name for column in COLUMNS}
    assert {p.order for p in orders.panels} == {row["order"] for row in ROWS}
    assert template_files(Path("orders.ods")) is None


# one bad cell each

BAD: list[tuple[str, str, dict[str, str]]] = [
    ("order", "", {}),
    ("order", "x" * 61, {}),
    ("tank", "y" * 61, {}),
    ("quantity", "0", {}),
    ("quantity", "1001", {}),
    ("quantity", "two", {}),
    ("shape", "heart", {}),
    ("sizes", "around", {}),
    ("length", "", {}),
    ("length", "long", {}),
    ("length", "49.99", {}),
    ("length", "6000.01", {}),
    ("length", "1.203,5", {}),
    ("width", "-450", {}),
    ("width", "0", {}),
    ("height", "4000.01", {}),
    ("height", "45", {}),
    ("height", "450 bananas", {}),
    ("volume", "many", {"height": ""}),
    ("volume", "0.5 l", {"height": ""}),
    ("volume", "30001 l", {"height": ""}),
    ("volume", "200 l", {}),
    ("volume", "29000 l", {"height": "", "length": "300", "width": "300"}),
    ("sides", "2", {"shape": "regular", "width": ""}),
    ("sides", "17", {"shape": "regular", "width": ""}),
    ("sides", "8", {"shape": "hexagon", "width": ""}),
    ("sides", "8", {}),
    ("across", "middle", {"shape": "octagon", "width": ""}),
    ("front", "", {"shape": "trapezoid"}),
    ("side", "", {"shape": "corner"}),
    ("side", "100 | 100 | 100", {"shape": "corner"}),
    ("corner", "a | b", {"shape": "L"}),
    ("corner", "200 | 150", {}),
    ("corners", "", {"shape": "polygon", "length": "", "width": ""}),
    ("corners", "0 0 | 900 0", {"shape": "polygon", "length": "", "width": ""}),
    ("corners", "0 0 | 900 0 | 0 450 | 900 450", {"shape": "polygon", "length": "", "width": ""}),
    ("hand", "both", {}),
    ("drawing", "", {"shape": "drawing", "length": "", "width": ""}),
    ("glass", "", {}),
    ("glass", "mirror-10", {}),
    ("glass", "clear-11", {}),
    ("thickness", "", {"glass": "clear"}),
    ("thickness", "12", {}),
    ("thickness", "advise", {}),
    ("thickness", "thick", {"glass": "clear"}),
    ("other glass", "front low-iron", {}),
    ("other glass", "roof: low-iron", {}),
    ("other glass", "front: mirror", {}),
    ("other glass", "front: clear-11", {}),
    ("walls", "beside base", {}),
    ("corner joints", "dovetail", {}),
    ("through", "roof", {}),
    ("joint", "10.01", {}),
    ("joint", "thin", {}),
    ("joint", "-1", {}),
    ("rim", "golden", {}),
    ("rim", "rimless | braces 80", {}),
    ("rim", "braces 80 on roof", {}),
    ("rim", "braces 300", {}),
    ("rim", "cross 0 x 100", {}),
    ("rim", "cross 61 x 100", {}),
    ("rim", "cross 20 x 100", {}),
    ("rim", "cross 100 lapped", {}),
    ("covers", "roof 2", {}),
    ("covers", "lid 0", {}),
    ("covers", "lid 60", {"length": "150"}),
    ("covers", "sliding 2 overlap 800", {}),
    ("covers", "sliding 2", {"shape": "hexagon", "width": "", "length": "400"}),
    ("inside", "fish", {}),
    ("inside", "baffle at 200", {}),
    ("inside", "divider at 2000", {}),
    ("inside", "overflow roof 200 x 100 weir 40", {}),
    ("inside", "overflow back 200 x 600 weir 40", {}),
    ("openings", "back", {}),
    ("openings", "back: 5 holes 12 at 300 50", {}),
    ("openings", "roof: hole 35 at 100 100", {}),
    ("openings", "back: hole 35 at 0 100", {}),
    ("openings", "back: slot 200 x 20 at 300 40 r 11", {}),
    ("openings", "base: notch 100 x 20 at 300", {}),
    ("water", "wine", {}),
    ("freeboard", "500.01", {}),
    ("freeboard", "-1", {}),
    ("stands", "on legs", {}),
    ("due", "tomorrow", {}),
    ("due", "9.3.2027", {}),
    ("wanted", "2027-02-29", {}),
    ("wanted", "2000-01-03", {}),
    ("wanted", "2027-03-26", {"due": "2027-03-12"}),
    ("unit", "yards", {}),
    *((name, "cut", {}) for name in PANEL_ONLY),
]  # fmt: skip


@pytest.mark.parametrize(("column", "value", "more"), BAD, ids=lambda v: str(v)[:30] if v else "none")
def test_a_bad_cell_is_named_with_row_column_and_remedy(
    desk: Desk, column: str, value: str, more: dict[str, str]
) -> None:
    errors = desk.faults(desk.rectangle | more | {column: value})
    assert {error.column for error in errors} == {column}
    if value:
        shown = errors[0].value.removesuffix("...")
        assert shown and (value.startswith(shown) or shown in value)


def test_a_volume_stands_for_one_size_alone(desk: Desk) -> None:
    errors = desk.faults(desk.rectangle | {"volume": "200 l", "height": "", "length": ""})
    assert [error.column for error in errors] == ["volume", "length"]


def test_every_column_of_tanks_has_a_bad_cell_above() -> None:
    assert {column for column, _, _ in BAD} >= {column.name for column in TANK_COLUMNS}


def test_the_base_row_of_the_bad_cells_is_good(desk: Desk) -> None:
    assert [p.name for p in desk.read(desk.rectangle).panels] == ["base", "front", "right", "back", "left"]
    assert not desk.problems


# a hostile world


@pytest.mark.parametrize(
    "name",
    ["../x", "../x.dxf", "/etc/hosts", "C:\\x.dxf", "c:x.dxf", "..\\x.dxf", "a/../../x.dxf", "\\\\host\\x.dxf",
     "//host/x.dxf", "\\x.dxf", "a\x00.dxf", "none.dxf", ".", "x" * 400 + ".dxf"],
)  # fmt: skip
def test_a_drawing_comes_from_beside_the_list_alone(desk: Desk, name: str) -> None:
    files = template_files(desk.folder.parent / "x.csv")
    assert files is not None
    (desk.folder.parent / "x.dxf").write_bytes(files[desk.folder.parent / DRAWING])
    row = {"order": "A", "shape": "drawing", "drawing": name, "height": "400", "glass": "clear-10"}
    orders = desk.read(row)
    assert not orders.panels and desk.problems.errors
    assert all(line.isprintable() for line in desk.problems.lines())


@pytest.mark.parametrize(
    "value",
    ["NaN", "inf", "-inf", "1e309", "9" * 13, "9" * 4000, "0x10", "5" * 10_000, "\x00", "4\x1b[31m", "٣٠٠", "\u202e450",
     "450 | 450", "=1+1", "@SUM(A1)", "1/0", "--", "'"],
)  # fmt: skip
@pytest.mark.parametrize(
    "column",
    ["length", "height", "volume", "joint", "freeboard", "quantity", "thickness", "rim", "covers", "inside",
     "openings", "other glass"],
)  # fmt: skip
def test_hostile_numbers_are_refused_without_a_traceback(desk: Desk, column: str, value: str) -> None:
    row = dict(desk.rectangle)
    if column == "volume":
        row["height"] = ""
    if column == "thickness":
        row["glass"] = "clear"
    wrapped = {"rim": "braces {}", "covers": "sliding 2 overlap {}", "inside": "divider at {}",
               "openings": "back: hole {} at 100 100", "other glass": "front: clear-{}"}  # fmt: skip
    orders = desk.read(row | {column: wrapped.get(column, "{}").format(value)})
    assert not orders.panels and desk.problems.errors
    assert all(line.isprintable() and len(line) < 700 for line in desk.problems.lines())


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("rim", " | ".join(["cross 10"] * 41)),
        ("inside", "|".join(["divider at 100"] * 41)),
        ("openings", " | ".join(["back: hole 35 at 100 100"] * 41)),
        ("openings", "back: 61 holes 5 pitch 12 at 60 60"),
        ("openings", "back: 999999999 holes 5 pitch 12 at 60 60"),
        ("openings", "back: 0 holes 12 pitch 30 at 300 50"),
        ("openings", "back: 5 holes 12 pitch -30 at 300 50"),
        ("openings", "back: 5 holes 12 pitch 0 at 300 50"),
        ("openings", "back: holes 12 pitch at 300 50"),
        ("openings", "back: hole at 300 50"),
        ("openings", "back: hole 12 at"),
        ("openings", "back: 5 holes 12 pitch 30 at 850 50"),
        ("openings", ": hole 12 at 300 50"),
        ("covers", "lid 61"),
        ("covers", "sliding"  + " " * 9000 + "x"),
        ("inside", "overflow " + "a " * 4000),
        ("inside", "overflow " + "back and " * 1000 + "200 x 150 weir 40"),
        ("rim", "cross " + "1 " * 4000),
        ("through", ",".join(["front"] * 1500 + ["roof"])),
        ("note", "n" * 10_001),
    ],
    ids=lambda v: v[:24],
)  # fmt: skip
def test_lists_in_a_cell_have_limits(desk: Desk, column: str, value: str) -> None:
    desk.faults(desk.rectangle | {column: value})


def test_notes_and_names_are_kept_as_text(desk: Desk) -> None:
    tank = desk.one(order="=1+1", tank="a:b\\..", note="@x\n\x1b[31m %% {}")
    assert (tank.order, tank.name) == ("=1+1", "a:b\\..")
    assert tank.note.isprintable()
    assert desk.faults(desk.rectangle | {"tank": "a\x1b[31mb"})[0].column == "tank"
