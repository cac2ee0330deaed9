"""Whether a store adds up: every balance, every reservation, every plan whole or not there at all."""

from __future__ import annotations

import multiprocessing
import sys
from typing import Any, Final

from sqlalchemy import Connection, func, select

from panewright.io.store.ledger import audit
from panewright.io.store.schema import item, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.ledger import PlanState, SheetState

PRELOADED: Final = (
    "panewright.io.bench_store_kills",
    "panewright.io.bench_store_races",
    "sqlalchemy.dialects.sqlite.pysqlite",
    "sqlalchemy.dialects.postgresql.psycopg",
)


def faults(connection: Connection) -> list[str]:
    """What does not add up, in words for the bench; empty in a sound store."""
    found = [f"{d.name}: {d.balance} is not {d.summed}" for d in audit(connection)]
    c, s = item.c, plan_sheet.c
    taken = (
        select(s.item, func.count().label("sheets"))
        .where(s.state == SheetState.RESERVED.value)
        .group_by(s.item)
        .subquery()
    )
    query = select(c.name, c.reserved, func.coalesce(taken.c.sheets, 0)).outerjoin(
        taken, taken.c.item == c.id
    )
    for name, reserved, sheets in connection.execute(query.order_by(c.id)):
        if reserved != sheets:
            found.append(f"{name}: {reserved} reserved, {sheets} sheets have it")
    sheets = select(s.plan, s.number, s.state, s.item, plans.c.state).join(plans, plans.c.id == s.plan)
    for plan, number, state, key, of_plan in connection.execute(sheets.order_by(s.plan, s.number)):
        has = state in (SheetState.RESERVED.value, SheetState.CUT.value)
        if has is not (key is not None):
            found.append(f"{plan}.{number}: {state} and item {key}")
        if state == SheetState.RESERVED.value and of_plan != PlanState.OPEN.value:
            found.append(f"{plan}.{number}: reserved by a plan that is {of_plan}")
    bare = select(plans.c.id).where(plans.c.id.not_in(select(s.plan)))
    found += [f"{name}: a plan without sheets" for name in connection.execute(bare).scalars()]
    waited = select(c.name, c.made_plan, c.made_sheet, s.state, plans.c.state).where(c.expected > 0)
    waited = waited.outerjoin(plan_sheet, (s.plan == c.made_plan) & (s.number == c.made_sheet))
    waited = waited.outerjoin(plans, plans.c.id == c.made_plan)
    for name, plan, number, state, of_plan in connection.execute(waited.order_by(c.id)):
        # of a sheet that is cut it may still be untold whether it was kept
        if of_plan == PlanState.WITHDRAWN.value and state != SheetState.CUT.value:
            found.append(f"{name}: expected of {plan}.{number}, which is {of_plan}, {state}")
    return found


def processes() -> Any:
    """Starts processes that hold nothing of this one: no open store, no lock."""
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(list(PRELOADED))
    return context
