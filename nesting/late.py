"""Panels that are cut after their due day, and what a plan file says of its days."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from .cutting_days import CuttingDays
from .panels import Panel
from .plan import Layout, Plan

LATE = "late"
"""Key of the plan file: the panels that are cut after their due day."""
CUTTING_DAYS = "cutting_days"
"""Key of the plan file: the first cutting day, and what the table cuts a day."""
DUE_ORDER = "due_order"
"""Key of the plan file: by glass and due day, how many sheets these panels take alone and here."""


@dataclass(frozen=True, slots=True)
class Late:
    """A panel that is cut after its due day."""

    panel: str
    due: date
    day: date

    def row(self) -> dict[str, str]:
        """As the plan file gives it."""
        return {"panel": self.panel, "due": self.due.isoformat(), "day": self.day.isoformat()}


def late_panels(panels: Iterable[Panel], layouts: Iterable[Layout]) -> list[Late]:
    """The late panels of these sheets, the most pressing first."""
    due = {p.id: p.due for p in panels}
    out = []
    for layout in layouts:
        for leaf in layout.leaves:
            wanted = due.get(leaf.panel) if leaf.panel is not None else None
            if leaf.panel is None or wanted is None or layout.day is None or layout.day <= wanted:
                continue
            out.append(Late(leaf.panel, wanted, layout.day))
    return sorted(out, key=lambda x: (x.due, x.day, x.panel))


def late_of(plan: Plan) -> list[Late]:
    """The late panels of a plan; none where its sheets have no days."""
    return late_panels(plan.panels, plan.layouts)


def days_extra(
    panels: Iterable[Panel], layouts: Iterable[Layout], days: CuttingDays, start: date
) -> dict[str, object]:
    """What the plan file says of its days (see `Plan.extra`)."""
    stated: dict[str, object] = {"from": start.isoformat(), "sheets_a_day": days.sheets}
    if days.seconds is not None:
        times = {"seconds_a_day": days.seconds, "seconds_a_sheet": days.a_sheet, "seconds_a_cut": days.a_cut}
        stated |= times
    return {CUTTING_DAYS: stated, LATE: [late.row() for late in late_panels(panels, layouts)]}


def too_long(plan: Plan) -> list[int]:
    """Numbers of the sheets that take longer than the table has on a day, as far as the plan file says it."""
    stated = plan.extra.get(CUTTING_DAYS)
    if not isinstance(stated, dict):
        return []
    seconds, a_sheet, a_cut = (stated.get(f"seconds_a_{of}") for of in ("day", "sheet", "cut"))
    if not (isinstance(seconds, int) and isinstance(a_sheet, int) and isinstance(a_cut, int)):
        return []
    return [x.number for x in plan.layouts if a_sheet + a_cut * len(x.cuts) > seconds]


@dataclass(frozen=True, slots=True)
class DueOrder:
    """On how many of the first sheets of a glass the panels due by a day lie, and how many they take alone."""

    glass: str
    due: date
    alone: int
    sheets: int

    @property
    def held(self) -> bool:
        """Whether they lie on the first sheets, one more than alone at most."""
        return self.sheets <= self.alone + 1

    def row(self) -> dict[str, object]:
        """As the plan file gives it."""
        return {
            "glass": self.glass, "due": self.due.isoformat(), "alone": self.alone, "sheets": self.sheets
        }  # fmt: skip


def order_extra(
    panels: Iterable[Panel], layouts: Sequence[Layout], alone: Iterable[tuple[str, date, int]]
) -> dict[str, object]:
    """What the plan file says of due days where its sheets have no days (see `Plan.extra`).

    Parameters
    ----------
    panels, layouts
        Of the plan.
    alone
        Glass, due day, and the number of sheets that the panels due by then take alone.
    """
    due = {p.id: p.due for p in panels}
    rows = []
    for glass, day, number in alone:
        last = 0
        for place, layout in enumerate((x for x in layouts if x.glass == glass), 1):
            wanted = [due.get(leaf.panel) for leaf in layout.leaves if leaf.panel is not None]
            if any(d is not None and d <= day for d in wanted):
                last = place
        # the first sheets are a plan of these panels themselves
        rows.append(DueOrder(glass, day, min(number, last), last).row())
    return {DUE_ORDER: rows}


def order_of(plan: Plan) -> list[DueOrder] | None:
    """What a plan file says of its due days; None where it says nothing."""
    stated = plan.extra.get(DUE_ORDER)
    if not isinstance(stated, list):
        return None
    try:
        return [DueOrder(r["glass"], date.fromisoformat(r["due"]), r["alone"], r["sheets"]) for r in stated]
    except (KeyError, TypeError, ValueError):
        return None
