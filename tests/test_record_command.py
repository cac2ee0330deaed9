"""`panewright record`, `stock trace` and `stock figures`: what is said, exit codes, stores and plan folders."""

from __future__ import annotations

import contextvars
import json
import stat
from datetime import datetime

import pytest
from click.testing import CliRunner

from panewright.cli import main, stock_figures, stock_trace
from panewright.cli.failures import Exit
from panewright.io.plan_file import dumps
from panewright.io.record_code import Done, encode
from panewright.io.record_file import Event, Record, What, record_text
from panewright.io.store.engine import open_store
from panewright.nesting.happened import AtStep


class Shop:
    """A working folder with a plan folder `week`, and the command line."""

    def __init__(self, folder, plans):
        self.folder, (self.plan, self.second), self.minute = folder, plans, 0
        self.week = folder / "week"
        self.week.mkdir()
        (self.week / "plan.json").write_text(dumps(self.plan), encoding="utf-8")

    def call(self, *args, command=main.app):
        words = [str(arg) for arg in args]
        return contextvars.copy_context().run(CliRunner().invoke, command, words)

    def record(self, *args, code=Exit.DONE):
        """Call it; each time a minute later, whatever the clock says."""
        if args[0] != "list" and "--on" not in args:
            self.minute += 1
            args = (*args, "--on", f"2027-03-08T10:{self.minute:02}")
        found = self.call("record", *args)
        assert found.exit_code == code, found.output
        assert "Traceback" not in found.output
        return found

    def say(self, *args, code=Exit.DONE):
        return json.loads(self.record(*args, "--json", code=code).stdout)

    def file(self, name, *events):
        path = self.folder / name
        path.write_text(record_text(Record(plan=self.plan.id, events=events)), encoding="utf-8")
        return path


@pytest.fixture
def shop(tmp_path, monkeypatch, chained_plans):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PANEWRIGHT_WHO", "Ada")
    monkeypatch.delenv("PANEWRIGHT_STOCK", raising=False)
    return Shop(tmp_path, chained_plans)


@pytest.fixture
def stocked(shop, databases, monkeypatch, record_table, chained_plans):
    shop.address = address = databases.empty()
    monkeypatch.setenv("PANEWRIGHT_STOCK", address)
    with open_store(address) as store:
        shop.table = record_table(store, chained_plans)
        yield shop


def test_a_day_at_the_table(stocked):
    shop, table = stocked, stocked.table
    plan, big, small = shop.plan.id, table.big, table.small
    done = shop.say(
        "cut", plan.lower(), "1", "--thrown", big, "--on", "2027-03-08T09:41", "--note", "dull wheel"
    )
    assert {(e["what"], e["offcut"]) for e in done["events"]} == {
        ("sheet cut", None), ("offcut thrown", big), ("offcut kept", small),
    }  # fmt: skip
    assert {e["who"] for e in done["events"]} == {"Ada"} and done["events"][0]["item"] == "C-1"
    again = shop.record("cut", plan, "1")
    assert "Nothing new" in again.stdout and "stock: " in again.stderr
    later = shop.say("cut", "week", "2", "--offcuts-later")
    assert len(later["unsaid"]) == 2
    broken = shop.record("broken", "K-1/front", "K-1/back/1", "--at", "edging")
    assert f"panewright remake {plan}" in broken.stdout
    kept = shop.record("kept", f"{plan}.2.a", "--size", "478x900", "--place", "R2")
    assert f"{plan}.2.a measures 900 x 478 mm" in kept.stdout, "the way round that the drawing has"
    lost = shop.record("thrown", small, code=Exit.LEFT_OVER)
    assert f"Sheet 1 of plan {shop.second.id} has no glass now" in lost.stdout
    listed = shop.say("list", plan)["events"]
    one = next(e for e in listed if e["what"] == "offcut thrown" and e["offcut"] == small)
    assert shop.say("undo", one["id"][:8])["events"][0]["changed"]
    shown = shop.record("list", "week").stdout
    assert shown.count("panel broken at edging") == 2 and "undone" in shown
    found = shop.call("K-9/lid/1", command=stock_trace.command)
    assert found.exit_code == 0 and f"from offcut {small}" in found.stdout and "by Ada" in found.stdout
    assert "case C-1 of Float Ltd" in found.stdout
    batch = json.loads(shop.call("C-1", "--json", command=stock_trace.command).stdout)
    assert len(batch["panels"]) == 7
    assert "Panels from C-1" in shop.call("C-1", command=stock_trace.command).stdout
    period = ["--from", "2027-03-08", "--to", "2027-03-08"]
    told = json.loads(shop.call(*period, "--json", command=stock_figures.command).stdout)
    assert told["total"]["recorded"]["sheets"] == 2 and told["total"]["planned"]["sheets"] == 3
    assert told["total"]["recorded"]["yield"] == 0.295, "0.24 of the first 2 m2, 0.94 of the others"
    table_ = shop.call(*period, command=stock_figures.command).stdout
    assert "Glass from 2027-03-08 to 2027-03-08" in table_ and "29.5 %" in table_


