"""JSON and TOML lists give the same rows as CSV, and every entry that cannot says why."""

from __future__ import annotations

import csv
import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io import list_limits
from panewright.io.filler_list import read_filler_list
from panewright.io.order_lists import read_panel_lists
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.io.stock_list import read_stock_list
from panewright.io.table_reader import Column, Table, read_table
from panewright.nesting.outlines import make_outline
from panewright.nesting.units import inch, mm

SHOP = default_shop()
COLUMNS = (
    Column("order", ("order", "job")),
    Column("width", ("width", "w"), number=True),
    Column("on hand", ("on hand",)),
    Column("note", ("note",)),
)
REQUIRED = (("order",), ("width",))


def table_of(path: Path, content: bytes | str) -> tuple[Table | None, Problems]:
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass"))
    problems = Problems()
    table = read_table(path, COLUMNS, REQUIRED, problems)
    assert table is not None or problems.errors
    assert all(p.reason and p.remedy for p in problems.errors)
    return table, problems


def cells(table: Table | None) -> list[tuple[int, dict[str, str]]]:
    assert table is not None
    return [(row.number, row.cells) for row in table.rows]


@pytest.fixture
def a(tmp_path: Path) -> Path:
    return tmp_path / "a.json"


@pytest.fixture
def toml(tmp_path: Path) -> Path:
    return tmp_path / "a.toml"


# ---------------------------------------------------------------- what is read


@pytest.mark.parametrize(
    "content",
    [
        '{"orders": [{"Job": "007", "W": 600, "ON_HAND": null}, {}, {"order": "b", "width": 12.50}]}',
        '[{"Job": "007", "W": 600}, {"note": null}, {"width": 1.25e1, "order": " b "}]',
        '\ufeff{"stock": [{"job": "007", "w": "600"}, {"job": ""}, {"order": "b", "width": "12.5"}]}',
    ],
)
def test_entries_are_rows(a: Path, content: str) -> None:
    table, problems = table_of(a, content)
    assert not problems.lines()
    assert cells(table) == [(1, {"order": "007", "width": "600"}), (3, {"order": "b", "width": "12.5"})]
    assert table is not None and table.decimal == "point"


def test_toml_tables_are_rows(toml: Path) -> None:
    table, problems = table_of(
        toml,
        '[[orders]]\norder = "007"\nwidth = 600.50\nnote = 2027-03-09\n"on hand" = true\n'
        "[[orders]]\njob = 7\nw = 1_000\nnote = 2027-03-09T00:00:00\n"
        "[[orders]]\njob = 0x10\nw = 1e-3\nnote = 2027-03-09T07:30:00\n",
    )
    assert not problems.lines()
    assert cells(table) == [
        (1, {"order": "007", "width": "600.5", "note": "2027-03-09", "on hand": "yes"}),
        (2, {"order": "7", "width": "1000", "note": "2027-03-09"}),
        (3, {"order": "16", "width": "0.001", "note": "2027-03-09 07:30:00"}),
    ]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("true", "yes"),
        ("false", "no"),
        ("null", ""),
        ("0", "0"),
        ("-0.0", "0"),
        ("1e2", "100"),
        ("0.1", "0.1"),
        ("600.000625", "600.000625"),
        ("123456789012345678901234567890", "123456789012345678901234567890"),
        ('["polished", "cut", null]', "polished | cut |"),
        ("[1, 2.50]", "1 | 2.5"),
        ("[[0, 0], [600, 0], [600, 250.5]]", "0 0 | 600 0 | 600 250.5"),
        ('[["23 5/8", 0], [1, 1]]', "23 5/8; 0 | 1 1"),
        ('{"hole": 35, "at": "100 400"}', "hole: 35 | at: 100 400"),
        ("[]", ""),
        ("{}", ""),
        ('"a\\u00a0b "', "a b"),
    ],
)
def test_values_become_texts(a: Path, value: str, text: str) -> None:
    table, problems = table_of(a, f'[{{"order": "x", "width": 1, "note": {value}}}]')
    assert not problems.lines()
    assert table is not None
    assert table.rows[0].get("note").strip() == text.strip()


@given(st.decimals(-(10**12), 10**12, places=6), st.integers(-(10**20), 10**20))
def test_numbers_are_exact(tmp_path_factory: pytest.TempPathFactory, number: Decimal, whole: int) -> None:
    folder = tmp_path_factory.mktemp("list")
    for name, content in (
        ("a.json", f'[{{"order": {whole}, "width": {number}}}]'),
        ("a.toml", f"[[rows]]\norder = {whole}\nwidth = {format(number, 'f')}\n"),
    ):
        table, _ = table_of(folder / name, content)
        assert table is not None
        row = table.rows[0]
        assert Decimal(row.get("width")) == number and int(row.get("order")) == whole
        assert "E" not in row.get("width").upper()


