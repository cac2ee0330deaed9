"""DXF files from outside: bytes within limits, the unit of the drawing, problems that name the layer."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from panewright.io.list_limits import cannot_open
from panewright.io.problems import Problems
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_INCH, NM_PER_MM, LengthUnit

MAX_BYTES: Final = 5_000_000
MAX_ENTITIES: Final = 20_000

KNOWN: Final[dict[int, int]] = {
    1: NM_PER_INCH,
    2: 12 * NM_PER_INCH,
    4: NM_PER_MM,
    5: 10 * NM_PER_MM,
    6: 1000 * NM_PER_MM,
}
"""Values of $INSUNITS that are read, and their nanometres."""
OTHER_UNITS: Final = {
    3: "miles",
    7: "kilometres",
    8: "microinches",
    9: "mils",
    10: "yards",
    11: "angstroms",
    12: "nanometres",
    13: "microns",
    14: "decimetres",
    15: "decametres",
    16: "hectometres",
    17: "gigametres",
    18: "astronomical units",
    19: "light years",
    20: "parsecs",
    21: "survey feet",
    22: "survey inches",
    23: "survey yards",
    24: "survey miles",
}
CALLED: Final[dict[LengthUnit, int]] = {"mm": 4, "in": 1}


class Drawing:
    """Collects what is wrong with one file."""

    def __init__(self, file: str, problems: Problems) -> None:
        self.file, self.problems, self.fine = file, problems, True

    def bad(self, reason: str, remedy: str, *, layer: str | None = None, value: object = "") -> None:
        """Note an error; the layer stands in the value."""
        self.fine = False
        where = [] if layer is None else [tr("layer {layer}", layer=layer)]
        self.problems.add(
            self.file, reason, remedy, value=" ".join([*where, *([str(value)] if value else [])])
        )

    def note(self, reason: str) -> None:
        """Note something that is left out."""
        self.problems.note(self.file, reason)


@contextmanager
def quiet() -> Iterator[None]:
    """Keep the log of the DXF library off the screen."""
    log = logging.getLogger("ezdxf")
    before = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        log.setLevel(before)


def drawing_bytes(path: Path, drawing: Drawing, *, again: str, alone: str) -> bytes | None:
    """The bytes of a complete DXF file in text form; None with a problem noted.

    Parameters
    ----------
    path, drawing
        The file, and where its problems go.
    again, alone
        Remedies: save it once more, save only what is wanted.
    """
    try:
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        cannot_open(error, drawing.file, drawing.problems)
        return None
    if len(data) > MAX_BYTES:
        drawing.bad(
            tr("the file is larger than {limit} MB", limit=MAX_BYTES // 1_000_000),
            alone,
        )
    elif b"\0" in data:
        drawing.bad(tr("this is no DXF in text form"), again)
    elif not re.search(rb"(?:\A(?:\xef\xbb\xbf)?|\n)[ \t]*0[ \t]*\r?\n[ \t]*SECTION[ \t]*\r?\n", data):
        drawing.bad(tr("this is no DXF file"), again)
    elif not re.search(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*EOF\s*\Z", data):
        drawing.bad(tr("the file breaks off before its end"), tr("copy or save it once more"))
    elif len(re.findall(rb"\n[ \t]*0[ \t]*\r?\n", data)) > MAX_ENTITIES:
        drawing.bad(
            tr("the drawing holds more than {limit} entities", limit=MAX_ENTITIES),
            alone,
        )
    else:
        return data
    return None


def scale_of(code: object, drawing: Drawing, unit_if_none: LengthUnit | None) -> int | None:
    """Nanometres of a unit of the drawing, by its $INSUNITS; None with the problem noted."""
    if code == 0 and unit_if_none is not None:
        code = CALLED[unit_if_none]
    known = KNOWN.get(code) if isinstance(code, int) else None
    if known is not None:
        return known
    readable = tr("set the unit of the drawing to millimetres, centimetres, metres, inches or feet")
    if code == 0:
        drawing.bad(
            tr("the drawing names no unit"),
            tr("{remedy}, or name the unit with the file", remedy=readable),
            value="$INSUNITS 0",
        )
    else:
        name = OTHER_UNITS.get(code, "") if isinstance(code, int) else ""
        drawing.bad(
            tr("the drawing is in {unit}", unit=tr(name) if name else tr("a unit that is not known")),
            readable,
            value=f"$INSUNITS {code}",
        )
    return None
