"""The order of sheets with few open orders: against subset DP, all permutations, and published optima."""

from __future__ import annotations

import itertools
import re
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.cutting_days import CuttingDays, Load
from panewright.nesting.open_orders.by_day import in_days, late_orders, latest_alone
from panewright.nesting.open_orders.deadlines import ENDLESS
from panewright.nesting.open_orders.order import Ordered, fewest_open

DATA = Path(__file__).resolve().parent.parent.parent / "shared" / "data" / "open_stacks"
Sheets = Sequence[Collection[str]]


def counted(sheets: Sheets, order: Sequence[int]) -> list[int]:
    """Open orders at each place, by the words of the definition: from the first sheet to the last."""
    span: dict[str, tuple[int, int]] = {}
    for place, s in enumerate(order):
        for name in sheets[s]:
            span[name] = span.get(name, (place, place))[0], place
    return [sum(a <= place <= b for a, b in span.values()) for place in range(len(order))]


def subset_dp(sheets: Sheets, loads: Sequence[int], latest: Mapping[str, int], front: int = 0) -> int | None:
    """Fewest open at once by dynamic programming over sets of sheets; None where due days cannot be held."""
    n = len(sheets)
    whole = (1 << n) - 1
    held = [frozenset(s) for s in sheets]

    def of(mask: int) -> frozenset[str]:
        return frozenset().union(*(held[i] for i in range(n) if mask >> i & 1))

    begin = (1 << front) - 1

    @cache
    def least(done: int) -> int:
        if done == begin:
            return 0
        best = 10**6
        work = sum(loads[i] for i in range(front, n) if done >> i & 1)
        for i in range(front, n):
            if done >> i & 1:
                before = done & ~(1 << i)
                complete = (of(done) - of(whole & ~done)) - (of(before) - of(whole & ~before))
                if any(work > latest.get(name, 10**9) for name in complete):
                    continue
                at = len(of(done) & of(whole & ~before))
                best = min(best, max(least(before), at))
        return best

    found = least(whole)
    return None if found >= 10**6 else found


names = st.sampled_from("abcdefgh")
matrices = st.lists(st.frozensets(names, max_size=5), min_size=1, max_size=8)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(matrices, st.integers(0, 3))
def test_the_fewest_open_orders_are_those_of_subset_dp(sheets: list[frozenset[str]], front: int) -> None:
    front = min(front, len(sheets))
    found = fewest_open(sheets, front=front)
    assert sorted(found.order) == list(range(len(sheets)))
    assert found.order[:front] == tuple(range(front))
    assert found.proven
    assert found.most_open == subset_dp(sheets, [1] * len(sheets), {}, front)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    matrices,
    st.lists(st.integers(1, 4), min_size=8, max_size=8),
    st.dictionaries(names, st.integers(1, 20)),
    st.integers(0, 2),
)
def test_due_days_are_built_in_exactly(
    sheets: list[frozenset[str]], sizes: list[int], due: dict[str, int], front: int
) -> None:
    front, sizes = min(front, len(sheets)), sizes[: len(sheets)]
    loads = [Load(1, size) for size in sizes]
    latest = {name: Load(ENDLESS.sheets, n) for name, n in due.items()}
    found = fewest_open(sheets, loads=loads, latest=latest, front=front)
    assert found.proven
    held = {name: n for name, n in due.items() if name not in found.eased}
    best = subset_dp(sheets, sizes, due, front)
    # put off only where not all can be held, and what is not put off is held
    assert bool(found.eased) == (best is None)
    ends, work = {}, 0
    for s in found.order[front:]:
        work += sizes[s]
        ends |= dict.fromkeys(sheets[s], work)
    assert all(ends.get(name, 0) <= n for name, n in held.items())
    if best is not None:
        assert found.most_open == best


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(st.frozensets(st.sampled_from("abcde"), max_size=3), min_size=1, max_size=6),
    st.dictionaries(st.sampled_from("abcde"), st.integers(1, 6)),
)
def test_no_permutation_of_the_sheets_has_fewer_open_orders(
    sheets: list[frozenset[str]], due: dict[str, int]
) -> None:
    found = fewest_open(sheets, latest={name: Load(n, ENDLESS.seconds) for name, n in due.items()})
    used = {name for sheet in sheets for name in sheet}

    def in_time(order: Sequence[int], name: str) -> bool:
        last = max(p for p, s in enumerate(order, 1) if name in sheets[s])
        return last <= due[name]

    def late(order: Sequence[int]) -> int:
        return sum(not in_time(order, name) for name in due if name in used)

    best = min(
        (late(order), max(counted(sheets, order))) for order in itertools.permutations(range(len(sheets)))
    )
    if best[0] == 0:
        assert (late(found.order), found.most_open) == best
    else:
        assert best[0] <= late(found.order) <= len(found.eased)


def test_what_is_reported_is_what_the_definition_counts() -> None:
    sheets = [{"a", "b"}, {"c"}, {"b", "c"}, {"d"}, set(), {"a", "d"}]
    found = fewest_open(sheets)
    assert list(found.open_at) == counted(sheets, found.order)[: len(found.open_at)]
    assert found.sum_open == sum(found.open_at)
    # of no order: last
    assert found.order[-1] == 4


def test_equal_sheets_are_cut_back_to_back() -> None:
    sheets = [{"a", "b"}, {"b", "c"}, {"a", "b"}, {"c", "d"}, {"b", "c"}, {"a", "b"}]
    order = fewest_open(sheets).order
    for like in ([0, 2, 5], [1, 4]):
        places = sorted(order.index(s) for s in like)
        assert places[-1] - places[0] == len(like) - 1


