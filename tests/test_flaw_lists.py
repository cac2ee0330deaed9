"""Flaws and the order of taking in stock lists: every format, names of sheets, hostile rows."""

from __future__ import annotations

import csv
import json
from datetime import date
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.flaw_text import MAX_FLAWS, flaw_text, parse_flaw, without_covered
from panewright.io.lengths import BadValue
from panewright.io.problems import Problems
from panewright.io.purchase_desk import gather
from panewright.io.shop_file import default_shop
from panewright.io.stock_list import cheapest, read_stock_list
from panewright.nesting.flaws import KINDS, Flaw
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import TICK, inch, mm

SHOP = default_shop()
SHEET = {"kind": "sheet", "glass": "clear-10", "width": "3210", "height": "2250"}
OFFCUT = {"kind": "offcut", "glass": "clear-10", "width": "900", "height": "500"}


def read(folder: Path, *rows: dict[str, str]) -> tuple[list[StockPiece], Problems]:
    path = folder / "stock.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(dict.fromkeys(key for row in rows for key in row)))
        writer.writeheader()
        writer.writerows(rows)
    problems = Problems()
    return read_stock_list(path, SHOP, problems), problems


def test_a_row_with_flaws_is_one_piece_with_a_name_of_its_own(tmp_path: Path) -> None:
    flaws = "900,400,30,20 seed; 1200,80,2,300 Scratch; 5 5 0 0"
    pieces, problems = read(
        tmp_path,
        SHEET | {"on hand": "7", "buy": "yes"},
        SHEET | {"flaws": flaws},
        SHEET | {"flaws": "0,0,10,10", "on hand": "1"},
        SHEET | {"flaws": "0,0,10,10 chip", "number": "C-7"},
        OFFCUT | {"flaws": "10,10,5,5 stone", "number": "R-1"},
        OFFCUT | {"number": "R-2"},
    )
    assert not problems.lines()
    assert [p.name for p in pieces] == [
        "clear-10 3210x2250",
        "clear-10 3210x2250 flawed 1",
        "clear-10 3210x2250 flawed 2",
        "C-7",
        "R-1",
        "R-2",
    ]
    assert pieces[1].flaws == (
        Flaw(mm(5), mm(5), 0, 0),
        Flaw(mm(900), mm(400), mm(30), mm(20), "seed"),
        Flaw(mm(1200), mm(80), mm(2), mm(300), "scratch"),
    )
    for piece in pieces[1:5]:
        assert (piece.on_hand, piece.buyable) == (1, False) and piece.flaws
    # the price of the size in the shop file, and the worth of an offcut whatever its flaws
    assert pieces[1].cost == pieces[0].cost > 0 and pieces[4].cost == pieces[5].cost > 0
    assert pieces[0].flaws == () and pieces[0].on_hand == 7


def test_a_flawed_sheet_that_is_given_away_makes_no_other_glass_cheaper(tmp_path: Path) -> None:
    pieces, problems = read(tmp_path, SHEET | {"flaws": "0,0,10,10", "price": "0"}, OFFCUT | {"number": "R"})
    assert not problems
    assert pieces[0].cost == 0 and pieces[1].cost > 0
    assert cheapest(SHOP, "clear-10", pieces) == cheapest(SHOP, "clear-10") != Fraction(0)


def test_purchasing_counts_no_flawed_glass(tmp_path: Path) -> None:
    rows = [
        SHEET | {"on hand": "3"},
        SHEET | {"take": "1", "on hand": "2"},
        SHEET | {"flaws": "0,0,9,9"},
        OFFCUT | {"number": "R", "flaws": "0,0,9,9"},
    ]
    read(tmp_path, *rows)
    problems = Problems()
    found = gather(
        orders=[], history=[], stock=str(tmp_path / "stock.csv"), supply=None, on_order=None,
        on=date(2027, 3, 1), shop=SHOP, problems=problems,
    )  # fmt: skip
    assert found.stock.on_hand == {"clear-10 3210x2250": 5} and found.offcuts == ()
    assert [p.reason for p in problems.notes] == ["sheets and offcuts with flaws are not counted as stock: 2"]


def test_sheets_that_are_taken_in_turn_have_names_of_their_own(tmp_path: Path) -> None:
    pieces, problems = read(
        tmp_path,
        SHEET | {"take": "2"},
        SHEET | {"take": "1", "flaws": "0,0,10,10 rub"},
        SHEET | {"take": "3", "on hand": "4"},
        SHEET | {"take": "4", "number": "last"},
        SHEET | {"on hand": "3"},
        SHEET | {"glass": "clear-6", "take": "1"},
        OFFCUT | {"number": "R", "take": "9"},
    )
    assert not problems.lines()
    assert [(p.name, p.take, p.on_hand) for p in pieces] == [
        ("clear-10 3210x2250 take 2", 2, 1),
        ("clear-10 3210x2250 take 1", 1, 1),
        ("clear-10 3210x2250 take 3", 3, 4),
        ("last", 4, 1),
        ("clear-10 3210x2250", None, 3),
        ("clear-6 3210x2250 take 1", 1, 1),
        ("R", 9, 1),
    ]


