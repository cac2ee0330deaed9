"""The sets that go through the whole planner: glass lists, the sample, weeks, assorted, scale."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Any

from panewright.cli.bench_parts import (
    Report,
    Wanted,
    memory_text,
    percent,
    percent_json,
    result_json,
    seconds_json,
    with_rest,
)
from panewright.cli.output import err
from panewright.cli.tables import table
from panewright.io import bench_data, bench_scale, bench_sets, bench_weeks
from panewright.io.bench_order import Order
from panewright.io.bench_report import gap
from panewright.io.bench_run import Limits, Result, glass_list, memory_peak, run_order, run_planner
from panewright.io.numbers_text import decimal, money
from panewright.nesting.text import tr


def glass_lists(wanted: Wanted, names: Sequence[str]) -> Report:
    """Panel lists of a glass maker."""
    folder = bench_data.data_folder(wanted.data)
    lists = bench_data.glass_lists(folder, names)
    results = []
    for problem in wanted.choose(lists):
        results.append(glass_list(problem, wanted.limits, clock=time.process_time, seed=wanted.seed))
        err(tr("{name}: {sheets} sheets", name=problem.name, sheets=results[-1].sheets))
    width, height = bench_data.GLASS_SHEET
    text = table(
        tr("Panel lists on {width} x {height} mm, stacks and flaws left out", width=width, height=height),
        [tr("list"), tr("panels"), tr("sheets"), tr("bound"), tr("unplaced"), tr("steps"), tr("CPU s"), tr("check")],
        [
            [r.name, str(r.panels), str(r.sheets), str(r.bound), str(r.unplaced), f"{r.steps:,}",
             f"{r.seconds:.1f}", tr("passed")]
            for r in results
        ],
    )  # fmt: skip
    sheets, bound = sum(r.sheets for r in results), sum(r.bound for r in results)
    text += "\n" + tr("All: {sheets} sheets, bound {bound}.", sheets=sheets, bound=bound)
    rows = [_list_json(r) for r in results]
    found = {"lists": rows, "sheets": sheets, "bound": bound}
    return with_rest(wanted, (text, found), [("", results)], of=len(lists), money=money)


def _list_json(result: Result) -> dict[str, Any]:
    return {
        "list": result.name,
        "panels": result.panels,
        "sheets": result.sheets,
        "bound": result.bound,
        "unplaced": result.unplaced,
        "steps": result.steps,
        "first_plan_cpu_s": seconds_json(result.first),
        "cpu_s": seconds_json(result.seconds),
        "check": "passed",
    }


def sample(wanted: Wanted) -> Report:
    """The sample week of `panewright demo`."""
    from panewright.cli.demo import sample_files
    from panewright.cli.planning import checked, read_all
    from panewright.cli.summary import glasses_table
    from panewright.io.plan_file import figures_json
    from panewright.io.problems import Problems
    from panewright.nesting.figures import figures_of

    with sample_files() as files:
        read = read_all(files.lists, files.stock, files.shop, Problems())
    if read is None:
        raise RuntimeError("the sample week has errors")
    done = run_planner(
        read.panels, read.stock, read.shop, wanted.limits, clock=time.process_time, seed=wanted.seed
    )
    checked(done.plan)
    figures = figures_of(done.plan)
    peak = memory_peak()
    text = tr(
        "{table}\n{steps} steps, {seconds} CPU s, the first whole plan after {first} CPU s; most memory held:"
        " {memory}; the checker passed the plan.",
        table=glasses_table(done.plan, figures),
        steps=f"{done.steps:,}",
        seconds=f"{done.seconds:.1f}",
        first=f"{done.first:.2f}",
        memory=memory_text(peak),
    )
    return text, {
        "steps": done.steps,
        "first_plan_cpu_s": seconds_json(done.first),
        "cpu_s": seconds_json(done.seconds),
        "memory_peak_bytes": peak,
        "figures": figures_json(done.plan, figures),
    }


def _planned(wanted: Wanted, orders: Sequence[Order]) -> list[Result]:
    results = []
    for order in orders:
        result, _ = run_order(order, wanted.limits, clock=time.process_time, seed=wanted.seed)
        results.append(result)
        err(tr("{name}: {sheets} sheets", name=result.name, sheets=result.sheets))
    return results


def weeks(wanted: Wanted) -> Report:
    """Weeks of a tank shop, on one stock size, on three, or with offcuts in the rack."""
    orders = bench_weeks.orders(wanted.draw, wanted.which)
    chosen = wanted.choose(orders)
    results = _planned(wanted, chosen)
    cells = [
        [
            o.name,
            str(o.sizes),
            str(r.panels),
            str(r.sheets),
            str(r.bound),
            str(money(r.cost)),
            str(money(r.cost_bound)),
            percent(gap(r.cost, r.cost_bound)),
            tr("yes") if r.proven else tr("no"),
            str(r.unplaced),
            f"{r.first:.2f}",
            f"{r.seconds:.1f}",
        ]
        for o, r in zip(chosen, results, strict=True)
    ]
    cost, bound = sum(r.cost for r in results), sum(r.cost_bound for r in results)
    sheets, sheet_bound = sum(r.sheets for r in results), sum(r.bound for r in results)
    cells.append(
        [
            tr("all"),
            str(sum(o.sizes for o in chosen)),
            str(sum(r.panels for r in results)),
            str(sheets),
            str(sheet_bound),
            str(money(cost)),
            str(money(bound)),
            percent(gap(cost, bound)),
            str(sum(r.proven for r in results)),
            str(sum(r.unplaced for r in results)),
            f"{sum(r.first for r in results):.2f}",
            f"{sum(r.seconds for r in results):.1f}",
        ]
    )
    stock = {
        "weeks": tr("one stock size"),
        "weeks-three": tr("three stock sizes"),
        "weeks-offcuts": tr("one stock size and offcuts"),
    }[wanted.which]
    text = table(
        tr("Weeks of a tank shop drawn by seed {seed}, {stock}", seed=wanted.draw, stock=stock),
        [
            tr("week"),
            tr("panel sizes"),
            tr("panels"),
            tr("sheets"),
            tr("own bound"),
            tr("cost"),
            tr("own bound"),
            tr("gap %"),
            tr("proven"),
            tr("unplaced"),
            tr("first plan, CPU s"),
            tr("CPU s"),
        ],
        cells,
    )
    found = {
        "sheets": sheets,
        "own_bound_sheets": sheet_bound,
        "cost": money(cost),
        "own_bound": money(bound),
        "gap_percent": percent_json(gap(cost, bound)),
        "most_sheets_over_bound": max((r.sheets - r.bound for r in results), default=0),
        "proven": sum(r.proven for r in results),
        "problems": [
            _cost_json(r, money(r.cost), money(r.cost_bound), panel_sizes=o.sizes)
            for o, r in zip(chosen, results, strict=True)
        ],
    }
    return with_rest(wanted, (text, found), [("", results)], of=len(orders), money=money)


def _cost_json(result: Result, cost: Any, bound: Any, **more: Any) -> dict[str, Any]:
    told = result_json(result, cost=cost, own_bound_cost=bound, **more)
    told["gap_percent"] = percent_json(gap(result.cost, result.cost_bound))
    return told


def assorted(wanted: Wanted) -> Report:
    """Several sheet sizes with costs, class by class."""
    orders = bench_sets.assorted(bench_data.data_folder(wanted.data))
    chosen = [o for o in orders if o.group in wanted.classes]
    results = _planned(wanted, wanted.choose(chosen))
    cells, classes = [], []
    for group in [*sorted({r.group for r in results}), 0]:
        mine = [r for r in results if group in (0, r.group)]
        cost, bound = sum(r.cost for r in mine), sum(r.cost_bound for r in mine)
        seconds = sum(r.seconds for r in mine)
        proven = sum(r.proven for r in mine)
        cells.append(
            [
                str(group or tr("all")),
                str(len(mine)),
                f"{cost:,}",
                f"{bound:,}",
                percent(gap(cost, bound)),
                str(proven),
                f"{seconds:.1f}",
            ]
        )
        classes.append(
            {
                "class": group or None,
                "problems": len(mine),
                "cost": cost,
                "own_bound": bound,
                "gap_percent": percent_json(gap(cost, bound)),
                "proven": proven,
                "cpu_s": seconds_json(seconds),
            }
        )
    text = table(
        tr("Several sheet sizes with costs, edge-to-edge cuts, no turning"),
        [tr("class"), tr("problems"), tr("cost"), tr("own bound"), tr("gap %"), tr("proven"), tr("CPU s")],
        cells,
    )
    text += "\n" + tr("Best values in print: not found, the gap is to the program's own bound.")
    found = {
        "classes": classes,
        "problems": [_cost_json(r, r.cost, r.cost_bound, **{"class": r.group}) for r in results],
    }
    return with_rest(wanted, (text, found), [("", results)], of=len(chosen), money=int)


def scale(wanted: Wanted) -> Report:
    """Large orders of different panels, and the growth of time."""
    rows = []
    for number in wanted.sizes:
        limits = Limits(seconds=bench_scale.seconds_for(number)) if wanted.own_limits else wanted.limits
        order = bench_scale.scale_order(wanted.draw, number)
        result, plan = run_order(order, limits, clock=time.process_time, seed=wanted.seed)
        rows.append(bench_scale.scale_row(result, plan, memory_peak()))
        err(tr("{name}: {sheets} sheets", name=result.name, sheets=result.sheets))
    results = [row.result for row in rows]
    first = bench_scale.exponent([(r.panels, r.first) for r in results])
    whole = bench_scale.exponent([(r.panels, r.seconds) for r in results])
    width, height = bench_scale.SHEET
    text = table(
        tr("Different panels on {width} x {height} mm, drawn by seed {seed}", width=width, height=height,
           seed=wanted.draw),
        [
            tr("panels"),
            tr("sheets"),
            tr("own bound"),
            tr("waste over area, whole sheets, %"),
            tr("the last one as far as used, %"),
            tr("unplaced"),
            tr("first plan, CPU s"),
            tr("CPU s"),
            tr("most memory so far"),
        ],
        [
            [
                str(row.result.panels),
                str(row.result.sheets),
                str(row.result.bound),
                percent(row.waste),
                percent(row.waste_used),
                str(row.result.unplaced),
                f"{row.result.first:.2f}",
                f"{row.result.seconds:.1f}",
                memory_text(row.memory),
            ]
            for row in rows
        ],
    )  # fmt: skip
    if first is not None and whole is not None:
        text += "\n" + tr(
            "Time grows with the number of panels to the power of {first} (first plan), {whole} (all).",
            first=f"{first:.2f}",
            whole=f"{whole:.2f}",
        )
    found = {
        "exponent_first_plan": None if first is None else decimal(round(first * 1000), 3),
        "exponent_all": None if whole is None else decimal(round(whole * 1000), 3),
        "problems": [
            result_json(
                row.result,
                waste_percent=percent_json(row.waste),
                waste_last_as_used_percent=percent_json(row.waste_used),
                memory_peak_so_far_bytes=row.memory,
            )
            for row in rows
        ],
    }
    return with_rest(wanted, (text, found), [("", results)], of=len(rows), money=money)
