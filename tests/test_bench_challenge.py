"""The glass-cutting challenge of 2018: its instances, its published rules, and plans in its published form.

Sources: the problem description by Tlilane and Viaud (23 February 2018) as the README of the shared data tells
it, the organisers' example A0 with its solution (objective 899,226 mm2), and the winners' table of 2018-2019.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.bench_challenge_check import Broken, Node, broken_rules, objective, read_table
from panewright.io.bench_challenge_data import (
    Challenge,
    Defect,
    Item,
    Limits,
    best_known,
    challenge_names,
    read_challenge,
)
from panewright.io.bench_challenge_solution import nodes_of, table_text
from panewright.io.bench_data import BenchDataMissing
from panewright.io.bench_run import plan_of
from panewright.nesting.flaws import Flaw
from panewright.nesting.ordered.chains import chains, needs_order
from panewright.nesting.ordered.laid import Laid, Span
from panewright.nesting.units import mm

LIMITS = Limits(plates=100, width=6000, height=3210, least1=100, most1=3500, least2=100, waste=20)
EXAMPLE = Challenge(
    name="A0",
    limits=LIMITS,
    items=tuple(
        Item(number=n, length=a, width=b, stack=0, sequence=n + 1)
        for n, (a, b) in enumerate([(600, 600), (600, 600), (1242, 247)])
    ),
    defects=(
        Defect(number=0, plate=0, x=50, y=50, width=3, height=3),
        Defect(number=1, plate=0, x=3, y=3207, width=3, height=3),
        Defect(number=2, plate=3, x=1090, y=1685, width=2, height=4),
    ),
)
"""The organisers' example."""
SOLUTION = """PLATE_ID;NODE_ID;X;Y;WIDTH;HEIGHT;TYPE;CUT;PARENT
0;0;0;0;6000;3210;-2;0;
0;1;0;0;600;3210;-2;1;0
0;2;0;0;600;53;-1;2;1
0;3;0;53;600;600;0;2;1
0;4;0;653;600;600;1;2;1
0;5;0;1253;600;1242;-2;2;1
0;6;0;1253;247;1242;2;3;5
0;7;247;1253;353;1242;-1;3;5
0;8;0;2495;600;715;-1;2;1
0;9;600;0;5400;3210;-3;1;0
"""
"""The organisers' solution of it."""
ROWS = tuple(SOLUTION.splitlines())


def judged(text: str, challenge: Challenge = EXAMPLE) -> list[Broken]:
    nodes, broken = read_table(text)
    return broken or broken_rules(challenge, nodes)


def words(text: str, challenge: Challenge = EXAMPLE) -> set[str]:
    return {b.rule for b in judged(text, challenge)}


def edited(changes: dict[int, str | list[str]]) -> str:
    """The example's solution with other rows at these numbers of nodes, or with several, or with none."""
    out = [ROWS[0]]
    for number, row in enumerate(ROWS[1:]):
        new = changes.get(number, row)
        out += [new] if isinstance(new, str) else new
    return "\n".join(out) + "\n"


def test_the_organisers_solution_of_their_example_passes() -> None:
    nodes, broken = read_table(SOLUTION)
    assert not broken
    assert broken_rules(EXAMPLE, nodes) == []
    assert objective(EXAMPLE, nodes) == 899_226
    assert table_text(nodes) == SOLUTION


