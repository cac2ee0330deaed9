"""Forecasts from the sheet counts of past weeks alone: the rivals that the simulation of orders has to beat.

Each gives paths of weeks, so that bands of sums come out right and the winner of a back-test can be bought by. Sizes of one
call are drawn from the same past weeks together: they replace one another. SES and AutoETS come from the extra ``forecast``
(Hyndman, Koehler, Ord and Snyder 2008, Forecasting with Exponential Smoothing); the others need no library.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import ModuleType
from typing import Any, Final

import numpy as np

from ..demand.weeks import SEASON
from .croston import Smoothed, croston, tsb

NEAR: Final = 4
"""Weeks on either side that count as the same season."""
FEW: Final = 8
"""With fewer weeks of a past the smoothing methods say what the bootstrap says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """Sheets of the weeks before a forecast, and the weeks that it is for.

    Parameters
    ----------
    weeks, ahead
        Past weeks and wanted weeks (see `demand.weeks`), int64; shut weeks are in neither.
    counts
        float64 of shape (past weeks, series). [sheets]
    season, season_ahead
        How busy these weeks are, 1 on average, known before the first wanted week.
    """

    weeks: Any
    ahead: Any
    counts: Any
    season: Any
    season_ahead: Any


Rival = Callable[[Past, int, Any], Any]
"""From a past, a number of futures and a random generator to float64 paths (futures, weeks ahead, series)."""


def _drawn(rows: Any, past: Past, futures: int, rng: Any) -> Any:
    if not len(rows):
        return np.zeros((futures, len(past.ahead), past.counts.shape[1]))
    return rows[rng.integers(len(rows), size=(futures, len(past.ahead)))]


def last_year(past: Past, futures: int, rng: Any) -> Any:
    """Weeks drawn from the last 52, each as likely."""
    return _drawn(past.counts[-SEASON:], past, futures, rng)


def all_weeks(past: Past, futures: int, rng: Any) -> Any:
    """Weeks drawn from all that are known."""
    return _drawn(past.counts, past, futures, rng)


def same_season(past: Past, futures: int, rng: Any) -> Any:
    """Weeks drawn from those of earlier years around the same time; from all where there are none."""
    out = np.zeros((futures, len(past.ahead), past.counts.shape[1]))
    if not len(past.counts):
        return out
    for k, week in enumerate(past.ahead):
        away = (week - past.weeks + NEAR) % SEASON
        rows = past.counts[(away <= 2 * NEAR) & (week - past.weeks > NEAR)]
        rows = rows if len(rows) else past.counts
        out[:, k] = rows[rng.integers(len(rows), size=futures)]
    return out


def _smoothed_paths(method: Callable[[list[float]], Smoothed], past: Past, futures: int, rng: Any) -> Any:
    """A mean that stays, and its one-step errors drawn again, each week for all series together."""
    if len(past.counts) < FEW:
        return all_weeks(past, futures, rng)
    weeks, series = past.counts.shape
    mean, errors = np.zeros(series), np.zeros((weeks, series))
    for s in range(series):
        found = method(past.counts[:, s].tolist())
        mean[s] = found.mean
        errors[:, s] = [
            0.0 if b is None else c - b for c, b in zip(past.counts[:, s], found.before, strict=True)
        ]
    return mean + _drawn(errors, past, futures, rng)


def croston_paths(past: Past, futures: int, rng: Any) -> Any:
    """Croston's mean."""
    return _smoothed_paths(croston, past, futures, rng)


def sba_paths(past: Past, futures: int, rng: Any) -> Any:
    """Croston's mean without its bias."""
    return _smoothed_paths(lambda counts: croston(counts, unbiased=True), past, futures, rng)


def tsb_paths(past: Past, futures: int, rng: Any) -> Any:
    """Size times chance."""
    return _smoothed_paths(tsb, past, futures, rng)


