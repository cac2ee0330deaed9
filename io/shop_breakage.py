"""Breakage in the shop file: where rates start from, and what a remake and a spare cost."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from panewright.io.shop_keys import Section
from panewright.nesting.breakage.settings import (
    GREATEST_RATE,
    GREATEST_WEIGHT,
    LEAST_RATE,
    LEAST_WEIGHT,
    BreakageSettings,
    Start,
)
from panewright.nesting.happened import AtStep
from panewright.nesting.text import tr
from panewright.nesting.units import MONEY

MOST_MONEY: Final = 100_000
MOST_DAYS: Final = 60


def read_breakage(part: Section) -> BreakageSettings:
    """The table ``[breakage]``; what it leaves out keeps its built-in value."""
    base = BreakageSettings()
    start = _start(part, base.start)
    steps = part.section("steps")
    own: dict[AtStep, Start] = {}
    for step in AtStep:
        raw = steps.raw(step.value)
        before = base.steps.get(step)
        if raw is None:
            if before is not None:
                # a built-in weight that is that of all steps goes with what the file says of all steps
                weight = start.weight if before.weight == base.start.weight else before.weight
                own[step] = Start(rate=before.rate, weight=weight)
        elif isinstance(raw, dict):
            one = steps.section(step.value)
            own[step] = _start(one, start)
            one.close()
        else:
            steps.bad(
                step.value,
                tr("this is no table of rate and weight"),
                tr("write it as in {example}", example="{ rate = 0.01, weight = 200 }"),
            )
    steps.close()
    costs = {name: part.number(f"{name}_cost", 0, MOST_MONEY) for name in ("remake", "spare", "late_day")}
    days = part.whole("remake_days", 0, MOST_DAYS)
    part.close()
    return BreakageSettings(
        start=start,
        steps=own,
        remake=_money(costs["remake"], base.remake),
        spare=_money(costs["spare"], base.spare),
        late_day=_money(costs["late_day"], base.late_day),
        remake_days=base.remake_days if days is None else days,
    )


def _start(part: Section, base: Start) -> Start:
    rate = part.number("rate", LEAST_RATE, GREATEST_RATE)
    weight = part.number("weight", LEAST_WEIGHT, GREATEST_WEIGHT)
    return Start(rate=base.rate if rate is None else rate, weight=base.weight if weight is None else weight)


def _money(amount: Fraction | None, base: int) -> int:
    return base if amount is None else round(amount * MONEY)
