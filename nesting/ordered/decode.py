"""From the moves of the beam to patterns of spans."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from .laid import Laid, Span
from .trial import COLUMN, ROW, SHEET_V


@dataclass(slots=True)
class _Column:
    x: int
    y: int
    width: int
    rects: list[tuple[int, int]]  # rectangle, top


@dataclass(slots=True)
class _Row:
    bottom: int
    top: int = 0
    columns: list[_Column] = field(default_factory=list)


@dataclass(slots=True)
class _Strip:
    left: int
    right: int = 0
    rows: list[_Row] = field(default_factory=list)


def patterns_of(
    table: Sequence[Sequence[int]],
    sequence: Sequence[int],
    sizes: Sequence[Sequence[int]],
    variants: tuple[Sequence[Sequence[int]], Sequence[Sequence[int]], Sequence[int]],
    numbered: Sequence[bool] = (),
) -> list[Laid]:
    """The patterns of the sheets that the moves use, in their order; numbered ones between them go whole.

    Parameters
    ----------
    table
        As `beam.retrace` gives them.
    sequence
        Stock of each sheet.
    sizes
        Inner width and height of each.
    variants
        Widths and heights by frame, and rectangles.
    numbered
        Whether each sheet of the sequence may not be passed over.
    """
    wide, high, rects = variants
    out: list[Laid] = []
    strips: list[_Strip] = []
    number = frame = -1

    def end_sheet() -> None:
        if strips:
            size = sizes[number]
            length, depth = (size[0], size[1]) if frame == 0 else (size[1], size[0])
            out.append(Laid(sequence[number], frame, _sheet(strips, length, depth)))

    for line in table:
        _, v, v2, kind, xs, ys, x, y, plate, right, upper = line
        if kind >= SHEET_V:
            end_sheet()
            strips = []
            for k in range(number + 1, plate // 2):
                if k < len(numbered) and numbered[k]:
                    out.append(Laid(sequence[k], 0, (Span(sizes[k][0]),)))
            number, frame = plate // 2, plate % 2
        if kind > ROW:
            strips.append(_Strip(xs))
        if kind > COLUMN:
            strips[-1].rows.append(_Row(ys))
        top = y + high[frame][v]
        column = _Column(x, y, wide[frame][v], [(rects[v], top)])
        if v2 >= 0:
            column.rects.append((rects[v2], top + high[frame][v2]))
        strips[-1].right = right
        row = strips[-1].rows[-1]
        row.top = upper
        row.columns.append(column)
    end_sheet()
    return out


def _sheet(strips: Sequence[_Strip], length: int, depth: int) -> tuple[Span, ...]:
    spans: list[Span] = []
    at = 0
    for strip in strips:
        if strip.left > at:
            spans.append(Span(strip.left))
        spans.append(Span(strip.right, parts=_strip(strip, depth)))
        at = strip.right
    if at < length:
        spans.append(Span(length))
    return tuple(spans)


def _strip(strip: _Strip, depth: int) -> tuple[Span, ...]:
    spans: list[Span] = []
    at = 0
    for row in strip.rows:
        if row.bottom > at:
            spans.append(Span(row.bottom))
        spans.append(Span(row.top, parts=_row(row, strip.left, strip.right)))
        at = row.top
    if at < depth:
        spans.append(Span(depth))
    return tuple(spans)


def _row(row: _Row, left: int, right: int) -> tuple[Span, ...]:
    spans: list[Span] = []
    at = left
    for column in row.columns:
        if column.x > at:
            spans.append(Span(column.x))
        at = column.x + column.width
        spans.append(_column(column, at, row.bottom, row.top))
    if at < right:
        spans.append(Span(right))
    return tuple(spans)


def _column(column: _Column, end: int, bottom: int, top: int) -> Span:
    if column.y == bottom and len(column.rects) == 1 and column.rects[0][1] == top:
        return Span(end, column.rects[0][0])
    spans = [Span(column.y)] if column.y > bottom else []
    spans += [Span(upper, rect) for rect, upper in column.rects]
    if spans[-1].end < top:
        spans.append(Span(top))
    return Span(end, parts=tuple(spans))
