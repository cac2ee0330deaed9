"""What comes into the racks, is counted, moved, thrown away and looked up, in both databases."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest
from sqlalchemy import Connection, text

from panewright.io.shop_file import default_shop
from panewright.io.store.commit import commit_plan
from panewright.io.store.counting import differences, post_counts
from panewright.io.store.engine import Store
from panewright.io.store.errors import NotThere, UnknownName
from panewright.io.store.history import Moved, movements
from panewright.io.store.items import OFFCUT, SHEET, Item, find_item
from panewright.io.store.ledger import Because, audit
from panewright.io.store.moving import (
    Correction,
    OnePiece,
    adjust_count,
    correct,
    move_items,
    take_out,
)
from panewright.io.store.offcut_uses import Demand, usable_offcuts, would_do
from panewright.io.store.offering import offered
from panewright.io.store.plan_lists import committed_plans
from panewright.io.store.rack import by_size, in_racks, sheets_to_buy
from panewright.io.store.receiving import Delivery, NotReceived, Received, list_mark, receive_all
from panewright.io.store.uncut import uncut_panels
from panewright.io.store.valuing import Basis, Prices
from panewright.nesting.flaws import Flaw
from panewright.nesting.ledger import Balance, Move, SheetState
from panewright.nesting.plan import Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.shop import StockSize
from panewright.nesting.stock import ALL_SIDES, Side
from panewright.nesting.units import mm

DAY = date(2027, 3, 1)
AT = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)
SHOP = replace(
    default_shop(),
    offcut_days=100,
    stock_sizes=(
        StockSize(glass="clear-10", width=mm(3000), height=mm(2000), price=1_200_000),
        StockSize(glass="clear-6", width=mm(2000), height=mm(1000), price=200_000),
    ),
)
INJECTED = "x'); drop table movement; --"


def case(
    name: str = "", *, width: int = 2000, height: int = 1000, glass: str = "clear-10", **more: object
) -> Item:
    fields = {"kind": SHEET, "since": DAY, "price": 614_000, "place": "A1", **more}
    return Item(name=name, glass=glass, width=mm(width), height=mm(height), **fields)


def offcut(
    name: str, *, width: int = 900, height: int = 600, glass: str = "clear-10", **more: object
) -> Item:
    fields = {"kind": OFFCUT, "since": DAY, "raw": (), **more}
    return Item(name=name, glass=glass, width=mm(width), height=mm(height), **fields)


class Rack:
    """Calls the functions of a store, each in a transaction of its own, as the commands do."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.hours = 0

    def because(self, why: str = "") -> Because:
        self.hours += 1
        return Because(at=AT + timedelta(hours=self.hours), who="Ada", why=why)

    @contextmanager
    def change(self) -> Iterator[Connection]:
        with self.store.writing() as connection:
            yield connection

    def look(self, function: Callable, *args: object, **more: object):
        with self.store.reading() as connection:
            return function(connection, *args, **more)

    def get(self, *new: Item, count: int = 1, **more: object) -> list[Received]:
        rows = [Delivery(item=i, count=1 if i.is_offcut else count) for i in new]
        with self.change() as connection:
            return receive_all(connection, rows, self.because(), **more)

    def do(self, function: Callable, *args: object, why: str = "", **more: object):
        with self.change() as connection:
            return function(connection, *args, self.because(why), **more)

    def take(self, plan: Plan):
        return self.do(commit_plan, plan)

    def item(self, name: str) -> Item:
        return self.look(find_item, name)

    def movements(self, **more: object) -> list[Moved]:
        return self.look(movements, **more)

    def states(self, plan: Plan) -> dict[SheetState, int]:
        return self.look(committed_plans)[0].sheets if plan else {}


@pytest.fixture
def rack(store: Store) -> Iterator[Rack]:
    made = Rack(store)
    yield made
    assert made.look(audit) == []


@pytest.fixture
def plan(hand_plan: Plan) -> Plan:
    """Three sheets 2000 x 1000 mm of clear-10 from the rack, each with two offcuts; nothing to buy."""
    return _sheets(hand_plan, 3)


def _sheets(plan: Plan, count: int, *, buy: bool = False) -> Plan:
    one = plan.layouts[0]
    panels, layouts = [], []
    for n in range(1, count + 1):
        leaves = []
        for leaf in one.leaves:
            if leaf.panel is not None:
                panel = replace(plan.panel(leaf.panel), id=f"{leaf.panel}{n}")
                panels.append(panel)
                leaf = replace(leaf, panel=panel.id)
            elif leaf.offcut is not None:
                leaf = replace(leaf, offcut=f"{leaf.offcut}{n}")
            leaves.append(leaf)
        layouts.append(replace(one, number=n, leaves=tuple(leaves), buy=buy))
    return replace(plan, id=plan_id(0, layouts), layouts=tuple(layouts), panels=tuple(panels))


