"""`panewright stock`: a trip through the racks from the command line, its answers, exit codes and refusals."""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner, Result
from sqlalchemy import text

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.cli.stock import COMMANDS
from panewright.cli.stock import command as stock
from panewright.io.plan_file import dumps
from panewright.io.store.engine import open_store
from panewright.nesting.plan import Plan

SHOP = """currency = "EUR"
[offcuts]
days = 100
[stock]
clear-10 = [{ size = [3000, 2000], price = 120 }]
"""
LIST = """kind,glass,width,height,on hand,price,number,raw sides,case,supplier,place,measured,day,note
sheet,clear-10,2000,1000,3,61.40,,,C-7,Float & Co,A1,9.8,2027-03-01,
sheet,clear-10,3000,2000,2,,,,,,A2,,,second choice
sheet,clear-10,3000,2000,unlimited,,,,,,,,,
offcut,clear-10,800,700,,,R-1,left bottom,,,B1,,2027-02-01,
offcut,clear-10,900,350,1,,R-2,,,,B1,,2027-01-01,
"""


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with the list above, made by the command."""
    folder = tmp_path_factory.mktemp("template")
    (folder / "my.toml").write_text(SHOP, encoding="utf-8")
    (folder / "delivery.csv").write_text(LIST, encoding="utf-8")
    args = ["stock", "receive", folder / "delivery.csv", "--stock", folder / "stock.db"]
    done = CliRunner().invoke(main.app, [str(a) for a in (*args, "--shop", folder / "my.toml")])
    assert done.exit_code == Exit.DONE, done.output
    return folder


class Desk:
    """A folder with a shop file, a delivery list and a store, in which `stock` is called."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def call(self, *args: object, code: int = Exit.DONE) -> Result:
        done = CliRunner().invoke(main.app, ["stock", *(str(a) for a in args)])
        assert done.exit_code == code, done.output
        assert "Traceback" not in done.output
        return done

    def json(self, *args: object, code: int = Exit.DONE) -> dict[str, Any]:
        said = json.loads(self.call(*args, "--json", code=code).stdout, parse_float=Decimal)
        assert said["exit_code"] == code
        return said

    def write(self, name: str, content: str) -> Path:
        path = self.folder / name
        path.write_text(content, encoding="utf-8")
        return path

    def pieces(self) -> dict[str, int]:
        said = self.json("list")
        return {row["number"]: row["in_rack"] for row in (*said["cases"], *said["offcuts"])}


