"""Cut sizes that go up to the mark: what is added where, and what a cutter then reads."""

from __future__ import annotations

import contextvars
import csv
import json
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from panewright.cli import main
from panewright.io.filler_list import read_filler_list
from panewright.io.order_lists import Orders, read_orders
from panewright.io.panel_list_text import panel_list_text
from panewright.io.problems import Problems
from panewright.io.sequence_csv import sequence_csv
from panewright.io.sequence_files import sequence_text
from panewright.io.shop_file import default_shop
from panewright.io.stock_list import shop_stock
from panewright.nesting.check_outlines import cut_outline_fault
from panewright.nesting.checker import check
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.kept import CannotKeep, keep_sheets
from panewright.nesting.outlines import box, is_rectangle, rectangle
from panewright.nesting.panels import Panel, cut_of
from panewright.nesting.plan import CutKind, Plan
from panewright.nesting.planner import Planner
from panewright.nesting.sequence import steps_of
from panewright.nesting.shop import CuttingChoice, Shop, StockSize
from panewright.nesting.shop_table import Habit, Table, TableWork
from panewright.nesting.steps import Eaten
from panewright.nesting.stock import Trim
from panewright.nesting.to_the_mark import SIZED, takes_off, to_the_mark
from panewright.nesting.units import INCH, MM, inch, mm, use_style

WORKS = {work: mm(a) for work, a in zip(Work, ("0", "0.3", "1", "1.5", "1.5", "1", "1.5"), strict=True)}


@pytest.fixture(autouse=True)
def metric():
    use_style(MM)
    yield
    use_style(MM)


def marked(shop: Shop, habit: Habit | None = None) -> Shop:
    return replace(shop, work=TableWork(to_the_mark=True, habit=habit))


# ---------------------------------------------------------------- the rule


@given(
    st.tuples(st.integers(1, 3_000_000_000), st.integers(1, 3_000_000_000)),
    st.lists(st.sampled_from(list(Work)), min_size=4, max_size=4),
    st.sampled_from([mm("0.1"), mm("0.5"), mm(1), inch("1/32"), inch("1/16")]),
    st.integers(0, 3),
)
def test_a_worked_direction_is_on_the_mark_and_any_other_is_exact(size, works, step, first) -> None:
    corners = rectangle(*size)
    finished = corners[first:] + corners[:first]
    plain = tuple(Edge(work=work, allowance=WORKS[work]) for work in works)
    edges = to_the_mark(finished, plain, step)
    assert [replace(e, allowance=0) for e in edges] == [replace(e, allowance=0) for e in plain]
    before, after = cut_of(finished, plain), cut_of(finished, edges)
    (ax, ay, bx, by), (cx, cy, dx, dy) = box(before), box(after)
    for k, old, new in ((1, bx - ax, dx - cx), (0, by - ay, dy - cy)):
        across = [i for i in range(4) if finished[i][1 - k] == finished[(i + 1) % 4][1 - k]]
        worked = [i for i in across if plain[i].work in SIZED]
        more = [edges[i].allowance - plain[i].allowance for i in across]
        if not worked:
            assert new == old and more == [0, 0]
            continue
        assert new % step == 0 and 0 <= new - old < step
        assert all(m == 0 for i, m in zip(across, more, strict=True) if i not in worked)
        shares = [m for i, m in zip(across, more, strict=True) if i in worked]
        assert max(shares) - min(shares) <= 1 and sum(shares) == new - old
    panel = Panel(id="A/p/1", order="A", name="p", glass="clear-10", thickness=mm(10), finished=finished,
                  cut=after, edges=edges)  # fmt: skip
    assert cut_outline_fault(panel) is None
    # what is on the mark stays, and so does what nobody asks to move
    assert to_the_mark(finished, edges, step) == edges
    assert to_the_mark(finished, plain, None) == plain


def test_an_angled_panel_stays_exact() -> None:
    outline = ((0, 0), (mm("500.3"), 0), (mm("350.1"), mm(400)), (0, mm(400)))
    edges = (Edge(work=Work.GROUND, allowance=mm(1)),) * 4
    assert to_the_mark(outline, edges, mm("0.5")) == edges


def test_seaming_and_an_allowance_of_nothing_take_no_glass_off() -> None:
    assert not takes_off(Edge(work=Work.SEAMED, allowance=mm("0.3")))
    assert not takes_off(Edge(work=Work.GROUND, allowance=0))
    assert takes_off(Edge(work=Work.MITRE, allowance=mm("1.5"), mitre=45_000))


