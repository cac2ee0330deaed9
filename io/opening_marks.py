"""Openings in the drawing of a panel: their outlines, their words and their places from two edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from panewright.io import palette
from panewright.io.label_fit import Label, fitted, holds
from panewright.io.rounded import flattened
from panewright.io.scene_model import Circle, Line, Polyline, Sketch, Text, Tint, text_width
from panewright.nesting.openings import CutOut, Hole, Opening, corner_radii, opening_box
from panewright.nesting.outlines import Outline, Point, box, hull, is_convex
from panewright.nesting.text import tr
from panewright.nesting.units import LengthStyle, show, show_size

MOST_ROWS = 6
"""Places along one axis that get a dimension line; of more, the list of openings tells alone."""

Box = tuple[int, int, int, int]


def draw_opening(sketch: Sketch, opening: Opening, radii: tuple[int, ...], *, filled: bool = True) -> None:
    """The outline of an opening; `radii` are those of the corners of a cut-out. [nm]"""
    layer = palette.OPENING
    if isinstance(opening, Hole):
        sketch.add(Circle(layer, opening.center, opening.diameter // 2))
        return
    if filled:
        sketch.add(Tint(layer, flattened(opening.outline, radii)))
    sketch.add(Polyline(layer, opening.outline, radii))


def short_words(opening: Opening, style: LengthStyle | None) -> str:
    """What stands beside an opening: ``dia 35 mm`` or ``200 x 25 mm r 12 mm``."""
    if isinstance(opening, Hole):
        return tr("dia {diameter}", diameter=show(opening.diameter, style))
    x0, y0, x1, y1 = box(opening.outline)
    size = show_size(x1 - x0, y1 - y0, style)
    radius = opening.corner_radius
    return tr("{size} r {radius}", size=size, radius=show(radius, style)) if radius else size


def place_of(opening: Opening) -> Point:
    """Where an opening is measured: the centre of a hole, the lower left of a cut-out's box. [nm]"""
    return opening.center if isinstance(opening, Hole) else box(opening.outline)[:2]


def opening_lines(openings: Sequence[Opening], panel: Outline, style: LengthStyle | None) -> list[str]:
    """One line an opening: what it is and where, and how it is made."""
    x0, y0, _, _ = box(panel)
    lines = []
    for number, opening in enumerate(openings, start=1):
        x, y = place_of(opening)
        values = {
            "number": number,
            "what": short_words(opening, style),
            "x": show(x - x0, style),
            "y": show(y - y0, style),
        }
        if isinstance(opening, Hole):
            lines.append(
                tr("opening {number}: hole, {what}, centre {x} from the left, {y} from the bottom", **values)
            )
        else:
            lines.append(
                tr(
                    "opening {number}: cut-out, {what}, lower left of its box {x} from the left, "
                    "{y} from the bottom",
                    **values,
                )
            )
    if lines:
        lines.append(tr("Openings are drilled, sawn or cut by water jet, not scored."))
    return lines


def mark_openings(
    sketch: Sketch, openings: Sequence[Opening], panel: Outline, style: LengthStyle | None
) -> list[Box]:
    """Draw the openings of a panel with their words; returns the boxes that a label must keep off. [nm]"""
    for opening in openings:
        draw_opening(sketch, opening, corner_radii(opening, panel))
        if isinstance(opening, Hole):
            (x, y), r = opening.center, opening.diameter // 2 + sketch.grain // 3
            sketch.add(
                Line(palette.OPENING, (x - r, y), (x + r, y)), Line(palette.OPENING, (x, y - r), (x, y + r))
            )
    edge = sketch.grain // 3
    taken = [_grown(opening_box(opening), edge) for opening in openings]
    for number, opening in enumerate(openings, start=1):
        text = _words_beside(sketch.grain, number, opening, panel, taken, style)
        sketch.add(text)
        taken.append(box(text.box()))
    return taken


