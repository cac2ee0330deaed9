"""Published limits of holes and cut-outs, held against the openings of a panel.

The limits are those of toughened glass; tanks are built of drilled annealed glass all the same. For
that there is advice beside them, which is common practice and no published limit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from itertools import combinations
from math import ceil
from typing import Final, Literal

from .glass import INCH_NAMES
from .opening_geometry import edge_distance, gap, open_at, side_gap
from .openings import CutOut, Hole, Opening, distance, inner_corners
from .outlines import Outline, Point, box, cross, sides
from .text import tr
from .units import LengthUnit, inch, mm, show

Region = Literal["EN", "US"]
Status = Literal["read in a public page", "common practice"]


class Rule(Enum):
    """What is limited; the value is its name for programs."""

    LEAST_DIAMETER = "least diameter"
    EDGE = "hole edge to glass edge"
    BETWEEN = "between openings"
    CORNER = "hole edge to corner"
    GREATEST_DIAMETER = "greatest diameter"
    GREATEST_CUT_OUT = "greatest depth and width of a cut-out"
    RADIUS = "inside radius"
    ANNEALED = "hole edge to glass edge, annealed glass"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A limit that grows with the thickness of the glass.

    Parameters
    ----------
    times
        Of the thickness.
    plus
        Added to that. [nm]
    least
        Not below this. [nm]
    source, status
        Where it comes from, and how sure that is.
    """

    times: Fraction
    plus: int = 0
    least: int = 0
    source: str
    status: Status = "read in a public page"

    def at(self, thickness: int) -> int:
        """The limit for a thickness, rounded up. [nm]"""
        return max(ceil(self.times * thickness) + self.plus, self.least)


_EN: Final = "processors' guides to toughened glass of EN type"
_US: Final = "North American guides to fabricating glass before toughening"

LIMITS: Final[Mapping[Region, Mapping[Rule, Limit]]] = {
    "EN": {
        Rule.LEAST_DIAMETER: Limit(times=Fraction(1), source=_EN),
        Rule.EDGE: Limit(times=Fraction(2), source=_EN),
        Rule.BETWEEN: Limit(times=Fraction(2), source=_EN),
        Rule.CORNER: Limit(times=Fraction(6), source=_EN),
        Rule.RADIUS: Limit(times=Fraction(1), source=_EN),
    },
    "US": {
        Rule.LEAST_DIAMETER: Limit(times=Fraction(1), plus=inch("1/16"), least=inch("1/4"), source=_US),
        Rule.EDGE: Limit(times=Fraction(2), least=inch("1/4"), source=_US),
        Rule.BETWEEN: Limit(times=Fraction(2), least=inch("3/8"), source=_US),
        Rule.CORNER: Limit(times=Fraction(13, 2), source=_US),
        Rule.RADIUS: Limit(times=Fraction(1), source=_US),
    },
}
"""Least sizes and distances by region. Other texts of EN type say 4 t between holes and to corners, and
at least 5 or 6 mm of diameter."""

