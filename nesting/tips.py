"""Sharp corners: how sharp, how far their cut outline reaches, and how it is cut back.

Where two edges meet at a small angle, the corner of the cut outline lies far beyond the finished one
(allowance / sin(angle / 2) for equal allowances), and the glass between is ground away. Its tip may be
cut off within that glass: along a line that leaves the finished corner the reach, square to the
bisector or to one of the two edges. A reach of at least the larger allowance keeps both edges whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from math import atan2, ceil, cos, degrees, isqrt, radians
from typing import Final

from .offsets import EXACT, Line, meeting, moved_line
from .outlines import Outline, Point, cross
from .units import mm

LEAST_GAIN: Final = mm(1)
"""A tip that would become shorter by less than this stays as it is. [nm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TipRule:
    """Whether the tips of cut outlines are cut back, and how far they may reach.

    Parameters
    ----------
    cut_back
        Whether they are.
    times
        How far beyond the finished corner, over the larger allowance of its two edges; at least 1.
    reach
        How far in any case, instead. [nm]
    """

    cut_back: bool = False
    times: Fraction = Fraction(3)
    reach: int | None = None

    def reach_at(self, before: int, after: int) -> int:
        """How far a tip between edges of these allowances may reach, never less than the larger. [nm]"""
        larger = max(before, after)
        return max(larger, ceil(self.times * larger) if self.reach is None else self.reach)


@dataclass(frozen=True, slots=True)
class Tip:
    """A corner whose cut outline is cut back.

    Parameters
    ----------
    corner
        Index of the corner of the finished outline.
    reach
        Distance from it to the line that cuts the tip off. [nm]
    """

    corner: int
    reach: int


class Square(Enum):
    """To what the line that cuts a tip off is square."""

    BISECTOR = "bisector"
    BEFORE = "edge before"
    AFTER = "edge after"


def sharper(before: Point, corner: Point, after: Point, angle: int) -> bool:
    """Whether the outline turns outwards at a corner, by an inner angle under `angle`. [1/1000 degree]

    Half a thousandth of a degree is forgiven, since corners are rounded.
    """
    most = int(cos(radians((angle - 0.5) / 1000)) ** 2 * 10**15)
    ux, uy, vx, vy = before[0] - corner[0], before[1] - corner[1], after[0] - corner[0], after[1] - corner[1]
    dot = ux * vx + uy * vy
    if dot <= 0 or cross(corner, after, before) <= 0:
        return False
    return dot * dot * 10**15 > most * (ux * ux + uy * uy) * (vx * vx + vy * vy)


def angle_at(before: Point, corner: Point, after: Point) -> float:
    """Inner angle of the outline at a corner, 0 to 360. [degree]"""
    ux, uy, vx, vy = before[0] - corner[0], before[1] - corner[1], after[0] - corner[0], after[1] - corner[1]
    return degrees(atan2(vx * uy - vy * ux, ux * vx + uy * vy)) % 360


def distance(p: Point, q: Point) -> int:
    """How far two points lie apart, rounded down. [nm]"""
    return isqrt((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2)


def tip_line(before: Point, corner: Point, after: Point, reach: int, square: Square) -> Line:
    """The line that leaves the corner of a finished outline a reach [nm] of glass, its normal outwards."""
    normals = []
    if square is not Square.AFTER:
        normals.append((corner[0] - before[0], corner[1] - before[1]))
    if square is not Square.BEFORE:
        normals.append((corner[0] - after[0], corner[1] - after[1]))
    x = y = Decimal(0)
    for ux, uy in normals:
        far = EXACT.sqrt(Decimal(ux * ux + uy * uy))
        x = EXACT.add(x, EXACT.divide(Decimal(ux), far))
        y = EXACT.add(y, EXACT.divide(Decimal(uy), far))
    far = EXACT.sqrt(EXACT.add(EXACT.multiply(x, x), EXACT.multiply(y, y)))
    at = EXACT.add(EXACT.multiply(x, Decimal(corner[0])), EXACT.multiply(y, Decimal(corner[1])))
    return Line(x, y, EXACT.add(at, EXACT.multiply(far, Decimal(reach))))


def cut_ends(
    before: Point, corner: Point, after: Point, allowances: tuple[int, int], reach: int, square: Square
) -> tuple[Point, Point] | None:
    """The two corners that stand for a tip once it is cut back; None where that gains too little.

    Parameters
    ----------
    before, corner, after
        Of the finished outline. [nm]
    allowances
        Of the edges that end and begin at the corner. [nm]
    reach
        What the corner is left, at least the larger allowance. [nm]
    square
        To what the new edge is square; to an edge only where the corner is sharper than a right angle.
    """
    one, two = moved_line(before, corner, allowances[0]), moved_line(corner, after, allowances[1])
    line = tip_line(before, corner, after, reach, square)
    tip = meeting(one, two)
    beyond = EXACT.subtract(
        EXACT.add(EXACT.multiply(line.x, Decimal(tip[0])), EXACT.multiply(line.y, Decimal(tip[1]))),
        line.reach,
    )
    far = EXACT.sqrt(EXACT.add(EXACT.multiply(line.x, line.x), EXACT.multiply(line.y, line.y)))
    if beyond < EXACT.multiply(far, Decimal(LEAST_GAIN)):
        return None
    ends = meeting(one, line), meeting(line, two)
    return ends if ends[0] != ends[1] else None


def sharp_corners(outline: Outline, angle: int) -> Sequence[int]:
    """Indexes of the corners sharper than an angle. [1/1000 degree]"""
    n = len(outline)
    return [i for i in range(n) if sharper(outline[i - 1], outline[i], outline[(i + 1) % n], angle)]
