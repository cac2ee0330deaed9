"""What every list reader shares: the limits, and how a file is refused."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from panewright.io.problems import Problems
from panewright.nesting.text import tr

MAX_BYTES: Final = 20_000_000
MAX_ROWS: Final = 100_000
MAX_COLUMNS: Final = 200
MAX_CELL: Final = 2_000
"""Longest text of one cell. [characters]"""
MAX_FLAWS_CELL: Final = 10_000
"""The same of a cell that lists flaws, of which there may be 200."""

Grid = Iterator[tuple[int, list[str]]]
"""Row number as the user sees it, and the texts of its cells."""


class Refused(Exception):
    """The file cannot be read on; the problem is already noted."""


def cannot_open(error: Exception, file: str, problems: Problems) -> None:
    """Note that the system does not open the file."""
    reason = getattr(error, "strerror", None) or type(error).__name__
    problems.add(
        file,
        tr("the file cannot be opened ({reason})", reason=reason),
        tr("check its name and that you may read it"),
    )


def check_count(number: int, columns: int, file: str, problems: Problems) -> None:
    """Refuse a file with too many rows or cells in a row."""
    if number > MAX_ROWS:
        problems.add(
            file,
            tr("the list has more than {limit} rows", limit=MAX_ROWS),
            tr("split it into smaller lists"),
            row=number,
        )
        raise Refused
    if columns > MAX_COLUMNS:
        problems.add(
            file,
            tr("the row has more than {limit} cells", limit=MAX_COLUMNS),
            tr("delete the columns that are not needed"),
            row=number,
        )
        raise Refused
