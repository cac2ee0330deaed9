"""Shared fixtures: the data folder, builders of panels and stock, and the outsider's verifier."""

from __future__ import annotations

import contextvars
import csv
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, redirect_stdout
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import ClassVar

import numpy as np
import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, settings
from sqlalchemy import select

from panewright.io import bench_server, kernel_cache
from panewright.io.order_lists import Orders, read_orders
from panewright.io.problems import Problem, Problems
from panewright.io.record_file import Event, Record, What
from panewright.io.shop_file import default_shop
from panewright.io.store.commit import commit_plan
from panewright.io.store.engine import Store, open_store
from panewright.io.store.items import Item, find_item, receive
from panewright.io.store.ledger import Because, audit
from panewright.io.store.recording import NotRecorded, apply_events
from panewright.io.store.schema import movement, plan_sheet
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import Outline, Point, box, make_outline, rectangle
from panewright.nesting.panels import Panel, Turn, cut_of
from panewright.nesting.pieces import Piece, split
from panewright.nesting.plan import (
    Bound,
    Cut,
    CutKind,
    GlassOutcome,
    Layout,
    Leaf,
    LeafKind,
    Plan,
)
from panewright.nesting.plan_id import offcut_number, plan_id
from panewright.nesting.rules import Rules
from panewright.nesting.shop import Shop
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece, Trim
from panewright.nesting.tanks.tank import Tank
from panewright.nesting.units import MONEY, inch, mm

