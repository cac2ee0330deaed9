"""What the engine of free regions is given, and what it gives back; lengths in mm, as floats.

A sheet that is filled here is a *room*, a rectangle in the lower left corner of the sheet, and scores that
run from edge to edge of the piece in hand. Floats guide a search only: the caller makes every score exact
before it counts.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Corners = NDArray[np.float64]
"""Corners of a convex polygon, counter-clockwise, one row each. [mm]"""

MOST_CORNERS = 12
"""Of a panel, and of a free region."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A convex panel that may be wanted several times.

    Parameters
    ----------
    corners
        Counter-clockwise, strictly convex, at most `MOST_CORNERS`. [mm]
    step
        0: any angle; 90, 180 or 360: turned by multiples of this only. [degrees]
    mirror
        Whether it may be turned over as well.

    Raises
    ------
    ValueError
        When the corners do not run round a convex polygon counter-clockwise.
    """

    corners: Corners
    step: int = 0
    mirror: bool = False

    def __post_init__(self) -> None:
        p = self.corners
        if p.ndim != 2 or p.shape[1] != 2 or not 3 <= len(p) <= MOST_CORNERS:
            raise ValueError(f"3 to {MOST_CORNERS} corners of two numbers each")
        if self.step not in (0, 90, 180, 360):
            raise ValueError(f"step {self.step}")
        edges = np.roll(p, -1, axis=0) - p
        following = np.roll(edges, -1, axis=0)
        turns = edges[:, 0] * following[:, 1] - edges[:, 1] * following[:, 0]
        if not np.all(np.isfinite(p)) or np.any(turns <= 0) or area(p) <= 0:
            raise ValueError("not counter-clockwise round a convex polygon")


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A stock size.

    Parameters
    ----------
    width, height
        Of what may be cut up. [mm]
    cost
        Of one sheet.
    available
        How many there are; None for any number.
    """

    width: float
    height: float
    cost: int = 1
    available: int | None = None


@dataclass(frozen=True, slots=True)
class Slivers:
    """What may be broken off.

    Parameters
    ----------
    break_out
        Least width of a piece that is broken off; 0 for no rule. [mm]
    corner_depth, least_angle
        A narrower piece may be broken off if it is at least so wide and meets the score by which it comes
        off at this angle or more at both ends. [mm], [degrees]
    longest
        Of a score inside the room that is not parallel to its sides; None for no limit. [mm]
    """

    break_out: float = 0.0
    corner_depth: float = 0.0
    least_angle: float = 0.0
    longest: float | None = None


@dataclass(frozen=True, slots=True)
class Placed:
    """A panel in its place.

    Parameters
    ----------
    shape
        Index among the shapes.
    mirrored
        Whether it is turned over.
    corners
        In place, counter-clockwise, in the order of the shape's; where mirrored, in the reverse order, so that
        the first is the shape's last. [mm]
    """

    shape: int
    mirrored: bool
    corners: Corners


@dataclass(frozen=True, slots=True)
class Score:
    """One edge-to-edge cut.

    Parameters
    ----------
    piece
        Number of the piece in hand; the room is piece 0. What lies left of the line keeps the number, what
        lies right of it gets the next one, in the order of the scores.
    start, end
        Two points of the line. [mm]
    """

    piece: int
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Filled:
    """A filled sheet.

    Parameters
    ----------
    sheet
        Index among the stock sizes.
    width, height
        Of the room: by two straight cuts it comes off the sheet, before any score inside it. [mm]
    placed
        The panels in it.
    scores
        Of the room, in an order in which each piece in hand is there.
    pieces
        Number of the piece that becomes each panel, in the order of `placed`.
    """

    sheet: int
    width: float
    height: float
    placed: tuple[Placed, ...]
    scores: tuple[Score, ...] = ()
    pieces: tuple[int, ...] = ()
    area: float = field(default=0.0, compare=False)

    def uses(self, shapes: int) -> tuple[int, ...]:
        """How many there are of each shape."""
        counts = [0] * shapes
        for one in self.placed:
            counts[one.shape] += 1
        return tuple(counts)


def area(corners: Corners) -> float:
    """Signed area, positive counter-clockwise. [mm2]"""
    x, y = corners[:, 0], corners[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
