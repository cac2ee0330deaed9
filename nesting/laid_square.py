"""An outline that was given at an angle, laid along the axes on its longest edge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import atan2, degrees

from .outlines import Outline, Point, is_convex, sides, traced
from .straight_edges import Line, evened, longest_edge, turn_on_longest
from .units import to_tick


@dataclass(frozen=True, slots=True)
class Laid:
    """An outline laid along the axes.

    Parameters
    ----------
    outline
        Its corners in the same order, in whole ticks. [nm]
    angle
        By which the outline as given stands counter-clockwise of it. [degree]
    place
        Moves any other point along, rounded to the nanometre.
    lines
        What was laid straight, its values as turned.
    """

    outline: Outline
    angle: float
    place: Callable[[Point], Point]
    lines: tuple[Line, ...]


def laid_square(outline: Outline) -> Laid | None:
    """The outline turned so that its longest edge lies at the bottom; None where an edge lies along an axis.

    Notes
    -----
    Edges that are off square or parallel to the longest by noise alone (see `evened`) are so exactly: a
    rectangle is one again.
    """
    if any(a[0] == b[0] or a[1] == b[1] for a, b in sides(outline)):
        return None
    turned = turn_on_longest(outline)
    straight = evened(tuple(map(turned, outline)), fixed=range(len(outline)))
    points = [(to_tick(x), to_tick(y)) for x, y in straight.outline]
    x0, y0 = min(x for x, _ in points), min(y for _, y in points)
    laid = tuple((x - x0, y - y0) for x, y in points)
    if traced(laid).outline != laid or is_convex(laid) != is_convex(outline):
        return None
    a, b = longest_edge(outline)

    def place(p: Point) -> Point:
        x, y = turned(p)
        return x - x0, y - y0

    return Laid(laid, degrees(atan2(b[1] - a[1], b[0] - a[0])), place, straight.lines)
