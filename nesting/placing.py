"""Where the outlines of a panel lie on its sheet: reflected, turned and shifted as its leaf says."""

from __future__ import annotations

from math import cos, radians, sin

from .openings import Opening, corner_radii, relocated
from .outlines import Outline, Point, box
from .panels import Panel
from .plan import Leaf

_TURN = 360 * 10**9


def turned(outline: Outline, angle: int, mirrored: bool) -> list[tuple[float, float]]:
    """An outline reflected (x -> -x) if so, then turned counter-clockwise by `angle` [1e-9 degree].

    The sense of a reflected outline is turned back to counter-clockwise. Quarter turns are exact.
    """
    points: list[tuple[float, float]]
    points = [(-x, y) for x, y in reversed(outline)] if mirrored else list(outline)
    quarter, rest = divmod(angle % _TURN, _TURN // 4)
    if rest:
        c, s = cos(radians(angle / 10**9)), sin(radians(angle / 10**9))
        return [(x * c - y * s, x * s + y * c) for x, y in points]
    for _ in range(quarter):
        points = [(-y, x) for x, y in points]
    return points


def _shift(panel: Panel, leaf: Leaf) -> tuple[float, float]:
    """From the turned cut outline to the leaf.

    The mean of the corners does not depend on where an outline begins; where the leaf has other
    corners (a tip was cut back), the boxes are laid on each other.
    """
    cut, n = turned(panel.cut, leaf.turned, leaf.mirrored), len(leaf.outline)
    if len(cut) == n and leaf.turned % (_TURN // 4):
        return (
            sum(p[0] for p in leaf.outline) / n - sum(p[0] for p in cut) / n,
            sum(p[1] for p in leaf.outline) / n - sum(p[1] for p in cut) / n,
        )
    x0, y0, _, _ = box(leaf.outline)
    return x0 - min(p[0] for p in cut), y0 - min(p[1] for p in cut)


def placed(panel: Panel, leaf: Leaf) -> tuple[Outline, Outline]:
    """Cut and finished outline of a panel in place on its sheet.

    Parameters
    ----------
    panel
        The panel.
    leaf
        Where it lies.

    Returns
    -------
    tuple
        Cut outline, finished outline, counter-clockwise. Rounded to the nanometre; exact where the
        panel is turned by quarters. [nm]
    """
    shift = _shift(panel, leaf)
    return _settled(panel.cut, leaf, shift), _settled(panel.finished, leaf, shift)


def _settled(outline: Outline, leaf: Leaf, shift: tuple[float, float]) -> Outline:
    points: list[Point] = [
        (round(x + shift[0]), round(y + shift[1])) for x, y in turned(outline, leaf.turned, leaf.mirrored)
    ]
    return tuple(points)


def placed_openings(panel: Panel, leaf: Leaf) -> list[tuple[Opening, tuple[int, ...]]]:
    """The openings of a panel in place on its sheet, rounded as in `placed`, with their corner radii. [nm]"""
    shift = _shift(panel, leaf)
    out: list[tuple[Opening, tuple[int, ...]]] = []
    for opening in panel.openings:
        there = relocated(opening, lambda outline: _settled(outline, leaf, shift))
        radii = corner_radii(opening, panel.finished)
        out.append((there, radii[::-1] if leaf.mirrored else radii))
    return out
