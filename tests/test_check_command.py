"""`panewright check`: what it prints, its exit codes, and the figures of a file against its plan."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from panewright.cli.main import app
from panewright.io.plan_check import check_figures
from panewright.io.plan_file import dumps
from panewright.io.plan_reader import read
from panewright.nesting.plan import Plan
from panewright.nesting.units import MM, current_style, inch


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def call(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            app.main([str(a) for a in args])
        out, err = capsys.readouterr()
        assert isinstance(left.value.code, int)
        return left.value.code, out, err

    return call


def written(plan: Plan, folder: Path) -> Path:
    path = folder / "plan.json"
    path.write_text(dumps(plan), encoding="utf-8")
    return path


def test_a_good_plan_gives_one_line_and_ok(run: Callable, hand_plan: Plan, tmp_path: Path) -> None:
    expected = (
        f"plan {hand_plan.id}, 1 sheet, 3 of 3 panels, 0 unplaced, 8 cuts, yield 47.0 %, cost 60.00 EUR: OK\n"
    )
    assert run("check", written(hand_plan, tmp_path)) == (0, expected, "")
    assert run("check", tmp_path) == (0, expected, "")


def test_violations_are_data_and_the_exit_code_is_1(run: Callable, hand_plan: Plan, tmp_path: Path) -> None:
    code, out, err = run("check", written(replace(hand_plan, seed=1), tmp_path))
    assert (code, err) == (1, "")
    first, last = out.splitlines()
    assert first == f"plan id: the id {hand_plan.id} is not that of the pieces"
    assert last.endswith("8 cuts: 1 violation")


def test_json_holds_violations_and_figures(run: Callable, hand_plan: Plan, tmp_path: Path) -> None:
    code, out, _ = run("check", written(hand_plan, tmp_path), "--json")
    data = json.loads(out)
    assert (code, data["plan"], data["ok"], data["violations"]) == (0, hand_plan.id, True, [])
    assert data["figures"]["total"]["yield"] == 0.47
    code, out, _ = run("check", written(replace(hand_plan, seed=1), tmp_path), "--json")
    data = json.loads(out)
    assert (code, data["ok"], data["figures"]) == (1, False, None)
    assert [v["rule"] for v in data["violations"]] == ["plan id"]


@pytest.mark.parametrize("data", [b"", b"{}", b"\xff", b"[" * 99999, b'{"schema": NaN}'])
def test_a_file_that_is_no_plan_gives_3_and_no_traceback(run: Callable, data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "x.json"
    path.write_bytes(data)
    code, out, err = run("check", path)
    assert (code, out) == (3, "")
    assert err.startswith("error: ")
    assert "x.json" in err
    assert "Traceback" not in err
    code, out, again = run("check", path, "--json")
    assert (code, json.loads(out)["exit_code"], again) == (3, 3, err)


def test_violations_are_told_in_the_unit_of_the_plan(run: Callable, inch_plan: Plan, tmp_path: Path) -> None:
    strict = {glass: replace(rules, break_out=inch("20.5")) for glass, rules in inch_plan.rules.items()}
    code, out, _ = run("check", written(replace(inch_plan, rules=strict), tmp_path))
    assert code == 1
    assert 'narrower than the break-out distance 20-1/2"' in out
    assert current_style() == MM


def test_no_file_gives_3(run: Callable, tmp_path: Path) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        code, out, err = run("check", path)
        assert (code, out) == (3, "")
        assert "json" in err
        _, out, _ = run("check", path, "--json")
        assert f"error: {json.loads(out)['error']}\n" == err


def test_hostile_names_reach_the_screen_escaped(run: Callable, hand_plan: Plan, tmp_path: Path) -> None:
    panel = replace(hand_plan.panels[0], id="\x1b[2J", edges=())
    text = dumps(
        replace(hand_plan, panels=(*hand_plan.panels, replace(panel, edges=hand_plan.panels[0].edges)))
    )
    (tmp_path / "plan.json").write_text(text, encoding="utf-8")
    code, out, _ = run("check", tmp_path)
    assert code == 1
    assert "\x1b" not in out
    assert "\\x1b[2J is neither cut nor unplaced" in out


WRONG = {
    "yield": ('"yield": 0.47,', '"yield": 0.471,', "total.yield is 0.471, the plan gives 0.47"),
    "area": ('"cullet_area_m2": 0.083,', '"cullet_area_m2": 0.08301,', "total.cullet_area_m2 is 0.08301"),
    "mass": ('"scrap_kg": 3.94,', '"scrap_kg": 3.95,', "total.scrap_kg is 3.95"),
    "sheets": ('"sheets": 1,', '"sheets": 2,', "total.sheets is 2"),
    "a share": ('"cost_share": 44.6809', '"cost_share": 44.68', "by_order.K-204.cost_share is 44.68"),
    "a text": ('"offcut_area_m2": 0.9024', '"offcut_area_m2": "0.9024"', "total.offcut_area_m2 is 0.9024"),
    "a figure left out": ('"trim_area_m2": 0.0746,', "", "total.trim_area_m2 is missing"),
    "an order left out": ('"K-205": {"cut', '"K-2": {"cut', "by_order.K-2 is not in the plan"),
    "a gap": ('"gap": 0,', '"gap": 0.1,', "by_glass.clear-10.gap is 0.1"),
    "a panel's mass": ('"mass_kg": 8.66,', '"mass_kg": 8.7,', "K-204/front/1.mass_kg is 8.7"),
}


@pytest.mark.parametrize("name", WRONG)
def test_figures_that_are_not_those_of_the_plan_are_named(name: str, hand_plan: Plan) -> None:
    old, new, expected = WRONG[name]
    text = dumps(hand_plan)
    figures = text.index('"figures"') if name != "a panel's mass" else 0
    assert old in text[figures:]
    plan, stated = read(text[:figures] + text[figures:].replace(old, new, 1))
    found = [str(v) for v in check_figures(plan, stated)]
    assert any(v.startswith(f"figures: {expected}") for v in found), found


def test_figures_may_be_rounded_otherwise(hand_plan: Plan) -> None:
    text = dumps(hand_plan).replace('"finished_area_m2": 0.929827', '"finished_area_m2": 0.929828')
    assert text != dumps(hand_plan)
    assert check_figures(*read(text)) == []


def test_figures_may_leave_out_a_glass_without_sheets(hand_plan: Plan) -> None:
    plan = replace(hand_plan, rules=hand_plan.rules | {"clear-8": hand_plan.rules["clear-10"]})
    data = json.loads(dumps(plan))
    del data["figures"]["by_glass"]["clear-8"]
    assert check_figures(*read(json.dumps(data))) == []
    del data["figures"]["by_glass"]["clear-10"]
    assert [v.text for v in check_figures(*read(json.dumps(data)))] == ["by_glass.clear-10 is missing"]