# ---------------------------------------------------------------- receiving


def test_a_case_comes_with_everything_that_is_known_of_it(rack: Rack) -> None:
    new = case("C-7", supplier="Float & Co", note="wet", measured=mm("9.8"))
    (done,) = rack.get(new, count=12)
    assert (done.item.name, done.count, done.is_new, done.served) == ("C-7", 12, True, ())
    found = rack.item("C-7")
    assert replace(found, key=0, balance=Balance()) == new
    assert found.balance == Balance(on_hand=12)
    (m,) = rack.movements()
    assert (m.kind, m.change, m.who, m.name) == (Move.RECEIVED, Balance(on_hand=12), "Ada", "C-7")
    assert m.at == AT + timedelta(hours=1)


def test_cases_without_a_number_get_one_counting_up(rack: Rack) -> None:
    assert [r.item.name for r in rack.get(case(), case())] == ["C-0001", "C-0002"]
    rack.get(case("C-0004"), case("C-odd"), case("c-0009"))
    assert [r.item.name for r in rack.get(case(), case("C-0006"), case())] == ["C-0005", "C-0006", "C-0007"]


def test_a_known_case_is_refused_unless_more_is_said(rack: Rack) -> None:
    rack.get(case("C-7"), offcut("R-1"), count=2)
    with pytest.raises(NotReceived) as caught:
        rack.get(case("C-8"), case("C-7"), offcut("R-1"))
    assert [(r.index, r.column, r.value) for r in caught.value.refusals] == [
        (1, "case", "C-7"),
        (2, "number", "R-1"),
    ]
    # nothing of the delivery came
    with pytest.raises(UnknownName):
        rack.item("C-8")
    (again,) = rack.get(case("C-7"), count=3, more=True)
    assert not again.is_new
    assert rack.item("C-7").balance == Balance(on_hand=5)


def test_a_known_number_never_holds_other_glass(rack: Rack) -> None:
    rack.get(case("C-7"))
    for other, column in (
        (case("C-7", width=2100), "case"),
        (case("C-7", glass="clear-12"), "case"),
        (case("C-7", price=1), "price"),
        (case("C-7", price=None), "price"),
        (offcut("C-7"), "number"),
    ):
        with pytest.raises(NotReceived) as caught:
            rack.get(other, more=True)
        assert [r.column for r in caught.value.refusals] == [column]


def test_an_offcut_of_a_plan_is_not_received_but_recorded(rack: Rack, plan: Plan) -> None:
    rack.get(case(), count=3)
    rack.take(plan)
    name = next(leaf.offcut for leaf in plan.layouts[0].leaves if leaf.offcut)
    with pytest.raises(NotReceived, match="record"):
        rack.get(offcut(name))


def test_the_same_list_is_known_again_however_it_is_written(rack: Rack) -> None:
    rows = [Delivery(item=case(), count=4), Delivery(item=offcut("R-1"))]
    mark = list_mark(rows)
    with rack.change() as connection:
        receive_all(connection, rows, rack.because(), marks=[mark, mark])
    later = [replace(row, item=replace(row.item, since=DAY + timedelta(days=1))) for row in rows]
    assert list_mark(later) == mark
    assert list_mark(rows[:1]) != mark
    with rack.change() as connection, pytest.raises(NotReceived) as caught:
        receive_all(connection, later, rack.because(), marks=[mark, mark])
    assert [r.column for r in caught.value.refusals] == [""]
    with rack.change() as connection:
        receive_all(connection, later[:1], rack.because(), marks=[mark], more=True)
    assert sum(i.balance.on_hand for i in rack.look(in_racks, kind=SHEET)) == 8


def test_plans_that_wait_get_their_glass(rack: Rack, hand_plan: Plan) -> None:
    waiting = _sheets(hand_plan, 3, buy=True)
    assert rack.take(waiting).to_buy == (1, 2, 3)
    assert rack.look(sheets_to_buy) == {("clear-10", mm(2000), mm(1000)): 3}
    (done,) = rack.get(case(), count=2)
    assert done.served == ((waiting.id, 1), (waiting.id, 2))
    assert rack.look(sheets_to_buy) == {("clear-10", mm(2000), mm(1000)): 1}
    # a piece that is found at a count serves them too
    with rack.change() as connection:
        found = differences(connection, {"C-0001": 3}, Prices(SHOP, [], DAY))
        assert [d.pieces for d in found] == [1]
        (changed,) = post_counts(connection, found, rack.because())
    assert changed.served == ((waiting.id, 3),)


