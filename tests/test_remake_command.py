"""`panewright remake` from a plan folder to a new one: records, options, files, exit codes."""

from __future__ import annotations

import contextvars
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from panewright.cli import main
from panewright.io.plan_reader import load

LIST = """order,panel,width,height,quantity,glass,due
K-1,front,1200,700,6,clear-10,2027-03-09
K-2,side,760,500,8,clear-10,2027-03-12
"""
STOCK = """kind,glass,width,height,on hand,price,buy
sheet,clear-10,650,450,1,20,no
"""


def run(*words):
    result = contextvars.copy_context().run(
        lambda: CliRunner().invoke(main.app, [str(w) for w in words], catch_exceptions=False)
    )
    return result


@pytest.fixture(scope="module")
def week(tmp_path_factory) -> Path:
    """A plan folder."""
    folder = tmp_path_factory.mktemp("remake")
    (folder / "list.csv").write_text(LIST, encoding="utf-8")
    made = run("plan", folder / "list.csv", "--effort", 20, "--out", folder / "week", "--no-panel-drawings")
    assert made.exit_code == 0, made.output
    return folder


def plan_of(folder):
    return load(folder)[0]


def event(number, **more):
    return {"id": f"e{number}", "at": f"2027-03-08T09:4{number}:00+01:00", "who": "", **more}


def test_a_record_beside_the_plan_is_read_and_the_new_folder_has_papers_for_what_changed(week, tmp_path):
    earlier = plan_of(week / "week")
    cut = earlier.layouts[0]
    panel = next(leaf.panel for leaf in cut.leaves if leaf.panel)
    record = {
        "schema": "panewright.record/1",
        "plan": earlier.id,
        "device": "table",
        "events": [
            event(1, sheet=cut.number, what="sheet cut"),
            event(2, sheet=cut.number, what="panel broken", panel=panel, at_step="drilling"),
        ],
    }
    path = tmp_path / "table.record.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    done = run("remake", week / "week", "--record", path, "--out", tmp_path / "b", "--effort", 20, "--json",
               "--no-panel-drawings")  # fmt: skip
    assert done.exit_code == 0, done.output
    said = json.loads(done.stdout)
    plan = plan_of(tmp_path / "b")
    assert said["follows"] == [earlier.id] and said["plan"] == plan.id
    (row,) = said["placed"]
    assert row["instead_of"] == panel and row["broke_at"] == "drilling" and row["panel"] == f"{panel}r1"
    changed = {s["number"] for s in said["sheets"]}
    assert cut.number not in changed and row["sheet"] in changed
    drawn = {int(n.split("-sheet-")[1].split(".")[0]) for n in said["files"] if "-sheet-" in n}
    assert drawn == changed
    text = (tmp_path / "b" / f"changes-{plan.id}.txt").read_text(encoding="utf-8")
    assert f"{panel}r1" in text and "drilling" in text
    assert run("check", tmp_path / "b").exit_code == 0
    # the same record again changes nothing, though the new plan is another one
    again = run("remake", tmp_path / "b", "--record", path, "--out", tmp_path / "c")
    assert again.exit_code == 0 and "nothing to make again" in again.output
    assert not (tmp_path / "c").exists()


def test_options_say_what_happened_and_what_is_ordered_besides(week, tmp_path):
    (tmp_path / "more.csv").write_text(
        "order,panel,width,height,quantity,glass,due\nU-1,lid,400,300,2,clear-10,2027-03-08\n",
        encoding="utf-8",
    )
    earlier = plan_of(week / "week")
    last = earlier.layouts[-1].number
    done = run("remake", week / "week", "--cut", "1", "--flawed", f"{last}=scratch", "--cancel", "K-2/side/1",
               "--add", tmp_path / "more.csv", "--out", tmp_path / "b", "--effort", 20, "--print",
               "--no-panel-drawings")  # fmt: skip
    assert done.exit_code == 0, done.output
    plan = plan_of(tmp_path / "b")
    names = {p.name for p in (tmp_path / "b").iterdir()}
    assert {f"cut-book-{plan.id}.pdf", f"labels-{plan.id}.pdf", f"sequence-{plan.id}.txt"} <= names
    ids = {leaf.panel for x in plan.layouts for leaf in x.leaves}
    assert {"U-1/lid/1", "U-1/lid/2"} <= ids
    assert last not in {x.number for x in plan.layouts} and "WHAT CHANGED" in done.output


