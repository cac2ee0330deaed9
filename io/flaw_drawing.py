"""Flaws from a DXF drawing of the sheet: whatever lies on the layer FLAW, as the rectangle around it.

The outline on the layer SHEET-EDGE, as in our own drawings of sheets, tells where the sheet lies in the drawing
and, where the drawing names no unit, which unit it is in. A layer FLAW-SCRATCH gives its flaws their kind; so does
a text on the layer of the flaw that begins within its rectangle.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from io import BytesIO
from math import isfinite
from pathlib import Path
from typing import Any, Final

from panewright.io import palette
from panewright.io.dxf_reading import KNOWN, Drawing, drawing_bytes, quiet, scale_of
from panewright.io.flaw_text import MAX_FLAWS, without_covered
from panewright.io.flaw_words import kind_word
from panewright.io.problems import Problems, shown
from panewright.nesting.flaws import KINDS, Flaw
from panewright.nesting.text import tr
from panewright.nesting.units import TICK, mm, show, show_size

SLACK: Final = mm(1)
"""So far the drawn sheet may be off its size, and a flaw may reach beyond it. [nm]"""
MAX_COORDINATE: Final = 10**9
"""In the unit of the drawing."""
MAX_MARKS: Final = 2000
"""Entities that mark flaws; our own drawings have three a flaw."""
MAX_CORNERS: Final = 2000
"""Of one outline of a flaw."""

Box = tuple[Fraction, Fraction, Fraction, Fraction]
"""Left, lower, right, upper, in the unit of the drawing."""


@dataclass(frozen=True, slots=True)
class _Mark:
    """A flaw as drawn."""

    layer: str
    box: Box


class _Odd(Exception):
    """An entity that marks no flaw, with reason and remedy."""

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(reason, remedy)


def read_flaws(path: Path, width: int, height: int, problems: Problems) -> tuple[Flaw, ...]:
    """The flaws that a drawing of a sheet marks.

    Parameters
    ----------
    path
        A DXF file with the outline of the sheet on the layer ``SHEET-EDGE`` (or ``SHEET``) and polylines, lines,
        circles and points on the layer ``FLAW``, or on ``FLAW-SEED``, ``FLAW-SCRATCH`` and so on.
    width, height
        Of the sheet as it lies in the rack; the outline must have this size within a millimetre. [nm]
    problems
        Collects what is wrong; the value of such a problem names the layer.

    Returns
    -------
    tuple of Flaw
        Their rectangles, never smaller than drawn; those that another of the same kind covers are left out (the
        diagonals with which our drawings mark a flaw). Empty where the drawing is refused. [nm]
    """
    drawing = Drawing(str(path), problems)
    data = drawing_bytes(
        path,
        drawing,
        again=tr("save the drawing of the sheet again as ASCII DXF"),
        alone=tr("save outline and flaws of the sheet alone in a file of their own"),
    )
    if data is None:
        return ()
    with quiet():
        try:
            found = _read(data, drawing, width, height)
        except Exception as error:  # noqa: BLE001 - a damaged drawing raises whatever its reader stumbles over
            drawing.bad(
                tr("the drawing is damaged ({reason})", reason=shown(error, 80) or type(error).__name__),
                tr("open it and save it again as ASCII DXF"),
            )
            return ()
    return found if drawing.fine else ()


def _read(data: bytes, drawing: Drawing, width: int, height: int) -> tuple[Flaw, ...]:
    from ezdxf import recover

    doc, audit = recover.read(BytesIO(data))
    for error in audit.errors[:1]:
        drawing.bad(
            tr("the drawing is damaged ({reason})", reason=shown(error.message, 80)),
            tr("open it and save it again as ASCII DXF"),
        )
    edges: list[Box] = []
    marks: list[_Mark] = []
    words: list[tuple[str, tuple[Fraction, Fraction], str]] = []
    for entity in doc.modelspace():
        layer = str(entity.dxf.get("layer", "0"))
        name = layer.casefold()
        try:
            if name in _EDGES and entity.dxftype() in ("LWPOLYLINE", "POLYLINE"):
                edges.append(_box(_corners(entity)))
            elif name in (_FLAW, _SPOT) or name.startswith(f"{_FLAW}-"):
                if entity.dxftype() in ("TEXT", "MTEXT"):
                    words.append((name, _place(entity.dxf.insert), _word(entity)))
                else:
                    marks.append(_Mark(layer, _box(_corners(entity))))
        except _Odd as error:
            drawing.bad(error.reason, error.remedy, layer=layer)
    if max(len(marks), len(words)) > MAX_MARKS:
        drawing.bad(
            tr(
                "there are more than {limit} marks on the layer {layer}",
                limit=MAX_MARKS,
                layer=palette.FLAW.name,
            ),
            tr("draw one rectangle around flaws that lie close together"),
        )
        return ()
    sheet = _sheet(edges, drawing)
    if not marks and drawing.fine:
        drawing.bad(_no_flaw(), _draw_one())
    if sheet is None or not drawing.fine:
        return ()
    scale = _scale(doc.header.get("$INSUNITS", 0), sheet, width, height, drawing)
    if scale is None:
        return ()
    within = [mark for mark in marks if _meets(mark.box, sheet)]
    if not within:
        drawing.bad(_no_flaw(), _draw_one())
    elif len(within) < len(marks):
        # the key of our own drawings has a line of this layer
        drawing.note(tr("marks beyond the sheet are left out: {count}", count=len(marks) - len(within)))
    flaws = [
        _flaw(mark, _kind(mark, words, drawing), sheet, scale, width, height, drawing) for mark in within
    ]
    found = without_covered(flaws)
    if len(found) > MAX_FLAWS:
        drawing.bad(
            tr("the sheet has more than {limit} flaws", limit=MAX_FLAWS),
            tr("draw one rectangle around flaws that lie close together"),
        )
    return found


def _no_flaw() -> str:
    return tr("there is no flaw on the layer {layer}", layer=palette.FLAW.name)


def _draw_one() -> str:
    return tr("draw a rectangle around each flaw on that layer")


def _meets(one: Box, sheet: Box) -> bool:
    """Whether a mark touches the sheet at all."""
    return one[0] <= sheet[2] and one[1] <= sheet[3] and one[2] >= sheet[0] and one[3] >= sheet[1]


_FLAW: Final = palette.FLAW.name.casefold()
_SPOT: Final = palette.SPOT.name.casefold()
"""Flaws that a panel of the drawn plan tolerates: for another plan they are flaws like all others."""
_EDGES: Final = (palette.SHEET.name.casefold(), "sheet")


def _corners(entity: Any) -> list[tuple[float, float]]:
    """Points whose rectangle is that of the entity."""
    kind = entity.dxftype()
    if kind in ("LWPOLYLINE", "POLYLINE", "CIRCLE"):
        direction = tuple(float(v) for v in entity.dxf.get("extrusion", (0, 0, 1)))
        if direction not in ((0, 0, 1), (0, 0, -1)):
            raise _Odd(
                tr("this does not lie flat in the plane of the drawing"), tr("draw it flat, seen from above")
            )
        # seen from below, x runs to the left
        sign = -1 if direction[2] < 0 else 1
        if kind == "CIRCLE":
            (x, y), r = entity.dxf.center.vec2, float(entity.dxf.radius)
            return [(sign * x - r, y - r), (sign * x + r, y + r)]
        return [(sign * x, y) for x, y in _vertices(entity)]
    if kind == "LINE":
        return [tuple(entity.dxf.start.vec2), tuple(entity.dxf.end.vec2)]
    if kind == "POINT":
        return [tuple(entity.dxf.location.vec2)]
    raise _Odd(
        tr("this marks no flaw ({kind})", kind=shown(kind, 30)),
        tr("draw flaws as polylines, lines, circles or points, or move this to another layer"),
    )


def _vertices(entity: Any) -> list[tuple[float, float]]:
    if entity.dxftype() == "POLYLINE":
        if not entity.is_2d_polyline or int(entity.dxf.get("flags", 0)) & (2 | 4):
            raise _Odd(
                tr("the polyline is smoothed to a curve, or in space"), tr("draw it flat and straight")
            )
        rows = [(*v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
    else:
        rows = list(entity.get_points("xyb"))
    if any(bulge for _, _, bulge in rows):
        raise _Odd(tr("the polyline has an arc"), tr("draw it with straight sides, or as a circle"))
    if not 1 <= len(rows) <= MAX_CORNERS:
        raise _Odd(tr("the polyline has no corners, or too many"), tr("draw a rectangle instead"))
    return [(float(x), float(y)) for x, y, _ in rows]


def _place(point: Any) -> tuple[Fraction, Fraction]:
    x, y = (float(v) for v in point.vec2)
    return _exact(x), _exact(y)


def _exact(value: float) -> Fraction:
    if not isfinite(value) or abs(value) > MAX_COORDINATE:
        raise _Odd(
            tr("a point lies beyond every drawing"), tr("draw the sheet in its true size near the origin")
        )
    return Fraction(Decimal(repr(value)))


def _box(points: Sequence[tuple[float, float]]) -> Box:
    xs, ys = [_exact(x) for x, _ in points], [_exact(y) for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _word(entity: Any) -> str:
    text = entity.plain_text() if entity.dxftype() == "MTEXT" else entity.dxf.text
    return str(text).strip().casefold()


def _sheet(edges: Sequence[Box], drawing: Drawing) -> Box | None:
    """The rectangle of the sheet: one outline, however often it is drawn."""
    found = sorted(set(edges))
    if len(found) == 1:
        return found[0]
    if drawing.fine:
        name = palette.SHEET.name
        drawing.bad(
            tr("the drawing holds several outlines of a sheet")
            if found
            else tr("there is no outline of the sheet on the layer {layer}", layer=name),
            tr("draw the sheet as one closed polyline on the layer {layer}", layer=name),
        )
    return None


def _scale(code: object, sheet: Box, width: int, height: int, drawing: Drawing) -> int | None:
    """Nanometres of a unit of the drawing, by its unit and the size of the sheet in it."""
    across, up = sheet[2] - sheet[0], sheet[3] - sheet[1]

    def meets(scale: int, one: Fraction, other: Fraction) -> bool:
        return abs(one * scale - width) <= SLACK and abs(other * scale - height) <= SLACK

    named = None
    if code:
        named = scale_of(code, drawing, None)
        if named is None:
            return None
    scales = [named] if named is not None else sorted(KNOWN.values())
    fitting = [scale for scale in scales if meets(scale, across, up)]
    if fitting:
        return fitting[0]
    if any(meets(scale, up, across) for scale in scales):
        drawing.bad(
            tr("the drawn sheet lies a quarter turn off the one of {size}", size=show_size(width, height)),
            tr("turn the drawing, or swap width and height of the sheet"),
        )
    elif named is not None:
        size = show_size(round(across * named), round(up * named))
        drawing.bad(
            tr("the drawn sheet is {drawn}, not {size}", drawn=size, size=show_size(width, height)),
            tr("correct the size of the sheet, the drawing, or its unit"),
        )
    else:
        drawing.bad(
            tr("the drawing names no unit, and its sheet is {size} in none", size=show_size(width, height)),
            tr("set the unit of the drawing, or draw the sheet in its true size"),
        )
    return None


def _kind(mark: _Mark, words: Sequence[tuple[str, tuple[Fraction, Fraction], str]], drawing: Drawing) -> str:
    """The kind of a flaw by its layer, else by a text within its rectangle; empty where nothing says it."""
    layer = mark.layer.casefold()
    suffix = "" if layer == _SPOT else layer[len(_FLAW) :].strip("-_ ")
    if suffix in KINDS:
        return suffix
    if suffix:
        drawing.bad(
            tr("{word} is no kind of flaw", word=shown(suffix, 20)),
            tr("write one of: {words}", words=", ".join(KINDS)),
            layer=mark.layer,
        )
        return ""
    x0, y0, x1, y1 = mark.box
    # our own drawings write the kind in the language of whoever made them
    names = {kind_word(kind).casefold(): kind for kind in KINDS} | {kind: kind for kind in KINDS}
    said = {
        kind
        for layer, (x, y), text in words
        if layer == mark.layer.casefold() and x0 <= x <= x1 and y0 <= y <= y1
        for word in (text, *re.findall(r"[^\W\d_]+", text)[:20])
        if (kind := names.get(word)) is not None
    }
    if len(said) > 1:
        drawing.bad(
            tr("several kinds are written into one flaw: {kinds}", kinds=", ".join(sorted(said))),
            tr("write one of them"),
            layer=mark.layer,
        )
    return min(said, default="")


def _flaw(mark: _Mark, kind: str, sheet: Box, scale: int, width: int, height: int, drawing: Drawing) -> Flaw:
    """A drawn flaw on the sheet, rounded outwards to the tick."""
    x0, y0 = (int((mark.box[i] - sheet[i]) * scale // TICK) * TICK for i in (0, 1))
    x1, y1 = (-int((sheet[i - 2] - mark.box[i]) * scale // TICK) * TICK for i in (2, 3))
    if min(x0, y0) < -SLACK or x1 > width + SLACK or y1 > height + SLACK:
        drawing.bad(
            tr("a flaw lies beyond the sheet, at {x} | {y}", x=show(x0), y=show(y0)),
            tr("draw it within the outline of the sheet"),
            layer=mark.layer,
        )
    x0, x1 = (min(max(x, 0), width) for x in (x0, x1))
    y0, y1 = (min(max(y, 0), height) for y in (y0, y1))
    return Flaw(x0, y0, x1 - x0, y1 - y0, kind)
