"""The sets of convex polygons of `panewright bench`: reading, runs, and the check of every result."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.io.bench_data import BenchDataMissing
from panewright.io.bench_polygons import (
    GLASS_NAMES,
    Polygons,
    angled_glass,
    convex_optimum,
    nested,
    wrong_with,
)
from panewright.io.bench_run import Limits
from panewright.nesting.free_regions import Filled, Placed, Shape, SheetSize

TRAPEZOID = [[0, 0], [500, 0], [350, 400], [0, 400]]
TRIANGLE = [[0, 400], [0, 0], [300, 0]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder with a tiny problem of each kind."""
    known = tmp_path / "convex_known_optimum"
    known.mkdir()
    rows = [
        # two of each shape make one sheet
        {"name": "AA1", "bin": [850.0, 400.0], "optimal_bins": 1, "pieces": [TRAPEZOID, TRAPEZOID]},
        {"name": "AB1", "bin": [300, 400], "optimal_bins": 2, "pieces": [TRIANGLE] * 4},
        {"name": "B2", "bin": [600, 500], "optimal_bins": None, "pieces": [TRAPEZOID, TRIANGLE[::-1]]},
    ]
    (known / "instances.json").write_text(json.dumps({"instances": rows}), encoding="utf-8")
    glass = tmp_path / "irregular_guillotine"
    glass.mkdir()
    for name in GLASS_NAMES:
        pieces = [{"id": k, "points": TRAPEZOID if k % 2 else TRIANGLE} for k in range(1, 7)]
        (glass / f"{name}.json").write_text(json.dumps({"pieces": pieces}), encoding="utf-8")
    return tmp_path


def bench(folder: Path, *args: str) -> Result:
    return CliRunner().invoke(app, ["bench", *args, "--data", str(folder), "--effort", "30"])


def test_optima_are_met_and_told_by_class(folder: Path) -> None:
    done = bench(folder, "convex-optimum", "--json")
    assert done.exit_code == Exit.DONE, done.output
    found = json.loads(done.stdout)
    every = found["classes"][-1]
    assert [one["class"] for one in found["classes"]] == ["AA", "AB", "B", None]
    assert every["problems"] == 3 and every["optima_known"] == 2
    assert every["sheets_of_these"] == every["optimum_sum"] == 3
    assert every["optima_met"] == 2
    assert [p["sheets"] for p in found["problems"]] == [1, 2, 1]
    text = bench(folder, "convex-optimum", "--only", "AB1").stdout
    assert "1 of 3 problems" in text


def test_the_glass_lists_tell_their_utilisation(folder: Path) -> None:
    done = bench(folder, "angled-glass", "--only", "J40", "--json")
    assert done.exit_code == Exit.DONE, done.output
    (row,) = json.loads(done.stdout)["problems"]
    assert row["panels"] == 6 and row["sheets"] == 1
    # three trapezoids of 170,000 and three triangles of 60,000 mm2
    share = 690_000 / (row["sheets_used"] * 3210 * 2250) * 100
    assert row["utilisation_percent"] == pytest.approx(share, rel=1e-3)
    assert "J40" in bench(folder, "angled-glass", "--sample", "1", "--only", "J40").stdout


@pytest.mark.parametrize(
    "change",
    [
        {"bin": [0, 5]},
        {"bin": [850]},
        {"bin": [850.5, 400]},
        {"optimal_bins": 0},
        {"pieces": [[[0, 0], [5, 0]]]},
        {"pieces": [[[0, 0], [5, 0], [2, 1], [0, 5]]]},
        {"pieces": [[[0, 0], [5, 0], ["x", 5]]]},
        {"pieces": [[[0, 0], [5, 0], [1e9, 5]]]},
        {"pieces": None},
    ],
)
def test_files_are_read_strictly(folder: Path, change: dict[str, object]) -> None:
    path = folder / "convex_known_optimum" / "instances.json"
    row = {"name": "AA1", "bin": [850, 400], "optimal_bins": 1, "pieces": [TRAPEZOID]} | change
    path.write_text(json.dumps({"instances": [row]}), encoding="utf-8")
    with pytest.raises(BenchDataMissing, match="instances"):
        convex_optimum(folder)
    path.write_text("[", encoding="utf-8")
    assert bench(folder, "convex-optimum").exit_code == Exit.INPUT


def test_corners_on_a_straight_edge_are_left_out(folder: Path) -> None:
    path = folder / "irregular_guillotine" / "J40.json"
    square = [[0, 0], [0, 5], [0, 9], [9, 9], [9, 0]]
    path.write_text(json.dumps({"pieces": [{"id": 1, "points": square}]}), encoding="utf-8")
    problem = angled_glass(folder)[0]
    assert sorted(problem.items[0]) == [(0, 0), (0, 9), (9, 0), (9, 9)]
    assert problem.area == 81


def test_the_check_of_a_result_finds_what_is_wrong() -> None:
    shape = Shape(np.array(TRAPEZOID, float))
    size = SheetSize(850.0, 400.0)
    problem = Polygons(
        name="two", group="", width=850, height=400, items=(tuple((x, y) for x, y in TRAPEZOID),) * 2
    )
    done = nested(problem, Limits(effort=5), clock=float, to_bound=True)
    assert done.used == 1 and done.result.sheets == 1 and done.utilisation == 1

    one = Placed(0, False, shape.corners)
    turned = Placed(0, False, np.array([850.0, 400.0]) - shape.corners)
    good = Filled(0, 850.0, 400.0, (one, turned))
    assert wrong_with([good], [shape], [2], size) == []
    assert wrong_with([good], [shape], [3], size) == ["polygon 0: 2 of 3"]
    assert "overlap" in wrong_with([replace(good, placed=(one, one))], [shape], [2], size)[0]
    moved = Placed(0, False, turned.corners + 1.0)
    assert "outside" in wrong_with([replace(good, placed=(one, moved))], [shape], [2], size)[0]
    larger = Placed(0, False, turned.corners * 0.999)
    assert any("outline" in w for w in wrong_with([replace(good, placed=(one, larger))], [shape], [2], size))
    over = Placed(0, True, (turned.corners * (-1.0, 1.0))[::-1] + np.array([900.0, 0.0]))
    assert any("turned over" in w for w in wrong_with([replace(good, placed=(over,))], [shape], [1], size))
