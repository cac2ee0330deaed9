"""`panewright bench`: reading published problems, the reference, the checked results, the report."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.io import bench_data, bench_run
from panewright.io.bench_data import Problem
from panewright.io.bench_reference import sheets_by_variant, variants
from panewright.io.bench_report import ClassRow, best_single, total
from panewright.io.bench_run import Limits, glass_list, pack
from panewright.nesting.bounds import least_sheets
from panewright.nesting.checker import Violation
from panewright.nesting.errors import PlanFault

QUARTERS = [[5, 5]] * 5
THIRDS = [[10, 3]] * 4


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder with one class of two problems and one glass list."""
    packing = tmp_path / "bwmv"
    packing.mkdir()
    problems = [
        {"name": "one", "n": 5, "area_lb": 2, "items": QUARTERS},
        {"name": "two", "n": 4, "area_lb": 2, "items": THIRDS},
    ]
    (packing / "class01.json").write_text(
        json.dumps({"class": 1, "bin_w": 10, "bin_h": 10, "instances": problems}), encoding="utf-8"
    )
    (packing / "per_class_targets.csv").write_text(
        "class,bin,lb_OG,becker_ub_OG,lb_RG,becker_ub_RG\n1,10x10,4,5,4,\n2,10x10,,,,\nall,,4,,4,\n",
        encoding="utf-8",
    )
    (packing / "published_totals.csv").write_text(
        "variant,source,total_bins_500\n"
        "2BP|O|G,First 1999,9\n2BP|O|G non-exact 3-stage,Second 2020,8\n2BP|R|G,Third 2001,7\n"
        "2BP|O|F (no guillotine),Fourth 2013,6\n2BP|O|G,Fifth 2022,\n",
        encoding="utf-8",
    )
    (packing / "best_known_per_instance.csv").write_text(
        "name,best_lb_O_G,best_lb_R_G\none,2,2\ntwo,2,2\n", encoding="utf-8"
    )
    lists = tmp_path / "roadef2018" / "A"
    lists.mkdir(parents=True)
    (lists / "A1_batch.csv").write_text(
        "ITEM_ID;LENGTH_ITEM;WIDTH_ITEM;STACK;SEQUENCE\n0;3000;3210;0;1\n1;3000;3210;0;2\n2;500;400;1;1\n",
        encoding="utf-8",
    )
    return tmp_path


def bench(folder: Path, *args: str) -> Result:
    return CliRunner().invoke(app, ["bench", *args, "--effort", "5", "--data", str(folder)])


def test_packing_classes_are_summed_beside_reference_and_print(folder: Path) -> None:
    done = bench(folder, "bwmv", "--classes", "1", "--json")
    assert done.exit_code == Exit.DONE, done.output
    told = json.loads(done.stdout)
    one, everything = told["classes"]
    assert one == {**everything, "class": 1}
    assert everything["class"] is None
    # Worked by hand: four quarters fill a sheet, three strips of 10 x 3 do.
    assert (one["problems"], one["sheets"], one["best_lower_bound"], one["proven"]) == (2, 4, 4, 2)
    assert one["reference_best_of_all"] == 4
    assert one["reference_best_single"] >= 4
    assert one["published_becker_2022"] == 5
    assert (one["own_bound"], one["own_proven"]) == (4, 2)
    assert [(p["name"], p["sheets"], p["best_lower_bound"]) for p in told["problems"]] == [
        ("one", 2, 2),
        ("two", 2, 2),
    ]
    assert [row["sheets"] for row in told["published_totals_of_all_500"]] == [8, 9]
    text = bench(folder, "bwmv", "--classes", "1").stdout
    assert "Second 2020" in text
    assert "Fourth" not in text


def test_glass_lists_go_through_the_whole_planner(folder: Path) -> None:
    done = bench(folder, "glass-lists", "--json")
    assert done.exit_code == Exit.DONE, done.output
    told = json.loads(done.stdout)
    (row,) = told["lists"]
    assert (row["list"], row["panels"], row["sheets"], row["bound"]) == ("A1", 3, 2, 2)
    assert row["check"] == "passed"
    assert told["sheets"] == 2


