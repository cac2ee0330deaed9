"""The sets of `panewright bench` beside the packing classes: reading, checked runs, tables and JSON."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from panewright.cli.bench import SETS
from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.io import bench_run, bench_scale, bench_sets, bench_value
from panewright.io.bench_data import VARIABLE, BenchDataMissing
from panewright.io.bench_run import Limits, run_order
from panewright.io.bench_value import Knapsack, knapsacks, standing, value_bound, value_found
from panewright.nesting.checker import Violation, check
from panewright.nesting.errors import PlanFault
from panewright.nesting.optimizer.one_sheet import OneSheet

FURNITURE = """name,W,H,bins_guillotine_fixed,proven_optimal,bins_guillotine_rotation,proven_optimal
A1,10,10,2,True,9,False
A2,10,10,1,False,1,True
"""
MIXED = """name,opt_unlimited_stage_guillotine_fixed,opt_two_stage_non_exact_fixed
one,2,2
two,"3 (by bounds, not by the run)",4
"""


def problem(name: str, stock: list[list[Any]], items: list[list[int]]) -> dict[str, Any]:
    return {"name": name, "stock": stock, "items": items}


def stored(path: Path, instances: object) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps({"instances": instances}), encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder with a few tiny problems of each set."""
    stock = tmp_path / "cutting_stock"
    square = [[10, 10, None, None]]
    stored(
        stock / "macedo2010_A.json",
        [
            problem("A10", square, [[5, 5, 8]]),
            problem("A2", square, [[10, 5, 2]]),
            problem("A1", square, [[5, 5, 5]]),
        ],
    )
    (stock / "macedo2010_A_best_known.csv").write_text(FURNITURE, encoding="utf-8")
    stored(
        stock / "silva2010_set_C.json",
        # A pinwheel of four and its middle needs a second sheet when every cut runs edge to edge.
        [
            problem("one", square, [[6, 4, 2], [4, 6, 2], [2, 2, 1]]),
            problem("two", square, [[9, 9, 3]]),
        ],
    )
    (stock / "silva2010_set_C_best_known.csv").write_text(MIXED, encoding="utf-8")
    sizes = [[10, 10, None, 100], [5, 10, None, 40]]
    stored(
        stock / "pisinger_sigurd2005_2dvsbpp.json",
        [problem(f"MB_C{1 + i // 5}_{1 + i}", sizes, [[5, 5, 2 + i]]) for i in range(11)],
    )
    for file, says in bench_value.FILES:
        one = {"name": "K", "W": 10, "H": 10, "best": 100, "items": [[5, 5, 25, 9], [10, 3, 20, 1]]}
        stored(tmp_path / "guillotine_knapsack" / f"{file}.json", [one | ({"optimal": True} if says else {})])
    more = {"name": "L", "W": 4, "H": 4, "best": 17, "optimal": True, "items": [[4, 4, 16, 1]]}
    last = tmp_path / "guillotine_knapsack" / "beasley_gcut.json"
    stored(last, [*json.loads(last.read_text(encoding="utf-8"))["instances"], more])
    return tmp_path


def bench(folder: Path, *args: str, effort: int = 20) -> Result:
    return CliRunner().invoke(app, ["bench", *args, "--effort", str(effort), "--data", str(folder)])


def told(folder: Path, *args: str) -> dict[str, Any]:
    done = bench(folder, *args, "--json")
    assert done.exit_code == Exit.DONE, done.output
    data: dict[str, Any] = json.loads(done.stdout)
    return data


def test_furniture_is_held_against_proven_optima(folder: Path) -> None:
    data = told(folder, "furniture", "--profile")
    assert [p["name"] for p in data["problems"]] == ["A1", "A2", "A10"]
    assert [p["sheets"] for p in data["problems"]] == [2, 1, 2]
    assert [p["optimum_in_print"] for p in data["problems"]] == [2, None, None]
    assert [p["reference_best_of_all"] for p in data["problems"]] == [2, 1, 2]
    assert (data["optima_known"], data["optima_met"], data["sheets"]) == (1, 1, 5)
    assert data["open"] == []
    (profile,) = data["profile"]
    assert profile["states"] == [
        {"cpu_s": None, "problems": 3, "planned": 3, "proven": 3, "cost": 5, "sheets": 5, "own_bound": 5}
    ]
    assert set(profile["logs"]) == {"A1", "A2", "A10"}
    turned = told(folder, "furniture-turn", "--no-reference")
    assert [p["optimum_in_print"] for p in turned["problems"]] == [None, 1, None]
    assert turned["problems"][0]["reference_best_of_all"] is None
    assert "1 of 1 optima in print met" in bench(folder, "furniture", "--no-reference").stdout