# ---------------------------------------------------------------- lists and values


def test_the_racks_by_glass_kind_and_place(rack: Rack) -> None:
    rack.get(
        case("a", glass="clear-10", place="A1"),
        case("b", glass="clear-6", place="a2"),
        case("c", glass="low-iron-10", place="A1%"),
        offcut("d", glass="clear-10", place="A_"),
    )

    def names(**wish: str) -> str:
        return "".join(i.name for i in rack.look(in_racks, **wish))

    assert names() == "abcd"
    assert names(glass="clear-10") == "ad"
    assert names(glass="Clear") == "abd"
    assert names(glass="low") == ""
    assert names(glass="Low Iron") == "c"
    assert names(kind=SHEET) == "abc"
    # a place is a text: neither a pattern nor without regard to case
    assert names(place="A") == "acd"
    assert names(place="A1%") == "c"
    assert names(place="A_") == "d"
    assert names(place="a") == "b"
    assert names(glass="clear", kind=OFFCUT, place="A") == "d"


def test_sizes_add_up_their_cases(rack: Rack, plan: Plan) -> None:
    rack.get(case(), case(), count=2)
    rack.get(case(width=3000), count=1)
    rack.take(plan)
    rows = by_size(rack.look(in_racks), rack.look(sheets_to_buy))
    assert [(r.name, r.cases, r.on_hand, r.reserved, r.free, r.to_buy) for r in rows] == [
        ("clear-10 2000x1000", 2, 4, 3, 1, 0),
        ("clear-10 3000x1000", 1, 1, 0, 1, 0),
    ]
    expected = [i for i in rack.look(in_racks, kind=OFFCUT) if i.balance.expected]
    assert len(expected) == 6


def test_values_by_what_was_paid_by_the_shop_file_and_by_age(rack: Rack) -> None:
    rack.get(
        case("paid", price=614_001),
        case("listed", width=3000, height=2000, price=None),
        case("area", width=1000, height=1000, price=None),
        case("none", glass="clear-8", price=None),
        offcut("new"),
        offcut("old", since=DAY - timedelta(days=25)),
        offcut("gone", since=DAY - timedelta(days=100)),
        offcut("odd", glass="clear-8"),
        count=2,
    )
    prices = Prices(SHOP, rack.look(in_racks), DAY)
    found = {v.item.name: (v.value.each, v.value.basis, v.total) for v in prices.valued(rack.look(in_racks))}
    # 120.00 for 6 m2 is 20.00 a m2; an offcut is worth half of that, less 1/100 a day
    assert found["paid"] == (614_001, Basis.PAID, 1_228_002)
    assert found["listed"] == (1_200_000, Basis.LISTED, 2_400_000)
    assert found["area"] == (200_000, Basis.AREA, 400_000)
    assert found["none"] == (0, Basis.UNKNOWN, 0)
    assert found["new"][:2] == (54_000, Basis.AGED)
    assert found["old"][0] == 40_500
    assert found["gone"][0] == 0
    assert found["odd"][1] is Basis.UNKNOWN


def test_an_offcut_is_worth_what_the_planner_takes_it_for(rack: Rack) -> None:
    # a size that the shop file lacks, and that is cheaper a m2, counts for both
    rack.get(case(price=100_000), offcut("R-1", since=DAY - timedelta(days=33)), offcut("R-2", width=777))
    day = DAY + timedelta(days=4)
    prices = Prices(SHOP, rack.look(in_racks), day)
    for piece in rack.look(offered, SHOP, day=day).pieces:
        if piece.is_offcut:
            assert prices.of(rack.item(piece.name)).each == piece.cost
    assert prices.per_area("clear-10") == Fraction(100_000, mm(2000) * mm(1000))


# ---------------------------------------------------------------- counting


def test_a_count_without_difference_proves_that_it_was_counted(rack: Rack) -> None:
    rack.get(case("C-1"), offcut("R-1"), count=4)
    with rack.change() as connection:
        found = differences(connection, {"R-1": 1, "C-1": 3}, Prices(SHOP, [], DAY))
        assert [(d.item.name, d.pieces, d.area2, d.worth) for d in found] == [
            ("R-1", 0, 0, 0),
            ("C-1", -1, -2 * mm(2000) * mm(1000), -614_000),
        ]
        post_counts(connection, found, rack.because("stock-taking"))
    last = rack.movements(most=2)
    assert [(m.kind, m.name, m.change.on_hand, m.why) for m in last] == [
        (Move.COUNTED, "R-1", 0, "stock-taking"),
        (Move.COUNTED, "C-1", -1, "stock-taking"),
    ]
    assert rack.item("C-1").balance.on_hand == 3


