"""The sizes on offer for one glass, each at what a sheet costs when as many are bought as are wanted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from ..buying.settings import Supply
from ..rules import Rules
from ..shop import Shop
from ..stock import StockPiece

DELIVERIES: Final = 12
"""Orders of a size in a year, from which the wanted quantity follows [our assumption]."""
FILL: Final = Fraction(4, 5)
"""Share of the sheets that is cut, for the wanted quantity alone [our assumption]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedSize:
    """A size at its best offer.

    Parameters
    ----------
    supply
        The terms.
    sheets
        Sheets of an order for which the cost holds: whole cases.
    piece
        The sheet as stock, at `cost`.
    others
        Other offers of the same size that cost more, with their cost. [1/10,000 of the currency]
    """

    supply: Supply
    sheets: int
    piece: StockPiece
    others: tuple[tuple[Supply, int], ...] = ()

    @property
    def name(self) -> str:
        """Of the stock size."""
        return self.piece.name

    @property
    def cost(self) -> int:
        """Of a sheet, freight included. [1/10,000 of the currency]"""
        return self.piece.cost

    @property
    def area(self) -> int:
        """Of a sheet. [nm2]"""
        return self.piece.width * self.piece.height


def order_size(supply: Supply, wanted: int) -> int:
    """Sheets of an order that wants so many: no less than the least order, and whole cases."""
    case = max(1, supply.case)
    return -(-max(1, wanted, supply.least) // case) * case


def cost_of(supply: Supply, sheets: int) -> int:
    """What a sheet of an order costs: price step, and its part of the freight, rounded up. [1/10,000]"""
    price = max(
        (step for step in supply.prices if step.sheets <= sheets),
        key=lambda s: s.sheets,
        default=supply.prices[0],
    ).price
    return price + supply.freight_a_sheet - (-supply.freight // max(1, sheets))


def offers_of(
    supplies: Iterable[Supply], glass: str, shop: Shop, area: int, deliveries: int = DELIVERIES
) -> list[OfferedSize]:
    """The sizes on offer, each once, at the supplier that is cheapest for the wanted quantity.

    Parameters
    ----------
    supplies
        Of all glasses and suppliers.
    glass
        Glass key.
    shop
        Its trims.
    area
        Cut area of a year. [nm2]
    deliveries
        Orders of a size in a year.
    """
    by_size: dict[tuple[int, int], list[tuple[int, int, Supply]]] = {}
    for supply in supplies:
        if supply.glass != glass:
            continue
        sheet = Fraction(supply.width * supply.height) * FILL * deliveries
        wanted = -(-area * sheet.denominator // sheet.numerator)
        sheets = order_size(supply, wanted)
        key = (max(supply.width, supply.height), min(supply.width, supply.height))
        by_size.setdefault(key, []).append((cost_of(supply, sheets), sheets, supply))
    own = {(s.glass, s.width, s.height): s.trim for s in shop.stock_sizes}
    out = []
    for _, rows in sorted(by_size.items(), reverse=True):
        (cost, sheets, supply), *others = sorted(rows, key=lambda r: (r[0], r[2].supplier, r[2].name))
        piece = StockPiece(
            name=supply.name,
            glass=glass,
            width=supply.width,
            height=supply.height,
            trim=shop.trim(glass, own.get((glass, supply.width, supply.height))),
            cost=cost,
            buyable=True,
            lead_days=supply.lead_days,
        )
        if min(piece.inner_width, piece.inner_height) > 0:
            rest = tuple((s, c) for c, _, s in others)
            out.append(OfferedSize(supply=supply, sheets=sheets, piece=piece, others=rest))
    return out


def on_the_table(offers: Sequence[OfferedSize], rules: Rules) -> tuple[list[OfferedSize], list[OfferedSize]]:
    """The offers that fit the tables of the shop, and those that do not."""
    fit: list[OfferedSize] = []
    not_: list[OfferedSize] = []
    for offer in offers:
        largest = rules.largest_piece
        sides = sorted((offer.piece.width, offer.piece.height))
        fits = largest is None or (sides[1] <= max(largest) and sides[0] <= min(largest))
        (fit if fits else not_).append(offer)
    return fit, not_
