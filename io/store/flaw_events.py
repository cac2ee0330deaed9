"""A sheet has a flaw, or is no good or short; and none of that after all.

Where it is said where a flaw lies, the sheet stays that of its plan, and what of it is not cut yet is to be planned
around the flaw: out of a case it becomes a piece of its own; in the cutting already, it stays on the table. Where
nobody said where, or the sheet is short, the plan has lost it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from sqlalchemy import Connection, select, update

from panewright.io.record_file import Event, What
from panewright.io.record_making import BEGUN
from panewright.io.store.events import MOST_NAME, Refused, told
from panewright.io.store.items import OFFCUT, Item, add_item, flaws_text, item_of, take
from panewright.io.store.ledger import Because, Movement, micros, post
from panewright.io.store.offcut_flaws import pass_on
from panewright.io.store.outcomes import Outcome
from panewright.io.store.schema import item, movement
from panewright.io.store.sheet_events import glass_of, must_be_open
from panewright.io.store.subjects import PlanNow, SheetNow, set_sheet, sheet_now
from panewright.nesting.flaws import Flaw
from panewright.nesting.ledger import Balance, Move, SheetState
from panewright.nesting.text import tr
from panewright.nesting.units import show_size

MOST_TIMES: Final = 2
"""A sheet of more than this times the planned width or height is mistyped."""


def flawed(connection: Connection, event: Event, plan: PlanNow, because: Because) -> Outcome:
    """A sheet cannot be cut as planned."""
    sheet = sheet_now(connection, plan, event.sheet or 0)
    tale = _Tale(connection, plan, sheet.number, event)
    if sheet.state is SheetState.WITHOUT_GLASS and len(tale.standing) > 1:
        piece = tale.piece(sheet)
        if piece is not None and tale.mark(piece):
            post(connection, [Movement(Move.MARKED, piece.key, Balance(), because)])
            return Outcome(event=event, plan=plan.id, changed=True, item=piece.name)
        note = tr("sheet {number} is recorded as flawed already", number=sheet.number)
        return Outcome(event=event, plan=plan.id, changed=False, notes=(note,))
    if sheet.state is SheetState.CUT:
        raise Refused(
            tr("sheet {number} is cut already", number=sheet.number),
            tr("record the panels that are no good as broken (`panewright record broken`)"),
        )
    must_be_open(plan)
    held = glass_of(sheet)
    size = _real_size(sheet, event)
    lying = _lying_offcut(connection, sheet)
    if event.located is None:
        if lying is not None:
            raise Refused(
                tr("offcut {name} of sheet {number} is in the rack already", name=lying, number=sheet.number),
                tr(
                    "undo the record of that offcut first, or record the sheet as cut and its panels as broken"
                ),
            )
        return _lost(tale, event, sheet, held, size, because)
    name = None
    if held.is_one_piece or lying is not None or event.extra.get(BEGUN) is True:
        post(connection, [Movement(Move.MARKED, held.key, Balance(), because)])
        if held.is_one_piece:
            tale.mark(held)
    else:
        name = _out_of_case(tale, sheet, held, because)
    pass_on(connection, plan, sheet.number, tale.standing, tale.every)
    return Outcome(event=event, plan=plan.id, changed=True, item=name, replan=True)


def _out_of_case(tale: _Tale, sheet: SheetNow, held: Item, because: Because) -> str:
    """The sheet leaves its case for a number of its own, under which the plan has it on; that number."""
    connection = tale.connection
    post(connection, [Movement(Move.ADJUSTED, held.key, Balance(on_hand=-1, reserved=-1), because)])
    piece = tale.own_item(sheet, held, (sheet.width, sheet.height), because)
    post(connection, [Movement(Move.ADJUSTED, piece.key, Balance(on_hand=1, reserved=1), because)])
    set_sheet(connection, sheet, SheetState.RESERVED, piece.key)
    return piece.name


def _lost(
    tale: _Tale, event: Event, sheet: SheetNow, held: Item, size: tuple[int, int], because: Because
) -> Outcome:
    """The plan has the sheet no longer: it is a free piece, or set aside."""
    connection = tale.connection
    set_sheet(connection, sheet, SheetState.WITHOUT_GLASS, None)
    if held.key in {one.key for one in tale.pieces()}:
        post(connection, [Movement(Move.ADJUSTED, held.key, Balance(reserved=-1), because)])
        connection.execute(update(item).where(item.c.id == held.key).values(kind=OFFCUT))
        _resize(connection, held, size)
        piece = held
        tale.mark(held)
    else:
        post(connection, [Movement(Move.ADJUSTED, held.key, Balance(on_hand=-1, reserved=-1), because)])
        piece = tale.own_item(sheet, replace(held, kind=OFFCUT, price=None), size, because)
        post(connection, [Movement(Move.ADJUSTED, piece.key, Balance(on_hand=1), because)])
    key = (sheet.plan.id, sheet.number)
    return Outcome(event=event, plan=sheet.plan.id, changed=True, item=piece.name, stranded=(key,))


def sound(connection: Connection, event: Event, plan: PlanNow, because: Because) -> bool:
    """A sheet has not this flaw after all: a piece without any goes back into its case. Whether that changed it."""
    number = event.sheet or 0
    tale = _Tale(connection, plan, number, event, stands=False)
    try:
        sheet = sheet_now(connection, plan, number)
    except Refused:
        # the plan that stands now has dropped it
        sheet = None
    piece = tale.piece(sheet) or next(iter(tale.pieces()[-1:]), None)
    if piece is None:
        held = None if sheet is None else sheet.item
        if held is None:
            return False
        post(connection, [Movement(Move.MARKED, held.key, Balance(), because)])
        if held.is_one_piece:
            tale.mark(held)
    else:
        _piece_is_sound(tale, event, sheet, piece, because)
    if sheet is not None:
        pass_on(connection, plan, number, tale.standing, tale.every)
    return True


def _piece_is_sound(tale: _Tale, event: Event, sheet: SheetNow | None, piece: Item, because: Because) -> None:
    connection = tale.connection
    mine = sheet is not None and sheet.item is not None and sheet.item.key == piece.key
    if not piece.balance.on_hand or (piece.balance.reserved and not mine):
        raise Refused(
            tr("{name}, which the sheet became, is cut up, scrapped or taken by a plan", name=piece.name),
            tr("withdraw that plan or undo its record first"),
        )
    waits = sheet is not None and sheet.plan.is_open and sheet.state is SheetState.WITHOUT_GLASS
    if tale.standing:
        if event.size is not None and sheet is not None:
            _resize(connection, piece, tale.standing[-1].size or (sheet.width, sheet.height))
        post(connection, [Movement(Move.MARKED, piece.key, Balance(), because)])
        tale.mark(piece)
        if sheet is not None and waits and all(one.located is not None for one in tale.standing):
            take(connection, sheet.plan.id, sheet.number, piece.key, because)
        return
    case = tale.case_of(piece)
    change = Balance(on_hand=1, reserved=int(mine))
    moves = [
        Movement(Move.ADJUSTED, piece.key, -change, because),
        Movement(Move.ADJUSTED, case, change, because),
    ]
    post(connection, moves)
    if sheet is not None and mine:
        set_sheet(connection, sheet, SheetState.RESERVED, case)
    elif sheet is not None and waits:
        take(connection, sheet.plan.id, sheet.number, case, because)


class _Tale:
    """All that was told of the flaws of a sheet.

    Parameters
    ----------
    connection, plan, number
        The sheet.
    event
        The event that is being done or undone; it need not be in the store yet.
    stands
        Whether it is done.
    """

    def __init__(
        self, connection: Connection, plan: PlanNow, number: int, event: Event, *, stands: bool = True
    ) -> None:
        self.connection = connection
        found = {
            stand: [
                x.event
                for x in told(
                    connection, plan.line, [What.SHEET_FLAWED], sheet=number, but=event.id, stands=stand
                )
            ]
            for stand in (True, False)
        }
        found[stands].append(event)
        self.standing = sorted(found[True], key=lambda e: (micros(e.at), e.id))
        self.every = [*found[True], *found[False]]

    def pieces(self) -> list[Item]:
        """The pieces of their own that the sheet became, the last one last."""
        m = movement.c
        query = (
            select(item)
            .join(movement, m.item == item.c.id)
            .where(m.event.in_([e.id for e in self.every]), m.kind == Move.ADJUSTED.value, m.on_hand > 0)
            .order_by(m.id)
        )
        return [item_of(row) for row in self.connection.execute(query)]

    def piece(self, sheet: SheetNow | None) -> Item | None:
        """The piece that the sheet is now: the plan's, or the one that the plan has lost."""
        found = self.pieces()
        if sheet is not None and sheet.item is not None:
            mine = next((one for one in found if one.key == sheet.item.key), None)
            if mine is not None or sheet.state is SheetState.RESERVED:
                return mine
        return next((one for one in reversed(found) if one.balance.on_hand), None)

    def flaws(self, size: tuple[int, int], before: Sequence[Flaw]) -> tuple[Flaw, ...]:
        """The flaws of a piece of this size: what it had, without what was taken back, and what stands."""
        ever = {Flaw(*e.flaw, e.kind) for e in self.every if e.flaw is not None} | {Flaw(0, 0, *size)}
        out = {f for f in before if f not in ever}
        out |= {Flaw(*e.flaw, e.kind) for e in self.standing if e.flaw is not None}
        last = self.standing[-1] if self.standing else None
        if last is not None and last.flaw is None and last.size is None:
            # nothing said but that it is no good: nobody is to plan on any of it
            out.add(Flaw(0, 0, *size))
        return tuple(sorted(out))

    def mark(self, piece: Item) -> bool:
        """Give a piece its flaws; whether they are others than before."""
        now = item_of(self.connection.execute(select(item).where(item.c.id == piece.key)).one())
        flaws = self.flaws((now.width, now.height), now.flaws)
        if flaws != now.flaws:
            self.connection.execute(
                update(item).where(item.c.id == piece.key).values(flaws=flaws_text(flaws))
            )
        return flaws != now.flaws

    def own_item(self, sheet: SheetNow, held: Item, size: tuple[int, int], because: Because) -> Item:
        """The piece that the sheet becomes; the same one where what was undone stands again."""
        again = self._put_back()
        if again is not None:
            _resize(self.connection, again, size)
            self.mark(again)
            return again
        new = taken_out(
            held,
            free_name(self.connection, f"{sheet.name}.f"),
            because,
            width=size[0],
            height=size[1],
            flaws=self.flaws(size, held.flaws),
        )
        add_item(self.connection, new)
        return item_of(self.connection.execute(select(item).where(item.c.name == new.name)).one())

    def _put_back(self) -> Item | None:
        """The piece that went back into its case when all events were undone."""
        m = movement.c
        for piece in self.pieces()[-1:]:
            query = select(m.kind).where(m.item == piece.key, m.on_hand != 0).order_by(m.id.desc())
            last = self.connection.execute(query.limit(1)).scalar()
            if not piece.balance.on_hand and last == Move.ADJUSTED.value:
                return piece
        return None

    def case_of(self, piece: Item) -> int:
        """Row id of what the piece was taken from."""
        m = movement.c
        ids = [e.id for e in self.every]
        made = (
            select(m.event)
            .where(m.item == piece.key, m.event.in_(ids), m.kind == Move.ADJUSTED.value, m.on_hand > 0)
            .order_by(m.id.desc())
            .limit(1)
        )
        query = select(m.item).where(
            m.event == self.connection.execute(made).scalar_one(),
            m.kind == Move.ADJUSTED.value,
            m.on_hand < 0,
        )
        return int(self.connection.execute(query.order_by(m.id.desc())).scalars().first() or 0)


