"""The cut book: a PDF with a cover, the pages of every sheet, and a closing page of waste figures."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from functools import partial

from panewright.io.book_cover import cover_pages
from panewright.io.book_sheet import EDGE, SheetPages, sheet_pages
from panewright.io.book_waste import waste_pages
from panewright.io.pdf_page import FINE, Page, document
from panewright.io.problems import shown
from panewright.nesting.figures import PlanFigures, figures_of
from panewright.nesting.plan import Plan
from panewright.nesting.sequence import LIFTS, general_cautions
from panewright.nesting.shop_table import Lifts, Paper
from panewright.nesting.text import tr

Draw = Callable[[Page], None]


def book_name(plan: Plan) -> str:
    """Name of the file."""
    return f"cut-book-{plan.id}.pdf"


def book_bytes(
    plan: Plan,
    *,
    paper: Paper = Paper.A4,
    lifts: Lifts = LIFTS,
    sheets: Collection[int] | None = None,
    figures: PlanFigures | None = None,
    warnings: Sequence[str] = (),
) -> bytes:
    """The cut book of a plan.

    Parameters
    ----------
    plan
        The plan.
    paper
        Of the pages, which lie across.
    lifts
        What people lift by hand.
    sheets
        Only the sheets of these numbers; figures stay those of the plan.
    figures
        Of this plan, where they are known.
    warnings
        What stands first on the cover and at the foot of every page: that the plan does not pass its check.

    Raises
    ------
    CutFault
        When the cuts of the plan cannot be made as written.
    """
    figures = figures or figures_of(plan)
    high, wide = paper.size
    size = (wide, high)
    layouts = [layout for layout in plan.layouts if sheets is None or layout.number in sheets]
    pages: list[Draw] = [*cover_pages(plan, layouts, figures, lifts, size, warnings)]
    for layout in layouts:
        made = sheet_pages(plan, layout, size, lifts)
        pages += [partial(_sheet_page, made, index) for index in range(len(made.pages))]
    pages += waste_pages(plan, figures, size)
    total = len(pages)
    foot = " ".join([*warnings, *general_cautions()])
    numbered = [
        partial(_with_foot, draw, plan, number, total, foot) for number, draw in enumerate(pages, start=1)
    ]
    return document(
        tr("cut book of plan {plan}", plan=shown(plan.id, 20)),
        size,
        numbered,
        subject=tr("sheets, steps and figures for the cutting table"),
    )


def _sheet_page(made: SheetPages, index: int, page: Page) -> None:
    made.draw(page, index)


def _with_foot(draw: Draw, plan: Plan, number: int, total: int, foot: str, page: Page) -> None:
    """A page with the usual cautions, the plan and the page number at its foot."""
    draw(page)
    right = tr("plan {plan}, page {number} of {total}", plan=shown(plan.id, 20), number=number, total=total)
    wide = page.text(page.wide - EDGE, EDGE - 2.5, right, FINE, across=1.0)
    page.fitted(EDGE, EDGE - 2.5, foot, FINE, page.wide - 2 * EDGE - wide - 5, least=4.2)
