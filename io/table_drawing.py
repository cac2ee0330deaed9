"""The scene of a sheet in few characters, for the page of the table: the page draws it with its own script.

Numbers are tenths of a millimetre, y points down.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

from panewright.io import palette
from panewright.io.palette import Layer
from panewright.io.rounded import corners
from panewright.io.scene_model import Circle, Line, Polyline, Primitive, Scene, Text, Tint
from panewright.nesting.outlines import Outline
from panewright.nesting.pieces import Corner, Exact

TENTH: Final = 100_000
"""[nm]"""
AROUND: Final = frozenset((palette.TITLE.name, palette.NOTES.name))
"""Layers that the page says in words of its own; they print with the drawing."""


def tenths(length: Exact | float) -> int:
    """A length in tenths of a millimetre, rounded. [nm -> 0.1 mm]"""
    return round(length / TENTH)


def line_numbers(start: Corner, end: Corner) -> list[int]:
    """Both ends of a line, y down. [nm -> 0.1 mm]"""
    return [tenths(start[0]), -tenths(start[1]), tenths(end[0]), -tenths(end[1])]


def outline_numbers(points: Sequence[Corner]) -> list[int]:
    """Corners one after the other, or x, y, width and height of a rectangle along the axes. [nm -> 0.1 mm]"""
    xs, ys = [tenths(p[0]) for p in points], [-tenths(p[1]) for p in points]
    x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
    corner = {(x, y) for x in (x0, x1) for y in (y0, y1)}
    if len(points) == 4 and set(zip(xs, ys, strict=True)) == corner:
        return [x0, y0, x1 - x0, y1 - y0]
    return [n for p in zip(xs, ys, strict=True) for n in p]


def compact_scene(scene: Scene) -> dict[str, object]:
    """A scene as the page takes it.

    Returns
    -------
    dict
        ``all``: the box around everything, ``view``: around what the screen shows; both x, y, width, height.
        ``tints``, ``lines`` and ``key``: layer and path, one a layer. ``rings``: layer, x, y, radius. ``texts``: layer,
        text, x, y, height, anchor (0 start, 1 middle, 2 end), rotation in degrees clockwise.
    """
    tints: dict[str, list[str]] = {}
    lines: dict[str, list[str]] = {}
    rings: list[list[object]] = []
    texts: list[list[object]] = []
    key: dict[str, list[str]] = {}
    low = min(p[1] for part in scene.parts if part.layer == palette.SHEET for p in _points(part))
    for part in scene.parts:
        name = _class(part.layer)
        match part:
            case Tint():
                tints.setdefault(name, []).append(_closed(part.points))
            case Polyline() if any(part.radii):
                lines.setdefault(name, []).append(_rounded(part))
            case Polyline():
                lines.setdefault(name, []).append(_closed(part.points))
            case Line():
                x0, y0, x1, y1 = line_numbers(part.start, part.end)
                into = key if _is_key(part, low) else lines
                into.setdefault(name, []).append(f"M{x0} {y0}{_step(x1 - x0, y1 - y0)}")
            case Circle():
                x, y = part.centre
                rings.append([name, tenths(x), -tenths(y), tenths(part.radius)])
            case Text():
                texts.append(_text(name, part))
    seen = [p for p in scene.parts if p.layer.name not in AROUND and not _is_key(p, low)]
    margin = scene.grain // 2
    return {
        "all": _box(scene, margin * 2),
        "view": _box(Scene(scene.title, scene.grain, tuple(seen)), margin),
        "grain": tenths(scene.grain),
        "tints": [[name, "".join(paths)] for name, paths in tints.items()],
        "lines": [[name, "".join(paths)] for name, paths in lines.items()],
        "key": [[name, "".join(paths)] for name, paths in key.items()],
        "rings": rings,
        "texts": texts,
    }


def layer_css(layers: Iterable[Layer]) -> str:
    """Rules for the classes of the layers: colour, weight in pixels of the screen, dashes.

    A weight of 1 mm on paper is 4 pixels; ink and tints are variables, for light and dark.
    """
    rules = []
    for layer in layers:
        width = f"{max(layer.weight * 4, 60) / 100:g}px"
        dashes = " ".join(f"{d * 9:g}" for d in layer.dashes)
        dash = f";stroke-dasharray:{dashes}" if dashes else ""
        colour = layer.colour or "var(--ink)"
        rules.append(f".{_class(layer)}{{stroke:{colour};stroke-width:{width}{dash}}}")
    return "\n".join(rules)


def _class(layer: Layer) -> str:
    return layer.name.lower()


def _box(scene: Scene, margin: int) -> list[int]:
    x0, y0, x1, y1 = scene.bounds()
    x, y = tenths(x0 - margin), -tenths(y1 + margin)
    return [x, y, tenths(x1 + margin) - x, -tenths(y0 - margin) - y]


def _points(part: Primitive) -> Outline:
    return part.points if isinstance(part, (Polyline, Tint)) else ()


def _is_key(part: Primitive, low: int) -> bool:
    """Whether this is a line of the key: it stands below the sheet, on a layer that is explained there."""
    return isinstance(part, Line) and bool(part.layer.words) and max(part.start[1], part.end[1]) < low


def _step(dx: int, dy: int) -> str:
    if not dy:
        return f"h{dx}"
    return f"v{dy}" if not dx else f"l{dx} {dy}"


def _closed(points: Sequence[Corner]) -> str:
    numbers = [(tenths(x), -tenths(y)) for x, y in points]
    path = f"M{numbers[0][0]} {numbers[0][1]}"
    for (x0, y0), (x1, y1) in pairwise(numbers):
        path += _step(x1 - x0, y1 - y0)
    return f"{path}z"


def _rounded(part: Polyline) -> str:
    """y points down here, so a turn to the left is one to the right."""
    path = ""
    for corner in corners(part.points, part.radii):
        path += f"{'L' if path else 'M'}{tenths(corner.start[0])} {-tenths(corner.start[1])}"
        if corner.bulge:
            radius, sweep = tenths(corner.radius), 0 if corner.bulge > 0 else 1
            path += f"A{radius} {radius} 0 0 {sweep} {tenths(corner.end[0])} {-tenths(corner.end[1])}"
    return f"{path}z"


def _text(name: str, part: Text) -> list[object]:
    drop = part.height // 2 if part.up == "middle" else 0
    anchor = {"left": 0, "centre": 1, "right": 2}[part.across]
    x, y = part.at
    numbers: list[object] = [tenths(x), -tenths(y), tenths(part.height), anchor]
    # a text that is turned about its middle keeps its drop along its own axis
    turn = -part.rotation // 1000
    return [name, part.text, *numbers, *([turn, tenths(drop)] if turn or drop else [])]
