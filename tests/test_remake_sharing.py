"""Which sheet takes which missing panel: against a model of the same choice for OR-Tools CP-SAT; panels in waste."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from panewright.nesting.optimizer.runner import Counter
from panewright.nesting.plan import LeafKind
from panewright.nesting.remake.assign import Choice, cheapest_choice
from panewright.nesting.remake.gate import passes
from panewright.nesting.remake.history import again_id
from panewright.nesting.remake.insert import inserted
from panewright.nesting.remake.recut import cut_anew
from panewright.nesting.shop import Shop

MISSING = 1000
"""Cost of a need that is left out."""


def by_cp_sat(needs, choices, copies):
    """The least cost by constraint programming: no need twice, no bin more often than it is there."""
    model = cp_model.CpModel()
    take = [model.new_bool_var(f"c{i}") for i in range(len(choices))]
    out = [model.new_bool_var(f"n{i}") for i in range(needs)]
    for i in range(needs):
        holds = [t for t, c in zip(take, choices, strict=True) if c.mask >> i & 1]
        model.add(sum(holds) + out[i] == 1)
    for b, most in enumerate(copies):
        model.add(sum(t for t, c in zip(take, choices, strict=True) if c.bin == b) <= most)
    costs = sum(t * c.cost[0] for t, c in zip(take, choices, strict=True))
    model.minimize(costs + MISSING * sum(out))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


@st.composite
def bins(draw):
    needs = draw(st.integers(1, 4))
    copies = draw(st.lists(st.integers(1, 2), min_size=1, max_size=4))
    choices = [
        Choice(b, draw(st.integers(1, 2**needs - 1)), (draw(st.integers(0, 60)),))
        for b in range(len(copies))
        for _ in range(draw(st.integers(1, 4)))
    ]
    # one copy of a bin takes one set; two copies may take the same one twice only if it is listed twice
    return needs, choices, copies


@given(bins())
@settings(max_examples=40)
def test_the_cheapest_choice_is_that_of_cp_sat(problem):
    needs, choices, copies = problem
    cost, taken, left = cheapest_choice(needs, choices, copies, [(MISSING,)] * needs)
    assert cost == (by_cp_sat(needs, choices, copies),)
    masks = [c.mask for c in taken]
    assert sum(masks) + left == 2**needs - 1 and not any(a & b for a in masks for b in masks if a is not b)
    assert all(sum(c.bin == b for c in taken) <= copies[b] for b in range(len(copies)))


SHOP = Shop()


@given(
    size=st.tuples(st.integers(200, 1500), st.integers(200, 1100)),
    missing=st.tuples(st.integers(100, 1500), st.integers(100, 1100)),
)
@settings(max_examples=25)
def test_a_panel_in_waste_leaves_all_else_where_it_is(size, missing, make_panel, make_stock):
    rules = SHOP.rules("clear-10")
    first, more = make_panel(*size, id="A/p/1"), make_panel(*missing, id="B/p/1")
    panels = {p.id: p for p in (first, more)}
    layout = cut_anew([first], make_stock(1605, 1200, on_hand=1), rules, Counter())
    assert layout is not None
    where = {leaf.panel: leaf for leaf in layout.leaves if leaf.kind is LeafKind.PANEL}
    found = [x for x in inserted(layout, more, rules) if passes(x, panels, SHOP)]
    for new in found:
        kept = {leaf.panel: leaf for leaf in new.leaves if leaf.kind is LeafKind.PANEL}
        assert set(kept) == {"A/p/1", "B/p/1"} and kept["A/p/1"] == where["A/p/1"]
        assert [c for c in new.cuts if c.step <= len(layout.cuts)] == list(layout.cuts)
    # what does not fit by its sides beside the other fits nowhere: the inner sheet is 1560 x 1155
    wide, high = 1560, 1155
    fits = any(
        (w + size[0] <= wide and h <= high) or (h + size[1] <= high and w <= wide)
        or (w + size[1] <= wide and h <= high) or (h + size[0] <= high and w <= wide)
        for w, h in (missing, missing[::-1])
    )  # fmt: skip
    assert fits or not found


def test_a_piece_made_again_has_a_number_of_its_own():
    assert again_id("K-2/front/1", {"K-2/front/1r1"}) == "K-2/front/1r2"
    assert again_id("K-2/front/1r2", ()) == "K-2/front/1r3"
    assert again_id("K-2/door4/1", ()) == "K-2/door4/1r1"
