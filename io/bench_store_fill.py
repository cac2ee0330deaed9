"""A stock store with a long past, made in bulk: years of plans, cases, offcuts, breaks and counts.

The story is drawn plan by plan, as a shop lives it, so that every balance is the sum of its movements and
no moment of it takes what is not there.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

from sqlalchemy import Connection, Table, text

from panewright.io.bench_draw import Draw
from panewright.io.store.plan_rows import AREAS
from panewright.io.store.schema import item, movement, plan, plan_panel, plan_sheet
from panewright.nesting.ledger import Move, PlanState, SheetState
from panewright.nesting.units import mm

SHEETS: Final = 60
"""Sheets of a plan."""
PANELS: Final = 4
"""Panels of a sheet; fewer than a shop's, for they are rows and no movements."""
CASE: Final = 40
"""Sheets of a case."""
OPEN: Final = 40
"""The newest plans: not cut yet."""
A_MILLION: Final = 3000
"""Plans in a million movements."""
KINDS: Final = tuple(
    (glass, mm(width), mm(height))
    for glass in ("clear-10", "clear-12", "low-iron-10")
    for width, height in ((3210, 2250), (6000, 3210))
)
OFFCUT: Final = (mm(640), mm(2250))
LETTERS: Final = 20_000
"""Length of each plan file in the store; a real one of 60 sheets has up to a million."""
START: Final = 1_700_000_000_000_000
STEP: Final = 3_600_000_000
FIGURES: Final = json.dumps(dict.fromkeys(AREAS, 10**12))


@dataclass
class _Item:
    key: int
    kind: str
    name: str
    size: tuple[str, int, int]
    made: tuple[str, int] | None = None
    on_hand: int = 0
    reserved: int = 0
    expected: int = 0


@dataclass
class _Past:
    """The story so far, and the rows that tell it."""

    draw: Draw
    items: list[_Item] = field(default_factory=list)
    moves: list[tuple[Any, ...]] = field(default_factory=list)
    plans: list[tuple[Any, ...]] = field(default_factory=list)
    sheets: list[tuple[Any, ...]] = field(default_factory=list)
    panels: list[tuple[Any, ...]] = field(default_factory=list)
    cases: dict[tuple[str, int, int], deque[_Item]] = field(default_factory=dict)
    rack: deque[_Item] = field(default_factory=deque)
    now: int = START

    def move(
        self,
        kind: Move,
        one: _Item,
        counts: tuple[int, int, int],
        plan: str | None = None,
        sheet: int | None = None,
    ) -> None:
        one.on_hand, one.reserved, one.expected = (
            a + b for a, b in zip((one.on_hand, one.reserved, one.expected), counts, strict=True)
        )
        number = len(self.moves) + 1
        self.moves.append(
            (number, self.now, kind.value, one.key, *counts, "desk", "", plan, sheet, None, None, None)
        )

    def add(
        self, kind: str, name: str, size: tuple[str, int, int], made: tuple[str, int] | None = None
    ) -> _Item:
        one = _Item(len(self.items) + 1, kind, name, size, made)
        self.items.append(one)
        return one

    def case(self, size: tuple[str, int, int], free: int = 1) -> _Item:
        """A case of this size of which something is free; a delivery comes in time."""
        held = self.cases.setdefault(size, deque())
        while held and held[0].on_hand <= held[0].reserved:
            held.popleft()
        while sum(c.on_hand - c.reserved for c in held) < free:
            new = self.add("sheet", f"C-{len(self.items) + 1:06}", size)
            self.move(Move.RECEIVED, new, (CASE, 0, 0))
            held.append(new)
        return held[0]


def _plan_name(number: int) -> str:
    return f"{number // 10000:04}-{number % 10000:04}"


def _tell(past: _Past, number: int, open_one: bool) -> None:
    """One plan: it takes its glass, is planned again once in a while, and is cut."""
    name, draw = _plan_name(number), past.draw
    past.now += STEP
    file = json.dumps({"plan": name, "made": "x" * LETTERS})
    state = PlanState.OPEN if open_one else PlanState.FOLLOWED if number % 3 else PlanState.OPEN
    past.plans.append((name, state.value, None, past.now, "desk", "", file))
    again = number % 3 > 0
    for sheet in range(1, SHEETS + 1):
        size, old = KINDS[sheet % len(KINDS)], None
        if sheet % 10 == 0 and len(past.rack) > 1500:
            old = past.rack.popleft()
        one = old or past.case(size)
        past.move(Move.RESERVED, one, (0, 1, 0), name, sheet)
        if again:
            past.move(Move.RELEASED, one, (0, -1, 0), name, sheet)
            past.move(Move.RESERVED, one, (0, 1, 0), name, sheet)
        kept = None
        if sheet % 10 == 5:
            kept = past.add("offcut", f"{name}.{sheet}.a", (size[0], *OFFCUT), (name, sheet))
            past.move(Move.EXPECTED, kept, (0, 0, 1), name, sheet)
        glass, width, height = one.size
        stock = one.name if old else f"{glass} {width // 10**6}x{height // 10**6}"
        held = SheetState.RESERVED if open_one else SheetState.CUT
        cut_at = None if open_one else past.now + sheet * 60_000_000
        past.sheets.append(
            (
                name,
                sheet,
                held.value,
                one.key,
                glass,
                stock,
                bool(old),
                width,
                height,
                "2027-03-08",
                cut_at,
                "",
                FIGURES,
            )
        )
        for k in range(PANELS):
            order = f"K-{number}-{sheet % 7}"
            name_of = f"{order}/front/{sheet * PANELS + k}"
            past.panels.append(
                (
                    *(name, name_of, sheet, order, "front", "order", glass, "2027-03-12"),
                    *(mm(600), mm(400), True, False, None, None),
                )
            )
        if open_one:
            continue
        past.move(Move.CUT, one, (-1, -1, 0), name, sheet)
        if draw.below(10) == 0:
            past.move(Move.BROKEN, one, (0, 0, 0), name, sheet)
        if kept is not None and draw.below(10) == 0:
            past.move(Move.NOT_MADE, kept, (0, 0, -1), name, sheet)
        elif kept is not None:
            past.move(Move.KEPT, kept, (1, 0, -1), name, sheet)
            past.rack.append(kept)


