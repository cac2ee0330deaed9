"""What the shop file says about breakage: where rates start from, and what a remake and a spare cost.

All values are our assumption, a place to start from; the record of the shop takes over piece by piece.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from ..happened import AtStep
from ..units import MONEY

LEAST_RATE: Final = Fraction(1, 100_000)
GREATEST_RATE: Final = Fraction(1, 2)
LEAST_WEIGHT: Final = 1
GREATEST_WEIGHT: Final = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where a rate starts from.

    Parameters
    ----------
    rate
        Share of the pieces that break at the step, within `LEAST_RATE` and `GREATEST_RATE`.
    weight
        It counts as much as so many recorded pieces.

    Raises
    ------
    ValueError
        When one of them is out of range.
    """

    rate: Fraction = Fraction(1, 200)
    weight: Fraction = Fraction(200)

    def __post_init__(self) -> None:
        if not LEAST_RATE <= self.rate <= GREATEST_RATE:
            raise ValueError(f"rate {self.rate}")
        if not LEAST_WEIGHT <= self.weight <= GREATEST_WEIGHT:
            raise ValueError(f"weight {self.weight}")


def _own_starts() -> dict[AtStep, Start]:
    return {
        AtStep.BREAKING: Start(rate=Fraction(1, 100)),
        AtStep.DRILLING: Start(rate=Fraction(1, 50), weight=Fraction(100)),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakageSettings:
    """Settings of the table ``[breakage]``.

    Parameters
    ----------
    start
        Of every step that has none of its own.
    steps
        Starts of single steps.
    remake
        What it costs to make one panel again, besides its glass. [1/10,000 of the currency]
    spare
        What it costs to cut one spare and keep it, besides its glass. [1/10,000 of the currency]
    late_day
        What a working day costs by which a panel is late. [1/10,000 of the currency]
    remake_days
        Working days from cutting a panel until the one that is made again is cut.
    """

    start: Start = field(default_factory=Start)
    steps: Mapping[AtStep, Start] = field(default_factory=_own_starts)
    remake: int = 20 * MONEY
    spare: int = 3 * MONEY
    late_day: int = 10 * MONEY
    remake_days: int = 2

    def start_of(self, step: AtStep) -> Start:
        """Where the rate of a step starts from."""
        return self.steps.get(step, self.start)
