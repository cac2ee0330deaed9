"""The records that lie beside a plan: what they tell together, and a file of our own to add to."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from panewright.io.file_names import PLAN_FILE, RECORD_ENDING
from panewright.io.problems import Problems
from panewright.io.record_code import Done
from panewright.io.record_file import Event, Record, What, load_record, record_text
from panewright.io.record_making import offcuts_by_sheet, panels_by_sheet
from panewright.io.work_folder import move
from panewright.nesting.kept import line_ids
from panewright.nesting.plan import Plan
from panewright.nesting.text import tr

DEVICE: Final = "command line"


@dataclass(frozen=True, slots=True)
class FolderRecords:
    """What the records in a folder tell of its plan.

    Parameters
    ----------
    folder
        Where they lie.
    plan
        The plan there.
    records
        By file name; those of other plans are left out.
    """

    folder: Path
    plan: Plan
    records: Mapping[str, Record]

    @property
    def events(self) -> list[Event]:
        """All events once, by their time; of equal times as the files hold them."""
        found: dict[str, Event] = {}
        for record in self.records.values():
            for event in record.events:
                found.setdefault(event.id, event)
        return sorted(found.values(), key=lambda event: event.at)

    @property
    def merged(self) -> Record:
        """All of them as one record."""
        return Record(plan=self.plan.id, device=DEVICE, events=tuple(self.events))

    @property
    def done(self) -> Done:
        """What is cut, broken, kept and thrown."""
        return self.merged.done()

    @property
    def cut_in_order(self) -> list[int]:
        """Numbers of the cut sheets, in the order in which they were."""
        done = self.done.sheets
        told = (e.sheet for e in self.events if e.what is What.SHEET_CUT)
        known = {x.number for x in self.plan.layouts}
        return list(dict.fromkeys(n for n in told if n is not None and n in done and n in known))

    def unsaid(self) -> list[tuple[int, str]]:
        """Offcuts of cut sheets of which nothing is told yet: sheet and number."""
        done = self.done
        return [
            (sheet, name)
            for name, sheet in offcuts_by_sheet(self.plan).items()
            if sheet in done.sheets and name not in done.offcuts
        ]

    def with_events(self, events: Sequence[Event]) -> FolderRecords:
        """The same with more events in the file of our own."""
        name = own_name(self.plan)
        before = self.records.get(name) or Record(plan=self.plan.id, device=DEVICE)
        known = {event.id for event in self.events}
        fresh = tuple(event for event in events if event.id not in known)
        mine = replace(before, events=before.events + fresh)
        return replace(self, records={**self.records, name: mine})

    def write(self) -> Path:
        """Write the file of our own, wholly or not at all; raises OSError."""
        name = own_name(self.plan)
        return write_record(self.folder / name, self.records[name])


def check_events(plan: Plan, record: Record, source: str, problems: Problems) -> None:
    """Name every event whose sheet, panel or offcut the plan does not have."""
    sheets = {x.number for x in plan.layouts}
    panels, offcuts = panels_by_sheet(plan), offcuts_by_sheet(plan)
    for number, event in enumerate(record.events):
        wrong = ""
        if event.sheet is not None and event.sheet not in sheets:
            wrong = tr("plan {plan} has no sheet {number}", plan=plan.id, number=event.sheet)
        elif event.panel is not None and panels.get(event.panel) != event.sheet:
            wrong = tr("plan {plan} has no {what}", plan=plan.id, what=tr("panel {panel}", panel=event.panel))
        elif event.offcut is not None and offcuts.get(event.offcut) != event.sheet:
            wrong = tr("plan {plan} leaves no offcut {name}", plan=plan.id, name=event.offcut)
        if wrong:
            remedy = tr("look at the drawing of the sheet")
            problems.add(source, wrong, remedy, column=f"events[{number}]", value=event.what.value)


def own_name(plan: Plan) -> str:
    """Name of the record file that the command line adds to."""
    return f"{plan.id}{RECORD_ENDING}"


def records_in(path: Path, plan: Plan, problems: Problems) -> FolderRecords:
    """The records beside a plan.

    Parameters
    ----------
    path
        The plan file, or the folder that holds it.
    plan
        The plan.
    problems
        Gets every record that cannot be read.
    """
    folder = path if path.is_dir() else path.parent
    line = line_ids(plan)
    found = {}
    names = sorted(p.name for p in folder.iterdir() if p.name.lower().endswith(RECORD_ENDING))
    for name in names:
        record = load_record(folder / name, problems)
        if record is not None and record.plan in line:
            found[name] = record
    return FolderRecords(folder, plan, found)


def record_paths(path: Path) -> list[Path]:
    """The record files that a name on the command line means: itself, or all in a folder."""
    if not path.is_dir():
        return [path]
    return sorted(p for p in path.iterdir() if p.name.lower().endswith(RECORD_ENDING))


def plan_path(path: Path) -> Path:
    """The plan file of a folder, or the file itself."""
    return path / PLAN_FILE if path.is_dir() else path


def write_record(path: Path, record: Record) -> Path:
    """Write a record file beside its name first and put it in place by one rename; raises OSError."""
    part = path.with_name(f".{path.name[:100]}.{secrets.token_hex(4)}.tmp")
    try:
        with part.open("xb") as file:
            file.write(record_text(record).encode())
            file.flush()
            os.fsync(file.fileno())
        move(part, path)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    return path
