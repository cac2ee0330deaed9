"""Widths between cuts, least waste and the deepest level in the shop file: units, ranges, blocks for some glasses."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from panewright.cli.main import app
from panewright.io.problems import Problems
from panewright.io.shop_defaults import shop_text
from panewright.io.shop_file import default_shop, read_shop
from panewright.nesting.rules import Rules
from panewright.nesting.shop import Shop
from panewright.nesting.units import inch, mm

# the limits of the ROADEF/EURO 2018 challenge as the brief of this project gives them (from a summary in words)
CHALLENGE = """
[cutting]
table = "machine"
levels = 4
last_cut = false
break_out = 20
level1_width = [100, 3500]
level2_width = 100
least_waste = 20
deepest_once = true
trim = 0
marks = "exact"
[stock]
clear-10 = [{ size = [6000, 3210], price = 100 }]
"""


def read(folder: Path, text: str) -> tuple[Shop, Problems]:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    problems = Problems()
    return read_shop(path, problems), problems


def test_the_rules_of_the_challenge_are_shop_rules(tmp_path: Path) -> None:
    shop, problems = read(tmp_path, CHALLENGE)
    assert not problems.lines()
    rules = shop.rules("clear-10")
    assert (rules.levels, rules.last_cut, rules.break_out) == (4, False, mm(20))
    assert rules.level1_width == (mm(100), mm(3500)) and rules.level2_width == mm(100)
    assert rules.least_waste == mm(20) and rules.deepest_once and rules.sheet_rules
    assert shop.trim("clear-10").left == 0


def test_they_are_off_unless_set(tmp_path: Path) -> None:
    plain = Rules()
    for shop in (default_shop(), read(tmp_path, shop_text(default_shop()))[0], read(tmp_path, "")[0]):
        rules = shop.rules("clear-10")
        assert not rules.sheet_rules
        for name in ("level1_width", "level2_width", "least_waste", "deepest_once"):
            assert getattr(rules, name) == getattr(plain, name)


def test_inches_none_and_some_glasses(tmp_path: Path) -> None:
    shop, problems = read(
        tmp_path,
        '[cutting]\nlevels = 4\nlevel1_width = ["4 in", "none"]\nlevel2_width = "3 1/2 in"\nleast_waste = 40\n'
        "deepest_once = true\n[[for_glass]]\nthickness_from = 15\nlevel1_width = [0, 2000]\nlevel2_width = 0\n"
        "deepest_once = false\n[stock]\n",
    )
    assert not problems.lines()
    thin, thick = shop.rules_as_set("clear-10"), shop.rules_as_set("clear-19")
    assert thin.level1_width == (inch(4), None) and thin.level2_width == inch("3.5")
    assert thin.least_waste == thick.least_waste == mm(40) and thin.deepest_once
    assert (thick.level1_width, thick.level2_width, thick.deepest_once) == ((0, mm(2000)), 0, False)


def test_widths_go_to_the_mark_as_others_do(tmp_path: Path) -> None:
    text = "level1_width = [100.3, 3500.3]\nlevel2_width = 100.1\nleast_waste = 40.2\nmarks = 0.5\n"
    shop, problems = read(tmp_path, f"[table]\nto_the_mark = true\n[cutting]\n{text}[stock]\n")
    assert not problems.lines()
    rules, plain = shop.rules("clear-10"), shop.rules_as_set("clear-10")
    assert plain.level1_width == (mm("100.3"), mm("3500.3"))
    assert rules.level1_width == (mm("100.5"), mm(3500))
    assert (rules.level2_width, rules.least_waste) == (mm("100.5"), mm("40.5"))
    exact = replace(shop, work=replace(shop.work, to_the_mark=False))
    assert exact.rules("clear-10") == plain


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ("level1_width = 100", "level1_width"),
        ("level1_width = [100]", "level1_width"),
        ("level1_width = [100, 3500, 1]", "level1_width"),
        ("level1_width = ['none', 3500]", "level1_width"),
        ("level1_width = [3001, 'none']", "level1_width"),
        ("level1_width = [200, 150]", "level1_width"),
        ("level1_width = [0, 99]", "level1_width"),
        ("level1_width = [-1, 3500]", "level1_width"),
        ("level1_width = [nan, 3500]", "level1_width"),
        ("level1_width = [0, 12001]", "level1_width"),
        ("level2_width = -5", "level2_width"),
        ("level2_width = 3001", "level2_width"),
        ("level2_width = 'wide'", "level2_width"),
        ("level2_width = inf", "level2_width"),
        ("least_waste = 501", "least_waste"),
        ("least_waste = true", "least_waste"),
        ("least_waste = [20]", "least_waste"),
        ("deepest_once = 1", "deepest_once"),
        ("deepest_once = 'yes'", "deepest_once"),
        ("levels = 'free'\ndeepest_once = true", "deepest_once"),
        ("levels = 3\ndeepest_once = true", "deepest_once"),
        ("deepest_once = true", "deepest_once"),
    ],
)
def test_settings_out_of_range(tmp_path: Path, line: str, key: str) -> None:
    _, problems = read(tmp_path, f"[cutting]\n{line}\n[stock]\n")
    (error,) = problems.errors
    assert error.column == f"cutting.{key}" and error.reason and error.remedy


def test_shop_check_names_them(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(CHALLENGE.replace("level2_width", "level2_widht"), encoding="utf-8")
    run = CliRunner().invoke(app, ["shop", "check", str(path)])
    assert run.exit_code == 3 and "did you mean level2_width?" in run.output
    path.write_text(CHALLENGE, encoding="utf-8")
    assert CliRunner().invoke(app, ["shop", "check", str(path)]).exit_code == 0
