"""Problems for the whole planner: panels, stock and a shop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import mm

PLAIN = (Edge(work=Work.CUT),) * 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What the planner is given; all of one glass.

    Parameters
    ----------
    name
        Of the problem.
    group
        Class of the set.
    panels, stock, shop
        See `Planner`.
    """

    name: str
    group: int
    panels: tuple[Panel, ...]
    stock: tuple[StockPiece, ...]
    shop: Shop

    @property
    def sizes(self) -> int:
        """Different cut outlines."""
        return len({p.cut for p in self.panels})


def shop_panels(
    order: str, sizes: Sequence[tuple[int, int]], *, glass: str, thickness: int, turn: Turn = Turn.ANY
) -> tuple[Panel, ...]:
    """One rectangle with cut edges for each size. [mm]"""
    digits = max(4, len(str(len(sizes))))
    return tuple(
        Panel(
            id=f"{order}/{i:0{digits}d}",
            order=order,
            name=f"{i:0{digits}d}",
            glass=glass,
            thickness=mm(thickness),
            finished=outline,
            cut=outline,
            edges=PLAIN,
            turn=turn,
        )
        for i, (w, h) in enumerate(sizes)
        for outline in [rectangle(mm(w), mm(h))]
    )
