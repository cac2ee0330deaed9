"""XLSX workbooks as rows of cells, guarded against zip bombs and damaged files."""

from __future__ import annotations

import warnings
import zipfile
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

import openpyxl

from panewright.io.lengths import number_text
from panewright.io.list_limits import MAX_COLUMNS, Grid, Refused, check_count
from panewright.io.problems import Problems, shown
from panewright.nesting.text import tr

MAX_UNZIPPED: Final = 200_000_000
"""Most that all parts of a workbook may unpack to. [bytes]"""
MAX_RATIO: Final = 200
"""Most that a part may unpack to, over its packed size (parts over 1 MB)."""
MAX_PARTS: Final = 5_000


def _check_zip(path: Path, file: str, problems: Problems) -> None:
    """Refuse what is no workbook, and a zip bomb before anything of it is unpacked."""
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        problems.add(
            file,
            tr("this is no readable workbook"),
            tr("save it again as .xlsx, without a password, or as CSV UTF-8"),
        )
        raise Refused from None
    swollen = any(
        part.file_size > 1_000_000 and part.file_size > MAX_RATIO * max(1, part.compress_size)
        for part in parts
    )
    if swollen or len(parts) > MAX_PARTS or sum(part.file_size for part in parts) > MAX_UNZIPPED:
        problems.add(
            file,
            tr("the workbook unpacks to far more than a list needs"),
            tr("copy the list into a new workbook, or save it as CSV UTF-8"),
        )
        raise Refused


def workbook_rows(
    path: Path, sheet: str | None, file: str, problems: Problems
) -> list[tuple[int, list[str]]]:
    """The rows of the named sheet, or of the first one."""
    if not openpyxl.DEFUSEDXML:
        problems.add(
            file,
            tr("workbooks are not read without the package defusedxml"),
            tr("install defusedxml, or save the list as CSV UTF-8"),
        )
        raise Refused
    _check_zip(path, file, problems)
    books: list[Any] = []
    try:
        # opened here, for openpyxl leaves a file open when it stumbles
        with warnings.catch_warnings(), path.open("rb") as first, path.open("rb") as second:
            # openpyxl warns of styles and validations that a list does not need
            warnings.simplefilter("ignore")
            for stream, data_only in ((first, True), (second, False)):
                books.append(openpyxl.load_workbook(stream, read_only=True, data_only=data_only))
            names = [s.title for s in books[0].worksheets]
            if not names or (sheet is not None and sheet not in names):
                problems.add(
                    file,
                    tr("the workbook has no sheet of that name"),
                    tr("its sheets are {names}", names=shown(", ".join(names), 200)),
                    value=sheet or "",
                )
                raise Refused
            # all rows at once: the filter of warnings must not stay open between two rows
            return list(_sheet_rows([book[sheet or names[0]] for book in books], file, problems))
    except Refused:
        raise
    except Exception as error:  # noqa: BLE001 - a damaged workbook raises whatever its reader stumbles over
        problems.add(
            file,
            tr("the workbook is damaged ({reason})", reason=type(error).__name__),
            tr("open it, save it again as .xlsx, or save it as CSV UTF-8"),
        )
        raise Refused from None
    finally:
        for book in books:
            book.close()


def _sheet_rows(sheets: Sequence[Any], file: str, problems: Problems) -> Grid:
    """Values and formulas side by side: a formula whose value was never stored has no value."""
    for sheet in sheets:
        sheet.reset_dimensions()  # the stated size of a sheet is often wrong
    values, formulas = (sheet.iter_rows(max_col=MAX_COLUMNS + 1) for sheet in sheets)
    for number, (row, formula_row) in enumerate(zip(values, formulas, strict=False), start=1):
        check_count(number, 0, file, problems)
        cells = []
        for cell, formula in zip(row, formula_row, strict=False):
            text = _cell_text(cell.value)
            if cell.data_type == "e":
                problems.add(
                    file,
                    tr("the cell holds an error of the spreadsheet"),
                    tr("correct its formula"),
                    row=number,
                    value=text,
                )
                text = ""
            elif cell.value is None and formula.data_type == "f":
                problems.add(
                    file,
                    tr("the formula in column {letter} has no stored value", letter=formula.column_letter),
                    tr("open the workbook in a spreadsheet program and save it, or type the value"),
                    row=number,
                    value=formula.value,
                )
            cells.append(text)
        while cells and not cells[-1]:
            cells.pop()
        check_count(number, len(cells), file, problems)
        yield number, cells


def _cell_text(value: object) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float():
            return number_text(value)
        case datetime():
            midnight = not (value.hour or value.minute or value.second)
            return value.date().isoformat() if midnight else value.isoformat(" ")
        case date():
            return value.isoformat()
        case _:
            return str(value)
