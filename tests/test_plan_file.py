"""The plan file: exact round trip, readable lines, and faults named with place, value and remedy."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from panewright.io import plan_keys
from panewright.io.plan_check import check_figures
from panewright.io.plan_file import PlanFileError, dumps, loads
from panewright.io.plan_reader import load, read
from panewright.nesting.checker import check
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.flaws import KINDS, NEVER_TOLERATED, Flaw, Tolerance, Zone
from panewright.nesting.openings import CutOut, Hole
from panewright.nesting.panels import Panel, Purpose, Turn
from panewright.nesting.plan import (
    Bound,
    Cut,
    CutKind,
    GlassOutcome,
    Layout,
    Leaf,
    LeafKind,
    Plan,
    Unplaced,
)
from panewright.nesting.rules import Rules
from panewright.nesting.stock import Side, Trim
from panewright.nesting.tips import Tip

NM = 10**11
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
lengths = st.integers(-NM, NM)
widths = st.integers(0, NM)
points = st.tuples(lengths, lengths)
outlines = st.lists(points, min_size=3, max_size=6).map(tuple)
days = st.none() | st.dates(date(2020, 1, 1), date(2040, 1, 1))
money = st.integers(0, 10**13)
sides = st.sets(st.sampled_from(list(Side))).map(lambda found: tuple(s for s in Side if s in found))
others = st.dictionaries(
    texts.map(lambda t: f"x{t}"),
    st.recursive(
        st.none()
        | st.booleans()
        | st.integers(-(10**20), 10**20)
        | texts
        | st.decimals(-(10**9), 10**9, places=7),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
        max_leaves=5,
    ),
    max_size=3,
)
rules = st.builds(
    Rules,
    break_out=widths,
    levels=st.sampled_from([2, 3, 4, None]),
    last_cut=st.booleans(),
    longest_cut=st.none() | widths,
    largest_piece=st.none() | points,
    level1_gap=st.tuples(widths, st.none() | widths),
    least_offcut=points,
    corner_depth=widths,
    least_angle=st.integers(0, 90_000),
    longest_angled_cut=st.none() | widths,
    mark_step=st.none() | st.integers(1, 2_000_000),
    level1_width=st.tuples(widths, st.none() | widths),
    level2_width=widths,
    least_waste=widths,
    deepest_once=st.booleans(),
)
TOLERATED = [kind for kind in KINDS if kind not in NEVER_TOLERATED]
tolerances = st.builds(
    Tolerance,
    kind=st.sampled_from(TOLERATED),
    zone=st.sampled_from([z.value for z in Zone]),
    depth=widths,
)
spots = st.builds(Flaw, x=lengths, y=lengths, width=widths, height=widths, kind=st.sampled_from(TOLERATED))
racks = st.tuples(texts.filter(bool), st.integers(0, 10**9)) | st.just(("", None))
edges = st.builds(
    Edge,
    work=st.sampled_from(Work),
    allowance=widths,
    mitre=st.integers(-90_000, 90_000),
    small_face=st.sampled_from([None, "up", "down"]),
)
openings = st.builds(Hole, center=points, diameter=widths) | st.builds(
    CutOut, outline=outlines, corner_radius=widths
)
GLASSES = ("clear-10", "low-iron-2.7", "éclair")


@st.composite
def panels(draw: st.DrawFn, number: int) -> Panel:
    finished = draw(outlines)
    rack, slot = draw(racks)
    return Panel(
        rack=rack,
        slot=slot,
        tolerates=tuple(draw(st.lists(tolerances, max_size=2))),
        id=f"{draw(texts)}/{number}",
        order=draw(texts),
        name=draw(texts),
        glass=draw(st.sampled_from(GLASSES)),
        thickness=draw(widths),
        finished=finished,
        cut=draw(outlines),
        edges=tuple(draw(edges) for _ in finished),
        due=draw(days),
        purpose=draw(st.sampled_from(Purpose)),
        narrow=draw(st.booleans()),
        turn=draw(st.sampled_from(Turn)),
        mirror=draw(st.booleans()),
        note=draw(texts),
        openings=tuple(draw(st.lists(openings, max_size=3))),
    )


@st.composite
def leaves(draw: st.DrawFn, ids: list[str]) -> Leaf:
    kind = draw(st.sampled_from(list(LeafKind) if ids else [LeafKind.OFFCUT, LeafKind.CULLET]))
    common = {"piece": draw(texts), "outline": draw(outlines), "kind": kind}
    if kind is LeafKind.PANEL:
        return Leaf(
            **common,
            panel=draw(st.sampled_from(ids)),
            turned=draw(st.integers(-360 * 10**9, 360 * 10**9)),
            mirrored=draw(st.booleans()),
        )
    if kind is LeafKind.OFFCUT:
        return Leaf(**common, offcut=draw(texts), raw=draw(sides))
    return Leaf(**common)


@st.composite
def layouts(draw: st.DrawFn, number: int, ids: list[str]) -> Layout:
    cuts = st.builds(
        Cut,
        step=st.integers(1, 10**6),
        piece=texts,
        start=points,
        end=points,
        makes=st.tuples(texts, texts),
        kind=st.sampled_from(CutKind),
        level=st.none() | st.integers(0, 9),
    )
    flaws = draw(st.lists(st.tuples(lengths, lengths, widths, widths), max_size=1))
    kinds = draw(st.sampled_from([(), *(((kind,) * len(flaws)) for kind in ("", *KINDS))]))
    return Layout(
        flaw_kinds=kinds,
        spots=tuple(draw(st.lists(spots, max_size=1))),
        take=draw(st.none() | st.integers(0, 10**9)),
        number=number,
        glass=draw(st.sampled_from(GLASSES)),
        stock=draw(texts),
        is_offcut=draw(st.booleans()),
        cost=draw(money),
        width=draw(st.integers(1, NM)),
        height=draw(st.integers(1, NM)),
        raw=draw(sides),
        trim=Trim(*(draw(widths) for _ in Side)),
        cuts=tuple(draw(st.lists(cuts, max_size=2))),
        leaves=tuple(draw(st.lists(leaves(ids), max_size=3))),
        flaws=tuple(flaws),
        day=draw(days),
        buy=draw(st.booleans()),
        habit=draw(st.none() | st.sampled_from(["stop", "strip", "machine"])),
    )


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    found = [draw(panels(i)) for i in range(draw(st.integers(0, 2)))]
    ids = [p.id for p in found]
    sheets = [draw(layouts(i + 1, ids)) for i in range(draw(st.integers(0, 2)))]
    outcomes = st.builds(
        GlassOutcome,
        bound=st.builds(Bound, cost=money, sheets=st.integers(0, 99), by=texts, valid_for=texts),
        optimal=st.booleans(),
        stopped_by=texts,
    )
    unplaced = draw(st.lists(st.builds(Unplaced, panel=texts, rule=texts, reason=texts), max_size=2))

    def named(names: Iterable[str]) -> dict[str, object]:
        return {name: more for name in names if (more := draw(others))}

    def filled(**parts: dict[str, object]) -> dict[str, object]:
        return {key: part for key, part in parts.items() if part}

    extra = draw(others) | filled(
        panels={
            p.id: more
            for p in found
            if (more := draw(others) | filled(edges=named(map(str, range(len(p.edges))))))
        },
        sheets={
            str(x.number): more
            for x in sheets
            if (
                more := draw(others)
                | filled(
                    trim=draw(others),
                    cuts=named(c.piece for c in x.cuts),
                    leaves=named(leaf.piece for leaf in x.leaves),
                )
            )
        },
        rules=named(GLASSES),
        unplaced=named(u.panel for u in unplaced),
        figures=draw(others) | filled(total=draw(others), by_glass=named(GLASSES)),
    )
    return Plan(
        id=draw(texts),
        program=draw(texts),
        seed=draw(st.integers(0, 2**63)),
        effort=draw(st.none() | st.integers(0, 2**63)),
        length_unit=draw(st.sampled_from(["mm", "in"])),
        currency=draw(texts),
        rules={glass: draw(rules) for glass in GLASSES},
        panels=tuple(found),
        layouts=tuple(sheets),
        unplaced=tuple(unplaced),
        outcomes=draw(st.dictionaries(st.sampled_from(GLASSES), outcomes)),
        habit=draw(st.sampled_from(["stop", "strip", "machine"])),
        extra=extra,
    )


@given(plans())
@settings(max_examples=40)
def test_round_trip_keeps_every_value(plan: Plan) -> None:
    text = dumps(plan)
    found, stated = read(text)
    assert found == plan
    assert dumps(found) == text
    assert check_figures(found, stated) == []
    assert all(v.rule and v.text for v in check(plan))  # whatever it holds, the checker only ever reports
    # nothing in it that a strict reader of JSON would refuse
    json.loads(text.encode("utf-8"), parse_constant=lambda name: pytest.fail(name))


@pytest.mark.parametrize("which", ["hand_plan", "pentagon_plan", "octagon_plan", "inch_plan"])
def test_hand_made_plans_come_back(which: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    plan = request.getfixturevalue(which)
    (tmp_path / "plan.json").write_text(dumps(plan), encoding="utf-8")
    for path in (tmp_path, tmp_path / "plan.json"):
        assert load(path)[0] == plan


def test_keys_are_those_of_the_schema_in_its_order(hand_plan: Plan) -> None:
    data = json.loads(dumps(hand_plan))
    sheet = data["sheets"][0]
    expected = {
        "schema plan program seed effort habit length_unit currency rules panels sheets unplaced figures": data,
        "break_out levels last_cut longest_cut largest_piece level1_gap least_offcut corner_depth "
        "least_angle longest_angled_cut mark_step": data["rules"]["clear-10"],
        "id order name due purpose glass thickness mass_kg finished cut edges openings narrow turn "
        "mirror": data["panels"][0],
        "number day glass stock is_offcut source cost width height raw trim flaws cuts leaves": sheet,
        "step piece from to makes kind level": sheet["cuts"][0],
        "total by_glass by_order": data["figures"],
    }
    assert [" ".join(found) for found in expected.values()] == list(expected)


def test_one_line_holds_one_panel_cut_or_leaf(hand_plan: Plan) -> None:
    lines = dumps(hand_plan).splitlines()
    layout = hand_plan.layouts[0]
    assert sum('"makes"' in row for row in lines) == len(layout.cuts)
    assert sum('"is": ' in row for row in lines) == len(layout.leaves)
    assert sum('"finished"' in row for row in lines) == len(hand_plan.panels)
    moved = replace(hand_plan.panels[0], note="changed")
    other = dumps(replace(hand_plan, panels=(moved, *hand_plan.panels[1:]))).splitlines()
    assert sum(a != b for a, b in zip(lines, other, strict=True)) == 1


def test_numbers_stand_without_trailing_zeros(inch_plan: Plan) -> None:
    text = dumps(replace(inch_plan, layouts=(replace(inch_plan.layouts[0], cost=614_000),)))
    assert '"width": 1219.2,' in text
    assert '"cost": 61.4,' in text
    assert "600.075" in text  # 23 5/8 in
    assert "[600.0," not in text


def test_unknown_keys_and_openings_are_kept(hand_plan: Plan) -> None:
    data = json.loads(dumps(hand_plan), parse_float=str, parse_int=str)
    hole = {"kind": "hole", "center": [100, 200], "diameter": 35}
    text = dumps(hand_plan)
    text = text.replace('"openings": []', f'"openings": [{json.dumps(hole)}], "shelf": "B4"', 1)
    text = text.replace('"number": 1,', '"number": 1, "manner": "strip",')
    text = text.replace('"seed": 0,', '"seed": 0, "follows": "0000-0000", "a\\"b\\u2028": 0.1,')
    plan = loads(text)
    assert plan.panels[0].openings == (Hole(center=(10**8, 2 * 10**8), diameter=35 * 10**6),)
    assert plan.extra["follows"] == "0000-0000"
    assert plan.extra['a"b\u2028'] == Decimal("0.1")
    again = json.loads(dumps(plan))
    assert again["panels"][0]["openings"] == [hole]
    assert again["panels"][0]["shelf"] == "B4"
    assert again["sheets"][0]["manner"] == "strip"
    assert again["follows"] == "0000-0000"
    assert loads(dumps(plan)) == plan
    assert list(again)[: len(data)] == list(data)


def test_unknown_keys_are_kept_in_every_object(hand_plan: Plan) -> None:
    unplaced = Unplaced(panel="K-204/front/1", rule="x", reason="x")
    hole = {"kind": "hole", "center": [100, 200], "diameter": 35}
    slot = {"kind": "cut_out", "outline": [[0, 0], [100, 0], [0, 50]], "corner_radius": 12.5}
    data = json.loads(dumps(replace(hand_plan, unplaced=(unplaced,))))
    data["panels"][0]["openings"] = [hole, slot]
    count = 0

    def mark(node: object, named: bool = False) -> None:
        """Put a key of its own into every object whose keys are words of the schema."""
        nonlocal count
        if isinstance(node, list):
            for entry in node:
                mark(entry)
        elif isinstance(node, dict):
            for key, entry in node.items():
                mark(entry, key in ("rules", "by_glass", "by_order"))
            if not named:
                node["shelf"] = f"B{count}"
                count += 1

    mark(data)
    assert count > 40
    text = dumps(loads(json.dumps(data)))
    assert json.loads(text) == data
    assert list(json.loads(text)["sheets"][0]["cuts"][0])[-1] == "shelf"
    assert check_figures(*read(text)) == []


def test_known_keys_are_those_that_are_written(hand_plan: Plan) -> None:
    openings = (Hole(center=(0, 0), diameter=1), CutOut(outline=((0, 0), (9, 0), (0, 9)), corner_radius=1))
    stock = hand_plan.layouts[0].stock
    panel = replace(hand_plan.panels[0], note="x", from_stock=stock, openings=openings, tips=(Tip(1, 5),))
    panel = replace(panel, booked=date(2027, 2, 22), product="tanks", rack="A", slot=1)
    panel = replace(panel, tolerates=(Tolerance("seed", "edge", 30),))
    unplaced = Unplaced(panel=panel.id, rule="x", reason="x")
    rules = {
        glass: replace(
            rules, inner_radius=1, level1_width=(1, None), level2_width=1, least_waste=1, deepest_once=True
        )
        for glass, rules in hand_plan.rules.items()
    }
    flaws = {"flaws": ((0, 0, 1, 1),), "flaw_kinds": ("crack",), "spots": (Flaw(0, 0, 1, 1, "seed"),)}
    sheets = tuple(
        replace(x, **flaws, take=1, habit="strip", cuts=(replace(x.cuts[0], placement=1), *x.cuts[1:]))
        for x in hand_plan.layouts
    )
    panels = (panel, *hand_plan.panels[1:])
    plan = replace(hand_plan, rules=rules, panels=panels, layouts=sheets, unplaced=(unplaced,))
    data = json.loads(dumps(plan))
    sheet, figures = data["sheets"][0], data["figures"]
    glass = figures["by_glass"]["clear-10"]
    assert set(data) == plan_keys.PLAN_KEYS
    assert set(data["rules"]["clear-10"]) == plan_keys.RULE_KEYS
    assert set(data["panels"][0]) == plan_keys.PANEL_KEYS
    assert set(data["panels"][0]["edges"][0]) == plan_keys.EDGE_KEYS
    assert set(data["panels"][0]["openings"][0]) == plan_keys.HOLE_KEYS
    assert set(data["panels"][0]["tips"][0]) == plan_keys.TIP_KEYS
    assert set(data["panels"][0]["openings"][1]) == plan_keys.CUT_OUT_KEYS
    assert set(sheet) == plan_keys.SHEET_KEYS
    assert set(sheet["trim"]) == plan_keys.TRIM_KEYS
    assert set(sheet["cuts"][0]) == plan_keys.CUT_KEYS
    assert set().union(*sheet["leaves"]) == plan_keys.LEAF_KEYS
    assert set(data["unplaced"][0]) == plan_keys.UNPLACED_KEYS
    assert set(figures) == plan_keys.FIGURES_KEYS
    assert set(figures["total"]) == plan_keys.TOTAL_KEYS
    assert set(glass) == plan_keys.GLASS_KEYS
    assert set(glass["lower_bound"]) == plan_keys.BOUND_KEYS
    assert set(figures["by_order"]["K-204"]) == plan_keys.ORDER_KEYS


# ---------------------------------------------------------------- faults


def faults(text: str) -> list[str]:
    with pytest.raises(PlanFileError) as caught:
        loads(text, source="week.json")
    problems = caught.value.problems
    assert problems and all(p.file == "week.json" and p.reason and p.remedy for p in problems)
    assert str(caught.value).startswith("week.json: ")
    return [f"{p.column}: {p.value}: {p.reason}" for p in problems]


EDITS = {
    "another schema": ('"panewright.plan/1"', '"panewright.plan/2"', "schema: panewright.plan/2: expected"),
    "no schema": ('"schema"', '"scheme"', "file: : the key schema is missing"),
    "NaN": ('"seed": 0', '"seed": NaN', "no readable JSON: NaN is no number"),
    "Infinity": ('"seed": 0', '"seed": -Infinity', "no readable JSON: -Infinity is no number"),
    "a number without end": ('"seed": 0', '"seed": ' + "9" * 5000, "no readable JSON: "),
    "an exponent without end": ('"seed": 0', '"seed": 1e99999999', "no readable JSON: 1e99999999"),
    "a key twice": ('"seed": 0', '"seed": 0, "seed": 1', "a key stands twice"),
    "nesting without end": ('"seed": 0', '"x": ' + "[" * 99 + "]" * 99 + ', "seed": 0', "nested too deeply"),
    "half a character": ('"seed": 0', '"x": "\\ud800", "seed": 0', "file.x: \\ud800: holds half of a character"),
    "a seed in quotes": ('"seed": 0', '"seed": "0"', "seed: 0: expected a whole number"),
    "a seed of 1.5": ('"seed": 0', '"seed": 1.5', "seed: 1.5: expected a whole number"),
    "seven decimals": ('"width": 2000,', '"width": 2000.0000001,', "sheets[0].width: 2000.0000001: more than 6"),
    "a text for a width": ('"width": 2000,', '"width": "2000",', "sheets[0].width: 2000: expected a number"),
    "true for a width": ('"width": 2000,', '"width": true,', "sheets[0].width: true: expected a number"),
    "no width": ('"width": 2000,', '"width": 0,', "a sheet needs a width and a height"),
    "a negative width": ('"width": 2000,', '"width": -1,', "sheets[0].width: -1: negative"),
    "a sheet of 2 km": ('"width": 2000,', '"width": 2000000,', "sheets[0].width: 2000000: beyond 100000"),
    "a width forgotten": ('"width": 2000,', "", "the key width is missing"),
    "an unknown panel": ('"panel": "K-204/front/1"', '"panel": "ghost"', "].panel: ghost: there is no such panel"),
    "an unknown kind of cut": ('"kind": "trim"', '"kind": "saw"', "sheets[0].cuts[0].kind: saw: expected one of trim"),
    "an unknown side": ('"left"', '"front"', "sheets[0].raw[0]: front: expected one of left"),
    "an unknown edgework": ('"work": "polished"', '"work": "gilt"', "panels[0].edges[0].work: gilt: expected one"),
    "a negative allowance": ('"allowance": 1.5', '"allowance": -1.5', "panels[0].edges[0].allowance: -1.5: negative"),
    "an edge forgotten": ('"edges": [{', '"edges": [{"work": "cut", "allowance": 0}, {', "panels[0].edges: 5: the fin"),
    "no date": ('"due": null', '"due": "9 March"', "panels[0].due: 9 March: no date"),
    "a text for a flag": ('"narrow": false', '"narrow": "no"', "panels[0].narrow: no: expected true or false"),
    "a point of three": ('"from": [20, 0]', '"from": [20, 0, 0]', "sheets[0].cuts[0].from: [20, 0, 0]: expected two"),
    "a negative cost": ('"cost": 60,', '"cost": -60,', "sheets[0].cost: -60: negative"),
    "five levels": ('"levels": 3', '"levels": 5', "rules.clear-10: : levels is 5, expected 2, 3, 4 or free"),
    "another status": ('"status": "optimal"', '"status": "best"', "figures.by_glass.clear-10.status: best: expected"),
    "glass without rules": ('"rules": {', '"rules": {}, "rulez": {', "sheets[0].glass: clear-10: there are no rules"),
    "an outline of two points": ('"cut": [[-1.5, -1.5], ', '"cut": [[0, 0]], "c": [', "expected from 3 to 2000 points"),
    "a rack without a slot": ('"narrow"', '"rack": "A", "narrow"', "panels[0].slot: None: a rack and a slot go"),
    "a slot without a rack": ('"narrow"', '"slot": 3, "narrow"', "panels[0].slot: 3: a rack and a slot go together"),
    "half a slot": ('"narrow"', '"rack": "A", "slot": 1.5, "narrow"', "panels[0].slot: 1.5: expected a whole number"),
    "a cracked panel": ('"narrow"', '"tolerates": [["crack", "edge", 5]], "narrow"', "tolerates[0][0]: crack: expected"),
    "a zone unheard of": ('"narrow"', '"tolerates": [["seed", "rim", 5]], "narrow"', "tolerates[0][1]: rim: expected"),
    "a zone of no depth": ('"narrow"', '"tolerates": [["seed", "edge"]], "narrow"', "expected a kind, a zone and a d"),
    "a negative depth": ('"narrow"', '"tolerates": [["seed", "edge", -5]], "narrow"', "tolerates[0][2]: -5: negative"),
    "two kinds of a flaw": ('"flaws": []', '"flaws": [[1, 2, 3, 4]], "flaw_kinds": ["seed", "chip"]', "one kind for each"),
    "a flaw of no kind": ('"flaws": []', '"flaws": [[1, 2, 3, 4]], "flaw_kinds": ["imp"]', "flaw_kinds[0]: imp: expected"),
    "a crack for a spot": ('"flaws": []', '"flaws": [], "spots": [[1, 2, 3, 4, "crack"]]', "spots[0][4]: crack: expected"),
    "a spot of no kind": ('"flaws": []', '"flaws": [], "spots": [[1, 2, 3, 4]]', "expected four numbers and a kind"),
    "a spot inside out": ('"flaws": []', '"flaws": [], "spots": [[1, 2, -3, 4, "seed"]]', "spots[0][2]: -3: negative"),
    "taken as number -1": ('"flaws": []', '"flaws": [], "take": -1', "sheets[0].take: -1: expected a whole number"),
    "one level-1 width": ('"levels": 3', '"level1_width": [1], "levels": 3', "level1_width: [1]: expected two numbers"),
    "a negative level-1 width": ('"levels": 3', '"level1_width": [-1, null], "levels": 3', "level1_width[0]: -1: negative"),
    "a text for level 2": ('"levels": 3', '"level2_width": "1", "levels": 3', "level2_width: 1: expected a number"),
    "negative waste": ('"levels": 3', '"least_waste": -1, "levels": 3', "least_waste: -1: negative"),
    "perhaps once": ('"levels": 3', '"deepest_once": 1, "levels": 3', "deepest_once: 1: expected true or false"),
    "no list": ('"unplaced": []', '"unplaced": {}', "unplaced: {}: expected a list"),
    "cut short": ('"figures"', "", "no readable JSON"),
}  # fmt: skip


@pytest.mark.parametrize("name", EDITS)
def test_faults_are_named_with_their_place(name: str, hand_plan: Plan) -> None:
    old, new, expected = EDITS[name]
    text = dumps(hand_plan)
    assert old in text
    assert any(expected in fault for fault in faults(text.replace(old, new, 1))), faults(
        text.replace(old, new, 1)
    )


def test_all_faults_come_at_once_and_are_counted(hand_plan: Plan) -> None:
    text = dumps(hand_plan).replace('"kind": "main"', '"kind": "saw"')
    found = faults(text)
    assert len(found) == 5
    many = faults(dumps(hand_plan).replace('"work": "polished"', '"work": ""'))
    assert len(many) == 15  # twelve edges, and three panels whose edges no longer match


@pytest.mark.parametrize("text", ["", "null", "[]", "3", '"plan"', "{", "\ufeff{}", "[" * 10**5, "\0"])
def test_anything_else_is_no_plan(text: str) -> None:
    faults(text)


@given(data=st.data())
@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_value_in_any_place_is_read_or_named(data: st.DataObject, hand_plan: Plan) -> None:
    """A hostile file never gives another exception."""
    panel = replace(hand_plan.panels[0], rack="A", slot=1, tolerates=(Tolerance("seed", "edge", 30),))
    sheet = replace(
        hand_plan.layouts[0],
        flaws=((0, 0, 1, 1),),
        flaw_kinds=("chip",),
        take=1,
        spots=(Flaw(9, 9, 9, 9, "seed"),),
    )
    rules = {
        glass: replace(r, level1_width=(1, 2), level2_width=1, least_waste=1, deepest_once=True)
        for glass, r in hand_plan.rules.items()
    }
    plan = replace(hand_plan, rules=rules, panels=(panel, *hand_plan.panels[1:]), layouts=(sheet,))
    tree = json.loads(dumps(plan))
    node, key = tree, data.draw(st.sampled_from(sorted(tree)))
    while isinstance(node[key], (dict, list)) and node[key] and data.draw(st.booleans()):
        node = node[key]
        key = data.draw(st.sampled_from(sorted(node) if isinstance(node, dict) else list(range(len(node)))))
    node[key] = data.draw(
        st.sampled_from([None, True, -1, 0, 10**20, 0.1234567, "", "x", [], {}, [[]], [0, 0], {"cost": None}])
    )
    try:
        plan, stated = read(json.dumps(tree))
    except PlanFileError as error:
        assert error.problems
    else:
        check(plan)
        check_figures(plan, stated)


def test_files_that_are_no_text_are_named(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(b'{"schema": "\xff"}')
    with pytest.raises(PlanFileError, match="not in UTF-8 from byte 12 on"):
        load(path)
    with pytest.raises(FileNotFoundError):
        load(tmp_path / "none.json")


def test_a_float_never_goes_into_the_file(hand_plan: Plan) -> None:
    with pytest.raises(TypeError, match="no float"):
        dumps(replace(hand_plan, extra={"x": math.pi}))


@pytest.mark.parametrize(
    ("opening", "place"),
    [
        ({"kind": "groove"}, "kind"),
        ({"center": [1, 2], "diameter": 3}, ""),
        ({"kind": "hole", "center": [1], "diameter": 3}, "center"),
        ({"kind": "hole", "center": [1, 2], "diameter": -3}, "diameter"),
        ({"kind": "hole", "center": [1, 2]}, ""),
        ({"kind": "cut_out", "outline": [[0, 0], [1, 0]], "corner_radius": 1}, "outline"),
        ({"kind": "cut_out", "outline": [[0, 0], [1, 0], [1, "1"]]}, "outline[2][1]"),
        ({"kind": "cut_out", "outline": [[0, 0], [1, 0], [1, 1]], "corner_radius": -1}, "corner_radius"),
        ([], ""),
    ],
)
def test_openings_that_cannot_be_read(hand_plan: Plan, opening: object, place: str) -> None:
    data = json.loads(dumps(hand_plan))
    data["panels"][0]["openings"] = [opening]
    with pytest.raises(PlanFileError) as caught:
        loads(json.dumps(data))
    (found,) = caught.value.problems
    assert found.column == f"panels[0].openings[0]{'.' if place else ''}{place}"
    assert found.reason and found.remedy


def test_a_panel_has_a_sane_number_of_openings(hand_plan: Plan) -> None:
    data = json.loads(dumps(hand_plan))
    data["panels"][0]["openings"] = [{"kind": "hole", "center": [1, 2], "diameter": 3}] * 501
    with pytest.raises(PlanFileError, match="at most 500 openings"):
        loads(json.dumps(data))
