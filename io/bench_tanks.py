"""Drawn tanks for the benchmark: all plan shapes, tops and interior panels, the same on every machine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.shop_file import default_shop
from panewright.nesting.shop_tanks import BaseSupport
from panewright.nesting.tanks import plan_shapes
from panewright.nesting.tanks.build import Built, build, panels_of
from panewright.nesting.tanks.check import check_tank
from panewright.nesting.tanks.made import Edges
from panewright.nesting.tanks.plan_shapes import Across, PlanShape
from panewright.nesting.tanks.tank import (
    Cover,
    CrossBraces,
    Divider,
    GlassWish,
    OverflowBox,
    RimBraces,
    Role,
    Tank,
    Top,
)
from panewright.nesting.units import mm

TANKS: Final = 10_000
CHECKED: Final = 200
"""Of the drawn tanks, that are checked one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TankTimes:
    """What was measured.

    Parameters
    ----------
    tanks, panels
        How many.
    build_seconds
        CPU time from tanks to panels. [s]
    check_seconds
        CPU time of each thickness check, rising. [s]
    """

    tanks: int
    panels: int
    build_seconds: float
    check_seconds: tuple[float, ...]


def drawn_tanks(draw: Draw, count: int) -> Iterator[Tank]:
    """Tanks whose glass is settled: two of three are rectangles, as in a shop's week."""
    for number in range(count):
        thickness = mm((6, 8, 10, 12, 15)[draw.below(5)])
        glass: dict[Role | str, GlassWish] = {role: GlassWish("clear", thickness) for role in Role}
        glass[Role.COVER] = glass[Role.INSIDE] = GlassWish("clear", mm(6))
        shape = _shape(draw)
        square = shape.kind == "rectangle"
        yield Tank(
            order=f"D-{number}",
            shape=shape,
            height=mm(draw.between(300, 700)),
            glass=glass,
            top=_top(draw, square),
            insides=_insides(draw) if square else (),
            base=BaseSupport.RIM if draw.below(2) else BaseSupport.BEDDED,
        )


def _shape(draw: Draw) -> PlanShape:
    p = plan_shapes
    length, width = draw.between(800, 1800), draw.between(350, 650)
    if draw.below(3):
        return p.rectangular(mm(length), mm(width))
    match draw.below(7):
        case 0:
            leg = draw.between(500, 900)
            return p.corner_pentagon(mm(leg), mm(leg), mm(leg // 3), mm(leg // 3))
        case 1:
            return p.regular(draw.between(5, 12), mm(draw.between(250, 400)), Across.SIDE)
        case 2:
            return p.long_octagon(mm(length), mm(width), mm(100), mm(100))
        case 3:
            return p.long_hexagon(mm(length), mm(width), mm(200))
        case 4:
            return p.trapezoid(mm(length), mm(length - 200), mm(width))
        case 5:
            return p.bent_front(mm(length), mm(width), mm(length // 2), mm(width // 2))
        case _:
            return p.l_shape(mm(length), mm(width), mm(length // 3), mm(width // 3))


def _top(draw: Draw, square: bool) -> Top:
    kind = draw.below(4)
    rim = RimBraces(width=mm(80)) if kind in (1, 2) else None
    cross = (CrossBraces(count=1, width=mm(120), lapped=rim is not None),) if kind >= 2 and square else ()
    covers = (Cover(count=2),) if square and draw.below(2) else ()
    return Top(rim=rim, cross=cross, covers=covers)


def _insides(draw: Draw) -> tuple[Divider | OverflowBox, ...]:
    if draw.below(2):
        return ()
    box = OverflowBox(walls=("back", "left"), along=mm(180), deep=mm(140), weir=mm(40))
    return (Divider(at=mm(draw.between(250, 500))), box)


def measured(seed: int, tanks: int, checked: int, clock: Callable[[], float]) -> TankTimes:
    """Build the drawn tanks into panels, then check some of them one by one.

    Parameters
    ----------
    seed
        Of the draw.
    tanks, checked
        How many are built, and how many checked.
    clock
        Of CPU time. [s]
    """
    shop = default_shop()
    drawn = list(drawn_tanks(Draw(seed), tanks))
    edges, numbers = Edges(shop), Counter[str]()
    builts: list[Built] = []
    began = clock()
    panels = 0
    for tank in drawn:
        built = build(tank, edges)
        panels += sum(1 for _ in panels_of(built, shop, numbers))
        if len(builts) <= checked:
            builts.append(built)
    taken = clock() - began
    check_tank(builts[-1], shop)  # warm
    times = []
    for built in builts[:checked]:
        began = clock()
        check_tank(built, shop)
        times.append(clock() - began)
    return TankTimes(tanks=tanks, panels=panels, build_seconds=taken, check_seconds=tuple(sorted(times)))