def test_mixed_is_run_with_free_and_with_two_levels(folder: Path) -> None:
    data = told(folder, "mixed", "--no-reference", "--profile")
    one, two = data["problems"]
    assert (one["sheets"], one["optimum_in_print"]) == (2, 2)
    assert (two["sheets"], two["optimum_in_print"], two["two_levels"]["optimum_in_print"]) == (3, 3, 4)
    assert (data["optima_met_free"], data["optima_met_two"]) == (2, 2)
    assert data["fewer_than_in_print_two"] == ["two"]
    assert [p["of"] for p in data["profile"]] == ["free levels", "two levels"]
    assert "free levels 2 of 2" in bench(folder, "mixed", "--no-reference").stdout


def test_every_fifth_of_the_assorted_problems_is_run(folder: Path) -> None:
    data = told(folder, "assorted")
    assert [p["name"] for p in data["problems"]] == ["MB_C1_1", "MB_C2_6", "MB_C3_11"]
    # Two, seven and twelve quarters: a half costs 40, a whole 100.
    assert [p["cost"] for p in data["problems"]] == [40, 160, 240]
    assert [row["class"] for row in data["classes"]] == [1, 2, 3, None]
    assert data["classes"][-1]["cost"] == 440
    only = told(folder, "assorted", "--classes", "2")
    assert [p["name"] for p in only["problems"]] == ["MB_C2_6"]


def test_knapsack_values_stand_beside_their_optima(folder: Path) -> None:
    data = told(folder, "knapsack", "--profile")
    # The same problem in five files counts once; the other one cannot reach the value in its file.
    assert [(p["name"], p["value"], p["best_in_print"]) for p in data["problems"]] == [
        ("K", 100, 100),
        ("L", 16, 17),
    ]
    everything = data["files"][-1]
    assert (everything["problems"], everything["optima_met"], everything["near"]) == (2, 1, 1)
    assert everything["largest_gap_percent"] == pytest.approx(100 / 17, abs=1e-4)
    assert data["profile"][0]["logs"]["K"][-1][2] == 100
    text = bench(folder, "knapsack").stdout
    assert "Short of the optimum in print" in text


def test_weeks_report_cost_bound_and_gap(folder: Path) -> None:
    for which in ("weeks", "weeks-three", "weeks-offcuts"):
        data = told(folder, which, "--only", "small-1", "--profile")
        (row,) = data["problems"]
        assert row["own_bound_cost"] <= row["cost"]
        assert (row["gap_percent"] == 0) == row["proven"]
        assert (row["panels"], row["panel_sizes"], row["unplaced"]) == (179, 20, 0)
        assert data["cost"] == row["cost"]
        costs = [point[2] for point in data["profile"][0]["logs"]["small-1"]]
        assert costs == sorted(costs, reverse=True)
        assert costs[-1] == row["cost"]
    assert "small-1" in bench(folder, "weeks", "--only", "small-1", effort=1).stdout


def test_a_sample_is_drawn_by_a_seed_and_stated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, str(tmp_path / "nowhere"))
    args = ["bench", "bwmv-fresh", "--classes", "1", "--no-reference", "--effort", "20"]

    def run(*more: str) -> Result:
        done = CliRunner().invoke(app, [*args, *more])
        assert done.exit_code == Exit.DONE, done.output
        assert "without the published problems" in done.stderr
        return done

    first, again, other = (
        json.loads(run("--sample", "3", "--json", *more).stdout) for more in ([], [], ["--draw", "2"])
    )
    names = [[p["name"] for p in data["problems"]] for data in (first, again, other)]
    assert len(names[0]) == 3
    assert names[0] == names[1] != names[2]
    assert first["sample"] == {"problems": 3, "of": 10}
    assert first["bwmv_beside"] is None
    assert first["classes"][0]["own_bound"] <= first["classes"][0]["sheets"]
    assert first["classes"][0]["reference_best_of_all"] is None
    assert "2 of 10 problems, a sample drawn by seed 1" in run("--sample", "2").stdout


