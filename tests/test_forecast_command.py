"""`panewright forecast` on small lists: what it says, what it writes, and what it refuses."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from panewright.cli.main import app
from panewright.nesting.demand.weeks import monday, week_of

ON = date(2027, 3, 8)
SUPPLY = "glass,width,height,price,lead days\nclear-6,3210,2250,60,5\nclear-10,3210,2250,110,5\n"
STOCK = (
    "kind,glass,width,height,on hand,price,buy\n"
    "sheet,clear-6,3210,2250,3,60,yes\n"
    "sheet,clear-10,3210,2250,1,110,yes\n"
)


def history(weeks: int = 12, more: str = "") -> str:
    """Two orders a week, one of each glass, booked nine days before they were cut."""
    rows = ["order,panel,quantity,width,height,glass,booked,due,cut"]
    first = week_of(ON) - weeks
    for w in range(weeks):
        day = monday(first + w) + timedelta(days=2)
        came = day - timedelta(days=9)
        rows.append(f"A-{w},side,{3 + w % 3},900,{500 + 10 * (w % 4)},clear-6,{came},{day},{day}")
        rows.append(f"B-{w},side,{4 + w % 2},1100,{600 + 20 * (w % 3)},clear-10,{came},{day},{day}")
    return "\n".join(rows) + "\n" + more


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with lists, and a cache of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))
    monkeypatch.delenv("PANEWRIGHT_STOCK", raising=False)
    (tmp_path / "history.csv").write_text(history(), "utf-8")
    (tmp_path / "supply.csv").write_text(SUPPLY, "utf-8")
    (tmp_path / "stock.csv").write_text(STOCK, "utf-8")
    (tmp_path / "open.csv").write_text(
        "order,panel,quantity,width,height,glass,due\nN-1,side,5,1100,600,clear-10,2027-03-10\n", "utf-8"
    )
    return tmp_path


def run(*args: str) -> Result:
    common = ["--supply", "supply.csv", "--on", "2027-03-08", "--workers", "1", "--futures", "40"]
    return CliRunner().invoke(app, ["forecast", *args, *common, "--no-test", "--nests", "20"])


def table(data: dict[str, Any], subject: str) -> list[list[Any]]:
    """The rows of the first table of a subject."""
    mine = next(s for s in data["subjects"] if s["name"] == subject)
    return [list(row) for row in mine["tables"][0]["rows"]]


def test_a_forecast_from_lists(folder: Path) -> None:
    done = run("open.csv", "--history", "history.csv", "--stock", "stock.csv", "--json", "--out", "outlook")
    assert done.exit_code == 0, done.stderr
    data = json.loads(done.stdout)
    assert sorted(p.name for p in (folder / "outlook").iterdir()) == sorted(
        ["report-contents.txt", "report.html", "report.json", "report.pdf", "report.xlsx"]
    )
    needs = {row[0]: row[1:] for row in table(data, "Needs")}
    assert set(needs) == {"clear-6 3210x2250", "clear-10 3210x2250"}
    for known, *band, _mean in needs.values():
        assert band == sorted(band)
        assert known <= band[-1]
    # an open order of five panels of 1100 x 600 mm takes a sheet of its own
    assert needs["clear-10 3210x2250"][0] == 1
    # one or two orders a week for eight weeks: no fewer than four sheets in the middle, no more than sixteen
    assert 4 <= needs["clear-10 3210x2250"][3] <= 16
    lasts = {row[0]: row[3:] for row in table(data, "Stock")}
    for shares in lasts.values():
        assert shares == sorted(shares, reverse=True)
    again = run("open.csv", "--history", "history.csv", "--stock", "stock.csv", "--json")
    assert json.loads(again.stdout)["subjects"] == data["subjects"]


def test_no_history_is_no_crash_but_a_word(folder: Path) -> None:
    done = run("open.csv")
    assert done.exit_code == 0, done.stderr
    assert "no past order" in done.stdout
    assert "clear-10 3210x2250" in done.stdout


def test_everything_wrong_is_said_and_nothing_written(folder: Path) -> None:
    bad = "A-99,side,1,900,500,clear-6,2027-01-05,2027-01-10,2026-12-01\nA-98,side,2,900,500,clear-99,x,y,z\n"
    (folder / "history.csv").write_text(history(4, bad), "utf-8")
    done = run("--history", "history.csv", "--out", "outlook", "--json")
    assert done.exit_code == 3
    assert json.loads(done.stdout)["exit_code"] == 3
    for word in ("row 10", "row 11", "clear-99"):
        assert word in done.stderr
    assert not (folder / "outlook").exists()


def test_a_folder_with_other_things_is_refused(folder: Path) -> None:
    (folder / "outlook").mkdir()
    (folder / "outlook" / "mine.txt").write_text("mine", "utf-8")
    done = run("--history", "history.csv", "--out", "outlook")
    assert done.exit_code == 2
    assert [p.name for p in (folder / "outlook").iterdir()] == ["mine.txt"]


def test_orders_that_have_their_glass_in_the_store_are_not_needed_twice(folder: Path) -> None:
    receive = ["stock", "receive", "stock.csv"]
    assert CliRunner().invoke(app, receive).exit_code == 0
    plan = ["plan", "open.csv", "--stock", "stock.db", "--commit", "--effort", "20", "--out", "week"]
    assert CliRunner().invoke(app, plan).exit_code == 0
    done = run("open.csv", "--history", "history.csv", "--json")
    assert done.exit_code == 0, done.stderr
    assert "N-1" in done.stderr
    needs = {row[0]: row[1:] for row in table(json.loads(done.stdout), "Needs")}
    assert needs["clear-10 3210x2250"][0] == 0
    stock = {row[0]: row[1] for row in table(json.loads(done.stdout), "Stock")}
    # the one sheet in the rack is reserved
    assert stock["clear-10 3210x2250"] == 0


def test_a_size_on_offer_that_the_shop_does_not_stock_is_left_to_sizes(folder: Path) -> None:
    more = SUPPLY + "clear-10,2440,1830,10,5\nclear-12,2440,1830,70,5\n"
    (folder / "supply.csv").write_text(more, "utf-8")
    done = run("open.csv", "--history", "history.csv", "--stock", "stock.csv", "--json")
    assert "clear-10 2440x1830" in done.stderr and "clear-12" not in done.stderr
    assert "clear-10 2440x1830" not in {row[0] for row in table(json.loads(done.stdout), "Needs")}


def test_offcuts_that_pass_from_week_to_week_take_less_glass(folder: Path) -> None:
    def sheets(*more: str) -> float:
        done = run("open.csv", "--history", "history.csv", "--json", *more)
        assert done.exit_code == 0, done.stderr
        return sum(float(row[7]) for row in table(json.loads(done.stdout), "Needs"))

    # the rest of a sheet holds panels of the next week too
    (folder / "history.csv").write_text(history(21), "utf-8")
    assert sheets("--offcuts") < sheets()
