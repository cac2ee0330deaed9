"""One way of ordering a size, run along every future: orders, stock, and what they cost in whole money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from ..forecast.futures import quantile_of
from .protection import Lines
from .settings import Supply
from .textbook import WEEKS_A_YEAR


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way of ordering.

    Parameters
    ----------
    supply
        Whose terms.
    today
        Sheets ordered today, the same in every future.
    quantity
        Later orders are of at least so many sheets.
    levels
        Reorder point of each look: it orders up to it where hand and order together are below it.
    """

    supply: Supply
    today: int
    quantity: int
    levels: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where all ways of ordering a size begin.

    Parameters
    ----------
    demand
        Sheets, shape (futures, weeks).
    on_hand
        Now.
    comes
        On order, by the week that can cut from it.
    on_order
        On order in all, what comes later than all weeks too.
    lines
        Deliveries.
    """

    demand: Any
    on_hand: int
    comes: Any
    on_order: int
    lines: Lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What a way of ordering made of the futures.

    Parameters
    ----------
    orders
        Sheets ordered at each look, shape (futures, reviews).
    stock
        At the end of each week, below zero what is missing, shape (futures, weeks).
    most
        In the racks in each week, before anything is cut, same shape.
    position
        On hand and on order at the end.
    """

    orders: Any
    stock: Any
    most: Any
    position: Any


def levels_of(demand: Any, lines: Lines, service: Fraction, extra: int = 0) -> Any:
    """Reorder point of each look: quantile of the demand from that week until the order after it is here."""
    weeks = demand.shape[1]
    summed = np.concatenate([np.zeros((len(demand), 1), np.int64), np.cumsum(demand, axis=1)], axis=1)
    out = np.zeros(len(lines.reviews), np.int64)
    for r, week in enumerate(lines.reviews):
        end = lines.usable[:, r + 1] if r + 1 < len(lines.reviews) else np.full(len(demand), weeks)
        end = np.clip(np.maximum(end, lines.usable[:, r] + 1), week, weeks)
        over = np.take_along_axis(summed, end[:, None], axis=1)[:, 0] - summed[:, week]
        out[r] = quantile_of(over, float(service))
    return out + extra


def run(way: Way, start: Start, weeks: int) -> Run:
    """Run along the first so many weeks of every future."""
    every = run_all([way], start, weeks)
    return Run(orders=every.orders[0], stock=every.stock[0], most=every.most[0], position=every.position[0])


def run_all(ways: Sequence[Way], start: Start, weeks: int) -> Run:
    """Several ways from one supplier side by side: every array has the ways as an axis before the others."""
    lines = start.lines
    reviews = [week for week in lines.reviews if week < weeks]
    shape = (len(ways), len(start.demand))
    # week by week next to each other in memory: this loop is most of what an advice takes
    demand = np.ascontiguousarray(start.demand[:, :weeks].T)
    orders = np.zeros((len(reviews), *shape), np.int64)
    stock = np.zeros((weeks, *shape), np.int64)
    most = np.zeros((weeks, *shape), np.int64)
    coming = np.zeros((weeks + 1, *shape), np.int64)
    futures = np.arange(shape[1])
    hand = np.full(shape, start.on_hand, np.int64)
    position = np.full(shape, start.on_hand + start.on_order, np.int64)
    supply = ways[0].supply
    least = np.array([[max(way.quantity, supply.least)] for way in ways], np.int64)
    look = 0
    for week in range(weeks):
        if look < len(reviews) and reviews[look] == week:
            if look == 0:
                amount = np.broadcast_to(np.array([[way.today] for way in ways], np.int64), shape)
            else:
                lack = np.array([[way.levels[look]] for way in ways], np.int64) - position
                amount = -(-np.maximum(lack, least) // supply.case) * supply.case * (lack > 0)
            orders[look] = amount
            due = np.minimum(lines.usable[:, look], weeks)
            coming[due, :, futures] += amount.T
            position = position + amount
            look += 1
        hand = hand + (coming[week] + start.comes[week])
        most[week] = np.maximum(0, hand)
        hand = hand - demand[week]
        position = position - demand[week]
        stock[week] = hand
    return Run(
        orders=np.moveaxis(orders, 0, -1),
        stock=np.moveaxis(stock, 0, -1),
        most=np.moveaxis(most, 0, -1),
        position=position,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Mean cost over the weeks that were run. [1/10,000 of the currency]

    Parameters
    ----------
    glass
        Of the sheets that were bought and used up, with their own freight.
    delivery
        Of the same share of deliveries and orders.
    holding
        Of the stock.
    short
        Of sheets that were not there.
    """

    glass: int
    delivery: int
    holding: int
    short: int

    @property
    def total(self) -> int:
        """All of it."""
        return self.glass + self.delivery + self.holding + self.short


def prices_of(supply: Supply, orders: Any) -> Any:
    """The price of each sheet of orders of so many sheets, int64 of their shape."""
    steps = np.array([step.sheets for step in supply.prices])
    prices = np.array([step.price for step in supply.prices], np.int64)
    return prices[np.maximum(0, np.searchsorted(steps, orders, side="right") - 1)]


def costs_of(
    done: Run,
    ways: Sequence[Way],
    *,
    a_delivery: int,
    first_delivery: int,
    holding: Fraction,
    short_cost: int,
) -> list[Cost]:
    """What ways of ordering cost.

    Parameters
    ----------
    done, ways
        What was run (see `run_all`).
    a_delivery, first_delivery
        What is paid once for each order, and for that of today. [1/10,000 of the currency]
    holding
        What a year of holding costs, over the price.
    short_cost
        Of each sheet that is missing at the end of a week. [1/10,000 of the currency]

    Notes
    -----
    What is bought and not yet used at the end is not counted, nor its share of the deliveries: else large orders
    would look dear in a short time. All sums are whole numbers.
    """
    supply, futures = ways[0].supply, done.orders.shape[1]
    bought = done.orders.sum(axis=-1)
    used = np.clip(bought - np.maximum(0, done.position), 0, bought)
    paid = (done.orders * (prices_of(supply, done.orders) + supply.freight_a_sheet)).sum(axis=-1)
    fees = (done.orders[..., 1:] > 0).sum(axis=-1) * a_delivery
    fees = fees + np.array([[first_delivery if way.today else 0] for way in ways], np.int64)
    whole = np.maximum(1, bought)
    glass, delivery = ((paid * used // whole).sum(axis=-1), (fees * used // whole).sum(axis=-1))
    # glass in the racks half of it before, half of it after the cuts of a week
    halves = (done.most + np.maximum(0, done.stock)).sum(axis=(-2, -1))
    missing = np.maximum(0, -done.stock).sum(axis=(-2, -1))
    each = Fraction(supply.prices[0].price, 2 * WEEKS_A_YEAR * futures) * holding
    return [
        Cost(
            glass=int(glass[w]) // futures,
            delivery=int(delivery[w]) // futures,
            holding=int(int(halves[w]) * each),
            short=int(missing[w]) * short_cost // futures,
        )
        for w in range(len(ways))
    ]
