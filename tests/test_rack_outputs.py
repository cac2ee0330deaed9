"""The racks of a plan and its sheets with flaws: as a file, on the screen, for programs."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from panewright.cli.racks import plan_tables
from panewright.io.csv_rows import csv_rows
from panewright.io.plan_folder import what_to_open
from panewright.io.problems import Problems
from panewright.io.rack_words import rack_files, racks_json
from panewright.nesting.flaws import Flaw, Tolerance
from panewright.nesting.plan import Plan
from panewright.nesting.spots import told_apart, with_flaws
from panewright.nesting.units import mm


@pytest.fixture
def told(hand_plan: Plan) -> Plan:
    """The plan by hand with racks, a flaw in waste and one that its left side tolerates."""
    where = {"front": ("=R", 1), "back": ("=R", 2), "left side": ("S", 1)}
    panels = [replace(p, rack=where[p.name][0], slot=where[p.name][1]) for p in hand_plan.panels]
    panels[2] = replace(panels[2], tolerates=(Tolerance("seed", "anywhere"),))
    flaws = (Flaw(mm(1990), mm(990), mm(2), mm(2), "chip"), Flaw(mm(100), mm(600), mm(1), mm(1), "seed"))
    layouts = told_apart([with_flaws(hand_plan.layouts[0], flaws)], panels)
    return replace(hand_plan, panels=tuple(panels), layouts=tuple(layouts))


def test_racks_as_a_file(told: Plan, hand_plan: Plan, tmp_path: Path) -> None:
    ((name, text),) = rack_files(told).items()
    assert name == f"racks-{told.id}.csv"
    problems = Problems()
    head, *rows = [cells for _, cells in csv_rows(text.lstrip("\ufeff"), ",", name, problems)]
    assert "'=R,1," in text  # no spreadsheet runs it
    assert [row[head.index("rack")] for row in rows] == ["=R", "=R", "S"]
    steps = {
        leaf.panel: cut.step
        for leaf in told.layouts[0].leaves
        for cut in told.layouts[0].cuts
        if leaf.piece in cut.makes
    }
    for row in rows:
        assert row[head.index("free after step")] == str(steps[row[head.index("panel")]])
    assert [row[head.index("slot")] for row in rows] == ["1", "2", "1"]
    assert [row[head.index("racks open after")] for row in rows] == ["1", "0", "0"]
    assert rack_files(hand_plan) == {}
    opened = "\n".join(what_to_open(told, tmp_path))
    assert f"racks-{told.id}.csv" in opened
    assert "racks-" not in "\n".join(what_to_open(hand_plan, tmp_path))


def test_racks_and_flaws_on_the_screen_and_for_programs(told: Plan, hand_plan: Plan) -> None:
    racks, sheets = plan_tables(told)
    assert "At most 1 rack is open at once." in racks and "sheet 1, step" in racks
    assert "chip 1" in sheets and "seed 1" in sheets
    found = racks_json(told)
    assert [r["rack"] for r in found["racks"]] == ["=R", "S"] and found["most_open_racks"] == 1
    assert found["sheets_with_flaws"] == [
        {
            "sheet": 1,
            "stock": told.layouts[0].stock,
            "flaws": 1,
            "spots": 1,
            "kinds": ["chip", "seed"],
            "in_panels": [{"kind": "seed", "panel": told.panels[2].id}],
        }
    ]
    assert plan_tables(hand_plan) == [] and racks_json(hand_plan) == {}
