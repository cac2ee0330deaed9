"""The movements of an item, a plan or a period, as they were set down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from panewright.io.store.ledger import micros, time_of
from panewright.io.store.plan_lists import line_of
from panewright.io.store.schema import item, movement
from panewright.nesting.ledger import Balance, Move


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A movement, for lists.

    Parameters
    ----------
    key
        Its running number.
    at
        In UTC.
    name, stock_glass, width, height
        The item. [nm]
    kind, change
        What happened, and the change of its counts.
    who, why, plan, sheet, panel, event, place
        As set down; None where there is none.
    """

    key: int
    at: datetime
    kind: Move
    name: str
    glass: str
    width: int
    height: int
    change: Balance
    who: str
    why: str
    plan: str | None
    sheet: int | None
    panel: str | None
    event: str | None
    place: str | None


def movements(
    connection: Connection,
    *,
    key: int | None = None,
    plan: str | None = None,
    since: datetime | None = None,
    before: datetime | None = None,
    most: int = 0,
) -> list[Moved]:
    """Movements, the newest last.

    Parameters
    ----------
    connection
        Of a `Store.reading`.
    key
        Row id of an item, or None.
    plan
        Of this plan and those that it follows, or None.
    since, before
        From the first moment to before the second one, or None.
    most
        The newest so many; 0: all.
    """
    m, c = movement.c, item.c
    query = select(movement, c.name, c.glass, c.width, c.height).join(item, c.id == m.item)
    if key is not None:
        query = query.where(m.item == key)
    if plan is not None:
        query = query.where(m.plan.in_(line_of(connection, plan) or [plan]))
    if since is not None:
        query = query.where(m.at >= micros(since))
    if before is not None:
        query = query.where(m.at < micros(before))
    query = query.order_by(m.id.desc())
    if most:
        query = query.limit(most)
    rows = connection.execute(query).all()
    return [
        Moved(
            key=r.id,
            at=time_of(r.at),
            kind=Move(r.kind),
            name=r.name,
            glass=r.glass,
            width=r.width,
            height=r.height,
            change=Balance(r.on_hand, r.reserved, r.expected),
            who=r.who,
            why=r.why,
            plan=r.plan,
            sheet=r.sheet,
            panel=r.panel,
            event=r.event,
            place=r.place,
        )
        for r in reversed(rows)
    ]