PART_OF_SIDE: Final = 3
"""A hole, a notch or a cut-out takes at most one third of the narrow side (both regions, read)."""
ANNEALED_LEAST: Final = mm(40)
"""Annealed glass: from the edge of a hole to any glass edge at least its diameter and this (common
practice; 40 to 50 mm)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """An opening beyond a limit.

    Parameters
    ----------
    rule
        Which limit.
    openings
        Indexes of the one opening, or of the two.
    got, wanted
        [nm]
    words
        What is the matter, for the user.
    soft
        Advice alone: common practice, no published limit.
    """

    rule: Rule
    openings: tuple[int, ...]
    got: int
    wanted: int
    words: str
    soft: bool = False

    @property
    def remedy(self) -> str:
        """What to do about it; empty for mere advice."""
        if self.soft:
            return ""
        return tr("a limit published for toughened glass; ask the maker, or move or change it")


def region_of(unit: LengthUnit) -> Region:
    """Whose limits a shop goes by, from the unit of its lists."""
    return "US" if unit == "in" else "EN"


def counted_thickness(thickness: int, region: Region) -> int:
    """The thickness that limits count from: in North America the inch name, where that is thicker. [nm]"""
    if region == "EN":
        return thickness
    named = [inch(name) for name, designated in INCH_NAMES.items() if mm(designated) == thickness]
    return max([thickness, *named])


def check_openings(
    outline: Outline, thickness: int, openings: tuple[Opening, ...], region: Region = "EN"
) -> list[Finding]:
    """Hold the openings of a panel against the published limits.

    Parameters
    ----------
    outline
        Finished outline of the panel. [nm]
    thickness
        Nominal thickness. [nm]
    openings
        In the frame of the outline; none of them leaves the glass (see `misplaced`).
    region
        Whose limits.

    Returns
    -------
    list of Finding
        By opening and rule; empty where everything keeps to the limits.

    Notes
    -----
    Distances are exact and rounded down to the nanometre. A cut-out is measured with square corners, so
    never too large. A notch is not measured against the edges it is open at, and not against corners.
    """
    x0, y0, x1, y1 = box(outline)
    third = min(x1 - x0, y1 - y0) // PART_OF_SIDE
    found: list[Finding] = []
    for i, opening in enumerate(openings):
        if isinstance(opening, Hole):
            found += _hole(i, opening, outline, thickness, third, LIMITS[region])
        else:
            found += _cut_out(i, opening, outline, thickness, third, LIMITS[region])
    least = LIMITS[region][Rule.BETWEEN].at(thickness)
    for i, j in combinations(range(len(openings)), 2):
        got = distance(openings[i], openings[j])
        if got < least:
            words = tr(
                "openings {a} and {b} are {got} apart; at least {least}",
                a=i + 1,
                b=j + 1,
                got=show(max(got, 0)),
                least=show(least),
            )
            found.append(Finding(rule=Rule.BETWEEN, openings=(i, j), got=got, wanted=least, words=words))
    return found


def _tips(outline: Outline) -> list[Point]:
    """The corners that turn outwards."""
    n = len(outline)
    return [p for i, p in enumerate(outline) if cross(outline[i - 1], p, outline[(i + 1) % n]) > 0]


def _hole(
    i: int, hole: Hole, outline: Outline, t: int, third: int, limits: Mapping[Rule, Limit]
) -> Iterator[Finding]:
    d = hole.diameter
    least = limits[Rule.LEAST_DIAMETER].at(t)
    if d < least:
        words = tr("the hole is {got} wide; at least {least}", got=show(d), least=show(least))
        yield Finding(rule=Rule.LEAST_DIAMETER, openings=(i,), got=d, wanted=least, words=words)
    edge = min(edge_distance(hole.center, a, b, d) for a, b in sides(outline))
    yield from _edge(i, edge, t, limits)
    advised = max(d, ANNEALED_LEAST)
    if edge < advised:
        words = tr(
            "{got} of glass from the hole to the edge; in annealed glass better {least} (common practice)",
            got=show(edge),
            least=show(advised),
        )
        yield Finding(rule=Rule.ANNEALED, openings=(i,), got=edge, wanted=advised, words=words, soft=True)
    corner = min(edge_distance(hole.center, p, p, d) for p in _tips(outline))
    yield from _corner(i, corner, t, limits)
    if d > third:
        yield _too_large(Rule.GREATEST_DIAMETER, i, d, third)


def _cut_out(
    i: int, cut_out: CutOut, outline: Outline, t: int, third: int, limits: Mapping[Rule, Limit]
) -> Iterator[Finding]:
    mouth = set(open_at(outline, cut_out.outline))
    edges = [side for k, side in enumerate(sides(outline)) if k not in mouth]
    if edges:
        got = min(side_gap(edge, side) for edge in edges for side in sides(cut_out.outline))
        yield from _edge(i, got, t, limits)
    if not mouth:
        yield from _corner(i, min(gap((p,), cut_out.outline) for p in _tips(outline)), t, limits)
    x0, y0, x1, y1 = box(cut_out.outline)
    size = max(x1 - x0, y1 - y0)
    if size > third:
        yield _too_large(Rule.GREATEST_CUT_OUT, i, size, third)
    least = limits[Rule.RADIUS].at(t)
    if cut_out.corner_radius < least and inner_corners(cut_out, outline):
        words = tr(
            "inner corners of radius {got}; at least {least}",
            got=show(cut_out.corner_radius),
            least=show(least),
        )
        yield Finding(rule=Rule.RADIUS, openings=(i,), got=cut_out.corner_radius, wanted=least, words=words)


def _edge(i: int, got: int, t: int, limits: Mapping[Rule, Limit]) -> Iterator[Finding]:
    least = limits[Rule.EDGE].at(t)
    if got < least:
        words = tr(
            "{got} of glass from the opening to the edge; at least {least}", got=show(got), least=show(least)
        )
        yield Finding(rule=Rule.EDGE, openings=(i,), got=got, wanted=least, words=words)


def _corner(i: int, got: int, t: int, limits: Mapping[Rule, Limit]) -> Iterator[Finding]:
    least = limits[Rule.CORNER].at(t)
    if got < least:
        words = tr(
            "{got} from the opening to the corner of the panel; at least {least}",
            got=show(got),
            least=show(least),
        )
        yield Finding(rule=Rule.CORNER, openings=(i,), got=got, wanted=least, words=words)


def _too_large(rule: Rule, i: int, got: int, third: int) -> Finding:
    words = tr(
        "the opening is {got} wide or deep; at most a third of the narrow side, {most}",
        got=show(got),
        most=show(third),
    )
    return Finding(rule=rule, openings=(i,), got=got, wanted=third, words=words)
