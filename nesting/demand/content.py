"""What the orders to come hold: whole past orders of the product, drawn again.

So the panels of one tank stay together, and series stay series. A product with hardly any order borrows from
the whole book.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from .book import BookedOrder
from .counted import Products

FEW: Final = 5
"""Below this number of orders of a product, all other orders stand in for those that lack."""


@dataclass(frozen=True, slots=True)
class Pools:
    """Past orders to draw from, by product.

    Parameters
    ----------
    order
        Place of each entry in the list of past orders, all products one after another.
    cumulated
        Weights of the entries added up over all products.
    start
        Where the entries of each product begin, and the end of the last, shape (products + 1,).
    """

    order: Any
    cumulated: Any
    start: Any

    def drawn(self, product: Any, uniform: Any) -> Any:
        """Places of drawn orders in the list of past ones.

        Parameters
        ----------
        product
            Of each order to draw; its pool must not be empty.
        uniform
            As many numbers in [0, 1).
        """
        if len(product) == 0:
            return np.zeros(0, dtype=np.int64)
        first, end = self.start[product], self.start[product + 1]
        low = np.where(first > 0, self.cumulated[first - 1], 0.0)
        at = np.searchsorted(self.cumulated, low + uniform * (self.cumulated[end - 1] - low), side="right")
        return self.order[np.clip(at, first, end - 1)]

    def filled(self) -> Any:
        """Whether anything can be drawn, by product."""
        return np.diff(self.start) > 0


def pools_of(
    orders: Sequence[BookedOrder], products: Products, this_week: int, half_life: float | None = None
) -> Pools:
    """Pools of past orders.

    Parameters
    ----------
    orders
        Cut ones.
    products
        What is counted apart; one that never came gets an empty pool.
    this_week
        Orders count by their age in weeks before it.
    half_life
        Weeks after which an order is drawn half as often; None: all alike. To be used where sizes drift.
    """
    kind = np.array([products.index(o) for o in orders], dtype=np.int64)
    age = np.array([this_week - o.week for o in orders], dtype=np.float64)
    weight = np.ones(len(orders)) if half_life is None else 0.5 ** (np.maximum(0.0, age) / half_life)
    entries, weights, start = [], [], [0]
    for k in range(len(products)):
        mine = np.flatnonzero(kind == k)
        entries.append(mine)
        weights.append(weight[mine])
        if 0 < len(mine) < FEW:
            rest = np.flatnonzero(kind != k)
            if len(rest):
                entries.append(rest)
                lent = (FEW - len(mine)) * weight[mine].mean()
                weights.append(weight[rest] / weight[rest].sum() * lent)
        start.append(sum(map(len, entries)))
    return Pools(
        np.concatenate(entries) if entries else np.zeros(0, np.int64),
        np.cumsum(np.concatenate(weights)) if weights else np.zeros(0),
        np.array(start, dtype=np.int64),
    )
