"""Tables as CSV text that spreadsheets take as text and numbers, never as formulas."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Final

from panewright.io.numbers_text import Raw

MARK: Final = "\ufeff"
"""Put before a CSV file, so that spreadsheets read it as UTF-8."""
_FORMULA: Final = tuple("=+-@\t\r")


def safe_cell(value: object) -> str:
    """A cell that no spreadsheet runs: text that begins like a formula gets an apostrophe before it.

    `Raw` numbers stand as they are, None is an empty cell.

    Examples
    --------
    >>> safe_cell("=1+1"), safe_cell("K-204"), safe_cell(None)
    ("'=1+1", 'K-204', '')
    """
    if value is None:
        return ""
    text = str(value)
    if isinstance(value, (Raw, int)):
        return text
    text = "".join(c if c >= " " and c != "\x7f" else " " for c in text) if not text.isprintable() else text
    return f"'{text}" if is_formula(text) else text


def is_formula(text: str) -> bool:
    """Whether a spreadsheet would take this text for a formula."""
    return text.lstrip().startswith(_FORMULA)


def plain_cell(text: str) -> str:
    """The text of a cell that `safe_cell` made safe.

    Examples
    --------
    >>> plain_cell("'=1+1"), plain_cell("K-204"), plain_cell("'t Hart")
    ('=1+1', 'K-204', "'t Hart")
    """
    bare = text[1:]
    return bare if text.startswith("'") and is_formula(bare) else text


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A CSV file as text: comma, CRLF (RFC 4180), every cell made safe."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return MARK + out.getvalue()
