"""Walls that meet at corners: how far the inner and the outer face of each reaches, for every angle.

Butt: one wall runs through, the other ends on it with a joint between. Mitre: both are ground in the
plane from the inner corner to the outer one, which is half the corner angle where they are equally
thick, with a joint between. Lengths count along the wall from its inner corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, localcontext
from enum import Enum
from functools import lru_cache
from math import atan, degrees, isqrt
from typing import Final, NamedTuple

from ..errors import InvalidOutline
from ..outlines import Outline, cross
from ..text import tr
from .faces import EXACT, Face, Place, cosine, faces_of, is_square, moved, places, sine

SAME: Final = 4
"""Walls whose ends differ by less are equal: corners were rounded to the nanometre. [nm]"""
SQUARE: Final = Decimal("1e-12")


class CornerJoint(Enum):
    """How walls meet at corners; ``AUTO`` butts square corners and mitres all others."""

    AUTO = "auto"
    BUTT = "butt"
    MITRE = "mitre"


class EndKind(Enum):
    """What an end of a wall does at its corner."""

    THROUGH = "through"
    ON = "on"
    MITRE = "mitre"


class End(NamedTuple):
    """One end of a wall.

    Parameters
    ----------
    kind
        It runs through, ends on the other wall, or is mitred.
    inner, outer
        How far its inner and outer face reach beyond the inner corner; negative: they stop short
        of it. [nm]
    mitre
        Angle from square; 0 for a square end. [1/1000 degree]
    """

    kind: EndKind
    inner: int
    outer: int
    mitre: int = 0


class WallEnds(NamedTuple):
    """A wall between its two ends.

    Parameters
    ----------
    length
        From inner corner to inner corner. [nm]
    left, right
        Its ends as seen from outside: left at its first corner.
    """

    length: int
    left: End
    right: End

    @property
    def inner_length(self) -> int:
        """Length of the inner face. [nm]"""
        return self.length + self.left.inner + self.right.inner

    @property
    def outer_length(self) -> int:
        """Length of the outer face. [nm]"""
        return self.length + self.left.outer + self.right.outer

    @property
    def start(self) -> int:
        """Where the panel begins, from the first inner corner; negative: before it. [nm]"""
        return -max(self.left.inner, self.left.outer)

    @property
    def full_length(self) -> int:
        """Length of the panel: it holds both faces. [nm]"""
        return self.length + max(self.left.inner, self.left.outer) + max(self.right.inner, self.right.outer)


def wall_ends(
    inner: Outline,
    thickness: Sequence[int],
    *,
    joint: int | Sequence[int],
    corners: CornerJoint = CornerJoint.AUTO,
    first_through: Sequence[bool] | None = None,
    outer: Outline | None = None,
    alongs: Sequence[Place] | None = None,
) -> tuple[WallEnds, ...]:
    """The ends of all walls round an inner outline.

    Parameters
    ----------
    inner
        Inner faces, counter-clockwise. [nm]
    thickness
        Of every wall. [nm]
    joint
        Thickness of the bonded joint, one for all corners or one a corner. [nm]
    corners
        How they meet.
    first_through
        One a corner: whether at a butt joint the wall before the corner runs through rather than the
        one after it; default: the one that comes first in the outline.
    outer
        Outer faces, where they are known already. [nm]
    alongs
        Unit vectors along the faces, where they are known already (see `faces.directions`).

    Raises
    ------
    InvalidOutline
        For a butt joint at an inner corner that is not square, and where nothing is left of a wall.
    """
    n = len(inner)
    first = [i > 0 for i in range(n)] if first_through is None else first_through
    joints = [joint] * n if isinstance(joint, int) else joint
    square = alongs is None and is_square(inner)
    if square and corners is not CornerJoint.MITRE:
        walls = _square_walls(inner, thickness, joints, first)
    else:
        with localcontext(EXACT):
            faces = faces_of(inner, alongs)
            beyond = moved(inner, thickness, alongs) if outer is None else places(outer)
            ends = [_corner(faces, beyond, thickness, i, joints[i], corners, first[i]) for i in range(n)]
        walls = [
            WallEnds(length=_nm(face.length), left=ends[i][1], right=ends[(i + 1) % n][0])
            for i, face in enumerate(faces)
        ]
    for i, wall in enumerate(walls):
        if thickness[i] and min(wall.inner_length, wall.outer_length) <= 0:
            raise InvalidOutline(
                tr("nothing is left of wall {number} between its joints", number=i + 1),
                tr("make the tank larger or the glass thinner"),
            )
    # walls along the axes need no rounding
    return tuple(walls) if square else _equalled(walls)


def _square_walls(
    inner: Outline, thickness: Sequence[int], joints: Sequence[int], first: Sequence[bool]
) -> list[WallEnds]:
    """Walls along the axes that butt: whole numbers do, and most tanks are such."""
    n = len(inner)
    ends = []
    for i, corner in enumerate(inner):
        first_through = first[i]
        through, other = (i - 1, i) if first_through else (i, i - 1)
        if cross(inner[i - 1], corner, inner[(i + 1) % n]) < 0:
            reach, stop = 0, thickness[through] + joints[i]
        else:
            reach, stop = thickness[other], joints[i]
        runs = End(kind=EndKind.THROUGH, inner=reach, outer=reach)
        stops = End(kind=EndKind.ON, inner=-stop, outer=-stop)
        ends.append((runs, stops) if first_through else (stops, runs))
    return [
        WallEnds(
            length=abs(inner[(i + 1) % n][0] - x) + abs(inner[(i + 1) % n][1] - y),
            left=ends[i][1],
            right=ends[(i + 1) % n][0],
        )
        for i, (x, y) in enumerate(inner)
    ]


def _corner(
    faces: Sequence[Face],
    outer: Sequence[Place],
    thickness: Sequence[int],
    i: int,
    joint: int,
    corners: CornerJoint,
    first_through: bool,
) -> tuple[End, End]:
    """The end of the wall before corner i, and of the wall after it."""
    a, b = faces[i - 1].along, faces[i].along
    s, c = sine(a, b), cosine(a, b)  # of the turn: 180 degrees less the corner angle
    square = abs(c) < SQUARE
    kind = corners
    if kind is CornerJoint.AUTO:
        kind = CornerJoint.BUTT if square else CornerJoint.MITRE
    if kind is CornerJoint.MITRE:
        corner, beyond = faces[i].start, outer[i]
        across = (beyond[0] - corner[0], beyond[1] - corner[1])
        return (
            _mitred(_nm(cosine(across, a)), thickness[i - 1], joint),
            _mitred(_nm(-cosine(across, b)), thickness[i], joint),
        )
    if s < 0 and not square:
        raise InvalidOutline(
            tr("corner {number} turns inwards and is not square: walls cannot butt there", number=i + 1),
            tr("order mitred corners"),
        )
    through, other = (i - 1, i) if first_through else (i, i - 1)
    if s < 0:
        # inner corner of an L: the walls overlap outside it, so the other one stops short
        reach, inner_stop = Decimal(0), Decimal(thickness[through] + joint)
        outer_stop = inner_stop
    else:
        reach = Decimal(thickness[other]) / s
        inner_stop = joint / s
        outer_stop = (joint + Decimal(thickness[other]) * c) / s
    runs = End(kind=EndKind.THROUGH, inner=_nm(reach), outer=_nm(reach))
    lean = atan(float(abs(inner_stop - outer_stop)) / (thickness[other] or 1))
    stops = End(
        kind=EndKind.ON, inner=-_nm(inner_stop), outer=-_nm(outer_stop), mitre=_thousandths(degrees(lean))
    )
    return (runs, stops) if first_through else (stops, runs)


@lru_cache(maxsize=4096)
def _mitred(reach: int, thickness: int, joint: int) -> End:
    """An end ground in the plane of its corner: the outer face reaches so far beyond the inner one. [nm]"""
    if not thickness:
        return End(kind=EndKind.MITRE, inner=0, outer=0)
    # half the joint, square to the plane, as seen along the wall: joint / 2 * sqrt(reach2 + t2) / t
    back = (joint * isqrt(4 * (reach * reach + thickness * thickness)) + 2 * thickness) // (4 * thickness)
    return End(
        kind=EndKind.MITRE,
        inner=-back,
        outer=reach - back,
        mitre=_thousandths(degrees(atan(abs(reach) / thickness))),
    )


def _nm(length: Decimal) -> int:
    return int(length.to_integral_value())


def _thousandths(angle: float) -> int:
    return round(angle * 1000)


def _equalled(walls: list[WallEnds]) -> tuple[WallEnds, ...]:
    """Walls that are equal but for the rounding of their corners made wholly equal."""
    out: list[WallEnds] = []
    for wall in walls:
        twin = next((w for w in out if _alike(w, wall)), wall)
        out.append(twin)
    return tuple(out)


def _alike(one: WallEnds, other: WallEnds) -> bool:
    if abs(one.length - other.length) >= SAME:
        return False
    for a, b in ((one.left, other.left), (one.right, other.right)):
        # walls of different thickness may reach equally far in different planes
        if a.kind is not b.kind or abs(a.mitre - b.mitre) > 1:
            return False
        if abs(a.inner - b.inner) >= SAME or abs(a.outer - b.outer) >= SAME:
            return False
    return True
