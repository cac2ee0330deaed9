"""A process is killed while it writes to the store, again and again: the store opens, adds up and goes on."""

from __future__ import annotations

import itertools
import time
from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

from sqlalchemy import Connection, func, select

from panewright.io.bench_draw import Draw
from panewright.io.bench_store_plans import GLASS, Wish, made_plan
from panewright.io.bench_store_races import NOW
from panewright.io.bench_store_sound import faults, processes
from panewright.io.record_file import Event, Record, What
from panewright.io.store.commit import commit_plan, withdraw_plan
from panewright.io.store.engine import Store, open_store
from panewright.io.store.items import SHEET, Item, cases_of, receive
from panewright.io.store.ledger import Because
from panewright.io.store.receiving import Delivery, receive_all
from panewright.io.store.recording import apply_events
from panewright.io.store.schema import event, item, movement, plan_sheet
from panewright.io.store.schema import plan as plans
from panewright.nesting.happened import AtStep
from panewright.nesting.ledger import Move, PlanState, SheetState
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
    """Tell at once that all sheets of a plan are cut, what they left and what broke."""
    plan = _plan(name)
    told: list[tuple[What, int, dict[str, Any]]] = []
    for x in plan.layouts:
        told.append((What.SHEET_CUT, x.number, {}))
        for leaf in x.leaves:
            if leaf.offcut is not None:
                told.append((What.OFFCUT_KEPT, x.number, {"offcut": leaf.offcut}))
    broken = {"panel": plan.panels[0].id, "at_step": AtStep.EDGING}
    told.append((What.PANEL_BROKEN, 1, broken))
    events = tuple(
        Event(id=f"{name}-{k}", at=NOW + timedelta(seconds=k), what=what, sheet=sheet, **more)
        for k, (what, sheet, more) in enumerate(told)
    )
    with store.writing() as connection:
        apply_events(connection, Record(plan=plan.id, events=events), BECAUSE)


def _case(name: str) -> Item:
    return Item(kind=SHEET, name=name, glass=GLASS, width=mm(3210), height=mm(2250), since=NOW.date())


def _import(store: Store, name: str) -> None:
    with store.writing() as connection:
        receive_all(connection, [Delivery(item=_case(f"{name}-{row}")) for row in range(ROWS)], BECAUSE)


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
        # several at once, so that a part of them alone is seen
        parts = [state == PlanState.WITHDRAWN.value, *(x == SheetState.RELEASED.value for x in sheets)]
    else:
        m, e = movement.c, event.c
        kept = select(func.count()).where(m.plan == plan.id, m.kind == Move.KEPT.value)
        told = select(func.count()).where(e.plan == plan.id)
        parts = [
            *(x == SheetState.CUT.value for x in sheets),
            connection.execute(kept).scalar() == 2,
            connection.execute(told).scalar() == 6,
        ]
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
                receive(connection, _case(f"C-{number}"), 200, BECAUSE)
        ours, theirs = context.Pipe(duplex=False)
        victim = context.Process(target=_work, args=(address, kind, f"K-{number}", theirs), daemon=True)
        victim.start()
        theirs.close()
        said = [ours.recv()]
        time.sleep(draw.below(1000 * LONGEST) / 1_000_000)
        if not victim.is_alive():
            wrong.append(f"kill {number}: the process had ended by itself, at {kind}")
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
