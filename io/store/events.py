"""Events as the store keeps them: written once, never changed, only that they stand may change."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from sqlalchemy import ColumnElement, Connection, insert, select, update

from panewright.io.record_file import Event, What
from panewright.io.store.ledger import micros, time_of
from panewright.io.store.schema import event as events
from panewright.nesting.errors import NestingError
from panewright.nesting.happened import AtStep

MOST_WHO: Final = 80
MOST_NAME: Final = 80
_SAME: Final = ("what", "sheet", "panel", "at_step", "offcut", "size", "flaw", "kind", "undoes", "note")


class Refused(NestingError):
    """An event that does not fit what the store knows.

    Parameters
    ----------
    reason, remedy
        Worded for the user.
    """

    def __init__(self, reason: str, remedy: str = "") -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(reason, remedy)

    def __str__(self) -> str:
        return self.reason


@dataclass(frozen=True, slots=True)
class Stored:
    """An event in the store.

    Parameters
    ----------
    event
        As it was told; its time is in UTC.
    plan
        The plan that the record named.
    stands
        No standing event undoes it.
    device
        Where it was kept.
    """

    event: Event
    plan: str
    stands: bool
    device: str = ""

    def tells_the_same(self, event: Event, line: Collection[str]) -> bool:
        """Whether another event of this id, told of a plan of this line, is this one."""
        told = replace(event, note=plain(event.note))
        return (
            self.plan in line
            and micros(event.at) == micros(self.event.at)
            and all(getattr(told, name) == getattr(self.event, name) for name in _SAME)
        )


def plain(text: str) -> str:
    """A text on one line, without the characters that a database refuses or a terminal obeys."""
    return "".join(c for c in text if c.isprintable() or c.isspace()).replace("\n", " ").strip()


def find_event(connection: Connection, key: str) -> Stored | None:
    """The event of this id."""
    row = connection.execute(select(events).where(events.c.id == key)).one_or_none()
    return None if row is None else stored(row)


def add_event(
    connection: Connection, event: Event, *, plan: str, stands: bool, who: str = "", device: str = ""
) -> None:
    """Write an event down."""
    connection.execute(
        insert(events).values(
            id=event.id,
            plan=plan,
            sheet=event.sheet,
            what=event.what.value,
            panel=event.panel,
            at_step=None if event.at_step is None else event.at_step.value,
            offcut=event.offcut,
            size=None if event.size is None else json.dumps(list(event.size)),
            flaw=None if event.flaw is None else json.dumps([*event.flaw, *filter(None, [event.kind])]),
            undoes=event.undoes,
            stands=stands,
            at=micros(event.at),
            who=plain(event.who or who)[:MOST_WHO],
            device=plain(device),
            note=plain(event.note),
        )
    )


def set_standing(connection: Connection, key: str, stands: bool) -> None:
    """Say whether an event stands."""
    connection.execute(update(events).where(events.c.id == key).values(stands=stands))


def is_undone(connection: Connection, key: str) -> bool:
    """Whether a standing event undoes this one."""
    query = select(events.c.id).where(events.c.undoes == key, events.c.stands.is_(True))
    return connection.execute(query.limit(1)).first() is not None


def told(
    connection: Connection,
    line: Collection[str],
    what: Sequence[What],
    *,
    sheet: int | None = None,
    panel: str | None = None,
    offcut: str | None = None,
    but: str | None = None,
    stands: bool = True,
) -> list[Stored]:
    """The events that tell such a thing, by their time.

    Parameters
    ----------
    line
        Plans that the records named.
    what
        One of these.
    sheet, panel, offcut
        Of this subject, where it is given.
    but
        Id of an event that does not count.
    stands
        Those that stand, or those that do not.
    """
    e = events.c
    where: list[ColumnElement[bool]] = [
        e.plan.in_(list(line)),
        e.what.in_([w.value for w in what]),
        e.stands.is_(stands),
    ]
    where += [c == v for c, v in ((e.sheet, sheet), (e.panel, panel), (e.offcut, offcut)) if v is not None]
    rows = connection.execute(select(events).where(*where).order_by(e.at, e.id))
    return [stored(row) for row in rows if row.id != but]


def stored(row: Any) -> Stored:
    """The event of a row."""
    flaw = [] if row.flaw is None else json.loads(row.flaw)
    return Stored(
        event=Event(
            id=row.id,
            at=time_of(row.at),
            what=What(row.what),
            sheet=row.sheet,
            panel=row.panel,
            at_step=None if row.at_step is None else AtStep(row.at_step),
            offcut=row.offcut,
            size=None if row.size is None else tuple(json.loads(row.size)),
            flaw=None if not flaw else (flaw[0], flaw[1], flaw[2], flaw[3]),
            kind=flaw[4] if len(flaw) > 4 else "",
            undoes=row.undoes,
            who=row.who,
            note=row.note,
        ),
        plan=row.plan,
        stands=row.stands,
        device=row.device,
    )
