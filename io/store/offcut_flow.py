"""What became of offcuts in a period: made, used, thrown away, and how old those in the rack are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any, Final

from sqlalchemy import Connection, func, select

from panewright.io.record_file import What
from panewright.io.store.breaking import LIVE
from panewright.io.store.items import OFFCUT
from panewright.io.store.ledger import micros
from panewright.io.store.schema import event as events
from panewright.io.store.schema import item, movement, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.ledger import Move, SheetState

IN_RACK: Final = (Move.SCRAPPED.value, Move.BROKEN.value)
"""What ends a piece in the rack."""


@dataclass(slots=True)
class OffcutFlow:
    """Offcuts of a period; areas are twice nm2.

    Parameters
    ----------
    made, used, thrown
        Kept, cut up, and thrown away, broken in the rack or not made, in the period.
    unsaid
        Of the sheets cut in it, those of which it is not told yet whether they were kept.
    in_rack, days
        In the rack at the end of the period, and their ages then, added up.
    """

    made: int = 0
    made_area: int = 0
    used: int = 0
    used_area: int = 0
    thrown: int = 0
    thrown_area: int = 0
    unsaid: int = 0
    in_rack: int = 0
    rack_area: int = 0
    days: int = 0

    @property
    def mean_age(self) -> Fraction | None:
        """Mean age of those in the rack at the end. [days]"""
        return Fraction(self.days, self.in_rack) if self.in_rack else None

    def add(self, other: OffcutFlow) -> None:
        """Add those of another glass."""
        for name in self.__dataclass_fields__:
            setattr(self, name, getattr(self, name) + getattr(other, name))


def offcuts_over(
    connection: Connection, since: datetime, until: datetime, flow_of: Callable[[str], OffcutFlow]
) -> None:
    """Add up what became of offcuts in a period.

    Parameters
    ----------
    connection
        Of the store.
    since, until
        The first moment, and the first one after the period.
    flow_of
        Where the offcuts of a glass are added.
    """
    e, c, s = events.c, item.c, plan_sheet.c
    begin, end = micros(since), micros(until) - 1
    last_day = (until - timedelta(microseconds=1)).date()
    last: dict[str, Any] = {}
    told = select(e.offcut, e.what, e.at, c.glass, c.width, c.height).join(item, c.name == e.offcut)
    kinds = (What.OFFCUT_KEPT.value, What.OFFCUT_THROWN.value)
    for row in connection.execute(
        told.where(e.what.in_(kinds), e.stands.is_(True), e.at <= end).order_by(e.at, e.id)
    ):
        before = last.get(row.offcut)
        if before is not None and before.what == row.what:
            continue
        last[row.offcut] = row
    for row in last.values():
        flow = flow_of(row.glass) if row.at >= begin else OffcutFlow()
        area = 2 * row.width * row.height
        if row.what == What.OFFCUT_KEPT.value:
            flow.made, flow.made_area = flow.made + 1, flow.made_area + area
        else:
            flow.thrown, flow.thrown_area = flow.thrown + 1, flow.thrown_area + area
    scrapped = select(c.glass, c.width, c.height).join(movement, movement.c.item == c.id)
    for gone in connection.execute(
        scrapped.where(
            movement.c.kind.in_(IN_RACK),
            movement.c.on_hand < 0,
            movement.c.event.is_(None),
            c.kind == OFFCUT,
            movement.c.at.between(begin, end),
        )
    ):
        flow = flow_of(gone.glass)
        flow.thrown, flow.thrown_area = flow.thrown + 1, flow.thrown_area + 2 * gone.width * gone.height
    used = (
        select(c.glass, c.width, c.height).join(plan_sheet, s.item == c.id).join(plans, plans.c.id == s.plan)
    )
    for cut in connection.execute(
        used.where(
            plans.c.state.in_(LIVE),
            s.state == SheetState.CUT.value,
            c.kind == OFFCUT,
            s.cut_at.between(begin, end),
        )
    ):
        flow = flow_of(cut.glass)
        flow.used, flow.used_area = flow.used + 1, flow.used_area + 2 * cut.width * cut.height
    racked = (
        select(c.glass, c.width, c.height, c.since)
        .join(movement, movement.c.item == c.id)
        .where(c.kind == OFFCUT, movement.c.at <= end)
        .group_by(c.id, c.glass, c.width, c.height, c.since)
        .having(func.sum(movement.c.on_hand) > 0)
    )
    for here in connection.execute(racked):
        flow = flow_of(here.glass)
        flow.in_rack, flow.rack_area = flow.in_rack + 1, flow.rack_area + 2 * here.width * here.height
        flow.days += max(0, (last_day - date.fromisoformat(here.since)).days)
