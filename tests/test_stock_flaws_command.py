"""`stock flaw`, `record flawed` and the order of taking from the command line: what is said, kept and refused."""

from __future__ import annotations

import contextvars
import json
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner, Result

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io.plan_file import dumps
from panewright.io.problems import Problems
from panewright.io.record_file import load_record
from panewright.io.record_state import both, happened_of
from panewright.nesting.flaws import Flaw
from panewright.nesting.happened import Happened
from panewright.nesting.plan import Plan
from panewright.nesting.units import mm

SEED = Flaw(mm(900), mm(400), mm(30), mm(20), "seed")


def say(*words: object, code: int = Exit.DONE) -> Result:
    done = contextvars.copy_context().run(CliRunner().invoke, main.app, [str(w) for w in words])
    assert done.exit_code == code, done.output
    assert "Traceback" not in done.output
    return done


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PANEWRIGHT_WHO", "Ada")
    monkeypatch.delenv("PANEWRIGHT_STOCK", raising=False)
    return tmp_path


@pytest.fixture
def drawing(folder: Path) -> Path:
    """A sheet of 2000 x 1000 mm with a seed and a scratch."""
    doc = ezdxf.new()
    doc.header["$INSUNITS"] = 4
    space = doc.modelspace()
    for layer, corners in (
        ("SHEET-EDGE", [(0, 0), (2000, 0), (2000, 1000), (0, 1000)]),
        ("FLAW-SEED", [(900, 400), (930, 400), (930, 420), (900, 420)]),
    ):
        space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
    space.add_line((100, 700), (300, 700), dxfattribs={"layer": "FLAW-SCRATCH"})
    path = folder / "sheet.dxf"
    doc.saveas(path)
    return path


def receive(*more: str) -> None:
    say("stock", "receive", "--stock", "stock.db", "--glass", "clear-10", "--size", "2000x1000", *more)


def test_a_flaw_is_marked_shown_and_taken_back(folder: Path, drawing: Path) -> None:
    receive("--count", "3", "--case", "C-7", "--price", "61.40", "--place", "A1")
    receive("--offcut", "R-1", "--flaws", "5,5,0,0; 10,10,2,2 stain")
    marked = say("stock", "flaw", "C-7", "--drawing", drawing)
    assert "one sheet of case C-7 is C-7.f now, 2 are left" in marked.stdout
    said = json.loads(say("stock", "flaw", "R-1", "--flaw", "1;2;3;4", "--kind", "chip", "--json").stdout)
    assert said["flaws"] == [[1, 2, 3, 4, "chip"], [5, 5, 0, 0], [10, 10, 2, 2, "stain"]]
    shown = say("stock", "list").stdout
    assert "2 flaws: scratch, seed" in shown and "3 flaws: chip, stain" in shown and "set aside" not in shown
    listed = json.loads(say("stock", "list", "--json").stdout)
    cases = {row["number"]: row for row in listed["cases"]}
    assert cases["C-7.f"]["flaws"] == [[100, 700, 200, 0, "scratch"], [900, 400, 30, 20, "seed"]]
    assert (cases["C-7.f"]["free"], cases["C-7.f"]["price"], listed["sizes"][0]["free"]) == (1, 61.4, 2)
    for words, reason in (
        (("R-1",), "say what is marked"),
        (("R-1", "--none"), "say with --why"),
        (("C-7", "--none", "--why", "x"), "no sheet of case C-7 has flaws"),
        (("R-1", "--flaw", "1,2,3"), "as in 900,400,30,20"),
        (("R-1", "--flaw", "1,2,3,4", "--kind", "seed", "--kind", "chip"), "once behind every --flaw"),
    ):
        assert reason in " ".join(say("stock", "flaw", *words, code=Exit.USAGE).stderr.split())
    for words in (
        ("R-1", "--flaw", "1990,0,20,20"),
        ("R-9", "--flaw", "1,1,1,1"),
        ("R-1", "--drawing", "no.dxf"),
    ):
        say("stock", "flaw", *words, code=Exit.INPUT)
    say("stock", "flaw", "R-1", "--none", "--why", "was dirt")
    assert "no flaws" in say("stock", "flaw", "R-1", "--none", "--why", "was dirt").stdout
    assert "was dirt (before: 1,2,3,4 chip; 5,5,0,0; 10,10,2,2 stain)" in " ".join(
        say("stock", "history", "--json").stdout.split()
    )


