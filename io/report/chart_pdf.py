"""A chart on paper, as the SVG of the same chart shows it."""

from __future__ import annotations

from panewright.io.pdf_drawing import MM
from panewright.io.pdf_ops import circle_path, polyline
from panewright.io.pdf_page import Page
from panewright.io.report.chart import LIGHT, Area, At, Chart, Dot, Stroke, Words


def draw_chart(page: Page, chart: Chart, x: float, y: float) -> None:
    """Draw a chart, its lower left corner at x, y. [mm]"""
    left, low, ops = x * MM, y * MM, page.ops

    def at(point: At) -> At:
        return left + point[0], low + point[1]

    for part in chart.parts:
        match part:
            case Stroke():
                ops.pen(LIGHT[part.ink], part.weight * chart.pen, [d * chart.pen for d in part.dashes])
                path = " ".join(polyline([at(p) for p in points], closed=False) for points in part.paths)
                ops.paint(path, stroke=True, fill=False)
            case Area():
                ops.fill(LIGHT[part.ink])
                if part.edge:
                    ops.pen(LIGHT[part.edge], part.weight * chart.pen)
                ops.paint(polyline([at(p) for p in part.points]), stroke=bool(part.edge), fill=True)
            case Dot():
                ops.fill(LIGHT[part.ink])
                if part.edge:
                    ops.pen(LIGHT[part.edge], part.weight * chart.pen)
                ops.paint(circle_path(*at(part.at), part.radius), stroke=bool(part.edge), fill=True)
            case Words():
                ops.text(
                    at(part.at),
                    part.text,
                    part.size,
                    bold=part.bold,
                    colour=LIGHT[part.ink],
                    across=part.across,
                    angle=90.0 if part.upright else 0.0,
                )
