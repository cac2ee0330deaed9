"""Openings in a plate: stress of the region that they take, raised by the factor of a hole.

Factor 3 is that of a round hole under pull (Kirsch 1898). In bending it holds for holes that are small beside
the thickness; for larger ones the factor falls to (5 + 3 nu) / (3 + nu), about 1.8 (Goodier 1936), so that 3
is on the safe side. It does not speak of sharp corners, of crowded openings or of those near an edge, which
are therefore not checked. Distances and the third of a side are common practice for drilled glass.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ..openings import CutOut, Opening, opening_box
from ..units import NM_PER_MM
from .plate import Bending
from .verdict import OpeningVerdict, Outcome, Reason

HOLE_FACTOR: Final = 3.0

Box = tuple[int, int, int, int]


def cuts_top(opening: Opening, height: int) -> bool:
    """Whether an opening reaches the top edge of a wall of that height. [nm]"""
    return opening_box(opening)[3] >= height


def cut_away(openings: Sequence[Opening], height: int, at: int, width: int) -> bool:
    """Whether an opening through the top edge of a wall lies where a brace ends.

    Parameters
    ----------
    openings
        Of the wall.
    height
        Of the wall. [nm]
    at, width
        Middle and width of the brace, along the wall. [nm]
    """
    cut = [opening_box(o) for o in openings if cuts_top(o, height)]
    return any(x0 < at + width // 2 and at - width // 2 < x1 for x0, _, x1, _ in cut)


def unchecked(openings: Sequence[Opening], reason: Reason) -> tuple[OpeningVerdict, ...]:
    """Openings of a panel that is not computed."""
    return tuple(OpeningVerdict(opening=o, outcome=Outcome.NOT_CHECKED, reason=reason) for o in openings)


def _apart(a: Box, b: Box) -> int:
    """Distance of two boxes along the axis where it is greater. [nm]"""
    return max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])


def _obstacle(
    opening: Opening, others: Sequence[Opening], width: int, height: int, thickness: int, open_top: bool
) -> Reason | None:
    """Why the plate solution does not speak of an opening."""
    x0, y0, x1, y1 = here = opening_box(opening)
    if x1 <= 0 or y1 <= 0 or x0 >= width or y0 >= height:
        return Reason.OUTSIDE
    through_top = open_top and y1 >= height
    if x0 <= 0 or y0 <= 0 or x1 >= width or (y1 >= height and not open_top):
        return Reason.BONDED_EDGE
    if 3 * (x1 - x0) > width or 3 * (y1 - y0) > height:
        return Reason.TOO_LARGE
    if isinstance(opening, CutOut) and opening.corner_radius < thickness:
        return Reason.SHARP
    edges = [x0, y0, width - x1] + ([] if through_top else [height - y1])
    if min(edges) < 2 * thickness:
        return Reason.NEAR_EDGE
    if any(_apart(here, opening_box(o)) < 2 * thickness for o in others):
        return Reason.CROWDED
    return None


def check_openings(
    openings: Sequence[Opening],
    solutions: Sequence[Bending],
    size: tuple[int, int],
    thickness: int,
    design_stress: float,
    *,
    open_top: bool,
) -> tuple[OpeningVerdict, ...]:
    """Every opening against the design stress; the worst of all solutions counts.

    Parameters
    ----------
    openings
        In the frame of the plate. [nm]
    solutions
        Of the plate, with water to the brim.
    size
        Width and height of the plate. [nm]
    thickness
        Nominal. [nm]
    design_stress
        [N/mm2]
    open_top
        Whether an opening may cut through the top edge, as in a wall (the solutions then have it free).
    """
    out: list[OpeningVerdict] = []
    for i, o in enumerate(openings):
        others = [*openings[:i], *openings[i + 1 :]]
        reason = _obstacle(o, others, *size, thickness, open_top)
        if reason is not None:
            out.extend(unchecked([o], reason))
            continue
        x0, y0, x1, y1 = opening_box(o)
        sides = [v / NM_PER_MM for v in (x0, y0, x1, min(y1, size[1]))]
        stress = HOLE_FACTOR * max(s.stress_in(*sides).value for s in solutions)
        use = stress / design_stress
        outcome = Outcome.ENOUGH if use <= 1 else Outcome.NOT_ENOUGH
        out.append(OpeningVerdict(opening=o, outcome=outcome, stress=stress, use=use))
    return tuple(out)
