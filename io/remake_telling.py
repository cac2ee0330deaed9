"""What a remake was told on the command line goes into the stock store with its commit: cut, broken, flawed."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection

from panewright.io.record_file import Event, Record
from panewright.io.record_making import (
    Offcuts,
    Teller,
    broken_events,
    cut_events,
    flawed_event,
    offcuts_by_sheet,
    panels_by_sheet,
)
from panewright.io.remake_store import happened_in_store, states_of
from panewright.io.store.happening import done_state
from panewright.io.store.ledger import Because
from panewright.io.store.recording import Told, apply_events, apply_records
from panewright.io.store.subjects import plan_now
from panewright.nesting.happened import Happened
from panewright.nesting.ledger import SheetState
from panewright.nesting.plan import Plan


def tell_before(
    connection: Connection, earlier: Plan, told: Happened, because: Because, records: Sequence[Record] = ()
) -> None:
    """What records say, and sheets that cannot be cut, before the new plan takes glass; raises `NotRecorded`.

    Nothing is told of a plan that the store does not know.
    """
    if records and states_of(connection, earlier):
        apply_records(connection, [Told(record, f"{record.plan}.record.json") for record in records], because)
    states = states_of(connection, earlier)
    events = [
        flawed_event(earlier, number, Teller(at=because.at, who=because.who, note=why))
        for number, why in sorted(told.flawed.items())
        if states.get(number) is SheetState.RESERVED
    ]
    _, known = happened_in_store(connection, earlier)
    for number, flaws in sorted(told.flaws.items()):
        if states.get(number) is SheetState.RESERVED:
            teller, begun = Teller(at=because.at, who=because.who), number in told.half
            events += [
                flawed_event(earlier, number, teller, flaw=flaw, begun=begun)
                for flaw in flaws
                if flaw not in known.flaws.get(number, ())
            ]
    _apply(connection, earlier, events, because)


def tell_after(connection: Connection, plan: Plan, told: Happened, because: Because) -> None:
    """What was cut and what broke, of the plan that stands now; raises `NotRecorded`.

    A sheet on which a break ran off is cut: what is left of it are pieces of their own. Of a sheet for which the
    store has no glass nothing is set down.
    """
    states = states_of(connection, plan)
    done = done_state(connection, plan_now(connection, plan.id))
    teller = Teller(at=because.at, who=because.who)
    there = sorted(n for n, state in states.items() if state is SheetState.RESERVED)
    off = {piece.sheet for piece in told.pieces}
    cut = [n for n in there if n in told.cut and n not in off]
    gone = [name for name, sheet in offcuts_by_sheet(plan).items() if name in told.gone and sheet in cut]
    events = cut_events(plan, done, cut, teller, offcuts=Offcuts(thrown=gone))
    events += cut_events(plan, done, [n for n in there if n in off], teller, offcuts=Offcuts(later=True))
    on = panels_by_sheet(plan)
    for panel, step in sorted(told.broken.items()):
        if panel in on:
            events += broken_events(plan, done, [panel], step, teller)
    _apply(connection, plan, events, because)


def _apply(connection: Connection, plan: Plan, events: list[Event], because: Because) -> None:
    if events:
        apply_events(connection, Record(plan=plan.id, events=tuple(events)), because, source=plan.id)
