"""Long lists: the parts of a demand, the window of a fill, and what a beam holds in memory."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panewright.nesting.checker import check
from panewright.nesting.optimizer import parts
from panewright.nesting.optimizer import runner as running
from panewright.nesting.optimizer.beam_parts import choose, count_rows, first_fit, take_chain
from panewright.nesting.optimizer.instance import Rect, build, build_arrays
from panewright.nesting.optimizer.parts import Index
from panewright.nesting.optimizer.plain import plain_panel, plain_rules, plain_sheet
from panewright.nesting.optimizer.runner import Counter, Runner
from panewright.nesting.optimizer.sequential import fill_all, filling
from panewright.nesting.planner import Planner
from panewright.nesting.shop import CuttingChoice, Shop

WIDE, HIGH = 6000, 3210


def instance_of(number, seed=3, copies=1):
    sizes = np.random.default_rng(seed).integers(200, 2501, (number, 2)).tolist()
    panels = [
        plain_panel(w, h, f"{i:05d}/{k}", turn=True) for i, (w, h) in enumerate(sizes) for k in range(copies)
    ]
    return build(panels, [plain_sheet(WIDE, HIGH)], plain_rules(WIDE, HIGH, 3))


def filled(instance, width=10, **how):
    counter = Counter()
    patterns = fill_all(
        Runner(instance, counter),
        instance.demand,
        [0],
        exponent=1.0,
        frames=3,
        width=width,
        noise=0.0,
        rng=np.random.default_rng(0),
        **how,
    )
    return patterns, counter.nodes


def waste_over_area(instance, patterns):
    """Full sheets and the area of the emptiest, over the area of all panels."""
    share = [sum(i.width * i.height for i in p.items()) / instance.sheets[0].area for p in patterns]
    return (len(share) - 1 + min(share)) / sum(share) - 1


def test_two_thousand_different_panels_plan_whole_in_proportion_to_their_number(make_panel, make_stock):
    per_panel = []
    for number in (500, 2000):
        instance = instance_of(number)
        patterns, nodes = filled(instance)
        uses = sum((p.uses(instance) for p in patterns), start=type(patterns[0].uses(instance))())
        assert [uses[t] for t in range(len(instance.types))] == list(instance.demand)
        per_panel.append(nodes / number)
        assert waste_over_area(instance, patterns) < 0.04
    assert per_panel[1] < 1.1 * per_panel[0]

    sizes = np.random.default_rng(5).integers(200, 2401, (2000, 2)).tolist()
    panels = [make_panel(*size, id=f"O{i}/p/1") for i, size in enumerate(sizes)]
    planner = Planner(panels, [make_stock(WIDE, HIGH)], Shop(cutting=CuttingChoice(levels=3)), effort=1)
    planner.start()
    plan = planner.finish("effort")
    assert plan.unplaced == ()
    assert check(plan) == []


def test_a_window_of_the_list_serves_as_well():
    instance = instance_of(1200, copies=2)
    whole, nodes = filled(instance)
    part, seen = filled(instance, types=200)
    placed = sum(len(p.items()) for p in part)
    assert placed == sum(instance.demand)
    assert part != whole
    assert waste_over_area(instance, part) < waste_over_area(instance, whole) + 0.03
    assert seen < 1.2 * nodes


def test_a_fill_can_be_left_after_any_sheet():
    instance = instance_of(60)
    counter = Counter()
    steps = filling(
        Runner(instance, counter),
        dict(enumerate(instance.demand)),
        [0],
        exponent=1.0,
        frames=3,
        width=4,
        noise=0.0,
        rng=np.random.default_rng(0),
    )
    first = next(steps)
    assert first.items()
    done = counter.nodes
    steps.close()
    assert counter.nodes == done


def test_few_children_of_many_variants_are_nearly_as_good(monkeypatch):
    instance = instance_of(600)
    few, nodes = filled(instance, 20)
    monkeypatch.setattr(running, "MANY", 10**9)
    every, _ = filled(instance, 20)
    assert few != every
    assert waste_over_area(instance, few) < waste_over_area(instance, every) + 0.006
    assert nodes > 0


def test_a_beam_on_one_sheet_holds_one_row_of_demand():
    # over many sheets each of its nodes holds a row as long as the list of types
    assert count_rows(500, True) == 1
    assert count_rows(500, False) == 500


def test_what_a_node_placed_is_taken_off_along_its_parents_and_put_back():
    hist = np.zeros((4, 2, 4), dtype=np.int32)
    hist[1:, :, 3] = [[0, 1], [1, 2], [2, 0]]  # the rectangle of each node
    hist[3, 0, 0], hist[2, 1, 0] = 1, 0  # parents of the last node, and of its parent
    uptr, utype, ucount = np.array([0, 1, 3, 4]), np.array([0, 0, 1, 2]), np.array([1, 1, 2, 1])
    left = np.array([5, 5, 5], dtype=np.int32)
    take_chain(left, hist, 3, 0, uptr, utype, ucount, -1)
    # rectangles 2, 2 and 0: types 2, 2 and 0
    assert left.tolist() == [4, 5, 3]
    take_chain(left, hist, 3, 0, uptr, utype, ucount, 1)
    assert left.tolist() == [5, 5, 5]


def test_scans_begin_at_the_first_height_that_fits():
    heights = np.array([9, 7, 7, 4, 2])
    assert [first_fit(heights, room) for room in (10, 9, 8, 7, 3, 1)] == [0, 0, 1, 1, 4, 5]


@pytest.mark.parametrize("phase", [0, 5, 1000])
def test_the_choice_holds_the_next_heights_and_the_widest_of_every_class(phase):
    rng = np.random.default_rng(1)
    number, some = 1000, 16
    widths = rng.integers(1, 100, number)
    rects = np.arange(number)
    uptr, utype, ucount = np.arange(number + 1), np.arange(number), np.ones(number, dtype=np.int64)
    left = np.ones(number, dtype=np.int32)
    left[::7] = 0
    out = np.full(3 * some + 2, -1)
    first, room = 40, 80
    found = choose(out, widths, rects, left, uptr, utype, ucount, first, room, some, phase)
    chosen = out[:found].tolist()
    assert all(v >= first and widths[v] <= room and left[v] for v in chosen)
    able = [v for v in range(first, number) if widths[v] <= room and left[v]]
    assert chosen[: some // 2] == able[: some // 2]
    stride = -(-(number - first) // some)
    for start in range(first, number, stride):
        klass = [v for v in able if start <= v < start + stride]
        assert max(widths[v] for v in klass) == max(widths[v] for v in chosen if v in klass)


@pytest.mark.parametrize("few", [parts.FEW, 0])
def test_a_part_is_what_a_scan_of_everything_finds(few, monkeypatch):
    monkeypatch.setattr(parts, "FEW", few)
    instance = instance_of(80)
    index = Index(instance)
    rng = np.random.default_rng(2)
    demand = [int(c) if rng.random() < 0.4 else 0 for c in instance.demand]
    part = index.part(demand)
    assert index.part(dict(enumerate(demand))).types.tolist() == part.types.tolist()
    arrays = instance.arrays
    for f in (0, 1):
        rects = [r for r in arrays.vrect[f].tolist() if demand[instance.rects[r].uses[0][0]]]
        assert part.rects[part.vrect[f]].tolist() == rects
        sizes = {(instance.rects[r].width, instance.rects[r].height) for r in rects}
        assert {tuple(sorted(s)) for s in sizes} == {
            tuple(sorted(s)) for s in zip(part.vw[f].tolist(), part.vh[f].tolist(), strict=True)
        }
        assert part.vh[f].tolist() == sorted(part.vh[f].tolist(), reverse=True)
    assert part.area == sum(instance.type_area[t] * c for t, c in enumerate(demand))

    uses = {int(t): int(c) for t, c in zip(part.types[:9], part.demand[:9], strict=True)}
    rest = [c - uses.get(t, 0) for t, c in enumerate(demand)]
    less, anew = part.without(uses), index.part(rest)
    assert part.live == len(part.types)
    assert (less.live, less.area) == (len(anew.types), anew.area)
    for f in (0, 1):
        assert less.rects[less.vrect[f]].tolist() == anew.rects[anew.vrect[f]].tolist()
        assert less.vw[f].tolist() == anew.vw[f].tolist()


def test_a_rectangle_for_two_panels_needs_both_in_demand():
    instance = instance_of(4)
    pair = Rect(width=900, height=800, turns=True, uses=((0, 1), (2, 2)), blank=None)
    rects = (pair, *instance.rects)
    instance = replace(instance, rects=rects, arrays=build_arrays(rects, instance.type_area))
    index = Index(instance)
    assert index.part([1, 1, 0, 0]).rects.tolist() == [1, 2]
    assert index.part([0, 1, 2, 0]).rects.tolist() == [2, 3]
    both = index.part([1, 0, 2, 1])
    assert both.rects.tolist() == [0, 1, 3, 4]
    assert both.types.tolist() == [0, 2, 3]
    assert both.utype[both.uptr[0] : both.uptr[1]].tolist() == [0, 1]
    assert both.ucount.tolist() == [1, 2, 1, 1, 1]
    left = both.without({0: 1})
    assert {int(r) for r in left.rects[left.vrect[0]]} == {3, 4}
