"""What every cutting-stock LP of one glass holds: demand, offers, the master and what has been proved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction

from ..optimizer.instance import Instance
from .farley import Offer, reachable_cost
from .master import Column, Master

RESCUE = 4.0
"""A panel outside every pattern costs this many times its area at the dearest price."""

SLACK = Fraction(1, 10**9)
"""The LP's value may be so much too high, by rounding."""


class CuttingStock:
    """The LP of an instance, whatever its patterns are; how they are priced is for the classes below it.

    Parameters
    ----------
    instance
        What is cut.
    sheets
        Stock that is really there, as indexes.
    """

    def __init__(self, instance: Instance, sheets: Sequence[int]) -> None:
        self.instance = instance
        self.sheets = merged(instance, sheets)
        self.offers = [Offer(instance.sheets[k].piece.cost, n) for k, n in self.sheets.items()]
        self.areas = [instance.sheets[k].area for k in self.sheets]
        self.types = [t for t, d in enumerate(instance.demand) if d]
        self._at = {t: i for i, t in enumerate(self.types)}
        self.demand = [instance.demand[t] for t in self.types]
        self.area = sum(instance.type_area[t] * d for t, d in zip(self.types, self.demand, strict=True))
        dearest = max(o.cost / max(1, a) for o, a in zip(self.offers, self.areas, strict=True))
        self.best_prices = [instance.type_area[t] * dearest for t in self.types]
        self.master = Master(
            self.demand,
            [o.cost for o in self.offers],
            [o.count for o in self.offers],
            [RESCUE * p for p in self.best_prices],
        )
        self.value = float("inf")
        self.raw = Fraction(0)
        self.bound = 0
        self.solved = False
        self.over = False  # nothing more to be had
        self.ready = False  # the columns are worth diving on
        self.work = 0  # in nodes of the tree search that take about as long

    def settled(self, bound: int) -> bool:
        """Whether whole sheets of the one size there is cost no more than a known bound, by the LP's value."""
        if len(self.offers) > 1 or self.value == float("inf"):
            return False
        low = Fraction(self.value) * (1 - SLACK)
        return reachable_cost(low, self.area, self.offers, self.areas) <= max(bound, self.bound)

    def premiums(self) -> list[tuple[int, int]]:
        """Index of each scarce stock size, and what one more of it would save. [1/10,000 of the currency]"""
        keys = list(self.sheets)
        self.master.solve()
        return [(keys[s], round(worth)) for s, worth in sorted(self.master.premiums().items())]

    def _worths(self, whole: Sequence[int]) -> list[int]:
        """Worth of every rectangle of the instance at these prices of the types."""
        return [sum(whole[self._at[t]] * n for t, n in r.uses if t in self._at) for r in self.instance.rects]

    def _column(self, offer: int, rects: Iterable[int]) -> Column:
        """The column of a pattern that holds these rectangles."""
        uses: Counter[int] = Counter()
        for rect in rects:
            for t, n in self.instance.rects[rect].uses:
                if t in self._at:
                    uses[self._at[t]] += n
        return Column(offer, tuple(sorted(uses.items())))


def merged(instance: Instance, sheets: Sequence[int]) -> dict[int, int | None]:
    """One index for all equal stock, with the number there is (None: no end)."""
    found: dict[tuple[object, ...], int] = {}
    out: dict[int, int | None] = {}
    for k in sheets:
        s = instance.sheets[k]
        key = (s.width, s.height, s.raw_right, s.raw_top, s.piece.cost)
        number = None if s.piece.buyable else s.piece.on_hand
        if key not in found:
            found[key] = k
            out[k] = number
        else:
            have = out[found[key]]
            out[found[key]] = None if have is None or number is None else have + number
    return out