@pytest.fixture
def desk(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    for name in ("stock.db", "delivery.csv"):
        shutil.copyfile(template / name, tmp_path / name)
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PANEWRIGHT_STOCK", raising=False)
    monkeypatch.setenv("PANEWRIGHT_WHO", "Ada")
    return Desk(tmp_path)


@pytest.fixture
def plan_path(desk: Desk, hand_plan: Plan) -> Path:
    """A plan of one sheet 2000 x 1000 mm with two offcuts."""
    return desk.write("plan.json", dumps(hand_plan))


def test_a_trip_through_the_racks(desk: Desk, plan_path: Path, hand_plan: Plan) -> None:
    # the list said what came in
    assert desk.pieces() == {"C-7": 3, "C-0001": 2, "R-1": 1, "R-2": 1}
    one = desk.json("list", "--glass", "clear", "--kind", "sheet", "--place", "A1")["cases"]
    assert [(c["number"], c["supplier"], c["price"], c["measured"]) for c in one] == [
        ("C-7", "Float & Co", Decimal("61.4"), Decimal("9.8"))
    ]
    offcuts = desk.json("list", "--day", "2027-03-03")["offcuts"]
    assert [(o["number"], o["days"], o["raw"]) for o in offcuts] == [
        ("R-2", 61, []),
        ("R-1", 30, ["left", "bottom"]),
    ]
    # 120 for 6 m2 is 20 a m2, an offcut half of it, 1/100 less a day
    assert [o["worth"] for o in offcuts] == [Decimal("1.2285"), Decimal("3.92")]

    # a plan takes its glass
    taken = desk.json("reserve", plan_path)
    assert taken["reserved"] == [{"sheet": 1, "from": "C-7"}] and not taken["again"]
    assert desk.json("reserve", desk.folder)["again"]
    assert "reserved" in desk.call("plans").stdout
    uses = desk.json("fits", "--offcut", "R-1")["offcuts"][0]["panels"]
    assert [(u["panel"], u["width"], u["sheets"]) for u in uses] == [
        ("back", 500, [1]),
        ("front", 700, [1]),
        ("left side", 600, [1]),
    ]

    # stock-taking
    shown = desk.call("count", "C-7=0", "C-0001=2", "R-2=0", code=Exit.DONE)
    assert "would be without glass" in shown.stderr and "Nothing is changed yet" in shown.stdout
    assert desk.pieces()["C-7"] == 3
    said = desk.json("count", "C-7=0", "C-0001=2", "R-2=0", "--post", code=Exit.LEFT_OVER)
    assert [(r["number"], r["difference"]) for r in said["rows"]] == [("C-7", -3), ("C-0001", 0), ("R-2", -1)]
    assert said["without_glass"] == [{"plan": hand_plan.id, "sheet": 1}]
    assert said["difference_m2"] == Decimal("-6.315")
    # to take its glass once more says that it has none
    again = desk.json("reserve", plan_path, code=Exit.LEFT_OVER)
    assert again["again"] and again["without_glass"] == said["without_glass"]
    assert f"panewright remake {hand_plan.id}" in desk.call("plans").stdout

    # found again, thrown away, moved, corrected
    desk.call("adjust", "C-7", "--by", 2, "--why", "behind the door")
    assert "without glass" not in desk.call("scrap", "C-7", "--count", 1, "--why", "scratched").stderr
    desk.call("move", "C-7", "R-1", "--to", "Z 9")
    assert desk.json("list", "--place", "Z")["sizes"][0]["in_rack"] == 1
    desk.call("adjust", "C-0001", "--price", "118.50", "--why", "invoice 12", "--who", "Bo")
    value = desk.json("value", "--day", "2027-02-01")
    assert value["total"]["worth"] == Decimal("61.4") + 2 * Decimal("118.5") + Decimal("5.6")
    assert value["by_glass"]["clear-10"]["sheet_pieces"] == 3

    desk.call("withdraw", hand_plan.id.lower(), "--why", "cancelled")
    assert desk.call("plans").stdout.strip() == "No plan has taken glass."
    history = desk.json("history", "--last", 0)["movements"]
    assert [m["what"] for m in history if m["number"] == "C-7"] == [
        "received",
        "reserved",
        "released",
        "counted",
        "adjusted",
        "scrapped",
        "moved",
    ]
    assert {m["who"] for m in history if m["what"] != "received"} == {"Ada", "Bo"}
    assert "all balances are right" in desk.call("audit").stdout


def test_the_same_list_twice_adds_nothing_by_accident(desk: Desk) -> None:
    before = desk.pieces()
    refused = desk.call("receive", "delivery.csv", code=Exit.INPUT)
    assert "was received on" in refused.stderr and "--more" in refused.stderr
    # the same in a workbook, under another name
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(LIST)):
        book.active.append(row)
    book.save(desk.folder / "again.xlsx")
    desk.call("receive", "again.xlsx", code=Exit.INPUT)
    # a list with one row more: the numbers are known
    longer = desk.write("longer.csv", LIST + "sheet,clear-10,1000,1000,1,,,,,,,,,\n")
    refused = desk.call("receive", longer, code=Exit.INPUT)
    assert 'row 2, column "case", value "C-7"' in refused.stderr
    assert 'row 5, column "number", value "R-1"' in refused.stderr
    assert desk.pieces() == before
    # --more is meant for cases; the number of an offcut stays its own
    desk.call("receive", "delivery.csv", "--more", code=Exit.INPUT)
    cases = desk.write("cases.csv", "".join(LIST.splitlines(keepends=True)[:3]))
    desk.call("receive", cases, "--more")
    assert desk.pieces() == before | {"C-7": 6, "C-0002": 2}
    desk.call("receive", cases, code=Exit.INPUT)


