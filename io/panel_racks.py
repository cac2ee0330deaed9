"""Racks, slots and tolerated flaws of order lists: columns, their cells, and the slots that follow from the rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from panewright.io.row_cells import Cells
from panewright.io.table_reader import Column
from panewright.io.tolerance_text import parse_tolerates
from panewright.nesting.panels import Panel
from panewright.nesting.text import tr

RACK_COLUMNS: Final = (
    Column(
        "rack",
        ("rack", "cart", "furnace batch"),
        about="rack, cart or furnace batch that the panels leave the table for, in the order of its slots",
    ),
    Column(
        "slot",
        ("slot", "rack slot"),
        about="place on the rack, from 1; empty in all rows of a rack: the order of the list",
    ),
    Column(
        "tolerates",
        ("tolerates", "tolerated flaws"),
        about="flaws that the order takes, as in seed edge 40; scratch frame 30; rub anywhere",
    ),
)
"""What panels and tanks may have beside their sizes."""

MOST_SLOTS: Final = 100_000


@dataclass(frozen=True, slots=True)
class _Row:
    """A row with a rack: the panels `start` to `end` of all, and its slot if it gives one."""

    cells: Cells
    slot: int | None
    start: int
    end: int

    @property
    def is_tank(self) -> bool:
        return bool(self.cells.text("shape"))


class RackRows:
    """Collects the rows with racks of all lists; slots and glasses are settled when all are read."""

    def __init__(self) -> None:
        self._racks: dict[str, list[_Row]] = {}

    def on(self, cells: Cells, panels: Sequence[Panel], start: int) -> list[Panel]:
        """The panels of a row with what it says of rack and tolerated flaws.

        Parameters
        ----------
        cells
            The row.
        panels
            Of it.
        start
            How many panels there are before them.
        """
        out = list(panels)
        if cells.text("tolerates"):
            cells.read_unit()
            unit = cells.corner_unit("tolerates")
            found = cells.attempt(
                "tolerates", lambda: parse_tolerates(cells.text("tolerates"), unit, cells.table.decimal)
            )
            out = [replace(p, tolerates=found) for p in out] if found else out
        row = _Row(cells, None, start, start + len(out))
        slot = None
        if cells.text("slot") and not row.is_tank:
            slot = cells.whole("slot", 1, MOST_SLOTS)
            if not cells.text("rack"):
                cells.bad("slot", tr("a slot without a rack"), tr("name the rack, or leave the cell empty"))
        if not cells.text("rack"):
            return out
        name = cells.line("rack")
        if name is None:
            return out
        rack = cells.normal(" ".join(name.split()))
        self._racks.setdefault(rack, []).append(replace(row, slot=slot))
        return [replace(p, rack=rack) for p in out]

    def settle(self, panels: list[Panel]) -> None:
        """Give every panel of a rack its slot; a rack of tanks of several glasses becomes one a glass.

        Parameters
        ----------
        panels
            All of them, those of racks are replaced.
        """
        for rack, rows in self._racks.items():
            glasses = sorted({p.glass for row in rows for p in panels[row.start : row.end]})
            if len(glasses) < 2:
                self._slots(rack, rows, panels)
            elif any(row.is_tank for row in rows):
                self._split(rack, rows, panels)
            else:
                _two_glasses(rack, rows, panels)

    def _split(self, rack: str, rows: Sequence[_Row], panels: list[Panel]) -> None:
        """One rack a glass, named by it: the panels of a tank are often of several."""
        given = [row for row in rows if row.slot is not None]
        if given:
            _two_glasses(rack, rows, panels)
            return
        counts: dict[str, int] = {}
        for row in rows:
            for i in range(row.start, row.end):
                name = f"{rack} {panels[i].glass}"
                counts[name] = counts.get(name, 0) + 1
                panels[i] = replace(panels[i], rack=name, slot=counts[name])
        tank = next(row for row in rows if row.is_tank)
        clash = next((self._racks[name][0] for name in counts if name in self._racks), None)
        if clash is not None:
            tank.cells.bad(
                "rack",
                tr(
                    "its glasses need racks of their own, and {row} has one called so",
                    row=_where(clash, tank),
                ),
                tr("rename one of them"),
            )
            return
        tank.cells.note(
            "rack",
            tr(
                "its panels are of several glasses: there is a rack for each, {names}",
                names=", ".join(counts),
            ),
        )

    def _slots(self, rack: str, rows: Sequence[_Row], panels: list[Panel]) -> None:
        given = [row for row in rows if row.cells.text("slot") and not row.is_tank]
        if given and len(given) < len(rows):
            first = given[0]
            for row in rows:
                if row not in given:
                    row.cells.bad(
                        "rack" if row.is_tank else "slot",
                        tr("no slot, and {row} gives one on rack {rack}", row=_where(first, row), rack=rack),
                        tr("give a slot in all rows of a rack, or in none"),
                    )
            return
        taken: dict[int, _Row] = {}
        at = 1
        for row in rows:
            if given and row.slot is None:
                continue  # its cell is wrong, which is said already
            at = row.slot if row.slot is not None else at
            for i in range(row.start, row.end):
                if at in taken:
                    row.cells.bad(
                        "slot",
                        tr("slot {slot} of rack {rack} is that of {row} already", slot=at, rack=rack,
                           row=_where(taken[at], row)),
                        tr("give every panel a slot of its own; a row of several takes as many from its slot on"),
                    )  # fmt: skip
                    break
                taken[at] = row
                panels[i] = replace(panels[i], slot=at)
                at += 1


def _where(row: _Row, seen_from: _Row) -> str:
    """A row, with its list where that is another one."""
    if row.cells.table is seen_from.cells.table:
        return tr("row {row}", row=row.cells.row.number)
    return tr("{where}, row {row}", where=row.cells.table.file, row=row.cells.row.number)


def _two_glasses(rack: str, rows: Sequence[_Row], panels: Sequence[Panel]) -> None:
    """Name the first row of the rack, and every row that has another glass."""
    first = rows[0]
    glass = panels[first.start].glass
    for row in rows:
        other = next((p.glass for p in panels[row.start : row.end] if p.glass != glass), None)
        if other is not None:
            row.cells.bad(
                "rack",
                tr(
                    "rack {rack} has {glass} in {row} and {other} here, and holds panels of one glass",
                    rack=rack,
                    glass=glass,
                    row=_where(first, row),
                    other=other,
                ),
                tr("give each glass a rack of its own"),
            )
