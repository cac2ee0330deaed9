"""How the shop buys: service wanted, what stock costs, and the terms of its suppliers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyingSettings:
    """The table ``[buying]`` of the shop file.

    Parameters
    ----------
    service
        Share of replenishments in which the stock is to last, over 0 and under 1.
    service_for
        The same for some glasses, by glass key.
    review_weeks
        Weeks from one look at the stock to the next.
    holding
        What a year of holding costs, over the price.
    order_cost
        What an order costs beside the glass. [1/10,000 of the currency]
    short_cost
        What each sheet costs that is not there in a week, above its price. [1/10,000 of the currency]
    storage_kg
        What the racks may carry in all, or None. [kg]
    storage_sheets
        Sheets that the racks hold, by glass key.
    shut
        First and last day of times in which nothing is cut.
    """

    service: Fraction = Fraction(95, 100)
    service_for: Mapping[str, Fraction] = field(default_factory=dict)
    review_weeks: int = 1
    holding: Fraction = Fraction(20, 100)
    order_cost: int = 400_000
    short_cost: int = 500_000
    storage_kg: int | None = None
    storage_sheets: Mapping[str, int] = field(default_factory=dict)
    shut: tuple[tuple[date, date], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceStep:
    """From so many sheets on, each costs this. [1/10,000 of the currency]"""

    sheets: int
    price: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """The terms of one stock size.

    Parameters
    ----------
    name, glass
        Of the stock size (`StockSize.name`), and its glass key.
    width, height
        Nominal size. [nm]
    supplier
        May be empty.
    prices
        Rising by sheets; the first one holds from one sheet on.
    lead_days, lead_spread
        Days until it is here (calendar days), mean and standard deviation.
    case
        Sheets in a case; only whole cases can be bought.
    least
        Fewest sheets of an order.
    freight, freight_a_sheet
        Of a delivery, and for each sheet in it. [1/10,000 of the currency]
    """

    name: str
    glass: str
    width: int
    height: int
    supplier: str = ""
    prices: tuple[PriceStep, ...]
    lead_days: int = 7
    lead_spread: int = 0
    case: int = 1
    least: int = 1
    freight: int = 0
    freight_a_sheet: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Arriving:
    """Sheets that are on order.

    Parameters
    ----------
    name
        Of the stock size.
    sheets
        How many are still to come.
    day
        Day on which they are promised.
    """

    name: str
    sheets: int
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class StockNow:
    """What is there: free sheets by stock size, and what is on order."""

    on_hand: Mapping[str, int] = field(default_factory=dict)
    arriving: tuple[Arriving, ...] = ()