def test_fewer_open_on_the_mean_without_more_at_once() -> None:
    # two rings of orders: any start is as good for the most, not for the mean
    sheets = [{f"o{i}", f"o{(i + 1) % 9}"} for i in range(9)] + [{f"p{i}", f"p{i + 1}"} for i in range(6)]
    found = fewest_open(sheets)
    assert found.most_open == 3
    for place, s in enumerate(found.order):
        rest = [x for x in found.order if x != s]
        for k in range(len(sheets)):
            moved = [*rest[:k], s, *rest[k:]]
            counts = counted(sheets, moved)
            if k != place and max(counts) <= found.most_open:
                assert sum(counts) >= found.sum_open


def test_the_bound_is_kept_when_the_states_run_out() -> None:
    sheets = [{f"{i:02d}", f"{(i * 7 + 3) % 23:02d}", f"{(i * 5 + 1) % 23:02d}"} for i in range(40)]
    whole, cut = fewest_open(sheets), fewest_open(sheets, nodes=3)
    assert whole.proven
    assert cut.bound <= whole.most_open <= cut.most_open
    assert not cut.proven


def test_the_names_of_orders_and_sets_tell_nothing() -> None:
    rows = [("x", "y"), ("y", "z"), ("z", "x", "w"), ("w",)]
    assert fewest_open([set(r) for r in rows]) == fewest_open([tuple(reversed(r)) for r in rows])


def test_sheets_have_days_and_late_orders_are_named() -> None:
    monday = date(2027, 3, 1)
    days = CuttingDays(sheets=2)
    sheets = [{"late"}, {"late", "soon"}, {"late"}, {"soon"}, {"free"}]
    due = {"soon": monday, "late": monday}
    found = in_days(sheets, due=due, days=days, start=monday, loads=[Load(1)] * 5)
    assert [x.order for x in found.late] == ["late"]
    assert {found.ordered.order[0], found.ordered.order[1]} == {1, 3}
    assert found.days == (monday, monday, date(2027, 3, 2), date(2027, 3, 2), date(2027, 3, 3))


@settings(max_examples=80, deadline=None, derandomize=True)
@given(
    matrices,
    st.dictionaries(names, st.integers(0, 4)),
    st.lists(st.integers(600, 5000), min_size=8, max_size=8),
    st.integers(4000, 9000),
)
def test_no_more_orders_are_late_than_in_the_order_given(
    sheets: list[frozenset[str]], due: dict[str, int], seconds: list[int], a_day: int
) -> None:
    start = date(2027, 3, 3)  # a Wednesday, so that a weekend lies between
    days = CuttingDays(seconds=a_day)
    loads = [Load(1, x) for x in seconds[: len(sheets)]]
    wanted = {name: date(2027, 3, 3 + n) for name, n in due.items()}
    found = in_days(sheets, due=wanted, days=days, start=start, loads=loads)
    order = range(len(sheets))
    as_given = late_orders(sheets, order, days.slots(start, loads, {}), wanted)
    assert list(found.days) == days.slots(start, [loads[s] for s in found.ordered.order], {})
    assert len(found.late) <= len(as_given)
    used = {name for s in sheets for name in s}
    assert [x for x in found.late if x.order not in used] == []


def test_without_days_what_is_due_first_comes_first() -> None:
    sheets = [{"b"}, {"a", "b"}, {"a"}, {"c"}]
    due = {"a": date(2027, 3, 1), "b": date(2027, 3, 8)}
    latest = latest_alone(sheets, due, more=0)
    assert set(fewest_open(sheets, latest=latest).order[:2]) == {1, 2}


# ------------------------------------------------------------------ published values


def stored(path: Path) -> list[list[str]]:
    """The orders on each sheet: rows of the file are orders ("customers"), columns are sheets ("products")."""
    text = path.read_text(encoding="ascii")
    orders, sheets = (int(re.search(rf"\b{n}\s*=\s*(\d+)", text)[1]) for n in "cp")  # type: ignore[index]
    cells = re.findall(r"[01]", text[text.index("[|") :])
    assert len(cells) == orders * sheets
    return [[f"{o:03d}" for o in range(orders) if cells[o * sheets + s] == "1"] for s in range(sheets)]


needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="../shared/data is not there")


@needs_data
def test_all_stored_optima_of_the_2005_challenge_are_met_and_proven() -> None:
    # Constraint Modelling Challenge 2005; optima as stored in the public MiniZinc benchmarks (MIT)
    solutions = sorted(DATA.glob("*.sol"))
    assert len(solutions) == 48
    for path in solutions:
        values = re.findall(r"objective\s*=\s*(\d+)", path.read_text(encoding="ascii"))
        found = fewest_open(stored(path.with_suffix(".dzn")))
        assert found.proven, path.name
        assert found.most_open == int(values[-1]), path.name


@needs_data
@pytest.mark.parametrize(
    ("name", "most"),
    [
        # table of the 2005 challenge (Smith and Gent, eds.): Miller 13, GP1 45, GP5 95, SP1 9
        ("Miller19", 13),
        ("gp50by50_1", 45),
        ("gp100by100_1", 95),
        ("sp4_1", 9),
    ],
)
def test_named_problems_of_the_challenge(name: str, most: int) -> None:
    found: Ordered = fewest_open(stored(DATA / f"{name}.dzn"))
    assert (found.most_open, found.proven) == (most, True)


@needs_data
def test_a_transposed_matrix_is_another_problem() -> None:
    # so that reading rows as sheets would not go unnoticed
    sheets = stored(DATA / "problem_30_10_1.dzn")
    turned = [
        [f"{s:03d}" for s, row in enumerate(sheets) if o in row]
        for o in sorted({o for r in sheets for o in r})
    ]
    assert fewest_open(turned).most_open != fewest_open(sheets).most_open
