"""Racks, slots and tolerated flaws in order lists: every format, tanks, hostile rows, what is shown and written."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import openpyxl
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli.main import app
from panewright.cli.racks import ordered_tables, plan_tables
from panewright.cli.wishes import Wishes, with_racks
from panewright.io.csv_rows import csv_rows
from panewright.io.lengths import BadValue
from panewright.io.order_lists import read_orders
from panewright.io.panel_list_text import panel_list_text
from panewright.io.plan_folder import what_to_open
from panewright.io.problems import Problems
from panewright.io.rack_words import rack_files, racks_json, runs
from panewright.io.shop_file import default_shop
from panewright.io.tolerance_text import MAY_BE_TOLERATED, parse_tolerates, tolerates_text, tolerates_words
from panewright.nesting.flaws import KINDS, NEVER_TOLERATED, Flaw, Tolerance, Zone
from panewright.nesting.ordered.racks import orders_as_racks
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan
from panewright.nesting.spots import told_apart, with_flaws
from panewright.nesting.units import inch, mm

if TYPE_CHECKING:
    from conftest import Desk

SHOP = default_shop()
PANEL = {"order": "A", "panel": "p", "glass": "clear-10", "width": "600", "height": "400"}
TANK = {
    "order": "T",
    "shape": "rectangle",
    "glass": "clear-10",
    "length": "900",
    "width": "450",
    "height": "450",
}


def places(desk: Desk, *rows: dict[str, str]) -> list[tuple[str, str, int | None]]:
    orders = desk.read(*(PANEL | row for row in rows))
    assert not desk.problems.errors, desk.problems.lines()
    return [(p.id, p.rack, p.slot) for p in orders.panels]


def test_without_slots_the_panels_take_them_in_the_order_of_the_list(desk: Desk) -> None:
    assert places(
        desk,
        {"rack": "R"},
        {"rack": "", "panel": "loose"},
        {"rack": "S", "panel": "q"},
        {"rack": "R", "quantity": "4"},
        {"rack": " R ", "panel": "q"},
    ) == [
        ("A/p/1", "R", 1),
        ("A/loose/1", "", None),
        ("A/q/1", "S", 1),
        ("A/p/2", "R", 2),
        ("A/p/3", "R", 3),
        ("A/p/4", "R", 4),
        ("A/p/5", "R", 5),
        ("A/q/2", "R", 6),
    ]


def test_given_slots_and_rows_of_several(desk: Desk) -> None:
    assert places(
        desk,
        {"rack": "R", "slot": "5", "quantity": "3"},
        {"rack": "R", "slot": "2"},
        {"rack": "R", "slot": "9"},
        {"rack": "S", "slot": "5"},
    ) == [
        ("A/p/1", "R", 5),
        ("A/p/2", "R", 6),
        ("A/p/3", "R", 7),
        ("A/p/4", "R", 2),
        ("A/p/5", "R", 9),
        ("A/p/6", "S", 5),
    ]


def faults(desk: Desk, *rows: dict[str, str]) -> list[tuple[int | None, str | None]]:
    desk.read(*(PANEL | row for row in rows))
    for error in desk.problems.errors:
        assert error.reason and error.remedy and str(error).isprintable()
    return [(p.row, p.column) for p in desk.problems.errors]


@pytest.mark.parametrize(
    ("rows", "where"),
    [
        ([{"rack": "R", "slot": "1"}, {"rack": "R", "slot": "1"}], [(3, "slot")]),
        ([{"rack": "R", "slot": "1", "quantity": "3"}, {"rack": "R", "slot": "3"}], [(3, "slot")]),
        ([{"rack": "R", "slot": "3"}, {"rack": "R", "slot": "2", "quantity": "2"}], [(3, "slot")]),
        ([{"rack": "R", "slot": "1"}, {"rack": "R", "slot": ""}], [(3, "slot")]),
        ([{"rack": "R"}, {"rack": "R", "slot": "4"}, {"rack": "R"}], [(2, "slot"), (4, "slot")]),
        ([{"rack": "", "slot": "1"}], [(2, "slot")]),
        ([{"rack": "R", "slot": "0"}], [(2, "slot")]),
        ([{"rack": "R", "slot": "-3"}], [(2, "slot")]),
        ([{"rack": "R", "slot": "first"}], [(2, "slot")]),
        ([{"rack": "R", "slot": "1.5"}], [(2, "slot")]),
        ([{"rack": "R", "slot": "nan"}], [(2, "slot")]),
        ([{"rack": "R", "slot": "100001"}], [(2, "slot")]),
        ([{"rack": "x" * 61}], [(2, "rack")]),
        ([{"rack": "a\u202eb"}], [(2, "rack")]),
        ([{"rack": "R"}, {"rack": "R", "glass": "clear-6"}], [(3, "rack")]),
        ([{"rack": "R"}, {"rack": "R"}, {"rack": "R", "glass": "low-iron-10"}], [(4, "rack")]),
    ],
)
def test_racks_that_are_refused(desk: Desk, rows: list[dict[str, str]], where: list[tuple[int, str]]) -> None:
    assert faults(desk, *rows) == where


def test_a_rack_of_two_glasses_names_both_rows(desk: Desk) -> None:
    faults(desk, {"rack": "R"}, {"rack": "R", "glass": "clear-6"})
    (error,) = desk.problems.errors
    assert error.row == 3
    for word in ("rack R", "clear-10 in row 2", "clear-6"):
        assert word in error.reason


def test_a_rack_goes_on_from_list_to_list(tmp_path: Path) -> None:
    head = ",".join([*PANEL, "rack", "slot"])
    row = ",".join(PANEL.values())
    (tmp_path / "one.csv").write_text(f"{head}\n{row},R,\n")
    (tmp_path / "two.csv").write_text(f"{head}\n{row},R,\n{row},R,\n")
    (tmp_path / "slots.csv").write_text(f"{head}\n{row},R,7\n")
    problems = Problems()
    panels = read_orders([tmp_path / "one.csv", tmp_path / "two.csv"], SHOP, problems).panels
    assert [(p.id, p.slot) for p in panels] == [("A/p/1", 1), ("A/p/2", 2), ("A/p/3", 3)] and not problems
    read_orders([tmp_path / "one.csv", tmp_path / "slots.csv"], SHOP, problems)
    (error,) = problems.errors
    assert error.file.endswith("one.csv") and "slots.csv, row 2" in error.reason


# ---------------------------------------------------------------- tolerated flaws


def test_what_an_order_tolerates(desk: Desk) -> None:
    cell = "seed edge 40; Scratch frame 30.5 | rub anywhere; chip: edge 1/2 in"
    (panel,) = desk.read(PANEL | {"tolerates": cell}).panels
    assert not desk.problems.lines()
    assert panel.tolerates == (
        Tolerance("seed", "edge", mm(40)),
        Tolerance("scratch", "frame", mm("30.5")),
        Tolerance("rub", "anywhere"),
        Tolerance("chip", "edge", inch("0.5")),
    )
    (panel,) = desk.read(
        PANEL | {"unit": "in", "width": "24", "height": "16", "tolerates": "seed edge 1 1/2"}
    ).panels
    assert panel.tolerates == (Tolerance("seed", "edge", inch("1.5")),)
    (panel,) = desk.read(
        PANEL | {"width": "", "height": "", "corners": "0 0 | 600 0 | 0 400", "tolerates": "rub anywhere"}
    ).panels
    assert panel.tolerates == (Tolerance("rub", "anywhere"),)  # of no use, and no error


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("crack edge 40", "never tolerated"),
        ("other anywhere", "never tolerated"),
        ("bubble edge 40", "no kind of flaw"),
        ("seed middle 40", "no zone"),
        ("seed edge", "depth of the zone is missing"),
        ("seed anywhere 40", "anywhere has no depth"),
        ("seed", "no kind of flaw with a zone"),
        ("edge 40", "no kind of flaw"),
        (";", "no kind of flaw with a zone"),
        ("seed edge 40; seed edge 50", "stand twice"),
        ("seed edge 0", "not above 0"),
        ("seed edge -4", "negative"),
        ("seed edge nan", "finite"),
        ("seed edge 1001", "up to 1000 mm"),
        ("seed edge 40 parsec", "unit parsec"),
        ("=seed", "no kind of flaw with a zone"),
    ],
)
def test_tolerances_that_are_refused(desk: Desk, cell: str, reason: str) -> None:
    assert faults(desk, {"tolerates": cell}) == [(2, "tolerates")]
    assert reason in desk.problems.errors[0].reason


tolerances = st.builds(
    lambda kind, zone, depth: Tolerance(kind, zone.value, 0 if zone is Zone.ANYWHERE else depth * 10_000),
    st.sampled_from(MAY_BE_TOLERATED),
    st.sampled_from(list(Zone)),
    st.integers(1, 100_000),
)


@settings(max_examples=40)
@given(st.lists(tolerances, min_size=1, max_size=6, unique_by=lambda t: (t.kind, t.zone)))
def test_written_tolerances_read_back(found: list[Tolerance]) -> None:
    assert parse_tolerates(tolerates_text(found), "mm", "point") == tuple(found)
    assert all(t.kind in tolerates_words(found) for t in found)


@settings(max_examples=60)
@given(st.text(max_size=40))
def test_any_text_is_a_tolerance_or_a_reason(text: str) -> None:
    try:
        found = parse_tolerates(text, "mm")
    except BadValue as error:
        assert error.reason and error.remedy
    else:
        assert found and all(t.kind not in NEVER_TOLERATED and t.kind in KINDS for t in found)


# ---------------------------------------------------------------- tanks


def test_a_tank_of_one_glass_fills_a_rack_in_the_order_of_its_panels(desk: Desk) -> None:
    orders = desk.read(TANK | {"quantity": "2", "rack": "R", "tolerates": "seed edge 10", "rim": "rimless"})
    assert not desk.problems.errors, desk.problems.lines()
    assert len(orders.panels) >= 10
    assert {p.rack for p in orders.panels} == {"R"}
    assert [p.slot for p in orders.panels] == list(range(1, len(orders.panels) + 1))
    assert {p.tolerates for p in orders.panels} == {(Tolerance("seed", "edge", mm(10)),)}


def test_a_tank_of_several_glasses_is_a_rack_a_glass(desk: Desk) -> None:
    row = TANK | {"rack": "R", "rim": "rimless", "covers": "lid 1"}
    orders = desk.read(row, row | {"tank": "second"})
    assert not desk.problems.errors, desk.problems.lines()
    racks = {(p.rack, p.glass) for p in orders.panels}
    assert racks == {("R clear-10", "clear-10"), ("R clear-6", "clear-6")}
    for rack, _ in racks:
        slots = [p.slot for p in orders.panels if p.rack == rack]
        assert slots == list(range(1, len(slots) + 1))
    assert any("R clear-10, R clear-6" in note.reason for note in desk.problems.notes)


def test_a_tank_has_no_slot(desk: Desk) -> None:
    desk.read(TANK | {"rack": "R", "slot": "3", "rim": "rimless"})
    (error,) = desk.problems.errors
    assert (error.row, error.column) == (2, "slot")


# ---------------------------------------------------------------- formats, and lists that are written


@pytest.fixture
def racked(desk: Desk) -> list[Panel]:
    found = desk.read(
        PANEL | {"rack": "R", "quantity": "3", "tolerates": "seed edge 40; rub anywhere"},
        PANEL | {"rack": "S", "panel": "q", "tolerates": ""},
        PANEL | {"panel": "r", "rack": "", "tolerates": "stone frame 12.5"},
        PANEL | {"rack": "R", "quantity": "2"},
        PANEL | {"panel": "s"},
    ).panels
    assert not desk.problems.lines()
    return found


def test_a_written_panel_list_reads_back(racked: list[Panel], tmp_path: Path) -> None:
    path = tmp_path / "panels.csv"
    turned = [replace(p, slot=9 - p.slot) if p.rack == "R" and p.slot else p for p in racked]
    for panels in (racked, turned):
        text = panel_list_text(panels, SHOP)
        path.write_text(text, encoding="utf-8", newline="")
        problems = Problems()
        assert read_orders([path], SHOP, problems).panels == panels
        assert not problems.lines()
    # equal panels in slots that follow each other share a row
    assert len(panel_list_text(racked, SHOP).splitlines()) == 1 + 5
    plain = [replace(p, rack="", slot=None, tolerates=()) for p in racked]
    assert "rack" not in panel_list_text(plain, SHOP).splitlines()[0]


def test_every_format_reads_the_same(racked: list[Panel], desk: Desk, tmp_path: Path) -> None:
    rows = [
        PANEL | {"rack": "R", "quantity": 3, "slot": 1, "tolerates": ["seed edge 40", "rub anywhere"]},
        PANEL | {"rack": "S", "panel": "q", "slot": 1},
        PANEL | {"panel": "r", "tolerates": {"stone": "frame 12.5"}},
        PANEL | {"rack": "R", "quantity": 2, "slot": 4},
        PANEL | {"panel": "s"},
    ]
    (tmp_path / "a.json").write_text(json.dumps({"orders": rows}))
    toml = []
    for row in rows:
        lines = [
            f'{k} = {{ stone = "frame 12.5" }}' if isinstance(v, dict) else f"{k} = {json.dumps(v)}"
            for k, v in row.items()
        ]
        toml.append("\n".join(["[[orders]]", *lines]))
    (tmp_path / "a.toml").write_text("\n".join(toml))
    book = openpyxl.Workbook()
    names = [*PANEL, "quantity", "rack", "slot", "tolerates"]
    book.active.append(names)
    said = {"tolerates": ["seed edge 40; rub anywhere", None, "stone frame 12.5", None, None]}
    for i, row in enumerate(rows):
        book.active.append([said[n][i] if n in said else row.get(n) for n in names])
    book.save(tmp_path / "a.xlsx")
    for suffix in ("json", "toml", "xlsx"):
        problems = Problems()
        assert read_orders([tmp_path / f"a.{suffix}"], SHOP, problems).panels == racked, suffix
        assert not problems.lines()


def test_the_template_shows_racks(tmp_path: Path) -> None:
    run = CliRunner().invoke(app, ["orders", "template", str(tmp_path / "orders.csv")])
    assert run.exit_code == 0, run.output
    lines = (tmp_path / "orders.csv").read_text(encoding="utf-8-sig").splitlines()
    names = lines[0].split(",")
    assert {"rack", "slot", "tolerates"} <= set(names)
    said = CliRunner().invoke(app, ["orders", "check", str(tmp_path / "orders.csv")])
    assert said.exit_code == 0, said.output
    assert "racks: 1, panels on them: 2, panels that tolerate flaws: 2" in said.stdout
    found = json.loads(
        CliRunner().invoke(app, ["orders", "check", str(tmp_path / "orders.csv"), "--json"]).stdout
    )
    assert found["racks"] == [
        {
            "rack": "furnace 7",
            "glass": "clear-6",
            "places": [{"slot": 1, "panel": "E-20/cover/1"}, {"slot": 2, "panel": "E-20/cover/2"}],
        }
    ]
    assert found["tolerates"][0]["tolerates"] == "seed edge 15; rub anywhere"


def test_the_panels_command_shows_racks(racked: list[Panel], tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text(panel_list_text(racked, SHOP), encoding="utf-8", newline="")
    run = CliRunner().invoke(app, ["panels", str(path)])
    assert run.exit_code == 0, run.output
    assert "1-5" in run.stdout and "seed within 40 mm of any edge, rub anywhere" in run.stdout
    out = tmp_path / "out"
    run = CliRunner().invoke(app, ["panels", str(path), "--out", str(out)])
    assert run.exit_code == 0, run.output
    assert json.loads((out / "tanks.json").read_text())["racks"][0]["places"][4] == {
        "slot": 5,
        "panel": "A/p/5",
    }
    problems = Problems()
    assert read_orders([out / "panels.csv"], SHOP, problems).panels == racked


def test_long_lists_of_racks_end(make_panel: Callable[..., Panel]) -> None:
    panels = [
        replace(
            make_panel(100, 100, id=f"{i}/p/1"),
            rack=f"rack {i}",
            slot=1,
            tolerates=(Tolerance("rub", "anywhere"),),
        )
        for i in range(40)
    ]
    racks, taken = ordered_tables(panels)
    assert "and 10 more" in racks and "and 10 more" in taken
    assert ordered_tables(panels[:0]) == []
    assert runs([]) == "" and runs([4, 5]) == "4, 5"


def test_wishes_about_racks(racked: list[Panel]) -> None:
    plain = [replace(p, rack="", slot=None) for p in racked]
    problems = Problems()
    assert with_racks(Wishes(), racked, problems) == racked
    assert with_racks(Wishes(open_racks=2), racked, problems) == racked
    assert with_racks(Wishes(orders_as_racks=True, open_racks=1), plain, problems) == orders_as_racks(plain)
    assert not problems.lines()
    with_racks(Wishes(open_racks=2), plain, problems)
    (error,) = problems.errors
    assert error.file == "--open-racks" and error.value == "2" and "--orders-as-racks" in error.remedy


def test_options_of_plan_about_racks(racked: list[Panel], tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    plain = [replace(p, rack="", slot=None, tolerates=()) for p in racked]
    path.write_text(panel_list_text(plain, SHOP), encoding="utf-8", newline="")
    run = CliRunner().invoke(app, ["plan", str(path), "--open-racks", "2", "--out", str(tmp_path / "o")])
    assert run.exit_code == 3 and "no panel of the lists has a rack" in run.output
    run = CliRunner().invoke(app, ["plan", str(path), "--open-racks", "0", "--out", str(tmp_path / "o")])
    assert run.exit_code == 2
    assert not (tmp_path / "o").exists()


# ---------------------------------------------------------------- of a plan


@pytest.fixture
def told(hand_plan: Plan) -> Plan:
    """The plan by hand with racks, a flaw in waste and one that its left side tolerates."""
    where = {"front": ("=R", 1), "back": ("=R", 2), "left side": ("S", 1)}
    panels = [replace(p, rack=where[p.name][0], slot=where[p.name][1]) for p in hand_plan.panels]
    panels[2] = replace(panels[2], tolerates=(Tolerance("seed", "anywhere"),))
    flaws = (Flaw(mm(1990), mm(990), mm(2), mm(2), "chip"), Flaw(mm(100), mm(600), mm(1), mm(1), "seed"))
    layouts = told_apart([with_flaws(hand_plan.layouts[0], flaws)], panels)
    return replace(hand_plan, panels=tuple(panels), layouts=tuple(layouts))


def test_racks_as_a_file(told: Plan, hand_plan: Plan, tmp_path: Path) -> None:
    ((name, text),) = rack_files(told).items()
    assert name == f"racks-{told.id}.csv"
    problems = Problems()
    head, *rows = [cells for _, cells in csv_rows(text.lstrip("\ufeff"), ",", name, problems)]
    assert "'=R,1," in text  # no spreadsheet runs it
    assert [row[head.index("rack")] for row in rows] == ["=R", "=R", "S"]
    steps = {
        leaf.panel: cut.step
        for leaf in told.layouts[0].leaves
        for cut in told.layouts[0].cuts
        if leaf.piece in cut.makes
    }
    for row in rows:
        assert row[head.index("free after step")] == str(steps[row[head.index("panel")]])
    assert [row[head.index("slot")] for row in rows] == ["1", "2", "1"]
    assert [row[head.index("racks open after")] for row in rows] == ["1", "0", "0"]
    assert rack_files(hand_plan) == {}
    opened = "\n".join(what_to_open(told, tmp_path))
    assert f"racks-{told.id}.csv" in opened
    assert "racks-" not in "\n".join(what_to_open(hand_plan, tmp_path))


def test_racks_and_flaws_on_the_screen_and_for_programs(told: Plan, hand_plan: Plan) -> None:
    racks, sheets = plan_tables(told)
    assert "At most 1 rack is open at once." in racks and "sheet 1, step" in racks
    assert "chip 1" in sheets and "seed 1" in sheets
    found = racks_json(told)
    assert [r["rack"] for r in found["racks"]] == ["=R", "S"] and found["most_open_racks"] == 1
    assert found["sheets_with_flaws"] == [
        {"sheet": 1, "stock": told.layouts[0].stock, "flaws": 1, "spots": 1, "kinds": ["chip", "seed"]}
    ]
    assert plan_tables(hand_plan) == [] and racks_json(hand_plan) == {}
