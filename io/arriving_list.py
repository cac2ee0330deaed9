"""Lists of what is on order: sheets that were bought and have not come yet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.sized_rows import left_out_as_too_large, read_sized
from panewright.io.store.words import NOTE, WORD, checked_word
from panewright.io.supply_list import LEAD_DAYS, MOST_PRICE
from panewright.io.table_reader import Column, read_table
from panewright.nesting.buying.settings import Arriving
from panewright.nesting.shop import Shop, StockSize
from panewright.nesting.text import tr
from panewright.nesting.units import show_money

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
REQUIRED: Final = (("glass",), ("width",), ("height",), ("sheets",))
MOST_SHEETS: Final = 100_000
LONGEST: Final = timedelta(days=1000)
"""Sheets come within so many days, or a day is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class OnOrder:
    """A row: sheets of one size that are on order.

    Parameters
    ----------
    size
        The stock size.
    lead_days
        Days until sheets of it are here, by the shop file.
    sheets
        How many are to come.
    day, ordered
        Day on which they are promised, and on which they were ordered; None where the row does not say.
    supplier, note
        May be empty.
    price
        Of one sheet, or None. [1/10,000 of the currency]
    """

    size: StockSize
    lead_days: int
    sheets: int
    day: date | None
    ordered: date | None
    supplier: str
    price: int | None
    note: str


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
    found = []
    for cells, one in read_on_order(path, shop, problems):
        if one.day is None:
            cells.bad("day", tr("the cell is empty"), tr("fill in the day on which they are promised"))
        elif not left_out_as_too_large(cells, one.size):
            found.append(Arriving(name=one.size.name, sheets=one.sheets, day=one.day))
    return found


def read_on_order(path: Path, shop: Shop, problems: Problems) -> list[tuple[Cells, OnOrder]]:
    """The rows of a list of what is on order, with their cells, to tell more of them (see `read_arriving`)."""
    table = read_table(path, COLUMNS, REQUIRED, problems)
    if table is None:
        return []
    if not table.rows:
        problems.note(table.file, tr("the list has no rows"))
    rows = [Cells(table, row, shop, problems) for row in table.rows]
    return [(cells, one) for cells in rows if (one := on_order_of(cells)) is not None]


def on_order_of(cells: Cells) -> OnOrder | None:
    """What a row says is on order; None, with errors in its cells, where it is wrong."""
    sized = read_sized(cells)
    sheets = cells.whole("sheets", 1, MOST_SHEETS)
    day, ordered = cells.day("day"), cells.day("ordered")
    supplier = cells.attempt("supplier", lambda: checked_word(cells.text("supplier"), WORD))
    note = cells.attempt("note", lambda: checked_word(cells.text("note"), NOTE))
    price = cells.money("price") if cells.text("price") else None
    if price is not None and price > MOST_PRICE:
        cells.bad(
            "price", tr("this is more than {most}", most=show_money(MOST_PRICE)), tr("correct the amount")
        )
    if day is not None and ordered is not None and not ordered <= day <= ordered + LONGEST:
        cells.bad(
            "day",
            tr("sheets that were ordered on {day} cannot be promised for then", day=ordered.isoformat()),
            tr("correct one of the two days"),
        )
    if sized is None or sheets is None or supplier is None or note is None or not cells.fine:
        return None
    known = sized.known
    return OnOrder(
        size=sized.size,
        lead_days=LEAD_DAYS if known is None or known.lead_days is None else known.lead_days,
        sheets=sheets,
        day=day,
        ordered=ordered,
        supplier=cells.normal(supplier),
        price=price,
        note=note,
    )
