"""Whether a rectangle can be cut from a piece of glass by edge-to-edge cuts, and what would be left of it."""

from __future__ import annotations

from dataclasses import dataclass

from .outlines import box, narrower_than
from .panels import Panel
from .rules import Rules
from .stock import Side, Trim


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A piece of glass: its size, its raw sides and their trims. [nm]"""

    width: int
    height: int
    raw: tuple[Side, ...]
    trim: Trim


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

    @property
    def kept(self) -> int:
        """Area of the leftovers. [nm2]"""
        return sum(w * h for w, h in self.left)


def fit_panel(sheet: Sheet, panel: Panel, rules: Rules) -> Fit | None:
    """The best way to cut a panel from a piece of glass, by the rectangle around its cut outline.

    An angled panel may do with less glass where it shares it with others; a plan finds that out.
    """
    x0, y0, x1, y1 = box(panel.cut)
    narrow = panel.narrow or not narrower_than(panel.cut, rules.break_out)
    return fit(sheet, x1 - x0, y1 - y0, rules, quarter=panel.turn.by_quarter, narrow=narrow)


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
    raw side. At a far raw side (right, top) it is any waste not less than the trim, with which it leaves. These
    are the planner's rules; a cutter may see a way more.
    """
    if (max if narrow else min)(width, height) < rules.break_out:
        return None
    best: Fit | None = None
    for turned in (False, True) if quarter and width != height else (False,):
        w, h = (height, width) if turned else (width, height)
        for left in _ways(sheet, w, h, rules):
            way = Fit(turned=turned, left=left)
            if best is None or _worth(way) > _worth(best):
                best = way
    return best


def _worth(way: Fit) -> tuple[int, int]:
    return max((w * h for w, h in way.left), default=0), way.kept


def _ways(sheet: Sheet, w: int, h: int, rules: Rules) -> list[tuple[tuple[int, int], ...]]:
    """The leftovers of every way to lay the rectangle into a corner and to order the cuts."""
    across = _strips(
        sheet.width, w, (Side.LEFT, sheet.trim.left), (Side.RIGHT, sheet.trim.right), sheet, rules
    )
    along = _strips(
        sheet.height, h, (Side.BOTTOM, sheet.trim.bottom), (Side.TOP, sheet.trim.top), sheet, rules
    )
    out = []
    for a in across:
        for b in along:
            # strips of the first direction run through; those of the second are as long as the rectangle is wide
            for first, second, scores in (
                ([(x, sheet.height) for x in a], [(w, y) for y in b], (sheet.height, w)),
                ([(sheet.width, y) for y in b], [(x, h) for x in a], (h, sheet.width)),
            ):
                upright, level = scores
                longest = max(upright if any(a) else 0, level if any(b) else 0)
                if rules.longest_cut is None or longest <= rules.longest_cut:
                    kept = [p for p in first + second if min(p) > 0 and rules.keeps(*p)]
                    out.append(tuple(sorted(kept, key=lambda p: (-p[0] * p[1], p))))
    return out


def _strips(
    length: int, need: int, low: tuple[Side, int], high: tuple[Side, int], sheet: Sheet, rules: Rules
) -> list[tuple[int, int]]:
    """Widths of the strips before and behind the rectangle, with all the slack on one side. [nm]"""
    slack = length - need

    def fine(side: tuple[Side, int], waste: int) -> bool:
        if side[0] not in sheet.raw:
            return waste == 0 or waste >= rules.break_out
        if side == high:
            return waste >= side[1]
        # a near side is trimmed by a cut of its own
        return waste == side[1] or waste >= side[1] + rules.break_out

    least_low, least_high = (s[1] if s[0] in sheet.raw else 0 for s in (low, high))
    found = dict.fromkeys([(least_low, slack - least_low), (slack - least_high, least_high)])
    return [(a, b) for a, b in found if min(a, b) >= 0 and fine(low, a) and fine(high, b)]
