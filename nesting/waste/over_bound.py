"""What a plan took over its lower bound, sheet by sheet.

The bound is one of the whole plan. What the plan costs above it lies in the glass beside the panels, so each sheet
bears of it by what the glass beside its panels cost: a full sheet little, the last one much.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from ..figures import Figures, shares


@dataclass(frozen=True, slots=True)
class OverBound:
    """What a sheet bears of the excess of its plan.

    Parameters
    ----------
    area
        Of the glass beside its panels. [twice nm2]
    money
        Of its cost. [1/10,000 of the currency]
    dear
        Of this money, what lies in the panels: more than all glass beside them cost, since the bound counts on
        cheaper glass. [1/10,000 of the currency]
    """

    area: int = 0
    money: int = 0
    dear: int = 0


NONE: Final = OverBound()


def money_of(figures: Figures) -> tuple[int, int, int]:
    """The cost of a sheet by area: in panels of orders, in spares and fillers, in the glass beside them."""
    beside = figures.trim + figures.cullet + figures.offcut
    panels, extras, _ = shares(figures.cost, [figures.cut, figures.spare + figures.filler, beside])
    return panels, extras, figures.cost - panels - extras


def over_bound(sheets: Mapping[int, Figures], bound: int | None) -> dict[int, OverBound]:
    """Split what the sheets of one glass of a plan cost over their bound.

    Parameters
    ----------
    sheets
        Figures as planned, by number; those that the plan took over from another one are left out.
    bound
        Lower bound of their cost, or None where none is known: then all glass beside the panels may be
        avoidable. [1/10,000 of the currency]
    """
    numbers = sorted(sheets)
    cost = sum(sheets[n].cost for n in numbers)
    excess = cost - min(cost, max(0, bound or 0))
    beside = [sheets[n].trim + sheets[n].cullet + sheets[n].offcut for n in numbers]
    money = [money_of(sheets[n])[2] for n in numbers]
    held = min(excess, sum(money))
    amounts = shares(held, money)
    dear = shares(excess - held, [sheets[n].cost - m for n, m in zip(numbers, money, strict=True)])
    return {
        n: OverBound(area * mine // whole if whole else 0, mine + more, more)
        for n, area, whole, mine, more in zip(numbers, beside, money, amounts, dear, strict=True)
    }
