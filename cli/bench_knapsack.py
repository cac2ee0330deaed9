"""The set of single sheets: the most value from one, against the optima in print."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Any

from panewright.cli.bench_parts import Report, Wanted, percent, percent_json, result_json, with_rest
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_data import data_folder
from panewright.io.bench_run import Result
from panewright.io.bench_value import SOURCE, Knapsack, Standing, knapsacks, standing, value_found
from panewright.nesting.text import tr

Pair = tuple[Knapsack, Result]


def knapsack(wanted: Wanted) -> Report:
    """Value found beside the optimum in print, file by file."""
    problems = knapsacks(data_folder(wanted.data))
    pairs: list[Pair] = []
    for problem in wanted.choose(problems):
        pairs.append((problem, value_found(problem, wanted.limits, clock=time.process_time)))
        err(tr("{name}: {value} of {best}", name=problem.name, value=-pairs[-1][1].cost, best=problem.best))
    subsets = list(dict.fromkeys(p.subset for p, _ in pairs))
    parts = [(s, [pair for pair in pairs if pair[0].subset == s]) for s in subsets]
    standings = [(name, standing(mine)) for name, mine in (*parts, ("", pairs))]
    text = "\n".join([_table(standings), *_short(pairs), tr("In print: {source}.", source=SOURCE)])
    found = {
        "source": SOURCE,
        "files": [_standing_json(name, s) for name, s in standings],
        "problems": [_problem_json(p, r) for p, r in pairs],
    }
    results = [r for _, r in pairs]
    return with_rest(wanted, (text, found), [("", results)], of=len(problems), money=lambda cost: -cost)


def _table(standings: Sequence[tuple[str, Standing]]) -> str:
    return table(
        tr("Most value from one sheet, edge-to-edge cuts, no turning"),
        [
            tr("file"),
            tr("problems"),
            tr("optimum proven in print"),
            tr("met"),
            tr("met, %"),
            tr("within 0.2 %"),
            tr("within 0.2 %, %"),
            tr("largest gap, %"),
            tr("CPU s"),
        ],
        [
            [
                name or tr("all"),
                str(s.problems),
                str(s.known),
                str(s.exact),
                percent(s.exact_share),
                str(s.near),
                percent(s.near_share),
                percent(s.worst),
                f"{s.seconds:.1f}",
            ]
            for name, s in standings
        ],
    )


def _short(pairs: Sequence[Pair]) -> list[str]:
    """The problems that fall short of their optimum, the furthest first."""
    rows = sorted(
        ((p, r) for p, r in pairs if p.proven and -r.cost < p.best),
        key=lambda pair: (pair[0].short_by(-pair[1].cost) * -1, pair[0].subset, pair[0].name),
    )
    if not rows:
        return []
    return [
        table(
            tr("Short of the optimum in print"),
            [tr("problem"), tr("file"), tr("value"), tr("optimum in print"), tr("short by, %")],
            [[p.name, p.subset, str(-r.cost), str(p.best), percent(p.short_by(-r.cost))] for p, r in rows],
            left=2,
        )
    ]


def _standing_json(name: str, s: Standing) -> dict[str, Any]:
    return {
        "file": name or None,
        "problems": s.problems,
        "optima_known": s.known,
        "optima_met": s.exact,
        "optima_met_percent": percent_json(s.exact_share),
        "near": s.near,
        "near_percent": percent_json(s.near_share),
        "largest_gap_percent": percent_json(s.worst),
    }


def _problem_json(problem: Knapsack, result: Result) -> dict[str, Any]:
    told = result_json(
        result,
        file=problem.subset,
        value=-result.cost,
        own_bound_value=-result.cost_bound,
        best_in_print=problem.best,
        proven_in_print=problem.proven,
    )
    for name in ("sheets", "own_bound", "unplaced"):
        told.pop(name)
    return told
