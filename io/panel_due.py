"""The due day of a row of a panel list: given itself, or from the day on which the customer wants it."""

from __future__ import annotations

from datetime import date
from typing import Final

from panewright.io.row_cells import Cells
from panewright.nesting.lead_days import due_from_wanted, lead_of
from panewright.nesting.text import tr

FIRST_YEAR: Final = 2000


def read_due(cells: Cells, *, drilled: bool) -> date | None:
    """The day on which the panel of a row must be cut, or None where the row names none.

    Parameters
    ----------
    cells
        The row.
    drilled
        Whether it has holes or cut-outs.
    """
    due, wanted = cells.day("due"), cells.day("wanted")
    if cells.text("due") and cells.text("wanted"):
        cells.bad(
            "wanted",
            tr("the row gives a wanted day and a due day"),
            tr("give one of them: the due day follows from the wanted one by the lead days of the shop file"),
        )
        return due
    if wanted is None:
        return due
    found = due_from_wanted(wanted, cells.shop.lead_days, cells.shop.cutting_days, drilled=drilled)
    if found.year < FIRST_YEAR:
        cells.bad(
            "wanted",
            tr(
                "it would have to be cut on {day}, {count} working days before",
                day=found.isoformat(),
                count=lead_of(cells.shop.lead_days, drilled=drilled),
            ),
            tr("correct the day, or the lead days of the shop file"),
        )
        return None
    return found
