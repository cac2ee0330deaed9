"""Panels that are cut after their due day, and what a plan file says of its days."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from .cutting_days import CuttingDays
from .panels import Panel
from .plan import Layout, Plan

LATE = "late"
"""Key of the plan file: the panels that are cut after their due day."""
CUTTING_DAYS = "cutting_days"
"""Key of the plan file: the first cutting day, and how many sheets a day."""


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
    return {
        CUTTING_DAYS: {"from": start.isoformat(), "sheets_a_day": days.sheets},
        LATE: [late.row() for late in late_panels(panels, layouts)],
    }
