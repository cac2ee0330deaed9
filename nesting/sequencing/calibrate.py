"""The shop's own rates from a few cuts that were timed: one factor over all times, for they are few."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction

from ..plan import Plan
from ..sequence import LIFTS, steps_of
from ..shop_table import Habit, Lifts, Rates
from .counts import step_milliseconds

LEAST_CUTS = 10
"""Fewer timed cuts tell more of the day than of the shop."""
STEP = 50
"""Rates are rounded to this. [ms]"""


@dataclass(frozen=True, slots=True)
class Timed:
    """A score and break that was timed: number of its sheet and of its step, and how long it took. [ms]"""

    sheet: int
    step: int
    milliseconds: int


@dataclass(frozen=True, slots=True)
class Calibrated:
    """Rates that give the timed cuts the time that they took in all; both times, and their ratio. [ms]"""

    rates: Rates
    measured: int
    modelled: int
    factor: Fraction


def calibrated(plan: Plan, timed: Sequence[Timed], rates: Rates, lifts: Lifts = LIFTS) -> Calibrated:
    """Scale the rates of the table to what was timed.

    Parameters
    ----------
    plan
        That was cut.
    timed
        Steps of it, each of a sheet that the plan has; `LEAST_CUTS` at least.
    rates
        By which the plan was modelled. The time to lay up a sheet stays, for it is not part of a step.
    lifts
        As in the other outputs of the plan.

    Raises
    ------
    LookupError
        When the plan has no such sheet or step.
    """
    modelled = 0
    layouts = {layout.number: layout for layout in plan.layouts}
    for one in timed:
        layout = layouts[one.sheet]
        step = {s.number: s for s in steps_of(plan, layout, lifts=lifts)}[one.step]
        modelled += step_milliseconds(step, Habit(layout.habit or plan.habit), rates)
    measured = sum(one.milliseconds for one in timed)
    factor = Fraction(measured, max(1, modelled))

    def scaled(value: int) -> int:
        return round(value * factor / STEP) * STEP

    # what a kilogram adds is small: to the millisecond
    values = {
        f.name: round(getattr(rates, f.name) * factor)
        if f.name.endswith("_kg")
        else scaled(getattr(rates, f.name))
        for f in fields(rates)
        if f.name != "sheet"
    }
    return Calibrated(Rates(**values, sheet=rates.sheet), measured, modelled, factor)
