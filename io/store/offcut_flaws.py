"""Flaws of a sheet that lie in an offcut of it: the offcut has them too, where it lies in its own coordinates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, select, update

from panewright.io.plan_reader import loads
from panewright.io.record_file import Event
from panewright.io.store.items import OFFCUT, Item, flaws_text, item_of
from panewright.io.store.plan_lists import plan_text
from panewright.io.store.schema import item
from panewright.io.store.subjects import PlanNow, sheet_now
from panewright.nesting.flaw_parts import within
from panewright.nesting.flaws import Flaw
from panewright.nesting.outlines import box
from panewright.nesting.plan import Layout, Leaf
from panewright.nesting.spots import flaws_of


def flaws_in(layout: Layout, leaf: Leaf) -> tuple[Flaw, ...]:
    """The flaws of a leaf of a sheet, from its lower left corner."""
    return within(flaws_of(layout), box(leaf.outline))


def pass_on(
    connection: Connection, plan: PlanNow, number: int, standing: Iterable[Event], every: Iterable[Event]
) -> None:
    """Give the offcuts of a sheet, expected or kept, the flaws that are known of it now.

    Parameters
    ----------
    connection, plan, number
        The sheet.
    standing, every
        What is told of flaws of it now, and that with what was taken back.
    """
    c = item.c
    rows = connection.execute(
        select(item).where(
            c.made_plan.in_(list(plan.line)),
            c.made_sheet == number,
            c.kind == OFFCUT,
            c.on_hand + c.expected > 0,
        )
    ).all()
    if not rows:
        return
    layout = next(x for x in loads(plan_text(connection, plan.id)).layouts if x.number == number)
    boxes = {leaf.offcut: box(leaf.outline) for leaf in layout.leaves if leaf.offcut is not None}
    held = sheet_now(connection, plan, number).item
    known = {*_located(standing), *flaws_of(layout), *(held.flaws if held is not None else ())}
    for one in map(item_of, rows):
        if one.name in boxes:
            ever = within(_located(every), boxes[one.name])
            mine = {f for f in one.flaws if f not in ever} | set(within(known, boxes[one.name]))
            set_flaws(connection, one, mine)


def add_flaws(connection: Connection, new: Mapping[str, Sequence[Flaw]], rows: Mapping[str, Any]) -> None:
    """Give offcuts that the store has (name -> row) flaws besides those that it knows."""
    for name, flaws in new.items():
        if flaws:
            one = item_of(rows[name])
            set_flaws(connection, one, {*one.flaws, *flaws})


def _located(events: Iterable[Event]) -> set[Flaw]:
    return {e.located for e in events if e.located is not None}


def set_flaws(connection: Connection, one: Item, flaws: Iterable[Flaw]) -> bool:
    """Write down the flaws of an item; whether they are others than before."""
    now = tuple(sorted(set(flaws)))
    if now != one.flaws:
        connection.execute(update(item).where(item.c.id == one.key).values(flaws=flaws_text(now)))
    return now != one.flaws
