"""The check of a wall: water to the brim and to the stated level, with every way its braces may act.

A cross brace lies between two bounds: with soft silicone at its end, where the wall sags most beside it, and
without any, where it pulls most over the brace. Both are computed, with and without the removable ones, one by one
and together, and the worst of all counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import combinations
from typing import Final

from ..errors import InvalidRule
from ..glass import YOUNG
from ..shop_tanks import Strength
from ..text import tr
from ..units import NM_PER_MM, show
from .cases import CrossBrace, Top, WallCase
from .levy import Plate, Water
from .plate import Bending, Peak, solve
from .regions import check_openings, cut_away, cuts_top
from .supports import Support
from .thickness import least_thickness
from .verdict import BondAt, LevelCheck, TopState, WallVerdict, Where

_EVERY: Final = 4


def strip_stiffness(width: int, thickness: int) -> float:
    """Bending stiffness E I of a rim brace against the push of the water, E t b3 / 12.

    Parameters
    ----------
    width, thickness
        [nm]

    Returns
    -------
    float
        [N mm2]
    """
    return YOUNG * (thickness / NM_PER_MM) * (width / NM_PER_MM) ** 3 / 12


def top_edge(case: WallCase, strength: Strength) -> tuple[float, TopState]:
    """Bending stiffness of what holds the top edge [N mm2], and how that edge counts."""
    top: Top = case.top
    if any(cuts_top(o, case.height) for o in case.openings):
        return 0.0, TopState.CUT
    if top.held:
        return math.inf, TopState.HELD
    if top.frame and strength.frame_holds:
        return math.inf, TopState.FRAME_HOLDS
    stiffness = 0.0
    state = TopState.FREE
    if top.strip_width and top.strip_thickness:
        stiffness += strip_stiffness(top.strip_width, least_thickness(top.strip_thickness, strength.limits))
        state = TopState.STRIP
    if top.frame and strength.frame_stiffness:
        return stiffness + strength.frame_stiffness, TopState.FRAME_BENDS
    if top.frame and state is TopState.FREE:
        state = TopState.FRAME_UNKNOWN
    return stiffness, state


def brace_support(brace: CrossBrace, span: int, modulus: float | None) -> Support:
    """Half a cross brace as a spring on the top edge: between equal walls its middle stands still.

    Parameters
    ----------
    brace
        Which.
    span
        Of the wall. [nm]
    modulus
        Of the silicone at its end, or None to leave it out. [N/mm2]
    """
    thickness = brace.thickness / NM_PER_MM
    soft = brace.reach / NM_PER_MM / 2 / (YOUNG * thickness)
    if modulus is not None:
        soft += brace.joint / NM_PER_MM / (modulus * thickness)
    start, end = max(brace.at - brace.width // 2, 0), min(brace.at + brace.width // 2, span)
    return Support(start=start / NM_PER_MM, end=end / NM_PER_MM, stiffness=1 / soft)


def _acting(case: WallCase) -> tuple[int, ...]:
    """Which braces an opening in the top edge leaves, those wholly outside the span left out."""
    return tuple(
        i
        for i, b in enumerate(case.top.braces)
        if -b.width < 2 * b.at < 2 * case.span + b.width
        and not cut_away(case.openings, case.height, b.at, b.width)
    )


def _layouts(acting: tuple[int, ...], braces: tuple[CrossBrace, ...]) -> list[tuple[int, ...]]:
    """All acting braces, and the fixed ones with some of the removable ones: none, each alone, all but each.

    One that is left alone pulls more than where all are in place. Up to `_EVERY` removable ones every choice is tried.
    """
    loose = [i for i in acting if braces[i].removable]
    if len(loose) <= _EVERY:
        sizes: Iterable[int] = range(len(loose), -1, -1)
    else:
        sizes = (len(loose), len(loose) - 1, 1, 0)
    kept = (set(some) for size in sizes for some in combinations(loose, size))
    return [tuple(i for i in acting if not braces[i].removable or i in some) for some in kept]


def _plate(case: WallCase, strength: Strength, level: int) -> Plate:
    """A wall under one water level [nm], without its braces."""
    stiffness, _ = top_edge(case, strength)
    return Plate(
        span=case.span / NM_PER_MM,
        height=case.height / NM_PER_MM,
        thickness=least_thickness(case.thickness, strength.limits) / NM_PER_MM,
        load=Water(level=level / NM_PER_MM, density=float(case.density)),
        top=stiffness,
    )


def _solutions(
    case: WallCase, strength: Strength, level: int
) -> list[tuple[Bending, tuple[CrossBrace, ...]]]:
    """The wall under one water level [nm] in every way that its braces may act."""
    plate = _plate(case, strength, level)
    if math.isinf(plate.top):
        return [(solve(plate), ())]
    acting, far = _acting(case), case.opposite
    if far is not None:
        acting = tuple(i for i in acting if i in _acting(far))
    out = []
    for layout in _layouts(acting, case.top.braces):
        braces = tuple(case.top.braces[i] for i in layout)
        for modulus in (float(strength.bond_modulus), None) if braces else (None,):
            other = None
            if far is not None and braces:
                theirs = (brace_support(far.top.braces[i], far.span, modulus) for i in layout)
                other = _plate(far, strength, min(level, far.height)), tuple(theirs)
            supports = tuple(brace_support(b, case.span, modulus) for b in braces)
            out.append((solve(plate, supports, other), braces))
    return out


def where(peak: Peak, span: float, height: float, supports: Sequence[Support] = ()) -> Where:
    """The place of a peak in words. Sizes in [mm]."""
    x, y = peak.x / span, peak.y / height
    if y > 0.9:
        if any(s.start - (s.end - s.start) <= peak.x <= s.end + (s.end - s.start) for s in supports):
            return Where.BRACE
        return Where.TOP_CENTRE if 0.35 <= x <= 0.65 else Where.TOP
    if y < 0.15:
        return Where.FOOT
    return Where.JOINTS if not 0.25 <= x <= 0.75 else Where.MIDDLE


def deflection_limit(span: float, strength: Strength) -> float | None:
    """Greatest bow of a span [mm], or None for no limit. [mm]"""
    return None if strength.deflection is None else span / strength.deflection


def level_check(
    case: WallCase,
    strength: Strength,
    level: int,
    solutions: Sequence[tuple[Bending, tuple[CrossBrace, ...]]],
) -> LevelCheck:
    """The worst of all solutions of a wall under one level [nm] against the limits."""
    span, height = case.span / NM_PER_MM, case.height / NM_PER_MM
    foot, ends = ((g or case.thickness) / NM_PER_MM for g in (case.foot_glue, case.end_glue))
    stress, stressed = max(((s.stress, s) for s, _ in solutions), key=lambda pair: pair[0].value)
    bow, bowed = max(((s.deflection, s) for s, _ in solutions), key=lambda pair: pair[0].value)
    bonds = [(s.foot.value / foot, BondAt.FOOT) for s, _ in solutions]
    bonds += [(s.joints.value / ends, BondAt.JOINTS) for s, _ in solutions]
    forces = dict.fromkeys(case.top.braces, 0.0)
    glued = []
    for s, braces in solutions:
        for brace, force in zip(braces, s.forces, strict=True):
            forces[brace] = max(forces[brace], force, key=abs)
            if not brace.removable:
                area = brace.width * max(brace.thickness, brace.lap) / NM_PER_MM**2
                glued.append(abs(force) / area)
    _, state = top_edge(case, strength)
    rim_stress = None
    if case.top.strip_width and state in (TopState.STRIP, TopState.FRAME_BENDS):
        # with a frame the whole of the edge's reaction is laid to the brace, which is on the safe side
        rim = case.top.strip_thickness / NM_PER_MM
        # a cross brace pulls at the wall through the rim brace and its joint
        bonds += [(float(s.top_hold(s.x).max()) / rim, BondAt.RIM) for s, _ in solutions]
        # a beam bends with the edge: sigma = E w'' b / 2
        bent = max(s.edge_curvature for s, _ in solutions)
        rim_stress = YOUNG * bent * case.top.strip_width / NM_PER_MM / 2
    bond, bond_at = max(bonds, key=lambda pair: pair[0])
    limit = deflection_limit(span, strength)
    return LevelCheck(
        level=level,
        stress=stress.value,
        stress_at=where(stress, span, height, stressed.supports),
        hogging=max((h for s, _ in solutions for h in s.hogging), default=0.0),
        deflection=bow.value,
        deflection_at=where(bow, span, height, bowed.supports),
        bond=bond,
        bond_at=bond_at,
        brace_bond=max(glued, default=0.0),
        rim_stress=rim_stress,
        brace_forces=tuple(forces[b] for b in case.top.braces),
        stress_use=stress.value / float(strength.design_stress),
        deflection_use=None if limit is None else bow.value / limit,
        bond_use=bond / float(strength.bond_stress),
        brace_bond_use=max(glued) / float(strength.bond_stress) if glued else None,
        rim_use=None if rim_stress is None else rim_stress / float(strength.design_stress),
    )


@lru_cache(maxsize=256)
def _check(case: WallCase, strength: Strength) -> WallVerdict:
    brim = _solutions(case, strength, case.height)
    check = level_check(case, strength, case.height, brim)
    stated = check
    if case.level < case.height:
        stated = level_check(case, strength, case.level, _solutions(case, strength, case.level))
    _, state = top_edge(case, strength)
    return WallVerdict(
        case=case,
        least=least_thickness(case.thickness, strength.limits),
        top=state,
        brim=check,
        stated=stated,
        without_removable=any(b.removable for b in case.top.braces),
        openings=check_openings(
            case.openings,
            [s for s, _ in brim],
            case.size,
            case.thickness,
            float(strength.design_stress),
            open_top=True,
        ),
    )


def check_wall(case: WallCase, strength: Strength) -> WallVerdict:
    """Check a wall; equal walls are computed once.

    Parameters
    ----------
    case
        The wall.
    strength
        The shop's settings.

    Raises
    ------
    InvalidRule
        A size that no wall has.
    NoLeastThickness
        The least thickness of the glass is not known.
    """
    for name, value in (
        (tr("span of a wall"), case.span),
        (tr("height of a wall"), case.height),
        *((tr("width of a cross brace"), b.width) for b in case.top.braces),
        *((tr("thickness of a cross brace"), b.thickness) for b in case.top.braces),
        *((tr("reach of a cross brace"), b.reach) for b in case.top.braces),
    ):
        if value <= 0:
            raise InvalidRule(name, show(value), tr("more than nothing"))
    if not 0 <= case.level <= case.height:
        raise InvalidRule(tr("water level"), show(case.level), tr("nothing to the height of the wall"))
    return _check(case, strength)
