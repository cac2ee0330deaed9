"""`panewright draw` and the names of its files."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.cli.main import app
from panewright.io.drawings import drawing_files
from panewright.io.file_names import distinct_names, is_safe_name, safe_name
from panewright.io.plan_file import dumps
from panewright.nesting.plan import Plan

HOSTILE = [
    "../x",
    "CON",
    "con.txt",
    "a:b",
    "A/B",
    "..",
    "",
    " ",
    "\x00",
    "x" * 500,
    "-rf",
    "NUL ",
    "é\u202e",
    "LPT1.a.b",
]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def call(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            app.main(["draw", *(str(a) for a in args)])
        out, err = capsys.readouterr()
        assert isinstance(left.value.code, int)
        return left.value.code, out, err

    return call


@pytest.fixture
def plan_path(hand_plan: Plan, tmp_path: Path) -> Path:
    path = tmp_path / "hand.json"
    path.write_text(dumps(hand_plan), encoding="utf-8")
    return path


def names(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir() if not p.name.startswith("contents-")}


def test_draws_every_sheet_and_panel_in_both_formats(run, plan_path: Path, hand_plan: Plan, tmp_path: Path):
    code, out, err = run(plan_path, "--out", tmp_path / "d")
    stems = ("sheet-01", "panel-K-204-front-1", "panel-K-204-back-1", "panel-K-205-left-side-1")
    assert names(tmp_path / "d") == {"plan.json"} | {
        f"{hand_plan.id}-{stem}.{kind}" for stem in stems for kind in ("dxf", "svg")
    }
    assert (code, err) == (0, "")
    assert out.startswith(f"plan {hand_plan.id}: 8 drawings (dxf, svg) in ")
    assert (tmp_path / "d" / "plan.json").read_bytes() == plan_path.read_bytes()


def test_formats_sheets_and_panels_can_be_chosen(run, plan_path: Path, hand_plan: Plan, tmp_path: Path):
    code, _, _ = run(
        plan_path, "--out", tmp_path / "d", "--as", "svg", "--sheets", "1", "--no-panel-drawings"
    )
    assert code == 0 and names(tmp_path / "d") == {"plan.json", f"{hand_plan.id}-sheet-01.svg"}


def test_a_range_of_sheets_can_be_chosen(run, hand_plan: Plan, tmp_path: Path):
    first = hand_plan.layouts[0]
    path = tmp_path / "many.json"
    # sheet 4 was dropped: its number is not given again
    layouts = tuple(replace(first, number=n) for n in (1, 2, 3, 5, 6))
    path.write_text(dumps(replace(hand_plan, layouts=layouts)), encoding="utf-8")
    code, _, err = run(
        path, "--out", tmp_path / "d", "--as", "svg", "--sheets", "1, 3 - 5", "--no-panel-drawings"
    )
    assert code == 1 and "does not pass its check" in err
    assert {n[-6:-4] for n in names(tmp_path / "d") if n.endswith(".svg")} == {"01", "03", "05"}


def test_unit_can_be_chosen(run, plan_path: Path, hand_plan: Plan, tmp_path: Path):
    assert run(plan_path, "--out", tmp_path / "d", "--unit", "in", "--no-panel-drawings")[0] == 0
    svg = (tmp_path / "d" / f"{hand_plan.id}-sheet-01.svg").read_text(encoding="utf-8")
    assert "lengths in inches" in svg and " mm<" not in svg


def test_other_files_of_the_same_plan_stay(run, plan_path: Path, hand_plan: Plan, tmp_path: Path):
    folder = tmp_path / "d"
    assert run(plan_path, "--out", folder, "--as", "dxf")[0] == 0
    before = names(folder)
    assert run(folder, "--out", folder, "--as", "svg", "--no-panel-drawings")[0] == 0
    assert names(folder) == before | {f"{hand_plan.id}-sheet-01.svg"}


def test_another_plan_is_never_drawn_over(run, plan_path: Path, pentagon_plan: Plan, tmp_path: Path):
    other = tmp_path / "other.json"
    other.write_text(dumps(pentagon_plan), encoding="utf-8")
    assert run(plan_path, "--out", tmp_path / "d")[0] == 0
    before = names(tmp_path / "d")
    code, _, err = run(other, "--out", tmp_path / "d")
    assert code == 2 and "another plan" in err and names(tmp_path / "d") == before
    assert run(other, "--out", tmp_path / "d", "--replace")[0] == 0
    assert all(pentagon_plan.id in name or name == "plan.json" for name in names(tmp_path / "d"))


def test_same_plan_with_other_contents_needs_replace(run, plan_path: Path, hand_plan: Plan, tmp_path: Path):
    assert run(plan_path, "--out", tmp_path / "d")[0] == 0
    changed = tmp_path / "changed.json"
    changed.write_text(dumps(replace(hand_plan, program="panewright 9")), encoding="utf-8")
    code, _, err = run(changed, "--out", tmp_path / "d")
    assert code == 2 and "--replace" in err
    assert run(changed, "--out", tmp_path / "d", "--replace")[0] == 0


@pytest.mark.parametrize(
    ("text", "code"), [("{}", 3), ("no json", 3), ('{"schema": "panewright.plan/9"}', 3), ("\ufffe", 3)]
)
def test_files_that_are_no_plan_give_3_and_write_nothing(run, tmp_path: Path, text: str, code: int):
    path = tmp_path / "p.json"
    path.write_text(text, encoding="utf-8")
    got, _, err = run(path, "--out", tmp_path / "d")
    assert got == code and "Traceback" not in err and not (tmp_path / "d").exists()


def test_missing_file_and_wrong_calls(run, plan_path: Path, tmp_path: Path):
    assert run(tmp_path / "none.json", "--out", tmp_path / "d")[0] == 3
    code, _, err = run(plan_path, "--out", tmp_path / "d", "--sheets", "1,7")
    assert code == 2 and "no sheet 7" in err
    for odd in ("one", "1 2", "1-", "-1", "2-1", "1,,1", "1-2-3", "1-9999999999", "\u0661"):
        assert run(plan_path, "--out", tmp_path / "d", "--sheets", odd)[0] == 2, odd
    code, _, err = run(plan_path, "--out", tmp_path / "d", "--sheets", "1-999999999")
    assert code == 2 and "no sheet 999999999" in err
    assert run(plan_path, "--out", tmp_path / "d", "--as", "png")[0] == 2
    assert run(plan_path)[0] == 2
    assert not (tmp_path / "d").exists()


def test_a_plan_that_fails_its_check_is_drawn_with_a_warning(run, hand_plan: Plan, tmp_path: Path):
    path = tmp_path / "p.json"
    path.write_text(dumps(replace(hand_plan, seed=5)), encoding="utf-8")
    code, _, err = run(path, "--out", tmp_path / "d")
    assert code == 1 and "do not cut after it" in err and (tmp_path / "d" / "plan.json").exists()


# ---------------------------------------------------------------- names


def test_hostile_orders_give_safe_distinct_names(hand_plan: Plan):
    first = hand_plan.panels[0]
    panels = tuple(replace(first, id=f"{name}/p/1", order=name) for name in HOSTILE)
    plan = replace(hand_plan, panels=panels, layouts=())
    files = [name for name, _ in drawing_files(plan, formats=["svg"], sheets=False)]
    assert len(files) == len(panels) == len({name.lower() for name in files})
    for name in files:
        assert re.fullmatch(r"[A-Za-z0-9_.-]+", name) and is_safe_name(name)
        assert name.startswith(f"{hand_plan.id}-panel-")


@given(st.text(max_size=80))
def test_any_text_becomes_a_safe_name(text):
    assert is_safe_name(safe_name(text)) and ".." not in safe_name(text)
    assert safe_name(safe_name(text)) == safe_name(text)


@given(st.lists(st.sampled_from(["a", "A", "a-2", "A:2", "a-2-2", "b", "CON", "con"]), max_size=25))
def test_names_stay_apart_where_case_does_not_count(texts):
    found = distinct_names(texts)
    assert len({name.lower() for name in found}) == len(texts)
    assert all(is_safe_name(name) for name in found)


def test_a_panel_keeps_its_file_name_whatever_is_drawn(hand_plan: Plan):
    every = [n for n, _ in drawing_files(hand_plan, formats=["svg"])]
    some = [n for n, _ in drawing_files(hand_plan, formats=["svg"], sheets={1}, panels=True)]
    assert every == some
    assert [n for n, _ in drawing_files(hand_plan, formats=["svg"], sheets={2})] == []
