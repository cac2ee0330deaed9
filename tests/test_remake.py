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
from panewright.nesting.remake.request import CannotRemake, Request
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
        make_stock(1400, 1000, raw=(), on_hand=1, buyable=False, offcut=True, name="R1", cost=1_000),
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


def first_cut(plan, panel="K1/p0/1"):
    """A panel, its sheet cut."""
    where = on_sheets(plan)
    return Happened(cut=frozenset({where[panel]}), broken={panel: AtStep.EDGING}), panel


def test_one_broken_panel_is_made_again_elsewhere_and_the_line_goes_on(week, outsider, tmp_path):
    earlier, stock = week
    happened, broken = first_cut(earlier)
    plan, it = remade(earlier, stock, happened)
    holds(earlier, happened, plan, outsider, tmp_path)
    again = f"{broken}r1"
    assert said(plan, broken) == {"broken": "edging"} and said(plan, again) == {"remakes": broken}
    old, new = earlier.panel(broken), plan.panel(again)
    assert replace(new, id=broken) == old
    changed = it.ending.changes
    assert [row.panel for row in changed.placed] == [again]
    assert on_sheets(plan)[again] in changed.numbers and again in changed.labels
    assert plan.extra["last_sheet"] == max(x.number for x in earlier.layouts)
    # once more: the next number, and the same bytes for the same wishes
    where = on_sheets(plan)
    second = Happened(cut=frozenset({where[again]}), broken={again: AtStep.HANDLING, broken: AtStep.EDGING})
    left = tuple(s for s in stock if not s.is_offcut or s.name in {x.stock for x in plan.layouts})
    one, two = (remade(plan, left, second)[0] for _ in range(2))
    assert said(one, f"{broken}r2") == {"remakes": again}
    assert one.extra["follows"] == [plan.id, earlier.id]
    assert dumps(one) == dumps(two)
    assert not any(p.id == f"{broken}r3" for p in one.panels)


def test_nothing_happened_is_nothing_to_do(week):
    earlier, stock = week
    it = Remaking(Request(earlier=earlier, happened=Happened(cut=frozenset({1})), stock=stock, shop=SHOP))
    assert it.nothing


def test_spares_and_cancelled_pieces_that_are_cut_are_given_first(week):
    earlier, stock = week
    where = on_sheets(earlier)
    spare = "K9/p0/1"
    broken = "K1/p1/1"
    cut = frozenset({where[spare], where[broken]})
    plan, it = remade(earlier, stock, Happened(cut=cut, broken={broken: AtStep.DRILLING}))
    assert said(plan, spare) == {"given_to": broken} and plan.layouts == earlier.layouts
    assert it.ending.changes.labels == (spare,) and not it.ending.changes.sheets
    # with the spare taken, a panel of an order that is cancelled serves the next one
    other, gone = "K2/p1/1", "K3"
    mine = next(p for p in where if p == "K3/p1/1")
    cut = frozenset({where[other], where[mine], *cut})
    second, _ = remade(plan, stock, Happened(cut=cut, broken={other: AtStep.EDGING}), cancelled=(gone,))
    assert said(second, mine) == {"given_to": other, "cancelled": True}
    assert check_remake(plan, Happened(cut=cut, broken={other: AtStep.EDGING}), second) == []


def test_a_later_order_gives_its_piece_only_where_that_saves_a_due_day(dated_week, outsider, tmp_path):
    earlier, stock = dated_week
    where = {leaf.panel: x for x in earlier.layouts for leaf in x.leaves if leaf.panel}
    by_day = sorted({x.day for x in where.values()})
    broken = "K0/p0/1"
    first_day = frozenset(x.number for x in earlier.layouts if x.day == by_day[0])
    happened = Happened(cut=first_day | {where[broken].number}, broken={broken: AtStep.EDGING})
    plan, it = remade(earlier, stock, happened, DATED)
    holds(earlier, happened, plan, outsider, tmp_path)
    givers = {n: m["given_to"] for n, m in plan.extra["panels"].items() if "given_to" in m}
    cut = {p for p, x in where.items() if x.number in happened.cut}
    later = {p.id for p in earlier.panels if p.id in cut and p.name == "p0" and p.order != "K0"}
    # the broken one was due on the day that is over
    assert (set(givers) <= later and len(givers) == 1) if later else not givers
    if givers:
        (giver,) = givers
        assert givers[giver] == broken and said(plan, f"{giver}r1") == {"remakes": giver}
        assert it.best_score[:2] <= (0, 1)
    assert it.calendar.has_days and all(x.day is not None for x in plan.layouts)


def test_with_swap_a_cut_piece_of_a_later_order_is_taken_at_once(make_panel, make_stock):
    days = [MONDAY, date(2027, 3, 12)]
    panels = [p for n, due in enumerate(days) for p in order_of(make_panel, n, SIZES[:3], due)]
    stock = (make_stock(2250, 1605, on_hand=9, cost=400_000),)
    earlier = planned(panels, stock)
    everything = frozenset(x.number for x in earlier.layouts)
    happened = Happened(cut=everything, broken={"K0/p1/2": AtStep.EDGING})
    plan, _ = remade(earlier, stock, happened, swap=True)
    taken = [n for n, m in plan.extra["panels"].items() if m.get("given_to") == "K0/p1/2"]
    assert taken == ["K1/p1/1"]
    assert plan.panel("K1/p1/1r1").due == days[1]
    plain, _ = remade(earlier, stock, happened)
    assert not any("given_to" in m for m in plain.extra["panels"].values())