def _words_beside(
    g: int, number: int, opening: Opening, panel: Outline, taken: Sequence[Box], style: LengthStyle | None
) -> Text:
    """The words of an opening, where they meet nothing; its number alone where no room is left."""
    own = opening_box(opening)
    full = f"{number}: {short_words(opening, style)}"
    choices: list[Text] = []
    for words in (full, str(number)):
        for height in (round(0.8 * g), round(0.6 * g)):
            room = isinstance(opening, CutOut) and len(opening.outline) == 4 and 2 * height <= own[3] - own[1]
            if room and text_width(words, height) + height <= own[2] - own[0]:
                middle = ((own[0] + own[2]) // 2, (own[1] + own[3]) // 2)
                return Text(palette.OPENING, words, middle, height, "centre", "middle")
            for place in _places(own, words, height, g):
                if _within(place, panel) and not any(_meet(box(place.box()), t) for t in taken):
                    return place
                choices.append(place)
    return choices[-1]


def _places(own: Box, words: str, height: int, g: int) -> Iterator[Text]:
    x, y, off = (own[0] + own[2]) // 2, (own[1] + own[3]) // 2, g // 2 + height // 4
    layer = palette.OPENING
    yield Text(layer, words, (own[2] + off, y), height, "left", "middle")
    yield Text(layer, words, (own[0] - off, y), height, "right", "middle")
    yield Text(layer, words, (x, own[3] + off + height // 2), height, "centre", "middle")
    yield Text(layer, words, (x, own[1] - off - height // 2), height, "centre", "middle")


def _grown(b: Box, by: int) -> Box:
    return b[0] - by, b[1] - by, b[2] + by, b[3] + by


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _within(text: Text, panel: Outline) -> bool:
    """Whether a text lies on the panel; of a panel with inner corners the hull counts."""
    return holds(panel if is_convex(panel) else hull(panel), text.box())


def measure_openings(
    sketch: Sketch, openings: Sequence[Opening], finished: Outline, cut: Outline, style: LengthStyle | None
) -> tuple[int, int]:
    """Dimension lines from the left and the bottom edge to every opening.

    Returns
    -------
    tuple of int
        How much room they take below the drawing and to the left of it. [nm]
    """
    g = sketch.grain
    x0, y0, _, _ = box(finished)
    left, low, _, _ = box(cut)
    rows = []
    for axis, begin, edge in ((0, x0, low), (1, y0, left)):
        stops = sorted({place_of(o)[axis] for o in openings} - {begin})
        stops = stops if len(stops) <= MOST_ROWS else []
        for row, stop in enumerate(stops):
            at = edge - round((4.2 + 2 * row) * g)
            words = show(stop - begin, style, unit=False)
            _row(sketch, begin, stop, at, edge - round(2.4 * g), words, upright=axis == 1)
        rows.append(2 * g * len(stops))
    return rows[0], rows[1]


def _row(sketch: Sketch, a: int, b: int, at: int, near: int, words: str, *, upright: bool) -> None:
    """One dimension line from a to b; its text stands on it, or behind its end where it is too short."""
    height = round(0.85 * sketch.grain)
    tick = height // 3
    layer = palette.MEASURE

    def place(along: int, across: int) -> Point:
        return (across, along) if upright else (along, across)

    sketch.add(Line(layer, place(a, at), place(b, at)), Line(layer, place(b, near), place(b, at - tick)))
    for end in (a, b):
        sketch.add(Line(layer, place(end - tick, at - tick), place(end + tick, at + tick)))
    turn = 90_000 if upright else 0
    if text_width(words, height) + height <= b - a:
        rise = height // 3
        spot = place((a + b) // 2, at - rise if upright else at + rise)
        sketch.add(Text(layer, words, spot, height, "centre", rotation=turn))
    else:
        sketch.add(Text(layer, words, place(b + height, at), height, "left", "middle", turn))


def label_off(
    outline: Outline,
    arrangements: Sequence[Sequence[str]],
    heights: Sequence[int],
    layer: palette.Layer,
    taken: Sequence[Box],
    depth: int = 3,
) -> Label | None:
    """The largest label in a convex outline that keeps off the boxes; None where none does.

    Where the label of the whole outline meets a box, the parts above, below and beside that box are
    tried in its place, and so on `depth` times.
    """
    label = fitted(outline, arrangements, heights, layer)
    if label is None:
        return None
    met = next((b for b in taken if _meet(label.box, b)), None)
    if met is None or not depth:
        return label if met is None else None
    parts = [_part(outline, axis, met[axis + 2 * up], up) for axis in (1, 0) for up in (True, False)]
    labels = [
        found
        for part in parts
        if len(part) > 2
        and (found := label_off(part, arrangements, heights, layer, taken, depth - 1)) is not None
    ]
    return max(labels, key=lambda found: found.height, default=None)


def _part(outline: Outline, axis: int, at: int, above: bool) -> Outline:
    """The part of a convex outline on one side of a line along an axis, rounded to the nanometre."""
    sign = 1 if above else -1
    out: list[Point] = []
    for i, q in enumerate(outline):
        p = outline[i - 1]
        dp, dq = sign * (p[axis] - at), sign * (q[axis] - at)
        if (dp < 0) != (dq < 0):
            part = dp / (dp - dq)
            crossing = [round(p[k] + (q[k] - p[k]) * part) for k in (0, 1)]
            crossing[axis] = at
            out.append((crossing[0], crossing[1]))
        if dq >= 0:
            out.append(q)
    return tuple(out)
