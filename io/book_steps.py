"""Steps as blocks of the cut book: number, the piece in hand with its score, the measure in big figures, what comes off."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from panewright.io import step_words as words
from panewright.io.flaw_words import goes_to
from panewright.io.mark_words import check_words, error_words, mark_words, square_words
from panewright.io.pdf_drawing import MM
from panewright.io.pdf_ops import INK
from panewright.io.pdf_page import FIGURE, FINE, HEAD, TEXT, WORD, Page, fitting, rise
from panewright.io.pdf_text import broken, width
from panewright.io.problems import shown
from panewright.io.step_signs import Boxed, Sign, box_width, boxes_height, draw_boxes, lift_sign, step_signs
from panewright.nesting.pieces import Direction
from panewright.nesting.plan import LeafKind
from panewright.nesting.steps import Mark, Placement, Result, Step
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show

NUMBER: Final = 9.6
"""Width of the column of step numbers. [mm]"""
PICTURE: Final = (13.5, 10.0)
"""Width and height of the picture of the piece in hand. [mm]"""
_LEFT: Final = NUMBER + PICTURE[0] + 2.0
_WORK: Final = 0.51
"""Share of the rest of a row for the measure and the piece in hand; what comes off has what is left."""
_GAP: Final = 1.4
_LEAD: Final = 1.2 / MM
"""From line to line, in font sizes. [mm/pt]"""
_MARKED: Final = 7.0
"""Height of a row of marks. [mm]"""
_FIGURED: Final = 22.0
"""Width of the figure of a mark. [mm]"""
_CHECKED: Final = 0.58
"""Share of the rest for the words of a mark that has a second measure."""
_HEAD: Final = 6.2
"""Height of the line with the measure. [mm]"""

Outlines = Mapping[str, Sequence[tuple[float, float]]]
"""Outlines of pieces that are no rectangles, by name. [nm]"""


@dataclass(frozen=True, slots=True)
class Block:
    """Something of a column: its height, and how it is drawn from its upper left corner. [mm]

    `joins` says that it stays with the next one.
    """

    high: float
    draw: Callable[[Page, float, float], None]
    joins: bool = False


def step_block(step: Step, room: float, openings: int, outlines: Outlines) -> Block:
    """One step.

    Parameters
    ----------
    step
        The step; one that belongs to a placement names the mark at which it is broken.
    room
        Width of the column. [mm]
    openings
        Of the panels that come off.
    outlines
        Of angled pieces.
    """
    full = room - _LEFT
    # both marks of an angled score need the whole row: what comes off stands below them
    below = bool(step.marks)
    work = full if below else full * _WORK
    off = full - full * _WORK - 2.5
    boxes = step_signs(step, openings)
    held = tr(
        "{piece}, {size}, {mass}",
        piece=words.hand_words(step),
        size=words.size_words(step.piece).replace(" mm", ""),
        mass=words.show_mass(step.piece.mass),
    )
    parts = _parts(step, full - off - 2.5 if below else off)
    head = sum(_mark_height(mark, work) for mark in step.marks) if below else _HEAD
    extra = [square_words(step)] if square_words(step) else []
    under = [*broken(held, FINE, work * MM, most=2), *extra]
    left_high = head + len(under) * FINE * _LEAD
    parts_high, boxes_high = len(parts) * TEXT * _LEAD + 0.6, boxes_height(off, boxes)
    if below:
        high = max(left_high + max(parts_high, boxes_high), PICTURE[1]) + _GAP
    else:
        high = max(left_high, parts_high + boxes_high, PICTURE[1]) + _GAP

    def draw(page: Page, x: float, y: float) -> None:
        page.ring(x + 4.2, y - 4.4, 3.9, weight=0.45)
        number = str(step.number)
        size = fitting(number, 13, 6.2, bold=True)
        page.text(x + 4.2, y - 4.4 - rise(size) / 2, number, size, bold=True, across=0.5)
        _picture(page, x + NUMBER, y - 0.3, step, outlines)
        left = x + _LEFT
        line = _marks(page, left, y, work, step) if step.marks else _figure(page, left, y, work, step)
        for text in under:
            line -= FINE * _LEAD
            page.fitted(left, line + 0.6, text, FINE, work, least=5)
        top = line - 0.4 if below else y
        if not below:
            left += work + 2.5
        line = top
        for text, bold in parts:
            line -= TEXT * _LEAD
            page.text(left, line + 0.5, text, TEXT, bold=bold)
        if boxes:
            draw_boxes(page, x + room - off, top - 0.6 if below else line - 0.6, off, boxes)
        page.rule(x, y - high + 0.7, x + room, y - high + 0.7, 0.12)

    return Block(high, draw)


def _figure(page: Page, x: float, y: float, room: float, step: Step) -> float:
    """The measure in big figures and the edge it is taken from; gives the y below. [mm]"""
    assert step.measure is not None and step.measured_from is not None
    figure, edge = show(step.measure, unit=False), step.measured_from
    if '"' in show(step.measure):
        figure = show(step.measure)
    size = fitting(figure, FIGURE, room - 22, bold=True)
    wide = page.text(x, y - rise(FIGURE) - 0.2, figure, size, bold=True)
    at = x + wide + 2
    first = tr("from {edge}", edge=tr(edge.value))
    if step.placement is not None:
        second = tr("break here")
    elif step.stays_set:
        second = tr("the stop stays")
    else:
        second = "" if step.is_square else tr("square to it")
    rest = x + room - at
    page.fitted(at, y - rise(WORD) - 0.2, first, WORD, rest, bold=True)
    if second:
        page.fitted(at, y - rise(FIGURE) - 0.2, second, TEXT, rest, bold=step.stays_set)
    return y - _HEAD


def _mark_height(mark: Mark, room: float) -> float:
    words_wide = (room - _FIGURED) * (_CHECKED if check_words(mark) else 1.0)
    return max(5.0, len(broken(_mark_rest(mark), TEXT, words_wide * MM, bold=True)) * TEXT * _LEAD + 0.8)


def _is_corner(mark: Mark) -> bool:
    return not mark.table or mark.table >= mark.edge_length


def _mark_rest(mark: Mark) -> str:
    """The words of a mark without its figure, which stands beside them."""
    said = mark_words(mark)
    figure = show(mark.table)
    return said if _is_corner(mark) else said.removeprefix(figure).strip()


def _marks(page: Page, x: float, y: float, room: float, step: Step) -> float:
    """Both marks of an angled score; gives the y below. [mm]"""
    for mark in step.marks:
        figure = tr("the corner") if _is_corner(mark) else show(mark.table, unit='"' in show(mark.table))
        size = fitting(figure, HEAD + 2, _FIGURED - 2, bold=True)
        page.text(x, y - rise(HEAD + 2) - 0.2, figure, size, bold=True)
        check = check_words(mark)
        at, room_left = x + _FIGURED, room - _FIGURED
        line = y - (0.6 if mark is step.marks[0] else 0.4)
        for text in broken(_mark_rest(mark), TEXT, room_left * (_CHECKED if check else 1.0) * MM, bold=True):
            line -= TEXT * _LEAD
            page.text(at, line + 0.2, text, TEXT, bold=True)
        if check:
            check = tr("check: {measure}", measure=check)
            wide = room_left * (1 - _CHECKED) - 2
            page.fitted(x + room - wide, y - 0.6 - TEXT * _LEAD + 0.2, check, FINE, wide, least=5)
        y = y - _mark_height(mark, room)
    return y - 0.4


def _part(result: Result, step: int) -> tuple[str, bool]:
    """What comes off on one side, and whether it stands in bold letters."""
    # the page says the unit once: more often it only breaks lines
    size = words.size_words(result).replace(" mm", "")
    match result.kind:
        case LeafKind.PANEL:
            said = [f"{shown(result.order or '', 40)} {shown(result.panel_name or '', 40)}", size]
        case LeafKind.OFFCUT:
            said = [words.result_words(result, step), size]
        case _:
            said = [words.result_words(result, step)]
    if error := error_words(result.error):
        said.append(error)
    part = tr("{part}: {what}", part=tr(result.part.value), what=", ".join(said))
    return part, result.kind in (LeafKind.PANEL, LeafKind.OFFCUT)


def _parts(step: Step, room: float) -> list[tuple[str, bool]]:
    """Lines of what comes off; two short ones share a line."""
    found: list[tuple[str, bool]] = []
    for result in step.makes:
        found.append(_part(result, step.number))
        if result.rack:
            found.append((goes_to(result.rack, result.slot), True))
    if not any(bold for _, bold in found):
        both = "   ".join(text for text, _ in found)
        if width(both, TEXT) <= room * MM:
            return [(both, False)]
    return [(line, bold) for text, bold in found for line in broken(text, TEXT, room * MM, bold=bold, most=3)]


# ---------------------------------------------------------------- a placement


def placement_block(step: Step, room: float, outlines: Outlines) -> Block:
    """The placement that begins before a step: lay down, mark all, score all.

    Parameters
    ----------
    step
        The first break of the placement.
    room
        Width of the column. [mm]
    outlines
        Of angled pieces.
    """
    placement = step.placement
    assert placement is not None
    inner = room - 5
    side = PICTURE[0] + 2
    figures = [show(mark, unit='"' in show(mark)) for mark in placement.marks]
    rows = _figure_rows(figures, inner - side)
    lift = lift_sign(step.lift, placement.piece.mass)
    raw: list[Boxed] = [(Sign.RAW, tr("raw edge"))] if placement.edge_is_raw else []
    boxes = [*([lift] if lift else []), *raw]
    off = sum(box_width(text) + 1.2 for _, text in boxes)
    text = tr(
        "lay down {piece}, {size}, {mass}",
        piece=words.piece_words(placement.piece),
        size=words.size_words(placement.piece),
        mass=words.show_mass(placement.piece.mass),
    )
    if step.turns:
        text = tr("{text}, turn it a quarter", text=text)
    said = broken(text, TEXT, (inner - side - off) * MM, bold=True, most=3)
    edge = tr("mark all from the {edge} edge", edge=tr(placement.edge.value))
    scores = tr_count(
        "{count} score of {length}, then break",
        "{count} scores of {length}, then break by halves",
        len(placement.marks),
        length=show(placement.score),
    )
    lines = len(said) * TEXT * _LEAD + WORD * _LEAD
    high = max(lines + len(rows) * _MARKED + 2.2, PICTURE[1] + 2.5) + _GAP

    def draw(page: Page, x: float, y: float) -> None:
        page.frame(x, y - high + _GAP, 1.6, high - _GAP, weight=0, fill=INK)
        page.frame(x, y - high + _GAP, room, high - _GAP, weight=0.3)
        _picture(page, x + 3.2, y - 1.0, step, outlines, placement)
        left, line = x + 3.2 + side, y - 0.6
        for one in said:
            line -= TEXT * _LEAD
            page.text(left, line + 0.6, one, TEXT, bold=True)
        line -= WORD * _LEAD
        wide = page.text(left, line + 0.6, edge, WORD, bold=True)
        page.fitted(left + wide + 3, line + 0.6, scores, TEXT, inner - side - wide - 3)
        for row in rows:
            at = left
            for i, figure in enumerate(row):
                if i:
                    page.rule(at - 1.7, line - _MARKED + 1.0, at - 1.7, line - 0.6, 0.3)
                at += page.text(at, line - rise(FIGURE) - 0.6, figure, FIGURE, bold=True) + 3.4
            line -= _MARKED
        if boxes:
            draw_boxes(page, x + room - off - 0.5, y - 1.0, off + 1, boxes)

    return Block(high, draw, joins=True)


def _figure_rows(figures: Sequence[str], room: float) -> list[list[str]]:
    rows: list[list[str]] = [[]]
    at = 0.0
    for figure in figures:
        wide = width(figure, FIGURE, bold=True) / MM + 3.4
        if rows[-1] and at + wide - 3.4 > room:
            rows.append([])
            at = 0.0
        rows[-1].append(figure)
        at += wide
    return rows


# ---------------------------------------------------------------- the piece in hand


def _picture(
    page: Page, x: float, y: float, step: Step, outlines: Outlines, placement: Placement | None = None
) -> None:
    """The piece in hand, drawn small: the edge that is measured from is heavy, scores are dashed."""
    held = placement.piece if placement else step.piece
    scale = min(PICTURE[0] / max(held.width, 1), PICTURE[1] / max(held.height, 1))
    wide, high = max(held.width * scale, 1.2), max(held.height * scale, 1.2)
    x0, y0 = x + (PICTURE[0] - wide) / 2, y - PICTURE[1] / 2 - high / 2
    outline = outlines.get(held.name)
    if outline is None:
        page.frame(x0, y0, wide, high, weight=0.2, fill="#f1f6fb")
    else:
        left, low = min(p[0] for p in outline), min(p[1] for p in outline)
        page.path(
            [(x0 + (a - left) * scale, y0 + (b - low) * scale) for a, b in outline],
            weight=0.2,
            fill="#f1f6fb",
        )
        if step.marks and placement is None:
            ends = [(x0 + (m.at[0] - left) * scale, y0 + (m.at[1] - low) * scale) for m in step.marks]
            page.path(ends, weight=0.5, closed=False, dashes=(1.1, 0.6))
            for m in step.marks:
                cx, cy = x0 + (m.corner[0] - left) * scale, y0 + (m.corner[1] - low) * scale
                page.ring(cx, cy, 0.55, weight=0, fill=INK)
            return
    edge = placement.edge if placement else step.edge
    if edge is None:
        return
    marks = placement.marks if placement else ((step.distance or 0),)
    for mark in marks:
        _score(page, (x0, y0, wide, high), edge, mark * scale)
    if placement is not None or step.placement is None:
        _heavy(page, (x0, y0, wide, high), edge)


def _score(page: Page, box: tuple[float, float, float, float], edge: Direction, at: float) -> None:
    x, y, wide, high = box
    match edge:
        case Direction.LEFT | Direction.RIGHT:
            place = min(max(at, 0.3), wide)
            place = x + place if edge is Direction.LEFT else x + wide - place
            page.rule(place, y, place, y + high, 0.4, (1.1, 0.6))
        case Direction.BOTTOM | Direction.TOP:
            place = min(max(at, 0.3), high)
            place = y + place if edge is Direction.BOTTOM else y + high - place
            page.rule(x, place, x + wide, place, 0.4, (1.1, 0.6))
        case _:
            return


def _heavy(page: Page, box: tuple[float, float, float, float], edge: Direction) -> None:
    x, y, wide, high = box
    match edge:
        case Direction.LEFT:
            page.rule(x, y, x, y + high, 0.9)
        case Direction.RIGHT:
            page.rule(x + wide, y, x + wide, y + high, 0.9)
        case Direction.BOTTOM:
            page.rule(x, y, x + wide, y, 0.9)
        case Direction.TOP:
            page.rule(x, y + high, x + wide, y + high, 0.9)
        case _:
            return


def note_block(head: str, lines: Sequence[str], room: float, *, several: bool = False) -> Block:
    """A heading and lines of text; with `several` in as many columns as short lines allow."""
    widest = max((width(text, TEXT) / MM for text in lines), default=0.0) + 4
    columns = max(1, int((room + 4) / widest)) if several else 1
    said = [line for text in lines for line in broken(text, TEXT, (room / columns) * MM)]
    rows = -(-len(said) // columns)
    high = WORD * _LEAD + rows * TEXT * _LEAD + _GAP + 1.2

    def draw(page: Page, x: float, y: float) -> None:
        line = y - WORD * _LEAD
        page.fitted(x, line + 0.6, head, WORD, room, bold=True)
        for i, text in enumerate(said):
            at = line - (i % rows + 1) * TEXT * _LEAD
            page.text(x + (i // rows) * room / columns, at + 0.5, text, TEXT)
        page.rule(x, y - high + 1.6, x + room, y - high + 1.6, 0.12)

    return Block(high, draw)
