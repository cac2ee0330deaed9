"""Glass: kind and designation, its mass, and the key by which panels and stock meet."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from .units import NM2_PER_MM2, NM_PER_MM

DENSITY: Final = 2500
"""Soda-lime float. [kg/m3] (EN 572-1)"""

YOUNG: Final = 70_000.0
"""Modulus of elasticity of soda-lime glass. [N/mm2] (EN 572-1)"""

POISSON: Final = 0.22
"""Poisson's ratio, as in ASTM E1300 (from memory); EN 572-1 gives 0.20."""

INCH_NAMES: Final = {
    "3/32": "2.5",
    "7/64": "2.7",
    "1/8": "3",
    "5/32": "4",
    "3/16": "5",
    "1/4": "6",
    "5/16": "8",
    "3/8": "10",
    "1/2": "12",
    "5/8": "16",
    "3/4": "19",
    "1": "25",
}
"""Inch names of the nominal thicknesses and their designation in mm (ASTM C1036)."""

_KIND = re.compile(r"[a-z][a-z0-9]*(-[a-z][a-z0-9]*)*")


def kind_name(text: str) -> str | None:
    """The canonical name of a kind (``Low Iron`` is ``low-iron``), or None where it cannot be one."""
    name = re.sub(r"[\s_-]+", "-", text.strip().lower())
    return name if _KIND.fullmatch(name) and len(name) <= 40 else None


def designation(thickness: int) -> str:
    """The designation of a nominal thickness [nm] in mm, as in glass keys: ``10``, ``2.7``."""
    whole, rest = divmod(thickness, NM_PER_MM)
    return f"{whole}.{rest:06d}".rstrip("0").rstrip(".")


@lru_cache(maxsize=256)
def glass_key(kind: str, thickness: int) -> str:
    """The key by which panels and stock meet: ``clear-10``. Thickness in [nm]."""
    return f"{kind}-{designation(thickness)}"


def mass_grams(area2: int, thickness: int) -> int:
    """Mass of a piece of glass, rounded to the gram.

    Parameters
    ----------
    area2
        Twice its area. [nm2]
    thickness
        Nominal thickness. [nm]

    Notes
    -----
    2.5 kg per m2 and mm (EN 572-1): one mm3 weighs 2.5 mg.
    """
    top = area2 * thickness * DENSITY
    bottom = 2 * NM2_PER_MM2 * NM_PER_MM * 1_000_000
    return (top * 2 + bottom) // (2 * bottom)
