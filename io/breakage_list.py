"""Lists of breakage counts: work done and panels broken, by step, glass and size class."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from panewright.io.lengths import parse_decimal
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column, Row, Table, read_table
from panewright.nesting.breakage.counts import Worked, added_up
from panewright.nesting.breakage.size_class import SizeClass
from panewright.nesting.happened import AtStep
from panewright.nesting.shop import Shop
from panewright.nesting.text import local_number, tr
from panewright.nesting.units import NM2_PER_M2

COLUMNS: Final = (
    Column("step", ("step", "at step", "work"), about="scoring, breaking, edging, drilling or handling"),
    Column("glass", ("glass", "kind", "glass kind"), about="as in clear-10; empty where it is not known"),
    Column("thickness", ("thickness", "thick", "t"), number=True, about="in mm, or an inch name"),
    Column("size", ("size", "size class"), about="small, medium or large; empty where it is not known"),
    Column("done", ("done", "worked", "pieces"), about="panels that the step was begun on"),
    Column("broken", ("broken", "breakage"), about="those of them that broke at it"),
    Column("area", ("area", "m2"), number=True, about="their glass in m2, where it is known"),
    Column("note", ("note", "notes", "remark", "remarks"), about="free text"),
)
"""The columns of a list of counts and the header words that mean them, the proper word first."""
REQUIRED: Final = (("step",), ("done",), ("broken",))
MOST_DONE: Final = 10_000_000
GREATEST_PIECE: Final = 20
"""More glass a panel than the largest sheet has is a slip. [m2]"""
_STEPS: Final = {step.value: step for step in AtStep}
_SIZES: Final = {size.value: size for size in SizeClass}


def read_breakage_list(path: Path, shop: Shop, problems: Problems) -> tuple[Worked, ...]:
    """Read a list of counts; rows of the same step, glass and size add up.

    Parameters
    ----------
    path
        A CSV, XLSX, JSON or TOML file.
    shop
        Its glasses.
    problems
        Collects every problem; with errors in it the counts are not complete.
    """
    table = read_table(path, COLUMNS, REQUIRED, problems)
    rows = [] if table is None else [_worked(table, row, shop, problems) for row in table.rows]
    return added_up(one for one in rows if one is not None)


def _worked(table: Table, row: Row, shop: Shop, problems: Problems) -> Worked | None:
    cells = Cells(table, row, shop, problems)
    step = cells.word("step", {"": None, **_STEPS}, None)
    if cells.fine and step is None:
        cells.bad("step", tr("the cell is empty"), tr("fill it in"))
    size = cells.word("size", _SIZES, None)
    glass = cells.glass() if cells.text("glass") else ("", 0)
    if size is not None and not cells.text("glass"):
        cells.bad(
            "size", tr("a size counts for one glass alone"), tr("name the glass, or leave the size empty")
        )
    done, broken = cells.whole("done", 0, MOST_DONE), cells.whole("broken", 0, MOST_DONE)
    if done is not None and broken is not None and broken > done:
        cells.bad("broken", tr("more broke than were worked"), tr("count the broken ones among those done"))
    area2 = _area2(cells, table, done)
    if not cells.fine or step is None or glass is None or done is None or broken is None:
        return None
    return Worked(step=step, glass=glass[0], size=size, done=done, broken=broken, area2=area2)


def _area2(cells: Cells, table: Table, done: int | None) -> int:
    """Twice the area of the cell, 0 where it is empty. [nm2]"""
    if not cells.text("area"):
        return 0
    area = cells.attempt("area", lambda: parse_decimal(cells.text("area"), table.decimal))
    if area is None:
        return 0
    if area < 0 or (done is not None and area > GREATEST_PIECE * done):
        cells.bad(
            "area",
            tr("this is no glass from 0 to {most} m2 a panel", most=local_number(str(GREATEST_PIECE))),
            tr("give the glass of all of them in m2"),
        )
    return round(2 * NM2_PER_M2 * area)
