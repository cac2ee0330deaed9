"""Glass as measured: what lies between the walls of a tank follows it, the walls that run through do not."""

from __future__ import annotations

import contextvars
import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io.order_lists import read_orders
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.io.store.engine import open_store
from panewright.io.store.items import Item, receive
from panewright.io.store.ledger import Because
from panewright.nesting.outlines import box
from panewright.nesting.panels import Panel
from panewright.nesting.units import mm

TANK = """order,shape,length,width,height,glass,rim,covers,inside
K-1,rectangle,1200,500,600,clear-10,,,divider at 600
"""


def panels(folder: Path, measured: dict[str, int], text: str = TANK) -> dict[str, Panel]:
    path = folder / "tanks.csv"
    path.write_text(text, encoding="utf-8")
    shop = default_shop()
    shop = replace(shop, tanks=replace(shop.tanks, measured=measured))
    problems = Problems()
    orders = read_orders([path], shop, problems)
    assert not problems, problems.lines()
    return {p.name: p for p in orders.panels}


def size(panel: Panel) -> tuple[int, int]:
    x0, y0, x1, y1 = box(panel.finished)
    return x1 - x0, y1 - y0


def test_a_rectangular_tank_by_hand(tmp_path: Path) -> None:
    """Outside 1200 x 500 x 600, walls on the base, joints of 1 mm, front and back run through."""
    plain, real = panels(tmp_path, {}), panels(tmp_path, {"clear-10": mm("9.7")})
    assert size(plain["left"]) == (mm(500 - 2 * 10 - 2 * 1), mm(600 - 10 - 1))
    # two walls of 9.7 leave 0.6 mm more between them, a base of 9.7 leaves 0.3 mm more above it
    assert size(real["left"]) == (mm("478.6"), mm("589.3"))
    assert size(real["front"]) == (mm(1200), mm("589.3"))
    assert size(real["base"]) == size(plain["base"]) == (mm(1200), mm(500))
    across = size(real["divider"])[0] - size(plain["divider"])[0]
    assert across == mm("0.6")
    # nominal glass it remains: allowances, mass by name, glass key
    assert real["left"].glass == "clear-10" and real["left"].thickness == mm(10)
    assert real["left"].edges == plain["left"].edges


def test_other_glass_changes_nothing(tmp_path: Path) -> None:
    assert panels(tmp_path, {"clear-8": mm("7.7")}) == panels(tmp_path, {})


def run(folder: Path, *args: str) -> Result:
    return contextvars.copy_context().run(CliRunner().invoke, main.app, list(args))


def test_on_the_command_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PANEWRIGHT_STOCK", raising=False)
    (tmp_path / "tanks.csv").write_text(TANK, encoding="utf-8")
    result = run(tmp_path, "panels", "tanks.csv", "--measured", "clear-10=9,7", "--json")
    assert result.exit_code == Exit.DONE, result.output
    assert "counts as 9.7 mm thick" in result.stderr and "478.6" in result.stdout
    for bad, reason in (
        ("clear-11=9", "no such glass"),
        ("clear-10=8", "no clear-10 is"),
        ("clear-10=x", ""),
    ):
        result = run(tmp_path, "panels", "tanks.csv", "--measured", bad)
        assert result.exit_code == Exit.INPUT and reason in result.stderr and "--measured" in result.stderr

    day = date(2027, 3, 1)
    case = Item(
        kind="sheet",
        name="C-1",
        glass="clear-10",
        width=mm(3210),
        height=mm(2250),
        since=day,
        measured=mm("9.7"),
    )
    because = Because(at=datetime(2027, 3, 1, tzinfo=UTC))
    with open_store("stock.db", create=True) as store:
        with store.writing() as c:
            receive(c, case, 2, because)
        args = ("plan", "tanks.csv", "--measured", "stock", "--effort", "1", "--json", "--no-panel-drawings")
        result = run(tmp_path, *args, "--out", "a")
        assert result.exit_code == Exit.DONE, result.output
        said = json.loads((tmp_path / "a" / "plan.json").read_text(encoding="utf-8"))
        left = next(p for p in said["panels"] if p["name"] == "left")
        assert left["finished"][2] == [478.6, 589.3]
        assert any("9.7 mm thick" in line for line in said["warnings"])
        # a second case that nobody measured: it counts as nominal, and that is said
        with store.writing() as c:
            receive(c, replace(case, name="C-2", measured=None), 2, because)
    result = run(tmp_path, *args, "--out", "b")
    assert result.exit_code == Exit.DONE and "not all are measured" in result.stderr
    said = json.loads((tmp_path / "b" / "plan.json").read_text(encoding="utf-8"))
    assert next(p for p in said["panels"] if p["name"] == "left")["finished"][2] == [478, 589]
