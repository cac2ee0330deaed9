"""Pages that fill from top to bottom: each block says how high it is, and a new page begins where it does not fit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from panewright.io.pdf_drawing import MM
from panewright.io.pdf_page import Page
from panewright.io.pdf_text import broken

EDGE: Final = 15.0
"""At the left and the right, and at top and bottom beyond head and foot. [mm]"""
HEAD_ROOM: Final = 8.0
FOOT_ROOM: Final = 6.0
LEAD: Final = 1.3 / MM
"""From line to line. [mm/pt]"""

Draw = Callable[[Page], None]


@dataclass(slots=True)
class Flow:
    """Pages in the making.

    Parameters
    ----------
    wide, high
        Of every page. [mm]
    """

    wide: float
    high: float
    pages: list[list[Draw]] = field(default_factory=lambda: [[]])
    y: float = 0.0

    def __post_init__(self) -> None:
        self.y = self.top

    @property
    def top(self) -> float:
        """Where a page begins. [mm]"""
        return self.high - EDGE - HEAD_ROOM

    @property
    def low(self) -> float:
        """Where a page ends. [mm]"""
        return EDGE + FOOT_ROOM

    @property
    def room(self) -> float:
        """Width of a line. [mm]"""
        return self.wide - 2 * EDGE

    def new_page(self) -> None:
        """Begin a page."""
        self.pages.append([])
        self.y = self.top

    def fits(self, high: float) -> bool:
        """Whether a block of this height fits below what is there. [mm]"""
        return self.y - high >= self.low

    def need(self, high: float) -> None:
        """Begin a page where a block of this height does not fit below what is there. [mm]"""
        if not self.fits(high) and self.y < self.top:
            self.new_page()

    def gap(self, high: float) -> None:
        """Leave room, but not at the top of a page. [mm]"""
        if self.y < self.top:
            self.y -= high

    def put(self, high: float, draw: Callable[[Page, float], None]) -> None:
        """Add a block; it draws itself below the given height. [mm]"""
        self.need(high)
        y = self.y
        self.pages[-1].append(lambda page: draw(page, y))
        self.y -= high

    def text(self, text: str, size: float, *, bold: bool = False, left: float = 0.0, most: int = 40) -> None:
        """A text in as many lines as it takes."""
        step = size * LEAD
        for line in broken(text, size, (self.room - left) * MM, bold=bold, most=most):
            self.put(step, _Line(line, size, EDGE + left, bold))


@dataclass(frozen=True, slots=True)
class _Line:
    text: str
    size: float
    left: float
    bold: bool

    def __call__(self, page: Page, y: float) -> None:
        page.text(self.left, y - self.size / MM, self.text, self.size, bold=self.bold)
