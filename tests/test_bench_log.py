"""Quality over time: the log of a run and the totals of a set at some moments."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from panewright.io.bench_data import Problem
from panewright.io.bench_log import Entry, Log, moments, set_state, state_at
from panewright.io.bench_run import Limits, pack, run_order
from panewright.io.bench_weeks import orders


def entry(seconds: float, cost: int, bound: int = 0) -> Entry:
    return Entry(seconds=seconds, steps=0, cost=cost, sheets=cost, bound=bound)


def test_a_log_keeps_what_got_better() -> None:
    log = Log(iter([10.0, 10.5, 11.0, 12.0]).__next__)
    log.see(cost=9, sheets=3, bound=5, steps=1)
    log.see(cost=9, sheets=3, bound=5, steps=2)
    log.see(cost=8, sheets=4, bound=4, steps=3)
    log.see(cost=9, sheets=2, bound=6, steps=4)
    assert log.entries == (
        Entry(seconds=0.5, steps=1, cost=9, sheets=3, bound=5),
        Entry(seconds=1.0, steps=3, cost=8, sheets=4, bound=5),
        Entry(seconds=2.0, steps=4, cost=8, sheets=4, bound=6),
    )


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9))))
def test_costs_never_rise_and_bounds_never_fall(states: list[tuple[int, int]]) -> None:
    ticks = iter(range(100))
    log = Log(lambda: float(next(ticks)))
    for steps, (cost, bound) in enumerate(states):
        log.see(cost=cost, sheets=cost, bound=bound, steps=steps)
    rows = log.entries
    for before, after in pairwise(rows):
        assert before.seconds < after.seconds
        assert before.steps < after.steps
        assert after.cost <= before.cost
        assert after.bound >= before.bound
        assert (after.cost, after.bound) != (before.cost, before.bound)
    if states:
        assert rows[-1].cost == min(cost for cost, _ in states)
        assert rows[-1].bound == max(bound for _, bound in states)


def test_a_moment_has_what_was_there_by_then() -> None:
    entries = [entry(0.3, 9), entry(1.0, 8), entry(4.0, 7)]
    assert state_at(entries, 0.2) is None
    assert state_at(entries, 1.0) == entries[1]
    assert state_at(entries, 3.9) == entries[1]
    assert state_at(entries, 99) == entries[2]


def test_the_totals_of_a_set() -> None:
    logs = [[entry(0.1, 5, 4), entry(2.0, 4, 4)], [entry(0.5, 7, 6)]]
    early, middle, end = (set_state(logs, m) for m in (0.2, 1.0, None))
    assert (early.problems, early.planned, early.cost, early.bound, early.proven) == (2, 1, 5, 4, 0)
    assert (middle.planned, middle.cost, middle.sheets, middle.proven) == (2, 12, 12, 0)
    assert (end.planned, end.cost, end.bound, end.proven) == (2, 11, 10, 1)


def test_the_moments_lie_within_the_limit() -> None:
    assert moments(5.0) == (0.2, 1.0, 5.0)
    assert moments(2.0) == (0.2, 1.0, 2.0)
    assert moments(60.0) == (0.2, 1.0, 5.0, 10.0, 60.0)
    assert moments(0.1) == (0.1,)
    assert moments(None) == ()


def test_runs_keep_a_log_that_ends_with_their_result() -> None:
    items = tuple((w, h) for w in range(3, 9) for h in range(2, 8))
    packed = pack(Problem("p", 1, 20, 20, items), Limits(effort=50), turn=True, clock=float)
    planned, _ = run_order(orders(1, "weeks-offcuts")[0], Limits(effort=30), clock=float)
    for result in (packed, planned):
        assert result.log
        assert (result.log[-1].cost, result.log[-1].sheets) == (result.cost, result.sheets)
        assert result.log[-1].bound <= result.cost_bound
        assert result.first == result.log[0].seconds
        costs = [e.cost for e in result.log]
        assert costs == sorted(costs, reverse=True)


def test_a_run_ends_at_its_bound() -> None:
    first = orders(1, "weeks")[0]
    met, _ = run_order(first, Limits(effort=20_000), clock=float)
    assert met.proven
    assert met.cost == met.cost_bound
    on, _ = run_order(first, Limits(effort=20_000), clock=float, to_bound=False)
    # Going on for the largest offcut costs steps and no glass.
    assert on.cost == met.cost
    assert on.steps > met.steps
