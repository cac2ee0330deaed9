"""Products that orders are counted by: few, so that each has data; rare ones are pooled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from .book import BookedOrder

MOST: Final = 6
"""Products of their own; with those pooled and the remakes there are at most eight."""
LEAST: Final = 26
"""Orders from which on a product may stand alone: one in two weeks of a year."""
LEAST_SHARE: Final = 0.03
"""Share of all orders from which on it does."""
REMAKES: Final = "remakes"
OTHERS: Final = "others"


@dataclass(frozen=True, slots=True)
class Products:
    """What is counted apart: products by falling number of orders, then the others, then the remakes."""

    names: tuple[str, ...]

    def index(self, order: BookedOrder) -> int:
        """The place of an order's product; one never seen before belongs to the others."""
        name = REMAKES if order.remake else order.product
        return self.names.index(name) if name in self.names else len(self.names) - 2

    def __len__(self) -> int:
        return len(self.names)


def products_of(orders: Iterable[BookedOrder], most: int = MOST) -> Products:
    """The products that stand alone.

    Parameters
    ----------
    orders
        The past ones; remakes are a product of their own, whatever they replace.
    most
        Products of their own at most.
    """
    counts = Counter(o.product for o in orders if not o.remake)
    enough = max(LEAST, LEAST_SHARE * counts.total())
    ranked = sorted(counts, key=lambda name: (-counts[name], name))
    # one that is called like a pool joins it
    alone = [n for n in ranked if counts[n] >= enough and n not in (OTHERS, REMAKES)][:most]
    return Products((*alone, OTHERS, REMAKES))
