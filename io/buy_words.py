"""Why a size is ordered, or not: the figures of the advice in plain sentences."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from panewright.nesting.buying.advice import SizeAdvice
from panewright.nesting.buying.needs import Shortage
from panewright.nesting.buying.quantity import price_at
from panewright.nesting.demand.weeks import week_name
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import show_money

MOST_NAMES = 6
"""Orders that a sentence names."""


def hundredths(share: Fraction) -> str:
    """A share as ``62 of 100 futures`` says it, with one decimal where it is near one."""
    value = 100 * share
    digits = 0 if value < 98 or value == 100 else 1
    return local_number(f"{float(value):.{digits}f}")


def reasons(size: SizeAdvice, first: int, currency: str, *, known: bool = True) -> list[str]:
    """The reasons of one size.

    Parameters
    ----------
    size
        The advice.
    first
        The first week of the forecast.
    currency
        For prices.
    known
        Whether there was a stock list or store.
    """
    return [
        *_stock(size, first, known),
        *_quantity(size, currency),
        *_sooner(size, currency),
        *_cautions(size, first),
    ]


def _stock(size: SizeAdvice, first: int, known: bool) -> Iterable[str]:
    need = size.need
    if not size.choice.start.demand.any():
        yield tr("No future needs it.")
        return
    through = min(need.until, len(need.lasts)) - 1
    share = hundredths(Fraction(need.lasts[through], need.futures))
    week = week_name(first + through)
    if need.on_order:
        yield tr(
            "The {hand} sheets on hand and {coming} on order last through {week} in {share} of 100 futures.",
            hand=need.on_hand,
            coming=need.on_order,
            week=week,
            share=share,
        )
    elif known:
        yield tr_count(
            "The {count} sheet on hand lasts through {week} in {share} of 100 futures.",
            "The {count} sheets on hand last through {week} in {share} of 100 futures.",
            need.on_hand,
            week=week,
            share=share,
        )
    else:
        yield tr("Nothing is known to be on hand.")
    yield tr(
        "An order of today is here about {day} ({days} days, give or take {spread}); until that of the next look is here"
        " too, {point} sheets are enough in {wanted} of 100 futures, {middle} in half of them.",
        day=need.arrival.isoformat(),
        days=size.supply.lead_days,
        spread=size.supply.lead_spread,
        point=need.reorder_point,
        wanted=hundredths(need.service),
        middle=need.median_demand,
    )


def _quantity(size: SizeAdvice, currency: str) -> Iterable[str]:
    supply, best = size.supply, size.choice.best
    if not size.choice.start.demand.any() and not size.sheets:
        return
    if size.joins:
        yield tr(
            "It need not be ordered yet, but riding along with the delivery of {supplier} is cheaper than an order of its"
            " own later.",
            supplier=supply.supplier,
        )
    elif not size.sheets and not size.limited and not size.bridge:
        yield tr("Nothing needs to be ordered now.")
    elif not size.need.need and size.at_least:
        yield tr_count(
            "The plans of the open orders are short of {count} sheet.",
            "The plans of the open orders are short of {count} sheets.",
            size.at_least,
        )
    elif not size.need.need:
        yield tr("The wanted service is met, but running short costs more than a sheet more on hand.")
    if best.extra:
        yield tr_count(
            "{count} sheet more than the reorder point is kept, since running short costs more than holding it.",
            "{count} sheets more than the reorder point are kept, since running short costs more than holding them.",
            best.extra,
        )
    if size.sheets:
        yield tr(
            "{sheets} at once, of {each} {currency} each, is the cheapest quantity tried over {weeks} weeks: glass,"
            " deliveries, holding and running short together.",
            sheets=size.sheets,
            each=show_money(size.each),
            currency=currency,
            weeks=size.choice.weeks,
        )
        low = price_at(supply, 1)
        if size.each < low:
            yield tr(
                "So many at once bring the price of a sheet down from {high} to {low} {currency}.",
                high=show_money(low),
                low=show_money(size.each),
                currency=currency,
            )
        if supply.case > 1:
            yield tr(
                "It comes in cases of {case}.",
                case=supply.case,
            )


def _sooner(size: SizeAdvice, currency: str) -> Iterable[str]:
    bridge = size.bridge
    if bridge is None:
        return
    yield tr(
        "Until it is here, {sheets} from {supplier} at {each} {currency} each, about {day}.",
        sheets=bridge.sheets,
        supplier=bridge.supply.supplier or tr("any supplier"),
        each=show_money(bridge.each),
        currency=currency,
        day=bridge.arrival.isoformat(),
    )
    if bridge.for_open:
        yield tr_count(
            "Open orders would else miss their day for {count} sheet.",
            "Open orders would else miss their day for {count} sheets.",
            bridge.for_open,
        )
    else:
        yield tr("That costs less than running short.")


def _cautions(size: SizeAdvice, first: int) -> Iterable[str]:
    need = size.need
    if size.limited:
        yield tr(
            "The racks have room for {room}: {wanted} would be ordered, and with {sheets} the stock lasts in {share} of"
            " 100 futures.",
            room=size.room or 0,
            wanted=size.choice.wanted,
            sheets=size.sheets,
            share=hundredths(size.service),
        )
    # weeks that no order of today can help
    before = size.before_arrival
    if before is not None and size.bridge is None and need.lasts[before] < need.futures * need.service:
        yield tr(
            "Before it is here the stock runs out in {share} of 100 futures, by the end of {week}: ask for an earlier"
            " delivery.",
            share=hundredths(1 - Fraction(need.lasts[before], need.futures)),
            week=week_name(first + before),
        )
    for other in size.substitutes if size.sheets or size.limited else ():
        yield tr_count(
            "{other} can stand in: {count} of it is to spare in 9 of 10 futures.",
            "{other} can stand in: {count} of it are to spare in 9 of 10 futures.",
            other.spare,
            other=other.name,
        )


def shortage_words(shortage: Shortage) -> list[str]:
    """What is short, for whom, and what helps."""
    found = [
        tr_count(
            "{stock}: {count} sheet is missing for open orders from {day} on.",
            "{stock}: {count} sheets are missing for open orders from {day} on.",
            shortage.sheets,
            stock=shortage.stock,
            day=shortage.day.isoformat(),
        )
    ]
    if shortage.buy and shortage.arrival is not None:
        found.append(
            tr_count(
                "Ordered today, {count} is here about {day}.",
                "Ordered today, {count} are here about {day}.",
                shortage.buy,
                day=shortage.arrival.isoformat(),
            )
        )
    if shortage.late:
        found.append(tr("Late all the same: {orders}.", orders=_names(h.order for h in shortage.late)))
    if shortage.waiting:
        found.append(
            tr("In time if they wait for it: {orders}.", orders=_names(h.order for h in shortage.waiting))
        )
    return found


def _names(orders: Iterable[str]) -> str:
    names = list(dict.fromkeys(orders))
    more = len(names) - MOST_NAMES
    text = ", ".join(names[:MOST_NAMES])
    return tr("{names} and {count} more", names=text, count=more) if more > 0 else text