def test_every_format_reads_the_same(tmp_path: Path) -> None:
    rows = [
        SHEET | {"flaws": "900,400,30,20 seed; 1200,80,2,300 scratch", "take": "2"},
        SHEET | {"flaws": "1,2,3,4", "take": "1"},
    ]
    want, problems = read(tmp_path, *rows)
    assert not problems and len(want) == 2
    book = openpyxl.Workbook()
    book.active.append(list(rows[0]))
    for row in rows:
        book.active.append([int(v) if v.isdigit() else v for v in row.values()])
    book.save(tmp_path / "stock.xlsx")
    listed = [dict(row) for row in rows]
    (tmp_path / "text.json").write_text(json.dumps({"stock": listed}))
    listed[0]["flaws"] = ["900,400,30,20 seed", "1200,80,2,300 scratch"]
    (tmp_path / "list.json").write_text(json.dumps({"stock": listed}))
    toml = "".join(
        "[[stock]]\n" + "".join(f"{key} = {json.dumps(value)}\n" for key, value in row.items())
        for row in listed
    )
    (tmp_path / "stock.toml").write_text(toml)
    semicolons = (tmp_path / "stock.csv").read_text(encoding="utf-8").replace(",", ";")
    semicolons = semicolons.replace(
        '"900;400;30;20 seed; 1200;80;2;300 scratch"', '"900,0 400 30 20 seed|1200 80 2 300 scratch"'
    )
    semicolons = semicolons.replace('"1;2;3;4"', "1 2 3 4")
    (tmp_path / "semicolons.csv").write_text(semicolons)
    for name in ("stock.xlsx", "text.json", "list.json", "stock.toml", "semicolons.csv"):
        problems = Problems()
        assert read_stock_list(tmp_path / name, SHOP, problems) == want, (name, problems.lines())


BAD: list[tuple[str, str, str]] = [
    ("900,400,30", "flaws", "no x, y, width and height"),
    ("900,400,30,20,5", "flaws", "no x, y, width and height"),
    ("seed", "flaws", "no x, y, width and height"),
    ("; ;", "flaws", "no flaw in the cell"),
    ("900,400,30,20 bubble", "flaws", "no kind of flaw"),
    ("900,400,30,20 seed scratch", "flaws", ""),
    ("-1,400,30,20", "flaws", "negative"),
    ("900,400,-30,20 seed", "flaws", "negative"),
    ("nan,400,30,20", "flaws", "finite"),
    ("900,400,30,NaN", "flaws", "finite"),
    ("900,inf,30,20 seed", "flaws", "finite"),
    ("1e3,400,30,20", "flaws", ""),
    ("3200,400,30,20 seed", "flaws", "beyond the sheet of 3210 x 2250"),
    ("900,2240,30,20", "flaws", "beyond the sheet"),
    ("999999999,0,1,1", "flaws", "beyond the sheet"),
    ("99999999999999999999,0,1,1", "flaws", "digits"),
    ("=1+1,0,1,1", "flaws", ""),
    ("../sheet.dxf", "flaws", "no file beside the list"),
    ("/tmp/sheet.dxf", "flaws", "no file beside the list"),
    ("C:\\sheet.dxf", "flaws", "no file beside the list"),
    ("\x1b[31m", "flaws", ""),
]


@pytest.mark.parametrize(("cell", "column", "reason"), BAD)
def test_flaws_that_are_refused(tmp_path: Path, cell: str, column: str, reason: str) -> None:
    _, problems = read(tmp_path, SHEET | {"flaws": cell})
    (error,) = problems.errors
    assert (error.row, error.column) == (2, column)
    assert reason in error.reason and error.remedy and error.value
    assert str(error).isprintable()


def test_a_drawing_that_is_not_there(tmp_path: Path) -> None:
    _, problems = read(tmp_path, SHEET | {"flaws": "none.dxf"})
    assert [p.row for p in problems.errors] == [None, 2]
    assert "cannot be used" in problems.errors[1].reason


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ({"flaws": "0,0,1,1", "on hand": "2"}, "on hand"),
        ({"flaws": "0,0,1,1", "on hand": "0"}, "on hand"),
        ({"flaws": "0,0,1,1", "on hand": "unlimited"}, "on hand"),
        ({"flaws": "0,0,1,1", "buy": "yes"}, "buy"),
        ({"take": "1", "buy": "yes", "on hand": "2"}, "buy"),
        ({"take": "1", "on hand": "0"}, "on hand"),
        ({"take": "0"}, "take"),
        ({"take": "-1"}, "take"),
        ({"take": "1.5"}, "take"),
        ({"take": "front"}, "take"),
        ({"take": "100001"}, "take"),
        ({"flaws": "0,0,1,1", "number": "x" * 61}, "number"),
    ],
)
def test_what_a_sheet_of_its_own_cannot_be(tmp_path: Path, row: dict[str, str], column: str) -> None:
    _, problems = read(tmp_path, SHEET | row)
    (error,) = problems.errors
    assert (error.row, error.column) == (2, column) and error.remedy


