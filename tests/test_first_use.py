"""Faults that people met who used the program for the first time; each test is named after its fault."""

from __future__ import annotations

import contextlib
import contextvars
import json
import signal
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from panewright.cli import main, planning
from panewright.cli.failures import Exit
from panewright.cli.unplaced import unplaced_rows
from panewright.io.plan_file import dumps
from panewright.io.plan_summary import cautions
from panewright.nesting.panels import Panel
from panewright.nesting.plan import LeafKind, Plan, Unplaced
from panewright.nesting.planner import impossible
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece

TWELVE_RIBS = "order,panel,quantity,width,height,glass\nMeyer,rib,12,600,25,clear-10\n"


def call(*args: object) -> Result:
    # the shop's way to show lengths must not reach other tests
    return contextvars.copy_context().run(CliRunner().invoke, main.app, [str(a) for a in args])


def test_twelve_equal_panels_were_refused_in_twelve_lines(tmp_path: Path) -> None:
    (tmp_path / "ribs.csv").write_text(TWELVE_RIBS, encoding="utf-8")
    result = call("plan", tmp_path / "ribs.csv", "--out", tmp_path / "out", "--effort", 1)
    assert result.exit_code == Exit.INPUT
    assert result.stderr.count("cannot be placed") == 1
    assert "Meyer/rib/1-12 (12 pieces)" in result.stderr
    assert "panels that no stock can yield: 12" in result.stderr


def test_piece_ten_stood_before_piece_two() -> None:
    pieces = [Unplaced(panel=f"S/b/{n}", rule="r", reason="why") for n in sorted(map(str, range(2, 13)))]
    pieces += [Unplaced(panel=p, rule="r", reason="why") for p in ("S/b/20", "S/c/1", "no number")]
    assert [(row.label, row.pieces) for row in unplaced_rows(pieces)] == [
        ("S/b/2-12, 20", 12),
        ("S/c/1", 1),
        ("no number", 1),
    ]


def test_a_panel_short_for_two_reasons_keeps_both() -> None:
    rows = unplaced_rows(
        [Unplaced(panel="S/b/1", rule="r", reason="x"), Unplaced(panel="S/b/2", rule="r", reason="y")]
    )
    assert [(row.label, row.reason) for row in rows] == [("S/b/1", "x"), ("S/b/2", "y")]


def test_a_narrow_panel_was_told_of_a_strip_that_nothing_leaves(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    rib = make_panel(900, 22, narrow=True)
    for choice in (CuttingChoice(levels=2), CuttingChoice(levels=3, last_cut=False)):
        (left,) = impossible([rib], [make_stock(3210, 2250)], Shop(cutting=choice))
        assert "3 levels and a last cut" in left.reason
    assert impossible([rib], [make_stock(3210, 2250)], Shop(cutting=CuttingChoice(levels=3))) == []


def test_the_shop_was_short_of_three_of_an_offcut_that_exists_once(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(
        "order,panel,quantity,width,height,glass\nS,b,9,600,500,clear-10\n", encoding="utf-8"
    )
    (tmp_path / "rack.csv").write_text(
        "kind,glass,width,height,on hand,number\noffcut,clear-10,700,650,1,R-3\n", encoding="utf-8"
    )
    out = tmp_path / "out"
    result = call(
        "plan", tmp_path / "list.csv", "--stock", tmp_path / "rack.csv", "--out", out, "--effort", 20
    )
    assert result.exit_code == Exit.LEFT_OVER, result.stderr
    reasons = {u["reason"] for u in json.loads((out / "plan.json").read_text(encoding="utf-8"))["unplaced"]}
    assert len(reasons) == 1
    assert "8 of 700 x 650 mm (as offcut R-3)" in reasons.pop()


def test_ctrl_c_was_lost_while_the_optimizer_was_loaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def loading(*_: object) -> list[Unplaced]:
        with contextlib.suppress(KeyboardInterrupt):  # what a callback of the compiler does with it
            signal.raise_signal(signal.SIGINT)
        return []

    (tmp_path / "ribs.csv").write_text(TWELVE_RIBS, encoding="utf-8")
    monkeypatch.setattr(planning, "impossible", loading)
    result = call("plan", tmp_path / "ribs.csv", "--out", tmp_path / "out", "--effort", 1)
    assert result.exit_code == Exit.INTERRUPTED
    assert not (tmp_path / "out").exists()


def test_two_offcuts_in_one_row_were_to_be_a_number_from_1_to_1(tmp_path: Path) -> None:
    (tmp_path / "ribs.csv").write_text(TWELVE_RIBS, encoding="utf-8")
    (tmp_path / "rack.csv").write_text(
        "kind,glass,width,height,on hand,number\noffcut,clear-10,700,650,2,R-3\n", encoding="utf-8"
    )
    result = call("plan", tmp_path / "ribs.csv", "--stock", tmp_path / "rack.csv", "--out", tmp_path / "out")
    assert result.exit_code == Exit.INPUT
    assert "a row and a number of its own" in result.stderr


def test_leftovers_beyond_the_limit_went_to_cullet_unsaid(hand_plan: Plan) -> None:
    lifts = Shop().lifts
    said = "as large as an offcut worth keeping"
    assert not any(said in line for line in cautions(hand_plan, lifts))
    (layout,) = hand_plan.layouts
    thrown = tuple(
        replace(leaf, kind=LeafKind.CULLET, offcut=None) if leaf.kind is LeafKind.OFFCUT else leaf
        for leaf in layout.leaves
    )
    plan = replace(hand_plan, layouts=(replace(layout, leaves=thrown),))
    # 480 x 980 mm beside the panels and 900 x 480 mm above them: 0.9024 m2
    (line,) = [line for line in cautions(plan, lifts) if said in line]
    assert "2, 0.9 m2" in line


def damaged(plan: Plan, folder: Path, change: Callable[[dict[str, Any]], None]) -> Path:
    data = json.loads(dumps(plan))
    change(data)
    path = folder / "damaged.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def test_draw_called_a_spoilt_plan_id_an_error_of_the_program(hand_plan: Plan, tmp_path: Path) -> None:
    path = damaged(hand_plan, tmp_path, lambda data: data.update(plan="../../evil"))
    result = call("draw", path, "--out", tmp_path / "out")
    assert result.exit_code == Exit.INPUT
    assert "no plan id" in result.stderr
    assert not (tmp_path / "out").exists()


def test_draw_passed_a_plan_that_check_refused_for_its_figures(hand_plan: Plan, tmp_path: Path) -> None:
    path = damaged(hand_plan, tmp_path, lambda data: data["figures"]["total"].update(sheets=99))
    assert call("check", path).exit_code == Exit.LEFT_OVER
    result = call("draw", path, "--out", tmp_path / "out")
    assert result.exit_code == Exit.LEFT_OVER
    assert "does not pass its check" in result.stderr
