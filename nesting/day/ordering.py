"""The order of the sheets: late orders first of all, then few open orders at once.

Several orders are made and judged by the days that they give: the one in which the sheets were filed, one with
few late panels, and those of the exact search for few open orders, which holds due days by one limit of a day
at a time. The best one is searched once more under its own lateness, which proves how good it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Final

from ..cutting_days import CuttingDays, Load
from ..due_days import NEVER, order_of_sheets
from ..open_orders.by_day import in_days, latest_loads
from ..open_orders.order import fewest_open
from .filling import DayLimits, fill_days
from .precedence import makers_first
from .sheets import DaySheet
from .standing import Standing, standing

PARTS: Final = 10**6
"""A day in parts, where its limits count together."""
NM_PER_METRE_PART: Final = 10**6
"""Metres of edge are counted in millimetres, as seconds are in the search. [nm]"""


FEW: Final = 15
"""Up to so many sheets each is tried at each place, of more only those that have to do with offcuts to come."""
MOST_TRIES: Final = 3000
"""Orders tried in all, where sheets wait for offcuts."""
RACK_TRIES: Final = 600
"""Orders tried of many sheets, where only racks or numbers bind them: every second one may be bound."""

MANY: Final = 60
"""More sheets than this are searched under all limits together alone."""


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

    @property
    def first(self) -> date:
        """The first working day."""
        return self.limits.first_day(self.start)

    @property
    def front(self) -> list[frozenset[str]]:
        """What is cut already as one sheet before all others; none where no order is open."""
        return [self.opened] if self.opened else []

    @property
    def held(self) -> list[frozenset[str]]:
        """The orders on each sheet, after those on the front."""
        return [*self.front, *(frozenset(sheet.orders) for sheet in self.sheets)]

    @property
    def due(self) -> dict[str, date]:
        """The first due day that each order still has; what is over is due on the first day."""
        out: dict[str, date] = {}
        first = self.first
        for sheet in self.sheets:
            for order in sheet.orders:
                day = sheet.due_of(order)
                if day is not None:
                    day = max(day, first)
                    out[order] = min(day, out.get(order, day))
        return out


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
        No order whatever has fewer orders open at its worst sheet.
    bound_in_time
        Nor has one in which no order is complete later than its due day or than here.
    """

    order: tuple[int, ...]
    days: tuple[date, ...]
    standing: Standing
    bound: int = 0
    bound_in_time: int = 0

    @property
    def proven(self) -> bool:
        """Whether no order of the sheets that makes nothing later has fewer orders open."""
        return self.standing.most_open <= max(self.bound, self.bound_in_time)


@dataclass(frozen=True, slots=True)
class OneLimit:
    """One limit of a day alone, with what each sheet asks of it."""

    days: CuttingDays
    loads: list[Load]


