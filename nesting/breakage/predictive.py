"""How many of some pieces will break: beta-binomial counts, and sums of them.

References
----------
Skellam (1948), A probability distribution derived from the binomial distribution by regarding the
probability of success as variable between the sets of trials, J. R. Stat. Soc. B 10 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

import numpy as np

Floats = np.ndarray[Any, np.dtype[np.float64]]
_FADED: Final = 1e-15
"""Counts less likely than this share of the likeliest one are left out at the ends."""
BILLION: Final = 10**9
DIRECT: Final = 4_000_000
"""Longer convolutions go by Fourier transforms."""
SURE: Final = Fraction(10**12)
"""A beta distribution counts as a fixed share from this weight on."""


@dataclass(frozen=True, slots=True)
class Beta:
    """A beta distribution of a share, with exact parameters above 0."""

    a: Fraction
    b: Fraction

    @classmethod
    def of(cls, mean: Fraction, weight: Fraction) -> Beta:
        """The one of this mean that counts as much as so many pieces."""
        return cls(mean * weight, (1 - mean) * weight)

    @classmethod
    def matched(cls, mean: Fraction, square: Fraction) -> Beta:
        """The one with this mean, strictly within 0 and 1, and this mean of the square."""
        spread = square - mean * mean
        room = mean * (1 - mean)
        return cls.of(mean, room / spread - 1 if spread * SURE > room else SURE)

    @property
    def mean(self) -> Fraction:
        """Mean of the share."""
        return self.a / (self.a + self.b)

    @property
    def square(self) -> Fraction:
        """Mean of the square of the share."""
        weight = self.a + self.b
        return self.a * (self.a + 1) / (weight * (weight + 1))

    @property
    def turned(self) -> Beta:
        """That of one less the share."""
        return Beta(self.b, self.a)


def product(factors: Iterable[Beta]) -> Beta:
    """The product of independent shares, as the beta distribution of the same mean and variance.

    Both moments are exact; in between, a product of beta shares is no beta distribution, though for
    shares near 0 or 1 the two are hard to tell apart. (Fan 1991, The distribution of the product of
    independent beta variables, Comm. Stat. Theory Meth. 20, from memory.)
    """
    shares = list(factors)
    if len(shares) == 1:
        return shares[0]
    mean = square = Fraction(1)
    for one in shares:
        mean *= one.mean
        square *= one.square
    return Beta.matched(mean, square)


@dataclass(frozen=True, slots=True)
class Count:
    """A random whole number: `first`, and how likely it and each number after it is."""

    first: int
    shares: tuple[float, ...]

    def at_most(self, number: int) -> float:
        """How likely it is no greater than this."""
        return sum(self.shares[: max(0, number - self.first + 1)])

    def at_least(self, number: int) -> float:
        """How likely it is no less than this."""
        return sum(self.shares[max(0, number - self.first) :])

    def within(self, parts: Fraction) -> tuple[int, int]:
        """The equal-tailed interval that holds at least this share: from and to.

        Likelihoods are rounded to a billionth first, so that no bit of a float decides.
        """
        tail = (1 - parts) / 2 * BILLION
        low = high = self.first
        total, low_found = 0.0, False
        for number, share in enumerate(self.shares, self.first):
            total += share
            if not low_found and round(total * BILLION) >= tail:
                low, low_found = number, True
            high = number
            if round(total * BILLION) >= BILLION - tail:
                break
        return low, high


NONE: Final = Count(0, (1.0,))


def broken_of(pieces: int, share: Beta) -> Count:
    """How many of so many pieces break where each breaks with the same unknown share."""
    if not pieces:
        return NONE
    a, b = float(share.a), float(share.b)
    # outwards from the mean by ratios of neighbours, so that nothing underflows on the way
    middle = round(pieces * share.mean)
    up: list[float] = [1.0]
    down: list[float] = []
    for k in range(middle, pieces):
        up.append(up[-1] * ((pieces - k) * (a + k)) / ((k + 1) * (b + pieces - k - 1)))
        if up[-1] < _FADED and up[-1] < up[-2]:
            break
    for k in range(middle, 0, -1):
        last = down[-1] if down else 1.0
        down.append(last * (k * (b + pieces - k)) / ((pieces - k + 1) * (a + k - 1)))
        if down[-1] < _FADED and down[-1] < last:
            break
    shares = [*reversed(down), *up]
    total = sum(shares)
    return Count(middle - len(down), tuple(s / total for s in shares))


def together(counts: Iterable[Count]) -> Count:
    """The sum of independent counts, by convolution."""
    first, sums = 0, np.ones(1)
    for one in counts:
        sums = _convolved(sums, np.array(one.shares))
        likely = np.flatnonzero(sums > _FADED * sums.max())
        low, high = int(likely[0]), int(likely[-1])
        first, sums = first + one.first + low, sums[low : high + 1]
    return Count(first, tuple(sums.tolist()))


def _convolved(one: Floats, two: Floats) -> Floats:
    if len(one) * len(two) <= DIRECT:
        return np.convolve(one, two)
    size = len(one) + len(two) - 1
    return np.maximum(np.fft.irfft(np.fft.rfft(one, size) * np.fft.rfft(two, size), size), 0.0)
