"""The checker: good plans pass, and a plan that breaks one rule is refused by that rule's word."""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from panewright.nesting import checker
from panewright.nesting.checker import check
from panewright.nesting.flaws import Tolerance
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Purpose, Turn
from panewright.nesting.plan import Bound, Cut, CutKind, GlassOutcome, Leaf, LeafKind, Plan, Unplaced
from panewright.nesting.plan_id import offcut_number, plan_id
from panewright.nesting.stock import Side, Trim
from panewright.nesting.tips import Tip
from panewright.nesting.units import MONEY, mm

OUTSIDER = Path(__file__).resolve().parents[2] / "shared" / "tools" / "verify_plan.py"
Change = Callable[[Plan], Plan]

FRONT, END, RIGHT, KEEP = "s.2.1.1.2.1", "s.2.1.1.2.2.2", "s.2.1.2", "s.2.1.1.1.2"
"""Pieces of the hand-made plan: a panel, cullet inside the sheet, and both offcuts."""
TOP, THREE = "s.2.1.1.1.1.1", "s.2.1.1.1.1.2"
"""The waste and the panel of its last cut."""


def broken(plan: Plan) -> set[str]:
    return {violation.rule for violation in check(plan)}


# ---------------------------------------------------------------- changes


def sheet(plan: Plan, **changes: object) -> Plan:
    return replace(plan, layouts=(replace(plan.layouts[0], **changes), *plan.layouts[1:]))


def rules(plan: Plan, **changes: object) -> Plan:
    return replace(plan, rules={glass: replace(r, **changes) for glass, r in plan.rules.items()})


def panel(plan: Plan, index: int = 0, **changes: object) -> Plan:
    found = list(plan.panels)
    found[index] = replace(found[index], **changes)
    return replace(plan, panels=tuple(found))


def cut(plan: Plan, number: int, /, **changes: object) -> Plan:
    cuts = list(plan.layouts[0].cuts)
    cuts[number - 1] = replace(cuts[number - 1], **changes)
    return sheet(plan, cuts=tuple(cuts))


def leaf(plan: Plan, name: str, /, **changes: object) -> Plan:
    leaves = [replace(x, **changes) if x.piece == name else x for x in plan.layouts[0].leaves]
    return sheet(plan, leaves=tuple(leaves))


def one_more(plan: Plan, **what: object) -> Plan:
    cuts = plan.layouts[0].cuts
    more = Cut(step=len(cuts) + 1, makes=("x.1", "x.2"), **what)
    return sheet(plan, cuts=(*cuts, more))


def split_leaf(plan: Plan, piece: str, outlines: list, **what: object) -> Plan:
    """One more cut through a leaf; both parts are cullet."""
    plan = one_more(plan, piece=piece, **what)
    kept = tuple(x for x in plan.layouts[0].leaves if x.piece != piece)
    new = [Leaf(piece=f"x.{i}", outline=o, kind=LeafKind.CULLET) for i, o in enumerate(outlines, 1)]
    return sealed(sheet(plan, leaves=(*kept, *new)))


def sealed(plan: Plan) -> Plan:
    """With the id and the offcut numbers that belong to its pieces."""
    name = plan_id(plan.seed, plan.layouts)
    layouts = []
    for layout in plan.layouts:
        leaves, count = [], 0
        for x in layout.leaves:
            if x.kind is LeafKind.OFFCUT:
                x = replace(x, offcut=offcut_number(name, layout.number, count))
                count += 1
            leaves.append(x)
        layouts.append(replace(layout, leaves=tuple(leaves)))
    return replace(plan, id=name, layouts=tuple(layouts))


def twice(plan: Plan, *, same_panels: bool = False, **changes: object) -> Plan:
    """A second sheet like the first, with panels of its own."""
    first = plan.layouts[0]
    leaves = first.leaves
    panels = plan.panels
    if not same_panels:
        leaves = tuple(replace(x, panel=x.panel and f"{x.panel}b") for x in leaves)
        panels = (*panels, *(replace(p, id=f"{p.id}b") for p in panels))
    second = replace(first, **{"number": 2, "stock": "another", "leaves": leaves} | changes)
    bound = Bound(cost=0, sheets=0, by="area", valid_for="any cutting")
    outcomes = {g: GlassOutcome(bound=bound, optimal=False, stopped_by="time") for g in plan.outcomes}
    return sealed(replace(plan, panels=panels, layouts=(first, second), outcomes=outcomes))


def moved_point(outline: tuple, index: int, x: int = 0, y: int = 0) -> tuple:
    out = list(outline)
    out[index] = (out[index][0] + x, out[index][1] + y)
    return tuple(out)


