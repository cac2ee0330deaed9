"""Tables on paper: columns as wide as they need, long texts over several lines, headings on every page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from panewright.io.pdf_drawing import MM
from panewright.io.pdf_page import FINE, TEXT, WORD, Page
from panewright.io.pdf_text import broken, clipped, width
from panewright.io.problems import shown
from panewright.io.report.model import Table
from panewright.io.report.paper_flow import EDGE, LEAD, Flow
from panewright.io.report.value_text import LONGEST, WORDS, heading, text_of
from panewright.nesting.text import tr

SIZES: Final = (TEXT, 7.5, FINE)
"""Of the text, the largest that fits. [pt]"""
_GAP: Final = 2.4
"""Between two columns. [mm]"""
_PAD: Final = 0.75
"""Above and below the text of a row. [mm]"""
_LEAST_WORDS, _MOST_WORDS = 26.0, 70.0
"""Width of a column of words: at least, where it needs as much, and at most. [mm]"""
_WIDEST_NUMBER: Final = 34.0
_MOST_LINES: Final = 6

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Columns of a table that stand side by side on a page."""

    heads: Row
    rows: tuple[Row, ...]
    total: Row | None
    is_words: tuple[bool, ...]
    widths: tuple[float, ...]
    size: float


def least_room(table: Table, currency: str) -> float:
    """The width that a table needs at the smallest size. [mm]"""
    heads, rows, is_words = _texts(table, currency)
    return _total([least for least, _ in _needs(heads, rows, is_words, SIZES[-1])])


def put_table(flow: Flow, table: Table, currency: str, title: str, *, titled: bool = True) -> None:
    """Add a table, in parts side by side after each other where it is too wide for one page.

    Parameters
    ----------
    flow
        The pages.
    table
        The table.
    currency
        Of its money.
    title
        Above it, and again on every page that it runs on to.
    titled
        Whether it stands above the first part too: not where the heading of the subject says it.
    """
    for number, sheet in enumerate(_sheets(table, currency, flow.room)):
        head = tr("{title}, further columns", title=title) if number else title
        _put(flow, sheet, head, titled or number > 0)
        flow.gap(2.0)
    note = " ".join(filter(None, [tr("nothing to list") if not table.rows else "", table.note]))
    if note:
        flow.text(shown(note, 2000), FINE)


def _texts(table: Table, currency: str) -> tuple[Row, tuple[Row, ...], tuple[bool, ...]]:
    kinds = [column.kind for column in table.columns]
    heads = tuple(heading(column, currency) for column in table.columns)
    rows = [*table.rows, *([table.total] if table.total is not None else [])]
    texts = tuple(tuple(text_of(v, kind) for v, kind in zip(row, kinds, strict=True)) for row in rows)
    return heads, texts, tuple(kind in WORDS for kind in kinds)


def _needs(
    heads: Row, rows: Sequence[Row], is_words: Sequence[bool], size: float
) -> list[tuple[float, float]]:
    """Least and best width of every column. [mm]"""
    out = []
    for j, head in enumerate(heads):
        cells = max((width(row[j], size, bold=True) / MM for row in rows), default=0.0)
        # a heading may run over lines at its blanks
        words = max((width(word, size, bold=True) / MM for word in head.split()), default=0.0)
        best = max(cells, min(width(head, size, bold=True) / MM, 2 * words), 6.0)
        if is_words[j]:
            best = min(best, _MOST_WORDS)
            out.append((max(min(words, _LEAST_WORDS), min(cells, _LEAST_WORDS), 6.0), best))
        else:
            least = max(min(cells, _WIDEST_NUMBER), min(words, _LEAST_WORDS), 6.0)
            out.append((least, max(least, min(best, _WIDEST_NUMBER))))
    return out


def _total(widths: Sequence[float]) -> float:
    return sum(widths) + _GAP * max(0, len(widths) - 1) + 0.01


