"""Longest score and distances of level-1 cuts: moves and closing of a sheet that keep to them.

Used by the kernel only where a rule can bite (`limits_of` finds out), so that other work stays as fast.
What is refused here is at least what the checker refuses. Two ways out of a rule are not taken, since
the same panels lie as well the other way round: where level-1 distances matter, a strip over the whole
sheet holds one row (it has no level-1 cut of its own, so that those of the next direction count as level
1), and a row over the full height one column (its columns are parted by cuts of the strips' direction,
level 1 again); a frame whose level-1 cuts were longer than the score allows has one such strip alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from ..rules import Rules
from .moves import (
    EMPTY,
    FRAME,
    GROWN,
    OPEN,
    RFLAG,
    SFLAG,
    SHEET,
    SHEET_H,
    SHEET_V,
    STACK,
    STATE,
    STRIP,
    TIGHT,
    X1C,
    X1P,
    X3C,
    X3P,
    Y2C,
    Y2P,
    begin,
    can_close,
    close_row,
    ends_well,
    jit,
    place,
)

if TYPE_CHECKING:
    from .instance import Instance, Sheet
    from .pattern import Staged

USABLE: Final = 0
"""Whether a first cut in this frame is of any use."""
ONE_STRIP: Final = 1
"""Whether a level-1 cut would be too long."""
WIDEST: Final = 2
WIDEST_OPEN: Final = 3
"""Widest strip that ends at a cut, and at the far raw side: the cuts across it are as long."""
HIGHEST: Final = 4
HIGHEST_OPEN: Final = 5
"""Likewise for rows, where there is but one strip."""
LEAST: Final = 6
MOST: Final = 7
"""Least and greatest width of a strip between two level-1 cuts."""
TRIM_X: Final = 8
TRIM_Y: Final = 9
"""Whether a cut is needed at the far end of the inner area, to take off the trim."""
DISTANCES: Final = 10
"""Whether level-1 distances matter at all."""
LIMITS: Final = 11
"""Numbers for one frame of a sheet."""
SIDES: Final = 4
"""Numbers of a sheet before those of its frames (see `kernel`)."""
FAR: Final = 2**60


def limits_of(sheet: Sheet, rules: Rules, unit: int) -> list[int]:
    """The numbers of a sheet for both frames. [search units]"""
    piece, trim = sheet.piece, sheet.piece.trim
    out: list[int] = []
    for frame in (0, 1):
        deep = piece.height if frame == 0 else piece.width
        near_x, far_x, far_y = (
            (trim.left, trim.right, trim.top) if frame == 0 else (trim.bottom, trim.top, trim.right)
        )
        length = (sheet.width if frame == 0 else sheet.height) * unit
        longest = rules.longest_cut
        least, most = rules.level1_gap
        one_strip = longest is not None and deep > longest
        usable = not one_strip or (near_x == 0 and longest is not None and length + far_x <= longest)
        out += [
            usable,
            one_strip,
            FAR if longest is None else longest // unit,
            FAR if longest is None else (longest - far_x) // unit,
            FAR if longest is None else longest // unit,
            FAR if longest is None else (longest - far_y) // unit,
            -(-least // unit),
            FAR if most is None else most // unit,
            far_x > 0,
            far_y > 0,
            least > 0 or most is not None,
        ]
    return [int(number) for number in out]


def can_bite(sheet: Sheet, rules: Rules) -> bool:
    """Whether a rule may forbid anything on this sheet."""
    longest = rules.longest_cut
    if longest is not None and longest < max(sheet.piece.width, sheet.piece.height):
        return True
    return rules.level1_gap != (0, None)


@jit
def no_end_cut(x1c: int, sflag: int, length: int, cut_at_end: int) -> bool:
    """Whether a strip (or, with the numbers of its row, a row) reaches the far side without a cut."""
    return bool(sflag == OPEN or (x1c == length and cut_at_end == 0))


@jit
def hopeless(o: Any, lim: Any, length: int, depth: int, bare: bool) -> bool:
    """Whether the open strip can never be ended by the rules, whatever comes."""
    if o[SFLAG] == OPEN:
        if length - o[X1P] > lim[WIDEST_OPEN]:
            return True
    elif o[X1C] - o[X1P] > lim[WIDEST]:
        return True
    across = o[X1P] == 0 and no_end_cut(o[X1C], o[SFLAG], length, lim[TRIM_X])
    if lim[ONE_STRIP] != 0:
        if bare and not across:
            return True
        high = o[RFLAG] == OPEN
        height = (depth if high else o[Y2C]) - o[Y2P]
        if height > lim[HIGHEST_OPEN if high else HIGHEST] and not (
            across and o[X3P] == 0 and o[X3C] == length and o[SFLAG] != OPEN
        ):
            return True
    if lim[DISTANCES] != 0:
        if across and o[Y2P] > 0:
            return True
        if o[Y2P] == 0 and no_end_cut(o[Y2C], o[RFLAG], depth, lim[TRIM_Y]):
            return o[X3P] > o[X1P] or not keeps_distance(o, lim, length)
    return False


@jit
def keeps_distance(s: Any, lim: Any, length: int) -> bool:
    """Whether the cut beside the one rectangle of a full-height row may be there: it is of level 1."""
    width = s[X3C] - s[X1P]
    free = s[X1P] == 0 or no_end_cut(s[X3C], TIGHT, length, lim[TRIM_X])
    return bool(free or lim[LEAST] <= width <= lim[MOST])


@jit
def widen(
    x1p: int, x1c: int, sflag: int, lim: Any, length: int, far_x: int, break_out: int
) -> tuple[bool, int, int]:
    """A strip between two cuts, not the first: at least as wide as the rule says, with room to break."""
    width = x1c - x1p
    if width < lim[LEAST]:
        grown = x1p + lim[LEAST]
        if sflag == TIGHT and grown < x1c + break_out:
            grown = x1c + break_out
        if not ends_well(length - grown, break_out, far_x) or grown > length:
            return False, x1c, sflag
        x1c = grown
        sflag = GROWN
    return x1c - x1p <= lim[MOST], x1c, sflag


@jit
def end_strip(
    s: Any, last: bool, lim: Any, length: int, depth: int, far_x: int, break_out: int, bare: bool
) -> tuple[bool, int, int]:
    """End the open strip, as the last of its sheet or not: allowed?, its end, its flag.

    `bare`: no cut may part a rectangle from waste beside it (two levels without a last cut).
    """
    ok, x1c, sflag = close_row(s[X1C], s[X3C], s[SFLAG], length, far_x, break_out)
    if not ok:
        return False, x1c, sflag
    x1p = s[X1P]
    if lim[DISTANCES] != 0 and s[Y2P] == 0 and no_end_cut(s[Y2C], s[RFLAG], depth, lim[TRIM_Y]):
        # its columns are parted by level-1 cuts too: one of them, and no waste beside it
        if s[X3P] > x1p or x1c != s[X3C] or not keeps_distance(s, lim, length):
            return False, x1c, sflag
        if last and no_end_cut(x1c, sflag, length, lim[TRIM_X]):
            return lim[WIDEST] >= x1c - x1p, x1c, sflag
        bare = True
    if not last:
        if sflag == OPEN or lim[ONE_STRIP] != 0:
            return False, x1c, sflag
        if x1p > 0:
            as_is = x1c
            ok, x1c, sflag = widen(x1p, x1c, sflag, lim, length, far_x, break_out)
            if not ok or (bare and x1c != as_is):
                return False, x1c, sflag
        width = x1c - x1p
        return bool(width >= break_out and width <= lim[WIDEST]), x1c, sflag
    if not no_end_cut(x1c, sflag, length, lim[TRIM_X]):
        right = lim[ONE_STRIP] == 0
        at, flag = x1c, sflag
        if right and x1p > 0:
            right, at, flag = widen(x1p, x1c, sflag, lim, length, far_x, break_out)
        if not right:  # leave the waste beyond with the strip
            if far_x != 0:
                at, flag = length, OPEN
            elif sflag == GROWN or length - x1c >= break_out:
                at, flag = length, GROWN
            else:
                return False, x1c, sflag
        if bare and (at != x1c or flag != sflag):
            return False, x1c, sflag
        x1c, sflag = at, flag
    across = no_end_cut(x1c, sflag, length, lim[TRIM_X])
    if sflag == OPEN:
        if length - x1p > lim[WIDEST_OPEN]:
            return False, x1c, sflag
    elif x1c - x1p < break_out or x1c - x1p > lim[WIDEST]:
        return False, x1c, sflag
    return bool(lim[DISTANCES] == 0 or not across or x1p > 0 or s[Y2P] == 0), x1c, sflag


@jit
def place_within(
    s: Any, o: Any, w: int, h: int, v: int, kind: int, lim: Any, length: int, depth: int, far_x: int,
    far_y: int, break_out: int, levels: int, exact: int,
) -> bool:  # fmt: skip
    """`moves.place` under the rules; `lim` are the numbers of the sheet's frame that is entered."""
    bare = levels == 2 and exact != 0
    if kind == STRIP:
        ok, x1c, _ = end_strip(s, False, lim, length, depth, far_x, break_out, bare)
        if not ok or not begin(
            o, x1c, x1c, TIGHT, 0, w, h, v, True, length, depth, far_x, far_y, break_out, levels, exact
        ):
            return False
        o[SHEET] = s[SHEET]
        o[FRAME] = s[FRAME]
    else:
        if kind == STACK:
            first = s[X1P] == 0 and s[Y2P] == 0 and s[X3P] == 0
            if lim[DISTANCES] != 0 and first and no_end_cut(s[X3C], TIGHT, length, lim[TRIM_X]):
                return False  # such a stack is as well strips the other way
            if lim[ONE_STRIP] != 0 and s[Y2C] - s[Y2P] > lim[HIGHEST]:
                return False
        elif lim[USABLE] == 0:
            return False
        if not place(s, o, w, h, v, kind, length, depth, far_x, far_y, break_out, levels, exact):
            return False
    return not hopeless(o, lim, length, depth, bare)


