"""What the sets of `panewright bench` share: the choice of problems, the profile, numbers as text."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final, Protocol, TypeVar

import click

from panewright.cli.tables import table
from panewright.io.bench_draw import Draw
from panewright.io.bench_log import SetState, moments, set_state
from panewright.io.bench_run import Limits, Result, memory_peak
from panewright.io.numbers_text import decimal
from panewright.nesting.text import tr

T = TypeVar("T")
Report = tuple[str, dict[str, Any]]
"""Text for the screen, and the keys of the JSON object."""
Shown = Callable[[int], Any]
"""Turns a cost into what stands in JSON."""
_SAMPLE_STREAM: Final = 10_000


class Named(Protocol):
    """A problem."""

    @property
    def name(self) -> str:
        """Unique in its set."""


N = TypeVar("N", bound=Named)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was asked for on the command line; with `own_limits` the set has its own."""

    which: str
    data: Path | None
    limits: Limits
    own_limits: bool
    seed: int
    draw: int
    sample: int | None
    only: tuple[str, ...]
    classes: tuple[int, ...]
    sizes: tuple[int, ...]
    profile: bool
    reference: bool
    server: str | None = None
    sets: tuple[str, ...] = ()
    workers: int = 1
    out: Path | None = None

    def choose(self, problems: Sequence[N]) -> list[N]:
        """The problems of `--only`, and of these a sample drawn by the seed of `--draw`.

        Raises
        ------
        click.UsageError
            When `--only` names a problem that is not there.
        """
        chosen = [p for p in problems if not self.only or p.name in self.only]
        unknown = sorted(set(self.only) - {p.name for p in problems})
        if unknown:
            raise click.UsageError(tr("no such problem in this set: {names}", names=", ".join(unknown)))
        if self.sample is None:
            return chosen
        return [chosen[i] for i in Draw(self.draw, _SAMPLE_STREAM).pick(self.sample, len(chosen))]

    @property
    def whole(self) -> bool:
        """Whether no problem was left out by name or by drawing."""
        return self.sample is None and not self.only


def timed(call: Callable[[], T]) -> tuple[T, float]:
    """What a call gives, and its CPU seconds."""
    began = time.process_time()
    return call(), time.process_time() - began


def seconds_json(value: float) -> Any:
    """Seconds in JSON, to the millisecond."""
    return decimal(round(value * 1000), 3)


def percent(share: Fraction | None) -> str:
    """A share in %, two decimals; a dash for none."""
    return "-" if share is None else f"{float(100 * share):.2f}"


def percent_json(share: Fraction | None) -> Any:
    """A share in % in JSON, to four decimals."""
    return None if share is None else decimal(round(share * 10**6), 4)


def memory_text(peak: int | None) -> str:
    """Most memory held, for the screen."""
    return tr("not known here") if peak is None else tr("{mib} MiB", mib=peak >> 20)


def result_json(result: Result, **more: Any) -> dict[str, Any]:
    """One problem, with further keys before the steps and seconds."""
    return {
        "name": result.name,
        "panels": result.panels,
        "sheets": result.sheets,
        "own_bound": result.bound,
        **more,
        "proven": result.proven,
        "unplaced": result.unplaced,
        "steps": result.steps,
        "first_plan_cpu_s": seconds_json(result.first),
        "cpu_s": seconds_json(result.seconds),
    }


def with_rest(
    wanted: Wanted,
    report: Report,
    runs: Sequence[tuple[str, Sequence[Result]]],
    *,
    of: int,
    money: Shown | None = None,
) -> Report:
    """A report with what every set tells: sample, open problems, memory, profile.

    Parameters
    ----------
    wanted
        What was asked for.
    report
        Text and JSON of the set itself.
    runs
        Results with a title each (empty for the only one).
    of
        Problems before `--only` and `--sample`.
    money
        For sets whose cost is not the number of sheets: the cost as it stands in JSON.
    """
    text, found = report
    results = [r for _, rows in runs for r in rows]
    lines = [text]
    if not wanted.whole:
        lines.append(
            tr(
                "{count} of {all} problems{how}.",
                count=len(runs[0][1]),
                all=of,
                how=tr(", a sample drawn by seed {seed}", seed=wanted.draw) if wanted.sample else "",
            )
        )
    peak = memory_peak()
    lines.append(tr("Most memory held: {memory}.", memory=memory_text(peak)))
    found["draw"] = wanted.draw
    found["sample"] = None if wanted.sample is None else {"problems": len(runs[0][1]), "of": of}
    found["open"] = sorted({r.name for r in results if not r.proven})
    found["memory_peak_bytes"] = peak
    if wanted.profile:
        profiles = []
        for title, rows in runs:
            states = [set_state([r.log for r in rows], m) for m in (*moments(wanted.limits.seconds), None)]
            lines.append(_profile_text(title, states, money))
            profiles.append(
                {
                    "of": title or wanted.which,
                    "states": [_state_json(s, money) for s in states],
                    "log_keys": ["cpu_s", "steps", "cost", "sheets", "own_bound"],
                    "logs": {r.name: _log_json(r, money) for r in rows},
                }
            )
        found["profile"] = profiles
    return "\n".join(lines), found


def _plain(cost: int) -> Any:
    return cost


def _state_json(state: SetState, money: Shown | None) -> dict[str, Any]:
    show = money or _plain
    return {
        "cpu_s": None if state.seconds is None else seconds_json(state.seconds),
        "problems": state.problems,
        "planned": state.planned,
        "proven": state.proven,
        "cost": show(state.cost),
        "sheets": state.sheets,
        "own_bound": show(state.bound),
    }


def _log_json(result: Result, money: Shown | None) -> list[list[Any]]:
    show = money or _plain
    return [[seconds_json(e.seconds), e.steps, show(e.cost), e.sheets, show(e.bound)] for e in result.log]


def _profile_text(title: str, states: Sequence[SetState], money: Shown | None) -> str:
    rows = [
        [
            tr("end") if s.seconds is None else f"{s.seconds:g}",
            f"{s.planned}/{s.problems}",
            str(s.proven),
            *([] if money is None else [str(money(s.cost))]),
            str(s.sheets),
            str(s.bound if money is None else money(s.bound)),
        ]
        for s in states
    ]
    heading = tr("Quality over time") + (f": {title}" if title else "")
    return table(
        heading,
        [
            tr("CPU s a problem"),
            tr("with a plan"),
            tr("proven"),
            *([] if money is None else [tr("cost")]),
            tr("sheets"),
            tr("own bound"),
        ],
        rows,
    )
