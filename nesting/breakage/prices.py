"""What glass costs by its area: the price at which a panel that is made again takes new glass."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction

from ..plan import Plan
from ..shop import Shop
from ..stock import StockPiece

PriceOf = Callable[[str], Fraction]
"""Price of a glass. [1/10,000 of the currency per nm2]"""
Offer = tuple[str, int, int, int]
"""Glass, width [nm], height [nm] and price [1/10,000 of the currency] of a sheet."""


def _cheapest(offers: Iterable[Offer]) -> dict[str, Fraction]:
    best: dict[str, Fraction] = {}
    for glass, width, height, price in offers:
        each = Fraction(price, width * height)
        best[glass] = min(each, best.get(glass, each))
    return best


def price_of(shop: Shop, offers: Iterable[Offer] = ()) -> PriceOf:
    """The cheapest price of each glass among these sheets, else among the stock sizes of the shop.

    Nothing where no sheet of a glass is known.
    """
    sizes = _cheapest((s.glass, s.width, s.height, s.price) for s in shop.stock_sizes)
    best = sizes | _cheapest(offers)
    return lambda glass: best.get(glass, Fraction(0))


def stock_offers(stock: Iterable[StockPiece]) -> list[Offer]:
    """The sheets of a stock."""
    return [(s.glass, s.width, s.height, s.cost) for s in stock if not s.is_offcut]


def plan_offers(plan: Plan) -> list[Offer]:
    """The sheets of a plan."""
    return [(x.glass, x.width, x.height, x.cost) for x in plan.layouts if not x.is_offcut]
