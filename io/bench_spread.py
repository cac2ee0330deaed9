"""Drawn weeks with due days: how few orders are open at once, and how few are late, for how much more glass.

One thickness a week. An order is some tanks of one size; a tank is a base, two fronts and two sides. Four
orders in ten are of one of eight usual sizes. All edges are polished, 3 mm more in each direction. Due days
run over five working days so that each has the same work, and the table cuts a fifth of the sheets of the
cheapest nest a day, and a tenth more. Own problems, like those of the feasibility study (guide "sequence",
section 6.4).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.bench_order import Order, shop_panels
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.panels import Panel
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import MONEY, mm

GLASS: Final = "clear-6"
THICKNESS: Final = 6
TRIM: Final = 15
POLISH: Final = 3
BREAK_OUT: Final = 20
USUAL: Final = 8
"""Usual sizes of tanks."""
USUAL_SHARE: Final = 4
"""Orders in ten that are of a usual size."""
DAYS: Final = 5
START: Final = date(2027, 3, 1)
"""A Monday."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Weeks of one kind: orders, tanks of an order, and the sheet. [mm]"""

    name: str
    orders: int
    tanks: tuple[int, int]
    sheet: tuple[int, int]


KINDS: Final = (
    Kind(name="30 orders", orders=30, tanks=(1, 4), sheet=(3210, 2250)),
    Kind(name="40 orders", orders=40, tanks=(1, 6), sheet=(3210, 2250)),
    Kind(name="40 large orders", orders=40, tanks=(4, 12), sheet=(6000, 3210)),
)


def _tank(draw: Draw) -> tuple[int, int, int]:
    """Length, depth and height of a tank. [mm]"""
    return 5 * draw.between(80, 320), 5 * draw.between(50, 140), 5 * draw.between(55, 150)


def spread_week(seed: int, kind: Kind) -> Order:
    """A week by its seed."""
    draw = Draw(seed, KINDS.index(kind))
    usual = [_tank(draw) for _ in range(USUAL)]
    panels: list[Panel] = []
    areas: list[int] = []
    for number in range(kind.orders):
        size = usual[draw.below(USUAL)] if draw.below(10) < USUAL_SHARE else _tank(draw)
        length, depth, height = (s + POLISH for s in size)
        tanks = draw.between(*kind.tanks)
        sizes = [(length, depth), *[(length, height)] * 2, *[(depth, height)] * 2] * tanks
        panels += shop_panels(f"order-{number + 1:02d}", sizes, glass=GLASS, thickness=THICKNESS)
        areas.append(sum(a * b for a, b in sizes))
    # orders come in any order, so that their due days are drawn with them
    due, done = {}, 0
    for number, area in enumerate(areas):
        day = min(DAYS - 1, (2 * done + area) * DAYS // (2 * sum(areas)))
        due[f"order-{number + 1:02d}"] = START + timedelta(days=day)
        done += area
    width, height = kind.sheet
    sheet = StockPiece(
        name=f"{GLASS} {width}x{height}",
        glass=GLASS,
        width=mm(width),
        height=mm(height),
        trim=Trim(*(mm(TRIM),) * 4),
        cost=width * height * MONEY // 10**6,
        buyable=True,
    )
    return Order(
        name=f"{kind.name} {seed}",
        group=KINDS.index(kind) + 1,
        panels=tuple(replace(p, due=due[p.order]) for p in panels),
        stock=(sheet,),
        shop=Shop(cutting=CuttingChoice(levels=3, last_cut=True, break_out=mm(BREAK_OUT))),
    )


def capacity(sheets: int) -> CuttingDays:
    """A table that cuts a fifth of so many sheets a day, and a tenth more, rounded to the nearest."""
    return CuttingDays(sheets=max(1, (11 * sheets + 5 * DAYS) // (10 * DAYS)))
