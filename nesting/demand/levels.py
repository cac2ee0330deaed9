"""How many orders of each product a usual week brings: the posterior of the level, by a filter on a grid.

The orders of a week are Poisson about level x season x noise: in a share of weeks nothing comes, in the
others the noise is a gamma variate of mean 1. The level of a product stays, drifts or, seldom, changes at
one stroke to any other. Everything is averaged over: the share of busy weeks, the shape of the noise, drift
or none, and the weeks of the changes. So steady demand is judged by the whole history, demand that changed by
what came after the change, and lumps are not taken for changes. A change of mix seldom comes to one product
alone: where the others tell of a change in some week, one is the likelier here (see `changes`).

References
----------
Harvey and Fernandes 1989 (Journal of Business and Economic Statistics 7), the gamma-Poisson level that this
one follows where there is no noise and no change. West and Harrison, Bayesian forecasting and dynamic models,
12: mixtures of models and changes of level (from memory). Adams and MacKay 2007, Bayesian online changepoint
detection: a new level that owes nothing to the old one (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import lgamma, log
from typing import Any, Final

import numpy as np

POINTS: Final = 121
"""Of the grid of levels, evenly by their logarithm."""
SPAN: Final = log(6.0)
"""From the mean of the history to the ends of the grid, at least."""
SHAPES: Final = (0.6, 1.2, 2.5, 5.0, 10.0, 20.0, 1e4)
SHAPE_PRIOR: Final = (0.5, 0.7, 1.0, 1.5, 1.5, 1.5, 1.0)
BUSY: Final = (1.0, 0.75, 0.55, 0.4, 0.3, 0.2)
"""Shares of weeks in which orders come."""
BUSY_PRIOR: Final = (4.0, 1.0, 1.0, 1.0, 1.0, 0.7)
DRIFT: Final = (0.0, 0.024)
"""Standard deviation of the logarithm of the level from one week to the next."""
DRIFT_PRIOR: Final = (3.0, 0.5)
LIKELY: Final = 12
"""Noises that are kept for each product."""
SPREAD: Final = 0.5
"""Standard deviation of the logarithm of a new level, about the mean of the history."""
OWN: Final = 1 / 2000
"""Chance of a change in a week that comes to one product alone."""
SHARED: Final = 1 / 100
"""The same of one that may come to several."""
TAKES_PART: Final = 0.5
"""Chance that such a change comes to a product."""
AHEAD: Final = 1 / 400
"""Chance of a change in each coming week."""
_FLOOR: Final = 1e-120
PSEUDO: Final = 0.5
"""Orders, and weeks, that the mean of the history begins with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """The posterior of the levels of all products.

    Parameters
    ----------
    middle
        Mean of the history, orders in a week at season 1, shape (products,).
    step
        Of the grid by the logarithm, shape (products,).
    weights
        Shape (products, drifts, noises, points); the weights of a product add up to 1.
    shapes, busy
        Shape of the gamma noise and share of busy weeks of each noise, shape (products, noises).
    changed
        Chance of a change that each past week began with, shape (weeks, products).
    """

    middle: Any
    step: Any
    weights: Any
    shapes: Any
    busy: Any
    changed: Any

    def grid(self, product: int) -> Any:
        """The levels of its grid."""
        return self.middle[product] * np.exp(_offsets(self.step[product]))

    def means(self) -> Any:
        """Posterior mean of each level, shape (products,)."""
        points = self.weights.sum(axis=(1, 2))
        return np.array([points[k] @ self.grid(k) for k in range(len(points))])


