"""The lines of a hatching within a convex outline, the same for every format."""

from __future__ import annotations

from math import hypot

from panewright.io.palette import Hatching
from panewright.nesting.outlines import Outline, Point


def hatch_lines(outline: Outline, hatching: Hatching, grain: int) -> list[tuple[Point, Point]]:
    """Where the lines of a hatching cross a convex outline.

    Parameters
    ----------
    outline
        Convex. [nm]
    hatching
        Its lines pass the origin, so that those of neighbours run on.
    grain
        The usual text height of the drawing. [nm]

    Examples
    --------
    >>> square = ((0, 0), (40, 0), (40, 40), (0, 40))
    >>> hatch_lines(square, Hatching(along=(0, 1), pitch=1.5, colour="#000000"), 10)
    [((30, 0), (30, 40)), ((15, 0), (15, 40))]
    """
    dx, dy = hatching.along
    off = [dx * y - dy * x for x, y in outline]
    pitch = max(1, round(hatching.pitch * grain * hypot(dx, dy)))
    least, most = min(off), max(off)
    lines = []
    for at in range((least // pitch + 1) * pitch, most, pitch):
        ends = sorted(_crossings(outline, off, at), key=lambda p: p[0] * dx + p[1] * dy)
        if len(ends) >= 2 and ends[0] != ends[-1]:
            lines.append((ends[0], ends[-1]))
    return lines


def _crossings(outline: Outline, off: list[int], at: int) -> list[Point]:
    found = []
    for i, q in enumerate(outline):
        p, a, b = outline[i - 1], off[i - 1] - at, off[i] - at
        if b == 0:
            found.append(q)
        elif (a < 0 < b) or (b < 0 < a):
            found.append((p[0] + (q[0] - p[0]) * a // (a - b), p[1] + (q[1] - p[1]) * a // (a - b)))
    return found
