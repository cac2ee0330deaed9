"""Pieces in hand: the exact outline of every piece while a sheet is cut up, and where its edges came from.

A piece is convex and counter-clockwise; its corners are whole nanometres, or fractions of one where
an angled score crosses an edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import isqrt

from .errors import NestingError
from .plan import Cut, Layout
from .stock import Side
from .text import tr

Exact = int | Fraction
Corner = tuple[Exact, Exact]

SLACK = 1000
"""Corners and crossings nearer than this are one and the same to a person. [nm]"""


class CutFault(NestingError, ValueError):
    """A cut of a plan that cannot be made.

    Parameters
    ----------
    sheet, step
        Numbers of the sheet and of the cut.
    reason
        What is wrong, worded for the user.
    """

    def __init__(self, sheet: int, step: int, reason: str) -> None:
        self.sheet, self.step, self.reason = sheet, step, reason
        super().__init__(sheet, step, reason)

    def __str__(self) -> str:
        return tr(
            "sheet {sheet}, step {step}: {reason}; have the plan file checked",
            sheet=self.sheet,
            step=self.step,
            reason=self.reason,
        )


class Direction(Enum):
    """Where an edge or a part lies on a piece, as the drawing shows it: x to the right, y up."""

    LEFT = "left"
    RIGHT = "right"
    BOTTOM = "bottom"
    TOP = "top"
    LOWER_LEFT = "lower left"
    LOWER_RIGHT = "lower right"
    UPPER_LEFT = "upper left"
    UPPER_RIGHT = "upper right"


def magnitude(value: Exact) -> Exact:
    """The value without its sign; `abs`, but for a union of types."""
    return value if value >= 0 else -value


def direction(dx: Exact, dy: Exact) -> Direction:
    """The word for a direction: one of eight, each 45 degrees wide."""
    if magnitude(dy) * 1000 <= 414 * magnitude(dx):  # tan 22.5 degrees
        return Direction.RIGHT if dx > 0 else Direction.LEFT
    if magnitude(dx) * 1000 <= 414 * magnitude(dy):
        return Direction.TOP if dy > 0 else Direction.BOTTOM
    return Direction(f"{'upper' if dy > 0 else 'lower'} {'right' if dx > 0 else 'left'}")


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the sheet.

    Parameters
    ----------
    name
        In the cut tree.
    corners
        Exact outline. [nm]
    raw
        One an edge, edge i from corner i to corner i + 1: the raw side that it lies on, or None for
        an edge that was cut.
    made_by
        One an edge: the step that scored it, less than 0 for a side of the sheet. No two edges of a
        piece have the same, since it is convex.
    """

    name: str
    corners: tuple[Corner, ...]
    raw: tuple[Side | None, ...]
    made_by: tuple[int, ...] = (-1, -2, -3, -4)

    @property
    def area2(self) -> Exact:
        """Twice the area. [nm2]"""
        c = self.corners
        total: Exact = 0
        for i in range(len(c)):
            total += c[i - 1][0] * c[i][1] - c[i][0] * c[i - 1][1]
        return total

    @property
    def extent(self) -> tuple[Exact, Exact, Exact, Exact]:
        """Least x, least y, greatest x, greatest y. [nm]"""
        xs, ys = [p[0] for p in self.corners], [p[1] for p in self.corners]
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the bounding box, rounded to the nanometre. [nm]"""
        x0, y0, x1, y1 = self.extent
        return round(x1 - x0), round(y1 - y0)

    @property
    def is_rectangle(self) -> bool:
        """Whether it fills its bounding box, but for what nobody can see."""
        x0, y0, x1, y1 = self.extent
        missing = 2 * (x1 - x0) * (y1 - y0) - self.area2
        return missing <= 2 * SLACK * (x1 - x0 + y1 - y0)

    def edge(self, i: int) -> tuple[Corner, Corner]:
        """Both ends of edge i."""
        return self.corners[i], self.corners[(i + 1) % len(self.corners)]


def whole_sheet(layout: Layout) -> Piece:
    """The piece ``s``: the sheet before the first cut."""
    w, h = layout.width, layout.height
    around = (Side.BOTTOM, Side.RIGHT, Side.TOP, Side.LEFT)
    return Piece(
        "s",
        ((0, 0), (w, 0), (w, h), (0, h)),
        tuple(side if side in layout.raw else None for side in around),
    )


def side_of(a: Corner, b: Corner, p: Corner) -> Exact:
    """Positive where p lies to the left of the line from a through b, 0 on it."""
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def length(dx: Exact, dy: Exact) -> int:
    """Length of a vector, rounded to the nanometre."""
    if not dx or not dy:
        return round(magnitude(dx + dy))
    square = Fraction(dx * dx + dy * dy)
    return (isqrt(4 * square.numerator // square.denominator) + 1) // 2


def _crossing(p: Corner, q: Corner, sp: Exact, sq: Exact) -> Corner:
    """The point between p and q where the line runs, from their sides of it."""
    part = Fraction(sp) / (sp - sq)
    x, y = p[0] + part * (q[0] - p[0]), p[1] + part * (q[1] - p[1])
    return _plain(x), _plain(y)


def _plain(value: Exact) -> Exact:
    return int(value) if value.denominator == 1 else value


@dataclass(frozen=True, slots=True)
class Split:
    """Both parts of a piece, and the ends of the score: on the piece's border, exact."""

    left: Piece
    right: Piece
    score: tuple[Corner, Corner]


