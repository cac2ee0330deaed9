"""Fans over places in a row: bands, curves, stairs, and lines of a level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Final

from panewright.io.report.axes import axis
from panewright.io.report.chart import At, Chart, Look, look_of, mark_parts
from panewright.io.report.chart_frame import Plot, Swatch, axis_line, frame, legend, ticks_up
from panewright.io.report.model import Band, Curve, Fan
from panewright.io.report.picture_numbers import known, number_kind
from panewright.io.report.value_text import text_of
from panewright.nesting.text import tr

BANDS: Final = 3
"""Tones of bands, the widest band the lightest."""
_WEIGHTS: Final = (2.2, 1.8, 1.4)
_CURVES: Final = (1, 3, 4, 5, 6, 2)
"""Inks of the curves by their places; that of the first level comes last."""
_LEVELS: Final = (
    ("level1", (9.0, 2.5, 1.5, 2.5)),
    ("level2", (1.5, 2.0)),
    ("level3", (5.0, 2.5)),
    ("level4", (12.0, 2.0, 3.0, 2.0)),
)
_MARKS: Final = 40
"""Signs on a curve, about."""


def draw_fan(chart: Chart, fan: Fan, size: float) -> None:
    """Draw a fan; a place alone has its bands as wide as a bar."""
    bands = sorted(fan.bands, key=_width, reverse=True)
    tones = [f"band{min(i + 1 + max(0, 2 - len(bands)), BANDS)}" for i in range(len(bands))]
    levels = [(name, value) for name, value in fan.levels if known(value)]
    entries: list[tuple[str, Swatch]] = [
        (curve.name, partial(_line_swatch, curve=curve, index=i)) for i, curve in enumerate(fan.curves)
    ]
    entries += [
        (band.name, partial(_tone_swatch, tone=tone)) for band, tone in zip(bands, tones, strict=True)
    ]
    for i, (name, value) in enumerate(levels):
        said = tr("{name}: {value}", name=name, value=text_of(value, number_kind([value])))
        entries.append((said, partial(_level_swatch, index=i)))
    values = [value for band in fan.bands for ends in (band.low, band.high) for value in ends if known(value)]
    values += [value for curve in fan.curves for value in curve.values if value is not None and known(value)]
    values += [value for _, value in levels]
    scale = axis(values, most=ticks_up(chart, size), zero=0.8)
    plot = frame(chart, scale, fan.up, top=legend(chart, entries, size), size=size, places=fan.places)
    count = len(fan.places)
    stairs = bool(fan.curves) and fan.curves[0].steps
    for band, tone in zip(bands, tones, strict=True):
        for points in _outlines(band, plot, count, stairs):
            chart.area(points, tone)
    axis_line(chart, plot)
    for i, (_, value) in enumerate(levels):
        _level(chart, (plot.left, plot.right), plot.y(value), i)
    for i, curve in enumerate(fan.curves):
        _curve(chart, curve, i, plot, count)


def _width(band: Band) -> float:
    return sum(b - a for a, b in zip(band.low, band.high, strict=False) if known(a) and known(b))


def _outlines(band: Band, plot: Plot, count: int, stairs: bool) -> Iterator[tuple[At, ...]]:
    """The outlines of a band, one for each run of places without a gap."""
    ends = list(zip(band.low, band.high, strict=False))[:count]
    half = plot.slot(count) / 2
    for run in _runs([i for i, (a, b) in enumerate(ends) if known(a) and known(b)]):
        wide = half if stairs else min(half * 0.6, 14.0) if len(run) == 1 else 0.0
        xs = [(plot.x(i, count) + side, i) for i in run for side in ((-wide, wide) if wide else (0.0,))]
        yield (
            *((x, plot.y(ends[i][1])) for x, i in xs),
            *((x, plot.y(ends[i][0])) for x, i in reversed(xs)),
        )


def _runs(places: Sequence[int]) -> Iterator[list[int]]:
    """Places in a row, cut where one is missing."""
    run: list[int] = []
    for i in places:
        if run and i != run[-1] + 1:
            yield run
            run = []
        run.append(i)
    if run:
        yield run


def _curve(chart: Chart, curve: Curve, index: int, plot: Plot, count: int) -> None:
    look = curve_look(index)
    half, weight = plot.slot(count) / 2, _WEIGHTS[min(index, 2)]
    dashes = look.dashes if curve.dashed else ()
    values = list(curve.values)[:count]
    for run in _runs([i for i, value in enumerate(values) if known(value)]):
        at = [(plot.x(i, count), plot.y(values[i] or 0.0)) for i in run]
        if curve.steps:
            chart.line([(x + side, y) for x, y in at for side in (-half, half)], look.line, weight, dashes)
        elif len(at) > 1:
            chart.line(at, look.line, weight, dashes)
        else:
            (x, y), wide = at[0], min(half * 0.8, 18.0)
            chart.line([(x - wide, y), (x + wide, y)], look.line, weight)
        if _marked(curve, index):
            for place in at[:: max(1, count // _MARKS)]:
                chart.parts += mark_parts(place, 5.0 * chart.pen, look)


def curve_look(index: int) -> Look:
    """The look of a curve by its place."""
    return replace(look_of(index), line=f"line{_CURVES[index % len(_CURVES)]}")


def _marked(curve: Curve, index: int) -> bool:
    """Whether signs tell a curve from the others where there is no colour, as dashes and stairs do for theirs."""
    return index > 0 and not curve.dashed and not curve.steps


def _level(chart: Chart, ends: tuple[float, float], y: float, index: int) -> None:
    ink, dashes = _LEVELS[index % len(_LEVELS)]
    chart.line([(ends[0], y), (ends[1], y)], ink, 1.5, dashes)


def _line_swatch(chart: Chart, x: float, y: float, size: float, *, curve: Curve, index: int) -> None:
    look = curve_look(index)
    dashes = look.dashes if curve.dashed else ()
    chart.line([(x, y), (x + 2 * size, y)], look.line, _WEIGHTS[min(index, 2)], dashes)
    if _marked(curve, index):
        chart.parts += mark_parts((x + size, y), 5.0 * chart.pen, look)


def _tone_swatch(chart: Chart, x: float, y: float, size: float, *, tone: str) -> None:
    r = 0.42 * size
    chart.area(((x, y - r), (x + 2 * size, y - r), (x + 2 * size, y + r), (x, y + r)), tone)


def _level_swatch(chart: Chart, x: float, y: float, size: float, *, index: int) -> None:
    _level(chart, (x, x + 2 * size), y, index)
