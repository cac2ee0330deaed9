"""A report as a workbook to filter and to reckon with: a first sheet of words, then one table a sheet.

A table begins in the first row, so that filters, pivots and other programs find it. Totals that are
sums are formulas that follow the filter; what they come to is stored beside them, for viewers that do
not calculate.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from io import BytesIO
from typing import Any, Final

from panewright.io.csv_text import is_formula
from panewright.io.problems import shown
from panewright.io.report.model import Kind, Report, Table, Value
from panewright.io.report.picture_numbers import picture_tables
from panewright.io.report.screen import sentence
from panewright.io.report.value_text import LONGEST, WORDS, amount_of, heading, is_sum, text_of
from panewright.nesting.text import tr

FORMATS: Final[dict[Kind, str]] = {
    "count": "#,##0",
    "number": "#,##0.00",
    "share": "0.0%",
    "money": "#,##0.00",
    "m2": "#,##0.00",
    "kg": "#,##0.0",
    "metres": "#,##0.0",
    "day": "yyyy-mm-dd",
}
"""Number formats; the program that opens the file puts in the signs of its language."""
NAME_LENGTH: Final = 31
"""Of a sheet's name, at most."""
_BAD_NAME: Final = re.compile(r"[\[\]:*?/\\\x00-\x1f]+")
_WIDEST: Final = 48
_HEAD_FILL: Final = "FFE4E9ED"
_LARGEST: Final = 10**307
_TIME: Final = "2000-01-01T00:00:00Z"
"""Stands in the file for the time of writing: the same report gives the same bytes."""
_CELL: Final = re.compile(r'(<c r="(\w+)"[^>]*><f>[^<]*</f>)<v\s*(?:/>|></v>)')


@dataclass(frozen=True, slots=True)
class _Leaf:
    """A sheet to come: its name, its table and the subject that it belongs to."""

    name: str
    table: Table
    subject: str


def report_workbook(report: Report) -> bytes:
    """The file, the same bytes for the same report."""
    from openpyxl import Workbook

    book = Workbook()
    leaves = _leaves(report)
    first = book.active
    first.title = leaves[0].name if leaves and not report.title else sheet_names([tr("Summary")])[0]
    _words(first, report, leaves)
    stored: dict[str, dict[str, float | int]] = {}
    for i, leaf in enumerate(leaves, start=2):
        stored[f"xl/worksheets/sheet{i}.xml"] = _table(book.create_sheet(leaf.name), leaf, report.currency)
    book.properties.title = _text(report.title)
    book.properties.creator = "panewright"
    stream = BytesIO()
    book.save(stream)
    return _settled(stream.getvalue(), stored)


def sheet_names(wanted: Sequence[str]) -> list[str]:
    """Names that a workbook takes, no two alike even where case does not count.

    Examples
    --------
    >>> sheet_names(["a/b", "A:b", "'x'", "", "history"])
    ['a b', 'A b 2', 'x', '-', 'history_']
    """
    taken: set[str] = set()
    out = []
    for text in wanted:
        plain = " ".join(_BAD_NAME.sub(" ", shown(text, LONGEST)).split()).strip("'").strip() or "-"
        # a name that the format keeps for itself
        plain = f"{plain}_" if plain.lower() == "history" else plain
        name, number = plain[:NAME_LENGTH].strip(" '") or "-", 1
        while name.lower() in taken:
            number += 1
            tail = f" {number}"
            name = plain[: NAME_LENGTH - len(tail)].rstrip(" '") + tail
        taken.add(name.lower())
        out.append(name)
    return out


