"""What the racks are worth: sheets at what they cost, offcuts at their worth of the day. Money in whole units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum
from fractions import Fraction

from panewright.io.stock_list import cheapest, fits_tables
from panewright.io.store.items import Item
from panewright.io.store.offering import aged_worth
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece


class Basis(Enum):
    """What a value comes from."""

    PAID = "paid"
    LISTED = "shop file"
    """The shop file's price of this size."""
    AREA = "price of the glass"
    """The cheapest price per area of this glass."""
    AGED = "worth by age"
    UNKNOWN = "no price"


@dataclass(frozen=True, slots=True)
class Value:
    """What one piece is worth, and why. [1/10,000 of the currency]"""

    each: int
    basis: Basis


@dataclass(frozen=True, slots=True)
class Valued:
    """An item with what one piece of it is worth."""

    item: Item
    value: Value

    @property
    def total(self) -> int:
        """Of all its pieces in the rack. [1/10,000 of the currency]"""
        return self.value.each * self.item.balance.on_hand


class Prices:
    """Values of the pieces in the racks, by the same prices per area as the planner's.

    Parameters
    ----------
    shop
        Prices of stock sizes, the share and the days of offcuts.
    items
        Everything that is there: sizes that the shop file lacks have the price of their newest case.
    day
        On which offcuts are as old as they are.
    """

    def __init__(self, shop: Shop, items: Sequence[Item], day: date) -> None:
        self._shop, self._day = shop, day
        known = {size.name for size in shop.stock_sizes}
        newest: dict[str, Item] = {}
        for one in sorted(items, key=lambda i: i.key):
            # as the planner: only what is free and fits the tables, in the order in which it came
            if one.is_offcut or one.flaws or not one.balance.free or one.price is None:
                continue
            if one.size_name in known or not shop.has(one.glass):
                continue
            if fits_tables(shop, one.glass, one.width, one.height):
                newest[one.size_name] = one
        self._listed = [
            StockPiece(name=name, glass=i.glass, width=i.width, height=i.height, cost=i.price or 0)
            for name, i in newest.items()
        ]
        self._per_area: dict[str, Fraction | None] = {}

    def per_area(self, glass: str) -> Fraction | None:
        """Cheapest price per area of a glass. [1/10,000 of the currency per nm2]"""
        if glass not in self._per_area:
            self._per_area[glass] = cheapest(self._shop, glass, self._listed)
        return self._per_area[glass]

    def of(self, one: Item) -> Value:
        """What one piece of an item is worth."""
        area = one.width * one.height
        if one.is_offcut:
            price = self.per_area(one.glass)
            if price is None:
                return Value(0, Basis.UNKNOWN)
            return Value(aged_worth(self._shop, area, price, self.age(one)), Basis.AGED)
        if one.price is not None:
            return Value(one.price, Basis.PAID)
        sides = sorted((one.width, one.height))
        for size in self._shop.sizes_of(one.glass):
            if sorted((size.width, size.height)) == sides:
                return Value(size.price, Basis.LISTED)
        price = self.per_area(one.glass)
        return Value(0, Basis.UNKNOWN) if price is None else Value(round(price * area), Basis.AREA)

    def age(self, one: Item) -> int:
        """Days since an item came; none before it is there."""
        return max(0, (self._day - one.since).days)

    def valued(self, items: Sequence[Item]) -> list[Valued]:
        """Each item with its value."""
        return [Valued(one, self.of(one)) for one in items]
