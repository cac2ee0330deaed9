"""The scene model: what a drawing shows, in whole nanometres and on named layers, for every format.

x runs to the right and y up. A height of a text is that of its capitals.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import cos, radians, sin
from typing import Final, Literal

from panewright.io.palette import MEASURE, Layer
from panewright.nesting.outlines import Outline, Point

Across = Literal["left", "centre", "right"]
Up = Literal["base", "middle"]

_NARROW: Final = frozenset(" .,:;'|!iljIft()[]/\\-")
_WIDE: Final = frozenset("MWmw@%")


@dataclass(frozen=True, slots=True)
class Polyline:
    """A closed polyline. [nm]

    Parameters
    ----------
    layer
        Its layer.
    points
        Its corners.
    radii
        Radius of every corner, 0 where it is sharp; empty where all are.
    """

    layer: Layer
    points: Outline
    radii: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Tint:
    """A light fill of a closed outline, without a line; formats for CAD leave it out. [nm]"""

    layer: Layer
    points: Outline


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line. [nm]"""

    layer: Layer
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle. [nm]"""

    layer: Layer
    centre: Point
    radius: int


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text.

    Parameters
    ----------
    layer
        Its layer.
    text
        Without control characters.
    at
        Where the anchor lies. [nm]
    height
        Of the capitals. [nm]
    across, up
        Which point of the text the anchor is.
    rotation
        Counter-clockwise. [1/1000 degree]
    """

    layer: Layer
    text: str
    at: Point
    height: int
    across: Across = "left"
    up: Up = "base"
    rotation: int = 0

    def box(self) -> Outline:
        """The estimated rectangle around it, turned as the text is. [nm]"""
        width, h = text_width(self.text, self.height), self.height
        x0 = {"left": 0, "centre": -width // 2, "right": -width}[self.across]
        # descenders reach a quarter below the line
        y0 = -h // 4 if self.up == "base" else -3 * h // 4
        y1 = h + h // 8 if self.up == "base" else 5 * h // 8
        c, s = cos(radians(self.rotation / 1000)), sin(radians(self.rotation / 1000))
        return tuple(
            (self.at[0] + round(x * c - y * s), self.at[1] + round(x * s + y * c))
            for x, y in ((x0, y0), (x0 + width, y0), (x0 + width, y1), (x0, y1))
        )


Primitive = Polyline | Tint | Line | Circle | Text


def text_width(text: str, height: int) -> int:
    """Width of a text, estimated rather too wide than too narrow. [nm]"""
    return _tenths(text) * height // 10


@lru_cache(maxsize=20_000)
def _tenths(text: str) -> int:
    tenths = 0
    for c in text:
        if c in _NARROW:
            tenths += 5
        elif c in _WIDE:
            tenths += 13
        elif ord(c) >= 0x1100:
            tenths += 16
        else:
            tenths += 10 if c.isupper() else 9
    return tenths


@dataclass(frozen=True, slots=True)
class Scene:
    """A whole drawing.

    Parameters
    ----------
    title
        One line that names it.
    grain
        The usual text height, to which dashes are measured. [nm]
    parts
        In drawing order.
    legend
        Lines that the page around the drawing has to show, where the drawing does not.
    """

    title: str
    grain: int
    parts: tuple[Primitive, ...]
    legend: tuple[str, ...] = ()

    def bounds(self) -> tuple[int, int, int, int]:
        """Least x, least y, greatest x, greatest y of everything. [nm]"""
        xs: list[int] = []
        ys: list[int] = []
        for part in self.parts:
            match part:
                case Polyline() | Tint():
                    points: Sequence[Point] = part.points
                case Line():
                    points = (part.start, part.end)
                case Circle():
                    (x, y), r = part.centre, part.radius
                    points = ((x - r, y - r), (x + r, y + r))
                case Text():
                    points = part.box()
            xs += [p[0] for p in points]
            ys += [p[1] for p in points]
        return min(xs), min(ys), max(xs), max(ys)

    def layers(self) -> list[Layer]:
        """The layers in use, in the order of their names."""
        return sorted({part.layer for part in self.parts}, key=lambda layer: layer.name)


@dataclass(slots=True)
class Sketch:
    """Collects the parts of a scene."""

    grain: int
    parts: list[Primitive] = field(default_factory=list)

    def add(self, *parts: Primitive) -> None:
        """Add parts in drawing order."""
        self.parts += parts

    def scene(self, title: str) -> Scene:
        """What was collected."""
        return Scene(title, self.grain, tuple(self.parts))

    def measure(self, a: int, b: int, at: int, words: str, *, upright: bool, height: int) -> None:
        """A dimension line with ticks and its text, on the outer side of a drawing.

        Parameters
        ----------
        a, b
            Ends along the axis; b is greater. [nm]
        at
            Place of the line across it: below a drawing, or to the left of one. [nm]
        words
            The text.
        upright
            Along y instead of x.
        height
            Of the text; in a gap that is too narrow it stands across, and smaller if it must. [nm]
        """
        tick = height // 3

        def place(along: int, across: int) -> Point:
            return (across, along) if upright else (along, across)

        self.add(Line(MEASURE, place(a, at), place(b, at)))
        for end in (a, b):
            self.add(Line(MEASURE, place(end - tick, at - tick), place(end + tick, at + tick)))
        middle, gap = (a + b) // 2, b - a
        if text_width(words, height) + height // 2 <= gap:
            rise = height // 2
            where = place(middle, at - rise if upright else at + rise)
            self.add(Text(MEASURE, words, where, height, "centre", rotation=90_000 if upright else 0))
        else:
            small = max(min(height, gap * 4 // 5), height * 3 // 4)
            where = place(middle, at - height * 2 // 3)
            self.add(Text(MEASURE, words, where, small, "right", "middle", 0 if upright else 90_000))


def wrapped(parts: Sequence[str], width: int, height: int, between: str = " | ") -> list[str]:
    """Texts joined into lines no wider than `width`, if the texts themselves are not. [nm]"""
    lines: list[str] = []
    for part in parts:
        if lines and text_width(lines[-1] + between + part, height) <= width:
            lines[-1] += between + part
        else:
            lines.append(part)
    return lines