def outcome(plan: Plan, cost: int, sheets: int, optimal: bool) -> Plan:
    bound = Bound(cost=cost, sheets=sheets, by="area", valid_for="any cutting")
    found = GlassOutcome(bound=bound, optimal=optimal, stopped_by="time")
    return replace(plan, outcomes=dict.fromkeys(plan.outcomes, found))


def left_out(plan: Plan, reason: str) -> Plan:
    """The first panel is no longer cut but listed as unplaced."""
    plan = leaf(plan, FRONT, kind=LeafKind.CULLET, panel=None, turned=0)
    return sealed(
        replace(plan, unplaced=(Unplaced(panel="K-204/front/1", rule="not enough stock", reason=reason),))
    )


def trim_after_last(plan: Plan) -> Plan:
    outlines = [
        rectangle(mm(600), mm(25), mm(20), mm(975)),
        rectangle(mm(600), mm(55), mm(20), mm(920)),
    ]
    y = mm(975)
    return split_leaf(plan, TOP, outlines, start=(mm(20), y), end=(mm(620), y), kind=CutKind.TRIM, level=0)


def main_after_last(plan: Plan) -> Plan:
    outlines = [
        rectangle(mm(300), mm(80), mm(20), mm(920)),
        rectangle(mm(300), mm(80), mm(320), mm(920)),
    ]
    x = mm(320)
    return split_leaf(plan, TOP, outlines, start=(x, mm(920)), end=(x, mm(1000)), kind=CutKind.MAIN, level=5)


def two_strips(plan: Plan) -> Plan:
    """A second level-1 cut, 240 mm from the first."""
    outlines = [
        rectangle(mm(240), mm(980), mm(1520), mm(20)),
        rectangle(mm(240), mm(980), mm(1760), mm(20)),
    ]
    x = mm(1760)
    return split_leaf(plan, RIGHT, outlines, start=(x, mm(20)), end=(x, mm(1000)), kind=CutKind.MAIN, level=1)


def followed(plan: Plan, number: str) -> Plan:
    return replace(leaf(plan, RIGHT, offcut=number), extra={"follows": "0000-0000"})


def flaw(*mms: int) -> Change:
    return lambda plan: sheet(plan, flaws=(tuple(mm(v) for v in mms),))


# ---------------------------------------------------------------- plans that pass


@pytest.fixture
def plans(hand_plan: Plan, pentagon_plan: Plan, octagon_plan: Plan, inch_plan: Plan) -> dict[str, Plan]:
    return {"hand": hand_plan, "pentagon": pentagon_plan, "octagon": octagon_plan, "inch": inch_plan}


GOOD: dict[str, tuple[str, Change]] = {
    "three levels, a last cut, two offcuts": ("hand", lambda p: p),
    "an angled score": ("pentagon", lambda p: p),
    "corners under the break-out distance": ("octagon", lambda p: p),
    "an inch shop": ("inch", lambda p: p),
    "two level-1 cuts": ("hand", two_strips),
    "level-1 cuts just far enough apart": (
        "hand",
        lambda p: rules(two_strips(p), level1_gap=(mm(240), mm(240))),
    ),
    "two sheets": ("hand", twice),
    "a panel left out with its reason": ("hand", lambda p: left_out(p, "the stock runs out")),
    "a spare neither cut nor listed": (
        "hand",
        lambda p: replace(p, panels=(*p.panels, replace(p.panels[0], id="spare", purpose=Purpose.SPARE))),
    ),
    "the least angle met exactly": ("octagon", lambda p: rules(p, least_angle=45_000)),
    "a piece as narrow as the break-out distance": ("hand", lambda p: rules(p, break_out=mm(100))),
    "a sheet that just fits the table": ("hand", lambda p: rules(p, largest_piece=(mm(1000), mm(2000)))),
    "a score of just the greatest length": ("hand", lambda p: rules(p, longest_cut=mm(1980))),
    "an angled score of just the greatest length": (
        "pentagon",
        lambda p: rules(p, longest_angled_cut=494_974_747),
    ),
    "no limit of levels": (
        "hand",
        lambda p: rules(cut(p, 8, kind=CutKind.MAIN), levels=None),
    ),
    "a flaw in an offcut": ("hand", flaw(1600, 100, 5, 5)),
    "a flaw beside a panel and on the line of cuts that end before it": ("hand", flaw(715, 520, 10, 5)),
    "a scratch beside a panel": ("hand", flaw(100, 15, 50, 0)),
    "a flaw in a corner that is cut off": ("octagon", flaw(1, 1, 5, 5)),
    "a panel within a micrometre of its outline": ("hand", lambda p: wider(p, 1990)),
    "an offcut number kept from the plan it follows": (
        "hand",
        lambda p: followed(p, "0000-0000.1.c"),
    ),
    "the plan file's own order of offcut letters": ("hand", lambda p: swapped_numbers(p)),
    "a pentagon drawn at an angle": ("pentagon", lambda p: at_an_angle(p, False)),
    "a pentagon drawn at an angle and mirrored": ("pentagon", lambda p: at_an_angle(p, True)),
    "a tip that is cut back": ("pentagon", lambda p: with_tip(p, Tip(2, 0))),
    "a panel with a notch": ("hand", lambda p: notched(p, 0)),
}


