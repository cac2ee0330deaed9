"""The glass that edgework removes, by thickness and mitre angle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from .edgework import Work
from .units import mm


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowanceStep:
    """Glass that one edgework removes, from a thickness and a mitre angle on.

    Parameters
    ----------
    allowance
        Square to the edge, per edge. [nm]
    thickness_from
        Nominal thickness from which it holds. [nm]
    angle_from
        Mitre angle from square from which it holds. [1/1000 degree]
    """

    allowance: int
    thickness_from: int = 0
    angle_from: int = 0


DEFAULT_ALLOWANCES: Final[Mapping[Work, tuple[AllowanceStep, ...]]] = {
    Work.CUT: (AllowanceStep(allowance=0),),
    Work.SEAMED: (AllowanceStep(allowance=0),),
    Work.GROUND: (AllowanceStep(allowance=mm(1)),),
    Work.POLISHED: (
        AllowanceStep(allowance=mm("1.5")),
        AllowanceStep(allowance=mm(2), thickness_from=mm(12)),
    ),
    Work.PENCIL: (AllowanceStep(allowance=mm("1.5")),),
    Work.BEVEL: (AllowanceStep(allowance=mm(1)),),
    Work.MITRE: (AllowanceStep(allowance=mm("1.5")),),
}
"""Take-off per edge [common practice]; it varies from 0.5 to 2.5 mm by machine."""
