"""Drawing operators of PDF, written straight: few bytes, the same ones everywhere, a pen changed only when it must be.

Operators and operands by ISO 32000-1, clauses 8.4 to 8.6 and 9.4; points from the lower left corner.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from math import cos, radians, sin
from typing import Any, Final

from panewright.io.pdf_text import runs, width

INK: Final = "#15191d"
_KAPPA: Final = 0.5522847498
"""Handles of the cubic that stands for a quarter circle. [of the radius]"""

Place = tuple[float, float]


@lru_cache(maxsize=256)
def _rgb(colour: str) -> str:
    return " ".join(f"{int(colour[i : i + 2], 16) / 255:.3f}" for i in (1, 3, 5))


def _n(value: float) -> str:
    return f"{value:.2f}"


class Ops:
    """Draws on a canvas of reportlab, on one page of it.

    `encoded` keeps how the fonts of the document write texts, from page to page.
    """

    def __init__(self, canvas: Any, encoded: dict[tuple[str, str], list[tuple[str, str]]]) -> None:
        self.canvas, self.encoded = canvas, encoded
        self._pen: object = None
        self._fill = ""
        self._write: Callable[[str], None] = canvas.addLiteral

    def pen(
        self, colour: str, weight: float, dashes: Sequence[float] = (), *, round_ends: bool = False
    ) -> None:
        """Colour, weight [pt] and dashes [pt] of the lines that follow."""
        key = (colour, weight, tuple(dashes), round_ends)
        if key != self._pen:
            self._pen = key
            gaps = " ".join([f"{d:.3f}" for d in dashes])
            self._write(f"{_rgb(colour)} RG {weight:.3f} w [{gaps}] 0 d {int(round_ends)} J 1 j")

    def fill(self, colour: str) -> None:
        """Colour of the areas that follow."""
        if colour != self._fill:
            self._fill = colour
            self._write(f"{_rgb(colour)} rg")

    def paint(self, path: str, *, stroke: bool, fill: bool) -> None:
        """Draw a path."""
        operator = {(True, True): "B", (True, False): "S", (False, True): "f"}.get((stroke, fill), "n")
        self._write(f"{path} {operator}")

    def paint_scaled(self, path: str, unit: float, x: float, y: float) -> None:
        """Fill a path whose lengths are in units of so many points, its origin at x, y."""
        self._write(f"q {unit:.4f} 0 0 {unit:.4f} {_n(x)} {_n(y)} cm {path} f Q")

    def text(
        self,
        at: Place,
        text: str,
        size: float,
        *,
        bold: bool = False,
        colour: str = INK,
        across: float = 0.0,
        drop: float = 0.0,
        angle: float = 0.0,
        narrow: float = 1.0,
    ) -> float:
        """Draw one line of text.

        Parameters
        ----------
        at
            Where its anchor lies. [pt]
        text
            In any script.
        size
            Font size. [pt]
        bold
            In the bold font.
        colour
            ``#rrggbb``.
        across
            Where the anchor is along the text, 0 its left end, 1 its right one.
        drop
            How far the line lies below the anchor. [pt]
        angle
            Counter-clockwise. [degree]
        narrow
            Factor on its width.

        Returns
        -------
        float
            Width of the text. [pt]
        """
        if not text:
            return 0.0
        wide = width(text, size, bold=bold) * narrow
        self.fill(colour)
        c, s = (cos(radians(angle)), sin(radians(angle))) if angle else (1.0, 0.0)
        x = at[0] - across * wide * c + drop * s
        y = at[1] - across * wide * s - drop * c
        parts = ["BT"]
        if narrow != 1.0:
            parts.append(f"{100 * narrow:.1f} Tz")
        if angle:
            parts.append(f"{c:.6f} {s:.6f} {-s:.6f} {c:.6f} {_n(x)} {_n(y)} Tm")
        else:
            parts.append(f"{_n(x)} {_n(y)} Td")
        for name, part, _ in runs(text, bold):
            for font, shown in self._codes(name, part):
                parts.append(f"{font} {size:.2f} Tf {shown} Tj")
        if narrow != 1.0:
            parts.append("100 Tz")
        parts.append("ET")
        self._write(" ".join(parts))
        return wide

    def _codes(self, name: str, text: str) -> list[tuple[str, str]]:
        """Names of the subsets of a font, and what stands for the text in each."""
        known = self.encoded.get((name, text))
        if known is None:
            from reportlab.pdfbase.pdfmetrics import getFont

            font, doc = getFont(name), self.canvas._doc
            if getattr(font, "_dynamicFont", False):
                known = [
                    (font.getSubsetInternalName(subset, doc), f"({self.canvas._escape(codes)})")
                    for subset, codes in font.splitString(text, doc)
                ]
            else:
                known = [(doc.getInternalFontName(name), f"({font.formatForPdf(text)})")]
            self.encoded[name, text] = known
        return known


def polyline(points: Sequence[Place], *, closed: bool = True) -> str:
    """A path of straight sides."""
    x, y = points[0]
    parts = [f"{x:.2f} {y:.2f} m", *[f"{a:.2f} {b:.2f} l" for a, b in points[1:]]]
    return " ".join([*parts, "h"] if closed else parts)


def segments(lines: Sequence[tuple[Place, Place]]) -> str:
    """A path of many lines."""
    return " ".join([f"{a:.2f} {b:.2f} m {c:.2f} {d:.2f} l" for (a, b), (c, d) in lines])


def curve(a: Place, b: Place, c: Place) -> str:
    """A cubic from where the path is."""
    return f"{a[0]:.2f} {a[1]:.2f} {b[0]:.2f} {b[1]:.2f} {c[0]:.2f} {c[1]:.2f} c"


def line_to(a: Place, *, first: bool = False) -> str:
    """A straight side from where the path is, or its first point."""
    return f"{_n(a[0])} {_n(a[1])} {'m' if first else 'l'}"


def rectangle_path(x: float, y: float, wide: float, high: float) -> str:
    """A rectangle from its lower left corner."""
    return f"{_n(x)} {_n(y)} {_n(wide)} {_n(high)} re"


def circle_path(x: float, y: float, r: float) -> str:
    """A circle of four cubics."""
    k = _KAPPA * r
    return " ".join(
        (
            line_to((x + r, y), first=True),
            curve((x + r, y + k), (x + k, y + r), (x, y + r)),
            curve((x - k, y + r), (x - r, y + k), (x - r, y)),
            curve((x - r, y - k), (x - k, y - r), (x, y - r)),
            curve((x + k, y - r), (x + r, y - k), (x + r, y)),
            "h",
        )
    )


def rounded_path(x: float, y: float, wide: float, high: float, r: float) -> str:
    """A rectangle with rounded corners."""
    r = min(r, wide / 2, high / 2)
    k, x1, y1 = r * (1 - _KAPPA), x + wide, y + high
    return " ".join(
        (
            line_to((x + r, y), first=True),
            line_to((x1 - r, y)),
            curve((x1 - k, y), (x1, y + k), (x1, y + r)),
            line_to((x1, y1 - r)),
            curve((x1, y1 - k), (x1 - k, y1), (x1 - r, y1)),
            line_to((x + r, y1)),
            curve((x + k, y1), (x, y1 - k), (x, y1 - r)),
            line_to((x, y + r)),
            curve((x, y + k), (x + k, y), (x + r, y)),
            "h",
        )
    )