def wider(plan: Plan, by: int) -> Plan:
    """The front is wider than its piece."""
    outline = rectangle(mm(700) + by, mm(500))
    return panel(plan, 0, finished=outline, cut=outline, edges=plain(plan, 4))


def plain(plan: Plan, count: int, allowance: str = "0") -> tuple:
    return tuple(replace(plan.panels[0].edges[0], allowance=mm(allowance)) for _ in range(count))


def swapped_numbers(plan: Plan) -> Plan:
    a, b = (x.offcut for x in plan.layouts[0].leaves if x.kind is LeafKind.OFFCUT)
    return leaf(leaf(plan, KEEP, offcut=b), RIGHT, offcut=a)


def at_an_angle(plan: Plan, mirrored: bool) -> Plan:
    """The same piece, its panel drawn turned clockwise by atan(3/4)."""
    cut = [((4 * x + 3 * y) // 5, (4 * y - 3 * x) // 5) for x, y in plan.panels[0].cut]
    if mirrored:
        cut = [(-x, y) for x, y in reversed(cut)]
    plan = panel(plan, 0, finished=tuple(cut), cut=tuple(cut), mirror=True)
    # atan(3/4) = 36.869897645844... degrees
    return leaf(plan, "s.1.2.1", turned=36_869_897_646, mirrored=mirrored)


def with_tip(plan: Plan, *tips: Tip, allowance: int = 175) -> Plan:
    """A square with allowances at its far sides; there the cut outline runs just past the finished corner."""
    near, far = plain(plan, 1), plain(plan, 2, str(allowance))
    finished = rectangle(mm(600 - allowance), mm(600 - allowance))
    return panel(plan, 0, finished=finished, edges=near + far + near, tips=tips)


def notched(plan: Plan, outside: int, allowance: str = "1.5") -> Plan:
    """The front has a notch at its top; a corner may lie outside the cut outline."""
    finished = (
        (0, 0),
        (mm(697), 0),
        (mm(697), mm(497) + outside),
        (mm(400), mm(497)),
        (mm(400), mm(400)),
        (mm(300), mm(400)),
        (mm(300), mm(497)),
        (0, mm(497)),
    )
    return panel(plan, 0, finished=finished, edges=plain(plan, 8, allowance))


@pytest.mark.parametrize("name", GOOD)
def test_good_plans_pass(name: str, plans: dict[str, Plan]) -> None:
    which, change = GOOD[name]
    assert [str(v) for v in check(change(plans[which]))] == []


@pytest.mark.parametrize(
    "name", [name for name in GOOD if name not in ("an offcut number kept from the plan it follows",)]
)
def test_the_outsider_agrees(
    name: str, plans: dict[str, Plan], outsider: Callable[..., None], tmp_path: Path
) -> None:
    if not OUTSIDER.is_file():
        pytest.skip("the outsider's verifier is not beside the project")
    which, change = GOOD[name]
    outsider(change(plans[which]), tmp_path)


# ---------------------------------------------------------------- plans that break one rule

BAD: dict[str, tuple[str, Change, set[str]]] = {
    # the plan as a whole
    "two panels of one id": (
        "hand",
        lambda p: replace(p, panels=(*p.panels, p.panels[0])),
        {"panels"},
    ),
    "a panel neither cut nor listed": (
        "hand",
        lambda p: replace(left_out(p, "x"), unplaced=()),
        {"placed once"},
    ),
    "a panel cut and listed": (
        "hand",
        lambda p: replace(p, unplaced=(Unplaced(panel="K-204/back/1", rule="x", reason="x"),)),
        {"placed once"},
    ),
    "a panel listed twice": (
        "hand",
        lambda p: replace(left_out(p, "x"), unplaced=left_out(p, "x").unplaced * 2),
        {"placed once"},
    ),
    "a panel on two sheets": ("hand", lambda p: twice(p, same_panels=True), {"placed once"}),
    "an unknown panel listed": (
        "hand",
        lambda p: replace(p, unplaced=(Unplaced(panel="nobody", rule="x", reason="x"),)),
        {"unplaced"},
    ),
    "a panel listed without a reason": ("hand", lambda p: left_out(p, ""), {"unplaced"}),
    "a panel listed without a rule": (
        "hand",
        lambda p: replace(left_out(p, "x"), unplaced=(replace(left_out(p, "x").unplaced[0], rule=""),)),
        {"unplaced"},
    ),
    "two sheets of one number": (
        "pentagon",
        lambda p: twice(p, number=1),
        {"sheet numbers", "offcut number"},
    ),
    "an offcut of the rack taken twice": ("pentagon", lambda p: twice(p, stock="7HRT-22KD.3.a"), {"stock"}),
    "another seed": ("hand", lambda p: replace(p, seed=1), {"plan id"}),
    "another id": ("inch", lambda p: replace(sealed(p), id="0000-0000"), {"plan id", "offcut number"}),
    "an offcut with another number": (
        "hand",
        lambda p: leaf(p, RIGHT, offcut=f"{p.id}.1.c"),
        {"offcut number"},
    ),
    "two offcuts of one number": ("hand", lambda p: leaf(p, RIGHT, offcut=f"{p.id}.1.a"), {"offcut number"}),
    "an offcut without a number": ("hand", lambda p: leaf(p, RIGHT, offcut=None), {"offcut number"}),
    "a kept number of another sheet": ("hand", lambda p: followed(p, "0000-0000.2.a"), {"offcut number"}),
    "a kept number of no plan": ("hand", lambda p: followed(p, "nothing.1.a"), {"offcut number"}),
    "optimal above the bound": ("hand", lambda p: outcome(p, 59 * MONEY, 1, True), {"bound"}),
    "cheaper than the bound": ("hand", lambda p: outcome(p, 61 * MONEY, 1, False), {"bound"}),
    "fewer sheets than the bound": ("hand", lambda p: outcome(p, 60 * MONEY, 2, True), {"bound"}),
    # panels
    "a cut outline too far out": (
        "hand",
        lambda p: panel(p, 0, cut=moved_point(moved_point(p.panels[0].cut, 0, x=-1100), 3, x=-1100)),
        {"cut outline"},
    ),
    "a cut outline without its allowance": (
        "hand",
        lambda p: panel(p, 0, edges=plain(p, 4, "1.499")[:3] + plain(p, 1, "1.49")),
        {"cut outline"},
    ),
    "a cut outline turned in its finished one": (
        "hand",
        lambda p: panel(
            p,
            0,
            finished=rectangle(mm(700), mm(700)),
            cut=((mm(350), 0), (mm(700), mm(350)), (mm(350), mm(700)), (0, mm(350))),
            edges=plain(p, 4),
        ),
        {"cut outline", "panel outline"},
    ),
    "a clockwise cut outline": (
        "hand",
        lambda p: panel(p, 0, cut=p.panels[0].cut[::-1]),
        {"cut outline", "panel outline"},
    ),
    "a clockwise finished outline": (
        "hand",
        lambda p: panel(p, 0, finished=p.panels[0].finished[::-1]),
        {"cut outline"},
    ),
    "a tip cut back unsaid": ("pentagon", with_tip, {"cut outline"}),
    "a tip cut back further than said": ("pentagon", lambda p: with_tip(p, Tip(2, mm(1))), {"cut outline"}),
    "a tip cut back elsewhere than said": ("pentagon", lambda p: with_tip(p, Tip(1, 0)), {"cut outline"}),
    "a tip said twice": ("pentagon", lambda p: with_tip(p, Tip(2, 0), Tip(2, 0)), {"cut outline"}),
    "a tip of no corner": ("pentagon", lambda p: with_tip(p, Tip(4, 0)), {"cut outline"}),
    "one tip more than there is": (
        "pentagon",
        lambda p: with_tip(p, Tip(1, mm(9)), Tip(2, 0)),
        {"cut outline"},
    ),
    "a tip cut back into the finished panel": (
        "pentagon",
        lambda p: with_tip(p, Tip(2, 0), allowance=174),
        {"cut outline"},
    ),
    "a notched panel beyond its cut outline": ("hand", lambda p: notched(p, mm(2)), {"cut outline"}),
    "a notched panel without its allowance": ("hand", lambda p: notched(p, 0, "1.6"), {"cut outline"}),
    "edges that do not match": ("hand", lambda p: panel(p, 0, edges=plain(p, 3, "1.5")), {"cut outline"}),
    "a panel of another glass": ("hand", lambda p: panel(p, 0, glass="clear-8"), {"glass"}),
    "two thicknesses of one glass": ("hand", lambda p: panel(p, 1, thickness=mm(8)), {"glass"}),
    "no rules for the glass": ("hand", lambda p: replace(p, rules={}), {"glass", "placed once"}),
    "a panel turned where it may not": ("hand", lambda p: panel(p, 1, turn=Turn.HALF), {"turn"}),
    "a panel turned by half where it may not": ("hand", lambda p: panel(p, 2, turn=Turn.NONE), {"turn"}),
    "a panel at an angle where it may not": (
        "pentagon",
        lambda p: panel(at_an_angle(p, False), 0, turn=Turn.QUARTER),
        {"turn"},
    ),
    "a panel from other stock than its own": (
        "hand",
        lambda p: panel(p, 0, from_stock="R-1"),
        {"from stock"},
    ),
    "a sheet without a day": (
        "hand",
        lambda p: replace(p, extra={"cutting_days": {"from": "2027-03-01", "sheets_a_day": 2}}),
        {"cutting days"},
    ),
    "due days said to lie on other sheets": (
        "hand",
        lambda p: replace(p, extra={"due_order": [{"glass": "clear-10", "due": "2027-03-01", "sheets": 9}]}),
        {"due order"},
    ),
    "a panel called late that is not": (
        "hand",
        lambda p: replace(p, extra={"late": [{"panel": "x", "due": "2027-03-01", "day": "2027-03-02"}]}),
        {"late"},
    ),
    "a panel mirrored where it may not": ("hand", lambda p: leaf(p, FRONT, mirrored=True), {"mirror"}),
    "a panel of another size": ("hand", lambda p: leaf(p, FRONT, turned=90 * 10**9), {"panel outline"}),
    "a panel two micrometres too wide": ("hand", lambda p: wider(p, 2010), {"panel outline"}),
    "a panel at a slightly other angle": (
        "pentagon",
        lambda p: leaf(at_an_angle(p, False), "s.1.2.1", turned=36_870_200_000),
        {"panel outline"},
    ),
    "a mirror image instead of the panel": (
        "pentagon",
        lambda p: leaf(at_an_angle(p, True), "s.1.2.1", mirrored=False),
        {"panel outline"},
    ),
    "a panel in the trim": (
        "hand",
        lambda p: sheet(p, trim=replace(p.layouts[0].trim, top=mm(90))),
        {"panel in the trim"},
    ),
    "waste under the least": ("hand", lambda p: rules(p, least_waste=mm(101)), {"least waste"}),
    "an order that takes a crack": (
        "hand",
        lambda p: panel(p, tolerates=(Tolerance("crack", "anywhere"),)),
        {"tolerance"},
    ),
    "a panel over a flaw": ("hand", flaw(100, 100, 5, 5), {"flaw"}),
    "an angled panel over a flaw": ("octagon", flaw(30, 30, 5, 5), {"flaw"}),
    "a panel over a scratch without width": ("hand", flaw(100, 100, 0, 50), {"flaw"}),
    "a panel over a scratch without height": ("hand", flaw(100, 100, 50, 0), {"flaw"}),
    "a panel over a point": ("octagon", flaw(300, 300, 0, 0), {"flaw"}),
    "a cut through a scratch": ("hand", flaw(1515, 700, 10, 0), {"flaw"}),
    # leaves
    "a leaf forgotten": (
        "hand",
        lambda p: sheet(p, leaves=tuple(x for x in p.layouts[0].leaves if x.piece != END)),
        {"leaves", "areas"},
    ),
    "a leaf listed twice": (
        "hand",
        lambda p: sheet(p, leaves=(*p.layouts[0].leaves, p.layouts[0].leaves[0])),
        {"leaves", "areas"},
    ),
    "a leaf of an unknown panel": (
        "hand",
        lambda p: sealed(leaf(p, FRONT, panel="nobody")),
        {"leaves", "placed once"},
    ),
    "an outline two nanometres off": (
        "pentagon",
        lambda p: leaf(p, "s.1.1", outline=moved_point(p.layouts[0].leaves[0].outline, 0, x=2)),
        {"leaf outline"},
    ),
    "a rectangle one nanometre off": (
        "hand",
        lambda p: leaf(p, END, outline=rectangle(mm(100), mm(500), mm(1420), mm(20) + 1)),
        {"leaf outline"},
    ),
    "cullet that claims to be a panel": (
        "hand",
        lambda p: leaf(p, END, panel="K-204/front/1"),
        {"leaves"},
    ),
    "a clockwise outline": (
        "hand",
        lambda p: leaf(p, END, outline=p.layouts[0].leaves[6].outline[::-1]),
        {"leaf outline", "areas"},
    ),
    "cullet too narrow": ("hand", lambda p: rules(p, break_out=mm("100.001")), {"break-out distance"}),
    "a panel too narrow": (
        "hand",
        lambda p: rules(leaf(p, END, kind=LeafKind.OFFCUT), break_out=mm(401)),
        {"break-out distance", "offcut", "offcut number", "plan id"},
    ),
    "raw cullet less deep than the trim": (
        "hand",
        lambda p: sheet(p, trim=replace(p.layouts[0].trim, left=mm(21))),
        {"trim", "break-out distance", "panel in the trim"},
    ),
    "a corner too shallow": ("octagon", lambda p: rules(p, corner_depth=mm(29)), {"break-out distance"}),
    "a corner too sharp": ("octagon", lambda p: rules(p, least_angle=45_001), {"break-out distance"}),
    "an offcut too small": ("hand", lambda p: rules(p, least_offcut=(mm(901), mm(300))), {"offcut"}),
    "an offcut too narrow": ("hand", lambda p: rules(p, least_offcut=(mm(600), mm(481))), {"offcut"}),
    "a raw side forgotten": ("hand", lambda p: leaf(p, RIGHT, raw=(Side.RIGHT,)), {"offcut"}),
    "a raw side too many": ("hand", lambda p: leaf(p, RIGHT, raw=tuple(Side)), {"offcut"}),
    "an angled offcut": (
        "pentagon",
        lambda p: sealed(leaf(p, "s.1.2.2", kind=LeafKind.OFFCUT)),
        {"offcut"},
    ),
    # the sheet
    "a trim on a side that is not raw": (
        "pentagon",
        lambda p: sheet(p, trim=Trim(right=mm(5))),
        {"trim"},
    ),
    "a sheet larger than the table": (
        "hand",
        lambda p: rules(p, largest_piece=(mm(1999), mm(1000))),
        {"largest piece"},
    ),
    "a sheet wider than the table": (
        "hand",
        lambda p: rules(p, largest_piece=(mm(2000), mm(999))),
        {"largest piece"},
    ),
    # cuts
    "steps out of order": ("hand", lambda p: cut(p, 4, step=9), {"steps"}),
    "a piece that is not in hand": (
        "hand",
        lambda p: one_more(p, piece="s", start=(mm(9), 0), end=(mm(9), mm(1000)), kind=CutKind.MAIN, level=1),
        {"piece in hand"},
    ),
    "a name for two pieces": (
        "hand",
        lambda p: leaf(cut(p, 8, makes=("s", THREE)), TOP, piece="s"),
        {"piece in hand"},
    ),
    "a cut that ends three nanometres outside": (
        "hand",
        lambda p: cut(p, 3, end=(mm(1520), mm(1000) + 3)),
        {"cut line"},
    ),
    "a cut that ends inside the piece": (
        "hand",
        lambda p: cut(p, 3, end=(mm(1520), mm(900))),
        {"cut line"},
    ),
    "a main cut out of square": ("hand", lambda p: cut(p, 6, end=(mm(1420) + 1, mm(520))), {"cut line"}),
    "a cut along the border": (
        "hand",
        lambda p: one_more(p, piece="s.1", start=(0, 0), end=(0, mm(1000)), kind=CutKind.MAIN, level=1),
        {"cut line"},
    ),
    "a cut of no length": (
        "hand",
        lambda p: one_more(p, piece="s.1", start=(0, 0), end=(0, 0), kind=CutKind.MAIN, level=1),
        {"cut line"},
    ),
    "a cut that turns its sides round": (
        "hand",
        lambda p: cut(p, 8, start=p.layouts[0].cuts[7].end, end=p.layouts[0].cuts[7].start),
        {"leaf outline", "panel outline", "panel in the trim"},
    ),
    "a score too long": ("hand", lambda p: rules(p, longest_cut=mm("1979.99")), {"longest cut"}),
    "an angled score too long": (
        "pentagon",
        lambda p: rules(p, longest_angled_cut=494_974_746),  # 350 mm times the root of 2
        {"longest angled cut"},
    ),
    "a cut through a flaw": ("hand", flaw(1515, 700, 10, 10), {"flaw"}),
    "a trim at another distance": ("hand", lambda p: cut(p, 6, kind=CutKind.TRIM, level=0), {"trim"}),
    "a trim with a level": ("hand", lambda p: cut(p, 1, level=1), {"level"}),
    "a wrong level": ("hand", lambda p: cut(p, 5, level=2), {"level"}),
    "a main cut without a level": ("hand", lambda p: cut(p, 5, level=None), {"level"}),
    "a level beyond the limit": ("hand", lambda p: rules(p, levels=2), {"level", "last cut"}),
    "a main cut at the level of the last": ("hand", lambda p: cut(p, 8, kind=CutKind.MAIN), {"level"}),
    "level-1 cuts too near": (
        "hand",
        lambda p: rules(two_strips(p), level1_gap=(mm(241), None)),
        {"level-1 distance"},
    ),
    "level-1 cuts too far apart": (
        "hand",
        lambda p: rules(two_strips(p), level1_gap=(0, mm(239))),
        {"level-1 distance"},
    ),
    "a last cut where there is none": ("hand", lambda p: rules(p, last_cut=False), {"last cut"}),
    "a last cut with free levels": ("hand", lambda p: rules(p, levels=None), {"last cut"}),
    "a last cut too early": ("hand", lambda p: cut(p, 6, kind=CutKind.LAST), {"last cut"}),
    "a last cut that frees two": (
        "hand",
        lambda p: sealed(
            leaf(rules(p, least_offcut=(mm(80), mm(80))), TOP, kind=LeafKind.OFFCUT, raw=(Side.TOP,))
        ),
        {"last cut"},
    ),
    "a trim after the last cut": ("hand", trim_after_last, {"last cut"}),
    "a main cut after the last": ("hand", main_after_last, {"last cut", "level"}),
    "a shape cut with a level": ("pentagon", lambda p: cut(p, 3, level=3), {"level"}),
    "a blank of rectangles": (
        "hand",
        lambda p: cut(p, 6, kind=CutKind.SHAPE, level=None),
        {"shape cut"},
    ),
    "a blank with a side that nothing touches": (
        "pentagon",
        lambda p: cut(p, 2, kind=CutKind.SHAPE, level=None),
        {"shape cut"},
    ),
    "a main cut after a shape cut": (
        "octagon",
        lambda p: cut(p, 4, kind=CutKind.MAIN, level=3),
        {"shape cut", "cut line"},
    ),
    "an angled main cut": ("pentagon", lambda p: cut(p, 3, kind=CutKind.MAIN, level=3), {"cut line"}),
}


@pytest.mark.parametrize("name", BAD)
def test_a_plan_that_breaks_one_rule_is_refused_by_it(name: str, plans: dict[str, Plan]) -> None:
    which, change, expected = BAD[name]
    assert broken(change(plans[which])) == expected


def test_every_rule_word_has_a_plan_that_breaks_it() -> None:
    folder = Path(checker.__file__).parent
    words = set()
    for name in ("checker.py", "check_replay.py", "check_leaves.py", "check_days.py"):
        path = folder / name
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.id if isinstance(node.func, ast.Name) else ""
            if name in ("report", "bad", "say"):
                words |= {a.value for a in node.args[:1] if isinstance(a, ast.Constant)}
            elif name == "Violation":
                words |= {
                    ast.literal_eval(k.value)
                    for k in node.keywords
                    if k.arg == "rule" and isinstance(k.value, ast.Constant)
                }
    assert words == set().union(*(expected for _, _, expected in BAD.values()))


def test_a_cut_of_a_hair_at_a_corner_does_not_run_from_edge_to_edge(hand_plan: Plan) -> None:
    # both ends are within two nanometres of the border, yet the line runs through the whole piece
    plan = one_more(
        hand_plan,
        piece=RIGHT,
        start=(mm(1520), mm(20)),
        end=(mm(1520) + 1, mm(20) + 1),
        kind=CutKind.MAIN,
        level=2,
    )
    assert any("from edge to edge" in v.text for v in check(plan))


def test_a_blank_that_is_no_rectangle_is_named(pentagon_plan: Plan) -> None:
    plan = cut(pentagon_plan, 2, end=(mm(600), mm(600) + 9))
    assert {"shape cut", "cut line"} <= broken(plan)


def test_a_narrow_panel_needs_the_order_to_say_so(hand_plan: Plan) -> None:
    plan = rules(hand_plan, break_out=mm(401))
    named = {v.piece for v in check(plan) if v.rule == "break-out distance"}
    assert named == {THREE, END}
    excused = {v.piece for v in check(panel(plan, 2, narrow=True)) if v.rule == "break-out distance"}
    assert excused == {END}


def test_angled_cullet_that_only_touches_a_raw_side_with_a_corner_is_not_excused(octagon_plan: Plan) -> None:
    # the corners of the octagon lie at raw sides now, but are shallower than the corner depth
    plan = sheet(rules(octagon_plan, corner_depth=mm(29)), raw=(Side.LEFT, Side.BOTTOM))
    named = {v.piece for v in check(plan) if v.rule == "break-out distance"}
    corners = [x for x in plan.layouts[0].leaves if len(x.outline) == 3]
    beside_a_raw_side = {
        x.piece
        for x in corners
        if any(0 in p for p in x.outline) and len({p for p in x.outline if 0 in p}) > 1
    }
    assert named == {x.piece for x in corners} - beside_a_raw_side
    assert len(named) == 1


@pytest.mark.parametrize("way", ["lower right", "upper left", "turned by half"])
@pytest.mark.parametrize("inside", [0, 1, 2])
def test_a_sharp_corner_is_seen_though_its_score_ends_short_of_the_border(
    inside: int, way: str, hand_sheet: Callable, make_panel: Callable
) -> None:
    # the corner of 82 x 30 mm is 28.2 mm deep and meets its score at atan(30/82) = 20.1 degrees; the stated
    # end lies up to 2 nm within the piece, so that line and border meet up to 5.8 nm further on
    w, x, y = mm(600), mm(518), mm(30)
    start = (x + (0, 3, 5)[inside], inside)
    outline = ((0, 0), (x, 0), (w, y), (w, w), (0, w))
    corner, ends = ((x, 0), (w, 0), (w, y)), (start, (w, y))
    if way == "upper left":
        outline, corner, ends = (tuple((q, p) for p, q in reversed(o)) for o in (outline, corner, ends))
    elif way == "turned by half":
        outline, corner, ends = (tuple((w - p, w - q) for p, q in o) for o in (outline, corner, ends))
    base = make_panel(id="K-312/base/1", outline=outline)
    s = hand_sheet(mm(1000), w, (), Trim())
    blank, keep = s.upright("s", w, CutKind.MAIN, 1)
    part, waste = s.shape(blank, *ends, outline, corner)
    s.panel(part, base)
    s.offcut(keep)
    s.cullet(waste)
    plan = s.plan([base], stock="7HRT-22KD.5.a", is_offcut=True)
    assert [(v.rule, v.piece) for v in check(plan)] == [("break-out distance", waste)]
    assert check(rules(plan, least_angle=20_000)) == []


def test_violations_name_the_panel(hand_plan: Plan) -> None:
    found = next(v for v in check(rules(hand_plan, break_out=mm("400.001"))) if v.piece == THREE)
    assert found.panel == "K-205/left side/1"
    assert str(found).startswith(f"sheet 1, piece {THREE}, panel K-205/left side/1: break-out distance: ")
    (found,) = check(
        replace(hand_plan, panels=(*hand_plan.panels, replace(hand_plan.panels[0], id="K-9/x/1")))
    )
    assert str(found) == "placed once: K-9/x/1 is neither cut nor unplaced"
    assert found.panel == "K-9/x/1"


def test_violations_say_where_they_are(hand_plan: Plan) -> None:
    (found,) = check(cut(hand_plan, 5, level=2))
    assert str(found) == "sheet 1, step 5, piece s.2.1.1.2: level: the cut says level 2, its level is 3"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])  # plans never change
@given(step=st.integers(1, 8), by=st.integers(-(10**6), 10**6).filter(lambda v: abs(v) >= 2))
def test_no_cut_can_be_moved_unseen(step: int, by: int, hand_plan: Plan) -> None:
    found = hand_plan.layouts[0].cuts[step - 1]
    x, y = (by, 0) if found.start[0] == found.end[0] else (0, by)
    start, end = ((p[0] + x, p[1] + y) for p in (found.start, found.end))
    assert check(cut(hand_plan, step, start=start, end=end))


def test_the_checker_shares_nothing_with_the_planner() -> None:
    folder = Path(checker.__file__).parent
    allowed = {"flaws", "happened", "panels", "plan", "plan_id", "rules", "stock", "text", "units"}
    for path in [folder / "checker.py", *folder.glob("check_*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.level:
                names = {node.module} if node.module else {alias.name for alias in node.names}
                assert all(n in allowed or n.startswith("check_") for n in names), (path.name, names)
