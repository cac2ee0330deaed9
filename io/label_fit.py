"""Labels that stay within the outline they name: as large as they fit, or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from panewright.io.palette import Layer
from panewright.io.scene_model import Text, text_width
from panewright.nesting.outlines import Outline, Point, area2, box, cross, is_rectangle

PITCH = 1.6
"""From line to line, in text heights."""
MARGIN = 0.6
"""Kept free around a label, in text heights."""


@dataclass(frozen=True, slots=True)
class Label:
    """A label of one or more lines that fits.

    Parameters
    ----------
    texts
        Its lines.
    box
        The rectangle around them, with sides along the axes. [nm]
    height
        Of its capitals. [nm]
    """

    texts: tuple[Text, ...]
    box: tuple[int, int, int, int]
    height: int


def middle_of(outline: Outline) -> Point:
    """Centroid of the area, rounded to the nanometre."""
    total = area2(outline)
    if not total:
        return outline[0]
    x = y = 0
    for i in range(len(outline)):
        a, b = outline[i - 1], outline[i]
        weight = a[0] * b[1] - b[0] * a[1]
        x += (a[0] + b[0]) * weight
        y += (a[1] + b[1]) * weight
    return round(x / (3 * total)), round(y / (3 * total))


def holds(outline: Outline, points: Sequence[Point]) -> bool:
    """Whether all points lie within a convex, counter-clockwise outline."""
    n = len(outline)
    return all(cross(outline[i], outline[(i + 1) % n], p) >= 0 for i in range(n) for p in points)


def fitted(
    outline: Outline,
    arrangements: Sequence[Sequence[str]],
    heights: Sequence[int],
    layer: Layer,
    *,
    aside: int = 0,
) -> Label | None:
    """The largest label that fits a convex outline, about its middle; None where none does.

    Parameters
    ----------
    outline
        Convex. [nm]
    arrangements
        Lines of text, the most readable arrangement first.
    heights
        Text heights, the largest first. [nm]
    layer
        Of the texts.
    aside
        Kept free behind the lines, for a ring; the lines move half as far forward. [nm]

    Notes
    -----
    A level label is taken unless an upright one may be half as large again.
    """
    centre = middle_of(outline)
    level = _largest(outline, centre, arrangements, heights, layer, aside, upright=False)
    if level is not None and level.height == heights[0]:
        return level
    upright = _largest(outline, centre, arrangements, heights, layer, aside, upright=True)
    if level is None or upright is None:
        return level or upright
    return upright if 2 * upright.height >= 3 * level.height else level


def _largest(
    outline: Outline,
    centre: Point,
    arrangements: Sequence[Sequence[str]],
    heights: Sequence[int],
    layer: Layer,
    aside: int,
    *,
    upright: bool,
) -> Label | None:
    x0, y0, x1, y1 = box(outline)
    x, y = centre
    # no label reaches further than the box of the outline, and of a rectangle that is all there is to ask
    wide, high, plain = min(x - x0, x1 - x), min(y - y0, y1 - y), is_rectangle(outline)
    for height in heights:
        for lines in arrangements:
            deep = (len(lines) - 1) * PITCH * height / 2 + (0.5 + MARGIN) * height
            if round(deep) > (wide if upright else high):
                continue
            long = max(text_width(line, height) for line in lines) / 2 + MARGIN * height + aside / 2
            dx, dy = (round(deep), round(long)) if upright else (round(long), round(deep))
            if dx > wide or dy > high:
                continue
            if not plain and not holds(
                outline, [(x - dx, y - dy), (x + dx, y - dy), (x + dx, y + dy), (x - dx, y + dy)]
            ):
                continue
            texts = []
            for i, line in enumerate(lines):
                off = round(((len(lines) - 1) / 2 - i) * PITCH * height)
                at = (x - off, y - aside // 2) if upright else (x - aside // 2, y + off)
                texts.append(Text(layer, line, at, height, "centre", "middle", 90_000 if upright else 0))
            return Label(tuple(texts), box([p for text in texts for p in text.box()]), height)
    return None


Box = tuple[int, int, int, int]
"""Least x, least y, greatest x, greatest y. [nm]"""


def fitted_beside(
    outline: Outline,
    arrangements: Sequence[Sequence[str]],
    heights: Sequence[int],
    layer: Layer,
    taken: Sequence[Box],
    *,
    aside: int = 0,
) -> Label | None:
    """As `fitted`, moved aside or smaller where it would lie over one of the boxes `taken`, if that is possible."""
    first = fitted(outline, arrangements, heights, layer, aside=aside)
    label = first
    for i in range(len(heights)):
        if label is None or (clear := _moved_clear(label, outline, taken)) is not None:
            return clear if label is not None else first
        label = (
            fitted(outline, arrangements, heights[i + 1 :], layer, aside=aside) if heights[i + 1 :] else None
        )
    return first


def _moved_clear(label: Label, outline: Outline, taken: Sequence[Box]) -> Label | None:
    """A label moved the least way along one axis, so that it lies over none of the boxes; None where it cannot."""
    x0, y0, x1, y1 = label.box
    gap = label.height // 3

    def over(dx: int, dy: int) -> list[Box]:
        return [
            b
            for b in taken
            if x0 + dx < b[2] + gap and b[0] - gap < x1 + dx and y0 + dy < b[3] + gap and b[1] - gap < y1 + dy
        ]

    if not (near := over(0, 0)):
        return label
    ways = [way for b in near for way in ((b[2] + gap - x0, 0), (b[0] - gap - x1, 0))]
    ways += [way for b in near for way in ((0, b[3] + gap - y0), (0, b[1] - gap - y1))]
    for dx, dy in sorted(ways, key=lambda w: (abs(w[0]) + abs(w[1]), w)):
        moved = (x0 + dx - gap, y0 + dy - gap, x1 + dx + gap, y1 + dy + gap)
        corners = [(moved[i], moved[j]) for i in (0, 2) for j in (1, 3)]
        if holds(outline, corners) and not over(dx, dy):
            texts = tuple(replace(t, at=(t.at[0] + dx, t.at[1] + dy)) for t in label.texts)
            return Label(texts, (x0 + dx, y0 + dy, x1 + dx, y1 + dy), label.height)
    return None
