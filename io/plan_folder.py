"""All files of a plan, by name: plan file, cut sequence, waste figures, drawings."""

from __future__ import annotations

from pathlib import Path

from panewright.io.draw_outputs import Wishes, output_files
from panewright.io.drawings import drawing_files
from panewright.io.file_names import PLAN_FILE
from panewright.io.plan_file import dumps
from panewright.io.problems import shown
from panewright.io.rack_words import rack_files
from panewright.io.sequence_files import sequence_files
from panewright.io.waste_files import waste_files
from panewright.nesting.figures import PlanFigures
from panewright.nesting.plan import Plan
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr


def plan_files(
    plan: Plan, figures: PlanFigures, shop: Shop, *, panel_drawings: bool = True, printed: bool = False
) -> dict[str, str | bytes]:
    """Everything that a plan leaves in its folder, by file name.

    Parameters
    ----------
    plan, figures
        A plan that the checker has passed, and its figures.
    shop
        Limits for lifting.
    panel_drawings
        Draw every panel besides every sheet.
    printed
        Cut book, labels and the page for the table too.
    """
    return {
        PLAN_FILE: dumps(plan),
        **sequence_files(plan, lifts=shop.lifts, rates=shop.work.rates),
        **waste_files(plan, figures),
        **rack_files(plan),
        **dict(drawing_files(plan, panels=panel_drawings)),
        **(
            dict(output_files(plan, ("book", "labels", "page"), _wishes(shop)))
            if printed and plan.layouts
            else {}
        ),
    }


def _wishes(shop: Shop) -> Wishes:
    return Wishes(printing=shop.printing, lifts=shop.lifts)


def what_to_open(plan: Plan, folder: Path, *, printed: bool = False) -> list[str]:
    """What to do next with the folder, one line each."""
    if not plan.layouts:
        return [tr("{name}: the panels that could not be placed", name=PLAN_FILE)]
    return [
        *(
            [
                tr("cut-book-{id}.pdf, labels-{id}.pdf: to print, for the cutting table", id=plan.id),
                tr("table-page-{id}.html: step by step, on a tablet at the table", id=plan.id),
            ]
            if printed
            else []
        ),
        tr("sequence-{id}.txt: score by score, for the cutting table", id=plan.id),
        tr("{id}-sheet-...: every sheet as SVG (any browser) and DXF (CAD)", id=plan.id),
        tr("waste-glass-{id}.csv: yield, waste and cost", id=plan.id),
        *(
            [tr("racks-{id}.csv: rack by rack, what comes free when", id=plan.id)]
            if any(panel.rack for panel in plan.panels)
            else []
        ),
        tr("panewright check {path}", path=shown(folder / PLAN_FILE, 300)),
    ]
