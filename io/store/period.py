"""Figures over a period: what was planned in it and what was really cut, broken, kept and thrown away.

A sheet counts in the period in which it was cut, with all that is known of it now: an offcut that was thrown
away and a panel that broke are waste of the sheet that they are from, whenever that was told. Plans in whose
place another stands are left out, since their sheets are repeated there.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, func, select

from panewright.io.plan_reader import loads
from panewright.io.record_file import What
from panewright.io.store.breaking import LIVE, broken_in
from panewright.io.store.items import SHEET
from panewright.io.store.ledger import micros
from panewright.io.store.offcut_flow import IN_RACK, OffcutFlow, offcuts_over
from panewright.io.store.plan_lists import line_of, plan_text
from panewright.io.store.plan_rows import AREAS
from panewright.io.store.schema import event as events
from panewright.io.store.schema import item, movement, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.figures import Figures, sheet_figures, thickness_of
from panewright.nesting.glass import mass_grams
from panewright.nesting.happened import AtStep
from panewright.nesting.ledger import SheetState
from panewright.nesting.plan import LeafKind, Plan


@dataclass(slots=True)
class GlassPeriod:
    """The figures of one glass, or of all.

    Parameters
    ----------
    planned
        Of the sheets that plans set down for the period: by the day of the sheet, else by the day of the commit.
    recorded
        Of the sheets that were cut in it: broken panels and offcuts thrown away are cullet and trim there. The
        counts of panels, cuts and edges are left at 0 in both.
    offcuts
        What became of them.
    broken
        Panels that broke in it, by the work.
    scrapped
        Whole sheets that were scrapped or broke in the rack.
    scrapped_area
        Their area. [twice nm2]
    """

    planned: Figures = field(default_factory=Figures)
    recorded: Figures = field(default_factory=Figures)
    offcuts: OffcutFlow = field(default_factory=OffcutFlow)
    broken: dict[AtStep, int] = field(default_factory=dict)
    scrapped: int = 0
    scrapped_area: int = 0

    def add(self, other: GlassPeriod) -> None:
        """Add another glass."""
        self.planned.add(other.planned)
        self.recorded.add(other.recorded)
        self.offcuts.add(other.offcuts)
        for step, count in other.broken.items():
            self.broken[step] = self.broken.get(step, 0) + count
        self.scrapped += other.scrapped
        self.scrapped_area += other.scrapped_area


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """The figures of some days.

    Parameters
    ----------
    since, until
        The first moment, and the first one after the period.
    by_glass
        By glass key, in their order.
    total
        All glasses together.
    """

    since: datetime
    until: datetime
    by_glass: Mapping[str, GlassPeriod]
    total: GlassPeriod

    @property
    def first(self) -> date:
        """The first day."""
        return self.since.date()

    @property
    def last(self) -> date:
        """The last day."""
        return (self.until - timedelta(microseconds=1)).date()


def figures_over(connection: Connection, since: datetime, until: datetime) -> Period:
    """Figures of what was planned and recorded from `since` to before `until`, both with their zone."""
    by_glass: dict[str, GlassPeriod] = defaultdict(GlassPeriod)
    period = Period(since=since, until=until, by_glass=by_glass, total=GlassPeriod())
    _planned(connection, period, by_glass)
    _recorded(connection, period, by_glass)
    offcuts_over(connection, since, until, lambda glass: by_glass[glass].offcuts)
    for row in broken_in(connection, micros(since), micros(until)):
        mine = by_glass[row.glass].broken
        step = AtStep(row.at_step)
        mine[step] = mine.get(step, 0) + 1
    for glass, width, height, count in connection.execute(
        select(item.c.glass, item.c.width, item.c.height, func.sum(-movement.c.on_hand))
        .join(item, item.c.id == movement.c.item)
        .where(movement.c.kind.in_(IN_RACK), movement.c.on_hand < 0, item.c.kind == SHEET, _during(period))
        .group_by(item.c.glass, item.c.width, item.c.height)
    ):
        by_glass[glass].scrapped += int(count)
        by_glass[glass].scrapped_area += 2 * width * height * int(count)
    for one in by_glass.values():
        one.broken = {step: one.broken[step] for step in AtStep if step in one.broken}
        period.total.add(one)
    period.total.broken = {s: period.total.broken[s] for s in AtStep if s in period.total.broken}
    return replace(period, by_glass=dict(sorted(by_glass.items())))


def _during(period: Period) -> Any:
    return movement.c.at.between(micros(period.since), micros(period.until) - 1)


def _figures(text: str) -> Figures:
    return _of(json.loads(text))


def _of(known: Mapping[str, int]) -> Figures:
    """The figures of one sheet that the store keeps."""
    out = Figures(sheets=1)
    for name in AREAS:
        setattr(out, name, int(known[name]))
    return out


def _planned(connection: Connection, period: Period, by_glass: dict[str, GlassPeriod]) -> None:
    s, p = plan_sheet.c, plans.c
    alive = (p.state.in_(LIVE), s.state != SheetState.RELEASED.value)
    query = select(s.glass, s.figures).join(plans, p.id == s.plan).where(*alive)
    days = s.day.between(period.first.isoformat(), period.last.isoformat())
    for row in connection.execute(query.where(days)):
        by_glass[row.glass].planned.add(_figures(row.figures))
    since, until = micros(period.since), micros(period.until)
    # without a day a sheet counts by its first commit: a plan of a later day may have kept it
    rows = connection.execute(
        query.add_columns(s.plan, s.number, s.stock, p.committed, p.follows).where(
            s.day.is_(None), p.committed >= since
        )
    ).all()
    firsts = {row.plan: _first_commits(connection, row.plan) for row in rows if row.follows is not None}
    for row in rows:
        if since <= firsts.get(row.plan, {}).get((row.number, row.stock), row.committed) < until:
            by_glass[row.glass].planned.add(_figures(row.figures))


def _first_commits(connection: Connection, name: str) -> dict[tuple[int, str], int]:
    """When each sheet was first in a plan of the line, by number and stock. [us]"""
    s = plan_sheet.c
    query = (
        select(s.number, s.stock, func.min(plans.c.committed))
        .join(plans, plans.c.id == s.plan)
        .where(s.plan.in_(line_of(connection, name)))
        .group_by(s.number, s.stock)
    )
    return {(number, stock): int(first) for number, stock, first in connection.execute(query).all()}


def _recorded(connection: Connection, period: Period, by_glass: dict[str, GlassPeriod]) -> None:
    rows = connection.execute(
        select(plan_sheet.c.plan, plan_sheet.c.number, plan_sheet.c.glass, plan_sheet.c.figures)
        .join(plans, plans.c.id == plan_sheet.c.plan)
        .where(
            plans.c.state.in_(LIVE),
            plan_sheet.c.state == SheetState.CUT.value,
            plan_sheet.c.cut_at.between(micros(period.since), micros(period.until) - 1),
        )
        .order_by(plan_sheet.c.plan, plan_sheet.c.number)
    ).all()
    numbers: dict[str, set[int]] = defaultdict(set)
    for row in rows:
        numbers[row.plan].add(row.number)
    really = {plan: _Really(connection, plan, mine) for plan, mine in numbers.items()}
    for row in rows:
        by_glass[row.glass].recorded.add(really[row.plan].figures(row.number, _figures(row.figures)))
        by_glass[row.glass].offcuts.unsaid += really[row.plan].unsaid.get(row.number, 0)


class _Really:
    """What became of the pieces of cut sheets of one plan; its file is read only where something did."""

    def __init__(self, connection: Connection, plan: str, numbers: Iterable[int]) -> None:
        self.connection, self.plan = connection, plan
        self.thrown: dict[int, set[str]] = defaultdict(set)
        self.smaller: dict[int, dict[str, int]] = defaultdict(dict)
        self.unsaid: dict[int, int] = defaultdict(int)
        self.broken: dict[int, set[str]] = defaultdict(set)
        self._file: Plan | None = None
        line = line_of(connection, plan)
        e = events.c
        told = connection.execute(
            select(e.what, e.sheet, e.panel, e.offcut, e.size)
            .where(e.plan.in_(line), e.stands.is_(True), e.sheet.in_(sorted(numbers)))
            .order_by(e.at, e.id)
        )
        for row in told:
            if row.what == What.PANEL_BROKEN.value:
                self.broken[row.sheet].add(row.panel)
            elif row.what == What.OFFCUT_THROWN.value:
                self.thrown[row.sheet].add(row.offcut)
            elif row.what == What.OFFCUT_KEPT.value:
                self.thrown[row.sheet].discard(row.offcut)
                if row.size is not None:
                    width, height = json.loads(row.size)
                    self.smaller[row.sheet][row.offcut] = 2 * width * height
        c = item.c
        for number in connection.execute(
            select(c.made_sheet).where(
                c.made_plan.in_(line), c.made_sheet.in_(sorted(numbers)), c.expected > 0
            )
        ).scalars():
            self.unsaid[number] += 1

    def figures(self, number: int, planned: Figures) -> Figures:
        """The figures of a sheet with what really became of its pieces."""
        if not (self.thrown[number] or self.broken[number] or self.smaller[number]):
            return planned
        if self._file is None:
            self._file = loads(plan_text(self.connection, self.plan))
        layout = next(x for x in self._file.layouts if x.number == number)
        lost = self.thrown[number] | self.broken[number]
        leaves = [
            replace(leaf, kind=LeafKind.CULLET, panel=None, offcut=None)
            if leaf.offcut in lost or leaf.panel in lost
            else leaf
            for leaf in layout.leaves
        ]
        thickness = thickness_of(self._file, layout.glass)
        panels = {p.id: p for p in self._file.panels}
        found = sheet_figures(replace(layout, leaves=tuple(leaves)), panels, thickness)
        out = _of({name: getattr(found, name) for name in AREAS})
        for leaf in leaves:
            measured = self.smaller[number].get(leaf.offcut or "")
            if measured is not None:
                (x0, y0), (x1, y1) = min(leaf.outline), max(leaf.outline)
                less = max(0, 2 * (x1 - x0) * (y1 - y0) - measured)
                out.offcut -= less
                out.cullet += less
        out.scrap_grams = mass_grams(out.trim + out.cullet, thickness)
        return out
