"""A scene as a self-contained SVG: no script, no font file, nothing fetched.

Line weights are true on an A4 sheet that the drawing fills; colours print in black and white, where
weights and dashes tell the lines apart.
"""

from __future__ import annotations

from typing import Final
from xml.sax.saxutils import escape

from panewright.io import palette
from panewright.io.hatching import hatch_lines
from panewright.io.palette import Layer
from panewright.io.rounded import corners
from panewright.io.scene_model import Circle, Line, Polyline, Primitive, Scene, Text, Tint
from panewright.nesting.outlines import Point

PAPER: Final = 277_000_000
"""Long side of what can be printed on A4. [nm]"""
CAPITALS: Final = 72
"""Height of capitals in the usual sans serif fonts. [per cent of the font size]"""
_INK: Final = "#15191d"


def mm_text(nm: int) -> str:
    """A length in mm with three decimals at most: a thousandth is finer than any printer."""
    thousandths = (2 * nm + 1000) // 2000
    whole, rest = divmod(abs(thousandths), 1000)
    text = f"{whole}.{rest:03d}".rstrip("0").rstrip(".")
    return f"-{text}" if thousandths < 0 else text


def svg_text(scene: Scene) -> str:
    """The SVG file of a scene, ending in a line end.

    Parameters
    ----------
    scene
        Its y axis points up and is turned down here.
    """
    x0, y0, x1, y1 = scene.bounds()
    edge = 2 * scene.grain
    x0, y0, x1, y1 = x0 - edge, y0 - edge, x1 + edge, y1 + edge
    pen = max(x1 - x0, y1 - y0)
    box = " ".join(mm_text(v) for v in (x0, -y1, x1 - x0, y1 - y0))
    shape = ("297mm", "210mm") if x1 - x0 >= y1 - y0 else ("210mm", "297mm")
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" xml:space="preserve" width="{shape[0]}" '
            f'height="{shape[1]}" viewBox="{box}">'
        ),
        f"<title>{escape(scene.title)}</title>",
        "<style>",
        "text{font-family:Arial,Helvetica,'Liberation Sans','DejaVu Sans',sans-serif}",
        "text.step-number,text.title{font-weight:bold}",
        ".line{fill:none;stroke-linejoin:round}",
        ".ring{fill:#ffffff}",
        *_styles(scene, pen),
        "</style>",
        (
            f'<rect x="{mm_text(x0)}" y="{mm_text(-y1)}" width="{mm_text(x1 - x0)}" '
            f'height="{mm_text(y1 - y0)}" fill="#ffffff"/>'
        ),
        *(line for part in scene.parts for line in _drawn(part, scene.grain)),
        "</svg>",
        "",
    ]
    return "\n".join(lines)


def _drawn(part: Primitive, grain: int) -> list[str]:
    """A part, and the hatching over a tint."""
    found = [_part(part)]
    if isinstance(part, Tint) and part.layer.name in palette.HATCHINGS:
        lines = hatch_lines(part.points, palette.HATCHINGS[part.layer.name], grain)
        path = " ".join(f"M{_at(a)}L{_at(b)}" for a, b in lines)
        if path:
            found.append(f'<path class="hatch-{part.layer.name.lower()}" d="{path}"/>')
    return found


def _styles(scene: Scene, pen: int) -> list[str]:
    out = []
    for layer in scene.layers():
        colour = layer.colour or _INK
        width = mm_text(layer.weight * 10_000 * pen // PAPER)
        dashes = ",".join(mm_text(round(d * scene.grain)) for d in layer.dashes)
        dash = f";stroke-dasharray:{dashes}" if dashes else ""
        out.append(f".{_class(layer)}{{stroke:{colour};stroke-width:{width}{dash}}}")
        out.append(f"text.{_class(layer)}{{fill:{colour};stroke:none}}")
        if layer.name in palette.TINTS:
            out.append(f".tint-{layer.name.lower()}{{fill:{palette.TINTS[layer.name]}}}")
        if (hatching := palette.HATCHINGS.get(layer.name)) is not None:
            width = mm_text(hatching.weight * 10_000 * pen // PAPER)
            dashes = ",".join(mm_text(round(d * scene.grain)) for d in hatching.dashes)
            dash = f";stroke-dasharray:{dashes};stroke-linecap:round" if dashes else ""
            out.append(
                f".hatch-{layer.name.lower()}{{fill:none;stroke:{hatching.colour};stroke-width:{width}{dash}}}"
            )
    return out


def _class(layer: Layer) -> str:
    return layer.name.lower()


def _at(point: Point) -> str:
    return f"{mm_text(point[0])},{mm_text(-point[1])}"


def _part(part: Primitive) -> str:
    match part:
        case Polyline() if any(part.radii):
            return f'<path class="line {_class(part.layer)}" d="{_path(part)}"/>'
        case Polyline():
            points = " ".join(_at(p) for p in part.points)
            return f'<polygon class="line {_class(part.layer)}" points="{points}"/>'
        case Tint():
            points = " ".join(_at(p) for p in part.points)
            return f'<polygon class="tint-{part.layer.name.lower()}" points="{points}"/>'
        case Line():
            (x0, y0), (x1, y1) = part.start, part.end
            return (
                f'<line class="line {_class(part.layer)}" x1="{mm_text(x0)}" y1="{mm_text(-y0)}" '
                f'x2="{mm_text(x1)}" y2="{mm_text(-y1)}"/>'
            )
        case Circle():
            x, y = part.centre
            return (
                f'<circle class="ring {_class(part.layer)}" cx="{mm_text(x)}" cy="{mm_text(-y)}" '
                f'r="{mm_text(part.radius)}"/>'
            )
        case Text():
            return _text(part)


def _path(part: Polyline) -> str:
    """A closed outline with rounded corners; y points down here, so a turn to the left is one to the right."""

    def at(point: tuple[float, float]) -> str:
        return _at((round(point[0]), round(point[1])))

    steps: list[str] = []
    for corner in corners(part.points, part.radii):
        steps.append(f"{'L' if steps else 'M'}{at(corner.start)}")
        if corner.bulge:
            radius, sweep = mm_text(round(corner.radius)), 0 if corner.bulge > 0 else 1
            steps.append(f"A{radius},{radius} 0 0 {sweep} {at(corner.end)}")
    return f"{' '.join(steps)} Z"


def _text(part: Text) -> str:
    anchor = {"left": "start", "centre": "middle", "right": "end"}[part.across]
    x, y = mm_text(part.at[0]), mm_text(-part.at[1])
    drop = f' dy="{mm_text(part.height // 2)}"' if part.up == "middle" else ""
    turn = f' transform="rotate({mm_text(-part.rotation * 1000)} {x} {y})"' if part.rotation else ""
    size = mm_text(part.height * 100 // CAPITALS)
    return (
        f'<text class="{_class(part.layer)}" x="{x}" y="{y}"{drop} font-size="{size}" '
        f'text-anchor="{anchor}"{turn}>{escape(part.text)}</text>'
    )
