"""Which orders are late, and which rule makes them so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from .filling import DayLimits, fill_days
from .sheets import DaySheet


class LateBy(Enum):
    """The rule that makes an order late; the value is the word for programs."""

    OVER = "due day is over"
    STOCK = "stock"
    TABLE = "table hours"
    EDGING = "edging metres"
    ORDER = "order of sheets"


@dataclass(frozen=True, slots=True, kw_only=True)
class LateOrder:
    """An order of which panels are cut after their due day.

    Parameters
    ----------
    order
        Its name.
    due
        First due day that is missed.
    day
        Day on which its last late panel is cut.
    panels
        Ids of the late ones, as they come off the table.
    by
        The rule behind the panel that is due first.
    until
        The day on which that rule lets what is due by then be cut; for `LateBy.STOCK` the sheet is here,
        unless `here` says more.
    here
        For `LateBy.STOCK`, where the sheet itself is here in time: the day by which all bought sheets of what
        is due by then are here; the table takes until `until` from there on.
    """

    order: str
    due: date
    day: date
    panels: tuple[str, ...]
    by: LateBy
    until: date
    here: date | None = None


def late_orders(
    sheets: Sequence[DaySheet], days: Sequence[date], start: date, limits: DayLimits
) -> list[LateOrder]:
    """The late orders, the most pressing first.

    Parameters
    ----------
    sheets, days
        In cutting order.
    start
        The first day that counts.
    limits
        Of a day.

    Notes
    -----
    Why: the sheets that hold something due by the missed day are set down alone, first for the table, then with
    the edging line, then with the days on which bought sheets come. The first of these under which the sheet
    still misses the day is the rule; if none is, other sheets were put before it.
    """
    found: dict[str, list[tuple[date, date, str, int]]] = {}
    for place, (sheet, day) in enumerate(zip(sheets, days, strict=True)):
        for panel in sheet.ordered:
            if panel.due is not None and panel.due < day:
                found.setdefault(panel.order, []).append((panel.due, day, panel.id, place))
    why = _Why(sheets, days, start, limits)
    out = []
    for order, rows in found.items():
        due = min(row[0] for row in rows)
        place = max(row[3] for row in rows if row[0] == due)
        by, until, here = why.of(place, due)
        out.append(
            LateOrder(
                order=order,
                due=due,
                day=max(row[1] for row in rows),
                panels=tuple(row[2] for row in rows),
                by=by,
                until=until,
                here=here,
            )
        )
    return sorted(out, key=lambda late: (late.due, late.day, late.order))


class _Why:
    """Tells rules apart; what is due by a day is set down once."""

    def __init__(
        self, sheets: Sequence[DaySheet], days: Sequence[date], start: date, limits: DayLimits
    ) -> None:
        self.sheets, self.days, self.start, self.limits = sheets, days, start, limits
        self._alone: dict[date, list[tuple[LateBy, Mapping[int, date]]]] = {}

    def of(self, place: int, due: date) -> tuple[LateBy, date, date | None]:
        """The rule that keeps the sheet at this place from being cut by a day, until when, and `LateOrder.here`."""
        first = self.limits.first_day(self.start)
        if due < first:
            return LateBy.OVER, first, None
        here = self.sheets[place].not_before
        if here is not None and here > due:
            return LateBy.STOCK, here, None
        for by, days in self._by(due):
            if days[place] > due:
                come = [self.sheets[i].not_before for i in days] if by is LateBy.STOCK else []
                return by, days[place], max((day for day in come if day is not None), default=None)
        return LateBy.ORDER, self.days[place], None

    def _by(self, due: date) -> list[tuple[LateBy, Mapping[int, date]]]:
        if due not in self._alone:
            places = [
                i
                for i, sheet in enumerate(self.sheets)
                if any(panel.due is not None and panel.due <= due for panel in sheet.ordered)
            ]
            alone = [self.sheets[i] for i in places]
            table = DayLimits(self.limits.table)
            self._alone[due] = [
                (by, dict(zip(places, fill_days(self.start, alone, limits, wait=wait), strict=True)))
                for by, limits, wait in (
                    (LateBy.TABLE, table, False),
                    (LateBy.EDGING, self.limits, False),
                    (LateBy.STOCK, self.limits, True),
                )
            ]
        return self._alone[due]
