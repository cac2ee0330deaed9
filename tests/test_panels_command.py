"""`panewright panels` and `panewright orders`: what is shown and written, refusals, exit codes."""

from __future__ import annotations

import contextvars
import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io import tank_files
from panewright.io.order_lists import read_orders
from panewright.io.order_template import DRAWING, ROWS
from panewright.io.plan_file import loads
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop

ORDERS = """order,tank,quantity,shape,length,width,height,glass,rim,across,panel
K-1,,1,rectangle,900,450,450,clear-10,rimless,,
K-2,left,2,octagon,600,,400,clear-10,rimless,flats,
K-3,,1,,420,310,,,,,
"""
GOOD = ORDERS.replace("K-3,,1,,420,310,,,,,", "K-3,,1,,420,,310,clear-10,,,shelf").replace(",420,,", ",,420,")


def call(*args: object) -> Result:
    # the shop's way to show lengths must not reach other tests
    return contextvars.copy_context().run(CliRunner().invoke, main.app, [str(a) for a in args])


@pytest.fixture
def orders(tmp_path: Path) -> Path:
    path = tmp_path / "orders.csv"
    path.write_text(GOOD, encoding="utf-8")
    return path


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.exists() else {}


def test_panels_shows_tank_by_tank(orders: Path, tmp_path: Path) -> None:
    result = call("panels", orders)
    assert result.exit_code == Exit.DONE
    text = " ".join(result.stdout.split())
    for word in (
        "K-1",
        "K-2 left",
        "front",
        "900 x 439 mm",
        "qualified person",
        "24 panels in all: clear-10 24",
    ):
        assert word in text, word
    assert "1 of them are ordered as single panels" in text
    assert sorted(p.name for p in tmp_path.iterdir()) == ["orders.csv"], "nothing is written without --out"


def test_panels_as_json(orders: Path) -> None:
    result = call("panels", orders, "--json")
    assert result.exit_code == Exit.DONE
    data = json.loads(result.stdout)
    assert data["exit_code"] == 0 and data["panels"] == 5 + 2 * 9 + 1
    one, two = data["tanks"]
    assert one["outside"] == [900, 450, 450] and one["inside"] == [880, 430, 440]
    # 880 x 430 x 440 mm
    assert one["by_products"]["litres_brim"] == pytest.approx(166.496)
    assert [row["names"] for row in one["panels"]] == [["base"], ["front", "back"], ["right", "left"]]
    assert two["quantity"] == 2
    assert [row["pieces"] for row in two["panels"]] == [2, 16]
    assert set(one["check"]["panels"]) == {"front", "right", "back", "left", "base"}


