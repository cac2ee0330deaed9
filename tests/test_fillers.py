"""Fillers: cut from waste where they pay, never for a sheet, never in the place of a panel."""

from __future__ import annotations

import contextvars
import json
from dataclasses import replace
from datetime import date

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.cli import main
from panewright.cli.failures import Exit
from panewright.io.filler_list import read_filler_list
from panewright.io.plan_file import dumps, loads
from panewright.io.problems import Problems
from panewright.io.shop_file import default_shop
from panewright.nesting.checker import check
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.figures import figures_of
from panewright.nesting.fillers import Filler, offcut_worth
from panewright.nesting.kept import keep_sheets
from panewright.nesting.late import late_of
from panewright.nesting.optimizer.instance import build
from panewright.nesting.optimizer.params import Params
from panewright.nesting.outlines import area2
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import LeafKind
from panewright.nesting.planner import Planner
from panewright.nesting.shop import Shop
from panewright.nesting.units import MONEY, mm

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))


def planned(panels, stock, fillers=(), kept=None, shop=None, **more):
    planner = Planner(
        panels, stock, shop or Shop(), effort=20, params=QUICK, fillers=fillers, kept=kept, **more
    )
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


@pytest.fixture(scope="session")
def filler(make_panel):
    def make(width, height, worth, most=50, name="shelf", glass="clear-10"):
        panel = replace(make_panel(width, height, id=f"filler/{name}", glass=glass), purpose=Purpose.FILLER)
        return Filler(panel=panel, worth=worth, most=most)

    return make


