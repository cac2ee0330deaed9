"""Panel lists: rows become panels, and every row that cannot says why."""

from __future__ import annotations

import csv
import datetime
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io import order_lists
from panewright.io.lengths import BadValue
from panewright.io.order_lists import read_panel_lists
from panewright.io.panel_edges import parse_corners
from panewright.io.panel_list import COLUMNS
from panewright.io.problems import Problem, Problems
from panewright.io.row_cells import parse_day, parse_thickness
from panewright.io.shop_file import default_shop
from panewright.nesting.edgework import Work
from panewright.nesting.glass import INCH_NAMES
from panewright.nesting.outlines import area2, box, is_convex, rectangle
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.shop import DateOrder, GlassKind, Shop
from panewright.nesting.units import INCH, inch, mm, show

SHOP = default_shop()
PENTAGON = "0 0 | 600 0 | 600 250 | 250 600 | 0 600"


class Lists:
    """Writes lists of dictionaries and reads them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.problems = Problems()

    def write(self, *rows: dict[str, str], name: str = "list.csv", delimiter: str = ",") -> Path:
        base = {"order": "A", "panel": "p", "glass": "clear-10", "width": "600", "height": "400"}
        full = [base | row for row in rows]
        path = self.folder / name
        with path.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(
                stream, list(dict.fromkeys(key for row in full for key in row)), delimiter=delimiter
            )
            writer.writeheader()
            writer.writerows(full)
        return path

    def read(self, *rows: dict[str, str], shop: Shop = SHOP, delimiter: str = ",") -> list[Panel]:
        self.problems = Problems()
        return read_panel_lists([self.write(*rows, delimiter=delimiter)], shop, self.problems)

    def one(self, shop: Shop = SHOP, **row: str) -> Panel:
        panels = self.read(row, shop=shop)
        assert not self.problems.errors, self.problems.lines()
        assert len(panels) == 1
        return panels[0]

    def fault(self, shop: Shop = SHOP, **row: str) -> Problem:
        panels = self.read(row, shop=shop)
        assert len(self.problems.errors) == 1, self.problems.lines()
        assert panels == []
        found = self.problems.errors[0]
        assert found.row == 2 and found.column and found.reason and found.remedy
        return found


@pytest.fixture
def lists(tmp_path: Path) -> Lists:
    return Lists(tmp_path)


def test_a_plain_row(lists: Lists) -> None:
    panel = lists.one(order="007", panel="front", edges="polished", due="2027-03-09", note="low, wide")
    assert (panel.id, panel.order, panel.name) == ("007/front/1", "007", "front")
    assert panel.glass == "clear-10" and panel.thickness == mm(10)
    assert panel.finished == rectangle(mm(600), mm(400))
    assert panel.due == datetime.date(2027, 3, 9)
    assert panel.note == "low, wide"
    assert panel.turn is Turn.ANY and panel.mirror and not panel.narrow


def test_one_panel_a_piece_and_the_rows_keep_their_order(lists: Lists) -> None:
    panels = lists.read(
        {"order": "B", "quantity": "2"}, {"order": "A"}, {"order": "B", "quantity": "2", "width": "700"}
    )
    assert [p.id for p in panels] == ["B/p/1", "B/p/2", "A/p/1", "B/p/3", "B/p/4"]
    assert [box(p.finished)[2] for p in panels] == [mm(600)] * 3 + [mm(700)] * 2


def test_ids_stay_unique_whatever_slashes_the_names_hold(lists: Lists) -> None:
    panels = lists.read({"order": "A/b", "panel": "c"}, {"order": "A", "panel": "b/c"}, {"panel": "b/c/1"})
    assert len({p.id for p in panels}) == 3


@pytest.mark.parametrize("quantity", ["0", "-1", "1.5", "10001", "two", "1e3", "9" * 30])
def test_odd_quantities_are_refused(lists: Lists, quantity: str) -> None:
    assert lists.fault(quantity=quantity).column == "quantity"


def test_the_number_of_panels_is_limited(lists: Lists, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(order_lists, "MAX_PANELS", 5)
    assert len(lists.read({"quantity": "5"})) == 5
    assert not lists.problems
    lists.read({"quantity": "3"}, {"quantity": "3"})
    assert "more than 5 panels" in lists.problems.errors[0].reason


def test_opposite_allowances_add_exactly(lists: Lists) -> None:
    panel = lists.one(edges="cut", left="polished", right="bevel", top="ground", bottom="pencil")
    allowance = {work: SHOP.allowance(work, mm(10)) for work in Work}
    x0, y0, x1, y1 = box(panel.cut)
    assert x1 - x0 == mm(600) + allowance[Work.POLISHED] + allowance[Work.BEVEL]
    assert y1 - y0 == mm(400) + allowance[Work.GROUND] + allowance[Work.PENCIL]
    assert [edge.work for edge in panel.edges] == [Work.PENCIL, Work.BEVEL, Work.GROUND, Work.POLISHED]


@given(
    st.lists(st.sampled_from([w.value for w in Work if w is not Work.MITRE]), min_size=4, max_size=4),
    st.integers(20_00, 2000_00),
    st.integers(20_00, 2000_00),
)
def test_cut_size_is_finished_size_and_the_two_allowances(
    tmp_path_factory: pytest.TempPathFactory, works: list[str], width: int, height: int
) -> None:
    lists = Lists(tmp_path_factory.mktemp("lists"))
    sizes = {"width": f"{width // 100}.{width % 100:02d}"}
    sizes["height"] = f"{height // 100}.{height % 100:02d}"
    panel = lists.one(edges="|".join(works), unit="mm", narrow="yes", **sizes)
    bottom, right, top, left = (SHOP.allowance(Work(w), mm(10)) for w in works)
    x0, y0, x1, y1 = box(panel.cut)
    assert (x1 - x0, y1 - y0) == (width * 10_000 + left + right, height * 10_000 + bottom + top)


def test_allowance_follows_the_thickness(lists: Lists) -> None:
    thin, thick = lists.read(
        {"edges": "polished"}, {"edges": "polished", "glass": "clear-12"}
    )  # 1.5 and from 12 mm on 2.0 mm: common practice, from memory
    assert {e.allowance for e in thin.edges} == {mm("1.5")}
    assert {e.allowance for e in thick.edges} == {mm(2)}


def test_a_mitre_has_its_angle_from_square(lists: Lists) -> None:
    panel = lists.one(edges="ground", left="mitre 22.5", right="Mitre 22.5° up")
    left, right = panel.edges[3], panel.edges[1]
    assert (left.work, left.mitre, left.small_face) == (Work.MITRE, 22_500, None)
    assert (right.mitre, right.small_face) == (22_500, "up")
    assert lists.one(edges="mitre 22,5").edges[0].mitre == 22_500
    for word in (
        "mitre",
        "mitre 0",
        "mitre 1e1",
        "mitre 22.51234",
        "mitre up",
        "mitre 80",
        "mitre 90",
        "mitre -5",
        "mitre x",
        "polished 45",
        "nan",
    ):
        assert lists.fault(edges=word).column == "edges"


def test_edges_of_a_list_that_goes_round_the_other_way(lists: Lists) -> None:
    corners = [part.strip() for part in PENTAGON.split("|")]
    works = ["cut", "ground", "polished", "pencil", "bevel"]
    here = lists.one(width="", height="", corners=PENTAGON, edges="|".join(works))
    turned = [corners[0], *corners[:0:-1]]
    back = lists.one(width="", height="", corners=" | ".join(turned), edges="|".join(works[::-1]))
    assert here.finished == back.finished and here.edges == back.edges and here.cut == back.cut


def test_corners_make_the_outline_and_sizes_must_agree(lists: Lists) -> None:
    panel = lists.one(width="600", height="600", corners=PENTAGON)
    assert len(panel.finished) == 5
    assert area2(panel.finished) == 2 * mm(600) ** 2 - mm(350) ** 2
    moved = lists.one(width="", height="", corners="-100 -50 | 500 -50 | 500 200 | 150 550 | -100 550")
    assert moved.finished == panel.finished
    assert "span" in lists.fault(width="610", height="600", corners=PENTAGON).reason
    assert lists.fault(width="", height="600", corners=PENTAGON, left="polished").column == "left"
    assert lists.fault(corners=PENTAGON, width="", height="", edges="cut|cut").column == "edges"


@pytest.mark.parametrize(
    "corners",
    [
        "0 0 | 600 0",
        "0 0 | 600 0 | 1200 0",
        "0 0 | 600 600 | 600 0 | 0 600",
        "0 0 | 600 0 | 600",
        "0 0 | 600 0 | 600 x",
        "0 0 | 600 0 | 600 nan",
        "|",
        " | ".join(f"{i} {i * i}" for i in range(61)),
        "0 0 | 600 0 | 600 9 9",
    ],
)
def test_odd_corners_are_refused(lists: Lists, corners: str) -> None:
    assert lists.fault(width="", height="", corners=corners).column == "corners"


def test_a_re_entrant_corner_is_named_and_left_to_other_tools(lists: Lists) -> None:
    panel = lists.one(
        width="", height="", edges="ground", corners="0 0 | 600 0 | 600 300 | 300 300 | 300 600 | 0 600"
    )
    assert not is_convex(panel.finished) and is_convex(panel.cut)
    (note,) = lists.problems.notes
    assert "corner 4 turns inwards" in note.reason and "saw, drill or water jet" in note.remedy
    assert area2(panel.cut) > area2(panel.finished)


def test_a_sharp_corner_is_noted(lists: Lists) -> None:
    """Corners sharper than about 30 degrees lose their tip when cut [common practice]."""
    lists.one(width="", height="", corners="0 0 | 900 0 | 0 400")
    assert any("tip of 24.0 degrees at corner 2" in note.reason for note in lists.problems.notes)
    lists.one(width="", height="", corners="0 0 | 600 0 | 0 400")
    assert not lists.problems.notes


@pytest.mark.parametrize(
    ("glass", "thickness", "key"),
    [
        ("clear", "10", "clear-10"),
        ("clear-10", "", "clear-10"),
        ("Low Iron", "12 mm", "low-iron-12"),
        ("LOW_IRON_12", "12", "low-iron-12"),
        ("clear", "3/8", "clear-10"),
        ("clear", '1/2"', "clear-12"),
        ("clear", "3/4 in", "clear-19"),
    ],
)
def test_glass_by_kind_and_thickness_or_key(lists: Lists, glass: str, thickness: str, key: str) -> None:
    assert lists.one(glass=glass, thickness=thickness).glass == key


@pytest.mark.parametrize(
    ("glass", "thickness", "words"),
    [
        ("mirror", "6", "not known"),
        ("clear", "", "missing"),
        ("clear", "11", "no clear glass of 11 mm"),
        ("clear-10", "12", "does not agree"),
        ("toughened", "10", "cannot be cut"),
        ("laminated-12", "", "another process"),
        ("clear", "7/16", "in inches"),
        ("clear", "ten", "no number"),
        ("", "10", "empty"),
    ],
)
def test_odd_glass_is_refused(lists: Lists, glass: str, thickness: str, words: str) -> None:
    assert words in lists.fault(glass=glass, thickness=thickness).reason


def test_inch_names_follow_the_designations() -> None:
    """Nominal designations of ASTM C1036."""
    for name, designation in INCH_NAMES.items():
        if name != "1":
            assert parse_thickness(name) == mm(designation)
        assert parse_thickness(f"{name} in") == mm(designation)
        assert parse_thickness(f'{name}"') == mm(designation)


def test_a_row_may_restrict_turns_but_not_widen_them(lists: Lists) -> None:
    assert lists.one(turn="half").turn is Turn.HALF
    assert lists.one(turn="no").turn is Turn.NONE
    assert lists.one(turn="yes").turn is Turn.ANY
    patterned = {"glass": "patterned-6"}
    assert lists.one(**patterned).turn is Turn.HALF
    assert lists.one(turn="none", **patterned).turn is Turn.NONE
    for turn in ("any", "quarter"):
        assert "half" in lists.fault(turn=turn, **patterned).reason
    assert lists.fault(mirror="yes", **patterned).column == "mirror"
    assert lists.fault(turn="often").column == "turn"


def test_narrow_panels(lists: Lists) -> None:
    assert lists.one(height="25", narrow="yes").narrow
    assert not lists.problems.notes
    assert not lists.one(height="25").narrow
    assert "narrower" in lists.problems.notes[0].reason
    assert lists.fault(narrow="perhaps").column == "narrow"


@pytest.mark.parametrize(("text", "order"), [("9.3.2027", "day first"), ("3/9/2027", "month first")])
def test_days_by_the_order_of_the_shop(lists: Lists, text: str, order: str) -> None:
    shop = replace(SHOP, date_order=order)  # type: ignore[arg-type]
    assert lists.one(shop=shop, due=text).due == datetime.date(2027, 3, 9)
    assert "either way" in lists.fault(due=text).reason
    assert lists.one(shop=shop, due="2027-03-09").due == datetime.date(2027, 3, 9)


@pytest.mark.parametrize(
    ("text", "order", "expected"),
    [
        ("2027-03-09 00:00:00", "year first", datetime.date(2027, 3, 9)),
        ("9/3/2027", "day first", datetime.date(2027, 3, 9)),
        ("2028-02-29", "year first", datetime.date(2028, 2, 29)),
        ("2027-02-29", "year first", None),
        ("2027-13-01", "year first", None),
        ("9.3.2027", "year first", None),
        ("25.3.2027", "month first", None),
        ("9.3.27", "day first", None),
        ("9.3/2027", "day first", None),
        ("1970-01-01", "year first", None),
        ("46090", "day first", None),
        ("tomorrow", "day first", None),
    ],
)
def test_days_are_read_or_refused(text: str, order: DateOrder, expected: datetime.date | None) -> None:
    if expected is None:
        with pytest.raises(BadValue):
            parse_day(text, order)
    else:
        assert parse_day(text, order) == expected


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ({"width": "9.99"}, "below the least"),
        ({"width": "7000.01"}, "above the greatest"),
        ({"height": "600 in"}, "above the greatest"),
        ({"width": "60", "height": "40"}, "unit is in doubt"),
        ({"width": "0"}, "the size is 0"),
        ({"width": "-600"}, "negative"),
        ({"width": ""}, "empty"),
        ({"width": "1.203,5"}, "group thousands"),
        ({"width": "1,203"}, "may be a decimal sign"),
    ],
)
def test_odd_sizes_are_refused(lists: Lists, size: dict[str, str], words: str) -> None:
    assert words in lists.fault(**size).reason


def test_small_panels_pass_when_the_unit_is_named(lists: Lists) -> None:
    assert box(lists.one(width="60 mm", height="40 mm", unit="mm", narrow="yes").finished)[2] == mm(60)
    assert box(lists.one(width="24", height="18", unit="in").finished)[2:] == (inch(24), inch(18))
    assert lists.fault(unit="yards").column == "unit"


def test_an_inch_shop_reads_bare_numbers_as_inches(lists: Lists) -> None:
    shop = replace(SHOP, list_unit="in", length_style=INCH)
    panel = lists.one(shop=shop, width="23 5/8", height="12", thickness="3/8", glass="clear")
    assert box(panel.finished)[2:] == (inch("189/8"), inch(12))
    assert "above the greatest" in lists.fault(shop=shop, width="600", height="12").reason
    assert box(lists.one(shop=shop, width="600 mm", height="400 mm").finished)[2] == mm(600)


@given(
    st.lists(st.tuples(st.integers(4 * 64, 70 * 64), st.integers(4 * 64, 70 * 64)), min_size=1, max_size=5)
)
def test_an_inch_list_equals_its_metric_twin(
    tmp_path_factory: pytest.TempPathFactory, sizes: list[tuple[int, int]]
) -> None:
    """A 64th of an inch is 0.396875 mm exactly."""
    lists = Lists(tmp_path_factory.mktemp("twins"))
    in_inches, in_mm = [], []
    for width, height in sizes:
        w, h = width * inch("1/64"), height * inch("1/64")
        in_inches.append({"width": show(w, INCH, unit=False), "height": show(h, INCH), "unit": "in"})
        in_mm.append(
            {
                "width": f"{w // 10**6}.{w % 10**6:06d}",
                "height": f"{h // 10**6}.{h % 10**6:06d}",
                "unit": "mm",
            }
        )
    assert lists.read(*in_inches) == lists.read(*in_mm)
    assert not lists.problems


def test_semicolons_with_decimal_commas_and_an_encoding_mark(lists: Lists) -> None:
    path = lists.folder / "komma.csv"
    path.write_bytes(
        "\ufeffOrder;Panel;Qty;Width;Height;Glass;Thickness\r\n0012;front;2;1203,5;600,25;clear;10\r\n\r\n"
        "0012;back;1;1203,5;1,203;clear;10\r\n".encode()
    )
    panels = read_panel_lists([path], SHOP, lists.problems)
    assert [p.id for p in panels] == ["0012/front/1", "0012/front/2"]
    assert box(panels[0].finished)[2:] == (mm("1203.5"), mm("600.25"))
    (error,) = lists.problems.errors  # 1,203 is a decimal here, so the panel is 1.203 mm high
    assert error.row == 4 and "below the least" in error.reason


def test_a_workbook_reads_like_its_csv_twin(lists: Lists) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Walls"
    sheet.append(["Order", "Panel", "Quantity", "Width", "Height", "Glass", "Thickness", "Due", "Narrow"])
    sheet.append([12.0, "front", 2.0, 1203.5, 600, "clear", 10.0, datetime.date(2027, 3, 9), True])
    sheet.append(
        [
            "0012",
            "back",
            1,
            0.1 + 1179.7,
            600,
            "clear",
            10,
            datetime.datetime.fromisoformat("2027-03-09"),
            False,
        ]
    )
    other = book.create_sheet("Other")
    other.append(["order", "panel", "width", "height", "glass"])
    other.append(["X", "lid", 300, 200, "clear-6"])
    path = lists.folder / "week.xlsx"
    book.save(path)
    panels = read_panel_lists([path, Path(f"{path}#Other")], SHOP, lists.problems)
    assert not lists.problems.lines()
    twin = lists.read(
        {
            "order": "12",
            "panel": "front",
            "quantity": "2",
            "width": "1203.5",
            "height": "600",
            "narrow": "yes",
        }
        | {"due": "2027-03-09"},
        {"order": "0012", "panel": "back", "width": "1179.8", "height": "600", "due": "2027-03-09"},
        {"order": "X", "panel": "lid", "width": "300", "height": "200", "glass": "clear-6"},
    )
    assert panels == twin


def test_all_problems_of_all_lists_are_collected_at_once(lists: Lists) -> None:
    first = lists.write(
        {"width": "x", "due": "9.3.2027", "edges": "sparkling"},
        {"glass": "mirror", "quantity": "0", "edges": "mitre"},
        name="first.csv",
    )
    second = lists.folder / "second.csv"
    second.write_text("order,width,height\nA,1,2\n", encoding="utf-8")
    problems = Problems()
    read_panel_lists([first, second, lists.folder / "none.csv"], SHOP, problems)
    found = {(Path(p.file).name, p.row, p.column) for p in problems.errors}
    assert {
        ("first.csv", 2, "width"),
        ("first.csv", 2, "due"),
        ("first.csv", 3, "glass"),
        ("first.csv", 3, "quantity"),
        ("first.csv", 3, "edges"),
        ("second.csv", 1, None),
        ("none.csv", None, None),
    } <= found
    assert sum(p.file.endswith("second.csv") for p in problems.errors) == 2  # panel and glass are missing


@pytest.mark.parametrize("name", ["../x", "CON", "a:b", "=1+1", "{0}", "%%", "<b>", "日本", "ö" * 60])
def test_hostile_names_are_kept_as_text(lists: Lists, name: str) -> None:
    panel = lists.one(order=name, panel=name)
    assert panel.order == name and panel.id == f"{name}/{name}/1"


@pytest.mark.parametrize("name", ["a\x1b[31mb", "a\u202eb", "a\u2028b\u200e", "x" * 61, " "])
def test_names_that_would_garble_a_screen_are_refused(lists: Lists, name: str) -> None:
    error = lists.fault(panel=name)
    assert error.column == "panel"
    assert str(error).isprintable()


def test_notes_come_on_one_line_without_control_characters(lists: Lists) -> None:
    assert lists.one(note=" low\n  and\twide\x1b[31m ").note == "low and wide\\x1b[31m"


def test_composed_and_decomposed_letters_are_one_name(lists: Lists) -> None:
    panels = lists.read({"panel": "Tür"}, {"panel": "Tu\u0308r"})
    assert [p.id for p in panels] == ["A/Tür/1", "A/Tür/2"]


def test_a_unit_in_the_header_is_that_of_its_column(lists: Lists) -> None:
    path = lists.folder / "units.csv"
    path.write_text(
        "order,panel,glass,width (in),height [mm]\nA,p,clear-10,36,450\nA,q,clear-10,450 mm,1 in\n",
        encoding="utf-8",
    )
    panels = read_panel_lists([path], SHOP, lists.problems)
    assert not lists.problems
    assert [box(p.finished)[2:] for p in panels] == [(inch(36), mm(450)), (mm(450), inch(1))]


def test_a_rectangle_by_corners_knows_its_sides(lists: Lists) -> None:
    panel = lists.one(
        width="",
        height="",
        corners="600 400 | 0 400 | 0 0 | 600 0",
        edges="cut",
        top="polished",
        left="ground",
    )
    i, j = (next(i for i, e in enumerate(panel.edges) if e.work is w) for w in (Work.POLISHED, Work.GROUND))
    ends = [(panel.finished[k], panel.finished[(k + 1) % 4]) for k in (i, j)]
    assert {y for _, y in ends[0]} == {mm(400)} and {x for x, _ in ends[1]} == {0}
    assert box(panel.cut) == (-mm(1), 0, mm(600), mm("401.5"))


def test_a_kind_of_the_shops_own(lists: Lists) -> None:
    shop = replace(SHOP, kinds={"sea-green": GlassKind(kind="sea-green", thicknesses=(mm(8),))})
    assert lists.one(shop=shop, glass="Sea Green 8").glass == "sea-green-8"


def test_corners_in_inches_are_set_apart_by_semicolons() -> None:
    assert parse_corners("23 5/8; 0 | 1'; -1/2", "in", "point") == [
        (inch("189/8"), 0),
        (inch(12), -inch("1/2")),
    ]


def test_the_first_word_of_every_column_is_its_name() -> None:
    words: list[str] = []
    for column in COLUMNS:
        assert column.words[0] == column.name and column.about
        words += column.words
    assert len(words) == len(set(words))


PARTS = [*"0123456789.,-/'\"| ;=+@\t\n\x00\ud800é", "mm", "in", "clear", "10", "600", "mitre "]
CELLS = st.one_of(
    st.sampled_from(["A", "600", "300", "clear-10", "polished", "", PENTAGON]),
    st.lists(st.sampled_from(PARTS), max_size=8).map("".join),
)


@given(st.lists(st.lists(CELLS, min_size=7, max_size=7), max_size=4))
def test_no_list_gives_a_traceback(
    make_list: Callable[[list[list[str]]], Path], rows: list[list[str]]
) -> None:
    problems = Problems()
    panels = read_panel_lists([make_list(rows)], SHOP, problems)
    assert panels or problems or not any("".join(row).strip() for row in rows)
    assert all(line.isprintable() for line in problems.lines())


@pytest.fixture(scope="module")
def make_list(tmp_path_factory: pytest.TempPathFactory) -> Callable[[list[list[str]]], Path]:
    path = tmp_path_factory.mktemp("any") / "any.csv"

    def make(rows: list[list[str]]) -> Path:
        with path.open("w", encoding="utf-8", errors="surrogatepass", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(["order", "panel", "width", "height", "glass", "edges", "corners"])
            writer.writerows(rows)
        return path

    return make
