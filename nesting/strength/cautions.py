"""What stands beside every thickness check: what it is not, and where it ends."""

from __future__ import annotations

from typing import Final

from ..shop_tanks import Strength
from ..text import tr
from ..units import mm, show, show_size

GREATEST_LENGTH: Final = mm(2000)
GREATEST_WIDTH: Final = mm(600)
GREATEST_HEIGHT: Final = mm(600)
"""Outside sizes up to which DIN 32622 speaks of household tanks. [nm]"""
_BUILT_IN: Final = Strength()


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
    if strength.design_stress <= _BUILT_IN.design_stress:
        return []
    return [
        tr(
            "The design stress of {value:g} N/mm2 lies above the built-in {limit:.1f}.",
            value=float(strength.design_stress),
            limit=float(_BUILT_IN.design_stress),
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
                size=show_size(GREATEST_LENGTH, GREATEST_WIDTH).removesuffix(" mm"),
                height=show(GREATEST_HEIGHT),
            )
        )
    return tuple(lines)
