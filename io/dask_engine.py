"""A Dask cluster as an executor; imported only where one is asked for (extra `cluster`)."""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import Executor, Future
from concurrent.futures import wait as wait_for
from typing import Any, Final

from panewright.io.engines import NoEngine, packed, release
from panewright.io.lanes import MOST_LOST, WorkerLost
from panewright.io.worker_call import run_packed
from panewright.nesting.text import tr

RETRIES: Final = 2
"""How often a task that failed is tried again, besides those whose worker was lost."""


def worker_release() -> str:
    """The version on a worker."""
    return release()


class DaskEngine(Executor):
    """The workers of one scheduler.

    Parameters
    ----------
    address
        Of the scheduler.
    seconds
        In which it must answer and have a worker.

    Raises
    ------
    NoEngine
        Nobody answers, there is no worker, or a worker has another version of this program.
    """

    def __init__(self, address: str, seconds: int) -> None:
        try:
            from distributed import Client
        except ImportError:
            raise NoEngine(
                tr("a cluster needs Dask, which is not installed here"),
                tr('install it with: pip install "panewright[cluster]"'),
            ) from None
        # what goes wrong is told by our own errors
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        self.address = address
        try:
            self._client: Any = Client(  # type: ignore[no-untyped-call]
                address, timeout=seconds, set_as_default=False
            )
        except (OSError, TimeoutError, ValueError):
            raise NoEngine(
                tr("no Dask scheduler answers at {address}", address=address),
                tr("start one, or leave --cluster out"),
            ) from None
        try:
            self._meet(seconds)
        except BaseException:
            self._client.close(1)  # type: ignore[no-untyped-call]
            raise
        self._running: dict[Any, Future[Any]] = {}

    def _meet(self, seconds: int) -> None:
        """See that there are workers, and that they are of our version."""
        try:
            self._client.wait_for_workers(1, timeout=seconds)
        except TimeoutError:
            raise NoEngine(
                tr("the cluster at {address} has no workers", address=self.address),
                tr("start some with: dask worker {address}", address=self.address),
            ) from None
        try:
            found = set(self._client.run(worker_release).values())
        except Exception:  # noqa: BLE001 - whatever a worker without our program answers
            found = {"-"}
        if found != {release()}:
            raise NoEngine(
                tr(
                    "the workers at {address} do not all have panewright {version}",
                    address=self.address,
                    version=release(),
                ),
                tr("install the same version on every worker"),
            )

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Let a worker do a call; function, arguments and result must be picklable."""
        theirs = self._client.submit(run_packed, packed(fn, args, kwargs), pure=False, retries=RETRIES)
        ours: _DaskFuture = _DaskFuture(theirs)
        self._running[theirs] = ours
        theirs.add_done_callback(lambda done: self._done(ours, done))
        return ours

    def _done(self, ours: Future[Any], theirs: Any) -> None:
        self._running.pop(theirs, None)
        if not ours.set_running_or_notify_cancel():
            return
        status = theirs.status
        try:
            if status == "finished":
                ours.set_result(theirs.result())
            elif status == "error":
                error = theirs.exception()
                lost = type(error).__name__ == "KilledWorker"
                ours.set_exception(WorkerLost(MOST_LOST) if lost else error)
            else:
                ours.set_exception(self._gone())
        except Exception:  # noqa: BLE001 - the connection went while the result was fetched
            ours.set_exception(self._gone())

    def _gone(self) -> NoEngine:
        return NoEngine(
            tr("the cluster at {address} is gone", address=self.address),
            tr("look at its scheduler, and run again"),
        )

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Leave the cluster as it was found; what waits is waited for, or cancelled."""
        running = dict(self._running)
        if wait and not cancel_futures:
            wait_for([ours for ours in running.values() if not ours.cancelled()])
        elif running:
            self._client.cancel(list(running), force=True)
        self._client.close(5)


class _DaskFuture(Future[Any]):
    """A future whose cancelling reaches the cluster."""

    def __init__(self, theirs: Any) -> None:
        super().__init__()
        self._theirs = theirs

    def cancel(self) -> bool:
        """Whether it could be cancelled; the cluster is told."""
        cancelled = super().cancel()
        if cancelled:
            self._theirs.cancel()
        return cancelled
