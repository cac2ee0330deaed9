"""`panewright day`: what it writes, that it writes all or nothing, exit codes, and names that bite."""

from __future__ import annotations

import contextvars
import csv
import io
import json
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io import day_files
from panewright.io.csv_text import plain_cell
from panewright.io.drawings import drawing_files
from panewright.io.plan_file import dumps
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.openings import Hole
from panewright.nesting.panels import cut_of
from panewright.nesting.plan import Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.units import mm

MONDAY = date(2027, 3, 1)
TUESDAY = date(2027, 3, 2)
SHOP = """name = "Tanks & Töchter"
[cutting_days]
sheets = 2
[racks]
names = ["A"]
slots = 3
edging_metres = 50
"""
LISTS = ("sheets", "panels", "orders", "late", "days", "edges", "openings")
ODD = {
    "right to left": "הזמנה ١٢",
    "override": "\u202eK-1\u2066",
    "emoji": "🐠👩‍🔧 aquarium",
    "markup": "<script>alert('x')</script>",
    "formula": '=HYPERLINK("http://example.org","K")',
    "long": "K" * 200,
    "braces": "{order} {0} %s %(day)s [bold]",
    "path": "../../etc/CON",
}


class Desk:
    """A folder with a shop file, where plans are written and `day` is called."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.out = folder, folder / "monday"
        self.shop = folder / "my-shop.toml"
        self.shop.write_text(SHOP, encoding="utf-8")

    def write(self, plan: Plan, name: str = "week.json") -> Path:
        path = self.folder / name
        path.write_text(dumps(plan), encoding="utf-8")
        return path

    def call(self, *more: object, on: date = MONDAY) -> Result:
        args = ["day", "--on", on.isoformat(), "--shop", self.shop, "--out", self.out, *more]
        return contextvars.copy_context().run(CliRunner().invoke, main.app, [str(arg) for arg in args])

    def files(self) -> dict[str, bytes]:
        return {path.name: path.read_bytes() for path in self.out.iterdir()} if self.out.exists() else {}

    def rows(self, name: str, day: date = MONDAY) -> list[dict[str, str]]:
        text = (self.out / f"day-{day.isoformat()}-{name}.csv").read_text(encoding="utf-8-sig")
        return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.chdir(tmp_path)
    return Desk(tmp_path)


@pytest.fixture
def week(week_plan: Callable[..., Plan]) -> Plan:
    """Four sheets: two a day; C is due on Monday, but not on the first sheets as they are filed."""
    return week_plan(
        [("A", TUESDAY), ("B", TUESDAY)], [("B", TUESDAY)], [("C", MONDAY)], [("C", MONDAY), ("A", TUESDAY)]
    )


def test_a_day_is_written_whole(desk: Desk, week: Plan) -> None:
    result = desk.call(desk.write(week))
    assert result.exit_code == Exit.DONE, result.output
    stem = f"day-{MONDAY.isoformat()}"
    own = {f"{stem}.txt", f"{stem}.json", "day-contents.txt", *(f"{stem}-{name}.csv" for name in LISTS)}
    assert set(desk.files()) == own
    data = json.loads((desk.out / f"{stem}.json").read_text(encoding="utf-8"))
    assert data["schema"] == "panewright.day/1"
    assert [(row["day"], row["sheet"]) for row in desk.rows("sheets")] == [
        (sheet["day"], str(sheet["sheet"])) for sheet in data["sheets"]
    ]
    assert [s["sheet"] for s in data["sheets"] if s["day"] == MONDAY.isoformat()] == [3, 4]
    assert data["standing"]["most_open"] == 2 and data["standing"]["proven"]
    assert data["standing"]["as_filed"]["late_orders"] == 1
    by_order = {row["order"]: row for row in desk.rows("orders")}
    assert [by_order["A"][key] for key in ("place", "due", "panels today", "panels to come")] == [
        "A-2", TUESDAY.isoformat(), "1", "1",
    ]  # fmt: skip
    assert [row["panel"] for row in desk.rows("panels")] == ["C/front/1", "C/front/2", "A/front/2"]
    # three panels of 2 x (300 + 400) mm
    assert [(row["machine"], row["m"]) for row in desk.rows("edges")] == [("edging line", "1.4")] * 3
    assert desk.rows("late") == desk.rows("openings") == []
    text = (desk.out / f"{stem}.txt").read_text(encoding="utf-8")
    assert "TODAY: 2 sheets" in text and "Tanks & Töchter" in text
    assert max(map(len, text.splitlines())) <= 78


def test_text_and_screen_say_how_to_go_on_tomorrow(desk: Desk, week: Plan) -> None:
    path = desk.write(week)
    assert "--done 3,4" in desk.call(path).output
    desk.out = desk.folder / "tuesday"
    result = desk.call(path, "--done", "3,4", "--json", on=TUESDAY)
    data = json.loads(result.stdout)
    assert result.exit_code == Exit.DONE
    assert [s["sheet"] for s in data["done"]] == [3, 4]
    places = {order["order"]: (order["place"], order["open"]) for order in data["orders"]}
    assert places["A"] == ("A-2", True)
    assert places["C"] == ("A-1", False)


def test_the_same_call_gives_the_same_bytes(desk: Desk, week: Plan) -> None:
    path = desk.write(week)
    desk.call(path)
    before = desk.files()
    assert desk.call(path, "--replace").exit_code == Exit.DONE
    assert desk.files() == before


def test_late_is_exit_code_1_and_json_says_why(desk: Desk, week: Plan) -> None:
    result = desk.call(desk.write(week), "--json", on=TUESDAY)
    assert result.exit_code == Exit.LEFT_OVER
    data = json.loads(result.stdout)
    assert data["exit_code"] == 1
    assert [(late["order"], late["rule"]) for late in data["late"]] == [
        ("C", "due day is over"),
        ("A", "table hours"),
        ("B", "table hours"),
    ]
    assert "C: due 2027-03-01" in (desk.out / "day-2027-03-02.txt").read_text(encoding="utf-8")


def test_odd_names_survive_everywhere(desk: Desk, week_plan: Callable[..., Plan]) -> None:
    names = list(ODD.values())
    plan = week_plan(*([(name, MONDAY), (names[0], None)] for name in names))
    result = desk.call(desk.write(plan), "--json")
    assert result.exit_code == Exit.LEFT_OVER, result.output
    data = json.loads(result.stdout)
    assert sorted(order["order"] for order in data["orders"]) == sorted(names)
    assert (
        json.loads((desk.out / "day-2027-03-01.json").read_text(encoding="utf-8"))["orders"] == data["orders"]
    )
    assert sorted(plain_cell(row["order"]) for row in desk.rows("orders")) == sorted(
        "".join(c if c.isprintable() or c > "\x7f" else " " for c in name) for name in names
    )
    for name in LISTS:
        for row in desk.rows(name):
            assert not any(cell.lstrip().startswith(("=", "+", "-", "@")) for cell in row.values())
    text = (desk.out / "day-2027-03-01.txt").read_text(encoding="utf-8")
    for shown in (ODD["right to left"], "🐠", ODD["markup"], ODD["formula"], ODD["braces"], "K" * 48 + "..."):
        assert shown in text
    assert "\u202e" not in text and "\u2066" not in text
    screen = desk.call(desk.folder / "week.json", "--replace").output
    assert ODD["markup"][:12] in screen and "\u202e" not in screen
    assert all("day-" in name and "/" not in name for name in desk.files())


def test_panels_with_holes_name_the_cad_file_that_is_drawn(desk: Desk, hand_plan: Plan) -> None:
    first = hand_plan.panels[0]
    hole = Hole(center=(mm(100), mm(120)), diameter=mm(35))
    plan = replace(hand_plan, panels=(replace(first, openings=(hole,)), *hand_plan.panels[1:]))
    assert desk.call(desk.write(plan)).exit_code == Exit.DONE
    (row,) = desk.rows("openings")
    assert (row["tool"], row["panel"]) == ("drill", first.id)
    assert "dia 35 mm, centre 100 mm from the left, 120 mm from the bottom" in row["what"]
    assert row["CAD file"] in {name for name, _ in drawing_files(plan, formats=["dxf"])}
    assert row["CAD file"] in (desk.out / "day-2027-03-01.txt").read_text(encoding="utf-8")


def test_the_edging_list_says_what_goes_by_hand_and_why(desk: Desk, hand_plan: Plan) -> None:
    steep = Edge(work=Work.MITRE, allowance=mm("1.5"), mitre=57_500, small_face="down")
    panel = hand_plan.panels[0]
    edges = (steep, Edge(work=Work.SEAMED, allowance=mm("1.5")), *panel.edges[2:])
    plan = replace(hand_plan, panels=(replace(panel, edges=edges), *hand_plan.panels[1:]))
    assert plan.panels[0].cut == cut_of(panel.finished, edges)
    assert desk.call(desk.write(plan)).exit_code == Exit.DONE
    rows = {(row["machine"], row["edgework"]): row for row in desk.rows("edges") if row["panel"] == panel.id}
    assert set(rows) == {("edging line", "polished"), ("by hand", "mitre"), ("by hand or belt", "seamed")}
    by_hand = rows["by hand", "mitre"]
    assert (by_hand["mitre degrees"], by_hand["m"]) == ("57.5", "0.697")
    assert by_hand["why by hand"] == "mitre of 57.5 degrees, the line makes 45"
    assert rows["edging line", "polished"]["edges"] == "top, left"
    # lists are sorted by machine, then panels come as they leave the table
    assert [row["panel"] for row in desk.rows("edges") if row["machine"] == "edging line"] == [
        "K-204/front/1", "K-204/back/1", "K-205/left side/1",
    ]  # fmt: skip


def test_heavy_sheets_are_lifted_as_the_shop_says(desk: Desk, hand_plan: Plan) -> None:
    # 2 m2 of 10 mm are 50 kg (2.5 kg per m2 and mm, EN 572-1), and longer than 1.8 m
    assert desk.call(desk.write(hand_plan)).exit_code == Exit.DONE
    (row,) = desk.rows("sheets")
    assert (row["kg"], row["lift"]) == ("50", "two persons")
    text = (desk.out / "day-2027-03-01.txt").read_text(encoding="utf-8")
    assert "Over 25 kg, two persons: 1 sheet of 50 kg." in text
    assert "Cut-resistant gloves" in text


def test_nothing_half_written(desk: Desk, week: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    path = desk.write(week)
    before = sorted(p.name for p in desk.folder.iterdir())

    def broken(*_: object) -> dict[str, str]:
        raise RuntimeError("no lists")

    with monkeypatch.context() as patched:
        patched.setattr(day_files, "day_lists", broken)
        assert desk.call(path).exit_code == Exit.FAULT
    assert sorted(p.name for p in desk.folder.iterdir()) == before
    assert desk.call(path).exit_code == Exit.DONE
    kept = desk.files()
    # another day in the same folder only by will
    assert "it holds the lists of a day" in desk.call(path, on=TUESDAY).output
    assert json.loads(desk.call(path, "--json", on=TUESDAY).stdout)["exit_code"] == Exit.USAGE
    assert desk.files() == kept
    assert desk.call(path, "--replace", on=TUESDAY).exit_code == Exit.LEFT_OVER
    assert "day-2027-03-02.txt" in desk.files() and "day-2027-03-01.txt" not in desk.files()


def test_the_folder_of_a_plan_and_those_of_others_stay(desk: Desk, week: Plan) -> None:
    path = desk.write(week)
    desk.out.mkdir()
    (desk.out / "plan.json").write_text(dumps(week), encoding="utf-8")
    assert "it holds a plan" in desk.call(path, "--replace").output
    (desk.out / "plan.json").rename(desk.out / "mine.txt")
    assert "it holds other files (mine.txt)" in desk.call(path, "--replace").output
    assert list(desk.files()) == ["mine.txt"]


def test_wrong_calls_and_wrong_plans(desk: Desk, week: Plan, week_plan: Callable[..., Plan]) -> None:
    path = desk.write(week)
    for text in ("", "0", "3-", "2-1", "x", "a:b", ":3", "1,,2", "9999999"):
        assert desk.call(path, "--done", text).exit_code == Exit.USAGE, text
    assert desk.call(path, "--done", "ABCD-EFGH:1").exit_code == Exit.USAGE
    assert desk.call(path, path).exit_code == Exit.USAGE
    assert desk.call().exit_code == Exit.USAGE
    assert desk.call(path, "--done", "5").exit_code == Exit.INPUT
    assert desk.call(desk.folder / "no such plan").exit_code == Exit.INPUT
    again = replace(week, seed=1)
    twice = desk.write(replace(again, id=plan_id(1, again.layouts)), "again.json")
    assert desk.call(path, twice).exit_code == Exit.INPUT
    assert desk.call(desk.write(again, "changed.json")).exit_code == Exit.INPUT
    other = desk.write(week_plan([("D", None)], seed=2), "other.json")
    assert desk.call(path, other, "--done", "1").exit_code == Exit.USAGE
    desk.shop.write_text("[racks]\nslots = 0\n", encoding="utf-8")
    assert desk.call(path).exit_code == Exit.INPUT
    data = json.loads(desk.call(desk.folder / "no such plan", "--json").stdout)
    assert data["exit_code"] == Exit.INPUT
    assert not desk.out.exists()


def test_two_plans_name_their_sheets_by_plan(desk: Desk, week: Plan, week_plan: Callable[..., Plan]) -> None:
    other = week_plan([("D", TUESDAY)], seed=2)
    result = desk.call(
        desk.write(week), desk.write(other, "other.json"), "--done", f"{week.id}:1-2", "--json"
    )
    assert result.exit_code == Exit.DONE, result.output
    data = json.loads(result.stdout)
    assert data["plans"] == [week.id, other.id]
    assert {(s["plan"], s["sheet"]) for s in data["sheets"]} == {(week.id, 3), (week.id, 4), (other.id, 1)}
    assert f"SHEET {week.id} 3" in (desk.out / "day-2027-03-01.txt").read_text(encoding="utf-8")


def test_columns_stay_apart_in_both_languages(desk: Desk, week: Plan) -> None:
    desk.shop.write_text(SHOP.replace("slots = 3", "slots = 1"), encoding="utf-8")
    path = desk.write(week)
    for language, full, keep, metres in (
        ("en", "no place free", "keep", r"\d\.\d m\b"),
        ("de", "kein Platz frei", "aufheben", r"\d,\d m\b"),
    ):
        args = ["--language", language, "day", path, "--on", MONDAY, "--shop", desk.shop, "--out", desk.out]
        args.append("--replace")
        contextvars.copy_context().run(CliRunner().invoke, main.app, [str(arg) for arg in args])
        text = (desk.out / f"day-{MONDAY.isoformat()}.txt").read_text(encoding="utf-8")
        assert re.search(rf"^  {full} [ABC]  ", text, re.MULTILINE)
        assert re.search(rf"^   {keep} +-$", text, re.MULTILINE)
        assert re.search(metres, text)
        assert language == "en" or not re.search(r"\d\.\d m\b", text)
