"""A tank's glass settled: the least stock thickness that is enough where advice is asked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..errors import NoLeastThickness
from ..glass import designation, glass_key
from ..shop import Shop
from ..shop_tanks import BaseSupport
from ..strength.thickness import least_thickness
from ..strength.verdict import Limit, Outcome, WallVerdict
from ..text import local_number, tr
from .build import Built, build
from .check import TankCheck, check_tank, check_walls
from .made import Edges
from .sizing import sized, with_walls
from .tank import Role, Tank
from .vessel import InvalidTank


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A tank with its glass settled, in pieces, and checked.

    Parameters
    ----------
    built
        The tank in pieces.
    check
        What the thickness check found.
    advice
        What was advised and why; empty where the order named the glass.
    """

    built: Built
    check: TankCheck
    advice: tuple[str, ...] = ()


def settle(tank: Tank, shop: Shop, edges: Edges) -> Settled:
    """Settle the glass of a tank, build and check it.

    Raises
    ------
    InvalidTank
        Where it cannot be built, or no glass of the kind is enough.
    """
    walls = [tank.glass_of(Role.WALL, name) for name in tank.shape.walls]
    open_walls = any(wish.thickness is None for wish in walls)
    base = tank.glass_of(Role.BASE, "base")
    if not open_walls and base.thickness is not None:
        return _made(tank, None, None, shop, edges)
    kinds = {wish.kind for wish in walls if wish.thickness is None}
    if base.thickness is None:
        kinds.add(base.kind)
    choices = sorted(set.intersection(*(set(stock_thicknesses(kind, shop)) for kind in kinds)))
    chosen: int | None = None
    base_choice: int | None = None
    while True:
        lines: list[str] = []
        if open_walls:
            # walls around a base of a given inside height span half its thickness besides
            chosen, lines = _walls(tank, choices, base_choice, shop, edges)
        if base.thickness is None:
            thickest = max([wish.thickness or 0 for wish in walls] + [chosen or 0, base_choice or 0])
            base_choice, more = _base(tank, chosen, [t for t in choices if t >= thickest], shop, edges)
            lines += more
        settled = _made(tank, chosen, base_choice, shop, edges)
        thin = open_walls and not _walls_enough(tank, settled.check.walls)
        if not thin or base.thickness is not None:
            return Settled(built=settled.built, check=settled.check, advice=tuple(lines))


def built_as_ordered(tank: Tank, shop: Shop, edges: Edges) -> Built:
    """A tank in pieces without a check of what the order settles itself: for what was cut long ago.

    Raises
    ------
    InvalidTank
        Where it cannot be built.
    """
    open_wish = any(tank.glass_of(Role.WALL, name).thickness is None for name in tank.shape.walls)
    if open_wish or tank.glass_of(Role.BASE, "base").thickness is None:
        return settle(tank, shop, edges).built
    return _in_this_shop(tank, None, None, shop, edges)


def stock_thicknesses(kind: str, shop: Shop) -> tuple[int, ...]:
    """The thicknesses of a kind that the shop can buy; all that it works where it buys none. [nm]"""
    worked = shop.kinds[kind].thicknesses
    bought = tuple(t for t in worked if shop.sizes_of(glass_key(kind, t)))
    return bought or worked


def _made(tank: Tank, walls: int | None, base: int | None, shop: Shop, edges: Edges) -> Settled:
    built = _in_this_shop(tank, walls, base, shop, edges)
    return Settled(built=built, check=check_tank(built, shop))


def _in_this_shop(tank: Tank, walls: int | None, base: int | None, shop: Shop, edges: Edges) -> Built:
    """A tank in pieces of glass that the shop works."""
    built = _built(tank, walls, base, edges)
    for piece in built.pieces:
        if not shop.has(glass_key(piece.kind, piece.thickness)):
            raise InvalidTank(
                "glass",
                tr(
                    "{name}: the shop has no {kind} glass of {thickness} mm",
                    name=piece.name,
                    kind=piece.kind,
                    thickness=_mm(piece.thickness),
                ),
                tr(
                    "name a thickness that it has, as in braces: {glass}",
                    glass=glass_key(piece.kind, shop.kinds[piece.kind].thicknesses[-1]),
                ),
            )
    return built


def _built(tank: Tank, walls: int | None, base: int | None, edges: Edges) -> Built:
    return build(sized(with_walls(tank, walls, base)), edges)


def _asked(tank: Tank) -> set[str]:
    """Names of the walls whose thickness is to be advised."""
    return {name for name in tank.shape.walls if tank.glass_of(Role.WALL, name).thickness is None}


def _walls_enough(tank: Tank, walls: Sequence[tuple[str, WallVerdict | None]]) -> bool:
    """Whether no wall that was asked about wants thicker glass."""
    asked = _asked(tank)
    return all(v is not None and v.glass_enough for name, v in walls if name in asked)


