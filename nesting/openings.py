"""Openings in a panel: drilled holes and cut-outs. None of them is scored."""

from __future__ import annotations

from dataclasses import dataclass

from .outlines import Outline, Point


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
