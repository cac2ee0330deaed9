"""What a rule misses, drawn from the weeks that are most like the one at hand, all sizes together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

NEAREST: Final = (12, 40)
"""Fewest and most weeks that are drawn from; a third of all between them."""


@dataclass(frozen=True, slots=True)
class Residuals:
    """Differences of real plans from a rule, in order of the weeks' areas.

    Parameters
    ----------
    areas
        Of the weeks, rising. [mm2]
    rest
        Real sheets less those of the rule, shape (weeks, sizes).
    """

    areas: Any
    rest: Any

    @classmethod
    def of(cls, areas: Any, rest: Any) -> Residuals:
        """From weeks in any order."""
        order = np.argsort(areas, kind="stable")
        return cls(areas[order], rest[order])

    def drawn(self, areas: Any, uniform: Any) -> Any:
        """One residual for each area, by a number in [0, 1): from the weeks nearest in rank."""
        n = len(self.areas)
        near = min(n, max(NEAREST[0], min(NEAREST[1], n // 3)))
        middle = np.searchsorted(self.areas, areas)
        start = np.clip(middle - near // 2, 0, n - near)
        return self.rest[start + (uniform * near).astype(np.int64)]