def test_the_order_of_taking_is_said_and_shown(folder: Path) -> None:
    receive("--count", "3", "--case", "C-7", "--take", "2")
    say("stock", "move", "C-7", code=Exit.USAGE)
    assert "taken as number 4" in say("stock", "move", "C-7", "--take", "4").stdout
    (row,) = json.loads(say("stock", "list", "--json").stdout)["cases"]
    assert row["take"] == 4 and "take" in say("stock", "list").stdout
    say("stock", "flaw", "C-7", "--flaw", "5,5,9,9")
    cases = json.loads(say("stock", "list", "--json").stdout)["cases"]
    assert {row["number"]: row["take"] for row in cases} == {"C-7": 4, "C-7.f": 4}
    moved = json.loads(say("stock", "move", "C-7", "--to", "B 2", "--take", "0", "--json").stdout)["moved"]
    assert moved == [{"number": "C-7", "from": "", "to": "B 2", "take": None}]


def test_flaws_of_a_sheet_are_recorded_in_its_folder(folder: Path, drawing: Path, hand_plan: Plan) -> None:
    (folder / "plan").mkdir()
    (folder / "plan" / "plan.json").write_text(dumps(hand_plan), encoding="utf-8")
    told = json.loads(say("record", "flawed", "plan", 1, "--drawing", drawing, "--begun", "--json").stdout)[
        "events"
    ]
    assert [(e["flaw"], e["kind"]) for e in told] == [
        ([100, 699.5, 200, 1], "scratch"), ([900, 400, 30, 20], "seed"),
    ]  # fmt: skip
    words = say(
        "record", "flawed", "plan", 1, "--flaw", "5,5,10,10", "--flaw", "50,5,10,10", "--kind", "rub"
    ).stdout
    assert "sheet 1: sheet flawed, rub 10 x 10 mm at 50 / 5 mm" in words
    # those told before count as well
    assert "sheet 1: Under it lies: K-205/left side/1, K-204/back/1." in words
    record = load_record(folder / "plan" / f"{hand_plan.id}.record.json", Problems())
    assert record is not None
    happened = happened_of([record])
    assert (
        happened.begun == {1}
        and not happened.flawed
        and len(happened.flaws[1]) == 4
        and SEED in happened.flaws[1]
    )
    assert both(happened, Happened(flaws={1: (SEED,)})) == happened
    assert not both(happened, Happened(flawed={1: "fell"})).flaws
    say("record", "undo", told[1]["id"], "--plan", "plan")
    record = load_record(folder / "plan" / f"{hand_plan.id}.record.json", Problems())
    assert record is not None and SEED not in happened_of([record]).flaws[1]
    for more, code, reason in (
        (("--begun",), Exit.USAGE, "say where the flaw lies"),
        (("--flaw", "1990,0,20,20"), Exit.INPUT, "does not lie on a sheet of 2000 x 1000 mm"),
        (("--size", "1990x1000", "--drawing", drawing), Exit.INPUT, "nothing was recorded"),
    ):
        assert reason in " ".join(say("record", "flawed", "plan", 1, *more, code=code).stderr.split())


def test_a_kind_that_is_none_is_refused_in_a_record(folder: Path, hand_plan: Plan) -> None:
    event = {"id": "a", "at": "2027-03-08T09:41:00+01:00", "what": "sheet flawed", "sheet": 1,
             "flaw": [900, 400, 30, 20], "kind": "bubble"}  # fmt: skip
    path = folder / "a.record.json"
    text = {"schema": "panewright.record/1", "plan": hand_plan.id, "device": "table", "events": [event]}
    path.write_text(json.dumps(text), encoding="utf-8")
    problems = Problems()
    assert load_record(path, problems) is None
    assert "expected one of seed, stone" in problems.lines()[0] and "kind" in problems.lines()[0]
