"""Pictures of a report as charts: fans over places, bars, clouds of points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from math import isfinite
from typing import Final

from panewright.io.report.axes import Axis, axis
from panewright.io.report.chart import At, Chart, Look, Words, look_of, mark_parts
from panewright.io.report.chart_frame import Plot, Swatch, axis_line, frame, legend, said_width
from panewright.io.report.model import Band, Bars, Cloud, Curve, Fan, Picture
from panewright.io.report.picture_numbers import number_kind
from panewright.io.report.value_text import text_of
from panewright.nesting.text import tr

BANDS: Final = 3
"""Tones of bands, the widest band the lightest."""
_SOLID: Final = (2.2, 1.8, 1.4)
_MOST_LABELS: Final = 16
"""Bars that bear their numbers, at most."""
_LIMIT: Final = 1e290


def chart_of(picture: Picture, wide: float, high: float, size: float) -> Chart:
    """A picture drawn to a size.

    Parameters
    ----------
    picture
        Numbers that are none (infinite, no number) are left out.
    wide, high
        [pt]
    size
        Of all text. [pt]
    """
    chart = Chart(wide, high)
    match picture:
        case Fan():
            _fan(chart, picture, size)
        case Bars():
            _bars(chart, picture, size)
        case Cloud():
            _cloud(chart, picture, size)
    return chart


def known(value: float | None) -> bool:
    """Whether a value can be drawn."""
    return value is not None and isfinite(value) and abs(value) < _LIMIT


def _ticks(chart: Chart, size: float) -> int:
    return min(8, max(3, int(chart.high / (3.4 * size))))


def _nothing(chart: Chart, plot: Plot, size: float) -> None:
    at = ((plot.left + plot.right) / 2, (plot.low + plot.high) / 2)
    chart.parts.append(Words(at=at, text=tr("nothing to show"), size=size, across=0.5, ink="soft"))


# ---------------------------------------------------------------- fans


def _fan(chart: Chart, fan: Fan, size: float) -> None:
    bands = sorted(fan.bands, key=_band_width, reverse=True)
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
    values = [v for band in fan.bands for ends in (band.low, band.high) for v in ends if known(v)]
    values += [v for curve in fan.curves for v in curve.values if v is not None and known(v)]
    values += [value for _, value in levels]
    scale = axis(values, most=_ticks(chart, size), zero=0.8)
    top = legend(chart, entries, size)
    plot = frame(chart, scale, fan.up, top=top, size=size, places=fan.places)
    if not values or not fan.places:
        _nothing(chart, plot, size)
    count = len(fan.places)
    stairs = bool(fan.curves) and fan.curves[0].steps
    for band, tone in zip(bands, tones, strict=True):
        for points in _band_outlines(band, plot, count, stairs):
            chart.area(points, tone)
    axis_line(chart, plot)
    for i, (_, value) in enumerate(levels):
        _level(chart, (plot.left, plot.right), plot.y(value), i)
    for i, curve in enumerate(fan.curves):
        _curve(chart, curve, i, plot, count)


def _band_width(band: Band) -> float:
    return sum(b - a for a, b in zip(band.low, band.high, strict=False) if known(a) and known(b))


def _band_outlines(band: Band, plot: Plot, count: int, stairs: bool) -> Iterator[tuple[At, ...]]:
    """The outlines of a band, one for each run of places without a gap."""
    ends = list(zip(band.low, band.high, strict=False))[:count]
    half = plot.slot(count) / 2
    for run in _runs([i for i, (a, b) in enumerate(ends) if known(a) and known(b)]):
        # a place alone has no line to a neighbour: it is drawn as wide as a bar
        wide = half if stairs else min(half * 0.6, 14.0) if len(run) == 1 else 0.0
        xs = [(plot.x(i, count) + side, i) for i in run for side in ((-wide, wide) if wide else (0.0,))]
        yield (
            *((x, plot.y(ends[i][1])) for x, i in xs),
            *((x, plot.y(ends[i][0])) for x, i in reversed(xs)),
        )


def _runs(places: Sequence[int]) -> Iterator[list[int]]:
    """Places in a row, gaps between the rows."""
    run: list[int] = []
    for i in places:
        if run and i != run[-1] + 1:
            yield run
            run = []
        run.append(i)
    if run:
        yield run


def _curve(chart: Chart, curve: Curve, index: int, plot: Plot, count: int) -> None:
    look = look_of(index)
    half = plot.slot(count) / 2
    weight = _SOLID[min(index, 2)]
    values = list(curve.values)[:count]
    for run in _runs([i for i, value in enumerate(values) if known(value)]):
        at = [(plot.x(i, count), plot.y(values[i] or 0.0)) for i in run]
        if curve.steps:
            stair = [(x + side, y) for x, y in at for side in (-half, half)]
            chart.line(stair, look.line, weight, look.dashes if curve.dashed else ())
        elif len(at) > 1:
            chart.line(at, look.line, weight, look.dashes if curve.dashed else ())
        else:
            x, y = at[0]
            wide = min(half * 0.8, 18.0)
            chart.line([(x - wide, y), (x + wide, y)], look.line, weight)
        if _marked(curve, index):
            for x, y in at[:: max(1, count // 40)]:
                chart.parts += mark_parts((x, y), 5.0, look)


def _marked(curve: Curve, index: int) -> bool:
    """Whether signs tell a curve from others where there is no colour: dashes do it for the dashed ones."""
    return index > 0 and not curve.dashed and not curve.steps


_LEVELS: Final = (
    ("line2", (9.0, 2.5, 1.5, 2.5)),
    ("line3", (1.5, 2.0)),
    ("line5", (5.0, 2.5)),
    ("line4", (12.0, 2.0, 3.0, 2.0)),
)


def _level(chart: Chart, ends: tuple[float, float], y: float, index: int) -> None:
    ink, dashes = _LEVELS[index % len(_LEVELS)]
    chart.line([(ends[0], y), (ends[1], y)], ink, 1.5, dashes)


def _line_swatch(chart: Chart, x: float, y: float, size: float, *, curve: Curve, index: int) -> None:
    look = look_of(index)
    chart.line(
        [(x, y), (x + 2 * size, y)], look.line, _SOLID[min(index, 2)], look.dashes if curve.dashed else ()
    )
    if _marked(curve, index):
        chart.parts += mark_parts((x + size, y), 5.0, look)


def _tone_swatch(chart: Chart, x: float, y: float, size: float, *, tone: str) -> None:
    r = 0.42 * size
    chart.area(((x, y - r), (x + 2 * size, y - r), (x + 2 * size, y + r), (x, y + r)), tone)


def _level_swatch(chart: Chart, x: float, y: float, size: float, *, index: int) -> None:
    _level(chart, (x, x + 2 * size), y, index)


# ---------------------------------------------------------------- bars


def _bars(chart: Chart, bars: Bars, size: float) -> None:
    looks = [look_of(i) for i in range(len(bars.series))]
    entries: list[tuple[str, Swatch]] = []
    if len(bars.series) > 1 or (bars.series and bars.series[0].name not in ("", bars.up)):
        entries = [
            (s.name, partial(_box_swatch, look=look)) for s, look in zip(bars.series, looks, strict=True)
        ]
    count = len(bars.places)
    columns = [[_at(s.values, i) for s in bars.series] for i in range(count)]
    ends = [end for column in columns for end in (_stack_ends(column) if bars.parts else column)]
    values = [end for end in ends if end is not None]
    numbered = len(values) <= _MOST_LABELS
    scale = axis(values, most=_ticks(chart, size), zero=1.0, margin=0.06 if numbered else 0.0)
    top = legend(chart, entries, size)
    plot = frame(chart, scale, bars.up, top=top, size=size, places=bars.places, thin=count > 24)
    if not values:
        _nothing(chart, plot, size)
    slot = plot.slot(count)
    each = 1 if bars.parts else max(len(bars.series), 1)
    wide = min(slot * 0.76, 58.0 * each) / each
    for i, column in enumerate(columns):
        left = plot.x(i, count) - wide * each / 2
        up = down = 0.0
        for k, (value, look) in enumerate(zip(column, looks, strict=True)):
            if value is None:
                continue
            x = left if bars.parts else left + k * wide
            base = 0.0 if not bars.parts else up if value >= 0 else down
            gap = 0.0 if bars.parts or each == 1 else min(1.2, wide * 0.08)
            chart.box(x + gap, plot.y(base), x + wide - gap, plot.y(base + value), look)
            if bars.parts:
                up, down = (up + value, down) if value >= 0 else (up, down + value)
            elif numbered:
                _number(chart, plot, (x + wide / 2, value), values, wide if each > 1 else slot, size)
        if bars.parts and numbered and any(v is not None for v in column):
            _number(
                chart, plot, (plot.x(i, count), up if up or not down else down), values, slot, size, up + down
            )
    axis_line(chart, plot)


def _at(values: Sequence[float | None], index: int) -> float | None:
    value = values[index] if index < len(values) else None
    return value if known(value) else None


def _stack_ends(column: Sequence[float | None]) -> list[float | None]:
    """Both ends of a stack: what is above zero, and what is below."""
    parts = [value for value in column if value is not None]
    if not parts:
        return []
    down = sum(value for value in parts if value < 0)
    return [sum(value for value in parts if value >= 0), *([down] if down else [])]


def _number(
    chart: Chart,
    plot: Plot,
    at: tuple[float, float],
    values: Sequence[float],
    room: float,
    size: float,
    said: float | None = None,
) -> None:
    """The number of a bar above it, or below where it hangs; left out where it would touch its neighbour."""
    x, value = at
    text = text_of(
        value if said is None else said, number_kind([*values, *([said] if said is not None else [])])
    )
    if said_width(text, 0.92 * size) + 0.3 * size > room:
        return
    y = plot.y(value) + (0.35 * size if value >= 0 else -1.0 * size)
    chart.parts.append(Words(at=(x, y), text=text, size=0.92 * size, across=0.5))


def _box_swatch(chart: Chart, x: float, y: float, size: float, *, look: Look) -> None:
    chart.box(x, y - 0.42 * size, x + 2 * size, y + 0.42 * size, look)


# ---------------------------------------------------------------- clouds


def _cloud(chart: Chart, cloud: Cloud, size: float) -> None:
    groups = [(name, [(x, y) for x, y in points if known(x) and known(y)]) for name, points in cloud.groups]
    points = [point for _, group in groups for point in group]
    scale = _padded([y for _, y in points], chart, size)
    below = axis([x for x, _ in points], most=max(3, int(chart.wide / (6.5 * size))), zero=0.3, margin=0.04)
    entries: list[tuple[str, Swatch]] = []
    if len(groups) > 1 or (groups and groups[0][0] not in ("", cloud.title)):
        entries = [(name, partial(_mark_swatch, look=look_of(i))) for i, (name, _) in enumerate(groups)]
    top = legend(chart, entries, size)
    plot = frame(chart, scale, cloud.up, top=top, size=size, below=below, across=cloud.across)
    if not points:
        _nothing(chart, plot, size)
    chart.line([(plot.left, plot.low), (plot.right, plot.low)], "ink", 0.9)
    side = 5.0 if len(points) <= 400 else 3.6
    for i, (_, group) in enumerate(groups):
        seen: set[tuple[int, int]] = set()
        for a, b in group:
            at = (plot.left + below.share(a) * (plot.right - plot.left), plot.y(b))
            key = (round(2 * at[0]), round(2 * at[1]))
            # points on one spot look like one: a file need not hold them all
            if key not in seen:
                seen.add(key)
                chart.parts += mark_parts(at, side, look_of(i))


def _padded(values: Sequence[float], chart: Chart, size: float) -> Axis:
    return axis(values, most=_ticks(chart, size), zero=0.3, margin=0.04)


def _mark_swatch(chart: Chart, x: float, y: float, size: float, *, look: Look) -> None:
    chart.parts += mark_parts((x + 1.4 * size, y), 6.0, look)
