"""What a plan has of the store: cases and offcuts reserved, sheets to buy, offcuts that it waits for."""

from __future__ import annotations

from dataclasses import dataclass, field

from sqlalchemy import Connection, select

from panewright.io.store.schema import item, plan_sheet
from panewright.nesting.ledger import SheetState


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What a commit came to.

    Parameters
    ----------
    plan
        Its id.
    reserved
        Sheet number -> number of the case or offcut.
    to_buy
        Sheets for which there is no glass yet.
    waits_for
        Sheet number -> plan and sheet that leave the offcut it is cut from.
    stranded
        Plan and number of sheets of other plans that lost the offcut they were waiting for.
    again
        The plan had taken its glass before; nothing was changed.
    without
        Its own sheets that lost their glass since, if `again`.
    """

    plan: str
    reserved: dict[int, str] = field(default_factory=dict)
    to_buy: tuple[int, ...] = ()
    waits_for: dict[int, tuple[str, int]] = field(default_factory=dict)
    stranded: tuple[tuple[str, int], ...] = ()
    again: bool = False
    without: tuple[int, ...] = ()


def taken_of(connection: Connection, name: str) -> Taken:
    """What a plan has of the store now."""
    rows = connection.execute(
        select(plan_sheet, item.c.name, item.c.on_hand, item.c.made_plan, item.c.made_sheet)
        .outerjoin(item, item.c.id == plan_sheet.c.item)
        .where(plan_sheet.c.plan == name)
        .order_by(plan_sheet.c.number)
    ).all()
    states = {row.number: SheetState(row.state) for row in rows}
    return Taken(
        plan=name,
        reserved={r.number: r.name for r in rows if states[r.number] is SheetState.RESERVED},
        to_buy=tuple(n for n, state in states.items() if state is SheetState.TO_BUY),
        without=tuple(n for n, state in states.items() if state is SheetState.WITHOUT_GLASS),
        waits_for={
            r.number: (r.made_plan, r.made_sheet)
            for r in rows
            if states[r.number] is SheetState.RESERVED and r.is_offcut and not r.on_hand and r.made_plan
        },
    )
