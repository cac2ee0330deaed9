"""The order history that the store holds: the plans that have taken glass, by what was ordered together.

Only plans that speak for their sheets count: those in whose place another stands are read for booking days and
for orders that were called off. A day on which an order came in is never changed by what came later.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, func, select

from panewright.io.store.ledger import time_of
from panewright.io.store.plan_panels import PlanPanels
from panewright.io.store.schema import movement, plan_panel, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.products import ordered_together, product_of
from panewright.nesting.ledger import PlanState, SheetState
from panewright.nesting.panels import Panel, Purpose
from panewright.nesting.remake.history import CANCELLED, REMAKES
from panewright.nesting.shop import Shop


@dataclass(frozen=True, slots=True)
class _Piece:
    """A panel of a plan, and what has become of it."""

    panel: Panel
    due: date
    cut: date | None
    cancelled: date | None
    remake: bool


@dataclass(frozen=True, slots=True)
class _Known:
    """Since when the store knows of orders and remade panels, and which booking days plans say of panels."""

    since: dict[str, date]
    said: dict[str, date]

    def booked(self, order: str, panels: Sequence[Panel], *, remake: bool) -> date | None:
        """The day on which panels of an order came in; of remade ones, that on which they were planned."""
        if remake:
            days = [self.since.get(panel.id) for panel in panels]
        else:
            days = [self.said.get(panel.id) for panel in panels]
            if not any(days):
                days = [self.since.get(order)]
        return min((day for day in days if day is not None), default=None)


@dataclass(frozen=True, slots=True)
class _Head:
    """A plan without its file."""

    id: str
    state: PlanState
    follows: str | None
    committed: date


def booked_orders(connection: Connection, shop: Shop, *, since: date | None = None) -> list[BookedOrder]:
    """What was ordered, by the plans of the store.

    Parameters
    ----------
    connection
        Of a `Store.reading`.
    shop
        Glasses that it no longer works are left out.
    since
        Plans committed before this day are left out.

    Returns
    -------
    list of BookedOrder
        By the day on which they were cut or are due, and by order. A tank is one line with all equal ones, single
        panels of a name are one. An order of which some panels are cut is two lines, one of them open. A panel
        without a due day is due on the day of its sheet, else on that of the commit.
    """
    heads = _heads(connection, since)
    panels = PlanPanels(connection)
    known = _Known(_first_days(connection, heads), _first_said(connection, heads, panels))
    found: dict[str, tuple[int, _Piece]] = {}
    for head in heads.values():
        if head.state is not PlanState.FOLLOWED:
            for piece in _pieces(connection, panels, head):
                _keep(found, piece)
    for head, day, names in _dropped(connection, heads):
        for piece in _pieces(connection, panels, head, called_off=day, only=names):
            _keep(found, piece)
    pieces = [piece for _, piece in sorted(found.values(), key=lambda f: f[0])]
    return _lines([p for p in pieces if shop.has(p.panel.glass)], known)


def _keep(found: dict[str, tuple[int, _Piece]], piece: _Piece) -> None:
    """A panel that two plans have counts once: as it was cut, else as the later one has it."""
    before = found.get(piece.panel.id)
    if before is None:
        found[piece.panel.id] = len(found), piece
    elif piece.cut is not None or before[1].cut is None:
        found[piece.panel.id] = before[0], piece


def _heads(connection: Connection, since: date | None) -> dict[str, _Head]:
    """All plans in the order in which they were committed."""
    c = plans.c
    query = select(c.id, c.state, c.follows, c.committed).order_by(c.committed, c.id)
    found = [
        _Head(row.id, PlanState(row.state), row.follows, _day(row.committed))
        for row in connection.execute(query)
    ]
    return {head.id: head for head in found if since is None or head.committed >= since}


def _day(at: int) -> date:
    return time_of(at).astimezone().date()


def _first_days(connection: Connection, heads: dict[str, _Head]) -> dict[str, date]:
    """The first day on which the store knew of an order; of a remade panel, by its id."""
    m, p = movement.c, plan_panel.c
    # a plan that was withdrawn and takes its glass again is committed anew, its movements stay
    first = {
        row.plan: _day(row.at)
        for row in connection.execute(select(m.plan, func.min(m.at).label("at")).group_by(m.plan))
        if row.plan is not None
    }
    out: dict[str, date] = {}
    rows = connection.execute(select(p.plan, p.order).distinct()).all()
    remade = connection.execute(select(p.plan, p.panel).where(p.remakes.is_not(None))).all()
    for plan, name in (*rows, *remade):
        if plan in heads:
            day = min(heads[plan].committed, first.get(plan, heads[plan].committed))
            out[name] = min(out.get(name, day), day)
    return out


def _first_said(connection: Connection, heads: dict[str, _Head], panels: PlanPanels) -> dict[str, date]:
    """The first booking day that any plan says of a panel: a list that is typed anew does not change it."""
    out: dict[str, date] = {}
    query = select(plans.c.id).where(plans.c.file.contains('"booked": "', autoescape=True))
    for name in connection.execute(query).scalars().all():
        if name in heads:
            for panel, _ in panels.of(name):
                if panel.booked is not None:
                    out[panel.id] = min(out.get(panel.id, panel.booked), panel.booked)
    return out


def _pieces(
    connection: Connection,
    panels: PlanPanels,
    head: _Head,
    *,
    called_off: date | None = None,
    only: Sequence[str] = (),
) -> Iterator[_Piece]:
    """The ordered panels of a plan; of a withdrawn one those that are cut.

    Parameters
    ----------
    connection, panels, head
        The plan.
    called_off
        Day on which its orders were called off, where it is read for these.
    only
        Orders, where not all are wanted.
    """
    s, p = plan_sheet.c, plan_panel.c
    placed = connection.execute(select(p.panel, p.sheet).where(p.plan == head.id))
    on_sheet = {row.panel: row.sheet for row in placed}
    sheets = {
        row.number: row
        for row in connection.execute(select(s.number, s.state, s.cut_at, s.day).where(s.plan == head.id))
    }
    for panel, beside in panels.of(head.id):
        if panel.purpose is not Purpose.ORDER or (only and panel.order not in only):
            continue
        sheet = sheets.get(on_sheet.get(panel.id))
        cut = None
        if sheet is not None and sheet.state == SheetState.CUT.value and called_off is None:
            cut = head.committed if sheet.cut_at is None else _day(sheet.cut_at)
        if head.state is PlanState.WITHDRAWN and cut is None:
            continue
        day = None if sheet is None or sheet.day is None else date.fromisoformat(sheet.day)
        cancelled = called_off or (head.committed if beside.get(CANCELLED) else None)
        yield _Piece(
            panel=panel,
            due=panel.due or day or head.committed,
            cut=cut,
            cancelled=cancelled,
            remake=bool(beside.get(REMAKES)),
        )


def _dropped(connection: Connection, heads: dict[str, _Head]) -> Iterator[tuple[_Head, date, list[str]]]:
    """Followed plans with orders that no later plan has, and the day of the plan that left them out."""
    p = plan_panel.c
    last: dict[str, str] = {}
    has: dict[str, set[str]] = defaultdict(set)
    for plan, order in connection.execute(
        select(p.plan, p.order).where(p.purpose == Purpose.ORDER.value).distinct()
    ).all():
        has[plan].add(order)
    for name in heads:
        last |= dict.fromkeys(sorted(has[name]), name)
    followers = {head.follows: head for head in heads.values() if head.follows is not None}
    gone: dict[str, list[str]] = defaultdict(list)
    for order, name in last.items():
        if heads[name].state is PlanState.FOLLOWED and name in followers:
            gone[name].append(order)
    for name, orders in gone.items():
        yield heads[name], followers[name].committed, sorted(orders)


def _lines(pieces: Iterable[_Piece], known: _Known) -> list[BookedOrder]:
    """Pieces that were ordered together, as lines of the book."""
    groups: dict[tuple[Any, ...], list[_Piece]] = defaultdict(list)
    for one in pieces:
        panel = one.panel
        groups[panel.order, panel.product, one.due, one.remake, one.cut is None, one.cancelled].append(one)
    out = []
    for (order, product, due, remake, _, cancelled), mine in groups.items():
        of = {one.panel.id: one for one in mine}
        for panels in ordered_together([one.panel for one in mine]):
            cuts = [day for panel in panels if (day := of[panel.id].cut) is not None]
            out.append(
                BookedOrder(
                    order=order,
                    product=product or product_of(panels),
                    booked=known.booked(order, panels, remake=remake),
                    due=due,
                    cut=max(cuts, default=None),
                    cancelled=cancelled,
                    remake=remake,
                    panels=tuple(panels),
                )
            )
    return sorted(out, key=lambda o: (o.cut or o.due, o.order, o.product, o.panels[0].id))
