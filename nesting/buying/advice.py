"""The advice of a day: what to order of each size, from whom, and the figures that speak for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any, Final

import numpy as np

from ..forecast.futures import quantile_of
from ..shop import split_key
from .bridge import Bridge, bridge_of
from .order_choice import Choice, Delivery, Review, choose
from .policy import Run, run
from .protection import Protection, lacks_of, stock_without_orders
from .quantity import price_at
from .settings import Supply
from .storage import Taken, room_for
from .textbook import WEEKS_A_YEAR, YearlyCost, best_service, cheapest_quantity, newsvendor

NO_ORDER: Final = 10**12
"""A reorder point so far below zero never orders. [sheets]"""
SPARE: Final = Fraction(9, 10)
"""Share of futures in which a size that helps out has so much to spare."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Substitute:
    """Another size of the glass from which every panel of this one can be cut.

    Parameters
    ----------
    name
        Of the other size.
    spare
        Sheets of it that its own orders leave in 9 of 10 futures while the first one waits for its delivery.
    """

    name: str
    spare: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Textbook figures of a size.

    Parameters
    ----------
    newsvendor
        Quantity for the protection time as if bought once.
    best_service
        The service at which a sheet more costs what it saves.
    quantity
        Order quantity with price breaks and cases, or None where nothing is needed.
    """

    newsvendor: float
    best_service: float
    quantity: YearlyCost | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeAdvice:
    """What to do with one size.

    Parameters
    ----------
    supply
        The supplier taken.
    sheets
        To order today.
    each, money
        Price of a sheet, and of all of them with the freight of each. [1/10,000 of the currency]
    arrival
        Expected day.
    need
        What the size needs.
    with_order
        Futures in which the stock lasts with this order until the next look's order is here.
    choice
        The way taken, and what else was tried.
    room
        Sheets that find room, or None for no limit.
    joins
        It is ordered before it must be, since the delivery comes anyway.
    at_least
        Sheets that open orders alone are short of.
    bridge
        Sheets from a quicker supplier until this order is here.
    substitutes
        Other sizes that help out.
    beside
        Textbook figures.
    run
        The futures with this order and later ones by the same rule.
    """

    supply: Supply
    sheets: int
    each: int
    money: int
    arrival: date
    need: Protection
    with_order: int
    choice: Choice
    room: int | None
    joins: bool
    at_least: int
    bridge: Bridge | None
    substitutes: tuple[Substitute, ...]
    beside: Beside
    run: Run

    @property
    def service(self) -> Fraction:
        """Share of futures in which the stock lasts with this order."""
        return Fraction(self.with_order, self.need.futures)

    @property
    def before_arrival(self) -> int | None:
        """The last forecast week, counted from this one, that an order of today comes too late for; median."""
        begin = int(quantile_of(self.choice.start.lines.usable[:, 0], 0.5))
        return min(begin, len(self.need.lasts)) - 1 if begin else None

    @property
    def limited(self) -> bool:
        """Whether the racks hold less than would be ordered."""
        return self.sheets < self.choice.wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivered:
    """What is paid once for the delivery of a supplier. [1/10,000 of the currency]"""

    supplier: str
    names: tuple[str, ...]
    freight: int
    order_cost: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The advice of a day.

    Parameters
    ----------
    today
        The day.
    sizes
        By glass and name.
    deliveries
        Of today's orders, by supplier.
    review
        What it was made from.
    """

    today: date
    sizes: tuple[SizeAdvice, ...]
    deliveries: tuple[Delivered, ...]
    review: Review

    @property
    def money(self) -> int:
        """Of all orders of today, deliveries too. [1/10,000 of the currency]"""
        bridges = sum(s.bridge.money for s in self.sizes if s.bridge)
        return (
            bridges
            + sum(s.money for s in self.sizes)
            + sum(d.freight + d.order_cost for d in self.deliveries)
        )

    @property
    def orders(self) -> tuple[SizeAdvice, ...]:
        """The sizes to order today, the most pressing first."""
        return tuple(sorted((s for s in self.sizes if s.sheets), key=_pressing))