def worth_left(plan, stock, fillers):
    """Worth of the offcuts kept and of the fillers, reckoned from the plan alone."""
    price = offcut_worth(build(plan.panels[:1], stock, plan.rules["clear-10"]), Shop())
    kept = [leaf for x in plan.layouts for leaf in x.leaves if leaf.kind is LeafKind.OFFCUT]
    worth = {f.panel.name: f.worth for f in fillers}
    cut = [p for p in plan.panels if p.purpose is Purpose.FILLER]
    return price * sum(area2(leaf.outline) // 2 for leaf in kept) + sum(worth[p.name] for p in cut)


@given(
    rows=st.lists(st.tuples(st.integers(300, 1600), st.integers(250, 1100)), min_size=2, max_size=12),
    wanted=st.lists(
        st.tuples(st.integers(100, 600), st.integers(60, 400), st.integers(1, 40_000), st.integers(1, 6)),
        min_size=1,
        max_size=3,
    ),
    due=st.booleans(),
)
@settings(max_examples=12)
def test_fillers_never_cost_a_sheet_or_a_panel_and_always_pay(
    rows, wanted, due, make_panel, make_stock, filler, outsider, tmp_path_factory
):
    panels = [
        replace(make_panel(w, h, id=f"K{i}/p/{k}"), due=date(2027, 3, k) if due else None)
        for i, (w, h) in enumerate(rows)
        for k in (1, 2)
    ]
    stock = [
        make_stock(3210, 2250),
        make_stock(1600, 1100, raw=(), on_hand=1, buyable=False, offcut=True, name="R1"),
    ]
    fillers = [filler(w, h, worth, most, f"f{i}") for i, (w, h, worth, most) in enumerate(wanted)]
    plain, filled = planned(panels, stock), planned(panels, stock, fillers)
    assert [str(v) for v in check(filled)] == []
    assert loads(dumps(filled)) == filled
    outsider(filled, tmp_path_factory.mktemp("fillers"))
    assert [(x.stock, x.cost) for x in plain.layouts] == [(x.stock, x.cost) for x in filled.layouts]
    ordered = [p for p in filled.panels if p.purpose is Purpose.ORDER]
    assert ordered == list(plain.panels)
    assert not filled.unplaced
    assert worth_left(filled, stock, fillers) >= worth_left(plain, stock, fillers)
    for f in fillers:
        assert sum(p.name == f.panel.name for p in filled.panels) <= f.most
    one, two = figures_of(plain).total, figures_of(filled).total
    assert (one.cut, one.cost, one.gross_yield) == (two.cut, two.cost, two.gross_yield)
    assert two.filler == sum(area2(p.cut) for p in filled.panels if p.purpose is Purpose.FILLER)


def test_waste_that_no_offcut_is_made_of_is_used_up(make_panel, make_stock, filler):
    # 3165 x 2205 inside: two panels leave a strip of 3165 x 205, too narrow for an offcut
    panels = [make_panel(1582, 2000, id=f"K/p/{k}") for k in (1, 2)]
    plan = planned(panels, [make_stock(3210, 2250)], [filler(500, 180, 10_000, most=4)])
    assert sum(p.purpose is Purpose.FILLER for p in plan.panels) == 4
    assert check(plan) == []


def test_fillers_make_no_sheet_later(make_panel, make_stock, filler):
    # each sheet has 4 cuts without fillers and a minute to spare: with them it takes longer
    panels = [replace(make_panel(1582, 2000, id=f"K/p/{k}"), due=date(2027, 3, 1)) for k in range(4)]
    stock, wanted = [make_stock(3210, 2250)], [filler(500, 180, 10_000, most=8)]
    cuts = [len(x.cuts) for x in planned(panels, stock).layouts]
    for spare, fillers in ((0, 0), (40, 8)):
        days = CuttingDays(seconds=60 * (sum(cuts) + spare), a_cut=60)
        plan = planned(panels, stock, wanted, shop=Shop(cutting_days=days), start_day=date(2027, 3, 1))
        assert sum(p.purpose is Purpose.FILLER for p in plan.panels) == fillers
        assert check(plan) == [] and late_of(plan) == []


def test_a_filler_worth_less_than_the_offcut_is_left_out(make_panel, make_stock, filler):
    panels = [make_panel(1500, 2000)]
    stock = [make_stock(3210, 2250)]
    cheap = planned(panels, stock, [filler(1500, 2100, 1)])
    assert [p.purpose for p in cheap.panels] == [Purpose.ORDER]
    dear = planned(panels, stock, [filler(1500, 2100, 10 * MONEY * 1000, most=1)])
    assert sorted(p.purpose.value for p in dear.panels) == ["filler", "order"]


def test_kept_fillers_count_among_those_that_are_wanted(make_panel, make_stock, filler):
    panels = [make_panel(1582, 2000, id=f"K/p/{k}") for k in (1, 2)]
    stock, fillers = [make_stock(3210, 2250)], [filler(500, 180, 10_000, most=5)]
    first = planned(panels, stock, fillers)
    more = [*panels, *(make_panel(1582, 2000, id=f"L/p/{k}") for k in (1, 2))]
    kept = keep_sheets(first, {1}, more, stock, Shop())
    plan = planned(more, stock, fillers, kept)
    assert len(first.panels) - 2 == 5
    assert sum(p.purpose is Purpose.FILLER for p in plan.panels) == 5
    assert check(plan) == []


LIST = """filler,width,height,glass,worth,most,edges
shelf,300,200,clear-6,2.50,20,polished
strip,500,80,clear-6,"1.20",6,
"""


def test_the_list_is_read_and_everything_wrong_is_told(tmp_path):
    path = tmp_path / "fillers.csv"
    path.write_text(LIST, encoding="utf-8")
    problems = Problems()
    shelf, strip = read_filler_list(path, default_shop(), problems)
    assert not problems
    assert (shelf.panel.id, shelf.worth, shelf.most) == ("filler/shelf", 25_000, 20)
    assert area2(shelf.panel.cut) == 2 * mm(303) * mm(203) and strip.panel.purpose is Purpose.FILLER
    head = "filler,width,height,glass,worth,most\n"
    for row, column in (
        ("a,5,200,clear-6,1,1", "width"),
        ("a,200,15,clear-6,1,1", "height"),
        ("a,300,200,opal,1,1", "glass"),
        ("a,300,200,clear-6,0,1", "worth"),
        ("a,300,200,clear-6,x,1", "worth"),
        ("a,300,200,clear-6,1,0", "most"),
        ("a,300,30,clear-15,1,1", "width"),
        ("a,300,200,clear-6,1,1\na,300,200,clear-6,1,1", "filler"),
    ):
        path.write_text(f"{head}{row}\n", encoding="utf-8")
        problems = Problems()
        read_filler_list(path, default_shop(), problems)
        assert [p.column for p in problems.errors] == [column], row


def test_the_command_cuts_fillers_and_shows_them_apart(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    files = {
        "panels.csv": "order,panel,quantity,width,height,glass\nK-1,base,2,1582,2000,clear-6\n",
        "stock.csv": "kind,glass,width,height,on hand,price,buy\nsheet,clear-6,3210,2250,1,60,yes\n",
        "fillers.csv": LIST,
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    args = ["plan", "panels.csv", "--stock", "stock.csv", "--effort", "1", "--out", "out"]
    result = contextvars.copy_context().run(CliRunner().invoke, main.app, [*args, "--fillers", "fillers.csv"])
    assert result.exit_code == Exit.DONE, result.output
    assert "2 of 2 panels on 1 sheet" in result.stdout
    assert "Fillers cut from waste" in " ".join(result.stdout.split())
    raw = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    assert {p["purpose"] for p in raw["panels"]} == {"order", "filler"}
    assert raw["figures"]["total"]["filler_area_m2"] > 0
    assert raw["figures"]["total"]["cost"] == 60
    bad = contextvars.copy_context().run(CliRunner().invoke, main.app, [*args, "--fillers", "panels.csv"])
    assert bad.exit_code == Exit.INPUT
