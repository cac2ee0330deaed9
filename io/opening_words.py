"""Openings as words: ``hole 35 at 100 400``, ``slot 200 x 25 at 300 500 r 12``, ``cut-out r 12: 0 0, ...``."""

from __future__ import annotations

import re
from typing import Final

from panewright.io.lengths import BadValue, DecimalSign, parse_length
from panewright.io.numbers_text import length
from panewright.io.panel_edges import MAX_CORNERS
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.openings import CutOut, Hole, Opening, slot, usual_radius
from panewright.nesting.outlines import Outline, Point, box, make_outline, rectangle
from panewright.nesting.text import tr
from panewright.nesting.units import LengthUnit

MAX_OPENINGS: Final = 40
"""Of one panel."""

_HOLE: Final = re.compile(r"hole\s+(?P<diameter>.+?)\s+at\s+(?P<at>.+)", re.IGNORECASE)
_SLOT: Final = re.compile(
    r"slot\s+(?P<width>.+?)\s*[x×]\s*(?P<height>.+?)\s+at\s+(?P<at>.+?)(?:\s+r\s+(?P<r>.+))?", re.IGNORECASE
)
_CUT_OUT: Final = re.compile(
    r"(?:cut[\s-]?out|notch)(?:\s+r\s+(?P<r>[^:]+?))?\s*:\s*(?P<corners>.+)", re.IGNORECASE
)


class _Lengths:
    """Reads lengths in the unit and with the decimal sign of the list."""

    def __init__(self, unit: LengthUnit, decimal: DecimalSign) -> None:
        self.unit, self.decimal = unit, decimal

    def size(self, text: str, what: str) -> int:
        """A length above 0. [nm]"""
        try:
            found = parse_length(text, self.unit, self.decimal)
        except BadValue as error:
            raise _of(what, error) from None
        if found <= 0:
            raise BadValue(tr("{what} is 0", what=what), tr("give a length above 0"))
        return found

    def radius(self, text: str) -> int:
        """A length of 0 or more. [nm]"""
        try:
            return parse_length(text, self.unit, self.decimal)
        except BadValue as error:
            raise _of(tr("the radius"), error) from None

    def pair(self, text: str, what: str) -> Point:
        """An x and a y, set apart by a blank, or by a semicolon where a length holds blanks. [nm]"""
        remedy = tr("write x and y as in 100 400, or with blanks in a length as in 23 5/8; 10")
        if ";" in text:
            parts = [part.strip() for part in text.split(";")]
            if len(parts) != 2 or not all(parts):
                raise BadValue(tr("{what} is not one x and one y", what=what), remedy)
            return self._signed(parts[0], what), self._signed(parts[1], what)
        words = text.split()
        if len(words) == 2:
            if self._reads(text):
                raise BadValue(tr("{what} may be one length or two", what=what), remedy)
            return self._signed(words[0], what), self._signed(words[1], what)
        splits = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
        good = [pair for pair in splits if all(map(self._reads, pair))]
        if len(good) != 1:
            raise BadValue(tr("{what} is not one x and one y", what=what), remedy)
        x, y = good[0]
        return self._signed(x, what), self._signed(y, what)

    def _signed(self, text: str, what: str) -> int:
        try:
            return parse_length(text, self.unit, self.decimal, signed=True)
        except BadValue as error:
            raise _of(what, error) from None

    def _reads(self, text: str) -> bool:
        try:
            parse_length(text, self.unit, self.decimal, signed=True)
        except BadValue:
            return False
        return True


def _of(what: str, error: BadValue) -> BadValue:
    return BadValue(tr("{what}: {reason}", what=what, reason=error.reason), error.remedy)


