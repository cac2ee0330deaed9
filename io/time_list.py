"""Lists of timed cuts, from which a shop gets its own rates."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column, read_table
from panewright.nesting.plan import Plan
from panewright.nesting.sequencing.calibrate import LEAST_CUTS, Timed
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr

COLUMNS: Final = (
    Column("sheet", ("sheet",), number=True, about="number of the sheet in the plan"),
    Column("step", ("step",), number=True, about="number of the step on it"),
    Column(
        "seconds", ("seconds",), number=True, about="from the end of the step before to the end of this one"
    ),
    Column("note", ("note", "notes"), about="free text"),
)
"""The columns of a list of timed cuts, the proper word first."""
REQUIRED: Final = (("sheet",), ("step",), ("seconds",))
LONGEST: Final = 3600


def read_times(path: Path, plan: Plan, shop: Shop, problems: Problems) -> list[Timed]:
    """Read a list of timed cuts of a plan.

    Parameters
    ----------
    path
        A CSV or XLSX file.
    plan
        Whose sheets and steps are timed.
    shop
        For the units of the reader.
    problems
        Collects every problem, a sheet or step that the plan does not have too.
    """
    table = read_table(path, COLUMNS, REQUIRED, problems)
    if table is None:
        return []
    cuts = {layout.number: len(layout.cuts) for layout in plan.layouts}
    out: list[Timed] = []
    seen: set[tuple[int, int]] = set()
    for row in table.rows:
        cells = Cells(table, row, shop, problems)
        sheet, step = cells.whole("sheet", 1, 10**6), cells.whole("step", 1, 10**6)
        seconds = cells.whole("seconds", 1, LONGEST)
        if sheet is None or step is None or seconds is None:
            continue
        if sheet not in cuts:
            cells.bad("sheet", tr("plan {plan} has no such sheet", plan=plan.id), tr("correct it"))
        elif step > cuts[sheet]:
            count = cuts[sheet]
            cells.bad("step", tr("the sheet has {count} steps", count=count), tr("correct it"))
        elif (sheet, step) in seen:
            cells.bad("step", tr("this step is timed twice"), tr("leave one of them out"))
        else:
            seen.add((sheet, step))
            out.append(Timed(sheet, step, 1000 * seconds))
    if len(out) < LEAST_CUTS and not problems:
        problems.add(
            str(path),
            tr("there are {count} timed cuts", count=len(out)),
            tr("time {least} at least, narrow strips and whole sheets among them", least=LEAST_CUTS),
        )
    return out
