"""Plans of past weeks are kept between runs: the next look ahead nests only what is new.

Kept is what a plan took, under a hash of all that it was made of: shapes, stock, prices, rules, effort, seed and
the sources of the optimizer. The same answer would come again, only later.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from panewright.io.kernel_cache import SOURCES, hash_of, private_folder
from panewright.nesting.week_sheets.counts import WeekCount
from panewright.nesting.week_sheets.renest import WeekTask, nest_task

FILE: Final = "weeks.jsonl"
MOST_BYTES: Final = 50_000_000
_ALL: Final = (*SOURCES, "panewright.nesting", "panewright.nesting.week_sheets", "panewright.nesting.demand")


@dataclass(slots=True)
class NestedWeeks:
    """What is known of weeks that were nested before; `path` is None where nothing can be kept."""

    path: Path | None
    known: dict[str, dict[str, object]] = field(default_factory=dict)
    news: list[str] = field(default_factory=list)

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

    def recall(self, task: WeekTask) -> list[WeekCount] | None:
        """The counts of a task that was done before, or None."""
        if len(task.weeks) != 1 or task.carry is not None:
            return None
        kept = self.known.get(key_of(task))
        return None if kept is None else [replace(_count_of(kept), week=task.weeks[0][0], glass=task.glass)]

    def learn(self, task: WeekTask, counts: Sequence[WeekCount]) -> None:
        """Take up what a task has given; it is kept by `write`."""
        key = key_of(task)
        if len(task.weeks) == 1 and task.carry is None and key not in self.known:
            self.known[key] = asdict(counts[0])
            self.news.append(key)

    def write(self) -> None:
        """Keep what is new; where it cannot be written it is only slower the next time."""
        news, self.news = self.news, []
        if not news or self.path is None:
            return
        lines = [
            json.dumps({"key": key, "count": self.known[key]}, separators=(",", ":")) + "\n" for key in news
        ]
        with contextlib.suppress(OSError):
            full = self.path.exists() and self.path.stat().st_size > MOST_BYTES
            with self.path.open("w" if full else "a", encoding="utf-8", newline="\n") as file:
                file.write("".join(lines))


class Remembering(Executor):
    """Gives plans of weeks that are known at once, and has the others made by another executor.

    Parameters
    ----------
    inner
        Does what is not known; it is not shut down here.
    kept
        What is known; it learns what is done.
    """

    def __init__(self, inner: Executor, kept: NestedWeeks) -> None:
        self.inner, self.kept = inner, kept

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """The future of a call; of a plan that is known it is over already."""
        if fn is not nest_task:
            return self.inner.submit(fn, *args, **kwargs)
        task: WeekTask = args[0]
        known = self.kept.recall(task)
        if known is not None:
            future: Future[Any] = Future()
            future.set_result(known)
            return future
        future = self.inner.submit(fn, task)
        future.add_done_callback(lambda done: self._learn(task, done))
        return future

    def _learn(self, task: WeekTask, done: Future[Any]) -> None:
        if not done.cancelled() and done.exception() is None:
            self.kept.learn(task, done.result())


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
