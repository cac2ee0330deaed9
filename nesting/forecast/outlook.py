"""What futures say of each stock size: bands by week and cumulated, totals, and how long the stock lasts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..buying.settings import StockNow, Supply
from ..demand.weeks import week_of
from ..glass import mass_grams
from ..shop import split_key
from .futures import Futures, quantile_of

SHARES: Final = (0.025, 0.10, 0.50, 0.90, 0.975)
"""Ends of the bands of 95 and of 80 in 100, and the middle."""
OF_TOTALS: Final = (0.5, 0.8, 0.95)
"""Shares of futures that a joint total does not exceed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Whole sheets that so many futures do not exceed, by `SHARES`; `known` of them open orders take alone."""

    known: int
    sheets: tuple[int, ...]

    @property
    def middle(self) -> int:
        """Half of the futures need no more."""
        return self.sheets[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeOutlook:
    """One stock size.

    Parameters
    ----------
    name
        Of the stock size.
    weeks
        Sheets of each week.
    upto
        Sheets of all weeks up to each week together: bands of sums, never sums of bands.
    mean
        Mean of the sum over all weeks.
    lasts
        Share of futures in which what is there and on order is enough up to and with each week; None where the
        stock is not known.
    """

    name: str
    weeks: tuple[Band, ...]
    upto: tuple[Band, ...]
    mean: float
    lasts: tuple[float, ...] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """A joint total over all weeks by `OF_TOTALS`, and what the last quantiles of the single sizes add up to.

    Money in 1/10,000 of the currency, areas in whole cm2, mass in grams.
    """

    shares: tuple[int, ...]
    added_up: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """All stock sizes, and their joint totals."""

    first: int
    sizes: tuple[SizeOutlook, ...]
    money: Total
    area: Total
    mass: Total
    known_share: float
    """Share of the mean area of all weeks that open orders take already."""


def outlook(futures: Futures, supplies: Sequence[Supply], stock: StockNow | None) -> Outlook:
    """What the futures say.

    Parameters
    ----------
    futures
        Joint paths.
    supplies
        Sizes and prices; of a size with several suppliers the cheapest first price counts.
    stock
        What is there and on order, or None.
    """
    sheets = np.asarray(futures.sheets, dtype=np.int64)
    upto = sheets.cumsum(axis=1)
    known = np.asarray(futures.known, dtype=np.int64)
    coming = None if stock is None else _coming(futures, stock)
    sizes = []
    for k, name in enumerate(futures.series):
        sizes.append(
            SizeOutlook(
                name=name,
                weeks=_bands(sheets[:, :, k], known[:, k]),
                upto=_bands(upto[:, :, k], known[:, k].cumsum()),
                mean=float(upto[:, -1, k].mean()),
                lasts=None if coming is None else _lasts(upto[:, :, k], coming[k]),
            )
        )
    by_name = _cheapest(supplies)
    prices, areas, masses = ([], [], [])  # type: tuple[list[int], list[int], list[int]]
    for name in futures.series:
        s = by_name[name]
        prices.append(s.prices[0].price)
        areas.append(s.width * s.height // 10**14)
        masses.append(mass_grams(2 * s.width * s.height, split_key(s.glass)[1]))
    ends = upto[:, -1, :]
    area = ends @ np.array(areas, dtype=np.int64)
    mean = float(area.mean())
    mine = int(known.sum(axis=0) @ np.array(areas, dtype=np.int64))
    return Outlook(
        first=futures.first,
        sizes=tuple(sizes),
        money=_total(ends, prices),
        area=_total(ends, areas),
        mass=_total(ends, masses),
        known_share=min(1.0, mine / mean) if mean else 0.0,
    )


def _cheapest(supplies: Sequence[Supply]) -> Mapping[str, Supply]:
    best: dict[str, Supply] = {}
    for s in supplies:
        if s.name not in best or s.prices[0].price < best[s.name].prices[0].price:
            best[s.name] = s
    return best


def _bands(sheets: Any, known: Any) -> tuple[Band, ...]:
    ends = np.stack([quantile_of(sheets, share) for share in SHARES])
    return tuple(
        Band(known=int(known[w]), sheets=tuple(int(x) for x in ends[:, w])) for w in range(sheets.shape[1])
    )


def _coming(futures: Futures, stock: StockNow) -> Any:
    """Sheets that are there up to and with each week, shape (series, weeks); what comes late is there now."""
    weeks = futures.sheets.shape[1]
    out = np.zeros((len(futures.series), weeks), dtype=np.int64)
    at = {name: k for k, name in enumerate(futures.series)}
    for name, count in stock.on_hand.items():
        if name in at:
            out[at[name]] += count
    for one in stock.arriving:
        week = max(0, week_of(one.day) - futures.first)
        if one.name in at and week < weeks:
            out[at[one.name], week:] += one.sheets
    return out


def _lasts(upto: Any, there: Any) -> tuple[float, ...]:
    # once short is short, even where a later delivery makes up for it
    enough = np.logical_and.accumulate(upto <= there[None, :], axis=1)
    return tuple(float(x) for x in enough.mean(axis=0))


def _total(ends: Any, each: Sequence[int]) -> Total:
    worth = np.array(each, dtype=np.int64)
    joint = ends @ worth
    apart = quantile_of(ends, OF_TOTALS[-1]) @ worth
    return Total(shares=tuple(int(quantile_of(joint, share)) for share in OF_TOTALS), added_up=int(apart))
