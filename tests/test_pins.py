"""Stock left out, and panels that one stock piece alone may yield."""

from __future__ import annotations

import contextvars
from dataclasses import replace

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io.plan_file import dumps, loads
from panewright.nesting.checker import check
from panewright.nesting.optimizer.params import Params
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import Shop
from panewright.nesting.stock_wishes import left_out, pinned

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))
SMALL, LARGE = "clear-10 2250x1605", "clear-10 3210x2250"


def planned(panels, stock, effort=60):
    shop = Shop()
    planner = Planner(
        panels, stock, shop, effort=effort, params=QUICK, unplaced=impossible(panels, stock, shop)
    )
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


def cost(plan):
    return sum(x.cost for x in plan.layouts)


rows = st.lists(
    st.tuples(
        st.integers(250, 1500), st.integers(200, 1000), st.sampled_from([None, None, SMALL, LARGE, "R1"])
    ),
    min_size=2,
    max_size=14,
)


@given(rows=rows, buyable=st.booleans())
@settings(max_examples=12)
def test_pinned_panels_lie_on_their_stock_and_every_plan_passes_the_checker(
    rows, buyable, make_panel, make_stock, outsider, tmp_path_factory
):
    panels = [replace(make_panel(w, h, id=f"K{i}/p/1"), from_stock=pin) for i, (w, h, pin) in enumerate(rows)]
    stock = [
        make_stock(3210, 2250, on_hand=1),
        make_stock(2250, 1605, on_hand=1, buyable=buyable),
        make_stock(1600, 1100, raw=(), on_hand=1, buyable=False, offcut=True, name="R1"),
    ]
    plan = planned(panels, stock, effort=20)
    assert [str(v) for v in check(plan)] == []
    assert loads(dumps(plan)) == plan
    outsider(plan, tmp_path_factory.mktemp("pins"))
    of = {p.id: p for p in panels}
    on = {leaf.panel: x.stock for x in plan.layouts for leaf in x.leaves if leaf.panel}
    assert all(of[i].from_stock in (None, stock) for i, stock in on.items())
    assert len(on) + len(plan.unplaced) == len(panels)
    # only panels that their own stock is too short for may be missing: the large size never runs out
    assert all(of[u.panel].from_stock not in (None, LARGE) for u in plan.unplaced)


def test_the_checker_refuses_a_panel_on_other_stock(make_panel, make_stock):
    plan = planned([make_panel(600, 500)], [make_stock(3210, 2250)])
    moved = replace(plan, panels=tuple(replace(p, from_stock="R9") for p in plan.panels))
    assert [v.rule for v in check(moved)] == ["from stock"]


def test_sheets_of_pinned_panels_are_filled_up_with_others(make_panel, make_stock):
    # one pinned panel takes a third of a small sheet; the others fill the rest of it and nothing else
    stock = [make_stock(3210, 2250), make_stock(2250, 1605)]
    pin = replace(make_panel(700, 1500, id="P/p/1"), from_stock=SMALL)
    others = [make_panel(700, 740, id=f"K/p/{k}") for k in range(1, 5)]
    plan = planned([pin, *others], stock)
    assert [x.stock for x in plan.layouts] == [SMALL]
    assert check(plan) == []


def test_filling_up_never_loses_to_leaving_the_pinned_sheets_as_they_are(make_panel, make_stock):
    stock = [make_stock(3210, 2250), make_stock(2250, 1605)]
    for n in range(4):
        pins = [
            replace(make_panel(500 + 90 * n, 600, id=f"P/p/{k}"), from_stock=SMALL) for k in range(1, 3 + n)
        ]
        others = [make_panel(400 + 70 * k, 900 - 40 * k - 30 * n, id=f"K{k}/p/1") for k in range(10)]
        apart = cost(planned(pins, stock)) + cost(planned(others, stock))
        assert cost(planned([*pins, *others], stock)) <= apart


def test_more_pinned_panels_than_their_stock_holds_are_short(make_panel, make_stock):
    offcut = make_stock(1600, 1100, raw=(), on_hand=1, buyable=False, offcut=True, name="R1")
    panels = [replace(make_panel(1500, 1000, id=f"P/p/{k}"), from_stock="R1") for k in (1, 2)]
    plan = planned(panels, [make_stock(3210, 2250), offcut])
    assert [x.stock for x in plan.layouts] == ["R1"]
    assert [u.rule for u in plan.unplaced] == ["not enough stock"]
    assert check(plan) == []


def test_a_panel_that_its_own_stock_cannot_yield_is_named(make_panel, make_stock):
    stock = [make_stock(3210, 2250), make_stock(2250, 1605)]
    too_large = replace(make_panel(3000, 1000), from_stock=SMALL)
    assert [u.rule for u in impossible([too_large], stock, Shop())] == ["larger than every sheet"]
    gone = [stock[0], replace(stock[1], buyable=False)]
    assert [u.rule for u in impossible([too_large], gone, Shop())] == ["no such stock"]


