"""The demand of one glass that sizes are chosen for: the panels of past weeks, week by week and as a whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from ..demand.book import BookedOrder
from ..demand.weeks import SEASON
from ..outlines import area2
from ..week_sheets.kinds import Kind, kinds_of, panels_in

MOST_KINDS: Final = 60
"""Kinds of panels in the LP; of more, so many weeks stand for all as hold no more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Panels of one glass.

    Parameters
    ----------
    glass
        Glass key.
    weeks
        Kinds of panels by week; weeks in which nothing of the glass was cut are left out.
    number
        Weeks looked at, those in which nothing was cut among them.
    """

    glass: str
    weeks: tuple[tuple[int, tuple[Kind, ...]], ...]
    number: int

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """Equal panels of all weeks taken together."""
        counts: Counter[Kind] = Counter()
        for _, kinds in self.weeks:
            for kind in kinds:
                counts[kind._replace(panels=0)] += kind.panels
        return tuple(kind._replace(panels=n) for kind, n in sorted(counts.items()))

    @property
    def panels(self) -> int:
        """How many panels."""
        return sum(kind.panels for _, kinds in self.weeks for kind in kinds)

    @property
    def area(self) -> int:
        """Of their cut outlines, rounded down. [nm2]"""
        return sum(area2(kind.cut) * kind.panels for _, kinds in self.weeks for kind in kinds) // 2

    def a_year(self, amount: int | Fraction) -> int:
        """What an amount for all these weeks is in a year of 52 weeks, rounded."""
        year = Fraction(amount) * SEASON / self.number
        return (2 * year.numerator + year.denominator) // (2 * year.denominator)

    def without(self, kinds: Iterable[Kind]) -> Demand:
        """The same without these kinds, whatever their number."""
        gone = {kind[:-1] for kind in kinds}
        weeks = tuple((w, tuple(k for k in mine if k[:-1] not in gone)) for w, mine in self.weeks)
        return replace(self, weeks=tuple((w, mine) for w, mine in weeks if mine))

    def sample(self, most: int = MOST_KINDS) -> Demand:
        """Whole weeks spread over all of them that hold no more kinds than `most`; at least one week.

        The order of the weeks is that of the halves, quarters, eighths ... of the time (van der Corput 1935),
        so that any first part of it is spread evenly.
        """
        if len(self.kinds) <= most:
            return self
        kinds: set[tuple[object, ...]] = set()
        taken: list[tuple[int, tuple[Kind, ...]]] = []
        for k in spread(len(self.weeks)):
            more = {kind[:-1] for kind in self.weeks[k][1]}
            if taken and len(kinds | more) > most:
                continue
            kinds |= more
            taken.append(self.weeks[k])
        share = Fraction(
            sum(_area(mine) for _, mine in taken), max(1, sum(_area(mine) for _, mine in self.weeks))
        )
        number = max(1, round(self.number * share))
        return Demand(glass=self.glass, weeks=tuple(sorted(taken)), number=number)


def _area(kinds: Sequence[Kind]) -> int:
    return sum(area2(kind.cut) * kind.panels for kind in kinds)


def spread(count: int) -> list[int]:
    """The numbers below `count` in an order whose every beginning is spread over all of them.

    Examples
    --------
    >>> spread(6)
    [0, 3, 1, 4, 2, 5]
    """
    bits = max(1, (count - 1).bit_length())
    places = sorted(range(1 << bits), key=lambda k: int(f"{k:0{bits}b}"[::-1], 2))
    out: list[int] = []
    for place in places:
        k = place * count >> bits
        if k not in out:
            out.append(k)
    return out


def demand_of(orders: Sequence[BookedOrder], glass: str, weeks: range, shut: Iterable[int] = ()) -> Demand:
    """What the orders took of one glass in some weeks.

    Parameters
    ----------
    orders
        Those called off are left out; remakes take glass too.
    glass
        Glass key.
    weeks
        The weeks looked at (see `demand.weeks`).
    shut
        Weeks in which nothing is cut: they are no weeks here.
    """
    gone = set(shut)
    by_week: dict[int, list[BookedOrder]] = {}
    for order in orders:
        if order.cancelled is None and order.week in weeks:
            by_week.setdefault(order.week, []).append(order)
    found = [(week, kinds_of(panels_in(mine, glass))) for week, mine in sorted(by_week.items())]
    worked = set(weeks) - gone | {week for week, kinds in found if kinds}
    return Demand(
        glass=glass, weeks=tuple((w, kinds) for w, kinds in found if kinds), number=max(1, len(worked))
    )
