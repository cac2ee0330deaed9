"""The sets of angled panels: drawn weeks, cut singly and in groups, and drawn pairs laid side by side."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from panewright.cli.bench_parts import Report, Wanted, percent, percent_json, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io import bench_angled, bench_groups, bench_pairs
from panewright.io.bench_angled import Week, WholeWeek
from panewright.io.bench_groups import Planned, Used
from panewright.io.bench_pairs import Tried
from panewright.io.numbers_text import decimal
from panewright.nesting.text import tr

_CUTS = 300
"""Angled cuts for which the time of the replay is told."""


def weeks(wanted: Wanted) -> Report:
    """Weeks of angled panels: how far blanks are used, sheets with and without groups, and exactness."""
    problems: list[Week | WholeWeek] = [
        *bench_angled.tank_weeks(wanted.draw),
        *bench_angled.slanted_weeks(wanted.draw),
        *bench_angled.whole_weeks(wanted.draw),
    ]
    used: dict[str, list[Used]] = {"tanks": [], "slanted": []}
    planned: list[Planned] = []
    for week in wanted.choose(problems):
        if isinstance(week, WholeWeek):
            done = bench_groups.planned(week, wanted.limits, clock=time.process_time, seed=wanted.seed)
            planned.append(done)
            sheets = f"{done.without.sheets}, {done.groups.sheets}"
            err(tr("{name}: {sheets} sheets", name=week.name, sheets=sheets))
        else:
            used[week.name.partition("-")[0]].append(bench_groups.blanks_used(week, time.process_time))
    texts: list[str] = []
    found: dict[str, Any] = {"draw": wanted.draw}
    for kind, rows in used.items():
        if rows:
            texts.append(_used_text(kind, rows, wanted.draw))
            found[kind] = _used_json(rows)
    if planned:
        texts.append(_whole_text(planned, wanted.draw))
        found["whole"] = _whole_json(planned)
    return "\n".join(texts), found


_USED = (("single", lambda u: u.singles), ("pairs", lambda u: u.pairs), ("groups", lambda u: u.groups))


def _part(rows: Iterable[Used], blanks: Callable[[Used], int]) -> Fraction:
    rows = list(rows)
    return Fraction(sum(r.area for r in rows), sum(blanks(r) for r in rows))


def _used_text(kind: str, rows: Sequence[Used], draw: int) -> str:
    cells = []
    for name, mine in [*((r.name, [r]) for r in rows), (tr("all"), list(rows))]:
        cells.append(
            [
                name,
                str(sum(r.types for r in mine)),
                str(sum(r.panels for r in mine)),
                *(percent(_part(mine, blanks)) for _, blanks in _USED),
                str(sum(r.offered for r in mine)),
                f"{max(r.seconds for r in mine):.2f}",
            ]
        )
    titles = {
        "tanks": tr("Angled panels of polygon tanks drawn by seed {seed}: use of their blanks", seed=draw),
        "slanted": tr("Trapezoids and rhomboids drawn by seed {seed}: use of their blanks", seed=draw),
    }
    headings = [
        tr("week"),
        tr("types"),
        tr("panels"),
        tr("single, %"),
        tr("pairs, %"),
        tr("groups, %"),
        tr("groups offered"),
        tr("groups, CPU s (all: longest)"),
    ]
    return table(titles[kind], headings, cells)


def _used_json(rows: Sequence[Used]) -> dict[str, Any]:
    return {
        **{f"{word}_percent": percent_json(_part(rows, blanks)) for word, blanks in _USED},
        "longest_cpu_s": seconds_json(max(r.seconds for r in rows)),
        "weeks": [
            {
                "name": r.name,
                "types": r.types,
                "panels": r.panels,
                **{f"{word}_percent": percent_json(_part([r], blanks)) for word, blanks in _USED},
                "offered": r.offered,
                "groups_cpu_s": seconds_json(r.seconds),
            }
            for r in rows
        ],
    }


@dataclass(frozen=True, slots=True)
class _Saving:
    """Whole weeks with and without groups."""

    rows: Sequence[Planned]

    @property
    def sheets(self) -> tuple[int, int]:
        return sum(r.without.sheets for r in self.rows), sum(r.groups.sheets for r in self.rows)

    @property
    def used(self) -> tuple[Fraction, Fraction]:
        """Sheets less the largest offcut of each week."""
        return (
            sum((r.without.used for r in self.rows), Fraction(0)),
            sum((r.groups.used for r in self.rows), Fraction(0)),
        )

    @property
    def saved(self) -> Fraction:
        """Part of the sheets that groups save."""
        return 1 - Fraction(self.sheets[1], self.sheets[0])

    @property
    def saved_used(self) -> Fraction:
        """The same of sheets less the largest offcut."""
        return 1 - self.used[1] / self.used[0]

    @property
    def cuts(self) -> int:
        """Angled cuts of the plans with groups."""
        return sum(r.groups.angled_cuts for r in self.rows)

    @property
    def replay(self) -> float:
        """CPU time of the checker for 300 cuts. [s]"""
        return sum(r.groups.check_seconds for r in self.rows) * _CUTS / max(1, self.all_cuts)

    @property
    def all_cuts(self) -> int:
        """All cuts of the plans with groups."""
        return sum(r.groups.cuts for r in self.rows)

    @property
    def off(self) -> float:
        """Greatest distance of a corner of a panel from its place. [nm]"""
        return max(r.groups.off for r in self.rows)


def _whole_text(rows: Sequence[Planned], draw: int) -> str:
    cells = []
    for name, some in [*((r.name, _Saving([r])) for r in rows), (tr("all"), _Saving(rows))]:
        mine = some.rows
        area = sum(r.area for r in mine)
        cells.append(
            [
                name,
                str(sum(r.panels for r in mine)),
                f"{area / 2e18:.1f}",
                percent(Fraction(sum(r.angled for r in mine), area)),
                *(str(n) for n in some.sheets),
                percent(some.saved),
                *(f"{float(n):.2f}" for n in some.used),
                percent(some.saved_used),
                str(some.cuts),
                f"{some.off / 1000:.3f}",
            ]
        )
    headings = [
        tr("week"),
        tr("panels"),
        tr("m2"),
        tr("angled, %"),
        tr("sheets, own blanks"),
        tr("groups"),
        tr("saved, %"),
        tr("less largest offcut, own blanks"),
        tr("groups"),
        tr("saved, %"),
        tr("angled cuts"),
        tr("greatest deviation, um"),
    ]
    every = _Saving(rows)
    lines = [
        table(tr("Whole tank weeks drawn by seed {seed}, planned twice", seed=draw), headings, cells),
        tr(
            "The checker replayed {all} cuts, {cuts} of them angled; {some} take it {seconds} CPU s.",
            all=every.all_cuts,
            cuts=every.cuts,
            some=_CUTS,
            seconds=f"{every.replay:.2f}",
        ),
    ]
    return "\n".join(lines)


def _whole_json(rows: Sequence[Planned]) -> dict[str, Any]:
    every = _Saving(rows)
    return {
        **_saving_json(every),
        "more_sheets_in": [r.name for r in rows if r.groups.sheets > r.without.sheets],
        "greatest_deviation_nm": decimal(round(every.off * 1000), 3),
        "check_cpu_s_of_300_cuts": seconds_json(every.replay),
        "weeks": [
            {
                "name": r.name,
                "panels": r.panels,
                "angled_percent": percent_json(Fraction(r.angled, r.area)),
                **_saving_json(_Saving([r])),
                "greatest_deviation_nm": decimal(round(r.groups.off * 1000), 3),
                "cpu_s": [seconds_json(r.without.seconds), seconds_json(r.groups.seconds)],
                "steps": [r.without.steps, r.groups.steps],
            }
            for r in rows
        ],
    }


def _saving_json(some: _Saving) -> dict[str, Any]:
    return {
        "sheets_own_blanks": some.sheets[0],
        "sheets_groups": some.sheets[1],
        "saved_percent": percent_json(some.saved),
        "less_largest_offcut_own_blanks": decimal(round(some.used[0] * 10**4), 4),
        "less_largest_offcut_groups": decimal(round(some.used[1] * 10**4), 4),
        "saved_less_offcut_percent": percent_json(some.saved_used),
        "angled_cuts": some.cuts,
    }


def pairs(wanted: Wanted) -> Report:
    """Drawn pairs of convex panels: places without overlap, cuts for every place, and time."""
    numbers = [bench_pairs.Numbered(i) for i in range(1, bench_pairs.PAIRS + 1)]
    chosen = wanted.choose(numbers)
    bench_pairs.tried(bench_pairs.pair(wanted.draw, 1), time.process_time)  # compiled
    groups: dict[str, list[Tried]] = {how: [] for how in bench_pairs.HOW}
    faults = []
    for count, one in enumerate(chosen, 1):
        two = bench_pairs.pair(wanted.draw, one.number)
        done = bench_pairs.tried(two, time.process_time)
        groups[two.how].append(done)
        if not done.good:
            faults.append(two.name)
        if count % 1000 == 0:
            err(tr("{count} of {all} pairs", count=count, all=len(chosen)))
    rows = [(how, some) for how, some in groups.items() if some]
    rows.append((tr("all"), [t for _, some in rows for t in some]))
    text = table(
        tr("Pairs of convex panels drawn by seed {seed}", seed=wanted.draw),
        [
            tr("kind"),
            tr("pairs"),
            tr("places"),
            tr("greatest overlap, um"),
            tr("over the blank, um"),
            tr("no cuts found"),
            tr("greatest deviation, um"),
            tr("places found, CPU ms: middle, 95 of 100"),
            tr("all of them cut, CPU ms: middle, 95 of 100"),
        ],
        [_pairs_cells(how, some) for how, some in rows],
    )
    text += "\n" + (
        tr("Not as promised: {names}", names=", ".join(faults))
        if faults
        else tr("All places are as promised: within a micrometre, and with cuts.")
    )
    return text, {
        "draw": wanted.draw,
        "pairs": len(chosen),
        "not_as_promised": faults,
        "kinds": [_pairs_json(how, some) for how, some in rows],
    }


def _ranked(some: Iterable[float]) -> tuple[float, float]:
    """Seconds of the pair in the middle, and of the one that 95 of 100 do not exceed."""
    seconds = sorted(some)
    return seconds[len(seconds) // 2], seconds[len(seconds) * 95 // 100]


def _pairs_cells(how: str, some: Sequence[Tried]) -> list[str]:
    return [
        how,
        str(len(some)),
        str(sum(t.places for t in some)),
        f"{max(0.0, *(t.overlap for t in some)) / 1000:.4f}",
        f"{max(0.0, *(t.beyond for t in some)) / 1000:.4f}",
        str(sum(t.uncut for t in some)),
        f"{max(t.off for t in some) / 1000:.3f}",
        ", ".join(f"{1000 * s:.2f}" for s in _ranked(t.seconds for t in some)),
        ", ".join(f"{1000 * s:.0f}" for s in _ranked(t.cut_seconds for t in some)),
    ]


def _pairs_json(how: str, some: Sequence[Tried]) -> dict[str, Any]:
    middle, late = _ranked(t.seconds for t in some)
    cut_middle, cut_late = _ranked(t.cut_seconds for t in some)
    return {
        "kind": how,
        "pairs": len(some),
        "places": sum(t.places for t in some),
        "overlap_nm": decimal(round(max(0.0, *(t.overlap for t in some)) * 1000), 3),
        "over_the_blank_nm": decimal(round(max(0.0, *(t.beyond for t in some)) * 1000), 3),
        "uncut": sum(t.uncut for t in some),
        "deviation_nm": decimal(round(max(t.off for t in some) * 1000), 3),
        "places_cpu_s_middle": decimal(round(middle * 10**6), 6),
        "places_cpu_s_95": decimal(round(late * 10**6), 6),
        "cuts_cpu_s_middle": decimal(round(cut_middle * 10**6), 6),
        "cuts_cpu_s_95": decimal(round(cut_late * 10**6), 6),
    }
