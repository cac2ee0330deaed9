"""Needs of the open orders against what is there and on order: what is short, when, for whom, and what can wait."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from .lead_time import Receiving
from .needs_plan import NeededSheet, PlannedNeeds
from .quantity import allowed
from .settings import Arriving, StockNow, Supply


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekNeed:
    """What one week takes of one stock size.

    Parameters
    ----------
    week, glass, stock
        See `NeededSheet`; `stock` is empty for the offcuts of a glass.
    sheets
        Sheets, or offcuts.
    cut, area
        Cut outlines, and the sheets. [nm2]
    there
        Of the sheets, how many are there by their day.
    """

    week: int
    glass: str
    stock: str
    sheets: int
    cut: int
    area: int
    there: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HitOrder:
    """An order on a sheet that is not there by its day.

    Parameters
    ----------
    order, due
        The order, and the day by which the glass on that sheet must be cut.
    there
        Day on which the sheet is there: what is on order, or else an order of today; None where nobody sells it.
    """

    order: str
    due: date
    there: date | None

    @property
    def can_wait(self) -> bool:
        """Whether it can wait for that day and is still cut in time."""
        return self.there is not None and self.there <= self.due

    @property
    def days_late(self) -> int | None:
        """Days by which it would be late, None where the sheet never comes."""
        return None if self.there is None else max(0, (self.there - self.due).days)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortage:
    """A stock size of which there is not enough.

    Parameters
    ----------
    stock, glass
        The size.
    day
        The day on which it bites: by then the first missing sheet must be cut.
    sheets
        Missing by their day, what is on order for later too.
    days
        Days by which those must be cut that nothing on order covers.
    now
        Of them those that an order of the next look would be too late for.
    buy
        What to order now for them: whole cases, the least order. 0 where nobody sells it.
    arrival
        Expected day of an order of today, or None.
    hit
        Orders on the missing sheets, each once, by due day.
    """

    stock: str
    glass: str
    day: date
    sheets: int
    days: tuple[date, ...]
    now: int
    buy: int
    arrival: date | None
    hit: tuple[HitOrder, ...]

    @property
    def to_buy(self) -> int:
        """Missing sheets that nothing on order covers."""
        return len(self.days)

    @property
    def late(self) -> tuple[HitOrder, ...]:
        """Orders that are late even if it is ordered today."""
        return tuple(h for h in self.hit if not h.can_wait)

    @property
    def waiting(self) -> tuple[HitOrder, ...]:
        """Orders that can wait for the delivery."""
        return tuple(h for h in self.hit if h.can_wait)


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """Sheets on hand whose orders could all wait for a delivery: they are free for what is more pressing.

    Parameters
    ----------
    stock
        The size.
    sheets
        How many.
    there
        Day of the delivery that they could wait for: on order, or ordered today.
    orders
        The orders on them and their due days.
    """

    stock: str
    sheets: int
    there: date
    orders: Mapping[str, date]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenNeeds:
    """Needs of the open orders.

    Parameters
    ----------
    weeks
        By week, glass and size.
    shortages
        The first to bite first.
    waiting
        What could wait.
    planned
        The sheets behind it.
    """

    weeks: tuple[WeekNeed, ...]
    shortages: tuple[Shortage, ...]
    waiting: tuple[Waiting, ...]
    planned: PlannedNeeds

    @property
    def missing(self) -> dict[str, tuple[date, ...]]:
        """By size the days by which sheets that are neither there nor on order must be cut, for `advise`."""
        return {s.stock: s.days for s in self.shortages if s.days}


def open_needs(
    planned: PlannedNeeds,
    stock: StockNow,
    supplies: Sequence[Supply],
    receiving: Receiving,
    *,
    review_weeks: int = 1,
) -> OpenNeeds:
    """Hold the planned sheets against the stock.

    Parameters
    ----------
    planned
        Real plans of the open orders.
    stock
        What is there and on order.
    supplies
        Terms; of several suppliers of a size the one that is here first counts.
    receiving
        Today and the working days.
    review_weeks
        Weeks from one look to the next.

    Notes
    -----
    Sheets go to the plans by the day on which they must be cut. What comes on a day can be cut on it.
    """
    by_size: dict[str, list[NeededSheet]] = defaultdict(list)
    for sheet in planned.sheets:
        if not sheet.is_offcut:
            by_size[sheet.stock].append(sheet)
    fastest: dict[str, Supply] = {}
    for supply in supplies:
        known = fastest.get(supply.name)
        if known is None or supply.lead_days < known.lead_days:
            fastest[supply.name] = supply
    shortages: list[Shortage] = []
    waiting: list[Waiting] = []
    there: dict[int, bool] = {}
    for name, sheets in sorted(by_size.items()):
        account = _Account(name, sheets, stock, fastest.get(name), receiving, review_weeks)
        shortages += account.shortage()
        waiting += account.waiting()
        there |= account.there()
    return OpenNeeds(
        weeks=_weeks(planned.sheets, there),
        shortages=tuple(sorted(shortages, key=lambda s: (s.day, s.stock))),
        waiting=tuple(waiting),
        planned=planned,
    )


class _Account:
    """Sheets of one size in the order of their days, and the day on which each is there."""

    def __init__(
        self,
        name: str,
        sheets: Iterable[NeededSheet],
        stock: StockNow,
        supply: Supply | None,
        receiving: Receiving,
        review_weeks: int,
    ) -> None:
        self.name, self.supply, self.receiving = name, supply, receiving
        self.sheets = sorted(sheets, key=lambda s: (s.day, sorted(s.due.items())))
        self.arrival = None if supply is None else _arrives(supply, receiving, receiving.today)
        next_look = receiving.order_day(review_weeks)
        self.next_arrival = None if supply is None else _arrives(supply, receiving, next_look)
        self.on_hand = stock.on_hand.get(name, 0)
        self.days = _days(name, len(self.sheets), self.on_hand, stock.arriving, receiving)

    def there(self) -> dict[int, bool]:
        """Whether each sheet is there by its day, by its identity."""
        return {
            id(sheet): day is not None and day <= max(sheet.day, self.receiving.today)
            for sheet, day in zip(self.sheets, self.days, strict=True)
        }

    def shortage(self) -> list[Shortage]:
        """The shortage of this size, if there is one."""
        there = self.there()
        missing = [(s, day) for s, day in zip(self.sheets, self.days, strict=True) if not there[id(s)]]
        if not missing:
            return []
        to_buy = [s for s, day in missing if day is None]
        now = sum(self.next_arrival is None or s.day < self.next_arrival for s in to_buy)
        hit: dict[str, HitOrder] = {}
        for sheet, day in missing:
            comes = day or self.arrival
            for order, due in sheet.due.items():
                one = HitOrder(order=order, due=due, there=comes)
                before = hit.get(order)
                if before is None or _worse(one, before):
                    hit[order] = one
        return [
            Shortage(
                stock=self.name,
                glass=self.sheets[0].glass,
                day=max(missing[0][0].day, self.receiving.today),
                sheets=len(missing),
                days=tuple(max(s.day, self.receiving.today) for s in to_buy),
                now=now,
                buy=0 if self.supply is None else allowed(self.supply, now),
                arrival=self.arrival,
                hit=tuple(sorted(hit.values(), key=lambda h: (h.due, h.order))),
            )
        ]

    def waiting(self) -> list[Waiting]:
        """Sheets on hand whose orders are all due after a delivery."""
        comes = [day for day in self.days if day is not None and day > self.receiving.today]
        there = min([*comes, *([self.arrival] if self.arrival else [])], default=None)
        if there is None:
            return []
        free = [s for s in self.sheets[: max(0, self.on_hand)] if min(s.due.values(), default=s.day) >= there]
        if not free:
            return []
        orders: dict[str, date] = {}
        for sheet in free:
            for order, due in sheet.due.items():
                orders[order] = min(due, orders.get(order, due))
        return [Waiting(stock=self.name, sheets=len(free), there=there, orders=dict(sorted(orders.items())))]


def _worse(one: HitOrder, other: HitOrder) -> bool:
    a, b = one.days_late, other.days_late
    if a is None or b is None:
        return a is None and b is not None
    return (a, other.due) > (b, one.due)


def _arrives(supply: Supply, receiving: Receiving, day: date) -> date:
    return receiving.working(day + timedelta(days=supply.lead_days))


def _days(
    name: str, count: int, on_hand: int, arriving: Iterable[Arriving], receiving: Receiving
) -> list[date | None]:
    """The day on which each of so many sheets is there; None for those that nothing on hand or on order covers."""
    tomorrow = receiving.working(receiving.today + timedelta(days=1))
    coming = sorted(
        (receiving.working(a.day) if a.day >= receiving.today else tomorrow, a.sheets)
        for a in arriving
        if a.name == name
    )
    days: list[date | None] = [receiving.today] * max(0, on_hand)
    owed = max(0, -on_hand)
    for day, sheets in coming:
        # what earlier plans are still to get goes first
        paid = min(owed, sheets)
        owed -= paid
        days += [day] * (sheets - paid)
    return [*days, *[None] * count][:count]


def _weeks(sheets: Iterable[NeededSheet], there: Mapping[int, bool]) -> tuple[WeekNeed, ...]:
    groups: dict[tuple[int, str, str], list[NeededSheet]] = defaultdict(list)
    for sheet in sheets:
        groups[(sheet.week, sheet.glass, "" if sheet.is_offcut else sheet.stock)].append(sheet)
    return tuple(
        WeekNeed(
            week=week,
            glass=glass,
            stock=stock,
            sheets=len(mine),
            cut=sum(s.cut for s in mine),
            area=sum(s.area for s in mine),
            there=sum(there.get(id(s), True) for s in mine),
        )
        for (week, glass, stock), mine in sorted(groups.items())
    )
