"""What follows from a tank besides its panels: water, masses, silicone, edgework, floor load, lifts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, hypot, radians
from typing import Final

from ..edgework import Work
from ..glass import mass_grams
from ..outlines import area2, box, sides
from ..sequence import lift_for
from ..shop_table import Lifts
from ..shop_tanks import TankHabits
from ..steps import Lift
from ..units import NM3_PER_LITRE, NM_PER_MM
from .build import Built
from .made import TankPiece
from .tank import Role
from .walls import EndKind

_NM_PER_M: Final = 1000 * NM_PER_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class ByProducts:
    """Figures of one tank.

    Parameters
    ----------
    litres_brim, litres_level
        Water to the brim and to the stated level; interior panels are not taken off. [1/1000 l]
    glass_grams
        Mass of all its glass, openings not taken off. [g]
    filled_grams
        With water to the brim, on the safe side. [g]
    floor_load
        Filled mass over the area of the base. [g/m2]
    joint_length
        Length of all bonded joints. [nm]
    silicone_ml
        In the joints and in the seams inside, without loss. [1/1000 ml]
    cartridges
        Whole ones for it.
    edgework
        Length of edges by finish. [nm]
    heavy
        Pieces that one person may not lift: name, mass [g], and who does.
    """

    litres_brim: int
    litres_level: int
    glass_grams: int
    filled_grams: int
    floor_load: int
    joint_length: int
    silicone_ml: int
    cartridges: int
    edgework: dict[Work, int]
    heavy: tuple[tuple[str, int, Lift], ...]


def by_products(built: Built, habits: TankHabits, lifts: Lifts) -> ByProducts:
    """The figures of one tank."""
    vessel, tank = built.vessel, built.tank
    brim = vessel.volume() * 1000 // NM3_PER_LITRE
    level = vessel.volume(vessel.inner_height - tank.freeboard) * 1000 // NM3_PER_LITRE
    glass = sum(mass_grams(area2(p.finished), p.thickness) for p in built.pieces)
    filled = glass + brim * tank.water.density // 1000
    seams = list(_seams(built))
    # mm3 are microlitres: joints of their own width and thickness, and a triangular seam inside
    fillet = habits.fillet / NM_PER_MM
    joint = tank.joint / NM_PER_MM
    volume = sum(
        length / NM_PER_MM * (width / NM_PER_MM * joint + inside * fillet * fillet / 2)
        for length, width, inside in seams
    )
    area = area2(vessel.base) / 2 / _NM_PER_M**2
    return ByProducts(
        litres_brim=brim,
        litres_level=level,
        glass_grams=glass,
        filled_grams=filled,
        floor_load=round(filled / area),
        joint_length=sum(length for length, _, _ in seams),
        silicone_ml=round(volume),
        cartridges=-(-round(volume) // (1000 * habits.cartridge_ml)),
        edgework=_edgework(built),
        heavy=tuple(_heavy(built, lifts)),
    )


def _lengths(piece: TankPiece) -> list[int]:
    """Of its edges. [nm]"""
    return [round(hypot(bx - ax, by - ay)) for (ax, ay), (bx, by) in sides(piece.finished)]


def _edgework(built: Built) -> dict[Work, int]:
    out: dict[Work, int] = {}
    for piece in built.pieces:
        for edge, length in zip(piece.edges, _lengths(piece), strict=True):
            out[edge.work] = out.get(edge.work, 0) + length
    return {work: out[work] for work in Work if work in out}


def _heavy(built: Built, lifts: Lifts) -> Iterator[tuple[str, int, Lift]]:
    for piece in built.pieces:
        mass = mass_grams(area2(piece.finished), piece.thickness)
        x0, y0, x1, y1 = box(piece.finished)
        lift = lift_for(mass, max(x1 - x0, y1 - y0), lifts)
        if lift is not Lift.ONE:
            yield piece.name, mass, lift


def _seams(built: Built) -> Iterator[tuple[int, int, int]]:
    """Bonded joints: length, width of the glue face, and seams inside along it. [nm, nm, number]"""
    vessel = built.vessel
    n = len(vessel.ends)
    for i, wall in enumerate(vessel.ends):
        t = vessel.wall_thickness[i]
        yield wall.inner_length, t if vessel.on_base else vessel.base_thickness, 1
        # the corner at the left end: the face of the wall that ends there, or the mitre
        left, before = wall.left, vessel.ends[(i - 1) % n].right
        ending = i if left.kind is not EndKind.THROUGH else (i - 1) % n
        lean = left.mitre if left.kind is not EndKind.THROUGH else before.mitre
        yield vessel.wall_height, round(vessel.wall_thickness[ending] / cos(radians(lean / 1000))), 1
    for piece in built.pieces:
        if piece.role in (Role.BRACE, Role.INSIDE):
            yield from _bonded(piece)


def _bonded(piece: TankPiece) -> Iterator[tuple[int, int, int]]:
    """The joints of a brace or an interior panel; where two braces of the rim meet, the joint counts once."""
    lengths = _lengths(piece)
    for i in piece.bonded:
        if piece.role is Role.BRACE and piece.wall is not None and i == 3:
            continue
        yield lengths[i], piece.thickness, 2 if piece.role is Role.INSIDE else 1