def test_wrong_words_are_named_and_change_nothing(stocked):
    shop = stocked
    before = shop.table.all_rows()
    shop.call("record", "list", shop.plan.id)
    for args, code, words in (
        (("cut", shop.plan.id, "0"), Exit.USAGE, "write sheet numbers"),
        (("cut", shop.plan.id, "7"), Exit.INPUT, "has no sheet 7"),
        (("cut", "ZZZZ-ZZZZ", "1"), Exit.INPUT, "the store has no plan"),
        (("cut", shop.plan.id, "1", "--thrown", "x"), Exit.INPUT, "has no offcut x on these sheets"),
        (("cut", shop.plan.id, "1", "--on", "noon"), Exit.USAGE, "write a time"),
        (("broken", "K-1", "--at", "edging"), Exit.INPUT, "did you mean K-1/back/1"),
        (("broken", "nobody", "--at", "edging"), Exit.INPUT, "look at the label"),
        (("kept", shop.table.big, "--size", "478"), Exit.USAGE, "as in 598x300"),
        (("kept", shop.table.big, "--size", "4000x980"), Exit.INPUT, "cannot measure"),
        (("flawed", shop.plan.id, "1", "--flaw", "1,2,3"), Exit.USAGE, "as in 900,400,30,20"),
        (("undo", "abc"), Exit.USAGE, "at least 4 letters"),
        (("undo", "abcd"), Exit.INPUT, "no event has an id"),
        (("code", "1234"), Exit.INPUT, "too short"),
        (("read", "week"), Exit.INPUT, "no record file"),
        (("read", "week/plan.json"), Exit.INPUT, "expected panewright.record/1"),
    ):
        found = shop.record(*args, code=code)
        assert words in found.stderr, (args, found.stderr)
    assert shop.table.all_rows() == before


def test_a_flaw_says_what_it_hits(stocked):
    shop, plan = stocked, stocked.plan.id
    words = shop.record("flawed", plan, "1", "--flaw", "1600,500,9,9").stdout
    assert "sheet 1: Neither a panel nor a cut is hit: the sheet is cut as planned." in words
    assert "panewright remake" not in words
    told = shop.say("flawed", plan, "1", "--flaw", "715,100,9,9")
    assert told["notes"] == ["sheet 1: Under it lies: K-1/front/1, K-1/back/1. 1 cut crosses it."]
    assert told["to_remake"] == [plan]
    assert shop.say("undo", told["events"][0]["id"])["notes"] == []
    cut = shop.say("cut", plan, "1")["events"]
    assert cut[0]["item"] == f"{plan}.1.f", "what hits nothing is cut as planned"


def test_files_and_codes_come_in_once(stocked):
    shop, table = stocked, stocked.table
    one = shop.file(
        "one.record.json", table.cut(1), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small)
    )
    two = shop.file("two.record.json", table.cut(2, id="e1x"), table.cut(9, id="e1y"))
    wrong = shop.record("read", one, two, code=Exit.INPUT)
    assert "has no sheet 9" in wrong.stderr and "two.record.json" in wrong.stderr
    assert table.state(shop.plan, 1) == "reserved"
    two = shop.file("two.record.json", table.cut(2, id="e1x"))
    assert len(shop.say("read", one, two)["events"]) == 3
    assert shop.say("read", one, two)["known"] == 3
    state = Done(sheets=frozenset({1, 2}), broken={"K-2/side/1": AtStep.DRILLING}, at=table.cut(0).at)
    code = encode(shop.plan, state)
    assert [e["what"] for e in shop.say("code", *code.lower().split("-"))["events"]] == ["panel broken"]
    assert "Nothing new" in shop.record("code", code).stdout


