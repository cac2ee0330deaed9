"""More freedom never gives a dearer plan: the plan without it is a start of the search with it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from panewright.cli.demo import sample_files
from panewright.cli.planning import read_all
from panewright.io.problems import Problems
from panewright.nesting.checker import check
from panewright.nesting.optimizer.instance import build
from panewright.nesting.optimizer.solve import solve
from panewright.nesting.panels import Turn
from panewright.nesting.phantoms import with_phantoms
from panewright.nesting.planner import Planner
from panewright.nesting.translate import translated

EFFORT = 600


@pytest.fixture(scope="module")
def week():
    with sample_files() as files:
        read = read_all(files.lists, files.stock, files.shop, Problems())
    assert read is not None
    return read


def planned(week, *, shop=None, panels=None, stock=None, effort=EFFORT, begun=None):
    # on how many sheets what is due first must lie depends on the stock: cost alone is compared
    planner = Planner(
        panels or week.panels, stock or week.stock, shop or week.shop,
        effort=effort, begun=begun, any_order=True,
    )  # fmt: skip
    planner.start()
    while planner.advance():
        pass
    return planner


def costs(planner):
    return {g.glass: g.cost for g in planner.progress()}


def cheaper(first, second):
    before, after = costs(first), costs(second)
    assert before.keys() == after.keys()
    assert all(after[glass] <= before[glass] for glass in before), (before, after)
    assert check(second.finish("effort")) == []


def test_leave_to_turn_never_costs_more(week):
    # of angled panels other blanks are tried when they may turn
    free = [p for p in week.panels if p.is_rectangle]
    fixed = [replace(p, turn=Turn.NONE) for p in free]
    first = planned(week, panels=fixed)
    cheaper(first, planned(week, panels=free, begun=first, effort=200))


@pytest.mark.parametrize("deeper", [3, 4, 0])
def test_more_levels_never_cost_more(week, deeper):
    def shop(levels):
        return replace(week.shop, cutting=replace(week.shop.cutting, levels=levels))

    first = planned(week, shop=shop(2))
    cheaper(first, planned(week, shop=shop(deeper), begun=first, effort=200))


def test_one_more_stock_piece_never_costs_more(week):
    for left_out in range(len(week.stock)):
        stock = [s for k, s in enumerate(week.stock) if k != left_out]
        if {s.glass for s in stock if s.buyable} != {s.glass for s in week.stock if s.buyable}:
            continue
        first = planned(week, stock=stock, effort=60)
        cheaper(first, planned(week, begun=first, effort=40))


def test_a_plan_that_the_other_instance_forbids_is_no_start(week):
    glass = "clear-6"
    panels = [p for p in week.panels if p.glass == glass]
    stock = [s for s in week.stock if s.glass == glass]

    def instance(some):
        return build(some, with_phantoms(stock, some, week.shop), week.shop.rules(glass))

    whole, fewer = instance(panels), instance(panels[1:])
    found = solve(whole, lambda steps: steps >= 40)
    assert translated(found.patterns, whole, whole) == found.patterns
    assert translated(found.patterns, whole, fewer) is None
