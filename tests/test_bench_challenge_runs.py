"""`panewright bench challenge` on tiny instances: checked values at their moments, sums, solutions on the disk."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from panewright.cli import bench_challenge
from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.io import bench_challenge_run
from panewright.io.bench_challenge_check import broken_rules, objective, read_table
from panewright.io.bench_challenge_data import best_known, read_challenge
from panewright.io.bench_challenge_readings import readings
from panewright.io.bench_challenge_run import moments_within, run_challenge
from panewright.io.bench_run import Limits
from panewright.nesting.errors import PlanFault

PARAMETERS = """NAME;VALUE
nPlates;10
widthPlates;600
heightPlates;320
min1Cut;10
max1Cut;350
min2Cut;10
minWaste;5
"""
BATCH = "ITEM_ID;LENGTH_ITEM;WIDTH_ITEM;STACK;SEQUENCE\n"
ORDERED = BATCH + "0;300;160;0;1\n1;200;160;1;1\n2;300;150;0;2\n3;310;200;0;3\n"
FREE = BATCH + "0;300;160;0;1\n1;200;160;1;1\n2;300;150;2;1\n"
DEFECTS = "DEFECT_ID;PLATE_ID;X;Y;WIDTH;HEIGHT\n0;0;40.0;40.0;2.0;1.0\n1;1;590;1;1;1\n"
KNOWN = (
    "instance,items,stacks,defects,plates_with_defects,item_area_mm2,winner_180s,winner_3600s,"
    "best_known_2018_2019_table,objective_recomputed_from_best_solution_file,plates_in_that_file,"
    "residual_width_in_that_file\n"
    "A1,4,2,2,2,187000,99999999,0,1,1,1,0\nB1,3,3,2,2,125000,2,0,1,1,1,0\n"
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder with an instance in order and one in free order."""
    root = tmp_path / "data" / "roadef2018"
    for name, batch in (("A1", ORDERED), ("B1", FREE)):
        home = root / name[0]
        home.mkdir(parents=True)
        (home / f"{name}_batch.csv").write_text(batch, encoding="utf-8")
        (home / f"{name}_defects.csv").write_text(DEFECTS, encoding="utf-8")
    (root / "global_param.csv").write_text(PARAMETERS, encoding="utf-8")
    (root / "best_known.csv").write_text(KNOWN, encoding="utf-8")
    return tmp_path / "data"


def bench(folder: Path, *args: str) -> Result:
    return CliRunner().invoke(app, ["bench", "challenge", *args, "--data", str(folder)])


def test_values_sums_and_solutions(folder: Path, tmp_path: Path) -> None:
    solutions = tmp_path / "solutions"
    done = bench(folder, "--effort", "20", "--profile", "--json", "--out", str(solutions))
    assert done.exit_code == Exit.DONE, done.output
    data = json.loads(done.stdout)
    assert [one["name"] for one in data["instances"]] == ["A1", "B1"]
    assert [one["free_order"] for one in data["instances"]] == [False, True]
    assert sorted(p.name for p in solutions.iterdir()) == ["A1_solution.csv", "B1_solution.csv"]
    for one in data["instances"]:
        challenge = read_challenge(folder, one["name"])
        nodes, broken = read_table((solutions / f"{one['name']}_solution.csv").read_text(encoding="utf-8"))
        assert broken + broken_rules(challenge, nodes) == []
        assert one["end_mm2"] == one["values"][-1]["mm2"] == objective(challenge, nodes) == one["log"][-1][2]
        assert one["readings"] == readings(challenge, nodes)
        assert one["plates"] == len({n.plate for n in nodes})
    a, b = (one["end_mm2"] for one in data["instances"])
    assert [(s["name"], s["instances"], s["mm2"]) for s in data["sums"]] == [
        ("A, in order", 1, a), ("free order", 1, b)
    ]  # fmt: skip
    # the first table value of the winner is beyond any waste, the other below all
    assert [s["at_or_below_winner"] for s in data["sums"]] == [1, 0]
    again = json.loads(bench(folder, "--effort", "20", "--profile", "--json").stdout)
    for one, other in zip(data["instances"], again["instances"], strict=True):
        assert [row[1:] for row in one["log"]] == [row[1:] for row in other["log"]]


def test_the_smallest_instance_is_cut_as_well_as_is_known(data_folder: Path) -> None:
    """A1, five items in one stack: 425,486 mm2 in the table of 2018-2019, of the winner and of all."""
    challenge = read_challenge(data_folder, "A1")
    run = run_challenge(challenge, Limits(effort=20), clock=lambda: 0.0)
    assert run.value == best_known(data_folder)["A1"].best == 425_486


def test_moments_are_read_off_one_run(folder: Path) -> None:
    assert moments_within(180.0) == (2.0, 10.0, 60.0, 180.0)
    assert moments_within(10.0) == (2.0, 10.0)
    assert moments_within(0.5) == (0.5,)
    assert moments_within(None) == (float("inf"),)
    ticks = iter(range(10_000))
    run = run_challenge(
        read_challenge(folder, "B1"),
        Limits(seconds=11, effort=1000),
        clock=lambda: float(next(ticks)),
        seed=0,
    )
    assert [m.seconds for m in run.moments] == [2.0, 10.0, 11.0]
    for moment in run.moments:
        states = [value for seconds, _, value in run.log if seconds <= moment.seconds]
        assert run.at(moment.seconds) == (states[-1] if states else None)
    values = [value for _, _, value in run.log]
    assert values == sorted(values, reverse=True) and len(set(values)) == len(values)


def test_a_plan_that_breaks_a_published_rule_is_no_value(folder: Path) -> None:
    """The search is told of other defects than the checker."""
    challenge = read_challenge(folder, "B1")
    instance = replace(challenge, defects=()).instance()
    found, _, _ = bench_challenge_run.searched(
        challenge, instance, Limits(effort=5), clock=lambda: 0.0, seed=0
    )
    with pytest.raises(PlanFault, match="defects"):
        bench_challenge_run.checked_table(challenge, instance, found[-1].patterns, 0)


def test_an_interrupt_tells_what_is_done(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*args: object) -> object:
        run = run_challenge(read_challenge(folder, "B1"), Limits(effort=2), clock=lambda: 0.0)
        yield replace(run, table=run.table)
        raise KeyboardInterrupt

    monkeypatch.setattr(bench_challenge, "run_all", stopped)
    done = bench(folder, "--effort", "2")
    assert done.exit_code == Exit.DONE
    assert "1 of 2 instances" in done.stdout
    assert "stopped" in done.stderr


def test_options_that_lead_nowhere(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "file").touch()
    for args in (
        ["--out", str(tmp_path / "full")],
        ["--out", str(tmp_path / "full" / "file")],
        ["--only", "A9"],
        ["--sets", "Q"],
        ["--sets", "../A"],
        ["--classes", "1"],
        ["--workers", "0"],
    ):
        done = bench(folder, "--effort", "1", *args)
        assert done.exit_code == (Exit.INPUT if "--sets" in args else Exit.USAGE), (args, done.output)
        assert not done.stdout
    other = CliRunner().invoke(app, ["bench", "weeks", "--workers", "2"])
    assert other.exit_code == Exit.USAGE
