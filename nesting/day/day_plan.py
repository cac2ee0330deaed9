"""The plan of a day: what is cut today in which order, where it waits, what comes after, what is late."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ..errors import NestingError
from ..plan import Plan
from ..shop import Shop
from ..text import tr
from .filling import DayLimits
from .lateness import LateOrder, late_orders
from .ordering import Ordered, SheetsToOrder, arranged, best_order
from .orders import DayOrder, orders_of
from .precedence import makers_of, refuse_rings, taken_before
from .racks import rack_places
from .sheets import DaySheet, SheetKey, sheets_of
from .standing import Standing, open_counts, spans


class NoSuchSheet(NestingError, LookupError):
    """A sheet that is said to be cut and that no plan has."""

    def __init__(self, plan: str, number: int) -> None:
        self.plan, self.number = plan, number
        super().__init__(plan, number)

    def __str__(self) -> str:
        return tr("plan {plan} has no sheet {number}", plan=self.plan[:20], number=self.number)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DatedSheet:
    """A sheet with its day.

    Parameters
    ----------
    sheet, day
        The sheet and the day on which it is cut.
    opened, closed
        Orders of which it holds the first panel, and the last.
    open_orders
        Orders that are open while it is cut.
    """

    sheet: DaySheet
    day: date
    opened: tuple[str, ...]
    closed: tuple[str, ...]
    open_orders: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DayTotal:
    """What is set down for one day.

    Parameters
    ----------
    day
        The day.
    sheets
        Cut on it, in order.
    late
        Orders of which a late panel is cut on it.
    """

    day: date
    sheets: tuple[DatedSheet, ...]
    late: tuple[str, ...]

    @property
    def seconds(self) -> int:
        """Time at the table. [s]"""
        return sum(one.sheet.load.seconds for one in self.sheets)

    @property
    def edging(self) -> int:
        """Edges for the edging line. [nm]"""
        return sum(one.sheet.edging for one in self.sheets)

    @property
    def grams(self) -> int:
        """Mass of its sheets. [g]"""
        return sum(one.sheet.grams for one in self.sheets)

    @property
    def panels(self) -> int:
        """Panels that come off them."""
        return sum(len(one.sheet.panels) for one in self.sheets)

    @property
    def most_open(self) -> int:
        """Most orders that are open at once."""
        return max(one.open_orders for one in self.sheets)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DayPlan:
    """Everything that is to be known in the morning.

    Parameters
    ----------
    asked, on
        The day asked for, and the first working day from it on.
    plans
        That are cut.
    done
        Sheets that are cut already, in the order in which they were.
    sheets
        All others, in cutting order.
    orders
        All orders, in the order in which their first panel is cut.
    late
        The late ones, the most pressing first.
    filed
        How the sheets stand when they are cut in the order of the plans.
    ordered
        How they stand in this order, and the bound on the orders open at once.
    limits
        Of a day.
    bought
        The day on which the sheets to buy were ordered.
    """

    asked: date
    on: date
    plans: tuple[Plan, ...]
    done: tuple[DaySheet, ...]
    sheets: tuple[DatedSheet, ...]
    orders: tuple[DayOrder, ...]
    late: tuple[LateOrder, ...]
    filed: Standing
    ordered: Ordered
    limits: DayLimits
    bought: date

    @property
    def today(self) -> tuple[DatedSheet, ...]:
        """The sheets that are cut on the day, in order."""
        return tuple(one for one in self.sheets if one.day == self.on)

    @property
    def days(self) -> list[DayTotal]:
        """The days on which something is cut, from this one on."""
        out = []
        for day in dict.fromkeys(one.day for one in self.sheets):
            mine = tuple(one for one in self.sheets if one.day == day)
            here = {panel.id for one in mine for panel in one.sheet.panels}
            late = tuple(late.order for late in self.late if here & set(late.panels))
            out.append(DayTotal(day=day, sheets=mine, late=late))
        return out

    @property
    def places(self) -> dict[str, str | None]:
        """The place on the racks by order; None where all were taken."""
        return {order.name: order.place for order in self.orders}

    @property
    def waiting(self) -> list[DaySheet]:
        """Sheets to be cut from an offcut of a sheet that is in none of the plans and not cut."""
        return [one.sheet for one in self.sheets if one.sheet.waits_for is not None]

    @property
    def unplaced(self) -> int:
        """Ordered panels that are on no sheet."""
        return sum(len(plan.unplaced) for plan in self.plans)


def plan_day(
    plans: Sequence[Plan],
    shop: Shop,
    on: date,
    *,
    done: Sequence[SheetKey] = (),
    bought: date | None = None,
    makers: Mapping[str, Mapping[int, SheetKey]] | None = None,
) -> DayPlan:
    """Order the sheets of some plans, give each a day, and find what waits where and what is late.

    Parameters
    ----------
    plans
        Plans that the checker has passed; nothing in them changes.
    shop
        What the table and the edging line do on a day, and the racks.
    on
        The day; where it is no working day, the next one that is.
    done
        Plan id and number of the sheets that are cut already, in the order in which they were.
    bought
        The day on which the sheets to buy were ordered; default: `on`.
    makers
        Plan id -> sheet number -> plan and sheet that leave the offcut which it is cut from and which is not there
        yet. Of a plan that is not in it, the plan file says so.

    Raises
    ------
    SamePanelTwice
        Where an ordered panel is on sheets of two plans.
    NoSuchSheet
        Where `done` names a sheet that no plan has.
    OffcutsInARing
        Where sheets wait for offcuts of each other.
    """
    filed = sheets_of(plans, shop, bought=bought or on)
    by_key = {sheet.key: sheet for sheet in filed}
    for key in done:
        if key not in by_key:
            raise NoSuchSheet(*key)
    cut = tuple(by_key[key] for key in dict.fromkeys(done))
    cut_keys = {sheet.key for sheet in cut}
    first = makers_of(plans, makers)
    left = tuple(
        _after(sheet, first.get(sheet.key), by_key, cut_keys) for sheet in filed if sheet.key not in cut_keys
    )
    left = _in_their_order(plans, left)
    refuse_rings(left)
    still = {order for sheet in left for order in sheet.orders}
    limits = DayLimits(shop.cutting_days, shop.racks.edging_metres)
    given = SheetsToOrder(
        sheets=left,
        opened=frozenset(order for sheet in cut for order in sheet.orders if order in still),
        start=on,
        limits=limits,
    )
    ordered = best_order(given)
    sequence = [left[i] for i in ordered.order]
    dated = _dated(sequence, ordered.days, given.opened)
    late = late_orders(sequence, ordered.days, on, limits)
    places = rack_places([*cut, *sequence], shop.racks)
    coming = list(zip(sequence, ordered.days, strict=True))
    return DayPlan(
        asked=on,
        on=limits.first_day(on),
        plans=tuple(plans),
        done=cut,
        sheets=tuple(dated),
        orders=tuple(orders_of(plans, cut, coming, places, late)),
        late=tuple(late),
        filed=arranged(given, range(len(left))).standing,
        ordered=ordered,
        limits=limits,
        bought=bought or on,
    )


def _after(
    sheet: DaySheet, maker: SheetKey | None, known: Collection[SheetKey], cut: Collection[SheetKey]
) -> DaySheet:
    """The sheet, knowing which one comes before it."""
    if maker is None or maker in cut:
        return sheet
    return replace(sheet, after=maker) if maker in known else replace(sheet, waits_for=maker)


def _in_their_order(plans: Sequence[Plan], left: Sequence[DaySheet]) -> tuple[DaySheet, ...]:
    """The sheets, knowing which of their plan come first for their racks or by their numbers."""
    before = {
        plan.id: taken_before(plan, {sheet.layout.number for sheet in left if sheet.plan.id == plan.id})
        for plan in plans
    }
    return tuple(
        replace(sheet, behind=tuple((sheet.plan.id, n) for n in found))
        if (found := before[sheet.plan.id].get(sheet.layout.number))
        else sheet
        for sheet in left
    )


def _dated(sheets: Sequence[DaySheet], days: Sequence[date], opened: Collection[str]) -> list[DatedSheet]:
    when, counts = spans(sheets, opened), open_counts(sheets, opened)
    return [
        DatedSheet(
            sheet=sheet,
            day=day,
            opened=tuple(o for o in sheet.orders if when[o][0] == place and o not in opened),
            closed=tuple(o for o in sheet.orders if when[o][1] == place),
            open_orders=count,
        )
        for place, (sheet, day, count) in enumerate(zip(sheets, days, counts, strict=True))
    ]
