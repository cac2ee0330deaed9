"""Deliveries: cases and offcuts come into the racks, all of them or, if one is refused, none."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from sqlalchemy import Connection, select

from panewright.io.store.items import Item, add_items, flaws_text, known_items, serve_waiting
from panewright.io.store.ledger import Because, Movement, post, time_of
from panewright.io.store.rack import sheets_to_buy
from panewright.io.store.schema import item, movement
from panewright.nesting.errors import NestingError
from panewright.nesting.ledger import Balance, Move
from panewright.nesting.text import tr
from panewright.nesting.units import show_money

MADE_UP: Final = "C-{number:04d}"
"""Numbers of cases that came without one."""
_MADE_UP: Final = re.compile(r"C-([0-9]{4,9})")
LOOKED_AT: Final = 50
MARK: Final = "received-"
"""Begins the event of all movements of a list, so that the same list is known again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What came in: an item, its number empty where one is to be made up, and how many sheets."""

    item: Item
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Why a delivery is not taken.

    Parameters
    ----------
    index
        Which of the deliveries.
    column
        What of it: ``case``, ``number`` or ``price`` as in delivery lists; empty: its whole list.
    value, reason, remedy
        Worded for the user.
    """

    index: int
    column: str
    value: str
    reason: str
    remedy: str


class NotReceived(NestingError):
    """Deliveries that the store refuses, with every reason; nothing of them was received."""

    def __init__(self, refusals: Sequence[Refusal]) -> None:
        self.refusals = tuple(refusals)
        super().__init__(self.refusals)

    def __str__(self) -> str:
        return "; ".join(f"{r.value}: {r.reason}; {r.remedy}" for r in self.refusals)


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """What became of a delivery.

    Parameters
    ----------
    item
        With its number.
    count
        Sheets that came.
    is_new
        Whether the case was not known before.
    served
        Plan and number of the sheets that have their glass now.
    """

    item: Item
    count: int
    is_new: bool
    served: tuple[tuple[str, int], ...]


def list_mark(deliveries: Iterable[Delivery]) -> str:
    """What a list is known by: a hash over what it holds, however the file is called or written."""
    rows = [
        [
            d.count,
            i.kind,
            i.name,
            i.glass,
            i.width,
            i.height,
            [side.value for side in i.raw],
            i.price,
            i.supplier,
            i.place,
            i.note,
            i.measured,
            # where there are none the mark of a list stays that of programs before
            *([flaws_text(i.flaws), i.take] if i.flaws or i.take is not None else []),
        ]
        for d in deliveries
        for i in (d.item,)
    ]
    text = json.dumps(rows, ensure_ascii=True, separators=(",", ":"))
    return MARK + hashlib.sha256(text.encode("ascii")).hexdigest()[:32]


def seen_before(connection: Connection, mark: str) -> str | None:
    """The day on which a list was received, or None."""
    m = movement.c
    at = connection.execute(select(m.at).where(m.event == mark).order_by(m.id).limit(1)).scalar()
    return None if at is None else time_of(at).astimezone().date().isoformat()


def receive_all(
    connection: Connection,
    deliveries: Sequence[Delivery],
    because: Because,
    *,
    marks: Sequence[str | None] = (),
    more: bool = False,
) -> list[Received]:
    """Put deliveries into the racks.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    deliveries
        In their order.
    because
        When, who and why.
    marks
        For each delivery the mark of its list (see `list_mark`), which its movements bear; None or nothing
        for single ones.
    more
        Known cases of the same glass, size and price may get more sheets.

    Raises
    ------
    NotReceived
        With every reason; nothing is changed, if the caller lets it end the transaction.
    """
    refusals = [] if more else _same_lists(connection, marks)
    again = {marks[r.index] for r in refusals}
    known = known_items(connection, sorted({d.item.name for d in deliveries if d.item.name}))
    taken: set[str] = set()
    for index, one in enumerate(deliveries):
        name = one.item.name
        if not name or (marks and marks[index] in again):
            continue
        if name in taken:
            reason = tr("{name} comes twice in this delivery", name=name)
            remedy = tr("give every case and offcut a number of its own")
            refusals.append(_refused(index, one.item, reason, remedy))
        elif name in known:
            refusals += _compared(index, one.item, known[name], more)
        taken.add(name)
    if refusals:
        raise NotReceived(refusals)
    names = _NewNames(connection, taken)
    items = [known.get(d.item.name) or replace(d.item, name=d.item.name or names.next()) for d in deliveries]
    keys = add_items(connection, [new for new in items if new.name not in known])
    items = [replace(new, key=keys.get(new.name, new.key)) for new in items]
    causes = [replace(because, event=mark) if mark else because for mark in marks] or [because] * len(items)
    post(
        connection,
        [
            Movement(Move.RECEIVED, new.key, Balance(on_hand=delivery.count), cause)
            for new, delivery, cause in zip(items, deliveries, causes, strict=True)
        ],
    )
    waiting = sheets_to_buy(connection)
    out = []
    for new, delivery in zip(items, deliveries, strict=True):
        waits = not new.is_one_piece and (new.glass, new.width, new.height) in waiting
        served = serve_waiting(connection, new.key, because) if waits else []
        is_new = new.name not in known
        out.append(Received(item=new, count=delivery.count, is_new=is_new, served=tuple(served)))
    return out