FAULTS: dict[str, tuple[str, set[str], Challenge]] = {
    "an item is left out": (edited({4: "0;4;0;653;600;600;-1;2;1"}), {"items"}, EXAMPLE),
    "an item is cut twice": (edited({8: ["0;8;0;2495;600;600;1;2;1", "0;10;0;3095;600;115;-1;2;1"]}),
                             {"items", "stacks"}, EXAMPLE),
    "there is no such item": (edited({8: "0;8;0;2495;600;715;3;2;1"}), {"items"}, replace(EXAMPLE, defects=())),
    "an item has another size": (edited({6: "0;6;0;1253;250;1242;2;3;5", 7: "0;7;250;1253;350;1242;-1;3;5"}),
                                 {"sizes"}, EXAMPLE),
    "a stack leaves in another order": (edited({3: "0;3;0;53;600;600;1;2;1", 4: "0;4;0;653;600;600;0;2;1"}),
                                        {"stacks"}, EXAMPLE),
    "an item has a defect": (edited({2: "0;2;0;0;600;52;-1;2;1", 3: "0;3;0;52;600;600;0;2;1",
                                     4: "0;4;0;652;600;600;1;2;1", 5: "0;5;0;1252;600;1242;-2;2;1",
                                     6: "0;6;0;1252;247;1242;2;3;5", 7: "0;7;247;1252;353;1242;-1;3;5",
                                     8: "0;8;0;2494;600;716;-1;2;1"}), {"defects"}, EXAMPLE),
    "a 1-cut goes through a defect": (SOLUTION, {"defects"}, replace(EXAMPLE, defects=(
        Defect(number=0, plate=0, x=599, y=3000, width=2, height=2),))),
    "a 2-cut goes through a defect": (SOLUTION, {"defects"}, replace(EXAMPLE, defects=(
        Defect(number=0, plate=0, x=300, y=2494, width=2, height=2),))),
    "a 3-cut goes through a defect": (SOLUTION, {"defects"}, replace(EXAMPLE, defects=(
        Defect(number=0, plate=0, x=245, y=1253, width=4, height=9),))),
    "waste is too narrow": (edited({8: ["0;8;0;2495;600;696;-1;2;1", "0;10;0;3191;600;19;-1;2;1"]}),
                            {"waste"}, EXAMPLE),
    "two 1-cuts are too far apart": (edited({9: "0;9;600;0;5400;3210;-1;1;0"}), {"1-cut"}, EXAMPLE),
    "two 1-cuts are too near": (SOLUTION, {"1-cut"}, replace(EXAMPLE, limits=replace(LIMITS, least1=601))),
    "two 2-cuts are too near": (SOLUTION, {"2-cut"}, replace(EXAMPLE, limits=replace(LIMITS, least2=601))),
    "a column is cut twice": (edited({7: ["0;7;247;1253;353;1242;-2;3;5", "0;10;247;1253;353;100;-1;4;7",
                                          "0;11;247;1353;353;100;-1;4;7", "0;12;247;1453;353;1042;-1;4;7"]}),
                              {"4-cut"}, EXAMPLE),
    "a 4-cut frees nothing": (edited({7: ["0;7;247;1253;353;1242;-2;3;5", "0;10;247;1253;353;100;-1;4;7",
                                          "0;11;247;1353;353;1142;-1;4;7"]}), {"4-cut"}, EXAMPLE),
    "there is a fifth cut": (edited({6: ["0;6;0;1253;267;1242;-2;3;5", "0;10;0;1253;267;1242;-2;4;6",
                                         "0;11;0;1253;247;1242;2;5;10", "0;12;247;1253;20;1242;-1;5;10"],
                                     7: "0;7;267;1253;333;1242;-1;3;5"}), {"4-cut", "partition"}, EXAMPLE),
    "a branch is cut into one piece": (edited({4: ["0;4;0;653;600;600;-2;2;1", "0;10;0;653;600;600;1;3;4"]}),
                                       {"partition"}, EXAMPLE),
    "two pieces overlap": (edited({7: "0;7;240;1253;360;1242;-1;3;5"}), {"partition"}, EXAMPLE),
    "a gap is left": (edited({8: "0;8;0;2500;600;710;-1;2;1"}), {"partition"}, EXAMPLE),
    "a branch is not filled": (edited({9: "0;9;600;0;5300;3210;-3;1;0"}), {"partition", "residual"}, EXAMPLE),
    "the residual lies within": (edited({8: "0;8;0;2495;600;715;-3;2;1", 9: [
        "0;9;600;0;3000;3210;-1;1;0", "0;10;3600;0;2400;3210;-1;1;0"]}), {"residual"}, EXAMPLE),
    "there are two residuals": (edited({8: "0;8;0;2495;600;715;-3;2;1"}), {"residual"}, EXAMPLE),
    "the residual is not on the last plate": (
        SOLUTION + "1;10;0;0;6000;3210;-2;0;\n1;11;0;0;3000;3210;-1;1;10\n1;12;3000;0;3000;3210;-1;1;10\n",
        {"residual"}, EXAMPLE),
    "the first plate is passed over": ("\n".join([ROWS[0], *("1" + r[1:] for r in ROWS[1:])]),
                                       {"plates"}, replace(EXAMPLE, defects=())),
    "there are too few plates": (SOLUTION, {"plates"}, replace(EXAMPLE, limits=replace(LIMITS, plates=0))),
    "the plate has another size": (SOLUTION, {"plates", "residual"},
                                   replace(EXAMPLE, limits=replace(LIMITS, width=6100))),
    "a number is used twice": (edited({8: "0;7;0;2495;600;715;-1;2;1"}), {"nodes"}, EXAMPLE),
    "a parent is missing": (edited({8: "0;8;0;2495;600;715;-1;2;77"}), {"nodes", "partition"}, EXAMPLE),
    "a parent is no branch": (edited({8: "0;8;0;2495;600;715;-1;2;9"}), {"nodes", "partition"}, EXAMPLE),
    "a cut is passed over": (edited({8: "0;8;0;2495;600;715;-1;3;1"}), {"nodes", "partition"}, EXAMPLE),
    "a column is missing": (SOLUTION.replace(";PARENT", ""), {"table"}, EXAMPLE),
    "a row has words": (edited({8: "0;8;0;2495;600;715;waste;2;1"}), {"table"}, EXAMPLE),
}  # fmt: skip