def test_a_unit_in_a_key(a: Path) -> None:
    table, problems = table_of(a, '[{"order": "x", "width (in)": 12}, {"order": "y", "w [in]": 13}]')
    assert not problems.lines()
    assert table is not None and table.units == {"width": "in"}


def test_unknown_keys_are_noted_once(a: Path) -> None:
    table, problems = table_of(
        a, '{"shop": 1, "orders": [{"order": "x", "width": 1, "q": 2}, {"q": 3, "w": 1}]}'
    )
    assert [(p.row, p.column) for p in problems.notes] == [(None, "shop"), (1, "q")]
    assert cells(table) == [(1, {"order": "x", "width": "1"}), (2, {"width": "1"})]


texts = st.text(st.characters(exclude_categories=["Cs", "Cc", "Zs", "Zl", "Zp"]), min_size=1, max_size=8)


@given(st.lists(st.fixed_dictionaries({"order": texts, "width": texts}), min_size=1, max_size=4))
def test_json_and_csv_give_the_same_rows(
    tmp_path_factory: pytest.TempPathFactory, rows: list[dict[str, str]]
) -> None:
    folder = tmp_path_factory.mktemp("list")
    with (folder / "a.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, ["order", "width"], quoting=csv.QUOTE_ALL)
        writer.writeheader()
        writer.writerows(rows)
    problems = Problems()
    flat = read_table(folder / "a.csv", COLUMNS, REQUIRED, problems)
    table, _ = table_of(folder / "a.json", json.dumps({"orders": rows}))
    assert [row for _, row in cells(table)] == [row for _, row in cells(flat)]


# ---------------------------------------------------------------- the three kinds of lists


def test_a_panel_list(a: Path, toml: Path) -> None:
    entry: dict[str, Any] = {
        "order": 7,
        "panel": "base",
        "glass": "clear-10",
        "corners": [[0, 0], [600, 0], [600, 250], [250, 600], [0, 600]],
        "edges": ["polished", "cut", "cut", "cut", "cut"],
        "openings": ["hole 35 at 100 200", "slot 100 x 25 at 250 100"],
        "mirror": False,
        "due": "2027-03-09",
    }
    a.write_text(json.dumps({"orders": [entry]}))
    lines = [f"{key} = {json.dumps(value)}" for key, value in entry.items() if key != "due"]
    toml.write_text("\n".join(["[[orders]]", *lines, "due = 2027-03-09"]))
    for path in (a, toml):
        problems = Problems()
        (panel,) = read_panel_lists([path], SHOP, problems)
        assert not problems.errors
        assert (panel.id, panel.due, panel.mirror) == ("7/base/1", date(2027, 3, 9), False)
        assert panel.finished == make_outline([(mm(x), mm(y)) for x, y in entry["corners"]])
        assert len(panel.openings) == 2 and panel.edges[0].allowance > 0 == panel.edges[1].allowance


def test_problems_name_the_entry(a: Path) -> None:
    good = {"order": "A", "panel": "p", "glass": "clear-10", "width": 600, "height": 400}
    a.write_text(json.dumps([good, good | {"quantity": 0}, good | {"height": "x"}]))
    problems = Problems()
    read_panel_lists([a], SHOP, problems)
    assert [(p.row, p.column) for p in problems.errors] == [(2, "quantity"), (3, "height")]


def test_a_stock_list_and_a_filler_list(a: Path, toml: Path) -> None:
    problems = Problems()
    a.write_text(
        '{"stock": [{"kind": "sheet", "glass": "clear-10", "width": 3210, "height": 2250, "price": 61.4}]}'
    )
    (piece,) = read_stock_list(a, SHOP, problems)
    assert (piece.width, piece.cost) == (mm(3210), 614_000)
    toml.write_text(
        '[[fillers]]\nfiller = "shelf"\nglass = "clear-10"\nwidth = "12 in"\nheight = 300\nworth = 2.5\nmost = 4\n'
    )
    (filler,) = read_filler_list(toml, SHOP, problems)
    assert not problems.errors
    assert (filler.panel.finished[2], filler.worth, filler.most) == ((inch(12), mm(300)), 25_000, 4)


# ---------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("", "no readable JSON"),
        ("[", "no readable JSON"),
        ("{'order': 1}", "no readable JSON"),
        ('[{"order": 1}] x', "no readable JSON"),
        ('[{"order": 1},]', "no readable JSON"),
        ("[" * 100_000, "nested too deeply"),
        ('[{"order": ' + "[" * 100_000, "nested too deeply"),
        ("7", "no list of entries"),
        ('"orders"', "no list of entries"),
        ("null", "no list of entries"),
        ('{"order": "A", "width": 1}', "no list of entries"),
        ('{"orders": {"order": "A"}}', "no list of entries"),
        ('{"orders": [], "stock": []}', "several lists"),
        ("[]", "the list is empty"),
        ('{"orders": []}', "the list is empty"),
        ("[{}]", "no entry has the key order"),
        ('[{"w": 1}]', "no entry has the key order"),
        (b"\xff\xfe[\0]\0", "not UTF-8"),
        (b'[{"order": "M\xfcller"}]', "not UTF-8"),
        (b"PK\x03\x04", "a workbook"),
    ],
)
def test_files_that_cannot_be_read(a: Path, content: bytes | str, reason: str) -> None:
    table, problems = table_of(a, content)
    assert table is None
    assert reason in problems.errors[0].reason


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("", "no list of entries"),
        ("[[orders]]\norder = ", "no readable TOML"),
        ("[[orders]]\norder = 1\norder = 2", "no readable TOML"),
        ("[orders]\norder = 1", "no list of entries"),
        ("a = " + "[" * 100_000, "nested too deeply"),
        ("[[orders]]\nwidth = 1" + "0" * 5000, "no readable TOML"),
    ],
)
def test_toml_that_cannot_be_read(toml: Path, content: str, reason: str) -> None:
    table, problems = table_of(toml, content)
    assert table is None
    assert reason in problems.errors[0].reason


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        ("NaN", "no number that a list can hold"),
        ("-Infinity", "no number that a list can hold"),
        ("1e400", "no number that a list can hold"),
        ("1e-400", "no number that a list can hold"),
        ("1" * 200, "no number that a list can hold"),
        ("1" * 5000, "no number that a list can hold"),
        ("[NaN]", "no number that a list can hold"),
        ('{"a": Infinity}', "no number that a list can hold"),
        ("[[1]]", "not one x and one y"),
        ("[[1, 2, 3]]", "not one x and one y"),
        ("[[[1, 2], 3]]", "are not read"),
        ('[{"a": 1}]', "are not read"),
        ('{"a": [1]}', "are not read"),
        ('{"a": {"b": 1}}', "are not read"),
        ('{"a": 1, "a": 2}', "stands twice"),
        ('["a|b"]', "holds the sign |"),
        ('{"a|b": 1}', "holds the sign |"),
        ('"\\ud800"', "half of a character"),
        ('["\\udfff"]', "half of a character"),
        (json.dumps("x" * 2001), "more than 2000 characters"),
        (json.dumps([1] * 1000), "more than 2000 characters"),
    ],
)
def test_values_that_are_no_cells(a: Path, value: str, reason: str) -> None:
    good = '{"order": "x", "width": 1}'
    table, problems = table_of(a, f'[{good}, {{"order": "y", "width": 2, "note": {value}}}, {good}]')
    (found,) = problems.errors
    assert reason in found.reason
    assert (found.row, found.column) == (2, "note")
    assert [number for number, _ in cells(table)] == [1, 3]


