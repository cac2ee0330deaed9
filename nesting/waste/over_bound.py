"""What a plan took over its lower bound, sheet by sheet.

The bound is one of the whole plan. What the plan costs above it lies in the glass beside the panels, so each sheet
bears of it by the glass that it has beside them: a full sheet little, the last one much.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from ..figures import Figures, shares


@dataclass(frozen=True, slots=True)
class OverBound:
    """What a sheet bears of the excess of its plan: area [twice nm2] and money [1/10,000]."""

    area: int = 0
    money: int = 0


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
    area = sum(sheets[n].sheet for n in numbers) * excess // cost if cost else 0
    areas = shares(min(area, sum(beside)), beside)
    amounts = shares(min(excess, sum(money)), money)
    return {n: OverBound(a, m) for n, a, m in zip(numbers, areas, amounts, strict=True)}
