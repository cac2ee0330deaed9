"""The season that all products share: 52 weeks, by a quasi-Poisson fit of the weekly total.

The logarithm of the mean is a straight trend and one harmonic, held back by a ridge. The season is kept only
where the deviance falls by more than 2 ln n times the dispersion, and only from 80 weeks on. Where it is
kept, a second harmonic with a narrow prior sharpens its shape.

References
----------
McCullagh and Nelder, Generalized linear models: quasi-likelihood and deviance (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from .weeks import SEASON

LEAST_WEEKS: Final = 80
SPREADS: Final = (0.5, 0.1)
"""Prior standard deviations of the coefficients of the first and the second harmonic."""
_STEPS: Final = 40
_LOOSE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Season:
    """Coefficients of cosine and sine of each harmonic; none: there is no season.

    Parameters
    ----------
    waves
        In pairs, for weeks counted as in `demand.weeks`.
    """

    waves: tuple[float, ...] = ()

    def factor(self, weeks: Any) -> Any:
        """What the level is multiplied by in these weeks, on average about 1."""
        weeks = np.asarray(weeks)
        if not self.waves:
            return np.ones(len(weeks))
        return np.exp(_waves(weeks, len(self.waves) // 2) @ np.array(self.waves))


def season_of(first: int, totals: Any, opened: Any) -> Season:
    """The season of weekly totals.

    Parameters
    ----------
    first
        The first week.
    totals
        Orders of each week, shape (weeks,).
    opened
        0.0 for weeks that do not count.
    """
    there = np.flatnonzero(opened > 0)
    n = len(there)
    y = np.asarray(totals, dtype=np.float64)[there]
    if n < LEAST_WEEKS or y.sum() == 0:
        return Season()
    weeks = first + there
    middle = (weeks[0] + weeks[-1]) / 2
    trend = np.stack([np.ones(n), (weeks - middle) / SEASON], axis=1)
    _, _, plain = _fitted(y, trend, np.full(2, _LOOSE))
    phi = 1.0
    coefficients = np.zeros(0)
    for harmonics in (1, 2):
        design = np.concatenate([trend, _waves(weeks, harmonics)], axis=1)
        for _ in range(2):
            ridge = np.concatenate([np.full(2, _LOOSE), np.repeat(phi / np.square(SPREADS[:harmonics]), 2)])
            coefficients, mean, deviance = _fitted(y, design, ridge)
            phi = max(1.0, float(np.sum((y - mean) ** 2 / mean)) / (n - design.shape[1]))
        if harmonics == 1 and (plain - deviance) / phi <= 2 * np.log(n):
            return Season()
    return Season(tuple(coefficients[2:].tolist()))


def _waves(weeks: Any, harmonics: int) -> Any:
    turn = 2 * np.pi / SEASON * np.asarray(weeks, dtype=np.float64)
    return np.stack([f(k * turn) for k in range(1, harmonics + 1) for f in (np.cos, np.sin)], axis=1)


def _fitted(y: Any, design: Any, ridge: Any) -> tuple[Any, Any, float]:
    """Coefficients, means and deviance of a Poisson fit with log link, by Newton's steps."""
    b = np.zeros(design.shape[1])
    b[0] = np.log(y.mean())
    for _ in range(_STEPS):
        mean = np.exp(np.clip(design @ b, -30, 30))
        step = np.linalg.solve(
            design.T @ (mean[:, None] * design) + np.diag(ridge), design.T @ (y - mean) - ridge * b
        )
        # a long step may overshoot where the trend is steep
        b += step * min(1.0, 2.0 / max(float(np.abs(step).max()), _LOOSE))
        if np.abs(step).max() < 1e-10:
            break
    mean = np.exp(np.clip(design @ b, -30, 30))
    some = np.where(y > 0, y, 1.0)
    return b, mean, float(2 * np.sum(np.where(y > 0, y * np.log(some / mean), 0.0) - (y - mean)))