def test_an_offcut_that_was_gone_can_be_found_again(rack: Rack) -> None:
    rack.get(offcut("R-1"))
    rack.do(take_out, "R-1", None)
    assert rack.item("R-1").balance.on_hand == 0
    with rack.change() as connection:
        post_counts(connection, differences(connection, {"R-1": 1}, Prices(SHOP, [], DAY)), rack.because())
    assert rack.item("R-1").balance.on_hand == 1


def test_an_offcut_is_one_piece_and_not_counted_before_it_is_cut(rack: Rack, plan: Plan) -> None:
    rack.get(case(), offcut("R-1"), count=3)
    rack.take(plan)
    name = next(leaf.offcut for leaf in plan.layouts[0].leaves if leaf.offcut)
    for count in ({"R-1": 2}, {name: 1}):
        with rack.change() as connection, pytest.raises(OnePiece):
            differences(connection, count, Prices(SHOP, [], DAY))
    with pytest.raises(OnePiece):
        rack.do(adjust_count, "R-1", 1)
    assert rack.look(differences, {name: 0}, Prices(SHOP, [], DAY))[0].pieces == 0
    with pytest.raises(UnknownName, match="R-1"):
        rack.look(differences, {"R-2": 1}, Prices(SHOP, [], DAY))


def test_a_count_below_what_is_reserved_strands_the_sheets_cut_last(rack: Rack, plan: Plan) -> None:
    rack.get(case("C-1"), count=3)
    rack.take(plan)
    with rack.change() as connection:
        found = differences(connection, {"C-1": 1}, Prices(SHOP, [], DAY))
        assert [d.lost for d in found] == [2]
        (changed,) = post_counts(connection, found, rack.because())
    assert changed.stranded == ((plan.id, 3), (plan.id, 2))
    assert rack.states(plan) == {SheetState.RESERVED: 1, SheetState.WITHOUT_GLASS: 2}
    assert rack.item("C-1").balance == Balance(on_hand=1, reserved=1)
    kinds = [m.kind for m in rack.movements(most=3)]
    assert kinds == [Move.RELEASED, Move.RELEASED, Move.COUNTED]


def test_what_a_case_has_lost_is_taken_from_others_of_its_size(rack: Rack, plan: Plan) -> None:
    rack.get(case("C-1"), count=3)
    rack.take(plan)
    flaw = (Flaw(0, 0, mm(10), mm(10)),)
    rack.get(case("C-2"), case("flawed", flaws=flaw), case("other", width=1900), count=1)
    changed = rack.do(take_out, "C-1", 2, why="fell over", broken=True)
    # sheets 2 and 3 lose theirs; the one that is cut sooner has the one sheet that is left
    assert changed.instead == ((plan.id, 2, "C-2"),)
    assert changed.stranded == ((plan.id, 3),)
    assert rack.states(plan) == {SheetState.RESERVED: 2, SheetState.WITHOUT_GLASS: 1}
    assert rack.item("C-2").balance == Balance(on_hand=1, reserved=1)


# ---------------------------------------------------------------- moving, scrapping, correcting


def test_pieces_move_all_or_none(rack: Rack) -> None:
    rack.get(case("C-1"), offcut("R-1"))
    with pytest.raises(UnknownName):
        rack.do(move_items, ["C-1", "nothing"], "B 2")
    assert rack.item("C-1").place == "A1"
    before = rack.do(move_items, ["C-1", "R-1", "C-1"], "B 2")
    assert [one.place for one in before] == ["A1", ""]
    assert [(m.kind, m.name, m.place, m.change) for m in rack.movements(most=2)] == [
        (Move.MOVED, "C-1", "B 2", Balance()),
        (Move.MOVED, "R-1", "B 2", Balance()),
    ]


def test_no_more_is_thrown_away_than_there_is(rack: Rack) -> None:
    rack.get(case("C-1"), count=2)
    for count in (3, 0, -1):
        with pytest.raises(NotThere):
            rack.do(take_out, "C-1", count)
    assert rack.do(take_out, "C-1", 2, why="scratched").on_hand == 0
    (last,) = rack.movements(most=1)
    assert (last.kind, last.change, last.why) == (Move.SCRAPPED, Balance(on_hand=-2), "scratched")
    with pytest.raises(NotThere):
        rack.do(adjust_count, "C-1", -1)
    assert rack.do(adjust_count, "C-1", 1).on_hand == 1


