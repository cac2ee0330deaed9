"""Flaws in the stock store: marked at the table and in the rack, planned on, passed on to offcuts, taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from panewright.io.delivery_list import read_deliveries
from panewright.io.problems import Problems
from panewright.io.record_file import What
from panewright.io.remake_store import stock_in_store
from panewright.io.shop_file import default_shop
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.errors import NotTaken, NotThere
from panewright.io.store.happening import happened_of
from panewright.io.store.items import OFFCUT, SHEET, Item, find_item, receive
from panewright.io.store.ledger import Because, audit
from panewright.io.store.marking import mark_flaws
from panewright.io.store.moving import move_items
from panewright.io.store.offering import offered
from panewright.io.store.receiving import Delivery, NotReceived, list_mark, receive_all
from panewright.io.store.schema import movement
from panewright.io.store.spread import spread_of
from panewright.io.store.tracing import case_of
from panewright.nesting.fits import Sheet, fit
from panewright.nesting.flaw_parts import on_smaller
from panewright.nesting.flaws import Flaw
from panewright.nesting.ledger import Balance
from panewright.nesting.plan_id import plan_id
from panewright.nesting.rules import Rules
from panewright.nesting.stock import StockPiece, Trim
from panewright.nesting.units import mm

AT = datetime(2027, 3, 8, 8, tzinfo=UTC)
BECAUSE = Because(at=AT, who="Ada", why="seen in the light")
SEED = Flaw(mm(900), mm(400), mm(30), mm(20), "seed")
SCRATCH = Flaw(mm(100), mm(700), mm(200), mm(1), "scratch")


def stock(table) -> dict[str, StockPiece]:
    with table.store.reading() as c:
        return {p.name: p for p in offered(c, default_shop(), day=date(2027, 3, 8)).pieces if p.on_hand}


def item(table, name: str) -> Item:
    with table.store.reading() as c:
        return find_item(c, name)


def happened(table, plan):
    with table.store.reading() as c:
        return happened_of(c, plan.id)


def flawed(table, flaw: Flaw | None, **more):
    said = {} if flaw is None else {"flaw": flaw.box, "kind": flaw.kind}
    return table.event(What.SHEET_FLAWED, sheet=more.pop("sheet", 2), **said, **more)


def test_a_sheet_with_a_known_flaw_stays_the_plan_s_under_its_own_number(table) -> None:
    name = f"{table.first.id}.2.f"
    done = table.tell(flawed(table, SEED, id="seed"))
    assert (done.outcomes[0].item, done.stranded, done.to_remake) == (name, [], [table.first.id])
    assert table.balance("C-1") == Balance(2, 1, 0) and table.balance(name) == Balance(1, 1, 0)
    assert table.state(table.first, 2) == "reserved" and item(table, name).flaws == (SEED,)
    table.tell(flawed(table, SCRATCH, id="scratch"))
    told = happened(table, table.first)
    assert told.flaws == {2: (SCRATCH, SEED)} and not told.flawed
    # a remake finds the two sheets of the plan under the name that the plan has for them
    with table.store.reading() as c:
        assert case_of(c, name) == "C-1" and name in {i.name for i in spread_of(c, "C-1").items}
        free = stock_in_store(c, table.first, told, default_shop(), date(2027, 3, 8))
    assert {p.name: p.on_hand for p in free if p.on_hand} == {"clear-10 2000x1000": 4}
    # a plan that has the flaws is not told of them again
    sheet = replace(table.first.layouts[1], flaws=(SCRATCH.box, SEED.box), flaw_kinds=("scratch", "seed"))
    again = replace(
        table.first,
        id="0000-0001",
        layouts=(table.first.layouts[0], sheet),
        extra={"follows": [table.first.id]},
    )
    with table.store.writing() as c:
        assert commit_plan(c, again, BECAUSE).reserved == {1: "C-1", 2: name}
    assert not happened(table, again).flaws
    table.tell(table.event(What.UNDONE, undoes="seed"))
    assert item(table, name).flaws == (SCRATCH,)
    table.tell(table.event(What.UNDONE, undoes="scratch", id="u"))
    assert table.balance("C-1") == Balance(3, 2, 0) and table.balance(name) == Balance()
    table.tell(table.event(What.UNDONE, undoes="u"))
    assert table.balance(name) == Balance(1, 1, 0) and item(table, name).flaws == (SCRATCH,)
    table.tell(table.cut(2), plan=again)
    assert table.balance(name) == Balance() and table.balance("C-1") == Balance(2, 1, 0)
    refused = table.refused(table.event(What.UNDONE, undoes="scratch"))
    assert "is cut up, scrapped or taken" in refused[0]


def test_what_a_plan_lets_go_of_is_offered_with_its_flaws(table) -> None:
    table.tell(flawed(table, SEED))
    with table.store.writing() as c:
        withdraw_plan(c, table.first.id, BECAUSE)
    found = stock(table)
    piece = found[f"{table.first.id}.2.f"]
    assert (piece.flaws, piece.on_hand, piece.buyable, piece.is_offcut) == ((SEED,), 1, False, False)
    assert found["clear-10 2000x1000"].on_hand == 3 and not found["clear-10 2000x1000"].flaws


def test_a_half_cut_sheet_stays_on_the_table(table) -> None:
    offcut = next(x for x in table.first.layouts[0].leaves if x.offcut == table.small)
    x0, y0 = offcut.outline[0]
    spot = Flaw(x0 + mm(10), y0 + mm(20), mm(5), mm(5), "chip")
    done = table.tell(flawed(table, spot, sheet=1, id="s", extra={"begun": True}))
    assert done.changed and done.to_remake == [table.first.id] and done.outcomes[0].item is None
    assert table.balance("C-1") == Balance(3, 2, 0) and table.state(table.first, 1) == "reserved"
    now = happened(table, table.first)
    assert (now.flaws, now.begun) == ({1: (spot,)}, {1})
    # the offcut to come has the flaw, and the plan that is to cut it up is told
    here = (Flaw(mm(10), mm(20), mm(5), mm(5), "chip"),)
    assert item(table, table.small).flaws == here and not item(table, table.big).flaws
    assert happened(table, table.second).flaws == {1: here}
    table.tell(table.cut(1), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small))
    assert item(table, table.small).flaws == here
    assert "cut already" in table.refused(flawed(table, SEED, sheet=1))[0]
    table.tell(table.event(What.UNDONE, undoes="s"))
    assert not item(table, table.small).flaws and not happened(table, table.second).flaws
    # an offcut of it in the rack says that a sheet is in the cutting, where nobody else does
    table.tell(table.event(What.OFFCUT_KEPT, sheet=2, offcut=f"{table.first.id}.2.a"))
    table.tell(flawed(table, SEED))
    assert table.balance("C-1").on_hand == 2 and happened(table, table.first).flaws == {2: (SEED,)}


def test_a_flaw_that_nobody_located_sets_the_sheet_aside(table) -> None:
    name = f"{table.first.id}.2.f"
    assert table.tell(flawed(table, None, id="bad")).stranded == [(table.first.id, 2)]
    assert item(table, name).set_aside and name not in stock(table)
    # a second look finds where it is: the sheet is a piece for any plan now
    table.tell(flawed(table, SEED, id="look"))
    assert item(table, name).flaws == (SEED,) and stock(table)[name].flaws == (SEED,)
    assert happened(table, table.first).flawed and not happened(table, table.first).flaws
    # without the first one the sheet was the plan's all the time
    table.tell(table.event(What.UNDONE, undoes="bad"))
    assert table.state(table.first, 2) == "reserved" and table.balance(name) == Balance(1, 1, 0)
    assert happened(table, table.first).flaws == {2: (SEED,)}
    # no good at all after that
    table.tell(flawed(table, None, id="worse"))
    assert item(table, name).set_aside and table.balance(name) == Balance(1, 0, 0)
    table.tell(table.event(What.UNDONE, undoes="look"), table.event(What.UNDONE, undoes="worse"))
    assert table.balance("C-1") == Balance(3, 2, 0) and table.balance(name) == Balance()


def test_marks_in_the_rack_and_a_second_look(table) -> None:
    with table.store.writing() as c:
        rest = Item(kind=OFFCUT, name="R-1", glass="clear-10", width=mm(900), height=mm(600), since=AT.date())
        receive(c, rest, 1, BECAUSE)
        done = mark_flaws(c, "C-1", [SEED], BECAUSE)
    assert done.item.name == "C-1.f" and done.changed is not None and not done.changed.stranded
    assert table.balance("C-1") == Balance(2, 2, 0)
    one = item(table, "C-1.f")
    assert (one.kind, one.price, one.supplier, one.flaws) == (SHEET, 600_000, "Float Ltd", (SEED,))
    assert stock(table)["C-1.f"].flaws == (SEED,) and stock(table)["clear-10 2000x1000"].on_hand == 1
    with table.store.reading() as c:
        assert case_of(c, "C-1.f") == "C-1" and "C-1.f" in {i.name for i in spread_of(c, "C-1").items}
    point = Flaw(mm(5), mm(5), 0, 0, "stone")
    with table.store.writing() as c:
        assert mark_flaws(c, "R-1", [point, point], BECAUSE).item.flaws == (point,)
        assert mark_flaws(c, "R-1", [SCRATCH], BECAUSE).item.flaws == (point, SCRATCH)
        assert mark_flaws(c, "R-1", [], replace(BECAUSE, why="was dirt"), anew=True).item.flaws == ()
        # a sheet without flaws is one of its size again
        assert not mark_flaws(c, "C-1.f", [], BECAUSE, anew=True).item.flaws
        told = c.execute(select(movement).where(movement.c.kind == "flaws marked")).all()
        assert audit(c) == []
    assert "was dirt (before: 5,5,0,0 stone; 100,700,200,1 scratch)" in [row.why for row in told]
    assert stock(table)["clear-10 2000x1000"].on_hand == 2 and not stock(table)["R-1"].flaws
    # of a case all of which is taken: the plan's sheet comes from another one, or has no glass
    with table.store.writing() as c:
        last = mark_flaws(c, "C-1", [SEED], BECAUSE)
    assert last.changed is not None and [name for *_, name in last.changed.instead] == ["C-2"]
    # an offcut that a plan waits for is not there to be looked at; kept, its plan is to be made again
    with pytest.raises(NotThere), table.store.writing() as c:
        mark_flaws(c, table.small, [SEED], BECAUSE)
    table.tell(table.cut(1), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small))
    with table.store.writing() as c:
        assert mark_flaws(c, table.small, [point], BECAUSE).replan == ((table.second.id, 1),)
    assert happened(table, table.second).flaws == {1: (point,)}


def test_a_plan_takes_what_it_names_and_passes_flaws_on(table) -> None:
    """A flawed sheet, a case that is opened in its turn, and an offcut under which a flaw of the sheet lies."""
    with table.store.writing() as c:
        withdraw_plan(c, table.first.id, BECAUSE)
        mark_flaws(c, "C-1", [SEED], BECAUSE)
        move_items(c, ["C-2"], None, BECAUSE, take=3)
    found = stock(table)
    assert (found["C-2"].take, found["C-2"].on_hand, found["clear-10 2000x1000"].on_hand) == (3, 1, 2)
    one, two = (
        replace(x, leaves=tuple(replace(y, offcut=y.offcut and f"N.{y.offcut}") for y in x.leaves))
        for x in table.first.layouts
    )
    small = f"N.{table.small}"
    x0, y0 = next(x for x in one.leaves if x.offcut == small).outline[0]
    # half of it lies in the offcut
    spot = Flaw(x0 - mm(5), y0 + mm(30), mm(10), mm(4), "rub")
    layouts = (
        replace(one, stock="C-1.f", flaws=(SEED.box,), flaw_kinds=("seed",), spots=(spot,)),
        replace(two, stock="C-2"),
    )
    plan = replace(table.first, id=plan_id(7, layouts), seed=7, layouts=layouts)
    with table.store.writing() as c:
        assert commit_plan(c, plan, BECAUSE).reserved == {1: "C-1.f", 2: "C-2"}
    assert item(table, small).flaws == (Flaw(0, mm(30), mm(5), mm(4), "rub"),)
    assert not {"C-1.f", "C-2"} & stock(table).keys()
    with pytest.raises(NotTaken, match="no sheet of case C-2 is free"), table.store.writing() as c:
        commit_plan(c, replace(plan, id="0000-0002", layouts=(replace(two, stock="C-2"),)), BECAUSE)
    table.tell(table.cut(1), plan=plan)
    short = (mm(895), mm(480))
    table.tell(table.event(What.OFFCUT_KEPT, sheet=1, offcut=small, size=short, id="k"), plan=plan)
    assert item(table, small).flaws == (Flaw(0, mm(30), mm(5), mm(4), "rub"),)
    with table.store.reading() as c:
        assert not audit(c)


def test_a_delivery_list_has_flaws_and_an_order_of_taking(table, tmp_path) -> None:
    path = tmp_path / "came.csv"
    path.write_text(
        "kind,glass,width,height,on hand,case,number,flaws,take\n"
        'sheet,clear-10,3210,2250,1,,A-3,"900,400,30,20 seed; 5,5,0,0",2\n'
        "sheet,clear-10,3210,2250,4,A-4,,,3\n",
        encoding="utf-8",
    )
    problems = Problems()
    came = read_deliveries([path], default_shop(), AT.date(), problems)
    assert not problems.lines()
    with table.store.writing() as c:
        receive_all(c, came.rows, BECAUSE)
    found = stock(table)
    assert [(n, found[n].take, found[n].on_hand, len(found[n].flaws)) for n in ("A-3", "A-4")] == [
        ("A-3", 2, 1, 2), ("A-4", 3, 4, 0),
    ]  # fmt: skip
    for row in (
        "sheet,clear-10,3210,2250,2,,A-5,900 400 30 20,",
        "sheet,clear-10,3210,2250,1,,A-5,3200 400 30 20,",
        "sheet,clear-10,3210,2250,1,,A-5,900 400 30 20 moon,",
        "sheet,clear-10,3210,2250,1,A-5,,,x",
    ):
        path.write_text(f"kind,glass,width,height,on hand,case,number,flaws,take\n{row}\n", encoding="utf-8")
        assert not read_deliveries([path], default_shop(), AT.date(), wrong := Problems()).rows and wrong
    plain = came.rows[1]
    # a list without flaws has the mark that programs before gave it
    bare = Delivery(item=replace(plain.item, take=None), count=4)
    assert list_mark([bare]) != list_mark([plain]) and list_mark([bare]).startswith("received-")
    for other in (bare, plain, replace(came.rows[0], item=replace(came.rows[0].item, flaws=()))):
        row = replace(other, item=replace(other.item, take=9))
        with pytest.raises(NotReceived), table.store.writing() as c:
            receive_all(c, [row], BECAUSE, more=True)


def test_flaws_of_a_short_piece_reach_as_far_as_they_may_lie() -> None:
    flaw = Flaw(mm(100), mm(50), mm(10), mm(10), "seed")
    assert on_smaller([flaw], (mm(900), mm(480)), (mm(900), mm(480))) == (flaw,)
    assert on_smaller([flaw], (mm(900), mm(480)), (mm(880), mm(480))) == (
        Flaw(mm(80), mm(50), mm(30), mm(10), "seed"),
    )
    assert on_smaller([flaw], (mm(900), mm(480)), (mm(95), mm(480))) == (
        Flaw(0, mm(50), mm(95), mm(10), "seed"),
    )


boxes = st.tuples(*[st.integers(0, 9)] * 2, *[st.integers(0, 4)] * 2)


@settings(max_examples=60)
@given(st.integers(1, 9), st.integers(1, 9), st.lists(boxes, min_size=1, max_size=3))
def test_fits_around_flaws_are_those_of_trying_every_place(
    w: int, h: int, flaws: list[tuple[int, ...]]
) -> None:
    """A piece of 10 x 10 units, without any other rule: nothing is found that no place gives."""
    marks = tuple(Flaw(2 * x, 2 * y, 2 * min(a, 10 - x), 2 * min(b, 10 - y)) for x, y, a, b in flaws)
    rules = replace(Rules(), break_out=0, least_offcut=(mm(1), mm(1)))
    found = fit(
        Sheet(width=20, height=20, raw=(), trim=Trim(), flaws=marks), 2 * w, 2 * h, rules, quarter=False
    )
    boxes_ = [
        (
            f.x - (not f.width),
            f.y - (not f.height),
            f.x + f.width + (not f.width),
            f.y + f.height + (not f.height),
        )
        for f in marks
    ]

    def clear(x0: int, y0: int, x1: int, y1: int) -> bool:
        return not any(a < x1 and x0 < c and b < y1 and y0 < d for a, b, c, d in boxes_)

    def uncrossed(x: int, y: int) -> bool:
        sides = [k for k in (x, x + 2 * w) if 0 < k < 20]
        ends = [k for k in (y, y + 2 * h) if 0 < k < 20]
        one = [(k, 0, k, 20) for k in sides] + [(x, k, x + 2 * w, k) for k in ends]
        two = [(0, k, 20, k) for k in ends] + [(k, y, k, y + 2 * h) for k in sides]
        return any(all(clear(*line) for line in lines) for lines in (one, two))

    places = [
        (x, y)
        for x in range(21 - 2 * w)
        for y in range(21 - 2 * h)
        if clear(x, y, x + 2 * w, y + 2 * h) and uncrossed(x, y)
    ]
    if found is not None:
        assert places
    elif len(marks) == 1:
        assert not places
