"""Several planners at once on one sheet pool: who takes what, who is refused, and whether it adds up."""

from __future__ import annotations

import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, Final

from sqlalchemy import func, select

from panewright.io.bench_draw import Draw
from panewright.io.bench_store_plans import GLASS, OFFCUT_WIDTH, Wish, made_plan
from panewright.io.bench_store_sound import faults, processes
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import Store, open_store
from panewright.io.store.errors import NotTaken, StoreError, UnknownName
from panewright.io.store.items import OFFCUT, SHEET, Item, items_there, receive
from panewright.io.store.ledger import Because
from panewright.io.store.plan_lists import open_plans
from panewright.io.store.schema import movement
from panewright.nesting.ledger import Move
from panewright.nesting.plan import Plan
from panewright.nesting.units import mm

CASES: Final = (12, 8)
OFFCUTS: Final = 6
SHARED: Final = 24
"""Plans that any of the processes may commit and withdraw."""
NOW: Final = datetime(2027, 3, 8, 7, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Races:
    """What came of the calls.

    Parameters
    ----------
    outcomes
        Word for what a call came to -> so many.
    wrong
        What does not add up, and what no call should come to; empty if all is well.
    seconds
        Of each call, rising. [s]
    """

    outcomes: dict[str, int]
    wrong: tuple[str, ...]
    seconds: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Told:
    outcomes: Counter[str]
    wrong: list[str]
    seconds: list[float]
    balance: int
    """Plans taken less plans given back."""


_start: Any = None


def _remember(barrier: Any) -> None:
    global _start
    _start = barrier


def stock_pool(store: Store) -> None:
    """Two cases and a few offcuts: far less than the planners want."""
    because = Because(at=NOW, who="desk")
    with store.writing() as connection:
        for k, count in enumerate(CASES, start=1):
            case = Item(
                kind=SHEET,
                name=f"C-{k}",
                glass=GLASS,
                width=mm(3210),
                height=mm(2250),
                since=date(2027, 3, k),
            )
            receive(connection, case, count, because)
        for k in range(OFFCUTS):
            piece = Item(
                kind=OFFCUT,
                name=f"X-{k}",
                glass=GLASS,
                width=OFFCUT_WIDTH,
                height=mm(2250),
                since=date(2027, 3, 1),
            )
            receive(connection, piece, 1, because)


def _wishes(draw: Draw, expected: list[str]) -> list[Wish]:
    wishes = [Wish(keeps=draw.below(3) == 0) for _ in range(draw.between(1, 3))]
    if draw.below(3) == 0:
        name = (
            expected[draw.below(len(expected))] if expected and draw.below(2) else f"X-{draw.below(OFFCUTS)}"
        )
        wishes.append(Wish(width=OFFCUT_WIDTH, offcut=name))
    return wishes


def _offcuts(plan: Plan) -> list[str]:
    return [leaf.offcut for x in plan.layouts for leaf in x.leaves if leaf.offcut is not None]


def _take_turns(address: str, worker: int, calls: int, seed: int) -> _Told:
    """One planner: commits plans of its own and shared ones, and withdraws them, in turns that are drawn."""
    draw = Draw(seed, worker)
    told = Counter[str](), list[str](), list[float]()
    outcomes, wrong, seconds = told
    mine: dict[str, Plan] = {}
    back: list[Plan] = []
    balance = 0
    shared = [made_plan(f"S-{k}", _wishes(Draw(seed, 1000, k), [])) for k in range(SHARED)]
    with open_store(address) as store:
        _start.wait()
        for call in range(calls):
            because = Because(at=NOW + timedelta(seconds=call), who=f"desk {worker}")
            common = draw.below(3) == 0
            give = draw.below(100) < 45 and (common or mine)
            if common:
                plan = shared[draw.below(SHARED)]
            elif give:
                plan = mine[sorted(mine)[draw.below(len(mine))]]
            elif back and draw.below(5) == 0:
                plan = back[draw.below(len(back))]
            else:
                expected = [name for p in mine.values() for name in _offcuts(p)]
                plan = made_plan(f"R-{worker}-{call}", _wishes(draw, expected))
            began = time.perf_counter()
            try:
                with store.writing() as connection:
                    if give:
                        withdraw_plan(connection, plan.id, because)
                        word = "withdrawn"
                    else:
                        taken = commit_plan(connection, plan, because)
                        word = "taken before" if taken.again else "taken"
                        if taken.to_buy:
                            wrong.append(f"{plan.id}: to buy, which it never said")
            except NotTaken as error:
                word = "refused"
                if not error.reasons or not all(error.reasons):
                    wrong.append(f"{plan.id}: refused without a reason")
            except UnknownName:
                word = "not open"
                if not common:
                    wrong.append(f"{plan.id}: lost")
            except StoreError as error:
                word = "no answer"
                wrong.append(str(error))
            seconds.append(time.perf_counter() - began)
            outcomes[word] += 1
            if word == "taken":
                balance += 1
                if not common:
                    mine[plan.id] = plan
                    back = [p for p in back if p.id != plan.id]
            elif word == "withdrawn":
                balance -= 1
                if not common:
                    back.append(mine.pop(plan.id))
    return _Told(outcomes, wrong, seconds, balance)


def raced(address: str, *, calls: int, planners: int, seed: int) -> Races:
    """Let several processes commit and withdraw plans on one store at once.

    Parameters
    ----------
    address
        Of a store with its tables and nothing in it.
    calls
        Of all planners together.
    planners
        Processes.
    seed
        Of the turns that each takes; how they meet is up to the machine.
    """
    context = processes()
    with open_store(address) as store:
        stock_pool(store)
    barrier = context.Barrier(planners)
    shares = [calls // planners + (k < calls % planners) for k in range(planners)]
    with ProcessPoolExecutor(planners, context, initializer=_remember, initargs=(barrier,)) as pool:
        running = [pool.submit(_take_turns, address, k, n, seed) for k, n in enumerate(shares)]
        told = [one.result() for one in running]
    wrong = [text for one in told for text in one.wrong]
    with open_store(address) as store, store.reading() as connection:
        wrong += faults(connection)
        held = {one.name: one.balance for one in items_there(connection)}
        there = {f"C-{k}": n for k, n in enumerate(CASES, start=1)} | {f"X-{k}": 1 for k in range(OFFCUTS)}
        wrong += [
            f"{name}: {count} received, {held.get(name)}"
            for name, count in there.items()
            if name not in held or held[name].on_hand != count
        ]
        taken = len(open_plans(connection))
        if taken != sum(one.balance for one in told):
            wrong.append(f"{taken} plans are open, {sum(one.balance for one in told)} were taken")
        m = movement.c
        rows = connection.execute(select(m.kind, func.count()).group_by(m.kind))
        kinds: dict[str, int] = {row[0]: row[1] for row in rows}
        left = kinds.get(Move.RESERVED.value, 0) - kinds.get(Move.RELEASED.value, 0)
        if left != sum(balance.reserved for balance in held.values()):
            wrong.append(f"{left} reservations are left")
    return Races(
        dict(sorted(sum((one.outcomes for one in told), Counter[str]()).items())),
        tuple(wrong),
        tuple(sorted(s for one in told for s in one.seconds)),
    )
