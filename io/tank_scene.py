"""The exploded drawing of a tank: its base, the walls folded outwards, and all other panels below them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import hypot
from typing import Final

from panewright.io import palette
from panewright.io.label_fit import Label
from panewright.io.opening_marks import draw_opening, label_off
from panewright.io.order_lists import TankOrder
from panewright.io.problems import shown
from panewright.io.scene_model import Polyline, Scene, Sketch, Text, Tint, text_width, wrapped
from panewright.io.tank_figures import check_cells, facts, outline_words, piece_rows, tank_title
from panewright.nesting.openings import corner_radii, opening_box, relocated
from panewright.nesting.outlines import Outline, Point, box, hull, is_convex
from panewright.nesting.shop import Shop
from panewright.nesting.tanks.made import TankPiece
from panewright.nesting.tanks.tank import Role
from panewright.nesting.text import tr
from panewright.nesting.units import mm

_LADDER: Final = (1.4, 1.2, 1.0, 0.8, 0.65, 0.5)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where the frame of a panel lies on the drawing: its origin, and unit vectors along x and y."""

    origin: tuple[float, float]
    along: tuple[float, float] = (1.0, 0.0)
    up: tuple[float, float] = (0.0, 1.0)

    def at(self, point: Point) -> Point:
        """A point of the panel on the drawing. [nm]"""
        x, y = point
        return (
            round(self.origin[0] + self.along[0] * x + self.up[0] * y),
            round(self.origin[1] + self.along[1] * x + self.up[1] * y),
        )

    def outline(self, outline: Sequence[Point]) -> Outline:
        """An outline on the drawing."""
        return tuple(self.at(p) for p in outline)


