"""One reader for lists as CSV (comma, semicolon, tab), XLSX, JSON and TOML, with limits against hostile files.

Every cell comes out as text: a code keeps its leading zeros, a number cell is written out exactly.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from panewright.io.csv_rows import csv_rows, delimiter_of, file_text
from panewright.io.lengths import UNITS, DecimalSign, settle_decimal
from panewright.io.list_entries import SUFFIXES, Entry, read_entries
from panewright.io.list_limits import MAX_BYTES, MAX_CELL, MAX_FLAWS_CELL, Grid, Refused, cannot_open
from panewright.io.problems import Problems, shown
from panewright.io.workbook_rows import workbook_rows
from panewright.nesting.text import tr

_WORKBOOK: Final = (".xlsx", ".xlsm")


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a list.

    Parameters
    ----------
    name
        What the program calls it.
    words
        Header words that mean it, the first one being the proper one; case, blanks, hyphens and
        underscores do not matter.
    number
        Whether its cells hold numbers or lengths (they help to settle the decimal sign).
    about
        One line for the help.
    """

    name: str
    words: tuple[str, ...]
    number: bool = False
    about: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its number as the user sees it, and its cells by column name."""

    number: int
    cells: dict[str, str]

    def get(self, name: str) -> str:
        """The cell's text without blanks around it; empty where the list has no such column."""
        return self.cells.get(name, "")


@dataclass(slots=True)
class Table:
    """A list that was read.

    Parameters
    ----------
    file
        Name of the file as given.
    rows
        Its rows; empty ones are left out.
    columns
        Column name -> header text.
    units
        Column name -> unit that stands in its header in brackets, as in ``width (mm)``.
    decimal
        Decimal sign of its numbers.
    """

    file: str
    rows: list[Row] = field(default_factory=list)
    columns: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    decimal: DecimalSign = "unknown"

    def header(self, name: str) -> str:
        """The header text of a column, for messages."""
        return self.columns.get(name, name)


def header_key(text: str) -> str:
    """A header word without case, blanks, hyphens and underscores."""
    return re.sub(r"[\s_-]+", "", text).casefold()


def read_table(
    path: Path, columns: Sequence[Column], required: Sequence[Sequence[str]], problems: Problems
) -> Table | None:
    """Read a list.

    Parameters
    ----------
    path
        A CSV, XLSX, JSON or TOML file; ``file.xlsx#Sheet`` names a sheet.
    columns
        The columns that are known.
    required
        Groups of column names; of each group at least one must be there.
    problems
        Collects what is wrong.

    Returns
    -------
    Table or None
        None where the file cannot be read at all.
    """
    table = Table(str(path))
    delimiter: str | None = None
    try:
        file, sheet = _split_sheet(path)
        _check_file(file, table.file, problems)
        if file.suffix.lower() in SUFFIXES:
            _take_entries(read_entries(file, table.file, problems), table, columns, required, problems)
            return table
        if file.suffix.lower() in _WORKBOOK:
            grid = iter(workbook_rows(file, sheet, table.file, problems))
        else:
            text = file_text(file, table.file, problems)
            delimiter = delimiter_of(text)
            grid = csv_rows(text, delimiter, table.file, problems)
        places = _read_header(grid, table, columns, required, problems)
        for number, cells in grid:
            row = _row(number, cells, places, table, problems)
            if row:
                table.rows.append(row)
    except Refused:
        return None
    numbers = [column.name for column in columns if column.number and column.name in table.columns]
    table.decimal = settle_decimal((row.get(name) for row in table.rows for name in numbers), delimiter)
    return table


def _split_sheet(path: Path) -> tuple[Path, str | None]:
    """The file and the sheet named behind ``#``; a file whose own name has a ``#`` wins."""
    name, mark, sheet = str(path).rpartition("#")
    if mark and sheet and name.lower().endswith(_WORKBOOK) and not path.exists():
        return Path(name), sheet
    return path, None


