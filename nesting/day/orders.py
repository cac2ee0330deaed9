"""Every order of the day: where its panels are, what still comes, when it is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ..panels import Panel, Purpose
from ..plan import Plan
from .lateness import LateOrder
from .sheets import DaySheet


@dataclass(frozen=True, slots=True, eq=False)
class OrderPart:
    """The panels of an order on one sheet; `day` is None where it is cut already."""

    sheet: DaySheet
    day: date | None
    panels: tuple[Panel, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DayOrder:
    """One order.

    Parameters
    ----------
    name
        Its name.
    due
        The first due day among its panels.
    place
        Its place on the racks; None where all were taken.
    parts
        Its sheets in cutting order.
    unplaced
        Panels of it that are on no sheet, by the plan.
    late
        What is late of it.
    """

    name: str
    due: date | None
    place: str | None
    parts: tuple[OrderPart, ...]
    unplaced: tuple[str, ...] = ()
    late: LateOrder | None = None

    @property
    def is_open(self) -> bool:
        """Whether panels of it are cut already, and others still come."""
        return self.parts[0].day is None and self.closes is not None

    @property
    def closes(self) -> date | None:
        """The day on which its last panel is cut; None where all are cut already."""
        return self.parts[-1].day

    def count(self, *, first: date | None = None, last: date | None = None) -> int:
        """Its panels that are cut from `first` to `last`, both included; None for no limit."""
        return sum(
            len(part.panels)
            for part in self.parts
            if part.day is not None
            and (first is None or first <= part.day)
            and (last is None or part.day <= last)
        )

    @property
    def cut(self) -> int:
        """Its panels that are cut already."""
        return sum(len(part.panels) for part in self.parts if part.day is None)


def orders_of(
    plans: Sequence[Plan],
    done: Sequence[DaySheet],
    coming: Sequence[tuple[DaySheet, date]],
    places: Mapping[str, str | None],
    late: Sequence[LateOrder],
) -> list[DayOrder]:
    """All orders, in the order in which their first panel is cut.

    Parameters
    ----------
    plans
        They name what is unplaced.
    done
        Sheets that are cut already, in the order in which they were.
    coming
        The others with their days, in cutting order.
    places
        On the racks, by order.
    late
        The late orders.
    """
    parts: dict[str, list[OrderPart]] = {}
    for sheet, day in (*((sheet, None) for sheet in done), *coming):
        for order in sheet.orders:
            mine = tuple(panel for panel in sheet.ordered if panel.order == order)
            parts.setdefault(order, []).append(OrderPart(sheet, day, mine))
    left_out: dict[str, list[str]] = {}
    for plan in plans:
        unplaced = {one.panel for one in plan.unplaced}
        for panel in plan.panels:
            if panel.id in unplaced and panel.purpose is Purpose.ORDER:
                left_out.setdefault(panel.order, []).append(panel.id)
    by_order = {one.order: one for one in late}
    return [
        DayOrder(
            name=name,
            due=min((p.due for part in mine for p in part.panels if p.due is not None), default=None),
            place=places.get(name),
            parts=tuple(mine),
            unplaced=tuple(left_out.get(name, ())),
            late=by_order.get(name),
        )
        for name, mine in parts.items()
    ]