def test_pins_and_left_out_stock_that_are_not_there_are_told(make_panel, make_stock):
    stock = [make_stock(3210, 2250), make_stock(3210, 2250, glass="clear-8")]
    panels = [make_panel(600, 500, id=f"K/p/{k}") for k in (1, 2)]
    out, bad = pinned(panels, [("K/p", LARGE), ("K/p/2", "clear-8 3210x2250"), ("X/y", LARGE)], stock)
    assert [p.from_stock for p in out] == [LARGE, "clear-8 3210x2250"]
    assert [b.wish for b in bad] == [f"X/y={LARGE}", "K/p=clear-8 3210x2250"]
    rest, bad = left_out(stock, [LARGE, "R9"])
    assert rest == stock[1:] and [b.wish for b in bad] == ["R9"]


LIST = """order,panel,quantity,width,height,glass,from stock
K-1,base,3,1200,800,clear-6,
K-1,lid,1,600,500,clear-6,R-1
"""
STOCK = """kind,glass,width,height,on hand,price,buy,number
sheet,clear-6,3210,2250,1,60,yes,
sheet,clear-6,2250,1605,1,20,yes,
offcut,clear-6,1240,815,1,,,R-1
"""


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "panels.csv").write_text(LIST, encoding="utf-8")
    (tmp_path / "stock.csv").write_text(STOCK, encoding="utf-8")

    def call(*more):
        args = ["plan", "panels.csv", "--stock", "stock.csv", "--effort", "1", "--out", "out", *more]
        result = contextvars.copy_context().run(CliRunner().invoke, main.app, args)
        path = tmp_path / "out" / "plan.json"
        return result, loads(path.read_text(encoding="utf-8")) if path.is_file() else None

    return call


def test_the_command_leaves_stock_out_and_pins(run):
    small = "clear-6 2250x1605"
    result, plan = run("--leave-out", small, "--pin", "K-1/base/2=clear-6 3210x2250")
    assert result.exit_code == Exit.DONE, result.output
    on = {leaf.panel: x.stock for x in plan.layouts for leaf in x.leaves if leaf.panel}
    assert small not in on.values()
    assert on["K-1/lid/1"] == "R-1"
    assert on["K-1/base/2"] == "clear-6 3210x2250"
    assert {p.id: p.from_stock for p in plan.panels}["K-1/base/2"] == "clear-6 3210x2250"


@pytest.mark.parametrize(
    ("more", "code", "said"),
    [
        (["--leave-out", "R-9"], Exit.INPUT, "no sheet or offcut of the stock has this name"),
        (["--pin", "K-1/base=R-9"], Exit.INPUT, "no sheet or offcut of the stock is named R-9"),
        (["--pin", "K-7/base=R-1"], Exit.INPUT, "no panel of the lists has this name"),
        (["--pin", "K-7/base"], Exit.USAGE, "PANEL=STOCK"),
        (["--leave-out", "R-1"], Exit.INPUT, "none is on hand or can be bought"),
    ],
)
def test_the_command_tells_what_is_wrong(run, more, code, said):
    result, plan = run(*more)
    assert result.exit_code == code, result.output
    assert said in " ".join(result.stderr.split())
    assert plan is None


DUE_LIST = """order,panel,quantity,glass,edges,corners,due,from stock
K1,rt,6,clear-10,polished,0 0|700 0|700 400|0 520,2027-03-08,
K1,tri,4,clear-10,ground,0 0|500 0|0 700,2027-03-10,R-7
K2,trap,9,clear-10,cut,0 0|800 0|650 450|150 450,2027-03-10,
K2,taper,1,clear-10,polished,0 0|900 0|900 300|0 306,2027-03-09,R-9
K2,taper2,1,clear-10,polished,0 0|900 0|900 300|0 306,2027-03-09,
K3,oct,4,clear-10,polished,200 0|600 0|800 200|800 600|600 800|200 800|0 600|0 200,,
K4,rh,8,clear-10,cut,0 0|600 0|727.4 350|127.4 350,2027-03-08,
"""
DUE_STOCK = """kind,glass,thickness,width,height,on hand,price,buy,number,raw sides
sheet,clear,10,3210,2250,9,125,yes,,
offcut,clear,10,1800,700,1,,,R-7,left
offcut,clear,10,1200,720,1,,,R-8,all
offcut,clear,10,1200,720,1,,,R-9,none
"""


def test_pinned_panels_stay_where_they_are_when_late_ones_are_exchanged(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "panels.csv").write_text(DUE_LIST, encoding="utf-8")
    (tmp_path / "stock.csv").write_text(DUE_STOCK, encoding="utf-8")
    args = ["plan", "panels.csv", "--stock", "stock.csv", "--effort", "100", "--own-blanks", "--out", "out"]
    result = contextvars.copy_context().run(CliRunner().invoke, main.app, args)
    assert result.exit_code == Exit.LEFT_OVER, result.output  # two of the four do not fit R-7 one by one
    plan = loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    on = {leaf.panel: x.stock for x in plan.layouts for leaf in x.leaves if leaf.panel}
    assert {on[p] for p in on if p.startswith("K1/tri")} == {"R-7"}
    assert on["K2/taper/1"] == "R-9"
