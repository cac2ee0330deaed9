"""The checker on flaws, spots, racks, numbered sheets and widths between cuts.

The rules are those published for the ROADEF/EURO challenge 2018 on cutting glass: its sizes stand below as shop
rules, each with a plan that breaks it. The organisers' example solution passes, node for node.
"""

from __future__ import annotations

import ast
import csv
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry import box as square

from panewright.nesting import checker
from panewright.nesting.check_geometry import moved
from panewright.nesting.check_replay import InHand
from panewright.nesting.check_spots import check_spots
from panewright.nesting.checker import check
from panewright.nesting.flaws import Flaw, Tolerance
from panewright.nesting.outlines import box, rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.plan import CutKind, Layout, Leaf, LeafKind, Plan
from panewright.nesting.plan_id import plan_id
from panewright.nesting.rules import Rules
from panewright.nesting.stock import Side, Trim
from panewright.nesting.units import mm

PLATE = (6000, 3210)
CHALLENGE = Rules(
    levels=4, last_cut=False, deepest_once=True, break_out=mm(20), least_waste=mm(20),
    level1_width=(mm(100), mm(3500)), level2_width=mm(100),
)  # fmt: skip
Spans = list[tuple[int, object]]
"""Ends along an axis [mm], each with a panel, nothing, or spans along the other axis."""

FIRST: Spans = [
    (1000, [
        (1500, "A1"),
        (3000, [(400, "A2"), (1000, [(2400, "A3"), (3000, "A4")])]),
        (3210, None),
    ]),
    (1100, [(3000, "B1"), (3210, None)]),
    (6000, None),
]  # fmt: skip
SECOND: Spans = [(3500, [(20, None), (2020, "A5"), (3210, None)]), (6000, None)]