def _pressing(size: SizeAdvice) -> tuple[Fraction, str]:
    return size.need.lasts_now, size.supply.name


def advise(
    supplies: Sequence[Supply], review: Review, *, missing: Mapping[str, Sequence[date]] | None = None
) -> Advice:
    """What to order today.

    Parameters
    ----------
    supplies
        Terms of all sizes; several lines of one size are several suppliers.
    review
        Demand, stock, settings.
    missing
        By size the days of sheets that the open orders are short of (`OpenNeeds.missing`).

    Notes
    -----
    First every size by itself: those that must be ordered share the delivery of their supplier, and are chosen anew
    with their share. Then sizes that need not be ordered yet ride along where that is cheaper than an order of their
    own later. Where racks have limits, the most pressing size is given room first.
    """
    missing = missing or {}
    terms: dict[str, list[Supply]] = {}
    for supply in supplies:
        terms.setdefault(supply.name, []).append(supply)
    alone = {
        name: choose(mine, review, missing=missing.get(name, ())) for name, mine in sorted(terms.items())
    }
    must = {name: choice for name, choice in alone.items() if choice.best.today}
    sharing: dict[str, int] = {}
    for choice in must.values():
        who = _supplier(choice.best.supply)
        sharing[who] = sharing.get(who, 0) + 1

    taken = {name: _taken(choice, review, 0) for name, choice in alone.items()}
    found: dict[str, SizeAdvice] = {}
    for name in sorted(must, key=lambda n: (must[n].need.lasts_now, n)):
        supply = must[name].best.supply
        room = room_for(supply, must[name].start, taken, review)
        delivery = Delivery(sharing=sharing[_supplier(supply)])
        choice = choose([supply], review, delivery=delivery, room=room, missing=missing.get(name, ()))
        choice = _with_others(choice, must[name])
        bridged = bridge_of(choice, terms[name], review, missing=missing.get(name, ()), room=room)
        if bridged is not None:
            choice = replace(choice, start=bridged[1])
        found[name] = _advice(
            choice,
            review,
            room=room,
            at_least=review.pressing(supply, missing.get(name, ())),
            bridge=bridged[0] if bridged else None,
        )
        taken[name] = _taken(choice, review, choice.best.today)
    for name in sorted(alone.keys() - must.keys()):
        choice, joins, room = _riding(alone[name], review, sharing, taken)
        found[name] = _advice(choice, review, room=room, joins=joins)
        taken[name] = _taken(choice, review, choice.best.today)
    sizes = [_with_substitutes(size, found, review) for size in found.values()]
    sizes.sort(key=lambda s: (split_key(s.supply.glass), s.supply.name))
    return Advice(
        today=review.receiving.today, sizes=tuple(sizes), deliveries=_deliveries(sizes, review), review=review
    )


def _supplier(supply: Supply) -> str:
    """Whose delivery it is; sizes without a supplier come each by itself."""
    return supply.supplier or supply.name


def _taken(choice: Choice, review: Review, today: int) -> Taken:
    """What a size has in the racks where so many sheets are ordered today and none later."""
    never = np.full(len(choice.start.lines.reviews), -NO_ORDER, np.int64)
    way = replace(choice.way, today=today, levels=never)
    return Taken(supply=choice.best.supply, sheets=run(way, choice.start, review.weeks).most)


def _with_others(choice: Choice, alone: Choice) -> Choice:
    """The choice with the other suppliers that were compared."""
    others = tuple(t for t in alone.tried if t.supply is not choice.best.supply)
    return replace(choice, tried=(*choice.tried, *others))


