"""What the shop file says about tanks: lead days, joints and edgework, the edging line, the thickness check.

The defaults are common practice; where a value has a published source, the shop file names it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction

from .edgework import Work
from .units import mm


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadDays:
    """Working days from cutting to the wanted day.

    Parameters
    ----------
    edging, bonding, curing
        Of every order.
    drilling
        Only of what has holes or cut-outs.
    """

    edging: int = 1
    drilling: int = 1
    bonding: int = 1
    curing: int = 5


class WallsAt(Enum):
    """Where the walls stand: on the base, or around it."""

    ON_BASE = "on base"
    AROUND_BASE = "around base"


class ToleranceLevel(Enum):
    """Whose tolerances the finished panels are held to."""

    TANK = "tank"
    EN = "EN 572-8"
    ASTM = "ASTM C1036"


@dataclass(frozen=True, slots=True, kw_only=True)
class TankHabits:
    """How tanks are built where the order says nothing.

    Parameters
    ----------
    walls
        On the base or around it.
    joint
        Thickness of every bonded joint. [nm]
    freeboard
        Stated water level below the top edge of the walls. [nm]
    cover_thickness, inside_thickness
        Of covers and interior panels; the next thicker glass where the kind has none so thin. [nm]
    brace_width, cross_width
        Width of rim braces and of cross braces. [nm]
    cover_clearance
        Kept free on every side of a lid or sliding cover. [nm]
    fillet
        Leg of the triangular seam of silicone inside, along every joint. [nm]
    cartridge_ml
        Contents of a cartridge of silicone. [ml]
    tolerance
        Level of tolerance that the panel lists state.
    measured
        Glass key -> thickness that its sheets really have, where it was measured. [nm]
    shown, bonded, base, inside
        Edgework of edges that show, of bonded edges of walls, of the rim of a base that carries the
        walls, and of bonded edges of braces and interior panels.
    """

    walls: WallsAt = WallsAt.ON_BASE
    joint: int = mm(1)
    freeboard: int = mm(30)
    cover_thickness: int = mm(6)
    inside_thickness: int = mm(6)
    brace_width: int = mm(80)
    cross_width: int = mm(120)
    cover_clearance: int = mm(3)
    fillet: int = mm(6)
    cartridge_ml: int = 310
    tolerance: ToleranceLevel = ToleranceLevel.TANK
    shown: Work = Work.POLISHED
    bonded: Work = Work.GROUND
    base: Work = Work.GROUND
    inside: Work = Work.SEAMED
    measured: Mapping[str, int] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgingLine:
    """Limits of the edging line; what lies beyond goes by hand or is edged before it is divided.

    Parameters
    ----------
    least_width
        Least width of a piece that is fed through. [nm]
    greatest_length
        Longest edge. [nm]
    greatest_height
        Greatest size square to the edge that is worked. [nm]
    greatest_mitre
        Greatest mitre, from square. [1/1000 degree]
    """

    least_width: int = mm(80)
    greatest_length: int = mm(4000)
    greatest_height: int = mm(2500)
    greatest_mitre: int = 45_000


class BaseSupport(Enum):
    """How the finished tank stands: bedded over its whole area, or held at its rim alone."""

    BEDDED = "bedded"
    RIM = "rim"


class ThicknessLimits(Enum):
    """Whose least thickness of a nominal glass counts for strength."""

    EN = "EN 572-2"
    ASTM = "ASTM C1036"
    LOWER = "lower"


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """Settings of the thickness check.

    Parameters
    ----------
    design_stress
        Permissible bending stress under lasting water load. [N/mm2]
    bond_stress
        Permissible lasting stress of a bonded joint. [N/mm2]
    bond_modulus
        Modulus of elasticity of the silicone between a cross brace and a wall. [N/mm2]
    deflection
        Greatest bow of a wall as a part of its length: length over this number; None for no limit.
    base
        How tanks stand where the order says nothing.
    limits
        Whose least thickness counts.
    frame_holds
        The shop's word that its frames hold the top edge of the walls.
    frame_stiffness
        Bending stiffness of a frame against the push of the water, or None where it is not known. [N mm2]
    stop
        Whether too thin a glass stops the run.
    """

    design_stress: Fraction = Fraction(5)
    bond_stress: Fraction = Fraction(14, 100)
    bond_modulus: Fraction = Fraction(1)
    deflection: int | None = 300
    base: BaseSupport = BaseSupport.BEDDED
    limits: ThicknessLimits = ThicknessLimits.LOWER
    frame_holds: bool = False
    frame_stiffness: int | None = None
    stop: bool = False