# ---------------------------------------------------------------- lists, tanks, fillers, trims

PANELS = """order,panel,quantity,width,height,glass,edges,corners,unit
K-1,front,3,600.3,400.2,clear-10,polished,,mm
K-1,side,2,512.75,388.88,clear-10,polished|cut|ground|cut,,mm
K-1,shelf,2,450.1,300.3,clear-10,cut,,mm
K-1,foot,1,700.1,250.4,clear-10,mitre 45|cut|mitre 45|seamed,,mm
K-2,lid,4,23 5/8,15 3/16,clear-10,ground,,in
K-2,fin,1,,,clear-10,ground,0 0 | 500.3 0 | 350.1 400.2 | 0 400.2,mm
K-3,askew,1,,,clear-10,ground,0 0 | 300 400 | -100 700 | -400 300,mm
"""


def read(folder: Path, shop: Shop, text: str = PANELS) -> Orders:
    path = folder / "panels.csv"
    path.write_text(text, encoding="utf-8")
    problems = Problems()
    orders = read_orders([path], shop, problems)
    assert not problems.errors, problems.lines()
    return orders


def sizes(panels: list[Panel]) -> dict[str, tuple[int, int]]:
    found = {}
    for p in panels:
        x0, y0, x1, y1 = box(p.cut)
        found[p.name] = (x1 - x0, y1 - y0)
    return found


def test_panel_lists_are_cut_to_the_mark_and_finish_as_before(tmp_path: Path) -> None:
    plain, shop = default_shop(), marked(default_shop())
    before, after = read(tmp_path, plain).panels, read(tmp_path, shop).panels
    assert [p.finished for p in before] == [p.finished for p in after]
    found = sizes(after)
    assert found["front"] == (mm("603.5"), mm("403.5"))  # 603.3 x 403.2
    assert found["side"] == (mm("512.75"), mm("391.5"))  # as cut at the sides; 388.88 + 1.5 + 1
    assert found["shelf"] == (mm("450.1"), mm("300.3"))
    assert found["foot"] == (mm("700.1"), mm("253.5"))  # 250.4 + 3, of mitres; the sides are as cut or seamed
    assert found["lid"] == (mm("602.5"), mm("388"))  # 600.075 + 2, 385.7625 + 2
    was, fin = (next(p for p in panels if p.name == "fin") for panels in (before, after))
    assert (fin.cut, fin.edges) == (was.cut, was.edges)
    # a square that was listed at an angle lies along the axes when it is cut: 500 + 2 is on the mark
    assert found["askew"] == (mm(502), mm(502))
    assert all(cut_outline_fault(p) is None for p in after)
    # the written list reads back to the same panels
    again = read(tmp_path, shop, panel_list_text(after, shop)).panels
    assert [(p.id, p.finished, p.cut, p.edges) for p in again] == [
        (p.id, p.finished, p.cut, p.edges) for p in after
    ]


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_square_piece_of_a_tank_is_cut_to_the_mark(desk, unit: str) -> None:
    rows = [
        desk.rectangle | {"length": "900.3", "width": "450.7", "height": "447.1", "rim": "braces 60"},
        desk.rectangle
        | {"order": "B", "shape": "corner", "length": "611.3", "width": "600", "return": "250.7"},
    ]
    plain = default_shop()
    if unit == "in":
        plain = replace(plain, length_style=INCH)
    step = mm("0.5") if unit == "mm" else inch("1/32")
    before = desk.read(*rows, shop=plain).panels
    after = desk.read(*rows, shop=marked(plain)).panels
    assert [(p.id, p.finished) for p in before] == [(p.id, p.finished) for p in after]
    moved = 0
    for old, new in zip(before, after, strict=True):
        assert cut_outline_fault(new) is None
        if not is_rectangle(new.finished):
            assert (new.cut, new.edges) == (old.cut, old.edges)
            continue
        x0, y0, x1, y1 = box(new.cut)
        for axis, size in ((0, x1 - x0), (1, y1 - y0)):
            f = new.finished
            across = [new.edges[i] for i in range(4) if f[i][axis] == f[(i + 1) % 4][axis]]
            assert size % step == 0 or not any(map(takes_off, across))
        moved += new.cut != old.cut
    assert moved > 3


def test_fillers_follow_the_same_rule(tmp_path: Path) -> None:
    path = tmp_path / "fillers.csv"
    path.write_text(
        "filler,width,height,glass,edges,worth,most\nshelf,300.2,200.4,clear-10,ground,3,9\n",
        encoding="utf-8",
    )
    (filler,) = read_filler_list(path, marked(default_shop()), Problems())
    assert sizes([filler.panel]) == {"shelf": (mm("302.5"), mm("202.5"))}


