"""The closing page of the cut book: yield and waste by glass, as bars and as figures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from panewright.io.book_sheet import EDGE, FOOTER
from panewright.io.numbers_text import kilograms, said_metres
from panewright.io.pdf_page import HEAD, TEXT, WORD, Page, rise
from panewright.io.problems import shown
from panewright.io.waste_scene import per_cent, waste_scene
from panewright.nesting.figures import Figures, PlanFigures
from panewright.nesting.plan import Plan
from panewright.nesting.text import local_number, tr
from panewright.nesting.units import show_money

Draw = Callable[[Page], None]
GLASSES: Final = 6
"""Glasses on one page."""
_HEADS: Final = (
    "glass",
    "sheets",
    "sheet area m2",
    "yield",
    "net yield",
    "finished yield",
    "trim m2",
    "cullet m2",
    "offcuts m2",
    "scrap kg",
    "cuts",
    "cost",
)


def waste_pages(plan: Plan, figures: PlanFigures, size: tuple[int, int]) -> list[Draw]:
    """One page, or more where the plan has many glasses."""
    glasses = [glass for glass, found in figures.by_glass.items() if found.sheets]
    groups = [glasses[i : i + GLASSES] for i in range(0, len(glasses), GLASSES)] or [[]]
    return [partial(_page, plan, figures, group) for group in groups]


def _page(plan: Plan, figures: PlanFigures, glasses: Sequence[str], page: Page) -> None:
    wide, top = page.wide - 2 * EDGE, page.high - EDGE
    page.text(EDGE, top - rise(HEAD), tr("where the glass goes"), HEAD, bold=True)
    page.rule(EDGE, top - 6.2, EDGE + wide, top - 6.2, 0.6)
    rows = [(tr("all glass"), figures.total), *((shown(g, 40), figures.by_glass[g]) for g in glasses)]
    low = EDGE + FOOTER + 3 + 6.5 * len(rows)
    page.scene(waste_scene(plan, figures, glasses), (EDGE, low + 8, wide, top - low - 18), pen=0.9)
    y = low
    first, cell = wide * 0.16, wide * 0.84 / (len(_HEADS) - 1)
    for i, head in enumerate(_HEADS):
        x = EDGE if i == 0 else EDGE + first + i * cell - 1
        page.fitted(x, y, tr(head), TEXT, (first if i == 0 else cell) - 2, bold=True, across=float(i > 0))
    page.rule(EDGE, y - 1.6, EDGE + wide, y - 1.6, 0.3)
    for name, found in rows:
        y -= 6.5
        page.fitted(EDGE, y, name, WORD, first - 2, bold=True)
        for i, value in enumerate(_cells(found, plan.currency), start=1):
            page.fitted(EDGE + first + i * cell - 1, y, value, WORD, cell - 2, across=1.0)


def _cells(f: Figures, currency: str) -> list[str]:
    return [
        str(f.sheets),
        said_metres(f.sheet),
        per_cent(f.cut, f.sheet),
        per_cent(f.cut, f.sheet - f.offcut),
        per_cent(f.finished, f.sheet),
        said_metres(f.trim),
        said_metres(f.cullet),
        said_metres(f.offcut),
        local_number(kilograms(round(f.scrap_grams, -2))),
        str(f.cuts),
        show_money(f.cost, currency),
    ]