def _check_file(path: Path, file: str, problems: Problems) -> None:
    suffix = path.suffix.lower()
    try:
        if not path.exists():
            problems.add(file, tr("there is no such file"), tr("check its name and folder"))
        elif not path.is_file():
            problems.add(file, tr("this is no file"), tr("name a CSV, XLSX, JSON or TOML file"))
        elif path.stat().st_size > MAX_BYTES:
            problems.add(
                file,
                tr("the file is larger than {limit} MB", limit=MAX_BYTES // 1_000_000),
                tr("split it into smaller lists"),
            )
        elif suffix in (".xls", ".xlsb", ".ods", ".numbers", ".pdf", ".doc", ".docx"):
            problems.add(
                file,
                tr("files of type {suffix} are not read", suffix=suffix),
                tr("save the list as .xlsx or as CSV UTF-8"),
            )
        else:
            return
    except (OSError, ValueError) as error:
        cannot_open(error, file, problems)
    raise Refused


def _split_unit(text: str) -> tuple[str, str]:
    """``width (mm)`` as ``width`` and ``mm``."""
    found = re.fullmatch(r"(.*?)\s*[\[(]\s*([a-z\"']+)\s*[\])]\s*", text.strip(), re.IGNORECASE | re.DOTALL)
    if found and found[2].lower() in UNITS:
        return found[1], found[2].lower()
    return text, ""


def _read_header(
    grid: Grid,
    table: Table,
    columns: Sequence[Column],
    required: Sequence[Sequence[str]],
    problems: Problems,
) -> list[str | None]:
    """Which column each place of a row belongs to, from the first row that is not empty."""
    known = {header_key(word): column.name for column in columns for word in column.words}
    number, cells = next((row for row in grid if any(cell.strip() for cell in row[1])), (0, []))
    if not cells:
        problems.add(table.file, tr("the list is empty"), tr("start it with a header row"))
        raise Refused
    places: list[str | None] = []
    bad = False
    for cell in cells:
        text = cell.strip()
        word, unit = _split_unit(text)
        name = known.get(header_key(word))
        if name is not None and name in table.columns:
            problems.add(
                table.file,
                tr("two columns mean the same ({word})", word=shown(table.columns[name])),
                tr("delete or rename one of them"),
                row=number,
                column=text,
            )
            bad, name = True, None
        elif name is not None:
            table.columns[name] = shown(text)
            if unit:
                table.units[name] = unit
        elif text:
            problems.note(table.file, tr("this column is not known and is left out"), row=number, column=text)
        places.append(name)
    words = {column.name: column.words for column in columns}
    for group in required:
        if not any(name in table.columns for name in group):
            problems.add(
                table.file,
                tr("the header row has no column for {name}", name=tr(" or ").join(group)),
                tr("add one; accepted words: {words}", words=", ".join(w for n in group for w in words[n])),
                row=number,
            )
            bad = True
    if bad:
        raise Refused
    return places


def _row(
    number: int, cells: list[str], places: Sequence[str | None], table: Table, problems: Problems
) -> Row | None:
    """A row by column names, or None where it is empty or has a problem of its own."""
    out: dict[str, str] = {}
    fine = True
    for place, raw in enumerate(cells):
        text = raw.replace("\u00a0", " ").strip()
        if not text:
            continue
        name = places[place] if place < len(places) else None
        if place >= len(places):
            problems.add(
                table.file,
                tr("the row has more cells than the header row"),
                tr("put cells that hold the separating sign in quotes, such as a decimal comma"),
                row=number,
                value=text,
            )
            fine = False
            break
        limit = MAX_FLAWS_CELL if name == "flaws" else MAX_CELL
        if len(text) > limit:
            problems.add(
                table.file,
                tr("the cell holds more than {limit} characters", limit=limit),
                tr("shorten it"),
                row=number,
                column=table.header(name or ""),
                value=text,
            )
            fine = False
        elif name is not None:
            out[name] = text
    return Row(number, out) if out and fine else None


def _take_entries(
    entries: Sequence[Entry],
    table: Table,
    columns: Sequence[Column],
    required: Sequence[Sequence[str]],
    problems: Problems,
) -> None:
    """The entries of a JSON or TOML list as rows; their keys are the words of the columns."""
    known = {header_key(word): column.name for column in columns for word in column.words}
    units: dict[str, str] = {}
    unknown: set[str] = set()
    for entry in entries:
        cells: dict[str, str] = {}
        fine = entry.fine
        for key, text in entry.texts.items():
            word, unit = _split_unit(key)
            name = known.get(header_key(word))
            if name is None:
                if key not in unknown:
                    unknown.add(key)
                    reason = tr("this key is not known and is left out")
                    problems.note(table.file, reason, row=entry.number, column=key)
                continue
            reason = ""
            if name in cells:
                reason = tr("another key of this entry means the same")
            elif units.setdefault(name, unit) != unit:
                reason = tr("an earlier entry names another unit in this key")
            if reason:
                problems.add(
                    table.file, reason, tr("delete or rename one of them"), row=entry.number, column=key
                )
                fine = False
            table.columns.setdefault(name, shown(key))
            cells[name] = text
        filled = {name: text for name, text in cells.items() if text}
        if fine and filled:
            table.rows.append(Row(entry.number, filled))
    table.units = {name: unit for name, unit in units.items() if unit}
    table.decimal = "point"
    words = {column.name: column.words for column in columns}
    missing = [group for group in required if not any(name in table.columns for name in group)]
    for group in missing:
        problems.add(
            table.file,
            tr("no entry has the key {name}", name=tr(" or ").join(group)),
            tr("add it; accepted words: {words}", words=", ".join(w for n in group for w in words[n])),
        )
    if missing:
        raise Refused
