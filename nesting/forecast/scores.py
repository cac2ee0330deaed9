"""How good a forecast was: pinball loss, how often a band held, and how sure an average is.

The pinball (quantile) loss is a proper score (Koenker and Bassett 1978, Econometrica 46; Gneiting and Raftery 2007, Journal
of the American Statistical Association 102): on average it is least for the forecast that tells the truth.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from .futures import quantile_of

LEVELS: Final = (0.10, 0.50, 0.80, 0.90, 0.95)
"""Levels whose losses are averaged: the middle, a low end, and the high ends that stock is bought for."""
BANDS: Final = (0.80, 0.95)


def pinball(quantile: Any, came: Any, level: float) -> Any:
    """Loss of a quantile: `level` for each sheet too few, 1 - `level` for each too many.

    Examples
    --------
    >>> float(pinball(3, 5, 0.75)), float(pinball(5, 3, 0.75))
    (1.5, 0.5)
    """
    short = np.asarray(came, np.float64) - np.asarray(quantile, np.float64)
    return np.maximum(level * short, (level - 1) * short)


def loss(sums: Any, came: Any, levels: Sequence[float] = LEVELS) -> Any:
    """Mean pinball loss of simulated sums.

    Parameters
    ----------
    sums
        Shape (futures, series).
    came
        What came, shape (series,).
    levels
        Of the quantiles.

    Returns
    -------
    array
        float64 of shape (series,). [sheets]
    """
    return np.mean([pinball(quantile_of(sums, level), came, level) for level in levels], axis=0)


def held(sums: Any, came: Any, band: float) -> Any:
    """Whether what came lies in the middle band of this share, ends included; shape (series,)."""
    low, high = quantile_of(sums, (1 - band) / 2), quantile_of(sums, (1 + band) / 2)
    came = np.asarray(came)
    return (low <= came) & (came <= high)


def block_means(values: Any, block: int) -> Any:
    """Means of blocks of so many neighbours along the first axis; the last block may be longer.

    Forecasts from neighbouring weeks overlap, so that they err together; their blocks hardly do.
    """
    values = np.asarray(values, np.float64)
    starts = [k * block for k in range(max(1, len(values) // block))]
    ends = [*starts[1:], len(values)]
    return np.stack([values[a:b].mean(axis=0) for a, b in zip(starts, ends, strict=True)])


def standard_error(values: Any) -> Any:
    """Standard error of the mean along the first axis; infinite for fewer than two values."""
    values = np.asarray(values, np.float64)
    if len(values) < 2:
        return np.full(values.shape[1:], np.inf)
    return values.std(axis=0, ddof=1) / np.sqrt(len(values))
