"""Synthetic weeks of a shop that makes tanks: our own problems, drawn from a seed.

Clear glass of 10 mm, break-out distance 30 mm, trim 15 mm on every raw side, turning allowed, three levels and
a last cut. A week is a list of tank models, each made in a small series: two fronts, two sides between
them, a base, two long braces and for the longer ones a cross brace. Models are added until the week has
the wanted number of panel sizes, then copies move up or down by one until it has the wanted number of
panels; a week whose area is more than 5 % off the wanted one is drawn again.

The numbers of sizes, panels and square metres are those of the weeks on which the bounds and engines
were studied before; the weeks themselves are new.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.bench_order import Order, shop_panels
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import MONEY, mm

GLASS: Final = "clear-10"
THICKNESS: Final = 10
TRIM: Final = 15
SHEET: Final = (3300, 2140)
THREE_SHEETS: Final = (SHEET, (2440, 1650), (6000, 3210))
OFFCUTS: Final = 12
COPIES: Final = (2, 20)
"""Least and most panels of one size."""
LONG_SIDES: Final = (300, 2400)
SHORT_SIDES: Final = (60, 1200)
EACH: Final = 2
"""Weeks of each group."""
TOLERANCE: Final = 5
"""Greatest distance of a week's area from the wanted one. [%]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Weeks of one kind: sizes, panels, wanted area [mm2], and ranges of the tanks' outer sizes [mm]."""

    name: str
    sizes: int
    panels: int
    area: int
    length: tuple[int, int]
    depth: tuple[int, int]
    height: tuple[int, int]


GROUPS: Final = (
    Group(
        name="small",
        sizes=20,
        panels=179,
        area=19_000_000,
        length=(300, 700),
        depth=(200, 450),
        height=(250, 450),
    ),
    Group(
        name="mid",
        sizes=40,
        panels=466,
        area=163_000_000,
        length=(500, 1600),
        depth=(300, 750),
        height=(350, 750),
    ),
    Group(
        name="big",
        sizes=60,
        panels=633,
        area=384_000_000,
        length=(700, 2400),
        depth=(400, 1000),
        height=(400, 1000),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Panel sizes of a week: long side, short side [mm], copies."""

    name: str
    group: str
    rows: tuple[tuple[int, int, int], ...]

    @property
    def panels(self) -> int:
        """Panels in all."""
        return sum(copies for _, _, copies in self.rows)

    @property
    def area(self) -> int:
        """Area of all panels. [mm2]"""
        return sum(long * short * copies for long, short, copies in self.rows)


def tank_panels(draw: Draw, group: Group) -> list[tuple[int, int, int]]:
    """Panels of one tank model: two sides [mm] and how many the series takes."""
    length, depth, height = (5 * draw.between(a // 5, b // 5) for a, b in _ranges(group))
    series = draw.between(1, 6)
    inside = 2 * THICKNESS
    panels = [
        (length, height, 2 * series),
        (depth - inside, height, 2 * series),
        (length, depth, series),
        (length - inside, 10 * draw.between(6, 12), 2 * series),
    ]
    if length >= 900:
        panels.append((depth - inside, 10 * draw.between(8, 15), series))
    return panels


def _ranges(group: Group) -> tuple[tuple[int, int], ...]:
    return group.length, group.depth, group.height


def is_sized(long: int, short: int) -> bool:
    """Whether a panel of these sides [mm] is of the sizes that a week holds."""
    return LONG_SIDES[0] <= long <= LONG_SIDES[1] and SHORT_SIDES[0] <= short <= SHORT_SIDES[1]


def _try(draw: Draw, group: Group) -> list[tuple[int, int, int]]:
    """One attempt at a week; its area may be off."""
    copies: dict[tuple[int, int], int] = {}
    least, most = COPIES
    while len(copies) < group.sizes:
        for a, b, number in tank_panels(draw, group):
            size = (max(a, b), min(a, b))
            if is_sized(*size) and (size in copies or len(copies) < group.sizes):
                copies[size] = min(most, max(least, copies.get(size, 0) + number))
    sizes = list(copies)
    while (rest := group.panels - sum(copies.values())) != 0:
        size, step = sizes[draw.below(len(sizes))], 1 if rest > 0 else -1
        if least <= copies[size] + step <= most:
            copies[size] += step
    return [(long, short, number) for (long, short), number in copies.items()]


def week(seed: int, group: int, number: int) -> Week:
    """A week by seed, index of its group in `GROUPS`, and running number from 1."""
    kind = GROUPS[group]
    draw = Draw(seed, group, number)
    while True:
        made = Week(name=f"{kind.name}-{number}", group=kind.name, rows=tuple(_try(draw, kind)))
        if abs(made.area - kind.area) * 100 <= TOLERANCE * kind.area:
            return made


def weeks(seed: int) -> list[Week]:
    """All weeks of a seed, the small ones first."""
    return [week(seed, group, number) for group in range(len(GROUPS)) for number in range(1, EACH + 1)]


def sheet(width: int, height: int) -> StockPiece:
    """A sheet that never runs out, raw on all sides, at 1 per square metre. [mm]"""
    return StockPiece(
        name=f"{GLASS} {width}x{height}",
        glass=GLASS,
        width=mm(width),
        height=mm(height),
        trim=Trim(*(mm(TRIM),) * 4),
        cost=width * height * MONEY // 10**6,
        buyable=True,
    )


def offcuts(seed: int, group: int, number: int) -> list[StockPiece]:
    """The offcuts in the rack of one week: cut on all sides, there once, at half the price of a sheet."""
    draw = Draw(seed, group, number, 1)
    out = []
    for i in range(1, OFFCUTS + 1):
        width, height = 5 * draw.between(120, 400), 5 * draw.between(100, 300)
        out.append(
            replace(
                sheet(width, height),
                name=f"offcut-{i:02d}",
                is_offcut=True,
                raw=(),
                trim=Trim(),
                cost=width * height * MONEY // (2 * 10**6),
                buyable=False,
                on_hand=1,
            )
        )
    return out


def orders(seed: int, which: str) -> list[Order]:
    """The weeks with their stock.

    Parameters
    ----------
    seed
        Of the draw.
    which
        ``weeks`` (one stock size), ``weeks-three`` or ``weeks-offcuts``.
    """
    shop = Shop(cutting=CuttingChoice(levels=3, last_cut=True, break_out=mm(30)))
    out = []
    for group in range(len(GROUPS)):
        for number in range(1, EACH + 1):
            made = week(seed, group, number)
            stock = [sheet(*size) for size in (THREE_SHEETS if which == "weeks-three" else (SHEET,))]
            if which == "weeks-offcuts":
                stock += offcuts(seed, group, number)
            sizes = [(long, short) for long, short, copies in made.rows for _ in range(copies)]
            panels = shop_panels(made.name, sizes, glass=GLASS, thickness=THICKNESS)
            out.append(Order(name=made.name, group=group + 1, panels=panels, stock=tuple(stock), shop=shop))
    return out
