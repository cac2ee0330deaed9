"""The day on which glass must be cut, from the day on which the customer wants the tank."""

from __future__ import annotations

from datetime import date, timedelta

from .cutting_days import CuttingDays
from .shop_tanks import LeadDays


def lead_of(lead: LeadDays, *, drilled: bool) -> int:
    """Working days from cutting to the wanted day; `drilled`: it has holes or cut-outs."""
    return lead.edging + lead.bonding + lead.curing + (lead.drilling if drilled else 0)


def is_working(day: date, calendar: CuttingDays) -> bool:
    """Whether the shop works on this day."""
    return day.weekday() in calendar.working and day not in calendar.free


def due_from_wanted(wanted: date, lead: LeadDays, calendar: CuttingDays, *, drilled: bool) -> date:
    """The last working day after which the lead days still fit in by the wanted day.

    Parameters
    ----------
    wanted
        Day on which the customer wants it; it may be one on which the shop does not work.
    lead
        The shop's lead days.
    calendar
        Its working and free days.
    drilled
        Whether it has holes or cut-outs.

    Returns
    -------
    date
        A working day; of the days after it up to the wanted one, as many as the lead days are working
        days.

    Examples
    --------
    >>> five = LeadDays(edging=1, drilling=0, bonding=1, curing=3)
    >>> due_from_wanted(date(2027, 3, 14), five, CuttingDays(), drilled=False).isoformat()
    '2027-03-05'
    """
    left, day = lead_of(lead, drilled=drilled), wanted
    while left or not is_working(day, calendar):
        left -= is_working(day, calendar)
        day -= timedelta(days=1)
    return day
