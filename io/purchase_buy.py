"""From a look ahead to advice: plans of the open orders, orders of today, the calendar, totals, pooling."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from panewright.io.purchase_desk import Desk
from panewright.io.purchase_look import Look, Told, look_ahead
from panewright.nesting.buying.advice import Advice, advise
from panewright.nesting.buying.calendar import Calendar, calendar_of
from panewright.nesting.buying.lead_time import Receiving, weeks_needed
from panewright.nesting.buying.needs import OpenNeeds, open_needs
from panewright.nesting.buying.needs_plan import plan_needs
from panewright.nesting.buying.order_choice import LEAST_WEEKS, Review
from panewright.nesting.buying.paths import paths_of
from panewright.nesting.buying.totals import Totals, totals_of
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr
from panewright.nesting.week_sheets.joint import Pooling, pooling
from panewright.nesting.week_sheets.material import pieces_of

WINDOWS: Final = 13
"""Pairs of past weeks that are planned together for the pooling figure: half a year."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """Everything that the report on buying shows.

    Parameters
    ----------
    look
        The look ahead.
    needs
        Of the open orders.
    advice, calendar, totals
        Of the forecast.
    pooled
        What planning two weeks together would have saved, by glass; empty where it was not asked for.
    """

    look: Look
    needs: OpenNeeds
    advice: Advice
    calendar: Calendar
    totals: Totals
    pooled: tuple[Pooling, ...]

    @property
    def desk(self) -> Desk:
        """What it all started from."""
        return self.look.desk


def receiving_of(today: date, shop: Shop) -> Receiving:
    """The days on which the shop takes in deliveries: its working days, save those on which it is shut."""
    days = shop.cutting_days
    shut = frozenset(_days_in(shop.buying.shut))
    return Receiving(
        today=today,
        calendar=CuttingDays(working=days.working, free=days.free | shut),
    )


def _days_in(times: Iterable[tuple[date, date]]) -> Iterable[date]:
    for first, last in times:
        for n in range((last - first).days + 1):
            yield first + timedelta(days=n)


def buying(
    desk: Desk,
    executor: Executor | None,
    *,
    weeks: int,
    futures: int,
    seed: int,
    tested: bool = True,
    pooled: bool = True,
    carried: bool = False,
    told: Told = lambda stage, done, total: None,
) -> Buying:
    """What to buy.

    Parameters
    ----------
    desk
        Order book, stock and terms.
    executor
        Does the plans; None: here. The answer is the same.
    weeks, futures, seed
        Of the forecast; it looks further where a lead time asks for it.
    tested
        See `look_ahead`.
    pooled
        Whether past weeks are planned in pairs, to show what that saves.
    carried
        See `look_ahead`.
    told
        Told the stage, how many of its tasks are done, and of how many.
    """
    settings = desk.shop.buying
    ahead = weeks_needed(desk.supplies, settings.review_weeks, weeks=weeks)
    look = look_ahead(
        desk,
        executor,
        weeks=ahead,
        futures=futures,
        seed=seed,
        tested=tested,
        carried=carried,
        told=told,
    )
    return from_look(look, executor, pooled=pooled, told=told)


def from_look(
    look: Look,
    executor: Executor | None,
    *,
    pooled: bool = True,
    told: Told = lambda stage, done, total: None,
) -> Buying:
    """The same from a look ahead that is there."""
    desk, settings = look.desk, look.desk.shop.buying
    receiving = receiving_of(desk.book.today, desk.shop)
    planned = plan_needs(
        desk.book.open,
        pieces_of(desk.supplies, desk.shop),
        desk.shop,
        today=desk.book.today,
        offcuts=desk.offcuts,
        seed=look.seed,
        executor=executor,
        progress=lambda done, total: told(tr("open orders planned"), done, total),
    )
    needs = open_needs(planned, desk.stock, desk.supplies, receiving, review_weeks=settings.review_weeks)
    further = weeks_needed(desk.supplies, settings.review_weeks)
    review = Review(
        paths=paths_of(look.futures, max(LEAST_WEEKS, look.weeks) + further),
        stock=desk.stock,
        receiving=receiving,
        settings=settings,
        seed=look.seed,
    )
    advice = advise(desk.supplies, review, missing=needs.missing)
    return Buying(
        look=look,
        needs=needs,
        advice=advice,
        calendar=calendar_of(advice),
        totals=totals_of(advice),
        pooled=tuple(_pooled(look, executor, told)) if pooled else (),
    )


def _pooled(look: Look, executor: Executor | None, told: Told) -> list[Pooling]:
    return pooling(
        look.desk.book.past,
        look.materials,
        executor,
        most=WINDOWS,
        seed=look.seed,
        # weeks apart and together are compared without offcuts
        known={} if look.carried else {(c.week, c.glass): replace(c) for c in look.counts},
        progress=lambda done, total: told(tr("pairs of weeks planned"), done, total),
    )
