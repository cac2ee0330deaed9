"""The small scene of a picture of numbers: what the SVG and the PDF both show, in points, y upwards.

Inks are names: the page in the browser has one set of colours for light and one for dark, paper has one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from panewright.io import palette

At = tuple[float, float]
Dashes = tuple[float, ...]

LIGHT: Final[dict[str, str]] = {
    "ink": "#15191d",
    "soft": "#4a545c",
    "grid": "#d9dcd8",
    "paper": "#ffffff",
    "band1": "#dbe8f4",
    "band2": "#b4cfe8",
    "band3": "#8db4da",
    "line1": "#123f66",
    "line2": palette.BRICK,
    "line3": palette.GREEN,
    "line4": palette.PLUM,
    "line5": "#59636c",
    "line6": "#b03a68",
    "level1": palette.BRICK,
    "level2": "#8a6200",
    "level3": "#59636c",
    "level4": palette.PLUM,
    "fill1": palette.BLUE,
    "fill2": "#f0d38f",
    "fill3": "#cfe5de",
    "fill4": "#ecdcea",
    "fill5": "#98a3ac",
    "fill6": "#f4cbd9",
}
"""Inks on a light ground and on paper; fills differ in lightness, so that they stay apart in black and white."""
DARK: Final[dict[str, str]] = {
    "ink": "#f0f3f5",
    "soft": "#b9c3ca",
    "grid": "#333d45",
    "paper": "#192026",
    "band1": "#1f3950",
    "band2": "#2d557a",
    "band3": "#3f77a8",
    "line1": "#d5e8fa",
    "line2": "#f08a66",
    "line3": "#5cc6aa",
    "line4": "#d396d0",
    "line5": "#aab4bc",
    "line6": "#f090b4",
    "level1": "#f08a66",
    "level2": "#e6bb55",
    "level3": "#aab4bc",
    "level4": "#d396d0",
    "fill1": "#5b9bd6",
    "fill2": "#7d6321",
    "fill3": "#24594b",
    "fill4": "#57325a",
    "fill5": "#c3ccd2",
    "fill6": "#7c3b54",
}
"""The same inks on a dark ground."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A line through points, or several where `paths` has more than one."""

    paths: tuple[tuple[At, ...], ...]
    ink: str
    weight: float = 1.0
    dashes: Dashes = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A filled outline, with an edge of another ink where one is named."""

    points: tuple[At, ...]
    ink: str
    edge: str = ""
    weight: float = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A filled circle, with an edge where one is named."""

    at: At
    radius: float
    ink: str
    edge: str = ""
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of text; `across` is 0 where `at` is its left end, 1 at its right end; `upright` reads upwards."""

    at: At
    text: str
    size: float
    across: float = 0.0
    ink: str = "ink"
    bold: bool = False
    upright: bool = False


Part = Stroke | Area | Dot | Words


@dataclass(slots=True)
class Chart:
    """A picture ready to be drawn.

    Parameters
    ----------
    wide, high
        [pt]
    pen
        Factor on all weights and dashes.
    parts
        In drawing order.
    """

    wide: float
    high: float
    pen: float = 1.0
    parts: list[Part] = field(default_factory=list)

    def line(self, points: Sequence[At], ink: str, weight: float = 1.0, dashes: Dashes = ()) -> None:
        """A line through two points or more."""
        self.parts.append(Stroke(paths=(tuple(points),), ink=ink, weight=weight, dashes=dashes))

    def area(self, points: Sequence[At], ink: str) -> None:
        """An area without an edge."""
        self.parts.append(Area(points=tuple(points), ink=ink))

    def box(self, x0: float, y0: float, x1: float, y1: float, look: Look) -> None:
        """A rectangle in the look of a series: its fill, its hatching, its edge."""
        x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        # a bar as thin as a hair has no room for an edge
        edge = look.line if x1 - x0 > 5 else ""
        self.parts.append(Area(points=corners, ink=look.fill, edge=edge))
        if look.hatch and x1 - x0 > 1.2 and y1 - y0 > 1.2:
            paths = hatching(x0, y0, x1, y1, look.hatch, PITCH * self.pen)
            if paths:
                self.parts.append(Stroke(paths=paths, ink=look.line, weight=0.7))


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How a series looks.

    Parameters
    ----------
    fill, line
        Inks of its areas and of its lines.
    hatch
        Direction of the lines over its areas; empty for none.
    dashes
        Of its lines where they are dashed.
    mark
        Sign of its points.
    """

    fill: str
    line: str
    hatch: str = ""
    dashes: Dashes = ()
    mark: str = "circle"


