"""What a run of the planner has to say in the end: stock to pull and buy, glasses, waste, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from panewright.io.blank_words import blank_words
from panewright.io.mark_words import mark_warnings
from panewright.io.numbers_text import kilograms, said_metres
from panewright.io.plan_file import figures_json
from panewright.io.problems import shown
from panewright.io.rack_words import racks_json
from panewright.nesting.figures import PlanFigures, figures_of, thickness_of
from panewright.nesting.flaw_parts import worth_keeping
from panewright.nesting.glass import mass_grams
from panewright.nesting.late import late_of, order_of
from panewright.nesting.outlines import box, is_rectangle
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.sequence import general_cautions
from panewright.nesting.shop_table import Lifts
from panewright.nesting.spots import flaws_of
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import show


@dataclass(frozen=True, slots=True)
class StockTaken:
    """How many sheets of one stock size, or which offcut, come from the rack or must be bought."""

    glass: str
    stock: str
    is_offcut: bool
    buy: bool
    count: int
    grams: int
    """Mass of one. [g]"""


def stock_taken(plan: Plan) -> list[StockTaken]:
    """Everything that the plan takes, by glass and name; offcuts after sheets."""
    counts: dict[tuple[str, bool, str, bool, int], int] = {}
    for layout in plan.layouts:
        grams = mass_grams(2 * layout.width * layout.height, thickness_of(plan, layout.glass))
        key = (layout.glass, layout.is_offcut, layout.stock, layout.buy, grams)
        counts[key] = counts.get(key, 0) + 1
    return [
        StockTaken(glass=glass, stock=stock, is_offcut=is_offcut, buy=buy, count=count, grams=grams)
        for (glass, is_offcut, stock, buy, grams), count in sorted(counts.items())
    ]


def large_cullet(plan: Plan) -> tuple[int, int]:
    """How many rectangles the plan throws away that the rules call worth keeping, and twice their area. [nm2]"""
    sizes = []
    for layout in plan.layouts:
        flaws, rules = flaws_of(layout), plan.rules[layout.glass]
        for leaf in layout.leaves:
            if leaf.kind is not LeafKind.CULLET or not is_rectangle(leaf.outline):
                continue
            if worth_keeping(leaf.outline, flaws, rules):
                x0, y0, x1, y1 = box(leaf.outline)
                sizes.append((x1 - x0) * (y1 - y0))
    return len(sizes), 2 * sum(sizes)


def plan_warnings(plan: Plan) -> list[str]:
    """What a plan says of its tanks under the key ``warnings``: too thin glass above all."""
    found = plan.extra.get("warnings")
    lines = [line for line in found if isinstance(line, str)] if isinstance(found, list | tuple) else []
    return [tr("WARNING: {text}", text=tr(shown(line, 300))) for line in lines]


def cautions(plan: Plan, lifts: Lifts) -> list[str]:
    """What whoever cuts this plan has to mind, the same points at the end of every run."""
    lines = [*plan_warnings(plan), *mark_warnings(plan), *blank_words(plan), *general_cautions()]
    taken = stock_taken(plan)
    for least, most, how in (
        (lifts.two_grams, None, tr("suction lifter or crane")),
        (lifts.one_grams, lifts.two_grams, tr("two persons")),
    ):
        heavy = [t for t in taken if t.grams > least and (most is None or t.grams <= most)]
        if heavy:
            lines.append(
                tr_count(
                    "Over {limit} kg, {how}: {count} sheet of {kg} kg.",
                    "Over {limit} kg, {how}: {count} sheets, the heaviest {kg} kg.",
                    sum(t.count for t in heavy),
                    limit=local_number(kilograms(least)),
                    how=how,
                    kg=-(-max(t.grams for t in heavy) // 1000),
                )
            )
    placed = {leaf.panel for layout in plan.layouts for leaf in layout.leaves if leaf.panel}
    panels = [p for p in plan.panels if p.id in placed and p.mass_grams > lifts.one_grams]
    if panels:
        lines.append(
            tr(
                "Panels of more than {limit} kg: {count}, the heaviest {kg} kg.",
                count=len(panels),
                limit=local_number(kilograms(lifts.one_grams)),
                kg=-(-max(p.mass_grams for p in panels) // 1000),
            )
        )
    lines.append(
        tr(
            "Glass longer than {length} is carried by two persons, whatever its mass.",
            length=show(lifts.one_length),
        )
    )
    count, twice = large_cullet(plan)
    if count:
        lines.append(
            tr(
                "Pieces of cullet as large as an offcut worth keeping: {count}, {area} m2. The shop file says "
                "how many offcuts one plan may leave (a_plan).",
                count=count,
                area=said_metres(twice),
            )
        )
    lines.append(
        tr(
            "A plan does not check the thickness of the glass; `panewright panels` does for tanks, as a planning aid."
        )
    )
    lines.append(tr("Local rules and qualified persons decide, not this program."))
    return lines


def summary_json(
    plan: Plan,
    *,
    lifts: Lifts,
    folder: str,
    files: Sequence[str],
    exit_code: int,
    notes: Sequence[str],
    figures: PlanFigures | None = None,
) -> dict[str, Any]:
    """The summary for programs (write it with `numbers_text.spread`)."""
    figures = figures or figures_of(plan)
    return {
        "plan": plan.id,
        "exit_code": exit_code,
        "out": folder,
        "files": list(files),
        "seed": plan.seed,
        "effort": plan.effort,
        "currency": plan.currency,
        "stock": [
            {
                "glass": t.glass,
                "stock": t.stock,
                "is_offcut": t.is_offcut,
                "source": "buy" if t.buy else "rack",
                "count": t.count,
                "mass_kg": kilograms(t.grams),
            }
            for t in stock_taken(plan)
        ],
        "figures": figures_json(plan, figures),
        "unplaced": [{"panel": u.panel, "rule": u.rule, "reason": u.reason} for u in plan.unplaced],
        "late": [late.row() for late in late_of(plan)],
        "due_order": [row.row() for row in order_of(plan) or ()],
        **racks_json(plan),
        "cautions": cautions(plan, lifts),
        "notes": list(notes),
    }
