"""How long the store's queries and a plan's commit take when it has a long past."""

from __future__ import annotations

import statistics
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, Final

from sqlalchemy import Connection, select

from panewright.io.bench_store_fill import KINDS, SHEETS, Filled, fill
from panewright.io.bench_store_plans import Wish, made_plan
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import Store
from panewright.io.store.items import Item, find_item, items_there, receive
from panewright.io.store.ledger import Because, audit, balance_of
from panewright.io.store.offering import offered
from panewright.io.store.plan_lists import committed_plans, line_of, plan_text, stands_for
from panewright.io.store.schema import movement, plan_panel
from panewright.nesting.shop import Shop

QUERY_GOAL: Final = 0.050
COMMIT_GOAL: Final = 1.0
NOW: Final = datetime(2027, 3, 8, 7, tzinfo=UTC)
Clock = Callable[[], float]


@dataclass(frozen=True, slots=True)
class Timed:
    """A query or a change, run several times.

    Parameters
    ----------
    name
        What it does.
    goal
        Or None where there is none. [s]
    seconds
        Of each run, rising. [s]
    """

    name: str
    goal: float | None
    seconds: tuple[float, ...]

    @property
    def middle(self) -> float:
        """The median. [s]"""
        return statistics.median(self.seconds)

    @property
    def worst(self) -> float:
        """The longest. [s]"""
        return self.seconds[-1]


@dataclass(frozen=True, slots=True)
class Scale:
    """What a store holds, and how long things take in it."""

    filled: Filled
    fill_seconds: float
    timed: tuple[Timed, ...]
    sound: bool


def _queries(filled: Filled, shop: Shop) -> list[tuple[str, Callable[[Connection], Any]]]:
    m, p = movement.c, plan_panel.c

    def history(connection: Connection) -> Any:
        key = find_item(connection, filled.often).key
        return connection.execute(select(movement).where(m.item == key).order_by(m.id)).all()

    def panel(connection: Connection) -> Any:
        found = connection.execute(select(plan_panel).where(p.plan == filled.cut_plan)).first()
        assert found is not None
        return connection.execute(select(plan_panel).where(p.panel == found.panel)).all()

    return [
        ("balance of an item", lambda c: balance_of(c, find_item(c, filled.often).key)),
        ("everything there", items_there),
        ("everything of a glass", lambda c: items_there(c, glass="clear-10")),
        ("what a plan may take", lambda c: offered(c, shop, day=date(2027, 3, 8), expected=True)),
        ("movements of an item", history),
        ("a panel in all plans", panel),
        ("open plans", committed_plans),
        ("all plans", lambda c: committed_plans(c, every=True)),
        ("line of a plan", lambda c: (line_of(c, filled.cut_plan), stands_for(c, filled.cut_plan))),
        ("text of a plan", lambda c: plan_text(c, filled.cut_plan)),
    ]


def _because(run: int) -> Because:
    return Because(at=NOW + timedelta(minutes=run), who="desk")


def measured(store: Store, shop: Shop, movements: int, seed: int, clock: Clock, runs: int) -> Scale:
    """Fill an empty store and time what the commands ask of it.

    Parameters
    ----------
    store
        Open and empty.
    movements, seed
        For `fill`.
    clock
        Wall time; the database may work in a process of its own. [s]
    runs
        Of each query and change.
    """
    began = clock()
    with store.writing() as connection:
        filled = fill(connection, movements, seed)
    fill_seconds = clock() - began
    timed = []
    for name, query in _queries(filled, shop):
        seconds = []
        for _ in range(runs):
            began = clock()
            with store.reading() as connection:
                query(connection)
            seconds.append(clock() - began)
        timed.append(Timed(name, QUERY_GOAL, tuple(sorted(seconds))))
    timed += _changes(store, clock, runs)
    began = clock()
    with store.reading() as connection:
        wrong = audit(connection)
    timed.append(Timed("all movements added up", None, (clock() - began,)))
    return Scale(filled, fill_seconds, tuple(timed), not wrong)


def _changes(store: Store, clock: Clock, runs: int) -> list[Timed]:
    """Commits and withdrawals of plans of 60 sheets that are in the rack, and deliveries."""
    times: dict[str, list[float]] = {"commit of a plan": [], "withdrawal of a plan": [], "a delivery": []}
    for run in range(runs):
        wishes = [
            Wish(glass=g, width=w, height=h, across=4, up=3, keeps=n % 3 == 0)
            for n, (g, w, h) in enumerate(KINDS[k % len(KINDS)] for k in range(SHEETS))
        ]
        plan = made_plan(f"B-{run}", wishes)
        began = clock()
        with store.writing() as connection:
            commit_plan(connection, plan, _because(run))
        times["commit of a plan"].append(clock() - began)
        began = clock()
        with store.writing() as connection:
            withdraw_plan(connection, plan.id, _because(run))
        times["withdrawal of a plan"].append(clock() - began)
        glass, width, height = KINDS[0]
        case = Item(kind="sheet", name=f"B-{run}", glass=glass, width=width, height=height, since=NOW.date())
        began = clock()
        with store.writing() as connection:
            receive(connection, case, 20, _because(run))
        times["a delivery"].append(clock() - began)
    return [Timed(name, COMMIT_GOAL, tuple(sorted(seconds))) for name, seconds in times.items()]
