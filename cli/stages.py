"""How far long work is that goes in stages of counted tasks: a bar on a terminal, now and then a line elsewhere."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

from panewright.cli.output import err
from panewright.nesting.text import tr

SAID_EVERY: Final = 20.0
"""Time between two lines where there is no terminal. [s]"""
Told = Callable[[str, int, int], None]
"""Told the stage, how many of its tasks are done, and of how many."""


@contextmanager
def stages() -> Iterator[Told]:
    """Show how far the stages are, on stderr; nothing is left there at the end."""
    if not sys.stderr.isatty():
        yield _lines()
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        known: dict[str, object] = {}

        def told(stage: str, done: int, total: int) -> None:
            if stage not in known:
                known[stage] = bar.add_task(stage, total=total)
            bar.update(known[stage], completed=done, total=total)  # type: ignore[arg-type]

        yield told


def _lines() -> Told:
    last = time.monotonic()

    def told(stage: str, done: int, total: int) -> None:
        nonlocal last
        now = time.monotonic()
        if now - last >= SAID_EVERY:
            last = now
            err(tr("{stage}: {done} of {total}", stage=stage, done=done, total=total))

    return told