def _sheets(table: Table, currency: str, room: float) -> list[_Sheet]:
    heads, texts, is_words = _texts(table, currency)
    if not heads:
        return []
    for size in SIZES:
        needs = _needs(heads, texts, is_words, size)
        if _total([least for least, _ in needs]) <= room:
            break
    groups: list[list[int]] = [[]]
    for j in range(len(heads)):
        # the first column names the rows: it stands again before the columns of every part
        if groups[-1] and _total([needs[i][0] for i in (*groups[-1], j)]) > room:
            groups.append([0] if is_words[0] else [])
        groups[-1].append(j)
    out = []
    for group in groups:
        body = [tuple(row[j] for j in group) for row in texts]
        total = body.pop() if table.total is not None else None
        widths = _spread([needs[j] for j in group], room)
        out.append(
            _Sheet(
                tuple(heads[j] for j in group),
                tuple(body),
                total,
                tuple(is_words[j] for j in group),
                widths,
                size,
            )
        )
    return out


def _spread(needs: Sequence[tuple[float, float]], room: float) -> tuple[float, ...]:
    """Every column its least width, and a like share of what it would like beyond."""
    spare = room - _total([least for least, _ in needs])
    wish = sum(best - least for least, best in needs)
    share = min(1.0, max(0.0, spare / wish)) if wish else 0.0
    return tuple(least + (best - least) * share for least, best in needs)


def _put(flow: Flow, sheet: _Sheet, title: str, titled: bool) -> None:
    head = _Lines(sheet, sheet.heads, "head")
    rows = [_Lines(sheet, row, "row") for row in sheet.rows]
    if sheet.total is not None:
        rows.append(_Lines(sheet, sheet.total, "total"))
    title_high = WORD * LEAD + 1.0
    flow.need(title_high + head.high + sum(row.high for row in rows[:2]))
    if titled:
        flow.put(title_high, _Title(title, flow.room))
    flow.put(head.high, head)
    for i, row in enumerate(rows):
        # a total does not stand alone on a page
        high = row.high + (rows[i + 1].high if i == len(rows) - 2 and sheet.total is not None else 0.0)
        if not flow.fits(high):
            flow.new_page()
            flow.put(title_high, _Title(tr("{title}, continued", title=title), flow.room))
            flow.put(head.high, head)
        flow.put(row.high, row)


class _Title:
    def __init__(self, text: str, room: float) -> None:
        self.text = clipped(shown(text, LONGEST), WORD, room * MM, bold=True)

    def __call__(self, page: Page, y: float) -> None:
        page.text(EDGE, y - WORD / MM, self.text, WORD, bold=True)


class _Lines:
    """A row, its texts in lines."""

    def __init__(self, sheet: _Sheet, texts: Row, kind: str) -> None:
        self.sheet, self.kind = sheet, kind
        self.bold = kind != "row"
        self.cells = [
            broken(text, sheet.size, wide * MM * 1.001, bold=self.bold, most=_MOST_LINES) if text else []
            for text, wide in zip(texts, sheet.widths, strict=True)
        ]
        self.high = max(map(len, self.cells), default=1) * sheet.size * LEAD + 2 * _PAD
        self.high = max(self.high, sheet.size * LEAD + 2 * _PAD)

    def __call__(self, page: Page, y: float) -> None:
        sheet, wide = self.sheet, _total(self.sheet.widths)
        if self.kind == "head":
            page.frame(EDGE - 0.8, y - self.high, wide + 1.6, self.high, weight=0, fill="#eef0f2")
        x, step = EDGE, sheet.size * LEAD
        for lines, room, is_words in zip(self.cells, sheet.widths, sheet.is_words, strict=True):
            # headings of one line stand at the foot of those with more
            drop = (self.high - 2 * _PAD) - len(lines) * step if self.kind == "head" else 0.0
            for i, line in enumerate(lines):
                base = y - _PAD - drop - i * step - sheet.size / MM
                if is_words:
                    page.text(x, base, line, sheet.size, bold=self.bold)
                else:
                    page.text(x + room, base, line, sheet.size, bold=self.bold, across=1.0)
            x += room + _GAP
        if self.kind == "total":
            page.rule(EDGE - 0.8, y, EDGE + wide + 0.8, y, 0.4)
        low = y - self.high
        if self.kind == "head":
            page.rule(EDGE - 0.8, low, EDGE + wide + 0.8, low, 0.4)
        else:
            page.frame(EDGE - 0.8, low, wide + 1.6, 0.12, weight=0, fill="#b9c0c5")
