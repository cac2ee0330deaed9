"""Waste of plans in folders, with the records that lie beside them: for a shop that keeps no stock store."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import combinations
from pathlib import Path

from panewright.io.event_standing import standing
from panewright.io.plan_reader import load
from panewright.io.plan_values import PlanFileError
from panewright.io.problems import Problems
from panewright.io.record_file import Event, Record, What, load_record
from panewright.io.record_folder import plan_path
from panewright.io.record_state import records_beside
from panewright.io.store.offcut_flow import OffcutFlow
from panewright.io.store.plan_rows import figures_text
from panewright.io.waste_data import (
    NO_DAY,
    Builder,
    By,
    Days,
    SheetRow,
    WasteOver,
    Worths,
    days_of,
    figures_in,
)
from panewright.io.waste_lines import LinePlan, Lines, LineSheet
from panewright.io.waste_pieces import pieces_of
from panewright.nesting.figures import sheet_figures, thickness_of
from panewright.nesting.happened import AtStep
from panewright.nesting.kept import line_ids
from panewright.nesting.outlines import box
from panewright.nesting.plan import Layout, Leaf, Plan
from panewright.nesting.shop import Shop
from panewright.nesting.text import tr, tr_count
from panewright.nesting.waste.sheets import Away, SheetWaste
from panewright.nesting.waste.thrown import away_of


def waste_of_folders(
    paths: Sequence[Path],
    shop: Shop,
    problems: Problems,
    *,
    period: tuple[date, date] | None = None,
    by: By = "week",
) -> WasteOver | None:
    """Waste of plans in folders; None where one of them cannot be read.

    Parameters
    ----------
    paths
        Folders with a ``plan.json``, or plan files; the record files beside them are read too.
    shop
        Worth of offcuts.
    problems
        Gets what is wrong with a file; what is only worth knowing is in `WasteOver.notes`.
    period
        First and last day. Without one everything counts, sheets without a day too.
    by
        What the period is told by.
    """
    notes: list[str] = []
    plans, records = _read(paths, problems, notes)
    if problems.error_count:
        return None
    told = {name: _Told(plan, records) for name, plan in plans.items()}
    standing_now = _standing(plans, paths, problems, notes)
    if problems.error_count:
        return None
    folders = _Folders(plans, told, standing_now)
    days = days_of(*period, by) if period is not None else folders.all_days(by)
    rows, left_out = folders.rows(days, every=period is None)
    if left_out:
        notes.append(
            tr_count(
                "{count} sheet has no day, neither planned nor recorded: it is left out of a period",
                "{count} sheets have no day, neither planned nor recorded: they are left out of a period",
                left_out,
            )
        )
    worths = Worths(shop)
    builder = Builder({name: folders.lines.pieces(name) for name in standing_now}, worths)
    planned, recorded = folders.sheets(rows, builder)
    earlier = None
    if period is not None and days is not None:
        then = folders.sheets(folders.rows(days.before, every=False)[0], builder)
        earlier = then if any(then) else None
    flows, broken = folders.after(None if period is None else days)
    currencies = {plans[name].currency for name in standing_now}
    if len(currencies) > 1:
        notes.append(tr("the plans are in several currencies: {names}", names=", ".join(sorted(currencies))))
    return WasteOver(
        days=days,
        planned=planned,
        recorded=recorded,
        earlier=earlier,
        offcuts=flows,
        broken=broken,
        orders=builder.orders,
        no_bound=tuple(sorted(folders.lines.no_bound)),
        no_price=tuple(sorted(worths.missing)),
        currency=min(currencies, default=shop.currency) or shop.currency,
        notes=tuple(notes),
    )


def _read(
    paths: Sequence[Path], problems: Problems, notes: list[str]
) -> tuple[dict[str, Plan], list[Record]]:
    """Each plan once, in the order of the folders, and all records of them."""
    plans: dict[str, Plan] = {}
    where: dict[str, Path] = {}
    files: dict[Path, None] = {}
    for path in dict.fromkeys(paths):
        try:
            plan = load(plan_path(path))[0]
            files |= dict.fromkeys(records_beside(path))
        except PlanFileError as error:
            for p in error.problems:
                problems.add(p.file or path, p.reason, p.remedy, column=p.column, value=p.value)
            continue
        except OSError as error:
            problems.add(
                path,
                error.strerror or type(error).__name__,
                tr("give a plan file, or a folder with a plan.json"),
            )
            continue
        if plan.id in plans:
            notes.append(
                tr(
                    "plan {plan} lies in {first} and in {second}: it is counted once",
                    plan=plan.id,
                    first=where[plan.id],
                    second=path,
                )
            )
            continue
        plans[plan.id], where[plan.id] = plan, path
    lines = {name for plan in plans.values() for name in line_ids(plan)}
    records = []
    for file in files:
        record = load_record(file, problems)
        if record is not None and record.plan in lines:
            records.append(record)
        elif record is not None:
            notes.append(tr("{file} is a record of plan {plan}: left out", file=file, plan=record.plan))
    return plans, records


def _standing(
    plans: Mapping[str, Plan], paths: Sequence[Path], problems: Problems, notes: list[str]
) -> list[str]:
    """Ids of the plans of which no other was made: those speak for the sheets."""
    later: dict[str, str] = {}
    for name, plan in plans.items():
        for before in line_ids(plan)[1:]:
            if before in plans:
                later[before] = name
    for before, name in later.items():
        notes.append(
            tr(
                "plan {plan} is not counted by itself: plan {later} was made from it and has its sheets",
                plan=before,
                later=name,
            )
        )
    found = [name for name in plans if name not in later]
    for one, two in combinations(found, 2):
        common = set(line_ids(plans[one])) & set(line_ids(plans[two]))
        if not common:
            continue
        mine = {x.number: (x.stock, x.glass, x.leaves) for x in plans[one].layouts}
        both = [x.number for x in plans[two].layouts if mine.get(x.number) == (x.stock, x.glass, x.leaves)]
        if both:
            problems.add(
                paths[0],
                tr(
                    "plans {one} and {two} were both made from plan {before} and both hold its sheet {number}",
                    one=one,
                    two=two,
                    before=min(common),
                    number=both[0],
                ),
                tr("give only the one by which was cut"),
            )
    return found


class _Told:
    """What the records of its line tell of a plan, in their order; what was undone was not."""

    def __init__(self, plan: Plan, records: Iterable[Record]) -> None:
        line = set(line_ids(plan))
        events: dict[str, Event] = {}
        for record in records:
            if record.plan in line:
                for event in record.events:
                    events.setdefault(event.id, event)
        stands = standing({e.id: e.undoes if e.what is What.UNDONE else None for e in events.values()})
        sheets = {x.number for x in plan.layouts}
        self.events = sorted(
            (e for e in events.values() if stands[e.id] and e.sheet in sheets), key=lambda e: (e.at, e.id)
        )
        self.cut: dict[int, datetime] = {}
        self.broken: dict[str, tuple[AtStep, datetime]] = {}
        self.offcuts: dict[str, Event] = {}
        self.measured: dict[str, int] = {}
        for e in self.events:
            if e.what is What.SHEET_CUT and e.sheet is not None:
                self.cut.setdefault(e.sheet, e.at)
            elif e.what is What.PANEL_BROKEN and e.panel is not None and e.at_step is not None:
                self.broken[e.panel] = (e.at_step, e.at)
            elif e.offcut is not None:
                before = self.offcuts.get(e.offcut)
                if before is None or before.what is not e.what:
                    self.offcuts[e.offcut] = e
                if e.what is What.OFFCUT_KEPT and e.size is not None:
                    self.measured[e.offcut] = 2 * e.size[0] * e.size[1]

    @property
    def thrown(self) -> set[str]:
        """Offcuts that were thrown away."""
        return {name for name, e in self.offcuts.items() if e.what is What.OFFCUT_THROWN}


@dataclass
class _Folders:
    """The plans that count, with what is told of them."""

    plans: Mapping[str, Plan]
    told: Mapping[str, _Told]
    names: Sequence[str]

    def __post_init__(self) -> None:
        self.lines = Lines(self._head, lambda name: pieces_of(self.plans[name]), figures_in)

    def _head(self, name: str) -> LinePlan:
        plan = self.plans[name]
        panels = {p.id: p for p in plan.panels}
        before = next((n for n in line_ids(plan)[1:] if n in self.plans), None)
        sheets = {
            x.number: LineSheet(
                x.stock, x.glass, figures_text(sheet_figures(x, panels, thickness_of(plan, x.glass)))
            )
            for x in plan.layouts
        }
        return LinePlan(before, 0, sheets)

    def all_days(self, by: By) -> Days | None:
        """From the first day that is known to the last."""
        known = [x.day for name in self.names for x in self.plans[name].layouts if x.day is not None]
        known += [day_of(at) for name in self.names for at in self.told[name].cut.values()]
        return days_of(min(known), max(known), by) if known else None

    def rows(self, days: Days | None, *, every: bool) -> tuple[list[SheetRow], int]:
        """The sheets that count in a period, and how many have no day at all."""
        out: list[SheetRow] = []
        left_out = 0
        for name in self.names:
            cut = self.told[name].cut
            for x in self.plans[name].layouts:
                planned = None if days is None or x.day is None else days.span_of(x.day)
                if x.day is None and every:
                    planned = NO_DAY
                done = days.span_of(day_of(cut[x.number])) if days and x.number in cut else None
                left_out += x.day is None and x.number not in cut and not every
                if planned is None and done is None:
                    continue
                figures = figures_in(self.lines.plan(name).sheets[x.number].figures)
                out.append(
                    SheetRow(
                        plan=name,
                        number=x.number,
                        glass=x.glass,
                        stock=x.stock,
                        is_offcut=x.is_offcut,
                        figures=figures,
                        planned=planned,
                        cut=done,
                    )
                )
        return out, left_out

    def sheets(
        self, rows: Iterable[SheetRow], builder: Builder
    ) -> tuple[tuple[SheetWaste, ...], tuple[SheetWaste, ...]]:
        """Rows as planned and as cut."""
        planned, recorded = [], []
        for row in rows:
            over = self.lines.over(row.plan, row.number)
            if row.planned is not None:
                planned.append(builder.planned(row, over))
            if row.cut is not None:
                told = self.told[row.plan]
                layout = self._layout(row)
                broken = {name: step for name, (step, _) in told.broken.items()}
                away = away_of(layout, told.thrown, told.measured) if told.offcuts else Away()
                recorded.append(builder.recorded(row, over, broken, away))
        return tuple(planned), tuple(recorded)

    def _layout(self, row: SheetRow) -> Layout:
        return next(x for x in self.plans[row.plan].layouts if x.number == row.number)

    def after(self, days: Days | None) -> tuple[dict[str, OffcutFlow], dict[tuple[str, AtStep], int]]:
        """What became of offcuts, and what broke; a rack is known to a store alone."""
        flows: dict[str, OffcutFlow] = defaultdict(OffcutFlow)
        broken: dict[tuple[str, AtStep], int] = defaultdict(int)
        for name in self.names:
            plan, told = self.plans[name], self.told[name]
            for x in plan.layouts:
                self._of_sheet(flows, x, told, days)
            for panel, (step, at) in told.broken.items():
                if days is None or days.span_of(day_of(at)) is not None:
                    broken[plan.panel(panel).glass, step] += 1
        order = list(AtStep)
        return (
            dict(sorted(flows.items())),
            dict(sorted(broken.items(), key=lambda pair: (pair[0][0], order.index(pair[0][1])))),
        )

    def _of_sheet(self, flows: dict[str, OffcutFlow], x: Layout, told: _Told, days: Days | None) -> None:
        def within(at: datetime) -> bool:
            return days is None or days.span_of(day_of(at)) is not None

        cut = told.cut.get(x.number)
        counts = cut is not None and within(cut)
        if counts and x.is_offcut:
            flow = flows[x.glass]
            flow.used, flow.used_area = flow.used + 1, flow.used_area + 2 * x.width * x.height
        for leaf in x.leaves:
            if leaf.offcut is None:
                continue
            said = told.offcuts.get(leaf.offcut)
            if said is None:
                if counts:
                    flows[x.glass].unsaid += 1
            elif within(said.at):
                _add(flows[x.glass], said, _area(leaf, told))


def _area(leaf: Leaf, told: _Told) -> int:
    x0, y0, x1, y1 = box(leaf.outline)
    return told.measured.get(leaf.offcut or "", 2 * (x1 - x0) * (y1 - y0))


def _add(flow: OffcutFlow, said: Event, area: int) -> None:
    if said.what is What.OFFCUT_KEPT:
        flow.made, flow.made_area = flow.made + 1, flow.made_area + area
    elif said.what is What.OFFCUT_THROWN:
        flow.thrown, flow.thrown_area = flow.thrown + 1, flow.thrown_area + area


def day_of(at: datetime) -> date:
    """The day on this machine."""
    return at.astimezone().date()
