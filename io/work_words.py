"""What a sequence asks of the table, in words and as a table: counts, mass moved, modelled minutes."""

from __future__ import annotations

from panewright.io.csv_text import csv_text
from panewright.io.numbers_text import Raw, decimal
from panewright.io.step_words import habit_words
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.sequence import LIFTS, steps_of
from panewright.nesting.sequencing.counts import Counts, counts_of
from panewright.nesting.shop_table import Habit, Lifts, Rates
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import current_style, show

RATES = Rates()
METRE = 10**9


def habit_of_sheet(plan: Plan, layout: Layout) -> Habit:
    """How a sheet of a plan is cut."""
    return Habit(layout.habit or plan.habit)


def sheet_work(plan: Plan, layout: Layout, *, lifts: Lifts = LIFTS, rates: Rates = RATES) -> Counts:
    """The counts of one sheet; raises CutFault where its cuts cannot be made."""
    return counts_of(steps_of(plan, layout, lifts=lifts), habit_of_sheet(plan, layout), rates)


def plan_work(plan: Plan, *, lifts: Lifts = LIFTS, rates: Rates = RATES) -> Counts:
    """The counts of all sheets together."""
    return sum((sheet_work(plan, x, lifts=lifts, rates=rates) for x in plan.layouts), Counts())


def minutes(counts: Counts) -> int:
    """Modelled time, rounded up to whole minutes."""
    return -(-counts.milliseconds // 60_000)


def work_words(counts: Counts) -> str:
    """One line: only what there is any of."""
    said = [
        tr_count("{count} score and break", "{count} scores and breaks", counts.cuts),
        tr("{metres} m of score", metres=local_number(decimal(counts.score // (METRE // 10), 1))),
        tr_count("{count} turn", "{count} turns", counts.turns) if counts.turns else "",
        tr_count("{count} piece taken up again", "{count} pieces taken up again", counts.grips)
        if counts.grips
        else "",
        tr_count(
            "stop set {count} time ({measures} measures)",
            "stop set {count} times ({measures} measures)",
            counts.settings,
            measures=counts.measures,
        )
        if counts.settings
        else "",
        tr_count("{count} placement", "{count} placements", counts.placements) if counts.placements else "",
        tr_count("{count} mark", "{count} marks", counts.marks) if counts.marks else "",
        tr("{kg} kg x moves", kg=counts.gram_moves // 1000),
        tr_count("{count} change of direction", "{count} changes of direction", counts.changes)
        if counts.changes
        else "",
        tr_count("at most {count} piece waiting", "at most {count} pieces waiting", counts.waiting)
        if counts.waiting
        else "",
        tr("about {minutes} min", minutes=minutes(counts)),
    ]
    return ", ".join(one for one in said if one)


def work_json(counts: Counts) -> dict[str, int | Raw]:
    """The counts as keys of a JSON object."""
    return {
        "cuts": counts.cuts,
        "turns": counts.turns,
        "taken_up_again": counts.grips,
        "stop_settings": counts.settings,
        "different_measures": counts.measures,
        "marks": counts.marks,
        "placements": counts.placements,
        "kg_moves": decimal(counts.gram_moves, 3),
        "direction_changes": counts.changes,
        "far_breaks": counts.far,
        "hard_breaks": counts.hard,
        "waiting_at_most": counts.waiting,
        "score_m": decimal(counts.score, 9),
        "modelled_minutes": decimal(counts.milliseconds // 600, 2),
    }


def work_csv(plan: Plan, *, lifts: Lifts = LIFTS, rates: Rates = RATES) -> str:
    """The counts of every sheet as CSV text, a row a sheet."""
    header = ["plan", "sheet", "glass", "stock", "habit", "cuts", "turns", "re-grips", "stop settings"]
    header += ["different measures", "marks", "placements", "kg x moves", "direction changes", "far breaks"]
    header += ["hard breaks", "waiting at most", f"score [{current_style().unit}]", "modelled minutes"]
    rows: list[list[object]] = []
    for layout in plan.layouts:
        c = sheet_work(plan, layout, lifts=lifts, rates=rates)
        score = Raw(show(c.score, unit=False)) if current_style().unit == "mm" else show(c.score)
        rows.append(
            [
                plan.id,
                layout.number,
                layout.glass,
                layout.stock,
                habit_words(habit_of_sheet(plan, layout)),
                *(c.cuts, c.turns, c.grips, c.settings, c.measures, c.marks, c.placements),
                decimal(c.gram_moves, 3),
                *(c.changes, c.far, c.hard, c.waiting),
                score,
                decimal(c.milliseconds // 600, 2),
            ]
        )
    return csv_text(header, rows)
