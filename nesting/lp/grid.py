"""A cutting problem on a grid of whole units that staged pricing can work through.

Where the sizes are whole units of a grid fine enough, the grid is exact. Else sizes are rounded down,
which is a relaxation: a cut splits a piece of size X into parts whose rounded sizes add up to no more
than the rounded X (floor is superadditive), so every real pattern is still there. Exact fits may then
leave a unit a panel, which the variants one unit longer (`slack`) take up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..optimizer.instance import Instance

FINEST = 8000
"""Most units along the longest side of a sheet; finer grids are rounded."""
NM_A_MM = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A rectangle in one orientation, in a frame: true size [search units], rounded size [grid units]."""

    rect: int
    true: tuple[int, int]
    width: int
    height: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One sheet seen along its first cuts: strips lie side by side along `length`.

    Parameters
    ----------
    sheet, frame
        Index of the stock size; 0: first cut vertical, 1: horizontal.
    length, depth
        Inner size across and along the strips. [grid units]
    true_depth
        [search units]
    raw_x, raw_y
        Whether the far side across, and along, the strips is raw.
    items
        By rising true height, then width.
    """

    sheet: int
    frame: int
    length: int
    depth: int
    true_depth: int
    raw_x: bool
    raw_y: bool
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Frames of all sheets, the grid's unit [search units] and the break-out distance in both units."""

    frames: tuple[Frame, ...]
    unit: int
    distance: int
    true_distance: int

    @property
    def exact(self) -> bool:
        """Whether nothing was rounded."""
        return self.unit == 1


def _loss(sizes: Sequence[int], unit: int) -> Fraction:
    return sum((Fraction(s % unit, s) for s in sizes if s), Fraction(0))


def _unit(instance: Instance) -> int:
    """Search units of one grid unit: the one that loses least, between 0.8 and 1.25 mm, where one is needed."""
    longest = max(max(s.width, s.height) for s in instance.sheets)
    if longest <= FINEST:
        return 1
    middle = max(1, NM_A_MM // instance.unit, longest // FINEST)
    sides = [s for r in instance.rects for s in (r.width, r.height)]
    sheets = [s for k in instance.sheets for s in (k.width, k.height)]
    low, high = max(1, middle * 4 // 5, longest // FINEST), middle * 5 // 4
    trials = sorted({low + (high - low) * k // 400 for k in range(401)} | {middle})
    return min(trials, key=lambda t: (_loss(sides, t) / len(sides) - _loss(sheets, t) / len(sheets), t))


def grid_of(instance: Instance, sheets: Sequence[int]) -> Grid:
    """The grid of an instance for these of its stock sizes.

    Parameters
    ----------
    instance
        What is cut.
    sheets
        Indexes of stock sizes; twins should be left out by the caller.
    """
    top = _unit(instance)
    frames = []
    for k in sheets:
        sheet = instance.sheets[k]
        for frame in (0, 1):
            length, depth = (sheet.width, sheet.height) if frame == 0 else (sheet.height, sheet.width)
            raw_x, raw_y = (
                (sheet.raw_right, sheet.raw_top) if frame == 0 else (sheet.raw_top, sheet.raw_right)
            )
            found = {}
            for i, r in enumerate(instance.rects):
                for w, h in {(r.width, r.height), (r.height, r.width)} if r.turns else {(r.width, r.height)}:
                    true = (w, h) if frame == 0 else (h, w)
                    if true[0] <= length and true[1] <= depth:
                        found[i, true] = Item(rect=i, true=true, width=true[0] // top, height=true[1] // top)
            items = sorted(found.values(), key=lambda o: (o.true[1], o.true[0], o.rect))
            frames.append(
                Frame(
                    sheet=k, frame=frame, length=length // top, depth=depth // top, true_depth=depth,
                    raw_x=raw_x, raw_y=raw_y, items=tuple(items),
                )
            )  # fmt: skip
    return Grid(
        frames=tuple(frames),
        unit=top,
        distance=instance.break_out // top,
        true_distance=instance.break_out,
    )
