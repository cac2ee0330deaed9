"""What order-up-to levels from a forecast would have held: weekly review, backorders, a lead time of whole weeks."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

LEAD: Final = 3
REVIEW: Final = 1
COVER: Final = LEAD + REVIEW
"""Weeks that an order-up-to level has to last."""
SETTINGS: Final = (0.50, 0.60, 0.70, 0.80, 0.85, 0.90, 0.925, 0.95, 0.975, 0.99, 0.995)
"""Wanted services for which levels are worked out."""
WANTED: Final = (0.90, 0.95, 0.975)
"""Those that are told."""
EQUAL: Final = 0.95
"""Achieved service at which stocks are compared."""


def stocked(levels: Any, demand: Any) -> tuple[Any, Any]:
    """Follow the stock of a shop from the first forecast on.

    Every Monday the stock position (on hand, on order, less backorders) is raised to the level of that day where it is below. What
    is ordered then is there after the lead time, and has to last until the next order is.

    Parameters
    ----------
    levels
        Order-up-to levels, shape (forecasts, series). [sheets]
    demand
        Sheets that weeks took, from the week of the first forecast on, shape (weeks, series).

    Returns
    -------
    tuple of arrays
        Whether the stock lasted, bool, and the mean stock on hand in the last week of the cover [sheets], both of shape
        (forecasts, series).

    Examples
    --------
    >>> lasted, stock = stocked(np.array([[5.0], [5.0]]), np.array([[1], [1], [1], [1], [3]]))
    >>> lasted.ravel().tolist(), stock.ravel().tolist()
    ([True, False], [1.5, 1.0])
    """
    position = np.zeros(levels.shape[1])
    lasted, stock = np.zeros(levels.shape, bool), np.zeros(levels.shape)
    for k, level in enumerate(levels):
        position = np.maximum(level, position)
        last = demand[k : k + COVER].sum(axis=0)
        at_start, at_end = position - demand[k : k + LEAD].sum(axis=0), position - last
        lasted[k] = at_end >= 0
        stock[k] = (np.maximum(at_start, 0) + np.maximum(at_end, 0)) / 2
        position = position - demand[k]
    return lasted, stock


def stock_at(service: Any, stock: Any, wanted: float = EQUAL) -> float | None:
    """The stock with which a service is achieved, between the settings around it; None where none reaches it.

    Parameters
    ----------
    service, stock
        Achieved service and mean stock of rising settings.

    Examples
    --------
    >>> stock_at([0.90, 0.94, 0.96], [10.0, 14.0, 18.0])
    16.0
    """
    before: tuple[float, float] | None = None
    for reached, held in zip(service, stock, strict=True):
        if reached >= wanted:
            if before is None or reached <= before[0]:
                return float(held)
            part = (wanted - before[0]) / (reached - before[0])
            return float(before[1] + part * (held - before[1]))
        before = (reached, held)
    return None
