"""What stands around a picture of numbers: legend, scale, places or a second scale, and the room between them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from panewright.io.pdf_text import broken, clipped, width
from panewright.io.problems import shown
from panewright.io.report.axes import Axis
from panewright.io.report.chart import Chart, Words
from panewright.nesting.text import tr

Swatch = Callable[[Chart, float, float, float], None]
"""Draws the sample of a legend: chart, left, middle line, font size."""
_RESERVE: Final = 1.06
"""Browsers take other fonts than paper does. [factor on widths]"""
_MOST_LINES: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """The rectangle of the numbers.

    Parameters
    ----------
    left, right, low, high
        [pt]
    scale
        Of the values, upwards.
    """

    left: float
    right: float
    low: float
    high: float
    scale: Axis

    def y(self, value: float) -> float:
        """Height of a value. [pt]"""
        return self.low + self.scale.share(value) * (self.high - self.low)

    def slot(self, count: int) -> float:
        """Width of one of so many places. [pt]"""
        return (self.right - self.left) / max(count, 1)

    def x(self, index: int, count: int) -> float:
        """Middle of a place. [pt]"""
        return self.left + (index + 0.5) * self.slot(count)


def ticks_up(chart: Chart, size: float) -> int:
    """How many ticks a scale upwards has at most."""
    return min(8, max(3, int(chart.high / (3.4 * size))))


def said_width(text: str, size: float) -> float:
    """Width of a text, rather too wide than too narrow. [pt]"""
    return width(text, size) * _RESERVE


def legend(chart: Chart, entries: Sequence[tuple[str, Swatch]], size: float) -> float:
    """The legend along the top, in as many lines as it takes; gives the height that it takes. [pt]"""
    if not entries:
        return 0.0
    swatch, gap, row = 2.6 * size, 1.4 * size, 1.55 * size
    x, y = 0.0, chart.high - row / 2
    for name, draw in entries:
        text = clipped(shown(name, 120), size, (chart.wide - swatch) / _RESERVE)
        wide = swatch + said_width(text, size)
        if x and x + wide > chart.wide:
            x, y = 0.0, y - row
        draw(chart, x, y, size)
        chart.parts.append(Words(at=(x + swatch, y - 0.34 * size), text=text, size=size))
        x += wide + gap
    return chart.high - y + row / 2


def frame(
    chart: Chart,
    scale: Axis,
    up: str,
    *,
    top: float,
    size: float,
    places: Sequence[str] | None = None,
    thin: bool = True,
    below: Axis | None = None,
    across: str = "",
) -> Plot:
    """Scale lines, their labels and what stands below; gives the room for the numbers.

    Parameters
    ----------
    chart
        Drawn into.
    scale, up
        The scale upwards and what it counts.
    top
        Height that the legend takes. [pt]
    size
        Of the text. [pt]
    places
        Names along the bottom.
    thin
        Whether some of the names may be left out: those of a row in time, not those of kinds.
    below, across
        The scale along the bottom instead of places, and what it counts.
    """
    left = max(said_width(label, size) for label in scale.labels) + 0.9 * size
    right = chart.wide - (0.3 * size if below is None else said_width(below.labels[-1], size) / 2)
    high = chart.high - top - 2.3 * size
    slot = (right - left) / max(len(places or ()), 1)
    named = _Named.of(places or (), slot, size, 0.4 * high, thin=thin)
    low = (named.high if below is None else 3.1 * size) + 0.7 * size
    plot = Plot(left=left, right=right, low=low, high=high, scale=scale)
    for tick, label in zip(scale.ticks, scale.labels, strict=True):
        y = plot.y(float(tick)) if abs(tick) < 10**300 else plot.low
        chart.line([(left, y), (right, y)], "grid", 0.6)
        chart.parts.append(
            Words(at=(left - 0.6 * size, y - 0.34 * size), text=label, size=size, across=1.0, ink="soft")
        )
    title = counted(up, scale)
    chart.parts.append(
        Words(at=(0.0, high + 0.95 * size), text=clipped(title, size, chart.wide), size=size, ink="soft")
    )
    if below is None:
        named.draw(chart, plot, size)
    else:
        _scale_below(chart, plot, below, counted(across, below), size)
    return plot


def counted(name: str, scale: Axis) -> str:
    """What a scale counts, and in which unit."""
    name = shown(name, 120)
    return tr("{name}, in {unit}", name=name, unit=scale.unit) if scale.unit else name


def axis_line(chart: Chart, plot: Plot) -> None:
    """The line of zero, or the lower edge where zero is not in view."""
    low, high = plot.scale.ticks[0], plot.scale.ticks[-1]
    y = plot.y(0.0) if low <= 0 <= high else plot.low
    chart.line([(plot.left, y), (plot.right, y)], "ink", 0.9)


def _scale_below(chart: Chart, plot: Plot, scale: Axis, across: str, size: float) -> None:
    for tick, label in zip(scale.ticks, scale.labels, strict=True):
        x = (
            plot.left + scale.share(float(tick)) * (plot.right - plot.left)
            if abs(tick) < 10**300
            else plot.left
        )
        chart.line([(x, plot.low), (x, plot.high)], "grid", 0.6)
        chart.parts.append(
            Words(at=(x, plot.low - 1.35 * size), text=label, size=size, across=0.5, ink="soft")
        )
    text = clipped(across, size, plot.right)
    at = (plot.right, plot.low - 2.85 * size)
    chart.parts.append(Words(at=at, text=text, size=size, across=1.0, ink="soft"))


@dataclass(frozen=True, slots=True)
class _Named:
    """Names of places: which are shown, in which lines, and whether they stand upright."""

    lines: tuple[tuple[int, tuple[str, ...]], ...]
    count: int
    upright: bool
    high: float

    @classmethod
    def of(cls, places: Sequence[str], slot: float, size: float, room: float, *, thin: bool) -> _Named:
        texts = [shown(place, 80) for place in places]
        count, gap = len(texts), 0.7 * size
        if not texts:
            return cls((), 0, False, 0.0)
        widest = max(said_width(text, size) for text in texts)
        if widest + gap <= slot:
            return cls(tuple((i, (t,)) for i, t in enumerate(texts)), count, False, 1.6 * size)
        if thin and widest <= 12 * size:
            step = _step(-(-(widest + gap) // slot))
            return cls(tuple((i, (texts[i],)) for i in range(0, count, step)), count, False, 1.6 * size)
        wrapped = (
            [tuple(broken(text, size, (slot - gap) / _RESERVE, most=9)) for text in texts]
            if slot > 2 * gap
            else []
        )
        # only at blanks: a size or a name that is broken within itself does not read
        if wrapped and all(
            len(lines) <= _MOST_LINES and " ".join(lines) == " ".join(text.split())
            for lines, text in zip(wrapped, texts, strict=True)
        ):
            most = max(map(len, wrapped))
            return cls(tuple(enumerate(wrapped)), count, False, (0.5 + 1.15 * most) * size)
        step = _step(-(-1.25 * size // slot))
        upright = tuple((i, (clipped(texts[i], size, room / _RESERVE),)) for i in range(0, count, step))
        tall = max(said_width(lines[0], size) for _, lines in upright)
        return cls(upright, count, True, tall + 0.7 * size)

    def draw(self, chart: Chart, plot: Plot, size: float) -> None:
        for i, lines in self.lines:
            x = plot.x(i, self.count)
            if self.upright:
                at = (x + 0.34 * size, plot.low - 0.5 * size)
                chart.parts.append(
                    Words(at=at, text=lines[0], size=size, across=1.0, ink="soft", upright=True)
                )
                continue
            if len(self.lines) < self.count:
                chart.line([(x, plot.low), (x, plot.low - 0.35 * size)], "soft", 0.8)
            for row, line in enumerate(lines):
                at = (x, plot.low - (1.35 + 1.15 * row) * size)
                half = said_width(line, size) / 2
                # the first and the last name stay within the picture
                x_in = min(max(x, half), chart.wide - half)
                chart.parts.append(Words(at=(x_in, at[1]), text=line, size=size, across=0.5, ink="soft"))


def _step(least: float) -> int:
    """Every how many places a name stands, in steps that read."""
    for step in (1, 2, 3, 4, 5, 8, 10, 13, 26, 52):
        if step >= least:
            return step
    return int(least)