def test_near_trims_of_an_inch_shop_are_on_the_mark() -> None:
    size = StockSize(glass="clear-10", width=mm(3210), height=mm(2250), price=1, trim=Trim(*[mm(25)] * 4))
    plain = replace(default_shop(), length_style=INCH, stock_sizes=(size,))
    shop = marked(plain)
    assert plain.trim("clear-10") == Trim(mm(20), mm(25), mm(20), mm(25))
    # 20 mm are 25.2 thirty-seconds; nobody measures the far strips
    assert shop.trim("clear-10") == Trim(inch("26/32"), mm(25), inch("26/32"), mm(25))
    assert shop_stock(shop)[0].trim == Trim(inch(1), mm(25), inch(1), mm(25))
    exact = replace(shop, cutting=CuttingChoice(mark_step=0))
    assert exact.tape_step("clear-10") is None and exact.trim("clear-10") == plain.trim("clear-10")
    by_machine = replace(shop, table=Table.MACHINE)
    assert by_machine.tape_step("clear-10") is None


# ---------------------------------------------------------------- a plan

MANY = """order,panel,quantity,width,height,glass,edges
"""


def many(step_of: int) -> str:
    """Panels of odd sizes, with worked edges in both directions."""
    rows = []
    for k in range(14):
        width, height = 311.17 + 83.31 * (k * step_of % 11), 233.43 + 61.17 * (k * 5 % 8)
        edges = ("polished", "ground|cut|cut|ground", "cut|polished|polished|cut")[k % 3]
        rows.append(f"K-{k % 4},p{k},{2 + k % 3},{width:.2f},{height:.2f},clear-10,{edges}")
    return MANY + "\n".join(rows) + "\n"


def planned(panels, stock, shop: Shop, kept=None) -> Plan:
    planner = Planner(panels, stock, shop, effort=30, kept=kept)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


@pytest.mark.parametrize("habit", [Habit.STOP, Habit.STRIP])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_measure_of_a_week_of_rectangles_is_on_the_mark(
    tmp_path: Path, make_stock: Callable, outsider: Callable, unit: str, habit: Habit
) -> None:
    shop = marked(default_shop(), habit)
    if unit == "in":
        shop = replace(shop, length_style=INCH)
    step = shop.rules("clear-10").mark_step
    assert step == (mm("0.5") if unit == "mm" else inch("1/32"))
    stock = [
        replace(make_stock(3210, 2250), trim=shop.trim("clear-10")),
        # an offcut whose sides are off the mark: only its left and lower sides are good to measure from
        replace(make_stock(1000, 700, raw=(), offcut=True, on_hand=1, buyable=False, name="R-1"),
                width=mm("1301.17"), height=mm("903.33"), cost=1),
    ]  # fmt: skip
    panels = read(tmp_path, shop, many(3)).panels
    plan = planned(panels, stock, shop)
    assert check(plan) == [] and not plan.unplaced
    outsider(plan, tmp_path)
    assert any(x.is_offcut for x in plan.layouts)
    seen = placed = 0
    for layout in plan.layouts:
        for s in steps_of(plan, layout):
            assert s.kind is not CutKind.SHAPE and s.measure is not None
            assert s.measure == s.exact and s.measure % step == 0
            placed += s.placement is not None
            seen += 1
            assert all(part.error is None for part in s.makes)
    assert seen > 40 and (placed > 10) is (habit is Habit.STRIP)
    assert "rounded" not in sequence_text(plan)


def test_without_it_the_measures_are_rounded_and_that_is_said(
    tmp_path: Path, make_stock: Callable, outsider: Callable
) -> None:
    shop = replace(default_shop(), work=TableWork(habit=Habit.STOP))
    panels = read(tmp_path, shop, many(3)).panels
    plan = planned(panels, [make_stock(3210, 2250)], shop)
    outsider(plan, tmp_path)
    text = sequence_text(plan)
    assert "rounded to 0.5 mm:" in text and "rounded marks: up to" in text
    steps = [s for layout in plan.layouts for s in steps_of(plan, layout)]
    rows = list(csv.DictReader(StringIO(sequence_csv(plan).lstrip("\ufeff"))))
    off = 0
    for s, row in zip(steps, rows, strict=True):
        assert s.distance is not None and s.table is not None
        assert 2 * abs(s.table - s.distance) <= mm("0.5") and s.table % mm("0.5") == 0
        assert float(row["measure at the table [mm]"]) * 1e6 == s.table
        assert float(row["measure [mm]"]) * 1e6 == pytest.approx(s.distance, abs=5001)
        off += s.table != s.distance
    assert off > 20