class Cutter:
    """Cuts a sheet up by spans, without the planner, and makes the panels that come off."""

    def __init__(
        self, sheet: type, make_panel: Callable[..., Panel], size: tuple[int, int], rest: dict
    ) -> None:
        raw, trim = rest.get("raw", ()), Trim(*(mm(t) for t in rest.get("trim", (0, 0, 0, 0))))
        self.sheet, self.make_panel = sheet(mm(size[0]), mm(size[1]), raw, trim), make_panel
        self.panels: list[Panel] = []

    def divide(self, piece: str, axis: int, spans: Spans, level: int = 0, last: int | None = None) -> None:
        far = box(self.sheet.pieces[piece])[axis + 2]
        for end, what in spans:
            here, at = (level, last)
            if mm(end) == far:
                self.fill(piece, axis, what, level, last)
                return
            at, here = axis, 1 if last is None else level + (last != axis)
            cut = self.sheet.upright if axis == 0 else self.sheet.level
            part, piece = cut(piece, mm(end), CutKind.MAIN, here)
            self.fill(part, axis, what, here, at)
            level, last = here, at

    def fill(self, piece: str, axis: int, what: object, level: int, last: int | None) -> None:
        if isinstance(what, list):
            self.divide(piece, 1 - axis, what, level, last)
        elif what is None:
            self.sheet.cullet(piece)
        else:
            x0, y0, x1, y1 = (v // mm(1) for v in box(self.sheet.pieces[piece]))
            panel = self.make_panel(x1 - x0, y1 - y0, id=str(what))
            rack, slot = (panel.id[0], int(panel.id[1:])) if panel.id[0] == "A" else ("", None)
            self.panels.append(replace(panel, rack=rack, slot=slot))
            self.sheet.panel(piece, panel)


Make = Callable[..., Plan]


@pytest.fixture(scope="module")
def make(make_panel: Callable[..., Panel], hand_sheet: type) -> Make:
    """Builds a plan of sheets given as spans."""

    def plan(*sheets: Spans, rules: Rules = CHALLENGE, size: tuple[int, int] = PLATE, **rest: object) -> Plan:
        panels: list[Panel] = []
        layouts: list[Layout] = []
        for number, spans in enumerate(sheets, 1):
            one = Cutter(hand_sheet, make_panel, size, rest)
            one.divide("s", 0, spans)
            panels += one.panels
            alone = one.sheet.plan(one.panels, stock=f"plate {number}")
            layouts.append(replace(alone.layouts[0], number=number, take=number))
        name = plan_id(0, layouts)
        return replace(
            alone,
            id=name,
            panels=tuple(panels),
            layouts=tuple(layouts),
            rules={"clear-10": rules},
            outcomes={},
        )

    return plan


def words(plan: Plan) -> set[str]:
    return {v.rule for v in check(plan)}


def sealed(plan: Plan) -> Plan:
    return replace(plan, id=plan_id(plan.seed, plan.layouts))


def panels(plan: Plan, name: str, **changes: object) -> Plan:
    return replace(plan, panels=tuple(replace(p, **changes) if p.id == name else p for p in plan.panels))


def sheet(plan: Plan, number: int, **changes: object) -> Plan:
    found = tuple(replace(x, **changes) if x.number == number else x for x in plan.layouts)
    return sealed(replace(plan, layouts=found))


def flawed(*mms: int) -> Callable[[Plan], Plan]:
    return lambda plan: sheet(plan, 1, flaws=(tuple(mm(v) for v in mms),))


def spotted(plan: Plan, *mms: int, kind: str = "seed") -> Plan:
    """A spot on the first sheet, which one panel (B1) tolerates anywhere, so that it may be one."""
    plan = panels(plan, "B1", tolerates=(Tolerance("seed", "anywhere"),))
    return sheet(plan, 1, spots=(Flaw(*(mm(v) for v in mms), kind),))


def beside(part: str, name: str, **said: object) -> Callable[[Plan], Plan]:
    def change(plan: Plan) -> Plan:
        return replace(plan, extra=plan.extra | {part: {name: said}})

    return change


# ---------------------------------------------------------------- plans that break one rule


def one(*spans: object) -> Spans:
    """A sheet that begins with this strip, up to 1000 mm."""
    return [(1000, list(spans)), (6000, None)]


BAD: dict[str, tuple[list[Spans], Callable[[Plan], Plan], set[str]]] = {
    "a strip under 100 mm": ([[(99, [(3000, "B1"), (3210, None)]), (6000, None)]], lambda p: p, {"level-1 width"}),
    "a strip of 3501 mm": (
        [[(3501, [(2020, "B1"), (3210, None)]), (6000, None)]], lambda p: p, {"level-1 width"}),
    "a last strip of 3501 mm with a panel": (
        [[(2499, [(3000, "B2"), (3210, None)]), (6000, [(2020, "B1"), (3210, None)])]], lambda p: p,
        {"level-1 width"}),
    "waste of 3501 mm before a strip": (
        [[(3501, None), (4501, [(3000, "B1"), (3210, None)]), (6000, None)]], lambda p: p, {"level-1 width"}),
    "a row under 100 mm": ([one((99, "B1"), (3210, None))], lambda p: p, {"level-2 width"}),
    "a last row under 100 mm": ([one((3111, None), (3210, "B1"))], lambda p: p, {"level-2 width"}),
    "waste of 19 mm above": ([one((3191, "B1"), (3210, None))], lambda p: p, {"break-out distance"}),
    "waste of 19 mm beside": (
        [one((1500, [(981, "B1"), (1000, None)]), (3210, None))], lambda p: p, {"break-out distance"}),
    "waste under the least that is more than the break-out distance": (
        [one((3191, "B1"), (3210, None))],
        lambda p: replace(p, rules={"clear-10": replace(CHALLENGE, break_out=mm(10))}), {"least waste"}),
    "a column cut at level 4 twice": (
        [one((3000, [(400, "B1"), (1000, [(1000, "B2"), (2000, "B3"), (3000, None)])]), (3210, None))],
        lambda p: p, {"deepest level"}),
    "a fifth level": (
        [one((3000, [(400, "B1"), (1000, [(1000, [(500, "B2"), (1000, None)]), (3000, None)])]), (3210, None))],
        lambda p: p, {"level"}),
    "a panel over a flaw": ([FIRST], flawed(500, 500, 3, 3), {"flaw"}),
    "a level-1 cut through a flaw": ([FIRST], flawed(1099, 3100, 3, 3), {"flaw"}),
    "a level-2 cut through a flaw": ([one((1500, None), (3000, "B1"), (3210, None))], flawed(500, 1499, 3, 1), set()),
    "a level-2 cut through waste and a flaw": (
        [one((1500, None), (3000, "B1"), (3210, None))], flawed(500, 1499, 3, 3), {"flaw"}),
    "a level-3 cut through a flaw": (
        [one((1500, [(500, "B1"), (550, None), (1000, "B2")]), (3210, None))], flawed(549, 20, 3, 3), {"flaw"}),
    "a level-4 cut through a flaw": (
        [one((1500, [(500, "B1"), (1000, [(700, None), (1500, "B2")])]), (3210, None))],
        flawed(900, 699, 3, 3), {"flaw"}),
    "a panel of a rack before the one of a lower slot": ([FIRST], lambda p: panels(p, "A1", slot=9), {"rack order"}),
    "a lower slot on a later sheet": ([FIRST, SECOND], lambda p: panels(p, "A5", slot=0), {"rack order"}),
    "the slots on sheets in the wrong order": (
        [FIRST, SECOND], lambda p: sealed(sheet(sheet(replace(p, layouts=p.layouts[::-1]), 1, take=None), 2, take=None)),
        {"rack order"}),
    "a later slot freed by one cut with an earlier one, after it": (
        [FIRST], lambda p: panels(panels(p, "A2", slot=4), "A4", slot=2), {"rack order"}),
    "a slot twice": ([FIRST], lambda p: panels(p, "A2", slot=1), {"rack"}),
    "a rack without a slot": ([FIRST], lambda p: panels(p, "A2", slot=None), {"rack"}),
    "a rack of two kinds of glass": ([FIRST], lambda p: panels(p, "A1", glass="low-iron-10"), {"rack", "glass"}),
    "sheets against their numbers": ([FIRST, SECOND], lambda p: sheet(p, 1, take=3), {"sheet order"}),
    "a numbered sheet after one without": ([FIRST, SECOND], lambda p: sheet(p, 1, take=None), {"sheet order"}),
    "a spot that no panel tolerates": (
        [FIRST], lambda p: panels(spotted(p, 500, 3100, 9, 9), "B1", tolerates=()), {"spot"}),
    "a spot of another kind": ([FIRST], lambda p: spotted(p, 500, 3100, 9, 9, kind="chip"), {"spot"}),
    "a crack for a spot": ([FIRST], lambda p: spotted(p, 500, 3100, 9, 9, kind="crack"), {"spot"}),
    "a spot of no kind": ([FIRST], lambda p: spotted(p, 500, 3100, 9, 9, kind=""), {"spot"}),
    "a panel that tolerates no spot": ([FIRST], lambda p: spotted(p, 500, 500, 9, 9), {"spot"}),
    "a cut through a spot": ([FIRST], lambda p: spotted(p, 500, 2999, 9, 2), {"flaw", "spot"}),
    "a cut through a spot in a panel that takes it": ([FIRST], lambda p: spotted(p, 1050, 2999, 9, 2), {"flaw"}),
    "a crack that an order takes": (
        [FIRST], lambda p: panels(p, "B1", tolerates=(Tolerance("crack", "anywhere"),)), {"tolerance"}),
    "a zone that is none": ([FIRST], lambda p: panels(p, "B1", tolerates=(Tolerance("seed", "rim", 5),)), {"tolerance"}),
    "a zone of less than no depth": (
        [FIRST], lambda p: panels(p, "B1", tolerates=(Tolerance("seed", "edge", -5),)), {"tolerance"}),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_plan_that_breaks_one_rule_is_refused_by_it(name: str, make: Make) -> None:
    sheets, change, expected = BAD[name]
    assert words(change(make(*sheets))) == expected


def test_every_rule_word_has_a_plan_that_breaks_it() -> None:
    folder = Path(checker.__file__).parent
    found = set()
    for name in ("check_widths.py", "check_spots.py", "check_order.py"):
        for node in ast.walk(ast.parse((folder / name).read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in ("report", "say")
            ):
                found |= {a.value for a in node.args[:1] if isinstance(a, ast.Constant)}
    assert found | {"tolerance", "least waste"} <= set().union(*(expected for *_, expected in BAD.values()))


# ---------------------------------------------------------------- plans that keep them

GOOD: dict[str, tuple[list[Spans], Callable[[Plan], Plan]]] = {
    "as published": ([FIRST, SECOND], lambda p: p),
    "a strip of waste, 20 mm, first": ([[(20, None), (1020, [(3000, "B1"), (3210, None)]), (6000, None)]], lambda p: p),
    "two panels freed by one cut": ([FIRST], lambda p: panels(panels(p, "A3", slot=4), "A4", slot=3)),
    "racks free among each other": ([FIRST], lambda p: panels(p, "A1", rack="B", slot=9)),
    "a panel made again, where it can be": (
        [FIRST], lambda p: beside("panels", "A1", remakes="A9")(panels(p, "A1", slot=9))),
    "a panel made again, in the slot of the other": (
        [FIRST], lambda p: beside("panels", "A1", remakes="A2")(panels(p, "A1", slot=2))),
    "what is cut already in a plan that follows another": (
        [FIRST, SECOND], lambda p: replace(beside("sheets", "1", cut=True)(panels(p, "A5", slot=0)), extra={
            "follows": ["ABCD-2345"], "sheets": {"1": {"cut": True}}})),
    "what is cut already, up to a step": (
        [FIRST], lambda p: replace(panels(p, "A1", slot=9), extra={
            "follows": ["ABCD-2345"], "sheets": {"1": {"cut_to_step": 3}}})),
    "equal numbers": ([FIRST, SECOND], lambda p: sheet(p, 2, take=1)),
    "numbers, then none": ([FIRST, SECOND], lambda p: sheet(p, 2, take=None)),
    "a numbered sheet after one that is cut": (
        [FIRST, SECOND], lambda p: replace(sheet(p, 1, take=None), extra={
            "follows": ["ABCD-2345"], "sheets": {"1": {"cut": True}}})),
    "a flaw beside a cut": ([FIRST], flawed(1000, 3100, 3, 3)),
    "a flaw in waste": ([FIRST], flawed(3000, 1000, 99, 99)),
    "a spot in a panel that takes it": ([FIRST], lambda p: spotted(p, 1020, 100, 9, 9)),
    "a spot in waste": ([FIRST], lambda p: spotted(p, 500, 3100, 9, 9)),
}  # fmt: skip


@pytest.mark.parametrize("name", GOOD)
def test_a_plan_that_keeps_the_rules_passes(
    name: str, make: Make, outsider: Callable[..., None], tmp_path: Path
) -> None:
    sheets, change = GOOD[name]
    plan = change(make(*sheets))
    assert check(plan) == []
    outsider(plan, tmp_path)


def test_marks_of_what_is_cut_excuse_nothing_in_a_plan_that_follows_none(make: Make) -> None:
    cut = beside("sheets", "1", cut=True)
    assert words(cut(panels(make(FIRST, SECOND), "A5", slot=0))) == {"rack order"}
    assert words(cut(sheet(make(FIRST, SECOND), 1, take=None))) == {"sheet order"}


def test_half_cut_excuses_what_is_off(make: Make) -> None:
    def half(step: int) -> Plan:
        marks = {"follows": ["ABCD-2345"], "sheets": {"1": {"cut_to_step": step}}}
        return replace(panels(make(FIRST), "A2", slot=9), extra=marks)

    # A1 comes off by step 2, A2 by step 4, the others after it
    assert [words(half(step)) for step in range(6)] == [{"rack order"}] * 4 + [set()] * 2


def test_widths_are_taken_within_the_trims(make: Make) -> None:
    def trimmed(left: int) -> set[str]:
        spans: Spans = [(150, [(3000, "B1"), (3210, None)]), (6000, None)]
        return words(make(spans, trim=(left, 0, 0, 0), raw=(Side.LEFT,)))

    # the panel lies in the trim in any case; the strip is 150 mm wide less the trim
    assert trimmed(50) == {"panel in the trim"}
    assert trimmed(51) == {"panel in the trim", "level-1 width"}


def test_a_sheet_that_is_not_cut_is_one_strip_either_way(make: Make) -> None:
    assert words(make([(6000, "B1")])) == set()
    assert words(make([(6000, "B1")], size=(6000, 3501))) == {"level-1 width"}
    assert words(make([(6000, "B1")], size=(6000, 99))) == set()
    assert words(make([(99, "B1")], size=(99, 99))) == {"level-1 width"}


def test_waste_at_a_raw_side_goes_in_one_break(make: Make) -> None:
    rules = replace(CHALLENGE, break_out=mm(20), least_waste=mm(40))
    sheets = [one((3180, "B1"), (3210, None))]
    assert words(make(*sheets, rules=rules)) == {"least waste"}
    assert words(make(*sheets, rules=rules, raw=(Side.TOP,), trim=(0, 0, 0, 25))) == set()


def test_the_deepest_level_may_be_cut_again_without_the_rule(make: Make) -> None:
    sheets, _, expected = BAD["a column cut at level 4 twice"]
    assert words(make(*sheets)) == expected
    assert words(make(*sheets, rules=replace(CHALLENGE, deepest_once=False))) == set()


# ---------------------------------------------------------------- zones, against another geometry

PENTAGON = tuple((mm(x), mm(y)) for x, y in ((0, 0), (600, 0), (600, 250), (250, 600), (0, 600)))
NOTCHED = tuple((mm(x), mm(y)) for x, y in ((0, 0), (600, 0), (600, 250), (250, 250), (250, 600), (0, 600)))
OUTLINES = (rectangle(mm(600), mm(400)), PENTAGON, NOTCHED)


def tolerated(panel: Panel, spot: tuple[int, int, int, int], turned: int, mirrored: bool) -> bool:
    """What the checker says of a spot [mm] on a sheet of which the panel's box has its lower left corner at 0, 0."""
    shape = moved(panel.cut, turned * 10**9, mirrored)
    x0, y0 = min(p[0] for p in shape), min(p[1] for p in shape)
    there = tuple((x - x0, y - y0) for x, y in shape)
    leaf = Leaf(
        piece="s",
        outline=there,
        kind=LeafKind.PANEL,
        panel=panel.id,
        turned=turned * 10**9,
        mirrored=mirrored,
    )
    layout = Layout(
        number=1, glass="clear-10", stock="x", is_offcut=False, cost=0, width=mm(700), height=mm(700), raw=(),
        trim=Trim(), cuts=(), leaves=(leaf,), spots=(Flaw(*(mm(v) for v in spot), "seed"),),
    )  # fmt: skip
    said: list[str] = []
    check_spots(layout, {"s": InHand(there)}, {panel.id: panel}, lambda rule, *_: said.append(rule))
    return not said


def by_polygons(panel: Panel, spot: tuple[int, int, int, int], turned: int, mirrored: bool) -> bool:
    """The same in the panel's own frame, by shapely [mm]."""

    def scaled(points: Sequence[tuple[int, int]]) -> Polygon:
        return Polygon([(x / mm(1), y / mm(1)) for x, y in points])

    cut = scaled(panel.cut)
    flipped = affinity.scale(cut, -1, 1, origin=(0, 0)) if mirrored else cut
    lying = affinity.rotate(flipped, turned, origin=(0, 0))
    back = affinity.translate(
        square(spot[0], spot[1], spot[0] + spot[2], spot[1] + spot[3]), lying.bounds[0], lying.bounds[1]
    )
    back = affinity.rotate(back, -turned, origin=(0, 0))
    back = affinity.scale(back, -1, 1, origin=(0, 0)) if mirrored else back
    finished = scaled(panel.finished)
    covered = finished.intersection(back)
    if cut.intersection(back).area < 1e-6 or covered.area < 1e-6:
        return True
    (one,) = panel.tolerates
    corners = list(finished.exterior.coords)
    low, high = finished.bounds[1], finished.bounds[3]
    for (ax, ay), (bx, by) in pairwise(corners):
        if one.zone == "frame" and not (ay == by and ay in (low, high)):
            continue
        long = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
        ux, uy, depth = (bx - ax) / long, (by - ay) / long, one.depth / mm(1)
        over = 0 if finished.convex_hull.area > finished.area + 1 else 2000
        a, b = (ax - over * ux, ay - over * uy), (bx + over * ux, by + over * uy)
        band = Polygon([a, b, (b[0] - uy * depth, b[1] + ux * depth), (a[0] - uy * depth, a[1] + ux * depth)])
        if depth and covered.difference(band).area < 1e-6:
            return True
    return False


@given(
    outline=st.sampled_from(OUTLINES),
    zone=st.sampled_from(["edge", "frame"]),
    depth=st.integers(0, 120),
    spot=st.tuples(st.integers(0, 590), st.integers(0, 590), st.integers(1, 130), st.integers(1, 130)),
    turned=st.sampled_from([0, 90, 180, 270]),
    mirrored=st.booleans(),
)
def test_zones_are_those_of_another_geometry(
    outline: tuple, zone: str, depth: int, spot: tuple, turned: int, mirrored: bool,
    make_panel: Callable[..., Panel],
) -> None:  # fmt: skip
    panel = replace(make_panel(outline=outline), tolerates=(Tolerance("seed", zone, mm(depth)),))
    assert tolerated(panel, spot, turned, mirrored) == by_polygons(panel, spot, turned, mirrored)


def test_depth_counts_from_the_finished_edge(make_panel: Callable[..., Panel]) -> None:
    panel = make_panel(600, 400, allowance="3")
    deep = replace(panel, tolerates=(Tolerance("seed", "edge", mm(30)),))
    # the blank begins 3 mm before the finished edge, so that 33 mm of it may have the seed
    assert tolerated(deep, (20, 200, 13, 5), 0, False)
    assert not tolerated(deep, (20, 200, 14, 5), 0, False)
    # what is ground off altogether harms nobody, if its kind is one that this panel tolerates at all or not
    assert tolerated(deep, (0, 0, 3, 100), 0, False)
    frame = replace(panel, tolerates=(Tolerance("seed", "frame", mm(30)),))
    assert tolerated(frame, (100, 20, 200, 13), 0, False)
    assert not tolerated(frame, (20, 200, 13, 5), 0, False)
    # turned by a quarter the bottom edge lies at the right, mirrored and turned by a quarter as well
    assert tolerated(frame, (373, 200, 20, 5), 90, False)
    assert not tolerated(frame, (200, 20, 5, 13), 90, False)
    # a corner of two bands belongs to neither as a whole
    assert not tolerated(deep, (10, 10, 40, 40), 0, False)
    anywhere = replace(panel, tolerates=(Tolerance("seed", "anywhere"),))
    assert tolerated(anywhere, (300, 200, 40, 40), 0, False)


def test_a_panel_at_any_angle_keeps_its_zones(make_panel: Callable[..., Panel]) -> None:
    panel = make_panel(400, 400)
    deep = replace(panel, tolerates=(Tolerance("seed", "edge", mm(60)),))
    # at 45 degrees the square stands on a corner; its left corner is at 0, 283: 60 mm deep along 85 mm of the axis
    assert tolerated(deep, (60, 278, 10, 10), 45, False)
    assert not tolerated(deep, (95, 278, 10, 10), 45, False)


# ---------------------------------------------------------------- the organisers' example


def test_the_example_of_the_challenge_passes(
    data_folder: Path,
    hand_sheet: type,
    make_panel: Callable[..., Panel],
    outsider: Callable[..., None],
    tmp_path: Path,
) -> None:
    folder = data_folder / "roadef2018" / "example_A0"

    def rows(name: str) -> list[dict[str, str]]:
        with (folder / f"A0_{name}.csv").open(encoding="utf-8") as file:
            return list(csv.DictReader(file, delimiter=";"))

    nodes = rows("solution")
    flaws = [r for r in rows("defects") if r["PLATE_ID"] == "0"]
    racks = {r["ITEM_ID"]: (r["STACK"], int(r["SEQUENCE"])) for r in rows("batch")}
    cutter = Cutter(hand_sheet, make_panel, PLATE, {})

    def spans(node: dict[str, str]) -> object:
        inner = [n for n in nodes if n["PARENT"] == node["NODE_ID"]]
        if not inner:
            return None if int(node["TYPE"]) < 0 else f"item/{node['TYPE']}"
        side = ("X", "WIDTH") if int(inner[0]["CUT"]) % 2 else ("Y", "HEIGHT")
        return [(int(n[side[0]]) + int(n[side[1]]), spans(n)) for n in inner]

    cutter.divide("s", 0, spans(nodes[0]))  # type: ignore[arg-type]
    parts = []
    for panel in cutter.panels:
        rack, slot = racks[panel.id.removeprefix("item/")]
        parts.append(replace(panel, rack=f"stack {rack}", slot=slot))
    assert len(parts) == 3
    plan = cutter.sheet.plan(parts, stock="plate 0")
    found = tuple(tuple(mm(r[k]) for k in ("X", "Y", "WIDTH", "HEIGHT")) for r in flaws)
    assert found
    plan = replace(sheet(plan, 1, flaws=found, take=1), rules={"clear-10": CHALLENGE}, outcomes={})
    assert check(plan) == []
    outsider(plan, tmp_path)
    # with any of the items before the one below it in its stack it is refused
    for a, b in ((0, 1), (1, 2)):
        slots = panels(panels(plan, parts[a].id, slot=parts[b].slot), parts[b].id, slot=parts[a].slot)
        assert words(slots) == {"rack order"}
