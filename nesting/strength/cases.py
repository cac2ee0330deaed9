"""What is checked: a wall with its top edge, a base. All lengths are whole nanometres."""

from __future__ import annotations

from dataclasses import dataclass

from ..openings import Opening
from ..shop_tanks import BaseSupport


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossBrace:
    """A strip of glass from the top edge of a wall to that of the wall opposite.

    Parameters
    ----------
    at
        Its middle, from the left joint of the wall. [nm]
    width
        Along the wall. [nm]
    thickness
        Nominal. [nm]
    reach
        From wall to wall. [nm]
    joint
        Thickness of the silicone at its end. [nm]
    removable
        Whether it may be taken out of the filled tank; it then lies loose, and no bond of it is checked.
    lap
        Depth of a flat bonded lap of each end, on a rim brace; 0 where the end face alone is bonded. [nm]
    """

    at: int
    width: int
    thickness: int
    reach: int
    joint: int
    removable: bool = False
    lap: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Top:
    """What holds the top edge of a wall; by default nothing.

    Parameters
    ----------
    held
        The edge cannot bow at all.
    frame
        There is a frame; it counts as far as the shop's settings say.
    strip_width, strip_thickness
        Of a rim brace bonded along the whole edge; 0 for none. [nm]
    braces
        Cross braces.
    """

    held: bool = False
    frame: bool = False
    strip_width: int = 0
    strip_thickness: int = 0
    braces: tuple[CrossBrace, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WallCase:
    """A wall, seen from outside: x along the span, y up from the foot.

    Parameters
    ----------
    span
        Between the vertical joints. [nm]
    height
        From foot to rim. [nm]
    thickness
        Nominal. [nm]
    level
        Stated water level above the foot. [nm]
    density
        Of the water. [kg/m3]
    top
        What holds the top edge.
    openings
        In the frame of the wall: (0, 0) is its foot at the left joint.
    foot_glue, end_glue
        Width of the bonded face at its foot and of the narrower one at its vertical joints, where it is not
        the thickness of the wall: a wall that runs past the edge of thinner glass is held by that edge. [nm]
    opposite
        The wall at the other end of the cross braces, which it has in the same order; None where it is
        the mirror image of this one, so that the middle of every brace stands still.
    """

    span: int
    height: int
    thickness: int
    level: int
    density: int = 1000
    top: Top = Top()
    openings: tuple[Opening, ...] = ()
    foot_glue: int | None = None
    end_glue: int | None = None
    opposite: WallCase | None = None

    @property
    def size(self) -> tuple[int, int]:
        """Span and height. [nm]"""
        return self.span, self.height


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseCase:
    """A base.

    Parameters
    ----------
    length, width
        Of its bounding rectangle, between the lines that hold it. [nm]
    thickness
        Nominal. [nm]
    level, brim
        Stated water level and height of the walls' top edge above it. [nm]
    support
        Bedded over its whole area, or held at its rim.
    density
        Of the water. [kg/m3]
    polygon
        Whether it is no rectangle; the bounding rectangle is then on the safe side.
    reentrant
        Whether it turns inwards at a corner; a plate held at its rim is stressed without bound there
        (Williams 1952), and the bounding rectangle says nothing of it: not computed.
    bond_width
        Width of the glue that carries its rim, or None where the rim stands on something. [nm]
    openings
        In the frame of the bounding rectangle.
    """

    length: int
    width: int
    thickness: int
    level: int
    brim: int
    support: BaseSupport
    density: int = 1000
    polygon: bool = False
    reentrant: bool = False
    bond_width: int | None = None
    openings: tuple[Opening, ...] = ()

    @property
    def size(self) -> tuple[int, int]:
        """Length and width. [nm]"""
        return self.length, self.width