def test_a_correction_keeps_what_was_said_before(rack: Rack) -> None:
    rack.get(case("C-1", supplier="Float & Co"))
    rack.do(correct, "C-1", Correction(price=590_000, note="second choice"), why="invoice 12")
    found = rack.item("C-1")
    assert (found.price, found.note, found.supplier) == (590_000, "second choice", "Float & Co")
    (last,) = rack.movements(most=1)
    assert last.kind is Move.ADJUSTED
    assert last.why == "invoice 12 (before: price: 61.40, note: -)"


# ---------------------------------------------------------------- history, uses


def test_history_by_item_plan_and_period(rack: Rack, plan: Plan) -> None:
    rack.get(case("C-1"), count=3)
    rack.get(case("C-2"), count=1)
    rack.take(plan)
    key = rack.item("C-1").key
    assert [m.kind for m in rack.movements(key=key)] == [Move.RECEIVED] + 3 * [Move.RESERVED]
    mine = rack.movements(plan=plan.id)
    assert {m.kind for m in mine} == {Move.RESERVED, Move.EXPECTED} and len(mine) == 9
    assert [
        m.name for m in rack.movements(since=AT + timedelta(hours=2), before=AT + timedelta(hours=3))
    ] == ["C-2"]
    everything = rack.movements()
    assert [m.key for m in everything] == sorted(m.key for m in everything)
    assert rack.movements(most=2) == everything[-2:]
    assert rack.movements(plan="none") == []


def test_what_an_offcut_is_good_for(rack: Rack, plan: Plan) -> None:
    rack.get(case("C-1"), count=3)
    rack.get(
        offcut("R-1", width=800, height=700),
        offcut("R-2", width=300, height=200),
        offcut("R-3", width=800, height=700, raw=ALL_SIDES),
    )
    rack.take(plan)
    wanted = rack.look(uncut_panels)
    assert len(wanted) == 9 and {w.sheet for w in wanted} == {1, 2, 3}
    uses = Demand(wanted, SHOP).uses_of(rack.item("R-1"))
    # cut sizes 700 x 500, 500 x 700 and 600 x 400 mm, three of each
    assert [(u.wanted[0].panel.name, len(u.wanted)) for u in uses] == [
        ("back", 3),
        ("front", 3),
        ("left side", 3),
    ]
    assert [(u.width, u.height) for u in uses] == [
        (mm(500), mm(700)),
        (mm(700), mm(500)),
        (mm(600), mm(400)),
    ]
    assert uses[0].fit.left == ((mm(300), mm(700)),)
    assert Demand(wanted, SHOP).uses_of(rack.item("R-2")) == []
    tied = [replace(w, panel=replace(w.panel, from_stock="R-9")) for w in wanted]
    assert Demand(tied, SHOP).uses_of(rack.item("R-1")) == []
    # all sides raw: 755 x 655 mm are left of it, so that 700 x 500 still comes out
    assert [u.wanted[0].panel.name for u in Demand(wanted, SHOP).uses_of(rack.item("R-3"))][:1] == ["back"]


def test_the_least_worth_offcut_that_would_do_comes_first(rack: Rack) -> None:
    rack.get(
        offcut("large", width=1500, height=900),
        offcut("small", width=700, height=500),
        offcut("aged", width=1500, height=900, since=DAY - timedelta(days=90)),
        offcut("thin", width=1500, height=390),
        offcut("other", width=1500, height=900, glass="clear-6"),
        offcut("raw", width=700, height=500, raw=(Side.LEFT, Side.BOTTOM)),
    )
    items = rack.look(in_racks)
    offcuts = usable_offcuts(items, SHOP)
    found = would_do(offcuts, "clear-10", mm(650), mm(450), SHOP, Prices(SHOP, items, DAY))
    assert [d.item.name for d in found] == ["aged", "raw", "small", "large"]
    assert [d.worth for d in found] == sorted(d.worth for d in found)


# ---------------------------------------------------------------- names that bite


def test_sql_in_names_is_a_name(rack: Rack) -> None:
    new = case(INJECTED, place=INJECTED, supplier=INJECTED, note=INJECTED)
    rack.get(new, offcut("%"), offcut("_"))
    rack.do(move_items, [INJECTED, "%"], "' or 1=1 --", why=INJECTED)
    rack.do(take_out, INJECTED, 1, why=INJECTED)
    assert rack.item(INJECTED).place == "' or 1=1 --"
    assert [i.name for i in rack.look(in_racks, place="' or 1=1")] == ["%"]
    assert rack.look(in_racks, glass="x' or '1'='1") == []
    assert rack.movements(plan=INJECTED) == []
    with rack.store.reading() as connection:
        assert connection.execute(text("select count(*) from movement")).scalar() == 6
