"""The entities of a drawing as DXF tags (DXF reference 2010, entities section): few kinds, written straight.

The library that reads and frames our files takes some milliseconds for each panel's dozens of texts and
lines; a week has thousands of panels. The tests hold every kind to what that library writes itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from panewright.io.dxf_text import dxf_escaped
from panewright.io.rounded import bulged
from panewright.io.scene_model import Circle, Line, Polyline, Text
from panewright.nesting.outlines import Point

STYLE: Final = "LABEL"
"""Of all texts."""
_ACROSS: Final = {"left": 0, "centre": 1, "right": 2}
_UP: Final = {"base": 0, "middle": 2}

Part = Polyline | Line | Circle | Text


def entities_text(parts: Iterable[Part], first: int, owner: str, nm: int) -> tuple[str, int]:
    """The tags of some parts, and the next handle.

    Parameters
    ----------
    parts
        In drawing order.
    first
        Handle of the first of them.
    owner
        Handle of the block record that they belong to.
    nm
        Nanometres in a unit of the coordinates.
    """
    out: list[str] = []
    handle = first
    for part in parts:
        out.append(_entity(part, f"{handle:X}", owner, nm))
        handle += 1
    return "".join(out), handle


def _entity(part: Part, handle: str, owner: str, nm: int) -> str:
    match part:
        case Polyline():
            return _head("LWPOLYLINE", handle, owner, part.layer.name) + _polyline(part, nm)
        case Line():
            ends = _point(10, part.start, nm) + _point(11, part.end, nm)
            return _head("LINE", handle, owner, part.layer.name) + f"100\nAcDbLine\n{ends}"
        case Circle():
            centre = _point(10, part.centre, nm)
            radius = f" 40\n{part.radius / nm}\n"
            return _head("CIRCLE", handle, owner, part.layer.name) + f"100\nAcDbCircle\n{centre}{radius}"
        case Text():
            return _head("TEXT", handle, owner, part.layer.name) + _text(part, nm)


def _head(kind: str, handle: str, owner: str, layer: str) -> str:
    return f"  0\n{kind}\n  5\n{handle}\n330\n{owner}\n100\nAcDbEntity\n  8\n{layer}\n"


def _point(code: int, point: Point, nm: int) -> str:
    return f"{code:3d}\n{point[0] / nm}\n{code + 10:3d}\n{point[1] / nm}\n{code + 20:3d}\n0.0\n"


def _polyline(part: Polyline, nm: int) -> str:
    if any(part.radii):
        corners = [(x / nm, y / nm, bulge) for x, y, bulge in bulged(part.points, part.radii)]
    else:
        corners = [(x / nm, y / nm, 0.0) for x, y in part.points]
    lines = [f"100\nAcDbPolyline\n 90\n{len(corners)}\n 70\n1\n"]
    for x, y, bulge in corners:
        lines.append(f" 10\n{float(x)}\n 20\n{float(y)}\n")
        if bulge:
            lines.append(f" 42\n{bulge}\n")
    return "".join(lines)


def _text(part: Text, nm: int) -> str:
    at = _point(10, part.at, nm)
    lines = [f"  6\nContinuous\n100\nAcDbText\n{at} 40\n{part.height / nm}\n  1\n{dxf_escaped(part.text)}\n"]
    if part.rotation:
        lines.append(f" 50\n{part.rotation / 1000}\n")
    lines.append(f"  7\n{STYLE}\n")
    across, up = _ACROSS[part.across], _UP[part.up]
    if across:
        lines.append(f" 72\n{across}\n")
    lines.append(_point(11, part.at, nm) + "100\nAcDbText\n")
    if up:
        lines.append(f" 73\n{up}\n")
    return "".join(lines)
