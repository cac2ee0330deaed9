"""Panels on stock that is free: a small plan of their own."""

from __future__ import annotations

from collections.abc import Generator, Sequence

from ..panels import Panel
from ..plan import Layout, Unplaced
from ..planner import Planner, impossible
from ..shop import Shop
from ..stock import StockPiece

QUICK = 20
"""Search steps of the first answer."""


def planned(
    panels: Sequence[Panel], stock: Sequence[StockPiece], shop: Shop, *, effort: int, seed: int
) -> Generator[int, None, tuple[list[Layout], list[Unplaced]]]:
    """The layouts of these panels on the stock, and what cannot be placed; yields the steps of each slice.

    Parameters
    ----------
    panels
        All that is to be placed.
    stock
        What is free.
    shop
        Its rules.
    effort
        Search steps.
    seed
        Of the search.
    """
    cannot = impossible(panels, stock, shop)
    planner = Planner(
        panels, stock, shop, seed=seed, effort=effort, unplaced=cannot, any_order=True
    )
    planner.start()
    done = 0
    more = True
    while more:
        more = planner.advance()
        steps = sum(row.steps for row in planner.progress())
        yield max(1, steps - done)
        done = max(steps, done)
    plan = planner.finish("effort", plain=True)
    return list(plan.layouts), list(plan.unplaced)
