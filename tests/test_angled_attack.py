"""Angled panels of odd orders: what broke once, each as a test."""

from __future__ import annotations

from dataclasses import replace

import pytest

from panewright.nesting import mark_errors
from panewright.nesting.angled import groups
from panewright.nesting.angled.cluster import kind_of
from panewright.nesting.angled.cut_apart import cut_apart
from panewright.nesting.angled.groups import WORK, Finder
from panewright.nesting.blanks import candidates
from panewright.nesting.checker import check
from panewright.nesting.joint_blanks import Bundle, tied
from panewright.nesting.mark_errors import size_errors
from panewright.nesting.optimizer.instance import panel_types
from panewright.nesting.outlines import make_outline
from panewright.nesting.panels import Turn
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.steps import Eaten
from panewright.nesting.units import mm

GLASS = "clear-10"


def plan_of(panels, stock, shop=None, effort=20):
    shop = shop or Shop()
    bad = impossible(panels, stock, shop)
    planner = Planner(panels, stock, shop, effort=effort, unplaced=bad)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort")


def shape(*points):
    return make_outline([(mm(str(x)), mm(str(y))) for x, y in points])


TAPER = shape((0, 0), (800, 0), (800, 400), (0, 395))
LEFT = shape((0, 0), (500, 0), (620, 250), (300, 400), (0, 330))
RIGHT = shape((120, 0), (620, 0), (620, 330), (320, 400), (0, 250))


def test_panels_that_may_and_may_not_be_mirrored_are_not_exchanged(
    make_panel, make_stock, outsider, tmp_path
):
    # one of equal outline may be flipped, and paid to be flipped: others were flipped in its place
    panels = [replace(make_panel(id=f"A/d/{k}", outline=LEFT), mirror=k == 1) for k in range(1, 5)] + [
        make_panel(id=f"A/f/{k}", outline=RIGHT, turn=Turn.HALF) for k in range(1, 5)
    ]
    types = panel_types(panels, Shop().rules(GLASS))
    assert all(len({p.mirror for p in t.panels}) == 1 for t in types)
    plan = plan_of(panels, [make_stock(3210, 2250)])
    assert [str(v) for v in check(plan)] == []
    assert not plan.unplaced
    outsider(plan, tmp_path)


def test_a_set_that_drifts_out_of_its_piece_is_refused_without_a_fault():
    # found by a list of forty odd panels: a score left no glass on the side of panels beside it
    outlines = [
        ((164454071, 415244415), (372236619, 118814817), (429448340, 329885515), (221665792, 626315114)),
        ((372236619, 118814817), (171341890, 405418020), (74158577, 183426050), (202731204, 0)),
        ((429448340, 329885515), (483715625, 584159165), (293238223, 855900657), (238970939, 601627007)),
        ((29862135, 941703566), (49458707, 107608714), (293238223, 855900657)),
        ((14607734, 1454909067), (6603496, 1175023447), (477112129, 1186077761), (483715625, 1416983398)),
        ((469107891, 1418164380), (477112129, 1698050000), (6603496, 1686995685), (0, 1456090049)),
        ((469107891, 906192142), (477112129, 1186077761), (6603496, 1175023447), (0, 944117811)),
    ]
    assert cut_apart(483715625, 1698050000, outlines, Shop().rules(GLASS)) is None


def test_an_allowance_of_some_nanometres_is_none(make_panel, make_stock, monkeypatch):
    # panels of a group lie up to 625 nm off their place: no allowance that rounded marks could eat
    sizes = [(0, 700, 300, 40, 2), (1, 900, 450, "0.5", 3), (2, 2000, 300, "29.99", 2), (3, 500, 300, 2, 2)]
    panels = [
        make_panel(id=f"A/p{i}/{k}", outline=shape((0, 0), (w, 0), (w, h), (0, h - float(taper))))
        for i, w, h, taper, count in sizes
        for k in range(count)
    ]
    plan = plan_of(panels, [make_stock(3210, 2550)], Shop(cutting=CuttingChoice(mark_step=mm("0.5"))))

    def eaten():
        fresh = replace(plan)  # what was worked out of a plan is kept while it is in hand
        return [
            e
            for layout in fresh.layouts
            for e in size_errors(fresh, layout).values()
            if e.eaten is not Eaten.LITTLE
        ]

    assert eaten() == []
    monkeypatch.setattr(mark_errors, "_NOTHING", 10)
    assert eaten() != []


def test_polygons_of_many_corners_end_in_a_counted_time():
    corners = [(1000, 0), (924, 383), (707, 707), (383, 924), (0, 1000)]
    half = [*corners, *[(-x, y) for x, y in corners[-2::-1]]]
    ring = [*half, *[(x, -y) for x, y in half[-2:0:-1]]]
    kinds = [
        kind_of(make_outline([(mm(x * s) // 10, mm(y * s) // 10) for x, y in ring]), Turn.ANY, True, 6)
        for s in (3, 4)
    ]
    rules = Shop().rules(GLASS)
    finder = Finder(kinds, [(3165.0, 2205.0)], rules)
    finder.pairs(finder.singles([None, None]))
    spent = finder.work
    assert spent > 0
    finder.work = WORK
    before = len(finder.known)
    finder.rows(finder.singles([None, None]))
    finder.pairs(finder.singles([None, None]))
    assert (finder.work, len(finder.known)) == (WORK, before)


@pytest.mark.parametrize("taper", [1, 5, 20, 39])
def test_a_single_slight_taper_stands_askew_in_its_blank(taper, make_panel, make_stock, outsider, tmp_path):
    panel = make_panel(outline=shape((0, 0), (800, 0), (800, 400), (0, 400 - taper)))
    rules = Shop().rules(GLASS)
    if taper < 30:
        assert candidates(panel.cut, panel.turn, rules) == []
    stock = [make_stock(3210, 2250)]
    plan = plan_of([panel], stock)
    assert [str(v) for v in check(plan)] == []
    assert not plan.unplaced
    outsider(plan, tmp_path)


def test_a_taper_that_may_not_turn_freely_is_named(make_panel, make_stock):
    panel = make_panel(outline=TAPER, turn=Turn.HALF)
    stock = [make_stock(3210, 2250)]
    assert [u.rule for u in impossible([panel], stock, Shop())] == ["corner of a blank"]
    # nor one whose blank askew is larger than the sheet
    assert tied([make_panel(outline=TAPER)], [make_stock(850, 455)], Shop().rules(GLASS)).left


def test_the_odd_one_of_three_tapers_is_cut_too(make_panel, make_stock):
    panels = [make_panel(id=f"A/p/{k}", outline=TAPER) for k in range(1, 4)]
    done = tied(panels, [make_stock(3210, 2250)], Shop().rules(GLASS))
    assert sorted(len(b.parts) for b in done.panels if isinstance(b, Bundle)) == [1, 2]
    assert done.left == ()


def test_rules_that_let_nothing_be_cut_end_in_a_counted_time(monkeypatch):
    # a longest score shorter than the panels' edges had every group tried, for minutes
    rules = replace(Shop().rules(GLASS), longest_angled_cut=mm(100))
    kinds = [kind_of(outline, Turn.ANY, True, 4) for outline in (LEFT, RIGHT)]
    monkeypatch.setattr(groups, "TRIES", 2000)
    finder = Finder(kinds, [(3165.0, 2205.0)], rules)
    finder.pairs(finder.singles([None, None]))
    finder.settle()
    assert 2000 <= finder.spent < 2000 + 8 * 10**2 * 10  # a cluster has at most ten directions
    assert all(known.settled for known in finder.known.values())
    assert finder.offers() == []
