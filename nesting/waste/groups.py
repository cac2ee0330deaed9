"""Sums by week, glass, stock size, order and product, and what an order's glass costs for pricing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from .sheets import Part, SheetWaste
from .sums import WasteSums

Key = TypeVar("Key", bound=Hashable)


def by_sheet(sheets: Iterable[SheetWaste], key: Callable[[SheetWaste], Key]) -> dict[Key, WasteSums]:
    """Sums of whole sheets by what `key` says of them, in the order in which it first says it."""
    out: dict[Key, WasteSums] = defaultdict(WasteSums)
    for sheet in sheets:
        out[key(sheet)].add(sheet.sums)
    return dict(out)


def by_part(sheets: Iterable[SheetWaste], key: Callable[[SheetWaste, Part], Key]) -> dict[Key, WasteSums]:
    """Sums of the parts of sheets by what `key` says of them."""
    out: dict[Key, WasteSums] = defaultdict(WasteSums)
    for sheet in sheets:
        for part in sheet.parts:
            out[key(sheet, part)].add(part.sums)
    return dict(out)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Cost of the glass of a product's orders for each m2 of finished glass; offcuts kept count at their worth.

    Parameters
    ----------
    orders
        Of which a panel is whole.
    mean
        All their cost over all their glass. [1/10,000 of the currency per m2]
    least, quarter, middle, three_quarters, most
        Of single orders; the quarters are those of real orders, none is made up between two.
    """

    orders: int
    mean: int
    least: int
    quarter: int
    middle: int
    three_quarters: int
    most: int


def spread_of(orders: Iterable[WasteSums]) -> Spread | None:
    """How the cost per m2 of finished glass differs from order to order; None where nothing is finished."""
    mine = [one for one in orders if one.finished]
    rates = sorted(rate for one in mine if (rate := one.a_metre(one.net_cost)) is not None)
    mean = (total := WasteSums.of(mine)).a_metre(total.net_cost)
    if not rates or mean is None:
        return None
    return Spread(
        orders=len(rates),
        mean=mean,
        least=rates[0],
        quarter=_at(rates, 1),
        middle=_at(rates, 2),
        three_quarters=_at(rates, 3),
        most=rates[-1],
    )


def _at(rates: Sequence[int], quarters: int) -> int:
    """The first value that so many quarters of all do not exceed (inverse of the empirical distribution)."""
    return rates[max(0, -(-quarters * len(rates) // 4) - 1)]