def test_all_problems_of_a_list_are_told_and_nothing_is_received(desk: Desk) -> None:
    rows = [
        "board,clear-10,2000,1000,3,,,,,,,,,",
        "sheet,clear-11,2000,1000,3,,,,,,,,,",
        "sheet,clear-10,20,1000,3,,,,,,,,,",
        "sheet,clear-10,2000,1000,,,,,,,,,,",
        "sheet,clear-10,2000,1000,3,1.23456,,,,,,,,",
        "sheet,clear-10,2000,1000,3,,,,,,,5,,",
        "sheet,clear-10,2000,1000,3,,,,,,,,1.2.27,",
        "sheet,clear-10,2000,1000,3,,R-7,,,,,,,",
        "sheet,clear-10,2000,1000,3,,,left,,,,,,",
        f"sheet,clear-10,2000,1000,3,,,,,{'x' * 81},,,,",
        "sheet,clear-10,2000,1000,3,,,,clear-10 2000x1000,,,,,",
        "offcut,clear-10,800,700,,,,,,,,,,",
        "offcut,clear-10,800,700,2,,R-8,,,,,,,",
        "offcut,clear-10,800,700,,,R-9,up,,,,,,",
        "offcut,clear-10,800,700,,,R-1,,C-1,,,,,",
        "offcut,clear-12,50,50,,,R-10,all,,,,,,",
        "sheet,clear-10,2000,1000,3,,,,C-8,,,,,fine",
        "sheet,clear-10,2000,1000,3,,,,C-8,,,,,fine",
    ]
    path = desk.write("bad.csv", LIST.splitlines()[0] + "\n" + "\n".join(rows) + "\n")
    fresh = desk.folder / "fresh.db"
    done = CliRunner().invoke(main.app, ["stock", "receive", str(path), "--stock", str(fresh), "--json"])
    assert done.exit_code == Exit.INPUT
    problems = [p for p in json.loads(done.stdout)["problems"] if p["severity"] == "error"]
    assert [(p["row"], p["column"]) for p in problems] == [
        (2, "kind"),
        (3, "glass"),
        (4, "width"),
        (5, "on hand"),
        (6, "price"),
        (7, "measured"),
        (8, "day"),
        (9, "number"),
        (10, "raw sides"),
        (11, "supplier"),
        (12, "case"),
        (13, "number"),
        (14, "on hand"),
        (15, "raw sides"),
        (16, "case"),
        (17, "width"),
        (19, "case"),
    ]
    assert all(p["reason"] and p["remedy"] and p["file"] for p in problems)
    assert not fresh.exists(), "no empty store is left behind"


