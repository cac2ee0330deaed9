"""The search loop of the command line: why it stops, what it says, and the same bytes in any process."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from panewright.cli import planning, searching
from panewright.cli.failures import Exit
from panewright.cli.main import app
from panewright.cli.searching import CompileNotice, Limit, search
from panewright.nesting.plan import Plan
from panewright.nesting.planner import GlassProgress

PANELS = "order,panel,quantity,width,height,glass\nK-1,front,2,600,400,clear-6\n"


def plan(folder: Path, *args: str) -> tuple[int, str, str]:
    made = CliRunner().invoke(
        app, ["plan", str(folder / "panels.csv"), "--out", str(folder / "out"), "--effort", "1", *args]
    )
    return made.exit_code, made.stdout, made.stderr


def test_a_fault_while_writing_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "panels.csv").write_text(PANELS, encoding="utf-8")
    monkeypatch.setattr(planning, "plan_files", lambda *_, **__: {"plan.json": "{}", "no id.csv": "x"})
    code, out, err = plan(tmp_path)
    assert code == Exit.FAULT
    assert out == ""
    assert "UnsafeName" in err
    assert [path.name for path in tmp_path.iterdir()] == ["panels.csv"]


def test_names_from_outside_cannot_draw_on_the_terminal(tmp_path: Path) -> None:
    rows = PANELS + "[red]K-2,wa\x1b[2Jll,1,9000,1000,clear-6\n[red]K-3,wall,1,6900,4000,clear-6\n"
    (tmp_path / "panels.csv").write_text(rows, encoding="utf-8")
    _, out, err = plan(tmp_path, "--rest")
    assert "\x1b" not in out + err
    (tmp_path / "panels.csv").write_text(rows.replace("wa\x1b[2Jll,1,9000", "wall,1,6900"), encoding="utf-8")
    code, out, err = plan(tmp_path, "--rest")
    assert code == Exit.LEFT_OVER, err
    assert "[red]K-3/wall/1" in out


def test_equal_effort_gives_equal_bytes_in_any_process(tmp_path: Path) -> None:
    rows = PANELS + "K-2,lid,2,500,350,clear-10\nK-3,side,2,700,300,low-iron-12\nK-4,brace,3,600,90,clear-6\n"
    (tmp_path / "panels.csv").write_text(rows, encoding="utf-8")
    folders = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "panewright.cli.main",
                "plan",
                "panels.csv",
                "--effort",
                "50",
                "--out",
                seed,
            ],
            cwd=tmp_path,
            check=False,
            capture_output=True,
            text=True,
            encoding="utf-8",
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        assert done.returncode == Exit.DONE, done.stderr
        folders.append({path.name: path.read_bytes() for path in folder.iterdir()})
    assert folders[0] == folders[1]
    assert len(folders[0]) > 10


class Still:
    """A planner that only counts."""

    def __init__(self, slices: int = 10**6) -> None:
        self.slices, self.done, self.why = slices, 0, ""

    def start(self) -> None:
        self.done = 0

    def advance(self) -> bool:
        self.done += 1
        return self.done < self.slices

    def progress(self) -> list[GlassProgress]:
        return [GlassProgress(glass="clear-10", cost=2, sheets=1, bound=1, steps=self.done, done=False)]

    def finish(self, stopped_by: str) -> Plan:
        self.why = stopped_by
        return None  # type: ignore[return-value]


def ticking(step: float) -> Callable[[], float]:
    def ticks() -> Iterator[float]:
        now = 0.0
        while True:
            yield now
            now += step

    return ticks().__next__


@pytest.mark.parametrize(
    ("slices", "limit", "why"),
    [
        (10**6, Limit(seconds=5), "time"),
        (10**6, Limit(seconds=0), "time"),
        (3, Limit(seconds=50), "search ended"),
        (3, Limit(effort=7), "search ended"),
    ],
)
def test_the_search_says_why_it_stopped(slices: int, limit: Limit, why: str) -> None:
    planner = Still(slices)
    search(planner, limit, currency="EUR", panels=1, clock=ticking(1))
    assert planner.why == why
    if limit.seconds == 0:
        assert planner.done == 0


def test_the_search_is_told_when_it_will_be_stopped() -> None:
    told: list[tuple[float, float]] = []
    search(
        Still(),
        Limit(seconds=3),
        currency="EUR",
        panels=1,
        stops_at=lambda end, spent: told.append((end, spent)),
        clock=ticking(0.5),
    )
    assert [end for end, _ in told] == [3] * len(told)
    assert told and 0 < told[0][1] < told[-1][1] < 3
    told.clear()
    search(Still(3), Limit(effort=7), currency="EUR", panels=1, stops_at=lambda *now: told.append(now))
    assert not told


def test_progress_is_told_in_few_lines_where_there_is_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    search(Still(), Limit(seconds=200), currency="EUR", panels=1, clock=ticking(0.5))
    lines = [line for line in capsys.readouterr().err.splitlines() if line.startswith("so far")]
    assert 5 <= len(lines) <= 7


def test_compiling_is_announced_once(capsys: pytest.CaptureFixture[str]) -> None:
    numba = pytest.importorskip("numba")
    notice = CompileNotice()
    with notice.watch() as seen:
        assert not seen()
        numba.njit(lambda x: x + 1)(1)
        numba.njit(lambda x: x + 2)(1)
        assert seen()
    with notice.watch() as seen:
        assert not seen()
    assert capsys.readouterr().err.count("preparing the optimizer") == 1


def test_the_terminal_picture_shows_every_glass(monkeypatch: pytest.MonkeyPatch) -> None:
    live = searching._Live("EUR")
    shown: list[object] = []
    monkeypatch.setattr(live.live, "update", lambda table, **_: shown.append(table))
    live.show(Still().progress, 1.0)
    live.show(Still().progress, 1.1)
    live.show(Still().progress, 2.0)
    assert len(shown) == 2
