"""The sets of equal sheets: published packing classes, the same drawn anew, furniture, mixed."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from typing import Any

from panewright.cli.bench_parts import (
    Report,
    Wanted,
    percent,
    percent_json,
    result_json,
    seconds_json,
    timed,
    with_rest,
)
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io import bench_data
from panewright.io.bench_data import BenchDataMissing, Problem
from panewright.io.bench_fresh import counterparts, fresh
from panewright.io.bench_reference import sheets_by_variant
from panewright.io.bench_report import ClassRow, best_single, gap, total
from panewright.io.bench_run import Result, pack
from panewright.nesting.text import tr


def run(wanted: Wanted, problem: Problem, *, turn: bool, levels: int | None = None) -> Result:
    """One problem within the limits."""
    return pack(problem, wanted.limits, turn=turn, clock=time.process_time, seed=wanted.seed, levels=levels)


def reference(wanted: Wanted, problem: Problem, *, turn: bool) -> tuple[Counter[str], float]:
    """Sheets of the reference and its CPU seconds; nothing where it is not wanted."""
    if not wanted.reference:
        return Counter(), 0.0
    return timed(lambda: sheets_by_variant(problem, turn=turn))


def bwmv(wanted: Wanted, *, turn: bool) -> Report:
    """The 500 published problems."""
    folder = bench_data.data_folder(wanted.data)
    bounds = bench_data.lower_bounds(folder, turn=turn)
    published = bench_data.published_by_class(folder, turn=turn)
    problems = [p for group in wanted.classes for p in bench_data.packing_class(folder, group)]
    chosen = wanted.choose(problems)
    rows, results = [], []
    for group in wanted.classes:
        row = ClassRow(group, published=published[group].upper if wanted.whole else None)
        for problem in (p for p in chosen if p.group == group):
            result = run(wanted, problem, turn=turn)
            row.add(result, max(result.bound, bounds[problem.name]), *reference(wanted, problem, turn=turn))
            results.append(result)
        rows.append(row)
        err(tr("class {group}: {sheets} sheets", group=group, sheets=row.sheets))
    rows.append(total(rows))
    totals = bench_data.published_totals(folder, turn=turn)
    best = best_single(rows[-1])
    report = (
        _packing_text(rows, totals),
        {
            "classes": [_class_json(row, best) for row in rows],
            "best_single_variant": best and best[0],
            "published_totals_of_all_500": [{"sheets": n, "source": source} for n, source in totals],
            "problems": [
                result_json(r, **{"class": r.group, "best_lower_bound": max(r.bound, bounds[r.name])})
                for r in results
            ],
        },
    )
    return with_rest(wanted, report, [("", results)], of=len(problems))


def bwmv_fresh(wanted: Wanted, *, turn: bool) -> Report:
    """Problems drawn anew, each beside a published one of the same class and number."""
    drawn = {group: fresh(wanted.draw, [group]) for group in wanted.classes}
    problems = [p for group in wanted.classes for p in drawn[group]]
    chosen = wanted.choose(problems)
    beside = _beside(wanted, drawn)
    rows, old_rows, results, old_results = [], [], [], []
    for group in wanted.classes:
        row, old = ClassRow(group), ClassRow(group)
        for problem in (p for p in chosen if p.group == group):
            result = run(wanted, problem, turn=turn)
            row.add(result, result.bound, *reference(wanted, problem, turn=turn))
            results.append(result)
            if problem.name in beside:
                result = run(wanted, beside[problem.name], turn=turn)
                old.add(result, result.bound, Counter(), 0.0)
                old_results.append(result)
        rows.append(row)
        old_rows.append(old)
        err(tr("class {group}: {sheets} sheets", group=group, sheets=row.sheets))
    rows.append(total(rows))
    old_rows.append(total(old_rows))
    best = best_single(rows[-1])
    found = {
        "classes": [_class_json(row, best) for row in rows],
        "best_single_variant": best and best[0],
        "bwmv_beside": [_class_json(row, None) for row in old_rows] if beside else None,
        "problems": [result_json(r, **{"class": r.group}) for r in results],
    }
    runs = [("", results), *([(tr("bwmv beside"), old_results)] if beside else [])]
    text = _fresh_text(wanted.draw, rows, old_rows)
    return with_rest(wanted, (text, found), runs, of=len(problems))


def _beside(wanted: Wanted, drawn: dict[int, list[Problem]]) -> dict[str, Problem]:
    """Published counterparts by the name of the drawn problem; nothing where the data is not here."""
    try:
        folder = bench_data.data_folder(wanted.data)
        return {
            name: problem
            for group, fresh_ones in drawn.items()
            for name, problem in counterparts(fresh_ones, bench_data.packing_class(folder, group)).items()
        }
    except BenchDataMissing as missing:
        if wanted.data is not None:
            raise
        err(tr("without the published problems beside: {reason}", reason=missing))
        return {}


def _single(row: ClassRow, best: tuple[str, int] | None) -> str:
    return "-" if best is None else str(row.by_variant[best[0]])


def _of_all(row: ClassRow) -> str:
    return str(row.best_of_all) if row.by_variant else "-"


def _reference_line(best: tuple[str, int] | None) -> list[str]:
    if best is None:
        return []
    return [
        tr(
            "Reference: the edge-to-edge packers of rectpack; the best single one is {variant}.",
            variant=best[0],
        )
    ]


def _packing_text(rows: Sequence[ClassRow], totals: Sequence[tuple[int, str]]) -> str:
    best = best_single(rows[-1])
    cells = [
        [
            str(row.group or tr("all")),
            str(row.problems),
            str(row.sheets),
            str(row.bound),
            str(row.proven),
            str(row.own_bound),
            percent(gap(row.sheets, row.own_bound)),
            str(row.own_proven),
            "-" if row.published is None else str(row.published),
            _of_all(row),
            _single(row, best),
            f"{row.seconds:.1f}",
            f"{row.reference_seconds:.1f}",
        ]
        for row in rows
        if row.problems
    ]
    headings = [
        tr("class"),
        tr("problems"),
        tr("sheets"),
        tr("best lower bound"),
        tr("met"),
        tr("own bound"),
        tr("gap %"),
        tr("proven"),
        tr("in print (Becker 2022)"),
        tr("reference, best of all"),
        tr("reference, best single"),
        tr("CPU s"),
        tr("reference CPU s"),
    ]
    lines = [
        table(tr("Sheets, edge-to-edge cuts"), headings, cells),
        *_reference_line(best),
        tr("Totals in print over all 500 problems:"),
        *(f"  {sheets}  {source}" for sheets, source in totals),
    ]
    return "\n".join(lines)


def _fresh_text(draw: int, rows: Sequence[ClassRow], old_rows: Sequence[ClassRow]) -> str:
    best = best_single(rows[-1])
    cells = []
    for row, old in zip(rows, old_rows, strict=True):
        there = old.problems > 0
        cells.append(
            [
                str(row.group or tr("all")),
                str(row.problems),
                str(row.sheets),
                str(row.own_bound),
                percent(gap(row.sheets, row.own_bound)),
                str(row.own_proven),
                _of_all(row),
                _single(row, best),
                f"{row.seconds:.1f}",
                str(old.sheets) if there else "-",
                str(old.own_bound) if there else "-",
                percent(gap(old.sheets, old.own_bound)),
                str(old.own_proven) if there else "-",
            ]
        )
    headings = [
        tr("class"),
        tr("problems"),
        tr("sheets"),
        tr("own bound"),
        tr("gap %"),
        tr("proven"),
        tr("reference, best of all"),
        tr("reference, best single"),
        tr("CPU s"),
        tr("bwmv: sheets"),
        tr("own bound"),
        tr("gap %"),
        tr("proven"),
    ]
    title = tr("Sheets, edge-to-edge cuts, problems drawn by seed {seed}", seed=draw)
    return "\n".join([table(title, headings, cells), *_reference_line(best)])


def _class_json(row: ClassRow, best: tuple[str, int] | None) -> dict[str, Any]:
    return {
        "class": row.group or None,
        "problems": row.problems,
        "sheets": row.sheets,
        "best_lower_bound": row.bound,
        "proven": row.proven,
        "own_bound": row.own_bound,
        "own_gap_percent": percent_json(gap(row.sheets, row.own_bound)),
        "own_proven": row.own_proven,
        "published_becker_2022": row.published,
        "reference_best_of_all": row.best_of_all if row.by_variant else None,
        "reference_best_single": row.by_variant[best[0]] if best else None,
        "cpu_s": seconds_json(row.seconds),
        "reference_cpu_s": seconds_json(row.reference_seconds),
    }
