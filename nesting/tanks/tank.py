"""The tank that was ordered: plan shape, sizes, glass, joints, top, interior panels and openings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import Enum

from ..glass import glass_key
from ..shop_tanks import BaseSupport, WallsAt
from ..tips import TipRule
from ..units import mm
from .plan_shapes import PlanShape
from .walls import CornerJoint


class Given(Enum):
    """Whether the sizes of an order are outside or inside sizes."""

    OUTSIDE = "outside"
    INSIDE = "inside"


class Water(Enum):
    """What the tank holds; the value is the word in lists."""

    FRESH = "fresh"
    SEA = "sea"

    @property
    def density(self) -> int:
        """[kg/m3] (sea water 1,025, as hobby and trade pages print it)"""
        return 1025 if self is Water.SEA else 1000


class Role(Enum):
    """What a panel does in its tank; glass may be given by role, or for a wall by its name."""

    WALL = "walls"
    BASE = "base"
    BRACE = "braces"
    COVER = "covers"
    INSIDE = "inside"

    # glass is looked up by role for every panel; the hash of an enum's name is slow
    __hash__ = object.__hash__


@dataclass(frozen=True, slots=True)
class GlassWish:
    """Glass of a role: its kind, and its nominal thickness [nm].

    None: for walls and base advice is asked for, braces are as thick as the thickest wall.
    """

    kind: str
    thickness: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RimBraces:
    """Strips of glass that lie inside along the top edges (all round where no wall is named).

    Parameters
    ----------
    width
        Square to the wall. [nm]
    walls
        Names of the walls that have one; empty for all.
    """

    width: int
    walls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossBraces:
    """Strips from front to back, evenly spaced along the front.

    Parameters
    ----------
    count, width
        How many, and how wide along the front. [nm]
    removable
        They lie loosely and may be taken out when the tank is empty.
    lapped
        They lie under the rim braces over their whole width, instead of between them.
    """

    count: int
    width: int
    removable: bool = False
    lapped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """Panes that close the top, side by side along the front.

    Parameters
    ----------
    count
        Number of panes.
    sliding
        They slide in two tracks and overlap.
    overlap
        By which sliding panes overlap. [nm]
    """

    count: int
    sliding: bool = False
    overlap: int = mm(20)


@dataclass(frozen=True, slots=True, kw_only=True)
class Top:
    """How the tank ends at the top; nothing of it at all is rimless."""

    framed: bool = False
    rim: RimBraces | None = None
    cross: tuple[CrossBraces, ...] = ()
    covers: tuple[Cover, ...] = ()

    @property
    def rimless(self) -> bool:
        """Nothing holds the top edges."""
        return not self.framed and self.rim is None and not self.cross

    def rim_width(self, wall: str) -> int:
        """Width of the rim brace along the wall of this name, 0 where it has none. [nm]"""
        rim = self.rim
        return rim.width if rim is not None and (not rim.walls or wall in rim.walls) else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Divider:
    """A wall across the inside, from front to back; a baffle stands off the base or ends below the water.

    Parameters
    ----------
    at
        Middle of the glass, from the inner face at the left. [nm]
    gap
        Between base and lower edge; 0 bonds it to the base. [nm]
    height
        Of the panel; None: up to the stated water level, or to the braces above it. [nm]
    baffle
        Water is meant to pass over or under it.
    """

    at: int
    gap: int = 0
    height: int | None = None
    baffle: bool = False

    @property
    def name(self) -> str:
        """``divider`` or ``baffle``."""
        return "baffle" if self.baffle else "divider"


@dataclass(frozen=True, slots=True, kw_only=True)
class OverflowBox:
    """A box for the overflow, in a corner of two walls or in the middle of one.

    Parameters
    ----------
    walls
        Names of one wall or of two that meet.
    along, deep
        Outside size along the (first) wall and square to it. [nm]
    weir
        From the top edge of the tank's walls down to the edge over which the water runs. [nm]
    at
        One wall: middle of the box from the wall's inner corner at the left, seen from outside; None is
        the middle. [nm]
    """

    walls: tuple[str, ...]
    along: int
    deep: int
    weir: int
    at: int | None = None


Inside = Divider | OverflowBox


class OpeningKind(Enum):
    """A drilled hole, a slot, or a slot open at the top edge."""

    HOLE = "hole"
    SLOT = "slot"
    NOTCH = "notch"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningWish:
    """An opening as it is ordered, seen from outside (walls, interior panels) or from above.

    Parameters
    ----------
    panel
        Name of the panel.
    kind
        What it is.
    x
        From the left end of the panel: centre of a (first) hole, left end of a slot or notch. [nm]
    y
        From the top edge of an upright panel, from the front edge of a base or cover: centre of a hole,
        nearer side of a slot; a notch has none. [nm]
    width, height
        Diameter of a hole (both), or size of the slot or notch. [nm]
    count, pitch
        A row of equal ones, from middle to middle. [nm]
    radius
        Inner corners of a slot or notch; None: as the limits ask for. [nm]
    """

    panel: str
    kind: OpeningKind
    x: int
    y: int = 0
    width: int
    height: int
    count: int = 1
    pitch: int = 0
    radius: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeWish:
    """A size that follows from a wanted volume, brim-full.

    Parameters
    ----------
    volume
        [nm3]
    size
        Name of the size that is wanted: ``height``, ``length`` ...
    grid
        It is rounded up to a multiple of this. [nm]
    shape
        Plan shape for a size [nm]; None where it is the height.
    """

    volume: int
    size: str
    grid: int
    shape: Callable[[int], PlanShape] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """One tank of an order.

    Parameters
    ----------
    order, name
        The customer's order, and the tank's name in it; the name may be empty.
    quantity
        Equal tanks.
    shape
        Plan shape, outside or inside as `given` says.
    given
        What shape and height mean.
    height
        Outside: from the table to the top edge of the walls; inside: from the base to it. [nm]
    glass
        Of every role, and of single walls by their name.
    walls
        On the base or around it.
    corners
        How walls meet.
    through
        Names of the walls that run through at butt corners, the first before the second, or
        ``pinwheel``; walls that are not named follow in the order of the shape; empty: as usual for
        the shape (`vessel.THROUGH`).
    joint
        Thickness of every bonded joint. [nm]
    top, insides, openings
        What it has besides walls and base.
    water, freeboard
        What it holds, and the stated level below the top edge. [nm]
    base
        How it stands.
    due
        Day on which its glass must be cut.
    wish
        A size that follows from a volume; shape or height are not settled before.
    note
        Free text.
    tips
        Whether and how far sharp corners are cut back.
    measured
        Glass key -> thickness of its sheets as measured; what lies between walls and on the base follows
        it. Mass, edgework and the thickness check go by the nominal one. [nm]
    """

    order: str
    name: str = ""
    quantity: int = 1
    shape: PlanShape
    given: Given = Given.OUTSIDE
    height: int
    glass: Mapping[Role | str, GlassWish] = field(hash=False)
    walls: WallsAt = WallsAt.ON_BASE
    corners: CornerJoint = CornerJoint.AUTO
    through: tuple[str, ...] = ()
    joint: int = mm(1)
    top: Top = field(default_factory=Top)
    insides: tuple[Inside, ...] = ()
    openings: tuple[OpeningWish, ...] = ()
    water: Water = Water.FRESH
    freeboard: int = mm(30)
    base: BaseSupport = BaseSupport.BEDDED
    due: date | None = None
    wish: VolumeWish | None = field(default=None, compare=False)
    note: str = ""
    tips: TipRule = field(default_factory=TipRule)
    measured: Mapping[str, int] = field(default_factory=dict, hash=False)

    @property
    def title(self) -> str:
        """Order and name."""
        return f"{self.order} {self.name}".strip()

    def glass_of(self, role: Role, name: str = "") -> GlassWish:
        """The glass of a panel: by its own name, else by its role."""
        return self.glass.get(name) or self.glass[role]

    def as_measured(self, role: Role, name: str, thickness: int) -> int:
        """The thickness that a panel of this nominal thickness really has. [nm]"""
        return self.measured.get(glass_key(self.glass_of(role, name).kind, thickness), thickness)
