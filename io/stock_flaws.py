"""Flaws and the order of taking in a stock list: what such a row may say, and what its sheet is called."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Final

from panewright.io.flaw_text import MAX_FLAWS, outside, parse_flaw, without_covered
from panewright.io.lengths import BadValue
from panewright.io.problems import Problems
from panewright.io.row_cells import Cells
from panewright.nesting.flaws import Flaw
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr

MOST_TAKE: Final = 100_000


def read_flaws_of(
    cells: Cells, width: int, height: int, folder: Path, problems: Problems
) -> tuple[Flaw, ...]:
    """The flaws that a row lists, or that the drawing marks which it names.

    Parameters
    ----------
    cells
        The row.
    width, height
        Of the sheet or offcut. [nm]
    folder
        Where drawings are looked for.
    problems
        Collects what is wrong with a drawing.
    """
    text = cells.text("flaws")
    if text.lower() in ("", "none", "no", "-"):
        return ()
    if text.lower().endswith(".dxf"):
        return _drawn(cells, width, height, folder, problems)
    parts = [part.strip() for part in re.split(r"[;|]", text)]
    found: list[Flaw] = []
    for part in filter(None, parts):
        try:
            flaw = parse_flaw(part, cells.corner_unit("flaws"), cells.table.decimal)
        except BadValue as error:
            cells.bad("flaws", error.reason, error.remedy, part)
            continue
        reason = outside(flaw, width, height)
        if reason is not None:
            cells.bad("flaws", reason, tr("correct the flaw, the size of the sheet, or the unit"), part)
            continue
        found.append(flaw)
    if not any(parts):
        cells.bad("flaws", tr("there is no flaw in the cell"), tr("leave the cell empty"))
    return _counted(cells, found)


def _drawn(cells: Cells, width: int, height: int, folder: Path, problems: Problems) -> tuple[Flaw, ...]:
    from panewright.io.flaw_drawing import read_flaws

    text = cells.text("flaws")
    parts = (*PurePosixPath(text).parts, *PureWindowsPath(text).parts)
    if ".." in parts or PurePosixPath(text).is_absolute() or PureWindowsPath(text).drive:
        cells.bad(
            "flaws", tr("this is no file beside the list"), tr("name a DXF file in the folder of the list")
        )
        return ()
    before = problems.error_count
    found = read_flaws(folder / text, width, height, problems)
    if problems.error_count > before:
        cells.bad("flaws", tr("this drawing cannot be used"), tr("see what is said of it"))
    return found


def _counted(cells: Cells, found: list[Flaw]) -> tuple[Flaw, ...]:
    flaws = without_covered(found)
    if len(flaws) > MAX_FLAWS:
        cells.bad(
            "flaws",
            tr("the sheet has more than {limit} flaws", limit=MAX_FLAWS),
            tr("give one rectangle around flaws that lie close together"),
        )
        return ()
    if len(flaws) < len(found):
        cells.note(
            "flaws",
            tr("flaws that another one of the same kind covers are left out: {count}", count=len(found) - len(flaws)),
        )  # fmt: skip
    return flaws


def read_take(cells: Cells) -> int | None:
    """The place of a sheet in the order of taking, or None."""
    return cells.whole("take", 1, MOST_TAKE) if cells.text("take") else None


def check_one_of_a_kind(cells: Cells, piece: StockPiece) -> int:
    """Refuse what a sheet with flaws or with a number to take it by cannot be; sheets on hand where none is given."""
    if not piece.flaws and piece.take is None:
        return 0
    if cells.yes_no("buy", False) or cells.text("on hand").lower() in ("unlimited", "any"):
        cells.bad(
            "buy" if cells.text("buy") else "on hand",
            tr("a sheet with flaws or with a number to take it by cannot be bought"),
            tr("list the sheets that can be bought in a row of their own"),
        )
    elif piece.flaws and cells.text("on hand") not in ("", "1"):
        cells.bad(
            "on hand",
            tr("a sheet with flaws is one piece"),
            tr("write 1, and give every other sheet a row of its own"),
        )
    elif cells.text("on hand") == "0":
        cells.bad(
            "on hand", tr("a sheet to be taken in its turn is not there"), tr("delete the row, or its number")
        )
    return 1


class SheetNames:
    """Names for sheets that are not all alike, and that no two sheets of a glass are taken as the same.

    An own `number` comes first. Else a sheet to be taken in its turn is called by it (``clear-10 3210x2250 take
    3``), and the others with flaws are counted in the order of the rows (``clear-10 3210x2250 flawed 1``).
    """

    def __init__(self) -> None:
        self._flawed: Counter[str] = Counter()
        self._turns: dict[tuple[str, int], int] = {}

    def named(self, cells: Cells, piece: StockPiece) -> StockPiece:
        """The piece with its name; an error in its row where its turn is taken."""
        if piece.take is not None:
            row = self._turns.setdefault((piece.glass, piece.take), cells.row.number)
            if row != cells.row.number:
                cells.bad(
                    "take",
                    tr("row {row} is taken as {take} already", row=row, take=piece.take),
                    tr("give every row of a glass its own number"),
                )
        if piece.is_offcut or (not piece.flaws and piece.take is None):
            return piece
        if cells.text("number"):
            return replace(piece, name=cells.line("number") or piece.name)
        if piece.take is not None:
            return replace(piece, name=f"{piece.name} take {piece.take}")
        self._flawed[piece.name] += 1
        return replace(piece, name=f"{piece.name} flawed {self._flawed[piece.name]}")
