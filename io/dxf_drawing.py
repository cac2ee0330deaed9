"""A scene as DXF (R2010): right units, closed outlines, texts that read, the same bytes every time."""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from typing import Final

import ezdxf
from ezdxf import units
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from panewright.io import palette
from panewright.io.palette import Layer
from panewright.io.rounded import bulged
from panewright.io.scene_model import Circle, Line, Polyline, Scene, Text, Tint
from panewright.nesting.outlines import Point
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_INCH, NM_PER_MM, LengthUnit

VERSION: Final = "R2010"
"""The oldest one that every program in use reads with units, line weights and UTF-8."""
_UNITS: Final = {"mm": (units.MM, 1, NM_PER_MM), "in": (units.IN, 0, NM_PER_INCH)}
"""$INSUNITS, $MEASUREMENT and nanometres of each unit (DXF reference, header section)."""
_STYLE: Final = "LABEL"
_INDEX: Final = {
    palette.BLUE: 150,
    palette.BRICK: 22,
    palette.GREEN: 104,
    palette.PLUM: 204,
    palette.OCHRE: 42,
    palette.SLATE: 8,
    palette.ROSE: 232,
}
"""The nearest colour of the old index, for programs that know no true colours."""
_INK: Final = 7
_ALIGN: Final = {
    ("left", "base"): TextEntityAlignment.LEFT,
    ("centre", "base"): TextEntityAlignment.CENTER,
    ("right", "base"): TextEntityAlignment.RIGHT,
    ("left", "middle"): TextEntityAlignment.MIDDLE_LEFT,
    ("centre", "middle"): TextEntityAlignment.MIDDLE_CENTER,
    ("right", "middle"): TextEntityAlignment.MIDDLE_RIGHT,
}
_PERCENTS: Final = re.compile("%%+")
_ENCODED: Final = re.compile(r"\\(?=[UuMm]\+)")


class DrawingFault(RuntimeError):
    """A drawing of ours that the audit refuses: a fault of the program."""


def dxf_escaped(text: str) -> str:
    """Text that a TEXT entity shows as it is.

    ``%%`` begins a control code, ``%%%`` is a plain per cent sign; a caret begins a control character,
    a caret and a blank are a plain caret; ``\\U+`` and ``\\M+`` begin an encoded character, so that
    backslash is encoded itself. Braces and other backslashes mean nothing in TEXT (they do in MTEXT,
    which is not used).
    """
    text = _PERCENTS.sub(lambda m: "%%%" * len(m[0]), text)
    text = text.replace("^", "^ ")
    return _ENCODED.sub(lambda _: "\\U+005C", text)


def dxf_bytes(scene: Scene, unit: LengthUnit) -> bytes:
    """The DXF file of a scene.

    Parameters
    ----------
    scene
        Its tints are left out.
    unit
        Unit of the coordinates and of the header.

    Raises
    ------
    DrawingFault
        When the audit finds an error, or something that it had to mend.
    """
    insunits, measurement, nm = _UNITS[unit]
    with _fixed_meta_data():  # a time is noted here too
        doc = new(VERSION, setup=False, units=insunits)
    doc.header["$MEASUREMENT"] = measurement
    doc.header["$LTSCALE"] = scene.grain / nm
    doc.header["$LWDISPLAY"] = 1
    doc.header["$TEXTSIZE"] = scene.grain / nm
    doc.styles.add(_STYLE, font="arial.ttf")
    drawn = [part for part in scene.parts if not isinstance(part, Tint)]
    for layer in sorted({part.layer for part in drawn}, key=lambda layer: layer.name):
        _layer(doc, layer)
    msp = doc.modelspace()
    for part in drawn:
        _add(msp, part, nm)
    x0, y0, x1, y1 = (v / nm for v in scene.bounds())
    msp.dxf.extmin, msp.dxf.extmax = (x0, y0, 0), (x1, y1, 0)
    doc.set_modelspace_vport(height=(y1 - y0) * 1.05, center=((x0 + x1) / 2, (y0 + y1) / 2))
    audit = doc.audit()
    if audit.has_errors or audit.has_fixes:
        found = [*audit.errors, *audit.fixes]
        raise DrawingFault(tr("the DXF audit says: {reason}", reason=found[0].message))
    return _written(doc)


def _layer(doc: Drawing, layer: Layer) -> None:
    linetype = "Continuous"
    if layer.dashes:
        linetype = layer.name
        signed = [d if i % 2 == 0 else -d for i, d in enumerate(layer.dashes)]
        doc.linetypes.add(linetype, pattern=[sum(layer.dashes), *signed], description=layer.words)
    entry = doc.layers.add(
        layer.name,
        color=_INDEX[layer.colour] if layer.colour else _INK,
        linetype=linetype,
        lineweight=layer.weight,
    )
    if layer.colour:
        # ink stays without a true colour: it turns white on a dark screen
        entry.dxf.true_color = int(layer.colour[1:], 16)


def _add(msp: Modelspace, part: Polyline | Line | Circle | Text, nm: int) -> None:
    def at(point: Point) -> tuple[float, float]:
        return point[0] / nm, point[1] / nm

    on = {"layer": part.layer.name}
    match part:
        case Polyline() if any(part.radii):
            vertices = [(x / nm, y / nm, bulge) for x, y, bulge in bulged(part.points, part.radii)]
            msp.add_lwpolyline(vertices, format="xyb", close=True, dxfattribs=on)
        case Polyline():
            msp.add_lwpolyline([at(p) for p in part.points], close=True, dxfattribs=on)
        case Line():
            msp.add_line(at(part.start), at(part.end), dxfattribs=on)
        case Circle():
            msp.add_circle(at(part.centre), part.radius / nm, dxfattribs=on)
        case Text():
            text = msp.add_text(
                dxf_escaped(part.text),
                height=part.height / nm,
                rotation=part.rotation / 1000,
                dxfattribs={**on, "style": _STYLE, "linetype": "Continuous"},
            )
            text.set_placement(at(part.at), align=_ALIGN[part.across, part.up])


def _written(doc: Drawing) -> bytes:
    """The bytes of the file, without clock, random ids or the order of a set in them."""
    classes = doc.classes
    classes.add_required_classes(doc.dxfversion)
    classes.classes = OrderedDict(sorted(classes.classes.items()))
    stream = StringIO(newline="\n")
    with _fixed_meta_data():
        doc.write(stream)
    return stream.getvalue().encode("utf-8")


@contextmanager
def _fixed_meta_data() -> Iterator[None]:
    """Have the library write fixed times and ids; its switch is put back afterwards."""
    options = ezdxf.options  # type: ignore[attr-defined]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
