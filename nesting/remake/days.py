"""The cutting days of sheets that come in, and the place of changed ones among the others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from ..cutting_days import CuttingDays, Load
from ..late import CUTTING_DAYS
from ..panels import Panel
from ..plan import Layout, Plan
from ..shop import Shop
from .racks import racked
from .sheets import How, Sheet
from .tree import panels_on


class Calendar:
    """Days and order of the sheets of one plan.

    Parameters
    ----------
    plan
        The earlier plan: where its sheets have days, all have.
    shop
        Working days, and what is cut on one.
    """

    def __init__(self, plan: Plan, shop: Shop) -> None:
        said = plan.extra.get(CUTTING_DAYS)
        self.start = _start(said) if any(x.day is not None for x in plan.layouts) else None
        days = shop.cutting_days
        if isinstance(said, dict) and not days.limited:
            numbers = [
                said.get(k) for k in ("sheets_a_day", "seconds_a_day", "seconds_a_sheet", "seconds_a_cut")
            ]
            sheets, seconds, a_sheet, a_cut = (n if isinstance(n, int) else None for n in numbers)
            days = replace(days, sheets=sheets, seconds=seconds, a_sheet=a_sheet or 0, a_cut=a_cut or 0)
        self.days: CuttingDays = days

    @property
    def has_days(self) -> bool:
        """Whether the sheets have days."""
        return self.start is not None and self.days.limited

    def dated(self, sheets: Sequence[Sheet], panels: Mapping[str, Panel]) -> list[Sheet]:
        """The sheets in their order, new ones with the first day that has room, the most pressing first.

        Where sheets have no days, a changed one goes before those whose panels are due later.
        """
        if not self.has_days or self.start is None:
            return _by_due(sheets, panels)
        taken: dict[date, Load] = {}
        for s in sheets:
            if s.layout.day is not None:
                load = self.days.load(len(s.layout.cuts))
                taken[s.layout.day] = taken.get(s.layout.day, Load()) + load
        to_cut = [s.layout.day for s in sheets if s.layout.day is not None and s.how is How.TO_CUT]
        cut = [s.layout.day for s in sheets if s.layout.day is not None and s.how is not How.TO_CUT]
        begin = min(to_cut) if to_cut else max([self.start, *cut])
        new = [i for i, s in enumerate(sheets) if s.layout.day is None]
        new.sort(key=lambda i: (earliest(sheets[i].layout, panels), i))
        out = list(sheets)
        for i in new:
            load = self.days.load(len(sheets[i].layout.cuts))
            (day,) = self.days.slots(begin, [load], taken)
            taken[day] = taken.get(day, Load()) + load
            out[i] = replace(out[i], layout=replace(out[i].layout, day=day))
        return sorted(out, key=lambda s: s.layout.day or date.min)

    def lateness(self, sheets: Sequence[Sheet], panels: Mapping[str, Panel]) -> tuple[int, int]:
        """Number of panels that are cut after their due day, and the days summed."""
        late = days = 0
        if self.has_days:
            for s in sheets:
                for name in panels_on(s.layout):
                    due = panels[name].due
                    if due is not None and s.layout.day is not None and s.layout.day > due:
                        late += 1
                        days += (s.layout.day - due).days
        return late, days


def _start(said: object) -> date | None:
    stated = said.get("from") if isinstance(said, dict) else None
    try:
        return date.fromisoformat(stated) if isinstance(stated, str) else None
    except ValueError:
        return None


def earliest(layout: Layout, panels: Mapping[str, Panel]) -> date:
    """The first due day of a sheet; far away where none of its panels has one."""
    return min((panels[p].due or date.max for p in panels_on(layout)), default=date.max)


def _by_due(sheets: Sequence[Sheet], panels: Mapping[str, Panel]) -> list[Sheet]:
    numbered = {s.layout.glass for s in sheets if s.layout.take is not None}
    moves = [
        s.how is How.TO_CUT
        and s.changed
        and not s.flawed
        and s.layout.glass not in numbered
        and not (s.origin is not None and racked(s.layout, panels))
        for s in sheets
    ]
    out = [s for s, moving in zip(sheets, moves, strict=True) if not moving]
    for sheet in (s for s, moving in zip(sheets, moves, strict=True) if moving):
        due = earliest(sheet.layout, panels)
        # behind what is cut, before the first sheet of its glass that is due later; at most at its old place
        place = len(out)
        for i, other in enumerate(out):
            mine = other.layout.glass == sheet.layout.glass and other.how is How.TO_CUT
            if mine and (earliest(other.layout, panels) > due or _stood_behind(sheet, other)):
                place = i
                break
        out.insert(place, sheet)
    return out


def _stood_behind(sheet: Sheet, other: Sheet) -> bool:
    return sheet.origin is not None and other.origin is not None and other.origin > sheet.origin
