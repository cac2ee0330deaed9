"""The list reader: dialects, limits and hostile files; every problem names its row."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io import list_limits, table_reader, workbook_rows
from panewright.io.csv_rows import csv_rows, delimiter_of
from panewright.io.list_limits import Refused
from panewright.io.problems import Problem, Problems, shown
from panewright.io.table_reader import Column, Table, read_table

COLUMNS = (
    Column("order", ("order", "job")),
    Column("width", ("width", "w"), number=True),
    Column("on hand", ("on hand",)),
    Column("note", ("note",)),
)
REQUIRED = (("order",), ("width",))


def read(path: Path, problems: Problems) -> Table | None:
    return read_table(path, COLUMNS, REQUIRED, problems)


def table_of(path: Path, content: bytes | str) -> tuple[Table | None, Problems]:
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    problems = Problems()
    return read(path, problems), problems


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_dialects_give_the_same_rows(tmp_path: Path, delimiter: str, mark: str, end: str) -> None:
    lines = [["Job", " ON_HAND ", "W"], ["007", "", "600"], [], ['"a""b"', "x", "12"]]
    text = mark + "".join(delimiter.join(line) + end for line in lines)
    table, problems = table_of(tmp_path / "a.csv", text)
    assert not problems.lines()
    assert table is not None
    assert [(r.number, r.cells) for r in table.rows] == [
        (2, {"order": "007", "width": "600"}),
        (4, {"order": 'a"b', "on hand": "x", "width": "12"}),
    ]


def test_unit_in_a_header(tmp_path: Path) -> None:
    table, _ = table_of(tmp_path / "a.csv", "order,Width (IN)\nA,12\n")
    assert table is not None
    assert table.units == {"width": "in"}


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("", "empty"),
        ("\n\n", "empty"),
        ("width\n1\n", "no column for order"),
        ("order,job,width\n1,2,3\n", "two columns mean the same"),
        ('order,width\nA,"12\n', "cannot be split"),
        ('order,width\nA,"1"2\n', "cannot be split"),
        ("order,width\nA,12,5\n", "more cells than the header"),
        ("order,width\nA," + "1" * 2001 + "\n", "more than 2000 characters"),
        ("order,width" + ",x" * 200 + "\n", "more than 200 cells"),
        (b"order,width\nM\xfcller,1\n", "not UTF-8"),
        ("order,width\nA,1\n".encode("utf-16"), "not UTF-8"),
        (b"order,width\nA\0,1\n", "not UTF-8"),
        (b"PK\x03\x04rest", "a workbook"),
    ],
)
def test_bad_csv_is_a_problem(tmp_path: Path, content: bytes | str, reason: str) -> None:
    _, problems = table_of(tmp_path / "a.csv", content)
    assert any(reason in p.reason for p in problems.errors), problems.lines()


def test_the_row_of_bytes_that_are_not_utf8(tmp_path: Path) -> None:
    _, problems = table_of(tmp_path / "a.csv", b"order,width\nA,1\nM\xfcller,1\n")
    assert [p.row for p in problems.errors] == [3]


def test_unknown_column_is_a_note(tmp_path: Path) -> None:
    table, problems = table_of(tmp_path / "a.csv", "order,width,colour\nA,1,red\n")
    assert table is not None
    assert not problems
    assert [n.column for n in problems.notes] == ["colour"]


def test_missing_column_names_the_accepted_words(tmp_path: Path) -> None:
    _, problems = table_of(tmp_path / "a.csv", "note,width\nA,1\n")
    assert "order, job" in problems.errors[0].remedy


def test_limits_of_size_and_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(list_limits, "MAX_ROWS", 3)
    _, problems = table_of(tmp_path / "a.csv", "order,width\nA,1\nA,1\nA,1\n")
    assert "more than" in problems.errors[0].reason
    monkeypatch.setattr(table_reader, "MAX_BYTES", 10)
    _, problems = table_of(tmp_path / "b.csv", "order,width\nA,1\n")
    assert "larger than" in problems.errors[0].reason


@pytest.mark.parametrize("name", ["none.csv", "folder.csv", "old.xls", "a\0b.csv", "none.xlsx#Sheet"])
def test_what_cannot_be_opened_is_a_problem(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder.csv").mkdir()
    (tmp_path / "old.xls").write_bytes(b"\xd0\xcf\x11\xe0")
    problems = Problems()
    assert read(tmp_path / name, problems) is None
    assert len(problems.errors) == 1


def book(path: Path, rows: list[list[object]], title: str = "Sheet") -> Path:
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    workbook.create_sheet("Other").append(["order", "width"])
    workbook["Other"].append(["other", 7])
    workbook.save(path)
    return path


def test_workbook_cells(tmp_path: Path) -> None:
    path = book(
        tmp_path / "a.xlsx",
        [
            ["Order", "Width", "Note", "On hand"],
            [12.0, 1203.5, datetime.date(2027, 3, 9), True],
            [],
            ["007", 0.1 + 0.2, datetime.datetime(2027, 3, 9, 7, 30), None],  # noqa: DTZ001 - a cell has none
        ],
    )
    problems = Problems()
    table = read(path, problems)
    assert not problems.lines()
    assert table is not None
    assert [(r.number, r.cells) for r in table.rows] == [
        (2, {"order": "12", "width": "1203.5", "note": "2027-03-09", "on hand": "yes"}),
        (4, {"order": "007", "width": "0.3", "note": "2027-03-09 07:30:00"}),
    ]


def test_sheet_by_name(tmp_path: Path) -> None:
    path = book(tmp_path / "a.xlsx", [["order", "width"], ["A", 1]])
    problems = Problems()
    table = read(Path(f"{path}#Other"), problems)
    assert table is not None
    assert table.rows[0].cells == {"order": "other", "width": "7"}
    assert read(Path(f"{path}#Nowhere"), problems) is None
    assert "Sheet, Other" in problems.errors[0].remedy


def test_formula_without_a_stored_value_and_error_cells(tmp_path: Path) -> None:
    path = book(tmp_path / "a.xlsx", [["order", "width"], ["A", "=1+1"], ["#N/A", 2]])
    workbook = openpyxl.load_workbook(path)
    workbook.active["A3"].data_type = "e"
    workbook.save(path)
    problems = Problems()
    read(path, problems)
    assert [(p.row, p.value) for p in problems.errors] == [(2, "=1+1"), (3, "#N/A")]


def test_defusedxml_guards_workbooks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert openpyxl.DEFUSEDXML
    path = book(tmp_path / "a.xlsx", [["order", "width"], ["A", 1]])
    monkeypatch.setattr(openpyxl, "DEFUSEDXML", False)
    problems = Problems()
    assert read(path, problems) is None
    assert "defusedxml" in problems.errors[0].reason


def rewrite(path: Path, part: str, content: bytes) -> None:
    """Replace one part of a workbook."""
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    parts[part] = content
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in parts.items():
            new.writestr(name, data)


def test_zip_bomb_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    path = book(tmp_path / "a.xlsx", [["order", "width"], ["A", 1]])
    rewrite(path, "xl/worksheets/sheet1.xml", b" " * 3_000_000)
    problems = Problems()
    assert read(path, problems) is None
    assert "unpacks to far more" in problems.errors[0].reason


def test_unpacked_total_is_limited(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook_rows, "MAX_UNZIPPED", 1000)
    problems = Problems()
    assert read(book(tmp_path / "a.xlsx", [["order", "width"]]), problems) is None
    assert "unpacks to far more" in problems.errors[0].reason


BOMB = b"""<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>
<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">
<c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>"""


@pytest.mark.parametrize("content", [BOMB, b"<worksheet", b"", b"\xff\xfe"])
def test_damaged_or_hostile_parts_are_problems(tmp_path: Path, content: bytes) -> None:
    path = book(tmp_path / "a.xlsx", [["order", "width"], ["A", 1]])
    rewrite(path, "xl/worksheets/sheet1.xml", content)
    problems = Problems()
    assert read(path, problems) is None
    assert problems


def test_a_far_row_ends_at_the_limit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(list_limits, "MAX_ROWS", 50)
    path = tmp_path / "a.xlsx"
    workbook = openpyxl.Workbook()
    workbook.active["A1"], workbook.active["A1000000"] = "order", "x"
    workbook.save(path)
    problems = Problems()
    assert read(path, problems) is None
    assert problems.errors[0].row == 51


@given(st.text(alphabet=st.characters(exclude_characters="\0"), max_size=200))
def test_any_text_gives_rows_or_a_problem(text: str) -> None:
    problems = Problems()
    try:
        for number, cells in csv_rows(text, delimiter_of(text), "x.csv", problems):
            assert number > 0
            assert len(cells) <= 200
    except Refused:
        assert problems


def test_problem_line_and_hostile_values() -> None:
    problem = Problem(
        file="week.csv", row=7, column="width", value="12,x", reason="this is no length", remedy="correct it"
    )
    assert str(problem) == 'week.csv, row 7, column "width", value "12,x": this is no length; correct it'
    assert shown("a\x1b[2J\n\u202e" + "b" * 100) == "a\\x1b[2J\\n\\u202e" + "b" * 53 + "..."
    assert shown("\ud800") == "\\ud800"


def test_problems_count_what_they_do_not_keep() -> None:
    problems = Problems()
    for row in range(700):
        problems.add("f", "bad", row=row)
    problems.note("f", "by the way")
    assert (problems.error_count, len(problems.errors), len(problems.notes)) == (700, 500, 1)
    assert problems.lines()[-1] == "and 200 more"
    assert problems.to_json()["errors"] == 700
    assert not Problems()
