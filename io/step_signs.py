"""Our own signs for what to mind at a step, and the short words that stand beside them in a box."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import Final

from panewright.io.pdf_drawing import MM
from panewright.io.pdf_ops import INK
from panewright.io.pdf_page import FINE, Page, rise
from panewright.io.pdf_text import width
from panewright.io.step_words import show_mass
from panewright.nesting.steps import Caution, Lift, Step
from panewright.nesting.text import tr, tr_count


class Sign(Enum):
    """A sign; the value says what it means, passed through `tr` when it is shown."""

    TWO = "lift with two persons"
    CRANE = "too heavy for hands: suction lifter or crane"
    NARROW = "narrow strip: support its whole length, run the break with pliers"
    RAW = "raw edge: sharp, and perhaps out of square"
    CORNER = "sharp points: break from the wide end, bin the corner at once"
    POINT = "sharp point: support it, break from the wide end, cover the point"
    TAPER = "runs to a point: support the whole score, start the break at the wide end"
    TURN = "cut mirror-image: turn over before edging"
    DRILL = "holes or cut-outs to be drilled, sawn or cut by water jet afterwards"
    KEEP = "offcut: write its number on the glass and put it on the rack"


Boxed = tuple[Sign, str]
"""A sign and its short words."""

OF_CAUTION: Final = {
    Caution.NARROW: (Sign.NARROW, "narrow"),
    Caution.RAW: (Sign.RAW, "raw edge"),
    Caution.CORNER: (Sign.CORNER, "sharp corner"),
    Caution.POINT: (Sign.POINT, "sharp point"),
    Caution.TAPER: (Sign.TAPER, "runs to a point"),
    Caution.TURN: (Sign.TURN, "turn over"),
}
BOX_HIGH: Final = 4.0
"""Height of a box of words. [mm]"""
_Points = Sequence[tuple[float, float]]


def lift_sign(lift: Lift, grams: int) -> Boxed | None:
    """How a piece is lifted, with its mass; None where one person lifts it."""
    if lift is Lift.ONE:
        return None
    if lift is Lift.TWO:
        return Sign.TWO, tr("two persons {mass}", mass=show_mass(grams))
    return Sign.CRANE, tr("suction lifter {mass}", mass=show_mass(grams))


def step_signs(step: Step, openings: int) -> list[Boxed]:
    """The boxes of a step; `openings` of the panels that come off."""
    found = [lift_sign(step.lift, step.piece.mass)]
    found += [(sign, tr(word)) for c, (sign, word) in OF_CAUTION.items() if c in step.cautions]
    if openings:
        found.append((Sign.DRILL, tr_count("{count} opening", "{count} openings", openings)))
    return [one for one in found if one is not None]


def box_width(words: str) -> float:
    """Width of a box of words with its sign. [mm]"""
    return width(words, FINE, bold=True) / MM + 6.4


def draw_boxes(page: Page, x: float, y: float, room: float, boxes: Sequence[Boxed]) -> float:
    """Boxes beside and below one another, the first with its top at y; gives the y below them. [mm]"""
    left = x
    for sign, words in boxes:
        wide = min(box_width(words), room)
        if left > x and left + wide > x + room:
            left, y = x, y - BOX_HIGH - 0.8
        page.frame(left, y - BOX_HIGH, wide, BOX_HIGH, weight=0.3, radius=1.0, fill="#ffffff")
        draw_sign(page, left + 0.7, y - BOX_HIGH + 0.6, BOX_HIGH - 1.2, sign)
        page.fitted(left + 5.0, y - (BOX_HIGH + rise(FINE)) / 2, words, FINE, wide - 5.6, least=4, bold=True)
        left += wide + 1.2
    return y - BOX_HIGH - 0.8


def boxes_height(room: float, boxes: Sequence[Boxed]) -> float:
    """What `draw_boxes` takes. [mm]"""
    if not boxes:
        return 0.0
    rows, left = 1, 0.0
    for _, words in boxes:
        wide = min(box_width(words), room)
        if left > 0 and left + wide > room:
            rows, left = rows + 1, 0.0
        left += wide + 1.2
    return rows * (BOX_HIGH + 0.8)


def draw_sign(page: Page, x: float, y: float, side: float, sign: Sign) -> None:
    """A sign within a square, its lower left corner at x, y. [mm]"""

    def at(points: _Points) -> list[tuple[float, float]]:
        return [(x + side * a, y + side * b) for a, b in points]

    def solid(points: _Points) -> None:
        page.path(at(points), weight=0, fill=INK)

    def hollow(points: _Points, *, closed: bool = True) -> None:
        page.path(at(points), weight=side * 0.09, closed=closed)

    match sign:
        case Sign.TWO:
            for a in (0.24, 0.76):
                page.ring(x + side * a, y + side * 0.8, side * 0.15, weight=0, fill=INK)
                solid([(a - 0.2, 0.22), (a + 0.2, 0.22), (a + 0.13, 0.6), (a - 0.13, 0.6)])
            solid([(0, 0), (1, 0), (1, 0.14), (0, 0.14)])
        case Sign.CRANE:
            solid([(0.1, 0.16), (0.9, 0.16), (0.66, 0.42), (0.34, 0.42)])
            solid([(0.44, 0.4), (0.56, 0.4), (0.56, 0.78), (0.44, 0.78)])
            hollow([(0.3, 0.9), (0.5, 0.74), (0.7, 0.9)], closed=False)
            solid([(0, 0), (1, 0), (1, 0.1), (0, 0.1)])
        case Sign.NARROW:
            solid([(0.42, 0), (0.58, 0), (0.58, 1), (0.42, 1)])
            solid([(0, 0.35), (0.3, 0.5), (0, 0.65)])
            solid([(1, 0.35), (0.7, 0.5), (1, 0.65)])
        case Sign.RAW:
            hollow([(0, 0.3), (0.2, 0.7), (0.4, 0.3), (0.6, 0.7), (0.8, 0.3), (1, 0.7)], closed=False)
        case Sign.CORNER:
            solid([(0, 0), (1, 0.06), (0.12, 0.62)])
        case Sign.POINT:
            hollow([(0.04, 0.08), (0.96, 0.3), (0.04, 0.92)])
            solid([(0.5, 0.18), (1, 0.3), (0.5, 0.62)])
        case Sign.TAPER:
            hollow([(0, 0.06), (1, 0.5), (0, 0.94)], closed=False)
            solid([(0, 0.4), (0.55, 0.5), (0, 0.6)])
        case Sign.TURN:
            hollow([(0.4, 0.1), (0.4, 0.9), (0.02, 0.1)])
            solid([(0.6, 0.1), (0.6, 0.9), (0.98, 0.1)])
        case Sign.DRILL:
            page.ring(x + side / 2, y + side / 2, side * 0.34, weight=side * 0.1)
            hollow([(0.5, 0), (0.5, 1)], closed=False)
            hollow([(0, 0.5), (1, 0.5)], closed=False)
        case Sign.KEEP:
            hollow([(0.05, 0.2), (0.95, 0.2), (0.95, 0.95), (0.05, 0.95)])
            solid([(0.25, 0.62), (0.42, 0.42), (0.78, 0.8), (0.42, 0.58)])
            solid([(0, 0), (1, 0), (1, 0.1), (0, 0.1)])
