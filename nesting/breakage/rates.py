"""Breakage rates from counts: beta-binomial, shrunk from the step to the glass and on to the size class.

A rate starts as a beta distribution from the shop file. That of a step and glass starts from the mean of
the step, that of a size class from the mean of its step and glass, each with the weight of the shop file;
where little was cut, the rate stays near the level above, where much was cut, the record alone tells. The
level above is always taken without the pieces of the level below: no piece counts twice.

References
----------
Gelman and others, Bayesian Data Analysis, 5.1 to 5.3: rates of several groups that are told by each other
(from memory). The mean of the level above is taken as known, so that intervals are somewhat too narrow
where few pieces are behind it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from ..happened import AtStep
from .beta import quantile
from .counts import Worked, added_up
from .predictive import Beta
from .settings import BreakageSettings
from .size_class import SizeClass

MILLION: Final = 10**6
HELD: Final = Fraction(9, 10)
"""Share that the intervals hold, with equal tails."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Pieces done and broken."""

    done: int = 0
    broken: int = 0

    def __add__(self, other: Tally) -> Tally:
        return Tally(self.done + other.done, self.broken + other.broken)

    def __sub__(self, other: Tally) -> Tally:
        return Tally(self.done - other.done, self.broken - other.broken)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """The rate at which pieces break at one step.

    Parameters
    ----------
    step, glass, size
        Which pieces; no glass and no size for all of them.
    tally
        The pieces behind it.
    share
        What the record and the shop file say of it together.
    """

    step: AtStep
    glass: str = ""
    size: SizeClass | None = None
    tally: Tally
    share: Beta

    @property
    def ppm(self) -> int:
        """The mean. [parts per million]"""
        return round(self.share.mean * MILLION)

    def interval(self) -> tuple[int, int]:
        """Equal-tailed 90 % interval. [parts per million]"""
        tail = float((1 - HELD) / 2)
        a, b = float(self.share.a), float(self.share.b)
        return round(quantile(tail, a, b) * MILLION), round(quantile(1 - tail, a, b) * MILLION)


class Rates:
    """The rates of all steps, glasses and size classes.

    Parameters
    ----------
    counts
        The evidence; none at all leaves the values of the shop file.
    settings
        Where rates start from.
    """

    def __init__(self, counts: Iterable[Worked], settings: BreakageSettings) -> None:
        self.settings = settings
        self.counts = added_up(counts)
        self._steps: dict[AtStep, Tally] = {}
        self._glasses: dict[tuple[AtStep, str], Tally] = {}
        self._sizes: dict[tuple[AtStep, str, SizeClass], Tally] = {}
        for one in self.counts:
            tally = Tally(one.done, one.broken)
            self._steps[one.step] = self._steps.get(one.step, Tally()) + tally
            if one.glass:
                key = (one.step, one.glass)
                self._glasses[key] = self._glasses.get(key, Tally()) + tally
            if one.size is not None:
                self._sizes[one.step, one.glass, one.size] = tally

    @property
    def told(self) -> bool:
        """Whether there is any evidence."""
        return any(one.done for one in self.counts)

    def of(self, step: AtStep, glass: str = "", size: SizeClass | None = None) -> Rate:
        """The rate of a step, of a glass at it, or of a size class of that glass."""
        start = self.settings.start_of(step)
        tally = self._steps.get(step, Tally())
        share = Beta.of(start.rate, start.weight)
        if glass:
            mine = self._glasses.get((step, glass), Tally())
            share = Beta.of(_with(share, tally - mine).mean, start.weight)
            tally = mine
            if size is not None:
                mine = self._sizes.get((step, glass, size), Tally())
                share = Beta.of(_with(share, tally - mine).mean, start.weight)
                tally = mine
        return Rate(step=step, glass=glass, size=size, tally=tally, share=_with(share, tally))

    def all(self) -> list[Rate]:
        """Every step, then every glass and size class at it that the record knows."""
        out = []
        for step in AtStep:
            out.append(self.of(step))
            for glass in sorted(g for s, g in self._glasses if s is step):
                out.append(self.of(step, glass))
                out += [
                    self.of(step, glass, size) for size in SizeClass if (step, glass, size) in self._sizes
                ]
        return out


def _with(share: Beta, tally: Tally) -> Beta:
    """The share once these pieces are known too."""
    return Beta(share.a + tally.broken, share.b + tally.done - tally.broken)
