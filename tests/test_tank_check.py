"""The check of whole tanks: braces between unequal walls, rim braces, glass that is not float, what plans repeat."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from panewright.cli import main
from panewright.io.bench_tanks import measured
from panewright.io.order_lists import Orders, read_orders
from panewright.io.plan_file import loads
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.nesting.outlines import box, rectangle
from panewright.nesting.shop import Shop
from panewright.nesting.shop_tanks import Strength
from panewright.nesting.strength.cases import CrossBrace, Top, WallCase
from panewright.nesting.strength.levy import Plate, Water
from panewright.nesting.strength.plate import solve
from panewright.nesting.strength.supports import Support
from panewright.nesting.strength.verdict import Limit, Outcome
from panewright.nesting.strength.wall import check_wall, strip_stiffness
from panewright.nesting.tanks.build import Built
from panewright.nesting.tanks.clashes import clash
from panewright.nesting.units import mm

SHOP = default_shop()
HEAD = "order;tank;shape;length;width;height;front;glass;thickness;other glass;rim;inside;openings"


def read(folder: Path, *rows: str, shop: Shop = SHOP, head: str = HEAD) -> tuple[Orders, Problems]:
    path = folder / "orders.csv"
    path.write_text("\n".join((head, *rows)) + "\n", encoding="utf-8")
    problems = Problems()
    return read_orders([path], shop, problems), problems


def built_one(folder: Path, row: str, shop: Shop = SHOP) -> Built:
    orders, problems = read(folder, row, shop=shop)
    assert not problems, problems.lines()
    return orders.tanks[0].settled.built


# ---------------------------------------------------------------- braces between walls


def plate(thickness: float, span: float = 1200.0) -> Plate:
    return Plate(span=span, height=500.0, thickness=thickness, load=Water(level=500.0, density=1000), top=0.0)


def support(stiffness: float, at: float = 600.0) -> Support:
    return Support(start=at - 60, end=at + 60, stiffness=stiffness)


@pytest.mark.parametrize("stiffness", [20.0, 3000.0])
def test_a_brace_between_equal_walls_is_as_if_its_middle_stood_still(stiffness: float) -> None:
    one = solve(plate(10), (support(stiffness),))
    both = solve(plate(10), (support(stiffness),), (plate(10), (support(stiffness),)))
    assert both.forces == pytest.approx(one.forces, rel=1e-12)
    assert both.stress.value == pytest.approx(one.stress.value, rel=1e-12)


@pytest.mark.parametrize("stiffness", [20.0, 3000.0])
def test_both_walls_pull_at_a_brace_with_the_same_force(stiffness: float) -> None:
    thin, thick = (plate(8), (support(stiffness),)), (plate(15, 900), (support(stiffness, 450),))
    ours, theirs = solve(*thin, thick), solve(*thick, thin)
    assert ours.forces == pytest.approx(theirs.forces, rel=1e-9)
    # what the brace stretches is what both walls have bowed (its two halves in a row)
    bowed = sum(
        float(s.deflections(np.linspace(q.start, q.end, 41), np.array([500.0])).mean())
        for s, q in ((ours, thin[1][0]), (theirs, thick[1][0]))
    )
    stretched = ours.forces[0] / 120 * 2 / stiffness
    # a hundredth of what the thin wall bows without the brace
    assert bowed == pytest.approx(stretched, abs=0.01 * solve(thin[0]).deflection.value)


def test_a_wall_that_hardly_bows_holds_the_brace_at_its_end() -> None:
    held = solve(plate(10), (support(500.0),))
    stiff = plate(200, 400), (support(500.0, 200),)
    far = solve(plate(10), (support(1000.0),), (stiff[0], (support(1000.0, 200),)))
    assert far.forces == pytest.approx(held.forces, rel=0.01)


def test_the_thin_front_of_a_trapezoid_is_pulled_by_its_back(tmp_path: Path) -> None:
    # 6.2 N/mm2 by a Ritz solution of both plates with one brace between them, worked out apart from this program
    row = "T;;trapezoid;1500;400;500;500;clear;15;front: clear-10 | braces: clear-15;cross 1 x 200;;"
    orders, _ = read(tmp_path, row)
    front = dict(orders.tanks[0].settled.check.walls)["front"]
    assert front is not None and front.brim is not None
    assert front.brim.stress == pytest.approx(6.2, rel=0.01)
    assert front.outcome is Outcome.NOT_ENOUGH


# ---------------------------------------------------------------- rim braces


def test_a_rim_brace_bends_with_the_top_edge() -> None:
    # E w'' b / 2 against the second difference of the bow along the edge
    case = WallCase(
        span=mm(1500), height=mm(500), thickness=mm(12), level=mm(470),
        top=Top(strip_width=mm(80), strip_thickness=mm(12)),
    )  # fmt: skip
    verdict = check_wall(case, Strength())
    assert verdict.brim is not None and verdict.brim.rim_stress is not None
    top = strip_stiffness(mm(80), mm("11.7"))
    bare = Plate(span=1500.0, height=500.0, thickness=11.7, load=Water(level=500.0, density=1000.0), top=top)
    x = np.linspace(0, 1500, 301)
    w = solve(bare).deflections(x, np.array([500.0]))[:, 0]
    bent = np.abs(np.diff(w, 2)).max() / (x[1] - x[0]) ** 2
    assert verdict.brim.rim_stress == pytest.approx(70_000 * bent * 80 / 2, rel=0.01)
    assert Limit.RIM in {limit for _, limit in verdict.uses}


def test_a_slender_rim_brace_makes_a_wall_too_weak(tmp_path: Path) -> None:
    rows = [f"R{w};;rectangle;1500;500;500;;clear;12;;braces {w};;" for w in (50, 100)]
    orders, _ = read(tmp_path, *rows)
    slender, broad = (order.settled.check for order in orders.tanks)
    assert slender.weak_rims == ("front", "back")
    assert "RIM BRACES TOO WEAK" in slender.words
    assert "rim brace" in slender.worst
    assert not broad.too_thin and not broad.weak_rims


def test_a_notch_splits_the_rim_brace_and_takes_it_from_the_check(tmp_path: Path) -> None:
    row = "N;;rectangle;1200;500;450;;clear;12;;braces 80;;back: notch 100 x 40 at 550"
    built = built_one(tmp_path, row)
    parts = [p for p in built.pieces if p.name.startswith("brace back")]
    # the whole brace is 1200 - 2 x 12 - 2 x 1 = 1174 long and begins 13 from the end of the wall
    assert [box(p.finished)[2] for p in parts] == [mm(550 - 13), mm(1174 - (550 - 13) - 100)]
    assert [p.name for p in parts] == ["brace back 1", "brace back 2"]
    for piece, free in zip(parts, (1, 3), strict=True):
        assert piece.edges[free].work is SHOP.tanks.shown
        assert free not in piece.bonded
    front = [p for p in built.pieces if p.name == "brace front"]
    assert [box(p.finished)[2] for p in front] == [mm(1174)]


# ---------------------------------------------------------------- glass, advice


def test_only_float_glass_is_checked(tmp_path: Path) -> None:
    orders, _ = read(tmp_path, "P;;rectangle;400;250;250;;patterned;6;base: clear-6;;;")
    check = orders.tanks[0].settled.check
    assert all(verdict is None for _, verdict in check.walls)
    assert "enough" not in check.words
    _, problems = read(tmp_path, "P;;rectangle;400;250;250;;patterned;advise;;;;")
    assert "no glass of this kind" in problems.errors[0].reason


def test_advice_takes_the_least_stock_thickness_and_halving_finds_it(tmp_path: Path) -> None:
    orders, _ = read(tmp_path, "A;;rectangle;1000;450;450;;clear;advise;;;;")
    settled = orders.tanks[0].settled
    (chosen,) = set(settled.built.vessel.wall_thickness)
    stock = sorted({t for t in SHOP.kinds["clear"].thicknesses if SHOP.sizes_of(f"clear-{t // mm(1)}")})
    rows = [f"T{t};;rectangle;1000;450;450;;clear;{t // mm(1)};;;;" for t in stock]
    each, _ = read(tmp_path, *rows)
    enough = [t for t, order in zip(stock, each.tanks, strict=True) if not order.settled.check.worst]
    assert chosen == enough[0]
    assert any("too thin" in line for line in settled.advice)


def test_advice_where_the_thinnest_is_enough_or_none_is(tmp_path: Path) -> None:
    orders, _ = read(tmp_path, "S;;rectangle;300;200;200;;clear;advise;;braces 40;;")
    settled = orders.tanks[0].settled
    thinnest = min(t for t in SHOP.kinds["clear"].thicknesses if SHOP.sizes_of(f"clear-{t // mm(1)}"))
    assert set(settled.built.vessel.wall_thickness) == {thinnest}
    assert not any("too thin" in line for line in settled.advice)
    _, problems = read(tmp_path, "L;;rectangle;2400;600;900;;clear;advise;;;;")
    assert "no glass of this kind in the shop is enough for the walls" in problems.errors[0].reason


def test_advice_passes_over_glass_whose_least_thickness_is_not_known(tmp_path: Path) -> None:
    kinds = {"clear": replace(SHOP.kinds["clear"], thicknesses=(mm("9.5"), mm(10)))}
    shop = replace(SHOP, kinds=kinds, stock_sizes=())
    orders, problems = read(tmp_path, "U;;rectangle;400;250;250;;clear;advise;;;;", shop=shop)
    assert not problems, problems.lines()
    assert set(orders.tanks[0].settled.built.vessel.wall_thickness) == {mm(10)}


def test_advice_says_that_openings_were_not_checked(tmp_path: Path) -> None:
    orders, _ = read(tmp_path, "O;;rectangle;600;400;400;;clear;advise;;;;back: slot 60 x 50 at 100 200 r 1")
    settled = orders.tanks[0].settled
    assert any("not checked" in line for line in settled.advice)
    assert "back" in settled.check.unchecked


def test_advice_for_one_role(tmp_path: Path) -> None:
    orders, problems = read(tmp_path, "A;;rectangle;900;450;400;;clear;10;base: clear advise;;;")
    assert not problems
    assert orders.tanks[0].settled.built.vessel.base_thickness == mm(10)
    _, problems = read(tmp_path, "A;;rectangle;900;450;400;;clear;10;covers: clear advise;;;")
    assert "walls and base alone" in problems.errors[0].reason


# ---------------------------------------------------------------- insides, plans, bench


@pytest.mark.parametrize(
    ("inside", "meets"),
    [
        ("divider at 100 | divider at 101", True),
        ("divider at 100 | divider at 110", False),
        ("overflow back 300 x 200 weir 40 | divider at 450", True),
        ("overflow back and left 200 x 150 weir 40 | divider at 450", False),
        ("overflow back and left 200 x 150 weir 40 | overflow back and right 200 x 150 weir 40", False),
    ],
)
def test_interior_panels_do_not_lie_in_each_other(tmp_path: Path, inside: str, meets: bool) -> None:
    _, problems = read(tmp_path, f"I;;rectangle;900;450;400;;clear;10;;;{inside};")
    assert bool(problems) is meets
    if meets:
        assert "lie in each other" in problems.errors[0].reason


def test_footprints_that_touch_do_not_clash() -> None:
    a, b = rectangle(10, 10), rectangle(10, 10, 10, 0)
    assert clash([("a", a), ("b", b)]) is None
    assert clash([("a", a), ("b", rectangle(10, 10, 9, 9))]) == ("a", "b")


def test_a_plan_repeats_what_must_be_heard(tmp_path: Path) -> None:
    lists = tmp_path / "orders.csv"
    rows = [HEAD, "W;tall;rectangle;900;450;700;;clear;6;;;;", "F;;rectangle;500;300;300;;clear;6;;;;"]
    lists.write_text("\n".join(rows) + "\n", encoding="utf-8")
    shop = tmp_path / "shop.toml"
    shop.write_text("[strength]\ndesign_stress = 6\n", encoding="utf-8")
    out = tmp_path / "plan"
    args = ["plan", str(lists), "--shop", str(shop), "--out", str(out), "--effort", "1"]
    run = CliRunner().invoke(main.app, [*args, "--no-panel-drawings"])
    assert run.exit_code == 0, run.output
    assert "WARNING: W tall: TOO THIN" in run.stdout
    text = (out / "plan.json").read_text(encoding="utf-8")
    plan = loads(text, source="plan")
    said = json.loads(text)["warnings"]
    assert said[0].startswith("W tall: TOO THIN: front, right, back, left.")
    assert "qualified person" in said[0]
    assert "design stress of 6" in said[1]
    assert not any("F:" in line for line in said)
    sequence = (out / f"sequence-{plan.id}.txt").read_text(encoding="utf-8")
    assert "TOO THIN" in sequence
    assert CliRunner().invoke(main.app, ["check", str(out / "plan.json")]).exit_code == 0


def test_the_design_stress_of_the_shop_counts(tmp_path: Path) -> None:
    row = "D;;rectangle;900;450;450;;clear;8;;;;"
    orders, _ = read(tmp_path, row)
    assert orders.tanks[0].settled.check.too_thin
    strong = replace(SHOP, strength=replace(SHOP.strength, design_stress=Fraction(9)))
    orders, _ = read(tmp_path, row, shop=strong)
    check = orders.tanks[0].settled.check
    assert not check.too_thin
    assert any("9" in line and "5.0" in line for line in check.cautions)


def test_the_bench_of_tanks_counts_what_it_builds() -> None:
    ticks = iter(range(1000))
    found = measured(1, 30, 4, lambda: float(next(ticks)))
    assert (found.tanks, len(found.check_seconds)) == (30, 4)
    assert found.panels == measured(1, 30, 1, lambda: 0.0).panels > 150
    assert found.build_seconds == 1


def test_a_brace_of_a_wall_case_may_have_another_at_its_far_end() -> None:
    brace = CrossBrace(at=mm(600), width=mm(120), thickness=mm(12), reach=mm(400), joint=mm(1))
    case = WallCase(span=mm(1200), height=mm(500), thickness=mm(12), level=mm(470), top=Top(braces=(brace,)))
    weak = replace(case, thickness=mm(8))
    alone, pulled = check_wall(case, Strength()), check_wall(replace(case, opposite=weak), Strength())
    assert alone.brim is not None and pulled.brim is not None
    # the weak wall leans on the strong one
    assert pulled.brim.brace_forces[0] > alone.brim.brace_forces[0]