# ---------------------------------------------------------------- what rounding does to rectangles


def row_of_three(hand_sheet: Callable, make_panel: Callable) -> Plan:
    """Three panels 300.3 wide side by side on an offcut, and cullet behind them; high 400 as the offcut."""
    panels = [make_panel("299.3", 399, id=f"R/p/{k}", allowance="0.5") for k in (1, 2, 3)]
    s = hand_sheet(mm("940.9"), mm(400), (), Trim())
    rest = "s"
    for k, panel in enumerate(panels, 1):
        piece, rest = s.upright(rest, k * mm("300.3"), CutKind.MAIN, 1)
        s.panel(piece, panel)
    s.cullet(rest)
    return s.plan(panels, stock="R-1", is_offcut=True)


def with_habit(plan: Plan, habit: Habit, step: int | None) -> Plan:
    (layout,) = plan.layouts
    together = 1 if habit is Habit.STRIP else None
    cuts = tuple(replace(cut, placement=together) for cut in layout.cuts)
    return replace(
        plan,
        habit=habit.value,
        layouts=(replace(layout, cuts=cuts),),
        rules={glass: replace(r, mark_step=step) for glass, r in plan.rules.items()},
    )


def errors(plan: Plan) -> list[tuple[int, int]]:
    made = [part for s in steps_of(plan, plan.layouts[0]) for part in s.makes if part.panel]
    made.sort(key=lambda part: part.panel or "")
    return [(p.error.missing, p.error.extra) if p.error else (0, 0) for p in made]


def test_each_panel_measured_from_a_fresh_edge_is_off_by_its_own_rounding(
    hand_sheet: Callable, make_panel: Callable
) -> None:
    plan = with_habit(row_of_three(hand_sheet, make_panel), Habit.STOP, mm("0.5"))
    assert [s.measure for s in steps_of(plan, plan.layouts[0])] == [mm("300.5")] * 3
    assert errors(plan) == [(0, mm("0.2"))] * 3


def test_marks_from_one_edge_are_each_rounded_by_themselves(
    hand_sheet: Callable, make_panel: Callable
) -> None:
    plan = with_habit(row_of_three(hand_sheet, make_panel), Habit.STRIP, mm("0.5"))
    steps = steps_of(plan, plan.layouts[0])
    placement = steps[0].placement
    assert placement is not None
    # 300.3, 600.6 and 900.9 are marked at 300.5, 600.5 and 901: the panels come out 300.5, 300 and 300.5
    assert placement.marks == (mm("300.5"), mm("600.5"), mm(901))
    assert placement.exact == (mm("300.3"), mm("600.6"), mm("900.9"))
    assert [s.exact for s in steps] == [mm("300.3"), mm("600.6"), mm("900.9")]
    assert errors(plan) == [(0, mm("0.2")), (mm("0.3"), 0), (0, mm("0.2"))]
    lost = next(part.error for s in steps for part in s.makes if part.panel == "R/p/2")
    assert lost is not None and lost.eaten is Eaten.HALF


def test_a_panel_that_nobody_measures_takes_the_sum(hand_sheet: Callable, make_panel: Callable) -> None:
    panels = [make_panel("300.3", 400, id=f"R/p/{k}") for k in (1, 2)]
    last = make_panel("299.4", 400, id="R/p/3")
    s = hand_sheet(mm("900"), mm(400), (), Trim())
    one, rest = s.upright("s", mm("300.3"), CutKind.MAIN, 1)
    two, rest = s.upright(rest, mm("600.6"), CutKind.MAIN, 1)
    for piece, panel in zip((one, two, rest), (*panels, last), strict=True):
        s.panel(piece, panel)
    plan = with_habit(s.plan([*panels, last], stock="R-1", is_offcut=True), Habit.STOP, mm(1))
    # 300.3 is marked as 300, twice; or from the far side, whichever is nearer: 599.7 as 600
    found = errors(plan)
    assert found[0] == (mm("0.3"), 0)
    assert found[1] == (mm("0.3"), 0) and found[2] == (0, mm("0.6"))
    (warning,) = [
        line for line in sequence_text(plan).split("!") if "without allowance" in " ".join(line.split())
    ]
    assert "R/p/1 up to 0.3 mm short" in " ".join(warning.split())


