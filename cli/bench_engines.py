"""`panewright bench engines`: the order history nested again with one worker, several, and on a cluster."""

from __future__ import annotations

from typing import Any

from panewright.cli.bench_parts import Report, Wanted, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_engines import FUTURES, TASK_SECONDS, WEEKS, measured
from panewright.io.shop_file import default_shop
from panewright.nesting.text import tr


def engines(wanted: Wanted) -> Report:
    """Wall seconds, speed-up and overhead of every engine, and whether all counts are the same."""
    found = measured(
        default_shop(), wanted.sample or WEEKS, wanted.draw, told=lambda name: err(f"{name} ...")
    )
    alone = found.runs[0]
    rows = [
        [
            run.name,
            str(run.workers),
            f"{run.start:.1f}",
            f"{run.seconds:.1f}",
            f"{alone.seconds / run.seconds:.2f}",
            "-" if run.overhead is None else f"{100 * run.overhead:.1f}",
        ]
        for run in found.runs
    ]
    text = table(
        tr(
            "{weeks} weeks of a drawn small shop: {nests} plans of a week and glass, {panels} panels",
            weeks=found.weeks,
            nests=found.nests,
            panels=found.panels,
        ),
        [
            "",
            tr("workers"),
            tr("start, s"),
            tr("history, s"),
            tr("times as fast"),
            tr("overhead on {seconds} s tasks, %", seconds=TASK_SECONDS),
        ],
        rows,
    )
    lines = [text, tr("All counts are the same.") if found.same else tr("THE COUNTS ARE NOT THE SAME.")]
    if found.missing:
        lines.append(found.missing)
    lines.append(
        tr(
            "A plan of a week and glass takes {nest:.0f} ms, rules of the history {fit:.2f} s (its orders "
            "measured in {measure:.2f} s), {futures} futures of {weeks} weeks {rule:.1f} ms.",
            nest=1000 * alone.seconds / max(1, found.nests),
            fit=found.fit,
            measure=found.measure,
            futures=FUTURES[0],
            weeks=FUTURES[1],
            rule=1000 * found.futures,
        )
    )
    told: dict[str, Any] = {
        "draw": wanted.draw,
        "weeks": found.weeks,
        "plans": found.nests,
        "panels": found.panels,
        "same": found.same,
        "fit_s": seconds_json(found.fit),
        "measure_s": seconds_json(found.measure),
        "futures_s": seconds_json(found.futures),
        "no_cluster": found.missing or None,
        "engines": [
            {
                "name": run.name,
                "workers": run.workers,
                "start_s": seconds_json(run.start),
                "history_s": seconds_json(run.seconds),
                "overhead_permille": None if run.overhead is None else round(1000 * run.overhead),
            }
            for run in found.runs
        ],
    }
    return "\n".join(lines), told
