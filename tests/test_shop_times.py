"""The shop's own times from cuts that were timed."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import pytest
from click.testing import CliRunner

from panewright.cli.main import app
from panewright.io.plan_file import dumps
from panewright.io.problems import Problems
from panewright.io.shop_file import read_shop
from panewright.nesting.plan import Plan
from panewright.nesting.sequence import steps_of
from panewright.nesting.sequencing.calibrate import Timed, calibrated
from panewright.nesting.sequencing.counts import step_milliseconds
from panewright.nesting.shop_table import Habit, Rates


def modelled(plan: Plan, rates: Rates) -> list[Timed]:
    """Every step of the sheet with the time that the rates give it."""
    (layout,) = plan.layouts
    return [Timed(1, s.number, step_milliseconds(s, Habit.STOP, rates)) for s in steps_of(plan, layout)]


@pytest.mark.parametrize("percent", [50, 100, 140])
def test_a_shop_that_takes_longer_in_all_gets_longer_times_in_all(hand_plan: Plan, percent: int) -> None:
    rates = Rates()
    timed = [Timed(t.sheet, t.step, t.milliseconds * percent // 100) for t in modelled(hand_plan, rates)]
    found = calibrated(hand_plan, timed, rates)
    assert float(found.factor) == pytest.approx(percent / 100, abs=1e-3)
    again = sum(t.milliseconds for t in modelled(hand_plan, found.rates))
    assert again == pytest.approx(found.measured, rel=0.02)
    assert found.rates.sheet == rates.sheet


def test_the_command_prints_lines_that_the_shop_file_takes(hand_plan: Plan, tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text(dumps(hand_plan), encoding="utf-8")
    steps = len(hand_plan.layouts[0].cuts)
    assert steps == 8
    lists = tmp_path / "timed.csv"
    args = ["shop", "times", str(tmp_path / "plan.json"), str(lists)]
    lists.write_text("sheet,step,seconds\n1,1,40\n", encoding="utf-8")
    few = CliRunner().invoke(app, args)
    assert few.exit_code == 3 and "time 10 at least" in few.stderr
    rows = "".join(f"1,{n},40\n" for n in range(1, 9))
    lists.write_text(f"sheet,step,seconds\n{rows}1,9,40\n2,1,40\n1,1,30\n1,2,x\n", encoding="utf-8")
    bad = CliRunner().invoke(app, args)
    assert bad.exit_code == 3
    for said in ("the sheet has 8 steps", "has no such sheet", "timed twice", "row 13"):
        assert said in bad.stderr
    assert "Traceback" not in bad.output


def test_times_of_a_larger_plan(week_plan: Callable[..., Plan], tmp_path: Path) -> None:
    plan = week_plan(*[[(f"K-{n}", None)] * 5 for n in range(3)])
    (tmp_path / "plan.json").write_text(dumps(plan), encoding="utf-8")
    rows = [(x.number, c.step) for x in plan.layouts for c in x.cuts][:12]
    assert len(rows) == 12
    lists = tmp_path / "timed.csv"
    text = "".join(f"{sheet},{step},60\n" for sheet, step in rows)
    lists.write_text(f"sheet,step,seconds\n{text}", encoding="utf-8")
    args = ["shop", "times", str(tmp_path / "plan.json"), str(lists)]
    done = CliRunner().invoke(app, args)
    assert done.exit_code == 0, done.output
    table = tomllib.loads(done.stdout)["table"]
    shop_file = tmp_path / "shop.toml"
    shop_file.write_text(done.stdout, encoding="utf-8")
    problems = Problems()
    shop = read_shop(shop_file, problems)
    assert not problems
    assert len(table) == len(fields(Rates))
    assert shop.work.rates.setting > Rates().setting
    data = json.loads(CliRunner().invoke(app, [*args, "--json"]).stdout)
    assert data["cuts"] == 12 and data["measured_seconds"] == 720
