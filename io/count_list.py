"""The list of a stock-taking: written by place to be filled in, and read back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from panewright.io.csv_text import csv_text, plain_cell, safe_cell
from panewright.io.numbers_text import length
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.stock_list import MAX_ON_HAND
from panewright.io.store.items import Item
from panewright.io.store.words import checked_word
from panewright.io.table_reader import Column, read_table
from panewright.io.workbook_bytes import workbook_bytes
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr

COLUMNS: Final = (
    Column("place", ("place", "rack"), about="where it stands"),
    Column("number", ("number", "case", "case number", "offcut number"), about="of the case or offcut"),
    Column("kind", ("kind", "what"), about="sheet or offcut"),
    Column("glass", ("glass",), about="glass key"),
    Column("width", ("width (mm)", "width"), about="nominal width"),
    Column("height", ("height (mm)", "height"), about="nominal height"),
    Column("in the rack", ("in the rack", "in rack"), about="pieces, as the store says"),
    Column("counted", ("counted", "count"), about="pieces, as counted; empty: not counted"),
    Column("note", ("note", "notes"), about="free text"),
)
"""The columns of the list, the ones that are read being number, in the rack and counted."""
REQUIRED: Final = (("number",), ("counted",))


def count_list(items: Sequence[Item], path: Path) -> bytes | None:
    """The list to fill in, by place and number; None where the ending of the file is not known."""
    header = [column.words[0] for column in COLUMNS]
    rows: list[list[object]] = [
        [
            i.place,
            i.name,
            i.kind,
            i.glass,
            length(i.width),
            length(i.height),
            i.balance.on_hand,
            None,
            i.note,
        ]
        for i in sorted(items, key=lambda i: (i.place, i.is_offcut, i.name))
        # what is still to be cut cannot be counted
        if i.balance.on_hand
    ]
    if path.suffix.lower() == ".csv":
        return csv_text(header, rows).encode("utf-8")
    if path.suffix.lower() == ".xlsx":
        return _workbook(header, rows)
    return None


def _workbook(header: Sequence[str], rows: Sequence[Sequence[object]]) -> bytes:
    # a cell of text that begins like a formula would be one
    safe = [
        [cell if isinstance(cell, int) or cell is None else safe_cell(cell) for cell in row] for row in rows
    ]
    return workbook_bytes("count", header, safe, "A2")


class Counts:
    """Counted numbers by case and offcut, from texts and lists.

    Parameters
    ----------
    problems
        Collects what is wrong with them.
    """

    def __init__(self, problems: Problems) -> None:
        self.problems = problems
        self.counted: dict[str, int] = {}
        self.listed: dict[str, int] = {}
        """What the store said when the list was written."""
        self.left_out = 0
        """Rows without a count."""
        self.cells: dict[str, Cells] = {}

    def read_list(self, path: Path, shop: Shop) -> None:
        """Read a list that was filled in."""
        table = read_table(path, COLUMNS, REQUIRED, self.problems)
        if table is None:
            return
        for row in table.rows:
            cells = Cells(table, row, shop, self.problems)
            name = self._number(cells)
            if not cells.text("counted"):
                self.left_out += 1
                continue
            count = cells.whole("counted", 0, MAX_ON_HAND)
            if not name or count is None:
                continue
            if name in self.counted:
                cells.bad(
                    "number", tr("{name} was counted twice", name=name), tr("add the counts up in one row")
                )
                continue
            self.counted[name] = count
            self.cells[name] = cells
            if cells.text("in the rack").isdecimal():
                self.listed[name] = int(cells.text("in the rack")[:9])

    @staticmethod
    def _number(cells: Cells) -> str:
        text = plain_cell(cells.text("number"))
        name = cells.attempt("number", lambda: checked_word(text, 80))
        if name == "":
            cells.bad("number", tr("the cell is empty"), tr("fill it in"))
        return name or ""
