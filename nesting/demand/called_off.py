"""Orders that are called off: the share of open orders that will never be cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from .book import BookedOrder, OrderBook

WEIGHT: Final = 20
"""Orders that were all cut, which the record begins with: without any called off, none will be."""


@dataclass(frozen=True, slots=True)
class CalledOff:
    """Days before its due day on which each was called off, sorted; and the orders that were cut."""

    days: Any
    cut: int

    @property
    def share(self) -> float:
        """Of all booked orders."""
        return len(self.days) / max(1, len(self.days) + self.cut)

    def stays(self, days: int) -> float:
        """Chance that an order, still open so many days before it is due, will be cut."""
        later = int(np.searchsorted(self.days, days, side="right"))
        return 1 - later / (later + self.cut + WEIGHT)


def called_off(book: OrderBook) -> CalledOff:
    """What the book tells; orders due before its first week are left out, as the cut ones of them are."""
    there: Iterable[BookedOrder] = [o for o in book.orders if o.week >= book.first_week]
    gone = [(o.due - o.cancelled).days for o in there if o.cancelled is not None and o.cut is None]
    return CalledOff(
        np.array(sorted(gone), dtype=np.int64), sum(o.cut is not None and o.cancelled is None for o in there)
    )
