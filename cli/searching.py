"""Runs the planner against the clock, shows how far it is, and stops at Ctrl-C with the best plan."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from types import FrameType, TracebackType
from typing import TYPE_CHECKING, Any, Final, Protocol, Self

from panewright.cli.output import err
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import show_money

if TYPE_CHECKING:
    from panewright.nesting.plan import Plan
    from panewright.nesting.planner import GlassProgress

SHOWN_EVERY: Final = 0.25
"""Least time between two pictures of the progress on a terminal. [s]"""
SAID_EVERY: Final = 30.0
"""Time between two lines of progress where there is no terminal. [s]"""


class Searches(Protocol):
    """What is needed of a planner."""

    def start(self) -> None:
        """Make the first whole plan."""

    def advance(self) -> bool:
        """Search one slice; false when there is nothing left to search."""

    def progress(self) -> list[GlassProgress]:
        """How far each glass is."""

    def finish(self, stopped_by: str) -> Plan:
        """The best plan, with the reason why the search ended."""


@dataclass(frozen=True, slots=True)
class Limit:
    """When the search ends: after seconds of the clock, or after counted steps (then `seconds` is None)."""

    seconds: float | None = None
    effort: int | None = None


class Interrupt:
    """Takes Ctrl-C within its block: the first asks for the end, the second raises KeyboardInterrupt."""

    def __init__(self) -> None:
        self.asked = False
        self._before: Any = None
        self._armed = False

    def __enter__(self) -> Self:
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGINT, self._take)
            self._armed = True
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._armed:
            signal.signal(signal.SIGINT, self._before or signal.SIG_DFL)
            self._armed = False

    def _take(self, number: int, frame: FrameType | None) -> None:
        if self.asked:
            raise KeyboardInterrupt
        self.asked = True


class CompileNotice:
    """Says once that the optimizer is being compiled, when it is; nothing where it comes from the cache."""

    def __init__(self) -> None:
        self.passes = 0

    @contextmanager
    def watch(self) -> Iterator[Callable[[], bool]]:
        """A block in which compiling is noticed; what it gives says whether there was any."""
        before = self.passes
        with self._listening():
            yield lambda: self.passes > before

    def _listening(self) -> AbstractContextManager[object]:
        try:
            from numba.core import event
        except ImportError:  # its place may change in a later numba: then there is no notice
            return nullcontext()
        notice = self

        class Listener(event.Listener):
            def on_start(self, event: object) -> None:
                notice.passed()

            def on_end(self, event: object) -> None:
                """Nothing to do."""

        block: AbstractContextManager[object] = event.install_listener("numba:run_pass", Listener())
        return block

    def passed(self) -> None:
        """Count one pass of the compiler; say so at the first."""
        self.passes += 1
        if self.passes == 1:
            err(tr("preparing the optimizer, once; this takes up to a minute ..."))


def search(
    planner: Searches,
    limit: Limit,
    *,
    currency: str,
    panels: int,
    notice: CompileNotice | None = None,
    stops_at: Callable[[float, float], None] | None = None,
    clock: Callable[[], float] = time.monotonic,
) -> Plan:
    """Start the planner, let it search until the limit or Ctrl-C, and take its plan.

    Parameters
    ----------
    planner
        Not yet started.
    limit
        Seconds count from the first whole plan on when the optimizer had to be compiled for it.
    currency, panels
        For the messages.
    notice
        Of this run, so that compiling is announced once.
    stops_at
        Is told the limit and the seconds so far before each slice.
    clock
        Counts seconds.

    Raises
    ------
    KeyboardInterrupt
        At the second Ctrl-C.
    """
    notice = notice or CompileNotice()
    err(_opening(panels, limit))
    with Interrupt() as interrupt:
        began = clock()
        with notice.watch() as seen:
            planner.start()
        if seen():
            began = clock()
        with _progress(currency) as show:
            stopped_by = "search ended"
            while True:
                if interrupt.asked:
                    stopped_by = "interrupt"
                    break
                if limit.seconds is not None:
                    spent = clock() - began
                    if spent >= limit.seconds:
                        stopped_by = "time"
                        break
                    if stops_at is not None:
                        stops_at(limit.seconds, spent)
                if not planner.advance():
                    break
                show(planner.progress, clock())
        plan = planner.finish(stopped_by)
    if stopped_by == "interrupt":
        err(tr("interrupted; the best plan so far is kept"))
    return plan


def _opening(panels: int, limit: Limit) -> str:
    if limit.seconds is None:
        return tr_count(
            "searching: {count} panel, {effort} steps",
            "searching: {count} panels, {effort} steps",
            panels,
            effort=limit.effort,
        )
    return tr_count(
        "searching: {count} panel, {seconds} s at most; Ctrl-C keeps the best plan so far",
        "searching: {count} panels, {seconds} s at most; Ctrl-C keeps the best plan so far",
        panels,
        seconds=local_number(f"{limit.seconds:g}"),
    )


Show = Callable[[Callable[[], "Sequence[GlassProgress]"], float], None]


def _progress(currency: str) -> AbstractContextManager[Show]:
    return _Live(currency) if sys.stderr.isatty() else _Lines(currency)


class _Lines:
    """A line now and then, for logs."""

    def __init__(self, currency: str) -> None:
        self.currency = currency
        self.next: float | None = None

    def __enter__(self) -> Show:
        return self.show

    def __exit__(self, *_: object) -> None:
        """Nothing to close."""

    def show(self, progress: Callable[[], Sequence[GlassProgress]], now: float) -> None:
        if self.next is None:
            self.next = now + SAID_EVERY
        if now >= self.next:
            self.next = now + SAID_EVERY
            rows = progress()
            err(
                tr_count(
                    "so far: {count} sheet, {cost}; bound {bound}",
                    "so far: {count} sheets, {cost}; bound {bound}",
                    sum(row.sheets for row in rows),
                    cost=show_money(sum(row.cost for row in rows), self.currency),
                    bound=show_money(sum(row.bound for row in rows), self.currency),
                )
            )


class _Live:
    """A small table that is drawn over itself, for a terminal."""

    def __init__(self, currency: str) -> None:
        from rich.console import Console
        from rich.live import Live

        self.currency = currency
        self.next = 0.0
        console = Console(stderr=True, markup=False, highlight=False, emoji=False)
        self.live = Live(console=console, auto_refresh=False, transient=True)

    def __enter__(self) -> Show:
        self.live.start()
        return self.show

    def __exit__(self, *_: object) -> None:
        self.live.stop()

    def show(self, progress: Callable[[], Sequence[GlassProgress]], now: float) -> None:
        if now < self.next:
            return
        from rich import box
        from rich.table import Table

        self.next = now + SHOWN_EVERY
        table = Table(box=box.SIMPLE)
        table.add_column(tr("glass"))
        for heading in (tr("sheets"), tr("cost"), tr("bound"), tr("steps"), ""):
            table.add_column(heading, justify="right")
        for row in progress():
            table.add_row(
                row.glass,
                str(row.sheets),
                show_money(row.cost, self.currency),
                show_money(row.bound, self.currency),
                local_number(f"{row.steps:,}"),
                tr("done") if row.done else "",
            )
        self.live.update(table, refresh=True)
