"""Glass that plans counted on and that is gone: their sheets are without glass and must be planned again."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from sqlalchemy import Connection, select, update

from panewright.io.store.ledger import Because, Movement, in_parts, on_sheet, post
from panewright.io.store.plan_lists import line_of
from panewright.io.store.schema import item, plan_sheet
from panewright.nesting.ledger import Balance, Move, SheetState


def strand(connection: Connection, key: int, keep: int, because: Because) -> list[tuple[str, int]]:
    """Release reservations of an item until at most `keep` are left; their sheets are without glass.

    Returns
    -------
    list of tuple
        Plan and number of the sheets that must be planned again, those cut last first.
    """
    s = plan_sheet.c
    rows = connection.execute(
        select(s.plan, s.number)
        .where(s.item == key, s.state == SheetState.RESERVED.value)
        .order_by(s.day.is_not(None), s.day.desc(), s.plan.desc(), s.number.desc())
    ).all()
    out = []
    for row in rows[: max(0, len(rows) - keep)]:
        post(
            connection,
            [Movement(Move.RELEASED, key, Balance(reserved=-1), on_sheet(because, row.plan, row.number))],
        )
        connection.execute(
            update(plan_sheet)
            .where(s.plan == row.plan, s.number == row.number)
            .values(state=SheetState.WITHOUT_GLASS.value, item=None)
        )
        out.append((row.plan, row.number))
    return out


def offcuts_to_come(connection: Connection, name: str, *numbers: int) -> list[int]:
    """Row ids of the offcuts that sheets of a plan will leave and that are still expected."""
    return [key for key, _, _ in still_expected(connection, name, numbers)]


def still_expected(connection: Connection, name: str, numbers: Collection[int]) -> list[tuple[int, str, int]]:
    """Row id, number and sheet of the offcuts that sheets of a plan will leave and that are still expected."""
    c = item.c
    line = line_of(connection, name) or [name]
    query = select(c.id, c.name, c.made_sheet).where(c.made_plan.in_(line), c.expected > 0).order_by(c.id)
    return [(key, own, sheet) for key, own, sheet in connection.execute(query) if sheet in numbers]


def not_made(connection: Connection, keys: Iterable[int], because: Because) -> list[tuple[str, int]]:
    """Expect these offcuts no longer; the sheets that were to be cut from them are without glass."""
    return none_made(connection, [(key, because) for key in keys])


def none_made(connection: Connection, gone: Sequence[tuple[int, Because]]) -> list[tuple[str, int]]:
    """The same, each offcut with a reason of its own."""
    taken: set[int] = set()
    for part in in_parts([key for key, _ in gone]):
        query = select(item.c.id).where(item.c.id.in_(part), item.c.reserved > 0)
        taken |= set(connection.execute(query).scalars())
    stranded: list[tuple[str, int]] = []
    for key, because in gone:
        if key in taken:
            stranded += strand(connection, key, 0, because)
    post(connection, [Movement(Move.NOT_MADE, key, Balance(expected=-1), because) for key, because in gone])
    return stranded
