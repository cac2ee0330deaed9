"""Plans made again: whatever happened, what is cut stays, every order has its piece, and the checker passes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.plan_file import dumps, loads
from panewright.nesting.check_remake import check_remake
from panewright.nesting.checker import check
from panewright.nesting.cutting_days import CuttingDays
from panewright.nesting.happened import AtStep, Happened, OnTable
from panewright.nesting.optimizer.params import Params
from panewright.nesting.outlines import area2
from panewright.nesting.panels import Purpose
from panewright.nesting.planner import Planner
from panewright.nesting.remake.request import Request
from panewright.nesting.remake.search import Remaking
from panewright.nesting.shop import Shop
from panewright.nesting.units import mm

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))
SHOP = Shop()
DATED = replace(SHOP, cutting_days=CuttingDays(sheets=2))
MONDAY = date(2027, 3, 8)
SIZES = [(1200, 700), (900, 650), (1450, 480), (760, 760), (500, 333)]
STEPS = list(AtStep)


def planned(panels, stock, shop=SHOP, **more):
    planner = Planner(panels, stock, shop, effort=40, params=QUICK, **more)
    planner.start()
    while planner.advance():
        pass
    return loads(dumps(planner.finish("effort")))


def order_of(make_panel, number, sizes, due=None, purpose=Purpose.ORDER, count=2):
    return [
        replace(make_panel(w, h, id=f"K{number}/p{i}/{k}"), due=due, purpose=purpose)
        for i, (w, h) in enumerate(sizes)
        for k in range(1, count + 1)
    ]


@pytest.fixture(scope="module")
def week(make_panel, make_stock):
    """Six equal orders on about six sheets and an offcut, a spare, and an angled panel in each of two."""
    panels = [p for n in range(6) for p in order_of(make_panel, n, SIZES, count=1)]
    outline = tuple((mm(x), mm(y)) for x, y in ((0, 0), (800, 0), (800, 350), (500, 500), (0, 500)))
    panels += [make_panel(outline=outline, id=f"K{n}/slant/1") for n in (1, 4)]
    panels += [make_panel(400, 300, id="K2/thin/1", glass="clear-8")]
    panels += order_of(make_panel, 9, [(900, 650)], purpose=Purpose.SPARE, count=1)
    stock = (
        make_stock(2250, 1605, on_hand=3, cost=400_000),
        make_stock(1400, 1000, raw=(), on_hand=1, buyable=False, offcut=True, name="R1", cost=60_000),
        make_stock(1000, 800, raw=(), on_hand=1, buyable=False, offcut=True, name="R2", cost=40_000),
        make_stock(1600, 1100, glass="clear-8", cost=100_000),
    )
    return planned(panels, stock), stock


@pytest.fixture(scope="module")
def dated_week(make_panel, make_stock):
    """Four orders due one after another, two sheets a day."""
    days = [MONDAY, date(2027, 3, 9), date(2027, 3, 10), None]
    panels = [p for n, due in enumerate(days) for p in order_of(make_panel, n, SIZES[:4], due)]
    stock = (make_stock(2250, 1605, on_hand=9, cost=400_000),)
    return planned(panels, stock, DATED, start_day=MONDAY), stock


def remade(earlier, stock, happened, shop=SHOP, effort=25, **more):
    it = Remaking(Request(earlier=earlier, happened=happened, stock=stock, shop=shop, **more), effort=effort)
    it.start()
    while it.advance():
        pass
    plan = it.finish("effort")
    return loads(dumps(plan)), it


def holds(earlier, happened, plan, outsider, folder):
    assert [str(v) for v in check(plan)] == []
    assert check_remake(earlier, happened, plan) == []
    if outsider is not None:
        outsider(plan, folder)
    for layout in plan.layouts:
        areas = sum(area2(leaf.outline) for leaf in layout.leaves)
        assert abs(areas - 2 * layout.width * layout.height) <= 2 * 10**12


def on_sheets(plan):
    return {leaf.panel: x.number for x in plan.layouts for leaf in x.leaves if leaf.panel}


def said(plan, panel):
    return plan.extra.get("panels", {}).get(panel, {})


@st.composite
def happenings(draw, plan):
    """Some sheets cut, others half cut, broken off or flawed; panels broken on any of them."""
    numbers = [x.number for x in plan.layouts]
    cuts = {x.number: len(x.cuts) for x in plan.layouts}
    fate = {n: draw(st.sampled_from(["cut", "cut", "half", "off", "flawed", "", "", ""])) for n in numbers}
    half = {n: draw(st.integers(1, cuts[n])) for n, f in fate.items() if f in ("half", "off")}
    off = [n for n, f in fate.items() if f == "off"]
    pieces = [OnTable(sheet=n, width=mm(draw(st.integers(300, 1500))), height=mm(600)) for n in off]
    where = on_sheets(plan)
    broken = draw(st.sets(st.sampled_from(sorted(where)), max_size=3))
    offcuts = [x.stock for x in plan.layouts if x.is_offcut]
    gone = draw(st.sets(st.sampled_from(offcuts))) if offcuts else set()
    return Happened(
        cut=frozenset(n for n, f in fate.items() if f == "cut"),
        half=half,
        pieces=tuple(pieces),
        broken={p: draw(st.sampled_from(STEPS)) for p in sorted(broken)},
        flawed={n: "a flaw" for n, f in fate.items() if f == "flawed"},
        gone=frozenset(gone),
    )


@given(data=st.data())
@settings(max_examples=12)
def test_whatever_happens_what_is_cut_stays_and_every_order_has_its_piece(
    data, week, make_panel, outsider, tmp_path_factory
):
    earlier, stock = week
    happened = data.draw(happenings(earlier))
    added = data.draw(st.sampled_from([(), ("U1/a/1",), ("U1/a/1", "U1/a/2")]))
    cancelled = data.draw(st.sets(st.sampled_from(["K0", "K3/p1", "K4/slant", "K5/p0/1"]), max_size=2))
    more = {
        "added": tuple(make_panel(620, 410, id=name) for name in added),
        "cancelled": tuple(sorted(cancelled)),
        "swap": data.draw(st.booleans()),
    }
    plan, it = remade(earlier, stock, happened, **more)
    holds(earlier, happened, plan, outsider, tmp_path_factory.mktemp("remade"))
    assert it.best_score <= it.first_score
    # a second time: what was made again breaks too, and nobody repeats what was said before
    where = on_sheets(plan)
    again = {n for n in where if "r" in n.rpartition("/")[2]} or {min(where)}
    later = Happened(
        cut=frozenset(where[n] for n in again), broken=dict.fromkeys(sorted(again), AtStep.EDGING)
    )
    left = tuple(s for s in stock if not s.is_offcut)
    second, _ = remade(plan, left, later, effort=5)
    standing = replace(later, cut=later.cut | happened.cut, half=happened.half)
    holds(plan, standing, second, None, None)
    assert second.extra["follows"][:1] == [plan.id] or second.id == plan.id
