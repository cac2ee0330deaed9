"""The check of a base that is held at its rim: water and its own mass on its bounding rectangle.

A bedded base carries no bending and is not computed. Sand and stones weigh more than the water that they
displace; they are not counted.
"""

from __future__ import annotations

from functools import lru_cache

from ..glass import DENSITY
from ..shop_tanks import BaseSupport, Strength
from ..units import NM_PER_MM
from .cases import BaseCase
from .levy import GRAVITY, Plate, Uniform
from .plate import Bending, solve
from .regions import check_openings, unchecked
from .thickness import least_thickness
from .verdict import BaseVerdict, BondAt, LevelCheck, Reason
from .wall import deflection_limit, where


def _solution(case: BaseCase, strength: Strength, level: int) -> Bending:
    mass = (case.density * level + DENSITY * case.thickness) / NM_PER_MM / 1000
    plate = Plate(
        span=case.length / NM_PER_MM,
        height=case.width / NM_PER_MM,
        thickness=least_thickness(case.thickness, strength.limits) / NM_PER_MM,
        load=Uniform(pressure=mass * GRAVITY * 1e-6),
    )
    return solve(plate)


def _level_check(case: BaseCase, strength: Strength, level: int) -> LevelCheck:
    solution = _solution(case, strength, level)
    length, width = solution.plate.span, solution.plate.height
    limit = deflection_limit(min(length, width), strength)
    bond, bond_at = 0.0, BondAt.NONE
    if case.bond_width is not None:
        glue = case.bond_width / NM_PER_MM
        bond, bond_at = max(solution.foot.value, solution.joints.value) / glue, BondAt.FOOT
    return LevelCheck(
        level=level,
        stress=solution.stress.value,
        stress_at=where(solution.stress, length, width),
        hogging=0.0,
        deflection=solution.deflection.value,
        deflection_at=where(solution.deflection, length, width),
        bond=bond,
        bond_at=bond_at,
        brace_bond=0.0,
        rim_stress=None,
        brace_forces=(),
        stress_use=solution.stress.value / float(strength.design_stress),
        deflection_use=None if limit is None else solution.deflection.value / limit,
        bond_use=None if case.bond_width is None else bond / float(strength.bond_stress),
        brace_bond_use=None,
        rim_use=None,
    )


@lru_cache(maxsize=64)
def check_base(case: BaseCase, strength: Strength) -> BaseVerdict:
    """Check a base; equal bases are computed once.

    Parameters
    ----------
    case
        The base.
    strength
        The shop's settings.

    Raises
    ------
    NoLeastThickness
        The least thickness of the glass is not known.
    """
    least = least_thickness(case.thickness, strength.limits)
    if case.support is BaseSupport.BEDDED or case.reentrant:
        bedded = case.support is BaseSupport.BEDDED
        openings = unchecked(case.openings, Reason.BEDDED if bedded else Reason.REENTRANT)
        return BaseVerdict(case=case, least=least, brim=None, stated=None, openings=openings)
    return BaseVerdict(
        case=case,
        least=least,
        brim=_level_check(case, strength, case.brim),
        stated=_level_check(case, strength, case.level),
        openings=check_openings(
            case.openings,
            [_solution(case, strength, case.brim)],
            case.size,
            case.thickness,
            float(strength.design_stress),
            open_top=False,
        ),
    )
