"""A report on paper: title and what matters most, a section a subject with its pictures and tables, cautions at the end."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

from panewright.io.pdf_drawing import MM
from panewright.io.pdf_page import FIGURE, FINE, HEAD, TEXT, WORD, Page, document, rise
from panewright.io.pdf_text import clipped
from panewright.io.problems import shown
from panewright.io.report.chart_pdf import draw_chart
from panewright.io.report.model import Picture, Report, Subject
from panewright.io.report.paper_flow import EDGE, HEAD_ROOM, LEAD, Draw, Flow
from panewright.io.report.paper_table import least_room, put_table
from panewright.io.report.pictures import chart_of, is_empty
from panewright.io.report.screen import sentence
from panewright.io.report.value_text import LONGEST
from panewright.nesting.shop_table import Paper
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_MM

PICTURE_HIGH: Final = 58.0
PICTURE_WIDE: Final = 190.0
"""At most. [mm]"""
PICTURE_TEXT: Final = 7.8
"""[pt]"""
_KEPT: Final = 24.0
"""What must fit below a heading, so that it does not stand alone. [mm]"""


def paper_bytes(report: Report, *, paper: Paper = Paper.A4) -> bytes:
    """The PDF, the same bytes for the same report; across where a table is too wide for an upright page."""
    wide, high = (side / NM_PER_MM for side in paper.size)
    needed = max(
        (least_room(table, report.currency) for subject in report.subjects for table in subject.tables),
        default=0.0,
    )
    size = paper.size
    if needed > wide - 2 * EDGE:
        wide, high, size = high, wide, (paper.size[1], paper.size[0])
    flow = Flow(wide, high)
    _front(flow, report)
    for subject in report.subjects:
        _subject(flow, subject, report.currency)
    _cautions(flow, report)
    total = len(flow.pages)
    pages = [partial(_page, report, draws, number, total) for number, draws in enumerate(flow.pages, start=1)]
    return document(shown(report.title, LONGEST), size, pages, subject=shown(report.about, LONGEST))


def _front(flow: Flow, report: Report) -> None:
    flow.y += HEAD_ROOM - 1.0
    flow.text(shown(report.title, LONGEST), FIGURE * 0.82, bold=True, most=3)
    if report.about:
        flow.text(sentence(report.about), WORD)
    flow.y -= 2.5
    for text in report.lead:
        _point(flow, text, WORD)
    flow.y -= 1.0


def _point(flow: Flow, text: str, size: float) -> None:
    """A sentence with a mark before it."""
    flow.need(size * LEAD)
    flow.put(0.0, partial(_mark, size))
    flow.text(sentence(text), size, left=4.0)
    flow.y -= 0.8


def _mark(size: float, page: Page, y: float) -> None:
    page.frame(EDGE, y - size / MM, 1.6, rise(size), weight=0, fill="#15191d")


def _subject(flow: Flow, subject: Subject, currency: str) -> None:
    name = shown(subject.name, LONGEST)
    flow.gap(6.0)
    flow.need(HEAD * LEAD + _KEPT)
    flow.text(name, HEAD, bold=True, most=2)
    flow.put(1.6, _rule)
    for text in subject.words:
        flow.text(sentence(text), TEXT + 0.8)
        flow.y -= 0.8
    for picture in subject.pictures:
        _picture(flow, picture)
    for table in subject.tables:
        flow.gap(3.0)
        put_table(flow, table, currency, table.title or name, titled=table.title not in ("", subject.name))


def _rule(page: Page, y: float) -> None:
    page.rule(EDGE, y - 0.4, page.wide - EDGE, y - 0.4, 0.6)


def _picture(flow: Flow, picture: Picture) -> None:
    flow.gap(3.0)
    title = clipped(shown(picture.title, LONGEST), WORD, flow.room * MM, bold=True)
    if is_empty(picture):
        flow.need(WORD * LEAD + TEXT * LEAD)
        flow.text(title, WORD, bold=True)
        flow.text(tr("nothing to show"), TEXT)
        return
    chart = chart_of(picture, min(flow.room, PICTURE_WIDE) * MM, PICTURE_HIGH * MM, PICTURE_TEXT)

    def draw(page: Page, y: float) -> None:
        page.text(EDGE, y - WORD / MM, title, WORD, bold=True)
        draw_chart(page, chart, EDGE, y - WORD * LEAD - 1.5 - PICTURE_HIGH)

    flow.put(WORD * LEAD + 1.5 + PICTURE_HIGH, draw)


def _cautions(flow: Flow, report: Report) -> None:
    if not report.cautions:
        return
    flow.gap(6.0)
    flow.need(HEAD * LEAD + _KEPT / 2)
    flow.text(tr("Mind"), HEAD, bold=True)
    flow.put(1.6, _rule)
    for text in report.cautions:
        _point(flow, text, TEXT + 0.8)


def _page(report: Report, draws: Sequence[Draw], number: int, total: int, page: Page) -> None:
    for draw in draws:
        draw(page)
    right = tr("page {number} of {total}", number=number, total=total)
    wide = page.text(page.wide - EDGE, EDGE - 4.0, right, FINE, across=1.0)
    about = sentence(report.about)
    page.fitted(EDGE, EDGE - 4.0, about, FINE, page.wide - 2 * EDGE - wide - 5, least=FINE)
    if number > 1:
        page.fitted(
            EDGE, page.high - EDGE, shown(report.title, LONGEST), FINE, page.wide - 2 * EDGE, least=FINE
        )
        page.rule(EDGE, page.high - EDGE - 1.8, page.wide - EDGE, page.high - EDGE - 1.8, 0.2)
