"""Openings in a panel: drilled holes and cut-outs. None of them is scored."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import hypot

from .opening_geometry import disc_in, gap, in_outline, mouths, nearest, on_border
from .outlines import Outline, Point, box, cross, rectangle
from .text import tr
from .units import TICK, show


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A drilled hole, in the frame of its panel's finished outline.

    Parameters
    ----------
    center
        [nm]
    diameter
        [nm]
    """

    center: Point
    diameter: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOut:
    """A slot, a notch or any other cut-out, in the frame of its panel's finished outline.

    Parameters
    ----------
    outline
        Counter-clockwise; where a side of it lies on an edge of the panel, it is open there. [nm]
    corner_radius
        Radius of its inner corners. [nm]
    """

    outline: Outline
    corner_radius: int


Opening = Hole | CutOut


@dataclass(frozen=True, slots=True)
class Misplaced:
    """Why openings cannot be made where they are: index of the opening, reason, remedy."""

    index: int
    reason: str
    remedy: str


def opening_box(opening: Opening) -> tuple[int, int, int, int]:
    """Least x, least y, greatest x, greatest y of an opening. [nm]

    That of a hole is as wide as the hole, half a nanometre off its centre where the diameter is odd.
    """
    if isinstance(opening, CutOut):
        return box(opening.outline)
    (x, y), d = opening.center, opening.diameter
    return x - d // 2, y - d // 2, x + (d + 1) // 2, y + (d + 1) // 2


def relocated(opening: Opening, place: Callable[[Outline], Outline]) -> Opening:
    """The opening with its centre or its corners put elsewhere; `place` takes and gives points. [nm]"""
    if isinstance(opening, Hole):
        (center,) = place((opening.center,))
        return replace(opening, center=center)
    return replace(opening, outline=place(opening.outline))


def usual_radius(outline: Outline, thickness: int) -> int:
    """Radius of the inner corners where the order names none: the thickness, if there is room. [nm]

    At most half the smaller side of the box around the cut-out.
    """
    x0, y0, x1, y1 = box(outline)
    return min(thickness, min(x1 - x0, y1 - y0) // 2 // TICK * TICK)


def slot(x: int, y: int, width: int, height: int, radius: int) -> CutOut:
    """A rectangular cut-out with its lower left corner at x, y. [nm]"""
    return CutOut(outline=rectangle(width, height, x, y), corner_radius=radius)


def inner_corners(cut_out: CutOut, panel: Outline) -> list[int]:
    """Indexes of the corners of a cut-out that lie in the glass and turn inwards there.

    Where the mouth of a notch meets the edge of the panel, and where a tongue of glass reaches into
    the cut-out, the corner has no radius.
    """
    pts = cut_out.outline
    return [
        i
        for i, p in enumerate(pts)
        if cross(pts[i - 1], p, pts[(i + 1) % len(pts)]) > 0 and not on_border(p, panel)
    ]


def corner_radii(opening: Opening, panel: Outline) -> tuple[int, ...]:
    """The radius of every corner of a cut-out, 0 where it has none; a hole has no corners. [nm]"""
    if isinstance(opening, Hole):
        return ()
    inner = set(inner_corners(opening, panel))
    return tuple(opening.corner_radius if i in inner else 0 for i in range(len(opening.outline)))


def tangent_lengths(outline: Outline, radii: tuple[int, ...]) -> list[float]:
    """How much of the two sides of every corner its radius takes. [nm]"""
    out = []
    for i, p in enumerate(outline):
        a, b = outline[i - 1], outline[(i + 1) % len(outline)]
        ax, ay, bx, by = a[0] - p[0], a[1] - p[1], b[0] - p[0], b[1] - p[1]
        # half the angle between the sides: its cotangent is (|a||b| + a.b) / |a x b|
        across = abs(ax * by - ay * bx)
        along = hypot(ax, ay) * hypot(bx, by) + ax * bx + ay * by
        out.append(radii[i] * along / across if radii[i] and across else 0.0)
    return out


def radius_fits(cut_out: CutOut, panel: Outline) -> bool:
    """Whether the rounded corners of a cut-out leave something of every side, or just meet."""
    pts = cut_out.outline
    taken = tangent_lengths(pts, corner_radii(cut_out, panel))
    sides = (hypot(pts[i][0] - p[0], pts[i][1] - p[1]) for i, p in enumerate((pts[-1], *pts[:-1])))
    # one nanometre for the roots
    return all(taken[i - 1] + taken[i] <= side + 1 for i, side in enumerate(sides))


def misplaced(panel: Outline, openings: tuple[Opening, ...]) -> list[Misplaced]:
    """What cannot be made at all: openings that leave the glass, divide it, or meet each other.

    Parameters
    ----------
    panel
        Finished outline. [nm]
    openings
        In its frame.

    Notes
    -----
    Exact, but for the room of the radii; cut-outs count with square corners.
    """
    out = []
    for i, opening in enumerate(openings):
        fault = _hole_fault(panel, opening) if isinstance(opening, Hole) else _cut_out_fault(panel, opening)
        if fault is not None:
            out.append(Misplaced(i, *fault))
    bad = {fault.index for fault in out}
    for i, opening in enumerate(openings):
        for j in range(i):
            if not bad & {i, j} and distance(openings[j], opening) <= 0:
                out.append(
                    Misplaced(
                        i,
                        tr("openings {a} and {b} touch or overlap", a=j + 1, b=i + 1),
                        tr("move one of them, or make one cut-out of both"),
                    )
                )
    return out


def _hole_fault(panel: Outline, hole: Hole) -> tuple[str, str] | None:
    if hole.diameter <= 0:
        return tr("the hole has no diameter"), tr("give a diameter above 0")
    if disc_in(panel, hole.center, hole.diameter):
        return None
    return (
        tr(
            "the hole of {diameter} at {x}, {y} leaves the glass",
            diameter=show(hole.diameter),
            x=show(hole.center[0]),
            y=show(hole.center[1]),
        ),
        tr("x and y of its centre count from the lower left corner of the finished panel"),
    )


def _cut_out_fault(panel: Outline, cut_out: CutOut) -> tuple[str, str] | None:
    if not in_outline(panel, cut_out.outline):
        return (
            tr("the cut-out leaves the glass"),
            tr("x and y count from the lower left corner of the finished panel; end a notch at its edge"),
        )
    found = mouths(panel, cut_out.outline)
    if found is None:
        return tr("the cut-out leaves nothing of the panel"), tr("correct its corners")
    if found.points:
        return (
            tr("the cut-out touches the edge of the panel in a single point"),
            tr("move it inwards, or let a side of it lie on the edge"),
        )
    if found.stretches > 1:
        return (
            tr("the cut-out divides the panel"),
            tr("let it be open at one stretch of the edge alone, or order the parts as panels"),
        )
    if cut_out.corner_radius < 0 or not radius_fits(cut_out, panel):
        return (
            tr("there is no room for the corner radius {radius}", radius=show(cut_out.corner_radius)),
            tr("give a smaller radius, as in r 5"),
        )
    return None


def distance(a: Opening, b: Opening) -> int:
    """Glass left between two openings, rounded down; 0 or less where they touch or overlap. [nm]

    Cut-outs count with square corners.
    """
    match a, b:
        case Hole(), Hole():
            return nearest(a.center, (b.center,), a.diameter + b.diameter)
        case Hole(), CutOut():
            return nearest(a.center, b.outline, a.diameter)
        case CutOut(), Hole():
            return nearest(b.center, a.outline, b.diameter)
        case _:
            assert isinstance(a, CutOut) and isinstance(b, CutOut)
            return gap(a.outline, b.outline)