def test_fresh_problems_stand_beside_published_ones(data_folder: Path) -> None:
    args = ("bwmv-fresh-turn", "--classes", "3", "--sample", "2", "--no-reference")
    data = told(data_folder, *args)
    beside, total = data["bwmv_beside"]
    assert (beside["class"], total["class"]) == (3, None)
    assert beside["problems"] == 2
    assert beside["own_bound"] <= beside["sheets"]


def test_large_orders_are_measured(folder: Path) -> None:
    data = told(folder, "scale", "--sizes", "60,20")
    assert [p["panels"] for p in data["problems"]] == [20, 60]
    for row in data["problems"]:
        assert 0 <= row["waste_last_as_used_percent"] <= row["waste_percent"]
    assert "exponent_first_plan" in data


def test_the_figures_of_a_large_order() -> None:
    result, plan = run_order(bench_scale.scale_order(1, 40), Limits(effort=5), clock=float)
    assert check(plan) == []
    row = bench_scale.scale_row(result, plan, None)
    assert row.sheet_area == 6000 * 3210 * 10**12
    assert row.panel_area == sum((max(x for x, _ in p.cut) * max(y for _, y in p.cut)) for p in plan.panels)
    share = (result.sheets * row.sheet_area) / row.panel_area - 1
    assert float(row.waste) == pytest.approx(share)
    assert row.waste - row.waste_used == pytest.approx((row.sheet_area - row.last_area) / row.panel_area)


def test_options_of_other_sets_are_refused(folder: Path) -> None:
    for args in (["scale", "--classes", "1"], ["weeks", "--lists", "A1"], ["knapsack", "--no-reference"]):
        done = bench(folder, *args)
        assert done.exit_code == Exit.USAGE
        assert "does not take" in done.stderr
    assert bench(folder, "furniture", "--only", "A1,Z").exit_code == Exit.USAGE
    for text in ("0", "x", "500,", "200001", "²"):
        assert bench(folder, "scale", "--sizes", text).exit_code == Exit.USAGE


def test_every_set_stands_in_the_help() -> None:
    text = CliRunner().invoke(app, ["bench", "--help"]).stdout
    part = text.split("SET is one of", 1)[1].split("--seconds are", 1)[0]
    assert [line.split()[0] for line in part.splitlines() if line.strip()] == list(SETS)


@pytest.mark.parametrize(
    ("file", "content"),
    [
        ("macedo2010_A.json", "{"),
        ("macedo2010_A.json", '{"instances": []}'),
        ("macedo2010_A.json", '{"instances": [{"name": "A1"}]}'),
        ("macedo2010_A.json", '{"instances": [{"name": "A1", "stock": [], "items": []}]}'),
        ("macedo2010_A.json", '{"instances": [{"name": "A", "stock": [[9, 9, 1, 1]], "items": [[1, 1]]}]}'),
        (
            "macedo2010_A.json",
            '{"instances": [{"name": "A", "stock": [[9, 9, 1, 1]], "items": [[1, -1, 1]]}]}',
        ),
        (
            "macedo2010_A.json",
            '{"instances": [{"name": "A", "stock": [[9, 9, 1, 1]], "items": [[1, 1, 100001]]}]}',
        ),
        ("macedo2010_A_best_known.csv", "name,W\nA1,9\n"),
        ("macedo2010_A_best_known.csv", "bins_guillotine_fixed,other\n1,True\n"),
        ("macedo2010_A_best_known.csv", FURNITURE.replace(",2,True", ",many,True")),
    ],
)
def test_furniture_files_are_read_strictly(folder: Path, file: str, content: str) -> None:
    (folder / "cutting_stock" / file).write_text(content, encoding="utf-8")
    done = bench(folder, "furniture")
    assert done.exit_code == Exit.INPUT, done.output
    assert file in done.stderr
    assert done.stdout == ""


