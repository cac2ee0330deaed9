"""The order of the sheets: late orders first of all, then few open orders at once.

Several orders are made and judged by the days that they give: the one in which the sheets were filed, one with
few late panels, and those that close order after order. Whoever has a better search hands it in.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from ..due_days import NEVER, order_of_sheets
from .filling import DayLimits, fill_days
from .sheets import DaySheet
from .standing import Standing, standing

NO_DUE: Final = date.max.toordinal()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SheetsToOrder:
    """What an order of sheets is to be found for.

    Parameters
    ----------
    sheets
        As they were filed.
    opened
        Orders that are open already.
    start
        The first day that counts.
    limits
        Of a day.
    """

    sheets: tuple[DaySheet, ...]
    opened: frozenset[str]
    start: date
    limits: DayLimits


@dataclass(frozen=True, slots=True)
class Searched:
    """What a search found.

    Parameters
    ----------
    order
        Indexes of the sheets, first to last.
    bound
        No order whatever has fewer orders open at its worst sheet.
    """

    order: tuple[int, ...]
    bound: int = 0


Search = Callable[[SheetsToOrder], Searched]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordered:
    """Sheets in cutting order with their days.

    Parameters
    ----------
    order
        Indexes of the sheets, first to last; days never fall.
    days
        One a place.
    standing
        How they stand.
    bound
        No order whatever has fewer orders open at its worst sheet, due days or not.
    """

    order: tuple[int, ...]
    days: tuple[date, ...]
    standing: Standing
    bound: int

    @property
    def proven(self) -> bool:
        """Whether it is proven that no order has fewer open orders."""
        return self.standing.most_open == self.bound


def as_filed(given: SheetsToOrder) -> Searched:
    """The order in which the sheets were filed."""
    return Searched(tuple(range(len(given.sheets))))


def few_late(given: SheetsToOrder) -> Searched:
    """An order with few late panels, whatever is open (see `due_days.order_of_sheets`)."""
    contents = []
    dues: dict[tuple[int, int], list[int]] = {}
    for sheet in given.sheets:
        content: dict[tuple[int, int], int] = {}
        for panel in sheet.ordered:
            # panels of one due day stand for one another
            due = NEVER if panel.due is None else panel.due.toordinal()
            content[0, due] = content.get((0, due), 0) + 1
            dues.setdefault((0, due), []).append(due)
        contents.append(content)

    def times_of(order: Sequence[int]) -> list[int]:
        days = fill_days(given.start, [given.sheets[i] for i in order], given.limits, wait=False)
        return [day.toordinal() for day in days]

    return Searched(tuple(order_of_sheets(contents, times_of, dues)[0]))


def closing_by_due(given: SheetsToOrder) -> Searched:
    """Close order after order, what is due first first; of equals the one that opens the fewest others."""
    return Searched(_closing(given, due_first=True))


def closing_fewest(given: SheetsToOrder) -> Searched:
    """Close order after order, always the one that opens the fewest others; of equals what is due first."""
    return Searched(_closing(given, due_first=False))


def _closing(given: SheetsToOrder, *, due_first: bool) -> tuple[int, ...]:
    holds = [frozenset(sheet.orders) for sheet in given.sheets]
    names = sorted(frozenset[str]().union(*holds))
    on = {name: [i for i, mine in enumerate(holds) if name in mine] for name in names}
    due = {
        name: min((_ordinal(given.sheets[i].due_of(name)) for i in on[name]), default=NO_DUE)
        for name in names
    }
    opened = set(given.opened)
    out: list[int] = []
    done: set[int] = set()
    while names:
        best = None
        for name in names:
            mine = [i for i in on[name] if i not in done]
            new = len(frozenset[str]().union(*(holds[i] for i in mine)) - opened)
            key = (due[name], new) if due_first else (new, due[name])
            if best is None or (*key, len(mine), name) < best:
                best = (*key, len(mine), name)
        assert best is not None
        chosen = best[-1]
        left = [i for i in on[chosen] if i not in done]
        while left:
            i = min(left, key=lambda i: (len(holds[i] - opened), i))
            left.remove(i)
            out.append(i)
            done.add(i)
            opened |= holds[i]
        names = [name for name in names if any(i not in done for i in on[name])]
    # what holds no order waits for nobody
    return (*out, *(i for i in range(len(holds)) if i not in done))


def _ordinal(day: date | None) -> int:
    return NO_DUE if day is None else day.toordinal()


OWN: Final[tuple[Search, ...]] = (as_filed, few_late, closing_by_due, closing_fewest)


def arranged(given: SheetsToOrder, order: Iterable[int], bound: int = 0) -> Ordered:
    """Sheets in this order with their days; where some are not here yet, the others go first."""
    order = tuple(order)
    days = fill_days(given.start, [given.sheets[i] for i in order], given.limits)
    places = sorted(range(len(order)), key=lambda place: (days[place], place))
    final = tuple(order[place] for place in places)
    dates = tuple(days[place] for place in places)
    how = standing([given.sheets[i] for i in final], dates, given.opened)
    return Ordered(order=final, days=dates, standing=how, bound=max(bound, least_open(given)))


def least_open(given: SheetsToOrder) -> int:
    """A plain bound: the orders on the fullest sheet, and all that are open already while the first one is cut."""
    on = frozenset[str]().union(*(sheet.orders for sheet in given.sheets))
    still = given.opened & on
    if not still:
        return max((len(sheet.orders) for sheet in given.sheets), default=0)
    return max(
        len(still),
        min(len(still | frozenset(sheet.orders)) for sheet in given.sheets),
        *(len(sheet.orders) for sheet in given.sheets),
    )


def best_order(given: SheetsToOrder, searches: Collection[Search] = OWN) -> Ordered:
    """The best of what the searches find; of equals the earlier one.

    Parameters
    ----------
    given
        The sheets.
    searches
        Each gives an order, and perhaps a bound.
    """
    found = [search(given) for search in searches]
    bound = max(one.bound for one in found)
    return min((arranged(given, one.order, bound) for one in found), key=lambda ordered: ordered.standing)