def one_limits(given: SheetsToOrder) -> list[OneLimit]:
    """The limit that takes the most days, then all of them together as parts of a day; none where none is stated.

    What asks for more than a day counts as one.
    """
    table, edging = given.limits.table, given.limits.edging
    plain = CuttingDays(working=table.working, free=table.free)
    found: list[tuple[CuttingDays, int, list[int]]] = []
    if table.sheets is not None:
        found.append((replace(plain, sheets=table.sheets), table.sheets, [1] * len(given.sheets)))
    if table.seconds is not None:
        asked = [sheet.load.seconds for sheet in given.sheets]
        found.append((replace(plain, seconds=table.seconds), table.seconds, asked))
    if edging is not None:
        most = max(1, edging // NM_PER_METRE_PART)
        asked = [-(-sheet.edging // NM_PER_METRE_PART) for sheet in given.sheets]
        found.append((replace(plain, seconds=most), most, asked))
    if not found:
        return []
    days, most, asked = max(found, key=lambda one: Fraction(sum(min(one[1], ask) for ask in one[2]), one[1]))
    loads = [Load(1, 0 if days.sheets is not None else min(most, ask)) for ask in asked]
    out = [OneLimit(days, loads)]
    if len(found) > 1:
        parts = [
            max(min(PARTS, -(-asked[i] * PARTS // most)) for _, most, asked in found)
            for i in range(len(given.sheets))
        ]
        out.append(OneLimit(replace(plain, seconds=PARTS), [Load(1, part) for part in parts]))
    return out


def few_late(given: SheetsToOrder) -> list[int]:
    """An order with few late panels, whatever is open (see `due_days.order_of_sheets`)."""
    contents = []
    first = given.first
    dues: dict[tuple[int, int], list[int]] = {}
    for sheet in given.sheets:
        content: dict[tuple[int, int], int] = {}
        for panel in sheet.ordered:
            # panels of one due day stand for one another
            due = NEVER if panel.due is None else max(panel.due, first).toordinal()
            content[0, due] = content.get((0, due), 0) + 1
            dues.setdefault((0, due), []).append(due)
        contents.append(content)

    def times_of(order: Sequence[int]) -> list[int]:
        days = fill_days(given.start, [given.sheets[i] for i in order], given.limits, wait=False)
        return [day.toordinal() for day in days]

    return order_of_sheets(contents, times_of, dues)[0]


def few_open(given: SheetsToOrder, limits: Iterable[OneLimit]) -> Iterator[Sequence[int]]:
    """Orders with few open orders at once, each held to the due days by one limit; without any, as few as can be."""
    shift = len(given.front)
    for limit in limits:
        loads = [*[Load()] * shift, *limit.loads]
        found = in_days(
            given.held, due=given.due, days=limit.days, start=given.start, loads=loads, front=shift
        )
        yield [i - shift for i in found.ordered.order[shift:]]


def arranged(given: SheetsToOrder, order: Iterable[int]) -> Ordered:
    """Sheets in this order with their days; where some are not here yet, the others go first.

    Where the order puts a sheet before one that must be cut first, the better of two changes is taken (see
    `makers_first`).
    """
    found = [_arranged(given, one) for one in makers_first(given.sheets, tuple(order))]
    return min(found, key=lambda one: one.standing)


def _arranged(given: SheetsToOrder, order: Sequence[int]) -> Ordered:
    days = fill_days(given.start, [given.sheets[i] for i in order], given.limits)
    places = sorted(range(len(order)), key=lambda place: (days[place], place))
    final = tuple(order[place] for place in places)
    dates = tuple(days[place] for place in places)
    how = standing([given.sheets[i] for i in final], dates, given.opened, given.first)
    return Ordered(order=final, days=dates, standing=how)


def best_order(given: SheetsToOrder) -> Ordered:
    """The best order that is found; of equals the one found first."""
    if not given.sheets:
        return arranged(given, ())
    shift = len(given.front)
    limits = one_limits(given)
    many = len(given.sheets) > MANY
    free = fewest_open(given.held, front=shift)
    orders: list[Sequence[int]] = [
        range(len(given.sheets)),
        few_late(given),
        *few_open(given, limits[-1:] if many else limits),
    ]
    if not limits:
        orders.append([i - shift for i in free.order[shift:]])
    best = _moved(given, min((arranged(given, order) for order in orders), key=lambda one: one.standing))
    in_time = free.bound
    if limits:
        order, in_time = _no_later(given, limits[0], best)
        best = min(best, arranged(given, order), key=lambda one: one.standing)
    return replace(best, bound=free.bound, bound_in_time=in_time)


def _moved(given: SheetsToOrder, best: Ordered) -> Ordered:
    """The order, bettered by putting single sheets elsewhere, where sheets must be cut before others.

    The searches before know nothing of offcuts and racks: what comes first for their sake may as well come elsewhere.
    """
    chained = {key for sheet in given.sheets for key in sheet.first}
    some = [i for i, s in enumerate(given.sheets) if s.first or s.key in chained]
    if not some:
        return best
    count = len(given.sheets)
    tries = MOST_TRIES if count <= FEW or any(s.after is not None for s in given.sheets) else RACK_TRIES
    better = True
    while better:
        better = False
        for i in some if count > FEW else range(count):
            for place in range(count):
                rest = [k for k in best.order if k != i]
                found = arranged(given, [*rest[:place], i, *rest[place:]])
                tries -= 1
                if found.standing < best.standing:
                    best, better = found, True
                if not tries:
                    return best
    return best


def _no_later(given: SheetsToOrder, limit: OneLimit, best: Ordered) -> tuple[list[int], int]:
    """An order with few open orders in which none is complete later than its due day or than in the best one.

    Returns
    -------
    tuple
        The order, and the bound for all such orders. It counts work up to the end of a day, as if a sheet could
        go over it: real days hold less.
    """
    shift = len(given.front)
    ends: dict[str, Load] = {}
    done = Load()
    for i in best.order:
        done += limit.loads[i]
        ends |= dict.fromkeys(given.sheets[i].orders, done)
    latest = {
        order: Load(max(most.sheets, ends[order].sheets), max(most.seconds, ends[order].seconds))
        for order, most in latest_loads(limit.days, given.start, given.due, {}).items()
    }
    found = fewest_open(given.held, loads=[*[Load()] * shift, *limit.loads], latest=latest, front=shift)
    return [i - shift for i in found.order[shift:]], found.bound if not found.eased else 0