def _leaves(report: Report) -> list[_Leaf]:
    found: list[tuple[str, Table, str]] = []
    for subject in report.subjects:
        alone = len(subject.tables) == 1
        found += [
            (subject.name if alone else t.title or subject.name, t, subject.name) for t in subject.tables
        ]
    for subject in report.subjects:
        name = tr("Pictures of {subject}", subject=subject.name)
        found += [(name, table, subject.name) for table in picture_tables(name, subject.pictures)]
    names = sheet_names([tr("Summary"), *(name for name, _, _ in found)])[1:]
    return [_Leaf(name, table, subject) for name, (_, table, subject) in zip(names, found, strict=True)]


# ---------------------------------------------------------------- the sheet of words


def _words(sheet: Any, report: Report, leaves: Sequence[_Leaf]) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.worksheet.hyperlink import Hyperlink

    bold = Font(bold=True)
    rows: list[tuple[str, str, Any]] = [
        ("", report.title, Font(bold=True, size=14)),
        ("", report.about, None),
    ]
    rows += [("", text, bold) for text in report.lead]
    for subject in report.subjects:
        rows += [(subject.name if i == 0 else "", text, None) for i, text in enumerate(subject.words)]
    rows += [(tr("Mind") if i == 0 else "", text, None) for i, text in enumerate(report.cautions)]
    at = 0
    for label, text, font in rows:
        at += 1
        _put_text(sheet.cell(at, 1), label)
        sheet.cell(at, 1).font = bold
        cell = sheet.cell(at, 2)
        _put_text(cell, sentence(text))
        if font is not None:
            cell.font = font
    at += 2
    _put_text(sheet.cell(at, 1), tr("sheet of the workbook"))
    _put_text(sheet.cell(at, 2), tr("what it holds"))
    sheet.cell(at, 1).font = sheet.cell(at, 2).font = bold
    for leaf in leaves:
        at += 1
        cell = sheet.cell(at, 1)
        _put_text(cell, leaf.name)
        quoted = leaf.name.replace("'", "''")
        cell.hyperlink = Hyperlink(ref=cell.coordinate, location=f"'{quoted}'!A1")
        # the link has made the name its value again
        _put_text(cell, leaf.name)
        cell.font = Font(underline="single", color="FF0C4F58")
        title = leaf.table.title or leaf.subject
        about = title if leaf.subject in ("", title) else f"{leaf.subject}: {title}"
        _put_text(sheet.cell(at, 2), sentence(f"{about}. {leaf.table.note}" if leaf.table.note else about))
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 34, 100
    for row in sheet.iter_rows(min_row=1, max_row=at):
        for cell in row:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
    sheet.page_setup.orientation, sheet.page_setup.fitToHeight = "landscape", 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True


# ---------------------------------------------------------------- a sheet of one table