def taken_out(case: Item, name: str, because: Because, **more: Any) -> Item:
    """A sheet out of a case as an item of its own, not there yet."""
    return replace(
        case,
        key=0,
        name=name,
        note=because.why,
        since=because.at.date() if case.is_offcut else case.since,
        made_by=None,
        take=None,
        balance=Balance(),
        **more,
    )


def free_name(connection: Connection, stem: str) -> str:
    """A number of an item that none bears: the stem, or the stem and a count."""
    stem = stem[:MOST_NAME]
    taken = set(
        connection.execute(select(item.c.name).where(item.c.name.startswith(stem, autoescape=True))).scalars()
    )
    return next(n for n in (stem, *(f"{stem}{k}" for k in range(2, len(taken) + 3))) if n not in taken)


def _resize(connection: Connection, piece: Item, size: tuple[int, int]) -> None:
    if size != (piece.width, piece.height):
        connection.execute(update(item).where(item.c.id == piece.key).values(width=size[0], height=size[1]))


def _lying_offcut(connection: Connection, sheet: SheetNow) -> str | None:
    """An offcut of the sheet that is in the rack: so it is in the cutting."""
    c = item.c
    return connection.execute(
        select(c.name)
        .where(c.made_plan.in_(list(sheet.plan.line)), c.made_sheet == sheet.number, c.on_hand > 0)
        .order_by(c.id)
    ).scalar()


def _real_size(sheet: SheetNow, event: Event) -> tuple[int, int]:
    width, height = event.size or (sheet.width, sheet.height)
    if width > MOST_TIMES * sheet.width or height > MOST_TIMES * sheet.height:
        raise Refused(
            tr(
                "a sheet of {size} is hardly the one that the plan takes ({planned})",
                size=show_size(width, height),
                planned=show_size(sheet.width, sheet.height),
            ),
            tr("give width and height as the sheet lies in the drawing"),
        )
    if event.flaw is not None:
        x, y, w, h = event.flaw
        if x + w > width or y + h > height:
            raise Refused(
                tr(
                    "the flaw does not lie on a sheet of {size}",
                    size=show_size(width, height),
                ),
                tr("give x and y from the lower left corner, then width and height"),
            )
    return width, height
