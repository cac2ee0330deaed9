"""`panewright remake` from a plan folder to a new one: records, options, files, exit codes."""

from __future__ import annotations

import contextvars
import json
from dataclasses import replace
from pathlib import Path
from shutil import copytree

import pytest
from click.testing import CliRunner

from panewright.cli import main
from panewright.io.plan_reader import load, loads
from panewright.io.store.address import address_of
from panewright.io.store.engine import open_store
from panewright.io.store.plan_lists import plan_text
from panewright.io.table_data import page_data
from panewright.nesting.happened import Happened, OnTable
from panewright.nesting.remake.sheets import lying_offcuts

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


def test_a_flaw_on_a_sheet_is_planned_around_without_a_store(week, tmp_path):
    earlier = plan_of(week / "week")
    (first, *_) = earlier.layouts
    outline = next(v.outline for v in first.leaves if v.panel)
    x, y = ((outline[0][a] + outline[2][a]) // 2_000_000 for a in (0, 1))
    done = run("remake", week / "week", "--flaw", f"{first.number}:{x},{y},3,2:scratch", "--out", tmp_path / "b",
               "--effort", 5, "--no-panel-drawings", "--json")  # fmt: skip
    assert done.exit_code == 0, done.output
    said = json.loads(done.stdout)
    (mark,) = said["marked"]
    assert mark["sheet"] == first.number and mark["flaws"] == [f"{x},{y},3,2 scratch"] and mark["cut_anew"]
    new = next(v for v in plan_of(tmp_path / "b").layouts if v.number == first.number)
    assert len(new.flaws) == 1 and new.flaw_kinds == ("scratch",)
    assert f"{said['plan']}-sheet-{first.number:02}.svg" in said["files"]
    text = (tmp_path / "b" / f"changes-{said['plan']}.txt").read_text(encoding="utf-8")
    assert "scratch 3 x 2 mm" in text and "around its flaws" in text
    assert run("check", tmp_path / "b").exit_code == 0


def test_a_sheet_cut_out_of_turn_is_planned_again_from_what_is_really_done(week, tmp_path):
    earlier = plan_of(week / "week")
    (first, *_) = earlier.layouts
    # the last piece that is cut up is held back, with what would come of it
    held = max(c.step for c in first.cuts if c.step < len(first.cuts) - 1)
    gone, done = {*first.cuts[held - 1].makes}, []
    for cut in first.cuts:
        if cut.step == held or cut.piece in gone:
            gone.update(cut.makes)
        else:
            done.append(cut.step)
    assert held < max(done)
    told = f"{first.number}=1-{held - 1}," + ",".join(str(s) for s in done if s > held)
    score = first.cuts[held - 1]
    x, y = ((score.start[a] + score.end[a]) // 2_000_000 for a in (0, 1))
    done_so = run("remake", week / "week", "--half-cut", told, "--flaw", f"{first.number}:{x},{y},3,2:crack",
                  "--out", tmp_path / "b", "--effort", 5, "--no-panel-drawings", "--json")  # fmt: skip
    assert done_so.exit_code in (0, 1), done_so.output
    said = json.loads(done_so.stdout)
    plan = plan_of(tmp_path / "b")
    new = next(v for v in plan.layouts if v.number == first.number)
    before = {c.step: c for c in first.cuts}
    for cut, step in zip(new.cuts, done, strict=False):
        old = before[step]
        assert (cut.piece, cut.start, cut.end, cut.makes) == (old.piece, old.start, old.end, old.makes)
    assert plan.extra["sheets"][str(first.number)]["cut_to_step"] == len(done)
    text = (tmp_path / "b" / f"changes-{said['plan']}.txt").read_text(encoding="utf-8")
    assert f"sheet {first.number}: its steps are counted anew, those that are done first" in text
    assert f"{said['plan']}-sheet-{first.number:02}.svg" in said["files"]
    assert run("check", tmp_path / "b").exit_code == 0


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
        (("--half-cut", "1=3-1"), 2, "SHEET=STEPS"),
        (("--half-cut", "1=1-2,,4"), 2, "7=1-12,14-25"),
        (("--half-cut", "1=1-2,998-999"), 3, "no step 998"),
        (("--half-cut", "1=2-3"), 3, "step 2 cuts a piece that step 1 makes"),
        (("--on-table", "1=12"), 3, "no size"),
        (("--on-table", "1=5000x5000"), 3, "more than is left of the sheet"),
        (("--on-table", "1=3210x2250,300x300"), 3, "more than is left of the sheet"),
        (("--gone", "R-1"), 3, "an offcut of this number"),
        (("--flawed", "x"), 2, "SHEET=WHY"),
        (("--flaw", "1"), 2, "SHEET:X,Y,W,H"),
        (("--flaw", "1:1,2,3:scratch"), 3, "x, y, width and height"),
        (("--flaw", "1:3200,0,30,30"), 3, "does not lie on a sheet"),
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


@pytest.fixture(scope="module")
def stored(week, tmp_path_factory) -> Path:
    """A folder with a store that a plan has taken its glass from; no sheet of it is recorded."""
    folder = tmp_path_factory.mktemp("stored")
    words = ("--glass", "clear-10", "--size", "3210x2250", "--count", "5", "--price", "60", "--case", "C-1")
    assert run("stock", "receive", *words, "--stock", folder / "stock.db").exit_code == 0
    made = run("plan", week / "list.csv", "--effort", 20, "--stock", folder / "stock.db", "--commit", "--out",
               folder / "a", "--no-panel-drawings")  # fmt: skip
    assert made.exit_code == 0, made.output
    return folder


@pytest.fixture
def desk(stored, tmp_path) -> Path:
    """A store of its own for each test."""
    copytree(stored, tmp_path / "desk")
    return tmp_path / "desk"


def remake(desk, plan, *words, out="b"):
    done = run("remake", plan, *words, "--stock", desk / "stock.db", "--commit", "--out", desk / out,
               "--effort", 20, "--no-panel-drawings")  # fmt: skip
    assert done.exit_code == 0, done.output
    audit = run("stock", "audit", "--stock", desk / "stock.db")
    assert audit.exit_code == 0, audit.output
    return done.output, plan_of(desk / out)


def test_an_offcut_of_a_sheet_told_as_cut_is_taken_before_new_glass(desk):
    earlier = plan_of(desk / "a")
    left = {leaf.offcut: x.number for x in earlier.layouts for leaf in x.leaves if leaf.offcut}
    assert left
    panel = next(leaf.panel for leaf in earlier.layouts[0].leaves if leaf.panel)
    # named by its id: the store has its plan file
    told, plan = remake(desk, earlier.id, "--cut", "all", "--broken", f"{panel}=edging")
    new = [x for x in plan.layouts if x not in earlier.layouts]
    assert [x.stock in left for x in new] == [True], told
    # but not where it is said not to be there
    told, plan = remake(desk, plan.id, "--gone", new[0].stock, out="c")
    assert {x.stock for x in plan.layouts}.isdisjoint({new[0].stock}), told


def test_a_half_cut_sheet_leaves_the_offcuts_that_came_off(desk):
    earlier = plan_of(desk / "a")
    sheet, leaf = next((x, leaf) for x in earlier.layouts for leaf in x.leaves if leaf.offcut)
    made = {name: cut.step for cut in sheet.cuts for name in cut.makes}
    step = made[leaf.piece]
    told = Happened(half={sheet.number: step})
    assert leaf.offcut in lying_offcuts(earlier, told)
    assert leaf.offcut not in lying_offcuts(earlier, Happened(half={sheet.number: step - 1}))
    assert leaf.offcut not in lying_offcuts(earlier, replace(told, gone=frozenset({leaf.offcut})))
    measured = (OnTable(sheet=sheet.number, width=10**8, height=10**8),)
    assert leaf.offcut not in lying_offcuts(earlier, replace(told, pieces=measured))


def test_an_order_given_up_on_a_cut_sheet_is_known_to_the_store_though_the_id_stays(desk):
    earlier = plan_of(desk / "a")
    told, plan = remake(desk, earlier.id, "--cut", "all", "--cancel", "K-2")
    assert plan.id == earlier.id and "whose sheets all stay" in told
    with open_store(address_of(str(desk / "stock.db"))) as store, store.reading() as connection:
        kept = loads(plan_text(connection, plan.id))
    assert kept.extra["panels"]["K-2/side/1"]["cancelled"]


def test_pieces_from_the_table_are_traced_to_their_case_and_come_with_the_commit_alone(desk):
    earlier = plan_of(desk / "a")
    words = ("--on-table", "1=2600x1800")
    done = run("remake", desk / "a", *words, "--stock", desk / "stock.db", "--out", desk / "d", "--effort", 20,
               "--no-panel-drawings")  # fmt: skip
    assert done.exit_code == 0 and "no piece from the table is in the store" in done.output
    _, plan = remake(desk, desk / "a", *words)
    piece = next(x for x in plan.layouts if x.stock == f"{earlier.id}.1.t1")
    panel = next(leaf.panel for leaf in piece.leaves if leaf.panel)
    for name, part in ((panel, "from case C-1"), ("C-1", panel)):
        traced = run("stock", "trace", name, "--stock", desk / "stock.db")
        assert traced.exit_code == 0 and part in traced.output, traced.output


def test_a_sheet_of_which_an_offcut_is_in_the_rack_is_not_whole_any_more(desk):
    earlier = plan_of(desk / "a")
    sheet, leaf = next((x, leaf) for x in earlier.layouts for leaf in x.leaves if leaf.offcut)
    store = ("--stock", desk / "stock.db")
    kept = run("record", "kept", leaf.offcut, "--place", "B2\x1b[31m\n", *store)
    assert kept.exit_code == 0 and "it stands at B2[31m" in kept.output, kept.output
    flawed = run("record", "flawed", earlier.id, sheet.number, *store)
    assert flawed.exit_code == 3 and leaf.offcut in flawed.output
    thrown = run("record", "thrown", leaf.offcut, *store)
    assert thrown.exit_code == 0, thrown.output
    said = json.loads(run("record", "list", earlier.id, "--json", *store).stdout)
    key = next(e["id"] for e in said["events"] if e["what"] == "offcut thrown")
    undone = run("record", "undo", key, *store)
    assert undone.exit_code == 0 and "cut from" not in undone.output, undone.output
    assert run("record", "flawed", earlier.id, sheet.number, *store).exit_code == 3


def test_the_page_of_a_plan_that_had_begun_knows_what_is_cut(desk):
    earlier = plan_of(desk / "a")
    panel = next(leaf.panel for leaf in earlier.layouts[0].leaves if leaf.panel)
    first = earlier.layouts[0].number
    _, plan = remake(desk, desk / "a", "--cut", first, "--broken", f"{panel}=edging")
    assert {s["number"]: s["cut"] for s in page_data(plan)["sheets"]} == {
        x.number: x.number == first for x in plan.layouts
    }
    assert not any(s["cut"] for s in page_data(earlier)["sheets"])
