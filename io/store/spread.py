"""What came from a sheet, a case or an offcut: all panels, through its offcuts too (a faulty batch)."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from panewright.io.record_file import What
from panewright.io.store.events import Stored, told
from panewright.io.store.items import Item, find_item, item_of
from panewright.io.store.ledger import MARK
from panewright.io.store.schema import item, movement, plan_panel, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.io.store.subjects import PlanNow, plan_now
from panewright.io.store.tracing import MOST_STEPS, Origin, origin_of, sheet_of, sheet_row
from panewright.nesting.ledger import Move, PlanState, SheetState


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What came, or is to come, from a sheet, a case or an offcut.

    Parameters
    ----------
    name
        As asked.
    sheets
        Cut from it, first to last; those that are cut from an offcut of one of them come after it.
    items
        Offcuts and flawed pieces that came from it.
    panels
        All panels on these sheets: id, order, plan, sheet, and whether they broke.
    """

    name: str
    sheets: tuple[Origin, ...]
    items: tuple[Item, ...]
    panels: tuple[FromSheet, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FromSheet:
    """A panel that came from a sheet, or is to come."""

    panel: str
    order: str
    plan: str
    sheet: int
    cut: bool
    broken: bool
    given_to: str | None = None


def spread_of(connection: Connection, name: str) -> Spread:
    """All panels from a sheet (``PLAN.3``), a case or an offcut, through its offcuts too.

    Raises
    ------
    UnknownName
        The store has neither a sheet nor an item of this name.
    """
    return _Spreading(connection, name).run()


class _Spreading:
    def __init__(self, connection: Connection, name: str) -> None:
        self.connection, self.name = connection, name
        self.sheets: dict[tuple[str, int], Origin] = {}
        self.items: dict[int, Item] = {}

    def run(self) -> Spread:
        plan, dot, number = self.name.rpartition(".")
        is_number = number.isascii() and number.isdecimal() and len(number) <= 6
        start = None
        if dot and is_number:
            # people type ids of plans in small letters too
            start = self._sheet_key(plan, int(number)) or self._sheet_key(plan.upper(), int(number))
        if start is not None:
            self._sheets([start])
            came = list(self.items.values())
        else:
            first = find_item(self.connection, self.name)
            self._from_items([first])
            came = [one for key, one in self.items.items() if key != first.key]
        panels: list[FromSheet] = []
        for plan, number_ in self.sheets:
            panels += self._panels(plan, number_)
        return Spread(
            name=self.name, sheets=tuple(self.sheets.values()), items=tuple(came), panels=tuple(panels)
        )

    def _sheet_key(self, plan: str, number: int) -> tuple[str, int] | None:
        found = sheet_of(self.connection, plan, number)
        return found if sheet_row(self.connection, *found) is not None else None

    def _from_items(self, first: Sequence[Item]) -> None:
        todo = [one for one in first if one.key not in self.items]
        if not todo or len(self.items) > MOST_STEPS:
            return
        self.items |= {one.key: one for one in todo}
        keys = [one.key for one in todo]
        s = plan_sheet.c
        rows = self.connection.execute(
            select(s.plan, s.number)
            .join(plans, plans.c.id == s.plan)
            .where(s.item.in_(keys), plans.c.state != PlanState.FOLLOWED.value)
            .order_by(s.cut_at.is_(None), s.cut_at, s.plan, s.number)
        )
        sheets = [(row.plan, row.number) for row in rows]
        self._from_items(self._flawed(keys))
        self._sheets(sheets)

    def _flawed(self, keys: Collection[int]) -> list[Item]:
        """Pieces that sheets of these cases became for a flaw, found in the cutting or in the rack."""
        m = movement.c
        told = select(m.event).where(
            m.item.in_(list(keys)),
            m.kind == Move.ADJUSTED.value,
            (m.reserved < 0) | ((m.on_hand < 0) & m.event.startswith(MARK)),
            m.event.is_not(None),
        )
        rows = self.connection.execute(
            select(item)
            .distinct()
            .join(movement, m.item == item.c.id)
            .where(m.event.in_(told), m.kind == Move.ADJUSTED.value, m.on_hand > 0)
            .order_by(item.c.id)
        )
        return [item_of(row) for row in rows if row.id not in set(keys)]

    def _sheets(self, keys: Sequence[tuple[str, int]]) -> None:
        for plan, number in keys:
            if (plan, number) in self.sheets:
                continue
            origin = origin_of(self.connection, plan, number)
            if origin is None:
                continue
            self.sheets[plan, number] = origin
            line = plan_now(self.connection, plan).line
            rows = self.connection.execute(
                select(item)
                .where(item.c.made_plan.in_(list(line)), item.c.made_sheet == number)
                .order_by(item.c.id)
            )
            self._from_items([item_of(row) for row in rows])

    def _panels(self, plan: str, number: int) -> list[FromSheet]:
        now = plan_now(self.connection, plan)
        p = plan_panel.c
        broken = _broken_names(self.connection, now)
        cut = self.sheets[plan, number].state is SheetState.CUT
        return [
            FromSheet(
                panel=row.panel,
                order=row.order,
                plan=plan,
                sheet=number,
                cut=cut,
                broken=row.panel in broken,
                given_to=row.given_to,
            )
            for row in self.connection.execute(
                select(p.panel, p.order, p.given_to)
                .where(p.plan == plan, p.sheet == number)
                .order_by(p.order, p.panel)
            )
        ]


def _broken_names(connection: Connection, plan: PlanNow) -> frozenset[str]:
    found: list[Stored] = told(connection, plan.line, [What.PANEL_BROKEN])
    return frozenset(x.event.panel for x in found if x.event.panel is not None)
