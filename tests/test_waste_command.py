"""`panewright waste`: its answers, files, exit codes and refusals, and a report whose tables add up."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import openpyxl
import pytest
from click.testing import CliRunner

from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.io.plan_file import dumps
from panewright.io.record_file import What
from panewright.io.shop_file import default_shop
from panewright.io.store.engine import open_store
from panewright.io.store.waste_rows import waste_over
from panewright.io.waste_data import days_of
from panewright.io.waste_report import waste_report
from panewright.nesting.happened import AtStep

DAY = datetime(2027, 3, 8, 9, tzinfo=UTC).astimezone().date()


@pytest.fixture(scope="module")
def folder(tmp_path_factory, chained_plans, record_table):
    """A store in which a plan is cut, with a break and an offcut thrown away, and the plan in a folder."""
    where = tmp_path_factory.mktemp("shop")
    with open_store(str(where / "stock.db"), create=True) as store:
        table = record_table(store, chained_plans)
        table.tell(
            table.cut(1), table.cut(2), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.big),
            table.event(What.OFFCUT_THROWN, sheet=1, offcut=table.small),
            table.event(What.PANEL_BROKEN, sheet=2, panel="K-2/back/1", at_step=AtStep.DRILLING),
        )  # fmt: skip
    plan = chained_plans[0]
    (where / "week").mkdir()
    (where / "week" / "plan.json").write_text(dumps(plan), encoding="utf-8")
    with open_store(str(where / "empty.db"), create=True):
        pass
    return where


@pytest.fixture(autouse=True)
def here(folder, monkeypatch):
    monkeypatch.chdir(folder)
    monkeypatch.delenv("PANEWRIGHT_STOCK", raising=False)


def call(*args, code=Exit.DONE):
    done = CliRunner().invoke(app, ["waste", *(str(a) for a in args)])
    assert done.exit_code == code, done.output
    assert "Traceback" not in done.output
    return done


def days(first=DAY - timedelta(days=1), last=DAY + timedelta(days=1)):
    return ("--from", first, "--to", last)


def test_json_says_all_and_adds_up():
    said = json.loads(call(*days(), "--json").stdout, parse_float=Decimal)
    assert said["exit_code"] == 0 and said["schema"] == "panewright.waste-report/1" and said["before"] is None
    for side in (said["recorded"], said["planned"]):
        whole = side["total"]
        assert whole["sheet_area_m2"] == sum(
            whole[f"{name}_area_m2"]
            for name in ("cut", "spare", "filler", "broken", "trim", "cullet", "offcut")
        )
        parts = ("in_panels", "in_spares_and_fillers", "in_broken", "unavoidable", "over_bound")
        assert whole["cost"] == sum(whole[f"cost_{name}"] for name in parts)
        for key in ("by_glass", "by_stock", "by_product"):
            assert sum(one["cost"] for one in side[key].values()) == whole["cost"]
        for key in ("by_time", "by_order"):
            assert sum(one["cost"] for one in side[key]) == whole["cost"]
    recorded = said["recorded"]
    assert (recorded["total"]["sheets"], recorded["total"]["panels"], recorded["total"]["panels_broken"]) == (
        2,
        5,
        1,
    )
    assert recorded["total"]["thrown_offcut_area_m2"] in (Decimal("0.4704"), Decimal("0.432"))
    assert [one["order"] for one in recorded["by_order"]] == ["K-1", "K-2"]
    assert [one["time"] for one in recorded["by_time"]] == ["2027-W09", "2027-W10"]
    assert said["broken"] == [{"glass": "clear-10", "at_step": "drilling", "panels": 1}]
    month = json.loads(call(*days(), "--json", "--by", "month", "--glass", "clear").stdout)
    assert [one["time"] for one in month["recorded"]["by_time"]] == ["2027-03"]


def test_the_screen_and_the_files(folder):
    said = call(*days(), "--out", folder / "report").stdout
    for words in (
        "Cut: 2 sheets of 4.00 m2",
        "By time, recorded",
        "By kind of tank",
        "Orders",
        "In the rack",
    ):
        assert words in said
    names = sorted(p.name for p in (folder / "report").iterdir())
    assert [n for n in names if n.startswith("report.")] == [
        f"report.{e}" for e in ("html", "json", "pdf", "xlsx")
    ]
    book = openpyxl.load_workbook(folder / "report" / "report.xlsx")
    numbers = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row]
    assert 4 in numbers and "K-2" in numbers
    assert "an earlier report" in call(*days(), "--out", folder / "report", code=Exit.USAGE).output


def test_folders_without_a_store(folder):
    said = call("week")
    assert "none of which has a day" in said.stdout and "Planned: 2 sheets" in said.stdout
    assert "stock:" not in said.stderr, "the store beside them is not opened"
    left = call("week", *days())
    assert "left out of a period" in left.output and "Nothing was planned" in left.output


@pytest.mark.parametrize(
    ("args", "code", "words"),
    [
        (("--from", "2026-01-01", "--to", "2026-02-01"), Exit.DONE, f"from {DAY} to {DAY}"),
        (("--from", "2026-03-01", "--to", "2026-02-01"), Exit.USAGE, "--to lies before --from"),
        (("--from", "2199-03-01"), Exit.USAGE, "--from lies after today"),
        (("week", "--stock", "stock.db"), Exit.USAGE, "not both"),
        (("--stock", "empty.db"), Exit.USAGE, "no plan yet"),
        (("--stock", "none.db"), Exit.INPUT, "there is no such file"),
        (("nowhere",), Exit.INPUT, "nothing was added up"),
        (("--replace",), Exit.USAGE, "together with --out"),
        (("--by", "day"), Exit.USAGE, "week"),
    ],
)
def test_what_cannot_be_told(args, code, words):
    assert words in call(*args, code=code).output
    if code == Exit.INPUT and args == ("nowhere",):
        said = json.loads(call(*args, "--json", code=code).stdout)
        assert said["exit_code"] == code and said["errors"]


def test_a_refusal_is_json_too_where_that_is_asked_for():
    said = call("--stock", "empty.db", "--json", code=Exit.USAGE)
    assert "no plan yet" in json.loads(said.stdout)["error"]


def test_no_store_at_all(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "folders with plans" in call(code=Exit.USAGE).output


def test_every_total_of_the_report_is_the_sum_of_its_rows(folder):
    with open_store(str(folder / "stock.db")) as store, store.reading() as c:
        found = waste_over(c, days_of(DAY - timedelta(days=3), DAY, "week"), default_shop())
    report = waste_report(found)
    checked = 0
    for subject in report.subjects:
        for table in subject.tables:
            for k, column in enumerate(table.columns):
                if table.total is None or column.kind not in ("count", "m2", "money"):
                    continue
                values = [row[k] for row in table.rows]
                if any(value is None for value in values) or ("m2" in column.name and column.kind == "money"):
                    continue
                # m2 are rounded down to whole nm2 from halves
                assert abs(table.total[k] - sum(values)) <= len(values), (table.title, column.name)
                checked += 1
    assert checked > 60
    bars = next(s for s in report.subjects if s.pictures).pictures[0]
    assert sum(v for c in bars.series for v in c.values) == pytest.approx(4.0), "the bars are the glass taken"


def test_a_product_that_the_list_names_counts(folder, chained_plans):
    panels = tuple(replace(p, product="show tanks") for p in chained_plans[0].panels)
    plan = replace(chained_plans[0], panels=panels)
    (folder / "named").mkdir()
    (folder / "named" / "plan.json").write_text(dumps(plan), encoding="utf-8")
    said = json.loads(call("named", "--json").stdout)
    assert list(said["planned"]["by_product"]) == ["show tanks"]
    assert said["planned"]["cost_a_m2"]["show tanks"]["orders"] == 2
