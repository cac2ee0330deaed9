"""What the commands of `record` share: the plan that is spoken of, taking what is told, and saying what came of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any, Final

import click
from sqlalchemy import Connection

from panewright.cli.failures import Exit, Failure
from panewright.cli.from_store import MOST_WHO, now, user
from panewright.cli.output import err, out, out_json
from panewright.cli.record_hits import (
    cut_over_flaws,
    cut_sheets,
    hit_lines,
    hits_in_store,
    marked_sheets,
    under_flaws,
)
from panewright.io.flaw_words import flaw_words
from panewright.io.numbers_text import length
from panewright.io.plan_reader import load, loads
from panewright.io.problems import Problems, shown
from panewright.io.record_code import Done
from panewright.io.record_file import Event, Record, What
from panewright.io.record_folder import DEVICE, FolderRecords, plan_path, records_in
from panewright.io.record_making import Teller
from panewright.io.record_state import happened_of
from panewright.io.store.address import address_of, found_address
from panewright.io.store.engine import Store, open_store
from panewright.io.store.events import Refused
from panewright.io.store.happening import done_state
from panewright.io.store.ledger import Because
from panewright.io.store.outcomes import Outcome
from panewright.io.store.plan_lists import plan_text
from panewright.io.store.recording import Applied, NotRecorded, Told, apply_records
from panewright.io.store.subjects import PlanNow, plan_now
from panewright.nesting.flaws import Flaw
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show_size, style_for, use_style

SHOWN: Final = 40
"""Lines about single events; the rest is counted."""
SHOWN_ID: Final = 12
"""Letters of an event id that are shown; `record undo` takes the beginning of one, JSON has all."""
Maker = Callable[[Plan, Done], Sequence[Event]]
"""Events made of the plan that stands and what is known of it."""


@dataclass(slots=True, kw_only=True)
class Telling:
    """What every command of `record` is given.

    Parameters
    ----------
    stock
        Address of the store as typed, or None.
    who, note
        As typed.
    at
        When it happened.
    as_json
        One JSON object instead of lines.
    """

    stock: str | None
    who: str
    note: str
    at: datetime
    as_json: bool
    _named: bool = False

    @property
    def teller(self) -> Teller:
        """Who says it, for events."""
        return Teller(at=self.at, who=self.who, note=self.note)

    @property
    def because(self) -> Because:
        """The same for movements."""
        return Because(at=self.at, who=self.who, why=self.note)

    def address(self) -> str | None:
        """Where the store is, if there is one; a line on stderr names one that was not typed."""
        found = self.stock or found_address()
        if found is not None and self.stock is None and not self._named:
            self._named = True
            err(tr("stock: {store}", store=address_of(found)))
        return found


def read_time(ctx: click.Context, parameter: click.Parameter, value: str | None) -> datetime | None:
    """A time such as ``2027-03-08T09:41``, ``2027-03-08`` or ``09:41`` of today, in the zone of this machine."""
    if value is None:
        return None
    text = value.strip()
    try:
        if len(text) <= len("09:41:00") and ":" in text:
            at = datetime.combine(now().date(), time.fromisoformat(text))
        elif len(text) == len("2027-03-08"):
            # the middle of the day: so it stays that day in the zones around
            at = datetime.combine(date.fromisoformat(text), time(12))
        else:
            at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or not 2000 <= at.year < 2100:
        raise click.BadParameter(
            tr("write a time as in 2027-03-08T09:41, 2027-03-08 or 09:41"), ctx, parameter
        )
    return at if at.tzinfo is not None else at.astimezone()


def telling(stock: str | None, who: str | None, note: str, at: datetime | None, as_json: bool) -> Telling:
    """What a command line says of itself."""
    name = "".join(c for c in who or "" if c.isprintable()).strip()[:MOST_WHO] or user()
    return Telling(stock=stock, who=name, note=note, at=at or now(), as_json=as_json)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a plan is: its id in a store, or its folder."""

    plan: str
    folder: Path | None


def place_of(text: str) -> Place:
    """The plan that a word on the command line means: a plan file, a folder with one, or an id."""
    path = Path(text)
    if path.exists():
        return Place(load(plan_path(path))[0].id, path)
    return Place(text.upper(), None)


def record_events(told: Telling, place: Place, maker: Maker) -> Exit:
    """Take events about one plan: into the store where it is known, else into its folder."""
    address = told.address()
    if address is not None:
        with asked(told, address) as (_, connection):
            try:
                plan = plan_now(connection, place.plan)
            except Refused as error:
                if place.folder is None or told.stock is not None:
                    raise Failure(f"{error.reason}; {error.remedy}", Exit.INPUT) from None
                plan = None
            if plan is not None:
                record = _made(connection, plan, maker)
                source = tr("plan {plan}", plan=plan.id)
                applied = apply_records(connection, [Told(record, source)], told.because)
                return say_applied(told, connection, applied)
        err(not_in_store(place.plan))
    if place.folder is None:
        raise no_store()
    return _into_folder(told, place.folder, maker)


