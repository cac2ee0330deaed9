"""What a folder holds before anything is written to it: a plan, its files, its records, other things."""

from __future__ import annotations

import hashlib
import json
import re
import stat
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from panewright.io.event_standing import standing
from panewright.io.file_names import PLAN_FILE, RECORD_ENDING, is_plan_id, is_safe_name

CONTENTS_SCHEMA: Final = "panewright.contents/1"
RECORD_SCHEMA: Final = "panewright.record/1"
MOST_BYTES: Final = 256 * 1024 * 1024
_NOISE: Final = frozenset({".ds_store", "thumbs.db", "desktop.ini", ".directory"})
"""Files that file managers leave behind."""
_CONTENTS: Final = re.compile(r"contents-(.{9})\.json")


@dataclass(frozen=True, slots=True)
class HeldPlan:
    """What a folder holds.

    Parameters
    ----------
    plan_id
        Id in its ``plan.json``; None where there is none or it cannot be read.
    unreadable_plan
        There is a ``plan.json``, but it is no plan file.
    own
        Names of files that earlier runs wrote and that may be removed.
    foreign
        Names of everything else.
    cut_sheets
        Numbers of the sheets of the held plan that a record calls cut; 0 for one without a number.
    unreadable_records
        Names of record files that cannot be read.
    """

    plan_id: str | None = None
    unreadable_plan: bool = False
    own: tuple[str, ...] = ()
    foreign: tuple[str, ...] = ()
    cut_sheets: tuple[int, ...] = ()
    unreadable_records: tuple[str, ...] = ()

    @classmethod
    def look(cls, folder: Path) -> HeldPlan:
        """Look into a folder that exists; raises OSError where it cannot be read."""
        names = sorted(entry.name for entry in folder.iterdir() if entry.name.lower() not in _NOISE)
        plan = _load(folder / PLAN_FILE) if PLAN_FILE in names else None
        plan_id = _plan_id(plan)
        own = _own_files(folder, names, plan_id)
        line = _line_of(plan, plan_id)
        records = [name for name in names if name.lower().endswith(RECORD_ENDING)]
        loaded = {name: _load(folder / name) for name in records}
        broken = tuple(name for name, record in loaded.items() if not _is_record(record))
        return cls(
            plan_id=plan_id,
            unreadable_plan=PLAN_FILE in names and plan_id is None,
            own=tuple(sorted(own)),
            foreign=tuple(name for name in names if name not in own),
            cut_sheets=_cut_sheets((r for r in loaded.values() if _is_record(r)), line),
            unreadable_records=broken,
        )


def contents_text(plan_id: str, files: dict[str, bytes]) -> str:
    """The list of files of a plan, as JSON: name and SHA-256, sorted."""
    listed = [{"name": name, "sha256": hashlib.sha256(files[name]).hexdigest()} for name in sorted(files)]
    return json.dumps({"schema": CONTENTS_SCHEMA, "plan": plan_id, "files": listed}, indent=1) + "\n"


def _load(path: Path) -> Any:
    """The JSON in a regular file, or None where that is not what it is."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode) or found.st_size > MOST_BYTES:
            return None
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None


def _plan_id(plan: Any) -> str | None:
    if not isinstance(plan, dict) or not str(plan.get("schema", "")).startswith("panewright.plan/"):
        return None
    return plan["plan"] if is_plan_id(plan.get("plan")) else None


def _line_of(plan: Any, plan_id: str | None) -> frozenset[str]:
    """The plan and those that it follows: a record of any of them speaks of its sheets."""
    if plan_id is None:
        return frozenset()
    follows = plan.get("follows", [])
    earlier = follows if isinstance(follows, list) else [follows]
    return frozenset([plan_id, *(name for name in earlier if is_plan_id(name))])


def _own_files(folder: Path, names: list[str], plan_id: str | None) -> set[str]:
    """Files that we wrote: by the lists in the folder, else those that bear the plan's id.

    Records are never ours to remove, whatever a list says.
    """
    own: set[str] = set()
    listed: set[str] = set()
    for name in names:
        match = _CONTENTS.fullmatch(name)
        contents = _load(folder / name) if match else None
        if match is None or not isinstance(contents, dict) or contents.get("schema") != CONTENTS_SCHEMA:
            continue
        own.add(name)
        listed.add(match[1])
        files = contents.get("files")
        for entry in files if isinstance(files, list) else ():
            found = entry.get("name") if isinstance(entry, dict) else None
            if isinstance(found, str) and match[1] in found:
                own.add(found)
    if plan_id is not None:
        own.add(PLAN_FILE)
        if plan_id not in listed:
            own.update(name for name in names if plan_id in name)
    return {
        name
        for name in own & set(names)
        if is_safe_name(name)
        and not name.lower().endswith(RECORD_ENDING)
        and not (folder / name).is_symlink()
        and (folder / name).is_file()
    }


def _is_record(record: Any) -> bool:
    return (
        isinstance(record, dict)
        and record.get("schema") == RECORD_SCHEMA
        and isinstance(record.get("events"), list)
        and all(isinstance(event, dict) for event in record["events"])
    )


def _cut_sheets(records: Iterable[dict[str, Any]], line: frozenset[str]) -> tuple[int, ...]:
    """Sheets that records of these plans call cut, with no standing event that undoes it."""
    events: dict[str, dict[str, Any]] = {}
    for record in records:
        if record.get("plan") in line:
            for index, event in enumerate(record["events"]):
                events.setdefault(str(event.get("id", f"no id {len(events)}.{index}")), event)
    stands = standing(
        {
            key: str(event.get("undoes")) if event.get("what") == "undone" else None
            for key, event in events.items()
        }
    )
    cut = {
        event["sheet"] if isinstance(event.get("sheet"), int) else 0
        for key, event in events.items()
        if event.get("what") == "sheet cut" and stands[key]
    }
    return tuple(sorted(cut))
