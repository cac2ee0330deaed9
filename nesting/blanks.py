"""Blanks: the rectangles from which one or several panels that are no rectangles are cut by shape cuts.

The blank of one panel is flush with an edge of its cut outline (for a free turn) or its bounding box at
the turns allowed; those of several panels come from `angled`. What comes off beside the panels must be at
least the break-out distance wide, or deep enough and blunt enough for a corner (rule 5 of the plan file,
in DEVELOPERS.md).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import atan2, degrees, isqrt

from .angled.cut_apart import CutApart, Score, cut_apart
from .outlines import Outline, Point, box, is_rectangle, round_ratio, sides
from .panels import Turn
from .rules import Rules
from .units import ceil_tick

FULL_TURN = 360 * 10**9
QUARTER = 90 * 10**9
ROUNDED = 5
"""Ends of one edge were rounded apart by no more than this. [nm]"""

COSTLY = Fraction(5, 4)
"""A blank larger than this many times the least rectangle about its panel is worth another look."""
SLOPES = 100
"""Slopes at which a panel may stand askew, to either side: hundredths."""


@dataclass(frozen=True, slots=True)
class Member:
    """A panel in a blank.

    Parameters
    ----------
    kind
        Its type.
    turned
        Counter-clockwise turn of the panel's frame. [1e-9 degree]
    mirrored
        Reflected (x -> -x) before turning.
    outline
        In place, lower left corner of the blank at the origin. [nm]
    part
        Which panel of a bundle it is; those of one bundle follow one another.
    """

    kind: int
    turned: int
    mirrored: bool
    outline: Outline
    part: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A rectangle that yields one panel, or a group of them.

    Parameters
    ----------
    width, height
        Multiples of the tick. [nm]
    members
        The panels.
    cuts
        The shape cuts, and what they leave.
    """

    width: int
    height: int
    members: tuple[Member, ...]
    cuts: CutApart

    @property
    def area(self) -> int:
        """[nm2]"""
        return self.width * self.height

    @property
    def uses(self) -> tuple[tuple[int, int], ...]:
        """Pairs (type, number), rising by type."""
        kinds = [m.kind for m in self.members if m.part == 0]
        return tuple((k, kinds.count(k)) for k in sorted(set(kinds)))

    def of_kind(self, kind: int) -> Blank:
        """The same for a panel of this type; all members become of it."""
        return replace(self, members=tuple(replace(m, kind=kind) for m in self.members))

    def of_kinds(self, kinds: Sequence[int]) -> Blank:
        """The same with the kinds of its members looked up here."""
        return replace(self, members=tuple(replace(m, kind=kinds[m.kind]) for m in self.members))


def _turned(outline: Outline, direction: Point) -> Outline:
    """The outline turned so that `direction` points right, rounded to the nanometre."""
    dx, dy = direction
    norm = dx * dx + dy * dy
    return tuple((round_ratio(x * dx + y * dy, norm), round_ratio(y * dx - x * dy, norm)) for x, y in outline)


def _in_place(outline: Outline) -> tuple[int, int, Outline]:
    """Shift to the origin; the far sides snap out to the next tick, under 625 nm.

    What lies within some nanometres of a side lies on it: both ends of a flush edge were rounded.
    """
    x0, y0, x1, y1 = box(outline)
    width, height = ceil_tick(x1 - x0), ceil_tick(y1 - y0)

    def snap(value: int, low: int, high: int, size: int) -> int:
        if high - value <= ROUNDED:
            return size
        return 0 if value - low <= ROUNDED else value - low

    return width, height, tuple((snap(x, x0, x1, width), snap(y, y0, y1, height)) for x, y in outline)


