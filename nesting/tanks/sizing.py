"""A tank's missing size from the volume that is wanted, and its braces' glass from its walls'."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from ..errors import InvalidOutline
from ..text import tr
from ..units import mm, show
from .tank import GlassWish, Role, Tank
from .vessel import InvalidTank, vessel_of

GREATEST: Final = mm(12_000)


def sized(tank: Tank) -> Tank:
    """The tank with the size that its wanted volume asks for; its glass must be settled.

    The least multiple of the grid is taken that holds the volume when full to the brim.

    Raises
    ------
    InvalidTank
        Where no size below 12 m does.
    """
    wish = tank.wish
    if wish is None:
        return tank

    def volume(size: int) -> int:
        try:
            return vessel_of(_with_size(tank, size)).volume()
        except (InvalidTank, InvalidOutline):
            return -1

    low, high = 0, GREATEST // wish.grid
    if volume(high * wish.grid) < wish.volume:
        raise InvalidTank(
            "volume",
            tr("no {size} up to {most} gives this volume", size=wish.size, most=show(GREATEST)),
            tr("correct the volume or the other sizes"),
        )
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if volume(middle * wish.grid) >= wish.volume else (middle, high)
    return _with_size(tank, high * wish.grid)


def _with_size(tank: Tank, size: int) -> Tank:
    assert tank.wish is not None
    if tank.wish.shape is None:
        return replace(tank, height=size, wish=None)
    return replace(tank, shape=tank.wish.shape(size), wish=None)


def with_walls(tank: Tank, thickness: int | None, base: int | None = None) -> Tank:
    """The tank with walls and base as thick as this where advice was asked for. [nm]"""
    glass = dict(tank.glass)
    for key, wish in tank.glass.items():
        if wish.thickness is not None or key in (Role.BRACE, Role.COVER, Role.INSIDE):
            continue
        is_base = key is Role.BASE or key == "base"
        chosen = base if is_base and base is not None else thickness
        glass[key] = GlassWish(wish.kind, chosen)
    braces = glass[Role.BRACE]
    if braces.thickness is None:
        walls = [glass.get(name, glass[Role.WALL]).thickness for name in tank.shape.walls]
        known = [t for t in walls if t is not None]
        glass[Role.BRACE] = GlassWish(braces.kind, max(known, default=None))
    return replace(tank, glass=glass)
