"""A few sheets from a quicker supplier, to last until the delivery of the one that is ordered from is here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from ..forecast.futures import quantile_of
from .order_choice import Choice, Review
from .policy import Start, costs_of, run_all
from .quantity import allowed, allowed_within, glass_cost, price_at
from .settings import Supply


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """Sheets that come sooner.

    Parameters
    ----------
    supply
        Of whom.
    sheets, each, money
        How many, the price of one, and of all with the freight of each. [1/10,000 of the currency]
    arrival
        Expected day.
    for_open
        Of them those that open orders wait for.
    """

    supply: Supply
    sheets: int
    each: int
    money: int
    arrival: date
    for_open: int


def bridge_of(
    choice: Choice, terms: Sequence[Supply], review: Review, *, missing: Sequence[date], room: int | None
) -> tuple[Bridge, Start] | None:
    """The bridge that pays, and where the size then begins; None where none does.

    Parameters
    ----------
    choice
        The order of today.
    terms
        All suppliers of the size.
    review
        The shop.
    missing
        Days by which sheets must be cut that open orders are short of.
    room
        Sheets that find room, or None; that of today's order is taken off.

    Notes
    -----
    Open orders that would miss their day are bridged in any case. For those to come it must be cheaper than running
    short: the dearer sheet and the delivery are held against what the futures say.
    """
    main = choice.best.supply
    found: list[tuple[int, str, Bridge, Start]] = []
    for supply in terms:
        if supply is main or supply.lead_days >= main.lead_days:
            continue
        here = review.receiving.working(review.receiving.today + timedelta(days=supply.lead_days))
        forced = sum(day < choice.need.arrival for day in missing)
        for wanted in sorted({forced, *(max(forced, n) for n in _lacks(choice, review, supply))} - {0}):
            sheets = allowed(supply, wanted)
            if room is not None:
                sheets = min(sheets, allowed_within(supply, room - choice.best.today))
            week = review.receiving.usable(here)
            if not sheets or week >= len(choice.start.comes):
                continue
            comes = choice.start.comes.copy()
            comes[week] += sheets
            start = replace(choice.start, comes=comes, on_order=choice.start.on_order + sheets)
            once = supply.freight + review.settings.order_cost
            cost = _cost(choice, start, review) + glass_cost(supply, sheets) + once
            if not forced and cost >= _cost(choice, choice.start, review):
                continue
            bridge = Bridge(
                supply=supply,
                sheets=sheets,
                each=price_at(supply, sheets),
                money=glass_cost(supply, sheets),
                arrival=here,
                for_open=min(forced, sheets),
            )
            found.append((cost, supply.supplier, bridge, start))
    if not found:
        return None
    _, _, bridge, start = min(found, key=lambda f: (f[0], f[1], f[2].sheets))
    return bridge, start


def _lacks(choice: Choice, review: Review, supply: Supply) -> list[int]:
    """Sheets wanting between the quicker delivery and today's order: in half, in most futures, at the service."""
    start = choice.start
    first = review.receiving.usable(review.receiving.today + timedelta(days=supply.lead_days))
    net = start.on_hand + np.cumsum(start.comes)[None, :] - np.cumsum(start.demand, axis=1)
    weeks = np.arange(net.shape[1])
    inside = (weeks >= first) & (weeks < start.lines.usable[:, :1])
    lack = np.where(inside, np.maximum(0, -net), 0).max(axis=1)
    return [int(quantile_of(lack, share)) for share in (0.5, 0.8, float(choice.need.service))]


def _cost(choice: Choice, start: Start, review: Review) -> int:
    """Of the way taken, from this start on."""
    supply, settings = choice.best.supply, review.settings
    once = supply.freight + settings.order_cost
    (cost,) = costs_of(
        run_all([choice.way], start, review.weeks),
        [choice.way],
        a_delivery=once,
        first_delivery=once,
        holding=settings.holding,
        short_cost=settings.short_cost,
    )
    return cost.total
