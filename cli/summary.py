"""The end of a run on the screen: what to pull and buy, how good the plan is, what to mind, what to open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Final

from panewright.cli.racks import plan_tables
from panewright.cli.tables import table
from panewright.cli.unplaced import unplaced_rows
from panewright.io.numbers_text import kilograms, said_metres
from panewright.io.plan_summary import StockTaken, cautions, stock_taken
from panewright.io.problems import shown
from panewright.io.work_words import RATES, plan_work, work_words
from panewright.nesting.figures import PlanFigures
from panewright.nesting.late import DueOrder, Late, late_of, order_of, too_long
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import Plan
from panewright.nesting.shop_table import Lifts, Rates
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import show_money

SHOWN_LATE: Final = 30
"""Late panels told one by one; the plan file lists them all."""


def per_cent(value: Fraction | None) -> str:
    """A fraction as per cent with one decimal, rounded half up; None is a dash."""
    if value is None:
        return "-"
    tenths = (value * 2000 + 1) // 2
    return local_number(f"{tenths // 10}.{tenths % 10} %")


def gap_text(value: Fraction | None) -> str:
    """A gap as per cent, rounded up, so that 0.0 % means none."""
    if value is None:
        return "-"
    tenths = -(-value * 1000 // 1)
    return local_number(f"{tenths // 10}.{tenths % 10} %")


def _stock(title: str, taken: Sequence[StockTaken]) -> str:
    return table(
        title,
        [tr("glass"), tr("stock"), tr("pieces"), tr("kg each")],
        [[t.glass, t.stock, str(t.count), local_number(f"{-(-t.grams // 100) / 10:.1f}")] for t in taken],
        left=2,
    )


def glasses_table(plan: Plan, figures: PlanFigures) -> str:
    """Cost, bound, gap, status and yield of every glass."""
    rows = []
    for glass, f in figures.by_glass.items():
        outcome = plan.outcomes.get(glass)
        if outcome is None:
            continue
        rows.append(
            [
                glass,
                str(f.sheets),
                show_money(f.cost),
                show_money(outcome.bound.cost),
                gap_text(figures.gaps[glass]),
                tr("optimal") if outcome.optimal else tr("feasible ({why})", why=tr(outcome.stopped_by)),
                per_cent(f.gross_yield),
                per_cent(f.net_yield),
                str(f.offcuts),
            ]
        )
    return table(
        tr("By glass, money in {currency}", currency=plan.currency),
        [
            tr("glass"),
            tr("sheets"),
            tr("cost"),
            tr("bound"),
            tr("gap"),
            tr("status"),
            tr("yield"),
            tr("net yield"),
            tr("offcuts kept"),
        ],
        rows,
    )


def _waste(figures: PlanFigures) -> str:
    f = figures.total
    return tr(
        "Waste: trim {trim} m2, cullet {cullet} m2, together {mass} kg of scrap; offcuts kept {offcut} m2;"
        " {sheet} m2 of glass taken, {cut} m2 of it panels.",
        trim=said_metres(f.trim),
        cullet=said_metres(f.cullet),
        mass=local_number(kilograms(f.scrap_grams)),
        offcut=said_metres(f.offcut),
        sheet=said_metres(f.sheet),
        cut=said_metres(f.cut + f.spare + f.filler),
    )


def _fillers(plan: Plan, figures: PlanFigures) -> str:
    names = Counter(p.name for p in plan.panels if p.purpose is Purpose.FILLER)
    return tr(
        "Fillers cut from waste, not in the yield: {pieces}; {area} m2.",
        pieces=", ".join(f"{n} x {shown(name, 60)}" for name, n in sorted(names.items())),
        area=said_metres(figures.total.filler),
    )


def _late(late: Sequence[Late]) -> str:
    return table(
        tr("Late"),
        [tr("panel"), tr("due"), tr("cut on")],
        [[shown(x.panel, 160), x.due.isoformat(), x.day.isoformat()] for x in late[:SHOWN_LATE]]
        + (
            [[tr("and {count} more", count=len(late) - SHOWN_LATE), "", ""]] if len(late) > SHOWN_LATE else []
        ),
        left=3,
    )


def _not_held(rows: Sequence[DueOrder]) -> str:
    return table(
        tr("Due days that do not come first"),
        [tr("glass"), tr("due"), tr("on the first sheets"), tr("alone it takes")],
        [[x.glass, x.due.isoformat(), str(x.sheets), str(x.alone)] for x in rows],
        left=2,
    )


def _too_long(plan: Plan) -> str:
    """The sheets that take longer than the table has on a day; nothing where there is none."""
    numbers = too_long(plan)
    if not numbers:
        return ""
    return tr(
        "Sheets that take longer than the table has on a day, each with a day of its own: {numbers}.",
        numbers=", ".join(map(str, numbers)),
    )


def _order(plan: Plan) -> str:
    """What is to be said of the order of due days; nothing where it is held."""
    stated = order_of(plan)
    if stated is None:
        return ""
    missed = [row for row in stated if not row.held]
    if missed:
        return _not_held(missed)
    days = {(p.glass, p.due) for p in plan.panels if p.purpose is Purpose.ORDER}
    unknown = {g for g, _ in days if sum(glass == g for glass, _ in days) > 1} - {row.glass for row in stated}
    if not unknown:
        return ""
    return tr(
        "The search ended before it saw to the due days of {glasses}: the sheets are in the order of what is due"
        " first on them, and nothing more.",
        glasses=", ".join(sorted(unknown)),
    )


def _unplaced(plan: Plan) -> str:
    rows = unplaced_rows(plan.unplaced, {p.id: p.due for p in plan.panels})
    return table(
        tr("Unplaced"),
        [tr("panel"), tr("due"), tr("pieces"), tr("rule"), tr("reason")],
        [
            [row.label, row.due.isoformat() if row.due else "-", str(row.pieces), tr(row.rule), row.reason]
            for row in rows
        ],
        left=5,
        wrap=True,
    )


def summary_text(
    plan: Plan,
    figures: PlanFigures,
    *,
    lifts: Lifts,
    folder: Path,
    next_steps: Sequence[str],
    rates: Rates = RATES,
) -> str:
    """The whole summary.

    Parameters
    ----------
    plan, figures
        The plan and its figures.
    lifts
        Limits for lifting by hand.
    folder
        Where it was written.
    next_steps
        What to open, one line each.
    rates
        Of the table, for the modelled time.
    """
    taken = stock_taken(plan)
    ordered = [p for p in plan.panels if p.purpose is Purpose.ORDER]
    parts = [
        tr_count(
            "Plan {id}: {placed} of {all} panels on {count} sheet, cost {cost}.",
            "Plan {id}: {placed} of {all} panels on {count} sheets, cost {cost}.",
            figures.total.sheets,
            id=plan.id,
            placed=len(ordered) - len(plan.unplaced),
            all=len(ordered),
            cost=show_money(figures.total.cost, plan.currency),
        )
    ]
    pull, buy = [t for t in taken if not t.buy], [t for t in taken if t.buy]
    if pull:
        parts.append(_stock(tr("Pull from the rack"), pull))
    if buy:
        parts.append(_stock(tr("Buy"), buy))
    if plan.layouts:
        parts += [glasses_table(plan, figures), _waste(figures)]
        work = work_words(plan_work(plan, lifts=lifts, rates=rates))
        parts.append(tr("At the table: {work} (modelled by the times of the shop file).", work=work))
        if figures.total.filler:
            parts.append(_fillers(plan, figures))
    if late := late_of(plan):
        parts.append(_late(late))
    parts += [said for said in (_too_long(plan), _order(plan)) if said]
    parts += plan_tables(plan)
    if plan.unplaced:
        parts.append(_unplaced(plan))
    parts.append("\n".join([tr("Mind:"), *(f"  {line}" for line in cautions(plan, lifts))]))
    where = shown(folder, 300)
    parts.append("\n".join([tr("Written to {folder}. Next:", folder=where), *(f"  {s}" for s in next_steps)]))
    return "\n\n".join(part.strip("\n") for part in parts)
