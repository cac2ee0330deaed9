"""The sets about open orders: the order of sheets, and nests with weights."""

from __future__ import annotations

import time

from panewright.cli.bench_parts import Report, Wanted, seconds_json
from panewright.cli.few_open import point_names
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_data import data_folder
from panewright.io.bench_open import Solved, drawn, solved, stored
from panewright.io.bench_spread import KINDS, Spread, spread, spread_weeks
from panewright.nesting.text import tr


def open_orders(wanted: Wanted) -> Report:
    """Stored problems and drawn weeks, each put in the order with the fewest open orders."""
    found = list(solved(wanted.choose(stored(data_folder(wanted.data))), time.process_time))
    weeks = list(solved(drawn(wanted.draw), time.process_time)) if wanted.whole else []
    parts = {tr("stored"): found, tr("drawn weeks"): weeks}
    cells = [
        [
            name,
            str(len(rows)),
            str(sum(x.found.proven for x in rows)),
            f"{_agree(rows)}/{sum(x.problem.known is not None for x in rows)}",
            str(max(len(x.problem.sheets) for x in rows)),
            str(sum(x.found.most_open for x in rows)),
            f"{sum(x.seconds for x in rows):.2f}",
            f"{max(x.seconds for x in rows):.3f}",
        ]
        for name, rows in parts.items()
        if rows
    ]
    text = table(
        tr("Fewest orders open at once"),
        [
            "",
            tr("problems"),
            tr("proven"),
            tr("equal to the optimum in print"),
            tr("most sheets"),
            tr("sum of most open"),
            tr("CPU s"),
            tr("longest, s"),
        ],
        cells,
    )
    return text, {
        "problems": [
            {
                "name": x.problem.name,
                "sheets": len(x.problem.sheets),
                "most_open": x.found.most_open,
                "bound": x.found.bound,
                "proven": x.found.proven,
                "in_print": x.problem.known,
                "eased": len(x.found.eased),
                "nodes": x.found.nodes,
                "cpu_s": seconds_json(x.seconds),
            }
            for x in (*found, *weeks)
        ]
    }


def _agree(rows: list[Solved]) -> int:
    return sum(x.problem.known == x.found.most_open for x in rows if x.problem.known is not None)


def weights(wanted: Wanted) -> Report:
    """Drawn weeks: sheets, most open and late orders without weights and with them."""
    found = []
    for week in wanted.choose(spread_weeks(wanted.draw)):
        one = spread(week, wanted.limits, time.process_time, wanted.seed)
        found.append(one)
        rows = "  ".join(f"{r.sheets}/{r.most_open}/{r.late}" for r in one.rows)
        err(f"{one.name}: {rows}")
    cells = []
    for group, kind in enumerate(KINDS, 1):
        mine = [x for x in found if x.group == group]
        for label, picks in (
            (*((p, i) for i, p in enumerate(point_names())), (tr("taken"), -1)) if mine else ()
        ):
            cells.append([kind.name, label, *_means(mine, picks)])
    text = table(
        tr("Means of the weeks: the nest decides how many orders are open"),
        [tr("weeks"), tr("nest"), tr("sheets"), tr("most open"), tr("late orders"), tr("CPU s of the curve")],
        cells,
        left=2,
    )
    return text, {
        "weeks": [
            {
                "name": x.name,
                "taken": x.taken + 1,
                "points": [
                    {"sheets": r.sheets, "most_open": r.most_open, "late": r.late, "within": r.within}
                    for r in x.rows
                ],
                "cpu_s": seconds_json(x.seconds),
            }
            for x in found
        ]
    }


def _means(weeks: list[Spread], pick: int) -> list[str]:
    rows = [x.rows[x.taken if pick < 0 else pick] for x in weeks]
    n = len(weeks)
    return [
        f"{sum(r.sheets for r in rows) / n:.2f}",
        f"{sum(r.most_open for r in rows) / n:.2f}",
        f"{sum(r.late for r in rows) / n:.2f}",
        f"{sum(x.seconds for x in weeks) / n:.1f}",
    ]
