"""The set of remakes: how soon there is a whole answer, and what it costs."""

from __future__ import annotations

import time
from collections.abc import Sequence

from panewright.cli.bench_parts import Report, Wanted, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_remake import Remade, cases, long_plan, remade
from panewright.io.bench_run import pass_check
from panewright.nesting.happened import Happened
from panewright.nesting.remake.request import Request
from panewright.nesting.remake.search import Remaking
from panewright.nesting.text import tr


def remakes(wanted: Wanted) -> Report:
    """Every case on one long plan, after one that is not counted, so that the kernels are warm."""
    plan, order = long_plan(wanted.draw, wanted.seed)
    err(tr("plan: {count} sheets, {panels} panels", count=len(plan.layouts), panels=len(plan.panels)))
    every = list(cases(plan, wanted.draw))
    warm = Remaking(
        Request(
            earlier=plan,
            happened=Happened(cut=every[0].happened.cut, flaws=every[-1].happened.flaws),
            stock=order.stock,
            shop=order.shop,
            added=tuple(p for c in every for p in c.added)[:5],
        )
    )
    warm.start()
    warm.finish("first answer")
    found = [
        remade(
            case,
            plan,
            order,
            seed=wanted.seed,
            stop=wanted.limits.stop(time.process_time),
            clock=time.process_time,
            wall=time.perf_counter,
            passed=pass_check,
        )
        for case in wanted.choose(every)
    ]
    kinds = list(dict.fromkeys(f.case.kind for f in found))
    groups = [[f for f in found if f.case.kind == kind] for kind in kinds]
    text = table(
        tr("Remakes of a plan of {count} sheets", count=len(plan.layouts)),
        [
            "",
            tr("cases"),
            tr("first answer, CPU s, middle"),
            tr("longest"),
            tr("wall s, longest"),
            tr("check, CPU s, longest"),
            tr("CPU s in all, longest"),
            tr("sheets more, first"),
            tr("in the end"),
            tr("sheets changed"),
            tr("unplaced"),
        ],
        [_cells(kind, group) for kind, group in zip(kinds, groups, strict=True)],
    )
    data = {
        "sheets": len(plan.layouts),
        "panels": len(plan.panels),
        "cases": [
            {
                "name": f.case.name,
                "first_cpu_s": seconds_json(f.first_cpu),
                "first_wall_s": seconds_json(f.first_wall),
                "cpu_s": seconds_json(f.cpu),
                "check_cpu_s": seconds_json(f.checked_cpu),
                "sheets_more_first": f.first_cost,
                "sheets_more": f.cost,
                "sheets_changed": f.changed,
                "unplaced": f.unplaced,
            }
            for f in found
        ],
    }
    return text, data


def _cells(kind: str, group: Sequence[Remade]) -> list[str]:
    cpu = sorted(f.first_cpu for f in group)
    return [
        kind,
        str(len(group)),
        f"{cpu[len(cpu) // 2]:.3f}",
        f"{cpu[-1]:.3f}",
        f"{max(f.first_wall for f in group):.3f}",
        f"{max(f.checked_cpu for f in group):.3f}",
        f"{max(f.cpu for f in group):.2f}",
        str(sum(f.first_cost for f in group)),
        str(sum(f.cost for f in group)),
        str(sum(f.changed for f in group)),
        str(sum(f.unplaced for f in group)),
    ]
