"""Formulas of the inventory textbooks, shown beside what the simulated futures say.

They take demand as normal and steady, sheets as divisible and weeks as independent of each other; where few sheets
are cut a week none of that holds, which is why they advise nothing here.

References
----------
Stevenson, Operations Management, chapter 12: reorder points with varying demand and lead time, order quantity with
price breaks. Nahmias, Production and Operations Analysis: the newsstand.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt
from statistics import NormalDist
from typing import Final

from .quantity import allowed, price_at
from .settings import Supply

WEEKS_A_YEAR: Final = 52


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderPoint:
    """Mean demand over the lead time and what is kept above it, in sheets."""

    mean: float
    safety: float

    @property
    def sheets(self) -> float:
        """The stock at which to order."""
        return self.mean + self.safety


def reorder_point(
    *, demand: float, spread: float, lead: float, lead_spread: float = 0.0, service: float
) -> ReorderPoint:
    """Reorder point with normal demand over a lead time that may vary as well.

    Parameters
    ----------
    demand, spread
        Of one period: mean and standard deviation.
    lead, lead_spread
        Lead time in the same periods: mean and standard deviation.
    service
        Chance that the stock lasts over the lead time, over 0 and under 1.

    Notes
    -----
    ``d L + z sqrt(L sigma_d^2 + d^2 sigma_L^2)`` (Stevenson, chapter 12).

    Examples
    --------
    >>> round(reorder_point(demand=12, spread=5, lead=6, service=0.95).sheets, 2)
    92.15
    """
    z = NormalDist().inv_cdf(service)
    safety = z * sqrt(lead * spread**2 + demand**2 * lead_spread**2)
    return ReorderPoint(mean=demand * lead, safety=safety)


def newsvendor(*, mean: float, spread: float, under: float, over: float) -> float:
    """The quantity bought once for one period: the quantile at ``under / (under + over)`` of normal demand.

    Parameters
    ----------
    mean, spread
        Of the demand.
    under, over
        Cost of one too few, and of one too many.

    Examples
    --------
    >>> round(newsvendor(mean=11.73, spread=4.74, under=0.5, over=0.15), 2)
    15.22
    """
    if spread <= 0:
        return mean
    return NormalDist(mean, spread).inv_cdf(under / (under + over))


def best_service(*, under: float, over: float) -> float:
    """The service at which one sheet more costs what it saves."""
    return under / (under + over) if under + over > 0 else 0.0


def order_quantity(*, a_year: float, an_order: float, holding: float) -> float:
    """The economic order quantity ``sqrt(2 D S / h)``.

    Parameters
    ----------
    a_year
        Sheets in a year.
    an_order
        Cost of an order.
    holding
        Cost of holding a sheet for a year, in the same money.

    Examples
    --------
    >>> order_quantity(a_year=100, an_order=50, holding=4)
    50.0
    """
    return sqrt(2 * a_year * an_order / holding) if holding > 0 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class YearlyCost:
    """What an order quantity costs in a year: glass, orders and half the quantity held on the mean."""

    sheets: int
    cost: float


def yearly_cost(sheets: int, supply: Supply, *, a_year: float, an_order: int, holding: float) -> YearlyCost:
    """The cost of always ordering so many sheets.

    Parameters
    ----------
    sheets
        Of every order.
    supply
        Prices and freight.
    a_year
        Sheets in a year.
    an_order
        Of an order beside glass and freight. [1/10,000 of the currency]
    holding
        What a year of holding costs, over the price.
    """
    each = price_at(supply, sheets)
    orders = a_year / sheets * (an_order + supply.freight)
    glass = a_year * (each + supply.freight_a_sheet)
    return YearlyCost(sheets=sheets, cost=glass + orders + sheets / 2 * holding * each)


def cheapest_quantity(supply: Supply, *, a_year: float, an_order: int, holding: float) -> YearlyCost | None:
    """The order quantity that costs least in a year, with price breaks, whole cases and the least order.

    Looked at are, for each price, the whole cases at both sides of its economic quantity, and the fewest sheets that
    have the price: between price breaks the cost falls to the economic quantity and rises after it (Stevenson,
    chapter 12, for any sheet counts).

    Returns
    -------
    YearlyCost or None
        None where nothing is needed; of equal ones the smallest.
    """
    if a_year <= 0:
        return None
    tried: set[int] = set()
    for step in supply.prices:
        held = holding * step.price
        best = order_quantity(a_year=a_year, an_order=an_order + supply.freight, holding=held)
        low = max(int(best), step.sheets, 1)
        tried |= {allowed(supply, low), allowed(supply, ceil(best)), allowed(supply, step.sheets)}
        if low // supply.case:
            tried.add(allowed(supply, low // supply.case * supply.case))
    costs = [
        yearly_cost(q, supply, a_year=a_year, an_order=an_order, holding=holding) for q in sorted(tried) if q
    ]
    return min(costs, key=lambda c: (c.cost, c.sheets))