def test_exact_tables_have_exact_measures(hand_sheet: Callable, make_panel: Callable) -> None:
    for habit in Habit:
        plan = with_habit(row_of_three(hand_sheet, make_panel), habit, None)
        assert errors(plan) == [(0, 0)] * 3
        assert all(s.measure == s.exact for s in steps_of(plan, plan.layouts[0]))


def test_a_side_with_a_measure_on_the_mark_goes_before_a_nearer_one(
    hand_sheet: Callable, make_panel: Callable
) -> None:
    # an offcut 900.2 wide: 500 from the left, or 400.2 from the right, where another panel lies before cullet
    wide, slim = make_panel(500, 400, id="R/wide/1"), make_panel(350, 400, id="R/slim/1")
    s = hand_sheet(mm("900.2"), mm(400), (), Trim())
    left, rest = s.upright("s", mm(500), CutKind.MAIN, 1)
    right, end = s.upright(rest, mm(850), CutKind.MAIN, 1)
    s.panel(left, wide)
    s.panel(right, slim)
    s.cullet(end)
    plan = s.plan([wide, slim], stock="R-1", is_offcut=True)
    for step, distance in ((None, mm("400.2")), (mm("0.5"), mm(500))):
        marked_so = with_habit(plan, Habit.STOP, step)
        first = steps_of(marked_so, marked_so.layouts[0])[0]
        assert first.distance == distance


# ---------------------------------------------------------------- kept sheets


def test_sheets_made_before_the_mark_counted_stay_as_they_are(
    tmp_path: Path, make_stock: Callable, outsider: Callable
) -> None:
    plain = replace(default_shop(), work=TableWork(habit=Habit.STOP))
    stock = [make_stock(3210, 2250)]
    old = read(tmp_path, plain, many(3)).panels
    earlier = planned(old, stock, plain)
    shop = marked(plain)
    new = read(tmp_path, shop, many(3)).panels
    assert [p.cut for p in old] != [p.cut for p in new]
    kept = keep_sheets(earlier, {1}, new, stock, shop)
    plan = planned(new, stock, shop, kept)
    assert check(plan) == []
    outsider(plan, tmp_path)
    on_first = {leaf.panel for leaf in plan.layouts[0].leaves if leaf.panel}
    was, now, is_so = ({p.id: p for p in panels} for panels in (old, new, plan.panels))
    assert on_first and {leaf.panel for leaf in earlier.layouts[0].leaves if leaf.panel} == on_first
    for name, panel in is_so.items():
        assert panel.cut == (was if name in on_first else now)[name].cut
    # and back again, when the shop wants exact sizes once more
    again = keep_sheets(plan, None, old, stock, plain)
    assert {p.id: p.cut for p in again.settled(old)} == {name: p.cut for name, p in is_so.items()}
    # other allowances are another panel
    ground = replace(plain, allowances={**plain.allowances, Work.POLISHED: plain.allowances[Work.GROUND]})
    with pytest.raises(CannotKeep, match="another one now"):
        keep_sheets(earlier, None, read(tmp_path, marked(ground), many(3)).panels, stock, marked(ground))


def test_the_panels_command_tells_of_it_and_shows_what_is_ground_off(tmp_path: Path) -> None:
    tanks = tmp_path / "tanks.csv"
    tanks.write_text(
        "order,shape,length,width,height,glass\nH-1,rectangle,900.3,450.2,450.4,clear-10\n", encoding="utf-8"
    )
    for mark in ("true", "false"):
        shop = tmp_path / "shop.toml"
        shop.write_text(f"[table]\nto_the_mark = {mark}\n", encoding="utf-8")
        said, as_json = (
            contextvars.copy_context().run(
                CliRunner().invoke, main.app, ["panels", str(tanks), "--shop", str(shop), *more]
            )
            for more in ([], ["--json"])
        )
        assert said.exit_code == as_json.exit_code == 0, said.output
        assert ("go up to what the tape shows" in said.output) is (mark == "true")
        panels = json.loads(as_json.stdout)["tanks"][0]["panels"]
        front = next(p for p in panels if "front" in p["names"])
        (x0, y0), _, (x1, y1), _ = front["cut"]
        bottom, right, top, left = front["allowances"]
        (fx0, fy0), _, (fx1, fy1), _ = front["finished"]
        assert (x1 - x0) == pytest.approx(fx1 - fx0 + left + right, abs=1e-5)
        assert (y1 - y0) == pytest.approx(fy1 - fy0 + bottom + top, abs=1e-5)
        assert ((2 * (x1 - x0)) % 1 == 0 and (2 * (y1 - y0)) % 1 == 0) is (mark == "true")
