"""The set of the glass-cutting challenge of 2018: racks, flaws and plates in their order, beside the values in print."""

from __future__ import annotations

import platform
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import click

from panewright.cli.bench_parts import Report, Wanted, memory_text, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io import bench_data
from panewright.io.bench_challenge_data import BestKnown, best_known, challenge_names
from panewright.io.bench_challenge_readings import BELOW, LEADING, PAIR, PAIR_OF_TWO, READINGS
from panewright.io.bench_challenge_run import ChallengeRun, moments_within, run_all
from panewright.io.engines import engine, release
from panewright.io.numbers_text import decimal
from panewright.nesting.text import tr


@dataclass(frozen=True, slots=True)
class _Name:
    name: str


def challenge(wanted: Wanted) -> Report:
    """Every instance on a process of its own; an interrupt tells of those that are done."""
    folder = wanted.out
    data = bench_data.data_folder(wanted.data)
    every = challenge_names(data, wanted.sets)
    known = best_known(data)
    chosen = [one.name for one in wanted.choose([_Name(name) for name in every])]
    if folder is not None:
        _new_folder(folder)
    runs: list[ChallengeRun] = []
    with engine(max(1, min(wanted.workers, len(chosen)))) as executor:
        try:
            for run in run_all(data, chosen, wanted.limits, executor, wanted.seed):
                runs.append(run)
                if folder is not None:
                    (folder / f"{run.name}_solution.csv").write_text(
                        run.table, encoding="utf-8", newline="\n"
                    )
                err(_progress(run, known.get(run.name), len(runs), len(chosen)))
        except KeyboardInterrupt:
            if not runs:
                raise
            err(tr("stopped; what was found so far is told"))
    moments = moments_within(wanted.limits.seconds)
    sums = [s for name, some in _groups(runs) for s in _sums(name, some, known, moments)]
    peak = max((r.memory for r in runs if r.memory is not None), default=None)
    read = {key: sum(r.readings[key] for r in runs) for key in READINGS}
    lines = [
        _runs_text(runs, known, moments),
        _sums_text(sums),
        tr("{count} of {all} instances; every value is that of a plan that passed the program's checker and the"
           " published rules.", count=len(runs), all=len(every)),
        _readings_text(read),
        tr("Best known, and what is below and equal: the 2018-2019 table; later papers may hold better values. The winner's machine was of"
           " 2018, and several threads were allowed (from memory); here each run has one."),
        tr("Most memory held by one run: {memory}.", memory=memory_text(peak)),
        _machine(),
    ]  # fmt: skip
    found: dict[str, Any] = {
        "sets": list(wanted.sets),
        "workers": wanted.workers,
        "instances": [_run_json(r, known.get(r.name), log=wanted.profile) for r in runs],
        "sums": [_sum_json(s) for s in sums],
        "readings": read,
        "of": len(every),
        "memory_peak_bytes": peak,
        "machine": _machine(),
    }
    return "\n".join(lines), found


def _new_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        full = any(folder.iterdir())
    except OSError as error:
        raise click.UsageError(
            tr("--out {folder}: {reason}", folder=folder, reason=error.strerror)
        ) from error
    if full:
        raise click.UsageError(tr("--out {folder}: the folder is not empty", folder=folder))


def _readings_text(read: dict[str, int]) -> str:
    return tr(
        "Allowed by the rules in words, for outsiders to judge: waste first {strips} times on a plate, {rows} in a"
        " strip, {columns} in a row and {below} under the item of a 4-cut; {pairs} 4-cuts part two items, {two} of"
        " them of two stacks.",
        strips=read[LEADING[1]],
        rows=read[LEADING[2]],
        columns=read[LEADING[3]],
        below=read[BELOW],
        pairs=read[PAIR],
        two=read[PAIR_OF_TWO],
    )


def _machine() -> str:
    return tr(
        "panewright {version}, Python {python}, {system} {machine}; one thread a run, CPU seconds of its process.",
        version=release(),
        python=platform.python_version(),
        system=platform.system(),
        machine=platform.machine(),
    )


def _progress(run: ChallengeRun, known: BestKnown | None, done: int, of: int) -> str:
    values = ", ".join(
        tr("{value} at {moment}", value=_mm2(m.value), moment=_moment(m.seconds)) for m in run.moments
    )
    return tr(
        "{name} ({done} of {of}): {values}; best known {best}, {seconds:.1f} CPU s",
        name=run.name,
        done=done,
        of=of,
        values=values,
        best="-" if known is None else f"{known.best:,}",
        seconds=run.seconds,
    )


# --------------------------------------------------------------------------------------------- instances


def _mm2(value: int | None) -> str:
    return "-" if value is None else f"{value:,}"


def _ratio(value: int | None, to: int | None) -> Fraction | None:
    return None if value is None or not to else Fraction(value, to)


def _ratio_text(ratio: Fraction | None) -> str:
    return "-" if ratio is None else f"{float(ratio):.3f}"


def _ratio_json(ratio: Fraction | None) -> Any:
    return None if ratio is None else decimal(round(ratio * 10**4), 4)


def _moment(seconds: float) -> str:
    return tr("end") if seconds == float("inf") else tr("{seconds:g} s", seconds=seconds)


