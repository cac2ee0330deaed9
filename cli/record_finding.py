"""Which plan a panel, an offcut or an event on the command line is of."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
from sqlalchemy import Connection, select

from panewright.cli.failures import Exit, Failure
from panewright.cli.output import out, out_json
from panewright.cli.recording import (
    Place,
    Telling,
    event_json,
    event_words,
    folder_records,
    no_store,
    place_of,
)
from panewright.cli.tables import table
from panewright.io.event_standing import standing
from panewright.io.problems import shown
from panewright.io.record_file import Event, What
from panewright.io.record_making import LEAST_START
from panewright.io.store.engine import open_store
from panewright.io.store.events import Refused, stored
from panewright.io.store.schema import event as events
from panewright.io.store.schema import item, plan_panel
from panewright.io.store.schema import plan as plans
from panewright.io.store.subjects import plan_now
from panewright.nesting.ledger import PlanState
from panewright.nesting.text import tr


def place_of_panel(told: Telling, panel: str, plan: str | None) -> Place:
    """The plan that cuts a panel: the one that is named, else the only one in the store."""
    if plan is not None:
        return place_of(plan)
    p = plan_panel.c
    query = select(p.plan).join(plans, plans.c.id == p.plan).where(p.sheet.is_not(None))
    query = query.where(plans.c.state != PlanState.FOLLOWED.value)
    named = query.where((p.panel == panel) | p.panel.startswith(f"{panel}/", autoescape=True))
    return _only(told, tr("panel {panel}", panel=shown(panel, 160)), named)


def place_of_offcut(told: Telling, offcut: str, plan: str | None) -> Place:
    """The plan that leaves an offcut."""
    if plan is not None:
        return place_of(plan)
    query = select(item.c.made_plan).where(item.c.name == offcut, item.c.made_plan.is_not(None))
    return _only(told, tr("offcut {name}", name=shown(offcut, 80)), query)


def _only(told: Telling, what: str, query: Any) -> Place:
    address = told.address()
    if address is None:
        raise no_store_for(what)
    with open_store(address) as store, store.reading() as connection:
        found = sorted(set(connection.execute(query).scalars()))
    if not found:
        raise Failure(tr("no plan in the store has {what}; look at the label", what=what), Exit.INPUT)
    if len(found) > 1:
        raise click.UsageError(
            tr("{what} is in the plans {plans}; say which with --plan", what=what, plans=", ".join(found))
        )
    return Place(found[0], None)


def no_store_for(what: str) -> Failure:
    """Without a store somebody must say where a thing is."""
    return Failure(
        tr(
            "there is no stock store here, so say with --plan in which folder the plan with {what} is",
            what=what,
        ),
        Exit.USAGE,
    )


def event_to_undo(told: Telling, start: str, plan: str | None) -> tuple[Place, Event]:
    """The event whose id begins so, and the plan that it is of."""
    if len(start) < LEAST_START:
        raise click.UsageError(tr("give at least {count} letters of the id", count=LEAST_START))
    place = None if plan is None else place_of(plan)
    address = told.address()
    if address is not None:
        with open_store(address) as store, store.reading() as connection:
            query = select(events).where(events.c.id.startswith(start, autoescape=True)).limit(9)
            found = [stored(row) for row in connection.execute(query.order_by(events.c.id))]
        exact = [x for x in found if x.event.id == start] or found
        if exact or place is None or place.folder is None:
            one = _one_event(start, [x.event for x in exact])
            return Place(next(x.plan for x in exact if x.event is one), None), one
    if place is None or place.folder is None:
        raise no_store_for(tr("this event"))
    known = folder_records(place.folder).events
    exact_known = [e for e in known if e.id == start] or [e for e in known if e.id.startswith(start)]
    return place, _one_event(start, exact_known)


def _one_event(start: str, found: Sequence[Event]) -> Event:
    if not found:
        raise Failure(
            tr(
                "no event has an id that begins with {start}; see `panewright record list`",
                start=shown(start),
            ),
            Exit.INPUT,
        )
    if len(found) > 1:
        raise click.UsageError(tr("several ids begin with {start}; give more letters", start=shown(start)))
    return found[0]


def tell_events(told: Telling, plan: str) -> None:
    """Show everything that is recorded of a plan, and whether it stands."""
    place = place_of(plan)
    address = told.address()
    rows: list[tuple[Event, bool]] | None = None
    if address is not None:
        with open_store(address) as store, store.reading() as connection:
            rows = _in_store(connection, place.plan)
    if rows is None:
        if place.folder is None:
            if address is None:
                raise no_store()
            raise Failure(tr("the store has no plan {plan}", plan=shown(place.plan, 40)), Exit.INPUT)
        rows = _in_folder(place.folder)
    if told.as_json:
        out_json(
            {
                "exit_code": 0,
                "plan": place.plan,
                "events": [{**event_json(e), "stands": stands} for e, stands in rows],
            }
        )
        return
    if not rows:
        out(tr("Nothing is recorded of plan {plan}.", plan=place.plan))
        return
    out(
        table(
            tr("Recorded of plan {plan}", plan=place.plan),
            [tr("time"), tr("who"), tr("what"), tr("counts")],
            [
                [
                    event.at.astimezone().strftime("%Y-%m-%d %H:%M"),
                    event.who or "-",
                    event_words(event),
                    tr("yes") if stands else tr("undone"),
                ]
                for event, stands in rows
            ],
            left=4,
        )
    )


def _in_store(connection: Connection, name: str) -> list[tuple[Event, bool]] | None:
    try:
        now = plan_now(connection, name)
    except Refused:
        return None
    query = select(events).where(events.c.plan.in_(list(now.line))).order_by(events.c.at, events.c.id)
    return [(stored(row).event, row.stands) for row in connection.execute(query)]


def _in_folder(folder: Path) -> list[tuple[Event, bool]]:
    known = folder_records(folder).events
    stands = standing({e.id: e.undoes if e.what is What.UNDONE else None for e in known})
    return [(e, stands[e.id]) for e in known]