def _table(sheet: Any, leaf: _Leaf, currency: str) -> dict[str, float | int]:
    """Fill a sheet; what its formulas come to, by cell."""
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
    from openpyxl.utils import get_column_letter

    table, kinds = leaf.table, [column.kind for column in leaf.table.columns]
    heads = [heading(column, currency) for column in table.columns]
    fill, line = PatternFill("solid", fgColor=_HEAD_FILL), Side(style="thin")
    for j, head in enumerate(heads, start=1):
        cell = sheet.cell(1, j)
        _put_text(cell, head)
        cell.font, cell.fill, cell.border = Font(bold=True), fill, Border(bottom=line)
        side = "left" if kinds[j - 1] in WORDS else "right"
        cell.alignment = Alignment(wrap_text=True, vertical="bottom", horizontal=side)
    for i, row in enumerate(table.rows, start=2):
        for j, (value, kind) in enumerate(zip(row, kinds, strict=True), start=1):
            _put(sheet.cell(i, j), value, kind)
    last, stored = len(table.rows) + 1, {}
    if table.total is not None:
        # an empty row between keeps the total out of filters and pivots
        at = last + 2
        for j, (value, kind) in enumerate(zip(table.total, kinds, strict=True), start=1):
            cell, amount = sheet.cell(at, j), amount_of(value, kind)
            _put(cell, value, kind)
            if amount is not None and is_sum((row[j - 1] for row in table.rows), value, kind):
                letter = get_column_letter(j)
                cell.value = f"=SUBTOTAL(109,{letter}2:{letter}{last})"
                stored[cell.coordinate] = _number(amount)
            cell.font, cell.border = Font(bold=True), Border(top=line)
    for j, head in enumerate(heads):
        texts = [text_of(row[j], kinds[j]) for row in (*table.rows, *([table.total] if table.total else []))]
        # a head may run over several lines, and its arrow of the filter needs room
        longest = max([*(len(word) + 3 for word in head.split()), len(head) // 2 + 3, *map(len, texts)])
        sheet.column_dimensions[get_column_letter(j + 1)].width = min(max(longest + 2, 8), _WIDEST)
    frozen = sum(1 for _ in _leading_words(kinds))
    sheet.freeze_panes = f"{get_column_letter(frozen + 1 if frozen < len(kinds) else 1)}2"
    if kinds:
        sheet.auto_filter.ref = f"A1:{get_column_letter(len(kinds))}{last}"
        sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation, sheet.page_setup.fitToHeight = "landscape", 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.oddHeader.left.text = _text(table.title or leaf.subject)[:100].replace("&", "&&")
    sheet.oddFooter.right.text = "&P / &N"
    return stored


def _leading_words(kinds: Sequence[Kind]) -> Iterator[Kind]:
    """The first columns, at most two, where they hold words: they stay in view."""
    for kind in kinds[:2]:
        if kind not in WORDS:
            return
        yield kind


def _put(cell: Any, value: Value, kind: Kind) -> None:
    """A raw value as what it is: a number or a date with its format, or text."""
    from openpyxl.styles import Alignment

    if value is None:
        return
    amount = amount_of(value, kind)
    if isinstance(value, date) and value.year >= 1900:
        cell.value, cell.number_format = value, FORMATS["day"]
        cell.alignment = Alignment(horizontal="left")
    elif amount is None or abs(amount) > _LARGEST:
        _put_text(cell, text_of(value, kind))
        if kind not in WORDS:
            cell.alignment = Alignment(horizontal="right")
    else:
        whole = amount.denominator == 1
        cell.value = _number(amount)
        cell.number_format = (
            FORMATS["number"] if kind == "count" and not whole else FORMATS.get(kind, "General")
        )


def _number(amount: Fraction) -> int | float:
    return int(amount) if amount.denominator == 1 else float(amount)


def _put_text(cell: Any, text: str) -> None:
    """Text that stays text, whatever it begins with, now and when the cell is edited."""
    text = _text(text)
    cell.value = text
    cell.data_type = "s"
    cell.quotePrefix = is_formula(text)


def _text(text: str) -> str:
    # two code points pass for printable nowhere in XML
    return shown(text, 30_000).replace("\ufffe", "?").replace("\uffff", "?")


# ---------------------------------------------------------------- the bytes


def _settled(content: bytes, stored: dict[str, dict[str, float | int]]) -> bytes:
    """The archive with one time for everything in it, and with what its formulas come to."""
    out = BytesIO()
    with (
        zipfile.ZipFile(BytesIO(content)) as archive,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as fresh,
    ):
        for part in archive.infolist():
            data = archive.read(part)
            if part.filename == "docProps/core.xml":
                data = re.sub(rb"\d{4}-\d\d-\d\dT[\d:.]+Z", _TIME.encode(), data)
            if known := stored.get(part.filename):
                data = _CELL.sub(lambda cell: _cached(cell, known), data.decode("utf-8")).encode("utf-8")
            info = zipfile.ZipInfo(part.filename, (2000, 1, 1, 0, 0, 0))
            info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, 0o600 << 16
            fresh.writestr(info, data)
    return out.getvalue()


def _cached(cell: re.Match[str], known: dict[str, float | int]) -> str:
    return f"{cell[1]}<v>{known[cell[2]]:.16g}</v>"
