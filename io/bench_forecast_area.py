"""What everybody does: square metres ahead, divided by a yield. References of the bench, no methods of the program."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np

from panewright.nesting.forecast.past_sheets import sheets_of
from panewright.nesting.forecast.rivals import Past, ses_paths
from panewright.nesting.stock import StockPiece
from panewright.nesting.week_sheets.counts import WeekCount

FIXED_YIELD: Final = 0.80
_M2: Final = 10**18


def areas_of(counts: Sequence[WeekCount], glasses: Sequence[str], weeks: Sequence[int]) -> Any:
    """Cut area by week and glass, float64. [m2]"""
    row = {week: k for k, week in enumerate(weeks)}
    out = np.zeros((len(row), len(glasses)))
    for count in counts:
        if count.week in row and count.glass in glasses:
            out[row[count.week], glasses.index(count.glass)] += count.cut / _M2
    return out


def by_area(
    counts: Sequence[WeekCount],
    pieces: Sequence[StockPiece],
    past: Past,
    futures: int,
    rng: Callable[[], Any],
) -> dict[str, Any]:
    """Area by simple exponential smoothing with a normal band, over the fitted and over a fixed yield.

    The sizes of a glass share its sheet area as they did in the past.

    Parameters
    ----------
    counts
        Of past weeks.
    pieces
        The stock sizes, in the order of the series.
    past
        Of the same day; its own counts are not used.
    futures, rng
        Number of paths; gives the generator of each.

    Returns
    -------
    dict
        Paths by name, float64 of shape (futures, weeks, series).
    """
    glasses = sorted({p.glass for p in pieces})
    weeks = past.weeks.tolist()
    area = ses_paths(replace(past, counts=areas_of(counts, glasses, weeks)), futures, rng())
    sheet = np.array([p.width * p.height / _M2 for p in pieces])
    taken = sheets_of(counts, [p.name for p in pieces], weeks).sum(axis=0) * sheet
    cut = areas_of(counts, glasses, weeks).sum(axis=0)
    column = [glasses.index(p.glass) for p in pieces]
    of_glass = np.array([sum(t for t, c in zip(taken, column, strict=True) if c == g) for g in column])
    share = np.divide(taken, of_glass, out=np.zeros(len(pieces)), where=of_glass > 0)
    fitted = np.divide(cut[column], of_glass, out=np.ones(len(pieces)), where=of_glass > 0)
    return {
        "area x fitted yield": area[:, :, column] * share / np.maximum(fitted, 1e-9) / sheet,
        "area x fixed yield": area[:, :, column] * share / FIXED_YIELD / sheet,
    }
