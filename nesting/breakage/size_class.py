"""Size classes of pieces of glass, by which breakage is counted."""

from __future__ import annotations

from enum import Enum
from typing import Final

from ..outlines import Outline, area2, box
from ..units import NM2_PER_M2, mm

SMALL_AREA2: Final = NM2_PER_M2 // 2
"""Twice the greatest area of a small piece, a quarter of a square metre [our assumption]. [nm2]"""
MEDIUM_AREA2: Final = 2 * NM2_PER_M2
"""Twice the greatest area of a piece of medium size, one square metre [our assumption]. [nm2]"""
SMALL_LENGTH: Final = mm(900)
"""Longest small piece: held with two hands at its middle [our assumption]. [nm]"""
MEDIUM_LENGTH: Final = mm(1800)
"""Longest piece of medium size: what one person carries [common practice]. [nm]"""


class SizeClass(Enum):
    """Small, medium or large; classes are few, so that each has pieces behind it."""

    SMALL = "small"
    MEDIUM = "medium"
    LARGE = "large"


def size_class(cut: Outline) -> SizeClass:
    """The class of a cut outline, by its area and the longer side of the box around it."""
    x0, y0, x1, y1 = box(cut)
    area, longest = area2(cut), max(x1 - x0, y1 - y0)
    if area <= SMALL_AREA2 and longest <= SMALL_LENGTH:
        return SizeClass.SMALL
    if area <= MEDIUM_AREA2 and longest <= MEDIUM_LENGTH:
        return SizeClass.MEDIUM
    return SizeClass.LARGE
