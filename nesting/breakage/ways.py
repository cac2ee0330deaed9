"""How likely a panel breaks on its way through the steps: one less the product of what each step spares."""

from __future__ import annotations

from collections.abc import Sequence

from ..happened import AtStep
from .predictive import Beta, product
from .rates import Rates
from .size_class import SizeClass


def breaks_anywhere(rates: Rates, glass: str, size: SizeClass, steps: Sequence[AtStep]) -> Beta:
    """The share of pieces that break at any of these steps."""
    return product(rates.of(step, glass, size).share.turned for step in steps).turned


def breaks_at(rates: Rates, glass: str, size: SizeClass, steps: Sequence[AtStep], place: int) -> Beta:
    """The share of pieces that come to the step at this place whole and break there."""
    before = [rates.of(step, glass, size).share.turned for step in steps[:place]]
    return product([*before, rates.of(steps[place], glass, size).share])
