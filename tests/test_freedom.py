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


def with_levels(shop, levels):
    return replace(shop, cutting=replace(shop.cutting, levels=levels))


@pytest.fixture(scope="module")
def two_levels(week):
    return planned(week, shop=with_levels(week.shop, 2))


@pytest.mark.parametrize("deeper", [3, 4, 0])
def test_more_levels_never_cost_more(week, two_levels, deeper):
    second = planned(week, shop=with_levels(week.shop, deeper), begun=two_levels, effort=200)
    cheaper(two_levels, second)


def test_one_more_stock_piece_never_costs_more(week):
    for left_out in week.stock:
        # the other glasses do not notice
        panels = [p for p in week.panels if p.glass == left_out.glass]
        stock = [s for s in week.stock if s.glass == left_out.glass]
        fewer = [s for s in stock if s is not left_out]
        if not any(s.buyable for s in fewer):
            continue
        first = planned(week, panels=panels, stock=fewer, effort=30)
        cheaper(first, planned(week, panels=panels, stock=stock, begun=first, effort=20))


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
