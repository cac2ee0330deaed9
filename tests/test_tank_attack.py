"""What a sceptical user of tank orders found: verdicts that counted on what does not hold, and lists misread."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from panewright.cli import main
from panewright.io.tank_words import Words
from panewright.nesting.shop_tanks import TankHabits
from panewright.nesting.tanks.tank import OverflowBox, RimBraces
from panewright.nesting.units import inch


def said(tmp_path: Path, *rows: str) -> tuple[int, dict[str, Any], str]:
    """Exit code, JSON and all that `panels` says about rows, the first of which is the header."""
    path = tmp_path / "orders.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    run = CliRunner().invoke(main.app, ["panels", str(path), "--json"])
    start = run.stdout.find("{")
    return run.exit_code, json.loads(run.stdout[start:]) if start >= 0 else {}, run.output


def wall(found: dict[str, Any], name: str, tank: int = 0) -> dict[str, Any]:
    check: dict[str, Any] = found["tanks"][tank]["check"]["panels"][name]
    return check


HEAD = "order;shape;length;width;height;glass;thickness;other glass;walls;rim;openings;stands;corner;unit"


def test_a_notch_at_one_end_of_a_cross_brace_takes_it_from_both_walls(tmp_path: Path) -> None:
    row = "N{};rectangle;900;500;500;clear;10;front: clear-19 | braces: clear-12;;{};{};;;"
    notch = "front: notch 155 x 40 at 372 r 19"
    rows = [row.format(1, "cross 1 x 150", notch), row.format(2, "rimless", "")]
    _, found, _ = said(tmp_path, HEAD, *rows)
    braced, bare = (wall(found, "back", k)["brim"]["stress"] for k in (0, 1))
    assert braced == bare > 5
    assert wall(found, "back")["outcome"] == "not enough"
    words = [f["words"] for f in found["tanks"][0]["findings"] if f["warning"]]
    assert any("cross brace ends at a notch" in w for w in words)


def test_joints_are_as_wide_as_the_thinner_glass_that_holds_the_wall(tmp_path: Path) -> None:
    # a wall that runs through is held by the edges of the side walls, and of the base between the walls
    rows = [
        "J1;rectangle;1000;220;600;clear;15;right: clear-6 | left: clear-6;;;;;;",
        "J2;rectangle;900;200;450;clear;12;base: clear-4;around base;;;;;",
        "J3;rectangle;1000;220;600;clear;15;;;;;;;",
        "J4;rectangle;900;200;450;clear;12;;around base;;;;;",
    ]
    _, found, _ = said(tmp_path, HEAD, *rows)
    thin, low, thick, level = (wall(found, "front", k)["brim"] for k in range(4))
    # 0.98 N/mm at the vertical joints over 6 mm, 0.86 N/mm at the foot over 4 mm (Ritz solution: the same)
    assert thin["joint_stress"] > 0.16 > thick["joint_stress"]
    assert low["joint_stress"] > 0.21 > level["joint_stress"]
    assert found["tanks"][0]["check"]["joints_overloaded"] == ["front", "back"]
    assert found["tanks"][1]["check"]["joints_overloaded"] == ["front", "back"]


def test_a_base_that_turns_inwards_on_its_rim_is_not_called_enough(tmp_path: Path) -> None:
    # a finite-element solution (Morley) gives 4.3 N/mm2 a thickness away from the inner corner, twice the
    # rectangle's 2.1 in its middle, and more without end towards the corner
    rows = [
        "L1;L;1200;600;300;clear;10;base: clear-19;;rimless;;rim;500 | 300;",
        "L2;L;1200;600;300;clear;advise;;;rimless;base: hole 40 at 640 350;rim;500 | 300;",
    ]
    _, found, out = said(tmp_path, HEAD, *rows)
    for k in (0, 1):
        assert wall(found, "base", k)["outcome"] == "not checked"
        assert found["tanks"][k]["check"]["verdict"].endswith("The base is not checked.")
    assert "safe side" not in out
    assert "turns inwards" in str(found["tanks"][1]["findings"])


def test_openings_that_meet_or_leave_an_angled_panel_are_errors_as_in_panel_lists(tmp_path: Path) -> None:
    rows = [
        "O1;rectangle;900;450;450;clear;12;;;rimless;back: hole 35 at 100 60 | back: hole 35 at 110 60;;;",
        "O2;octagon;600;;450;clear;12;;;rimless;base: hole 30 at 30 30;;;",
        "O3;rectangle;900;450;450;clear;12;;;rimless;base: hole 20 at 5 5;;;",
        "O4;rectangle;900;450;450;clear;12;;;braces 80;back: hole 35 at 100 60 | back: notch 80 x 40 at 300;;;",
    ]
    code, _, out = said(tmp_path, HEAD + ";across", *[row + ";flats" * ("octagon" in row) for row in rows])
    assert code == 3
    for row, what in ((2, "touch or overlap"), (3, "leaves the glass"), (4, "from its front up")):
        assert any(f'row {row}, column "openings"' in line and what in line for line in out.splitlines())
    assert 'row 5, column "openings"' not in out


def test_fractions_behind_a_blank_are_read_in_every_cell_of_a_tank() -> None:
    words = Words("in", ".", TankHabits())
    eighth = inch("1/8")
    assert words.top("braces 3 1/2 | cross 2 x 4 1/4").rim == RimBraces(width=28 * eighth)
    assert words.covers("sliding 2 overlap 1 1/4")[0].overlap == 10 * eighth
    notch, hole, slot = words.openings(
        "right: notch 5 x 1 1/2 at 2 r 1/2 | back: hole 1 1/8 at 3 1/2 2 1/4 | left: slot 4 1/2 x 1 at 6 2 1/2"
    )
    assert (notch.width, notch.height, notch.x, notch.radius) == (inch(5), 12 * eighth, inch(2), 4 * eighth)
    assert (hole.width, hole.x, hole.y) == (9 * eighth, 28 * eighth, 18 * eighth)
    assert (slot.width, slot.height, slot.x, slot.y) == (36 * eighth, inch(1), inch(6), 20 * eighth)
    (box,) = words.insides("overflow back and left 8 1/2 x 6 weir 1 1/2")
    assert isinstance(box, OverflowBox)
    assert (box.along, box.deep, box.weir) == (68 * eighth, inch(6), 12 * eighth)
    (plain,) = words.openings("back: hole 1/2 at 3 1/2")
    assert (plain.width, plain.x, plain.y) == (4 * eighth, inch(3), 4 * eighth)


def test_other_glass_for_the_same_panel_twice_is_an_error(tmp_path: Path) -> None:
    row = "G1;rectangle;900;450;450;clear;12;front: clear-12 | front: clear-10;;rimless;;;;"
    code, _, out = said(tmp_path, HEAD, row)
    assert code == 3
    assert "front stands there twice" in out


def test_a_template_beside_another_one_is_written_and_nothing_by_halves(tmp_path: Path) -> None:
    def template(name: str) -> int:
        return CliRunner().invoke(main.app, ["orders", "template", str(tmp_path / name)]).exit_code

    assert template("a.csv") == 0
    assert template("b.json") == 0  # the drawing of its base is there already, and the same
    (tmp_path / "base-outline.dxf").write_text("another", encoding="utf-8")
    assert template("c.csv") == 2
    assert not (tmp_path / "c.csv").exists()
    assert template("a.csv") == 2
