"""Patterns with waste wherever it must be become cuts that the checker accepts, near trims strip by strip."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from panewright.nesting.assemble import Hands, missing_panels, numbered, unplaced_of
from panewright.nesting.checker import check
from panewright.nesting.cut_tree import build_layout, waste_of
from panewright.nesting.flaws import Flaw, Tolerance
from panewright.nesting.job import Job
from panewright.nesting.optimizer.instance import build
from panewright.nesting.ordered.laid import Laid, Span
from panewright.nesting.panels import Panel
from panewright.nesting.plan import CutKind, Layout, LeafKind, Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.rules import Rules
from panewright.nesting.spots import flaws_of, told_apart, with_flaws
from panewright.nesting.stock import StockPiece
from panewright.nesting.units import mm


def plan_of(layouts: Sequence[Layout], panels: Sequence[Panel], rules: Rules) -> Plan:
    name = plan_id(0, layouts)
    return Plan(
        id=name, program="tests", seed=0, effort=None, length_unit="mm", currency="EUR",
        rules={"clear-10": rules}, panels=tuple(panels), unplaced=(), outcomes={},
        layouts=tuple(numbered(x, name) for x in layouts),
    )  # fmt: skip


@pytest.mark.parametrize("frame", [0, 1])
@pytest.mark.parametrize("kept", [True, False])
def test_waste_before_rows_and_columns(
    frame: int,
    kept: bool,
    make_panel: Callable[..., Panel],
    make_stock: Callable[..., StockPiece],
    outsider: Callable[[Plan], None],
) -> None:
    panels = [make_panel(500, 400, id=f"A/p/{i}") for i in (1, 2, 3)]
    flaw = Flaw(mm(300), mm(10), mm(20), mm(30)) if frame == 0 else Flaw(mm(10), mm(300), mm(30), mm(20))
    rules = Rules(levels=3, last_cut=True)
    sheet = replace(make_stock(2045, 1545, on_hand=1, buyable=False), flaws=(flaw,))
    instance = build(panels, [sheet], rules)
    u = mm(1) // instance.unit
    depth = 1500 if frame == 0 else 2000
    length = 2000 if frame == 0 else 1500
    strips = (
        Span(600 * u, parts=(Span(100 * u), Span(500 * u, parts=(Span(100 * u), Span(600 * u, 0))), Span(depth * u))),
        Span(1100 * u, parts=(Span(400 * u, parts=(Span(1100 * u, 0),)), Span(800 * u, parts=(Span(1100 * u, 0),)), Span(depth * u))),
        Span(length * u),
    )  # fmt: skip
    pattern = Laid(0, frame, strips)
    assert len(pattern.items()) == 3
    found = waste_of(pattern, instance, 0)
    keep = {w.index for w in found} if kept else set()
    layout = build_layout(pattern, instance, Hands(instance).draw(instance), keep, 1, False)
    plan = plan_of([layout], panels, rules)
    assert layout.flaws == (flaw.box,)
    assert check(plan) == []
    outsider(plan)
    offcuts = sum(leaf.kind is LeafKind.OFFCUT for leaf in layout.leaves)
    assert offcuts == (len(found) if kept else 0)
    assert found
    assert sum(w.area for w in found) == sum(w * h for w, h in pattern.waste(instance) if rules.keeps(w, h))
    # the flaw lies on the line of the lower trim: below the first strip there is none
    trims = [c for c in layout.cuts if c.kind is CutKind.TRIM]
    across = 1 if frame == 0 else 0
    assert [
        c for c in trims if c.start[across] == c.end[across] == mm(20) and c.start[1 - across] < mm(600)
    ] == []


def test_spots_are_flaws_of_tolerated_kinds(hand_plan: Plan) -> None:
    (panel, *_), (sheet, *_) = hand_plan.panels, hand_plan.layouts
    layout = with_flaws(sheet, (Flaw(1, 2, 3, 4, "seed"), Flaw(5, 6, 7, 8)))
    assert layout.flaws == ((1, 2, 3, 4), (5, 6, 7, 8)) and layout.flaw_kinds == ("seed", "")
    (apart,) = told_apart([layout], [replace(panel, tolerates=(Tolerance("seed", "edge", mm(30)),))])
    assert apart.spots == (Flaw(1, 2, 3, 4, "seed"),) and apart.flaws == ((5, 6, 7, 8),)
    assert sorted(flaws_of(apart)) == sorted(flaws_of(layout))
    assert told_apart([apart], [panel]) == [layout]


def test_panels_that_an_order_found_no_place_for_are_named(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    panels = [make_panel(500, 400, id=f"A/p/{i}") for i in (1, 2, 3)]
    instance = build(panels, [make_stock(2045, 1545)], Rules())
    job = Job("clear-10", instance, None)
    unit = mm(1) // instance.unit
    one = (Span(500 * unit, 0), Span(2000 * unit))
    laid = Laid(0, 0, (Span(500 * unit, parts=(Span(400 * unit, parts=one[:1]), Span(1500 * unit))), one[1]))
    for patterns, left in (([], 3), ([laid], 2)):
        (lack,) = missing_panels([job], [patterns])
        assert lack.kinds == ((0, left),) and lack.rule == "order of racks and sheets"
        hands = [Hands(instance)]
        drawn = [hands[0].draw(instance)(0).id for _ in range(3 - left)]
        lost = unplaced_of([lack], [job], hands)
        assert sorted([*drawn, *(u.panel for u in lost)]) == [p.id for p in panels]
        assert {u.rule for u in lost} == {lack.rule}
    assert missing_panels([job], [[laid] * 3]) == []