def candidates(cut: Outline, turn: Turn, rules: Rules) -> list[Blank]:
    """The blanks of one convex cut outline that the rules allow, smallest area first.

    Parameters
    ----------
    cut
        Convex cut outline. [nm]
    turn
        Rotations allowed; a quarter turn of the blank itself is the optimizer's business.
    rules
        Of the glass.

    Returns
    -------
    list of Blank
        At most one a size, those within 15 % of the smallest, none of which holds another; empty
        when every blank leaves a corner that cannot be broken off. A rectangle is its own blank.

    Notes
    -----
    The least rectangle about a convex polygon is flush with one of its edges (Freeman and Shapira
    1975); larger flush ones are offered too, since their sides may fit a sheet better.
    """
    found: dict[tuple[int, int], Blank] = {}
    directions: list[Point] = [(1, 0)]
    if turn is Turn.ANY and not is_rectangle(cut):
        directions += [(b[0] - a[0], b[1] - a[1]) for a, b in sides(cut)]
    for direction in directions:
        width, height, outline = _in_place(_turned(cut, direction))
        size = (max(width, height), min(width, height)) if turn.by_quarter else (width, height)
        if size in found:
            continue
        cuts = cut_apart(width, height, [outline], rules)
        if cuts is None:
            continue
        angle = round(degrees(atan2(-direction[1], direction[0])) * 10**9) % FULL_TURN
        found[size] = Blank(
            width=width, height=height, members=(Member(0, angle, False, outline),), cuts=cuts
        )
    blanks = sorted(found.values(), key=lambda b: (b.area, b.width, b.members[0].turned))
    if blanks:
        most = blanks[0].area * 115
        blanks = [b for b in blanks if b.area * 100 <= most]
    sizes = [sorted((b.width, b.height)) for b in blanks]
    return [
        b
        for i, b in enumerate(blanks)
        if not any(
            j < i and sizes[j][0] <= sizes[i][0] and sizes[j][1] <= sizes[i][1] for j in range(len(blanks))
        )
    ]


def least_rectangle(cut: Outline, turn: Turn) -> tuple[Fraction, tuple[int, int]]:
    """Area of the least rectangle about a cut outline as it may be turned [nm2], and its sides, rounded [nm].

    It is flush with an edge (Freeman and Shapira 1975); whether the rules allow it as a blank is not asked.
    """
    found = []
    directions: list[Point] = [(1, 0)]
    if turn is Turn.ANY:
        directions += [(b[0] - a[0], b[1] - a[1]) for a, b in sides(cut)]
    for dx, dy in directions:
        along = [x * dx + y * dy for x, y in cut]
        across = [y * dx - x * dy for x, y in cut]
        wide, high, norm = max(along) - min(along), max(across) - min(across), dx * dx + dy * dy
        size = isqrt(wide * wide // norm), isqrt(high * high // norm)
        found.append((Fraction(wide * high, norm), size))
    return min(found, key=lambda f: f[0])


def fits(width: int, height: int, turns: bool, rooms: Iterable[tuple[int, int]]) -> bool:
    """Whether a rectangle, which may be turned by a quarter or not, lies in one of these sizes. [nm]"""
    return any((width <= a and height <= b) or (turns and width <= b and height <= a) for a, b in rooms)


@lru_cache(maxsize=4096)
def tilted(cut: Outline, rules: Rules, rooms: tuple[tuple[int, int], ...]) -> Blank | None:
    """The least blank in which a panel stands askew, for one that no flush blank yields.

    A slight taper leaves a sliver beside a flush panel. Turned some degrees it touches every side of its
    blank with a corner, and what comes off all around is wide enough to break.

    Parameters
    ----------
    cut
        Convex cut outline of a panel that may be turned by any angle. [nm]
    rules
        Of the glass.
    rooms
        Inner sizes of the sheets, of which one must hold the blank; empty: any size will do. [nm]

    Returns
    -------
    Blank or None
        None where no blank at a slope of some hundredths to one in one will do.
    """
    tried = []
    for k in range(1, SLOPES + 1):
        for direction in ((SLOPES, k), (SLOPES, -k)):
            width, height, outline = _in_place(_turned(cut, direction))
            if not rooms or fits(width, height, True, rooms):
                tried.append((width * height, direction, width, height, outline))
    for _, direction, width, height, outline in sorted(tried):
        cuts = cut_apart(width, height, [outline], rules)
        if cuts is not None:
            angle = round(degrees(atan2(-direction[1], direction[0])) * 10**9) % FULL_TURN
            return Blank(width=width, height=height, members=(Member(0, angle, False, outline),), cuts=cuts)
    return None


def quarter_turned(blank: Blank) -> Blank:
    """The same blank turned a quarter counter-clockwise."""

    def turn(p: Point) -> Point:
        return (blank.height - p[1], p[0])

    return Blank(
        width=blank.height,
        height=blank.width,
        members=tuple(
            replace(m, turned=(m.turned + QUARTER) % FULL_TURN, outline=tuple(turn(p) for p in m.outline))
            for m in blank.members
        ),
        cuts=CutApart(
            tuple(Score(s.piece, turn(s.start), turn(s.end)) for s in blank.cuts.scores),
            tuple((piece, tuple(turn(p) for p in shape), m) for piece, shape, m in blank.cuts.leaves),
        ),
    )
