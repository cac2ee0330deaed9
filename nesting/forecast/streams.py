"""Random streams that depend on what they are for alone, never on who draws or in which order."""

from __future__ import annotations

from typing import Any

import numpy as np

COUNTS, CONTENTS, SHEETS = range(3)
"""What a future draws: its orders, what they hold, and the residuals of the rules."""


def stream(seed: int, purpose: int, future: int) -> Any:
    """The stream of one future for one purpose.

    References
    ----------
    Salmon and others 2011, Parallel random numbers: as easy as 1, 2, 3: the counter-based Philox generator.
    """
    return np.random.Generator(np.random.Philox(np.random.SeedSequence((abs(seed), purpose, future))))