@pytest.mark.parametrize("value", ["nan", "-inf", "1e999", "07:30:00", "1" + "0" * 31])
def test_toml_values_that_are_no_cells(toml: Path, value: str) -> None:
    _, problems = table_of(toml, f'[[orders]]\norder = "x"\nwidth = {value}\n')
    (found,) = problems.errors
    assert (found.row, found.column) == (1, "width")


def test_everything_wrong_is_said_at_once(a: Path) -> None:
    _, problems = table_of(
        a,
        '[7, null, {"order": "a", "order": "b", "width": 1}, {"order": "a", "job": "b", "width": NaN}, '
        '{"order": [[1]], "width (in)": 1}, {"order": "ok", "w": 1}, {"order": "no", "w (mm)": 1}]',
    )
    found = [(p.row, p.column) for p in problems.errors]
    assert found == [
        (1, None), (2, None), (3, "order"), (4, "width"), (5, "order"), (4, "job"), (5, "width (in)"), (7, "w (mm)"),
    ]  # fmt: skip


def test_limits(a: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(list_limits, "MAX_ROWS", 3)
    _, problems = table_of(a, json.dumps([{"order": "x", "width": 1}] * 4))
    assert "more than 3 rows" in problems.errors[0].reason
    _, problems = table_of(a, json.dumps([{f"k{i}": 1 for i in range(201)}]))
    assert "more than 200 cells" in problems.errors[0].reason
    a.write_bytes(b"[" + b" " * 20_000_001)
    problems = Problems()
    assert read_table(a, COLUMNS, REQUIRED, problems) is None
    assert "larger than" in problems.errors[0].reason


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=6,
)


@given(
    st.lists(
        st.dictionaries(st.sampled_from(["order", "w", "note", "width", "x"]), values, max_size=4) | values,
        max_size=4,
    )
)
def test_no_json_gives_a_traceback(tmp_path_factory: pytest.TempPathFactory, entries: list[Any]) -> None:
    table_of(tmp_path_factory.mktemp("list") / "a.json", json.dumps(entries))
