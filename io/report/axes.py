"""Axes of pictures: round ticks, whole ones for counts, and labels that need no more digits than they say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Final

from panewright.io.report.value_text import decimals
from panewright.nesting.text import tr

_STEPS: Final = (Fraction(1), Fraction(2), Fraction(5, 2), Fraction(5), Fraction(10))
_MOST_DECIMALS: Final = 3
"""Behind the point of thousands, millions and so on."""
_LONG: Final = 15
"""Digits before the point of a label, at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """A scale of numbers.

    Parameters
    ----------
    ticks
        Rising; the first and the last are the ends of the axis.
    labels
        One a tick.
    unit
        What the labels count, where it is not one: ``thousands``; empty otherwise.
    """

    ticks: tuple[Fraction, ...]
    labels: tuple[str, ...]
    unit: str

    def share(self, value: float) -> float:
        """Where a value lies between the ends, 0 to 1 within them."""
        low, high = self.ticks[0], self.ticks[-1]
        return float((Fraction(value) - low) / (high - low))


def axis(values: Sequence[float], *, most: int, zero: float, margin: float = 0.0) -> Axis:
    """The axis of some values.

    Parameters
    ----------
    values
        Finite; none gives an axis from 0 to 1.
    most
        Ticks at most, two at least.
    zero
        Zero belongs to the axis where the values come as near to it as this share of the greatest; 1 always.
    margin
        Room beside the values, as a share of their span.

    Examples
    --------
    >>> axis([3.0, 11.0], most=7, zero=1.0).labels
    ('0', '2', '4', '6', '8', '10', '12')
    >>> axis([0.5, 0.82], most=5, zero=0.3).labels
    ('0.5', '0.6', '0.7', '0.8', '0.9')
    """
    whole = all(value == round(value) for value in values)
    low, high = _span([Fraction(value) for value in values], zero, Fraction(margin), whole)
    step = _step(low, high, max(2, most), whole)
    ticks = tuple(step * i for i in range(floor(low / step), ceil(high / step) + 1))
    power, unit = _unit(max(abs(ticks[0]), abs(ticks[-1])))
    if 0 < power < _LONG and _places(step, power) > _MOST_DECIMALS:
        # numbers that differ only far behind the point are written in full
        power, unit = 0, ""
    scale = Fraction(10) ** power
    places = _places(step, power)
    return Axis(ticks=ticks, labels=tuple(decimals(t / scale, places) for t in ticks), unit=unit)


def _places(step: Fraction, power: int) -> int:
    """Decimals that tell two ticks apart in units of a power of ten."""
    part = step / Fraction(10) ** power
    return next((n for n in range(20) if (part * 10**n).denominator == 1), 20)


def _span(
    values: Sequence[Fraction], zero: float, margin: Fraction, whole: bool
) -> tuple[Fraction, Fraction]:
    if not values:
        return Fraction(0), Fraction(1)
    low, high = min(values), max(values)
    near = Fraction(zero)
    if low >= 0 and low <= high * near:
        low = Fraction(0)
    elif high <= 0 and abs(high) <= abs(low) * near:
        high = Fraction(0)
    # no room on the far side of zero, where nothing is
    spare = (high - low) * margin
    low, high = (
        low if low >= 0 > low - spare else low - spare,
        high if high <= 0 < high + spare else high + spare,
    )
    if low == high:
        around = Fraction(1) if whole or not low else abs(low) / 10
        low, high = (low, high + around) if not low else (low - around, high + around)
    return low, high


def _step(low: Fraction, high: Fraction, most: int, whole: bool) -> Fraction:
    """The least round step that needs no more than so many ticks."""
    raw = (high - low) / most
    power = len(str(floor(raw))) - 1 if raw >= 1 else -len(str(floor(1 / raw)))
    for exponent in (power - 1, power, power + 1, power + 2):
        for mantissa in _STEPS:
            step = mantissa * Fraction(10) ** exponent
            if whole and step.denominator != 1:
                continue
            if ceil(high / step) - floor(low / step) + 1 <= most:
                return step
    return Fraction(10) ** (power + 3)


def _unit(greatest: Fraction) -> tuple[int, str]:
    """The power of ten that labels leave out, and its name."""
    if greatest >= 10**6:
        power = (len(str(int(greatest))) - 1) // 3 * 3
        return power, {6: tr("millions"), 9: tr("billions")}.get(power, f"10^{power}")
    if 0 < greatest < Fraction(1, 10_000):
        power = -((len(str(int(1 / greatest))) + 2) // 3 * 3)
        return power, f"10^{power}"
    return 0, ""
