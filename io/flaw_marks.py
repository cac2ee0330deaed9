"""Flaws on the drawing of a sheet: flaws crossed out, tolerated ones in dashes, with their kinds, and signs at small ones."""

from __future__ import annotations

from typing import Final

from panewright.io import palette
from panewright.io.flaw_words import kind_word
from panewright.io.scene_model import Line, Polyline, Sketch, Text, text_width
from panewright.nesting.flaws import Flaw
from panewright.nesting.outlines import rectangle
from panewright.nesting.plan import Layout
from panewright.nesting.spots import flaws_of
from panewright.nesting.units import mm

LETTERS: Final = 0.8
"""Height of the kind where there is room, in text heights of the sheet."""
LEAST: Final = mm("0.2")
"""A kind is written no smaller than this: it is there for whoever looks close, and for who reads the drawing. [nm]"""
SMALL: Final = 1.5
"""Flaws below this get a sign beside them, in text heights of the sheet."""


def draw_flaws(sketch: Sketch, layout: Layout) -> None:
    """Draw the flaws of a sheet: their rectangles on the layers FLAW and SPOT, to the nanometre.

    Parameters
    ----------
    sketch
        The drawing, its origin at the lower left corner of the sheet.
    layout
        The sheet.
    """
    hard = len(layout.flaws)
    for i, flaw in enumerate(flaws_of(layout)):
        x, y, w, h = flaw.box
        layer = palette.FLAW if i < hard else palette.SPOT
        if w and h:
            sketch.add(Polyline(layer, rectangle(w, h, x, y)))
        sketch.add(Line(layer, (x, y), (x + w, y + h)))
        if i < hard and w and h:
            sketch.add(Line(layer, (x, y + h), (x + w, y)))
        _kind(sketch, flaw, layer, full=i < hard)
        _sign(sketch, flaw)


def flaw_boxes(layout: Layout, grain: int) -> list[tuple[int, int, int, int]]:
    """What is drawn of the flaws, signs included: least x and y, greatest x and y. [nm]"""
    out = []
    for flaw in flaws_of(layout):
        edge = grain if max(flaw.width, flaw.height) < SMALL * grain else 0
        x, y, w, h = flaw.box
        out.append((x - edge, y - edge, x + w + edge, y + h + edge))
    return out


def _kind(sketch: Sketch, flaw: Flaw, layer: palette.Layer, *, full: bool) -> None:
    """The kind between the diagonals, or below the only one: at the longer side, so that it begins within."""
    upright = flaw.height > flaw.width
    long, short = (flaw.height, flaw.width) if upright else (flaw.width, flaw.height)
    if not flaw.kind:
        return
    words = kind_word(flaw.kind)
    if not short:
        # on the stroke itself
        height = max(LEAST, min(round(LETTERS * sketch.grain), long * 1000 // text_width(words, 1000)))
        at = (flaw.x + flaw.width // 2, flaw.y + flaw.height // 2)
        sketch.add(Text(layer, words, at, height, "centre", rotation=90_000 if upright else 0))
        return
    # the free width between the diagonals falls from `long` at the side to 0 at half of `short`
    per = text_width(words, 1000)
    height = min(
        round(LETTERS * sketch.grain), short // 4, long * 1000 * short // (per * short + 2600 * long)
    )
    if height < LEAST:
        return
    rise, middle = (
        height * 3 // 10,
        long // 2 if full else long - text_width(words, height) // 2 - height // 3,
    )
    if upright:
        at = (flaw.x + flaw.width - rise, flaw.y + middle)
        sketch.add(Text(layer, words, at, height, "centre", rotation=90_000))
    else:
        sketch.add(Text(layer, words, (flaw.x + middle, flaw.y + rise), height, "centre"))


def _sign(sketch: Sketch, flaw: Flaw) -> None:
    """Four strokes that point at a flaw too small to be seen on paper."""
    g = sketch.grain
    if max(flaw.width, flaw.height) >= SMALL * g:
        return
    x, y = flaw.x + flaw.width // 2, flaw.y + flaw.height // 2
    near = max(flaw.width, flaw.height) // 2 + g // 3
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        far = near + g * 2 // 3
        sketch.add(Line(palette.FLAW_SIGN, (x + dx * near, y + dy * near), (x + dx * far, y + dy * far)))
