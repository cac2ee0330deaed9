"""A scene as DXF (R2010): right units, closed outlines, texts that read, the same bytes every time."""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from enum import Enum
from functools import lru_cache
from io import StringIO
from typing import Final

import ezdxf
from ezdxf import units
from ezdxf.audit import Auditor
from ezdxf.document import Drawing
from ezdxf.filemanagement import new

from panewright.io import palette
from panewright.io.dxf_entities import STYLE, Part, entities_text
from panewright.io.palette import Layer
from panewright.io.scene_model import Scene, Tint
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_INCH, NM_PER_MM, LengthUnit

VERSION: Final = "R2010"
"""The oldest one that every program in use reads with units, line weights and UTF-8."""
_UNITS: Final = {"mm": (units.MM, 1, NM_PER_MM), "in": (units.IN, 0, NM_PER_INCH)}
"""$INSUNITS, $MEASUREMENT and nanometres of each unit (DXF reference, header section)."""
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


class DrawingFault(RuntimeError):
    """A drawing of ours that the audit refuses: a fault of the program."""


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
    nm = _UNITS[unit][2]
    drawn = [part for part in scene.parts if not isinstance(part, Tint)]
    layers = tuple(sorted({part.layer for part in drawn}, key=lambda layer: layer.name))
    x0, y0, x1, y1 = (v / nm for v in scene.bounds())
    frame = _frame(unit, layers)
    text = frame.text_with(drawn, nm)
    values = {
        Blank.SCALE: scene.grain / nm,
        Blank.TEXT: scene.grain / nm,
        Blank.LEFT: x0,
        Blank.LOW: y0,
        Blank.RIGHT: x1,
        Blank.HIGH: y1,
        Blank.TALL: (y1 - y0) * 1.05,
        Blank.MIDDLE_X: (x0 + x1) / 2,
        Blank.MIDDLE_Y: (y0 + y1) / 2,
    }
    return _filled(text, values).encode("utf-8")


class Blank(Enum):
    """A number of the file that differs from drawing to drawing, and what stands for it in the frame.

    No drawing has a number like these, so that each is found by its text alone.
    """

    SCALE = 918273645.5
    TEXT = 918273646.5
    LEFT = 918273647.5
    LOW = 918273648.5
    RIGHT = 918273649.5
    HIGH = 918273650.5
    TALL = 918273651.5
    MIDDLE_X = 918273652.5
    MIDDLE_Y = 918273653.5


_BLANKS: Final = re.compile("|".join(re.escape(str(blank.value)) for blank in Blank))


def _filled(text: str, values: dict[Blank, float]) -> str:
    by_text = {str(blank.value): str(float(value)) for blank, value in values.items()}
    return _BLANKS.sub(lambda found: by_text[found[0]], text)


class _Frame:
    """All of a file but its entities: made once for each set of layers, since that is most of the work.

    The handles of the entities go on from those of the frame, as if the whole file had been made anew, so
    that the bytes do not depend on what was drawn before.
    """

    def __init__(self, unit: LengthUnit, layers: tuple[Layer, ...]) -> None:
        insunits, measurement, _ = _UNITS[unit]
        with _fixed_meta_data():  # a time is noted here too
            doc = new(VERSION, setup=False, units=insunits)
        doc.header["$MEASUREMENT"] = measurement
        doc.header["$LTSCALE"] = Blank.SCALE.value
        doc.header["$LWDISPLAY"] = 1
        doc.header["$TEXTSIZE"] = Blank.TEXT.value
        doc.styles.add(STYLE, font="arial.ttf")
        for layer in layers:
            _layer(doc, layer)
        msp = doc.modelspace()
        msp.dxf.extmin = (Blank.LEFT.value, Blank.LOW.value, 0)
        msp.dxf.extmax = (Blank.RIGHT.value, Blank.HIGH.value, 0)
        doc.set_modelspace_vport(height=Blank.TALL.value, center=(Blank.MIDDLE_X.value, Blank.MIDDLE_Y.value))
        _audited(doc.audit())
        text = _written(doc)  # adds what the library writes into every file
        self._first, self._owner = str(doc.entitydb.handles), str(msp.layout_key)
        before, _, after = text.partition(_ENTITIES)
        self._before, self._after = before + _ENTITIES, after
        self._seed = f"$HANDSEED\n  5\n{self._first}\n"
        if self._before.count(self._seed) != 1:
            raise DrawingFault(tr("the DXF frame has no place for its last handle"))

    def text_with(self, parts: Sequence[Part], nm: int) -> str:
        """The file with these entities."""
        entities, after = entities_text(parts, int(self._first, 16), self._owner, nm)
        seed = self._seed.replace(self._first, f"{after:X}")
        return self._before.replace(self._seed, seed) + entities + self._after


_ENTITIES: Final = "  0\nSECTION\n  2\nENTITIES\n"


@lru_cache(maxsize=64)
def _frame(unit: LengthUnit, layers: tuple[Layer, ...]) -> _Frame:
    return _Frame(unit, layers)


def _audited(audit: Auditor) -> None:
    """Refuse what the library finds fault with, or had to mend."""
    if audit.has_errors or audit.has_fixes:
        found = [*audit.errors, *audit.fixes]
        raise DrawingFault(tr("the DXF audit says: {reason}", reason=found[0].message))


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


def _written(doc: Drawing) -> str:
    """The text of the file, without clock, random ids or the order of a set in them."""
    classes = doc.classes
    classes.add_required_classes(doc.dxfversion)
    classes.classes = OrderedDict(sorted(classes.classes.items()))
    stream = StringIO(newline="\n")
    with _fixed_meta_data():
        doc.write(stream)
    return stream.getvalue()


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
