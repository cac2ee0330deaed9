"""Sheets of an earlier plan that stay: they stand unchanged, the rest is planned around them."""

from __future__ import annotations

import contextvars
import json
from dataclasses import replace

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io.plan_file import dumps, loads
from panewright.nesting.checker import check
from panewright.nesting.flaws import Flaw
from panewright.nesting.kept import CannotKeep, keep_sheets
from panewright.nesting.openings import Hole
from panewright.nesting.optimizer.params import Params
from panewright.nesting.panels import Turn
from panewright.nesting.plan import LeafKind
from panewright.nesting.planner import Planner
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.units import mm

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))
SHOP = Shop()


def planned(panels, stock, shop=SHOP, kept=None):
    planner = Planner(panels, stock, shop, effort=60, params=QUICK, kept=kept)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


@pytest.fixture
def week(make_panel, make_stock):
    """Panels for about four sheets, stock with an offcut, and their plan."""
    sizes = [(1200, 700), (900, 650), (1450, 480), (760, 760), (500, 333)]
    panels = [make_panel(w, h, id=f"K{i}/p/{k}") for i, (w, h) in enumerate(sizes) for k in range(1, 7)]
    panels.append(make_panel(1200, 700, id="thin/p/1", glass="clear-8"))
    stock = [
        make_stock(3210, 2250, on_hand=2),
        make_stock(
            1600, 1100, glass="clear-8", raw=(), on_hand=1, buyable=False, offcut=True, name="R1", cost=1_000
        ),
    ]
    return panels, stock, planned(panels, stock)


def as_kept(layout):
    """What must not change in a kept sheet: all but where it is taken from."""
    return replace(layout, buy=False)


@given(data=st.data())
@settings(max_examples=12)
def test_any_sheets_may_stay_and_the_plan_passes_the_checker(
    data, make_panel, make_stock, outsider, tmp_path_factory
):
    rows = data.draw(
        st.lists(st.tuples(st.integers(300, 1500), st.integers(250, 1000)), min_size=6, max_size=16)
    )
    panels = [make_panel(w, h, id=f"K{i}/p/{k}") for i, (w, h) in enumerate(rows) for k in (1, 2)]
    stock = [make_stock(3210, 2250, on_hand=1)]
    earlier = planned(panels, stock)
    numbers = data.draw(st.sets(st.sampled_from([x.number for x in earlier.layouts]), min_size=1))
    more = [*panels, make_panel(800, 600, id="new/p/1")]
    kept = keep_sheets(earlier, numbers, more, stock, SHOP)
    plan = planned(more, stock, kept=kept)
    assert [str(v) for v in check(plan)] == []
    assert loads(dumps(plan)) == plan
    outsider(plan, tmp_path_factory.mktemp("kept"))
    old = {x.number: x for x in earlier.layouts}
    new = {x.number: x for x in plan.layouts}
    assert all(as_kept(new[n]) == as_kept(old[n]) for n in numbers)
    assert min(set(new) - numbers, default=10**6) > max(old)
    assert plan.extra["follows"] == [earlier.id]
    assert not plan.unplaced


def test_the_stock_of_kept_sheets_is_counted_down(week):
    panels, stock, earlier = week
    kept = keep_sheets(earlier, None, panels, stock, SHOP)
    assert kept.rest(panels) == []
    left = {s.name: s.on_hand for s in kept.stock}
    for name, before in {s.name: s.on_hand for s in stock}.items():
        assert left[name] == max(0, before - sum(x.stock == name for x in earlier.layouts))
    again = planned(panels, stock, kept=kept)
    assert [as_kept(x) for x in again.layouts] == [as_kept(x) for x in earlier.layouts]
    assert again.id == earlier.id  # the same pieces in the same places
    assert check(again) == []


def test_no_plan_of_the_line_gives_a_number_again(week, make_panel):
    panels, stock, first = week
    last = max(x.number for x in first.layouts)
    on_first = {leaf.panel for leaf in first.layouts[0].leaves}
    few = [p for p in panels if p.id in on_first]
    second = planned(few, stock, kept=keep_sheets(first, {1}, few, stock, SHOP))
    assert [x.number for x in second.layouts] == [1]
    more = [*few, make_panel(800, 600, id="new/p/1")]
    read_back = loads(dumps(second))
    third = planned(more, stock, kept=keep_sheets(read_back, {1}, more, stock, SHOP))
    assert [x.number for x in third.layouts] == [1, last + 1]
    assert third.extra["follows"] == list(dict.fromkeys([second.id, first.id]))
    assert check(third) == []


def test_kept_offcuts_keep_their_numbers_and_count_among_those_of_the_plan(week):
    panels, stock, earlier = week
    shop = replace(SHOP, offcuts_a_plan=1)
    offcuts = [(x.number, leaf.offcut) for x in earlier.layouts for leaf in x.leaves if leaf.offcut]
    assert offcuts
    numbers = {n for n, _ in offcuts}
    plan = planned(panels, stock, shop, keep_sheets(earlier, numbers, panels, stock, shop))
    kept = [leaf.offcut for x in plan.layouts for leaf in x.leaves if leaf.kind is LeafKind.OFFCUT]
    assert kept == [name for _, name in offcuts]


def faults(earlier, numbers, panels, stock, shop=SHOP):
    with pytest.raises(CannotKeep) as caught:
        keep_sheets(earlier, numbers, panels, stock, shop)
    assert all(f.where and f.reason and f.remedy for f in caught.value.faults)
    return str(caught.value)


