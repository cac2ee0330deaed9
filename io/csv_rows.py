"""CSV text as rows of cells: encoding, separating sign, quotes."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

from panewright.io.csv_text import plain_cell
from panewright.io.list_limits import MAX_BYTES, Grid, Refused, cannot_open, check_count
from panewright.io.problems import Problems, shown
from panewright.nesting.text import tr


def file_text(path: Path, file: str, problems: Problems, remedy: str | None = None) -> str:
    """The text of a list, which must be UTF-8, with or without an encoding mark.

    `remedy` is what to do where it is not; by default to save it as CSV UTF-8.
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except OSError as error:
        cannot_open(error, file, problems)
        raise Refused from None
    remedy = remedy or tr("save the list as CSV UTF-8 or as .xlsx")
    if data[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        problems.add(
            file,
            tr("this is a workbook, not a CSV file"),
            tr("give it the ending .xlsx, or save it as CSV UTF-8"),
        )
        raise Refused
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data:
        problems.add(file, tr("the file is not UTF-8 text"), remedy)
        raise Refused
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problems.add(
            file,
            tr("the file is not UTF-8 text"),
            remedy,
            row=data.count(b"\n", 0, error.start) + 1,
            value=data[max(0, error.start - 10) : error.start + 10].decode("utf-8", "replace"),
        )
        raise Refused from None


def delimiter_of(text: str) -> str:
    """The sign between the cells: the one that the header row holds most often outside quotes."""
    lines = (line for line in io.StringIO(text[:100_000]) if line.strip(" \t\r\n,;"))
    header = re.sub(r'"[^"]*"', "", next(lines, ""))
    return max((",", ";", "\t"), key=header.count)


def csv_rows(text: str, delimiter: str, file: str, problems: Problems) -> Grid:
    """The rows of a CSV text, empty ones included, so that numbers are those of the file."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            check_count(number, len(cells), file, problems)
            yield number, [plain_cell(cell) for cell in cells]
    except csv.Error as error:
        problems.add(
            file,
            tr("the row cannot be split into cells ({reason})", reason=shown(error)),
            tr('close every quoted cell with " and double a " inside it'),
            row=number + 1,
        )
        raise Refused from None
