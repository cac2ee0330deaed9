"""Delivery lists: cases and offcuts that came in, by the columns of a stock list and those of a delivery."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from panewright.io.problems import Problems, Severity
from panewright.io.row_cells import Cells
from panewright.io.stock_flaws import read_flaws_of, read_take
from panewright.io.stock_list import COLUMNS as STOCK_COLUMNS
from panewright.io.stock_list import MAX_ON_HAND, UNLIMITED, raw_sides, read_size
from panewright.io.store.items import OFFCUT, SHEET, Item
from panewright.io.store.receiving import Delivery, Refusal, list_mark
from panewright.io.store.words import NOTE, WORD, checked_number, checked_word
from panewright.io.table_reader import Column, Row, Table, read_table
from panewright.nesting.shop import Shop
from panewright.nesting.stock import ALL_SIDES
from panewright.nesting.text import tr
from panewright.nesting.units import mm, show

COLUMNS: Final = (
    *STOCK_COLUMNS,
    Column("case", ("case", "case number"), about="number of the case; empty: one is made up"),
    Column("supplier", ("supplier", "from"), about="who delivered it"),
    Column("place", ("place", "rack"), about="where it stands"),
    Column("measured", ("measured", "measured thickness"), number=True, about="thickness as measured"),
    Column("day", ("day", "received", "since"), about="day from which its age counts; empty: today"),
)
"""The columns of a delivery list: those of a stock list, then its own."""
REQUIRED: Final = (("kind",), ("glass",), ("width",), ("height",))
MOST_OFF: Final = mm(1)
"""A measured thickness that is further off the nominal one is another glass, or a slip of the pen."""


@dataclass(slots=True)
class Deliveries:
    """What lists or options say came in.

    Parameters
    ----------
    rows
        In the order of the lists.
    cells
        Of each: where its problems are told.
    marks
        Of each: what its list is known by; None for one given by options.
    """

    rows: list[Delivery]
    cells: list[Cells]
    marks: list[str | None]

    def refuse(self, refusals: Sequence[Refusal]) -> None:
        """Tell at their rows what the store refuses."""
        for one in refusals:
            cells = self.cells[one.index]
            if one.column:
                cells.bad(one.column, one.reason, one.remedy)
            else:
                cells.problems.add(cells.table.file, one.reason, one.remedy)


def read_deliveries(paths: Sequence[Path], shop: Shop, day: date, problems: Problems) -> Deliveries:
    """Read delivery lists; rows of sheets to buy are left out with a note.

    Parameters
    ----------
    paths
        CSV, XLSX, JSON or TOML files.
    shop
        Its glasses, default unit, date order.
    day
        Of the rows that give none.
    problems
        Collects every problem; with errors in it nothing is to be received.
    """
    out = Deliveries([], [], [])
    files: dict[str, str] = {}
    for path in paths:
        table = read_table(path, COLUMNS, REQUIRED, problems)
        if table is None:
            continue
        mine = []
        for row in table.rows:
            cells = Cells(table, row, shop, problems)
            one = delivery_of(cells, day, path.parent)
            if one is not None:
                mine.append(one)
                out.cells.append(cells)
        out.rows += mine
        mark = list_mark(mine)
        out.marks += [mark] * len(mine)
        if mine and mark in files:
            problems.add(
                table.file, tr("it says the same as {file}", file=files[mark]), tr("give one of them")
            )
        files.setdefault(mark, table.file)
    _once_each(out)
    return out


def _once_each(found: Deliveries) -> None:
    """A number that stands in two rows."""
    first: dict[str, Cells] = {}
    for one, cells in zip(found.rows, found.cells, strict=True):
        name = one.item.name
        if name and name in first:
            cells.bad(
                "number" if one.item.is_offcut else "case",
                tr("{name} stands in row {row} already", name=name, row=first[name].row.number),
                tr("give every case and offcut a number of its own"),
            )
        first.setdefault(name, cells)


class OptionCells(Cells):
    """The options of a command line, read like the cells of a row.

    Parameters
    ----------
    given
        Column name -> text; empty ones are left out.
    names
        Column name -> option, for messages.
    shop, problems
        As for `Cells`.
    """

    def __init__(
        self, given: Mapping[str, str], names: Mapping[str, str], shop: Shop, problems: Problems
    ) -> None:
        filled = {name: text.strip() for name, text in given.items() if text.strip()}
        table = Table(tr("command line"), columns=dict(names))
        super().__init__(table, Row(0, filled), shop, problems)

    def _add(self, severity: Severity, name: str, reason: str, remedy: str, value: str | None) -> None:
        self.problems.add(
            self.table.file,
            reason,
            remedy,
            column=self.table.header(name),
            value=self.text(name) if value is None else value,
            severity=severity,
        )


def delivery_of(cells: Cells, day: date, folder: Path = Path()) -> Delivery | None:
    """What a row says came in; None where it is wrong, or nothing came. Drawings of flaws are in the folder."""
    cells.read_unit()
    kind = cells.text("kind").lower()
    if kind not in (SHEET, OFFCUT):
        cells.bad("kind", tr("this is neither sheet nor offcut"), tr("write sheet or offcut"))
    is_offcut = kind == OFFCUT
    if not is_offcut and _only_to_buy(cells):
        return None
    glass = cells.glass()
    width, height = read_size(cells, is_offcut=is_offcut)
    flaws = read_flaws_of(cells, width or 0, height or 0, folder, cells.problems) if width and height else ()
    take = read_take(cells)
    count = _count(cells, is_offcut, bool(flaws))
    name = _number(cells, is_offcut, bool(flaws))
    raw = raw_sides(cells) if is_offcut else ALL_SIDES
    if not is_offcut and cells.text("raw sides").lower() not in ("", "all"):
        cells.bad("raw sides", tr("all sides of a sheet are raw"), tr("write all, or call it an offcut"))
    price = cells.money("price") if cells.text("price") and not is_offcut else None
    if is_offcut and cells.text("price"):
        cells.note("price", tr("an offcut has none of its own; it is left out"))
    since = cells.day("day") or day
    measured = None if glass is None else _measured(cells, glass[1])
    supplier, place = _word(cells, "supplier", WORD), _word(cells, "place", WORD)
    note = _word(cells, "note", NOTE)
    if glass is None or width is None or height is None or count is None or not cells.fine:
        return None
    trim = cells.shop.trim(glass[0]).on(raw)
    if min(width - trim.left - trim.right, height - trim.bottom - trim.top) <= 0:
        cells.bad("width", tr("the trim leaves nothing of it"), tr("correct the size or the trim"))
        return None
    new = Item(
        kind=kind,
        name=name,
        glass=glass[0],
        width=width,
        height=height,
        raw=raw,
        price=price,
        supplier=supplier,
        place=place,
        note=note,
        measured=measured,
        since=since,
        flaws=flaws,
        take=take,
    )
    return Delivery(item=new, count=count)


def _only_to_buy(cells: Cells) -> bool:
    """Whether a row of a stock list says only that such sheets can be bought."""
    text = cells.text("on hand").lower()
    if text not in UNLIMITED and text != "0":
        return False
    cells.note("on hand", tr("none of it came; the row is left out"))
    return True


def _offcut_count(cells: Cells) -> int | None:
    if cells.text("on hand") in ("", "1"):
        return 1
    cells.bad(
        "on hand",
        tr("an offcut is one piece"),
        tr("write 1, and give every other piece a row and a number of its own"),
    )
    return None


def _count(cells: Cells, is_offcut: bool, is_flawed: bool) -> int | None:
    if is_offcut:
        return _offcut_count(cells)
    if is_flawed and cells.text("on hand") not in ("", "1"):
        cells.bad(
            "on hand",
            tr("a sheet with flaws is one piece"),
            tr("write 1, and give every other sheet a row of its own"),
        )
        return None
    return 1 if is_flawed else cells.whole("on hand", 1, MAX_ON_HAND)


def _number(cells: Cells, is_offcut: bool, is_flawed: bool) -> str:
    mine, other = ("number", "case") if is_offcut else ("case", "number")
    if is_flawed and not is_offcut and cells.text("number") and not cells.text("case"):
        mine, other = "number", "case"
    if cells.text(other):
        if is_offcut:
            cells.bad(other, tr("an offcut is in no case"), tr("give its number in the column number"))
        else:
            cells.bad(other, tr("a sheet has no number"), tr("give the number of its case"))
    name = _checked(cells, mine, lambda: checked_number(cells.text(mine)))
    if is_offcut and not name and not cells.text(mine):
        cells.bad(mine, tr("the cell is empty"), tr("fill it in"))
    return name


def _measured(cells: Cells, nominal: int) -> int | None:
    if not cells.text("measured"):
        return None
    found = cells.length("measured")
    if found is not None and abs(found - nominal) > MOST_OFF:
        cells.bad(
            "measured",
            tr("{measured} is far off {nominal}", measured=show(found), nominal=show(nominal)),
            tr("correct it, or the glass"),
        )
    return found


def _word(cells: Cells, name: str, longest: int) -> str:
    return _checked(cells, name, lambda: checked_word(cells.text(name), longest))


def _checked(cells: Cells, name: str, read: Callable[[], str]) -> str:
    return cells.attempt(name, read) or ""
