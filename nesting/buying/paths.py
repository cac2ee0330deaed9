"""Demand paths of all sizes, made longer than the forecast where a delivery or an order quantity asks for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..forecast.futures import Futures


@dataclass(frozen=True, slots=True, kw_only=True)
class Paths:
    """Joint demand in whole sheets.

    Parameters
    ----------
    first
        The first week (see `demand.weeks`).
    series
        Names of the stock sizes.
    weeks
        Weeks that were forecast; those after them repeat weeks of the same future.
    demand
        int64 of shape (futures, weeks and more, series).
    """

    first: int
    series: tuple[str, ...]
    weeks: int
    demand: Any

    def of(self, name: str) -> Any:
        """Demand of one size, shape (futures, weeks); zeros for a size that no order takes."""
        if name not in self.series:
            return np.zeros(self.demand.shape[:2], np.int64)
        return self.demand[:, :, self.series.index(name)]

    @property
    def futures(self) -> int:
        """How many."""
        return int(self.demand.shape[0])


def paths_of(futures: Futures, weeks: int) -> Paths:
    """The paths of these futures, for at least so many weeks.

    Notes
    -----
    A future repeats the later half of its own weeks, which its open orders hardly touch, one after another: its level
    of demand stays its own, so that a busy future stays busy.
    """
    demand = np.asarray(futures.sheets, np.int64)
    have = demand.shape[1]
    more = max(0, weeks - have)
    if more:
        later = np.arange(have // 2, have)
        demand = np.concatenate([demand, demand[:, later[np.arange(more) % len(later)]]], axis=1)
    return Paths(first=futures.first, series=futures.series, weeks=have, demand=demand)