def test_panels_writes_list_check_and_drawings(orders: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = call("panels", orders, "--out", out)
    assert result.exit_code == Exit.DONE
    found = files(out)
    drawings = {f"tank-{name}.{ending}" for name in ("K-1", "K-2-left") for ending in ("svg", "dxf")}
    assert set(found) == {"panels.csv", "tanks.json", "tanks-contents.txt"} | drawings
    rows = list(csv.DictReader(io.StringIO(found["panels.csv"].decode("utf-8-sig"))))
    assert sum(int(row["quantity"]) for row in rows) == 24
    assert json.loads(found["tanks.json"])["panels"] == 24
    # the same again gives the same bytes
    assert call("panels", orders, "--out", tmp_path / "again").exit_code == Exit.DONE
    assert files(tmp_path / "again") == found


def test_an_earlier_run_is_replaced_only_on_request(orders: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert call("panels", orders, "--out", out).exit_code == Exit.DONE
    before = files(out)
    refused = call("panels", orders, "--out", out)
    assert refused.exit_code == Exit.USAGE and "--replace" in refused.stderr
    assert files(out) == before
    orders.write_text("\n".join(GOOD.splitlines()[:2]) + "\n", encoding="utf-8")
    assert call("panels", orders, "--out", out, "--replace").exit_code == Exit.DONE
    after = files(out)
    assert len(after) == len(before) - 2 and after["panels.csv"] != before["panels.csv"]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["orders.csv", "out"], "no temporary folder is left"


@pytest.mark.parametrize("name", ["plan.json", "letter.txt", ".hidden"])
@pytest.mark.parametrize("replace", [False, True])
def test_a_folder_with_other_files_is_refused(orders: Path, tmp_path: Path, name: str, replace: bool) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / name).write_text("{}", encoding="utf-8")
    result = call("panels", orders, "--out", out, *(["--replace"] if replace else []))
    assert result.exit_code == Exit.USAGE and str(out) in result.stderr
    assert files(out) == {name: b"{}"}


def test_a_foreign_file_beside_an_earlier_run_is_safe(orders: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert call("panels", orders, "--out", out).exit_code == Exit.DONE
    (out / "letter.txt").write_text("mine", encoding="utf-8")
    before = files(out)
    result = call("panels", orders, "--out", out, "--replace")
    assert result.exit_code == Exit.USAGE and "letter.txt" in result.stderr
    assert files(out) == before


def test_a_list_of_contents_that_names_others_removes_nothing(orders: Path, tmp_path: Path) -> None:
    out, mine = tmp_path / "out", tmp_path / "mine.txt"
    mine.write_text("mine", encoding="utf-8")
    out.mkdir()
    (out / "tanks-contents.txt").write_text("../mine.txt\n/etc/hosts\n", encoding="utf-8")
    call("panels", orders, "--out", out, "--replace")
    assert mine.read_text(encoding="utf-8") == "mine"


def test_an_empty_folder_is_used_and_a_file_is_not(orders: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    assert call("panels", orders, "--out", out).exit_code == Exit.DONE
    blocked = tmp_path / "file"
    blocked.write_text("x", encoding="utf-8")
    assert call("panels", orders, "--out", blocked).exit_code == Exit.USAGE
    assert call("panels", orders, "--out", blocked / "deeper").exit_code == Exit.USAGE
    assert blocked.read_text(encoding="utf-8") == "x"


@pytest.mark.parametrize("replace", [False, True])
def test_nothing_is_half_written_when_a_drawing_fails(
    orders: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, replace: bool
) -> None:
    out = tmp_path / "deep" / "out"
    if replace:
        assert call("panels", orders, "--out", out).exit_code == Exit.DONE
    before = files(out)
    drawn: list[object] = []

    def fails(scene: object, unit: str) -> bytes:
        drawn.append(scene)
        if len(drawn) == 2:
            raise RuntimeError("no ink")
        return b"0"

    monkeypatch.setattr(tank_files, "dxf_bytes", fails)
    result = call("panels", orders, "--out", out, "--replace")
    assert len(drawn) == 2 and result.exit_code not in (Exit.DONE, Exit.INPUT)
    assert files(out) == before
    assert (tmp_path / "deep").exists() is replace
    if replace:
        assert [p.name for p in out.parent.iterdir()] == ["out"]


@pytest.mark.parametrize(
    "text", ["", "order,shape,glass\n", ORDERS, ORDERS.replace("octagon", "heart"), "\x00\x01"]
)
def test_errors_in_a_list_exit_with_3_and_write_nothing(orders: Path, tmp_path: Path, text: str) -> None:
    orders.write_text(text, encoding="utf-8")
    for command in (["panels", orders, "--out", tmp_path / "out"], ["orders", "check", orders]):
        result = call(*command)
        assert result.exit_code == Exit.INPUT or (text.startswith("order,shape") and command[0] == "orders")
        assert "Traceback" not in result.stderr
    assert not (tmp_path / "out").exists()


def test_errors_as_json(orders: Path) -> None:
    orders.write_text(ORDERS.replace("octagon", "heart"), encoding="utf-8")
    result = call("panels", orders, "--json")
    data = json.loads(result.stdout)
    assert result.exit_code == data["exit_code"] == Exit.INPUT
    assert any(problem["column"] == "shape" and problem["row"] == 3 for problem in data["problems"])


def test_usage_errors_exit_with_2(orders: Path) -> None:
    assert call("panels").exit_code == Exit.USAGE
    assert call("panels", orders, "--no-such").exit_code == Exit.USAGE
    assert call("orders", "nothing").exit_code == Exit.USAGE
    assert call("orders", "check").exit_code == Exit.USAGE


def test_a_list_that_is_not_there_exits_with_3(tmp_path: Path) -> None:
    assert call("panels", tmp_path / "none.csv").exit_code == Exit.INPUT
    assert call("orders", "check", tmp_path / "none.csv").exit_code == Exit.INPUT


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".toml", ".json", ".CSV"])
def test_the_template_is_written_and_checks(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"orders{suffix}"
    result = call("orders", "template", path)
    assert result.exit_code == Exit.DONE
    assert set(files(tmp_path)) == {path.name, DRAWING}
    checked = call("orders", "check", path)
    assert checked.exit_code == Exit.DONE and "errors: 0" in checked.stdout
    tanks = sum(int(row.get("quantity", 1)) for row in ROWS if "shape" in row)
    assert f"tanks: {tanks}," in checked.stdout
    data = json.loads(call("orders", "check", path, "--json").stdout)
    assert data["tanks"] == tanks and data["panels"] > 100


def test_the_template_writes_over_nothing(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    path.write_text("mine", encoding="utf-8")
    result = call("orders", "template", path)
    assert result.exit_code == Exit.USAGE and "--replace" in result.stderr
    assert files(tmp_path) == {"orders.csv": b"mine"}
    assert call("orders", "template", path, "--replace").exit_code == Exit.DONE
    assert path.read_bytes() != b"mine"


def test_a_template_whose_drawing_is_there_writes_no_list(tmp_path: Path) -> None:
    (tmp_path / DRAWING).write_text("mine", encoding="utf-8")
    assert call("orders", "template", tmp_path / "orders.csv").exit_code == Exit.USAGE
    assert files(tmp_path) == {DRAWING: b"mine"}


@pytest.mark.parametrize("name", ["orders.ods", "orders", "orders.csv.exe", "none/orders.csv"])
def test_a_template_that_cannot_be_written(tmp_path: Path, name: str) -> None:
    result = call("orders", "template", tmp_path / name)
    assert result.exit_code == Exit.USAGE and "Traceback" not in result.stderr
    assert files(tmp_path) == {}


def test_the_written_list_is_planned_as_it_is(
    orders: Path, tmp_path: Path, outsider: Callable[..., None]
) -> None:
    out, plan_folder = tmp_path / "out", tmp_path / "plan"
    assert call("panels", orders, "--out", out).exit_code == Exit.DONE
    result = call("plan", out / "panels.csv", "--out", plan_folder, "--effort", 50)
    assert result.exit_code == Exit.DONE, result.stderr
    assert call("check", plan_folder).exit_code == Exit.DONE
    plan = loads((plan_folder / "plan.json").read_text(encoding="utf-8"), source="plan.json")
    assert len(plan.panels) == 24 and not plan.unplaced
    problems = Problems()
    ordered = read_orders([orders], default_shop(), problems).panels
    assert sorted(plan.panels, key=lambda p: p.id) == sorted(ordered, key=lambda p: p.id)
    outsider(plan, tmp_path)


def test_tank_orders_are_planned_themselves(
    orders: Path, tmp_path: Path, outsider: Callable[..., None]
) -> None:
    result = call("plan", orders, "--out", tmp_path / "plan", "--effort", 1)
    assert result.exit_code == Exit.DONE, result.stderr
    plan = loads((tmp_path / "plan" / "plan.json").read_text(encoding="utf-8"), source="plan.json")
    assert len(plan.panels) == 24
    outsider(plan, tmp_path)
