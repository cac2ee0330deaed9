"""What is to be said of a panel that is no rectangle: sharp tips, pockets, edges too short to score."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import Final

from .cut_shape import CutShape
from .edgework import Edge
from .hole_limits import LIMITS, Region, Rule, counted_thickness
from .offsets import bridged, hull_spans, meeting, moved_line
from .outlines import Outline, is_rectangle, sides
from .pockets import Pocket, pockets
from .rules import Rules
from .text import local_number, tr, tr_count
from .tips import angle_at, distance, sharp_corners
from .units import LengthStyle, mm, show, show_size

SHORT: Final = mm(1)
"""Edges shorter than this are ground, not scored (common practice)."""


class About(Enum):
    """What a finding speaks of."""

    TIP = "tip"
    POCKET = "pocket"
    SHORT = "short edge"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeFinding:
    """Something worth knowing about the shape of a panel; words and remedy are worded for the user."""

    about: About
    words: str
    remedy: str = ""

    def __str__(self) -> str:
        return f"{self.words} ({self.remedy})" if self.remedy else self.words


def shape_findings(
    finished: Outline,
    edges: Sequence[Edge],
    shape: CutShape,
    rules: Rules,
    thickness: int,
    region: Region = "EN",
    names: Sequence[int] = (),
) -> list[ShapeFinding]:
    """Everything worth knowing about the shape of a panel.

    Parameters
    ----------
    finished, edges
        Finished outline [nm], and one edge for each of its.
    shape
        Its cut outline, and the tips that are cut back.
    rules
        Of the glass: least angle, radius of inner corners.
    thickness
        Nominal. [nm]
    region
        Whose limits of inner corners are told where the shop states none.
    names
        Numbers of the corners for messages; empty: from 1.
    """
    if is_rectangle(finished):
        return []
    numbers = names or range(1, len(finished) + 1)
    return [
        *_tips(finished, edges, shape, rules, numbers),
        *_pockets(finished, shape.outline, rules, thickness, region, numbers),
        *_short(finished, numbers),
    ]


def _tips(
    finished: Outline, edges: Sequence[Edge], shape: CutShape, rules: Rules, numbers: Sequence[int]
) -> Iterator[ShapeFinding]:
    reaches = _reaches(finished, edges)
    cut_back = {tip.corner: tip.reach for tip in shape.tips}
    sharp = sharp_corners(finished, rules.least_angle)
    n = len(finished)
    for i in sorted({*sharp, *cut_back}):
        angle = local_number(f"{angle_at(finished[i - 1], finished[i], finished[(i + 1) % n]):.1f}")
        reach = reaches.get(i, 0)
        if i in cut_back:
            words = tr(
                "tip of {angle} degrees at corner {number}: the cut outline is cut back to {reach} beyond the "
                "finished corner, from {far}",
                angle=angle,
                number=numbers[i],
                reach=show(cut_back[i]),
                far=show(reach),
            )
            remedy = tr("thin tips break: agree on a blunted one") if i in sharp else ""
        elif reach:
            words = tr(
                "tip of {angle} degrees at corner {number}: the cut outline reaches {reach} beyond the finished "
                "corner; thin tips break",
                angle=angle,
                number=numbers[i],
                reach=show(reach),
            )
            remedy = tr("have it cut back (tips: cut back), or agree on a blunted one")
        else:
            words = tr(
                "tip of {angle} degrees at corner {number}; thin tips break", angle=angle, number=numbers[i]
            )
            remedy = tr("agree on a blunted one")
        yield ShapeFinding(about=About.TIP, words=words, remedy=remedy)


def _reaches(finished: Outline, edges: Sequence[Edge]) -> dict[int, int]:
    """How far the corners of the hull reach beyond the finished ones, before any tip is cut back. [nm]"""
    spans = hull_spans(finished)
    out = bridged([edge.allowance for edge in edges], spans)
    lines = [moved_line(finished[i], finished[j], a) for (i, j), a in zip(spans, out, strict=True)]
    return {i: distance(meeting(lines[k - 1], lines[k]), finished[i]) for k, (i, _) in enumerate(spans)}


def inner_radius(rules: Rules, thickness: int, region: Region) -> tuple[int, bool]:
    """Least radius of inner corners [nm], and whether the shop states it; else it is a published limit."""
    if rules.inner_radius is not None:
        return rules.inner_radius, True
    return LIMITS[region][Rule.RADIUS].at(counted_thickness(thickness, region)), False


def pocket_size(pocket: Pocket, style: LengthStyle | None = None) -> str:
    """Box and area of a pocket: ``381 x 241 mm, 0.0460 m2``."""
    area = round(Fraction(pocket.area2, 2 * 10**14))
    return tr(
        "{size}, {area} m2",
        size=show_size(*pocket.size, style),
        area=local_number(f"{area // 10_000}.{area % 10_000:04d}"),
    )


def listed(numbers: Sequence[int]) -> str:
    """Numbers in words: ``4``, ``4 and 5``, ``4, 5 and 6``."""
    *some, last = map(str, numbers)
    return tr("{some} and {last}", some=", ".join(some), last=last) if some else last


def edge_names(indexes: Sequence[int], numbers: Sequence[int]) -> str:
    """Edges by their corners, neighbours together: ``3-4-5``."""
    parts: list[list[int]] = []
    n = len(numbers)
    for i in indexes:
        if parts and parts[-1][-1] == i:
            parts[-1].append((i + 1) % n)
        else:
            parts.append([i, (i + 1) % n])
    return ", ".join("-".join(str(numbers[k]) for k in part) for part in parts)


def _pockets(
    finished: Outline, cut: Outline, rules: Rules, thickness: int, region: Region, numbers: Sequence[int]
) -> Iterator[ShapeFinding]:
    found = pockets(finished, cut)
    if not found:
        return
    radius, own = inner_radius(rules, thickness, region)
    rounded = (
        tr("inner radius at least {radius}", radius=show(radius))
        if own
        else tr("round the inner corners, in toughened glass by at least {radius}", radius=show(radius))
    )
    for pocket in found:
        inwards = [numbers[k] for k in pocket.corners]
        words = tr(
            "the corner of {size} along corners {along} cannot be broken off",
            size=pocket_size(pocket),
            along=edge_names(pocket.edges, numbers),
        )
        if inwards:
            words = tr_count(
                "corner {corners} turns inwards and cannot be scored: a pocket of {size} stays along corners {along}",
                "corners {corners} turn inwards and cannot be scored: a pocket of {size} stays along corners {along}",
                len(inwards),
                corners=listed(inwards),
                along=edge_names(pocket.edges, numbers),
                size=pocket_size(pocket),
            )
        remedy = tr("it is left to saw, drill or water jet; {rounded}", rounded=rounded)
        if pocket.score:
            remedy = tr(
                "{remedy}; an angled score of {length} takes the corner of the blank off before",
                remedy=remedy,
                length=show(pocket.score),
            )
        yield ShapeFinding(about=About.POCKET, words=words, remedy=remedy)


def _short(finished: Outline, numbers: Sequence[int]) -> Iterator[ShapeFinding]:
    n = len(finished)
    for i, (a, b) in enumerate(sides(finished)):
        far = distance(a, b)
        if far < SHORT:
            yield ShapeFinding(
                about=About.SHORT,
                words=tr(
                    "the edge from corner {a} to corner {b} is only {length} long and cannot be scored",
                    a=numbers[i],
                    b=numbers[(i + 1) % n],
                    length=show(far),
                ),
                remedy=tr(
                    "leave one of its corners out, and have that corner dubbed when the edges are ground"
                ),
            )
