"""The cut outline of a panel, with the rules of its glass: tips cut back, hulls that can be scored."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Final

from .blanks import candidates
from .edgework import Edge
from .offsets import bridged, cut_outline, hull_spans, meeting, moved_line, offset, offset_rectangle
from .outlines import Outline, Point, area2, box, cross, is_convex, is_rectangle, rectangle
from .panels import Turn
from .rules import Rules
from .tips import Square, Tip, TipRule, cut_ends, distance

MOST_BRIDGES: Final = 4
"""Of more bridges over pockets, all or none are scored."""
MOST_TIPS: Final = 3
"""A convex outline has no more corners sharper than a right angle."""


@dataclass(frozen=True, slots=True)
class CutShape:
    """A cut outline, and the tips of it that are cut back.

    Parameters
    ----------
    outline
        Convex. [nm]
    tips
        By corner of the finished outline.
    """

    outline: Outline
    tips: tuple[Tip, ...] = ()


@dataclass(frozen=True, slots=True)
class _Side:
    """An edge of the hull: its first and last corner of the finished outline, and its allowance. [nm]"""

    first: int
    last: int
    allowance: int


def cut_shape(
    finished: Outline,
    edges: Sequence[Edge],
    rules: Rules,
    turn: Turn,
    tips: TipRule,
    names: Sequence[int] = (),
) -> CutShape:
    """The cut outline that leaves the table for a finished outline.

    Parameters
    ----------
    finished
        Clean, counter-clockwise. [nm]
    edges
        One an edge.
    rules
        Of the glass.
    turn
        Rotations allowed.
    tips
        Whether and how far tips are cut back.
    names
        Numbers of the corners for messages; empty: from 1.

    Returns
    -------
    CutShape
        `cut_outline`, save for this: edges of a hull that only bridge a pocket are left out where that
        makes a smaller blank, because the corner beyond could not be broken off; the pocket then reaches
        out to the corner of the cut outline. A tip is cut back where it is asked for, in the
        direction that makes the smallest blank, and stays where no blank becomes smaller.

    Raises
    ------
    InvalidOutline
        When an edge would vanish (see `offset`).
    """
    allowances = tuple(edge.allowance for edge in edges)
    if moved := offset_rectangle(finished, allowances):
        return CutShape(moved)
    if is_convex(finished) and not tips.cut_back:
        return CutShape(offset(finished, allowances, names))
    # corner k of the cut outline is that where side k begins
    n = len(finished)
    spans = [(i, (i + 1) % n) for i in range(n)] if is_convex(finished) else hull_spans(finished)
    outline = cut_outline(finished, allowances, names)
    sides = [_Side(i, j, a) for (i, j), a in zip(spans, bridged(allowances, spans), strict=True)]
    if not is_convex(finished):
        # edges within a pocket leave their allowance too, or nobody could work them
        offset(finished, allowances, names)
        sides, outline = _scorable(finished, sides, outline, rules, turn)
    if not tips.cut_back:
        return CutShape(outline)
    return _cut_back(finished, sides, outline, rules, turn, tips)


def least_blank(outline: Outline, rules: Rules, turn: Turn) -> int | None:
    """Area of the smallest blank that yields an outline; None where there is none. [nm2]"""
    if is_rectangle(outline):
        return area2(outline) // 2
    blanks = candidates(outline, turn, rules)
    return blanks[0].area if blanks else None


def _scorable(
    finished: Outline, sides: list[_Side], whole: Outline, rules: Rules, turn: Turn
) -> tuple[list[_Side], Outline]:
    """The sides of the hull that are scored, and what they leave: what makes the smallest blank.

    Where nothing else does, it is the box about the hull, of which no side counts.
    """
    if candidates(whole, Turn.NONE, rules):
        return sides, whole  # the box about it yields it: the box alone is no better
    n = len(finished)
    bridges = [k for k, s in enumerate(sides) if (s.last - s.first) % n != 1]
    least = least_blank(whole, rules, turn)
    best = ((least is None, least or 0, area2(whole), 0), sides, whole)
    counts = range(1, len(bridges) + 1) if len(bridges) <= MOST_BRIDGES else [len(bridges)]
    for number, out in enumerate((out for count in counts for out in combinations(bridges, count)), start=1):
        kept = [s for k, s in enumerate(sides) if k not in out]
        outline = _around(finished, kept)
        if outline is None:
            continue
        least = least_blank(outline, rules, turn)
        key = (least is None, least or 0, area2(outline), number)
        if key < best[0]:
            best = (key, kept, outline)
    x0, y0, x1, y1 = box(whole)
    around = rectangle(x1 - x0, y1 - y0, x0, y0)
    key = (False, area2(around) // 2, area2(around), 0)
    if key < best[0]:
        return [], around
    return best[1], best[2]


def _around(finished: Outline, sides: Sequence[_Side]) -> Outline | None:
    """The outline within the moved lines of some sides of a hull; None where they do not close round it."""
    ends = [(finished[s.first], finished[s.last]) for s in sides]
    lines = [moved_line(*e, s.allowance) for e, s in zip(ends, sides, strict=True)]
    corners = []
    for k, (a, b) in enumerate(ends):
        c, d = ends[k - 1]
        if (d[0] - c[0]) * (b[1] - a[1]) - (d[1] - c[1]) * (b[0] - a[0]) <= 0:
            return None
        corners.append(meeting(lines[k - 1], lines[k]))
    outline = tuple(corners)
    if len(outline) < 3 or not is_convex(outline) or not _holds(outline, finished):
        return None
    return outline


def _holds(outline: Outline, points: Sequence[Point]) -> bool:
    n = len(outline)
    return all(cross(a, outline[(i + 1) % n], p) >= 0 for i, a in enumerate(outline) for p in points)


def _cut_back(
    finished: Outline, sides: Sequence[_Side], outline: Outline, rules: Rules, turn: Turn, rule: TipRule
) -> CutShape:
    """The outline with its far tips cut back as makes the smallest blank."""
    found: list[tuple[int, Tip, list[tuple[Point, Point]]]] = []
    for k, side in enumerate(sides):
        before = sides[k - 1]
        if before.last != side.first:
            continue  # the bridge between them is left out: no corner of the finished outline
        corner = finished[side.first]
        reach = rule.reach_at(before.allowance, side.allowance)
        if distance(outline[k], corner) <= reach:
            continue
        around = finished[before.first], corner, finished[side.last]
        ways = [
            ends
            for square in _directions(*around)
            if (ends := cut_ends(*around, (before.allowance, side.allowance), reach, square)) is not None
        ]
        if ways:
            found.append((k, Tip(side.first, reach), ways))
    if not found or len(found) > MOST_TIPS:
        return CutShape(outline)
    best: tuple[tuple[bool, int, int, int], CutShape] | None = None
    choices = product(*([None, *ways] for _, _, ways in found))
    for number, chosen in enumerate(choices):
        at = {k: ends for (k, _, _), ends in zip(found, chosen, strict=True) if ends is not None}
        made = tuple(p for k, c in enumerate(outline) for p in at.get(k, (c,)))
        if not is_convex(made):
            continue
        least = least_blank(made, rules, turn)
        # without any blank the smallest box decides: a group may still hold it
        x0, y0, x1, y1 = box(made)
        key = (least is None, least or (x1 - x0) * (y1 - y0), len(at), number)
        if best is None or key < best[0]:
            tips = tuple(sorted((tip for k, tip, _ in found if k in at), key=lambda tip: tip.corner))
            best = (key, CutShape(made, tips))
    return CutShape(outline) if best is None else best[1]


def _directions(before: Point, corner: Point, after: Point) -> Iterator[Square]:
    yield Square.BISECTOR
    dot = (before[0] - corner[0]) * (after[0] - corner[0]) + (before[1] - corner[1]) * (after[1] - corner[1])
    if dot > 0:
        yield Square.BEFORE
        yield Square.AFTER
