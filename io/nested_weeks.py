"""Plans of past weeks are kept between runs: the next look ahead nests only what is new.

Kept is what a plan took, under a hash of all that it was made of: shapes, stock, prices, rules, effort, seed and
the sources of the optimizer. The same answer would come again, only later.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Final

from panewright.io.kernel_cache import SOURCES, hash_of, private_folder
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.renest import WeekTask

FILE: Final = "weeks.jsonl"
MOST_BYTES: Final = 50_000_000
_ALL: Final = (*SOURCES, "panewright.nesting", "panewright.nesting.week_sheets", "panewright.nesting.demand")


@dataclass(slots=True)
class NestedWeeks:
    """What is known of weeks that were nested before; `path` is None where nothing can be kept."""

    path: Path | None
    known: dict[str, dict[str, object]] = field(default_factory=dict)

    @classmethod
    def found(cls) -> NestedWeeks:
        """What this user's earlier runs left, of this very program."""
        folder = private_folder(f"weeks-{hash_of(_ALL)[:16]}")
        return cls.read(None if folder is None else folder / FILE)

    @classmethod
    def read(cls, path: Path | None) -> NestedWeeks:
        """What a file holds; lines that are no whole entries are passed over, as a run that was killed leaves them."""
        out = cls(path)
        try:
            text = "" if path is None or path.stat().st_size > MOST_BYTES else path.read_text("utf-8")
        except (OSError, UnicodeDecodeError):
            return out
        for line in text.splitlines():
            with contextlib.suppress(ValueError, TypeError, KeyError):
                entry = json.loads(line)
                _count_of(entry["count"])
                out.known[str(entry["key"])] = entry["count"]
        return out

    def recall(self, tasks: Iterable[WeekTask]) -> dict[tuple[int, str], WeekCount]:
        """Counts of the weeks that are known, by week and glass."""
        found = {}
        for task in tasks:
            kept = self.known.get(key_of(task)) if len(task.weeks) == 1 and task.carry is None else None
            if kept is not None:
                week = task.weeks[0][0]
                found[week, task.glass] = replace(_count_of(kept), week=week, glass=task.glass)
        return found

    def keep(self, tasks: Iterable[WeekTask], counts: dict[tuple[int, str], WeekCount]) -> None:
        """Keep what was not known yet; where it cannot be written it is only slower the next time."""
        lines = []
        for task in tasks:
            if len(task.weeks) != 1 or task.carry is not None:
                continue
            count, key = counts.get((task.weeks[0][0], task.glass)), key_of(task)
            if count is not None and key not in self.known:
                self.known[key] = asdict(count)
                lines.append(json.dumps({"key": key, "count": asdict(count)}, separators=(",", ":")) + "\n")
        if not lines or self.path is None:
            return
        with contextlib.suppress(OSError):
            full = self.path.exists() and self.path.stat().st_size > MOST_BYTES
            with self.path.open("w" if full else "a", encoding="utf-8", newline="\n") as file:
                file.write("".join(lines))


def key_of(task: WeekTask) -> str:
    """What a task is made of, its week left out: the same panels in another week give the same sheets."""
    made_of = (task.glass, [kinds for _, kinds in task.weeks], task.stock, task.rules, task.effort, task.seed)
    return hashlib.sha256(repr(made_of).encode()).hexdigest()


def _count_of(kept: dict[str, object]) -> WeekCount:
    """A count out of a file; raises where it is none."""
    count = WeekCount(**kept)  # type: ignore[arg-type]
    numbers = (count.cut, count.sheet, count.cost, count.bound, count.offcuts, count.unplaced)
    sheets = dict(count.sheets)
    if not all(type(n) is int and n >= 0 for n in (*numbers, *sheets.values())):
        raise ValueError("no count")
    return replace(count, sheets=sheets)
