"""Everything that the counts of breakage tell: rates, the loss of a mean week and of a plan, spares."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..plan import Plan
from ..shop import Shop
from .counts import Worked
from .loss import Losses, loss_a_week, loss_of_panels
from .prices import plan_offers, price_of
from .rates import Rate, Rates
from .spares import SpareWish, spares_wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What `breakage_report` finds.

    Parameters
    ----------
    told
        Whether there is any evidence; without it the rates are those of the shop file alone.
    rates
        By step, glass and size class.
    weeks
        Weeks that the record spans, or None where nobody says.
    week
        Expected loss of a mean week, where the weeks are known.
    plan
        The plan that was asked about, or None.
    loss, spares
        Its expected loss, and its panels that are worth a spare.
    """

    told: bool
    rates: tuple[Rate, ...]
    weeks: int | None = None
    week: Losses | None = None
    plan: Plan | None = None
    loss: Losses | None = None
    spares: tuple[SpareWish, ...] = ()


def breakage_report(
    counts: Iterable[Worked], shop: Shop, *, weeks: int | None = None, plan: Plan | None = None
) -> Report:
    """What these counts tell.

    Parameters
    ----------
    counts
        The evidence.
    shop
        Where rates start from, prices and calendar.
    weeks
        Weeks that the evidence spans, at least 1.
    plan
        A plan to say the expected loss and the spares of; sheets with a cutting day tell how late a
        panel would be that is made again.
    """
    rates = Rates(counts, shop.breakage)
    week = loss = None
    spares: list[SpareWish] = []
    if weeks is not None and rates.told:
        week = loss_a_week(rates.counts, weeks, rates, price_of(shop))
    if plan is not None:
        prices = price_of(shop, plan_offers(plan))
        left_out = {u.panel for u in plan.unplaced}
        panels = [p for p in plan.panels if p.id not in left_out]
        days = {
            leaf.panel: layout.day
            for layout in plan.layouts
            if layout.day is not None
            for leaf in layout.leaves
            if leaf.panel is not None
        }
        loss = loss_of_panels(panels, rates, prices)
        spares = spares_wanted(panels, rates, shop, prices, days)
    return Report(
        told=rates.told,
        rates=tuple(rates.all()),
        weeks=weeks,
        week=week,
        plan=plan,
        loss=loss,
        spares=tuple(spares),
    )
