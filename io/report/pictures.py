"""Pictures of a report as charts."""

from __future__ import annotations

from panewright.io.report.chart import Chart
from panewright.io.report.draw_bars import draw_bars
from panewright.io.report.draw_cloud import draw_cloud
from panewright.io.report.draw_fan import draw_fan
from panewright.io.report.model import Bars, Cloud, Fan, Picture
from panewright.io.report.picture_numbers import known


def chart_of(picture: Picture, wide: float, high: float, size: float) -> Chart:
    """A picture drawn to a size.

    Parameters
    ----------
    picture
        Numbers that cannot be drawn (infinite, no number) are left out.
    wide, high
        [pt]
    size
        Of all text. [pt]
    """
    chart = Chart(wide, high, pen=max(0.7, size / 12.5))
    match picture:
        case Fan():
            draw_fan(chart, picture, size)
        case Bars():
            draw_bars(chart, picture, size)
        case Cloud():
            draw_cloud(chart, picture, size)
    return chart


def is_empty(picture: Picture) -> bool:
    """Whether nothing of a picture can be drawn."""
    match picture:
        case Fan():
            ends = [end for band in picture.bands for end in (*band.low, *band.high)]
            values = [*ends, *(value for curve in picture.curves for value in curve.values)]
            return not picture.places or not any(map(known, values))
        case Bars():
            count = len(picture.places)
            return not any(known(value) for series in picture.series for value in series.values[:count])
        case Cloud():
            return not any(known(x) and known(y) for _, points in picture.groups for x, y in points)