_HATCHES: Final = ("", "", "rising", "falling", "", "level")
_MORE: Final = ("rising", "falling", "level", "upright")
_DASHES: Final = ((6.0, 3.0), (2.0, 2.5), (8.0, 2.5, 2.0, 2.5), (12.0, 3.0), (4.0, 1.5))
MARKS: Final = ("circle", "square", "triangle", "diamond", "ring", "frame")
PITCH: Final = 4.5
"""From line to line of a hatching. [pt]"""


def look_of(index: int) -> Look:
    """The look of a series by its place; colours come again after six, with another hatching."""
    turn, again = index % len(_HATCHES), index // len(_HATCHES)
    hatch = _HATCHES[turn]
    if again:
        hatch = _MORE[((_MORE.index(hatch) if hatch else -1) + again) % len(_MORE)]
    return Look(
        fill=f"fill{turn + 1}",
        line=f"line{turn + 1}",
        hatch=hatch,
        dashes=_DASHES[index % len(_DASHES)],
        mark=MARKS[index % len(MARKS)],
    )


def hatching(
    x0: float, y0: float, x1: float, y1: float, way: str, pitch: float = PITCH
) -> tuple[tuple[At, ...], ...]:
    """Parallel lines within a rectangle, on one lattice for all of them."""
    out: list[tuple[At, ...]] = []
    if way in ("level", "upright"):
        low, high = (y0, y1) if way == "level" else (x0, x1)
        for i in range(int(low // pitch) + 1, int(-(-high // pitch))):
            at = i * pitch
            out.append(((x0, at), (x1, at)) if way == "level" else ((at, y0), (at, y1)))
        return tuple(out)
    sign, pitch = (1.0 if way == "rising" else -1.0), pitch * 1.5
    # lines y = sign * x + c
    ends = sorted((y0 - sign * x0, y0 - sign * x1, y1 - sign * x0, y1 - sign * x1))
    for i in range(int(ends[0] // pitch) + 1, int(-(-ends[-1] // pitch))):
        c = i * pitch
        xs = sorted(((y0 - c) * sign, (y1 - c) * sign))
        a, b = max(x0, xs[0]), min(x1, xs[1])
        if b - a > 0.2:
            out.append(((a, sign * a + c), (b, sign * b + c)))
    return tuple(out)


def mark_parts(at: At, size: float, look: Look) -> list[Part]:
    """The sign of a point."""
    x, y = at
    r = size / 2
    match look.mark:
        case "circle":
            return [Dot(at=at, radius=r, ink=look.line)]
        case "ring":
            return [Dot(at=at, radius=r, ink="paper", edge=look.line)]
        case "square" | "frame":
            points: tuple[At, ...] = ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r))
        case "triangle":
            points = ((x - 1.2 * r, y - r), (x + 1.2 * r, y - r), (x, y + 1.2 * r))
        case _:
            points = ((x, y - 1.35 * r), (x + 1.35 * r, y), (x, y + 1.35 * r), (x - 1.35 * r, y))
    if look.mark == "frame":
        return [Area(points=points, ink="paper", edge=look.line, weight=1.0)]
    return [Area(points=points, ink=look.line)]
