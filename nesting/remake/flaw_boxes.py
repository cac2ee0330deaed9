"""Flaws as boxes: where they lie in a piece, what lies over them, which cuts cross them.

A scratch or a point counts as 2 nm wide. Touching a flaw is allowed.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..flaw_hits import flaw_box
from ..flaw_parts import within
from ..flaws import Flaw
from ..plan import Layout
from .tree import Box


def box_of(flaw: tuple[int, int, int, int]) -> Box:
    """Left, bottom, right and top of a flaw x, y, width, height. [nm]"""
    return flaw_box(Flaw(*flaw))


def overlaps(one: Box, other: Box) -> bool:
    """Whether two boxes have an inside in common."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def crosses(piece: Box, axis: int, at: int, flaw: Box) -> bool:
    """Whether a cut through a piece, square to an axis, crosses a flaw."""
    return flaw[axis] < at < flaw[axis + 2] and overlaps(piece, flaw)


def boxes_in(layout: Layout, piece: Box) -> tuple[list[Box], list[Box]]:
    """The flaws in a piece: all of them, and those that no panel of the plan tolerates."""
    hard = [b for f in layout.flaws if overlaps(b := box_of(f), piece)]
    soft = [b for f in layout.spots if overlaps(b := box_of(f.box), piece)]
    return [*hard, *soft], hard


def near_ends(
    flaws: Sequence[Box], piece: Box, axis: int, low: int, high: int, size: int, break_out: int
) -> list[int]:
    """Where something of a size may begin along an axis so that it ends, or begins, at a flaw.

    Parameters
    ----------
    flaws, piece
        Boxes.
    axis
        0 to the right, 1 upwards.
    low, high
        Least and greatest beginning. [nm]
    size
        [nm]
    break_out
        Least width of the waste beside it. [nm]
    """
    out = []
    for flaw in flaws:
        behind = max(flaw[axis + 2], piece[axis] + break_out)
        before = min(flaw[axis], piece[axis + 2] - break_out) - size
        out += [at for at in (behind, before) if low < at < high]
    return out


def clipped(flaw: Flaw, box: Box) -> Flaw | None:
    """The part of a flaw that lies in a box; None where none does, or only a scratch along a side of it."""
    for part in within([flaw], box):
        return Flaw(part.x + box[0], part.y + box[1], part.width, part.height, part.kind)
    return None
