"""The curve of nests with few open orders, for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from panewright.io.numbers_text import decimal, money
from panewright.nesting.open_orders.curve import Point
from panewright.nesting.open_orders.weights import CURVE


def few_open_json(points: Sequence[Point], taken: Point) -> list[dict[str, Any]]:
    """The points that were made (write them with `numbers_text.spread`)."""
    return [
        {
            "point": CURVE.index(p.weights) + 1,
            "urgency": decimal(round(100 * p.weights.urgency), 2),
            "open": decimal(round(100 * p.weights.begun), 2),
            "sheets": len(p.nest.sheets),
            "cost": money(p.nest.cost),
            "most_open": p.nest.ordered.most_open,
            "least_open": p.nest.ordered.bound,
            "late_orders": list(p.nest.late),
            "within": p.within,
            "taken": p is taken,
        }
        for p in points
    ]