def test_one_case_or_offcut_by_options(desk: Desk) -> None:
    given = (
        "--glass",
        "clear-10",
        "--size",
        "78-3/4 in x 1000",
        "--count",
        4,
        "--price",
        "61,40",
        "--place",
        "A3",
    )
    said = desk.json("receive", *given, "--note", "wet", "--day", "2027-03-01")["received"]
    assert said == [
        {
            "number": "C-0002",
            "kind": "sheet",
            "glass": "clear-10",
            "width": Decimal("2000.25"),
            "height": 1000,
            "count": 4,
            "price": Decimal("61.4"),
            "place": "A3",
            "new": True,
            "reserved_for": [],
        }
    ]
    desk.call("receive", "--offcut", "R-3", "--glass", "clear-10", "--size", "900X400", "--raw", "left,top")
    assert [o["raw"] for o in desk.json("list")["offcuts"] if o["number"] == "R-3"] == [["left", "top"]]
    refused = desk.call(
        "receive", "--glass", "clear-77", "--size", "2000", "--count", "many", code=Exit.INPUT
    )
    for option in ("--glass", "--size", "--count"):
        assert f'command line, column "{option}"' in refused.stderr
    refused = desk.call("receive", *given, "--case", "C-7", code=Exit.INPUT)
    assert 'column "--case", value "C-7"' in refused.stderr
    desk.call("receive", code=Exit.USAGE)
    desk.call("receive", "delivery.csv", "--glass", "clear-10", code=Exit.USAGE)
    desk.call("receive", *given, "--stock", "rack.csv", code=Exit.USAGE)
    assert not (desk.folder / "rack.csv").exists()


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_count_list_is_written_filled_in_and_read_back(desk: Desk, ending: str) -> None:
    desk.call(
        "receive",
        "--glass",
        "clear-10",
        "--size",
        "2000x1000",
        "--count",
        2,
        "--case",
        "=1+1",
        "--place",
        "@A",
    )
    path = desk.folder / f"count.{ending}"
    desk.call("count", "--template", path)
    desk.call("count", "--template", path, code=Exit.USAGE)
    counted = {"=1+1": 1, "C-7": 3, "R-1": 0}
    if ending == "csv":
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
    else:
        rows = [
            ["" if c is None else str(c) for c in row] for row in openpyxl.load_workbook(path).active.values
        ]
    head = rows[0]
    number, found = head.index("number"), head.index("counted")
    # by place, and no cell is a formula
    assert [row[number] for row in rows[1:]] == ["'=1+1", "C-7", "C-0001", "R-1", "R-2"]
    assert rows[1][0] == "'@A"
    for row in rows[1:]:
        row[found] = str(counted.get(row[number].lstrip("'"), ""))
    if ending == "csv":
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows(rows)
    else:
        book = openpyxl.Workbook()
        for row in rows:
            book.active.append(row)
        book.save(path)
    desk.call("scrap", "C-7", "--why", "fell over")
    done = desk.call("count", "--from", path)
    assert 'value "3": the store said 3 when the list was written, and says 2 now' in done.stderr
    said = desk.json("count", "--from", path, "--post")
    assert [(r["number"], r["in_rack"], r["counted"]) for r in said["rows"]] == [
        ("=1+1", 2, 1),
        ("C-7", 2, 3),
        ("R-1", 1, 0),
    ]
    assert said["not_counted"] == 2
    assert desk.pieces() == {"=1+1": 1, "C-7": 3, "C-0001": 2, "R-2": 1}


def test_a_count_that_names_what_is_not_there_changes_nothing(desk: Desk) -> None:
    rows = "number,counted\nC-7,2\nC-9,1\nR-1,2\nC-7,1\n,3\nR-2,some\n"
    refused = desk.call("count", "--from", desk.write("c.csv", rows), "--post", code=Exit.INPUT)
    for row, column in ((5, "number"), (6, "number"), (7, "counted")):
        assert f'row {row}, column "{column}"' in refused.stderr
    rows = "number,counted\nC-7,2\nC-9,1\nR-1,2\n"
    refused = desk.call("count", "--from", desk.write("c.csv", rows), "--post", code=Exit.INPUT)
    assert (
        'row 3, column "number", value "C-9": the store knows no C-9; did you mean C-0001, C-7?'
        in refused.stderr
    )
    assert 'row 4, column "counted", value "2": offcut R-1 is one piece' in refused.stderr
    assert desk.pieces()["C-7"] == 3
    desk.call("count", "C-7", code=Exit.USAGE)
    desk.call("count", "C-7=1", "C-7=2", code=Exit.USAGE)
    desk.call("count", code=Exit.USAGE)
    desk.call("count", "--from", desk.write("c.csv", "number,counted\nC-7,\n"), code=Exit.INPUT)
    desk.call("count", "C-99=1", code=Exit.INPUT)


