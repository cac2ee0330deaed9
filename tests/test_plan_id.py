"""The name of a plan: what counts in it and what does not."""

from __future__ import annotations

import dataclasses
import json
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.nesting.outlines import rectangle
from panewright.nesting.plan import Cut, CutKind, Layout, Leaf, LeafKind
from panewright.nesting.plan_id import CROCKFORD, compact_json, offcut_number, plan_id
from panewright.nesting.stock import Trim
from panewright.nesting.units import mm

texts = st.text(st.characters(codec="utf-8"))
values = st.recursive(st.integers() | texts, lambda inner: st.lists(inner), max_leaves=20)


def layout(number: int = 1, x: int = 0) -> Layout:
    panel = Leaf(
        piece="s.1", outline=rectangle(mm(400), mm(500), x=x), kind=LeafKind.PANEL, panel="Ä-1/front/1"
    )
    rest = Leaf(
        piece="s.2", outline=rectangle(mm(600), mm(500), x=mm(400)), kind=LeafKind.OFFCUT, offcut="N.1.a"
    )
    cut = Cut(
        step=1,
        piece="s",
        start=(mm(400), 0),
        end=(mm(400), mm(500)),
        makes=("s.1", "s.2"),
        kind=CutKind.MAIN,
        level=1,
    )
    return Layout(
        number=number,
        glass="clear-10",
        stock="clear-10 1000x500",
        is_offcut=False,
        cost=0,
        width=mm(1000),
        height=mm(500),
        raw=(),
        trim=Trim(),
        cuts=(cut,),
        leaves=(panel, rest),
    )


@given(values)
def test_compact_json_is_that_of_the_standard_library(value: object) -> None:
    assert compact_json(value) == json.dumps(value, separators=(",", ":"), ensure_ascii=False)


@pytest.mark.parametrize("value", [1.5, None, True, {"a": 1}, (1, 2)])
def test_compact_json_refuses_what_a_name_never_holds(value: object) -> None:
    with pytest.raises(TypeError):
        compact_json([value])


def test_name_is_hashed_as_the_plan_file_says() -> None:
    panel = [
        [0, 0],
        [400_000_000, 0],
        [400_000_000, 500_000_000],
        [0, 500_000_000],
    ]
    rest = [
        [400_000_000, 0],
        [1_000_000_000, 0],
        [1_000_000_000, 500_000_000],
        [400_000_000, 500_000_000],
    ]
    leaves = [["offcut", "", rest], ["panel", "Ä-1/front/1", panel]]
    text = json.dumps(
        ["panewright.plan/1", 7, [[1, "clear-10 1000x500", leaves]]],
        separators=(",", ":"),
        ensure_ascii=False,
    )
    bits = f"{int(sha256(text.encode()).hexdigest(), 16):0256b}"
    name = "".join(CROCKFORD[int(bits[i : i + 5], 2)] for i in range(0, 40, 5))
    assert plan_id(7, [layout()]) == f"{name[:4]}-{name[4:]}"


def test_alphabet_leaves_out_the_letters_that_are_misread() -> None:
    # 0-9 and A-Z without I, L, O, U: D. Crockford, Base 32 (2002)
    assert len(CROCKFORD) == 32
    assert sorted(CROCKFORD) == list(CROCKFORD)
    assert not set("ILOU") & set(CROCKFORD)


def test_order_of_work_does_not_count() -> None:
    one, two = layout(1), layout(2)
    turned = dataclasses.replace(
        one,
        cuts=(),
        leaves=tuple(
            dataclasses.replace(leaf, piece=f"x{i}", outline=(*leaf.outline[2:], *leaf.outline[:2]))
            for i, leaf in enumerate(reversed(one.leaves))
        ),
    )
    assert plan_id(0, [one, two]) == plan_id(0, [two, turned])


def test_a_piece_elsewhere_another_seed_or_stock_changes_it() -> None:
    one = layout()
    others = [
        plan_id(0, [layout(x=1)]),
        plan_id(1, [one]),
        plan_id(0, [layout(2)]),
        plan_id(0, [dataclasses.replace(one, stock="other")]),
        plan_id(0, []),
    ]
    assert len({plan_id(0, [one]), *others}) == 6


def test_offcut_numbers_run_on_after_z() -> None:
    numbers = [offcut_number("Q7K2-9DMX", 3, i).removeprefix("Q7K2-9DMX.3.") for i in range(800)]
    assert numbers[:2] == ["a", "b"]
    assert numbers[25:28] == ["z", "aa", "ab"]
    assert numbers[701:703] == ["zz", "aaa"]
    assert len(set(numbers)) == 800
