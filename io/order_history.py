"""Order histories: lists of what was ordered and cut, in the very format of order lists, for the forecast.

Rows of years are read without the thickness check, and what equal rows hold is made once.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Final

from panewright.io.history_days import Days, read_days, tell_of_days
from panewright.io.order_booked import HISTORY_COLUMNS, read_booked
from panewright.io.order_lists import CELL_OF, COLUMNS, order_table, single_of
from panewright.io.panel_list import MAX_QUANTITY
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.io.table_reader import Row, Table
from panewright.io.tank_list import MOST_TANKS, tank_of
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.products import product_of
from panewright.nesting.panels import Panel
from panewright.nesting.shop import Shop
from panewright.nesting.tanks.build import panels_of
from panewright.nesting.tanks.made import Edges
from panewright.nesting.tanks.settle import built_as_ordered
from panewright.nesting.tanks.vessel import InvalidTank
from panewright.nesting.text import tr, tr_count

COLUMNS_OF_HISTORY: Final = (*COLUMNS, *(c for c in HISTORY_COLUMNS if c not in COLUMNS))
"""The columns of an order list, and those of a history."""
MAX_PANELS: Final = 500_000
VARIES: Final = frozenset(
    (
        "order", "tank", "panel", "quantity", "due", "wanted", "note",
        *(column.name for column in HISTORY_COLUMNS),
    )
)  # fmt: skip
"""Columns that do not change what one piece of the row looks like."""
_RETURN: Final = re.compile(r"[-\u2212]\s*[0-9]+(?:[.,]0+)?")


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a row stands, to tell of it when all is read."""

    cells: Cells
    days: Days


def read_history(
    paths: Sequence[Path], shop: Shop, problems: Problems, *, today: date | None = None
) -> list[BookedOrder]:
    """Read order histories.

    Parameters
    ----------
    paths
        CSV, XLSX, JSON or TOML lists in the format of order lists, with the columns booked, product, cut,
        cancelled and remake.
    shop
        Glasses, allowances, habits, default unit and date order.
    problems
        Collects every problem; with errors in it the history is not complete.
    today
        Day of the look; None: the last day on which something was booked or cut.

    Returns
    -------
    list of BookedOrder
        One a row, its quantity together, in the order of the rows. Returns, and rows that stand word for word
        in an earlier list, are left out.
    """
    reader = _Reader(shop, problems)
    for path in paths:
        reader.take(path)
        if reader.full:
            break
    tell_of_days([(place.cells, place.days) for place in reader.places], today, problems)
    return reader.found


