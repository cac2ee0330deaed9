"""Everything that may be done to the store, in any order, against a simple model of a shop; in both databases.

The model is plain arithmetic over cases, offcuts and sheets of plans; it shares nothing with the store but the
rules of the ledger as design and docstrings tell them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import select, text

from panewright.io.bench_store_plans import GLASS, OFFCUT_WIDTH, Wish, made_plan
from panewright.io.bench_store_sound import faults
from panewright.io.record_file import Event, Record, What
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import Store, open_store
from panewright.io.store.errors import NotTaken, NotThere, UnknownName
from panewright.io.store.items import OFFCUT, SHEET, Item, find_item, receive
from panewright.io.store.ledger import Because
from panewright.io.store.moving import OnePiece, adjust_count, move_items, set_count, take_out
from panewright.io.store.recording import NotRecorded, apply_events
from panewright.io.store.schema import item, plan_sheet
from panewright.nesting.plan import Plan
from panewright.nesting.units import mm

START = datetime(2027, 3, 8, 7, tzinfo=UTC)
SIZE = (mm(3210), mm(2250))
KEPT = (OFFCUT_WIDTH, mm(2250))


@dataclass
class Piece:
    """A case, or an offcut, of the model."""

    offcut: bool
    here: int = 0
    coming: bool = False
    place: str = ""


@dataclass
class Sheet:
    """A sheet of a plan of the model."""

    wish: Wish
    state: str
    glass: str | None = None
    makes: str | None = None


@dataclass
class Made:
    """A plan of the model."""

    plan: Plan
    wishes: list[Wish]
    open: bool = True
    sheets: dict[int, Sheet] = field(default_factory=dict)


class Shop(RuleBasedStateMachine):
    """Commands come in any order; after each the store says what the model says."""

    databases: Any

    def __init__(self) -> None:
        super().__init__()
        self.store: Store = open_store(self.databases.empty())
        self.pieces: dict[str, Piece] = {}
        self.plans: list[Made] = []
        self.clock = 0

    def teardown(self) -> None:
        self.store.close()
        self.databases.drop()

    # the model

    def because(self) -> Because:
        self.clock += 1
        return Because(at=START + timedelta(minutes=self.clock), who="desk")

    def users(self, name: str) -> list[Sheet]:
        return [
            s
            for made in self.plans
            for s in made.sheets.values()
            if s.state == "reserved" and s.glass == name
        ]

    def free(self, name: str) -> int:
        piece = self.pieces[name]
        return max(0, piece.here - len(self.users(name)))

    def cases(self) -> list[str]:
        return [name for name, piece in self.pieces.items() if not piece.offcut]

    def offcuts(self) -> list[str]:
        return [name for name, piece in self.pieces.items() if piece.offcut]

    def waiting(self) -> list[Sheet]:
        return [s for made in self.plans for s in made.sheets.values() if s.state == "to buy"]

    def sync(self) -> None:
        """Which case serves a sheet is the store's choice: the model takes it over, and checks it."""
        with self.store.reading() as connection:
            s = plan_sheet.c
            rows = connection.execute(
                select(s.plan, s.number, s.state, item.c.name).outerjoin(item, item.c.id == s.item)
            ).all()
        found = {(row.plan, row.number): row for row in rows}
        known = {(made.plan.id, n): sheet for made in self.plans for n, sheet in made.sheets.items()}
        assert set(found) == set(known)
        for key, sheet in known.items():
            row = found[key]
            assert row.state == sheet.state, key
            if sheet.state in ("reserved", "cut"):
                assert row.name in self.pieces
                assert sheet.wish.offcut in (None, row.name)
                assert self.pieces[row.name].offcut is (sheet.wish.offcut is not None)
                sheet.glass = row.name
            else:
                assert row.name is None
                sheet.glass = None

    def serve(self, count: int) -> int:
        """So many sheets that wait get glass, those due first; the model counts them."""
        waiting = self.waiting()
        order = sorted(
            (made.plan.id, n) for made in self.plans for n, s in made.sheets.items() if s.state == "to buy"
        )
        for name, number in order[:count]:
            next(m for m in self.plans if m.plan.id == name).sheets[number].state = "reserved"
        return min(count, len(waiting))

    def lose(self, name: str, keep: int) -> int:
        """Only so many of an item are left: the sheets cut last lose it, others of their size serve them."""
        owners = sorted(
            (
                (made.plan.id, n)
                for made in self.plans
                for n, s in made.sheets.items()
                if s.state == "reserved" and s.glass == name
            ),
            reverse=True,
        )
        lost = owners[: max(0, len(owners) - keep)]
        for plan, number in lost:
            next(m for m in self.plans if m.plan.id == plan).sheets[number].state = "without glass"
        return len(lost)

    def not_made(self, name: str) -> None:
        self.lose(name, 0)
        self.pieces[name].coming = False

    # what may happen

    @rule(count=st.integers(1, 4))
    def a_new_case_comes(self, count: int) -> None:
        name = f"C-{len(self.pieces)}"
        with self.store.writing() as connection:
            case = Item(kind=SHEET, name=name, glass=GLASS, width=SIZE[0], height=SIZE[1], since=START.date())
            served = receive(connection, case, count, self.because())
        self.pieces[name] = Piece(offcut=False, here=count)
        assert len(served) == self.serve(count)
        self.sync()

    @precondition(lambda self: self.cases())
    @rule(data=st.data(), count=st.integers(1, 3))
    def more_of_a_case_comes(self, data: st.DataObject, count: int) -> None:
        name = data.draw(st.sampled_from(self.cases()))
        with self.store.writing() as connection:
            served = receive(connection, find_item(connection, name), count, self.because())
        self.pieces[name].here += count
        assert len(served) == self.serve(self.free(name))
        self.sync()

    @rule()
    def an_offcut_comes(self) -> None:
        name = f"X-{len(self.pieces)}"
        with self.store.writing() as connection:
            piece = Item(
                kind=OFFCUT, name=name, glass=GLASS, width=KEPT[0], height=KEPT[1], since=START.date()
            )
            assert receive(connection, piece, 1, self.because()) == []
        self.pieces[name] = Piece(offcut=True, here=1)

    def _commit(self, made: Made, before: Made | None) -> None:
        """Commit a plan that cuts other sheets than the one before; both must agree whether it can be had."""
        goes = list(before.sheets.values()) if before is not None else []
        back = [s.glass for s in goes if s.state == "reserved" and s.glass is not None]
        gone = {s.makes for s in goes if s.makes is not None}
        free = sum(self.free(name) for name in self.cases())
        free += sum(not self.pieces[name].offcut for name in back)
        own = [w.offcut for w in made.wishes if w.offcut is not None]
        missing = [
            name
            for k, name in enumerate(own)
            if name in own[:k]
            or name in gone
            or not (self.pieces[name].here or self.pieces[name].coming)
            or (self.users(name) and name not in back)
        ]
        must = sum(w.offcut is None and not w.buy for w in made.wishes)
        try:
            with self.store.writing() as connection:
                taken = commit_plan(connection, made.plan, self.because())
        except NotTaken as error:
            assert missing or must > free
            assert error.reasons and all(error.reasons)
            self.sync()
            return
        assert not missing and must <= free and not taken.again
        for s in goes:
            s.state, s.glass = "released", None
        for name in sorted(gone):
            if self.pieces[name].coming:
                self.not_made(name)
        if before is not None:
            before.open = False
        # what is in the rack goes to the sheets planned from it first
        for n, wish in sorted(enumerate(made.wishes, 1), key=lambda one: (one[1].buy, one[0])):
            kept = next((x.offcut for x in made.plan.layouts[n - 1].leaves if x.offcut), None)
            state = "reserved" if wish.offcut is not None else "to buy"
            if wish.offcut is None and free > 0:
                state, free = "reserved", free - 1
            made.sheets[n] = Sheet(wish, state, makes=kept)
            if kept is not None:
                self.pieces[kept] = Piece(offcut=True, coming=True)
        self.plans.append(made)
        self.sync()
        assert sorted(taken.reserved) == sorted(n for n, s in made.sheets.items() if s.state == "reserved")
        assert sorted(taken.to_buy) == sorted(n for n, s in made.sheets.items() if s.state == "to buy")

    @rule(wishes=st.lists(st.tuples(st.booleans(), st.booleans(), st.integers(0, 9)), min_size=1, max_size=3))
    def a_plan_takes_its_glass(self, wishes: list[tuple[bool, bool, int]]) -> None:
        self._commit(self._made(wishes), None)

    def _made(self, wishes: list[tuple[bool, bool, int]]) -> Made:
        names = self.offcuts()
        out = []
        for keeps, buy, pick in wishes:
            if names and pick < 3:
                out.append(
                    Wish(width=KEPT[0], height=KEPT[1], offcut=names[(pick + self.clock) % len(names)])
                )
            else:
                out.append(Wish(width=SIZE[0], height=SIZE[1], keeps=keeps, buy=buy))
        return Made(made_plan(f"K-{self.clock}", out), out)

    @precondition(lambda self: any(made.open for made in self.plans))
    @rule(data=st.data())
    def the_same_plan_again_changes_nothing(self, data: st.DataObject) -> None:
        made = data.draw(st.sampled_from([m for m in self.plans if m.open]))
        with self.store.writing() as connection:
            taken = commit_plan(connection, made.plan, self.because())
        assert taken.again
        self.sync()

    @precondition(lambda self: any(made.open for made in self.plans))
    @rule(
        data=st.data(),
        wishes=st.lists(st.tuples(st.booleans(), st.booleans(), st.integers(0, 9)), min_size=1, max_size=1),
    )
    def another_plan_stands_in_its_place(
        self, data: st.DataObject, wishes: list[tuple[bool, bool, int]]
    ) -> None:
        """A plan of which nothing is cut is made anew in all its sheets."""
        before = data.draw(st.sampled_from([m for m in self.plans if m.open]))
        (fresh,) = self._made(wishes).wishes
        if any(s.state == "cut" for s in before.sheets.values()) or fresh.stock == before.wishes[0].stock:
            return
        plan = made_plan(f"F-{self.clock}", [fresh], follows=[before.plan.id])
        self._commit(Made(plan, [fresh]), before)

    @precondition(lambda self: self.plans)
    @rule(data=st.data())
    def a_plan_is_withdrawn(self, data: st.DataObject) -> None:
        made = data.draw(st.sampled_from(self.plans))
        try:
            with self.store.writing() as connection:
                withdraw_plan(connection, made.plan.id, self.because())
        except UnknownName:
            assert not made.open
            return
        assert made.open
        made.open = False
        for s in made.sheets.values():
            if s.state != "cut":
                s.state, s.glass = "released", None
        for s in made.sheets.values():
            if s.makes and s.state != "cut" and self.pieces[s.makes].coming:
                self.not_made(s.makes)
        self.sync()

    @precondition(
        lambda self: any(s.state == "reserved" for made in self.plans for s in made.sheets.values())
    )
    @rule(data=st.data(), kept=st.sampled_from([True, False, None]))
    def a_sheet_is_cut(self, data: st.DataObject, kept: bool | None) -> None:
        made, number = data.draw(
            st.sampled_from(
                [(m, n) for m in self.plans for n, s in m.sheets.items() if s.state == "reserved"]
            )
        )
        sheet = made.sheets[number]
        assert sheet.glass is not None
        at = START + timedelta(minutes=self.clock)
        events = [Event(id=f"e{self.clock}", at=at, what=What.SHEET_CUT, sheet=number)]
        if sheet.makes is not None and kept is not None:
            what = What.OFFCUT_KEPT if kept else What.OFFCUT_THROWN
            events.append(Event(id=f"o{self.clock}", at=at, what=what, sheet=number, offcut=sheet.makes))
        record = Record(plan=made.plan.id, events=tuple(events))
        because = self.because()
        try:
            with self.store.writing() as connection:
                apply_events(connection, record, because)
        except NotRecorded:
            assert not self.pieces[sheet.glass].here, "only what is not there yet cannot be cut"
            self.sync()
            return
        with self.store.writing() as connection:
            assert apply_events(connection, record, because).known == len(events)
        sheet.state = "cut"
        self.pieces[sheet.glass].here -= 1
        if len(events) == 2 and sheet.makes is not None:
            if kept:
                self.pieces[sheet.makes].here, self.pieces[sheet.makes].coming = 1, False
            else:
                self.not_made(sheet.makes)
        self.sync()

    @precondition(lambda self: self.pieces)
    @rule(data=st.data(), count=st.integers(1, 3), broken=st.booleans())
    def pieces_are_thrown_away(self, data: st.DataObject, count: int, broken: bool) -> None:
        name = data.draw(st.sampled_from(list(self.pieces)))
        piece = self.pieces[name]
        try:
            with self.store.writing() as connection:
                take_out(connection, name, count, self.because(), broken=broken)
        except NotThere:
            assert count > piece.here
            return
        self._now_there(name, piece.here - count)

    @precondition(lambda self: self.pieces)
    @rule(data=st.data(), counted=st.integers(0, 5), by_difference=st.booleans())
    def pieces_are_counted(self, data: st.DataObject, counted: int, by_difference: bool) -> None:
        name = data.draw(st.sampled_from(list(self.pieces)))
        piece = self.pieces[name]
        try:
            with self.store.writing() as connection:
                if by_difference:
                    adjust_count(connection, name, counted - piece.here, self.because())
                else:
                    set_count(connection, find_item(connection, name), counted, self.because())
        except OnePiece:
            assert piece.offcut and counted + piece.coming > 1
            return
        self._now_there(name, counted)

    def _now_there(self, name: str, count: int) -> None:
        piece = self.pieces[name]
        grown = count > piece.here
        piece.here = count
        lost = self.lose(name, count + piece.coming)
        if not piece.offcut:
            others = sum(self.free(other) for other in self.cases() if other != name)
            stranded = sorted(
                (made.plan.id, n)
                for made in self.plans
                for n, s in made.sheets.items()
                if s.state == "without glass" and s.glass == name
            )
            for plan, number in stranded[: min(others, lost)]:
                next(m for m in self.plans if m.plan.id == plan).sheets[number].state = "reserved"
            if grown:
                self.serve(self.free(name))
        self.sync()

    @precondition(lambda self: self.pieces)
    @rule(data=st.data())
    def an_item_is_moved(self, data: st.DataObject) -> None:
        name = data.draw(st.sampled_from(list(self.pieces)))
        place = f"A{self.clock}"
        with self.store.writing() as connection:
            move_items(connection, [name], place, self.because())
        self.pieces[name].place = place

    @invariant()
    def the_store_says_what_the_model_says(self) -> None:
        with self.store.reading() as connection:
            assert faults(connection) == []
            rows = connection.execute(select(item)).all()
            never_less = connection.execute(
                text("select count(*) from item where reserved > on_hand + expected")
            ).scalar()
        assert never_less == 0
        assert {row.name for row in rows} == set(self.pieces)
        for row in rows:
            piece = self.pieces[row.name]
            assert (row.on_hand, row.reserved, row.expected) == (
                piece.here,
                len(self.users(row.name)),
                int(piece.coming),
            ), row.name
            assert row.place == piece.place


def test_everything_in_any_order(databases) -> None:
    machine = type("Shop", (Shop,), {"databases": databases})
    # a failure is told as it was found: shrinking it takes minutes
    few = settings(
        max_examples=8, stateful_step_count=20, phases=[Phase.generate], report_multiple_bugs=False
    )
    run_state_machine_as_test(machine, settings=few)
