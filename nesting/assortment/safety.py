"""What one more size costs in stock: every size needs a safety stock of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, sqrt
from statistics import NormalDist, fmean, pstdev

from ..buying.settings import BuyingSettings, Supply

DAYS: int = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeStock:
    """The stock of one size of a set.

    Parameters
    ----------
    name
        Of the size.
    mean
        Sheets of a week.
    safety
        Sheets that are kept beyond what is expected until the next delivery.
    cycle
        Sheets that lie there on the average because whole orders come: half an order.
    cost
        Of holding both for a year. [1/10,000 of the currency]
    """

    name: str
    mean: float
    safety: int
    cycle: int
    cost: int


def size_stock(
    supply: Supply, cost: int, order: int, by_week: Sequence[int], number: int, buying: BuyingSettings
) -> SizeStock:
    """Safety stock and half an order of one size, and what holding them costs.

    Parameters
    ----------
    supply
        Lead time and its spread.
    cost
        Of a sheet. [1/10,000 of the currency]
    order
        Sheets of an order.
    by_week
        Sheets taken in the weeks that were planned.
    number
        Weeks in all, those in which nothing was cut among them.
    buying
        Service, review and holding cost of the shop.

    Notes
    -----
    Safety stock z * sqrt(L s^2 + m^2 v^2) with L weeks of protection (lead time and review), m and s mean
    and standard deviation of a week, v standard deviation of the lead time in weeks (the textbook formula of
    periodic review, Silver, Pyke and Peterson 1998, from memory). A rough figure to set sizes side by side;
    `panewright buy` works with the simulated weeks.
    """
    weeks = list(by_week) + [0] * max(0, number - len(by_week))
    mean, spread = fmean(weeks), pstdev(weeks)
    protect = supply.lead_days / DAYS + buying.review_weeks
    late = supply.lead_spread / DAYS
    z = NormalDist().inv_cdf(float(buying.service_for.get(supply.glass, buying.service)))
    safety = max(0, ceil(z * sqrt(protect * spread**2 + (mean * late) ** 2) - 1e-9))
    cycle = order // 2 if mean > 0 else 0
    held = (safety + cycle) * cost * buying.holding
    return SizeStock(name=supply.name, mean=mean, safety=safety, cycle=cycle, cost=round(held))