def test_fits_by_lists_by_plan_files_and_the_other_way(desk: Desk, plan_path: Path) -> None:
    orders = desk.write(
        "orders.csv",
        "order,panel,quantity,width,height,glass,edges,due\nK-1,shelf,2,690,640,clear-10,cut,2027-03-12\n"
        "K-2,top,1,5000,640,clear-10,cut,\nK-3,lid,1,300,200,clear-6,cut,\n",
    )
    said = desk.json("fits", orders, plan_path)
    assert said["panels_looked_at"] == 7
    by_name = {o["offcut"]: o["panels"] for o in said["offcuts"]}
    assert list(by_name) == ["R-1", "R-2"] and by_name["R-2"] == []
    assert [(u["order"], u["panel"], len(u["ids"])) for u in by_name["R-1"]] == [
        ("K-1", "shelf", 2),
        ("K-204", "back", 1),
        ("K-204", "front", 1),
        ("K-205", "left side", 1),
    ]
    shown = desk.call("fits", orders).stdout
    assert "shelf" in shown and "none of these panels" in shown and "2027-03-12" in shown
    found = desk.json("fits", "--glass", "clear-10", "--size", "600x340", "--day", "2027-02-01")["offcuts"]
    assert [o["offcut"] for o in found] == ["R-1"]  # 10 mm beside it could not be broken off R-2
    found = desk.json("fits", "--glass", "clear-10", "--size", "600x350", "--day", "2027-02-01")["offcuts"]
    assert [o["offcut"] for o in found] == ["R-2", "R-1"]
    # the strip along the raw left side is the larger rest of R-1
    assert (found[0]["turned"], found[0]["left"]) == (False, [])
    assert (found[1]["turned"], found[1]["left"]) == (True, [[450, 700]])
    assert "No free offcut would do" in desk.call("fits", "--glass", "clear-10", "--size", "2000x700").stderr
    desk.call("fits", "--size", "600x350", code=Exit.INPUT)
    desk.call("fits", "--size", "600x350", "--glass", "clear-10", "--offcut", "R-1", code=Exit.USAGE)
    desk.call("fits", "--offcut", "C-7", code=Exit.INPUT)
    desk.call("fits", "--offcut", "R-77", code=Exit.INPUT)
    assert "no open plan" in desk.call("fits").stderr


def test_a_plan_that_does_not_pass_its_check_takes_no_glass(desk: Desk, hand_plan: Plan) -> None:
    bad = replace(
        hand_plan, layouts=(replace(hand_plan.layouts[0], width=hand_plan.layouts[0].width + 1_000_000),)
    )
    refused = desk.call("reserve", desk.write("bad.json", dumps(bad)), code=Exit.INPUT)
    assert "does not pass its check" in refused.stderr
    desk.call("reserve", desk.folder / "nothing.json", code=Exit.INPUT)
    desk.call("withdraw", "NOTHING", code=Exit.INPUT)


def test_a_plan_whose_glass_is_gone_is_told_so_and_how_to_go_on(desk: Desk, plan_path: Path) -> None:
    desk.call("scrap", "C-7", "--count", 3, "--broken", "--why", "fell over")
    refused = desk.call("reserve", plan_path, code=Exit.INPUT)
    assert "sheet 1: no clear-10 2000x1000 is free in the rack any more" in refused.stderr
    assert "plan its lists again" in refused.stderr
    assert desk.json("plans", "--all")["plans"] == []


def test_a_damaged_balance_is_found(desk: Desk) -> None:
    with open_store("stock.db") as store, store.writing() as connection:
        connection.execute(text("update item set on_hand = 9 where name = 'C-7'"))
    assert "9 / 3" in desk.call("audit", code=Exit.LEFT_OVER).stdout
    assert desk.json("audit", code=Exit.LEFT_OVER)["discrepancies"] == [
        {"number": "C-7", "balance": [9, 0, 0], "movements": [3, 0, 0]}
    ]


