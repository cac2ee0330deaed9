"""What is done to an edge after cutting, and the glass that this removes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Work(Enum):
    """Edgework, in rising order of finish; the value is the word used in files."""

    CUT = "cut"
    SEAMED = "seamed"
    GROUND = "ground"
    POLISHED = "polished"
    PENCIL = "pencil"
    BEVEL = "bevel"
    MITRE = "mitre"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """The edgework of one edge of a finished outline.

    Parameters
    ----------
    work
        The finish.
    allowance
        Glass removed from this edge, square to it, in the plane of the panel. [nm]
    mitre
        Angle from square, only with `Work.MITRE`. [1/1000 degree]
    small_face
        The side (``"up"`` or ``"down"``) on which the mitred panel is smaller, or None.
    """

    work: Work = Work.CUT
    allowance: int = 0
    mitre: int = 0
    small_face: str | None = None
