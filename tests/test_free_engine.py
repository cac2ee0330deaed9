"""The engine without level limit: against exhaustive search, exact tables, published optima and the checker."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.bounds_points import free_mindist, free_unlimited
from panewright.nesting.checker import check
from panewright.nesting.cut_tree import build_layout, waste_of
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.optimizer.equal_sheets import sheets_needed
from panewright.nesting.optimizer.free_engine import fill_free
from panewright.nesting.optimizer.free_refill import may_be_free, place_free
from panewright.nesting.optimizer.instance import Instance, build
from panewright.nesting.optimizer.one_sheet import fill_one_sheet
from panewright.nesting.optimizer.pattern import leftovers, other_frame
from panewright.nesting.optimizer.plain import plain_panel, plain_rules, plain_sheet
from panewright.nesting.optimizer.runner import Counter as Nodes
from panewright.nesting.optimizer.runner import Runner
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.plan import CutKind, LeafKind, Plan
from panewright.nesting.plan_id import offcut_number, plan_id
from panewright.nesting.rules import Rules
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece, Trim
from panewright.nesting.units import mm

# Beasley 1985, gcut1 (250 x 250); optima with copies without limit 56460 fixed and 58136 turning: exact
# dynamic programming by two programs that share nothing (data README, section 3)
GCUT1 = [
    (184, 167),
    (152, 167),
    (166, 143),
    (160, 120),
    (118, 114),
    (141, 87),
    (140, 83),
    (165, 69),
    (148, 66),
    (86, 70),
]
RAW = (Side.LEFT, Side.RIGHT, Side.BOTTOM, Side.TOP)


# ------------------------------------------------------------------ helpers


def plain_instance(width, height, items, *, turn=False, break_out=0, right=False, top=False) -> Instance:
    """One type an item (width, height, copies), lengths in units of 1 mm; equal sizes become one type."""
    panels = [
        plain_panel(mm(w), mm(h), f"{k}/{c}", turn=turn)
        for k, (w, h, copies) in enumerate(items)
        for c in range(copies)
    ]
    rules = replace(plain_rules(mm(width), mm(height), None), break_out=mm(break_out))
    instance = build(panels, [plain_sheet(mm(width), mm(height))], rules)
    unit = instance.unit
    assert mm(1) % unit == 0 or unit % mm(1) == 0
    return replace(instance, sheets=(replace(instance.sheets[0], raw_right=right, raw_top=top),))


def exhaustive(width, height, items, distance, turn, right, top) -> int:
    """Most value by trying every cut at every unit and every share of the demand."""
    ways = [{(w, h), (h, w)} if turn else {(w, h)} for w, h, _, _ in items]

    @cache
    def shares(left):
        out = [((), ())]
        for count in left:
            out = [((*a, i), (*b, count - i)) for a, b in out for i in range(count + 1)]
        return out

    @cache
    def best(x, y, at_right, at_top, left):
        wide, high = x >= distance, y >= distance
        # waste: at least the distance wide, or along a raw side and at least the distance long there
        found = 0 if (wide and high) or (at_right and high) or (at_top and wide) else None
        for k, count in enumerate(left):
            if count and (x, y) in ways[k]:
                found = max(found or 0, items[k][2])
        if any(left):
            cuts = [((c, y, False, at_top), (x - c, y, at_right, at_top)) for c in range(1, x)]
            cuts += [((x, c, at_right, False), (x, y - c, at_right, at_top)) for c in range(1, y)]
            for near, far in cuts:
                for one, two in shares(left):
                    a = best(*near, one)
                    b = None if a is None else best(*far, two)
                    if b is not None and (found is None or a + b > found):
                        found = a + b
        return found

    return best(width, height, right, top, tuple(copies for *_, copies in items)) or 0


def plan_of(instance, pattern, panels, keep) -> Plan:
    """The one sheet as a plan, for the checker."""
    queues = [iter(kind.panels) for kind in instance.types]
    layout = build_layout(pattern, instance, lambda kind: next(queues[kind]), keep, 1, buy=True)
    name = plan_id(0, [layout])
    number = iter(range(99))
    leaves = tuple(
        replace(leaf, offcut=offcut_number(name, 1, next(number))) if leaf.kind is LeafKind.OFFCUT else leaf
        for leaf in layout.leaves
    )
    used = {leaf.panel for leaf in leaves}
    return Plan(
        id=name,
        program="test",
        seed=0,
        effort=None,
        length_unit="mm",
        currency="EUR",
        rules={panels[0].glass: instance.rules},
        panels=tuple(p for p in panels if p.id in used),
        layouts=(replace(layout, leaves=leaves),),
        unplaced=(),
        outcomes={},
    )


# ------------------------------------------------- against exhaustive search

small = st.tuples(st.integers(1, 7), st.integers(1, 7), st.integers(1, 30), st.integers(1, 2))


@settings(max_examples=120)
@given(
    size=st.tuples(st.integers(4, 11), st.integers(4, 9)),
    items=st.lists(small, min_size=1, max_size=3).filter(lambda rows: sum(r[3] for r in rows) <= 5),
    distance=st.sampled_from([0, 2, 3]),
    turn=st.booleans(),
    raw=st.tuples(st.booleans(), st.booleans()),
    tables=st.booleans(),
)
def test_equals_exhaustive_search_on_tiny_sheets(size, items, distance, turn, raw, tables):
    # rectangles narrower than the break-out distance are not the engine's business
    items = [(max(w, distance), max(h, distance), v, c) for w, h, v, c in items]
    worth = {}
    for w, h, v, _ in items:
        key = tuple(sorted((w, h))) if turn else (w, h)
        worth.setdefault(key, v)
    items = [(w, h, worth[tuple(sorted((w, h))) if turn else (w, h)], c) for w, h, _, c in items]
    instance = plain_instance(
        *size, [(w, h, c) for w, h, _, c in items], turn=turn, break_out=distance, right=raw[0], top=raw[1]
    )
    scale = instance.unit // mm(1) or 1
    assert instance.unit == scale * mm(1)
    value = [
        worth[
            tuple(sorted((r.width * scale, r.height * scale)))
            if turn
            else (r.width * scale, r.height * scale)
        ]
        for r in instance.rects
    ]
    found = fill_free(instance, instance.demand, 0, value, effort=100_000, tables=tables)
    assert found.value == exhaustive(*size, items, distance, turn, *raw)
    assert found.proven
    if found.pattern is not None:
        assert sum(value[i.rect] for i in found.pattern.items()) == found.value
        uses = found.pattern.uses(instance)
        assert all(uses[t] <= instance.demand[t] for t in uses)


@settings(max_examples=60)
@given(
    size=st.tuples(st.integers(5, 30), st.integers(5, 24)),
    items=st.lists(st.tuples(st.integers(3, 14), st.integers(3, 12)), min_size=1, max_size=3, unique=True),
    distance=st.sampled_from([0, 2, 3]),
    turn=st.booleans(),
    raw=st.tuples(st.booleans(), st.booleans()),
)
def test_without_a_limit_of_copies_equals_the_exact_table(size, items, distance, turn, raw):
    width, height = size
    offers = [(w, h, w * h + 1) for w, h in items]
    exact = free_mindist(width, height, offers, break_out=distance, turn=turn, far_raw=raw)
    most = [max(1, (width * height) // (w * h)) for w, h in items]
    instance = plain_instance(
        width,
        height,
        [(w, h, c) for (w, h), c in zip(items, most, strict=True)],
        turn=turn,
        break_out=distance,
        right=raw[0],
        top=raw[1],
    )
    scale = instance.unit // mm(1)
    value = [r.width * r.height * scale * scale + 1 for r in instance.rects]
    found = fill_free(instance, instance.demand, 0, value, effort=100_000)
    assert found.proven
    assert found.value == exact
    if distance == 0:
        assert exact == free_unlimited(width, height, offers, turn=turn)
    fewer = fill_free(instance, [min(1, d) for d in instance.demand], 0, value, effort=100_000)
    assert fewer.value <= exact <= free_unlimited(width, height, offers, turn=turn)


# ------------------------------------------------------------ every tree cuts


@settings(max_examples=60)
@given(
    size=st.tuples(st.integers(400, 2000), st.integers(400, 1500)),
    items=st.lists(
        st.tuples(st.integers(30, 900), st.integers(30, 700), st.integers(1, 4)), min_size=1, max_size=6
    ),
    break_out=st.sampled_from([0, 15, 30]),
    trim=st.tuples(*[st.sampled_from([0, 20, 25])] * 4),
    raw=st.sets(st.sampled_from(RAW)),
    turn=st.booleans(),
    keep_all=st.booleans(),
)
def test_every_tree_is_a_valid_layout(size, items, break_out, trim, raw, turn, keep_all):
    edges = tuple(Edge(work=Work.CUT, allowance=0) for _ in range(4))
    panels: list[Panel] = [
        replace(
            plain_panel(mm(w), mm(h), f"A/{k}/{c}", turn=turn),
            edges=edges,
            turn=Turn.QUARTER if turn else Turn.NONE,
        )
        for k, (w, h, copies) in enumerate(items)
        for c in range(copies)
    ]
    sides = tuple(s for s in ALL_SIDES if s in raw)
    stock = StockPiece(
        name="sheet",
        glass="plain",
        width=mm(size[0]),
        height=mm(size[1]),
        raw=sides,
        trim=Trim(*(mm(t) for t in trim)).on(sides),
        cost=1,
        buyable=True,
    )
    rules = Rules(break_out=mm(break_out), levels=None, least_offcut=(mm(200), mm(100)))
    instance = build(panels, [stock], rules)
    found = fill_free(instance, instance.demand, 0, [int(a) for a in instance.arrays.area], effort=2000)
    if found.pattern is None:
        return
    assert found.value <= min(found.bound, instance.sheets[0].area)
    wastes = waste_of(found.pattern, instance, 0)
    assert sorted((w.area for w in wastes), reverse=True) == leftovers(found.pattern, instance)
    keep = {w.index for w in wastes} if keep_all else set()
    plan = plan_of(instance, found.pattern, panels, keep)
    assert check(plan) == []
    kinds = Counter(leaf.kind for leaf in plan.layouts[0].leaves)
    assert kinds[LeafKind.PANEL] == len(found.pattern.items()) > 0
    assert kinds[LeafKind.OFFCUT] == len(keep)
    assert other_frame(found.pattern, instance) is None


def test_a_sheet_with_trims_passes_the_outsider(make_panel, make_stock, outsider, tmp_path):
    sizes = [(700, 500), (650, 480), (610, 455), (590, 445), (530, 370), (410, 330), (365, 300), (220, 190)]
    panels = [make_panel(w, h, id=f"A/{k}/1") for k, (w, h) in enumerate(sizes)]
    rules = Rules(levels=None, least_offcut=(mm(200), mm(100)))
    for sides, size in (
        (ALL_SIDES, (1500, 1500)),
        ((Side.RIGHT, Side.TOP), (1445, 1300)),
        ((), (1400, 1300)),
    ):
        stock = make_stock(*size, raw=sides)
        instance = build(panels, [stock], rules)
        value = [int(a) for a in instance.arrays.area]
        found = fill_free(instance, instance.demand, 0, value, effort=5000)
        wastes = waste_of(found.pattern, instance, 0)
        assert wastes
        plan = plan_of(instance, found.pattern, panels, {w.index for w in wastes[:3]})
        assert check(plan) == []
        outsider(plan, tmp_path)


def test_no_effort_proves_nothing():
    instance = plain_instance(100, 100, [(60, 50, 3), (45, 30, 4)])
    value = [int(a) for a in instance.arrays.area]
    found = fill_free(instance, instance.demand, 0, value, effort=0)
    assert (found.value, found.pattern, found.proven) == (0, None, False)
    done = fill_free(instance, instance.demand, 0, value, effort=1000)
    assert done.proven
    again = fill_free(instance, instance.demand, 0, value, effort=1000, start=done.value)
    assert (again.value, again.pattern, again.proven) == (done.value, None, True)


def spiral(size, steps):
    """Panels that fill a square without waste, each a strip along the side that the one before left."""
    out, wide, high = [], size, size
    for k, step in enumerate(steps):
        if k % 2 == 0:
            out.append((step, high))
            wide -= step
        else:
            out.append((wide, step))
            high -= step
    return [*out, (wide, high)]


def test_a_pattern_of_many_levels_is_found_and_saves_a_sheet():
    items = spiral(101, [11, 13, 17, 7, 19, 9, 12])
    offers = [(w, h, w * h, 1) for w, h in items]
    found = fill_one_sheet(101, 101, offers, effort=100)
    assert found.value == found.bound == 101 * 101
    four = sheets_needed(101, 101, items, turn=False, levels=4, stop=lambda steps: steps > 100)
    free = sheets_needed(101, 101, items, turn=False, levels=None, stop=lambda steps: steps > 100)
    assert (four.sheets, free.sheets) == (2, 1)
    panels = [p for kind in free.instance.types for p in kind.panels]
    edges = tuple(Edge(work=Work.CUT, allowance=0) for _ in range(4))
    panels = [replace(p, edges=edges) for p in panels]
    plan = plan_of(free.instance, free.patterns[0], panels, ())
    assert check(plan) == []
    cuts = plan.layouts[0].cuts
    assert max(c.level or 0 for c in cuts) > 4
    assert {c.kind for c in cuts} == {CutKind.MAIN}


def test_placing_anew_takes_all_panels_or_nothing():
    instance = plain_instance(100, 100, [(50, 50, 7)])
    runner = Runner(instance, Nodes())
    rng = np.random.Generator(np.random.PCG64(1))
    two = place_free(runner, [7], [0, 0], effort=1000, rng=rng)
    assert two is not None
    assert sorted(p.uses(instance)[0] for p in two) == [3, 4]
    assert place_free(runner, [7], [0], effort=1000, rng=rng) is None
    assert runner.counter.nodes > 0
    rules = instance.rules
    assert may_be_free(instance)
    for other in ({"levels": 4}, {"level1_gap": (mm(10), None)}, {"longest_cut": mm(50)}):
        assert not may_be_free(replace(instance, rules=replace(rules, **other)))


def test_narrow_rectangles_are_left_out_and_the_bound_allows_for_them():
    instance = plain_instance(100, 100, [(50, 50, 2), (10, 90, 1)], break_out=20)
    value = [int(a) for a in instance.arrays.area]
    found = fill_free(instance, instance.demand, 0, value, effort=1000)
    scale = (instance.unit // mm(1)) ** 2
    assert found.value * scale == 5000
    assert found.bound * scale == 5900
    alone = plain_instance(100, 100, [(10, 90, 1)], break_out=20)
    none = fill_free(alone, alone.demand, 0, [1], effort=1000)
    assert (none.value, none.pattern, none.bound) == (0, None, 1)
    with pytest.raises(ValueError, match="narrower"):
        free_mindist(100, 100, [(10, 90, 1)], break_out=20)


# --------------------------------------------------------- published optima


def test_gcut1_with_copies_without_limit():
    offers = [(w, h, w * h) for w, h in GCUT1]
    assert free_unlimited(250, 250, offers) == 56460
    assert free_unlimited(250, 250, offers, turn=True) == 58136


def test_unlimited_copies_meet_all_known_gcut_optima(data_folder):
    # Beasley 1985; values of gcut_unconstrained_optima.csv (Cintra et al. 2008 state the same problem)
    import csv

    folder = data_folder / "guillotine_knapsack"
    with (folder / "gcut_unconstrained_optima.csv").open(encoding="utf-8", newline="") as f:
        optima = {row["instance"]: row for row in csv.DictReader(f)}
    checked = 0
    for instance in json.loads((folder / "beasley_gcut.json").read_text(encoding="utf-8"))["instances"]:
        name = instance["name"].lower()
        if name == "gcut13":
            continue  # thousands of points: seconds
        offers = [(w, h, v) for w, h, v, _ in instance["items"]]
        for turn, column in (
            (False, "opt_unconstrained_guillotine_fixed"),
            (True, "opt_unconstrained_guillotine_rotation"),
        ):
            found = free_unlimited(instance["W"], instance["H"], offers, turn=turn)
            assert found == int(optima[name][column])
            checked += 1
    assert checked == 24


@pytest.mark.parametrize(
    ("file", "names"),
    [
        ("unweighted_classic", ["2s", "A3", "A5", "CHL6", "CU7", "Hchl3s", "Hchl7s", "OF1", "STS4s", "W"]),
        ("weighted_classic", ["2", "A2", "APT40", "CHL2", "CW1", "CW5", "CW11", "Hchl9", "STS2"]),
        ("beasley_gcut", ["GCUT1", "GCUT2", "GCUT5", "GCUT8", "GCUT12"]),
        ("ngcut_okp_others", ["NGCUT7", "NGCUT12", "OKP1", "OKP5", "hccut08", "wang20"]),
    ],
)
def test_published_optima_at_a_counted_effort(data_folder, file, names):
    # sources of the optima: data README, section 3
    text = (data_folder / "guillotine_knapsack" / f"{file}.json").read_text(encoding="utf-8")
    instances = {i["name"]: i for i in json.loads(text)["instances"]}
    for name in names:
        instance = instances[name]
        found = fill_one_sheet(
            instance["W"], instance["H"], [tuple(i) for i in instance["items"]], effort=3000
        )
        assert found.value == instance["best"], name
        assert found.bound == instance["best"], name


def test_the_same_call_gives_the_same_result():
    offers = [(w, h, w * h, 1) for w, h in GCUT1]
    one = fill_one_sheet(250, 250, offers, turn=True, effort=500)
    assert one == fill_one_sheet(250, 250, offers, turn=True, effort=500)
    assert one.steps <= 600
    assert one.value <= one.bound <= free_unlimited(250, 250, [o[:3] for o in offers], turn=True)
    assert fill_one_sheet(250, 250, [(300, 300, 5, 1)], effort=10).value == 0
