"""Where independent tasks run: here, on processes of this machine, or on a Dask cluster.

All three are a `concurrent.futures.Executor` and give the same results (see `nesting.each`). Every worker
prepares the folder of compiled kernels before it imports the optimizer.

A Dask scheduler and its workers run any code that is sent to their ports, without asking who sends it.
They belong on the loopback or in a network of one's own, or behind TLS with client certificates (`tls://`);
never on a port that strangers reach.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import re
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from importlib.metadata import PackageNotFoundError, version
from typing import Any, Final

from panewright.io.lanes import Lanes
from panewright.nesting.each import Inline
from panewright.nesting.errors import NestingError
from panewright.nesting.text import tr

CONNECT: Final = 10
"""Seconds within which a cluster must answer, and have a worker."""
_ADDRESS: Final = re.compile(r"(tcp|tls)://(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9._-]+):[0-9]{1,5}")


class NoEngine(NestingError, OSError):
    """A cluster that cannot be used: exit code 2, as for every option that leads nowhere.

    Parameters
    ----------
    reason
        What is wrong, worded for the user.
    remedy
        What to do.
    """

    wrong_call = True

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(reason, remedy)

    def __str__(self) -> str:
        return tr("{reason}; {remedy}", reason=self.reason, remedy=self.remedy)


def cores() -> int:
    """Cores that this process may use."""
    try:
        return max(1, len(os.sched_getaffinity(0)))
    except AttributeError:
        return max(1, os.cpu_count() or 1)


@contextlib.contextmanager
def engine(workers: int | None = None, cluster: str | None = None) -> Iterator[Executor]:
    """An executor for independent tasks, closed at the end.

    Parameters
    ----------
    workers
        Processes of this machine; None: one for each core; 1: no other process.
    cluster
        Address of a Dask scheduler, as in ``tcp://127.0.0.1:8786``; it counts before `workers`.

    Raises
    ------
    NoEngine
        The extra `cluster` is not installed, the address is none, or nobody answers there.
    """
    executor: Executor
    if cluster is not None:
        from panewright.io.dask_engine import DaskEngine

        if not _ADDRESS.fullmatch(cluster):
            raise NoEngine(
                tr("{address} is no address of a cluster", address=cluster),
                tr("write it as in tcp://127.0.0.1:8786"),
            )
        executor = DaskEngine(cluster, CONNECT)
    elif (workers or cores()) == 1:
        executor = Inline()
    else:
        executor = Lanes(workers or cores())
    try:
        yield executor
    except BaseException:
        executor.shutdown(wait=False, cancel_futures=True)
        raise
    executor.shutdown()


def release() -> str:
    """The version of this program."""
    try:
        return version("panewright")
    except PackageNotFoundError:
        return "0"


def packed(function: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]) -> bytes:
    """A call as bytes: a worker opens it only after it has prepared itself."""
    return pickle.dumps((function, args, kwargs), protocol=pickle.HIGHEST_PROTOCOL)