def test_without_a_store_the_plan_folder_keeps_the_record(shop):
    said = shop.record("cut", "week", "2,1", "--offcuts-later")
    path = shop.week / f"{shop.plan.id}.record.json"
    assert "Written to" in said.stdout and "Kept or thrown?" in said.stdout
    assert (
        stat.S_ISREG(path.stat().st_mode) and [p.name for p in shop.week.iterdir() if "tmp" in p.name] == []
    )
    text = path.read_text(encoding="utf-8")
    assert "Nothing new" in shop.record("cut", "week", "1", "--offcuts-later").stdout
    assert path.read_text(encoding="utf-8") == text
    refused = shop.record("cut", shop.plan.id, "1", code=Exit.USAGE)
    assert "no stock store" in refused.stderr
    assert "--plan" in shop.record("broken", "K-1/front/1", "--at", "edging", code=Exit.USAGE).stderr
    shop.record("broken", "K-1/front/1", "--at", "edging", "--plan", "week")
    shop.record("flawed", "week", "2", "--size", "1990x1000")
    events = shop.say("list", "week")["events"]
    assert [e["sheet"] for e in events] == [2, 1, 1, 2] and all(e["stands"] for e in events)
    shop.record("undo", events[0]["id"], "--plan", "week")
    page = shop.file("page.record.json", Event(id="p1", at=shop_time(events), what=What.SHEET_CUT, sheet=2))
    assert len(shop.say("read", page, "--plan", "week")["events"]) == 1
    assert shop.say("read", page, "--plan", "week")["events"] == []
    strange = Event(id="p2", at=shop_time(events), what=What.SHEET_CUT, sheet=9)
    wrong = shop.record("read", shop.file("odd.record.json", strange), "--plan", "week", code=Exit.INPUT)
    assert "has no sheet 9" in wrong.stderr
    code = encode(shop.plan, Done(sheets=frozenset({1, 2}), offcuts={f"{shop.plan.id}.1.a": True}))
    assert [e["what"] for e in shop.say("code", code, "--plan", "week")["events"]] == ["offcut kept"]
    (shop.week / "bad.record.json").write_text("{", encoding="utf-8")
    assert "nothing was recorded" in shop.record("cut", "week", "1", code=Exit.INPUT).stderr


def shop_time(events):
    return datetime.fromisoformat(events[-1]["at"])


def test_a_plan_that_was_never_committed_is_kept_in_its_folder(stocked, week_plan):
    other = stocked.folder / "other"
    other.mkdir()
    plan = week_plan([("A", None)])
    (other / "plan.json").write_text(dumps(plan), encoding="utf-8")
    said = stocked.record("cut", "other", "1")
    assert "the store does not have plan" in said.stderr
    assert [p.name for p in other.glob("*.record.json")] == [f"{plan.id}.record.json"]
    refused = stocked.record("cut", "other", "1", "--stock", stocked.address, code=Exit.INPUT)
    assert "the store has no plan" in refused.stderr, "a store that is named is meant"
    page = Event(id="p1", at=shop_time([{"at": "2027-03-08T12:00:00+00:00"}]), what=What.SHEET_CUT, sheet=1)
    path = stocked.folder / "page.record.json"
    path.write_text(record_text(Record(plan=plan.id, events=(page,))), encoding="utf-8")
    stocked.record("read", path, "--plan", "other")
    assert "the store has no plan" in stocked.record("read", path, code=Exit.INPUT).stderr


def test_the_day_knows_what_is_cut(stocked, monkeypatch):
    """From the store and from the record beside the plan; the second plan waits for an offcut of the first."""
    shop = stocked
    second = shop.folder / "lid.json"
    second.write_text(dumps(shop.second), encoding="utf-8")

    def day(*plans, code=Exit.DONE):
        found = shop.call("day", *plans, "--on", "2027-03-09", "--out", "out", "--replace", "--json")
        assert found.exit_code == code, found.output
        return json.loads(found.stdout)

    told = day(second, "week")
    keys = [(s["plan"], s["sheet"]) for s in told["sheets"]]
    assert keys.index((shop.plan.id, 1)) < keys.index((shop.second.id, 1)) and told["done"] == []
    assert any("is cut from an offcut of sheet" in note for note in told["notes"])
    alone = day(second, code=Exit.LEFT_OVER)
    assert alone["sheets"][0]["waits"] and "none of these plans cuts" in " ".join(alone["notes"])
    shop.record("cut", shop.plan.id, "2,1", "--offcuts-later")
    assert [d["sheet"] for d in day("week", second)["done"]] == [2, 1]
    assert not day(second)["sheets"][0]["waits"], "its maker is cut"
    monkeypatch.delenv("PANEWRIGHT_STOCK")
    shop.record("cut", "week", "1", "--offcuts-later")
    assert [d["sheet"] for d in day("week")["done"]] == [1]
    (shop.week / "bad.record.json").write_text("{", encoding="utf-8")
    assert "cannot be read" in day("week", code=Exit.INPUT)["error"]