def test_two_rows_that_are_taken_at_once_and_two_of_one_name(tmp_path: Path) -> None:
    _, problems = read(tmp_path, SHEET | {"take": "3"}, SHEET | {"width": "3000", "take": "3", "price": "9"})
    (error,) = problems.errors
    assert (error.row, error.column, error.value) == (3, "take", "3") and "row 2" in error.reason
    _, problems = read(
        tmp_path, SHEET | {"flaws": "0,0,1,1", "number": "A"}, SHEET | {"flaws": "0,0,1,1", "number": "A"}
    )
    (error,) = problems.errors
    assert (error.row, error.column) == (3, "number")


def test_all_that_is_wrong_is_told_at_once(tmp_path: Path) -> None:
    rows = [SHEET | {"flaws": cell} for cell, _, _ in BAD]
    _, problems = read(tmp_path, *rows)
    assert {p.row for p in problems.errors} == set(range(2, len(BAD) + 2))
    _, problems = read(tmp_path, SHEET | {"flaws": "1,2; nan,1,1,1; 5,5,5,5 odd", "take": "x"})
    assert [p.column for p in problems.errors] == ["flaws", "flaws", "flaws", "take"]
    assert [p.value for p in problems.errors][:3] == ["1,2", "nan,1,1,1", "5,5,5,5 odd"]


def test_hundreds_of_flaws_are_refused_and_covered_ones_left_out(tmp_path: Path) -> None:
    many = [f"{100 + i % 10},{100 + i // 10},1,1 scratch" for i in range(MAX_FLAWS + 1)]
    (piece,), problems = read(tmp_path, SHEET | {"flaws": ";".join(many[:-1])})
    assert len(piece.flaws) == MAX_FLAWS and not problems
    _, problems = read(tmp_path, SHEET | {"flaws": ";".join(many)})
    (error,) = problems.errors
    assert error.column == "flaws" and f"more than {MAX_FLAWS} flaws" in error.reason
    _, problems = read(tmp_path, SHEET | {"flaws": ";".join(many * 3)})
    assert "characters" in problems.errors[0].reason
    # overlapping flaws both count, one within another of its kind does not
    (piece,), problems = read(
        tmp_path, SHEET | {"flaws": "0,0,50,50 seed; 40,40,50,50 seed; 10,10,5,5 seed; 10,10,5,5 rub"}
    )
    assert [f.kind for f in piece.flaws] == ["seed", "rub", "seed"]
    assert "left out: 1" in problems.notes[0].reason and not problems.errors


def test_units_of_a_row_and_of_a_flaw(tmp_path: Path) -> None:
    (piece,), problems = read(
        tmp_path,
        {"kind": "offcut", "glass": "clear-10", "number": "R", "width": "36", "height": "24", "unit": "in",
         "flaws": "35 1/2, 16, 1/4, 3/4 seed; 10-1/2 10 0 0; 20 mm, 20 mm, 5 mm, 5 mm rub"},
    )  # fmt: skip
    assert not problems.lines()
    assert piece.flaws == (
        Flaw(mm(20), mm(20), mm(5), mm(5), "rub"),
        Flaw(inch("10.5"), inch(10), 0, 0),
        Flaw(inch("35.5"), inch(16), inch("0.25"), inch("0.75"), "seed"),
    )


lengths = st.integers(0, 10**6).map(lambda n: n * TICK * 16)


@settings(max_examples=40)
@given(st.tuples(lengths, lengths, lengths, lengths), st.sampled_from(("", *KINDS)))
def test_a_written_flaw_reads_back(box: tuple[int, int, int, int], kind: str) -> None:
    flaw = Flaw(*box, kind)
    assert parse_flaw(flaw_text(flaw), "mm", "point") == flaw


@given(st.text(max_size=40))
def test_any_text_is_a_flaw_or_a_reason(text: str) -> None:
    try:
        flaw = parse_flaw(text, "mm")
    except BadValue as error:
        assert error.reason and error.remedy
    else:
        assert min(flaw.box) >= 0 and flaw.kind in ("", *KINDS)


small = st.builds(Flaw, *(st.integers(0, 4) for _ in range(4)), st.sampled_from(["", "seed"]))


@settings(max_examples=50)
@given(st.lists(small, max_size=8))
def test_no_flaw_is_lost_that_no_other_covers(flaws: list[Flaw]) -> None:
    out = without_covered(flaws)
    assert list(out) == sorted(set(out)) and set(out) <= set(flaws)

    def covers(a: Flaw, b: Flaw) -> bool:
        return (
            a.kind == b.kind and a.x <= b.x and a.y <= b.y
            and b.x + b.width <= a.x + a.width and b.y + b.height <= a.y + a.height
        )  # fmt: skip

    assert all(any(covers(o, f) for o in out) for f in flaws)
    assert not any(covers(a, b) for a in out for b in out if a != b)