def test_history_of_days_and_of_what_is_not_known(desk: Desk) -> None:
    assert "no movement" in desk.call("history", "--to", "2001-01-01").stdout
    assert len(desk.json("history", "--from", "2001-01-01", "--last", 2)["movements"]) == 2
    desk.call("history", "--from", "2027-03-02", "--to", "2027-03-01", code=Exit.USAGE)
    desk.call("history", "nothing", code=Exit.INPUT)
    assert "received" in desk.call("history", "R-1").stdout


def test_every_command_is_thin_to_load_and_speaks_of_a_missing_store(desk: Desk) -> None:
    (desk.folder / "stock.db").unlink()
    for name, args in {
        "list": [],
        "value": [],
        "history": [],
        "plans": [],
        "audit": [],
        "fits": [],
        "count": ["C-7=1"],
        "move": ["C-7", "--to", "A"],
        "scrap": ["C-7", "--why", "x"],
        "adjust": ["C-7", "--by", 1, "--why", "x"],
        "withdraw": ["X"],
    }.items():
        refused = desk.call(name, *args, code=Exit.INPUT)
        assert "panewright stock receive" in refused.stderr, name
        assert desk.json(name, *args, code=Exit.INPUT)["error"]
    assert not (desk.folder / "stock.db").exists()
    assert list(stock.commands) == [n for n in COMMANDS if n in stock.commands]


def test_the_store_is_where_the_environment_says(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    (desk.folder / "stock.db").rename(desk.folder / "other.db")
    monkeypatch.setenv("PANEWRIGHT_STOCK", "other.db")
    shown = desk.call("list")
    assert "stock: other.db" in shown.stderr and "C-7" in shown.stdout
    assert "other.db" not in desk.call("list", "--stock", "other.db").stderr


def test_help_loads_no_database() -> None:
    code = (
        "import sys\nfrom panewright.cli.main import app\n"
        "try:\n    app.main(['stock', '--help'])\nexcept SystemExit as end:\n    assert not end.code\n"
        "assert not {'sqlalchemy', 'alembic', 'rich', 'openpyxl', 'numpy'} & set(sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "receive" in done.stdout


def test_the_same_commands_on_both_databases(
    databases: Any, desk: Desk, plan_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = databases.empty()
    monkeypatch.setenv("PANEWRIGHT_STOCK", address)
    done = desk.call("receive", "delivery.csv")
    if "://" in address:
        assert "stock: PostgreSQL stock_" in done.stderr and "://" not in done.output
    desk.call("receive", "delivery.csv", code=Exit.INPUT)
    desk.call("reserve", plan_path)
    desk.call("count", "C-7=0", "R-1=1", code=Exit.DONE)
    # what was looked at is taken back
    assert desk.pieces().items() >= {"C-7": 3, "C-0001": 2, "R-1": 1, "R-2": 1}.items()
    assert desk.json("audit")["movements"] == 7
    desk.call("count", "C-7=0", "R-1=1", "--post", code=Exit.LEFT_OVER)
    desk.call("move", "R-1", "R-2", "--to", "Z 9", "--why", "'; drop table item; --")
    assert len(desk.json("list", "--place", "Z 9")["offcuts"]) == 2
    # four received, one reserved, two expected, one released, two counted, two moved
    assert desk.json("audit")["movements"] == 12


@pytest.mark.parametrize("name", ["list", "value", "history", "plans"])
def test_json_and_tables_say_the_same(desk: Desk, name: str, plan_path: Path) -> None:
    desk.call("reserve", plan_path)
    shown: Callable[..., Result] = desk.call
    said = json.dumps(desk.json(name), default=str)
    for word in ("C-7",) if name != "plans" else ("open",):
        assert word in said
        assert word in shown(name, *(["--items"] if name == "value" else [])).stdout