def _walls(
    tank: Tank, choices: Sequence[int], base: int | None, shop: Shop, edges: Edges
) -> tuple[int, list[str]]:
    """The least thickness for the walls, one for all of them, and why no thinner one.

    `base` is that of the base where it is advised already, else it goes with the walls. More thickness
    never raises a stress, so that the choices are halved. Where the tank cannot be built in one that is
    tried (thick glass leaves too little room inside), only those count in which it can. [nm]
    """
    known = [t for t in choices if _has_least(t, shop)]
    try:
        return _halved(tank, known, base, shop, edges)
    except _NotBuilt:
        return _halved(tank, _buildable(tank, known, base, edges), base, shop, edges)


class _NotBuilt(Exception):
    """The tank cannot be built in a thickness that was tried."""


def _buildable(tank: Tank, known: Sequence[int], base: int | None, edges: Edges) -> list[int]:
    """The thicknesses in which a tank can be built. [nm]

    Raises
    ------
    InvalidTank
        What is wrong with the thinnest where there is none.
    """
    out = []
    wrong: InvalidTank | None = None
    for thickness in known:
        try:
            _built(tank, thickness, max(thickness, base or 0), edges)
        except InvalidTank as error:
            wrong = wrong or error
        else:
            out.append(thickness)
    if wrong is not None and not out:
        raise wrong
    return out


def _halved(
    tank: Tank, known: Sequence[int], base: int | None, shop: Shop, edges: Edges
) -> tuple[int, list[str]]:
    asked = _asked(tank)
    found: dict[int, list[tuple[str, WallVerdict]]] = {}
    low, high = -1, len(known)
    while high - low > 1:
        middle = (low + high) // 2
        try:
            built = _built(tank, known[middle], max(known[middle], base or 0), edges)
        except InvalidTank as error:
            raise _NotBuilt from error
        verdicts = check_walls(built, shop)
        found[middle] = [(n, v) for n, v in verdicts if n in asked and v is not None]
        enough = _walls_enough(tank, verdicts)
        low, high = (low, middle) if enough else (middle, high)
    before = ""
    if low >= 0:
        before = tr("{thickness} mm is too thin; {why}", thickness=_mm(known[low]), why=_worst(found[low]))
    if high == len(known):
        raise InvalidTank(
            "thickness",
            tr(
                "no glass of this kind in the shop is enough for the walls; {why}",
                why=before or tr("none is known"),
            ),
            tr(
                "brace the tank, make it smaller, move its openings, or have it calculated by a qualified person"
            )
            if tank.openings
            else tr(
                "brace the tank, make it smaller, take a thicker base, or have it calculated by a qualified person"
            ),
        )
    thickness, taken = known[high], found[high]
    lines = [
        tr("walls: {thickness} mm advised; {why}", thickness=_mm(thickness), why=_worst(taken)),
        *([before] if before else []),
    ]
    if any(o.outcome is Outcome.NOT_CHECKED for _, v in taken for o in v.openings):
        lines.append(tr("openings that were not checked are left out of this advice"))
    return thickness, lines


def _has_least(thickness: int, shop: Shop) -> bool:
    try:
        least_thickness(thickness, shop.strength.limits)
    except NoLeastThickness:
        return False
    return True


def _mm(thickness: int) -> str:
    return local_number(designation(thickness))


def _worst(verdicts: Sequence[tuple[str, WallVerdict]]) -> str:
    """What is used most of the limits that thickness mends, with the wall's name."""
    each = [
        (max((use for use, limit in v.uses if limit is not Limit.BRACE_BOND), default=0.0), name, v)
        for name, v in verdicts
    ]
    if not each:
        return tr("not checked: no float glass, or its least thickness is not known")
    _, name, worst = max(each, key=lambda found: found[0])
    return f"{name}: {worst.glass_reason}"


def _base(
    tank: Tank, walls: int | None, choices: Iterable[int], shop: Shop, edges: Edges
) -> tuple[int, list[str]]:
    """The least thickness for the base, never below the thickest wall."""
    before = ""
    for thickness in choices:
        if tank.base is BaseSupport.BEDDED:
            return thickness, [
                tr(
                    "base: {thickness} mm, as the thickest wall; bedded, not computed",
                    thickness=_mm(thickness),
                )
            ]
        verdict = _made(tank, walls, thickness, shop, edges).check.base
        if verdict is None:
            continue
        if verdict.brim is None:
            return thickness, [
                tr(
                    "base: {thickness} mm, as the thickest wall; not computed",
                    thickness=_mm(thickness),
                )
            ]
        if verdict.glass_enough:
            return thickness, [
                tr(
                    "base: {thickness} mm advised; {why}",
                    thickness=_mm(thickness),
                    why=verdict.reason,
                ),
                *([before] if before else []),
            ]
        before = tr("{thickness} mm is too thin; {why}", thickness=_mm(thickness), why=verdict.reason)
    raise InvalidTank(
        "thickness",
        tr(
            "no glass of this kind in the shop is enough for the base; {why}",
            why=before or tr("none is known"),
        ),
        tr("bed the base on its whole area, or have the tank calculated by a qualified person"),
    )
