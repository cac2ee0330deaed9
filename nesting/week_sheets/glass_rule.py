"""The rule of one glass, fitted, and how well it foretold weeks that it had not seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..text import tr
from .cover_rule import Cover
from .line_rule import Line
from .residuals import Residuals


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleReport:
    """What is said of a rule.

    Parameters
    ----------
    glass
        Glass key.
    rule
        ``cover``, ``cover and rest`` or ``line and rest``; ``usual fill`` where nothing could be fitted.
        A cover may go by the area of blanks, or by other prices than those paid. In plain words: `words`.
    fill
        Share of the inner area of a sheet that it fills [1/1000], or None.
    weeks
        Weeks that were nested, and on which it was fitted.
    error, bias
        Of weeks left out of the fit: mean absolute error of the middle answer, and mean answer less real
        plan, both in sheets of all sizes together a week; None with too few weeks.
    score
        Continuous ranked probability score of each rule tried, in sheets, sizes and total together.
    """

    glass: str
    rule: str
    fill: int | None
    weeks: int
    error: float | None = None
    bias: float | None = None
    score: tuple[tuple[str, float], ...] = ()

    @property
    def words(self) -> str:
        """The rule in plain words."""
        if self.rule == "usual fill":
            return tr("area at a usual fill, too few weeks")
        if self.rule == "line and rest":
            return tr("line in the area, with what it missed")
        if self.rule.startswith("cover and rest"):
            return tr("area at the fitted fill, with what it missed")
        return tr("area at the fitted fill")


@dataclass(frozen=True, slots=True)
class GlassRule:
    """Base and residuals of one glass; with `carried` a week may take no sheet at all."""

    base: Cover | Line
    rest: Residuals | None
    sizes: int
    carried: bool = False

    def sheets(self, sums: Any, uniform: Any) -> Any:
        """Whole sheets of weeks.

        Parameters
        ----------
        sums
            int64 of shape (weeks, columns). [mm2, and millionths of a sheet]
        uniform
            Shape (weeks,), in [0, 1).

        Returns
        -------
        array
            int32 of shape (weeks, sizes).
        """
        return self.drawn(self.base.base(sums), sums, uniform)

    def drawn(self, base: Any, sums: Any, uniform: Any) -> Any:
        """The same from the sheets of the base, which many draws of a week share."""
        first = self.base.first
        areas = sums[:, first : first + self.sizes].sum(axis=1)
        if self.rest is None:
            return base.astype(np.int32)
        found = np.floor(base + self.rest.drawn(areas, uniform) + 0.5).astype(np.int32)
        found = np.maximum(found, 0)
        if not self.carried:
            # glass does not come from nothing: what the draw took away is put back
            none = found.sum(axis=1) == 0
            found[none] = np.maximum(0, np.floor(base[none] + 0.5)).astype(np.int32)
            short = none & (found.sum(axis=1) == 0)
            found[short, 0] = 1
        found[areas == 0] = 0
        return found


def crps(samples: Any, actual: Any) -> Any:
    """Continuous ranked probability score of whole numbers drawn, a number a week.

    Parameters
    ----------
    samples
        Shape (draws, weeks).
    actual
        Shape (weeks,).

    Notes
    -----
    Mean |X - y| less half the mean |X - X'| (Gneiting and Raftery 2007); of one answer its absolute error.
    """
    away = np.abs(samples - actual).mean(axis=0)
    ranked = np.sort(samples, axis=0)
    n = len(ranked)
    weight = (2 * np.arange(1, n + 1) - n - 1).astype(np.float64)
    spread = (weight[:, None] * ranked).sum(axis=0) / (n * n)
    return away - spread


def score(samples: Any, actual: Any) -> Any:
    """Scores of the sizes and of their total together, a number a week.

    Parameters
    ----------
    samples
        Shape (draws, weeks, sizes).
    actual
        Shape (weeks, sizes).
    """
    sizes = actual.shape[1]
    total = crps(samples.sum(axis=2), actual.sum(axis=1))
    if sizes == 1:
        return total
    return total + sum(crps(samples[:, :, k], actual[:, k]) for k in range(sizes))
