"""Plans around flaws: every one passes the checker, flawed sheets are taken where they pay, spots where they may be."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.nesting.checker import check
from panewright.nesting.feasible import impossible
from panewright.nesting.flaws import EVERYWHERE, Flaw, Tolerance, bands
from panewright.nesting.optimizer.flawed import FlawedSheets
from panewright.nesting.optimizer.instance import build
from panewright.nesting.optimizer.plain import plain_panel, plain_sheet
from panewright.nesting.optimizer.runner import Counter, Runner
from panewright.nesting.panels import Panel, Turn
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.planner import Planner
from panewright.nesting.rules import Rules
from panewright.nesting.shop import CuttingChoice, Shop
from panewright.nesting.spots import flaws_of, told_apart
from panewright.nesting.stock import ALL_SIDES, Side, StockPiece, Trim
from panewright.nesting.units import mm

TRIM = Trim(mm(20), mm(25), mm(20), mm(25))


def piece(
    width: int, height: int, *flaws: Flaw, name: str = "o1", cost: int = 1, raw: Sequence[Side] = ()
) -> StockPiece:
    """An offcut with these flaws."""
    return StockPiece(
        name=name, glass="clear-10", width=mm(width), height=mm(height), is_offcut=True, raw=tuple(raw),
        trim=TRIM.on(raw), cost=cost, on_hand=1, flaws=tuple(sorted(flaws)),
    )  # fmt: skip


def at(x: int, y: int, width: int = 4, height: int = 4, kind: str = "") -> Flaw:
    """A flaw in mm."""
    return Flaw(mm(x), mm(y), mm(width), mm(height), kind)


def planned(
    panels: Sequence[Panel], stock: Sequence[StockPiece], *, effort: int = 20, **cutting: object
) -> Plan:
    """The plan, its spots told apart; what cannot be is left out."""
    shop = Shop(cutting=CuttingChoice(**cutting))
    planner = Planner(panels, stock, shop, effort=effort, unplaced=impossible(panels, stock, shop))
    planner.start()
    while planner.advance():
        pass
    plan = planner.finish("effort")
    return replace(plan, layouts=tuple(told_apart(plan.layouts, plan.panels)))


def spots_are_borne(plan: Plan) -> bool:
    """Whether each flaw that a panel covers lies wholly in one of its bands, worked out from the leaves."""
    panels = {p.id: p for p in plan.panels}
    for layout in plan.layouts:
        for leaf in (x for x in layout.leaves if x.kind is LeafKind.PANEL):
            (x0, y0), (x1, y1) = leaf.outline[0], leaf.outline[2]
            for f in flaws_of(layout):
                dx, dy = int(not f.width), int(not f.height)
                a0, b0, a1, b1 = f.x - dx, f.y - dy, f.x + f.width + dx, f.y + f.height + dy
                if a0 >= x1 or a1 <= x0 or b0 >= y1 or b1 <= y0:
                    continue
                side, upright = bands(panels[leaf.panel].tolerates, f.kind)
                if leaf.turned % (180 * 10**9):
                    side, upright = upright, side
                inside = a0 >= x0 and a1 <= x1 and b0 >= y0 and b1 <= y1
                near_side = side >= 0 and (a1 - x0 <= side or x1 - a0 <= side)
                near_end = upright >= 0 and (b1 - y0 <= upright or y1 - b0 <= upright)
                if not (inside and (near_side or near_end)):
                    return False
    return True


@st.composite
def orders(
    draw: st.DrawFn,
) -> tuple[list[tuple[int, int, bool, list[Tolerance]]], list[StockPiece], dict[str, object]]:
    """Small panels, sheets and offcuts with flaws anywhere, trims included, and rules to cut by."""
    zone = st.sampled_from(["edge", "frame", "anywhere"])
    tolerance = st.builds(lambda z, d: Tolerance("seed", z, mm(d)), zone, st.sampled_from([0, 15, 60]))
    panels = draw(
        st.lists(
            st.tuples(
                st.integers(60, 700), st.integers(60, 500), st.booleans(), st.lists(tolerance, max_size=1)
            ),
            min_size=1,
            max_size=7,
        )
    )
    stock = []
    for k in range(draw(st.integers(1, 3))):
        width, height = draw(st.integers(500, 1600)), draw(st.integers(400, 1100))
        raw = [s for s in ALL_SIDES if draw(st.booleans())]
        flaw = st.builds(
            lambda x, y, w, h, kind: Flaw(mm(x) + 37, mm(y), mm(w), mm(h), kind),
            st.integers(0, width - 40), st.integers(0, height - 40), st.sampled_from([0, 3, 30]),
            st.sampled_from([0, 2, 30]), st.sampled_from(["seed", "crack", ""]),
        )  # fmt: skip
        flaws = draw(st.lists(flaw, max_size=4))
        one = piece(width, height, *flaws, name=f"o{k}", cost=10_000 * draw(st.integers(1, 9)), raw=raw)
        stock.append(one if flaws else replace(one, is_offcut=False, buyable=True, on_hand=0))
    levels = draw(st.sampled_from([0, 2, 3, 4]))
    cutting: dict[str, object] = {"levels": levels, "break_out": mm(draw(st.sampled_from([0, 20, 30])))}
    if levels:
        cutting["last_cut"] = draw(st.booleans())
    if draw(st.integers(0, 3)) == 0:
        cutting["longest_cut"] = mm(1000)
    if draw(st.integers(0, 3)) == 0:
        cutting["level1_gap"] = (mm(100), mm(900))
    return panels, stock, cutting


@settings(max_examples=15, deadline=None)
@given(order=orders())
def test_no_plan_breaks_a_rule(make_panel: Callable[..., Panel], order) -> None:
    sizes, stock, cutting = order
    panels = [
        replace(
            make_panel(w, h, id=f"A/p/{k}", turn=Turn.ANY if turns else Turn.NONE), tolerates=tuple(tolerates)
        )
        for k, (w, h, turns, tolerates) in enumerate(sizes)
    ]
    plan = planned(panels, stock, **cutting)
    assert check(plan) == []
    assert spots_are_borne(plan)
    placed = [x.panel for layout in plan.layouts for x in layout.leaves if x.kind is LeafKind.PANEL]
    assert sorted([*placed, *(u.panel for u in plan.unplaced)]) == [p.id for p in panels]


@settings(max_examples=12, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.integers(2, 9), st.integers(2, 9)), min_size=1, max_size=4),
    levels=st.sampled_from([3, 4]),
)
def test_a_clean_sheet_is_filled_as_well_by_both_kernels(sizes: list[tuple[int, int]], levels: int) -> None:
    panels = [plain_panel(w, h, f"{k}", turn=True) for k, (w, h) in enumerate(sizes)]
    rules = Rules(break_out=0, levels=levels, last_cut=levels == 3, corner_depth=0, least_offcut=(12, 10))
    instance = build(panels, [plain_sheet(12, 10)], rules)
    value = instance.arrays.area.astype(np.float64)
    runner = Runner(instance, Counter())
    plain = runner.run(runner.part(instance.demand), [0], value=value, lean=0.1, width=500, fill=True)
    flawed, _ = FlawedSheets(instance).fill(0, instance.demand, value=value, width=500, some=99)
    assert plain is not None and flawed is not None
    worth = sum(value[i.rect] for i in plain[0].items())
    assert flawed.value == worth == sum(value[i.rect] for i in flawed.pattern.items())


@pytest.mark.parametrize(
    ("kind", "zone", "depth", "spot", "fits"),
    [
        ("seed", "edge", 30, at(10, 200), True),
        ("seed", "edge", 13, at(10, 200), False),  # sticks out of the band by 1 mm
        ("seed", "edge", 30, at(250, 380), True),
        ("seed", "frame", 30, at(250, 380), True),
        ("seed", "frame", 30, at(10, 200), False),
        ("seed", "anywhere", 0, at(250, 200), True),
        ("scratch", "anywhere", 0, at(250, 200), False),
    ],
)
def test_a_spot_may_lie_in_its_zone(
    make_panel: Callable[..., Panel], kind: str, zone: str, depth: int, spot: Flaw, fits: bool
) -> None:
    tolerates = (Tolerance(kind, zone, mm(depth)),)
    for turned in (False, True):
        panel = replace(
            make_panel(*((400, 500) if turned else (500, 400)), turn=Turn.ANY if turned else Turn.NONE),
            tolerates=tolerates,
        )
        where = Flaw(spot.x, spot.y, spot.width, spot.height, "seed")
        expected = fits
        if turned and zone == "frame":
            # turned a quarter, its bottom and top lie at the sides
            expected = not fits
        sheet = piece(500, 400, where)
        plan = planned([panel], [sheet])
        assert [u.rule for u in plan.unplaced] == ([] if expected else ["flaws in the sheet"])
        assert check(plan) == []
        assert spots_are_borne(plan)
        assert [x.spots for x in plan.layouts] == ([(where,)] if expected else [])


def test_bands_of_a_panel_are_as_the_checker_has_them() -> None:
    assert bands((Tolerance("seed", "anywhere"),), "seed") == (EVERYWHERE, EVERYWHERE)


def test_a_flawed_offcut_is_taken_where_it_pays(
    make_panel: Callable[..., Panel], make_stock: Callable[..., StockPiece]
) -> None:
    sheet = make_stock(2000, 1500, cost=900_000)
    panel = make_panel(500, 400)
    for flaw, taken in ((at(700, 300), "o1"), (at(398, 298), sheet.name)):
        plan = planned([panel], [piece(800, 600, flaw, cost=100_000), sheet])
        assert [x.stock for x in plan.layouts] == [taken]
        assert check(plan) == []


def test_pieces_with_other_flaws_are_no_twins(make_panel: Callable[..., Panel]) -> None:
    bad, good = piece(600, 500, at(300, 250), name="a"), piece(600, 500, at(570, 250), name="b")
    plan = planned([make_panel(500, 400)], [bad, good])
    assert [x.stock for x in plan.layouts] == ["b"] and not plan.unplaced


def test_a_waste_strip_row_and_column_before_a_flaw(
    make_panel: Callable[..., Panel], outsider: Callable
) -> None:
    # the flaw in the corner leaves the panel but one place, whichever side is cut first
    for flaw, size in (
        (at(5, 100, 10, 10), (960, 700)),
        (at(100, 5, 10, 10), (1000, 660)),
        (at(30, 30), (950, 650)),
    ):
        plan = planned([make_panel(*size, turn=Turn.NONE)], [piece(1000, 700, flaw)])
        assert [len(x.leaves) > 1 for x in plan.layouts] == [True]
        assert check(plan) == []
        outsider(plan)


def test_stock_with_flaws_runs_out(make_panel: Callable[..., Panel]) -> None:
    panels = [make_panel(400, 400, id=f"A/p/{k}") for k in (1, 2, 3)]
    stock = [piece(1000, 500, at(500, 200), name="a"), piece(450, 450, at(5, 5, 2, 2), name="b")]
    plan = planned(panels, stock)
    assert check(plan) == []
    assert sorted(x.stock for x in plan.layouts) == ["a", "b"]
    assert not plan.unplaced
    plan = planned([*panels, make_panel(400, 400, id="A/p/4")], stock)
    assert check(plan) == []
    assert len(plan.unplaced) == 1 and plan.unplaced[0].rule != "flaws in the sheet"
