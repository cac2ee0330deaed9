"""Cutting stock sets of the shared data folder, with their best values in print.

`furniture`: Macedo, Alves and Valerio de Carvalho 2010, orders of furniture makers, one sheet size each.
`mixed`: Silva, Alvelos and Valerio de Carvalho 2010, set C, knapsack problems read as cutting stock.
`assorted`: Pisinger and Sigurd 2005, three to five sheet sizes with costs; every fifth problem.
All in fixed orientation unless said otherwise; sizes have no unit and are taken as millimetres.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from panewright.io.bench_data import Problem, rows_of, strictly, text_of, whole
from panewright.io.bench_order import Order, shop_panels
from panewright.nesting.panels import Turn
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.text import tr
from panewright.nesting.units import mm

FURNITURE_SOURCE: Final = "Becker 2022, proven optimal"
MIXED_SOURCE: Final = "Becker, Araujo and Buriol 2021"
EVERY: Final = 5
"""One problem in this many of `assorted` is taken, the first of each five."""
MOST_PANELS: Final = 100_000
_GLASS: Final = "clear-6"

Row = Mapping[str, Any]


def _instances(path: Path) -> list[Row]:
    with strictly(path):
        found: list[Row] = json.loads(text_of(path))["instances"]
        if not found or not isinstance(found, list):
            raise ValueError(tr("no problems"))
        return found


def _items(one: Row) -> tuple[tuple[int, int], ...]:
    """Width and height of every single rectangle."""
    rows = [(whole(w), whole(h), whole(copies)) for w, h, copies in one["items"]]
    if sum(copies for _, _, copies in rows) > MOST_PANELS:
        raise ValueError(tr("more than {count} rectangles", count=MOST_PANELS))
    return tuple((w, h) for w, h, copies in rows for _ in range(copies))


def _one_sheet_size(path: Path) -> list[Problem]:
    out = []
    for one in _instances(path):
        with strictly(path):
            ((width, height, _, _),) = one["stock"]
            out.append(Problem(str(one["name"]), 0, whole(width), whole(height), _items(one)))
    return out


def furniture(folder: Path) -> list[Problem]:
    """The 43 problems A1 to A43, in their order."""
    found = _one_sheet_size(folder / "cutting_stock" / "macedo2010_A.json")
    return sorted(found, key=lambda p: (len(p.name), p.name))


def furniture_optima(folder: Path, *, turn: bool) -> dict[str, int]:
    """Proven optima in print by name, edge-to-edge cuts without a limit of levels (`FURNITURE_SOURCE`)."""
    path = folder / "cutting_stock" / "macedo2010_A_best_known.csv"
    # The table has two columns of one name, "proven_optimal", the first for fixed orientation.
    out: dict[str, int] = {}
    with strictly(path):
        head, *rows = [line.split(",") for line in text_of(path).splitlines() if line]
        column = head.index("bins_guillotine_rotation" if turn else "bins_guillotine_fixed")
        if head[column + 1] != "proven_optimal":
            raise ValueError(head[column + 1])
        for row in rows:
            if row[column + 1] == "True":
                out[row[0]] = int(row[column])
    return out


def mixed(folder: Path) -> list[Problem]:
    """The thirty problems of set C."""
    return _one_sheet_size(folder / "cutting_stock" / "silva2010_set_C.json")


@dataclass(frozen=True, slots=True)
class Optima:
    """Fewest sheets in print: without a limit of levels, and with two levels and a last cut."""

    free: int
    two: int


def mixed_optima(folder: Path) -> dict[str, Optima]:
    """Optima of set C by name (`MIXED_SOURCE`); that of Hchl7s without a limit follows from bounds."""
    path = folder / "cutting_stock" / "silva2010_set_C_best_known.csv"
    with strictly(path):
        return {
            row["name"]: Optima(
                free=_leading(row["opt_unlimited_stage_guillotine_fixed"]),
                two=_leading(row["opt_two_stage_non_exact_fixed"]),
            )
            for row in rows_of(path)
        }


def _leading(text: str) -> int:
    found = re.match(r"\d+", text)
    if not found:
        raise ValueError(repr(text[:40]))
    return int(found[0])


def assorted(folder: Path) -> list[Order]:
    """Every fifth problem with several sheet sizes: any number of each, free levels, no turning.

    Costs are those of the file, whole numbers without a unit.
    """
    path = folder / "cutting_stock" / "pisinger_sigurd2005_2dvsbpp.json"
    shop = Shop(cutting=CuttingChoice(levels=0, last_cut=True, break_out=0))
    out = []
    for one in _instances(path)[::EVERY]:
        with strictly(path):
            name = str(one["name"])
            group = re.fullmatch(r"MB_C(\d{1,2})_\d{1,2}", name)
            if not group:
                raise ValueError(name[:40])
            stock = tuple(
                StockPiece(
                    name=f"size {i}",
                    glass=_GLASS,
                    width=mm(whole(width)),
                    height=mm(whole(height)),
                    cost=whole(cost),
                    buyable=True,
                )
                for i, (width, height, _, cost) in enumerate(one["stock"], 1)
            )
            panels = shop_panels(name, _items(one), glass=_GLASS, thickness=6, turn=Turn.NONE)
            out.append(Order(name=name, group=int(group[1]), panels=panels, stock=stock, shop=shop))
    return out
