"""What a reviewer of tank orders found: braces of glass that is not there, and verdicts that nobody heard."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from panewright.cli import main
from panewright.io.order_lists import heard_of, read_orders
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop


def said(tmp_path: Path, *rows: str) -> tuple[int, dict[str, Any], str]:
    """Exit code, JSON and all that `panels` says about rows, the first of which is the header."""
    path = tmp_path / "orders.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    run = CliRunner().invoke(main.app, ["panels", str(path), "--json"])
    start = run.stdout.find("{")
    return run.exit_code, json.loads(run.stdout[start:]) if start >= 0 else {}, run.output


HEAD = "order;shape;length;width;height;glass;thickness;other glass;sizes;walls;rim;openings;stands"


def test_a_cross_brace_needs_the_rim_brace_that_it_is_bonded_to(tmp_path: Path) -> None:
    # between the notches 85 mm of a rim brace 120 mm wide would be left, which is left out
    row = "R{};rectangle;1500;500;420;clear;19;;;;{};{};"
    notches = "front: notch 150 x 40 at 555 r 19 | front: notch 150 x 40 at 790 r 19"
    rows = [
        row.format(1, "braces 120 | cross 60 lapped", notches),
        row.format(2, "braces 120 | cross 60", notches),
        row.format(3, "braces 120", notches),
        # 125 mm are left: the brace holds
        row.format(4, "braces 120 | cross 60 lapped", notches.replace("790", "832").replace("555", "557")),
    ]
    _, found, _ = said(tmp_path, HEAD, *rows)
    bows = [tank["check"]["panels"]["front"]["brim"]["bow"] for tank in found["tanks"]]
    assert bows[0] == bows[1] == bows[2] > 1.2 * bows[3]
    for tank in found["tanks"][:2]:
        assert any("takes the rim brace away" in f["words"] for f in tank["findings"] if f["warning"])
    assert not any("rim brace away" in f["words"] for f in found["tanks"][3]["findings"])


def test_braces_are_of_glass_that_the_shop_has(tmp_path: Path) -> None:
    row = "G1;rectangle;1000;500;500;clear;15;braces: grey-tint;;;braces 80;;"
    code, _, out = said(tmp_path, HEAD, row)
    assert code == 3
    assert 'column "other glass"' in out and "no grey-tint glass of 15 mm" in out
    code, _, _ = said(tmp_path, HEAD, row.replace("grey-tint", "grey-tint-10"))
    assert code == 0


def test_walls_that_patterned_glass_braces_are_not_checked(tmp_path: Path) -> None:
    row = "P1;rectangle;1000;500;400;clear;8;braces: patterned-6;;;{};;"
    _, found, out = said(tmp_path, HEAD, row.format("braces 80"), row.format("rimless"))
    braced, bare = (tank["check"]["panels"] for tank in found["tanks"])
    assert braced["front"] is None
    assert bare["front"] is not None
    assert "WARNING" in out and "not checked: front, right, back, left" in out


def test_a_plan_repeats_that_walls_or_openings_were_not_checked(tmp_path: Path) -> None:
    path = tmp_path / "orders.csv"
    rows = [
        "U1;rectangle;900;450;400;clear;12;;;;rimless;back: hole 30 at 20 80;",
        "U2;rectangle;900;450;300;patterned;6;base: clear-6;;;rimless;;",
        "U3;rectangle;900;450;400;clear;12;;;;rimless;;",
    ]
    path.write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    problems, shop = Problems(), default_shop()
    heard = heard_of(read_orders([path], shop, problems), shop)
    assert [line[:2] for line in heard] == ["U1", "U2"]
    assert all("Not everything could be checked" in line for line in heard)


def test_advice_holds_with_the_base_that_it_advises(tmp_path: Path) -> None:
    # a base of 19 mm between the walls makes them span 4.5 mm more than one of 10 mm
    rows = [
        "A1;rectangle;1067;827;410;clear;advise;;inside;around base;rimless;;rim",
        "A2;rectangle;1340;855;215;clear;advise;;inside;around base;rimless;;rim",
    ]
    _, found, _ = said(tmp_path, HEAD, *rows)
    for tank, walls in zip(found["tanks"], ("walls: 12 mm", "walls: 8 mm"), strict=True):
        assert tank["check"]["too_thin"] == []
        assert tank["advice"][0].startswith(walls)


def test_the_joint_of_a_rim_brace_carries_what_a_cross_brace_pulls(tmp_path: Path) -> None:
    row = "L1;rectangle;1800;440;560;clear;19;braces: clear-4;;;braces 80 | cross 300 lapped;;"
    _, found, _ = said(tmp_path, HEAD, row)
    front = found["tanks"][0]["check"]["panels"]["front"]
    # the brace pulls with 1.7 N/mm at the rim brace, which hands 0.95 N/mm on over a joint of 4 mm
    assert front["brim"]["joint_stress"] > 0.2
    assert "joint of the rim brace" in front["why"]


def test_interior_panels_end_below_the_braces(tmp_path: Path) -> None:
    head = "order;shape;length;width;height;glass;thickness;rim;inside"
    row = "I{};rectangle;1000;500;500;clear;15;{};{}"
    bad = [
        ("braces 80", "divider at 300 height 480"),
        ("braces 80", "overflow back 300 x 120 weir 5"),
        ("cross 120", "divider at 440 height 480"),
        ("braces 80 | cross 120 lapped", "divider at 500 height 455"),
    ]
    good = [
        ("braces 80", "divider at 300 height 468"),
        ("braces 80", "overflow back 300 x 120 weir 15"),
        ("cross 120", "divider at 300 height 480"),
        ("braces 80 | cross 120 lapped", "divider at 300 height 468"),
        ("braces 80 on left", "divider at 300 height 480"),
        ("braces 80 | cross 120 lapped", "divider at 500"),
    ]
    code, found, _ = said(tmp_path, head, *(row.format(i, *words) for i, words in enumerate(bad)))
    assert code == 3
    assert [p["row"] for p in found["problems"]] == [2, 3, 4, 5]
    assert all("reaches into the glass of a brace" in p["reason"] for p in found["problems"])
    code, _, _ = said(tmp_path, head, *(row.format(i, *words) for i, words in enumerate(good)))
    assert code == 0


def test_the_remedy_for_a_joint_is_no_advice_on_thickness(tmp_path: Path) -> None:
    row = "J1;rectangle;1500;500;500;clear;advise;;;;cross 1 x 60;;"
    _, found, out = said(tmp_path, HEAD, row)
    assert found["tanks"][0]["check"]["joints_overloaded"] == ["front", "back"]
    assert "write advise" not in out and "a larger face" in out