def test_glass_that_is_not_there_leaves_panels_without_a_place(week, tmp_path):
    earlier = plan_of(week / "week")
    (tmp_path / "rack.csv").write_text(STOCK, encoding="utf-8")
    every = "1-" + str(max(x.number for x in earlier.layouts))
    panel = next(leaf.panel for leaf in earlier.layouts[0].leaves if leaf.panel)
    done = run("remake", week / "week", "--cut", every, "--broken", f"{panel}=edging", "--stock",
               tmp_path / "rack.csv", "--out", tmp_path / "b", "--effort", 5, "--no-panel-drawings")  # fmt: skip
    assert done.exit_code == 1 and "finds no place" in done.output
    assert [u.panel for u in plan_of(tmp_path / "b").unplaced] == [f"{panel}r1"]


def test_what_does_not_fit_is_told_and_nothing_is_written(week, tmp_path):
    for words, code, part in (
        (("--broken", "nobody/1=edging"), 3, "no such panel"),
        (("--broken", "K-1/front/1=sleep"), 2, "works:"),
        (("--cut", "99"), 3, "no such sheet"),
        (("--half-cut", "1=999"), 3, "no step 999"),
        (("--half-cut", "1"), 2, "number of a sheet"),
        (("--half-cut", "1=x"), 2, "SHEET=STEP"),
        (("--on-table", "1=12"), 3, "no size"),
        (("--flawed", "x"), 2, "SHEET=WHY"),
        (("--cancel", "Z-1"), 3, "no such order"),
    ):
        done = run("remake", week / "week", *words, "--out", tmp_path / "b")
        assert done.exit_code == code and part in done.output, (words, done.output)
    assert not (tmp_path / "b").exists()
    assert run("remake", tmp_path / "nothing", "--out", tmp_path / "b").exit_code == 3


def test_the_store_knows_what_is_cut_and_takes_the_new_plan(week, tmp_path):
    store = tmp_path / "stock.db"
    words = ("--glass", "clear-10", "--size", "3210x2250", "--count", "5", "--price", "60")
    got = run("stock", "receive", *words, "--stock", store)
    assert got.exit_code == 0, got.output
    made = run("plan", week / "list.csv", "--effort", 20, "--stock", store, "--commit", "--out", tmp_path / "a",
               "--no-panel-drawings")  # fmt: skip
    assert made.exit_code == 0, made.output
    earlier = plan_of(tmp_path / "a")
    assert len(earlier.layouts) == 2
    panel = next(leaf.panel for leaf in earlier.layouts[0].leaves if leaf.panel)
    for words in (("cut", earlier.id, "1"), ("broken", panel, "--at", "edging")):
        told = run("record", *words, "--stock", store)
        assert told.exit_code == 0, told.output
    done = run("remake", tmp_path / "a", "--stock", store, "--commit", "--out", tmp_path / "b", "--effort", 20,
               "--no-panel-drawings")  # fmt: skip
    assert done.exit_code == 0, done.output
    plan = plan_of(tmp_path / "b")
    assert 1 in {x.number for x in plan.layouts} and f"{panel}r1" in {p.id for p in plan.panels}
    # the first plan has given its place away
    late = run("remake", tmp_path / "a", "--stock", store, "--cancel", "K-1", "--out", tmp_path / "c")
    assert late.exit_code == 3 and plan.id in late.output