def _made(connection: Connection, plan: PlanNow, maker: Maker) -> Record:
    stands = loads(plan_text(connection, plan.id))
    use_style(style_for(stands.length_unit))
    events = maker(stands, done_state(connection, plan))
    return Record(plan=plan.id, device=DEVICE, events=tuple(_in_turn(events)))


def _in_turn(events: Sequence[Event]) -> list[Event]:
    """The events of one call, each a microsecond after the one before it: so their order stays known."""
    return [replace(event, at=event.at + timedelta(microseconds=k)) for k, event in enumerate(events)]


def not_in_store(plan: str) -> str:
    """What is said where a folder keeps the record of a plan that was never committed."""
    return tr("the store does not have plan {plan}: its folder keeps the record", plan=plan)


def no_store() -> Failure:
    """There is neither a store nor a folder."""
    return Failure(
        tr("there is no stock store here; give --stock stock.db, or the folder of the plan"), Exit.USAGE
    )


@contextmanager
def opened(stock: str | None) -> Iterator[Connection]:
    """The store to read from: the one that was typed, else the one that is found."""
    address = stock or found_address()
    if address is None:
        raise Failure(tr("there is no stock store here; give --stock stock.db"), Exit.USAGE)
    if stock is None:
        err(tr("stock: {store}", store=address_of(address)))
    with open_store(address) as store, store.reading() as connection:
        yield connection


@contextmanager
def asked(told: Telling, address: str) -> Iterator[tuple[Store, Connection]]:
    """A writing transaction; what is wrong with a record is told, and nothing of it kept."""
    try:
        with open_store(address) as store, store.writing() as connection:
            yield store, connection
    except NotRecorded as error:
        for line in error.problems.lines():
            err(line)
        if told.as_json:
            out_json({"exit_code": int(Exit.INPUT), **error.problems.to_json()})
        raise Failure(
            tr("errors: {count}; nothing was recorded", count=error.problems.error_count), Exit.INPUT
        ) from None


def folder_records(path: Path) -> FolderRecords:
    """The records beside a plan; one that cannot be read ends the run."""
    problems = Problems()
    found = records_in(path, load(plan_path(path))[0], problems)
    if problems:
        for line in problems.lines():
            err(line)
        raise Failure(tr("errors: {count}; nothing was recorded", count=problems.error_count), Exit.INPUT)
    return found


def _into_folder(told: Telling, folder: Path, maker: Maker) -> Exit:
    before = folder_records(folder)
    use_style(style_for(before.plan.length_unit))
    events = _in_turn(maker(before.plan, before.done))
    keep_in_folder(told, before, events)
    return Exit.DONE


def keep_in_folder(told: Telling, before: FolderRecords, events: Sequence[Event]) -> None:
    """Add events to the record file of a folder, and say so."""
    after = before.with_events(events)
    fresh = [e for e in events if e.id not in {b.id for b in before.events}]
    happened = happened_of(after.records.values())
    notes, _ = hit_lines(before.plan, happened.flaws, marked_sheets(fresh))
    notes += under_flaws(cut_over_flaws(before.plan, happened, cut_sheets(fresh)))
    path = None
    if fresh:
        try:
            path = after.write()
        except OSError as error:
            raise Failure(
                tr(
                    "{folder} cannot be written to ({reason})",
                    folder=shown(before.folder, 300),
                    reason=error.strerror or type(error).__name__,
                ),
                Exit.USAGE,
            ) from None
    if told.as_json:
        out_json(
            {
                "exit_code": int(Exit.DONE),
                "plan": before.plan.id,
                "file": None if path is None else str(path),
                "events": [event_json(e) for e in fresh],
                "unsaid": [{"sheet": n, "offcut": name} for n, name in after.unsaid()],
                "notes": notes,
            }
        )
        return
    for line in _cut_short([event_words(e) for e in fresh]):
        out(line)
    for note in notes:
        out(note)
    if path is None:
        out(tr("Nothing new: all of it was recorded before."))
    else:
        out(tr("Written to {file}.", file=shown(path, 300)))
    _unsaid_lines([(before.plan.id, n, name) for n, name in after.unsaid()])