settings.register_profile(
    "panewright",
    derandomize=True,
    deadline=None,
    max_examples=50,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("panewright")

ROOT = Path(__file__).resolve().parent.parent
SHARED = ROOT.parent / "shared"


def pytest_configure(config: pytest.Config) -> None:
    """All workers, and the programs that tests start, share the compiled kernels of the commands.

    Before several workers start, what is missing is compiled once.
    """
    several = (config.getoption("numprocesses", None) or 0) > 1 and not config.option.collectonly
    if kernel_cache.prepare() is not None and several and not hasattr(config, "workerinput"):
        subprocess.run([sys.executable, str(ROOT / "tests" / "compile_kernels.py")], check=False)


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
    spec = importlib.util.spec_from_file_location("verify_plan", tool)
    assert spec is not None and spec.loader is not None
    alone = importlib.util.module_from_spec(spec)
    if tool.is_file():
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(sys, "dont_write_bytecode", True)  # its folder is not ours
            spec.loader.exec_module(alone)

    def verify(plan: Plan, folder: Path | None = None) -> None:
        if not tool.is_file() or folder is None:
            return
        path = folder / "plan.json"
        path.write_text(dumps(plan), encoding="utf-8")
        said = StringIO()
        with pytest.MonkeyPatch.context() as patch, redirect_stdout(said):
            patch.setattr(sys, "argv", [str(tool), str(path), "--expect-panels", str(len(plan.panels))])
            code = alone.main()
        assert code == 0, said.getvalue()
        assert json.loads(path.read_text(encoding="utf-8"))["plan"] == plan.id

    return verify


@pytest.fixture(scope="session")
def short_demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    """The folder of a demo of one step, to read only, and what it said with `--steps` and `--waste`."""
    from panewright.cli.main import app

    folder = tmp_path_factory.mktemp("short") / "demo"
    args = ["demo", "--out", str(folder), "--effort", "1", "--steps", "--waste"]
    # the shop's way to show lengths must not reach other tests
    done = contextvars.copy_context().run(CliRunner().invoke, app, args)
    assert done.exit_code == 0, done.output
    return folder, done


class HandSheet:
    """Cuts up one sheet by hand, for plans that no optimizer had a part in; lengths in nm."""

    def __init__(self, width: int, height: int, raw: tuple[Side, ...], trim: Trim) -> None:
        self.size, self.raw, self.trim = (width, height), raw, trim
        self.pieces: dict[str, Outline] = {"s": rectangle(width, height)}
        self.cuts: list[Cut] = []
        self.leaves: list[Leaf] = []

    def upright(self, piece: str, x: int, kind: CutKind, level: int) -> tuple[str, str]:
        """A vertical cut; the left and the right part."""
        x0, y0, x1, y1 = box(self.pieces.pop(piece))
        one, two = self._cut(piece, (x, y0), (x, y1), kind, level)
        self.pieces[one], self.pieces[two] = (
            rectangle(x - x0, y1 - y0, x0, y0),
            rectangle(x1 - x, y1 - y0, x, y0),
        )
        return one, two

    def level(self, piece: str, y: int, kind: CutKind, level: int) -> tuple[str, str]:
        """A horizontal cut; the lower and the upper part."""
        x0, y0, x1, y1 = box(self.pieces.pop(piece))
        upper, lower = self._cut(piece, (x0, y), (x1, y), kind, level)
        self.pieces[lower], self.pieces[upper] = (
            rectangle(x1 - x0, y - y0, x0, y0),
            rectangle(x1 - x0, y1 - y, x0, y),
        )
        return lower, upper

    def shape(self, piece: str, start: Point, end: Point, left: Outline, right: Outline) -> tuple[str, str]:
        """A shape cut, with the outlines that it makes."""
        del self.pieces[piece]
        one, two = self._cut(piece, start, end, CutKind.SHAPE, None)
        self.pieces[one], self.pieces[two] = left, right
        return one, two

    def angled(self, piece: str, start: Point, end: Point) -> tuple[str, str]:
        """A shape cut whose parts are computed; the left and the right one."""
        held = self.pieces[piece]
        none = (None,) * len(held)
        cut = Cut(step=1, piece=piece, start=start, end=end, makes=("", ""), kind=CutKind.SHAPE, level=None)
        parts = split(Piece(piece, held, none, tuple(range(len(held)))), cut, 1)
        left, right = (tuple((round(x), round(y)) for x, y in p.corners) for p in (parts.left, parts.right))
        return self.shape(piece, start, end, left, right)

    def _cut(self, piece: str, start: Point, end: Point, kind: CutKind, level: int | None) -> tuple[str, str]:
        makes = (f"{piece}.1", f"{piece}.2")
        cut = Cut(
            step=len(self.cuts) + 1, piece=piece, start=start, end=end, makes=makes, kind=kind, level=level
        )
        self.cuts.append(cut)
        return makes

    def panel(self, piece: str, panel: Panel, *, turned: int = 0, mirrored: bool = False) -> None:
        """This piece is a panel, turned by whole degrees."""
        self._leaf(piece, LeafKind.PANEL, panel=panel.id, turned=turned * 10**9, mirrored=mirrored)

    def offcut(self, piece: str) -> None:
        """This piece goes to the rack with the raw sides that it has."""
        x0, y0, x1, y1 = box(self.pieces[piece])
        w, h = self.size
        has = {
            Side.LEFT: x0 == 0,
            Side.RIGHT: x1 == w,
            Side.BOTTOM: y0 == 0,
            Side.TOP: y1 == h,
        }
        self._leaf(piece, LeafKind.OFFCUT, raw=tuple(s for s in self.raw if has[s]))

    def cullet(self, *pieces: str) -> None:
        """These pieces are thrown away."""
        for piece in pieces:
            self._leaf(piece, LeafKind.CULLET)

    def _leaf(self, piece: str, kind: LeafKind, **more: object) -> None:
        self.leaves.append(Leaf(piece=piece, outline=self.pieces[piece], kind=kind, **more))  # type: ignore[arg-type]

    def plan(self, panels: list[Panel], *, stock: str, is_offcut: bool = False, unit: str = "mm") -> Plan:
        """The plan of this one sheet."""
        glass = panels[0].glass
        layout = Layout(
            number=1,
            glass=glass,
            stock=stock,
            is_offcut=is_offcut,
            cost=60 * MONEY,
            width=self.size[0],
            height=self.size[1],
            raw=self.raw,
            trim=self.trim,
            cuts=tuple(self.cuts),
            leaves=tuple(sorted(self.leaves, key=lambda leaf: leaf.piece)),
        )
        name = plan_id(0, [layout])
        letters = iter(range(99))
        leaves = tuple(
            replace(leaf, offcut=offcut_number(name, 1, next(letters)))
            if leaf.kind is LeafKind.OFFCUT
            else leaf
            for leaf in layout.leaves
        )
        bound = Bound(cost=60 * MONEY, sheets=1, by="area", valid_for="any cutting")
        return Plan(
            id=name,
            program="panewright",
            seed=0,
            effort=1,
            length_unit=unit,
            currency="EUR",
            rules={glass: Rules()},
            panels=tuple(panels),
            layouts=(replace(layout, leaves=leaves),),
            unplaced=(),
            outcomes={glass: GlassOutcome(bound=bound, optimal=True, stopped_by="bound met")},
        )


@pytest.fixture
def hand_plan(make_panel: Callable[..., Panel]) -> Plan:
    """A sheet of 2000 x 1000 mm with two trims, three levels and a last cut; three panels, two offcuts."""
    front = make_panel(697, 497, id="K-204/front/1", allowance="1.5")
    back = make_panel(497, 697, id="K-204/back/1", allowance="1.5")
    side = make_panel(597, 397, id="K-205/left side/1", allowance="1.5")
    s = HandSheet(mm(2000), mm(1000), ALL_SIDES, Trim(mm(20), mm(25), mm(20), mm(25)))
    left, rest = s.upright("s", mm(20), CutKind.TRIM, 0)
    low, rest = s.level(rest, mm(20), CutKind.TRIM, 0)
    main, right = s.upright(rest, mm(1520), CutKind.MAIN, 1)
    lower, upper = s.level(main, mm(520), CutKind.MAIN, 2)
    one, rest = s.upright(lower, mm(720), CutKind.MAIN, 3)
    two, end = s.upright(rest, mm(1420), CutKind.MAIN, 3)
    three, keep = s.upright(upper, mm(620), CutKind.MAIN, 3)
    three, top = s.level(three, mm(920), CutKind.LAST, 4)
    s.panel(one, front)
    s.panel(two, back, turned=90)
    s.panel(three, side, turned=180)
    s.offcut(right)
    s.offcut(keep)
    s.cullet(left, low, end, top)
    return s.plan([front, back, side], stock="clear-10 2000x1000")


@pytest.fixture(scope="session")
def chained_plans(make_panel: Callable[..., Panel]) -> tuple[Plan, Plan]:
    """Two equal sheets of 2000 x 1000 mm, and a plan cut from the offcut of 900 x 480 mm of the first one.

    Each of the sheets gives three panels (700 x 500, 500 x 700 and 600 x 400 mm as cut), an offcut of 480 x 980 mm
    and the one of 900 x 480 mm; trims 20 mm left and below, 25 mm right and above.
    """
    panels: list[Panel] = []
    layouts = []
    for number in (1, 2):
        sizes = ((697, 497, "front"), (497, 697, "back"), (597, 397, "side"))
        front, back, side = (
            make_panel(w, h, id=f"K-{number}/{name}/1", allowance="1.5") for w, h, name in sizes
        )
        panels += [front, back, side]
        s = HandSheet(mm(2000), mm(1000), ALL_SIDES, Trim(mm(20), mm(25), mm(20), mm(25)))
        left, rest = s.upright("s", mm(20), CutKind.TRIM, 0)
        low, rest = s.level(rest, mm(20), CutKind.TRIM, 0)
        main, right = s.upright(rest, mm(1520), CutKind.MAIN, 1)
        lower, upper = s.level(main, mm(520), CutKind.MAIN, 2)
        one, rest = s.upright(lower, mm(720), CutKind.MAIN, 3)
        two, end = s.upright(rest, mm(1420), CutKind.MAIN, 3)
        three, keep = s.upright(upper, mm(620), CutKind.MAIN, 3)
        three, top = s.level(three, mm(920), CutKind.LAST, 4)
        s.panel(one, front)
        s.panel(two, back, turned=90)
        s.panel(three, side, turned=180)
        s.offcut(right)
        s.offcut(keep)
        s.cullet(left, low, end, top)
        alone = s.plan(panels, stock="clear-10 2000x1000")
        layouts.append(replace(alone.layouts[0], number=number))
    name = plan_id(0, layouts)
    named = []
    for layout in layouts:
        letters = iter(range(99))
        leaves = tuple(
            replace(leaf, offcut=offcut_number(name, layout.number, next(letters))) if leaf.offcut else leaf
            for leaf in layout.leaves
        )
        named.append(replace(layout, leaves=leaves))
    bound = Bound(cost=120 * MONEY, sheets=2, by="area", valid_for="any cutting")
    outcome = GlassOutcome(bound=bound, optimal=True, stopped_by="bound met")
    first = replace(
        alone, id=name, panels=tuple(panels), layouts=tuple(named), outcomes={"clear-10": outcome}
    )
    offcut = next(x for x in named[0].leaves if x.offcut and box(x.outline)[2] == mm(1520))
    lid = make_panel(600, 400, id="K-9/lid/1")
    s = HandSheet(mm(900), mm(480), offcut.raw, Trim(top=mm(25)))
    strip, rest = s.upright("s", mm(600), CutKind.MAIN, 1)
    panel, over = s.level(strip, mm(400), CutKind.MAIN, 2)
    s.panel(panel, lid)
    s.cullet(rest, over)
    assert offcut.offcut is not None
    second = s.plan([lid], stock=offcut.offcut, is_offcut=True)
    return first, replace(second, extra={"sheets": {"1": {"after": f"{name}.1"}}})


@pytest.fixture
def pentagon_plan(make_panel: Callable[..., Panel]) -> Plan:
    """An offcut of 1240 x 640 mm, out of which a corner pentagon comes by one angled score."""
    pentagon = make_outline(
        [(0, 0), (mm(600), 0), (mm(600), mm(250)), (mm(250), mm(600)), (0, mm(600))],
    )
    base = make_panel(id="K-310/base/1", outline=pentagon)
    s = HandSheet(mm(1240), mm(640), (), Trim())
    blank, keep = s.upright("s", mm(600), CutKind.MAIN, 1)
    blank, strip = s.level(blank, mm(600), CutKind.MAIN, 2)
    corner = ((mm(600), mm(250)), (mm(600), mm(600)), (mm(250), mm(600)))
    panel, waste = s.shape(blank, (mm(600), mm(250)), (mm(250), mm(600)), pentagon, corner)
    s.panel(panel, base)
    s.offcut(keep)
    s.cullet(strip, waste)
    return s.plan([base], stock="7HRT-22KD.3.a", is_offcut=True)


@pytest.fixture
def inch_plan(make_panel: Callable[..., Panel]) -> Plan:
    """A sheet of 48 x 36 in of half-inch glass in an inch shop."""
    size = rectangle(inch("23.625"), inch("15.5"))
    side = make_panel(id="A-7/side/1", glass="clear-12", outline=size)
    s = HandSheet(inch(48), inch(36), ALL_SIDES, Trim(inch("0.75"), inch(1), inch("0.75"), inch(1)))
    left, rest = s.upright("s", inch("0.75"), CutKind.TRIM, 0)
    low, rest = s.level(rest, inch("0.75"), CutKind.TRIM, 0)
    strip, right = s.upright(rest, inch("24.375"), CutKind.MAIN, 1)
    panel, upper = s.level(strip, inch("16.25"), CutKind.MAIN, 2)
    s.panel(panel, side)
    s.offcut(right)
    s.offcut(upper)
    s.cullet(left, low)
    return s.plan([side], stock="clear-12 48x36", unit="in")


@pytest.fixture
def octagon_plan(make_panel: Callable[..., Panel]) -> Plan:
    """An offcut of 1000 x 700 mm, out of which an octagon comes by four scores at 45 degrees.

    Its corners are 28.3 mm deep: less than the break-out distance, more than the least corner depth.
    """
    a, b, c = mm(40), mm(560), mm(600)
    octagon = ((a, 0), (b, 0), (c, a), (c, b), (b, c), (a, c), (0, b), (0, a))
    lid = make_panel(id="K-311/lid/1", outline=octagon, turn=Turn.QUARTER)
    s = HandSheet(mm(1000), mm(700), (), Trim())
    blank, keep = s.upright("s", c, CutKind.MAIN, 1)
    rest, strip = s.level(blank, c, CutKind.MAIN, 2)
    s.offcut(keep)
    s.cullet(strip)
    corners = ((c, 0), (c, c), (0, c), (0, 0))
    shape = corners
    for k, corner in enumerate(corners):
        start, end = octagon[2 * k + 1], octagon[(2 * k + 2) % 8]
        i = shape.index(corner)
        shape = (*shape[:i], start, end, *shape[i + 1 :])
        rest, waste = s.shape(rest, start, end, shape, (start, corner, end))
        s.cullet(waste)
    s.panel(rest, lid, turned=90)
    return s.plan([lid], stock="7HRT-22KD.4.b", is_offcut=True)


@pytest.fixture(scope="session")
def hand_sheet() -> type[HandSheet]:
    """The sheet that is cut up by hand, for plans of one's own."""
    return HandSheet


@pytest.fixture(scope="session")
def week_plan(make_panel: Callable[..., Panel]) -> Callable[..., Plan]:
    """Builds a plan of sheets, each a row of panels 300 x 400 mm given as order and due day."""

    def make(*sheets: Sequence[tuple[str, date | None]], seed: int = 0) -> Plan:
        panels: list[Panel] = []
        layouts = []
        for number, row in enumerate(sheets, start=1):
            s = HandSheet(mm(300) * len(row), mm(400), (), Trim())
            rest = "s"
            for i, (order, due) in enumerate(row, start=1):
                count = sum(panel.order == order for panel in panels) + 1
                one = make_panel(300, 400, id=f"{order}/front/{count}")
                one = replace(one, order=order, name="front", due=due)
                panels.append(one)
                piece, rest = s.upright(rest, i * mm(300), CutKind.MAIN, 1) if i < len(row) else (rest, "")
                s.panel(piece, one)
            alone = s.plan(panels, stock=f"R-{number}", is_offcut=True)
            layouts.append(replace(alone.layouts[0], number=number))
        bound = Bound(cost=60 * MONEY * len(layouts), sheets=len(layouts), by="area", valid_for="any cutting")
        outcome = GlassOutcome(bound=bound, optimal=True, stopped_by="bound met")
        return replace(
            alone,
            id=plan_id(seed, layouts),
            seed=seed,
            panels=tuple(panels),
            layouts=tuple(layouts),
            outcomes={"clear-10": outcome},
        )

    return make


@pytest.fixture(scope="session")
def blank_sheet() -> Callable:
    """A sheet from which one blank is cut by two main cuts; the sheet and the name of the blank."""

    def make(width: int, height: int):
        s = HandSheet(width + mm(700), height + mm(700), (), Trim())
        strip, keep = s.upright("s", width, CutKind.MAIN, 1)
        blank, upper = s.level(strip, height, CutKind.MAIN, 2)
        s.offcut(keep)
        s.offcut(upper)
        return s, blank

    return make


@pytest.fixture
def trapezoids(blank_sheet: Callable, make_panel: Callable[..., Panel]) -> Plan:
    """Two right trapezoids, bottom 500, top 350, height 400, 1.5 mm all round, that share the slanted score."""
    outline = make_outline([(0, 0), (mm(500), 0), (mm(350), mm(400)), (0, mm(400))])
    one, two = (make_panel(id=f"K-204/baffle/{i}", outline=outline, allowance="1.5") for i in (1, 2))
    (x0, y0), (x1, _), (x2, y2), _ = one.cut
    bottom, top, high = x1 - x0, x2 - x0, y2 - y0
    s, blank = blank_sheet(bottom + top, high)
    left, right = s.angled(blank, (bottom, 0), (top, high))
    s.panel(left, one)
    s.panel(right, two, turned=180)
    return s.plan([one, two], stock="R-1", is_offcut=True)


@pytest.fixture
def pentagons(blank_sheet: Callable, make_panel: Callable[..., Panel]) -> Plan:
    """Two corner pentagons, legs 600, returns 250, 1.5 mm all round, that share the angled score."""
    a, w = mm(250), mm(600)
    outline: Outline = ((0, 0), (w, 0), (w, a), (a, w), (0, w))
    one, two = (make_panel(id=f"K-310/base/{i}", outline=outline, allowance="1.5") for i in (1, 2))
    (x0, _), (x1, _), (_, ya), *_ = one.cut
    side, back = x1 - x0, ya - x0
    wide = side + back
    s, blank = blank_sheet(wide + back, side)
    left, right = s.angled(blank, (wide, 0), (back, side))
    first, tip = s.angled(left, (side, 0), (side, back))
    s.panel(first, one)
    at = wide + back - side
    other, second = s.angled(right, (at, side - back), (at, side))
    s.panel(second, two, turned=180)
    s.cullet(tip, other)
    return s.plan([one, two], stock="R-2", is_offcut=True)


class Desk:
    """Writes order lists of dictionaries and reads them."""

    rectangle: ClassVar[dict[str, str]] = {
        "order": "A",
        "shape": "rectangle",
        "length": "900",
        "width": "450",
        "height": "450",
        "glass": "clear-10",
    }

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.problems = Problems()

    def read(self, *rows: dict[str, str], shop: Shop | None = None) -> Orders:
        path = self.folder / "orders.csv"
        with path.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(stream, list(dict.fromkeys(key for row in rows for key in row)))
            writer.writeheader()
            writer.writerows(rows)
        self.problems = Problems()
        return read_orders([path], shop or default_shop(), self.problems)

    def one(self, shop: Shop | None = None, **row: str) -> Tank:
        orders = self.read(self.rectangle | row, shop=shop)
        assert not self.problems, list(self.problems.lines())
        return orders.tanks[0].settled.built.tank

    def faults(self, row: dict[str, str], shop: Shop | None = None) -> list[Problem]:
        orders = self.read(row, shop=shop)
        assert not orders.panels and not orders.tanks, "nothing of a row with an error is planned"
        assert self.problems.errors
        for error in self.problems.errors:
            assert str(error).isprintable() and len(str(error)) < 700
            assert error.row == 2 and error.reason and error.remedy
        return list(self.problems.errors)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """An order desk that writes to the test's own folder."""
    return Desk(tmp_path)


class ReadPdf:
    """A PDF by other programs' eyes: text and pictures by PDFium, codes by ZXing, both independent of ours."""

    def __init__(self, data: bytes) -> None:
        import pypdfium2 as pdfium

        self.doc = pdfium.PdfDocument(data)
        self.texts = [page.get_textpage().get_text_bounded() for page in self.doc]
        self.text = "\n".join(self.texts)

    def __len__(self) -> int:
        return len(self.texts)

    def sizes(self) -> set[tuple[float, ...]]:
        """Sizes of the pages. [mm]"""
        return {tuple(round(v / 72 * 25.4, 1) for v in page.get_size()) for page in self.doc}

    def picture(self, index: int, dpi: int = 200) -> np.ndarray:
        """A page in grey, 0 black to 255 white."""
        image = self.doc[index].render(scale=dpi / 72, grayscale=True).to_numpy()
        return np.ascontiguousarray(image.reshape(image.shape[0], image.shape[1]))

    def codes(self, index: int, dpi: int = 200) -> list[str]:
        """The QR codes of a page, rendered as a common office printer would."""
        import zxingcpp

        found = zxingcpp.read_barcodes(self.picture(index, dpi), formats=zxingcpp.BarcodeFormat.QRCode)
        return sorted(one.text for one in found)


@pytest.fixture(scope="session")
def read_pdf() -> type[ReadPdf]:
    """Reads a PDF back."""
    return ReadPdf


@pytest.fixture(scope="session")
def odd_names() -> dict[str, str]:
    """Names that an order may bear."""
    return {
        "hebrew": "\u05d0\u05e7\u05d5\u05d5\u05e8\u05d9\u05d5\u05dd 12",
        "arabic": "\u062d\u0648\u0636 \u0633\u0645\u0643",
        "markup": "<script>alert(1)</script>",
        "fish": "\U0001f420\U0001f41f",
        "long": "x" * 200,
        "cjk": "\u6c34\u69fd \u6c34\u69fd",
        "greek": "\u0394\u03b5\u03be\u03b9\u03ac",
        "operators": "(a) Tj ET \\ )",
    }


class Databases:
    """Stores in one of both kinds of database, each of its own and without any movement."""

    def __init__(self, kind: str, folder: Path, server: bench_server.Server | None) -> None:
        self.kind, self.folder, self.server = kind, folder, server
        self.count = 0
        self.made: list[str] = []

    def nothing(self) -> str:
        """The address of a database or file in which there is nothing yet."""
        self.count += 1
        if self.server is None:
            return str(self.folder / f"stock-{self.count}.db")
        name = f"stock_{self.count}"
        self.server.create(name)
        self.made.append(name)
        return self.server.url(name)

    def empty(self) -> str:
        """The address of a store whose tables are made: a copy, for migrations take longer."""
        template = "template" if self.server is None else "stock_template"
        self.count += 1
        if self.server is None:
            made = self.folder / f"{template}.db"
            if not made.exists():
                open_store(str(made), create=True).close()
            copy = self.folder / f"stock-{self.count}.db"
            shutil.copyfile(made, copy)
            return str(copy)
        if not self.server.run(f"select 1 from pg_database where datname = '{template}'"):
            self.server.create(template)
            open_store(self.server.url(template), create=True).close()
        name = f"stock_{self.count}"
        self.server.create(name, template)
        self.made.append(name)
        return self.server.url(name)

    def drop(self) -> None:
        """Remove the databases of a test."""
        if self.server is not None:
            for name in self.made:
                self.server.drop(name)
        self.made.clear()


@pytest.fixture(scope="session")
def postgres() -> Iterator[bench_server.Server]:
    """A PostgreSQL server, really started; one for each worker."""
    with ExitStack() as stack:
        try:
            server = stack.enter_context(bench_server.running())
        except bench_server.NoServer as error:
            if os.environ.get("PANEWRIGHT_TEST_ALL"):
                pytest.fail(str(error))
            pytest.skip(str(error))
        yield server


@pytest.fixture(scope="session", params=["sqlite", "postgresql"])
def all_databases(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Databases:
    """Both kinds of database, one after the other."""
    server = request.getfixturevalue("postgres") if request.param == "postgresql" else None
    return Databases(request.param, tmp_path_factory.mktemp("stores"), server)


@pytest.fixture
def databases(all_databases: Databases) -> Iterator[Databases]:
    """Makes stores of one kind for a test, which runs once with each kind."""
    yield all_databases
    all_databases.drop()


@pytest.fixture
def store(databases: Databases) -> Iterator[Store]:
    """An open store with its tables and nothing in them; SQLite and PostgreSQL in turn."""
    with open_store(databases.empty()) as one:
        yield one


RECORD_START = datetime(2027, 3, 8, 9, 0, tzinfo=UTC)
RECORD_BECAUSE = Because(at=RECORD_START, who="desk")


class RecordTable:
    """A store with a case of three sheets and both plans, and somebody who tells what happens."""

    def __init__(self, store, plans, *, second=True):
        self.store = store
        self.first, self.second = plans
        self.big, self.small = sorted(
            (x.offcut for x in self.first.layouts[0].leaves if x.offcut),
            key=lambda name: name != self.second.layouts[0].stock,
            reverse=True,
        )
        self.count = 0
        with store.writing() as c:
            for name in ("C-1", "C-2"):
                case = Item(
                    kind="sheet", name=name, glass="clear-10", width=mm(2000), height=mm(1000),
                    since=date(2027, 3, 1), price=600_000, supplier="Float Ltd",
                )  # fmt: skip
                receive(c, case, 3 if name == "C-1" else 1, RECORD_BECAUSE)
            commit_plan(c, self.first, RECORD_BECAUSE)
            if second:
                commit_plan(c, self.second, RECORD_BECAUSE)

    def event(self, what, **more):
        self.count += 1
        at = more.pop("at", RECORD_START + timedelta(minutes=self.count))
        return Event(id=more.pop("id", f"e{self.count}"), at=at, what=what, **more)

    def cut(self, number, **more):
        return self.event(What.SHEET_CUT, sheet=number, **more)

    def tell(self, *events, plan=None):
        with self.store.writing() as c:
            done = apply_events(c, Record(plan=(plan or self.first).id, events=events), RECORD_BECAUSE)
        self.adds_up()
        return done

    def refused(self, *events, plan=None):
        before = self.all_rows()
        with pytest.raises(NotRecorded) as error, self.store.writing() as c:
            apply_events(c, Record(plan=(plan or self.first).id, events=events), RECORD_BECAUSE)
        assert self.all_rows() == before
        return [f"{p.reason}; {p.remedy}" for p in error.value.problems]

    def all_rows(self):
        with self.store.reading() as c:
            return c.execute(select(movement)).all(), c.execute(select(plan_sheet)).all()

    def adds_up(self):
        with self.store.reading() as c:
            assert audit(c) == []
            for row in c.execute(select(plan_sheet)):
                assert (row.item is not None) == (row.state in ("reserved", "cut"))

    def balance(self, name):
        with self.store.reading() as c:
            return find_item(c, name).balance

    def state(self, plan, number):
        with self.store.reading() as c:
            query = select(plan_sheet.c.state).where(
                plan_sheet.c.plan == plan.id, plan_sheet.c.number == number
            )
            return c.execute(query).scalar()


@pytest.fixture(scope="session")
def record_table() -> type[RecordTable]:
    """Somebody who tells what happens at a table."""
    return RecordTable


@pytest.fixture
def table(store: Store, chained_plans: tuple[Plan, Plan]) -> RecordTable:
    """A store with two cases and both of `chained_plans`, and somebody who tells what happens."""
    return RecordTable(store, chained_plans)