def test_other_files_are_read_strictly(folder: Path) -> None:
    stock = folder / "cutting_stock"
    (stock / "silva2010_set_C_best_known.csv").write_text(MIXED.replace("two", "tow"), encoding="utf-8")
    assert bench(folder, "mixed").exit_code == Exit.INPUT
    (stock / "silva2010_set_C_best_known.csv").write_text(MIXED.replace('"3', '"x'), encoding="utf-8")
    with pytest.raises(BenchDataMissing, match="not as described"):
        bench_sets.mixed_optima(folder)
    stored(stock / "pisinger_sigurd2005_2dvsbpp.json", [problem("other", [[1, 1, None, 1]], [[1, 1, 1]])])
    with pytest.raises(BenchDataMissing):
        bench_sets.assorted(folder)
    (stock / "pisinger_sigurd2005_2dvsbpp.json").unlink()
    with pytest.raises(BenchDataMissing):
        bench_sets.assorted(folder)
    path = folder / "guillotine_knapsack" / "beasley_gcut.json"
    for wrong in ({"best": 0}, {"optimal": "yes"}, {"items": [[1, 1, 1.5, 1]]}, {"W": True}):
        one = {"name": "n", "W": 9, "H": 9, "best": 1, "optimal": True, "items": [[1, 1, 1, 1]]}
        stored(path, [one | wrong])
        with pytest.raises(BenchDataMissing):
            knapsacks(folder)


def test_a_refused_sheet_stops_the_bench(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_run, "check", lambda _: [Violation(rule="overlap", text="x", sheet=1)])
    with pytest.raises(PlanFault, match="K: sheet 1: overlap"):
        value_found(knapsacks(folder)[0], Limits(effort=1), clock=float)
    assert bench(folder, "weeks", "--only", "small-1", effort=1).exit_code == Exit.FAULT


def test_a_value_that_is_said_but_not_cut_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    honest = bench_value.fill_one_sheet

    def boasts(*offer: Any, **how: Any) -> OneSheet:
        found = honest(*offer, **how)
        return replace(found, value=found.value + 1)

    monkeypatch.setattr(bench_value, "fill_one_sheet", boasts)
    one = Knapsack(
        name="K", subset="f", width=9, height=9, offers=((5, 5, 25, 1), (4, 4, 15, 3)), best=1, proven=True
    )
    with pytest.raises(PlanFault, match="said"):
        value_found(one, Limits(effort=1), clock=float)


def test_equal_sizes_of_different_values_are_not_all_sold_at_the_dearest() -> None:
    # Found by the replay in CHL3 (Cung, Hifi and Le Cun 2000), where one size is offered at two values.
    one = Knapsack(
        name="K", subset="f", width=10, height=10, offers=((5, 5, 30, 1), (5, 5, 20, 9)), best=90, proven=True
    )
    assert value_found(one, Limits(effort=1), clock=float).cost == -90


def test_the_bound_of_a_sheet_is_that_of_its_area() -> None:
    # Worked by hand: 80 of 100 at 3 each, then 20 of a rectangle of 40 worth 50: 240 + 25.
    one = Knapsack(
        name="K",
        subset="f",
        width=10,
        height=10,
        offers=((4, 10, 120, 2), (4, 10, 50, 5), (11, 1, 999, 1)),
        best=240,
        proven=True,
    )
    assert value_bound(one) == 265
    found = value_found(one, Limits(effort=1), clock=float)
    assert -found.cost == 240
    assert standing([(one, found)]).exact == 1


def test_every_set_of_the_data_folder_is_read(data_folder: Path) -> None:
    # Counts, and sums of the optima in print, as the description of the data folder has them.
    assert [p.name for p in bench_sets.furniture(data_folder)] == [f"A{i}" for i in range(1, 44)]
    assert sum(len(p.items) for p in bench_sets.furniture(data_folder)) == 8545
    assert len(bench_sets.furniture_optima(data_folder, turn=False)) == 24
    assert len(bench_sets.furniture_optima(data_folder, turn=True)) == 9
    optima = bench_sets.mixed_optima(data_folder)
    assert sum(len(p.items) for p in bench_sets.mixed(data_folder)) == 1621
    assert (sum(o.free for o in optima.values()), sum(o.two for o in optima.values())) == (246, 255)
    assert len(bench_sets.assorted(data_folder)) == 100
    sheets = knapsacks(data_folder)
    assert len(sheets) == 115
    assert {value_bound(k) >= k.best for k in sheets} == {True}
    best = {k.name: k.best for k in sheets}
    assert (best["cgcut1"], best["OF1"], best["GCUT1"], best["CU1"], best["OKP1"]) == (
        244, 2737, 48368, 12330, 27589,
    )  # fmt: skip


def test_values_never_exceed_a_proven_optimum(data_folder: Path) -> None:
    # Optima as in the files of the data folder (their sources: `bench_value.SOURCE`).
    for one in knapsacks(data_folder)[::7]:
        found = value_found(one, Limits(effort=1), clock=float)
        assert not one.proven or -found.cost <= one.best, one.name
        assert found.cost_bound <= found.cost
