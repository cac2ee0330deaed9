"""Flaws marked on sheets of a plan: what is cut stays, the rest is planned around them, and both checkers pass."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.plan_file import dumps, loads
from panewright.nesting.check_remake import check_remake
from panewright.nesting.checker import check
from panewright.nesting.fillers import Filler
from panewright.nesting.flaws import KINDS, Flaw, Tolerance
from panewright.nesting.happened import AtStep, Happened
from panewright.nesting.optimizer.params import Params
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import LeafKind
from panewright.nesting.plan_id import plan_id
from panewright.nesting.planner import Planner
from panewright.nesting.remake.history import History
from panewright.nesting.remake.racks import out_of_order
from panewright.nesting.remake.request import CannotRemake, Request
from panewright.nesting.remake.search import Remaking
from panewright.nesting.remake.steps_done import in_order_done, in_turn, steps_done_faults
from panewright.nesting.remake.tree import spots_of
from panewright.nesting.remake.under import off_under_flaws
from panewright.nesting.shop import Shop
from panewright.nesting.spots import flaws_of
from panewright.nesting.units import mm

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))
SHOP = Shop()
SIZES = [(700, 420), (640, 300), (500, 500), (380, 260)]


def planned(panels, stock, **more):
    planner = Planner(panels, stock, SHOP, effort=30, params=QUICK, **more)
    planner.start()
    while planner.advance():
        pass
    return loads(dumps(planner.finish("effort")))


def remade(earlier, stock, happened, effort=6, **more):
    it = Remaking(Request(earlier=earlier, happened=happened, stock=stock, shop=SHOP, **more), effort=effort)
    it.start()
    while it.advance():
        pass
    plan = loads(dumps(it.finish("effort")))
    assert [str(v) for v in check(plan)] == []
    assert check_remake(earlier, it.request.happened, plan) == []
    return plan, it


def sheet(plan, number):
    return next(x for x in plan.layouts if x.number == number)


def panels_of(layout):
    return {leaf.panel for leaf in layout.leaves if leaf.panel}


def middle(outline):
    (x0, y0), (x1, y1) = outline[0], outline[2]
    return (x0 + x1) // 2, (y0 + y1) // 2


def dot(x, y, kind="scratch"):
    return Flaw(x, y, mm(4), mm(2), kind)


@pytest.fixture(scope="module")
def day(make_panel, make_stock):
    """Two orders on two sheets, with room to spare on the second."""
    panels = [
        make_panel(w, h, id=f"K{n}/p{i}/{k}")
        for n in range(2)
        for i, (w, h) in enumerate(SIZES)
        for k in (1, 2)
    ]
    stock = (make_stock(1605, 1405, on_hand=4, buyable=False, cost=100_000),)
    return planned(panels, stock), stock


def test_a_flaw_in_waste_is_noted_and_nothing_else_changes(day):
    earlier, stock = day
    layout, leaf = next(
        (x, v)
        for x in earlier.layouts
        for v in x.leaves
        if v.kind is not LeafKind.PANEL
        and min(abs(v.outline[2][a] - v.outline[0][a]) for a in (0, 1)) > mm(30)
    )
    flaw = dot(*middle(leaf.outline))
    plan, it = remade(earlier, stock, Happened(flaws={layout.number: (flaw,)}))
    assert plan.id == earlier.id and flaws_of(sheet(plan, layout.number)) == (flaw,)
    assert [(x.cuts, x.leaves) for x in plan.layouts] == [(x.cuts, x.leaves) for x in earlier.layouts]
    (mark,) = it.ending.changes.marked
    assert not (mark.anew or mark.moved or mark.hit) and not it.ending.changes.sheets
    # said again it is nothing new
    assert Remaking(Request(earlier=plan, happened=it.request.happened, stock=stock, shop=SHOP)).nothing


def test_a_sheet_with_a_flaw_in_a_panel_keeps_its_number_and_its_panels(day, outsider, tmp_path):
    earlier, stock = day
    last = earlier.layouts[-1]
    leaf = next(v for v in last.leaves if v.panel)
    flaw = dot(*middle(leaf.outline))
    plan, it = remade(earlier, stock, Happened(flaws={last.number: (flaw,)}))
    new = sheet(plan, last.number)
    # there is room on the sheet for all of them
    assert panels_of(new) == panels_of(last) and new.stock == last.stock and new.cuts != last.cuts
    assert [x for x in plan.layouts if x.number != last.number] == list(earlier.layouts[:-1])
    (mark,) = it.ending.changes.marked
    assert mark.hit == (leaf.panel,) and not mark.moved and mark.stayed == len(panels_of(last))
    outsider(plan, tmp_path)


def test_a_flaw_across_a_cut_and_several_flaws(day):
    earlier, stock = day
    last = earlier.layouts[-1]
    cut = next(c for c in last.cuts if c.kind.value == "main")
    x, y = (cut.start[0] + cut.end[0]) // 2, (cut.start[1] + cut.end[1]) // 2
    across = Flaw(x - mm(5), y - mm(5), mm(10), mm(10), "crack")
    _, it = remade(earlier, stock, Happened(flaws={last.number: (across,)}))
    (mark,) = it.ending.changes.marked
    assert mark.crossed >= 1 and mark.anew
    many = tuple(dot(mm(x), mm(y)) for x in (200, 800, 1400) for y in (300, 900))
    plan, it = remade(earlier, stock, Happened(flaws={x.number: many for x in earlier.layouts}))
    assert not plan.unplaced
    assert all(set(many) <= set(flaws_of(x)) for x in plan.layouts if x.number in it.request.happened.flaws)


def test_in_the_middle_of_a_half_cut_sheet_what_is_cut_stays(day):
    earlier, stock = day
    first = earlier.layouts[0]
    seen = 0
    for step in range(1, len(first.cuts)):
        made = {name: c.step for c in first.cuts for name in c.makes}
        to_come = [v for v in first.leaves if v.panel and made[v.piece] > step]
        if step % 3 or not to_come:
            continue
        leaf = to_come[-1]
        happened = Happened(half={first.number: step}, flaws={first.number: (dot(*middle(leaf.outline)),)})
        plan, it = remade(earlier, stock, happened, effort=2)
        new = sheet(plan, first.number)
        assert new.cuts[:step] == first.cuts[:step]
        off = {v.panel: v for v in first.leaves if v.panel and made[v.piece] <= step}
        assert off.items() <= {v.panel: v for v in new.leaves if v.panel}.items()
        # what no flaw touches, outside the piece that is cut anew, stays where it is
        parent = {name: c.piece for c in first.cuts for name in c.makes}
        hand = leaf.piece
        while made[hand] > step:
            hand = parent[hand]
        box = spots_of(first)[hand].box
        for v in first.leaves:
            x, y = middle(v.outline)
            if v.panel and not (box[0] < x < box[2] and box[1] < y < box[3]):
                assert v in new.leaves
        (mark,) = it.ending.changes.marked
        assert mark.hit == (leaf.panel,) and set(mark.moved) <= {leaf.panel, *(v.panel for v in to_come)}
        seen += 1
    assert seen >= 2


def test_a_flaw_on_what_came_off_is_nothing(day):
    earlier, stock = day
    first = earlier.layouts[0]
    leaf = next(v for v in first.leaves if v.panel)
    step = next(c.step for c in first.cuts if leaf.piece in c.makes)
    flaws = {first.number: (dot(*middle(leaf.outline)),)}
    for happened in (
        Happened(half={first.number: step}, flaws=flaws),
        Happened(cut=frozenset({first.number}), flaws=flaws),
    ):
        request = Request(earlier=earlier, happened=happened, stock=stock, shop=SHOP)
        assert Remaking(request).nothing
        # but somebody must look at the glass, unless it is known to be no good
        assert off_under_flaws(earlier, happened) == {first.number: [leaf.panel]}
        known = replace(happened, broken={leaf.panel: AtStep.BREAKING})
        assert off_under_flaws(earlier, known) == {}
    still = Happened(half={first.number: max(0, step - 1)}, flaws=flaws)
    assert off_under_flaws(earlier, still) == {}


def test_what_is_wholly_cracked_is_no_offcut(day):
    """A crack over all that is left: the waste of the sheet is not kept, what came off before is."""
    earlier, stock = day
    for layout in earlier.layouts:
        kept = [x for x in layout.leaves if x.kind is LeafKind.OFFCUT]
        if not kept:
            continue
        crack = Flaw(0, 0, layout.width, layout.height, "crack")
        first = min(c.step for c in layout.cuts)
        plan, _ = remade(
            earlier, stock, Happened(half={layout.number: first}, flaws={layout.number: (crack,)})
        )
        made = {name for c in layout.cuts if c.step == first for name in c.makes}
        offcuts = [x.piece for x in sheet(plan, layout.number).leaves if x.kind is LeafKind.OFFCUT]
        assert set(offcuts) <= made
        return
    raise AssertionError("no sheet leaves an offcut")


def test_a_sheet_of_no_use_is_dropped_and_not_taken_again(make_panel, make_stock):
    stock = (make_stock(1000, 800, raw=(), on_hand=2, buyable=False, cost=50_000),)
    earlier = planned([make_panel(940, 740, id="A/p/1")], stock)
    (layout,) = earlier.layouts
    flaws = {layout.number: (dot(mm(500), mm(400)),)}
    plan, it = remade(earlier, stock, Happened(flaws=flaws))
    (row,) = it.ending.changes.sheets
    assert row.before == layout.number and row.number > layout.number and it.ending.changes.marked[0].useless
    assert not any(flaws_of(x) for x in plan.layouts)
    # the last one of its kind: there is no other
    alone = (replace(stock[0], on_hand=1),)
    plan, _ = remade(earlier, alone, Happened(flaws=flaws))
    assert [u.panel for u in plan.unplaced] == ["A/p/1"] and not plan.layouts


def test_a_tolerated_spot_lies_under_its_panel(make_panel, make_stock):
    stock = (make_stock(1000, 800, raw=(), on_hand=1, buyable=False, cost=50_000),)
    panel = replace(make_panel(940, 740, id="A/p/1"), tolerates=(Tolerance("seed", "anywhere"),))
    earlier = planned([panel], stock)
    (layout,) = earlier.layouts
    flaw = dot(mm(500), mm(400), "seed")
    plan, it = remade(earlier, stock, Happened(flaws={layout.number: (flaw,)}))
    (new,) = plan.layouts
    assert new.spots == (flaw,) and not new.flaws and new.leaves == layout.leaves
    assert not it.ending.changes.marked[0].anew
    # a crack is taken by nobody
    plan, _ = remade(earlier, stock, Happened(flaws={layout.number: (replace(flaw, kind="crack"),)}))
    assert plan.unplaced


def racked(plan):
    """The plan with its panels in two racks, slot by slot as they come off."""
    places = {}
    for layout in plan.layouts:
        made = {name: c.step for c in layout.cuts for name in c.makes}
        for leaf in sorted((v for v in layout.leaves if v.panel), key=lambda v: made[v.piece]):
            places[leaf.panel] = (f"H{len(places) % 2}", len(places) // 2 + 1)
    panels = (replace(p, rack=places[p.id][0], slot=places[p.id][1]) for p in plan.panels)
    return replace(plan, panels=tuple(panels))


def test_racks_keep_their_order_and_what_leaves_it_is_made_again(day):
    plain, stock = day
    earlier = racked(plain)
    assert [str(v) for v in check(earlier)] == []
    panels = earlier.panels
    for layout in earlier.layouts:
        leaf = next(v for v in layout.leaves if v.panel)
        happened = Happened(flaws={layout.number: (dot(*middle(leaf.outline)),)})
        plan, it = remade(earlier, stock, happened)
        again = {n.panel.id for n in it.best.needs}
        every = {p.id: p for p in plan.panels}
        assert out_of_order(plan.layouts, every, again) == []
        assert [x.number for x in plan.layouts if x.number <= len(earlier.layouts)] == [
            x.number for x in earlier.layouts
        ]
        for name in again:
            assert plan.extra["panels"][name]["remakes"] in {p.id for p in panels}
    # what is made again under another id is no filler that is left out
    first = earlier.layouts[0]
    whole = Flaw(0, 0, first.width, first.height, "crack")
    _, it = remade(earlier, stock, Happened(half={1: 1}, flaws={1: (whole,)}), effort=2)
    assert {n.remakes for n in it.best.needs} == panels_of(first) and not it.ending.changes.left_out


def test_missing_panels_keep_clear_of_flaws_in_waste_and_in_stock(make_panel, make_stock):
    sound = make_stock(1000, 800, raw=(), on_hand=1, buyable=False, cost=50_000)
    flawed = replace(
        make_stock(900, 700, raw=(), on_hand=1, buyable=False, cost=1_000, offcut=True, name="R9"),
        flaws=(dot(mm(300), mm(300)),),
    )
    earlier = planned([make_panel(500, 780, id="A/p/1")], (sound,))
    (layout,) = earlier.layouts
    # in the waste beside the panel there is a flaw low down: a panel lies above it
    flaw = dot(layout.width - mm(200), mm(100))
    more = (make_panel(300, 500, id="B/p/1"),)
    noted = Happened(flaws={layout.number: (flaw,)})
    plan, _ = remade(earlier, (sound,), noted, added=more)
    assert panels_of(sheet(plan, layout.number)) >= {"A/p/1"} and not plan.unplaced
    # and from an offcut with a flaw in its middle comes what fits beside it
    plan, _ = remade(
        earlier, (sound, flawed), Happened(cut=frozenset({1})), added=(make_panel(550, 600, id="C/p/1"),)
    )
    (other,) = (x for x in plan.layouts if x.stock == "R9")
    assert flaws_of(other) == flawed.flaws and panels_of(other) == {"C/p/1"}


def test_fillers_and_spares_keep_clear_of_flaws(make_panel, make_stock):
    flaws = (dot(mm(700), mm(600)), dot(mm(1300), mm(300), "stone"))
    sheet = replace(make_stock(1605, 1405, on_hand=1, buyable=False, cost=100_000), flaws=flaws)
    extras = [
        Filler(panel=replace(make_panel(w, h, id=f"{name}/x"), purpose=purpose), worth=90_000, most=3)
        for name, w, h, purpose in (("F", 400, 300, Purpose.FILLER), ("S", 500, 380, Purpose.SPARE))
    ]
    ordered = [make_panel(*size, id=f"A/p{i}/1") for i, size in enumerate(SIZES)]
    plan = planned(ordered, (sheet,), fillers=extras)
    assert [str(v) for v in check(plan)] == []
    (layout,) = plan.layouts
    assert flaws_of(layout) == flaws
    assert {p.purpose for p in plan.panels} >= {Purpose.FILLER, Purpose.SPARE}


def test_a_flaw_beyond_its_sheet_is_told(day):
    earlier, stock = day
    happened = Happened(flaws={1: (Flaw(mm(1600), 0, mm(30), mm(30)),), 99: (dot(0, 0),)})
    with pytest.raises(CannotRemake) as caught:
        Remaking(Request(earlier=earlier, happened=happened, stock=stock, shop=SHOP))
    assert len(caught.value.faults) == 2


def test_a_sheet_in_the_cutting_is_not_planned_as_if_it_were_whole(day):
    earlier, stock = day
    now = Happened(begun=frozenset({1, 99}), flaws={1: (dot(0, 0),)})
    with pytest.raises(CannotRemake) as caught:
        Remaking(Request(earlier=earlier, happened=now, stock=stock, shop=SHOP))
    (fault,) = caught.value.faults
    assert "nobody said how far" in fault.reason and "--half-cut 1=" in fault.remedy
    for said in ({"half": {1: 2}}, {"cut": frozenset({1})}, {"flawed": {1: "fell"}}):
        Request(earlier=earlier, happened=replace(now, **said), stock=stock, shop=SHOP).check()
    # a remake knows how far its sheets were
    later, _ = remade(earlier, stock, replace(now, half={1: 2}), effort=1)
    Request(earlier=later, happened=Happened(begun=frozenset({1})), stock=stock, shop=SHOP).check()


@st.composite
def marked(draw, plan):
    """Flaws of any kind and size anywhere on sheets that are cut, half cut or to be cut."""
    flaws, half, cut = {}, {}, set()
    for x in plan.layouts:
        fate = draw(st.sampled_from(["cut", "half", "half", "to be cut", "to be cut"]))
        if fate == "cut":
            cut.add(x.number)
        elif fate == "half":
            half[x.number] = draw(st.integers(1, len(x.cuts)))
        found = []
        for _ in range(draw(st.integers(0, 3))):
            wide, high = (draw(st.sampled_from([0, 1, mm(3), mm(90)])) for _ in "xy")
            left, low = draw(st.integers(0, x.width - wide)), draw(st.integers(0, x.height - high))
            found.append(Flaw(left, low, wide, high, draw(st.sampled_from(["", *KINDS]))))
        if found:
            flaws[x.number] = tuple(found)
    return Happened(cut=frozenset(cut), half=half, flaws=flaws)


@given(data=st.data())
@settings(max_examples=15)
def test_wherever_flaws_are_both_checkers_pass(data, day, outsider, tmp_path_factory):
    earlier, stock = day
    happened = data.draw(marked(earlier))
    plan, _ = remade(earlier, stock, happened, effort=2)
    outsider(plan, tmp_path_factory.mktemp("marked"))
    assert not plan.unplaced or len(plan.layouts) == 4
    # said a second time of the plan that came of it, it is all known
    again, _ = remade(plan, stock, happened, effort=1)
    assert again.id == plan.id or plan.unplaced


def skipped(earlier, layout, held):
    """Steps done out of turn: all but one and those that need it; None where nothing comes behind it."""
    gone, done = set(), []
    for cut in layout.cuts:
        if cut.step == held or cut.piece in gone:
            gone.update(cut.makes)
        else:
            done.append(cut.step)
    return None if in_turn(done) else done


def test_steps_done_out_of_turn_stay_and_what_is_held_is_planned_around(day, make_panel):
    earlier, stock = day
    first = earlier.layouts[0]
    tried = 0
    for held in range(1, len(first.cuts)):
        done = skipped(earlier, first, held)
        if done is None:
            continue
        assert steps_done_faults(earlier, {1: done}) == []
        real = in_order_done(earlier, {1: done})
        old = sheet(real, 1)
        before = {c.step: c for c in first.cuts}
        order = [*done, *(s for s in before if s not in done)]
        assert [(c.step, c.placement) for c in old.cuts] == [(i, None) for i in range(1, len(order) + 1)]
        for cut, step in zip(old.cuts, order, strict=True):
            assert replace(before[step], step=cut.step, placement=None) == cut
        assert {v.piece: v for v in old.leaves} == {v.piece: v for v in first.leaves}
        assert loads(dumps(real)) == real and [str(v) for v in check(real)] == []
        # a flaw across the step that is held back, and small panels that are missing: they seek waste
        cut = before[held]
        at = middle((cut.start, (0, 0), cut.end))
        flaw = Flaw(max(at[0] - mm(4), 0), max(at[1] - mm(4), 0), mm(8), mm(8), "crack")
        more = tuple(make_panel(120, 90, id=f"Z/p/{n}") for n in (1, 2, 3))
        happened = Happened(half={1: len(done)}, flaws={1: (flaw,)})
        plan, _ = remade(real, stock, happened, effort=2, added=more)
        new = sheet(plan, 1)
        assert new.cuts[: len(done)] == old.cuts[: len(done)]
        made = {name for step in done for name in before[step].makes}
        off = {v.piece: v for v in first.leaves if v.piece in made}
        assert off.items() <= {v.piece: v for v in new.leaves}.items()
        tried += 1
    assert tried >= 2


def test_waste_that_is_off_takes_no_panel_though_its_step_comes_behind_one_that_is_held(
    chained_plans, make_panel, make_stock
):
    """Step 5 is held, steps 7 and 8 break an offcut of 900 x 480 mm and a panel off behind it."""
    earlier, _ = chained_plans
    old, done = sheet(earlier, 1), [1, 2, 3, 4, 7, 8]
    keep = next(v for v in old.leaves if v.offcut and v.piece in old.cuts[6].makes)
    flaw = Flaw(mm(700), mm(200), mm(40), mm(10), "crack")
    lost = (make_panel(840, 400, id="Z/p/1"),)
    stock = (make_stock(2000, 1000, on_hand=2, buyable=False, cost=100_000),)

    def where(plan):
        x0, y0, x1, y1 = (*keep.outline[0], *keep.outline[2])
        rows = ((x.number, v.panel, middle(v.outline)) for x in plan.layouts for v in x.leaves if v.panel)
        return [(n, name) for n, name, (x, y) in rows if n == 1 and x0 < x < x1 and y0 < y < y1]

    now = Happened(cut=frozenset({2}), half={1: 4}, flaws={1: (flaw,)})
    believed, _ = remade(earlier, stock, now, effort=2, added=lost)
    assert where(believed) == [(1, "Z/p/1")]  # as if the offcut were still on the sheet
    real = in_order_done(earlier, {1: done})
    assert real.id == earlier.id == plan_id(real.seed, real.layouts)
    plan, _ = remade(real, stock, replace(now, half={1: 6}), effort=2, added=lost)
    assert where(plan) == [] and keep in sheet(plan, 1).leaves
    assert plan.extra["sheets"]["1"]["cut_to_step"] == 6
    assert History(plan).half == {1: 6}


def test_steps_that_cannot_be_done_are_told(day):
    earlier, _ = day
    first = earlier.layouts[0]
    held = next(c.step for c in first.cuts if {d.piece for d in first.cuts} & set(c.makes))
    needs = next(c.step for c in first.cuts if c.piece in first.cuts[held - 1].makes)
    done = [c.step for c in first.cuts if c.step != held]
    faults = steps_done_faults(earlier, {1: done, 99: [3]})
    assert any(f"step {needs} cuts a piece that step {held} makes" in f.reason for f in faults)
    assert all(f"step {held} too" in f.remedy for f in faults)
    (fault,) = steps_done_faults(earlier, {1: [1, 999]})
    assert "no step 999" in fault.reason and "1-12,14-25" in fault.remedy
    # the first steps are no matter of it
    assert steps_done_faults(earlier, {1: range(1, 999)}) == []
    assert in_order_done(earlier, {1: range(1, 4), 99: [3]}) is earlier
