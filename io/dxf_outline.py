"""The outline of a base or a panel from a DXF file: exactly one closed polyline of straight sides in model space."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from io import BytesIO
from math import isfinite
from pathlib import Path
from typing import Any, Final

from panewright.io.dxf_reading import Drawing, drawing_bytes, quiet, scale_of
from panewright.io.problems import Problems, shown
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.outlines import FLAT, box, traced
from panewright.nesting.straight_edges import Straightened, straightened
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import LengthUnit, mm, show_size, to_tick

MAX_VERTICES: Final = 60
MAX_COORDINATE: Final = 10**9
"""In the unit of the drawing."""
LEAST: Final = mm(10)
GREATEST: Final = mm(7000)

_TEXTS: Final = frozenset(
    (
        *("TEXT", "MTEXT", "ATTDEF", "ATTRIB", "TOLERANCE", "POINT"),
        *("DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MLEADER", "MULTILEADER"),
    )
)
"""Entities that say something about an outline and are none."""
_CURVES: Final = {
    "CIRCLE": "circle",
    "ARC": "arc",
    "ELLIPSE": "ellipse",
    "SPLINE": "spline",
    "HELIX": "helix",
}


@dataclass(frozen=True, slots=True)
class _Path:
    """A polyline of the drawing, its corners as written there, x to the right and y up."""

    layer: str
    points: list[tuple[float, float]]
    bulges: list[float]
    closed: bool

    @property
    def ends_meet(self) -> bool:
        return len(self.points) > 3 and self.points[0] == self.points[-1]


def read_outline(
    path: Path, problems: Problems, *, unit_if_none: LengthUnit | None = None, fixed: Collection[int] = ()
) -> Straightened | None:
    """The outline that a DXF file holds.

    Parameters
    ----------
    path
        A DXF file with exactly one closed polyline of straight sides in its model space.
    problems
        Collects what is wrong; the value of such a problem names the layer.
    unit_if_none
        The unit where the file names none; None refuses such a file.
    fixed
        Indexes of the corners of the outline that may not go when edges are laid straight.

    Returns
    -------
    Straightened or None
        Its outline is counter-clockwise, the box begins at 0, 0; every coordinate is scaled exactly and
        rounded once to the tick, then edges off by noise are laid straight. None where the file is
        refused. [nm]
    """
    drawing = Drawing(str(path), problems)
    data = drawing_bytes(
        path,
        drawing,
        again=tr("save the outline again as ASCII DXF"),
        alone=tr("save the outline alone in a file of its own"),
    )
    if data is None:
        return None
    with quiet():
        try:
            found = _read(data, drawing, unit_if_none, fixed)
        except Exception as error:  # noqa: BLE001 - a damaged drawing raises whatever its reader stumbles over
            drawing.bad(
                tr("the drawing is damaged ({reason})", reason=shown(error, 80) or type(error).__name__),
                tr("open it and save it again as ASCII DXF"),
            )
            return None
    return found if drawing.fine else None


def _read(
    data: bytes, drawing: Drawing, unit_if_none: LengthUnit | None, fixed: Collection[int]
) -> Straightened | None:
    from ezdxf import recover

    doc, audit = recover.read(BytesIO(data))
    for error in audit.errors[:1]:
        drawing.bad(
            tr("the drawing is damaged ({reason})", reason=shown(error.message, 80)),
            tr("open it and save it again as ASCII DXF"),
        )
    scale = scale_of(doc.header.get("$INSUNITS", 0), drawing, unit_if_none)
    closed = _outline_alone(list(doc.modelspace()), drawing)
    if closed is None or not _straight(closed, drawing) or scale is None:
        return None
    return _scaled(closed, scale, drawing, fixed)


def _outline_alone(entities: list[Any], drawing: Drawing) -> _Path | None:
    """The one closed polyline; what else the drawing holds is refused, or noted and left out."""
    paths: list[_Path] = []
    others: list[tuple[str, str]] = []
    left_out: Counter[str] = Counter()
    for entity in entities:
        kind, layer = entity.dxftype(), str(entity.dxf.get("layer", "0"))
        if kind in _TEXTS:
            left_out[kind] += 1
        elif kind == "INSERT":
            drawing.bad(
                tr("the drawing holds a block"),
                tr("explode the block, or delete it"),
                layer=layer,
                value=entity.dxf.get("name", ""),
            )
        elif kind in ("LWPOLYLINE", "POLYLINE"):
            path = _path(entity, layer, drawing)
            if path is not None:
                paths.append(path)
        else:
            others.append((kind, layer))
    closed = [path for path in paths if path.closed or path.ends_meet]
    if len(closed) > 1:
        layers = ", ".join(sorted({path.layer for path in closed}))
        drawing.bad(
            tr("the drawing holds {count} closed outlines, on the layers {layers}", count=len(closed),
               layers=shown(layers, 200)),
            tr("keep the outline of the glass alone"),
        )  # fmt: skip
        return None
    open_paths = [path for path in paths if path not in closed]
    if not closed:
        if open_paths:
            drawing.bad(
                tr("the outline is open"),
                tr("close the polyline, so that its end is joined to its beginning"),
                layer=open_paths[0].layer,
            )
        elif drawing.fine:
            held = ", ".join(sorted({kind for kind, _ in others}))
            drawing.bad(
                tr("there is no closed polyline in model space"),
                tr("join the lines of the outline into one closed polyline"),
                value=held,
            )
        return None
    outline = closed[0]
    for kind, layer in [*others, *(("open POLYLINE", path.layer) for path in open_paths)]:
        if layer.casefold() != outline.layer.casefold():
            left_out[kind] += 1
        elif kind in _CURVES:
            drawing.bad(
                tr("there is a curve ({kind}) on the layer of the outline", kind=tr(_CURVES[kind])),
                tr("put holes and cut-outs into the column openings; an outline has straight sides alone"),
                layer=layer,
            )
        else:
            drawing.bad(
                tr("there is more than the outline on its layer ({kind})", kind=shown(kind)),
                tr("join it to the outline, or move it to another layer"),
                layer=layer,
            )
    if left_out:
        words = ", ".join(f"{count} {kind}" for kind, count in sorted(left_out.items()))
        drawing.note(tr("left out: {entities}", entities=words))
    return outline


def _path(entity: Any, layer: str, drawing: Drawing) -> _Path | None:
    """A polyline of either kind, in the plane of the drawing."""
    extrusion = entity.dxf.get("extrusion", (0, 0, 1))
    direction = tuple(float(v) for v in extrusion)
    flat = direction in ((0, 0, 1), (0, 0, -1))
    if entity.dxftype() == "POLYLINE":
        flat = flat and entity.is_2d_polyline
        if flat and int(entity.dxf.get("flags", 0)) & (2 | 4):
            drawing.bad(
                tr("the polyline is smoothed to a curve"),
                tr("take the smoothing away; an outline has straight sides alone"),
                layer=layer,
            )
            return None
        rows = [(*v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in entity.vertices] if flat else []
        closed = bool(int(entity.dxf.get("flags", 0)) & 1)
    else:
        rows, closed = list(entity.get_points("xyb")), bool(entity.closed)
    if not flat:
        drawing.bad(
            tr("the polyline does not lie flat in the plane of the drawing"),
            tr("draw the outline flat, as a 2D polyline seen from above"),
            layer=layer,
        )
        return None
    # seen from below, the x of the polyline runs to the left
    sign = -1 if direction[2] < 0 else 1
    points = [(sign * float(x), float(y)) for x, y, _ in rows]
    return _Path(layer, points, [float(b) for _, _, b in rows], closed)


def _straight(path: _Path, drawing: Drawing) -> bool:
    """Whether the outline has straight sides, sane coordinates and not too many corners."""
    fine = True
    used = path.bulges if path.closed and not path.ends_meet else path.bulges[:-1]
    if any(used):
        fine = False
        drawing.bad(
            tr_count("the outline has an arc", "the outline has {count} arcs", sum(map(bool, used))),
            tr("draw it with straight sides; curved edges are not scored"),
            layer=path.layer,
        )
    if len(path.points) - path.ends_meet > MAX_VERTICES:
        fine = False
        drawing.bad(
            tr("the outline has more than {limit} corners", limit=MAX_VERTICES),
            tr("simplify it"),
            layer=path.layer,
        )
    for x, y in path.points:
        if not (isfinite(x) and isfinite(y)) or max(abs(x), abs(y)) > MAX_COORDINATE:
            drawing.bad(
                tr("a corner lies beyond every drawing"),
                tr("move the outline to the origin and draw it in its true size"),
                layer=path.layer,
                value=f"{x}, {y}",
            )
            return False
    return fine


def _scaled(path: _Path, scale: int, drawing: Drawing, fixed: Collection[int]) -> Straightened | None:
    """The outline in nanometres, exact from the shortest text of each number until it is rounded once."""
    points = path.points[:-1] if path.ends_meet else path.points
    exact = [(Fraction(Decimal(repr(x))) * scale, Fraction(Decimal(repr(y))) * scale) for x, y in points]
    left, low = min(x for x, _ in exact), min(y for _, y in exact)
    try:
        found = traced([(to_tick(x - left), to_tick(y - low)) for x, y in exact], FLAT)
    except InvalidOutline as error:
        drawing.bad(error.reason, error.remedy, layer=path.layer)
        return None
    drawn = [(round(x), round(y)) for x, y in (exact[i] for i in found.listed)]
    straight = straightened(found.outline, fixed=fixed, given=drawn)
    x0, y0, x1, y1 = box(straight.outline)
    if min(x1 - x0, y1 - y0) < LEAST or max(x1 - x0, y1 - y0) > GREATEST:
        drawing.bad(
            tr("an outline of {size} is no panel", size=show_size(x1 - x0, y1 - y0)),
            tr("correct the unit of the drawing, or its scale"),
            layer=path.layer,
        )
        return None
    return replace(straight, outline=tuple((x - x0, y - y0) for x, y in straight.outline))
