"""Pieces that change place, are thrown away or break in the rack, and corrections of what was set down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection, update

from panewright.io.store.errors import NotThere
from panewright.io.store.items import Item, cases_of, find_item, serve_waiting, take
from panewright.io.store.ledger import Because, Movement, post
from panewright.io.store.schema import item
from panewright.io.store.stranding import strand
from panewright.io.store.words import NOTE
from panewright.nesting.errors import NestingError
from panewright.nesting.ledger import Balance, Move
from panewright.nesting.text import tr
from panewright.nesting.units import show, show_money

PlanSheet = tuple[str, int]
"""Id of a plan, and number of a sheet."""


class OnePiece(NestingError):
    """More than one piece under the number of an offcut; nothing was changed."""

    def __init__(self, one: Item) -> None:
        self.item = one
        super().__init__(one)

    def __str__(self) -> str:
        name = self.item.name
        if self.item.balance.expected and self.item.made_by:
            return tr(
                "offcut {name} is expected from sheet {number} of plan {plan}; say with `panewright record` "
                "that the sheet is cut",
                name=name,
                number=self.item.made_by[1],
                plan=self.item.made_by[0],
            )
        return tr("offcut {name} is one piece; give every other piece a number of its own", name=name)


def move_items(
    connection: Connection,
    names: Sequence[str],
    place: str | None,
    because: Because,
    *,
    take: int | None = None,
) -> list[Item]:
    """Set down that cases or offcuts stand at another place now; the items as they were before.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    names
        Their numbers.
    place
        Where they stand; None: where they stood.
    because
        When, who and why.
    take
        Number by which they are taken in an order; 0: in any order; None: as before.

    Raises
    ------
    UnknownName
        Nothing is moved, if the caller lets the error end the transaction.
    """
    found = [find_item(connection, name) for name in dict.fromkeys(names)]
    moves = []
    for one in found:
        values: dict[str, str | int | None] = {} if place is None else {"place": place}
        if take is not None:
            values["take"] = take or None
        connection.execute(update(item).where(item.c.id == one.key).values(**values))
        why = because
        if take is not None and take != (one.take or 0):
            said = tr("{why} (taken as: {take}; before: {before})", why=because.why, take=take or "-",
                      before=one.take or "-")  # fmt: skip
            why = replace(because, why=said[:NOTE])
        moves.append(Movement(Move.MOVED, one.key, Balance(), why, place))
    post(connection, moves)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """What a change of the rack came to.

    Parameters
    ----------
    item
        As it was.
    on_hand
        Its pieces now.
    stranded
        Plan and number of sheets that are without glass now and must be planned again.
    instead
        Plan and number of sheets that are cut from another case of the same size now, and that case.
    served
        Plan and number of sheets that waited for such a sheet and have it now.
    """

    item: Item
    on_hand: int
    stranded: tuple[PlanSheet, ...] = ()
    instead: tuple[tuple[str, int, str], ...] = ()
    served: tuple[PlanSheet, ...] = ()


def take_out(
    connection: Connection, name: str, count: int | None, because: Because, *, broken: bool = False
) -> Changed:
    """Set down that pieces of an item are thrown away, or broke in the rack.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    name
        Number of a case or offcut.
    count
        Pieces; None: the one piece that there is.
    because
        When, who and why.
    broken
        They broke; else they are thrown away.

    Raises
    ------
    UnknownName, NotThere
        No such item, or fewer pieces of it.
    """
    one = find_item(connection, name)
    there = one.balance.on_hand
    count = 1 if count is None else count
    if not 0 < count <= there:
        raise NotThere(name)
    return _set(connection, one, there - count, Move.BROKEN if broken else Move.SCRAPPED, because)


def set_count(connection: Connection, one: Item, counted: int, because: Because) -> Changed:
    """Set down what was counted of an item, a difference of none included."""
    return _set(connection, one, counted, Move.COUNTED, because)


def adjust_count(connection: Connection, name: str, by: int, because: Because) -> Changed:
    """Correct the pieces of an item by so many more or fewer; raises `UnknownName` and `NotThere`."""
    one = find_item(connection, name)
    if one.balance.on_hand + by < 0:
        raise NotThere(name)
    return _set(connection, one, one.balance.on_hand + by, Move.ADJUSTED, because)


def _set(connection: Connection, one: Item, on_hand: int, kind: Move, because: Because) -> Changed:
    b = one.balance
    if one.is_offcut and on_hand + b.expected > 1:
        raise OnePiece(one)
    keep = on_hand + b.expected
    # before the movement: no balance ever says that more is taken than there is
    lost = strand(connection, one.key, keep, because) if b.reserved > keep else []
    post(connection, [Movement(kind, one.key, Balance(on_hand=on_hand - b.on_hand), because)])
    instead = [] if one.is_offcut else _from_others(connection, one, lost, because)
    again = {(plan, number) for plan, number, _ in instead}
    grown = on_hand > b.on_hand and not one.is_offcut and not one.flaws
    served = serve_waiting(connection, one.key, because) if grown else []
    return Changed(
        item=one,
        on_hand=on_hand,
        stranded=tuple(sheet for sheet in lost if sheet not in again),
        instead=tuple(instead),
        served=tuple(served),
    )


def _from_others(
    connection: Connection, one: Item, lost: Sequence[PlanSheet], because: Because
) -> list[tuple[str, int, str]]:
    """Sheets of a size are all alike: what a case has lost is taken from others; those cut first come first."""
    free = [
        other
        for other in (cases_of(connection, one.glass, one.width, one.height) if lost else ())
        if other.key != one.key
        for _ in range(other.balance.free)
    ]
    out = []
    for (plan, number), other in zip(reversed(lost), free, strict=False):
        take(connection, plan, number, other.key, because)
        out.append((plan, number, other.name))
    return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What was wrong in the line of an item; None stays as it is. [nm], [1/10,000 of the currency]"""

    price: int | None = None
    measured: int | None = None
    supplier: str | None = None
    note: str | None = None


def correct(connection: Connection, name: str, new: Correction, because: Because) -> Item:
    """Correct the line of an item; the item as it was. What it said before stays in the history.

    Raises
    ------
    UnknownName
        No such item.
    """
    one = find_item(connection, name)
    values: dict[str, int | str] = {}
    said = []
    for column, before, after in (
        ("price", _money(one.price), new.price),
        ("measured", _length(one.measured), new.measured),
        ("supplier", one.supplier, new.supplier),
        ("note", one.note, new.note),
    ):
        if after is not None:
            values[column] = after
            said.append(f"{column}: {before or '-'}")
    if values:
        connection.execute(update(item).where(item.c.id == one.key).values(**values))
        why = tr("{why} (before: {before})", why=because.why, before=", ".join(said))
        post(
            connection,
            [Movement(Move.ADJUSTED, one.key, Balance(), replace(because, why=why[:NOTE]))],
        )
    return one


def _money(amount: int | None) -> str:
    return "" if amount is None else show_money(amount)


def _length(length: int | None) -> str:
    return "" if length is None else show(length)
