"""Intermittent counts: Croston's method, its two corrections, and the classes of Syntetos, Boylan and Croston.

Croston 1972 (Operational Research Quarterly 23): sizes and intervals of the non-zero counts are smoothed apart. SBA (Syntetos and
Boylan 2005, International Journal of Forecasting 21) takes its bias off; TSB (Teunter, Syntetos and Babai 2011, European Journal
of Operational Research 214) smooths the chance of a count in every week, so that it falls when nothing comes.
All are means; their bands are those of the residuals (see `rivals`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

ALPHA: Final = 0.1
"""Smoothing of sizes, intervals and chances, as the papers advise for such counts (0.1 to 0.2)."""


class Pattern(Enum):
    """How counts come: often or seldom, alike or unlike in size."""

    SMOOTH = "smooth"
    ERRATIC = "erratic"
    INTERMITTENT = "intermittent"
    LUMPY = "lumpy"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Smoothed:
    """What a method says after the last week, and what it said one week ahead of each week.

    Parameters
    ----------
    mean
        Counts a week from now on.
    before
        The same as it stood before each week; None until the first count had come.
    """

    mean: float
    before: tuple[float | None, ...]


def croston(counts: Sequence[float], alpha: float = ALPHA, *, unbiased: bool = False) -> Smoothed:
    """Croston's method, started with the first size and the first interval; `unbiased` for SBA.

    Examples
    --------
    >>> croston([0, 2, 0, 2, 0, 2]).mean
    1.0
    """
    factor = 1 - alpha / 2 if unbiased else 1.0
    size = interval = 0.0
    waited = 0
    before: list[float | None] = []
    for count in counts:
        before.append(factor * size / interval if interval else None)
        waited += 1
        if not count:
            continue
        if interval:
            size += alpha * (count - size)
            interval += alpha * (waited - interval)
        else:
            size, interval = float(count), float(waited)
        waited = 0
    return Smoothed(mean=factor * size / interval if interval else 0.0, before=tuple(before))


def tsb(counts: Sequence[float], alpha: float = ALPHA, beta: float = ALPHA) -> Smoothed:
    """Size times chance; the size starts with the first one, the chance with one over its interval.

    Parameters
    ----------
    alpha, beta
        Smoothing of the sizes and of the chance.
    """
    size = chance = 0.0
    waited = 0
    before: list[float | None] = []
    for count in counts:
        before.append(size * chance if chance else None)
        waited += 1
        if not chance:
            if count:
                size, chance = float(count), 1 / waited
            continue
        if count:
            size += alpha * (count - size)
        chance += beta * ((1.0 if count else 0.0) - chance)
    return Smoothed(mean=size * chance, before=tuple(before))


def pattern(counts: Sequence[float]) -> Pattern:
    """The class by mean interval between counts (limit 1.32) and squared variation of their sizes (0.49).

    Limits of Syntetos, Boylan and Croston 2005 (Journal of the Operational Research Society 56).
    """
    sizes = [c for c in counts if c]
    if not sizes:
        return Pattern.NONE
    often = mean_interval(counts) <= 1.32
    alike = size_variation(counts) <= 0.49
    if often:
        return Pattern.SMOOTH if alike else Pattern.ERRATIC
    return Pattern.INTERMITTENT if alike else Pattern.LUMPY


def mean_interval(counts: Sequence[float]) -> float:
    """Weeks for each non-zero count."""
    return len(counts) / sum(1 for c in counts if c)


def size_variation(counts: Sequence[float]) -> float:
    """Squared coefficient of variation of the non-zero counts."""
    sizes = [c for c in counts if c]
    mean = sum(sizes) / len(sizes)
    return sum((s - mean) ** 2 for s in sizes) / len(sizes) / mean**2