def say_applied(told: Telling, connection: Connection, applied: Applied, notes: Sequence[str] = ()) -> Exit:
    """What came of records in the store; the exit code, 1 where a sheet has lost its glass."""
    code = Exit.LEFT_OVER if applied.stranded else Exit.DONE
    hit, to_remake = hits_in_store(connection, applied)
    notes = [*notes, *hit]
    if told.as_json:
        out_json({"exit_code": int(code), **applied_json(applied, notes), "to_remake": to_remake})
        return code
    for line in _cut_short([_outcome_words(outcome) for outcome in applied.outcomes]):
        out(line)
    for note in notes:
        out(note)
    if not applied.outcomes:
        out(tr("Nothing new: all of it was recorded before."))
    elif applied.known:
        out(
            tr_count(
                "{count} event was recorded before.", "{count} events were recorded before.", applied.known
            )
        )
    for old, plan in applied.plans.items():
        if old != plan:
            out(tr("Plan {plan} stands in the place of plan {old} now.", plan=plan, old=old))
    _unsaid_lines(applied.unsaid)
    for plan, number in applied.stranded:
        out(tr("Sheet {number} of plan {plan} has no glass now.", plan=plan, number=number))
    for plan in to_remake:
        out(tr("Plan again what is missing: panewright remake {plan}", plan=plan))
    return code


def _cut_short(lines: Sequence[str]) -> list[str]:
    more = len(lines) - SHOWN
    return list(lines) if more <= 0 else [*lines[:SHOWN], tr("and {count} more", count=more)]


def _unsaid_lines(unsaid: Sequence[tuple[str, int, str]]) -> None:
    if unsaid:
        names = ", ".join(_cut_short([shown(name, 80) for _, _, name in unsaid]))
        out(tr("Kept or thrown? Nothing is recorded yet of: {names}.", names=names))


def _short(key: str) -> str:
    """The beginning of an id, which is enough to name it."""
    return shown(key[:SHOWN_ID], SHOWN_ID)


def event_words(event: Event) -> str:
    """An event on one line, with its id."""
    parts = [tr("sheet {number}", number=event.sheet)] if event.sheet is not None else []
    if event.panel is not None:
        parts.append(tr("panel {panel}", panel=shown(event.panel, 160)))
    if event.offcut is not None:
        parts.append(tr("offcut {name}", name=shown(event.offcut, 80)))
    said = tr(event.what.value)
    if event.at_step is not None:
        said = tr("{what} at {step}", what=said, step=tr(event.at_step.value))
    if event.size is not None:
        said = tr("{what}, measures {size}", what=said, size=show_size(*event.size))
    if event.flaw is not None:
        flaw = flaw_words(Flaw(*event.flaw, event.kind))
        said = tr("{what}, {flaw}", what=said, flaw=flaw)
    if event.undoes is not None:
        said = tr("{what} ({id})", what=said, id=_short(event.undoes))
    return tr("{subject}: {what}  [{id}]", subject=", ".join(parts) or "-", what=said, id=_short(event.id))


def _outcome_words(outcome: Outcome) -> str:
    line = event_words(outcome.event)
    if outcome.item is not None and outcome.replan:
        line = tr("{line}; its number is {item} now", line=line, item=shown(outcome.item, 80))
    elif outcome.item is not None and outcome.event.what is What.SHEET_FLAWED:
        line = tr("{line}; now offcut {item}", line=line, item=shown(outcome.item, 80))
    elif outcome.item is not None and outcome.event.what in (What.SHEET_CUT, What.PANEL_BROKEN):
        line = tr("{line}; cut from {item}", line=line, item=shown(outcome.item, 80))
    if not outcome.changed and not outcome.notes:
        line = tr("{line}; nothing changed", line=line)
    return "; ".join([line, *(shown(note, 300) for note in outcome.notes)])


def event_json(event: Event) -> dict[str, Any]:
    return {
        "id": event.id,
        "at": event.at.isoformat(),
        "what": event.what.value,
        "sheet": event.sheet,
        "panel": event.panel,
        "at_step": None if event.at_step is None else event.at_step.value,
        "offcut": event.offcut,
        "size": None if event.size is None else [length(v) for v in event.size],
        "flaw": None if event.flaw is None else [length(v) for v in event.flaw],
        "kind": event.kind,
        "undoes": event.undoes,
        "who": event.who,
        "note": event.note,
    }


def applied_json(applied: Applied, notes: Sequence[str] = ()) -> dict[str, Any]:
    """For programs."""
    return {
        "plans": applied.plans,
        "events": [
            {
                **event_json(x.event),
                "plan": x.plan,
                "changed": x.changed,
                "item": x.item,
                "notes": list(x.notes),
            }
            for x in applied.outcomes
        ],
        "known": applied.known,
        "notes": list(notes),
        "unsaid": [{"plan": p, "sheet": n, "offcut": name} for p, n, name in applied.unsaid],
        "without_glass": [f"{plan}.{number}" for plan, number in applied.stranded],
        "to_remake": applied.to_remake,
    }
