"""A chart as an SVG element within a page: inks are classes, so that the page can be light or dark."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Final

from panewright.io.report.chart import DARK, LIGHT, Area, At, Chart, Dot, Part, Stroke, Words

_ANCHORS: Final = {0.0: "", 0.5: ' text-anchor="middle"', 1.0: ' text-anchor="end"'}


def svg_element(chart: Chart, *, kind: str, label: str) -> str:
    """The element.

    Parameters
    ----------
    chart
        What it shows.
    kind
        Its class.
    label
        What it says to those who cannot see it.
    """
    size = f"{_n(chart.wide)} {_n(chart.high)}"
    head = f'<svg class="{escape(kind)}" viewBox="0 0 {size}" role="img" aria-label="{escape(label)}">'
    return "\n".join([head, *(_part(part, chart.high, chart.pen) for part in chart.parts), "</svg>"])


def ink_rules(prefix: str = "") -> str:
    """The style rules of the inks: colours are variables of the page."""
    out = [
        f"{prefix}.s-{name}{{stroke:var(--{name})}}\n{prefix}.f-{name}{{fill:var(--{name})}}"
        for name in LIGHT
    ]
    return "\n".join(out)


def ink_variables(inks: Mapping[str, str]) -> str:
    """The variables of one set of inks."""
    return " ".join(f"--{name}: {colour};" for name, colour in inks.items())


def light_and_dark() -> tuple[str, str]:
    """The variables of both sets."""
    return ink_variables(LIGHT), ink_variables(DARK)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _at(at: At, high: float) -> str:
    return f"{_n(at[0])} {_n(high - at[1])}"


def _path(points: tuple[At, ...], high: float) -> str:
    return "M" + "L".join(_at(point, high) for point in points)


def _part(part: Part, high: float, pen: float) -> str:
    match part:
        case Stroke():
            dashes = (
                f' stroke-dasharray="{" ".join(_n(d * pen) for d in part.dashes)}"' if part.dashes else ""
            )
            path = "".join(_path(points, high) for points in part.paths)
            return (
                f'<path class="line s-{part.ink}" stroke-width="{_n(part.weight * pen)}"{dashes} d="{path}"/>'
            )
        case Area():
            look = _look(part.ink, part.edge, part.weight * pen)
            return f'<path {look} d="{_path(part.points, high)}Z"/>'
        case Dot():
            x, y = _at(part.at, high).split()
            return f'<circle {_look(part.ink, part.edge, part.weight * pen)} cx="{x}" cy="{y}" r="{_n(part.radius)}"/>'
        case Words():
            x, y = _at(part.at, high).split()
            turn = f' transform="rotate(-90 {x} {y})"' if part.upright else ""
            bold = ' font-weight="bold"' if part.bold else ""
            return (
                f'<text class="f-{part.ink}" x="{x}" y="{y}" font-size="{_n(part.size)}"'
                f"{_ANCHORS[part.across]}{bold}{turn}>{escape(part.text)}</text>"
            )


def _look(ink: str, edge: str, weight: float) -> str:
    if not edge:
        return f'class="f-{ink}"'
    return f'class="f-{ink} s-{edge}" stroke-width="{_n(weight)}"'