class _Reader:
    """Reads lists, and remembers what equal rows hold."""

    def __init__(self, shop: Shop, problems: Problems) -> None:
        self.shop, self.problems = shop, problems
        self.found: list[BookedOrder] = []
        self.places: list[_Place] = []
        self.full = False
        self._panels = 0
        self._edges = Edges(shop)
        self._numbers: Counter[str] = Counter()
        self._made: dict[object, tuple[Panel, ...]] = {}
        self._rows: dict[object, tuple[str, int]] = {}

    def take(self, path: Path) -> None:
        """Read one list."""
        table = order_table(path, COLUMNS_OF_HISTORY, self.problems)
        if table is None:
            return
        again: Counter[str] = Counter()
        mine: dict[object, tuple[str, int]] = {}
        for row in table.rows:
            cells = Cells(table, row, self.shop, self.problems)
            words = _words(table, row, path)
            if words in self._rows:
                again[self._rows[words][0]] += 1
                continue
            if words in mine:
                cells.warn(
                    "order",
                    tr("row {row} says word for word the same, and both count", row=mine[words][1]),
                    tr("delete one of them if it was ordered once"),
                )
            mine.setdefault(words, (table.file, row.number))
            self._take_row(cells, path)
            if self.full:
                return
        self._rows |= mine
        for file, count in again.items():
            self.problems.add(
                table.file,
                tr_count(
                    "{count} row stands word for word in {file} too, and is left out",
                    "{count} rows stand word for word in {file} too, and are left out",
                    count,
                    file=file,
                ),
                tr("give lists that do not overlap"),
                severity="warning",
            )

    def _take_row(self, cells: Cells, path: Path) -> None:
        if _RETURN.fullmatch(cells.text("quantity")):
            cells.warn(
                "quantity",
                tr("a return does not undo the cutting; the row is left out"),
                tr("where the order was called off before it was cut, fill in cancelled in its own row"),
            )
            return
        is_tank = bool(cells.text("shape"))
        order = cells.line("order")
        quantity = cells.whole("quantity", 1, MOST_TANKS if is_tank else MAX_QUANTITY, default=1)
        days, booked = read_days(cells), read_booked(cells)
        remake = cells.yes_no("remake", False)
        own = cells.line("tank" if is_tank else "panel") if not is_tank or cells.text("tank") else ""
        made = self._pieces(cells, path, is_tank=is_tank)
        if not made or not cells.fine or order is None or quantity is None or own is None or days is None:
            return
        self._panels += len(made) * quantity
        if self._panels > MAX_PANELS:
            cells.problems.add(
                cells.table.file,
                tr("the lists hold more than {limit} panels", limit=MAX_PANELS),
                tr("give a shorter history: two years are enough"),
                row=cells.row.number,
            )
            self.full = True
            return
        order, own = cells.normal(order), cells.normal(own)
        panels = [
            self._numbered(piece, order, f"{own} {piece.name}" if is_tank and own else own or piece.name)
            for piece in made
            for _ in range(quantity)
        ]
        line = BookedOrder(
            order=order,
            product=booked.product or product_of(made),
            booked=booked.day,
            due=days.due,
            cut=days.cut,
            cancelled=days.cancelled,
            remake=remake,
            panels=tuple(replace(p, due=days.due, booked=booked.day, product=booked.product) for p in panels),
        )
        self.found.append(line)
        self.places.append(_Place(cells, days))

    def _numbered(self, piece: Panel, order: str, name: str) -> Panel:
        """A piece with its own id, which goes on counting where a name comes again."""
        text = f"{order}/{name}"
        self._numbers[text] += 1
        return replace(piece, id=f"{text}/{self._numbers[text]}", order=order, name=name)

    def _pieces(self, cells: Cells, path: Path, *, is_tank: bool) -> tuple[Panel, ...]:
        """The panels of one piece of a row; none, with errors, where something is wrong."""
        row = cells.row
        bare = {name: text for name, text in row.cells.items() if name not in VARIES}
        key = (path.parent, cells.table.decimal, *cells.table.units.items(), frozenset(bare.items()))
        if key not in self._made:
            # only errors are of use here: what is said of shapes and thickness was said when it was planned
            quiet = Problems()
            alone = Row(row.number, bare | {"order": "-"} | ({} if is_tank else {"panel": "-"}))
            made = self._tank(cells.table, alone, path, quiet) if is_tank else None
            if not is_tank:
                single = single_of(cells.table, alone, path, self.shop, quiet)
                made = (single.panel,) if single else None
            for one in quiet.errors:
                cells.fine = False
                self.problems.add(
                    one.file, one.reason, one.remedy, row=one.row, column=one.column, value=one.value
                )
            if not made:
                return ()
            self._made[key] = made
        return self._made[key]

    def _tank(self, table: Table, row: Row, path: Path, quiet: Problems) -> tuple[Panel, ...] | None:
        cells = Cells(table, row, self.shop, quiet)
        tank = tank_of(cells, path.parent, quiet)
        if tank is None:
            return None
        try:
            built = built_as_ordered(tank, self.shop, self._edges)
            return tuple(panels_of(built, self.shop, Counter()))
        except InvalidTank as error:
            cells.bad(CELL_OF.get(error.about, "shape"), error.reason, error.remedy)
            return None


def _words(table: Table, row: Row, path: Path) -> object:
    """What a row says, word for word; drawings are those of its folder, units those of its list."""
    folder = path.parent if "drawing" in row.cells else None
    return folder, table.decimal, *table.units.items(), frozenset(row.cells.items())
