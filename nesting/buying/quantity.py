"""How many sheets can be bought at once, and what they cost: cases, least order, price steps, freight."""

from __future__ import annotations

from .settings import Supply


def allowed(supply: Supply, sheets: int) -> int:
    """The fewest sheets in whole cases, no less than the least order, that are at least so many; 0 stays 0.

    Examples
    --------
    >>> from .settings import PriceStep
    >>> terms = Supply(name="s", glass="g", width=1, height=1, prices=(PriceStep(sheets=1, price=5),), case=6, least=8)
    >>> [allowed(terms, n) for n in (0, 1, 13)]
    [0, 12, 18]
    """
    if sheets <= 0:
        return 0
    cases = -(-max(sheets, supply.least) // supply.case)
    return cases * supply.case


def allowed_within(supply: Supply, room: int) -> int:
    """The most sheets that can be bought and still find room; 0 where the least order is too much."""
    most = max(0, room) // supply.case * supply.case
    return most if most >= allowed(supply, 1) else 0


def price_at(supply: Supply, sheets: int) -> int:
    """The price of each of so many sheets. [1/10,000 of the currency]"""
    price = supply.prices[0].price
    for step in supply.prices:
        if sheets >= step.sheets:
            price = step.price
    return price


def glass_cost(supply: Supply, sheets: int) -> int:
    """Of so many sheets with the freight of each, without what is paid once for a delivery.

    [1/10,000 of the currency]
    """
    return sheets * (price_at(supply, sheets) + supply.freight_a_sheet)
