"""The tables of the shop file about tanks: lead days, tanks, edging line, thickness check."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Final

from panewright.io.shop_keys import Section
from panewright.nesting.edgework import Work
from panewright.nesting.shop_tanks import (
    BaseSupport,
    EdgingLine,
    LeadDays,
    Strength,
    TankHabits,
    ThicknessLimits,
    ToleranceLevel,
    WallsAt,
)
from panewright.nesting.text import tr
from panewright.nesting.units import mm

MOST_LEAD: Final = 120
GREATEST_STRESS: Final = 20
"""Beyond this no annealed glass carries water for years. [N/mm2]"""
_PLAIN: Final = {work.value: work for work in Work if work is not Work.MITRE}


def read_lead_days(part: Section) -> LeadDays:
    """The table ``[lead_days]``; what it leaves out keeps its built-in value."""
    base = LeadDays()
    found = {name: part.whole(name, 0, MOST_LEAD) for name in ("edging", "drilling", "bonding", "curing")}
    part.close()
    return LeadDays(**{name: getattr(base, name) if days is None else days for name, days in found.items()})


def read_tank_habits(part: Section) -> TankHabits:
    """The table ``[tanks]``."""
    base = TankHabits()
    limits = {
        "joint": (0, mm(10)),
        "freeboard": (0, mm(500)),
        "cover_thickness": (mm(2), mm(50)),
        "inside_thickness": (mm(2), mm(50)),
        "brace_width": (mm(20), mm(500)),
        "cross_width": (mm(20), mm(500)),
        "cover_clearance": (0, mm(50)),
        "fillet": (0, mm(30)),
    }
    lengths: dict[str, Any] = {name: part.length(name, low, high) for name, (low, high) in limits.items()}
    works: dict[str, Any] = {
        name: part.word(name, _PLAIN, getattr(base, name)) for name in ("shown", "bonded", "base", "inside")
    }
    walls = part.word("walls", {w.value: w for w in WallsAt}, base.walls)
    cartridge = part.whole("cartridge_ml", 50, 2000)
    tolerance = part.word(
        "tolerance", {level.value.lower(): level for level in ToleranceLevel}, base.tolerance
    )
    part.close()
    return TankHabits(
        walls=walls,
        tolerance=tolerance,
        cartridge_ml=base.cartridge_ml if cartridge is None else cartridge,
        **{name: getattr(base, name) if value is None else value for name, value in lengths.items()},
        **works,
    )


def read_edging_line(part: Section) -> EdgingLine:
    """The table ``[edging]``."""
    base = EdgingLine()
    limits = {
        "least_width": (mm(10), mm(500)),
        "greatest_length": (mm(500), mm(12_000)),
        "greatest_height": (mm(300), mm(6000)),
    }
    found = {name: part.length(name, low, high) for name, (low, high) in limits.items()}
    mitre = part.number("greatest_mitre", 0, 80)
    part.close()
    return EdgingLine(
        greatest_mitre=base.greatest_mitre if mitre is None else int(mitre * 1000),
        **{name: getattr(base, name) if value is None else value for name, value in found.items()},
    )


def read_strength(part: Section) -> Strength:
    """The table ``[strength]``."""
    base = Strength()
    stress = part.number("design_stress", 1, GREATEST_STRESS)
    bond = part.number("bond_stress", Fraction(1, 1000), Fraction(6, 10))
    modulus = part.number("bond_modulus", Fraction(1, 100), 10)
    deflection = base.deflection
    if part.has("deflection") and part.table["deflection"] == "none":
        deflection = None
    elif part.has("deflection"):
        deflection = part.whole("deflection", 50, 5000) or base.deflection
    holds, stiffness = base.frame_holds, base.frame_stiffness
    if part.has("frame"):
        value = part.table["frame"]
        if isinstance(value, str):
            holds = part.word("frame", {"not known": False, "holds": True}, False)
        else:
            # N m2, so that the figure can be read: 70 is an aluminium angle of about 1,000 mm4
            number = part.number("frame", 1, 1_000_000)
            stiffness = None if number is None else int(number * 1_000_000)
    strength = Strength(
        design_stress=base.design_stress if stress is None else stress,
        bond_stress=base.bond_stress if bond is None else bond,
        bond_modulus=base.bond_modulus if modulus is None else modulus,
        deflection=deflection,
        base=part.word("base", {b.value: b for b in BaseSupport}, base.base),
        limits=part.word("least_thickness", {x.value.lower(): x for x in ThicknessLimits}, base.limits),
        frame_holds=holds,
        frame_stiffness=stiffness,
        stop=part.word("too_thin", {"warn": False, "stop": True}, base.stop),
    )
    part.close()
    if strength.design_stress > base.design_stress:
        part.problems.note(
            part.file,
            tr("the design stress lies above the built-in {value} N/mm2", value=base.design_stress),
            tr("every page with a verdict says so; a qualified person must stand behind it"),
            column=part.path("design_stress"),
            value=f"{float(strength.design_stress):g}",
        )
    return strength