def _offsets(step: Any) -> Any:
    return step * (np.arange(POINTS) - POINTS // 2)


def levels_of(counts: Any, exposure: Any) -> Levels:
    """Filter the history.

    Parameters
    ----------
    counts
        Orders, whole numbers of shape (weeks, products).
    exposure
        Season of each week, 0.0 where the shop was shut, shape (weeks,).
    """
    counts = np.asarray(counts, dtype=np.int64)
    middle = (counts.sum(axis=0) + PSEUDO) / (exposure.sum() + PSEUDO)
    step = np.array([_span(counts[:, k], exposure, middle[k]) for k in range(counts.shape[1])]) / (
        POINTS // 2
    )
    # a product that never came has no level, and tells nothing of changes
    some = np.flatnonzero(counts.any(axis=0))
    kept = min(LIKELY, len(SHAPES) * len(BUSY))
    weights = np.zeros((counts.shape[1], len(DRIFT), kept, POINTS))
    weights[:, 0, 0, POINTS // 2] = 1.0
    noises = np.ones((counts.shape[1], kept, 2))
    changed = np.zeros(counts.shape)
    if len(some):
        run = _Filter(counts[:, some], exposure, middle[some], step[some])
        run.keep_likely()
        changed[:, some] = hazard = run.changes()
        weights[some] = run.forward(hazard)[0].transpose(1, 0, 2, 3)
        noises[some] = run.noises
    return Levels(
        middle=middle, step=step, weights=weights, shapes=noises[..., 0], busy=noises[..., 1], changed=changed
    )


def _span(counts: Any, exposure: Any, middle: float) -> float:
    """Wide enough for the busiest and the quietest half-year: a new product may have grown a hundredfold."""
    most = SPAN
    for a in range(0, len(counts), 13):
        weeks = exposure[a : a + 26].sum()
        if weeks >= 4:
            there = (counts[a : a + 26].sum() + PSEUDO) / (weeks + PSEUDO)
            most = max(most, abs(log(there / middle)) + 0.7)
    return most


class _Filter:
    """Forward and backward messages over the weeks, shape (drifts, products, noises, points)."""

    def __init__(self, counts: Any, exposure: Any, middle: Any, step: Any) -> None:
        self.weeks, self.products = counts.shape
        offsets = step[:, None] * (np.arange(POINTS) - POINTS // 2)
        self.levels = middle[:, None] * np.exp(offsets)
        fresh = np.exp(-0.5 * (offsets / SPREAD) ** 2)
        self.fresh = (fresh / fresh.sum(axis=1, keepdims=True))[None, :, None, :]
        noises = np.array([(r, b) for r in SHAPES for b in BUSY])
        self.noises = np.broadcast_to(noises, (self.products, *noises.shape))
        prior = np.multiply.outer(SHAPE_PRIOR, BUSY_PRIOR).ravel()
        drift = np.array(DRIFT_PRIOR)
        self.start = (
            (drift / drift.sum())[:, None, None, None]
            * (prior / prior.sum())[None, None, :, None]
            * self.fresh
        )
        # a three-point step of this variance
        self.out = np.minimum(0.5 * (np.array(DRIFT)[:, None] / step[None, :]) ** 2, 1 / 3)[:, :, None, None]
        self.chance = _chances(counts, exposure, self.levels, noises)

    def keep_likely(self) -> None:
        """Keep of each product the noises that its history makes likely: the rest changes nothing but the time."""
        weight = self.forward(np.full((self.weeks, self.products), OWN))[0].sum(axis=(0, 3))
        best = np.sort(np.argsort(-weight, axis=1, kind="stable")[:, :LIKELY], axis=1)
        self.noises = np.take_along_axis(self.noises, best[..., None], axis=1)
        start = np.broadcast_to(self.start, (len(DRIFT), self.products, *self.start.shape[2:]))
        start = np.take_along_axis(start, best[None, :, :, None], axis=2)
        self.start = start / start.sum(axis=(0, 2, 3), keepdims=True)
        self.chance = np.take_along_axis(self.chance, best[None, :, :, None], axis=2)

    def spread(self, p: Any) -> Any:
        """Let the level drift; what would leave the grid stays at its end. It is its own transpose."""
        moved = p * self.out
        q = p - 2 * moved
        q[..., 1:] += moved[..., :-1]
        q[..., :-1] += moved[..., 1:]
        q[..., 0] += moved[..., 0]
        q[..., -1] += moved[..., -1]
        return q

    def forward(self, hazard: Any, keep: bool = False) -> tuple[Any, list[Any]]:
        """The posterior after the last week, and with `keep` that before each week."""
        p = np.broadcast_to(self.start, (len(DRIFT), self.products, *self.start.shape[2:])).copy()
        before = []
        for t in range(self.weeks):
            if keep:
                before.append(p)
            h = hazard[t][None, :, None, None]
            p = (1 - h) * self.spread(p) + h * p.sum(axis=3, keepdims=True) * self.fresh
            p = p * self.chance[t] + _FLOOR
            p /= p.sum(axis=(0, 2, 3), keepdims=True)
        return p, before

    def changes(self) -> Any:
        """Chance of a change in each week for each product, from what the other products tell.

        For each week: how much better is the history of a product explained with a change there? At most one
        change is taken to be shared, so that neighbouring weeks do not count the same evidence twice.
        """
        own = np.full((self.weeks, self.products), OWN)
        _, before = self.forward(own, keep=True)
        after = np.ones_like(before[0]) if before else None
        better = np.ones((self.weeks, self.products))
        for t in range(self.weeks - 1, -1, -1):
            m = after * self.chance[t]
            m /= m.max(axis=(0, 2, 3), keepdims=True)
            stays = self.spread(m)
            changes = (m * self.fresh).sum(axis=3, keepdims=True)
            better[t] = (before[t] * changes).sum(axis=(0, 2, 3)) / (before[t] * stays).sum(axis=(0, 2, 3))
            after = (1 - OWN) * stays + OWN * changes
        told = np.minimum(1 - TAKES_PART + TAKES_PART * better, 1e30)
        for k in range(self.products):
            others = SHARED * np.prod(np.delete(told, k, axis=1), axis=1)
            own[:, k] += TAKES_PART * others / (1 + others.sum())
        return np.minimum(own, 0.9)


def _chances(counts: Any, exposure: Any, levels: Any, noises: Any) -> Any:
    """Chance of each count at each level and noise, over its greatest, shape (weeks, products, noises, points)."""
    shape, busy = noises[None, :, 0, None], noises[None, :, 1, None]
    out = np.ones((*counts.shape, len(noises), POINTS))
    for t in range(len(counts)):
        if exposure[t] <= 0:
            continue
        y = counts[t]
        mean = levels[:, None, :] * exposure[t] / busy
        ways = np.array(
            [[lgamma(n + r) - lgamma(r) - lgamma(n + 1) for r in noises[:, 0]] for n in y.tolist()]
        )[:, :, None]
        y = y[:, None, None]
        logs = ways - shape * np.log1p(mean / shape) - y * np.log1p(shape / mean)
        # an absurd count may be beyond all levels: over the greatest it stays a number
        logs -= np.where(y == 0, 0.0, logs.max(axis=(1, 2), keepdims=True))
        out[t] = busy * np.exp(logs) + np.where(y == 0, 1 - busy, 0.0)
    return out
