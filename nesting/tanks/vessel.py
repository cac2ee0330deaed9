"""The vessel of a tank: its faces, heights and joints, whatever the panels are made of later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from ..errors import InvalidOutline, NestingError
from ..outlines import Outline, Point, area2, box
from ..shop_tanks import WallsAt
from ..text import local_number, tr
from ..units import show
from .faces import Place, directions, grown
from .plan_shapes import PlanShape, other_hand
from .tank import Given, Role, Tank
from .walls import WallEnds, wall_ends

PINWHEEL: Final = "pinwheel"
"""Every wall runs through at its right end and ends on its neighbour at the left, seen from outside."""
THROUGH: Final = {
    "rectangle": ("front", "back"),
    "corner": ("left wall", "right wall"),
    "trapezoid": ("front", "back"),
    "right trapezoid": ("front", "back"),
    "bent front": ("back",),
    "long octagon": ("front", "back"),
    "L": ("front", "back", "inner front"),
}
"""Walls that run through at butt corners where the order names none."""
GREATEST_MITRE: Final = 80_000
"""From square; panel lists hold no greater one. [1/1000 degree]"""


class InvalidTank(NestingError, ValueError):
    """A tank that cannot be built.

    Parameters
    ----------
    about
        What of it is wrong: a word of `tank.Tank` such as ``shape``, ``top``, ``insides``.
    reason, remedy
        Worded for the user.
    """

    def __init__(self, about: str, reason: str, remedy: str) -> None:
        self.about, self.reason, self.remedy = about, reason, remedy
        super().__init__(about, reason, remedy)

    def __str__(self) -> str:
        return tr("{reason}; {remedy}", reason=self.reason, remedy=self.remedy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """The faces of a tank. x from the left, y from the front, z from the table. [nm]

    Parameters
    ----------
    inner, outer
        Inner and outer faces of the walls, seen from above.
    wall_thickness
        Of every wall, nominal.
    ends
        How far each wall reaches at its two corners.
    joint
        Thickness of every bonded joint.
    base_thickness, base_real
        Of the base, nominal and as measured.
    height
        From the table to the top edge of the walls.
    on_base
        The walls stand on the base, else around it.
    alongs
        Unit vectors along the walls; None where all run along the axes.
    """

    inner: Outline
    outer: Outline
    wall_thickness: tuple[int, ...]
    ends: tuple[WallEnds, ...]
    joint: int
    base_thickness: int
    base_real: int
    height: int
    on_base: bool
    alongs: tuple[Place, ...] | None = None

    def inset(self, distances: Sequence[int]) -> Outline:
        """The inner faces, each moved inwards by its own distance. [nm]

        Raises
        ------
        InvalidOutline
            When nothing is left.
        """
        return grown(self.inner, [-far for far in distances], self.alongs)

    def beside(self, wall: int, along: int, inward: int = 0) -> Point:
        """The place so far along the inside of a wall, from its corner at the left, and off it. [nm]"""
        (ax, ay), (bx, by) = self.inner[wall], self.inner[(wall + 1) % len(self.inner)]
        dx, dy, far = bx - ax, by - ay, self.ends[wall].length
        return ax + (dx * along - dy * inward) // far, ay + (dy * along + dx * inward) // far

    def along(self, wall: int, place: Point) -> int:
        """How far along the inside of a wall a place lies, from its corner at the left. [nm]"""
        (ax, ay), (bx, by) = self.inner[wall], self.inner[(wall + 1) % len(self.inner)]
        return ((place[0] - ax) * (bx - ax) + (place[1] - ay) * (by - ay)) // self.ends[wall].length

    @property
    def inner_height(self) -> int:
        """From the upper face of the base to the top edge of the walls. [nm]"""
        return self.height - self.base_real

    @property
    def foot(self) -> int:
        """Height at which the walls begin. [nm]"""
        return self.base_real + self.joint if self.on_base else 0

    @property
    def wall_height(self) -> int:
        """Of the wall panels. [nm]"""
        return self.height - self.foot

    @property
    def base(self) -> Outline:
        """Outline of the base: under the walls, or between them with a joint all round. [nm]"""
        return self.outer if self.on_base else self.inset([self.joint] * len(self.inner))

    @property
    def size(self) -> tuple[int, int, int]:
        """Outside length, width and height. [nm]"""
        x0, y0, x1, y1 = box(self.outer)
        return x1 - x0, y1 - y0, self.height

    def volume(self, level: int | None = None) -> int:
        """Water up to a level above the base, default to the brim. [nm3]"""
        depth = self.inner_height if level is None else max(0, min(level, self.inner_height))
        return area2(self.inner) * depth // 2


def vessel_of(tank: Tank) -> Vessel:
    """The vessel of a tank whose glass is settled.

    Raises
    ------
    InvalidTank
        When no room is left between the walls, or above the base.
    """
    names = tank.shape.walls
    nominal = tuple(settled(tank, Role.WALL, name) for name in names)
    thickness = tuple(tank.as_measured(Role.WALL, n, t) for n, t in zip(names, nominal, strict=True))
    base_thickness = settled(tank, Role.BASE, "base")
    base_real = tank.as_measured(Role.BASE, "base", base_thickness)
    outline = tank.shape.outline
    alongs = directions(outline)
    try:
        if tank.given is Given.OUTSIDE:
            outer, inner = outline, grown(outline, [-t for t in thickness], alongs)
        else:
            outer, inner = grown(outline, thickness, alongs), outline
        ends = wall_ends(
            inner,
            thickness,
            joint=tank.joint,
            corners=tank.corners,
            first_through=_first_through(tank.shape, tank.through),
            outer=outer,
            alongs=alongs,
        )
    except InvalidOutline as error:
        raise InvalidTank("shape", error.reason, error.remedy) from None
    steepest = max(end.mitre for wall in ends for end in (wall.left, wall.right))
    if steepest >= GREATEST_MITRE:
        raise InvalidTank(
            "shape",
            tr(
                "where two walls meet an edge would lean {angle} degrees",
                angle=local_number(f"{steepest / 1000:g}"),
            ),
            tr("order other corner joints, walls of equal glass, or a plan shape with other corners"),
        )
    x0, y0 = min(x for x, _ in outer), min(y for _, y in outer)
    if x0 or y0:
        outer = tuple((x - x0, y - y0) for x, y in outer)
        inner = tuple((x - x0, y - y0) for x, y in inner)
    height = tank.height if tank.given is Given.OUTSIDE else tank.height + base_real
    vessel = Vessel(
        inner=inner,
        outer=outer,
        wall_thickness=nominal,
        ends=ends,
        joint=tank.joint,
        base_thickness=base_thickness,
        base_real=base_real,
        height=height,
        on_base=tank.walls is WallsAt.ON_BASE,
        alongs=alongs,
    )
    if vessel.inner_height <= tank.freeboard or vessel.wall_height <= 0:
        raise InvalidTank(
            "height",
            tr("a height of {height} leaves no room for water", height=show(tank.height)),
            tr("make the tank higher, or the freeboard less"),
        )
    return vessel


def _first_through(shape: PlanShape, through: tuple[str, ...]) -> list[bool]:
    """At which corners the wall before runs through: as `Tank.through` says, then in the order of the shape.

    A shape that is mirrored goes by the mirror image of that order.
    """
    names = shape.walls
    if through == (PINWHEEL,):
        return [True] * len(names)
    if not through:
        through = THROUGH.get(shape.kind, ())
        if shape.mirror:
            through = tuple(other_hand(name) for name in through)
    rank = [
        through.index(name) if name in through else len(through) + shape.order(i)
        for i, name in enumerate(names)
    ]
    return [rank[i - 1] < rank[i] for i in range(len(names))]


def settled(tank: Tank, role: Role, name: str) -> int:
    """The thickness of a panel whose glass is settled. [nm]

    Raises
    ------
    InvalidTank
        Where it is not.
    """
    thickness = tank.glass_of(role, name).thickness
    if thickness is None:
        raise InvalidTank(
            "thickness",
            tr("the thickness of {name} is not settled", name=name),
            tr("give it; advice is for walls and base alone"),
        )
    return thickness