def _same_lists(connection: Connection, marks: Sequence[str | None]) -> list[Refusal]:
    """Lists that were received before."""
    out = []
    for mark in dict.fromkeys(m for m in marks if m is not None):
        day = seen_before(connection, mark)
        if day is not None:
            out.append(
                Refusal(
                    index=marks.index(mark),
                    column="",
                    value="",
                    reason=tr("this list was received on {day}", day=day),
                    remedy=tr("give --more if the same came once more"),
                )
            )
    return out


def _refused(index: int, new: Item, reason: str, remedy: str, column: str = "") -> Refusal:
    column = column or ("number" if new.is_offcut else "case")
    return Refusal(index=index, column=column, value=new.name, reason=reason, remedy=remedy)


def _compared(index: int, new: Item, known: Item, more: bool) -> list[Refusal]:
    """What forbids to receive an item whose number the store knows."""
    other = tr("give it another number")
    if known.is_offcut or new.is_offcut:
        if known.balance.expected:
            plan, sheet = known.made_by or ("", 0)
            reason = tr(
                "{name} is expected from sheet {number} of plan {plan}",
                name=known.name,
                number=sheet,
                plan=plan,
            )
            remedy = tr("say with `panewright record` that the sheet is cut")
        elif known.balance.on_hand:
            reason, remedy = tr("{name} is in the rack already", name=known.name), other
        else:
            reason = tr("{name} was there before, and is gone", name=known.name)
            remedy = tr("give it another number, or count it with `panewright stock count`")
        return [_refused(index, new, reason, remedy)]
    if (known.glass, known.width, known.height) != (new.glass, new.width, new.height):
        return [
            _refused(
                index, new, tr("case {name} holds {stock}", name=known.name, stock=known.size_name), other
            )
        ]
    if known.is_one_piece or new.is_one_piece:
        return [_refused(index, new, tr("{name} has flaws and is one sheet", name=known.name), other)]
    if new.take not in (None, known.take):
        reason = tr("case {name} has another place in the order of taking", name=known.name)
        return [_refused(index, new, reason, tr("say it with `panewright stock move --take`"), "take")]
    if known.price != new.price:
        was = tr("none") if known.price is None else show_money(known.price)
        reason = tr("case {name} has another price of a sheet: {price}", name=known.name, price=was)
        return [_refused(index, new, reason, other, "price")]
    if more:
        return []
    reason = tr("case {name} was received before, and holds {stock}", name=known.name, stock=known.size_name)
    return [_refused(index, new, reason, tr("give --more to add to it, or give the new case another number"))]


class _NewNames:
    """Makes up numbers of cases, counting up from the newest made-up ones in the store."""

    def __init__(self, connection: Connection, taken: Iterable[str]) -> None:
        self._connection, self._taken = connection, set(taken)
        self._last: int | None = None

    def next(self) -> str:
        """The next number that nothing bears."""
        c = item.c
        if self._last is None:
            query = select(c.name).where(c.name.startswith("C-")).order_by(c.id.desc()).limit(LOOKED_AT)
            found = (_MADE_UP.fullmatch(name) for name in self._connection.execute(query).scalars())
            self._last = max((int(f[1]) for f in found if f), default=0)
        while True:
            self._last += 1
            name = MADE_UP.format(number=self._last)
            if name in self._taken:
                continue
            if self._connection.execute(select(c.id).where(c.name == name)).one_or_none() is None:
                self._taken.add(name)
                return name