@pytest.mark.parametrize("name", list(FAULTS))
def test_each_planted_fault_is_refused_by_its_rule(name: str) -> None:
    text, wanted, challenge = FAULTS[name]
    assert words(text, challenge) == wanted
    assert all(str(b) for b in judged(text, challenge))


def test_a_single_number_that_differs_is_refused() -> None:
    for number, row in enumerate(ROWS[1:]):
        for column in range(2, 8):
            for by in (-1, 1):
                fields = row.split(";")
                fields[column] = str(int(fields[column]) + by)
                assert judged(edited({number: ";".join(fields)})), fields


@settings(max_examples=60)
@given(st.lists(st.tuples(*[st.integers(-3, 9)] * 8, st.one_of(st.none(), st.integers(0, 9))), max_size=12))
def test_no_table_makes_the_checker_stumble(rows: list[tuple[int | None, ...]]) -> None:
    text = "\n".join([ROWS[0], *(";".join("" if v is None else str(v) for v in row) for row in rows)])
    assert judged(text)


# ------------------------------------------------------------------------------- a plan in this form


def written(challenge: Challenge, patterns: Sequence[Laid]) -> tuple[list[Node], list[Broken]]:
    instance = challenge.instance(3)
    text = table_text(nodes_of(challenge, plan_of(patterns, instance, 0)))
    nodes, broken = read_table(text)
    return nodes, broken or broken_rules(challenge, nodes)


def test_a_plan_becomes_the_organisers_table() -> None:
    instance = EXAMPLE.instance(3)
    u = mm(1) // instance.unit
    assert needs_order(EXAMPLE.panels, EXAMPLE.stock(3), EXAMPLE.rules)
    (chain,) = chains(instance)
    rect = {uses[0][0]: k for k, r in enumerate(instance.rects) for uses in [r.uses]}
    a, b, c = (rect[t] for t in chain)
    strip = Span(600 * u, parts=(
        Span(53 * u), Span(653 * u, parts=(Span(600 * u, a),)), Span(1253 * u, parts=(Span(600 * u, b),)),
        Span(2495 * u, parts=(Span(247 * u, c), Span(600 * u))), Span(3210 * u),
    ))  # fmt: skip
    nodes, broken = written(EXAMPLE, [Laid(0, 0, (strip, Span(6000 * u)))])
    assert broken == []
    assert table_text(nodes) == SOLUTION


def test_wide_waste_of_a_full_plate_is_cut_again_beside_the_defects() -> None:
    """Items on two plates; on the first one 5400 mm of waste stand right of the last strip."""
    items = tuple(
        Item(number=n, length=a, width=b, stack=n, sequence=1)
        for n, (a, b) in enumerate([(3210, 600), (3100, 700), (2000, 700)])
    )
    defects = (
        Defect(number=0, plate=0, x=4099, y=9, width=2, height=2),
        Defect(number=1, plate=0, x=4098, y=3000, width=2, height=1),
    )
    challenge = Challenge(name="A0", limits=LIMITS, items=items, defects=defects)
    assert challenge.free
    instance = challenge.instance(3)
    u = mm(1) // instance.unit
    rect = {r.uses[0][0]: k for k, r in enumerate(instance.rects)}
    kind = {(t.panels[0].name): k for k, t in enumerate(instance.types)}
    a, b, c = (rect[kind[f"{n:04d}"]] for n in range(3))
    first = Laid(0, 0, (Span(600 * u, parts=(Span(3210 * u, parts=(Span(600 * u, a),)),)), Span(6000 * u)))
    second = Laid(1, 0, (
        Span(3100 * u, parts=(Span(700 * u, parts=(Span(3100 * u, b),)),
                              Span(1400 * u, parts=(Span(2000 * u, c), Span(3100 * u))), Span(3210 * u))),
        Span(6000 * u),
    ))  # fmt: skip
    nodes, broken = written(challenge, [first, second])
    assert broken == []
    assert [(n.x, n.width, n.kind) for n in nodes if n.cut == 1] == [
        (0, 600, 0), (600, 3498, -1), (4098, 1902, -1), (0, 3100, -2), (3100, 2900, -3)
    ]  # fmt: skip
    assert objective(challenge, nodes) == 3210 * (12000 - 2900) - 3210 * 600 - 3100 * 700 - 2000 * 700


# -------------------------------------------------------------------------------------- the stored data