def lies_alone(instance: Instance, sheet: int, frame: int, width: int, height: int) -> bool:
    """Whether a rectangle of this size in the frame [search units] may be all that a sheet yields."""
    row = instance.sequence([sheet])[0]
    length, depth, far_x, far_y = (int(row[i]) for i in (frame, 1 - frame, 2 + frame, 3 - frame))
    kind = SHEET_V if frame == 0 else SHEET_H
    out = np.zeros(STATE, dtype=np.int64)
    rules = (instance.break_out, instance.levels, int(instance.exact))
    if not instance.ruled:
        return bool(
            place(EMPTY, out, width, height, 0, kind, length, depth, far_x, far_y, *rules)
            and can_close(out, length, far_x, instance.break_out)
        )
    lim = row[SIDES + frame * LIMITS :]
    bare = instance.exact and instance.levels == 2
    return bool(
        place_within(EMPTY, out, width, height, 0, kind, lim, length, depth, far_x, far_y, *rules)
        and end_strip(out, True, lim, length, depth, far_x, instance.break_out, bare)[0]
    )


def strip_end(state: Sequence[int], instance: Instance, sheet: int, frame: int) -> tuple[int, bool]:
    """Where the last strip of a sheet ends, and whether no cut bounds it there."""
    cut_up = instance.sheets[sheet]
    length, depth, far_x = (
        (cut_up.width, cut_up.height, cut_up.raw_right)
        if frame == 0
        else (cut_up.height, cut_up.width, cut_up.raw_top)
    )
    if not instance.ruled:
        _, x1c, sflag = close_row(
            state[X1C], state[X3C], state[SFLAG], length, int(far_x), instance.break_out
        )
    else:
        lim = instance.sequence([sheet])[0, SIDES + frame * LIMITS :]
        bare = instance.exact and instance.levels == 2
        last = np.asarray(state, dtype=np.int64)
        _, x1c, sflag = end_strip(last, True, lim, length, depth, int(far_x), instance.break_out, bare)
    return (length, True) if sflag == OPEN else (int(x1c), False)


