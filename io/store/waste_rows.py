"""Waste of a period out of the store: which sheets count in it, what they cost over the bound, what became of them.

Sums over movements and lists of rows are the database's; of the plan files only those are read of which a sheet
counts, and of those in whose place another plan stands only where a sheet was first laid out.
"""

from __future__ import annotations

import json
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import Connection, func, select

from panewright.io.plan_reader import loads
from panewright.io.record_file import What
from panewright.io.store.breaking import LIVE, broken_in
from panewright.io.store.items import IS_THERE, OFFCUT, SHEET, items_there
from panewright.io.store.ledger import in_parts, micros, time_of
from panewright.io.store.offcut_flow import IN_RACK, OffcutFlow, offcuts_over
from panewright.io.store.offering import aged_worth
from panewright.io.store.plan_lists import line_of, plan_text
from panewright.io.store.schema import event as events
from panewright.io.store.schema import item, movement, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.io.store.valuing import Prices
from panewright.io.waste_data import (
    AGES,
    Builder,
    Days,
    Rack,
    Scrapped,
    SheetRow,
    WasteOver,
    Worths,
    age_class,
    figures_in,
    start_of,
)
from panewright.io.waste_lines import LinePlan, Lines, LineSheet
from panewright.io.waste_pieces import pieces_in
from panewright.nesting.happened import AtStep
from panewright.nesting.ledger import SheetState
from panewright.nesting.shop import Shop
from panewright.nesting.waste.sheets import Away, SheetWaste
from panewright.nesting.waste.thrown import away_of


def waste_over(connection: Connection, days: Days, shop: Shop, *, compare: bool = True) -> WasteOver:
    """Waste of a period.

    Parameters
    ----------
    connection
        Of a `Store.reading`.
    days
        The period.
    shop
        Worth of offcuts.
    compare
        Look at as many days before it too.
    """
    items = items_there(connection)
    prices = Prices(shop, items, days.last)
    worths = Worths(shop, prices.per_area)
    lines = _lines(connection)
    now = _rows(connection, days, lines)
    then = _rows(connection, days.before, lines) if compare else []
    names = sorted({row.plan for row in [*now, *then]})
    builder = Builder({name: lines.pieces(name) for name in names}, worths)
    planned, recorded, happened = _sheets(connection, now, lines, builder)
    earlier = _sheets(connection, then, lines, builder)[:2] if compare else None
    flows = _flows(connection, days)
    for glass, count in happened.items():
        flows[glass].unsaid += count
    broken: dict[tuple[str, AtStep], int] = defaultdict(int)
    for row in broken_in(connection, micros(days.begin), micros(days.end)):
        broken[row.glass, AtStep(row.at_step)] += 1
    return WasteOver(
        days=days,
        planned=planned,
        recorded=recorded,
        earlier=earlier if earlier is not None and any(earlier) else None,
        offcuts=dict(sorted(flows.items())),
        rack=_rack(connection, days, shop, prices),
        broken=dict(sorted(broken.items(), key=lambda pair: (pair[0][0], list(AtStep).index(pair[0][1])))),
        scrapped=_scrapped(connection, days),
        orders=builder.orders,
        no_bound=tuple(sorted(lines.no_bound)),
        no_price=tuple(sorted(worths.missing)),
        currency=shop.currency,
    )


def known_days(connection: Connection) -> tuple[date, date] | None:
    """The first and the last day on which a plan was committed or a sheet cut; None where there is no plan."""
    s = plan_sheet.c
    first, last = connection.execute(select(func.min(plans.c.committed), func.max(plans.c.committed))).one()
    if first is None:
        return None
    cut = connection.execute(
        select(func.min(s.cut_at), func.max(s.cut_at)).where(s.state == SheetState.CUT.value)
    ).one()
    known = [int(at) for at in (first, last, *cut) if at is not None]
    return time_of(min(known)).astimezone().date(), time_of(max(known)).astimezone().date()