def split(piece: Piece, cut: Cut, sheet: int) -> Split:
    """Break a piece along the straight line through both points of a cut.

    Parameters
    ----------
    piece
        The piece in hand.
    cut
        What is scored; its names go to the parts.
    sheet
        Number of the sheet, for the message.

    Raises
    ------
    CutFault
        When the line leaves no glass on one side.
    """
    a, b = cut.start, cut.end
    sides = [side_of(a, b, p) for p in piece.corners]
    left = _part(piece, sides, cut.makes[0], cut.step)
    right = _part(piece, [-s for s in sides], cut.makes[1], cut.step)
    if left is None or right is None:
        raise CutFault(sheet, cut.step, tr("the cut leaves no glass on one side"))
    i = left.raw_cut
    return Split(left.piece, right.piece, left.piece.edge(i))


@dataclass(frozen=True, slots=True)
class _Part:
    piece: Piece
    raw_cut: int


def _part(piece: Piece, sides: Sequence[Exact], name: str, step: int) -> _Part | None:
    """The part where the sides are positive; None where there is no glass."""
    corners: list[Corner] = []
    raw: list[Side | None] = []
    made_by: list[int] = []
    cut_at = -1
    n = len(sides)
    if not any(s > 0 for s in sides) or not any(s < 0 for s in sides):
        return None
    for i in range(n):
        j = (i + 1) % n
        p, q = piece.edge(i)
        if sides[i] > 0 or (sides[i] == 0 and sides[j] > 0):
            corners.append(p)
            raw.append(piece.raw[i])
            made_by.append(piece.made_by[i])
        elif sides[i] == 0:
            # here the piece leaves this side: the new edge runs from here
            cut_at = len(corners)
            corners.append(p)
            raw.append(None)
            made_by.append(step)
        if sides[i] > 0 > sides[j]:
            cut_at = len(corners)
            corners.append(_crossing(p, q, sides[i], sides[j]))
            raw.append(None)
            made_by.append(step)
        elif sides[i] < 0 < sides[j]:
            corners.append(_crossing(p, q, sides[i], sides[j]))
            raw.append(piece.raw[i])
            made_by.append(piece.made_by[i])
    return _Part(Piece(name, tuple(corners), tuple(raw), tuple(made_by)), cut_at)
