"""Shared fixtures: the data folder, builders of panels and stock, and the outsider's verifier."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import Outline, rectangle
from panewright.nesting.panels import Panel, Turn, cut_of
from panewright.nesting.plan import Plan
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece, Trim
from panewright.nesting.units import mm

settings.register_profile(
    "panewright", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("panewright")

ROOT = Path(__file__).resolve().parent.parent
SHARED = ROOT.parent / "shared"


@pytest.fixture(scope="session")
def data_folder() -> Path:
    """The folder of open data sets; skips where it is not there."""
    folder = Path(os.environ.get("PANEWRIGHT_DATA") or SHARED / "data")
    if not folder.is_dir():
        pytest.skip("the open data sets are not beside the project (PANEWRIGHT_DATA names their folder)")
    return folder


@pytest.fixture(scope="session")
def make_panel() -> Callable[..., Panel]:
    """Builds a panel from a size or an outline in mm; `allowance` in mm on every edge."""

    def make(
        width: float | str = 0,
        height: float | str = 0,
        *,
        id: str = "A/p/1",
        glass: str = "clear-10",
        outline: Outline | None = None,
        allowance: str = "0",
        turn: Turn = Turn.ANY,
        narrow: bool = False,
    ) -> Panel:
        finished = outline or rectangle(mm(str(width)), mm(str(height)))
        edges = tuple(Edge(work=Work.POLISHED, allowance=mm(allowance)) for _ in finished)
        order, name, *_ = [*id.split("/"), "p"]
        return Panel(
            id=id,
            order=order,
            name=name,
            glass=glass,
            thickness=mm(glass.rsplit("-", 1)[1]),
            finished=finished,
            cut=cut_of(finished, edges),
            edges=edges,
            turn=turn,
            narrow=narrow,
        )

    return make


@pytest.fixture(scope="session")
def make_stock() -> Callable[..., StockPiece]:
    """Builds a sheet or offcut from a size in mm."""

    def make(
        width: int,
        height: int,
        *,
        glass: str = "clear-10",
        trim: tuple[int, int, int, int] = (20, 25, 20, 25),
        raw: tuple[Side, ...] = ALL_SIDES,
        on_hand: int = 0,
        buyable: bool = True,
        cost: int | None = None,
        offcut: bool = False,
        name: str = "",
    ) -> StockPiece:
        return StockPiece(
            name=name or f"{glass} {width}x{height}",
            glass=glass,
            width=mm(width),
            height=mm(height),
            is_offcut=offcut,
            raw=raw,
            trim=Trim(*(mm(t) for t in trim)).on(raw),
            cost=width * height // 10 if cost is None else cost,
            on_hand=on_hand,
            buyable=buyable,
        )

    return make


@pytest.fixture(scope="session")
def outsider() -> Callable[[Plan], None]:
    """Runs the plan file past a verifier that shares nothing with the project, where it is there."""
    from panewright.io.plan_file import dumps

    tool = SHARED / "tools" / "verify_plan.py"

    def verify(plan: Plan, folder: Path | None = None) -> None:
        if not tool.is_file() or folder is None:
            return
        path = folder / "plan.json"
        path.write_text(dumps(plan), encoding="utf-8")
        done = subprocess.run(
            [sys.executable, str(tool), str(path), "--expect-panels", str(len(plan.panels))],
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        assert json.loads(path.read_text(encoding="utf-8"))["plan"] == plan.id

    return verify
