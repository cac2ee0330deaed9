"""What codes on labels say: written, read back, and refused where they do not fit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st

from panewright.io.piece_codes import (
    BadCode,
    Named,
    offcut_code,
    offcut_of,
    panel_code,
    panel_of,
    plan_code,
    read_code,
    sheet_code,
    sheet_of,
)
from panewright.nesting.panels import Panel
from panewright.nesting.plan import LeafKind, Plan

# letters of the alphanumeric mode (ISO/IEC 18004:2015, table 5)
ALPHANUMERIC = set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


def offcuts(plan: Plan) -> list[str]:
    return [leaf.offcut for layout in plan.layouts for leaf in layout.leaves if leaf.offcut]


def test_every_piece_of_a_plan_comes_back(hand_plan: Plan, pentagon_plan: Plan):
    for plan in (hand_plan, pentagon_plan):
        for i, panel in enumerate(plan.panels):
            assert panel_of(plan, read_code(str(panel_code(plan, i)))) is panel
        for number in offcuts(plan):
            assert offcut_of(plan, read_code(str(offcut_code(plan, number)).lower())) == number
        for layout in plan.layouts:
            assert sheet_of(plan, read_code(f" {sheet_code(plan, layout)}\n")) is layout
        assert read_code(str(plan_code(plan))).named is Named.PLAN


def test_codes_are_small(hand_plan: Plan, make_panel: Callable[..., Panel]):
    many = replace(hand_plan, panels=tuple(replace(hand_plan.panels[0], id=f"x/{i}") for i in range(1500)))
    code = str(panel_code(many, 1499))
    assert set(code) <= ALPHANUMERIC
    # version 1 holds 20 such letters at level M (ISO/IEC 18004:2015, table 7)
    assert len(code) <= 20
    assert segno.make(code, error="m", micro=False, boost_error=False).version == 1


@given(st.text(max_size=250), st.text(max_size=250))
def test_odd_ids_are_told_apart(first: str, second: str):
    plan = _plan_of(first, second + "'")
    for i in (0, 1):
        assert panel_of(plan, read_code(str(panel_code(plan, i)))).id == plan.panels[i].id


_BASE: list[Plan] = []


@pytest.fixture(autouse=True)
def _base(hand_plan: Plan):
    _BASE[:] = [hand_plan]


def _plan_of(*ids: str) -> Plan:
    plan = _BASE[0]
    return replace(plan, panels=tuple(replace(plan.panels[0], id=one) for one in ids))


def test_another_panel_at_that_place_is_found_out(hand_plan: Plan):
    code = panel_code(hand_plan, 0)
    first, *rest = hand_plan.panels
    changed = replace(hand_plan, panels=(replace(first, id="other/one/1"), *rest))
    with pytest.raises(BadCode, match="no such panel"):
        panel_of(changed, code)
    with pytest.raises(BadCode, match="belongs to plan"):
        panel_of(replace(hand_plan, id="0000-0000"), code)


def test_misread_letters_are_found_out(hand_plan: Plan):
    # one wrong letter of the field: 10 check bits let one in 1024 through, none of these
    code = str(sheet_code(hand_plan, hand_plan.layouts[0]))
    head, plan, field, check = code.split("/")
    refused = 0
    for letter in "023456789ABCDEFGHJKMNPQRSTVWXYZ":
        with pytest.raises(BadCode, match="misread"):
            read_code(f"{head}/{plan}/{letter}/{check}")
        refused += 1
    assert field == "1" and refused == 31


@pytest.mark.parametrize(
    "text", ["", "PW1P", "PW2P/Q7K29DMX/1/00", "http://x", "PW1P/Q7K29DML/1/00", "PW1P//1/00"]
)
def test_other_texts_are_no_codes(text: str):
    with pytest.raises(BadCode, match="names no piece"):
        read_code(text)


def test_offcuts_with_other_numbers_go_by_place(hand_plan: Plan):
    layout = hand_plan.layouts[0]
    odd = {leaf.piece: f"rack <{i}>" for i, leaf in enumerate(layout.leaves) if leaf.kind is LeafKind.OFFCUT}
    leaves = tuple(replace(leaf, offcut=odd.get(leaf.piece, leaf.offcut)) for leaf in layout.leaves)
    plan = replace(hand_plan, layouts=(replace(layout, leaves=leaves),))
    for number in odd.values():
        code = offcut_code(plan, number)
        assert code.offcut is None and offcut_of(plan, read_code(str(code))) == number
    # the same pieces listed in another order keep their codes
    turned = replace(plan, layouts=(replace(layout, leaves=leaves[::-1]),))
    assert [str(offcut_code(turned, n)) for n in odd.values()] == [
        str(offcut_code(plan, n)) for n in odd.values()
    ]


def test_an_offcut_code_is_read_without_its_plan(hand_plan: Plan):
    number = offcuts(hand_plan)[0]
    assert read_code(str(offcut_code(hand_plan, number))).offcut == number
