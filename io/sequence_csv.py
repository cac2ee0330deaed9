"""The cut sequence as CSV: a row a step, for programs and spreadsheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from panewright.io import step_words as words
from panewright.io.csv_text import csv_text
from panewright.io.flaw_words import flaw_list
from panewright.io.mark_words import mark_words
from panewright.io.numbers_text import Raw, decimal
from panewright.nesting.plan import Layout, Plan
from panewright.nesting.sequence import LIFTS, general_cautions, steps_of
from panewright.nesting.shop_table import Lifts
from panewright.nesting.steps import Step
from panewright.nesting.text import tr
from panewright.nesting.units import current_style, show


def sequence_csv(plan: Plan, *, lifts: Lifts = LIFTS) -> str:
    """The sequence of all sheets as CSV text, a row a step; the first one of a sheet bears the cautions too.

    Lengths are in the unit of the shop, which stands in the header; inches bear their mark, so that
    no spreadsheet takes a fraction for a date.
    """
    unit = current_style().unit
    header = [
        "plan",
        "day",
        "sheet",
        "glass",
        "stock",
        "source",
        f"sheet width [{unit}]",
        f"sheet height [{unit}]",
        "sheet mass [kg]",
        "step",
        "in hand",
        "piece",
        f"piece width [{unit}]",
        f"piece height [{unit}]",
        "piece shape",
        "piece mass [kg]",
        "lift",
        "measure from",
        f"measure [{unit}]",
        "first mark",
        "second mark",
        "first mark at the table",
        "second mark at the table",
        f"measure at the table [{unit}]",
        f"score [{unit}]",
        "cut",
    ]
    for part in ("measured part", "other part"):
        header += [part, f"{part} is", f"{part} id", f"{part} width [{unit}]", f"{part} height [{unit}]"]
        header += [f"{part} short by [{unit}]", f"{part} over by [{unit}]"]
    header += ["placement", "measured in it from", f"marks of it [{unit}]", f"mark [{unit}]"]
    header += [f"mark, exact [{unit}]"]
    header += ["stop stays set", "turn", "take up", "waiting", "mind"]
    racks = any(panel.rack for panel in plan.panels)
    flaws = any(layout.flaws or layout.spots for layout in plan.layouts)
    if racks:
        header += [f"{part} {what}" for part in ("measured part", "other part") for what in ("rack", "slot")]
    if flaws:
        header += ["flaws"]
    rows = [
        _csv_row(plan, layout, step, () if i else general_cautions())
        + ([v for part in step.makes for v in (part.rack, part.slot or "")] if racks else [])
        + (["; ".join(flaw_list(layout)) if not i else ""] if flaws else [])
        for layout in plan.layouts
        for i, step in enumerate(steps_of(plan, layout, lifts=lifts))
    ]
    return csv_text(header, rows)


def _csv_row(plan: Plan, layout: Layout, step: Step, general: Sequence[str]) -> list[object]:
    marks = [mark_words(mark, exact=exact) for exact in (True, False) for mark in step.marks] or [""] * 4
    row: list[object] = [
        plan.id,
        layout.day.isoformat() if layout.day else "",
        layout.number,
        layout.glass,
        layout.stock,
        words.stock_words(layout),
        _number(layout.width),
        _number(layout.height),
        decimal(words.sheet_mass(plan, layout), 3),
        step.number,
        words.piece_words(step.piece),
        step.piece.name,
        _number(step.piece.width),
        _number(step.piece.height),
        tr("rectangle") if step.piece.is_rectangle else tr("angled"),
        decimal(step.piece.mass, 3),
        tr(step.lift.value),
        tr(step.edge.value) if step.edge else "",
        "" if step.distance is None else _number(step.distance),
        *marks,
        "" if step.table is None else _number(step.table),
        _number(step.score),
        words.kind_words(step),
    ]
    for result in step.makes:
        row += [
            tr(result.part.value),
            words.result_words(result, step.number),
            result.panel or result.offcut or "",
            _number(result.width),
            _number(result.height),
            _number(result.error.missing) if result.error else "",
            _number(result.error.extra) if result.error else "",
        ]
    placement = step.placement
    row += [
        placement.number if placement else "",
        tr(placement.edge.value) if placement else "",
        " | ".join(_number(mark) for mark in placement.marks) if placement and step.is_first else "",
        "" if step.mark is None else _number(step.mark),
        "" if step.mark is None or step.exact is None else _number(step.exact),
        tr("yes") if step.stays_set else "",
        tr("yes") if step.turns else "",
        tr("yes") if step.takes_up else "",
        len(step.waiting),
    ]
    return [*row, "; ".join([*(tr(caution.value) for caution in step.cautions), *general])]


def _number(length: int) -> str:
    style = replace(current_style(), is_local=False)
    return Raw(show(length, style, unit=False)) if style.unit == "mm" else show(length, style)