def test_the_sample_is_measured(folder: Path) -> None:
    told = json.loads(bench(folder, "sample", "--json").stdout)
    assert told["figures"]["total"]["sheets"] > 0
    assert told["steps"] > 0


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (["bwmv", "--classes", "2"], Exit.INPUT),
        (["glass-lists", "--lists", "Z9"], Exit.INPUT),
        (["bwmv", "--classes", "0"], Exit.USAGE),
        (["bwmv", "--classes", "1-99"], Exit.USAGE),
        (["bwmv", "--classes", "x"], Exit.USAGE),
        (["other"], Exit.USAGE),
        (["bwmv", "--seconds", "1"], Exit.USAGE),
        (["bwmv", "--sizes", "500"], Exit.USAGE),
        (["bwmv", "--classes", "1", "--only", "three"], Exit.USAGE),
    ],
)
def test_wrong_calls_and_missing_files(folder: Path, args: list[str], code: Exit) -> None:
    done = bench(folder, *args)
    assert done.exit_code == code, done.output
    assert done.stdout == ""


def test_no_data_folder_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(bench_data.VARIABLE, str(tmp_path / "nowhere"))
    done = CliRunner().invoke(app, ["bench", "--effort", "1"])
    assert done.exit_code == Exit.INPUT
    assert bench_data.VARIABLE in done.stderr


def test_a_refused_result_stops_the_bench(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_run, "check", lambda _: [Violation(rule="overlap", text="x", sheet=1)])
    problem = Problem("p", 1, 10, 10, ((5, 5),))
    with pytest.raises(PlanFault, match="p: sheet 1: overlap"):
        pack(problem, Limits(effort=1), turn=False, clock=float)
    with pytest.raises(PlanFault):
        glass_list(Problem("p", 0, 6000, 3210, ((500, 500),)), Limits(effort=1), clock=float)


def test_the_clock_limits_a_run() -> None:
    stop = Limits(seconds=2).stop(iter([10.0, 11.0, 12.0]).__next__)
    assert [stop(0), stop(0)] == [False, True]
    steps = Limits(effort=3).stop(float)
    assert [steps(2), steps(3)] == [False, True]


def test_the_best_single_variant_is_that_of_the_total() -> None:
    first, second = ClassRow(1, published=4), ClassRow(2)
    first.by_variant.update({"a": 3, "b": 5})
    second.by_variant.update({"a": 9, "b": 5})
    both = total([first, second])
    assert best_single(both) == ("b", 10)
    assert best_single(ClassRow(3)) is None
    assert both.published is None


sides = st.integers(1, 12)


@settings(max_examples=20)
@given(st.lists(st.tuples(sides, sides), min_size=1, max_size=9), st.booleans())
def test_results_lie_between_the_bound_and_one_sheet_each(items: list[tuple[int, int]], turn: bool) -> None:
    problem = Problem("p", 1, 12, 12, tuple(items))
    found = pack(problem, Limits(effort=20), turn=turn, clock=float)
    kinds = len(items)
    bound = least_sheets(12, 12, items, [1] * kinds, [turn] * kinds)
    assert found.bound <= found.sheets <= kinds
    assert bound <= found.sheets


def test_the_reference_places_everything_with_every_variant() -> None:
    problem = Problem("p", 1, 10, 10, ((10, 10), (6, 4), (4, 6), (3, 3)))
    found = sheets_by_variant(problem, turn=True)
    assert set(found) == set(variants())
    assert len(found) == 18 * 2 * 6
    assert min(found.values()) == 2


def test_proven_optima_are_met(data_folder: Path) -> None:
    # Proven optima without turning: thesis of Becker, Federal University of Rio Grande do Sul, 2022.
    bounds = bench_data.lower_bounds(data_folder, turn=False)
    for problem in bench_data.packing_class(data_folder, 1)[:5]:
        found = pack(problem, Limits(effort=200), turn=False, clock=float)
        assert found.sheets == bounds[problem.name], problem.name


def test_every_set_of_the_data_folder_is_read(data_folder: Path) -> None:
    classes = [bench_data.packing_class(data_folder, group) for group in range(1, 11)]
    assert [len(problems) for problems in classes] == [50] * 10
    lists = bench_data.glass_lists(data_folder)
    assert len(lists) == 35
    assert [one.name for one in lists][:3] == ["A1", "A2", "A3"]
    for turn in (False, True):
        lower = bench_data.lower_bounds(data_folder, turn=turn)
        published = bench_data.published_by_class(data_folder, turn=turn)
        for group, problems in enumerate(classes, 1):
            assert sum(lower[p.name] for p in problems) == published[group].lower
    assert bench_data.published_totals(data_folder, turn=False)[0][0] == 7266
    assert bench_data.published_totals(data_folder, turn=True)[0][0] == 7101
