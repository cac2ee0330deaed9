"""One future after another drawn from the law of the demand: numbers of orders, and what they hold.

A future draws the levels of the products once: what is not known of them is shared by all its weeks. Booked
orders enter as they are. What is not booked yet comes at the rate that is left, with the noise that the
booked ones tell of; so no order counts twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..demand.content import Pools
from ..demand.levels import AHEAD, DRIFT, POINTS, SPREAD
from ..demand.model import DemandModel
from .streams import CONTENTS, COUNTS, stream

MOST: Final = 1e5
"""Orders of a product in a week beyond which no level goes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """What one future is drawn from, as plain arrays that travel to other processes.

    Parameters
    ----------
    cells
        Cumulated weights of drift, noise and level of each product, shape (products, cells).
    middle, step
        Of the grid of levels, shape (products,).
    shapes, busy
        Of the noises, shape (products, noises).
    exposure, known
        See `DemandModel`; 0.0 for products that never came.
    week, product, stays, expected, begun
        Open orders, see `OpenOrders`.
    pools
        What contents are drawn from.
    """

    cells: Any
    middle: Any
    step: Any
    shapes: Any
    busy: Any
    exposure: Any
    known: Any
    week: Any
    product: Any
    stays: Any
    expected: Any
    begun: Any
    pools: Pools

    @classmethod
    def of(cls, model: DemandModel) -> Law:
        """The arrays of a model."""
        weights = model.levels.weights
        there = model.pools.filled().astype(np.float64)
        return cls(
            cells=np.cumsum(weights.reshape(len(weights), -1), axis=1),
            middle=model.levels.middle,
            step=model.levels.step,
            shapes=model.levels.shapes,
            busy=model.levels.busy,
            exposure=model.exposure[:, None] * there[None, :],
            known=model.known,
            week=model.open.week,
            product=model.open.product,
            stays=model.open.stays,
            expected=model.open.expected,
            begun=model.open.begun,
            pools=model.pools,
        )

    @property
    def shape(self) -> tuple[int, int]:
        """Weeks and products."""
        weeks, products = self.exposure.shape
        return weeks, products


@dataclass(frozen=True, slots=True)
class Counts:
    """Orders of some futures.

    Parameters
    ----------
    rest
        Orders that are not booked yet, int64 of shape (futures, weeks, products).
    kept
        Whether each open order is not called off, shape (futures, open orders).
    """

    rest: Any
    kept: Any


def draw_counts(law: Law, seed: int, futures: range) -> Counts:
    """The numbers of orders of these futures."""
    weeks, products = law.shape
    rest = np.zeros((len(futures), weeks, products), dtype=np.int64)
    kept = np.ones((len(futures), len(law.week)), dtype=bool)
    for i, future in enumerate(futures):
        rest[i], kept[i] = _one(law, stream(seed, COUNTS, future))
    return Counts(rest, kept)


def _one(law: Law, rng: Any) -> tuple[Any, Any]:
    weeks, products = law.shape
    at = rng.random((2, products))
    steps, fresh = rng.standard_normal((2, weeks, products))
    changes, comes = rng.random((2, weeks, products))
    kept = rng.random(len(law.week)) < law.stays
    cell = np.array(
        [np.searchsorted(c, u * c[-1], side="right") for c, u in zip(law.cells, at[0])], dtype=np.int64
    )
    drift, noise, point = np.unravel_index(
        np.minimum(cell, law.cells.shape[1] - 1), (len(DRIFT), law.shapes.shape[1], POINTS)
    )
    every = np.arange(products)
    shape, busy = law.shapes[every, noise], law.busy[every, noise]
    # anywhere between two points of the grid
    level = law.step * (point - POINTS // 2 + at[1] - 0.5)
    path = np.empty((weeks, products))
    for h in range(weeks):
        level = np.where(changes[h] < AHEAD, SPREAD * fresh[h], level + np.array(DRIFT)[drift] * steps[h])
        path[h] = level
    mean = np.minimum(law.middle * np.exp(path), MOST) * law.exposure / busy
    booked = np.zeros((weeks, products))
    mine = kept & law.expected
    np.add.at(booked, (law.week[mine], law.product[mine]), 1.0)
    booked[:1] += law.begun
    told = mean * law.known
    # a week without a booked order may be one in which nothing comes
    silent = busy * (1 + told / shape) ** -shape
    comes = (booked > 0) | (comes * (silent + 1 - busy) < silent)
    noisy = rng.standard_gamma(shape + booked) / (shape + told)
    return rng.poisson(np.minimum(mean * (1 - law.known) * noisy * comes, MOST)), kept


@dataclass(frozen=True, slots=True)
class Picks:
    """Drawn orders of some futures, by future, week and product.

    Parameters
    ----------
    cell
        future x weeks + week of each, counted from the first of these futures.
    order
        Its place in the list of past orders.
    """

    cell: Any
    order: Any


def draw_contents(pools: Pools, rest: Any, seed: int, futures: range) -> Picks:
    """What the orders of these futures hold; also for numbers of orders that come from another law.

    Parameters
    ----------
    pools
        What is drawn from.
    rest
        Numbers of orders, shape (futures, weeks, products).
    """
    flat = rest.ravel()
    cells = np.repeat(np.arange(len(flat)), flat)
    many = rest.reshape(len(futures), -1).sum(axis=1).tolist()
    uniform = [stream(seed, CONTENTS, f).random(n) for f, n in zip(futures, many, strict=True)]
    products = rest.shape[2]
    order = pools.drawn(cells % products, np.concatenate(uniform) if uniform else np.zeros(0))
    return Picks(cells // products, order)


def summed(picks: Picks, values: Any, cells: int) -> Any:
    """Sums of what drawn orders hold, shape (cells, features)."""
    out = np.zeros((cells, values.shape[1]))
    for f in range(values.shape[1]):
        out[:, f] = np.bincount(picks.cell, weights=values[picks.order, f], minlength=cells)
    return out