def _riding(
    alone: Choice, review: Review, sharing: Mapping[str, int], taken: Mapping[str, Taken]
) -> tuple[Choice, bool, int | None]:
    """The choice for a size that needs no order yet, whether it rides along, and its room."""
    supply = alone.best.supply
    room = room_for(supply, alone.start, taken, review)
    with_it = sharing.get(_supplier(supply), 0)
    if not with_it or not alone.start.demand.any():
        return alone, False, room
    joins = choose([supply], review, delivery=Delivery(sharing=with_it + 1, joins=True), room=room)
    waits = choose([supply], review, delivery=Delivery(sharing=with_it + 1), room=room)
    if joins.best.today and joins.best.cost.total < waits.best.cost.total:
        return _with_others(joins, alone), True, room
    return alone, False, room


def _advice(
    choice: Choice,
    review: Review,
    *,
    room: int | None,
    joins: bool = False,
    at_least: int = 0,
    bridge: Bridge | None = None,
) -> SizeAdvice:
    supply, sheets = choice.best.supply, choice.best.today
    each = price_at(supply, sheets)
    early = bridge.sheets if bridge else 0
    lacks = lacks_of(_net(choice, review), choice.start.lines)
    return SizeAdvice(
        supply=supply,
        sheets=sheets,
        each=each,
        money=sheets * (each + supply.freight_a_sheet),
        arrival=choice.need.arrival,
        need=choice.need,
        with_order=int((lacks <= sheets + early).sum()),
        choice=choice,
        room=room,
        joins=joins,
        at_least=at_least,
        bridge=bridge,
        substitutes=(),
        beside=_beside(choice, review),
        run=run(choice.way, choice.start, review.weeks),
    )


def _net(choice: Choice, review: Review) -> Any:
    return stock_without_orders(review.paths, choice.best.supply.name, review.stock, review.receiving)


def _beside(choice: Choice, review: Review) -> Beside:
    supply, need, settings = choice.best.supply, choice.need, review.settings
    held = float(settings.holding) * supply.prices[0].price
    over = held * max(1, need.until) / WEEKS_A_YEAR
    seen = choice.start.demand[:, : review.paths.weeks]
    share = best_service(under=settings.short_cost, over=over)
    return Beside(
        newsvendor=newsvendor(
            mean=need.mean_demand, spread=need.spread_demand, under=settings.short_cost, over=over
        )
        if 0 < share < 1
        else need.mean_demand,
        best_service=share,
        quantity=cheapest_quantity(
            supply,
            a_year=float(seen.mean()) * WEEKS_A_YEAR,
            an_order=settings.order_cost,
            holding=float(settings.holding),
        ),
    )


def _with_substitutes(size: SizeAdvice, found: Mapping[str, SizeAdvice], review: Review) -> SizeAdvice:
    """The same with the sizes that can help out while it waits for its delivery."""
    mine = size.supply
    out = []
    for name, other in sorted(found.items()):
        its = other.supply
        if name == mine.name or its.glass != mine.glass:
            continue
        if max(its.width, its.height) < max(mine.width, mine.height):
            continue
        if min(its.width, its.height) < min(mine.width, mine.height):
            continue
        net = _net(other.choice, review)[:, : max(1, size.need.until)].min(axis=1)
        spare = -int(quantile_of(-net, float(SPARE)))
        if spare > 0:
            out.append(Substitute(name=name, spare=spare))
    return replace(size, substitutes=tuple(out))


def _deliveries(sizes: Sequence[SizeAdvice], review: Review) -> tuple[Delivered, ...]:
    by: dict[str, list[Supply]] = {}
    for size in sizes:
        if size.sheets:
            by.setdefault(_supplier(size.supply), []).append(size.supply)
        if size.bridge:
            by.setdefault(_supplier(size.bridge.supply), []).append(size.bridge.supply)
    return tuple(
        Delivered(
            supplier=mine[0].supplier,
            names=tuple(s.name for s in mine),
            freight=max(s.freight for s in mine),
            order_cost=review.settings.order_cost,
        )
        for _, mine in sorted(by.items())
    )
