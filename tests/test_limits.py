"""Longest score and distances of level-1 cuts: every plan passes the checker, nothing is lost for nothing."""

from __future__ import annotations

import random
from functools import cache
from itertools import combinations, pairwise
from math import dist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.checker import check
from panewright.nesting.optimizer.instance import build
from panewright.nesting.optimizer.limits import obeys
from panewright.nesting.optimizer.params import Params
from panewright.nesting.optimizer.pattern import Column, Item, Row, Staged, Strip, other_frame
from panewright.nesting.optimizer.plain import plain_panel
from panewright.nesting.optimizer.search import Search
from panewright.nesting.outlines import make_outline
from panewright.nesting.panels import Turn
from panewright.nesting.plan import CutKind
from panewright.nesting.planner import Planner, impossible
from panewright.nesting.rules import Rules
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.shop_table import Table
from panewright.nesting.stock import Side, StockPiece
from panewright.nesting.units import mm

QUICK = Params(fill_exponents=(1.0,), first_width=8, guides=((0.1, 1.0), (0.03, 1.0)), repack_widths=(8, 20))


def make_plan(panels, stock, shop, effort=200):
    bad = impossible(panels, stock, shop)
    planner = Planner(panels, stock, shop, effort=effort, unplaced=bad, params=QUICK)
    planner.start()
    while planner.advance():
        pass
    return planner.finish("effort"), bad


sizes = st.tuples(st.integers(40, 1900), st.integers(40, 1300))
rows = st.lists(
    st.tuples(sizes, st.integers(1, 4), st.sampled_from([Turn.ANY, Turn.HALF]), st.booleans()),
    min_size=1,
    max_size=12,
)
racks = st.lists(
    st.tuples(st.integers(500, 2600), st.integers(350, 1900), st.sets(st.sampled_from(list(Side)))),
    max_size=4,
)
distances = st.tuples(st.sampled_from([0, 0, 100, 333, 700]), st.sampled_from([None, None, 1400, 1900]))


@given(
    rows=rows,
    rack=racks,
    longest=st.sampled_from([0, 0, 900, 1250, 1700, 2250, 2500, 3300]),
    distance=distances,
    levels=st.sampled_from([0, 2, 3, 3, 4]),
    last=st.booleans(),
    break_out=st.sampled_from([0, 20, 47]),
    trims=st.sampled_from([(20, 25, 20, 25), (0, 0, 0, 0), (10, 15, 10, 15), (20, 0, 0, 25)]),
)
@settings(max_examples=8)
def test_every_plan_under_the_rules_passes_the_checker(
    rows,
    rack,
    longest,
    distance,
    levels,
    last,
    break_out,
    trims,
    make_panel,
    make_stock,
    outsider,
    tmp_path_factory,
):
    least, most = distance
    shop = Shop(
        cutting=CuttingChoice(
            levels=levels,
            last_cut=last or levels == 0,
            break_out=mm(break_out),
            longest_cut=mm(longest),
            level1_gap=(mm(least), None if most is None else mm(most)),
        )
    )
    panels = [
        make_panel(*size, id=f"O{i}/p/{k + 1}", turn=turn, narrow=narrow)
        for i, (size, count, turn, narrow) in enumerate(rows)
        for k in range(count)
    ]
    stock = [make_stock(3210, 2250, trim=trims)]
    for i, (w, h, raw) in enumerate(rack):
        side = tuple(s for s in Side if s in raw)
        stock.append(
            make_stock(w, h, raw=side, trim=trims, buyable=False, on_hand=1, offcut=True, name=f"R{i}")
        )
    plan, bad = make_plan(panels, stock, shop, effort=60)
    assert [str(v) for v in check(plan)] == []
    outsider(plan, tmp_path_factory.mktemp("plan"))
    named = {u.panel for u in bad}
    short = [u for u in plan.unplaced if u.panel not in named]
    assert all(u.rule == "not enough stock" for u in short)
    if not impossible([p for p in panels if p.id not in named], stock[:1], shop):
        assert short == []


def plain(width, height, items, rules):
    panels = [plain_panel(w, h, f"{i:03d}", turn=False) for i, (w, h) in enumerate(items)]
    stock = [StockPiece(name="sheet", glass="plain", width=width, height=height, cost=1, buyable=True)]
    return build(panels, stock, rules)