@lru_cache(maxsize=1)
def library() -> ModuleType | None:
    """The models of the extra ``forecast``, or None where it is not installed."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from statsforecast import models
    except ImportError:
        return None
    return models


@dataclass(frozen=True, slots=True)
class _Trend:
    """An exponential smoothing with additive errors: level, slope, their weights, damping, errors."""

    level: float
    slope: float
    alpha: float
    beta: float
    damping: float
    errors: Any


def _ses(counts: Any) -> _Trend:
    models = library()
    assert models is not None
    found = models.SimpleExponentialSmoothingOptimized().fit(counts).model_
    fitted = np.asarray(found["fitted"], np.float64)
    errors = counts - fitted
    # the first fitted value is not there: nothing came before it
    errors[~np.isfinite(errors)] = 0.0
    return _Trend(float(np.asarray(found["mean"]).ravel()[0]), 0.0, float(found["alpha"]), 0.0, 1.0, errors)


def _ets(counts: Any) -> _Trend:
    models = library()
    assert models is not None
    if not counts.any():
        return _Trend(0.0, 0.0, 0.0, 0.0, 1.0, np.zeros(len(counts)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = models.AutoETS(season_length=1, model="AZN").fit(counts).model_
    kind, par, last = found["components"], found["par"], found["states"][-1]
    trend = kind[1] != "N"
    return _Trend(
        float(last[0]),
        float(last[1]) if trend else 0.0,
        float(par[0]),
        float(par[1]) if trend else 0.0,
        float(par[3]) if kind[3] == "D" else 1.0,
        np.asarray(found["residuals"], np.float64),
    )


def _trend_paths(trends: list[_Trend], past: Past, errors: Any) -> Any:
    """Levels that follow the errors drawn, (futures, weeks, series)."""
    level = np.array([t.level for t in trends]) + np.zeros(errors.shape[::2])
    slope = np.array([t.slope for t in trends]) + np.zeros(errors.shape[::2])
    alpha, beta = np.array([t.alpha for t in trends]), np.array([t.beta for t in trends])
    damping = np.array([t.damping for t in trends])
    out = np.empty_like(errors)
    for k in range(errors.shape[1]):
        mean = level + damping * slope
        out[:, k] = mean + errors[:, k]
        level, slope = mean + alpha * errors[:, k], damping * slope + beta * errors[:, k]
    return out


def _fitted_paths(fit: Callable[[Any], _Trend], past: Past, futures: int, rng: Any) -> Any:
    """With normal errors, as textbooks and libraries draw their bands."""
    if len(past.counts) < FEW:
        return all_weeks(past, futures, rng)
    trends = [fit(past.counts[:, s].copy()) for s in range(past.counts.shape[1])]
    spread = np.array([t.errors.std() for t in trends])
    errors = rng.standard_normal((futures, len(past.ahead), len(trends))) * spread
    return _trend_paths(trends, past, errors)


def ses_paths(past: Past, futures: int, rng: Any) -> Any:
    """Simple exponential smoothing, normal errors."""
    return _fitted_paths(_ses, past, futures, rng)


def ets_paths(past: Past, futures: int, rng: Any) -> Any:
    """The exponential smoothing that fits best (level, trend, damped trend; additive errors), normal errors."""
    return _fitted_paths(_ets, past, futures, rng)


def seasonal_ses_paths(past: Past, futures: int, rng: Any) -> Any:
    """Simple exponential smoothing of counts over their season, its errors drawn again, whole sheets."""
    if len(past.counts) < FEW:
        return all_weeks(past, futures, rng)
    flat = past.counts / past.season[:, None]
    trends = [_ses(flat[:, s].copy()) for s in range(flat.shape[1])]
    errors = _drawn(np.stack([t.errors for t in trends], axis=1), past, futures, rng)
    return np.floor(_trend_paths(trends, past, errors) * past.season_ahead[:, None] + 0.5)


PLAIN: Final[Mapping[str, Rival]] = {
    "last 52 weeks": last_year,
    "all weeks": all_weeks,
    "same season": same_season,
    "Croston": croston_paths,
    "SBA": sba_paths,
    "TSB": tsb_paths,
}
"""Rivals that need no library."""
FITTED: Final[Mapping[str, Rival]] = {
    "SES": ses_paths,
    "AutoETS": ets_paths,
    "SES, season": seasonal_ses_paths,
}
"""Rivals of the extra ``forecast``."""


ALL: Final[Mapping[str, Rival]] = {**PLAIN, **FITTED}


def rivals() -> tuple[str, ...]:
    """Names of those that can run here."""
    return tuple(PLAIN if library() is None else ALL)


def whole(paths: Any) -> Any:
    """Paths in whole sheets: sums from the first week on are rounded, not weeks, and no sum falls."""
    sums = np.maximum.accumulate(np.maximum(np.cumsum(paths, axis=1), 0.0), axis=1)
    total = np.floor(sums + 0.5).astype(np.int64)
    return np.diff(total, axis=1, prepend=0).astype(np.int32)
