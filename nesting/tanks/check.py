"""The thickness check of a whole tank: every wall, its base, and the openings in its panels."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from ..errors import NoLeastThickness
from ..hole_limits import region_of
from ..openings import Opening, relocated
from ..outlines import box, is_convex, is_rectangle
from ..shop import Shop
from ..shop_tanks import BaseSupport, Strength
from ..strength.base import check_base
from ..strength.cases import BaseCase, CrossBrace, Top, WallCase
from ..strength.cautions import beyond_household, cautions
from ..strength.regions import cut_away
from ..strength.verdict import BaseVerdict, Limit, Outcome, WallVerdict
from ..strength.wall import check_wall
from ..text import tr
from .build import Built
from .check_findings import about_base, about_braces, about_openings
from .findings import together
from .made import Finding
from .tank import Role
from .tops import cross_places, opposite_wall, rim_left
from .vessel import Vessel
from .walls import End, EndKind

_BONDS: Final = (Limit.BOND, Limit.BRACE_BOND)


@dataclass(frozen=True, slots=True, kw_only=True)
class TankCheck:
    """What the thickness check of a tank found.

    Parameters
    ----------
    walls
        Name and verdict of every wall; None where it is no float glass, or its least thickness is not known.
    base
        Verdict of the base likewise.
    findings
        About bedded bases, openings and what was not checked.
    cautions
        To stand beside every verdict.
    qualified
        The tank lies beyond household sizes: the verdict ends with the advice to have it calculated.
    """

    walls: tuple[tuple[str, WallVerdict | None], ...]
    base: BaseVerdict | None
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    qualified: bool

    @property
    def too_thin(self) -> tuple[str, ...]:
        """Names of the panels that bend, or are stressed, beyond a limit."""
        return self._beyond(lambda limit: limit not in (*_BONDS, Limit.RIM))

    @property
    def weak_rims(self) -> tuple[str, ...]:
        """Names of the walls whose rim braces bend beyond their limit."""
        return self._beyond(lambda limit: limit is Limit.RIM)

    @property
    def overloaded(self) -> tuple[str, ...]:
        """Names of the panels whose bonded joints are stressed beyond their limit."""
        return self._beyond(lambda limit: limit in _BONDS)

    def _beyond(self, counts: Callable[[Limit], bool]) -> tuple[str, ...]:
        out = []
        for name, verdict in (*self.walls, ("base", self.base)):
            if verdict is not None and any(use > 1 and counts(limit) for use, limit in verdict.uses):
                out.append(name)
        return tuple(out)

    @property
    def worst(self) -> str:
        """What is used beyond its limit most, with the panel's name; empty where nothing is."""
        most, words = 1.0, ""
        for name, verdict in (*self.walls, ("base", self.base)):
            if verdict is not None and verdict.governs is not None and verdict.governs[0] > most:
                most, words = verdict.governs[0], f"{name}: {verdict.reason}"
        return words

    @property
    def unchecked(self) -> tuple[str, ...]:
        """Names of the walls that are not checked, or not all of their openings."""
        return tuple(n for n, v in self.walls if v is None or v.outcome is Outcome.NOT_CHECKED)

    @property
    def words(self) -> str:
        """The verdict on the tank in one line."""
        parts = []
        if self.too_thin:
            parts.append(tr("TOO THIN: {names}.", names=", ".join(self.too_thin)))
        if self.weak_rims:
            parts.append(tr("RIM BRACES TOO WEAK: {names}.", names=", ".join(self.weak_rims)))
        if self.overloaded:
            parts.append(tr("JOINTS STRESSED TOO HIGHLY: {names}.", names=", ".join(self.overloaded)))
        if not parts:
            enough = all(verdict is not None and verdict.enough for _, verdict in self.walls)
            parts.append(
                tr("The walls are enough by this check.")
                if enough
                else tr("Not everything could be checked.")
            )
        if self.base is None or self.base.outcome is Outcome.NOT_CHECKED:
            parts.append(tr("The base is not checked."))
        if self.qualified:
            parts.append(tr("Have this tank calculated by a qualified person."))
        return " ".join(parts)


def check_walls(built: Built, shop: Shop) -> tuple[tuple[str, WallVerdict | None], ...]:
    """Name and verdict of every wall; None where it is no float glass, or its least thickness is not known.

    Nor is a wall checked that is braced by what is no float glass.
    """
    braces = (p for p in built.pieces if p.role is Role.BRACE)
    braced = all(shop.kinds[p.kind].is_float for p in braces)
    return tuple(
        (
            name,
            _checked(case, shop.strength) if braced and shop.kinds[built.piece(name).kind].is_float else None,
        )
        for name, case in zip(built.tank.shape.walls, wall_cases(built), strict=True)
    )


def check_tank(built: Built, shop: Shop) -> TankCheck:
    """Check walls, base and openings of a tank whose glass is settled."""
    strength = shop.strength
    walls = check_walls(built, shop)
    base = None
    with contextlib.suppress(NoLeastThickness):
        if shop.kinds[built.piece("base").kind].is_float:
            base = check_base(base_case(built), strength)
    length, width, height = built.vessel.size
    return TankCheck(
        walls=walls,
        base=base,
        findings=tuple(
            together(
                [
                    *about_base(built),
                    *about_braces(built, walls[0][1]),
                    *about_openings(built, walls, base, region_of(shop.list_unit)),
                ]
            )
        ),
        cautions=cautions(length, width, height, strength),
        qualified=beyond_household(length, width, height),
    )


def _checked(case: WallCase, strength: Strength) -> WallVerdict | None:
    try:
        return check_wall(case, strength)
    except NoLeastThickness:
        return None


