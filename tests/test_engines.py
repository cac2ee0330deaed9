"""Where tasks run: the same answers here, on processes and on a Dask cluster; lost workers; interrupts."""

from __future__ import annotations

import math
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

from panewright.cli.failures import Exit, guard
from panewright.io.bench_engines import drawn_materials, drawn_orders
from panewright.io.engines import NoEngine, cores, engine
from panewright.io.lanes import MOST_LOST, Lanes, WorkerLost
from panewright.io.shop_file import default_shop
from panewright.nesting.demand.book import BookedOrder
from panewright.nesting.each import Inline, each, gathered
from panewright.nesting.week_sheets.renest import renest

pytestmark = [
    # a closed event loop of Dask leaves sockets to the collector
    pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]

EFFORT = 4
MATERIALS = drawn_materials(default_shop())
KILLER = '''
import os, signal, time
from pathlib import Path

def once(marker):
    """Kill the own process the first time, and count how often it was begun."""
    path = Path(marker)
    with path.open("a") as f:
        f.write("x")
    if len(path.read_text()) == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return len(path.read_text())

class Odd(Exception):
    def __init__(self, one, two):
        super().__init__(one)

def odd(value):
    raise Odd(value, value)

def said(marker):
    """Leave a mark that it has begun, and take a while."""
    Path(marker).write_text(str(os.getpid()))
    while Path(marker).exists():
        time.sleep(0.01)
    return os.getpid()
'''


@pytest.fixture(scope="module")
def weeks() -> list[BookedOrder]:
    return [o for o in drawn_orders(4, 17) if o.product != "octagon"]


@pytest.fixture(scope="module")
def two() -> Iterator[Lanes]:
    """Two processes, for several tests."""
    with engine(2) as found:
        assert isinstance(found, Lanes)
        yield found


