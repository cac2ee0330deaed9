"""A page of paper in millimetres, and a document of such pages: what the cut book and the labels are drawn with.

y runs up from the lower edge. One type scale for everything that is printed; ink alone carries meaning.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Final

from panewright.io.pdf_drawing import MM, Fit, draw_scene, fit, written
from panewright.io.pdf_ops import INK, Ops, circle_path, polyline, rectangle_path, rounded_path, segments
from panewright.io.pdf_text import CAPITALS, broken, clipped, width
from panewright.io.scene_model import Scene
from panewright.nesting.units import NM_PER_MM

POSTER: Final = 40.0
"""Font sizes, from what is read across the room to what is read in the hand. [pt]"""
FIGURE: Final = 22.0
HEAD: Final = 15.0
WORD: Final = 10.5
TEXT: Final = 8.2
FINE: Final = 6.8

Box = tuple[float, float, float, float]
"""Left, bottom, width, height. [mm]"""


@dataclass(frozen=True, slots=True)
class Page:
    """One page.

    Parameters
    ----------
    ops
        Draws on it.
    wide, high
        [mm]
    """

    ops: Ops
    wide: float
    high: float

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        across: float = 0.0,
        colour: str = INK,
        angle: float = 0.0,
        narrow: float = 1.0,
    ) -> float:
        """One line from its base line; gives its width. [mm]"""
        at = (x * MM, y * MM)
        wide = self.ops.text(
            at, text, size, bold=bold, across=across, colour=colour, angle=angle, narrow=narrow
        )
        return wide / MM

    def fitted(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        room: float,
        *,
        least: float = 6.0,
        bold: bool = False,
        across: float = 0.0,
        colour: str = INK,
    ) -> float:
        """One line as large as it fits, down to `least`, then cut short; gives the font size taken. [pt]"""
        size = fitting(text, size, room, least=least, bold=bold)
        text = clipped(text, size, room * MM * 1.0001, bold=bold)
        self.text(x, y, text, size, bold=bold, across=across, colour=colour)
        return size

    def lines(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        room: float,
        *,
        bold: bool = False,
        most: int = 100,
        lead: float = 1.25,
    ) -> float:
        """A text in lines that fit, the first on y; gives the y below the last one. [mm]"""
        for line in broken(text, size, room * MM, bold=bold, most=most):
            self.text(x, y, line, size, bold=bold)
            y -= lead * size / MM
        return y

    def rule(
        self, x0: float, y0: float, x1: float, y1: float, weight: float = 0.25, dashes: Sequence[float] = ()
    ) -> None:
        """A line of this weight. [mm]"""
        self.ops.pen(INK, weight * MM, [d * MM for d in dashes])
        self.ops.paint(segments([((x0 * MM, y0 * MM), (x1 * MM, y1 * MM))]), stroke=True, fill=False)

    def frame(
        self,
        x: float,
        y: float,
        wide: float,
        high: float,
        *,
        weight: float = 0.25,
        fill: str | None = None,
        radius: float = 0.0,
        dashes: Sequence[float] = (),
    ) -> None:
        """A rectangle, its lower left corner at x, y; without a line where the weight is 0. [mm]"""
        place = (x * MM, y * MM, wide * MM, high * MM)
        self._paint(
            rounded_path(*place, radius * MM) if radius else rectangle_path(*place), weight, fill, dashes
        )

    def ring(self, x: float, y: float, radius: float, *, weight: float = 0.35, fill: str = "#ffffff") -> None:
        """A circle. [mm]"""
        self._paint(circle_path(x * MM, y * MM, radius * MM), weight, fill, ())

    def path(
        self,
        points: Sequence[tuple[float, float]],
        *,
        weight: float = 0.25,
        fill: str | None = None,
        closed: bool = True,
        dashes: Sequence[float] = (),
    ) -> None:
        """A polyline. [mm]"""
        self._paint(polyline([(x * MM, y * MM) for x, y in points], closed=closed), weight, fill, dashes)

    def _paint(self, path: str, weight: float, fill: str | None, dashes: Sequence[float]) -> None:
        if weight:
            self.ops.pen(INK, weight * MM, [d * MM for d in dashes])
        if fill:
            self.ops.fill(fill)
        self.ops.paint(path, stroke=weight > 0, fill=bool(fill))

    def scene(self, scene: Scene, box: Box, *, pen: float = 1.0, whole: bool = False) -> Fit:
        """A drawing as large as it fits; gives its place."""
        left, bottom, wide, high = box
        place = fit(scene, (left * MM, bottom * MM, wide * MM, high * MM), pen=pen, whole=whole)
        draw_scene(self.ops, scene, place)
        return place

    def code(self, x: float, y: float, side: float, text: str) -> None:
        """A QR code within a square of this side, its quiet zone included. [mm]"""
        count, path = _modules(text)
        module = side / (count + 8) * MM
        self.ops.fill("#000000")
        self.ops.paint_scaled(path, module, x * MM + 4 * module, y * MM + 4 * module)


_DARK: Final = re.compile(b"\x01+")
MASK: Final = 3
"""Data mask of every code, given by number: to try all eight takes five times as long and readers take any."""


@lru_cache(maxsize=4)
def _modules(text: str) -> tuple[int, str]:
    """Side and dark runs of a QR code, one a module (ISO/IEC 18004, error correction M)."""
    import segno

    matrix = segno.make(text, error="m", micro=False, boost_error=False, mask=MASK).matrix
    last = len(matrix) - 1
    bars = [
        f"{run.start()} {last - r} {run.end() - run.start()} 1 re"
        for r, row in enumerate(matrix)
        for run in _DARK.finditer(bytes(row))
    ]
    return last + 1, " ".join(bars)


def fitting(text: str, size: float, room: float, *, least: float = 6.0, bold: bool = False) -> float:
    """The font size at which a line fits a room [mm], at most `size` and at least `least`. [pt]"""
    wide = width(text, size, bold=bold)
    return size if wide <= room * MM else max(least, size * room * MM / wide)


def rise(size: float) -> float:
    """Height of the capitals of a font size [pt]. [mm]"""
    return size * CAPITALS / MM


def document(
    title: str, size: tuple[int, int], pages: Sequence[Callable[[Page], None]], *, subject: str = ""
) -> bytes:
    """A PDF, the same bytes for the same pages at any time.

    Parameters
    ----------
    title, subject
        For the properties of the file.
    size
        Width and height of every page. [nm]
    pages
        Each draws one page.
    """
    wide, high = size[0] / NM_PER_MM, size[1] / NM_PER_MM
    drawn = [partial(_on_page, draw, wide, high) for draw in pages]
    return written(title, (wide * MM, high * MM), drawn, subject=subject)


def _on_page(draw: Callable[[Page], None], wide: float, high: float, ops: Ops) -> None:
    draw(Page(ops, wide, high))