def searched(instance, effort=60):
    search = Search(instance)
    search.start()
    while search.steps < effort and search.advance():
        pass
    return search.patterns


def fewest_by_hand(width, height, items, longest, least, most):
    """Fewest sheets over all edge-to-edge cuts that keep to the rules, by exhaustive recursion."""

    def splits(rest):
        for size in range(len(rest) + 1):
            for chosen in combinations(range(len(rest)), size):
                yield (
                    tuple(rest[i] for i in chosen),
                    tuple(r for i, r in enumerate(rest) if i not in chosen),
                )

    @cache
    def free(rest, w, h, axes=(0, 1)):
        """Whether a piece whose level-1 cuts are behind it yields all of these."""
        if not rest or rest == ((w, h),):
            return True
        for axis in axes:
            long, side = (h, w) if axis == 0 else (w, h)
            for at in range(1, side if long <= longest else 1):
                near, far = ((at, h), (w - at, h)) if axis == 0 else ((w, at), (w, h - at))
                if any(free(a, *near) and free(b, *far) for a, b in splits(rest)):
                    return True
        return False

    def slabs(rest, widths, high, axis):
        if not widths:
            return not rest
        size = (widths[0], high) if axis == 0 else (high, widths[0])
        return any(free(a, *size, (1 - axis,)) and slabs(b, widths[1:], high, axis) for a, b in splits(rest))

    @cache
    def whole(rest):
        if rest == ((width, height),):
            return True
        for axis, side, high in ((0, width, height), (1, height, width)):
            if high > longest:
                continue
            for number in range(1, side):
                for at in combinations(range(1, side), number):
                    if any(not least <= q - p <= most for p, q in pairwise(at)):
                        continue
                    if slabs(rest, [q - p for p, q in pairwise((0, *at, side))], high, axis):
                        return True
        return False

    @cache
    def fewest(rest):
        if not rest:
            return 0
        return min(1 + fewest(b) for a, b in splits(rest[1:]) if whole(tuple(sorted((rest[0], *a)))))

    return fewest(tuple(sorted(items)))


NONE = 99


@pytest.mark.parametrize(
    ("width", "height", "items", "rules"),
    [
        (6, 5, [(2, 5), (2, 5), (2, 5)], (NONE, 3, NONE)),
        (5, 5, [(1, 5), (1, 4), (2, 5)], (NONE, 3, 4)),
        (8, 4, [(3, 2), (6, 2), (4, 2), (2, 1)], (7, 0, NONE)),
        (7, 4, [(3, 1), (4, 3), (5, 1)], (6, 0, NONE)),
        (7, 4, [(6, 2), (2, 2), (5, 2)], (6, 0, 3)),
        (6, 5, [(4, 2), (3, 2), (3, 2), (1, 3)], (5, 3, 4)),
        (8, 6, [(2, 3), (3, 3), (4, 3), (6, 3)], (7, 3, 3)),
        (5, 6, [(1, 2), (2, 6), (2, 6)], (6, 3, 3)),
        (6, 4, [(3, 2), (1, 4), (4, 2), (4, 4)], (4, 2, 3)),
    ],
)
def test_small_orders_that_a_rule_makes_dearer(width, height, items, rules):
    longest, least, most = rules
    limits = Rules(
        break_out=0,
        levels=None,
        longest_cut=None if longest == NONE else longest,
        level1_gap=(least, None if most == NONE else most),
        least_offcut=(width, height),
    )
    instance = plain(width, height, items, limits)
    found = searched(instance)
    assert len(found) == fewest_by_hand(width, height, items, longest, least, most)
    assert len(found) > fewest_by_hand(width, height, items, NONE, 0, NONE)
    assert all(obeys(p, instance) for p in found)


