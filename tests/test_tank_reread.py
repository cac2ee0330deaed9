"""What a second review of the tank orders found."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from panewright.cli import main
from panewright.io.order_lists import Orders, read_orders
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop, read_shop
from panewright.nesting.shop_tanks import Strength
from panewright.nesting.strength.cases import CrossBrace, Top, WallCase
from panewright.nesting.strength.verdict import BondAt, Outcome
from panewright.nesting.strength.wall import check_wall
from panewright.nesting.units import mm

HEAD = "order;shape;length;width;height;glass;thickness;other glass;rim;openings"


def read(folder: Path, *rows: str, head: str = HEAD) -> tuple[Orders, Problems]:
    path = folder / "orders.csv"
    path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
    problems = Problems()
    return read_orders([path], default_shop(), problems), problems


# ---------------------------------------------------------------- joints of rim braces


def test_the_joint_of_a_rim_brace_carries_the_cross_braces_that_end_on_it() -> None:
    # the force of a lapped brace goes through the rim brace's joint to the wall
    brace = CrossBrace(at=mm(900), width=mm(120), thickness=mm(6), reach=mm(460), joint=mm(1), lap=mm(100))
    case = WallCase(
        span=mm(1800), height=mm(580), thickness=mm(19), level=mm(550),
        top=Top(strip_width=mm(100), strip_thickness=mm(6), braces=(brace,)),
    )  # fmt: skip
    verdict = check_wall(case, Strength())
    assert verdict.brim is not None
    assert verdict.brim.bond_at is BondAt.RIM
    assert verdict.brim.bond == pytest.approx(0.17, abs=0.005)
    assert verdict.outcome is Outcome.NOT_ENOUGH


@pytest.mark.parametrize(
    "row",
    [
        # glass of 8 mm leaves no opening between the rim braces
        "A;rectangle;1300;120;150;clear;advise;;braces 50;",
        # the left wall is 190 mm long between walls of 4 mm, 182 mm between walls of 8 mm
        "A;rectangle;300;200;100;clear;advise;;;left: hole 20 at 178 30",
    ],
)
def test_advice_does_not_fail_for_glass_too_thick_to_build_with(tmp_path: Path, row: str) -> None:
    orders, problems = read(tmp_path, row)
    assert not problems.errors, problems.lines()
    assert set(orders.tanks[0].settled.built.vessel.wall_thickness) == {mm(4)}


def test_advice_says_what_is_wrong_with_the_thinnest_where_nothing_can_be_built(tmp_path: Path) -> None:
    _, problems = read(tmp_path, "A;rectangle;1300;100;150;clear;advise;;braces 60;")
    assert "leave no opening" in problems.errors[0].reason


# ---------------------------------------------------------------- notches and cross braces


@pytest.mark.parametrize("rim", ["braces 100 | cross 60 lapped", "braces 100 | cross 60"])
@pytest.mark.parametrize("wall", ["front", "back"])
def test_a_cross_brace_needs_the_part_of_the_rim_brace_that_it_ends_on(
    tmp_path: Path, rim: str, wall: str
) -> None:
    # between the notches 90 mm are left for it, but a rim brace of 100 mm leaves out parts as short as that
    row = f"N;rectangle;1200;500;450;clear;12;;{rim};{wall}: 2 notches 100 x 40 pitch 190 at 455"
    orders, _ = read(tmp_path, row)
    settled = orders.tanks[0].settled
    assert [p.name for p in settled.built.pieces if "brace " + wall in p.name][-1] == f"brace {wall} 2"
    for name, verdict in settled.check.walls:
        assert verdict is not None and not verdict.case.top.braces, name
    assert any(f.loud and "cross brace" in f.words for f in settled.check.findings)


def test_a_cross_brace_on_what_notches_leave_of_a_rim_brace_counts(tmp_path: Path) -> None:
    # the brace reaches from 570 to 630 mm
    rows = [
        f"N;rectangle;1200;500;450;clear;12;;braces 80 | cross 60;front: notch 100 x 40 at {x}"
        for x in (300, 470, 471, 629, 630)
    ]
    orders, _ = read(tmp_path, *rows)
    found = [dict(order.settled.check.walls)["front"] for order in orders.tanks]
    assert [len(v.case.top.braces) for v in found if v is not None] == [1, 1, 0, 0, 1]


# ---------------------------------------------------------------- glass


def test_laminated_glass_is_not_checked_as_one_plate(tmp_path: Path) -> None:
    # its layer creeps under lasting load: two plates of 6 mm are weaker than one of 12 mm
    shop_file = tmp_path / "shop.toml"
    shop_file.write_text("[kinds.clear]\nthicknesses = [12]\n[kinds.laminated]\nthicknesses = [12]\n")
    problems = Problems()
    for shop in (default_shop(), read_shop(shop_file, problems)):
        assert shop.kinds["clear"].is_float
        assert not shop.kinds["laminated"].is_float
    path = tmp_path / "orders.csv"
    path.write_text(f"{HEAD}\nL;rectangle;600;300;300;laminated;12;base: clear-12;;\n")
    orders = read_orders([path], shop, problems)
    assert not problems.errors, problems.lines()
    assert "enough" not in orders.tanks[0].settled.check.words


# ---------------------------------------------------------------- what is said


def test_check_repeats_what_a_plan_says_of_its_tanks(tmp_path: Path) -> None:
    lists = tmp_path / "orders.csv"
    lists.write_text(f"{HEAD}\nW;rectangle;900;450;700;clear;6;;;\n")
    out = tmp_path / "plan"
    args = ["plan", str(lists), "--out", str(out), "--effort", "1", "--no-panel-drawings"]
    assert CliRunner().invoke(main.app, args).exit_code == 0
    said = CliRunner().invoke(main.app, ["check", str(out)])
    assert said.exit_code == 0
    assert "WARNING: W: TOO THIN" in said.stdout
    assert said.stdout.rstrip().endswith("OK")
    data = json.loads(CliRunner().invoke(main.app, ["check", str(out), "--json"]).stdout)
    assert "TOO THIN" in data["warnings"][0]


@pytest.mark.parametrize(
    ("thickness", "rim", "remedy"),
    [
        ("15", "cross 60", "wider or lapped cross braces"),
        ("advise", "cross 60", "wider or lapped cross braces"),
        ("6", "", "write advise as its thickness"),
    ],
)
def test_the_remedy_is_one_that_helps(tmp_path: Path, thickness: str, rim: str, remedy: str) -> None:
    _, problems = read(tmp_path, f"R;rectangle;1200;500;500;clear;{thickness};;{rim};")
    (warning,) = problems.warnings
    assert remedy in warning.remedy


# ---------------------------------------------------------------- removable braces


@pytest.mark.parametrize("count", [3, 4, 6])
def test_every_choice_of_removable_braces_is_tried(count: int) -> None:
    # a brace that is left alone pulls more than all of them together, and so does a pair
    braces = tuple(
        CrossBrace(
            at=mm(1600) * k // (count + 1), width=mm(100), thickness=mm(15), reach=mm(450), joint=mm(1),
            removable=True,
        )
        for k in range(1, count + 1)
    )  # fmt: skip
    case = WallCase(span=mm(1600), height=mm(500), thickness=mm(15), level=mm(470), top=Top(braces=braces))
    fixed = tuple(replace(brace, removable=False) for brace in braces)
    alone = [replace(case, top=Top(braces=(brace,))) for brace in fixed]
    fewer = [replace(case, top=Top(braces=(*fixed[:k], *fixed[k + 1 :]))) for k in range(count)]
    some = [check_wall(each, Strength()).brim for each in (*alone, *fewer)]
    worst = check_wall(case, Strength()).brim
    assert worst is not None
    assert worst.stress >= max(check.stress for check in some if check is not None) * (1 - 1e-9)


def test_advice_for_a_panel_of_the_same_kind(tmp_path: Path) -> None:
    orders, problems = read(tmp_path, "B;rectangle;900;450;400;clear;12;base: advise;;")
    assert not problems.errors, problems.lines()
    assert orders.tanks[0].settled.built.vessel.base_thickness == mm(12)
    _, problems = read(tmp_path, "B;rectangle;900;450;400;clear;12;covers: advise;;")
    assert "walls and base alone" in problems.errors[0].reason


@pytest.mark.parametrize("rim", ["braces 100", "cross 120", "removable cross 120"])
def test_a_wall_is_not_checked_by_braces_that_are_no_float_glass(tmp_path: Path, rim: str) -> None:
    # patterned glass as a brace was counted as if it were float glass
    orders, _ = read(tmp_path, f"P;rectangle;900;450;400;clear;12;braces: patterned-6;{rim};")
    check = orders.tanks[0].settled.check
    front = dict(check.walls)["front"]
    assert front is None
    assert "enough" not in check.words
