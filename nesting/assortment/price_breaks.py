"""For every size on offer the price below which it becomes worth buying beside the sizes that are stocked.

At the optimum of the LP of the stocked sizes, with prices u of the panels, a sheet whose best pattern is worth
V(u) lowers the LP's value only where it costs less than V(u) (reduced cost; Gilmore and Gomory 1965). The prices
are scaled so that no stocked size has a pattern worth more than its cost: then a size that costs V(u) or more is
*proved* to save nothing beyond the distance of the LP's value from its bound.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction

from .size_pool import Row, SetValue, SizePool


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBreak:
    """One size beside the stocked ones.

    Parameters
    ----------
    size
        Index among the sizes on offer.
    cost
        What a sheet costs. [1/10,000 of the currency]
    below
        A sheet is worth buying below this. [1/10,000 of the currency]
    stocked
        Whether it is one of the stocked sizes.
    """

    size: int
    cost: int
    below: int
    stocked: bool = False

    @property
    def is_worth(self) -> bool:
        """Whether it costs less than that."""
        return self.cost < self.below

    @property
    def fall(self) -> Fraction:
        """By what share of its price it would have to fall; below 0 where it is worth buying already."""
        return Fraction(self.cost - self.below, self.cost) if self.cost else Fraction(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBreaks:
    """The list, the LP of the stocked sizes, and the round of pricing that its prices come from."""

    stocked: SetValue
    row: Row
    breaks: tuple[PriceBreak, ...]


def price_breaks(pool: SizePool, stocked: Collection[int], gap: float = 1e-4) -> PriceBreaks:
    """The price of every size on offer below which it is worth buying, the nearest to its own price first.

    Parameters
    ----------
    pool
        Of all sizes on offer.
    stocked
        Indexes of the sizes that are there.
    gap
        Of the LP of the stocked sizes.

    Raises
    ------
    ValueError
        Where a panel fits none of the stocked sizes.
    """
    value = pool.solve(stocked, gap)
    row = pool.best_row(stocked)
    every = range(len(pool.offers))
    if row is None:
        raise ValueError("the stocked sizes were not priced")
    if any(s not in row.best for s in every):
        pool.price(row.prices, every, None)
        row = pool.rows[-1]
    scale = min(Fraction(pool.costs[s], row.best[s]) for s in stocked if row.best[s] > 0)
    found = []
    for s in every:
        below = row.best[s] * scale
        found.append(
            PriceBreak(
                size=s,
                cost=pool.costs[s],
                below=-(-below.numerator // below.denominator)
                if s in stocked
                else below.numerator // below.denominator,
                stocked=s in stocked,
            )
        )
    return PriceBreaks(stocked=value, row=row, breaks=tuple(sorted(found, key=lambda b: (b.fall, b.size))))
