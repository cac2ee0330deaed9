"""Sheets as a straight line in the areas, by least squares: what fits where offcuts pass from week to week."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

RIDGE: Final = 1e-3
"""Keeps the slopes of areas apart that always come together."""


@dataclass(frozen=True, slots=True)
class Line:
    """The rule of one glass: slopes by area and size, and what every week adds.

    Parameters
    ----------
    slopes
        Shape (areas, sizes). [sheets a m2]
    offset
        Shape (sizes,). [sheets]
    first
        Column of the first area.
    """

    slopes: Any
    offset: Any
    first: int = 0

    def base(self, sums: Any) -> Any:
        """Sheets of weeks, not rounded, float64 of shape (weeks, sizes)."""
        areas = sums[:, self.first : self.first + len(self.slopes)] / 10**6
        # sums in a fixed order: a matrix product may add up otherwise on another machine
        total = np.broadcast_to(self.offset, (len(areas), len(self.offset))).copy()
        for k in range(len(self.slopes)):
            total += areas[:, k : k + 1] * self.slopes[k]
        return total


def fitted_line(sums: Any, sheets: Any, first: int) -> Line:
    """The line of least squares through the weeks."""
    sizes = sheets.shape[1]
    areas = sums[:, first : first + sizes] / 10**6
    scale = max(1e-6, float(areas.max(initial=0.0)))
    x = np.concatenate((np.ones((len(areas), 1)), areas / scale), axis=1)
    ridge = np.eye(sizes + 1) * RIDGE
    ridge[0, 0] = 0.0
    found = np.linalg.solve(x.T @ x + ridge + 1e-12 * np.eye(sizes + 1), x.T @ sheets)
    return Line(found[1:] / scale, found[0], first)