def _past(movements: int, seed: int) -> _Past:
    past = _Past(Draw(seed))
    count = max(2, movements * A_MILLION // 10**6)
    open_ones = min(OPEN, count // 2)
    for number in range(count):
        _tell(past, number, number >= count - open_ones)
    for size in KINDS:
        past.case(size, 300)
    # counts that find what is there fill up to the number that was asked for
    while len(past.moves) < movements:
        past.move(Move.COUNTED, past.items[past.draw.below(len(past.items))], (0, 0, 0))
        past.now += 1_000_000
    return past


def _item_rows(past: _Past) -> Iterator[tuple[Any, ...]]:
    for one in past.items:
        glass, width, height = one.size
        made = one.made or (None, None)
        price = 1_200_000 if one.kind == "sheet" else None
        raw = "left right bottom top" if one.kind == "sheet" else "right bottom top"
        yield (
            *(
                one.key,
                one.kind,
                one.name,
                glass,
                width,
                height,
                raw,
                price,
                "",
                f"A{one.key % 40}",
                "",
                None,
            ),
            *("2027-01-11", *made, "[]", one.on_hand, one.reserved, one.expected, None),
        )


@dataclass(frozen=True, slots=True)
class Filled:
    """What was put into the store."""

    movements: int
    items: int
    plans: int
    sheets: int
    panels: int
    there: int
    often: str
    """Name of the item with most movements."""
    last_plan: str
    cut_plan: str


def fill(connection: Connection, movements: int, seed: int) -> Filled:
    """Fill an empty store; at least as many movements as were asked for.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    movements
        1,000,000 are 3,000 plans.
    seed
        Of the draw.
    """
    past = _past(movements, seed)
    _without_checks(connection)
    _put(connection, item, _item_rows(past))
    for table, rows in (
        (plan, past.plans),
        (plan_sheet, past.sheets),
        (plan_panel, past.panels),
        (movement, past.moves),
    ):
        _put(connection, table, rows)
    if connection.dialect.name == "postgresql":
        for table in (item, movement):
            connection.execute(
                text(
                    f"select setval(pg_get_serial_sequence('{table.name}', 'id'), (select max(id) from {table.name}))"
                )
            )
    counts = [0] * (len(past.items) + 1)
    for row in past.moves:
        counts[row[3]] += 1
    often = max(past.items, key=lambda one: (counts[one.key], -one.key))
    last = len(past.plans) - 1
    return Filled(
        movements=len(past.moves),
        items=len(past.items),
        plans=len(past.plans),
        sheets=len(past.sheets),
        panels=len(past.panels),
        there=sum(bool(one.on_hand or one.expected) for one in past.items),
        often=often.name,
        last_plan=_plan_name(last),
        cut_plan=_plan_name(last // 3),
    )


def _without_checks(connection: Connection) -> None:
    """A million look-ups of foreign keys take minutes; the story keeps them, and only a superuser may leave them out."""
    if connection.dialect.name != "postgresql":
        return
    if connection.execute(text("select rolsuper from pg_roles where rolname = current_user")).scalar():
        connection.execute(text("set local session_replication_role = replica"))


def _put(connection: Connection, table: Table, rows: Iterable[tuple[Any, ...]]) -> None:
    """All columns of a table, by the quickest way of each database."""
    names = ", ".join(f'"{c.name}"' for c in table.columns)
    raw = connection.connection.driver_connection
    assert raw is not None
    if connection.dialect.name == "postgresql":
        with raw.cursor() as cursor, cursor.copy(f"copy {table.name} ({names}) from stdin") as copy:
            for row in rows:
                copy.write_row(row)
        return
    marks = ", ".join("?" * len(table.columns))
    raw.executemany(f"insert into {table.name} ({names}) values ({marks})", rows)