def tank_scene(order: TankOrder, shop: Shop) -> Scene:
    """The drawing of one tank, in millimetres of the glass; every panel bears its name and size."""
    built = order.settled.built
    x0, y0, x1, y1 = box(built.vessel.outer)
    high = built.vessel.wall_height
    g = max((max(x1 - x0, y1 - y0) + 2 * high) // 80, mm(6))
    sketch = Sketch(g)
    flat = _Flat(sketch, gap=3 * g)
    names = {name: row.names for row in piece_rows(order, shop) for name in row.names}
    upright: list[TankPiece] = []
    for piece in built.pieces:
        if piece.role is Role.BASE:
            flat.draw(piece, piece.name, _Frame((float(piece.place[0]), float(piece.place[1]))))
        elif piece.role is Role.WALL and is_convex(built.vessel.inner):
            flat.draw(piece, piece.name, _folded(order, piece, flat.gap))
        else:
            upright.append(piece)
    left, bottom, right, top = flat.extent()
    flat.rows(_once(upright, names), left, bottom - 6 * g, max(right - left, 60 * g))
    _, bottom, _, _ = flat.extent()
    width = max(right - left, 70 * g)
    lines = [tank_title(order), *_lines(order, shop)]
    heading, *rest = [line for text in lines for line in _broken(text, width, g)]
    sketch.add(Text(palette.TITLE, heading, (left, top + 4 * g), round(1.4 * g)))
    y = bottom - 5 * g
    for line in rest:
        sketch.add(Text(palette.NOTES, line, (left, y), g))
        y -= 2 * g
    return sketch.scene(tank_title(order))


def _folded(order: TankOrder, piece: TankPiece, gap: int) -> _Frame:
    """A wall laid flat outwards: its foot beside the base, its inner face up."""
    vessel = order.settled.built.vessel
    i = piece.wall or 0
    (ax, ay), (bx, by) = vessel.inner[i], vessel.inner[(i + 1) % len(vessel.inner)]
    far = hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / far, (by - ay) / far
    away = vessel.wall_thickness[i] + gap
    return _Frame(
        (ax + ux * piece.place[0] + uy * away, ay + uy * piece.place[0] - ux * away), (ux, uy), (uy, -ux)
    )


def _once(pieces: Sequence[TankPiece], names: dict[str, tuple[str, ...]]) -> Iterator[tuple[TankPiece, str]]:
    """Every kind of piece once, with the names of all that are equal to it."""
    done: set[tuple[str, ...]] = set()
    for piece in pieces:
        group = names[piece.name]
        if group in done:
            continue
        done.add(group)
        yield piece, ", ".join(group)


def _lines(order: TankOrder, shop: Shop) -> list[str]:
    check = order.settled.check
    if is_convex(order.settled.built.vessel.inner):
        seen = tr(
            "Walls are folded outwards, their inner faces up: left and right change places against panel drawings."
        )
    else:
        seen = tr("Walls are seen from outside; finished sizes.")
    lines = [seen, *facts(order, shop)]
    lines += [tr("Thickness check: {verdict}", verdict=check.words)]
    lines += [
        tr("{panel}: {said}", panel=row[0], said="; ".join(cell for cell in row[-2:] if cell))
        for row in check_cells(order)
    ]
    lines += order.settled.advice
    lines += map(str, order.findings)
    return [*lines, *check.cautions]


def _broken(text: str, width: int, height: int) -> list[str]:
    """A text in lines no wider than `width`. [nm]"""
    return wrapped(shown(text, 600).split(" "), width, height, " ")


@dataclass(slots=True)
class _Flat:
    """Lays panels down on the drawing.

    Parameters
    ----------
    sketch
        Collects.
    gap
        Between panels. [nm]
    """

    sketch: Sketch
    gap: int
    _seen: list[Point] = field(default_factory=list)

    def extent(self) -> tuple[int, int, int, int]:
        """Box around everything drawn so far. [nm]"""
        return box(self._seen)

    def draw(self, piece: TankPiece, name: str, frame: _Frame) -> None:
        """A panel with its openings, its name and its size."""
        g = self.sketch.grain
        outline = frame.outline(piece.finished)
        self._seen += outline
        self.sketch.add(Tint(palette.PANEL_CUT, outline), Polyline(palette.PANEL_CUT, outline))
        openings = [relocated(opening, frame.outline) for opening in piece.openings]
        for opening, placed in zip(piece.openings, openings, strict=True):
            draw_opening(self.sketch, placed, corner_radii(opening, piece.finished))
        label = self._label(piece, outline, name, [opening_box(placed) for placed in openings])
        if label is not None:
            self.sketch.add(*label.texts)
            return
        x0, y0, x1, _ = box(hull(outline))
        words = f"{name}  {outline_words(piece.finished)}"
        text = Text(palette.PANEL_TEXT, words, ((x0 + x1) // 2, y0 - round(1.6 * g)), g, "centre")
        self._seen += text.box()
        self.sketch.add(text)

    def _label(
        self, piece: TankPiece, outline: Outline, name: str, taken: Sequence[tuple[int, int, int, int]] = ()
    ) -> Label | None:
        """Name and size within the panel, where they fit."""
        shape = outline if is_convex(outline) else outline[::-1]
        if not is_convex(shape):
            return None
        size = outline_words(piece.finished)
        heights = [round(k * self.sketch.grain) for k in _LADDER]
        words = [(name, size), (f"{name}  {size}",)]
        return label_off(shape, words, heights, palette.PANEL_TEXT, taken)

    def rows(self, pieces: Iterator[tuple[TankPiece, str]], left: int, top: int, width: int) -> None:
        """Panels side by side in rows, from the upper left down. [nm]"""
        g = self.sketch.grain
        x, y, deep = left, top, 0
        for piece, name in pieces:
            _, _, wide, high = box(piece.finished)
            room = wide
            if self._label(piece, piece.finished, name) is None:
                room = max(wide, text_width(f"{name}  {outline_words(piece.finished)}", g))
            if x > left and x + room > left + width:
                x, y, deep = left, y - deep - 2 * self.gap, 0
            self.draw(piece, name, _Frame((float(x), float(y - high))))
            x += room + self.gap
            deep = max(deep, high)