def parse_opening(
    text: str, thickness: int, unit: LengthUnit = "mm", decimal: DecimalSign = "point"
) -> Opening:
    """The opening behind its words.

    Parameters
    ----------
    text
        ``hole DIAMETER at X Y`` (its centre), ``slot WIDTH x HEIGHT at X Y`` (the lower left corner of
        its box) or ``cut-out: X Y, X Y, ...`` (its corners), the last two with ``r RADIUS`` for the inner
        corners: behind a slot, and before the colon of a cut-out. x and y count from the lower left
        corner of the box around the finished panel.
    thickness
        Of the glass, for the radius where none is named. [nm]
    unit, decimal
        Unit of bare numbers, and decimal sign.

    Raises
    ------
    BadValue
        When it is none of these, or a length cannot be read or can be read in two ways.

    Examples
    --------
    >>> parse_opening("hole 35 at 100 400", 10_000_000)
    Hole(center=(100000000, 400000000), diameter=35000000)
    """
    read, plain = _Lengths(unit, decimal), " ".join(text.split())
    if found := _HOLE.fullmatch(plain):
        diameter = read.size(found["diameter"], tr("the diameter"))
        return Hole(center=read.pair(found["at"], tr("the centre")), diameter=diameter)
    if found := _SLOT.fullmatch(plain):
        width, height = (
            read.size(found["width"], tr("the width")),
            read.size(found["height"], tr("the height")),
        )
        x, y = read.pair(found["at"], tr("the lower left corner"))
        usual = usual_radius(rectangle(width, height), thickness)
        return slot(x, y, width, height, read.radius(found["r"]) if found["r"] else usual)
    if found := _CUT_OUT.fullmatch(plain):
        outline = _outline(found["corners"], read)
        radius = read.radius(found["r"]) if found["r"] else usual_radius(outline, thickness)
        return CutOut(outline=outline, corner_radius=radius)
    raise BadValue(
        tr("this is neither a hole nor a slot nor a cut-out"),
        tr(
            "write it as in hole 35 at 100 400, slot 200 x 25 at 300 500 r 12, cut-out r 12: 0 0, 90 0, 90 50"
        ),
    )


def _outline(text: str, read: _Lengths) -> Outline:
    """Corners set apart by a comma and a blank."""
    parts = re.split(r",\s+", text.strip().rstrip(","))
    if len(parts) > MAX_CORNERS:
        raise BadValue(tr("the cut-out has more than {limit} corners", limit=MAX_CORNERS), tr("simplify it"))
    if len(parts) < 3:
        raise BadValue(
            tr("the cut-out has fewer than three corners"),
            tr("set its corners apart by a comma and a blank, as in 0 0, 90 0, 90 50"),
        )
    corners = [read.pair(part, tr("corner {number}", number=i)) for i, part in enumerate(parts, start=1)]
    try:
        return make_outline(corners)
    except InvalidOutline as error:
        raise BadValue(tr("the cut-out: {reason}", reason=error.reason), error.remedy) from None


def opening_text(opening: Opening) -> str:
    """The words of an opening, exact, in millimetres with a decimal point.

    `parse_opening` reads the same opening from them where its lengths are whole ticks, as those of every
    list are.

    Examples
    --------
    >>> opening_text(Hole(center=(100_000_000, 400_500_000), diameter=35_000_000))
    'hole 35 mm at 100 mm 400.5 mm'
    """
    if isinstance(opening, Hole):
        return f"hole {_mm(opening.diameter)} at {_pair(opening.center)}"
    radius, outline = _mm(opening.corner_radius), opening.outline
    x0, y0, x1, y1 = box(outline)
    if outline == rectangle(x1 - x0, y1 - y0, x0, y0):
        return f"slot {_mm(x1 - x0)} x {_mm(y1 - y0)} at {_pair((x0, y0))} r {radius}"
    return f"cut-out r {radius}: {', '.join(map(_pair, outline))}"


def _mm(nm: int) -> str:
    return f"{length(nm)} mm"


def _pair(p: Point) -> str:
    return f"{_mm(p[0])} {_mm(p[1])}"
