"""The cutting stock sets of equal sheets, problem by problem: furniture and mixed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from panewright.cli.bench_packing import reference, run
from panewright.cli.bench_parts import Report, Wanted, percent, result_json, with_rest
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io import bench_sets
from panewright.io.bench_data import BenchDataMissing, data_folder
from panewright.io.bench_report import gap
from panewright.io.bench_run import Result
from panewright.nesting.text import tr


def furniture(wanted: Wanted, *, turn: bool) -> Report:
    """Orders of furniture makers, free levels."""
    folder = data_folder(wanted.data)
    problems = bench_sets.furniture(folder)
    optima = bench_sets.furniture_optima(folder, turn=turn)
    results, others = [], []
    for problem in wanted.choose(problems):
        results.append(run(wanted, problem, turn=turn))
        others.append(reference(wanted, problem, turn=turn)[0])
        err(tr("{name}: {sheets} sheets", name=problem.name, sheets=results[-1].sheets))
    met = [r for r in results if r.name in optima and r.sheets == optima[r.name]]
    known = [r for r in results if r.name in optima]
    cells = [
        [
            r.name,
            str(r.panels),
            str(r.sheets),
            str(r.bound),
            _yes(r.proven),
            str(optima.get(r.name, "-")),
            _least(other),
            f"{r.seconds:.1f}",
        ]
        for r, other in zip(results, others, strict=True)
    ]
    cells.append(
        [
            tr("all"),
            str(sum(r.panels for r in results)),
            str(sum(r.sheets for r in results)),
            str(sum(r.bound for r in results)),
            str(sum(r.proven for r in results)),
            str(sum(optima[r.name] for r in known)),
            _sum(others),
            f"{sum(r.seconds for r in results):.1f}",
        ]
    )
    how = tr("turning allowed") if turn else tr("no turning")
    text = table(
        tr("Furniture orders, edge-to-edge cuts, {how}", how=how),
        [
            tr("problem"),
            tr("panels"),
            tr("sheets"),
            tr("own bound"),
            tr("proven"),
            tr("optimum in print"),
            tr("reference, best of all"),
            tr("CPU s"),
        ],
        cells,
    )
    text += "\n" + tr(
        "{met} of {known} optima in print met with {sheets} sheets ({source}).",
        met=len(met),
        known=len(known),
        sheets=sum(r.sheets for r in known),
        source=bench_sets.FURNITURE_SOURCE,
    )
    found = {
        "source": bench_sets.FURNITURE_SOURCE,
        "sheets": sum(r.sheets for r in results),
        "own_bound": sum(r.bound for r in results),
        "optima_known": len(known),
        "optima_met": len(met),
        "problems": [
            result_json(
                r, optimum_in_print=optima.get(r.name), reference_best_of_all=min(o.values(), default=None)
            )
            for r, o in zip(results, others, strict=True)
        ],
    }
    return with_rest(wanted, (text, found), [("", results)], of=len(problems))


def mixed(wanted: Wanted) -> Report:
    """Set C with free levels, and with two levels and a last cut."""
    folder = data_folder(wanted.data)
    problems = bench_sets.mixed(folder)
    optima = bench_sets.mixed_optima(folder)
    missing = [p.name for p in problems if p.name not in optima]
    if missing:
        raise BenchDataMissing(folder / "cutting_stock", tr("no optimum for {name}", name=missing[0]))
    free: list[Result] = []
    two: list[Result] = []
    others: list[Counter[str]] = []
    for problem in wanted.choose(problems):
        free.append(run(wanted, problem, turn=False))
        two.append(run(wanted, problem, turn=False, levels=2))
        others.append(reference(wanted, problem, turn=False)[0])
        err(
            tr(
                "{name}: {free} sheets with free levels, {two} with two",
                name=problem.name,
                free=free[-1].sheets,
                two=two[-1].sheets,
            )
        )
    cells = [
        [
            a.name,
            str(a.panels),
            str(a.sheets),
            str(optima[a.name].free),
            str(b.sheets),
            str(optima[a.name].two),
            str(a.bound),
            _least(other),
            f"{a.seconds:.1f}",
            f"{b.seconds:.1f}",
        ]
        for a, b, other in zip(free, two, others, strict=True)
    ]
    cells.append(
        [
            tr("all"),
            str(sum(r.panels for r in free)),
            str(sum(r.sheets for r in free)),
            str(sum(optima[r.name].free for r in free)),
            str(sum(r.sheets for r in two)),
            str(sum(optima[r.name].two for r in two)),
            str(sum(r.bound for r in free)),
            _sum(others),
            f"{sum(r.seconds for r in free):.1f}",
            f"{sum(r.seconds for r in two):.1f}",
        ]
    )
    met_free = sum(r.sheets == optima[r.name].free for r in free)
    met_two = sum(r.sheets <= optima[r.name].two for r in two)
    text = table(
        tr("Knapsack problems read as cutting stock, no turning"),
        [
            tr("problem"),
            tr("panels"),
            tr("free levels"),
            tr("optimum in print"),
            tr("two levels"),
            tr("optimum in print"),
            tr("own bound"),
            tr("reference, best of all"),
            tr("CPU s, free"),
            tr("CPU s, two"),
        ],
        cells,
    )
    text += "\n" + tr(
        "Optima in print met ({source}): free levels {free} of {count}, two levels and a last cut {two} of"
        " {count}; gap to the own bound {gap} %.",
        source=bench_sets.MIXED_SOURCE,
        free=met_free,
        two=met_two,
        count=len(free),
        gap=percent(gap(sum(r.sheets for r in free), sum(r.bound for r in free))),
    )
    fewer = [r.name for r in two if r.sheets < optima[r.name].two]
    if fewer:
        text += "\n" + tr(
            "Fewer than in print with two levels: {names}; the first cut may run either way here, sheet by sheet.",
            names=", ".join(fewer),
        )
    found = {
        "source": bench_sets.MIXED_SOURCE,
        "sheets_free": sum(r.sheets for r in free),
        "sheets_two": sum(r.sheets for r in two),
        "optima_met_free": met_free,
        "optima_met_two": met_two,
        "fewer_than_in_print_two": fewer,
        "problems": [
            result_json(
                a,
                optimum_in_print=optima[a.name].free,
                two_levels=result_json(b, optimum_in_print=optima[a.name].two),
                reference_best_of_all=min(o.values(), default=None),
            )
            for a, b, o in zip(free, two, others, strict=True)
        ],
    }
    runs = [(tr("free levels"), free), (tr("two levels"), two)]
    return with_rest(wanted, (text, found), runs, of=len(problems))


def _yes(value: bool) -> str:
    return tr("yes") if value else tr("no")


def _least(other: Counter[str]) -> str:
    return str(min(other.values())) if other else "-"


def _sum(others: Iterable[Counter[str]]) -> str:
    known = [min(o.values()) for o in others if o]
    return str(sum(known)) if known else "-"
