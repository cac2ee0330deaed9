"""What the edging line takes: which edges of a panel it works, and why others go by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from math import isqrt
from typing import Final

from .edgework import Edge, Work
from .outlines import Outline, box, cross
from .shop_tanks import EdgingLine

BY_LINE: Final = (Work.GROUND, Work.POLISHED, Work.PENCIL, Work.BEVEL, Work.MITRE)
"""Edgework that the edging line does; seams are made by hand or on a belt."""


class Limit(Enum):
    """A limit of the edging line."""

    WIDTH = "least width"
    LENGTH = "greatest length"
    HEIGHT = "greatest height"
    MITRE = "greatest mitre"


@dataclass(frozen=True, slots=True)
class Beyond:
    """A limit that a panel or one of its edges goes beyond.

    Parameters
    ----------
    limit
        Which.
    edge
        Index of the edge in the finished outline; None where the whole panel is too narrow.
    value
        Length of the edge, size square to it or width of the panel [nm]; mitre [1/1000 degree].
    """

    limit: Limit
    edge: int | None
    value: int


def edge_length(outline: Sequence[tuple[int, int]], i: int) -> int:
    """Length of the edge from corner `i` to the next one, rounded down. [nm]"""
    (ax, ay), (bx, by) = outline[i], outline[(i + 1) % len(outline)]
    return isqrt((bx - ax) ** 2 + (by - ay) ** 2)


def beyond_the_line(finished: Outline, edges: Sequence[Edge], line: EdgingLine) -> Iterator[Beyond]:
    """The limits that keep edges from the edging line, for those that it would work.

    Parameters
    ----------
    finished
        Finished outline. [nm]
    edges
        One an edge of it.
    line
        Limits.

    Notes
    -----
    Exact: lengths are compared as squares, heights as areas.
    """
    worked = [i for i, edge in enumerate(edges) if edge.work in BY_LINE]
    if not worked:
        return
    x0, y0, x1, y1 = box(finished)
    if min(x1 - x0, y1 - y0) < line.least_width:
        yield Beyond(Limit.WIDTH, None, min(x1 - x0, y1 - y0))
    for i in worked:
        a, b = finished[i], finished[(i + 1) % len(finished)]
        squared = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
        if squared > line.greatest_length**2:
            yield Beyond(Limit.LENGTH, i, isqrt(squared))
        reach = max(abs(cross(a, b, p)) for p in finished)
        if reach * reach > line.greatest_height**2 * squared:
            yield Beyond(Limit.HEIGHT, i, reach // isqrt(squared))
        if edges[i].mitre > line.greatest_mitre:
            yield Beyond(Limit.MITRE, i, edges[i].mitre)
