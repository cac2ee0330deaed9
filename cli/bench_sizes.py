"""The set about which sizes to stock: best pairs, price-break lists, published assortment problems."""

from __future__ import annotations

import time

from panewright.cli.bench_parts import Report, Wanted, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_data import data_folder
from panewright.io.bench_sizes import assort_runs, pair_runs
from panewright.io.numbers_text import decimal
from panewright.nesting.text import tr
from panewright.nesting.units import MONEY


def sizes(wanted: Wanted) -> Report:
    """Both tables."""
    pairs = []
    for run in pair_runs(wanted.draw, time.process_time):
        err(f"{run.name}: {run.seconds:.2f} s, {run.long_seconds:.2f} s")
        pairs.append(run)
    published = []
    for one in assort_runs(data_folder(wanted.data), time.process_time, wanted.seed):
        err(f"{one.name}: {one.seconds:.2f} s")
        published.append(one)
    text = table(
        tr("Best pair of ten sizes, twelve weeks at once; list of a hundred sizes"),
        [
            "",
            tr("kinds"),
            tr("panels"),
            tr("best pair"),
            tr("LP value"),
            tr("above what a long run proves, %"),
            tr("CPU s"),
            tr("long run, s"),
            tr("LP of one size, s"),
            tr("list, s"),
            tr("worth buying"),
        ],
        [
            [
                r.name,
                str(r.kinds),
                str(r.panels),
                " + ".join(f"{w}x{h}" for w, h in r.pair),
                f"{r.value / MONEY:.2f}",
                f"{100 * r.gap:.3f}",
                f"{r.seconds:.2f}",
                f"{r.long_seconds:.2f}",
                f"{r.lp_seconds:.2f}",
                f"{r.list_seconds:.2f}",
                str(r.worth),
            ]
            for r in pairs
        ],
    )
    text += "\n\n" + table(
        tr("Assortment problems of Beasley 1985: areas"),
        [
            "",
            tr("one size, LP"),
            tr("its bound"),
            tr("its plan"),
            tr("two sizes, LP"),
            tr("agree"),
            tr("CPU s"),
        ],
        [
            [
                x.name,
                f"{x.one.value:.1f}",
                f"{x.one.bound:.1f}",
                str(x.plan),
                f"{x.two.value:.1f}",
                tr("yes") if x.agrees else tr("no"),
                f"{x.seconds:.2f}",
            ]
            for x in published
        ],
    )
    return text, {
        "pairs": [
            {
                "name": r.name,
                "pair": [list(size) for size in r.pair],
                "value": decimal(round(r.value), 4),
                "long_bound": decimal(round(r.long_bound), 4),
                "cpu_s": seconds_json(r.seconds),
                "long_cpu_s": seconds_json(r.long_seconds),
                "lp_cpu_s": seconds_json(r.lp_seconds),
                "list_cpu_s": seconds_json(r.list_seconds),
                "worth_buying": r.worth,
            }
            for r in pairs
        ],
        "published": [
            {
                "name": x.name,
                "one": decimal(round(100 * x.one.value), 2),
                "one_bound": decimal(round(100 * x.one.bound), 2),
                "plan": x.plan,
                "two": decimal(round(100 * x.two.value), 2),
                "agree": x.agrees,
                "cpu_s": seconds_json(x.seconds),
            }
            for x in published
        ],
    }
