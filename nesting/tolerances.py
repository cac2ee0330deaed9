"""Tolerances of finished panels: length and squareness, by the level that the shop works to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from .shop_tanks import ToleranceLevel
from .units import inch, mm

_EN_SIDES: Final = (mm(1500), mm(3000))
"""Sides up to which the first and the second column of EN 572-8 hold. [nm]"""

_EN_LENGTH: Final = (
    (mm(6), (mm(1), mm("1.5"), mm(2))),
    (mm(12), (mm("1.5"), mm(2), mm("2.5"))),
    (mm(15), (mm(2), mm("2.5"), mm(3))),
    (mm(25), (mm("2.5"), mm(3), mm("3.5"))),
)
"""Thickness up to which, length deviation by greatest side. [nm] (EN 572-8, table 2, from memory)"""

_EN_DIAGONAL: Final = (
    (mm(6), (mm(3), mm(4), mm(5))),
    (mm(12), (mm(4), mm(5), mm(6))),
    (mm(25), (mm(5), mm(6), mm(8))),
)
"""Difference of diagonals likewise. [nm] (EN 572-8:2012+A1:2016, read in a tolerance handbook, its
columns put back in order)"""

_ASTM_LENGTH: Final = (
    (mm(6), inch("1/16")),
    (mm(8), inch("5/64")),
    (mm(10), inch("3/32")),
    (mm(12), inch("1/8")),
    (mm(19), inch("3/16")),
    (mm(25), inch("1/4")),
)
"""Cut-size deviation by thickness. [nm] (ASTM C1036, the first row read, the others from memory)"""


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Tolerance:
    """Greatest deviation of a side, and greatest difference of the diagonals. [nm]"""

    side: int
    diagonal: int


def tolerance(level: ToleranceLevel, thickness: int, width: int, height: int) -> Tolerance:
    """The tolerance of a finished rectangle, or of the box of another panel.

    Parameters
    ----------
    level
        Whose values.
    thickness
        Nominal. [nm]
    width, height
        Finished size. [nm]

    Notes
    -----
    ``TANK``: 0.5 mm on every side, matched panels alike within it, 1 mm between diagonals [common
    practice]. EN 572-8 does not speak of sides under 100 mm or areas under 0.05 m2. The squareness of
    ASTM C1036 is 1/8 in [from memory, a typical limit].
    """
    if level is ToleranceLevel.TANK:
        return Tolerance(mm("0.5"), mm(1))
    if level is ToleranceLevel.ASTM:
        return Tolerance(_row(_ASTM_LENGTH, thickness), inch("1/8"))
    column = sum(max(width, height) > limit for limit in _EN_SIDES)
    return Tolerance(_row(_EN_LENGTH, thickness)[column], _row(_EN_DIAGONAL, thickness)[column])


def _row(rows: Sequence[tuple[int, T]], thickness: int) -> T:
    return next((value for limit, value in rows if thickness <= limit), rows[-1][1])
