"""Edges that stand off level or upright by noise alone, laid straight."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Final

from .errors import InvalidOutline
from .outlines import Outline, Point, area2, reentrant_corners, round_ratio, sides, traced

NOISE: Final = 50_000
"""An edge that stands off level or upright by no more than this between its ends was meant to be so: no glass
is cut or ground as truly, and drawings and rounded lists are off by less. [nm]"""
LONG: Final = 20
"""An edge shorter than this many times what it stands off is a slant that was meant, however small: noise does
not know how long an edge is, so only the angle tells a chamfer of 0.05 mm from it. 1 in 20 (2.9 degrees)
keeps every chamfer, and lets every edge of 1 mm and more be laid straight."""
_ALL_ZEROS: Final = 99


@dataclass(frozen=True, slots=True)
class Line:
    """Corners that come to lie on one level or upright line.

    Parameters
    ----------
    corners
        Their indexes, one after another.
    axis
        1 where they get one y and are level, 0 where they get one x and are upright.
    value
        The common coordinate. [nm]
    off
        The most that one of them moves. [nm]
    """

    corners: tuple[int, ...]
    axis: int
    value: int
    off: int


@dataclass(frozen=True, slots=True)
class Straightened:
    """An outline with its edges laid straight.

    Parameters
    ----------
    outline
        Clean, in the sense of the outline as given. [nm]
    kept
        Index in the outline as given of every corner.
    count
        Corners of the outline as given.
    lines
        What was laid straight; their indexes are those of the outline as given.
    """

    outline: Outline
    kept: tuple[int, ...]
    count: int
    lines: tuple[Line, ...] = ()


def _as_given(outline: Outline) -> Straightened:
    return Straightened(outline, tuple(range(len(outline))), len(outline))


def straightened(
    outline: Outline, *, fixed: Collection[int] = (), given: Sequence[Point] | None = None
) -> Straightened:
    """The outline with the edges that are off by `NOISE` at most laid level or upright.

    Parameters
    ----------
    outline
        Clean, counter-clockwise. [nm]
    fixed
        Indexes of the corners that may not go; others go within a straight line, as in `traced`.
    given
        The corners as they were drawn, where these tell better which number is a round one. [nm]

    Notes
    -----
    Corners joined by such edges get the roundest of their coordinates: in itself, or seen from the left or the
    bottom of the outline; of equals the outermost, so that no glass is missing. Lines along which a
    corner would move by more than `NOISE`, or that would spoil the outline, are left alone. An outline
    without an edge along an axis that has more square edges when it lies on its longest edge (see
    `laid_square`) stands at a slight angle, and is left to that.
    """
    found = evened(outline, fixed=fixed, given=given)
    if found.lines and _slanted(outline) == len(outline):
        turned = turn_on_longest(outline)
        if _slanted(evened(tuple(map(turned, outline)), fixed=fixed).outline) < _slanted(found.outline):
            return _as_given(outline)
    return found


def evened(
    outline: Outline, *, fixed: Collection[int] = (), given: Sequence[Point] | None = None
) -> Straightened:
    """`straightened` along the axes as they are, whatever the angle at which the outline stands."""
    lines = [line for axis in (0, 1) for line in _lines(outline, axis, given or outline)]
    best = _as_given(outline)
    if not lines:
        return best
    if whole := _moved(outline, lines, fixed):
        return whole
    good: list[Line] = []
    for line in lines:
        if one := _moved(outline, [*good, line], fixed):
            best = one
            good.append(line)
    return best


def turn_on_longest(outline: Outline) -> Callable[[Point], Point]:
    """Turns points as it takes to lay an outline's longest edge at the bottom, to the nanometre."""
    a, b = longest_edge(outline)
    dx, dy = b[0] - a[0], b[1] - a[1]
    norm = dx * dx + dy * dy
    return lambda p: (round_ratio(p[0] * dx + p[1] * dy, norm), round_ratio(p[1] * dx - p[0] * dy, norm))


def longest_edge(outline: Outline) -> tuple[Point, Point]:
    """Both ends of the first of the longest edges."""
    return max(sides(outline), key=lambda e: (e[1][0] - e[0][0]) ** 2 + (e[1][1] - e[0][1]) ** 2)


def _slanted(outline: Outline) -> int:
    return sum(a[0] != b[0] and a[1] != b[1] for a, b in sides(outline))


def _chains(outline: Outline, axis: int) -> list[tuple[int, ...]]:
    """Corners in a row that are joined by edges off by noise, which have about one coordinate along an axis."""
    n = len(outline)
    joined = []
    for a, b in sides(outline):
        off, length = abs(b[axis] - a[axis]), abs(b[1 - axis] - a[1 - axis])
        joined.append(off <= NOISE and LONG * off <= length)
    found: list[tuple[int, ...]] = []
    if all(joined):
        return found
    for first in range(n):
        if joined[first] and not joined[first - 1]:
            chain = [first]
            while joined[chain[-1]]:
                chain.append((chain[-1] + 1) % n)
            found.append(tuple(chain))
    return found


def _lines(outline: Outline, axis: int, given: Sequence[Point]) -> list[Line]:
    """The lines along an axis on which something moves, by no more than noise."""
    low = min(p[axis] for p in given)
    found = []
    chains = _chains(outline, axis)
    for number, chain in enumerate(sorted(chains, key=lambda c: (min(given[i][axis] for i in c), c))):
        along = outline[chain[-1]][1 - axis] - outline[chain[0]][1 - axis]
        outward = 1 if (along > 0) == (axis == 0) else -1
        lowest = number == 0 and low in (given[i][axis] for i in chain)
        origin = 0 if lowest else low
        at = max(
            chain,
            key=lambda i: (
                max(_zeros(given[i][axis]), _zeros(given[i][axis] - origin)),
                outward * outline[i][axis],
                -i,
            ),
        )
        if lowest:
            low = given[at][axis]
        value = outline[at][axis]
        off = max(abs(outline[i][axis] - value) for i in chain)
        if 0 < off <= NOISE:
            found.append(Line(chain, axis, value, off))
    return sorted(found, key=lambda line: line.corners)


def _zeros(value: int) -> int:
    """Zeros at the end of a whole number: how round it is."""
    if not value:
        return _ALL_ZEROS
    count = 0
    while value % 10 == 0:
        value //= 10
        count += 1
    return count


def _moved(outline: Outline, lines: Sequence[Line], fixed: Collection[int]) -> Straightened | None:
    """The outline with its corners on these lines; None where that is no clean outline of the same turns."""
    points = [list(p) for p in outline]
    for line in lines:
        for i in line.corners:
            points[i][line.axis] = line.value
    moved = [(x, y) for x, y in points]
    if any(a == b for a, b in sides(moved)) or area2(moved) <= 0:
        return None
    try:
        clean = traced(moved)
    except InvalidOutline:
        return None
    if any(i in fixed for i in set(range(len(outline))).difference(clean.listed)):
        return None
    inwards = set(reentrant_corners(outline))
    if any(clean.listed[i] not in inwards for i in reentrant_corners(clean.outline)):
        return None
    return Straightened(clean.outline, clean.listed, len(outline), tuple(lines))
