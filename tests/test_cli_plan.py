"""`panewright plan`: exit codes, what is written and what is not, Ctrl-C, the folder, the summary."""

from __future__ import annotations

import contextvars
import csv
import json
import re
import signal
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from panewright.cli import main, planning
from panewright.cli.failures import Exit
from panewright.io.file_names import PLAN_FILE
from panewright.io.plan_file import loads
from panewright.nesting.checker import check
from panewright.nesting.plan import Plan
from panewright.nesting.planner import Planner

PANELS = """order,panel,quantity,width,height,glass,edges
K-1,base,2,600,400,clear-6,ground
K-1,front,3,1190,560,clear-6,polished
K-2,side,4,500,350,clear-6,ground
=1+1,..\\CON,1,700,333,clear-6,cut
K-2,base,1,900,450,clear-10,ground
"""
STOCK = """kind,glass,width,height,on hand,price,buy,number
sheet,clear-6,3210,2250,1,60,no,
sheet,clear-6,1605,2250,unlimited,33,yes,
sheet,clear-10,3210,2250,0,110,yes,
offcut,clear-6,1240,815,1,,,R-1
"""
CUT = {"id": "e1", "what": "sheet cut", "sheet": 1}


class Desk:
    """A working folder with a panel list and a stock list, where the command is run."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.out = folder / "out"
        self.list = self.write("panels.csv", PANELS)
        self.stock = self.write("stock.csv", STOCK)

    def write(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return path

    def plan(self, *more: str, lists: tuple[Path, ...] = (), effort: str | None = "1") -> Result:
        args = ["plan", *map(str, lists or (self.list,)), "--stock", str(self.stock), "--out", str(self.out)]
        if effort is not None:
            args += ["--effort", effort]
        # the shop's way to show lengths must not reach other tests
        return contextvars.copy_context().run(CliRunner().invoke, main.app, [*args, *more])

    def files(self) -> dict[str, bytes]:
        if not self.out.exists():
            return {}
        return {path.name: path.read_bytes() for path in self.out.iterdir()}

    def saved(self) -> Plan:
        return loads((self.out / PLAN_FILE).read_text(encoding="utf-8"), source=PLAN_FILE)


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.chdir(tmp_path)
    return Desk(tmp_path)


def nothing_written(desk: Desk) -> bool:
    return sorted(path.name for path in desk.folder.iterdir()) == ["panels.csv", "stock.csv"]


def test_a_plan_is_written_whole_and_passes_both_checkers(
    desk: Desk, outsider: Callable[..., None], tmp_path_factory: pytest.TempPathFactory
) -> None:
    result = desk.plan()
    assert result.exit_code == Exit.DONE, result.output
    plan = desk.saved()
    assert check(plan) == []
    outsider(plan, tmp_path_factory.mktemp("outsider"))
    assert len(plan.panels) == 11
    names = set(desk.files())
    assert all(plan.id in name for name in names - {PLAN_FILE})
    for name in (f"sequence-{plan.id}.csv", f"sequence-{plan.id}.txt", f"waste-{plan.id}.json"):
        assert name in names
    for ending in (".dxf", ".svg"):
        # sheets, and under them the panels
        assert sum(name.endswith(ending) for name in names) > len(plan.layouts), ending


def test_the_same_input_gives_the_same_bytes(desk: Desk) -> None:
    desk.plan()
    first = desk.files()
    assert first
    desk.out = desk.folder / "again"
    desk.plan()
    assert desk.files() == first


def test_a_second_run_of_the_same_plan_needs_no_replace(desk: Desk) -> None:
    desk.plan()
    before = desk.files()
    assert desk.plan().exit_code == Exit.DONE
    assert desk.files() == before


def test_without_panel_drawings_the_sheets_are_drawn_still(desk: Desk) -> None:
    assert desk.plan("--no-panel-drawings").exit_code == Exit.DONE
    drawn = [name for name in desk.files() if name.endswith(".svg")]
    assert len(drawn) == len(desk.saved().layouts)


def test_the_summary_says_what_to_pull_and_what_to_buy(desk: Desk) -> None:
    result = desk.plan()
    text = " ".join(result.stdout.split())
    plan = desk.saved()
    assert plan.id in text
    taken = {(layout.stock, layout.buy) for layout in plan.layouts}
    pull, buy = text.split("Buy", 1)
    for stock, bought in taken:
        assert stock in (buy if bought else pull), stock
    for word in (
        "gloves",
        "eye protection",
        "does not check the thickness of the glass",
        "Local rules",
        "gap",
    ):
        assert word in text, word
    assert f"sequence-{plan.id}.txt" in text
    assert "R-1" in text or not any(layout.is_offcut for layout in plan.layouts)


def test_the_summary_as_json_is_all_that_is_on_stdout(desk: Desk) -> None:
    result = desk.plan("--json")
    assert result.exit_code == Exit.DONE
    said = json.loads(result.stdout)
    plan = desk.saved()
    assert said["plan"] == plan.id
    assert said["exit_code"] == 0
    assert sum(row["count"] for row in said["stock"]) == len(plan.layouts)
    assert {row["source"] for row in said["stock"]} == {"buy" if x.buy else "rack" for x in plan.layouts}
    saved = json.loads((desk.out / PLAN_FILE).read_text(encoding="utf-8"))
    assert said["figures"] == saved["figures"]
    assert set(said["files"]) <= set(desk.files())


def test_the_waste_files_add_up_and_are_safe_in_a_spreadsheet(desk: Desk) -> None:
    desk.plan()
    plan = desk.saved()
    tables = {}
    for kind in ("sheets", "glass", "orders"):
        text = (desk.out / f"waste-{kind}-{plan.id}.csv").read_text(encoding="utf-8-sig")
        tables[kind] = list(csv.DictReader(text.splitlines()))
    total = tables["glass"][-1]
    assert total["glass"] == "total"
    for column in ("sheet area m2", "cut area m2", "trim area m2", "cullet area m2", "offcut area m2"):
        parts = sum(round(float(row[column]) * 10**6) for row in tables["sheets"])
        # each part is rounded by itself
        assert abs(parts - round(float(total[column]) * 10**6)) <= len(plan.layouts) + 1, column
    shares = sum(round(float(row["share of cost EUR"]) * 100) for row in tables["orders"])
    assert abs(shares - round(float(total["cost EUR"]) * 100)) <= len(tables["orders"])
    assert [row["order"] for row in tables["orders"]] == ["'=1+1", "K-1", "K-2"]


def test_all_problems_are_said_at_once_and_nothing_is_written(desk: Desk) -> None:
    second = desk.write("second.csv", "order,panel,width,height,glass\nA,b,nonsense,300,clear-6\n")
    desk.write("panels.csv", PANELS + "K-9,x,1,600,400,mystery-6,cut\nK-9,y,-3,600,400,clear-6,cut\n")
    desk.write("stock.csv", STOCK + "sheet,clear-6,banana,2250,1,60,no,\n")
    result = desk.plan(lists=(desk.list, second))
    assert result.exit_code == Exit.INPUT
    assert result.stdout == ""
    for word in ("mystery", "-3", "nonsense", "banana", "second.csv", "stock.csv", "nothing was written"):
        assert word in result.stderr, word
    assert not desk.out.exists()


def test_problems_as_json_go_to_stdout(desk: Desk) -> None:
    desk.write("panels.csv", PANELS + "K-9,x,1,600,400,mystery-6,cut\n")
    result = desk.plan("--json")
    assert result.exit_code == Exit.INPUT
    said = json.loads(result.stdout)
    assert said["exit_code"] == 3
    assert "mystery" in json.dumps(said)
    assert nothing_written(desk)


def test_a_missing_file_is_an_error_of_input(desk: Desk) -> None:
    result = desk.plan(lists=(desk.folder / "none.csv",))
    assert result.exit_code == Exit.INPUT
    assert "none.csv" in result.stderr
    assert "Traceback" not in result.stderr
    assert nothing_written(desk)


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        ("K-9,huge,1,3300,2300,clear-6,cut\n", "larger than every sheet"),
        ("K-9,slip,1,12,400,clear-6,cut\n", "break-out distance"),
        ("K-9,rare,1,600,400,clear-19,cut\n", "no stock of this glass"),
    ],
)
def test_what_no_stock_can_yield_is_named_before_any_search(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, row: str, rule: str
) -> None:
    def no_search(*_: object, **__: object) -> None:
        raise AssertionError("searched")

    desk.write("panels.csv", PANELS + row)
    monkeypatch.setattr(planning, "Planner", no_search)
    result = desk.plan()
    assert result.exit_code == Exit.INPUT, result.stderr
    assert row.split(",")[1] in result.stderr
    assert rule in result.stderr
    assert "--rest" in result.stderr
    assert nothing_written(desk)


def test_rest_plans_the_others_and_says_so(desk: Desk) -> None:
    desk.write("panels.csv", PANELS + "K-9,huge,1,3300,2300,clear-6,cut\n")
    result = desk.plan("--rest")
    assert result.exit_code == Exit.LEFT_OVER, result.output
    plan = desk.saved()
    (left,) = plan.unplaced
    assert left.panel.startswith("K-9/huge")
    assert left.rule == "larger than every sheet"
    assert "K-9/huge" in result.stdout
    assert check(plan) == []


def test_when_the_stock_runs_out_the_rest_is_unplaced(desk: Desk) -> None:
    desk.write("stock.csv", STOCK.replace("1605,2250,unlimited,33,yes", "1605,2250,0,33,no"))
    desk.write("panels.csv", PANELS + "K-7,front,30,1190,560,clear-6,polished\n")
    result = desk.plan()
    assert result.exit_code == Exit.LEFT_OVER, result.output
    plan = desk.saved()
    assert plan.unplaced
    assert {left.rule for left in plan.unplaced} == {"not enough stock"}
    assert "short of" in " ".join(result.stdout.split())
    assert not any(layout.buy for layout in plan.layouts if layout.glass == "clear-6")


def test_a_plan_that_the_checker_refuses_is_not_written(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "check", lambda _: ["sheet 1: panels overlap"])
    result = desk.plan()
    assert result.exit_code == Exit.FAULT
    assert "panels overlap" in result.stderr
    assert "Traceback" not in result.stderr
    assert nothing_written(desk)


@pytest.mark.parametrize(
    "more", [("--seconds", "1"), ("--seconds", "-1"), ("--seed", "x"), ("--effort", "-1")]
)
def test_wrong_calls_are_refused(desk: Desk, more: tuple[str, ...]) -> None:
    result = desk.plan(*more)
    assert result.exit_code == Exit.USAGE
    assert "panewright plan --help" in result.stderr
    assert nothing_written(desk)


def test_out_must_be_given(desk: Desk) -> None:
    result = CliRunner().invoke(main.app, ["plan", str(desk.list)])
    assert result.exit_code == Exit.USAGE
    assert "--out" in result.stderr


def test_another_plan_is_replaced_only_when_told(desk: Desk) -> None:
    assert desk.plan().exit_code == Exit.DONE
    before, first = desk.files(), desk.saved().id
    (desk.out / "notes.txt").write_text("mine", encoding="utf-8")
    result = desk.plan("--seed", "1")
    assert result.exit_code == Exit.USAGE
    assert first in result.stderr
    assert "--replace" in result.stderr
    assert desk.files() == before | {"notes.txt": b"mine"}
    assert desk.plan("--seed", "1", "--replace").exit_code == Exit.DONE
    assert desk.saved().id != first
    assert desk.files()["notes.txt"] == b"mine"
    assert not [name for name in desk.files() if first in name]


def test_a_sheet_recorded_as_cut_refuses_before_the_search(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.plan()
    record = {"schema": "panewright.record/1", "plan": desk.saved().id, "device": "t", "events": [CUT]}
    (desk.out / "table.record.json").write_text(json.dumps(record), encoding="utf-8")
    before = desk.files()
    monkeypatch.setattr(planning, "Planner", None)
    result = desk.plan("--replace")
    assert result.exit_code == Exit.USAGE, result.output
    assert "recorded as cut" in result.stderr
    assert desk.files() == before


def interrupt_after(slices: int, times: int) -> Callable[[Planner], bool]:
    """An `advance` that gets Ctrl-C after so many slices."""
    real, left = Planner.advance, [slices]

    def advance(self: Planner) -> bool:
        left[0] -= 1
        if left[0] == 0:
            for _ in range(times):
                signal.raise_signal(signal.SIGINT)
        real(self)
        # proven glasses would end the search before Ctrl-C comes
        return True

    return advance


def test_the_first_ctrl_c_keeps_the_best_plan(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Planner, "advance", interrupt_after(2, times=1))
    result = desk.plan("--seconds", "3600", effort=None)
    assert result.exit_code == Exit.DONE, result.output
    assert "best plan so far is kept" in result.stderr
    plan = desk.saved()
    assert {o.stopped_by for o in plan.outcomes.values()} <= {"interrupt", "bound met"}
    assert check(plan) == []


def test_the_second_ctrl_c_writes_nothing(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Planner, "advance", interrupt_after(2, times=2))
    result = desk.plan("--seconds", "3600", effort=None)
    assert result.exit_code == Exit.INTERRUPTED
    assert nothing_written(desk)


def test_time_ends_the_search(desk: Desk) -> None:
    result = desk.plan("--seconds", "0", effort=None)
    assert result.exit_code == Exit.DONE, result.output
    assert {o.stopped_by for o in desk.saved().outcomes.values()} <= {"time", "bound met"}
    assert desk.saved().effort is None


def test_the_run_says_which_shop_file_it_took(desk: Desk) -> None:
    assert "built-in" in desk.plan().stderr
    desk.write("shop.toml", SHOP)
    result = desk.plan("--replace")
    assert "shop: shop.toml" in result.stderr, result.output
    assert desk.saved().currency == "CHF"
    desk.write("other.toml", SHOP.replace("CHF", "SEK"))
    result = desk.plan("--replace", "--shop", "other.toml")
    assert "shop: other.toml" in result.stderr
    assert desk.saved().currency == "SEK"


def test_errors_of_the_shop_file_are_said_with_the_others(desk: Desk) -> None:
    desk.write("bad.toml", SHOP + "nonsense = 3\n")
    desk.write("panels.csv", PANELS + "K-9,x,1,600,400,mystery-6,cut\n")
    result = desk.plan("--shop", "bad.toml")
    assert result.exit_code == Exit.INPUT
    assert "nonsense" in result.stderr
    assert "mystery" in result.stderr
    assert not desk.out.exists()


SHOP = 'currency = "CHF"\n'


def plain(text: str) -> list[str]:
    """The lines of a summary without what depends on the effort: rows of tables, ids, figures, roundings."""
    lines = (line.rstrip() for line in text.splitlines() if not re.search(r"\S {3,}\S|Marks rounded", line))
    ids = (re.sub(r"[0-9A-Z]{4}-[0-9A-Z]{4}", "ID", line) for line in lines)
    figures = (re.sub(r"[0-9][0-9,.]*", "#", line) for line in ids)
    return [re.sub(r"# sheet of # kg|# sheets, the heaviest # kg", "# sheets", line) for line in figures]


def test_the_demo_plans_the_sample_week_and_says_what_to_open(
    short_demo: tuple[Path, Result], outsider: Callable[..., None], tmp_path: Path
) -> None:
    folder, result = short_demo
    plan = loads((folder / PLAN_FILE).read_text(encoding="utf-8"), source=PLAN_FILE)
    assert check(plan) == []
    assert not plan.unplaced
    assert plan.effort == 1
    outsider(plan, tmp_path)
    assert f"sequence-{plan.id}.txt" in result.stdout
    assert "built-in" not in result.stderr
    readme = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")
    shown = plain(readme.split("ends like this", 1)[1].split("```", 2)[1])
    said = plain(result.stdout.replace(str(folder), "panewright-demo"))
    assert "Mind:" in shown
    # which counts there are any of depends on how long was searched
    table = "At the table: # scores and breaks, # m of score, "
    assert [sum(line.startswith(table) for line in lines) for lines in (shown, said)] == [1, 1]
    assert [line for line in shown if line not in said and not line.startswith(table)] == []


def test_lists_without_a_panel_are_an_error(tmp_path):
    from click.testing import CliRunner

    from panewright.cli.plan import command as plan_command

    empty = tmp_path / "empty.csv"
    empty.write_text("order,panel,quantity,width,height,glass\n", encoding="utf-8")
    run = CliRunner().invoke(plan_command, [str(empty), "--out", str(tmp_path / "out")])
    assert run.exit_code == 3
    assert "no panel to plan" in run.stderr
    assert not (tmp_path / "out").exists()
