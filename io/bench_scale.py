"""Large orders: many different panels on large sheets, and how time grows with their number.

Both sides of a panel are drawn evenly from 200 to 2,500 mm; no two panels are of one size. Sheets of
6000 x 3210 mm without trims, no break-out distance, three levels and a last cut, turning allowed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from panewright.io.bench_draw import Draw
from panewright.io.bench_order import Order, shop_panels
from panewright.io.bench_run import Result
from panewright.nesting.outlines import area2
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import MONEY, mm

SIDES: Final = (200, 2500)
"""Least and greatest side of a panel. [mm]"""
SHEET: Final = (6000, 3210)
"""Width and height of the sheet. [mm]"""
SECONDS: Final = {500: 1.0, 5_000: 10.0, 50_000: 180.0}
"""Numbers of panels, and the CPU seconds of each where none are given."""
MOST: Final = 200_000
_GLASS: Final = "clear-6"


def scale_order(seed: int, number: int) -> Order:
    """So many different panels on one sheet size."""
    draw = Draw(seed, number)
    sizes: dict[tuple[int, int], tuple[int, int]] = {}
    while len(sizes) < number:
        width, height = draw.between(*SIDES), draw.between(*SIDES)
        sizes.setdefault((max(width, height), min(width, height)), (width, height))
    name = f"n{number}"
    sheet = StockPiece(
        name="sheet", glass=_GLASS, width=mm(SHEET[0]), height=mm(SHEET[1]), cost=MONEY, buyable=True
    )
    return Order(
        name=name,
        group=0,
        panels=shop_panels(name, list(sizes.values()), glass=_GLASS, thickness=6),
        stock=(sheet,),
        shop=Shop(cutting=CuttingChoice(levels=3, last_cut=True, break_out=0)),
    )


def seconds_for(number: int) -> float:
    """CPU seconds for so many panels where none are given: those of `SECONDS`, else 1 for every 500."""
    return SECONDS.get(number, number / 500)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleRow:
    """One order of the set.

    Parameters
    ----------
    result
        Sheets, seconds, steps.
    panel_area, sheet_area
        Area of all panels; area of one sheet. [nm2]
    last_area
        Area of the panels on the emptiest sheet. [nm2]
    memory
        Most memory held so far, or None. [bytes]
    """

    result: Result
    panel_area: int
    sheet_area: int
    last_area: int
    memory: int | None

    @property
    def waste(self) -> Fraction:
        """Whole sheets over the area bound, less 1."""
        return Fraction(self.result.sheets * self.sheet_area, self.panel_area) - 1

    @property
    def waste_used(self) -> Fraction:
        """The same, of the emptiest sheet only the area of its panels."""
        return Fraction((self.result.sheets - 1) * self.sheet_area + self.last_area, self.panel_area) - 1


def scale_row(result: Result, plan: Plan, memory: int | None) -> ScaleRow:
    """The figures of a plan of equal sheets on which every panel is placed."""
    panels = {p.id: area2(p.cut) // 2 for p in plan.panels}
    on_sheets = [
        sum(panels[leaf.panel] for leaf in layout.leaves if leaf.kind is LeafKind.PANEL and leaf.panel)
        for layout in plan.layouts
    ]
    return ScaleRow(
        result=result,
        panel_area=sum(on_sheets),
        sheet_area=plan.layouts[0].width * plan.layouts[0].height,
        last_area=min(on_sheets),
        memory=memory,
    )


def exponent(points: Sequence[tuple[int, float]]) -> float | None:
    """The e of seconds = c * n**e, by least squares of the logarithms; None for fewer than two points.

    Examples
    --------
    >>> round(exponent([(10, 1.0), (100, 100.0)]), 6)
    2.0
    """
    logs = [(math.log(n), math.log(s)) for n, s in points if s > 0]
    if len({x for x, _ in logs}) < 2:
        return None
    mean_x = math.fsum(x for x, _ in logs) / len(logs)
    mean_y = math.fsum(y for _, y in logs) / len(logs)
    above = math.fsum((x - mean_x) * (y - mean_y) for x, y in logs)
    return above / math.fsum((x - mean_x) ** 2 for x, _ in logs)
