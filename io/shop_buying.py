"""Buying in the shop file: how sure the stock is to last, what holding and running short cost, shut times."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from fractions import Fraction
from typing import Any, Final, TypeVar

from panewright.io.shop_days import as_day
from panewright.io.shop_keys import Section
from panewright.nesting.buying.settings import BuyingSettings
from panewright.nesting.glass import glass_key
from panewright.nesting.shop import GlassKind, UnknownGlass, split_key
from panewright.nesting.text import tr
from panewright.nesting.units import MONEY

LEAST_SERVICE: Final = Fraction(1, 2)
MOST_SERVICE: Final = Fraction(999, 1000)
MOST_HOLDING: Final = 2
MOST_REVIEW: Final = 26
MOST_MONEY: Final = 100_000
LEAST_KG: Final = 100
MOST_KG: Final = 10_000_000
MOST_SHEETS: Final = 100_000
MOST_SHUT: Final = 200
LONGEST_SHUT: Final = timedelta(days=92)
EXAMPLE: Final = '[["2027-12-20", "2028-01-02"]]'

T = TypeVar("T")


def read_buying(part: Section, kinds: Mapping[str, GlassKind]) -> BuyingSettings:
    """The table ``[buying]``; what it leaves out keeps its built-in value.

    Parameters
    ----------
    part
        The table.
    kinds
        The kinds of glass that the shop has, by name.
    """
    base = BuyingSettings()
    service = part.number("service", LEAST_SERVICE, MOST_SERVICE)
    review = part.whole("review_weeks", 1, MOST_REVIEW)
    holding = part.number("holding", 0, MOST_HOLDING)
    order_cost, short_cost = (part.number(name, 0, MOST_MONEY) for name in ("order_cost", "short_cost"))
    kilograms = None if part.raw("storage_kg") == "none" else part.whole("storage_kg", LEAST_KG, MOST_KG)
    service_for = _by_glass(
        part.section("service_for"), kinds, lambda one, key: one.number(key, LEAST_SERVICE, MOST_SERVICE)
    )
    sheets = _by_glass(part.section("storage_sheets"), kinds, lambda one, key: one.whole(key, 0, MOST_SHEETS))
    shut = _shut(part)
    part.close()
    return BuyingSettings(
        service=base.service if service is None else service,
        service_for=service_for,
        review_weeks=base.review_weeks if review is None else review,
        holding=base.holding if holding is None else holding,
        order_cost=_money(order_cost, base.order_cost),
        short_cost=_money(short_cost, base.short_cost),
        storage_kg=kilograms,
        storage_sheets=sheets,
        shut=shut,
    )


def _money(amount: Fraction | None, base: int) -> int:
    return base if amount is None else round(amount * MONEY)


def _by_glass(
    part: Section, kinds: Mapping[str, GlassKind], read: Callable[[Section, str], T | None]
) -> dict[str, T]:
    """Values of some glasses, by glass key."""
    out: dict[str, T] = {}
    for key in part.table:
        try:
            kind, thickness = split_key(key)
            known = thickness in kinds[kind].thicknesses
        except (UnknownGlass, LookupError):
            known = False
        value = read(part, key)
        if not known:
            part.bad(key, tr("the shop has no such glass"), tr("write kind and thickness, as in clear-12"))
        elif value is not None:
            out[glass_key(kind, thickness)] = value
    return out


def _shut(part: Section) -> tuple[tuple[date, date], ...]:
    """First and last days of the times in which nothing is cut, in their order."""
    value = part.raw("shut")
    if value is None:
        return ()
    if not isinstance(value, list) or len(value) > MOST_SHUT:
        part.bad("shut", tr("this is no list of first and last days"), _as_in())
        return ()
    out = []
    for entry in value:
        days = [as_day(day) for day in entry] if isinstance(entry, list) else []
        reason = _fault(days)
        if reason or days[0] is None or days[1] is None:
            part.bad("shut", reason, _as_in(), str(entry))
            return ()
        out.append((days[0], days[1]))
    return tuple(sorted(out))


def _as_in() -> str:
    return tr("write it as in {example}", example=EXAMPLE)


def _fault(days: list[Any]) -> str:
    if len(days) != 2:
        return tr("this is no first and last day")
    first, last = days
    if first is None or last is None:
        return tr("the calendar has no such day")
    if last < first:
        return tr("the last day is before the first")
    if last - first > LONGEST_SHUT:
        return tr("this is longer than {count} days", count=LONGEST_SHUT.days)
    return ""
