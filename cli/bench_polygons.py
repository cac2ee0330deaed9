"""The sets of convex polygons: sheets against known optima, and the utilisation of glass panels."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Any

from panewright.cli.bench_parts import Report, Wanted, percent, percent_json, result_json, with_rest
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_data import data_folder
from panewright.io.bench_polygons import OPTIMUM_SOURCE, Nested, angled_glass, convex_optimum, nested, prepare
from panewright.io.numbers_text import decimal
from panewright.nesting.text import tr


def optimum(wanted: Wanted) -> Report:
    """Sheets beside the known optima, class by class."""
    problems = convex_optimum(data_folder(wanted.data))
    prepare()
    rows: list[Nested] = []
    for problem in wanted.choose(problems):
        rows.append(_run(wanted, problem, to_bound=True))
        err(
            tr(
                "{name}: {sheets} sheets, optimum {optimum}",
                name=problem.name,
                sheets=rows[-1].result.sheets,
                optimum=problem.optimum or "-",
            )
        )
    groups = list(dict.fromkeys(row.problem.group for row in rows))
    parts = [(g, [row for row in rows if row.problem.group == g]) for g in groups]
    classes = [_class_json(name, mine) for name, mine in (*parts, ("", rows))]
    text = table(
        tr("Convex polygons, edge-to-edge cuts at any angle, any turn"),
        [
            tr("class"),
            tr("problems"),
            tr("sheets"),
            tr("own bound"),
            tr("optimum known"),
            tr("their sheets"),
            tr("optima"),
            tr("met"),
            tr("CPU s"),
        ],
        [
            [
                one["class"] or tr("all"),
                *(
                    str(one[key])
                    for key in (
                        "problems",
                        "sheets",
                        "own_bound",
                        "optima_known",
                        "sheets_of_these",
                        "optimum_sum",
                        "optima_met",
                    )
                ),
                f"{one['cpu_s']}",
            ]
            for one in classes
        ],
    )
    text += "\n" + tr("Optima: {source}. Every result is checked anew.", source=OPTIMUM_SOURCE)
    found = {
        "source": OPTIMUM_SOURCE,
        "classes": classes,
        "problems": [result_json(r.result, group=r.problem.group, optimum=r.problem.optimum) for r in rows],
    }
    return with_rest(wanted, (text, found), [("", [r.result for r in rows])], of=len(problems))


def _class_json(name: str, rows: Sequence[Nested]) -> dict[str, Any]:
    known = [r for r in rows if r.problem.optimum is not None]
    return {
        "class": name or None,
        "problems": len(rows),
        "sheets": sum(r.result.sheets for r in rows),
        "own_bound": sum(r.result.bound for r in rows),
        "optima_known": len(known),
        "sheets_of_these": sum(r.result.sheets for r in known),
        "optimum_sum": sum(r.problem.optimum or 0 for r in known),
        "optima_met": sum(r.result.sheets == r.problem.optimum for r in known),
        "cpu_s": decimal(round(1000 * sum(r.result.seconds for r in rows)), 3),
    }


def glass(wanted: Wanted) -> Report:
    """Utilisation of the sheets, of the last one only the part that is used."""
    problems = angled_glass(data_folder(wanted.data))
    prepare()
    rows: list[Nested] = []
    for problem in wanted.choose(problems):
        rows.append(_run(wanted, problem, to_bound=False))
        err(tr("{name}: {share} %", name=problem.name, share=percent(rows[-1].utilisation)))
    text = table(
        tr("Angled glass panels on 3210 x 2250, edge-to-edge cuts at any angle, any turn"),
        [
            tr("problem"),
            tr("panels"),
            tr("sheets"),
            tr("own bound"),
            tr("sheets used"),
            tr("utilisation, %"),
            tr("steps"),
            tr("CPU s"),
        ],
        [
            [
                r.problem.name,
                str(r.result.panels),
                str(r.result.sheets),
                str(r.result.bound),
                f"{float(r.used):.3f}",
                percent(r.utilisation),
                str(r.result.steps),
                f"{r.result.seconds:.1f}",
            ]
            for r in rows
        ],
    )
    text += "\n" + tr(
        "Sheets used: of the last one only the part without its largest strip along a side. Every result is "
        "checked anew."
    )
    found = {
        "problems": [
            result_json(
                r.result,
                sheets_used=decimal(round(r.used * 10**4), 4),
                utilisation_percent=percent_json(r.utilisation),
            )
            for r in rows
        ]
    }
    return with_rest(wanted, (text, found), [("", [r.result for r in rows])], of=len(problems))


def _run(wanted: Wanted, problem: Any, *, to_bound: bool) -> Nested:
    return nested(problem, wanted.limits, clock=time.process_time, seed=wanted.seed, to_bound=to_bound)
