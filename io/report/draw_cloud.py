"""Clouds of points, each group with a sign of its own."""

from __future__ import annotations

from functools import partial
from typing import Final

from panewright.io.report.axes import axis
from panewright.io.report.chart import Chart, Look, look_of, mark_parts
from panewright.io.report.chart_frame import Swatch, frame, legend, ticks_up
from panewright.io.report.model import Cloud
from panewright.io.report.picture_numbers import known

_ZERO: Final = 0.3
"""How near to zero points must come for the scale to begin there. [of the greatest value]"""
_MARGIN: Final = 0.04
_MANY: Final = 400
"""Points from which their signs are smaller."""


def draw_cloud(chart: Chart, cloud: Cloud, size: float) -> None:
    """Draw a cloud."""
    groups = [(name, [(x, y) for x, y in points if known(x) and known(y)]) for name, points in cloud.groups]
    points = [point for _, group in groups for point in group]
    scale = axis([y for _, y in points], most=ticks_up(chart, size), zero=_ZERO, margin=_MARGIN)
    most = max(3, int(chart.wide / (6.5 * size)))
    below = axis([x for x, _ in points], most=most, zero=_ZERO, margin=_MARGIN)
    entries: list[tuple[str, Swatch]] = []
    if len(groups) > 1 or (groups and groups[0][0] not in ("", cloud.title)):
        entries = [(name, partial(_swatch, look=look_of(i))) for i, (name, _) in enumerate(groups)]
    top = legend(chart, entries, size)
    plot = frame(chart, scale, cloud.up, top=top, size=size, below=below, across=cloud.across)
    chart.line([(plot.left, plot.low), (plot.right, plot.low)], "ink", 0.9)
    side = (5.0 if len(points) <= _MANY else 3.6) * chart.pen
    for i, (_, group) in enumerate(groups):
        seen: set[tuple[int, int]] = set()
        for a, b in group:
            at = (plot.left + below.share(a) * (plot.right - plot.left), plot.y(b))
            spot = (round(2 * at[0]), round(2 * at[1]))
            # points on one spot look like one: a file need not hold them all
            if spot not in seen:
                seen.add(spot)
                chart.parts += mark_parts(at, side, look_of(i))


def _swatch(chart: Chart, x: float, y: float, size: float, *, look: Look) -> None:
    chart.parts += mark_parts((x + 1.4 * size, y), 6.0 * chart.pen, look)
