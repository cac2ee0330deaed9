"""The least stock thickness that is enough, and what a thickness check does not say."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from ..errors import NoLeastThickness
from ..glass import designation
from ..shop_tanks import Strength
from ..text import tr
from ..units import mm
from .cases import WallCase
from .verdict import WallVerdict
from .wall import check_wall

GREATEST_LENGTH: Final = mm(2000)
GREATEST_WIDTH: Final = mm(600)
GREATEST_HEIGHT: Final = mm(600)
"""Outside sizes up to which DIN 32622 speaks of household tanks. [nm]"""
GREATEST_STRESS: Final = 5
"""The built-in design stress. [N/mm2]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The least thickness in stock that is enough for a wall.

    Parameters
    ----------
    enough
        The wall in that thickness, or None where none is enough.
    thinner
        The thickest wall tried that is thinner than that, or than all where none is enough; None where
        the thinnest is enough.
    unchecked
        Where none is enough: the thinnest whose plate is enough but for openings that were not checked.
    unknown
        Nominal thicknesses without a known least thickness; not tried. [nm]
    """

    enough: WallVerdict | None
    thinner: WallVerdict | None
    unchecked: WallVerdict | None
    unknown: tuple[int, ...]

    @property
    def thickness(self) -> int | None:
        """The least nominal thickness that is enough. [nm]"""
        return None if self.enough is None else self.enough.case.thickness

    @property
    def words(self) -> tuple[str, ...]:
        """What to tell the user, a line each."""
        lines = []
        if self.enough is not None:
            lines.append(
                tr(
                    "{thickness} mm is the least that is enough: {reason}",
                    thickness=designation(self.enough.case.thickness),
                    reason=self.enough.reason,
                )
            )
        elif self.unchecked is not None:
            lines.append(
                tr(
                    "{thickness} mm is enough but for openings that were not checked: {reason}",
                    thickness=designation(self.unchecked.case.thickness),
                    reason=self.unchecked.reason,
                )
            )
        else:
            lines.append(tr("no thickness in stock is enough"))
        if self.thinner is not None and (self.enough is not None or self.unchecked is None):
            lines.append(
                tr(
                    "{thickness} mm is {outcome}: {reason}",
                    thickness=designation(self.thinner.case.thickness),
                    outcome=self.thinner.outcome.words,
                    reason=self.thinner.reason,
                )
            )
        lines.extend(str(NoLeastThickness(designation(t))) for t in self.unknown)
        return tuple(lines)


def advise(make_case: Callable[[int], WallCase], thicknesses: Sequence[int], strength: Strength) -> Advice:
    """Find the least thickness in stock that is enough.

    Parameters
    ----------
    make_case
        The wall in a nominal thickness. [nm]
    thicknesses
        In stock, in any order. [nm]
    strength
        The shop's settings.
    """
    thinner: WallVerdict | None = None
    unchecked: WallVerdict | None = None
    unknown = []
    for thickness in sorted(set(thicknesses)):
        try:
            verdict = check_wall(make_case(thickness), strength)
        except NoLeastThickness:
            unknown.append(thickness)
            continue
        if verdict.enough:
            return Advice(enough=verdict, thinner=thinner, unchecked=None, unknown=tuple(unknown))
        if verdict.plate_enough and unchecked is None:
            unchecked = verdict
        thinner = verdict
    return Advice(enough=None, thinner=thinner, unchecked=unchecked, unknown=tuple(unknown))


def beyond_household(length: int, width: int, height: int) -> bool:
    """Whether a tank is larger outside than the household tanks of DIN 32622.

    Parameters
    ----------
    length, width
        The two horizontal sizes, in any order. [nm]
    height
        [nm]
    """
    long, short = max(length, width), min(length, width)
    return long > GREATEST_LENGTH or short > GREATEST_WIDTH or height > GREATEST_HEIGHT


def design_stress_caution(strength: Strength) -> list[str]:
    """The line that stands beside every verdict where the design stress lies above the built-in one."""
    if strength.design_stress <= GREATEST_STRESS:
        return []
    return [
        tr(
            "The design stress of {value:g} N/mm2 lies above the built-in {limit:.1f}.",
            value=float(strength.design_stress),
            limit=float(GREATEST_STRESS),
        )
    ]


def cautions(length: int, width: int, height: int, strength: Strength) -> tuple[str, ...]:
    """What has to stand beside every thickness check, a line each.

    Parameters
    ----------
    length, width, height
        Of the tank outside. [nm]
    strength
        The shop's settings.
    """
    lines = [
        tr("The thickness check is a planning aid; a qualified person and the local codes decide."),
        tr(
            "It follows no standard for tanks: ASTM E1300 excludes aquariums, EN 16612 is for infill panels, "
            "and no table of DIN 32622 was used."
        ),
        tr(
            "Permissible stress of bonded joints: {value:g} N/mm2, the shop's setting. The built-in 0.14 is that "
            "of structural silicone in facades (ASTM C1401, from memory), which is not for lasting load; "
            "the maker's data decide.",
            value=float(strength.bond_stress),
        ),
    ]
    lines += design_stress_caution(strength)
    if beyond_household(length, width, height):
        lines.append(
            tr(
                "Larger outside than {size} x {height}, the scope of DIN 32622: have this tank calculated by a "
                "qualified person.",
                size=f"{GREATEST_LENGTH // mm(1)} x {GREATEST_WIDTH // mm(1)}",
                height=f"{GREATEST_HEIGHT // mm(1)} mm",
            )
        )
    return tuple(lines)