def _lines(connection: Connection) -> Lines:
    s = plan_sheet.c

    def head(name: str) -> LinePlan:
        query = select(plans.c.follows, plans.c.committed).where(plans.c.id == name)
        follows, committed = connection.execute(query).one()
        rows = select(s.number, s.stock, s.glass, s.figures).where(s.plan == name).order_by(s.number)
        sheets = {r.number: LineSheet(r.stock, r.glass, r.figures) for r in connection.execute(rows)}
        return LinePlan(follows, int(committed), sheets)

    return Lines(head, lambda name: pieces_in(plan_text(connection, name), name), figures_in)


def _rows(connection: Connection, days: Days, lines: Lines) -> list[SheetRow]:
    """The sheets that count in a period, as planned or as cut."""
    s, p = plan_sheet.c, plans.c
    begin, end = micros(days.begin), micros(days.end)
    starts = [micros(start_of(span.first)) for span in days.spans]

    def at(moment: int) -> int | None:
        return bisect_right(starts, moment) - 1 if begin <= moment < end else None

    columns = (s.plan, s.number, s.glass, s.stock, s.is_offcut, s.figures, s.state, s.day, s.cut_at)
    alive = (
        select(*columns, p.committed, p.follows).join(plans, p.id == s.plan).where(p.state.in_(LIVE))
    ).order_by(s.plan, s.number)
    kept = s.state != SheetState.RELEASED.value
    found: dict[tuple[str, int], SheetRow] = {}

    def row_of(row: Any) -> SheetRow:
        key = (row.plan, row.number)
        if key not in found:
            found[key] = SheetRow(
                plan=row.plan,
                number=row.number,
                glass=row.glass,
                stock=row.stock,
                is_offcut=bool(row.is_offcut),
                figures=figures_in(row.figures),
            )
        return found[key]

    dated = alive.where(kept, s.day.between(days.first.isoformat(), days.last.isoformat()))
    for row in connection.execute(dated).all():
        span = days.span_of(date.fromisoformat(row.day))
        found[row.plan, row.number] = replace(row_of(row), planned=span)
    for row in connection.execute(alive.where(kept, s.day.is_(None), p.committed >= begin)).all():
        first = row.committed if row.follows is None else lines.first_commit(row.plan, row.number)
        if (span := at(int(first))) is not None:
            found[row.plan, row.number] = replace(row_of(row), planned=span)
    cut = alive.where(s.state == SheetState.CUT.value, s.cut_at.between(begin, end - 1))
    for row in connection.execute(cut).all():
        found[row.plan, row.number] = replace(row_of(row), cut=at(int(row.cut_at)))
    return [found[key] for key in sorted(found)]


def _sheets(
    connection: Connection, rows: Sequence[SheetRow], lines: Lines, builder: Builder
) -> tuple[tuple[SheetWaste, ...], tuple[SheetWaste, ...], Mapping[str, int]]:
    """Sheets as planned and as cut, and by glass the offcuts of which nothing is said."""
    planned = [
        builder.planned(row, lines.over(row.plan, row.number)) for row in rows if row.planned is not None
    ]
    cut: dict[str, list[SheetRow]] = defaultdict(list)
    for row in rows:
        if row.cut is not None:
            cut[row.plan].append(row)
    recorded: list[SheetWaste] = []
    unsaid: dict[str, int] = defaultdict(int)
    for name, mine in cut.items():
        after = _After(connection, name, [row.number for row in mine])
        for row in mine:
            recorded.append(
                builder.recorded(
                    row,
                    lines.over(row.plan, row.number),
                    after.broken.get(row.number, {}),
                    after.away.get(row.number, Away()),
                )
            )
            unsaid[row.glass] += after.unsaid.get(row.number, 0)
    return tuple(planned), tuple(recorded), {glass: count for glass, count in unsaid.items() if count}


