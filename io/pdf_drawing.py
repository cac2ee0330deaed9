"""A scene on paper: line weights, dashes, tints, hatchings and text, as the SVG of the same scene shows them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO
from math import ceil
from typing import Final

from panewright.io import palette
from panewright.io.hatching import hatch_lines
from panewright.io.palette import Layer
from panewright.io.pdf_ops import INK, Ops, Place, circle_path, curve, line_to, polyline, segments
from panewright.io.pdf_text import CAPITALS, width
from panewright.io.rounded import corners
from panewright.io.scene_model import Circle, Line, Polyline, Primitive, Scene, Text, Tint, text_width
from panewright.nesting.outlines import Point

POINT: Final = 352_778
"""A point of a page: 1/72 in. [nm]"""
MM: Final = 72 / 25.4
"""Points in a millimetre."""
_ACROSS: Final = {"left": 0.0, "centre": 0.5, "right": 1.0}
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
    x0, y0, x1, y1 = scene.bounds()
    wide, high = (297 * MM, 210 * MM) if x1 - x0 >= y1 - y0 else (210 * MM, 297 * MM)
    edge = 10 * MM
    place = fit(scene, (edge, edge, wide - 2 * edge, high - 2 * edge))
    return written(scene.title, (wide, high), [lambda ops: draw_scene(ops, scene, place)])


def written(
    title: str, size: tuple[float, float], pages: Sequence[Callable[[Ops], None]], *, subject: str = ""
) -> bytes:
    """A PDF, the same bytes for the same pages at any time.

    Parameters
    ----------
    title, subject
        For the properties of the file.
    size
        Width and height of every page. [pt]
    pages
        Each draws one page.
    """
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    stream = BytesIO()
    before = rl_config.useA85
    # text of base 85 makes files larger, and takes half of all the time where the library has no C parts
    rl_config.useA85 = 0
    try:
        canvas = Canvas(stream, pagesize=size, invariant=1, pageCompression=1)
        canvas.setTitle(title)
        canvas.setSubject(subject)
        canvas.setCreator("panewright")
        canvas.setAuthor("panewright")
        encoded: dict[tuple[str, str], list[tuple[str, str]]] = {}
        for draw in pages:
            draw(Ops(canvas, encoded))
            canvas.showPage()
        canvas.save()
    finally:
        rl_config.useA85 = before
    return stream.getvalue()


def draw_scene(ops: Ops, scene: Scene, place: Fit) -> None:
    """Draw a scene on a page."""
    drawer = _Drawer(ops, scene, place)
    for part in scene.parts:
        drawer.part(part)


@dataclass(slots=True)
class _Drawer:
    ops: Ops
    scene: Scene
    place: Fit

    def _at(self, point: tuple[float, float]) -> Place:
        return self.place.x + point[0] * self.place.scale, self.place.y + point[1] * self.place.scale

    def _pen(self, layer: Layer) -> None:
        self._stroke(layer.colour or INK, layer.weight, layer.dashes)

    def _stroke(
        self, colour: str, weight: int, dashes: tuple[float, ...], *, round_ends: bool = False
    ) -> None:
        lengths = [d * self.scene.grain * self.place.scale for d in dashes]
        self.ops.pen(colour, weight / 100 * MM * self.place.pen, lengths, round_ends=round_ends)

    def part(self, part: Primitive) -> None:
        """Draw one part."""
        match part:
            case Tint():
                self._tint(part)
            case Polyline():
                self._pen(part.layer)
                self.ops.paint(self._path(part.points, part.radii), stroke=True, fill=False)
            case Line():
                self._pen(part.layer)
                path = segments([(self._at(part.start), self._at(part.end))])
                self.ops.paint(path, stroke=True, fill=False)
            case Circle():
                self._pen(part.layer)
                self.ops.fill("#ffffff")
                path = circle_path(*self._at(part.centre), part.radius * self.place.scale)
                self.ops.paint(path, stroke=True, fill=True)
            case Text():
                self._text(part)

    def _path(self, points: tuple[Point, ...], radii: tuple[int, ...] = ()) -> str:
        if not any(radii):
            return polyline([self._at(p) for p in points])
        steps: list[str] = []
        for corner in corners(points, radii):
            steps.append(line_to(self._at(corner.start), first=not steps))
            if corner.bulge:
                steps.append(self._arc(corner.start, corner.end, corner.bulge))
        return " ".join([*steps, "h"])

    def _arc(self, a: Place, b: Place, bulge: float) -> str:
        """One cubic for an arc of at most a half circle; `bulge` is the tangent of a quarter of its angle.

        Handles of 4/3 tan(angle/4) radii lie along the tangents, which meet the chord at half the angle.
        """
        (ax, ay), (bx, by) = a, b
        c = (1 - bulge * bulge) / (1 + bulge * bulge)
        s = 2 * bulge / (1 + bulge * bulge)
        handle = (1 + bulge * bulge) / 3
        dx, dy = handle * (bx - ax), handle * (by - ay)
        return curve(
            self._at((ax + dx * c + dy * s, ay + dy * c - dx * s)),
            self._at((bx - dx * c + dy * s, by - dy * c - dx * s)),
            self._at((bx, by)),
        )

    def _tint(self, part: Tint) -> None:
        name = part.layer.name
        if name in palette.TINTS:
            self.ops.fill(palette.TINTS[name])
            self.ops.paint(self._path(part.points), stroke=False, fill=True)
        hatching = palette.HATCHINGS.get(name)
        lines = hatch_lines(part.points, hatching, self.scene.grain) if hatching else []
        if hatching and lines:
            self._stroke(hatching.colour, hatching.weight, hatching.dashes, round_ends=bool(hatching.dashes))
            path = segments([(self._at(a), self._at(b)) for a, b in lines])
            self.ops.paint(path, stroke=True, fill=False)

    def _text(self, part: Text) -> None:
        bold, scale = part.layer.name in _HEAVY, self.place.scale
        size = part.height * scale / CAPITALS
        wide = width(part.text, size, bold=bold)
        # the scene reckoned with this room: a wider text is drawn narrower
        room = text_width(part.text, part.height) * scale
        self.ops.text(
            self._at(part.at),
            part.text,
            size,
            bold=bold,
            colour=part.layer.colour or INK,
            across=_ACROSS[part.across],
            drop=part.height * scale / 2 if part.up == "middle" else 0,
            angle=part.rotation / 1000,
            narrow=room / wide if wide > room else 1.0,
        )
