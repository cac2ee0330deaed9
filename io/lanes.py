"""Processes of this machine, each fed by a thread of its own, so that a lost one costs only its task.

A pool that shares one queue cannot tell which task was with a process that died, and gives up on all.
Here every process has a pipe: when it breaks, its task is begun again on a fresh process, and a task
that has lost three of them is given up.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import pickle
import signal
import threading
import traceback
from collections import deque
from collections.abc import Callable
from concurrent.futures import Executor, Future
from multiprocessing.connection import Connection
from typing import Any, Final

from panewright.io.worker_call import run_packed
from panewright.nesting.errors import NestingError
from panewright.nesting.text import tr

MOST_LOST: Final = 3
"""Processes that a task may lose before it is given up."""


class WorkerLost(NestingError, RuntimeError):
    """A task whose processes died, each in turn: out of memory, most often, or killed from outside."""

    def __init__(self, times: int) -> None:
        self.times = times
        super().__init__(times)

    def __str__(self) -> str:
        return tr(
            "a task lost its process {count} times and was given up; memory may be short: "
            "try fewer workers, or fewer weeks",
            count=self.times,
        )


def _serve(pipe: Connection) -> None:
    """The loop of a process: calls come in packed, results or errors go out."""
    # a Ctrl-C reaches all processes of the terminal; the one that asked decides what it means
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        try:
            call = pipe.recv_bytes()
        except (EOFError, OSError):
            return
        try:
            answer = (True, run_packed(call))
        except BaseException as error:  # noqa: BLE001 - it belongs to whoever asked
            error.add_note("".join(traceback.format_exception(error)))
            answer = (False, error)
        with contextlib.suppress(BrokenPipeError):
            pipe.send_bytes(_answer(*answer))


def _answer(fine: bool, value: Any) -> bytes:
    try:
        data = pickle.dumps((fine, value), protocol=pickle.HIGHEST_PROTOCOL)
        if not fine:
            pickle.loads(data)  # many an error can be packed and not opened
        return data
    except Exception as error:  # noqa: BLE001 - the answer itself cannot travel
        what = value if not fine else error
        return pickle.dumps((False, RuntimeError(f"{type(what).__name__}: {what}")))


class _Broken(Exception):
    """The process at the other end of a pipe is gone."""


class _Work:
    """A call that waits or runs, and the processes that it has lost."""

    __slots__ = ("call", "future", "lost")

    def __init__(self, future: Future[Any], call: bytes) -> None:
        self.future, self.call, self.lost = future, call, 0


class Lanes(Executor):
    """So many processes. They begin with the first tasks and are spawned, on every system alike.

    Parameters
    ----------
    workers
        Number of processes.
    """

    def __init__(self, workers: int) -> None:
        self.workers = max(1, workers)
        self._context = multiprocessing.get_context("spawn")
        self._waiting: deque[_Work] = deque()
        self._change = threading.Condition()
        self._closed = False
        self._stopped = False
        self._threads: list[threading.Thread] = []
        self._processes: dict[int, Any] = {}

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Let a process do a call; function, arguments and result must be picklable."""
        call = pickle.dumps((fn, args, kwargs), protocol=pickle.HIGHEST_PROTOCOL)
        future: Future[Any] = Future()
        with self._change:
            if self._closed:
                raise RuntimeError("the engine is closed")
            self._waiting.append(_Work(future, call))
            self._change.notify()
            if len(self._threads) < self.workers:
                lane = threading.Thread(
                    target=self._lane, args=(len(self._threads),), name="lane", daemon=True
                )
                self._threads.append(lane)
                lane.start()
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the processes: after what waits, or with `cancel_futures` without; not waiting ends them now."""
        with self._change:
            self._closed = True
            left = list(self._waiting) if cancel_futures or not wait else []
            if left:
                self._waiting.clear()
            self._stopped = not wait
            self._change.notify_all()
            processes = list(self._processes.values())
        for work in left:
            work.future.cancel()
        if not wait:
            for process in processes:
                process.kill()
        for lane in self._threads:
            lane.join()

    def process_ids(self) -> list[int]:
        """Of the processes that are there now."""
        with self._change:
            return [process.pid for process in self._processes.values()]

    # -------------------------------------------------------------------- lane

    def _lane(self, number: int) -> None:
        """One process after another, as long as there is work."""
        if hasattr(signal, "pthread_sigmask"):
            # its processes must not see a Ctrl-C before they can ignore it
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        pipe: Connection | None = None
        try:
            while (work := self._next()) is not None:
                if work.lost == 0 and not work.future.set_running_or_notify_cancel():
                    continue
                try:
                    pipe = pipe or self._begin(number)
                    fine, value = self._asked(pipe, work.call)
                except _Broken:
                    if pipe is not None:
                        pipe.close()
                    pipe = None
                    self._lose(number, work)
                except Exception as error:  # noqa: BLE001 - no process, or an answer that cannot be opened
                    work.future.set_exception(error)
                else:
                    if fine:
                        work.future.set_result(value)
                    else:
                        work.future.set_exception(value)
        finally:
            if pipe is not None:
                pipe.close()
            self._end(number)

    @staticmethod
    def _asked(pipe: Connection, call: bytes) -> Any:
        try:
            pipe.send_bytes(call)
            answer = pipe.recv_bytes()
        except (EOFError, OSError):
            raise _Broken from None
        return pickle.loads(answer)

    def _next(self) -> _Work | None:
        with self._change:
            while not self._waiting:
                if self._closed:
                    return None
                self._change.wait()
            return self._waiting.popleft()

    def _begin(self, number: int) -> Connection:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(theirs,), name=f"lane-{number}", daemon=True)
        process.start()
        theirs.close()
        with self._change:
            self._processes[number] = process
            stopped = self._stopped
        if stopped:
            process.kill()
        return ours

    def _lose(self, number: int, work: _Work) -> None:
        """The process of a task is gone: the task begins again, unless it has lost too many."""
        self._end(number)
        work.lost += 1
        with self._change:
            stopped = self._stopped
        if work.lost >= MOST_LOST or stopped:
            work.future.set_exception(WorkerLost(work.lost))
            return
        with self._change:
            self._waiting.appendleft(work)
            self._change.notify()

    def _end(self, number: int) -> None:
        with self._change:
            process = self._processes.pop(number, None)
        if process is not None:
            process.join()
            process.close()
