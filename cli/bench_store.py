"""The sets of the stock store: a long past, several planners at once, processes that are killed."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any, Final

import click

from panewright.cli.bench_parts import Report, Wanted, memory_text, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io import bench_server
from panewright.io.bench_run import memory_peak
from panewright.io.bench_store_kills import killed
from panewright.io.bench_store_races import raced
from panewright.io.bench_store_scale import measured
from panewright.io.shop_file import default_shop
from panewright.io.store.address import address_of
from panewright.io.store.engine import holds_nothing, open_store
from panewright.nesting.text import tr

MOVEMENTS: Final = 1_000_000
RUNS: Final = 9
CALLS: Final = 2_000
PLANNERS: Final = 8
KILLS: Final = 300


@contextmanager
def _stores(server: str | None) -> Iterator[list[tuple[str, str]]]:
    """Name and address of an empty SQLite file and, where there is one, of a PostgreSQL database."""
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="panewright-bench-"))
        found = [("SQLite", str(Path(folder) / "stock.db"))]
        if server is not None:
            address = address_of(server)
            if address.path is not None:
                raise click.UsageError(tr("--server takes the address of a PostgreSQL database"))
            if not holds_nothing(address):
                raise click.UsageError(tr("the database of --server holds tables; give an empty one"))
            found.append(("PostgreSQL", server))
        else:
            try:
                started = stack.enter_context(bench_server.running())
            except bench_server.NoServer as error:
                err(tr("{reason}: only SQLite is measured", reason=error))
            else:
                started.create("stock")
                found.append(("PostgreSQL", started.url("stock")))
        for _, address_text in found:
            open_store(address_text, create=True).close()
        yield found


def scale(wanted: Wanted) -> Report:
    """Queries and commits in a store of a million movements."""
    texts: list[str] = []
    told: dict[str, Any] = {}
    with _stores(wanted.server) as stores:
        for name, address in stores:
            with open_store(address) as store:
                found = measured(
                    store,
                    default_shop(),
                    wanted.sample or MOVEMENTS,
                    wanted.draw,
                    time.perf_counter,
                    RUNS,
                )
            filled = found.filled
            texts.append(
                table(
                    tr(
                        "{name}: {movements} movements, {items} items ({there} there), {plans} plans",
                        name=name,
                        movements=filled.movements,
                        items=filled.items,
                        there=filled.there,
                        plans=filled.plans,
                    ),
                    ["", tr("middle, ms"), tr("longest, ms"), tr("goal, ms")],
                    [
                        [
                            one.name,
                            f"{1000 * one.middle:.1f}",
                            f"{1000 * one.worst:.1f}",
                            "-" if one.goal is None else f"{1000 * one.goal:.0f}",
                        ]
                        for one in found.timed
                    ],
                )
            )
            texts.append(tr("It adds up.") if found.sound else tr("IT DOES NOT ADD UP."))
            told[name] = {
                "movements": filled.movements,
                "items": filled.items,
                "there": filled.there,
                "plans": filled.plans,
                "sheets": filled.sheets,
                "fill_s": seconds_json(found.fill_seconds),
                "adds_up": found.sound,
                "times": {
                    one.name: {
                        "runs": len(one.seconds),
                        "middle_s": seconds_json(one.middle),
                        "longest_s": seconds_json(one.worst),
                        "goal_s": None if one.goal is None else seconds_json(one.goal),
                    }
                    for one in found.timed
                },
            }
    peak = memory_peak()
    texts.append(tr("Most memory held: {memory}.", memory=memory_text(peak)))
    return "\n".join(texts), {"draw": wanted.draw, "stores": told, "memory_peak_bytes": peak}


def races(wanted: Wanted) -> Report:
    """Calls of eight processes on one sheet pool."""
    rows: list[list[str]] = []
    told: dict[str, Any] = {}
    wrong: list[str] = []
    calls = wanted.sample or CALLS
    with _stores(wanted.server) as stores:
        for name, address in stores:
            found = raced(address, calls=calls, planners=PLANNERS, seed=wanted.draw)
            late = found.seconds[len(found.seconds) * 99 // 100]
            words = ", ".join(f"{count} {word}" for word, count in found.outcomes.items())
            rows.append(
                [
                    name,
                    str(len(found.seconds)),
                    words,
                    f"{late:.3f}",
                    f"{found.seconds[-1]:.3f}",
                    str(len(found.wrong)),
                ]
            )
            wrong += [f"{name}: {text}" for text in found.wrong]
            told[name] = {
                "calls": len(found.seconds),
                "planners": PLANNERS,
                "outcomes": found.outcomes,
                "middle_s": seconds_json(found.seconds[len(found.seconds) // 2]),
                "within_99_s": seconds_json(late),
                "longest_s": seconds_json(found.seconds[-1]),
                "wrong": list(found.wrong),
            }
    text = table(
        tr("{planners} processes at once on one sheet pool", planners=PLANNERS),
        ["", tr("calls"), tr("came to"), tr("99 of 100 within, s"), tr("longest, s"), tr("wrong")],
        rows,
        left=3,
    )
    return "\n".join([text, *wrong[:20]]), {"draw": wanted.draw, "stores": told}


def kills(wanted: Wanted) -> Report:
    """Processes that are killed while they write."""
    rows: list[list[str]] = []
    told: dict[str, Any] = {}
    wrong: list[str] = []
    with _stores(wanted.server) as stores:
        for name, address in stores:
            found = killed(address, kills=wanted.sample or KILLS, seed=wanted.draw)
            for kind, count in found.kills.items():
                rows.append([name, kind, str(count), str(found.done[kind]), str(found.halfway[kind])])
            rows.append([name, tr("wrong afterwards"), str(len(found.wrong)), "", ""])
            wrong += [f"{name}: {text}" for text in found.wrong]
            told[name] = {
                "kills": found.kills,
                "done": found.done,
                "halfway": found.halfway,
                "whole": found.whole,
                "wrong": list(found.wrong),
            }
    text = table(
        tr("Processes killed while they write to the store"),
        ["", tr("at"), tr("kills"), tr("changes ended before"), tr("killed in a change")],
        rows,
        left=2,
    )
    return "\n".join([text, *wrong[:20]]), {"draw": wanted.draw, "stores": told}
