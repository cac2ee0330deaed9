"""Sheets in cutting order with their days: due days first, then few open orders."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ..cutting_days import CuttingDays, Load
from .closing import NODES
from .deadlines import ENDLESS
from .order import Ordered, fewest_open


@dataclass(frozen=True, slots=True)
class LateOrder:
    """An order whose last sheet is cut after its due day."""

    order: str
    due: date
    day: date


@dataclass(frozen=True, slots=True)
class Dated:
    """An order of sheets with the cutting day of each place that is free, and the orders that are late."""

    ordered: Ordered
    days: tuple[date, ...]
    late: tuple[LateOrder, ...]


def by_end_of(days: CuttingDays, start: date, end: date, taken: Mapping[date, Load], lost: int = 0) -> Load:
    """What the table can cut from a day to the end of another one, if no time is lost.

    Parameters
    ----------
    days
        What the table can do.
    start, end
        First and last day.
    taken
        What is already set down for a day.
    lost
        Time that every day loses because no sheet goes over the end of a day. [s]
    """
    sheets = seconds = 0
    day = start
    while day <= end:
        if day.weekday() in days.working and day not in days.free:
            used = taken.get(day, Load())
            if days.sheets is not None:
                sheets += max(0, days.sheets - used.sheets)
            if days.seconds is not None:
                seconds += max(0, days.seconds - used.seconds - lost)
        day += timedelta(days=1)
    return Load(
        ENDLESS.sheets if days.sheets is None else sheets,
        ENDLESS.seconds if days.seconds is None else seconds,
    )


def latest_loads(
    days: CuttingDays, start: date, due: Mapping[str, date], taken: Mapping[date, Load], lost: int = 0
) -> dict[str, Load]:
    """What may be cut when each order is complete, from its due day; the arguments as in `by_end_of`."""
    known = {day: by_end_of(days, start, day, taken, lost) for day in sorted(set(due.values()))}
    return {order: known[day] for order, day in due.items()}


def latest_alone(
    sheets: Sequence[Collection[str]], due: Mapping[str, date], more: int = 1
) -> dict[str, Load]:
    """The same where the shop does not say how much it cuts on a day.

    What is due by a day is to be complete on as many sheets as hold some of it, and `more`.
    """
    out: dict[str, Load] = {}
    for day in sorted(set(due.values())):
        soon = {order for order, other in due.items() if other <= day}
        number = sum(not soon.isdisjoint(sheet) for sheet in sheets)
        out |= {order: Load(number + more, ENDLESS.seconds) for order, other in due.items() if other == day}
    return out


def in_days(
    sheets: Sequence[Collection[str]],
    *,
    due: Mapping[str, date],
    days: CuttingDays,
    start: date,
    loads: Sequence[Load],
    taken: Mapping[date, Load] | None = None,
    front: int = 0,
    nodes: int = NODES,
) -> Dated:
    """Put sheets in cutting order: the fewest late orders that were found, then the fewest open at once.

    Parameters
    ----------
    sheets
        The orders on each sheet, in the order that counts if nothing better is found.
    due
        Due days of orders; others may be complete at any time.
    days, start, taken
        What the table can do, its first day, and what is set down for a day already (see `CuttingDays`).
    loads
        What each sheet asks of the table.
    front
        The first so many sheets are cut already: they have no day, and what they took is in `taken` if it counts.
    nodes
        See `fewest_open`.

    Raises
    ------
    ValueError
        The shop does not say how much the table cuts on a day, or what `fewest_open` raises.

    Notes
    -----
    The search counts sheets and seconds up to the end of each day, as if a sheet could go over it. Where
    that made more orders late, the days are taken shorter by the longest sheet. Two ways to put off what
    cannot be held are compared: few orders late, and none later than in the order given.
    """
    if not days.limited:
        raise ValueError("the table has no limit a day")
    taken = taken or {}
    mine = {
        order: due[order] for order in sorted({o for sheet in sheets[front:] for o in sheet} & due.keys())
    }
    if days.seconds is not None:
        # a sheet that takes longer than a day has a day of its own
        longest = days.seconds
        asks = [Load(load.sheets, min(load.seconds, longest)) for load in loads]
    else:
        asks = [Load(load.sheets) for load in loads]

    def dated(latest: Mapping[str, Load]) -> tuple[tuple[int, int, int, int], Dated]:
        found = fewest_open(sheets, loads=asks, latest=latest, front=front, nodes=nodes)
        slots = days.slots(start, [loads[s] for s in found.order[front:]], taken)
        late = late_orders(sheets, found.order[front:], slots, mine)
        delay = sum((x.day - x.due).days for x in late)
        return (len(late), delay, found.most_open, found.sum_open), Dated(found, tuple(slots), tuple(late))

    wanted = latest_loads(days, start, mine, taken)
    tried = [dated(wanted), dated(_no_later(sheets, range(front, len(sheets)), asks, wanted))]
    best = min(tried, key=lambda x: x[0])
    if best[0][0] > len(tried[0][1].ordered.eased) and days.seconds is not None:
        lost = max((load.seconds for load in asks[front:]), default=1) - 1
        tried.append(dated(latest_loads(days, start, mine, taken, lost)))
    return min(tried, key=lambda x: x[0])[1]


def _no_later(
    sheets: Sequence[Collection[str]], order: Sequence[int], loads: Sequence[Load], wanted: Mapping[str, Load]
) -> dict[str, Load]:
    """The limits, put off to where this order of the sheets completes what it completes too late."""
    done = Load()
    ends: dict[str, Load] = {}
    for s in order:
        done += loads[s]
        ends |= dict.fromkeys(sheets[s], done)
    out = {}
    for name, most in wanted.items():
        end = ends.get(name, Load())
        out[name] = Load(max(most.sheets, end.sheets), max(most.seconds, end.seconds))
    return out


def late_orders(
    sheets: Sequence[Collection[str]], order: Sequence[int], days: Sequence[date], due: Mapping[str, date]
) -> list[LateOrder]:
    """The orders whose last sheet is cut after their due day, the soonest due first.

    Parameters
    ----------
    sheets
        The orders on each sheet.
    order
        Indexes of sheets, first to last.
    days
        The cutting day of each place.
    due
        Due days of orders.
    """
    last: dict[str, date] = {}
    for s, day in zip(order, days, strict=True):
        last |= dict.fromkeys(sheets[s], day)
    late = [LateOrder(o, due[o], day) for o, day in last.items() if o in due and day > due[o]]
    return sorted(late, key=lambda x: (x.due, x.day, x.order))
