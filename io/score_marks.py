"""Distances of the marks of angled scores in the drawing of a sheet, beside the edge, where there is room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import atan2, degrees, hypot
from typing import Final

from panewright.io import palette
from panewright.io.label_fit import holds
from panewright.io.scene_model import Sketch, Text, text_width
from panewright.io.step_marks import Obstacle
from panewright.nesting.outlines import Outline, Point, box
from panewright.nesting.steps import End, Mark, Step
from panewright.nesting.text import tr
from panewright.nesting.units import LengthStyle, show

_HEIGHTS: Final = (65, 55, 45)
"""Text heights, the best first. [per cent of the usual one]"""
_FROM: Final = {
    End.LEFT: "{distance} from left",
    End.RIGHT: "{distance} from right",
    End.LOWER: "{distance} from below",
    End.UPPER: "{distance} from above",
}


def put_score_marks(
    sketch: Sketch,
    steps: Sequence[Step],
    leaves: Sequence[Outline],
    taken: Sequence[Obstacle],
    style: LengthStyle | None,
) -> None:
    """Write beside both ends of every angled score how far along its edge it lies, as it is marked.

    Parameters
    ----------
    sketch
        Receives the texts.
    steps
        Of the sheet.
    leaves
        Outlines of its leaves: a text stays within one of them, so that no cut crosses it.
    taken
        Boxes of labels and step numbers; a text that finds no room beside them is left out, for the
        sequence has it as well. [nm]
    style
        How lengths are written.
    """
    busy = list(taken)
    rooms = [(box(leaf), leaf) for leaf in leaves]
    for step in steps:
        for mark, other in zip(step.marks, step.marks[::-1], strict=True):
            if mark.distance and 0 < mark.table < mark.edge_length:
                for text in _places(mark, other.at, sketch.grain, style):
                    corners = text.box()
                    here = box(corners)
                    if not any(_meet(here, o) for o in busy) and any(
                        _within(here, around) and holds(leaf, corners) for around, leaf in rooms
                    ):
                        sketch.add(text)
                        busy.append(here)
                        break


def _places(mark: Mark, other: Point, grain: int, style: LengthStyle | None) -> Iterator[Text]:
    """Where the distance may stand: along the edge, on the glass, towards the corner or beyond the score."""
    (x, y), (cx, cy) = mark.at, mark.corner
    long = hypot(cx - x, cy - y)
    ux, uy = (cx - x) / long, (cy - y) / long
    nx, ny = -uy, ux
    if nx * (other[0] - x) + ny * (other[1] - y) < 0:
        nx, ny = -nx, -ny
    # read from below or from the right, whichever way the edge runs
    rx, ry = (ux, uy) if ux > 1e-9 or (abs(ux) <= 1e-9 and uy > 0) else (-ux, -uy)
    rotation = round(degrees(atan2(ry, rx)) * 1000)
    words = tr(_FROM[mark.end], distance=show(mark.table, style, unit=False))
    for percent in _HEIGHTS:
        height = grain * percent // 100
        off, half = height, text_width(words, height) / 2 + 0.6 * height
        for way in (1, -1):
            at = (
                x + round(way * half * ux + off * nx),
                y + round(way * half * uy + off * ny),
            )
            yield Text(palette.MARK, words, at, height, "centre", "middle", rotation)


def _within(a: Obstacle, b: Obstacle) -> bool:
    return a[0] >= b[0] and a[1] >= b[1] and a[2] <= b[2] and a[3] <= b[3]


def _meet(a: Obstacle, b: Obstacle) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
