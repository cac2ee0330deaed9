"""A scene on paper: line weights, dashes, tints, hatchings and text, as the SVG of the same scene shows them."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from math import ceil
from typing import Any, Final

from panewright.io import palette
from panewright.io.hatching import hatch_lines
from panewright.io.palette import Layer
from panewright.io.pdf_text import CAPITALS, runs, width
from panewright.io.rounded import corners
from panewright.io.scene_model import Circle, Line, Polyline, Primitive, Scene, Text, Tint, text_width
from panewright.nesting.outlines import Point

POINT: Final = 352_778
"""A point of a page: 1/72 in. [nm]"""
MM: Final = 72 / 25.4
"""Points in a millimetre."""
INK: Final = "#15191d"
_HEAVY: Final = frozenset((palette.STEP_NUMBER.name, palette.TITLE.name))


@dataclass(frozen=True, slots=True)
class Fit:
    """How a scene lies on a page.

    Parameters
    ----------
    scale
        Points a nanometre.
    x, y
        Where the origin of the scene is. [pt]
    pen
        Factor on all line weights.
    """

    scale: float
    x: float
    y: float
    pen: float = 1.0

    @property
    def ratio(self) -> float:
        """What a millimetre on paper stands for. [mm]"""
        return 1 / (self.scale * POINT)


def fit(
    scene: Scene, box: tuple[float, float, float, float], *, pen: float = 1.0, whole: bool = False
) -> Fit:
    """The largest place of a scene within a box of a page, in its middle.

    Parameters
    ----------
    scene
        The scene.
    box
        Left, bottom, width, height. [pt]
    pen
        Factor on all line weights.
    whole
        Take the next scale 1:N with N in halves.
    """
    x0, y0, x1, y1 = scene.bounds()
    left, bottom, wide, high = box
    scale = min(wide / max(x1 - x0, 1), high / max(y1 - y0, 1))
    if whole:
        scale = 1 / (POINT * ceil(2 / (scale * POINT)) / 2)
    return Fit(
        scale,
        left + (wide - (x1 - x0) * scale) / 2 - x0 * scale,
        bottom + (high - (y1 - y0) * scale) / 2 - y0 * scale,
        pen,
    )


def pdf_bytes(scene: Scene) -> bytes:
    """A PDF of one page, A4 across or upright, that the scene fills."""
    from reportlab.pdfgen.canvas import Canvas

    x0, y0, x1, y1 = scene.bounds()
    wide, high = (297 * MM, 210 * MM) if x1 - x0 >= y1 - y0 else (210 * MM, 297 * MM)
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=(wide, high), invariant=1)
    canvas.setTitle(scene.title)
    edge = 10 * MM
    draw_scene(canvas, scene, fit(scene, (edge, edge, wide - 2 * edge, high - 2 * edge)))
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def draw_scene(canvas: Any, scene: Scene, place: Fit) -> None:
    """Draw a scene on a canvas of reportlab."""
    canvas.saveState()
    canvas.setLineJoin(1)
    _Drawer(canvas, scene, place).draw()
    canvas.restoreState()


class _Drawer:
    """Draws the parts one after the other, and changes pen and colour only where it must."""

    def __init__(self, canvas: Any, scene: Scene, place: Fit) -> None:
        self.canvas, self.scene, self.place = canvas, scene, place
        self.layer: Layer | None = None

    def draw(self) -> None:
        for part in self.scene.parts:
            self._part(part)

    def _at(self, point: Point | tuple[float, float]) -> tuple[float, float]:
        return self.place.x + point[0] * self.place.scale, self.place.y + point[1] * self.place.scale

    def _pen(self, layer: Layer) -> None:
        if layer is self.layer:
            return
        self.layer = layer
        self._stroke(layer.colour or INK, layer.weight, layer.dashes)
        self.canvas.setLineCap(0)

    def _stroke(self, colour: str, weight: int, dashes: tuple[float, ...]) -> None:
        self.canvas.setStrokeColor(colour)
        self.canvas.setLineWidth(weight / 100 * MM * self.place.pen)
        self.canvas.setDash([round(d * self.scene.grain * self.place.scale, 3) for d in dashes])

    def _part(self, part: Primitive) -> None:
        match part:
            case Tint():
                self._tint(part)
            case Polyline():
                self._pen(part.layer)
                self.canvas.drawPath(self._path(part.points, part.radii), stroke=1, fill=0)
            case Line():
                self._pen(part.layer)
                self.canvas.line(*self._at(part.start), *self._at(part.end))
            case Circle():
                self._pen(part.layer)
                self.canvas.setFillColor("#ffffff")
                self.canvas.circle(*self._at(part.centre), part.radius * self.place.scale, stroke=1, fill=1)
            case Text():
                self._text(part)

    def _path(self, points: tuple[Point, ...], radii: tuple[int, ...] = ()) -> Any:
        path = self.canvas.beginPath()
        if not any(radii):
            path.moveTo(*self._at(points[0]))
            for point in points[1:]:
                path.lineTo(*self._at(point))
        else:
            started = False
            for corner in corners(points, radii):
                (path.lineTo if started else path.moveTo)(*self._at(corner.start))
                started = True
                if corner.bulge:
                    self._arc(path, corner.start, corner.end, corner.bulge)
        path.close()
        return path

    def _arc(self, path: Any, a: tuple[float, float], b: tuple[float, float], bulge: float) -> None:
        """One cubic for an arc of at most a half circle, given by its bulge (tangent of a quarter of its angle)."""
        (ax, ay), (bx, by) = a, b
        # handles of 4/3 tan(angle/4) radii along the tangents; chord and tangent meet at half the angle
        cos2 = (1 - bulge * bulge) / (1 + bulge * bulge)
        sin2 = 2 * bulge / (1 + bulge * bulge)
        dx, dy = bx - ax, by - ay
        chord2 = (1 + bulge * bulge) / 3  # handle over chord
        path.curveTo(
            *self._at((ax + chord2 * (dx * cos2 + dy * sin2), ay + chord2 * (dy * cos2 - dx * sin2))),
            *self._at((bx - chord2 * (dx * cos2 - dy * sin2), by - chord2 * (dy * cos2 + dx * sin2))),
            *self._at((bx, by)),
        )

    def _tint(self, part: Tint) -> None:
        name = part.layer.name
        if name in palette.TINTS:
            self.canvas.setFillColor(palette.TINTS[name])
            self.canvas.drawPath(self._path(part.points), stroke=0, fill=1)
        hatching = palette.HATCHINGS.get(name)
        if hatching is None:
            return
        self.layer = None
        self._stroke(hatching.colour, hatching.weight, hatching.dashes)
        self.canvas.setLineCap(1 if hatching.dashes else 0)
        lines = hatch_lines(part.points, hatching, self.scene.grain)
        if lines:
            path = self.canvas.beginPath()
            for a, b in lines:
                path.moveTo(*self._at(a))
                path.lineTo(*self._at(b))
            self.canvas.drawPath(path, stroke=1, fill=0)

    def _text(self, part: Text) -> None:
        bold = part.layer.name in _HEAVY
        size = part.height * self.place.scale / CAPITALS
        wide = width(part.text, size, bold=bold)
        # the scene reckoned with this room: a wider text is drawn narrower
        room = text_width(part.text, part.height) * self.place.scale
        narrow = min(1.0, room / wide) if wide else 1.0
        x, y = self._at(part.at)
        draw_text(
            self.canvas,
            part.text,
            (x, y),
            size,
            bold=bold,
            colour=part.layer.colour or INK,
            across={"left": 0.0, "centre": 0.5, "right": 1.0}[part.across],
            drop=part.height * self.place.scale / 2 if part.up == "middle" else 0,
            angle=part.rotation / 1000,
            narrow=narrow,
        )


def draw_text(
    canvas: Any,
    text: str,
    at: tuple[float, float],
    size: float,
    *,
    bold: bool = False,
    colour: str = INK,
    across: float = 0.0,
    drop: float = 0.0,
    angle: float = 0.0,
    narrow: float = 1.0,
) -> float:
    """Draw one line of text.

    Parameters
    ----------
    canvas
        Of reportlab.
    text
        In any script.
    at
        Where its anchor lies. [pt]
    size
        Font size. [pt]
    bold
        In the bold font.
    colour
        ``#rrggbb``.
    across
        Where the anchor is along the text, 0 its left end, 1 its right one.
    drop
        How far the line lies below the anchor. [pt]
    angle
        Counter-clockwise. [degree]
    narrow
        Factor on its width.

    Returns
    -------
    float
        Width of the text. [pt]
    """
    if not text:
        return 0.0
    wide = width(text, size, bold=bold) * narrow
    x, y = at
    canvas.setFillColor(colour)
    if angle:
        canvas.saveState()
        canvas.translate(x, y)
        canvas.rotate(angle)
        x = y = 0.0
    line = canvas.beginText(x - across * wide, y - drop)
    if narrow != 1.0:
        line.setHorizScale(100 * narrow)
    for name, part, _ in runs(text, bold):
        line.setFont(name, size)
        line.textOut(part)
    if narrow != 1.0:
        line.setHorizScale(100)
    canvas.drawText(line)
    if angle:
        canvas.restoreState()
    return wide


__all__ = ["INK", "MM", "Fit", "draw_scene", "draw_text", "fit", "pdf_bytes"]
