"""The set of weeks for the order of cuts: what it asks of the table, beside a plain order."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Any

from panewright.cli.bench_parts import Report, Wanted, seconds_json
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io.bench_run import pass_check
from panewright.io.bench_sequence import SIZES, Measured, measured, weeks
from panewright.nesting.planner import Planner
from panewright.nesting.sequencing.counts import Counts
from panewright.nesting.shop_table import Habit, Rates, TableWork
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_MM

SAMPLE = "sample"
_COLUMNS: tuple[tuple[str, Callable[[Counts], int]], ...] = (
    ("turns", lambda c: c.turns),
    ("re-grips", lambda c: c.grips),
    ("settings", lambda c: c.settings),
    ("marks", lambda c: c.marks),
    ("kg x moves", lambda c: c.gram_moves // 1_000),
    ("direction", lambda c: c.changes),
    ("far breaks", lambda c: c.far),
    ("waiting", lambda c: c.waiting),
    ("minutes of cutting", lambda c: (c.milliseconds - c.sheets * Rates().sheet) // 60_000),
)


def sequence(wanted: Wanted) -> Report:
    """Turns, settings, mass moved and modelled minutes of every week, cut by each habit."""
    found: list[Measured] = []
    work = TableWork()
    for order in wanted.choose(list(weeks(wanted.draw))):
        planner = _searched(wanted, order.panels, order.stock, order.shop)
        found.append(measured(order.name, order.group, planner, work, time.process_time, pass_check))
        err(order.name)
    if wanted.whole:
        found.append(_sample(wanted, work))
    groups = [[m for m in found if m.group == g] for g in range(len(SIZES) + 1)]
    names = [*(size.name for size in SIZES), tr("sample week")]
    parts = [_table(name, group) for name, group in zip(names, groups, strict=True) if group]
    data = {name: _json(group) for name, group in zip([*names[:-1], SAMPLE], groups, strict=True) if group}
    return "\n\n".join(parts), {"groups": data}


def _searched(wanted: Wanted, panels: Any, stock: Any, shop: Any) -> Planner:
    planner = Planner(panels, stock, shop, seed=wanted.seed, effort=wanted.limits.effort)
    stop = wanted.limits.stop(time.process_time)
    planner.start()
    while not stop(sum(g.steps for g in planner.progress())) and planner.advance():
        pass
    return planner


def _sample(wanted: Wanted, work: TableWork) -> Measured:
    from panewright.cli.demo import sample_files
    from panewright.cli.planning import read_all
    from panewright.io.problems import Problems

    with sample_files() as files:
        read = read_all(files.lists, files.stock, files.shop, Problems())
    if read is None:
        raise RuntimeError("the sample week has errors")
    planner = _searched(wanted, read.panels, read.stock, read.shop)
    return measured(SAMPLE, len(SIZES), planner, work, time.process_time, pass_check)


def _sum(counts: Sequence[Counts]) -> Counts:
    return sum(counts, Counts())


def _change(new: int, old: int) -> str:
    return "" if not old else f"{100 * (new - old) / old:+.1f}"


def _table(name: str, weeks: Sequence[Measured]) -> str:
    plain = _sum([w.plain[Habit.STOP] for w in weeks])
    broken = _sum([w.plain[Habit.MACHINE] for w in weeks])
    rows = [
        (tr("plain order, cut by cut"), plain, plain),
        (tr("cut by cut"), _sum([w.ordered[Habit.STOP] for w in weeks]), plain),
        (tr("easiest, about equal offcut"), _sum([w.near for w in weeks]), plain),
        (tr("easiest of equal cost"), _sum([w.easiest for w in weeks]), plain),
        (tr("one placement a strip"), _sum([w.ordered[Habit.STRIP] for w in weeks]), plain),
        (tr("plain order, break-out"), broken, broken),
        (tr("break-out of a machine"), _sum([w.ordered[Habit.MACHINE] for w in weeks]), broken),
    ]
    cells = []
    for title, counts, reference in rows:
        row = [title]
        for _, value in _COLUMNS:
            number = str(value(counts))
            change = _change(value(counts), value(reference)) if counts is not reference else ""
            row.append(f"{number} ({change})" if change else number)
        cells.append(row)
    stop = rows[1][1]
    ratio = stop.settings / max(1, stop.measures)
    before, after = (sum(w.travel[i] for w in weeks) // (1000 * NM_PER_MM) for i in (0, 1))
    times = sorted((cuts, seconds) for w in weeks for pairs in w.seconds.values() for cuts, seconds in pairs)
    near = [s for cuts, s in times if cuts <= 35]
    return tr(
        "{table}\n{sheets} sheets, {cuts} cuts, {metres} m of score; settings for each different measure "
        "{ratio}; empty travel of a scoring head {before} m plain, {after} m on its path ({change});\n"
        "CPU time of the order of a sheet: longest {longest} ms ({most} cuts at most), up to 35 cuts "
        "{near} ms at most.",
        table=table(name, ["", *(tr(title) for title, _ in _COLUMNS)], cells, left=1),
        sheets=stop.sheets,
        cuts=stop.cuts,
        metres=stop.score // (1000 * NM_PER_MM),
        ratio=f"{ratio:.3f}",
        before=before,
        after=after,
        change=_change(after, before),
        longest=f"{1000 * max(s for _, s in times):.0f}",
        most=times[-1][0],
        near=f"{1000 * max(near, default=0.0):.0f}",
    )


def _json(weeks: Sequence[Measured]) -> dict[str, Any]:
    def all_of(counts: Counts) -> dict[str, int]:
        return {field: getattr(counts, field) for field in Counts.__dataclass_fields__}

    return {
        "plain": {h.value: all_of(_sum([w.plain[h] for w in weeks])) for h in Habit},
        "ordered": {h.value: all_of(_sum([w.ordered[h] for w in weeks])) for h in Habit},
        "near": all_of(_sum([w.near for w in weeks])),
        "easiest": all_of(_sum([w.easiest for w in weeks])),
        "travel_mm": [sum(w.travel[i] for w in weeks) // NM_PER_MM for i in (0, 1)],
        "seconds": {
            h.value: [[cuts, seconds_json(s)] for w in weeks for cuts, s in w.seconds[h]] for h in Habit
        },
    }