def test_the_near_trim_comes_off_strip_by_strip_where_the_score_is_long(make_panel, make_stock):
    panels = [make_panel(1500, 1000, id=f"O/p/{k}") for k in range(1, 9)]
    stock = [make_stock(6000, 3210)]
    free, _ = make_plan(panels, stock, Shop())
    plan, _ = make_plan(panels, stock, Shop(cutting=CuttingChoice(longest_cut=mm(3210))))
    assert check(plan) == []
    assert len(plan.layouts) == len(free.layouts) == 1
    trims = [c for c in plan.layouts[0].cuts if c.kind is CutKind.TRIM]
    assert sum(c.start[1] == c.end[1] for c in trims) > 1
    assert sum(c.kind is CutKind.TRIM for c in free.layouts[0].cuts) == 2


def test_a_panel_that_needs_a_longer_score_is_named(make_panel, make_stock):
    shop = Shop(cutting=CuttingChoice(longest_cut=mm(2300), longest_angled_cut=0))
    corner = [(0, 0), (mm(2000), 0), (mm(2000), mm(300)), (mm(300), mm(1900)), (0, mm(1900))]
    panels = [
        make_panel(2400, 1500, id="A/p/1"),
        make_panel(2200, 500, id="B/p/1"),
        make_panel(id="C/p/1", outline=make_outline(corner)),
    ]
    stock = [make_stock(3210, 2250)]
    found = impossible(panels, stock, shop)
    assert [(u.panel, u.rule) for u in found] == [("A/p/1", "longest score"), ("C/p/1", "longest score")]
    # upright, the slant of C takes a score of 2334 mm; laid along its slant, the longest angled one is a side
    tilted = Shop(cutting=CuttingChoice(longest_angled_cut=mm(2300)))
    plan, bad = make_plan(panels, stock, tilted)
    assert bad == check(plan) == []
    angled = [
        c for lay in plan.layouts for c in lay.cuts if c.start[0] != c.end[0] and c.start[1] != c.end[1]
    ]
    assert max(dist(c.start, c.end) for c in angled) <= mm(2300)
    by_hand = impossible(panels, stock, Shop(cutting=CuttingChoice(longest_angled_cut=mm(1850))))
    assert [(u.panel, u.rule) for u in by_hand] == [("C/p/1", "longest angled score")]
    assert "longest_angled_score in the shop file" in by_hand[0].reason
    assert impossible(panels, stock, Shop(table=Table.MACHINE)) == []
    # an offcut of the panel's size, or height, needs no score along the long side
    offcut = make_stock(2400, 1500, raw=(), trim=(0, 0, 0, 0), offcut=True, on_hand=1, buyable=False)
    assert impossible([panels[0]], [offcut], shop) == []
    assert impossible([make_panel(2350, 1500)], [offcut], shop) == []
    assert impossible([make_panel(2350, 500)], [offcut], shop)[0].rule == "longest score"


@pytest.mark.parametrize("distance", [(0, None), (0, 1000), (600, None)])
def test_a_pattern_turned_for_its_offcut_keeps_to_the_rules(distance, make_panel, make_stock):
    # three panels in rows of 500 become three strips 500 wide where no rule forbids it
    least, most = distance
    rules = Rules(level1_gap=(mm(least), None if most is None else mm(most)))
    panels = [make_panel(2000, 500, id=f"O/p/{k}", turn=Turn.HALF) for k in range(3)]
    instance = build(panels, [make_stock(3210, 2250)], rules)
    unit = instance.unit
    item = Item(0, mm(2000) // unit, mm(500) // unit)
    rows = tuple(Row(mm(500) // unit, False, (Column(item.width, (item,)),)) for _ in range(3))
    turned = other_frame(Staged(0, 0, (Strip(item.width, False, rows),)), instance)
    assert (turned is None) == (least > 500)
    assert turned is None or obeys(turned, instance)


def test_many_panels_under_both_rules_pass_the_checker(make_panel, make_stock):
    # enough variants for the kernel to choose among its children
    rng = random.Random(3)
    panels = [
        make_panel(rng.randrange(200, 1500), rng.randrange(200, 1300), id=f"O{i}/p/1") for i in range(260)
    ]
    shop = Shop(cutting=CuttingChoice(longest_cut=mm(3300), level1_gap=(mm(700), mm(2100))))
    plan, bad = make_plan(panels, [make_stock(6000, 3210)], shop, effort=30)
    assert bad == []
    assert check(plan) == []
    assert len(plan.unplaced) == 0
