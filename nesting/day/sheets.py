"""The sheets of filed plans as the day sees them: what comes off, how long they take, what they ask of the line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from ..cutting_days import Load
from ..errors import NestingError
from ..figures import thickness_of
from ..glass import mass_grams
from ..panels import Panel, Purpose
from ..plan import Layout, Plan
from ..sequence import steps_of
from ..sequencing.counts import counts_of
from ..shop import Shop
from ..shop_table import Habit
from ..text import tr
from .edging import line_length

SheetKey = tuple[str, int]
"""Id of a plan and number of a sheet."""


class SamePanelTwice(NestingError, ValueError):
    """An ordered panel that lies on sheets of two of the plans."""

    def __init__(self, panel: str, first: str, second: str) -> None:
        self.panel, self.first, self.second = panel, first, second
        super().__init__(panel, first, second)

    def __str__(self) -> str:
        return tr(
            "panel {panel} is in plan {first} and in plan {second}; give the plan that counts alone",
            panel=self.panel[:100],
            first=self.first[:20],
            second=self.second[:20],
        )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DaySheet:
    """One sheet to be cut.

    Parameters
    ----------
    plan, layout
        Whose it is.
    panels
        In the order in which they come off the table.
    steps
        The step that frees each of them; 0 where the whole sheet is the panel.
    load
        What it asks of the table.
    edging
        Edges for the edging line, without those that go by hand. [nm]
    grams
        Its mass. [g]
    not_before
        The day on which a sheet that is bought is here; None where it is in the rack or no time is stated.
    after
        The sheet of the same day's plans, not cut yet, that leaves the offcut which this one is cut from.
    waits_for
        The same, where no plan of the day has it.
    behind
        Sheets of its plan, not cut yet, that come first: they hold lower slots of its racks, or are taken before it.
    """

    plan: Plan
    layout: Layout
    panels: tuple[Panel, ...]
    steps: tuple[int, ...]
    load: Load
    edging: int
    grams: int
    not_before: date | None = None
    after: SheetKey | None = None
    waits_for: SheetKey | None = None
    behind: tuple[SheetKey, ...] = ()
    orders: tuple[str, ...] = field(init=False)
    """The orders of which it holds panels, as their first ones come off."""
    _due: dict[str, date | None] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        # asked for again and again, for every order of the sheets that is tried
        due: dict[str, date | None] = {}
        for panel in self.ordered:
            before = due.setdefault(panel.order, panel.due)
            if panel.due is not None and (before is None or panel.due < before):
                due[panel.order] = panel.due
        object.__setattr__(self, "_due", due)
        object.__setattr__(self, "orders", tuple(due))

    @property
    def first(self) -> tuple[SheetKey, ...]:
        """All sheets of the day's plans that must be cut before it."""
        return self.behind if self.after is None else (self.after, *self.behind)

    @property
    def key(self) -> SheetKey:
        """Id of the plan and number of the sheet."""
        return self.plan.id, self.layout.number

    @property
    def ordered(self) -> list[Panel]:
        """Its panels without spares and fillers."""
        return [panel for panel in self.panels if panel.purpose is Purpose.ORDER]

    def due_of(self, order: str) -> date | None:
        """The first due day among the panels of an order on this sheet."""
        return self._due.get(order)


def sheets_of(plans: Sequence[Plan], shop: Shop, *, bought: date) -> list[DaySheet]:
    """The sheets of some plans, in the order in which they were filed.

    Parameters
    ----------
    plans
        Plans that the checker has passed.
    shop
        Its clock, edging line and stock sizes.
    bought
        The day on which the sheets to buy were or are ordered.

    Raises
    ------
    SamePanelTwice
        Where an ordered panel is on sheets of two plans.
    """
    seen: dict[str, str] = {}
    out = []
    for plan in plans:
        panels = {panel.id: panel for panel in plan.panels}
        for layout in plan.layouts:
            sheet = _sheet(plan, layout, panels, shop, bought)
            out.append(sheet)
            for panel in sheet.ordered:
                if panel.id in seen:
                    raise SamePanelTwice(panel.id, seen[panel.id], plan.id)
                seen[panel.id] = plan.id
    return out


def _sheet(plan: Plan, layout: Layout, panels: Mapping[str, Panel], shop: Shop, bought: date) -> DaySheet:
    freed = {name: (cut.step, i) for cut in layout.cuts for i, name in enumerate(cut.makes)}
    coming = sorted(
        (freed.get(leaf.piece, (0, 0)), leaf.panel) for leaf in layout.leaves if leaf.panel is not None
    )
    mine = tuple(panels[name] for _, name in coming)
    return DaySheet(
        plan=plan,
        layout=layout,
        panels=mine,
        steps=tuple(step for (step, _), _ in coming),
        load=table_load(plan, layout, shop),
        edging=line_length(mine, shop.edging),
        grams=mass_grams(2 * layout.width * layout.height, thickness_of(plan, layout.glass)),
        not_before=_here_on(layout, shop, bought),
    )


def _here_on(layout: Layout, shop: Shop, bought: date) -> date | None:
    if not layout.buy:
        return None
    for size in shop.sizes_of(layout.glass):
        if size.name == layout.stock and size.lead_days is not None:
            return bought + timedelta(days=size.lead_days)
    return None


def table_load(plan: Plan, layout: Layout, shop: Shop) -> Load:
    """What a sheet asks of the table.

    The shop's own clock counts, by which `plan --from` gives days as well; where it states none, the modelled times
    of all movements do (see `sequencing.counts`).
    """
    clock = shop.cutting_days
    if clock.a_sheet or clock.a_cut:
        return clock.load(len(layout.cuts))
    steps = steps_of(plan, layout, lifts=shop.lifts)
    thousandths = counts_of(steps, Habit(layout.habit or plan.habit), shop.work.rates).milliseconds
    return Load(1, -(-thousandths // 1000))