def test_a_flawed_sheet_is_cut_from_an_equal_one_with_the_same_cuts(week):
    earlier, stock = week
    sheet = next(x for x in earlier.layouts if not x.is_offcut and x.glass == "clear-10")
    plan, it = remade(earlier, stock, Happened(flawed={sheet.number: "scratch"}))
    (row,) = it.ending.changes.sheets
    new = next(x for x in plan.layouts if x.number == row.number)
    assert row.relaid and row.before == sheet.number and new.cuts == sheet.cuts
    assert row.number > max(x.number for x in earlier.layouts)
    # with no other sheet to be had its panels find no place
    none = tuple(replace(s, buyable=False, on_hand=0) for s in stock if s.glass == "clear-8")
    lone = next(x for x in earlier.layouts if x.glass == "clear-8")
    rest = tuple(s for s in stock if s.glass != "clear-8")
    plan, _ = remade(earlier, (*rest, *none), Happened(flawed={lone.number: "scratch"}))
    assert [u.panel for u in plan.unplaced] == ["K2/thin/1"] and plan.unplaced[0].reason
    # and with glass again they do
    again, _ = remade(plan, stock, Happened())
    assert not again.unplaced and "K2/thin/1" in on_sheets(again)


def test_an_offcut_that_is_gone_loses_its_panels_to_other_glass(week, make_panel):
    _, stock = week
    earlier = planned([make_panel(900, 700, id="A/lid/1")], stock)
    (taken,) = earlier.layouts
    assert taken.is_offcut
    plan, it = remade(earlier, stock, Happened(gone=frozenset({taken.stock})))
    assert [x.stock != taken.stock for x in plan.layouts] == [True] and not plan.unplaced
    assert it.ending.changes.dropped == (taken.number,)
    rest = tuple(s for s in stock if s.name != taken.stock)
    same, _ = remade(earlier, rest, Happened())
    assert same.layouts == plan.layouts


def test_what_a_broken_off_sheet_leaves_on_the_table_is_stock_that_costs_nothing(week):
    earlier, stock = week
    sheet = max((x for x in earlier.layouts if x.glass == "clear-10"), key=lambda x: len(x.leaves))
    pieces = (
        OnTable(sheet=sheet.number, width=mm(2000), height=mm(1400)),
        OnTable(sheet=sheet.number, width=mm(700), height=mm(500)),
    )
    happened = Happened(half={sheet.number: 1}, pieces=pieces)
    plan, _ = remade(earlier, stock, happened)
    used = [x for x in plan.layouts if x.stock.startswith(f"{earlier.id}.{sheet.number}.t")]
    assert used and all(x.cost == 0 and not x.raw and x.is_offcut for x in used)
    left = next(x for x in plan.layouts if x.number == sheet.number)
    assert len(left.cuts) <= 1 and not plan.unplaced
    # it is done with: the next plan takes nothing more from it
    again, _ = remade(plan, stock, Happened(), cancelled=("K5",))
    assert next(x for x in again.layouts if x.number == sheet.number) == left


def test_a_half_cut_sheet_takes_what_is_missing_in_the_glass_that_is_left(make_panel, make_stock):
    tall = [make_panel(600, 1500, id=f"A/tall/{k}") for k in (1, 2)]
    stock = (make_stock(2250, 1605, on_hand=1, buyable=False, cost=400_000),)
    earlier = planned([*tall, make_panel(500, 700, id="A/short/1")], stock)
    (sheet,) = earlier.layouts
    made = {name: cut.step for cut in sheet.cuts for name in cut.makes}
    short = next(made[leaf.piece] for leaf in sheet.leaves if leaf.panel == "A/short/1")
    fits = make_panel(450, 800, id="U/x/1")
    # before the strip of the short panel is cut, what lies above it is still there
    happened = Happened(half={sheet.number: short - 1})
    plan, it = remade(earlier, stock, happened, added=(fits,))
    assert check_remake(earlier, happened, plan) == [] and [str(v) for v in check(plan)] == []
    assert on_sheets(plan)["U/x/1"] == sheet.number and not plan.unplaced
    assert it.ending.changes.labels == ("U/x/1",)
    assert plan.extra["sheets"][str(sheet.number)] == {"cut_to_step": short - 1}
    # afterwards it is an offcut, or gone
    late, _ = remade(earlier, stock, Happened(half={sheet.number: len(sheet.cuts)}), added=(fits,))
    assert [u.panel for u in late.unplaced] == ["U/x/1"] and late.layouts == earlier.layouts


def test_a_cancelled_order_gives_its_glass_back(week):
    earlier, stock = week
    plan, it = remade(earlier, stock, Happened(), cancelled=("K0", "K1", "K2"), effort=200)
    assert check_remake(earlier, Happened(), plan) == []
    assert not any(p.order in ("K0", "K1", "K2") for p in plan.panels)
    assert it.ending.changes.cost < 0 and len(plan.layouts) < len(earlier.layouts)


def test_everything_that_does_not_fit_the_plan_is_told(week, make_panel):
    earlier, stock = week
    sheet = earlier.layouts[0]
    happened = Happened(
        cut=frozenset({77}), half={sheet.number: 999}, broken={"nobody/1": AtStep.EDGING}, flawed={88: ""}
    )
    with pytest.raises(CannotRemake) as caught:
        Remaking(
            Request(
                earlier=earlier,
                happened=happened,
                stock=stock,
                shop=SHOP,
                added=(earlier.panels[0],),
                cancelled=("Z",),
            )
        )
    text = str(caught.value)
    assert len(caught.value.faults) == 6 and all(f.reason and f.remedy for f in caught.value.faults)
    for part in ("sheet 77", "step 999", "nobody/1", "sheet 88", "has this panel already", "Z: "):
        assert part in text
