"""Independent tasks on any executor, merged in their own order: the result is the same for any engine.

The tasks know nothing of one another and carry all that they need, their random stream included.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future
from queue import Empty, SimpleQueue
from typing import Any, Final, TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")
Progress = Callable[[int, int], None]
"""Told how many tasks are done, and of how many."""
WAKE: Final = 0.5
"""Seconds after which a wait is begun anew, so that a Ctrl-C is seen on every system."""


class Inline(Executor):
    """Does every task at once, where it is submitted."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """The future of a call that is over; an interrupt goes through."""
        future: Future[Any] = Future()
        future.set_running_or_notify_cancel()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 - whoever asks for the result gets it
            future.set_exception(error)
        return future


def each(
    executor: Executor | None,
    function: Callable[[Task], Result],
    tasks: Sequence[Task],
    progress: Progress | None = None,
) -> Iterator[tuple[int, Result]]:
    """Index and result of every task, in the order of the tasks.

    Parameters
    ----------
    executor
        None: one after another, here.
    function
        Of one task; other processes must be able to import it.
    tasks
        What it is given.
    progress
        Called after every task that is done.

    Raises
    ------
    KeyboardInterrupt
        After an interrupt: what has not begun is cancelled, what is done is given first, in order, and
        the interrupt comes after it. The error of a task comes in its turn, and ends all.
    """
    pool = Inline() if executor is None else executor
    ended: SimpleQueue[int] = SimpleQueue()
    futures: list[Future[Result]] = []
    done: set[int] = set()
    given = 0

    def told(wait: float | None) -> None:
        """Take up what has ended; with `wait` at least one."""
        while True:
            try:
                k = ended.get(timeout=wait) if wait else ended.get_nowait()
            except Empty:
                if wait is None or len(done) == len(tasks):
                    return
                continue
            wait = None
            done.add(k)
            if progress is not None:
                progress(len(done), len(tasks))

    try:
        for k, task in enumerate(tasks):
            future = pool.submit(function, task)
            futures.append(future)
            future.add_done_callback(lambda _, k=k: ended.put(k))  # type: ignore[misc]
            told(None)
            while given in done:
                yield given, futures[given].result()
                given += 1
        while given < len(tasks):
            while given not in done:
                told(WAKE)
            yield given, futures[given].result()
            given += 1
    except KeyboardInterrupt:
        for future in futures:
            future.cancel()
        for k in range(given, len(futures)):
            if futures[k].done() and not futures[k].cancelled() and futures[k].exception() is None:
                yield k, futures[k].result()
        raise
    finally:
        for future in futures:
            future.cancel()


def gathered(
    executor: Executor | None,
    function: Callable[[Task], Result],
    tasks: Sequence[Task],
    progress: Progress | None = None,
) -> list[Result]:
    """All results, in the order of the tasks (see `each`)."""
    return [result for _, result in each(executor, function, tasks, progress)]
