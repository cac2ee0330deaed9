"""Record files and codes come in: into the store, or into the folder of their plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from panewright.cli.failures import Exit, Failure
from panewright.cli.output import err, out_json
from panewright.cli.recording import (
    Telling,
    asked,
    folder_records,
    keep_in_folder,
    no_store,
    not_in_store,
    place_of,
    say_applied,
)
from panewright.io.problems import Problems, shown
from panewright.io.record_code import decode, plan_of_code
from panewright.io.record_file import Event, load_record
from panewright.io.record_folder import FolderRecords, check_events, record_paths
from panewright.io.record_making import Measured, Offcuts, broken_events, cut_events, offcut_events
from panewright.io.store.code_events import events_of_code
from panewright.io.store.engine import open_store
from panewright.io.store.events import Refused
from panewright.io.store.happening import standing_plan
from panewright.io.store.recording import Told, apply_records
from panewright.nesting.kept import line_ids
from panewright.nesting.text import tr


def read_files(told: Telling, files: Sequence[Path], plan: str | None) -> Exit:
    """Take record files; on any error in any of them nothing is kept."""
    problems = Problems()
    records = []
    for path in (found for file in files for found in record_paths(file)):
        record = load_record(path, problems)
        if record is not None:
            records.append(Told(record, shown(path, 200)))
    if not records and not problems:
        problems.add(files[0], tr("there is no record file in it"), tr("give the file that the page saved"))
    _stop_at(told, problems)
    address, folder = where_to(told, plan)
    if address is not None:
        with asked(told, address) as (_, connection):
            return say_applied(told, connection, apply_records(connection, records, told.because))
    if folder is None:
        raise no_store()
    before = folder_records(folder)
    _same_line(before, records)
    for one in records:
        check_events(before.plan, one.record, one.source, problems)
    _stop_at(told, problems)
    keep_in_folder(told, before, [event for one in records for event in one.record.events])
    return Exit.DONE


def _stop_at(told: Telling, problems: Problems) -> None:
    if not problems:
        return
    for line in problems.lines():
        err(line)
    if told.as_json:
        out_json({"exit_code": int(Exit.INPUT), **problems.to_json()})
    raise Failure(tr("errors: {count}; nothing was recorded", count=problems.error_count), Exit.INPUT)


def where_to(told: Telling, plan: str | None) -> tuple[str | None, Path | None]:
    """The store, or the folder where there is none or it does not have the plan there."""
    address = told.address()
    place = None if plan is None else place_of(plan)
    if place is None or place.folder is None:
        return address, None
    if address is not None and told.stock is None:
        with open_store(address) as store, store.reading() as connection:
            if standing_plan(connection, place.plan) is None:
                err(not_in_store(place.plan))
                address = None
    return address, place.folder


def _same_line(before: FolderRecords, records: Sequence[Told]) -> None:
    line = line_ids(before.plan)
    for one in records:
        if one.record.plan not in line:
            raise Failure(
                tr(
                    "{file}: the record is of plan {other}, and the folder holds plan {plan}",
                    file=one.source,
                    other=one.record.plan,
                    plan=before.plan.id,
                ),
                Exit.INPUT,
            )


def read_code(told: Telling, text: str, plan: str | None) -> Exit:
    """Take a code."""
    of = plan_of_code(text)
    address, folder = where_to(told, plan)
    if address is not None:
        with asked(told, address) as (_, connection):
            try:
                record, notes = events_of_code(connection, text, told.at)
            except Refused as error:
                raise Failure(f"{error.reason}; {error.remedy}", Exit.INPUT) from None
            applied = apply_records(
                connection, [Told(record, tr("code of plan {plan}", plan=of))], told.because
            )
            return say_applied(told, connection, applied, [shown(note, 400) for note in notes])
    if folder is None:
        raise no_store()
    before = folder_records(folder)
    keep_in_folder(told, before, _code_events(told, before, text))
    return Exit.DONE


def _code_events(told: Telling, before: FolderRecords, text: str) -> list[Event]:
    """What a code tells that no record in the folder does."""
    done, known = decode(before.plan, text), before.done
    teller = replace(told.teller, at=done.at or told.at)
    out = cut_events(before.plan, known, sorted(done.sheets), teller, offcuts=Offcuts(later=True))
    for panel, step in sorted(done.broken.items()):
        out += broken_events(before.plan, known, [panel], step, teller)
    for name, kept in sorted(done.offcuts.items()):
        if name not in known.offcuts:
            out += offcut_events(before.plan, known, [name], teller, kept=Measured() if kept else None)
    return out
