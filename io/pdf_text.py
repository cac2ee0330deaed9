"""Text on paper: fonts that go along in the file, scripts of the world as far as they reach, nothing that fails.

The fonts are DejaVu Sans Condensed, regular and bold (openly licensed, see `fonts/LICENSE.txt`): Latin,
Greek, Cyrillic, Armenian, Georgian, Hebrew, Arabic and many signs. Chinese, Japanese and Korean are
named, not embedded: the reader takes its own font for them. What neither has is shown as a box.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib.resources import as_file, files
from typing import Any, Final

from panewright.io.bidi_text import visual
from panewright.io.problems import shown

CAPITALS: Final = 0.729
"""Height of capitals of the fonts. [of the font size]"""
MISSING: Final = "\u25af"
"""Stands for a character that no font has."""
_FILES: Final = {
    "PanewrightText": "DejaVuSansCondensed.ttf",
    "PanewrightBold": "DejaVuSansCondensed-Bold.ttf",
}
REGULAR, BOLD = _FILES
_CHINESE: Final = "STSong-Light"
_KOREAN: Final = "HYSMyeongJo-Medium"
_HANGUL: Final = ((0x1100, 0x11FF), (0x3130, 0x318F), (0xAC00, 0xD7A3))
_HAN: Final = ((0x2E80, 0x30FF), (0x3200, 0x9FFF), (0xF900, 0xFAFF), (0xFF01, 0xFF60))
_SILENT: Final = range(0xFE00, 0xFE10)
"""Variation selectors: they choose a look that these fonts have not."""


@dataclass(frozen=True, slots=True)
class _Font:
    """A registered font and the widths of its characters. [1/1000 of the font size]"""

    name: str
    widths: dict[int, float] = field(repr=False)
    ascii: tuple[float, ...] = field(repr=False)


@cache
def _font(name: str) -> _Font:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    with as_file(files("panewright.io") / "fonts" / _FILES[name]) as path:
        font: Any = TTFont(name, str(path))
    pdfmetrics.registerFont(font)
    widths = font.face.charWidths
    return _Font(name, widths, tuple(widths.get(i, 0.0) / 1000 for i in range(128)))


@cache
def _named(name: str) -> str:
    """A font of the reader's own, registered by its name."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.cidfonts import UnicodeCIDFont

    pdfmetrics.registerFont(UnicodeCIDFont(name))
    return name


Run = tuple[str, str, float]
"""Font name, text, and width. [of the font size]"""


@lru_cache(maxsize=20_000)
def runs(text: str, bold: bool) -> tuple[Run, ...]:
    """A line in the order of paper, in runs of one font each; what no font has is replaced.

    Parameters
    ----------
    text
        As people type it.
    bold
        In the bold font.
    """
    font = _font(BOLD if bold else REGULAR)
    if text.isascii() and text.isprintable():
        return ((font.name, text, _ems(text, bold)),) if text else ()
    widths = font.widths
    out: list[tuple[str, list[str], float]] = []
    for c in visual(text):
        code = ord(c)
        if code in widths:
            name, wide = font.name, widths[code] / 1000
        elif code in _SILENT:
            continue
        elif any(a <= code <= b for a, b in _HANGUL):
            name, wide = _named(_KOREAN), 1.0
        elif any(a <= code <= b for a, b in _HAN):
            name, wide = _named(_CHINESE), 1.0
        else:
            name, c, wide = font.name, MISSING, widths[ord(MISSING)] / 1000
        if out and out[-1][0] == name:
            out[-1][1].append(c)
            out[-1] = (name, out[-1][1], out[-1][2] + wide)
        else:
            out.append((name, [c], wide))
    return tuple((name, "".join(parts), wide) for name, parts, wide in out)


def has_missing(text: str) -> bool:
    """Whether a character of it is shown as a box."""
    return any(MISSING in part for _, part, _ in runs(text, False)) and MISSING not in text


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a line at a font size, in the unit of the size."""
    return size * _ems(text, bold)


@lru_cache(maxsize=20_000)
def _ems(text: str, bold: bool) -> float:
    if text.isascii() and text.isprintable():
        return sum(map(_font(BOLD if bold else REGULAR).ascii.__getitem__, text.encode("ascii")))
    return sum(wide for _, _, wide in runs(text, bold))


def clipped(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """A line cut short so that it fits, with three dots; as it is where it does.

    Parameters
    ----------
    text
        The line.
    size
        Font size; `room` has the same unit.
    room
        Greatest width.
    """
    if width(text, size, bold=bold) <= room:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width(text[:middle].rstrip() + "...", size, bold=bold) <= room:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "..."


def broken(text: str, size: float, room: float, *, bold: bool = False, most: int = 100) -> list[str]:
    """A text in lines that fit, broken at blanks where there are any; the last line may be cut short.

    Parameters
    ----------
    text
        The text.
    size, room
        Font size and greatest width, in the same unit.
    bold
        In the bold font.
    most
        Lines at most.
    """
    lines: list[str] = []
    rest = text.strip()
    while rest:
        if len(lines) == most - 1:
            return [*lines, clipped(rest, size, room, bold=bold)]
        line = _first_line(rest, size, room, bold)
        lines.append(line.rstrip())
        rest = rest[len(line) :].lstrip()
    return lines or [""]


def _first_line(text: str, size: float, room: float, bold: bool) -> str:
    if width(text, size, bold=bold) <= room:
        return text
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width(text[:middle], size, bold=bold) <= room:
            low = middle
        else:
            high = middle - 1
    blank = text.rfind(" ", 0, low + 1)
    return text[:blank] if blank > 0 else text[:low]


def named(value: object, length: int = 60) -> str:
    """A name from outside for paper: one line, without control characters."""
    return shown(value, length)