def wall_cases(built: Built) -> list[WallCase]:
    """Every wall as a plate, in the order of the shape.

    Notes
    -----
    A wall spans from middle to middle of what holds it: half the thickness of a wall that ends on it,
    half the depth of a mitre. Its foot is the upper face of the base under it, or the middle of the
    base between the walls.
    """
    tank, vessel = built.tank, built.vessel
    foot = vessel.base_thickness if vessel.on_base else vessel.base_thickness // 2
    height = vessel.height - foot
    depth = height - tank.freeboard
    brace = tank.glass_of(Role.BRACE, "braces").thickness or 0
    openings = [
        tuple(
            _moved(o, e.start + _half(e.left), vessel.foot - foot)
            for o in built.piece(tank.shape.walls[i]).openings
        )
        for i, e in enumerate(vessel.ends)
    ]
    crossing, far = _crossing(built, openings, height)
    out = []
    for i, ends in enumerate(vessel.ends):
        strip = tank.top.rim_width(tank.shape.walls[i])
        out.append(
            WallCase(
                span=ends.length + _half(ends.left) + _half(ends.right),
                height=height,
                thickness=vessel.wall_thickness[i],
                level=max(depth, 0),
                density=tank.water.density,
                top=Top(
                    frame=tank.top.framed,
                    strip_width=strip,
                    strip_thickness=brace if strip else 0,
                    braces=tuple(crossing[i]),
                ),
                openings=openings[i],
                foot_glue=vessel.wall_thickness[i] if vessel.on_base else vessel.base_thickness,
                end_glue=_end_glue(vessel, i),
            )
        )
    return _coupled(out, far)


def _crossing(
    built: Built, openings: Sequence[Sequence[Opening]], height: int
) -> tuple[list[list[CrossBrace]], set[int]]:
    """The cross braces that hold each wall, whose openings are given, and the wall opposite the front."""
    tank, vessel = built.tank, built.vessel
    brace = tank.glass_of(Role.BRACE, "braces").thickness or 0
    crossing: list[list[CrossBrace]] = [[] for _ in vessel.ends]
    far: set[int] = set()
    for some, at in cross_places(tank, vessel):
        opposite, reach = opposite_wall(vessel, at - some.width // 2, at + some.width // 2)
        across = vessel.along(opposite, vessel.beside(0, at))
        places = {w: p + _half(vessel.ends[w].left) for w, p in ((0, at), (opposite, across))}
        # a brace that a notch leaves without hold at one wall holds neither
        if any(
            cut_away(openings[w], height, p, some.width)
            or not rim_left(tank, vessel, built.pieces, w, q - some.width // 2, q + some.width // 2)
            for (w, p), q in zip(places.items(), (at, across), strict=True)
        ):
            continue
        far.add(opposite)
        for wall, place in places.items():
            rim = tank.top.rim_width(tank.shape.walls[wall])
            crossing[wall].append(
                CrossBrace(
                    at=place,
                    width=some.width,
                    thickness=brace,
                    reach=reach,
                    # from rim brace to rim brace there are two joints on either side
                    joint=vessel.joint * (2 if rim and not some.lapped else 1),
                    removable=some.removable,
                    lap=rim if some.lapped else 0,
                )
            )
    return crossing, far


def _coupled(cases: list[WallCase], far: set[int]) -> list[WallCase]:
    """Front and opposite wall told of each other where their cross braces join unequal walls."""
    if not far:
        return cases
    (wall,) = far
    one, other = cases[0], cases[wall]
    image = replace(
        other,
        top=replace(other.top, braces=tuple(replace(b, at=other.span - b.at) for b in other.top.braces)),
    )
    if image == one and not one.openings:
        return cases
    out = list(cases)
    out[0], out[wall] = replace(one, opposite=other), replace(other, opposite=one)
    return out


def _end_glue(vessel: Vessel, i: int) -> int:
    """Width of the narrower bonded face at the vertical joints of a wall. [nm]

    A wall that runs through is held by the edge of the one that ends on it.
    """
    t, n = vessel.wall_thickness, len(vessel.ends)
    sides = ((vessel.ends[i].left, i - 1), (vessel.ends[i].right, (i + 1) % n))
    return min(t[other] if end.kind is EndKind.THROUGH else t[i] for end, other in sides)


def _half(end: End) -> int:
    """From the inner corner to the middle of what holds this end. [nm]"""
    return max(end.inner, end.outer, 0) // 2 if end.kind is not EndKind.ON else 0


def _moved(opening: Opening, dx: int, dy: int) -> Opening:
    return relocated(opening, lambda outline: tuple((x + dx, y + dy) for x, y in outline))


def base_case(built: Built) -> BaseCase:
    """The base as a plate over its bounding rectangle, from middle to middle of what carries it."""
    tank, vessel = built.tank, built.vessel
    x0, y0, x1, y1 = box(vessel.inner)
    wall = max(vessel.wall_thickness) if vessel.on_base else 0
    piece = built.piece("base")
    bx, by, _ = piece.place
    dx, dy = bx - x0 + wall // 2, by - y0 + wall // 2
    return BaseCase(
        length=x1 - x0 + wall,
        width=y1 - y0 + wall,
        thickness=vessel.base_thickness,
        level=max(vessel.inner_height - tank.freeboard, 0),
        brim=vessel.inner_height,
        support=tank.base,
        density=tank.water.density,
        polygon=not is_rectangle(vessel.inner),
        reentrant=not is_convex(vessel.inner),
        bond_width=None if vessel.on_base or tank.base is BaseSupport.BEDDED else vessel.base_thickness,
        openings=tuple(_moved(o, dx, dy) for o in piece.openings),
    )
