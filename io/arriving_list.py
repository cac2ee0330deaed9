"""Lists of what is on order: sheets that were bought and have not come yet."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.sized_rows import left_out_as_too_large, read_sized
from panewright.io.table_reader import Column, read_table
from panewright.nesting.buying.settings import Arriving
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr

COLUMNS: Final = (
    Column("glass", ("glass", "glass kind"), about="kind, or kind and thickness as in clear-10"),
    Column("thickness", ("thickness", "thick", "t"), number=True, about="in mm, or an inch name"),
    Column("width", ("width", "w"), number=True, about="nominal width"),
    Column("height", ("height", "h"), number=True, about="nominal height"),
    Column("sheets", ("sheets", "quantity", "count"), about="how many are still to come"),
    Column("day", ("day", "promised", "comes"), about="day on which they are promised"),
    Column("supplier", ("supplier", "from"), about="who sends them; may be empty"),
    Column("price", ("price", "price a sheet"), number=True, about="price of one sheet; may be empty"),
    Column("ordered", ("ordered", "ordered on"), about="day on which they were ordered; empty: today"),
    Column("unit", ("unit", "units"), about="unit of the bare numbers of this row: mm or in"),
    Column("note", ("note", "notes", "remark", "remarks"), about="free text"),
)
"""The columns of a list of what is on order and the header words that mean them, the proper word first."""
REQUIRED: Final = (("glass",), ("width",), ("height",), ("sheets",), ("day",))
MOST_SHEETS: Final = 100_000


def read_arriving(path: Path, shop: Shop, problems: Problems) -> list[Arriving]:
    """Read a list of what is on order.

    Parameters
    ----------
    path
        A CSV, XLSX, JSON or TOML file.
    shop
        Glasses, stock sizes, default unit and date order.
    problems
        Collects every problem; with errors in it the list is not complete.

    Returns
    -------
    list of Arriving
        In the order of the rows; sizes too large for the tables are left out.
    """
    table = read_table(path, COLUMNS, REQUIRED, problems)
    if table is None:
        return []
    found = []
    for row in table.rows:
        cells = Cells(table, row, shop, problems)
        sized = read_sized(cells)
        sheets = cells.whole("sheets", 1, MOST_SHEETS)
        day = cells.day("day")
        if not cells.text("day"):
            cells.bad("day", tr("the cell is empty"), tr("fill in the day on which they are promised"))
        if sized is None or sheets is None or day is None or not cells.fine:
            continue
        if not left_out_as_too_large(cells, sized.size):
            found.append(Arriving(name=sized.size.name, sheets=sheets, day=day))
    return found
