"""Panels of committed plans that are not cut yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from panewright.io.plan_reader import loads
from panewright.io.store.plan_lists import plan_text, unfinished_plans
from panewright.io.store.schema import plan_sheet
from panewright.nesting.ledger import SheetState
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A panel that is still to be cut.

    Parameters
    ----------
    panel
        As planned or ordered.
    source
        Id of its plan, or the file of its order.
    sheet
        On which the plan has it, or None.
    """

    panel: Panel
    source: str
    sheet: int | None = None


def uncut_panels(connection: Connection) -> list[Wanted]:
    """Panels of open plans on sheets that are not cut, and those that are on no sheet."""
    out: list[Wanted] = []
    s = plan_sheet.c
    for name in reversed(unfinished_plans(connection)):
        cut = connection.execute(
            select(s.number).where(s.plan == name, s.state == SheetState.CUT.value)
        ).scalars()
        out += panels_of_plan(loads(plan_text(connection, name), source=name), set(cut))
    return out


def panels_of_plan(plan: Plan, cut: Sequence[int] | set[int] = ()) -> list[Wanted]:
    """The panels of a plan, but those on sheets that are cut."""
    where = {
        leaf.panel: layout.number
        for layout in plan.layouts
        for leaf in layout.leaves
        if leaf.panel is not None
    }
    return [
        Wanted(panel=panel, source=plan.id, sheet=where.get(panel.id))
        for panel in plan.panels
        if where.get(panel.id) not in cut
    ]
