"""Records in the store: each event once, all or nothing, undone and done again; the ledger adds up throughout."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.event import listen

from panewright.io.record_code import Done, encode
from panewright.io.record_file import Event, Record, What
from panewright.io.store.code_events import events_of_code
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import open_store
from panewright.io.store.errors import NotTaken
from panewright.io.store.happening import after_of, done_of, happened_of
from panewright.io.store.items import Item, find_item, receive
from panewright.io.store.ledger import Because
from panewright.io.store.recording import Told, apply_events, apply_records
from panewright.io.store.schema import movement, plan_sheet
from panewright.nesting.happened import AtStep
from panewright.nesting.ledger import Balance
from panewright.nesting.plan_id import plan_id
from panewright.nesting.units import mm

START = datetime(2027, 3, 8, 9, 0, tzinfo=UTC)
BECAUSE = Because(at=START, who="desk")


def test_a_sheet_cut_leaves_its_case_once_whoever_tells_it(table):
    assert table.balance("C-1") == Balance(3, 2, 0)
    done = table.tell(table.cut(1, id="a", who="Ada"))
    assert done.changed and done.outcomes[0].item == "C-1"
    assert [name for _, _, name in done.unsaid] == sorted([table.big, table.small])
    assert table.balance("C-1") == Balance(2, 1, 0) and table.state(table.first, 1) == "cut"
    table.count = 0
    again = table.tell(table.cut(1, id="a", who="Ada"))
    assert again.known == 1 and not again.outcomes
    other = table.tell(table.cut(1, id="b"))
    assert not other.changed and "already" in other.outcomes[0].notes[0]
    assert table.balance("C-1") == Balance(2, 1, 0)
    reasons = table.refused(table.cut(2, id="a"))
    assert len(reasons) == 1 and "another event of this id" in reasons[0]
    with table.store.reading() as c:
        row = c.execute(select(plan_sheet).where(plan_sheet.c.cut_at.is_not(None))).one()
        moved = c.execute(select(movement).where(movement.c.event == "a")).all()
    assert row.cut_by == "Ada" and [(m.kind, m.who, m.sheet) for m in moved] == [("cut", "Ada", 1)]


def test_everything_wrong_is_named_and_nothing_is_kept(table):
    reasons = table.refused(
        table.cut(1),
        table.cut(7),
        table.event(What.PANEL_BROKEN, sheet=2, panel="K-1/front/1", at_step=AtStep.EDGING),
        table.event(What.PANEL_BROKEN, sheet=1, panel="nobody", at_step=AtStep.EDGING),
        table.event(What.OFFCUT_KEPT, sheet=1, offcut="nothing"),
        table.event(What.OFFCUT_KEPT, sheet=2, offcut=table.big),
        table.event(What.SHEET_FLAWED, sheet=2, flaw=(mm(1990), 0, mm(20), mm(20))),
        table.event(What.UNDONE, undoes="e9", id="e9"),
    )
    assert len(reasons) == 7
    assert "has no sheet 7" in reasons[0] and "is on sheet 1" in reasons[1]
    unknown = table.refused(table.cut(1), plan=replace(table.first, id="ZZZZ-ZZZZ"))
    assert len(unknown) == 1 and "the store has no plan ZZZZ-ZZZZ" in unknown[0]
    waits = table.refused(table.cut(1), plan=table.second)
    assert "not recorded as kept yet" in waits[0] and "record kept" in waits[0]


def test_an_offcut_thrown_strands_what_waits_for_it_and_comes_back(table):
    with table.store.reading() as c:
        assert after_of(c, [table.second.id]) == {(table.second.id, 1): (table.first.id, 1)}
    table.tell(table.cut(1))
    with table.store.reading() as c:
        assert after_of(c, [table.second.id]) == {}, "its maker is cut: it need not be waited for"
    thrown = table.tell(table.event(What.OFFCUT_THROWN, sheet=1, offcut=table.small, id="t"))
    assert thrown.stranded == [(table.second.id, 1)] and thrown.to_remake == [table.second.id]
    with table.store.reading() as c:
        assert happened_of(c, table.second.id).gone == {table.small}
    table.tell(table.event(What.UNDONE, undoes="t"))
    assert table.balance(table.small) == Balance(0, 1, 1) and table.state(table.second, 1) == "reserved"
    # a tape reads the millimetre: half of one less serves as planned, ten millimetres do not
    near = (mm(480), mm("899.5"))
    kept = table.tell(table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small, size=near, id="k"))
    assert not kept.stranded and table.balance(table.small) == Balance(1, 1, 0)
    short = (mm(890), mm(480))
    less = table.tell(table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small, size=short, id="s"))
    assert less.stranded == [(table.second.id, 1)]
    with table.store.reading() as c:
        assert find_item(c, table.small).width == mm(890)
    table.tell(table.event(What.UNDONE, undoes="s"), table.event(What.UNDONE, undoes="k"))
    with table.store.reading() as c:
        found = find_item(c, table.small)
    assert (found.width, found.height) == (mm(900), mm(480)) and found.balance == Balance(0, 1, 1)


def test_an_undoing_is_refused_where_the_glass_is_used(table):
    table.tell(table.cut(1, id="a"), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small, id="k"))
    table.tell(table.cut(1, id="b"), plan=table.second)
    assert table.balance(table.small) == Balance(0, 0, 0)
    for key in ("a", "k"):
        assert "is cut up already" in table.refused(table.event(What.UNDONE, undoes=key))[0]
    assert "cut up already" in table.refused(table.event(What.OFFCUT_THROWN, sheet=1, offcut=table.small))[0]
    table.tell(table.event(What.UNDONE, undoes="b"), plan=table.second)
    done = table.tell(table.event(What.UNDONE, undoes="a"))
    assert f"still recorded as kept: {table.small}" in done.outcomes[0].notes
    assert table.balance("C-1") == Balance(3, 2, 0) and table.balance(table.small) == Balance(1, 1, 0)


def test_a_sheet_that_is_no_good_becomes_a_piece_of_its_own(table):
    done = table.tell(table.event(What.SHEET_FLAWED, sheet=2, note="bubble", id="f"))
    name = f"{table.first.id}.2.f"
    assert done.outcomes[0].item == name and done.stranded == [(table.first.id, 2)]
    assert table.balance("C-1") == Balance(2, 1, 0) and table.balance(name) == Balance(1, 0, 0)
    with table.store.reading() as c:
        piece = find_item(c, name)
        assert piece.set_aside and piece.is_offcut and len(piece.raw) == 4
        happened = happened_of(c, table.first.id)
    assert list(happened.flawed) == [2] and "bubble" in happened.flawed[2] and not happened.flaws
    assert "is without glass" in table.refused(table.cut(2))[0]
    # the sheet is cut from another case after all
    table.tell(table.cut(2, extra={"case": "C-2"}, id="c"))
    assert table.balance("C-2") == Balance(0, 0, 0) and table.state(table.first, 2) == "cut"
    table.tell(table.event(What.UNDONE, undoes="f"))
    assert table.balance("C-1") == Balance(3, 1, 0) and table.balance(name) == Balance(0, 0, 0)
    table.tell(table.event(What.UNDONE, undoes="c"))
    assert table.balance("C-2") == Balance(1, 1, 0), "it is reserved where it was said to be cut from"
    assert "already" in table.refused(table.cut(1), table.event(What.SHEET_FLAWED, sheet=1))[0]


def test_another_case_must_fit_and_have_a_sheet(table):
    with table.store.writing() as c:
        other = Item(
            kind="sheet", name="D-1", glass="clear-10", width=mm(3210), height=mm(2250), since=START.date()
        )
        receive(c, other, 1, BECAUSE)
    for case, words in (("D-1", "holds clear-10 3210x2250"), ("C-9", "knows no C-9")):
        assert words in table.refused(table.cut(1, extra={"case": case}))[0]
    table.tell(table.cut(1, extra={"case": "C-2"}))
    assert table.balance("C-2") == Balance(0, 0, 0) and table.balance("C-1") == Balance(3, 1, 0)
    assert "no sheet of case C-2 is free" in table.refused(table.cut(2, extra={"case": "C-2"}))[0]


def test_a_withdrawn_plan_tells_of_what_is_cut_alone(table):
    table.tell(table.cut(1, id="a"))
    with table.store.writing() as c:
        withdraw_plan(c, table.first.id, BECAUSE)
    assert "is withdrawn" in table.refused(table.cut(2))[0]
    table.tell(table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.EDGING))
    table.tell(table.event(What.UNDONE, undoes="a"))
    assert table.balance("C-1") == Balance(3, 0, 0) and table.state(table.first, 1) == "released"


def test_a_record_of_an_earlier_plan_counts_for_the_one_that_stands(table):
    layouts = (table.first.layouts[0],)
    later = replace(
        table.first, id=plan_id(1, layouts), seed=1, layouts=layouts, panels=table.first.panels[:3],
        extra={"follows": [table.first.id, "0000-0000"]},
    )  # fmt: skip
    table.tell(table.cut(1, id="a"))
    with table.store.writing() as c:
        commit_plan(c, later, BECAUSE)
    broken = table.event(What.PANEL_BROKEN, sheet=1, panel="K-1/back/1", at_step=AtStep.DRILLING)
    done = table.tell(broken)
    assert done.plans == {table.first.id: later.id} and done.to_remake == [later.id]
    assert "has dropped sheet 2" in table.refused(table.cut(2))[0]
    # a plan that the store never had, but that the one in it follows
    kept = table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.big)
    assert table.tell(kept, plan=replace(table.first, id="0000-0000")).changed
    assert table.tell(kept, plan=replace(table.first, id="0000-0000")).known == 1
    with table.store.reading() as c:
        assert happened_of(c, "0000-0000").broken == {"K-1/back/1": AtStep.DRILLING}
        assert done_of(c, [table.first.id, "ZZZZ-ZZZZ"]) == [(table.first.id, 1)]
    table.tell(table.event(What.UNDONE, undoes="a"))
    assert table.state(table.first, 1) == "released" and table.state(later, 1) == "reserved"


def test_a_code_tells_only_what_is_new_and_brings_nothing_back(table):
    at = START + timedelta(hours=3)

    def take(**done):
        with table.store.writing() as c:
            text = encode(table.first, Done(at=at, **done))
            record, notes = events_of_code(c, text, START)
            applied = apply_events(c, record, BECAUSE)
        table.adds_up()
        return applied, notes

    table.tell(table.cut(1, id="a"))
    state = {"broken": {"K-1/front/1": AtStep.EDGING}, "offcuts": {table.big: True, table.small: False}}
    applied, notes = take(sheets=frozenset({1, 2}), **state)
    assert [x.event.what for x in applied.outcomes[:2]] == [What.SHEET_CUT, What.PANEL_BROKEN]
    assert {x.event.what for x in applied.outcomes[2:]} == {What.OFFCUT_KEPT, What.OFFCUT_THROWN}
    assert applied.outcomes[0].event.sheet == 2 and not notes
    for _ in range(2):
        applied, notes = take(sheets=frozenset({1, 2}), **state)
        assert not applied.outcomes and not notes
    table.tell(table.event(What.UNDONE, undoes="a"))
    applied, notes = take(sheets=frozenset({1, 2}), **(state | {"offcuts": {table.big: False}}))
    assert not applied.outcomes and len(notes) == 2
    assert "undone since" in notes[0] and "the store says offcut kept" in notes[1]


def test_records_of_two_tables_come_by_their_times(table):
    """The second table cuts the offcut that the first one kept; its file is read first."""
    first = Record(
        plan=table.first.id,
        events=(table.cut(1), table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small)),
    )
    second = Record(plan=table.second.id, events=(table.cut(1),))
    with table.store.writing() as c:
        done = apply_records(c, [Told(second, "two"), Told(first, "one")], BECAUSE)
    assert len(done.outcomes) == 3 and table.state(table.second, 1) == "cut"
    table.adds_up()


SUBJECTS = 6
steps = st.lists(st.tuples(st.integers(0, SUBJECTS - 1), st.booleans(), st.integers(0, 9)), max_size=14)


@pytest.fixture(scope="module")
def fresh(tmp_path_factory, chained_plans, record_table):
    """A store that every example begins with, and a place for its copies."""
    folder = tmp_path_factory.mktemp("recording")
    path = folder / "fresh.db"
    with open_store(str(path), create=True) as store:
        record_table(store, chained_plans)
    return path


def copied(kind, fresh, plans, name):
    """A table with a copy of the fresh store, of which nothing need be on the disk."""
    path = fresh.with_name(f"{name}.db")
    path.write_bytes(fresh.read_bytes())
    table = kind.__new__(kind)
    (table.first, table.second), table.count = plans, 0
    table.store = open_store(str(path))
    listen(
        table.store.engine, "connect", lambda connection, _: connection.execute("pragma synchronous = off")
    )
    return table


def test_undoings_lead_to_one_state_in_whatever_order_they_come(fresh, chained_plans, record_table):
    """An event, its undoing, the undoing of that: told in all six orders."""
    for order in permutations(range(3)):
        table = copied(record_table, fresh, chained_plans, "order")
        events = [
            table.cut(1, id="a"),
            table.event(What.UNDONE, undoes="a", id="b"),
            table.event(What.UNDONE, undoes="b", id="c"),
        ]
        for k in order:
            table.tell(events[k])
        assert table.state(table.first, 1) == "cut" and table.balance("C-1") == Balance(2, 1, 0)
    ring = table.event(What.UNDONE, undoes="x", id="y"), table.event(What.UNDONE, undoes="y", id="x")
    assert "undoes itself" in table.refused(*ring)[0]


@settings(max_examples=12)
@given(steps=steps, split=st.integers(0, 14))
def test_whatever_is_told_the_ledger_adds_up_and_twice_is_once(
    fresh, chained_plans, record_table, steps, split
):
    """Telling and undoing in any order: all told at once or in two goes, and told again, comes to the same."""
    first, second = chained_plans
    small = second.layouts[0].stock
    big = next(x.offcut for x in first.layouts[0].leaves if x.offcut and x.offcut != small)
    subjects = [
        {"what": What.SHEET_CUT, "sheet": 1},
        {"what": What.SHEET_CUT, "sheet": 2},
        {"what": What.PANEL_BROKEN, "sheet": 1, "panel": "K-1/back/1", "at_step": AtStep.BREAKING},
        {"what": What.OFFCUT_KEPT, "sheet": 1, "offcut": small},
        {"what": What.OFFCUT_THROWN, "sheet": 1, "offcut": small},
        {"what": What.OFFCUT_KEPT, "sheet": 1, "offcut": big},
    ]
    events = []
    for k, (subject, undo, of) in enumerate(steps):
        at = START + timedelta(minutes=k)
        if undo and events:
            target = events[of % len(events)].id
            events.append(Event(id=f"e{k}", at=at, what=What.UNDONE, undoes=target))
        else:
            events.append(Event(id=f"e{k}", at=at, **subjects[subject]))

    def told(name, *goes):
        table = copied(record_table, fresh, chained_plans, name)
        for go in goes:
            with table.store.writing() as c:
                apply_events(c, Record(plan=first.id, events=tuple(go)), BECAUSE)
        table.adds_up()
        with table.store as store, store.reading() as c:
            sheets = c.execute(select(plan_sheet.c.plan, plan_sheet.c.number, plan_sheet.c.state)).all()
            names = ("C-1", small, big)
            return sorted(map(tuple, sheets)), [find_item(c, n).balance for n in names]

    once = told("once", events)
    assert told("twice", events[:split], events, events) == once
    stands = Record(plan=first.id, events=tuple(events)).done()
    sheets, balances = once
    assert {n for plan, n, state in sheets if plan == first.id and state == "cut"} == stands.sheets
    for name, balance in zip((small, big), balances[1:], strict=True):
        kept = stands.offcuts.get(name)
        assert (balance.on_hand, balance.expected) == ((0, 1) if kept is None else (int(kept), 0))


def test_where_a_follower_was_withdrawn_its_cut_sheets_are_not_taken_again(table):
    """Cut under a plan that followed the first one and was withdrawn since: the glass is gone all the same."""

    def follower(seed, layouts, of=table.first):
        return replace(
            table.first, id=plan_id(seed, layouts), seed=seed, layouts=layouts, extra={"follows": [of.id]}
        )

    one, two = table.first.layouts
    more = follower(1, (one, two, replace(two, number=3, leaves=())))
    with table.store.writing() as c:
        commit_plan(c, more, BECAUSE)
    again = follower(2, (one, two))
    with pytest.raises(NotTaken, match=f"{more.id}, which was made from plan"), table.store.writing() as c:
        commit_plan(c, again, BECAUSE)
    table.tell(table.cut(1))
    with table.store.writing() as c:
        withdraw_plan(c, more.id, BECAUSE)
    with pytest.raises(NotTaken, match=f"{more.id}.* is withdrawn"), table.store.writing() as c:
        commit_plan(c, table.first, BECAUSE)
    with table.store.writing() as c:
        assert list(commit_plan(c, again, BECAUSE).reserved) == [2]
    table.adds_up()
    assert table.balance("C-1").on_hand == 2 and table.state(again, 1) == "cut"
    # a sheet that only the withdrawn plan had and that is cut: its number means another sheet in a new plan
    with table.store.writing() as c:
        withdraw_plan(c, again.id, BECAUSE)
        commit_plan(c, replace(more, extra={"follows": [again.id]}, seed=3, id="0000-0003"), BECAUSE)
    table.tell(table.cut(3), plan=replace(more, id="0000-0003"))
    with table.store.writing() as c:
        withdraw_plan(c, "0000-0003", BECAUSE)
    other = follower(4, (one, two, replace(two, number=3)), of=again)
    with pytest.raises(NotTaken, match="sheet 3 of plan 0000-0003 is cut"), table.store.writing() as c:
        commit_plan(c, other, BECAUSE)
    table.adds_up()
