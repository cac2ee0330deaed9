"""Bars, one group a place: side by side, or the parts of a whole on top of each other."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

from panewright.io.report.axes import axis
from panewright.io.report.chart import Chart, Look, Words, look_of
from panewright.io.report.chart_frame import Plot, Swatch, axis_line, frame, legend, said_width, ticks_up
from panewright.io.report.model import Bars
from panewright.io.report.picture_numbers import known, number_kind
from panewright.io.report.value_text import text_of

_MOST_NUMBERS: Final = 16
"""Bars that bear their numbers, at most."""
_MOST_KINDS: Final = 24
"""More places than this are a row in time: some of their names may be left out."""
_WIDEST: Final = 58.0


def draw_bars(chart: Chart, bars: Bars, size: float) -> None:
    """Draw bars from zero; parts below zero hang from it."""
    looks = [look_of(i) for i in range(len(bars.series))]
    entries: list[tuple[str, Swatch]] = []
    if len(bars.series) > 1 or (bars.series and bars.series[0].name not in ("", bars.up)):
        entries = [(s.name, partial(_swatch, look=look)) for s, look in zip(bars.series, looks, strict=True)]
    count = len(bars.places)
    columns = [[_at(s.values, i) for s in bars.series] for i in range(count)]
    values = [end for column in columns for end in (_ends(column) if bars.parts else _numbers(column))]
    numbered = len(values) <= _MOST_NUMBERS
    scale = axis(values, most=ticks_up(chart, size), zero=1.0, margin=0.06 if numbered else 0.0)
    top = legend(chart, entries, size)
    plot = frame(chart, scale, bars.up, top=top, size=size, places=bars.places, thin=count > _MOST_KINDS)
    slot, kind = plot.slot(count), number_kind(values)
    each = 1 if bars.parts else max(len(bars.series), 1)
    wide = min(slot * 0.76, _WIDEST * each) / each
    gap = 0.0 if each == 1 else min(1.2, wide * 0.08)
    for i, column in enumerate(columns):
        left = plot.x(i, count) - wide * each / 2
        up = down = 0.0
        for k, (value, look) in enumerate(zip(column, looks, strict=True)):
            if value is None:
                continue
            x, base = (left, up if value >= 0 else down) if bars.parts else (left + k * wide, 0.0)
            chart.box(x + gap, plot.y(base), x + wide - gap, plot.y(base + value), look)
            if bars.parts:
                up, down = (up + value, down) if value >= 0 else (up, down + value)
            elif numbered:
                room = wide if each > 1 else slot
                _number(chart, plot, (x + wide / 2, value), text_of(value, kind), room, size)
        # the height of a stack says its sum only where nothing hangs below
        if bars.parts and numbered and up and not down:
            _number(chart, plot, (plot.x(i, count), up), text_of(up, kind), slot, size)
    axis_line(chart, plot)


def _at(values: Sequence[float | None], index: int) -> float | None:
    value = values[index] if index < len(values) else None
    return value if known(value) else None


def _numbers(column: Sequence[float | None]) -> list[float]:
    return [value for value in column if value is not None]


def _ends(column: Sequence[float | None]) -> list[float]:
    """Both ends of a stack: what is above zero, and what is below."""
    parts = _numbers(column)
    if not parts:
        return []
    # in the order of drawing: the sums are those of the bars to the last bit
    down = sum(value for value in parts if value < 0)
    return [sum(value for value in parts if value >= 0), *([down] if down else [])]


def _number(chart: Chart, plot: Plot, at: tuple[float, float], text: str, room: float, size: float) -> None:
    """The number of a bar above it, or below where it hangs; left out where it would touch its neighbour."""
    x, value = at
    if said_width(text, 0.92 * size) + 0.3 * size > room:
        return
    y = plot.y(value) + (0.35 * size if value >= 0 else -1.0 * size)
    chart.parts.append(Words(at=(x, y), text=text, size=0.92 * size, across=0.5))


def _swatch(chart: Chart, x: float, y: float, size: float, *, look: Look) -> None:
    chart.box(x, y - 0.42 * size, x + 2 * size, y + 0.42 * size, look)
