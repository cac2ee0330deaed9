"""Adding movements: the one way in which a count in the store changes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any, Final, TypeVar

from sqlalchemy import Connection, bindparam, func, insert, select, update

from panewright.io.store.errors import NotThere
from panewright.io.store.schema import item, movement
from panewright.nesting.ledger import Balance, Move, check_movement

T = TypeVar("T")
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MARK: Final = "flaw-"
"""Begins the event of the movements by which a sheet leaves its case for a flaw that was found in the rack."""


def micros(at: datetime) -> int:
    """Whole microseconds since 1970 in UTC."""
    return (at - EPOCH) // timedelta(microseconds=1)


def time_of(value: int) -> datetime:
    """The time of so many microseconds, in UTC."""
    return EPOCH + timedelta(microseconds=value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Because:
    """What all movements of one change have in common.

    Parameters
    ----------
    at
        When, with its zone.
    who, why
        As told.
    plan, sheet, panel, event
        What it has to do with, where it has.
    """

    at: datetime
    who: str = ""
    why: str = ""
    plan: str | None = None
    sheet: int | None = None
    panel: str | None = None
    event: str | None = None


@dataclass(frozen=True, slots=True)
class Movement:
    """One movement of one item (its row id)."""

    kind: Move
    item: int
    change: Balance
    because: Because
    place: str | None = None


# made once: building and naming a statement takes longer than running it
_CHANGE: Final = (
    update(item)
    .where(item.c.id == bindparam("of"))
    .values(
        on_hand=item.c.on_hand + bindparam("d_hand"),
        reserved=item.c.reserved + bindparam("d_reserved"),
        expected=item.c.expected + bindparam("d_expected"),
    )
)
_AT_ONCE: Final = 500
"""Most values in one list of a statement; both databases have a limit."""


def in_parts(values: Sequence[T]) -> Iterator[Sequence[T]]:
    """The values in parts, each short enough for ``in``."""
    for k in range(0, len(values), _AT_ONCE):
        yield values[k : k + _AT_ONCE]


def post(connection: Connection, movements: Sequence[Movement]) -> None:
    """Add movements to the ledger and their changes to the balances, all or none.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    movements
        In their order; on one item their changes count together.

    Raises
    ------
    NotThere
        A count would fall below zero, or more be reserved than is there or expected.
    WrongMovement
        A kind of movement that cannot make its change.
    """
    changes: dict[int, Balance] = defaultdict(Balance)
    for m in movements:
        check_movement(m.kind, m.change)
        changes[m.item] += m.change
    wanted = [(key, changes[key]) for key in sorted(changes) if changes[key] != Balance()]
    _check_there(connection, wanted)
    if wanted:
        connection.execute(
            _CHANGE,
            [
                {"of": key, "d_hand": d.on_hand, "d_reserved": d.reserved, "d_expected": d.expected}
                for key, d in wanted
            ],
        )
    if movements:
        connection.execute(insert(movement), [_row(m) for m in movements])


def _check_there(connection: Connection, wanted: Sequence[tuple[int, Balance]]) -> None:
    """Raise `NotThere` before anything is changed; no other writer is at work meanwhile."""
    c = item.c
    found = {}
    for part in in_parts([key for key, _ in wanted]):
        query = select(c.id, c.name, c.kind, c.on_hand, c.reserved, c.expected).where(c.id.in_(part))
        for key, name, kind, *counts in connection.execute(query):
            found[key] = (name, kind, Balance(*counts))
    for key, change in wanted:
        if key not in found:
            raise NotThere(str(key))
        name, kind, before = found[key]
        after = before + change
        if not after.sound or (kind != "sheet" and after.on_hand + after.expected > 1):
            raise NotThere(name)


def _row(m: Movement) -> dict[str, Any]:
    b = m.because
    return {
        "at": micros(b.at),
        "kind": m.kind.value,
        "item": m.item,
        "on_hand": m.change.on_hand,
        "reserved": m.change.reserved,
        "expected": m.change.expected,
        "who": b.who,
        "why": b.why,
        "plan": b.plan,
        "sheet": b.sheet,
        "panel": b.panel,
        "event": b.event,
        "place": m.place,
    }


def on_sheet(because: Because, plan: str, sheet: int) -> Because:
    """The same, said of a sheet of a plan."""
    return replace(because, plan=plan, sheet=sheet)


def balance_of(connection: Connection, key: int) -> Balance:
    """The balance of an item; all zero where there is none."""
    c = item.c
    row = connection.execute(select(c.on_hand, c.reserved, c.expected).where(c.id == key)).one_or_none()
    return Balance() if row is None else Balance(*row)


@dataclass(frozen=True, slots=True)
class Discrepancy:
    """An item whose balance is not the sum of its movements: a fault of the store."""

    name: str
    balance: Balance
    summed: Balance


def audit(connection: Connection, items: Iterable[int] | None = None) -> list[Discrepancy]:
    """Add all movements up again, and name each item whose balance is another one."""
    c, m = item.c, movement.c
    sums = (
        select(
            m.item,
            func.sum(m.on_hand).label("on_hand"),
            func.sum(m.reserved).label("reserved"),
            func.sum(m.expected).label("expected"),
        )
        .group_by(m.item)
        .subquery()
    )
    query = select(
        c.name,
        c.on_hand,
        c.reserved,
        c.expected,
        func.coalesce(sums.c.on_hand, 0),
        func.coalesce(sums.c.reserved, 0),
        func.coalesce(sums.c.expected, 0),
    ).outerjoin(sums, sums.c.item == c.id)
    if items is not None:
        query = query.where(c.id.in_(list(items)))
    found = []
    for name, *counts in connection.execute(query.order_by(c.id)):
        balance, summed = Balance(*counts[:3]), Balance(*(int(n) for n in counts[3:]))
        if balance != summed:
            found.append(Discrepancy(name, balance, summed))
    return found
