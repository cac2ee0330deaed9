"""The beta distribution: its distribution function and quantiles, in floats.

References
----------
NIST Digital Library of Mathematical Functions, 8.17: the incomplete beta function; (8.17.4) symmetry,
(8.17.22) continued fraction. The fraction is evaluated from its front as Lentz (1976) does, with the
change of Thompson and Barnett (1986).
"""

from __future__ import annotations

from math import exp, inf, lgamma, log, log1p
from typing import Final

MOST_TERMS: Final = 100_000
"""The fraction takes a number of terms that grows with the root of the larger parameter."""
_TINY: Final = 1e-300
_NEAR: Final = 1e-15
HALVINGS: Final = 44


def log_beta(a: float, b: float) -> float:
    """Logarithm of the beta function B(a, b)."""
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def incomplete_beta(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function I_x(a, b).

    Parameters
    ----------
    x
        0 to 1; the share of a beta distribution of these parameters that lies below it is returned.
    a, b
        Parameters above 0.

    Raises
    ------
    ValueError
        When a parameter is not within its range.
    """
    if not (0 <= x <= 1 and 0 < a < inf and 0 < b < inf):
        raise ValueError(f"I_{x}({a}, {b})")
    if x in (0, 1):
        return float(x)
    # the fraction converges fast on this side only (DLMF 8.17(v))
    if x > (a + 1) / (a + b + 2):
        return 1 - _by_fraction(1 - x, b, a)
    return _by_fraction(x, a, b)


def _by_fraction(x: float, a: float, b: float) -> float:
    front = exp(a * log(x) + b * log1p(-x) - log_beta(a, b)) / a
    value, upper, lower = 1.0, 1.0, 0.0
    for n in range(1, MOST_TERMS):
        m, odd = divmod(n, 2)
        if odd:
            term = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            term = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        lower = 1 / ((1 + term * lower) or _TINY)
        upper = (1 + term / upper) or _TINY
        value *= upper * lower
        if abs(upper * lower - 1) < _NEAR:
            break
    return min(1.0, front / value)


def quantile(share: float, a: float, b: float) -> float:
    """The x at which I_x(a, b) is this share, by halving: always to the same bit on one machine."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if incomplete_beta(middle, a, b) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2
