"""A process is killed while it writes to the store, again and again: the store opens, adds up and goes on."""

from __future__ import annotations

import itertools
import time
from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from sqlalchemy import Connection, func, select

from panewright.io.bench_draw import Draw
from panewright.io.bench_store_plans import GLASS, Wish, made_plan
from panewright.io.bench_store_races import NOW
from panewright.io.bench_store_sound import faults, processes
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import Store, open_store
from panewright.io.store.items import SHEET, Item, cases_of, receive
from panewright.io.store.ledger import Because, Movement, on_sheet, post
from panewright.io.store.schema import item, movement, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.ledger import Balance, Move, PlanState, SheetState
from panewright.nesting.plan import Plan
from panewright.nesting.units import mm

KINDS: Final = ("commit", "record", "import")
ROWS: Final = 30
"""Cases of a list that is imported."""
LONGEST: Final = 400
"""A process lives at most so long after it has opened the store. [ms]"""
BECAUSE: Final = Because(at=NOW, who="desk")


@dataclass(frozen=True, slots=True)
class Kills:
    """What came of the kills.

    Parameters
    ----------
    kills
        Kind of work -> processes killed at it.
    done
        Kind of work -> changes that ended before a kill.
    halfway
        Kind of work -> kills in the middle of a change.
    whole
        Of these, so many had the change in the store afterwards: killed between its end and telling so.
    wrong
        What does not add up afterwards; empty if all is well.
    """

    kills: dict[str, int]
    done: dict[str, int]
    halfway: dict[str, int]
    whole: int
    wrong: tuple[str, ...]


def _plan(order: str) -> Plan:
    return made_plan(order, [Wish(keeps=True, across=3, up=3), Wish(across=3, up=3), Wish(keeps=True)])


def _commit(store: Store, name: str) -> None:
    plan = _plan(name)
    with store.writing() as connection:
        commit_plan(connection, plan, BECAUSE)


def _withdraw(store: Store, name: str) -> None:
    with store.writing() as connection:
        withdraw_plan(connection, _plan(name).id, BECAUSE)


def _record(store: Store, name: str) -> None:
    """Cut all sheets of a plan that has taken its glass, and keep what they leave."""
    plan = _plan(name)
    with store.writing() as connection:
        s, c = plan_sheet.c, item.c
        moves = []
        for row in connection.execute(select(s.number, s.item).where(s.plan == plan.id).order_by(s.number)):
            here = on_sheet(BECAUSE, plan.id, row.number)
            moves.append(Movement(Move.CUT, row.item, Balance(on_hand=-1, reserved=-1), here))
            made = select(c.id).where(c.made_plan == plan.id, c.made_sheet == row.number)
            for key in connection.execute(made).scalars():
                moves.append(Movement(Move.KEPT, key, Balance(on_hand=1, expected=-1), here))
        post(connection, moves)
        connection.execute(plan_sheet.update().where(s.plan == plan.id).values(state=SheetState.CUT.value))


def _case(name: str, count: int, connection: Connection) -> None:
    case = Item(kind=SHEET, name=name, glass=GLASS, width=mm(3210), height=mm(2250), since=date(2027, 3, 8))
    receive(connection, case, count, BECAUSE)


def _import(store: Store, name: str) -> None:
    with store.writing() as connection:
        for row in range(ROWS):
            _case(f"{name}-{row}", 1, connection)


def _work(address: str, kind: str, name: str, told: Any) -> None:
    """Work without end; tells of each change before it begins and after it has ended."""
    with open_store(address) as store:
        told.send(("open", ""))
        for k in itertools.count():
            one = f"{name}-{k}"
            steps = {
                "commit": (("commit", _commit), ("withdraw", _withdraw)),
                "record": (("commit", _commit), ("record", _record)),
                "import": (("import", _import),),
            }[kind]
            for step, change in steps:
                told.send((step, one))
                change(store, one)
                told.send(("done", ""))


def _is_whole(connection: Connection, step: str, name: str) -> bool | None:
    """Whether a change is in the store; None where a part of it is."""
    if step == "import":
        query = select(func.count()).where(item.c.name.startswith(f"{name}-"), item.c.on_hand == 1)
        return {0: False, ROWS: True}.get(connection.execute(query).scalar() or 0)
    plan = _plan(name)
    state = connection.execute(select(plans.c.state).where(plans.c.id == plan.id)).scalar()
    s = plan_sheet.c
    sheets = list(connection.execute(select(s.state).where(s.plan == plan.id)).scalars())
    if step == "commit":
        if state is None:
            return None if sheets else False
        return True if sheets == [SheetState.RESERVED.value] * 3 else None
    if step == "withdraw":
        parts = [state == PlanState.WITHDRAWN.value, *(x == SheetState.RELEASED.value for x in sheets)]
    else:
        m = movement.c
        kept = select(func.count()).where(m.plan == plan.id, m.kind == Move.KEPT.value)
        parts = [*(x == SheetState.CUT.value for x in sheets), connection.execute(kept).scalar() == 2]
    return True if all(parts) else None if any(parts) else False


def killed(address: str, *, kills: int, seed: int) -> Kills:
    """Kill processes that write to a store, each at a moment that is drawn.

    Parameters
    ----------
    address
        Of a store with its tables and nothing in it.
    kills
        Commit, record and import in turn.
    seed
        Of the moments.
    """
    context = processes()
    draw = Draw(seed)
    counts: dict[str, Counter[str]] = {"kills": Counter(), "done": Counter(), "halfway": Counter()}
    whole, wrong = 0, list[str]()
    for number in range(kills):
        kind = KINDS[number % len(KINDS)]
        with open_store(address) as store, store.writing() as connection:
            # it goes on: glass comes in for the next one
            free = sum(c.balance.free for c in cases_of(connection, GLASS, mm(3210), mm(2250)))
            if free < 200:
                _case(f"C-{number}", 200, connection)
        ours, theirs = context.Pipe(duplex=False)
        victim = context.Process(target=_work, args=(address, kind, f"K-{number}", theirs), daemon=True)
        victim.start()
        theirs.close()
        said = [ours.recv()]
        time.sleep(draw.below(1000 * LONGEST) / 1_000_000)
        victim.kill()
        victim.join()
        try:
            while True:
                said.append(ours.recv())
        except EOFError:
            ours.close()
        counts["kills"][kind] += 1
        changes = [one for one in said[1:] if one[0] != "done"]
        ended = len(said) - 1 - len(changes)
        counts["done"][kind] += ended
        counts["halfway"][kind] += len(changes) - ended
        with open_store(address) as store, store.reading() as connection:
            wrong += [f"kill {number}: {text}" for text in faults(connection)]
            for k, (step, name) in enumerate(changes):
                if k + 1 < len(changes) and changes[k + 1][1] == name:
                    # the next change of the same plan stands for both
                    continue
                found = _is_whole(connection, step, name)
                if found is None or (k < ended and not found):
                    wrong.append(
                        f"kill {number}: {step} {name} is {'half' if found is None else 'not'} there"
                    )
                whole += k == ended and bool(found)
    return Kills(
        kills=dict(counts["kills"]),
        done=dict(counts["done"]),
        halfway=dict(counts["halfway"]),
        whole=whole,
        wrong=tuple(wrong),
    )