def obeys(pattern: Staged, instance: Instance) -> bool:
    """Whether a pattern, cut up as `cut_tree` does, keeps to the longest score and level-1 distances."""
    if not instance.ruled:
        return True
    rules = instance.rules
    longest = rules.longest_cut
    cuts, trims = _cuts(pattern, instance)
    if longest is not None and max((*trims, *(cut.length for cut in cuts)), default=0) > longest:
        return False
    least, most = rules.level1_gap
    at = sorted(cut.place for cut in cuts if cut.level == 1)
    return all(q - p >= least and (most is None or q - p <= most) for p, q in pairwise(at))


class _Cut(NamedTuple):
    """A main cut: axis (0, 1), level, place along the axis and length. [nm]"""

    axis: int
    level: int
    place: int
    length: int


def _cuts(pattern: Staged, instance: Instance) -> tuple[list[_Cut], list[int]]:
    """The main cuts of a pattern, and the lengths of its trims. [nm]"""
    unit, rules = instance.unit, instance.rules
    piece = instance.sheets[pattern.sheet].piece
    trim, turned = piece.trim, pattern.frame == 1
    wide, high = (piece.height, piece.width) if turned else (piece.width, piece.height)
    near_x, near_y = (trim.bottom, trim.left) if turned else (trim.left, trim.bottom)
    whole = rules.longest_cut is None or wide - near_x <= rules.longest_cut
    trims = [high] if near_x else []
    if near_y and whole:
        trims.append(wide - near_x)
    out: list[_Cut] = []

    def cut(after: _Cut | None, axis: int, place: int, length: int) -> _Cut:
        level = 1 if after is None else after.level + (after.axis != axis)
        out.append(_Cut(axis, level, place, length))
        return out[-1]

    sheet: _Cut | None = None  # the last cut on the way to the piece in hand
    x = near_x
    for strip in pattern.strips:
        right = wide if strip.open else x + unit * strip.width
        if right < wide:
            sheet = cut(sheet, 0, right, high)  # the first of them may come before the trims
        if near_y and not whole:
            trims.append(right - x)
        in_strip, y = sheet, near_y
        for row in strip.rows:
            top = high if row.open else y + unit * row.height
            if top < high:
                in_strip = cut(in_strip, 1, top, right - x)
            in_row, left = in_strip, x
            for column in row.columns:
                end = left + unit * column.width
                if end < right:
                    in_row = cut(in_row, 0, end, top - y)
                in_column, low = in_row, y
                for item in column.items:
                    above = low + unit * item.height
                    if above < top:
                        in_column = cut(in_column, 1, above, end - left)
                    if item.width < column.width:
                        cut(in_column, 0, left + unit * item.width, above - low)
                    low = above
                left = end
            y = top
        x = right
    return out, trims
