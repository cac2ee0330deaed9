"""A list to fill in as an XLSX file: a bold head that stays in view, columns as wide as their words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import BytesIO


def workbook_bytes(title: str, header: Sequence[str], rows: Iterable[Sequence[object]], freeze: str) -> bytes:
    """The file.

    Parameters
    ----------
    title
        Of its one sheet.
    header, rows
        Cells; what begins like a formula is for the caller to guard.
    freeze
        The first cell that scrolls, as in ``A2``.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    sheet = book.active
    sheet.title = title
    for row in (header, *rows):
        sheet.append(list(row))
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = freeze
    for column in sheet.columns:
        longest = max(len(str(cell.value or "")) for cell in column)
        sheet.column_dimensions[column[0].column_letter].width = min(max(longest + 2, 8), 40)
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()
