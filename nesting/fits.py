"""Whether a rectangle can be cut from a piece of glass by edge-to-edge cuts, and what would be left of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from .flaws import Flaw
from .outlines import box, narrower_than
from .panels import Panel
from .rules import Rules
from .stock import Side, Trim

Box = tuple[int, int, int, int]
"""Left, bottom, right and top. [nm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A piece of glass: its size, its raw sides and their trims, and its flaws. [nm]"""

    width: int
    height: int
    raw: tuple[Side, ...]
    trim: Trim
    flaws: tuple[Flaw, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """One way to cut a rectangle from a piece of glass.

    Parameters
    ----------
    turned
        By a quarter.
    left
        Sizes of the leftovers that are worth keeping, the largest first. [nm]
    """

    turned: bool
    left: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """The rectangle around a cut outline, and what is allowed to it. [nm]

    Parameters
    ----------
    width, height
        Cut size.
    quarter
        It may be turned by a quarter.
    narrow
        One side may be shorter than the break-out distance.
    """

    width: int
    height: int
    quarter: bool
    narrow: bool


def blank_of(panel: Panel, rules: Rules) -> Blank:
    """The blank of a panel.

    An angled panel may do with less glass where it shares it with others; a plan finds that out.
    """
    x0, y0, x1, y1 = box(panel.cut)
    narrow = panel.narrow or not narrower_than(panel.cut, rules.break_out)
    return Blank(width=x1 - x0, height=y1 - y0, quarter=panel.turn.by_quarter, narrow=narrow)


def fit_blank(sheet: Sheet, blank: Blank, rules: Rules) -> Fit | None:
    """The best way to cut a blank from a piece of glass (see `fit`)."""
    return fit(sheet, blank.width, blank.height, rules, quarter=blank.quarter, narrow=blank.narrow)


def fit(
    sheet: Sheet, width: int, height: int, rules: Rules, *, quarter: bool = True, narrow: bool = False
) -> Fit | None:
    """The best way to cut one rectangle from a piece of glass.

    Parameters
    ----------
    sheet
        The piece.
    width, height
        Cut size of the rectangle. [nm]
    rules
        Break-out distance, longest score, least offcut; not the distances of level-1 cuts.
    quarter
        It may be turned by a quarter.
    narrow
        One side may be shorter than the break-out distance.

    Returns
    -------
    Fit or None
        The one with the largest leftover worth keeping, then the most of them.

    Notes
    -----
    A strip beside the rectangle is nothing, or at least the break-out distance wide, beyond the trim of a near
    raw side. At a far raw side (right, top) it is any waste not less than the trim, with which it leaves. Where
    there are flaws, of whatever kind, the rectangle lies in a corner or right beside one, and no cut goes through
    one. These are the planner's rules; a cutter may see a way more.
    """
    short, long = sorted((width, height))
    if (long if narrow else short) < rules.break_out:
        return None
    if short > min(sheet.width, sheet.height) or long > max(sheet.width, sheet.height):
        return None
    best: tuple[int, int] | None = None
    found: Fit | None = None
    for turned in (False, True) if quarter and width != height else (False,):
        w, h = (height, width) if turned else (width, height)
        for strips in _ways(sheet, w, h, rules):
            kept = [(a, b) for a, b in strips if a > 0 and b > 0 and rules.keeps(a, b)]
            areas = [a * b for a, b in kept]
            worth = (max(areas, default=0), sum(areas))
            if best is None or worth > best:
                best = worth
                left = tuple(sorted(kept, key=lambda p: (-p[0] * p[1], p)))
                found = Fit(turned=turned, left=left)
    return found


def _ways(sheet: Sheet, w: int, h: int, rules: Rules) -> Iterator[tuple[tuple[int, int], ...]]:
    """The strips beside the rectangle, for every way to lay it into a corner and to order the cuts. [nm]"""
    if w > sheet.width or h > sheet.height:
        return
    trim, limit = sheet.trim, rules.longest_cut
    across = _strips(
        sheet.width - w,
        Side.LEFT in sheet.raw,
        trim.left,
        Side.RIGHT in sheet.raw,
        trim.right,
        rules.break_out,
        _beside([(f.x, f.width) for f in sheet.flaws], w),
    )
    along = _strips(
        sheet.height - h,
        Side.BOTTOM in sheet.raw,
        trim.bottom,
        Side.TOP in sheet.raw,
        trim.top,
        rules.break_out,
        _beside([(f.y, f.height) for f in sheet.flaws], h),
    )
    flaws = [_spread(f) for f in sheet.flaws]
    for left, right in across:
        for low, high in along:
            upright, level = bool(left or right), bool(low or high)
            one, two = _clear(sheet, flaws, (left, low, left + w, low + h)) if flaws else (True, True)
            # strips of the first direction run through; those of the second are as long as the rectangle is wide
            if one and (limit is None or not ((upright and sheet.height > limit) or (level and w > limit))):
                yield (left, sheet.height), (right, sheet.height), (w, low), (w, high)
            if two and (limit is None or not ((level and sheet.width > limit) or (upright and h > limit))):
                yield (sheet.width, low), (sheet.width, high), (left, h), (right, h)


def _clear(sheet: Sheet, flaws: Sequence[Box], place: Box) -> tuple[bool, bool]:
    """Whether a rectangle lies beside the flaws, and no cut crosses one, upright ones first or level ones first."""
    if any(_meet(f, place) for f in flaws):
        return False, False
    x0, y0, x1, y1 = place
    trim_x = sheet.trim.left if Side.LEFT in sheet.raw else 0
    trim_y = sheet.trim.bottom if Side.BOTTOM in sheet.raw else 0
    # before a strip at a near raw side comes the cut of its trim
    sides = [x for x in sorted({min(trim_x, x0), x0, x1}) if 0 < x < sheet.width]
    ends = [y for y in sorted({min(trim_y, y0), y0, y1}) if 0 < y < sheet.height]
    upright_first = [(x, 0, x, sheet.height) for x in sides] + [(x0, y, x1, y) for y in ends]
    level_first = [(0, y, sheet.width, y) for y in ends] + [(x, y0, x, y1) for x in sides]
    one, two = (not any(_meet(f, c) for f in flaws for c in cuts) for cuts in (upright_first, level_first))
    return one, two


def _beside(spans: Iterable[tuple[int, int]], side: int) -> list[int]:
    """Where the rectangle begins that ends at a flaw, or begins behind one. [nm]"""
    return sorted({start for at, wide in spans for start in (at - side, at + wide)})


def _spread(flaw: Flaw) -> Box:
    """Its box; a scratch or a point counts as 2 nm wide, as the checker has it."""
    wide, high = (0 if flaw.width else 1), (0 if flaw.height else 1)
    return flaw.x - wide, flaw.y - high, flaw.x + flaw.width + wide, flaw.y + flaw.height + high


def _meet(one: Box, other: Box) -> bool:
    """Whether a rectangle or line has something in common with the inside of the box of a flaw."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _strips(
    slack: int,
    low_raw: bool,
    low_trim: int,
    high_raw: bool,
    high_trim: int,
    break_out: int,
    starts: Iterable[int] = (),
) -> list[tuple[int, int]]:
    """Widths of the strips before and behind the rectangle: all the slack on one side, or it begins there. [nm]"""
    near = low_trim if low_raw else 0
    far = high_trim if high_raw else 0
    found = []
    for low, high in {(low, slack - low): None for low in (near, slack - far, *starts)}:
        # a near side is trimmed by a cut of its own, beyond which a strip is nothing or can be broken off
        if low < near or high < far or 0 < low - near < break_out:
            continue
        if high_raw or not 0 < high < break_out:
            found.append((low, high))
    return found
