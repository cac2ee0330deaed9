"""A report for the terminal: its words, and its tables with every value as text, in reading order.

How wide a table may be is for the command line to know (`cli.report_screen`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from panewright.io.problems import shown
from panewright.io.report.model import Report, Subject, Table
from panewright.io.report.value_text import LONGEST, WORDS, heading, text_of
from panewright.nesting.text import tr

MOST_ROWS: Final = 60
"""Rows of a table on the screen; the files hold all of them."""
LONGEST_SENTENCE: Final = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenTable:
    """A table of texts.

    Parameters
    ----------
    title
        Stands above it.
    headings, rows
        Texts; the total is the last row.
    left
        Columns from the left that hold words.
    words
        Further columns that hold words.
    wrap
        Whether the last column may run over several lines.
    notes
        Lines below it.
    """

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: int
    words: tuple[int, ...]
    wrap: bool
    notes: tuple[str, ...]


def screen_parts(report: Report, *, most: int = MOST_ROWS) -> list[str | ScreenTable]:
    """What a report says on the terminal; pictures are for the files.

    Parameters
    ----------
    report
        The report.
    most
        Rows of a table that are shown before its total.
    """
    parts: list[str | ScreenTable] = [_block([sentence(report.title), sentence(report.about)])]
    if report.lead:
        parts.append(_block([sentence(text) for text in report.lead]))
    for subject in report.subjects:
        parts += _subject(subject, report.currency, most)
    if report.cautions:
        parts.append(_block([tr("Mind:"), *(f"  {sentence(text)}" for text in report.cautions)]))
    return [part for part in parts if part]


def sentence(text: str) -> str:
    """A sentence of the report, safe on every line."""
    return shown(text, LONGEST_SENTENCE)


def _block(lines: list[str]) -> str:
    return "\n".join(line for line in lines if line.strip())


def _subject(subject: Subject, currency: str, most: int) -> list[str | ScreenTable]:
    name = shown(subject.name, LONGEST)
    if not subject.tables and not subject.words:  # pictures alone: a heading with nothing below it
        return []
    alone = len(subject.tables) == 1 and subject.tables[0].title in (subject.name, "")
    head = [] if alone and not subject.words else [name]
    return [
        _block([*head, *(sentence(text) for text in subject.words)]),
        # a title that only says the heading again is left out
        *(
            _table(table, "" if head and table.title == subject.name else table.title or name, currency, most)
            for table in subject.tables
        ),
    ]


def _table(table: Table, title: str, currency: str, most: int) -> ScreenTable:
    kinds = [column.kind for column in table.columns]
    rows = [*table.rows[:most], *([table.total] if table.total is not None else [])]
    notes = [sentence(table.note)] if table.note else []
    if not table.rows:
        notes.insert(0, tr("nothing to list"))
    elif len(table.rows) > most:
        told = tr("{shown} of {count} rows; --out writes all of them", shown=most, count=len(table.rows))
        notes.insert(0, told)
    left = next((i for i, kind in enumerate(kinds) if kind not in WORDS), len(kinds))
    return ScreenTable(
        title=shown(title, LONGEST),
        headings=tuple(heading(column, currency) for column in table.columns),
        rows=tuple(
            tuple(text_of(value, kind) for value, kind in zip(row, kinds, strict=True)) for row in rows
        ),
        left=left,
        words=tuple(i for i in range(left, len(kinds)) if kinds[i] in WORDS),
        wrap=bool(kinds) and kinds[-1] == "text",
        notes=tuple(notes),
    )