def test_every_instance_is_the_one_of_the_table(data_folder: Path) -> None:
    """Items, stacks, defects and areas; the objective recomputed from plates and residual (A6: see README)."""
    known = best_known(data_folder)
    names = challenge_names(data_folder)
    assert len(names) == 35 and sorted(names) == sorted(known)
    for name in names:
        one, told = read_challenge(data_folder, name), known[name]
        stacks = {i.stack for i in one.items}
        assert (len(one.items), len(stacks), len(one.defects), one.area) == (
            told.items, told.stacks, told.defects, told.area,
        )  # fmt: skip
        assert one.limits == LIMITS
        found = LIMITS.height * (LIMITS.width * told.plates - told.residual) - one.area
        assert found == told.recomputed
        assert (found == told.best) is (name != "A6")
        assert told.best <= told.winner_180
        assert one.free is (name in ("A2", "B1", "B7"))
    assert (known["A6"].best, known["A6"].recomputed) == (3_188_646, 3_225_930)


def test_the_stored_example_is_the_organisers(data_folder: Path) -> None:
    assert read_challenge(data_folder, "A0") == EXAMPLE
    stored = data_folder / "roadef2018" / "example_A0" / "A0_solution.csv"
    assert judged(stored.read_text(encoding="utf-8")) == []
    assert stored.read_text(encoding="utf-8").split() == SOLUTION.split()


def test_racks_flaws_and_rules_of_an_instance(data_folder: Path) -> None:
    """A20 has ten stacks, nine of them with one item."""
    one = read_challenge(data_folder, "A20")
    assert sum(bool(p.rack) for p in one.panels) == 8
    assert {(p.rack, p.slot) for p in one.panels if p.rack} == {("stack 0", k) for k in range(1, 9)}
    stock = one.stock()
    assert [s.take for s in stock] == list(range(1, len(stock) + 1))
    assert len(one.stock(200)) == 100
    assert stock[1].flaws == (Flaw(mm(4090), mm(1951), mm(1), mm(2), "seed"),)
    assert all(s.raw == () and s.cost == stock[0].cost and s.on_hand == 1 for s in stock)
    rules = one.rules
    assert (rules.levels, rules.last_cut, rules.deepest_once) == (4, False, True)
    assert (rules.level1_width, rules.level2_width) == ((mm(100), mm(3500)), mm(100))
    assert rules.least_waste == rules.break_out == mm(20)


@pytest.mark.parametrize(
    ("file", "change"),
    [
        ("A1_batch.csv", lambda t: t.replace("0;1578", "9;1578")),
        ("A1_batch.csv", lambda t: t.replace("0;1578", "0;-1578")),
        ("A1_batch.csv", lambda t: t.replace("0;1578", "0;1578.5")),
        ("A1_batch.csv", lambda t: t.replace(";0;2", ";0;1")),
        ("A1_batch.csv", lambda t: t.replace("STACK", "PILE")),
        ("A1_batch.csv", lambda t: t.splitlines()[0]),
        ("A1_batch.csv", lambda t: t + "5;1;" + "1" * 200_000 + ";0;6\n"),
        ("A1_batch.csv", lambda t: "\x00" + t),
        ("A1_defects.csv", lambda t: t.replace("0;0;2150.0", "0;100;2150.0")),
        ("A1_defects.csv", lambda t: t.replace("0;0;2150.0", "0;0;5999.0")),
        ("A1_defects.csv", lambda t: t.replace("0;0;2150.0", "1;0;2150.0")),
        ("A1_defects.csv", lambda t: t.replace("2150.0", "nan")),
        ("global_param.csv", lambda t: t.replace("min1Cut;100", "min1Cut;4000")),
        ("global_param.csv", lambda t: t.replace("minWaste", "leastWaste")),
        ("global_param.csv", lambda t: t.replace("nPlates;100", "nPlates;9999999999999999999")),
    ],
)  # fmt: skip
def test_what_is_not_as_described_is_refused(
    file: str, change: Callable[[str], str], data_folder: Path, tmp_path: Path
) -> None:
    for name in ("A1_batch.csv", "A1_defects.csv", "global_param.csv"):
        inside = name if name == "global_param.csv" else f"A/{name}"
        text = (data_folder / "roadef2018" / inside).read_text(encoding="utf-8")
        path = tmp_path / "roadef2018" / inside
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(change(text) if name == file else text, encoding="utf-8")
    with pytest.raises(BenchDataMissing):
        read_challenge(tmp_path, "A1")


@pytest.mark.parametrize("name", ["Z1", "../A1", "A", "A1x", "A٣", "", "A0/../A1"])
def test_names_that_are_none(name: str, data_folder: Path) -> None:
    with pytest.raises(BenchDataMissing):
        read_challenge(data_folder, name)
    with pytest.raises(BenchDataMissing):
        challenge_names(data_folder, ["Q"])