class _After:
    """What became of the pieces of cut sheets of a plan; its layouts are read only where offcuts are gone."""

    def __init__(self, connection: Connection, plan: str, numbers: Sequence[int]) -> None:
        line = line_of(connection, plan)
        wanted = set(numbers)
        self.broken: dict[int, dict[str, AtStep]] = defaultdict(dict)
        thrown: dict[int, set[str]] = defaultdict(set)
        measured: dict[int, dict[str, int]] = defaultdict(dict)
        e, c = events.c, item.c
        told = select(e.what, e.sheet, e.panel, e.at_step, e.offcut, e.size).where(
            e.plan.in_(line), e.stands.is_(True), e.sheet.is_not(None), e.what != What.SHEET_CUT.value
        )
        for row in connection.execute(told.order_by(e.at, e.id)):
            if row.sheet not in wanted:
                continue
            if row.what == What.PANEL_BROKEN.value:
                self.broken[row.sheet][row.panel] = AtStep(row.at_step)
            elif row.what == What.OFFCUT_THROWN.value:
                thrown[row.sheet].add(row.offcut)
            elif row.what == What.OFFCUT_KEPT.value:
                thrown[row.sheet].discard(row.offcut)
                if row.size is not None:
                    width, height = json.loads(row.size)
                    measured[row.sheet][row.offcut] = 2 * width * height
        self.away: dict[int, Away] = {}
        touched = {n for n in wanted if thrown[n] or measured[n]}
        if touched:
            layouts = {x.number: x for x in loads(plan_text(connection, plan), source=plan).layouts}
            self.away = {n: away_of(layouts[n], thrown[n], measured[n]) for n in sorted(touched)}
        self.unsaid: dict[int, int] = defaultdict(int)
        waits = select(c.made_sheet).where(c.made_plan.in_(line), c.expected > 0)
        for number in connection.execute(waits).scalars():
            if number in wanted:
                self.unsaid[number] += 1


def _flows(connection: Connection, days: Days) -> dict[str, OffcutFlow]:
    flows: dict[str, OffcutFlow] = defaultdict(OffcutFlow)
    offcuts_over(connection, days.begin, days.end, lambda glass: flows[glass])
    return flows


def _rack(connection: Connection, days: Days, shop: Shop, prices: Prices) -> tuple[Rack, ...]:
    """Offcuts that lay in the rack at the end, by their age then."""
    c, m = item.c, movement.c
    # what lies there now, less what moved since: the past of the store is not added up again
    moved = select(m.item, func.sum(m.on_hand)).where(m.at >= micros(days.end), m.on_hand != 0)
    moved = moved.group_by(m.item).having(func.sum(m.on_hand) != 0)
    since = {key: int(change) for key, change in connection.execute(moved).all()}
    query = select(c.id, c.glass, c.width, c.height, c.since, c.on_hand).where(c.kind == OFFCUT)
    rows = {row.id: row for row in connection.execute(query.where(IS_THERE)).all()}
    for part in in_parts(sorted(set(since) - set(rows))):
        rows |= {row.id: row for row in connection.execute(query.where(c.id.in_(part))).all()}
    found: dict[tuple[str, int], list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for key, row in rows.items():
        if row.on_hand - since.get(key, 0) <= 0:
            continue
        age = max(0, (days.last - date.fromisoformat(row.since)).days)
        one = found[row.glass, age_class(age)]
        area, price = row.width * row.height, prices.per_area(row.glass)
        one[0] += 1
        one[1] += 2 * area
        if price is not None:
            one[2] += aged_worth(shop, area, price, age)
            one[3] += aged_worth(shop, area, price, 0)
    return tuple(
        Rack(glass, AGES[k] if k < len(AGES) else None, *found[glass, k]) for glass, k in sorted(found)
    )


def _scrapped(connection: Connection, days: Days) -> tuple[Scrapped, ...]:
    """Whole sheets scrapped or broken in the rack, at what they cost."""
    c, m = item.c, movement.c
    count = func.sum(-m.on_hand)
    rows = connection.execute(
        select(c.glass, c.width, c.height, c.price, count.label("pieces"))
        .join(item, c.id == m.item)
        .where(
            m.kind.in_(IN_RACK),
            m.on_hand < 0,
            c.kind == SHEET,
            m.at.between(micros(days.begin), micros(days.end) - 1),
        )
        .group_by(c.glass, c.width, c.height, c.price)
    )
    found: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for row in rows.all():
        one, number = found[row.glass], int(row.pieces)
        one[0] += number
        one[1] += 2 * row.width * row.height * number
        one[2] += (row.price or 0) * number
    return tuple(Scrapped(glass, *found[glass]) for glass in sorted(found))
