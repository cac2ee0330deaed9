"""Flaws of raw glass: where they lie on a sheet, of which kind they are, and who may have one where.

No panel covers a flaw and no cut crosses one, unless the order tolerates flaws of this kind in a zone of the
panel. A crack is never tolerated: it runs on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

KINDS: Final = ("seed", "stone", "scratch", "rub", "chip", "crack", "stain", "other")
"""Seeds, stones, scratches, rubs, chips and stains as in ASTM C1036 (from memory); a crack; anything else."""
NEVER_TOLERATED: Final = ("", "crack", "other")
"""Kinds that no order may tolerate; the empty one is a flaw of which nobody said what it is."""


EVERYWHERE: Final = 2**60
"""Depth of a band that is the whole panel."""


@dataclass(frozen=True, slots=True, order=True)
class Flaw:
    """A rectangle of a sheet that holds a flaw, from the lower left corner of the sheet. [nm]

    Width and height may be 0: a scratch, a point.
    """

    x: int
    y: int
    width: int
    height: int
    kind: str = ""

    @property
    def box(self) -> tuple[int, int, int, int]:
        """x, y, width, height, as the plan file has it. [nm]"""
        return self.x, self.y, self.width, self.height


class Zone(Enum):
    """Where on a panel a flaw may lie: along any edge, along bottom and top (behind a frame), anywhere."""

    EDGE = "edge"
    FRAME = "frame"
    ANYWHERE = "anywhere"


@dataclass(frozen=True, slots=True, order=True)
class Tolerance:
    """Flaws of a kind that an order takes in a zone of the panel.

    Parameters
    ----------
    kind
        One of `KINDS` save those of `NEVER_TOLERATED`.
    zone
        See `Zone`; a frame covers the bottom and the top edge of the finished outline as listed.
    depth
        How far from the finished edge the whole flaw must lie; of no meaning with ``anywhere``. [nm]
    """

    kind: str
    zone: str
    depth: int = 0


def bands(tolerates: Iterable[Tolerance], kind: str) -> tuple[int, int]:
    """Depths of the bands at left and right, and at bottom and top, in which this kind is tolerated. [nm]

    -1 where there is no band; `EVERYWHERE` where it may lie anywhere. In the frame of the panel, measured from
    the cut edge, which is a little less than from the finished one.
    """
    side = upright = -1
    for one in tolerates:
        if one.kind != kind:
            continue
        if one.zone == Zone.ANYWHERE.value:
            return EVERYWHERE, EVERYWHERE
        upright = max(upright, one.depth)
        if one.zone == Zone.EDGE.value:
            side = max(side, one.depth)
    return side, upright


def kinds_of(flaws: Sequence[Flaw]) -> tuple[str, ...]:
    """The kinds of flaws, or nothing where none is known."""
    kinds = tuple(f.kind for f in flaws)
    return kinds if any(kinds) else ()
