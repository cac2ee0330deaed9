"""How much of a size to order and from whom: a small grid of ways, run along the same futures, the cheapest taken.

Every way keeps the reorder points of the wanted service; what differs is the quantity, a few sheets of extra safety
and the supplier. Price steps, cases, least order, freight, order cost, holding and the cost of running short all
enter through the run, so that no formula has to hold for whole sheets and lumpy weeks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Final

from .lead_time import Receiving
from .paths import Paths
from .policy import Cost, Start, Way, costs_of, levels_of, run_all
from .protection import Protection, arrivals, lines_of, protection
from .quantity import allowed, allowed_within
from .settings import BuyingSettings, StockNow, Supply
from .textbook import WEEKS_A_YEAR, order_quantity

EXTRA: Final = (0, 1, 2)
"""Sheets of safety above the reorder point that are tried."""
COVERS: Final = (1, 2, 3, 4, 6, 8, 13, 26)
"""Weeks of mean demand that the quantities tried would cover."""
LEAST_WEEKS: Final = 26
"""A way of ordering is judged over at least so many weeks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One way that was tried, and its cost over `Choice.weeks`."""

    supply: Supply
    quantity: int
    extra: int
    today: int
    cost: Cost

    @property
    def key(self) -> tuple[int, int, int]:
        """By this they are compared; of equal ones the smaller order."""
        return self.cost.total, self.quantity, self.extra


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The best way to order a size.

    Parameters
    ----------
    best
        The way taken.
    way
        The same, to be run.
    start
        Where it begins.
    need
        What the size needs with the supplier taken.
    wanted
        Sheets that today's order would have without a limit of the racks.
    tried
        The best of each supplier and quantity, cheapest first.
    weeks
        Over which the costs are counted.
    """

    best: Tried
    way: Way
    start: Start
    need: Protection
    wanted: int
    tried: tuple[Tried, ...]
    weeks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """All that the choice of every size shares.

    Parameters
    ----------
    paths
        Joint demand, longer than the forecast (see `judged_weeks`).
    stock
        What is there and on order.
    receiving
        Today and the working days.
    settings
        How the shop buys.
    seed
        Of the lead times.
    """

    paths: Paths
    stock: StockNow
    receiving: Receiving
    settings: BuyingSettings
    seed: int = 0

    @property
    def weeks(self) -> int:
        """Weeks over which ways of ordering are judged."""
        return max(LEAST_WEEKS, self.paths.weeks)

    def service(self, glass: str) -> Fraction:
        """The wanted service of a glass."""
        return self.settings.service_for.get(glass, self.settings.service)

    def need(self, supply: Supply) -> Protection:
        """What a size needs by the terms of one supplier."""
        return protection(
            supply,
            self.paths,
            self.stock,
            self.receiving,
            service=self.service(supply.glass),
            review_weeks=self.settings.review_weeks,
            seed=self.seed,
        )

    def pressing(self, supply: Supply, missing: Sequence[date]) -> int:
        """How many of these days an order of the next look would be too late for."""
        later = self.receiving.order_day(self.settings.review_weeks) + timedelta(days=supply.lead_days)
        here = self.receiving.working(later)
        return sum(day < here for day in missing)

    def start(self, supply: Supply) -> Start:
        """Where the ways of ordering a size from one supplier begin."""
        demand = self.paths.of(supply.name)
        return Start(
            demand=demand,
            on_hand=self.stock.on_hand.get(supply.name, 0),
            comes=arrivals(self.stock.arriving, supply.name, self.receiving, int(demand.shape[1])),
            on_order=sum(a.sheets for a in self.stock.arriving if a.name == supply.name),
            lines=lines_of(supply, self.paths, self.receiving, self.settings.review_weeks, self.seed),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What an order of a size pays of its delivery.

    Parameters
    ----------
    sharing
        Sizes that share a delivery of the supplier: those that today's brings. Later ones are taken to be alike.
    joins
        The delivery comes anyway, and this size would ride along for nothing.
    """

    sharing: int = 1
    joins: bool = False


def quantities(supply: Supply, *, a_week: Fraction, room: int | None, settings: BuyingSettings) -> list[int]:
    """The order quantities that are tried, rising: whole cases that find room.

    Parameters
    ----------
    supply
        Terms.
    a_week
        Mean demand of a week.
    room
        Sheets that still find room, or None.
    settings
        How the shop buys.
    """
    held = float(settings.holding) * supply.prices[0].price
    book = order_quantity(
        a_year=float(a_week * WEEKS_A_YEAR),
        an_order=settings.order_cost + supply.freight,
        holding=held,
    )
    wanted = [1, int(book), *(int(a_week * n) for n in COVERS)]
    longest = max(1, int(a_week * COVERS[-1]))
    wanted += [step.sheets for step in supply.prices if step.sheets <= longest]
    found = {allowed(supply, max(1, n)) for n in wanted}
    # a price step may hold more than the longest cover only through the least order and whole cases
    if room is not None:
        found = {min(n, allowed_within(supply, room)) for n in found} - {0}
    return sorted(found)


def choose(
    terms: Sequence[Supply],
    review: Review,
    *,
    delivery: Delivery | None = None,
    room: int | None = None,
    missing: Sequence[date] = (),
) -> Choice:
    """The cheapest way to order one size.

    Parameters
    ----------
    terms
        Of its suppliers, at least one.
    review
        What all sizes share.
    delivery
        What today's order pays of its delivery.
    room
        Sheets that still find room, or None for no limit.
    missing
        Days by which sheets must be cut that open orders are short of.
    """
    delivery = delivery or Delivery()
    tried: list[Tried] = []
    starts: dict[int, tuple[Start, Protection]] = {}
    for i, supply in enumerate(terms):
        need, start = review.need(supply), review.start(supply)
        starts[i] = start, need
        tried += _tried(supply, review, need, start, delivery, room, missing)
    tried.sort(key=lambda t: (*t.key, t.supply.supplier))
    best = tried[0]
    start, need = next(starts[i] for i, supply in enumerate(terms) if supply is best.supply)
    levels = levels_of(start.demand, start.lines, need.service, best.extra)
    wanted = _today(
        best.supply,
        best.quantity,
        max(need.lack + best.extra, review.pressing(best.supply, missing)),
        delivery,
    )
    return Choice(
        best=best,
        way=Way(supply=best.supply, today=best.today, quantity=best.quantity, levels=levels),
        start=start,
        need=need,
        wanted=wanted,
        tried=_best_of_each(tried),
        weeks=review.weeks,
    )


def _tried(
    supply: Supply,
    review: Review,
    need: Protection,
    start: Start,
    delivery: Delivery,
    room: int | None,
    missing: Sequence[date],
) -> list[Tried]:
    settings, at_least = review.settings, review.pressing(supply, missing)
    once = (settings.order_cost + supply.freight) // max(1, delivery.sharing)
    total = int(start.demand[:, : review.weeks].sum())
    a_week = Fraction(total, len(start.demand) * review.weeks)
    plain = levels_of(start.demand, start.lines, need.service)
    sizes = quantities(supply, a_week=a_week, room=room, settings=settings) or [allowed(supply, 1)]
    ways, extras = [], []
    for quantity in sizes:
        for extra in EXTRA if total else EXTRA[:1]:
            today = _today(supply, quantity, max(need.lack + extra, at_least), delivery)
            if room is not None:
                today = min(today, allowed_within(supply, room))
            ways.append(Way(supply=supply, today=today, quantity=quantity, levels=plain + extra))
            extras.append(extra)
    costs = costs_of(
        run_all(ways, start, review.weeks),
        ways,
        a_delivery=once,
        first_delivery=0 if delivery.joins else once,
        holding=settings.holding,
        short_cost=settings.short_cost,
    )
    return [
        Tried(supply=supply, quantity=way.quantity, extra=extra, today=way.today, cost=cost)
        for way, extra, cost in zip(ways, extras, costs, strict=True)
    ]


def _today(supply: Supply, quantity: int, lack: int, delivery: Delivery) -> int:
    """Sheets to order today, the racks apart."""
    return allowed(supply, max(quantity, lack)) if lack > 0 or delivery.joins else 0


def _best_of_each(tried: Sequence[Tried]) -> tuple[Tried, ...]:
    """The cheapest of each supplier and quantity; they come sorted."""
    seen: set[tuple[str, int]] = set()
    out = []
    for t in tried:
        if (t.supply.supplier, t.quantity) not in seen:
            seen.add((t.supply.supplier, t.quantity))
            out.append(t)
    return tuple(out)