@pytest.fixture(scope="module")
def killer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A module of tasks that other processes can import."""
    folder = tmp_path_factory.mktemp("tasks")
    (folder / "panewright_killer.py").write_text(KILLER, encoding="utf-8")
    sys.path.insert(0, str(folder))
    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = os.pathsep.join([str(folder), *([before] if before else [])])
    import panewright_killer

    yield panewright_killer
    sys.path.remove(str(folder))
    if before is None:
        del os.environ["PYTHONPATH"]
    else:
        os.environ["PYTHONPATH"] = before


@pytest.fixture(scope="module")
def cluster(killer: Any) -> Iterator[str]:
    """The address of a scheduler on the loopback with two workers, each a process that is started again."""
    distributed = pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None, silence_logs=50
    ) as found:
        assert found.scheduler_address.startswith("tcp://127.0.0.1:")
        yield found.scheduler_address


def wait_for(path: Path) -> str:
    """What a task has written; fails after a minute."""
    until = monotonic() + 60
    while monotonic() < until:
        if path.exists() and (text := path.read_text(encoding="utf-8")):
            return text
        sleep(0.01)
    raise AssertionError("the task never began")


def test_same_answers_on_every_engine(weeks: list[BookedOrder], two: Lanes, cluster: str) -> None:
    """Byte for byte: in this process, on two others, and on a cluster."""
    here = renest(weeks, MATERIALS, effort=EFFORT)
    assert len(here) >= 8
    with engine(1) as alone:
        assert isinstance(alone, Inline)
        assert renest(weeks, MATERIALS, alone, effort=EFFORT) == here
    told: list[int] = []
    there = renest(weeks, MATERIALS, two, effort=EFFORT, progress=lambda done, _: told.append(done))
    assert there == here
    assert told == list(range(1, len(here) + 1))
    with engine(cluster=cluster) as dask:
        assert renest(weeks, MATERIALS, dask, effort=EFFORT) == here


def test_a_lost_process_costs_only_its_task(two: Lanes, killer: Any, tmp_path: Path) -> None:
    marker = tmp_path / "begun"
    before = [two.submit(math.sqrt, k) for k in range(4)]
    lost = two.submit(killer.once, str(marker))
    after = [two.submit(math.sqrt, k) for k in range(4, 8)]
    assert lost.result(60) == 2
    assert [f.result(60) for f in before + after] == [math.sqrt(k) for k in range(8)]


def test_a_process_killed_in_the_middle(two: Lanes, killer: Any, tmp_path: Path) -> None:
    marker = tmp_path / "running"
    task = two.submit(killer.said, str(marker))
    first = int(wait_for(marker))
    assert first in two.process_ids()
    marker.write_text("", encoding="utf-8")
    os.kill(first, signal.SIGKILL)
    second = int(wait_for(marker))
    marker.unlink()
    assert task.result(60) == second != first


def test_a_task_that_kills_its_process_is_given_up(two: Lanes) -> None:
    lost = two.submit(os._exit, 3)
    with pytest.raises(WorkerLost, match=f"lost its process {MOST_LOST} times"):
        lost.result(60)
    assert two.submit(math.sqrt, 4).result(60) == 2


def test_errors_of_tasks_come_back(two: Lanes, killer: Any) -> None:
    with pytest.raises(ValueError, match="math domain error") as caught:
        gathered(two, math.sqrt, [1, -1])
    assert "Traceback" in caught.value.__notes__[0]
    # an error that can be packed and not opened, and a result that cannot be packed
    with pytest.raises(RuntimeError, match="Odd: 1"):
        two.submit(killer.odd, 1).result(60)
    with pytest.raises(RuntimeError, match="pickle"):
        two.submit(eval, "lambda: 1").result(60)


def test_an_interrupt_cancels_what_waits(killer: Any, tmp_path: Path) -> None:
    """What is done is given, what runs is ended, what waits never begins."""
    markers = [tmp_path / f"task-{k}" for k in range(3)]
    got = []

    def stop(done: int, _: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), engine(2) as found:
        assert isinstance(found, Lanes)
        for path in markers[1:]:
            found.submit(killer.said, str(path))
        for path in markers[1:]:
            wait_for(path)
        waits = found.submit(killer.said, str(markers[0]))
        for path in markers[1:2]:
            path.unlink()
        wait_for(markers[0])
        late = found.submit(killer.once, str(tmp_path / "never"))
        got.extend(each(Inline(), math.sqrt, [4, 9], stop))
    assert got == [(0, 2.0)]
    assert late.cancelled() and not (tmp_path / "never").exists()
    assert isinstance(waits.exception(60), WorkerLost)
    assert found.process_ids() == []
    with pytest.raises(RuntimeError, match="closed"):
        found.submit(math.sqrt, 1)


def test_a_worker_of_the_cluster_killed_in_the_middle(cluster: str, killer: Any, tmp_path: Path) -> None:
    """Its task goes to another worker; the others lose nothing."""
    marker = tmp_path / "running"
    with engine(cluster=cluster) as found:
        task = found.submit(killer.said, str(marker))
        first = int(wait_for(marker))
        others = [found.submit(math.sqrt, k) for k in range(6)]
        marker.write_text("", encoding="utf-8")
        os.kill(first, signal.SIGKILL)
        second = int(wait_for(marker))
        marker.unlink()
        assert task.result(60) == second != first
        assert [f.result(60) for f in others] == [math.sqrt(k) for k in range(6)]


def test_errors_and_cancels_reach_the_cluster(cluster: str) -> None:
    with engine(cluster=cluster) as found:
        with pytest.raises(ValueError, match="math domain error"):
            gathered(found, math.sqrt, [1, -1])
        many = [found.submit(sleep, 0.2) for _ in range(20)]
        assert many[-1].cancel() and many[-1].cancelled()
        assert many[0].result(60) is None


@pytest.mark.parametrize(
    "address", ["127.0.0.1:8786", "http://127.0.0.1:8786", "tcp://x", "tcp://u:p@h:1", ""]
)
def test_what_is_no_address(address: str) -> None:
    with pytest.raises(NoEngine, match="no address of a cluster"), engine(cluster=address):
        pass


def test_nobody_answers(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr("panewright.io.engines.CONNECT", 1)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{taken.getsockname()[1]}"

        def call() -> None:
            with engine(cluster=address):
                pass

        assert guard(call) == Exit.USAGE
    said = capsys.readouterr().err
    assert f"no Dask scheduler answers at {address}" in said
    assert "Traceback" not in said


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(NoEngine, match=r"panewright\[cluster\]"), engine(cluster="tcp://127.0.0.1:1"):
        pass


def test_the_folder_of_kernels_is_chosen_before_numba_comes() -> None:
    """Else this process and its workers would keep compiled kernels in different places."""
    asked = "from panewright.io import engines, kernel_cache; kernel_cache.prepare(); import sys; "
    done = subprocess.run([sys.executable, "-c", asked + "sys.exit('numba' in sys.modules)"], check=False)
    assert done.returncode == 0


def test_cores_are_those_of_this_process() -> None:
    assert cores() >= 1
    threads = threading.active_count()
    with engine(3) as found:
        assert isinstance(found, Lanes) and found.workers == 3
        assert threading.active_count() == threads