def _runs_text(runs: Sequence[ChallengeRun], known: dict[str, BestKnown], moments: Sequence[float]) -> str:
    rows = []
    for r in runs:
        one = known.get(r.name)
        best, winner = (None, None) if one is None else (one.best, one.winner_180)
        rows.append(
            [
                r.name,
                str(r.panels),
                tr("free") if r.free else str(r.stacks),
                *(_mm2(m.value) for m in r.moments),
                _mm2(best),
                _ratio_text(_ratio(r.moments[-1].value, best)),
                _mm2(winner),
                _ratio_text(_ratio(r.moments[-1].value, winner)),
                str(r.plates),
                f"{r.steps:,}",
                f"{r.seconds:.1f}",
            ]
        )
    return table(
        tr("Waste in mm2 as the challenge of 2018 counts it; every plan checked"),
        [
            tr("instance"),
            tr("items"),
            tr("stacks"),
            *(_moment(m) for m in moments),
            tr("best known"),
            tr("ours / that"),
            tr("winner, 180 s"),
            tr("ours / that"),
            tr("plates"),
            tr("steps"),
            tr("CPU s"),
        ],
        rows,
    )


def _run_json(run: ChallengeRun, known: BestKnown | None, *, log: bool) -> dict[str, Any]:
    best = None if known is None else known.best
    winner = None if known is None else known.winner_180
    out = {
        "name": run.name,
        "items": run.panels,
        "stacks": run.stacks,
        "free_order": run.free,
        "values": [
            {
                "cpu_s": _seconds(m.seconds),
                "mm2": m.value,
                "of_best_known": _ratio_json(_ratio(m.value, best)),
                "of_winner_180_s": _ratio_json(_ratio(m.value, winner)),
            }
            for m in run.moments
        ],
        "end_mm2": run.value,
        "best_known_mm2": best,
        "winner_180_s_mm2": winner,
        "plates": run.plates,
        "finished": run.finished,
        "steps": run.steps,
        "first_plan_cpu_s": seconds_json(run.first),
        "cpu_s": seconds_json(run.seconds),
        "memory_peak_bytes": run.memory,
        "readings": run.readings,
        "check": "passed",
    }
    if log:
        out["log_keys"] = ["cpu_s", "steps", "mm2"]
        out["log"] = [[seconds_json(seconds), steps, value] for seconds, steps, value in run.log]
    return out


def _seconds(moment: float) -> Any:
    return None if moment == float("inf") else seconds_json(moment)


# -------------------------------------------------------------------------------------------------- sums


@dataclass(frozen=True, slots=True, kw_only=True)
class Sum:
    """Instances of one kind at one moment, over those with a plan and a value in print. [s, mm2]

    `below` and `equal` count them against best known, `no_worse` against the winner's value after 180 s.
    """

    name: str
    seconds: float
    instances: int
    value: int
    best: int
    winner: int
    below: int
    equal: int
    no_worse: int


def _groups(runs: Sequence[ChallengeRun]) -> list[tuple[str, list[ChallengeRun]]]:
    """In order of racks: by set, and all; then in free order."""
    ordered = [r for r in runs if not r.free]
    sets = sorted({r.name[0] for r in ordered})
    groups = [(tr("{name}, in order", name=s), [r for r in ordered if r.name[0] == s]) for s in sets]
    if len(sets) > 1:
        groups.append((tr("all, in order"), ordered))
    free = [r for r in runs if r.free]
    return [*groups, *([(tr("free order"), free)] if free else [])]


def _sums(
    name: str, runs: Sequence[ChallengeRun], known: dict[str, BestKnown], moments: Sequence[float]
) -> list[Sum]:
    out = []
    for k, seconds in enumerate(moments):
        pairs = [(r.moments[k].value, known[r.name]) for r in runs if r.name in known]
        there = [(value, best) for value, best in pairs if value is not None]
        out.append(
            Sum(
                name=name,
                seconds=seconds,
                instances=len(there),
                value=sum(v for v, _ in there),
                best=sum(b.best for _, b in there),
                winner=sum(b.winner_180 for _, b in there),
                below=sum(v < b.best for v, b in there),
                equal=sum(v == b.best for v, b in there),
                no_worse=sum(v <= b.winner_180 for v, b in there),
            )
        )
    return out


def _sums_text(sums: Sequence[Sum]) -> str:
    rows = [
        [
            s.name,
            _moment(s.seconds),
            str(s.instances),
            _mm2(s.value),
            _mm2(s.best),
            _ratio_text(_ratio(s.value, s.best)),
            _ratio_text(_ratio(s.value, s.winner)),
            f"{s.below}",
            f"{s.equal}",
            f"{s.no_worse}",
            "-" if not s.instances else f"{100 * s.no_worse / s.instances:.0f}",
        ]
        for s in sums
    ]
    return table(
        tr("Sums over the instances"),
        [
            tr("instances"),
            tr("at"),
            tr("number"),
            tr("waste, mm2"),
            tr("best known"),
            tr("ours / that"),
            tr("ours / winner, 180 s"),
            tr("below"),
            tr("equal"),
            tr("at or below winner"),
            tr("%"),
        ],
        rows,
        left=2,
    )


def _sum_json(s: Sum) -> dict[str, Any]:
    return {
        "name": s.name,
        "cpu_s": _seconds(s.seconds),
        "instances": s.instances,
        "mm2": s.value,
        "best_known_mm2": s.best,
        "of_best_known": _ratio_json(_ratio(s.value, s.best)),
        "winner_180_s_mm2": s.winner,
        "of_winner_180_s": _ratio_json(_ratio(s.value, s.winner)),
        "below_best_known": s.below,
        "equal_to_best_known": s.equal,
        "at_or_below_winner": s.no_worse,
    }
