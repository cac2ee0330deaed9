"""A report as one HTML page that needs nothing else: no script, no network; its looks lie in `templates`."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator, Sequence
from hashlib import sha256
from html import escape
from importlib.resources import files
from typing import Final

from panewright.io.problems import shown
from panewright.io.report.chart_svg import ink_rules, light_and_dark, svg_element
from panewright.io.report.model import Kind, Picture, Report, Subject, Table, Value
from panewright.io.report.picture_numbers import picture_table
from panewright.io.report.picture_words import picture_words
from panewright.io.report.pictures import chart_of, is_empty
from panewright.io.report.screen import sentence
from panewright.io.report.value_text import LONGEST, WORDS, heading, text_of
from panewright.nesting.text import current_language, tr, tr_count

WIDE: Final = (920.0, 350.0, 13.0)
"""Width, height and text size of pictures on a wide screen and on paper. [px]"""
NARROW: Final = (350.0, 300.0, 12.0)
"""The same on a phone. [px]"""
KEPT: Final = 22
"""Texts up to this length are not broken over lines. [characters]"""
MOST_NUMBERS: Final = 400
"""Rows of the numbers beside a picture."""


def page_text(report: Report) -> str:
    """The page, whole, in the language set by `use_language`."""
    style = _style()
    policy = f"default-src 'none'; style-src '{_hash(style)}'; base-uri 'none'; form-action 'none'"
    body = "\n".join(_body(report))
    return (
        f'<!doctype html>\n<html lang="{escape(current_language().code)}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n<meta name="referrer" content="no-referrer">\n'
        f"<title>{_safe(report.title)}</title>\n<style>{style}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def _hash(text: str) -> str:
    """A source of a content security policy (W3C CSP Level 3, section 2.3.1)."""
    return "sha256-" + b64encode(sha256(text.encode("utf-8")).digest()).decode("ascii")


def _style() -> str:
    light, dark = light_and_dark()
    text = (files("panewright.io") / "templates" / "report.css").read_text(encoding="utf-8")
    return text.replace("{{light}}", light).replace("{{dark}}", dark).replace("{{inks}}", ink_rules("svg "))


def _safe(text: str) -> str:
    return escape(shown(text, LONGEST))


def _said(text: str) -> str:
    return escape(sentence(text))


def _body(report: Report) -> Iterator[str]:
    yield f"<header><h1><bdi>{_safe(report.title)}</bdi></h1>"
    if report.about:
        yield f"<p>{_said(report.about)}</p>"
    yield "</header>"
    if len(report.subjects) > 1:
        yield f'<nav aria-label="{escape(tr("subjects"))}"><ul>'
        for i, subject in enumerate(report.subjects, start=1):
            yield f'<li><a href="#s{i}"><bdi>{_safe(subject.name)}</bdi></a></li>'
        yield "</ul></nav>"
    yield "<main>"
    if report.lead:
        yield '<ul class="lead">' + "".join(f"<li>{_said(text)}</li>" for text in report.lead) + "</ul>"
    for i, subject in enumerate(report.subjects, start=1):
        yield from _subject(subject, report.currency, f"s{i}")
    if report.cautions:
        yield f'<section class="cautions" aria-labelledby="mind"><h2 id="mind">{escape(tr("Mind"))}</h2><ul>'
        yield from (f"<li>{_said(text)}</li>" for text in report.cautions)
        yield "</ul></section>"
    yield "</main>"


def _subject(subject: Subject, currency: str, id: str) -> Iterator[str]:
    yield f'<section aria-labelledby="{id}"><h2 id="{id}"><bdi>{_safe(subject.name)}</bdi></h2>'
    yield from (f"<p>{_said(text)}</p>" for text in subject.words)
    for k, picture in enumerate(subject.pictures, start=1):
        yield from _figure(picture, f"{id}p{k}")
    for k, table in enumerate(subject.tables, start=1):
        named = bool(table.title) and table.title != subject.name
        if named:
            yield f'<h3 id="{id}t{k}"><bdi>{_safe(table.title)}</bdi></h3>'
        yield from _table(table, currency, f"{id}t{k}" if named else id)
        if table.note:
            yield f'<p class="note">{_said(table.note)}</p>'
    yield "</section>"


def _figure(picture: Picture, id: str) -> Iterator[str]:
    head = f'<h3 id="{id}"><bdi>{_safe(picture.title)}</bdi></h3>'
    if is_empty(picture):
        yield f'{head}<p class="note">{escape(tr("nothing to show"))}</p>'
        return
    words = picture_words(picture)
    yield f"<figure><figcaption>{head}</figcaption>"
    for kind, (wide, high, size) in (("wide", WIDE), ("narrow", NARROW)):
        yield svg_element(chart_of(picture, wide, high, size), kind=kind, label=words)
    numbers = picture_table(picture)
    if 0 < len(numbers.rows) <= MOST_NUMBERS:
        yield f"<details><summary>{escape(tr('The numbers of this picture'))}</summary>"
        yield from _table(numbers, "", id)
        yield "</details>"
    yield "</figure>"


def _table(table: Table, currency: str, id: str) -> Iterator[str]:
    if not table.rows:
        yield f'<p class="note">{escape(tr("nothing to list"))}</p>'
        if table.total is None:
            return
    kinds = [column.kind for column in table.columns]
    named = bool(kinds) and kinds[0] in WORDS
    look = ' class="named"' if named else ""
    yield f'<div class="box" role="group" tabindex="0" aria-labelledby="{id}"><table{look} aria-labelledby="{id}"><thead><tr>'
    for column in table.columns:
        name, side = escape(heading(column, currency)), "" if column.kind in WORDS else ' class="n"'
        # a heading without words is no heading
        yield f'<th scope="col"{side}>{name}</th>' if name.strip() else f"<td{side}></td>"
    yield "</tr></thead><tbody>"
    for row in table.rows:
        yield _row(row, kinds, named)
    yield "</tbody>"
    if table.total is not None:
        yield f"<tfoot>{_row(table.total, kinds, named)}</tfoot>"
    yield "</table></div>"
    if len(table.rows) > 30:
        yield f'<p class="count">{escape(tr_count("{count} row", "{count} rows", len(table.rows)))}</p>'


def _row(row: Sequence[Value], kinds: Sequence[Kind], named: bool) -> str:
    cells = []
    for j, (value, kind) in enumerate(zip(row, kinds, strict=True)):
        text = escape(text_of(value, kind))
        if kind in WORDS:
            # short names, sizes and days stay on one line
            look = ' class="k"' if len(text) <= KEPT or kind != "text" else ""
            text = f"<bdi>{text}</bdi>" if text else ""
            head = named and j == 0 and text
            cells.append(f'<th scope="row"{look}>{text}</th>' if head else f"<td{look}>{text}</td>")
        else:
            cells.append(f'<td class="n">{text}</td>')
    return f"<tr>{''.join(cells)}</tr>"
