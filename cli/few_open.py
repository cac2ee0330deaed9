"""The curve of nests with few open orders on the screen."""

from __future__ import annotations

from collections.abc import Sequence

from panewright.cli.tables import table
from panewright.nesting.open_orders.curve import Point
from panewright.nesting.open_orders.weights import CURVE
from panewright.nesting.text import tr
from panewright.nesting.units import show_money


def point_names() -> tuple[str, ...]:
    """What the points of the curve are called."""
    return (
        tr("cost alone"),
        tr("a little"),
        tr("half and half"),
        tr("due days more"),
        tr("due day by due day"),
    )


def few_open_table(points: Sequence[Point], taken: Point, currency: str) -> str:
    """One row a point; the one that the plan is made of is marked."""
    rows = [
        [
            str(CURVE.index(p.weights) + 1),
            point_names()[CURVE.index(p.weights)],
            str(len(p.nest.sheets)),
            show_money(p.nest.cost),
            str(p.nest.ordered.most_open),
            str(len(p.nest.late)),
            tr("this plan") if p is taken else "" if p.within else tr("over 3 % dearer"),
        ]
        for p in points
    ]
    return table(
        tr("Few open orders, few late ones, and what they cost in {currency}", currency=currency),
        ["", tr("nest"), tr("sheets"), tr("cost"), tr("open at once"), tr("late orders"), ""],
        rows,
        left=2,
        words=(6,),
    )
