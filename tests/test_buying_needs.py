"""Needs of open orders: real plans of small weeks, and sheets held against stock and deliveries by hand."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.shop_file import default_shop
from panewright.nesting.buying.lead_time import Receiving
from panewright.nesting.buying.needs import open_needs
from panewright.nesting.buying.needs_plan import NeededSheet, PlannedNeeds, plan_needs
from panewright.nesting.buying.settings import Arriving, PriceStep, StockNow, Supply
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.demand.weeks import week_of
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.stock import ALL_SIDES, StockPiece
from panewright.nesting.units import mm

MONDAY = date(2027, 3, 8)
NAME = "clear-10 3210x2250"
RECEIVING = Receiving(today=MONDAY, calendar=CuttingDays())


def supply(lead: int = 7, case: int = 1) -> Supply:
    """Terms of an invented size."""
    price = (PriceStep(sheets=1, price=1_400_000),)
    return Supply(
        name=NAME, glass="clear-10", width=mm(3210), height=mm(2250), prices=price, lead_days=lead, case=case
    )


def sheet(after: int, *orders: tuple[str, int], stock: str = NAME, offcut: bool = False) -> NeededSheet:
    """A sheet that is to be cut so many days after today; orders with their due days in the same way."""
    day = MONDAY + timedelta(days=after)
    return NeededSheet(
        week=max(week_of(MONDAY), week_of(day)),
        day=day,
        glass="clear-10",
        stock=stock,
        is_offcut=offcut,
        due={name: MONDAY + timedelta(days=n) for name, n in orders} or {f"N-{after}": day},
        cut=4,
        area=5,
        cost=1_400_000,
    )


def arriving(after: int, sheets: int) -> Arriving:
    """Sheets promised so many days after today."""
    return Arriving(name=NAME, sheets=sheets, day=MONDAY + timedelta(days=after))


def test_a_shortage_bites_on_its_day_and_hits_its_orders() -> None:
    planned = PlannedNeeds(
        sheets=(
            sheet(1),
            sheet(2, ("A", 2), ("B", 9)),
            sheet(3, ("C", 3)),
            sheet(11, ("D", 11)),
        )
    )
    found = open_needs(planned, StockNow(on_hand={NAME: 1}), [supply(case=2)], RECEIVING)
    (short,) = found.shortages
    assert short.day == MONDAY + timedelta(days=2)
    assert (short.sheets, short.to_buy) == (3, 3)
    # the next look's order would be here in two weeks: too late for all three; two cases of two
    assert (short.now, short.buy) == (3, 4)
    assert short.arrival == MONDAY + timedelta(days=7)
    late, waiting = ([h.order for h in hit] for hit in (short.late, short.waiting))
    assert (late, waiting) == (["A", "C"], ["B", "D"])
    assert [h.days_late for h in short.hit] == [5, 4, 0, 0]
    assert found.missing == {NAME: tuple(MONDAY + timedelta(days=n) for n in (2, 3, 11))}


def test_what_is_on_order_covers_by_its_day_and_the_rest_can_be_ordered_later() -> None:
    planned = PlannedNeeds(sheets=tuple(sheet(n) for n in (0, 2, 4, 21)))
    found = open_needs(
        planned, StockNow(on_hand={NAME: 1}, arriving=(arriving(3, 2),)), [supply()], RECEIVING
    )
    (short,) = found.shortages
    # the second sheet comes a day late, the third in time, the fourth must be bought, but not yet
    assert (short.sheets, short.to_buy, short.now, short.buy) == (2, 1, 0, 0)
    assert short.day == MONDAY + timedelta(days=2)
    assert [(h.order, h.days_late) for h in short.hit] == [("N-2", 1), ("N-21", 0)]
    assert [week.there for week in found.weeks] == [2, 0]


def test_sheets_whose_orders_can_wait_are_named() -> None:
    planned = PlannedNeeds(sheets=(sheet(1), sheet(8, ("L", 8), ("M", 12))))
    found = open_needs(planned, StockNow(on_hand={NAME: 2}), [supply()], RECEIVING)
    assert found.shortages == ()
    (free,) = found.waiting
    assert (free.stock, free.sheets, free.there) == (NAME, 1, MONDAY + timedelta(days=7))
    assert list(free.orders) == ["L", "M"]


def test_a_size_that_nobody_sells_is_short_for_good() -> None:
    planned = PlannedNeeds(sheets=(sheet(3, ("A", 3)),))
    (short,) = open_needs(planned, StockNow(), [], RECEIVING).shortages
    assert (short.now, short.buy, short.arrival) == (1, 0, None)
    assert [(h.days_late, h.can_wait) for h in short.hit] == [(None, False)]


def test_overdue_orders_and_deliveries_count_now_and_stock_below_zero_is_owed() -> None:
    planned = PlannedNeeds(sheets=(sheet(-4, ("OLD", -4)),))
    overdue = StockNow(on_hand={NAME: -1}, arriving=(arriving(-3, 2),))
    (short,) = open_needs(planned, overdue, [supply()], RECEIVING).shortages
    # one of the two pays what an earlier plan is owed; both are taken to come tomorrow
    assert short.day == MONDAY
    assert (short.sheets, short.to_buy) == (1, 0)
    assert [h.there for h in short.hit] == [MONDAY + timedelta(days=1)]


@given(
    days=st.lists(st.integers(-5, 40), max_size=12),
    hand=st.integers(-3, 10),
    coming=st.lists(st.tuples(st.integers(-5, 40), st.integers(1, 5)), max_size=3),
    lead=st.integers(1, 30),
    case=st.integers(1, 6),
)
@settings(max_examples=80, derandomize=True)
def test_missing_sheets_add_up(
    days: list[int], hand: int, coming: list[tuple[int, int]], lead: int, case: int
) -> None:
    planned = PlannedNeeds(sheets=tuple(sheet(n) for n in sorted(days)))
    stock = StockNow(on_hand={NAME: hand}, arriving=tuple(arriving(d, n) for d, n in coming))
    found = open_needs(planned, stock, [supply(lead, case)], RECEIVING)
    assert sum(w.sheets for w in found.weeks) == len(days)
    missing = sum(s.sheets for s in found.shortages)
    assert sum(w.there for w in found.weeks) == len(days) - missing
    for short in found.shortages:
        have = hand + sum(n for _, n in coming)
        assert short.to_buy == max(0, len(days) - max(0, have))
        assert short.now <= short.to_buy <= short.sheets
        assert short.buy >= short.now
        assert short.buy % case == 0
        assert not set(short.late) & set(short.waiting)
        assert len(short.hit) == len(short.late) + len(short.waiting)


def panel(name: str, width: int, height: int, due: date | None = None) -> Panel:
    """A rectangle of 10 mm glass, as cut. [mm]"""
    outline = rectangle(mm(width), mm(height))
    return Panel(
        id=f"{name}/a",
        order=name,
        name="a",
        glass="clear-10",
        thickness=mm(10),
        finished=outline,
        cut=outline,
        edges=(),
        due=due,
    )


def order(name: str, after: int, *panels: Panel) -> BookedOrder:
    """An open order due so many days after today."""
    return BookedOrder(
        order=name, product="test", booked=MONDAY, due=MONDAY + timedelta(days=after), panels=panels
    )


def test_real_plans_of_two_weeks_take_the_offcut_once() -> None:
    shop = default_shop()
    stock = StockPiece(
        name=NAME,
        glass="clear-10",
        width=mm(3210),
        height=mm(2250),
        trim=shop.trim("clear-10"),
        cost=1_400_000,
        buyable=True,
    )
    offcut = StockPiece(
        name="R-1",
        glass="clear-10",
        width=mm(900),
        height=mm(700),
        is_offcut=True,
        raw=(),
        cost=100_000,
        on_hand=1,
    )
    assert stock.raw == ALL_SIDES
    orders = [
        order("SMALL", 1, panel("SMALL", 850, 650)),
        # two of these need two sheets: neither side lets both lie on one
        order("WIDE", 9, panel("WIDE", 3000, 1500)),
        order("ALSO", 10, panel("ALSO", 2900, 1400)),
        order("LAST", 16, panel("LAST", 850, 650)),
        order("HUGE", 2, panel("HUGE", 4000, 3000)),
    ]
    found = plan_needs(orders, [stock], shop, today=MONDAY, offcuts=[offcut], effort=3)
    assert [u.panel for u in found.unplaced] == ["HUGE/a"]
    taken = [(s.week - week_of(MONDAY), s.stock, s.is_offcut, list(s.due)) for s in found.sheets]
    assert taken[0] == (0, "R-1", True, ["SMALL"])
    assert sorted(taken[1:3]) == [(1, NAME, False, ["ALSO"]), (1, NAME, False, ["WIDE"])]
    assert taken[3] == (2, NAME, False, ["LAST"])
    assert [s.day for s in found.sheets] == [MONDAY + timedelta(days=n) for n in (1, 9, 10, 16)]
    assert found.sheets[0].cut == mm(850) * mm(650)
    assert found.sheets[1].area == mm(3210) * mm(2250)
    # an executor changes nothing, nor does another order of the list
    again = plan_needs(orders[::-1], [stock], shop, today=MONDAY, offcuts=[offcut], effort=3)
    assert again.sheets == found.sheets
