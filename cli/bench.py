"""`panewright bench`: the optimizer on published problems, beside a reference and the best values in print."""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from panewright.cli import options
from panewright.cli.output import err, out, out_json
from panewright.nesting.text import tr

if TYPE_CHECKING:
    from collections.abc import Callable

    from panewright.io.bench_report import ClassRow
    from panewright.io.bench_run import Limits, Result

T = TypeVar("T")
SETS: Final = ("bwmv", "bwmv-turn", "glass-lists", "sample")
DEFAULT_SECONDS: Final = 2.0


def _classes(ctx: click.Context, param: click.Parameter, value: str) -> tuple[int, ...]:
    """The classes named, rising: ``1,2`` or ``1-6`` or both."""
    found: set[int] = set()
    for part in value.split(","):
        match = re.fullmatch(r"\s*(\d{1,2})\s*(?:-\s*(\d{1,2})\s*)?", part)
        if not match:
            raise click.BadParameter(tr("{part!r} is no class; write 1,2 or 1-6", part=part), ctx, param)
        found.update(range(int(match[1]), int(match[2] or match[1]) + 1))
    if not found or min(found) < 1 or max(found) > 10:
        raise click.BadParameter(tr("the classes run from 1 to 10"), ctx, param)
    return tuple(sorted(found))


@click.command("bench")
@click.argument("which", metavar="[SET]", type=click.Choice(SETS), default="bwmv")
@options.seconds_option
@options.effort_option
@options.seed_option
@click.option("--classes", callback=_classes, default="1-10", metavar="1,2", help="Only these classes.")
@click.option("--lists", default="", metavar="A1,B2", help="Only these glass lists.")
@click.option(
    "--data",
    type=options.file_path,
    metavar="DIR",
    help="Folder of the published problems; default: PANEWRIGHT_DATA, else ../shared/data.",
)
@options.json_option
def command(
    which: str,
    seconds: float | None,
    effort: int | None,
    seed: int,
    classes: tuple[int, ...],
    lists: str,
    data: Path | None,
    as_json: bool,
) -> None:
    """Measure the optimizer on published problems.

    \b
    SET is one of
      bwmv         500 bin packing problems, edge-to-edge cuts, no turning
      bwmv-turn    the same, turning allowed
      glass-lists  panel lists of a glass maker, three levels, break-out distance
      sample       the sample week of `panewright demo`

    --seconds are CPU seconds for each problem (default 2). Every result is replayed by the checker.

    \b
    Example:
      panewright bench bwmv --classes 1,7 --seconds 1
      panewright bench glass-lists --effort 2000
    """
    from panewright.io import kernel_cache

    options.one_limit(seconds, effort)

    kernel_cache.prepare()

    from panewright.cli.searching import CompileNotice
    from panewright.io.bench_run import Limits, prepare

    if seconds is None and effort is None:
        seconds = DEFAULT_SECONDS
    limits = Limits(seconds=seconds, effort=effort)
    with CompileNotice().watch():
        prepare()
    if which == "sample":
        report = _sample(limits, seed)
    elif which == "glass-lists":
        report = _glass_lists(data, [name for name in lists.split(",") if name], limits, seed)
    else:
        report = _packing(data, classes, limits, seed, turn=which == "bwmv-turn")
    text, found = report
    if as_json:
        limit = {"seconds_a_problem": None if seconds is None else _seconds(seconds), "effort": effort}
        out_json({"set": which, "seed": seed, **limit, **found})
    else:
        out(text)


Report = tuple[str, dict[str, Any]]


def _packing(data: Path | None, classes: tuple[int, ...], limits: Limits, seed: int, *, turn: bool) -> Report:
    from panewright.io import bench_data, bench_report
    from panewright.io.bench_reference import sheets_by_variant
    from panewright.io.bench_run import pack

    folder = bench_data.data_folder(data)
    bounds = bench_data.lower_bounds(folder, turn=turn)
    published = bench_data.published_by_class(folder, turn=turn)
    rows = []
    for group in classes:
        row = bench_report.ClassRow(group, published=published[group].upper)
        for problem in bench_data.packing_class(folder, group):
            result = pack(problem, limits, turn=turn, clock=time.process_time, seed=seed)
            reference, spent = _timed(lambda p=problem: sheets_by_variant(p, turn=turn))  # type: ignore[misc]
            row.add(result, max(result.bound, bounds[problem.name]), reference, spent)
        rows.append(row)
        err(tr("class {group}: {sheets} sheets", group=group, sheets=row.sheets))
    rows.append(bench_report.total(rows))
    variant, _ = bench_report.best_single(rows[-1])
    totals = bench_data.published_totals(folder, turn=turn)
    return _packing_text(rows, variant, totals), {
        "classes": [_class_json(row, variant) for row in rows],
        "best_single_variant": variant,
        "published_totals_of_all_500": [{"sheets": n, "source": source} for n, source in totals],
    }