def test_everything_that_stands_in_the_way_is_told(week):
    panels, stock, earlier = week
    on_first = [leaf.panel for leaf in earlier.layouts[0].leaves if leaf.panel]
    assert "no such sheet" in faults(earlier, {1, 77}, panels, stock)
    gone = [p for p in panels if p.id != on_first[0]]
    assert f"panel {on_first[0]} is in the panel lists no longer" in faults(earlier, {1}, gone, stock)
    turned = [replace(p, turn=Turn.NONE) if p.id == on_first[0] else p for p in panels]
    assert "another one now (turn)" in faults(earlier, {1}, turned, stock)
    hole = Hole(center=(mm(100), mm(100)), diameter=mm(20))
    drilled = [replace(p, openings=(hole,)) if p.id == on_first[0] else p for p in panels]
    assert "another one now (openings)" in faults(earlier, {1}, drilled, stock)
    offcut = next(x for x in earlier.layouts if x.is_offcut)
    assert "in the stock no longer" in faults(earlier, {offcut.number}, panels, stock[:1])
    other = [stock[0], replace(stock[1], width=mm(1601))]
    assert "another piece now" in faults(earlier, {offcut.number}, panels, other)
    few = [replace(stock[0], on_hand=1, buyable=False), stock[1]]
    assert "no more can be bought" in faults(earlier, None, panels, few)
    strict = Shop(cutting=CuttingChoice(break_out=mm(190)))
    assert "breaks a rule of the shop as it is now" in faults(earlier, None, panels, stock, strict)
    spoilt = [stock[0], replace(stock[1], flaws=(Flaw(mm(300), mm(300), mm(5), mm(5), "scratch"),))]
    assert "a flaw that the plan does not know" in faults(earlier, {offcut.number}, panels, spoilt)
    on_second = [leaf.panel for leaf in earlier.layouts[1].leaves if leaf.panel]
    slots = {on_first[0]: 2, on_second[0]: 1}
    racked = [replace(p, rack="H-1", slot=slots[p.id]) if p.id in slots else p for p in panels]
    assert "slot 2 of rack H-1 is on it, slot 1 on no kept sheet" in faults(earlier, {1}, racked, stock)
    assert keep_sheets(earlier, {2}, racked, stock, SHOP).panels
    both = faults(earlier, {1, 77}, gone, stock)
    assert "no such sheet" in both and "no longer" in both


PANELS = """order,panel,quantity,width,height,glass
K-1,base,6,1200,800,clear-6
K-1,front,8,1190,560,clear-6
"""
STOCK = """kind,glass,width,height,on hand,price,buy
sheet,clear-6,3210,2250,1,60,yes
"""


def run(folder, *more):
    args = ["plan", str(folder / "panels.csv"), "--stock", str(folder / "stock.csv"), "--effort", "1", *more]
    return contextvars.copy_context().run(CliRunner().invoke, main.app, args)


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "panels.csv").write_text(PANELS, encoding="utf-8")
    (tmp_path / "stock.csv").write_text(STOCK, encoding="utf-8")
    assert run(tmp_path, "--out", str(tmp_path / "one")).exit_code == Exit.DONE
    return tmp_path


def test_the_command_keeps_sheets(desk):
    (desk / "panels.csv").write_text(PANELS + "K-2,lid,2,700,500,clear-6\n", encoding="utf-8")
    result = run(desk, "--out", str(desk / "two"), "--keep", str(desk / "one"), "--sheets", "1")
    assert result.exit_code == Exit.DONE, result.output
    one, two = (loads((desk / name / "plan.json").read_text(encoding="utf-8")) for name in ("one", "two"))
    assert as_kept(two.layouts[0]) == as_kept(one.layouts[0])
    assert len(two.panels) == 16 and check(two) == []
    raw = json.loads((desk / "two" / "plan.json").read_text(encoding="utf-8"))
    assert raw["follows"] == [one.id] and raw["last_sheet"] == max(x.number for x in one.layouts)


@pytest.mark.parametrize(
    ("more", "code", "said"),
    [
        (["--keep", "one"], Exit.USAGE, "--keep and --sheets together"),
        (["--sheets", "1"], Exit.USAGE, "--keep and --sheets together"),
        (["--keep", "one", "--sheets", "4-1"], Exit.USAGE, "no range of sheets"),
        (["--keep", "one", "--sheets", "x"], Exit.USAGE, "1-4,7, or all"),
        (["--keep", "one", "--sheets", "0"], Exit.USAGE, "1-4,7, or all"),
        (["--keep", "nowhere", "--sheets", "1"], Exit.INPUT, "nowhere"),
        (["--keep", "stock.csv", "--sheets", "1"], Exit.INPUT, "stock.csv"),
        (["--keep", "old.json", "--sheets", "1"], Exit.INPUT, "panewright.plan/9"),
        (["--keep", "one", "--sheets", "1,50"], Exit.INPUT, "sheet 50"),
    ],
)
def test_the_command_tells_what_is_wrong(desk, more, code, said):
    text = (desk / "one" / "plan.json").read_text(encoding="utf-8")
    (desk / "old.json").write_text(text.replace("panewright.plan/1", "panewright.plan/9"), encoding="utf-8")
    result = run(desk, "--out", str(desk / "two"), *more)
    assert result.exit_code == code, result.output
    assert said in result.stderr
    assert not (desk / "two").exists()
