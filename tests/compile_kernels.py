"""Compile the kernels once, before the tests: two processes side by side, half of the kernels each.

Workers that began with nothing compiled would compile the same kernels at the same time. What is missed
here is compiled by the first test that needs it.
"""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

from panewright.io import kernel_cache

# numba comes with the planner, and only after the folder of kernels is chosen: so it is imported late


def plan(panels, effort: int, **cutting: int) -> None:
    """Plan with all searches that the shop's way to cut calls for."""
    from panewright.nesting.planner import Planner
    from panewright.nesting.shop import CuttingChoice, Shop
    from panewright.nesting.stock import StockPiece
    from panewright.nesting.units import mm

    sheet = StockPiece(
        name="s", glass=panels[0].glass, width=mm(3210), height=mm(2250), cost=100, buyable=True
    )
    planner = Planner(panels, [sheet], Shop(cutting=CuttingChoice(**cutting)), effort=effort)
    planner.start()
    while planner.advance():
        pass


def rectangles():
    from panewright.nesting.optimizer.plain import plain_panel
    from panewright.nesting.units import mm

    plain = (plain_panel(mm(300 + 97 * k), mm(250 + 61 * k), f"{k}", turn=True) for k in range(12))
    return [replace(panel, glass="clear-10", thickness=mm(10)) for panel in plain]


def flawed() -> None:
    """The beam over a sheet with a flaw."""
    from panewright.nesting.flaws import Flaw
    from panewright.nesting.optimizer.flawed import yields
    from panewright.nesting.optimizer.instance import build
    from panewright.nesting.optimizer.plain import plain_panel
    from panewright.nesting.rules import Rules
    from panewright.nesting.stock import StockPiece
    from panewright.nesting.units import mm

    sheet = StockPiece(
        name="s", glass="plain", width=mm(900), height=mm(600), on_hand=1, flaws=(Flaw(0, 0, mm(1), mm(1)),)
    )
    yields(build([plain_panel(mm(300), mm(200), "0", turn=True)], [sheet], Rules()))


def lps() -> None:
    """The LP over levels and over any cuts, on sheets with raw sides and without."""
    from panewright.nesting.lp.free_levels import FreeLevels
    from panewright.nesting.lp.generation import Generation
    from panewright.nesting.optimizer.instance import build
    from panewright.nesting.optimizer.plain import GLASS, plain_panel
    from panewright.nesting.rules import Rules
    from panewright.nesting.stock import ALL_SIDES, StockPiece

    panels = [plain_panel(3 + k, 2 + k % 3, f"{k}", turn=True) for k in range(5)]
    for raw in (ALL_SIDES, frozenset()):
        sheet = StockPiece(name="s", glass=GLASS, width=12, height=9, cost=1, buyable=True, raw=raw)
        for levels, solver in ((2, Generation), (3, Generation), (None, FreeLevels)):
            rules = Rules(break_out=1, levels=levels, last_cut=True, least_offcut=(12, 9))
            for _ in solver(build(panels, [sheet], rules), [0]).rounds():
                pass


def limits() -> None:
    """The beams with break-out distance and limits, tables of level cuts, and convex panels side by side."""
    from panewright.io.bench_angled import angled_panel
    from panewright.nesting.outlines import make_outline
    from panewright.nesting.units import mm

    trapezoid = make_outline([(0, 0), (mm(500), 0), (mm(350), mm(400)), (0, mm(400))])
    plan([replace(angled_panel(f"A/p/{k}", trapezoid, "1"), mirror=True) for k in range(6)], 20)
    plan(rectangles(), 200)
    plan(rectangles(), 10, longest_cut=mm(3000))
    flawed()
    orders(flaws=True)


def free() -> None:
    """The plain beam, cuts of any number of levels, LPs, and convex panels at any angle."""
    import numpy as np

    from panewright.io.bench_run import prepare
    from panewright.nesting.free_regions import Nest, Shape, SheetSize, Slivers
    from panewright.nesting.units import mm

    prepare()
    for break_out in (0, mm(20)):
        plan(rectangles(), 200, levels=0, break_out=break_out)
    shape = Shape(np.array([[0, 0], [500, 0], [350, 400], [0, 400]], float), mirror=True)
    nest = Nest([shape], [7], [SheetSize(1000.0, 700.0)], Slivers(break_out=30.0, corner_depth=8.0))
    nest.start()
    for _ in range(3):
        nest.advance()
    lps()
    orders(flaws=False)


def orders(*, flaws: bool) -> None:
    """The ordered beam, with flaws compiled in or left out."""
    from panewright.nesting.flaws import Flaw
    from panewright.nesting.optimizer.instance import build
    from panewright.nesting.ordered.search import OrderedSearch
    from panewright.nesting.rules import Rules
    from panewright.nesting.stock import StockPiece
    from panewright.nesting.units import mm

    panels = [replace(panel, rack="r", slot=k) for k, panel in enumerate(rectangles()[:3], 1)]
    sheet = StockPiece(
        name="s", glass="clear-10", width=mm(3210), height=mm(2250), cost=1, on_hand=1,
        flaws=(Flaw(0, 0, mm(1), mm(1)),) if flaws else (),
    )  # fmt: skip
    OrderedSearch(build(panels, [sheet], Rules())).start()


HALVES = {"limits": limits, "free": free}


def both() -> None:
    """Both halves, unless that was done before."""
    folder = kernel_cache.prepare()
    if folder is None or (folder / "whole").exists():
        return
    halves = [subprocess.Popen([sys.executable, __file__, name]) for name in HALVES]
    if [half.wait() for half in halves] == [0, 0]:
        (folder / "whole").touch()


if __name__ == "__main__":
    if sys.argv[1:]:
        from panewright.io import solver_banner

        solver_banner.hush()
        HALVES[sys.argv[1]]()
    else:
        both()