def _packing_text(rows: list[ClassRow], variant: str, totals: list[tuple[int, str]]) -> str:
    from panewright.cli.tables import table

    cells = [
        [
            str(row.group or tr("all")),
            str(row.problems),
            str(row.sheets),
            str(row.bound),
            str(row.proven),
            "-" if row.published is None else str(row.published),
            str(row.best_of_all),
            str(row.by_variant[variant]),
            f"{row.seconds:.1f}",
            f"{row.reference_seconds:.1f}",
        ]
        for row in rows
    ]
    lines = [
        table(
            tr("Sheets, edge-to-edge cuts"),
            [
                tr("class"),
                tr("problems"),
                tr("sheets"),
                tr("best lower bound"),
                tr("proven"),
                tr("in print (Becker 2022)"),
                tr("reference, best of all"),
                tr("reference, best single"),
                tr("CPU s"),
                tr("reference CPU s"),
            ],
            cells,
        ),
        tr(
            "Reference: the edge-to-edge packers of rectpack; the best single one is {variant}.",
            variant=variant,
        ),
        tr("Totals in print over all 500 problems:"),
        *(f"  {sheets}  {source}" for sheets, source in totals),
    ]
    return "\n".join(lines)


def _class_json(row: ClassRow, variant: str) -> dict[str, Any]:
    return {
        "class": row.group or None,
        "problems": row.problems,
        "sheets": row.sheets,
        "best_lower_bound": row.bound,
        "proven": row.proven,
        "published_becker_2022": row.published,
        "reference_best_of_all": row.best_of_all,
        "reference_best_single": row.by_variant[variant],
        "cpu_s": _seconds(row.seconds),
        "reference_cpu_s": _seconds(row.reference_seconds),
    }


def _seconds(value: float) -> Any:
    from panewright.io.numbers_text import decimal

    return decimal(round(value * 1000), 3)


def _timed(call: Callable[[], T]) -> tuple[T, float]:
    began = time.process_time()
    return call(), time.process_time() - began


def _glass_lists(data: Path | None, names: list[str], limits: Limits, seed: int) -> Report:
    from panewright.cli.tables import table
    from panewright.io import bench_data
    from panewright.io.bench_run import glass_list

    folder = bench_data.data_folder(data)
    results = []
    for problem in bench_data.glass_lists(folder, names):
        results.append(glass_list(problem, limits, clock=time.process_time, seed=seed))
        err(tr("{name}: {sheets} sheets", name=problem.name, sheets=results[-1].sheets))
    width, height = bench_data.GLASS_SHEET
    text = table(
        tr("Panel lists on {width} x {height} mm, stacks and flaws left out", width=width, height=height),
        [tr("list"), tr("panels"), tr("sheets"), tr("bound"), tr("unplaced"), tr("steps"), tr("CPU s"), tr("check")],
        [
            [r.name, str(r.panels), str(r.sheets), str(r.bound), str(r.unplaced), f"{r.steps:,}",
             f"{r.seconds:.1f}", tr("passed")]
            for r in results
        ],
    )  # fmt: skip
    sheets, bound = sum(r.sheets for r in results), sum(r.bound for r in results)
    text += "\n" + tr("All: {sheets} sheets, bound {bound}.", sheets=sheets, bound=bound)
    return text, {"lists": [_result_json(r) for r in results], "sheets": sheets, "bound": bound}


def _result_json(result: Result) -> dict[str, Any]:
    return {
        "list": result.name,
        "panels": result.panels,
        "sheets": result.sheets,
        "bound": result.bound,
        "unplaced": result.unplaced,
        "steps": result.steps,
        "cpu_s": _seconds(result.seconds),
        "check": "passed",
    }


def _sample(limits: Limits, seed: int) -> Report:
    from panewright.cli.demo import sample_files
    from panewright.cli.planning import checked, read_all
    from panewright.cli.summary import glasses_table
    from panewright.io.bench_run import memory_peak, run_planner
    from panewright.io.plan_file import figures_json
    from panewright.io.problems import Problems
    from panewright.nesting.figures import figures_of

    with sample_files() as files:
        wanted = read_all(files.lists, files.stock, files.shop, Problems())
    if wanted is None:
        raise RuntimeError("the sample week has errors")
    done = run_planner(wanted.panels, wanted.stock, wanted.shop, limits, clock=time.process_time, seed=seed)
    checked(done.plan)
    figures = figures_of(done.plan)
    peak = memory_peak()
    text = tr(
        "{table}\n{steps} steps, {seconds} CPU s, the first whole plan after {first} CPU s; most memory held:"
        " {memory}; the checker passed the plan.",
        table=glasses_table(done.plan, figures),
        steps=f"{done.steps:,}",
        seconds=f"{done.seconds:.1f}",
        first=f"{done.first:.2f}",
        memory=tr("not known here") if peak is None else tr("{mib} MiB", mib=peak >> 20),
    )
    return text, {
        "steps": done.steps,
        "first_plan_cpu_s": _seconds(done.first),
        "cpu_s": _seconds(done.seconds),
        "memory_peak_bytes": peak,
        "figures": figures_json(done.plan, figures),
    }
