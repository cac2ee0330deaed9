"""The record code: it comes back whole, and nothing that was changed on the way is taken for a code."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.record_code import (
    EPOCH,
    Done,
    RecordCodeError,
    decode,
    encode,
    plan_of_code,
    subjects_of,
)
from panewright.nesting.happened import AtStep
from panewright.nesting.plan import Leaf, LeafKind, Plan
from panewright.nesting.plan_id import CROCKFORD
from panewright.nesting.units import mm


def large_plan(plan: Plan, sheets: int, panels: int, offcuts: int) -> Plan:
    """A plan of this many things; only their names matter to a code."""
    square = ((0, 0), (mm(9), 0), (mm(9), mm(9)), (0, mm(9)))
    layouts = []
    for number in range(1, sheets + 1):
        names = [f"K-{i}/front/1" for i in range(panels) if i % sheets == number - 1]
        leaves = [Leaf(piece=n, outline=square, kind=LeafKind.PANEL, panel=n) for n in names]
        kept = [f"{plan.id}.{number}.{i}" for i in range(offcuts) if i % sheets == number - 1]
        leaves += [Leaf(piece=n, outline=square, kind=LeafKind.OFFCUT, offcut=n) for n in kept]
        layouts.append(replace(plan.layouts[0], number=number, leaves=tuple(leaves)))
    return replace(plan, layouts=tuple(layouts))


@st.composite
def states(draw: st.DrawFn, plan: Plan) -> Done:
    known = subjects_of(plan)
    broken = draw(st.dictionaries(st.sampled_from(known.panels), st.sampled_from(AtStep), max_size=30))
    offcuts = draw(st.dictionaries(st.sampled_from(known.offcuts), st.booleans()))
    minutes = draw(st.none() | st.integers(1, 2**25 - 1))
    return Done(
        sheets=draw(st.frozensets(st.sampled_from(known.sheets))),
        broken=broken,
        offcuts=offcuts,
        at=None if minutes is None else EPOCH + timedelta(minutes=minutes),
    )


def test_a_code_comes_back(hand_plan: Plan) -> None:
    plan = large_plan(hand_plan, 17, 90, 6)

    @settings(derandomize=True, max_examples=60, deadline=None)
    @given(states(plan))
    def comes_back(done: Done) -> None:
        text = encode(plan, done)
        assert decode(plan, text) == done
        assert plan_of_code(text) == plan.id
        assert set(text) <= set(CROCKFORD) | {"-"}

    comes_back()


def test_a_code_is_read_as_people_write_it(hand_plan: Plan) -> None:
    # Crockford, Base 32 (2002): O is read as 0, I and L as 1, small letters as large ones, dashes are skipped
    done = Done(sheets=frozenset({1}), at=datetime(2027, 3, 8, 9, 41, tzinfo=UTC))
    text = encode(hand_plan, done)
    typed = text.lower().replace("0", "o").replace("1", "l").replace("-", " \u2013 ")
    assert decode(hand_plan, f"  {typed}\n") == done
    assert decode(hand_plan, text.replace("-", "").replace("1", "I")) == done


def test_the_state_of_a_small_day_can_be_typed(hand_plan: Plan) -> None:
    plan = large_plan(hand_plan, 14, 284, 6)
    done = Done(sheets=frozenset(range(1, 6)), at=datetime(2027, 3, 8, 15, 0, tzinfo=UTC))
    assert len(encode(plan, done).replace("-", "")) <= 28


def test_a_large_plan_fits_a_qr_code(hand_plan: Plan) -> None:
    # ISO/IEC 18004, table 7: version 25 level M holds 1,451 alphanumeric characters
    plan = large_plan(hand_plan, 100, 1500, 6)
    known = subjects_of(plan)
    broken = dict.fromkeys(known.panels[::10], AtStep.EDGING)
    done = Done(
        sheets=frozenset(known.sheets[::2]), broken=broken, offcuts=dict.fromkeys(known.offcuts, True)
    )
    text = encode(plan, done)
    assert decode(plan, text) == done
    assert len(text) <= 1451


def test_every_wrong_letter_is_found(hand_plan: Plan) -> None:
    known = subjects_of(hand_plan)
    done = Done(
        sheets=frozenset({1}), broken={known.panels[1]: AtStep.BREAKING}, offcuts={known.offcuts[0]: True}
    )
    letters = encode(hand_plan, done).replace("-", "")
    for i, letter in enumerate(letters):
        for other in CROCKFORD:
            if other != letter:
                with pytest.raises(RecordCodeError):
                    decode(hand_plan, letters[:i] + other + letters[i + 1 :])


def test_swapped_lost_and_added_letters_are_found(hand_plan: Plan) -> None:
    letters = encode(hand_plan, Done(sheets=frozenset({1}), at=EPOCH + timedelta(days=2000))).replace("-", "")
    changed = {letters[:i] + letters[i + 1 :] for i in range(len(letters))}
    changed |= {letters[:i] + c + letters[i:] for i in range(len(letters)) for c in "0Z"}
    changed |= {letters[:i] + letters[i + 1] + letters[i] + letters[i + 2 :] for i in range(len(letters) - 1)}
    changed |= {letters + "0", letters * 2, letters[:-6], letters[:14]}
    for text in changed - {letters}:
        with pytest.raises(RecordCodeError):
            decode(hand_plan, text)


@pytest.mark.parametrize(
    "text", ["", "-", "U" * 30, "ß" * 30, "0" * 30, "0" * 10**5, "\x00", "🪟" * 20, "<script>"]
)
def test_no_code_is_refused(hand_plan: Plan, text: str) -> None:
    with pytest.raises(RecordCodeError) as error:
        decode(hand_plan, text)
    assert str(error.value).isprintable()


def test_random_letters_are_refused(hand_plan: Plan) -> None:
    @settings(derandomize=True, max_examples=100, deadline=None)
    @given(st.text(CROCKFORD, min_size=15, max_size=60))
    def refused(text: str) -> None:
        with pytest.raises(RecordCodeError):
            decode(hand_plan, text)

    refused()


def test_a_code_of_another_plan_is_refused(hand_plan: Plan) -> None:
    text = encode(hand_plan, Done())
    with pytest.raises(RecordCodeError, match=hand_plan.id):
        decode(replace(hand_plan, id="0000-0000"), text)
    # the same id, but fewer things: what the code tells does not fit
    few = large_plan(hand_plan, 1, 1, 0)
    whole = encode(hand_plan, Done(broken={subjects_of(hand_plan).panels[-1]: AtStep.SCORING}))
    with pytest.raises(RecordCodeError):
        decode(few, whole)


def test_what_the_plan_does_not_have_cannot_be_told(hand_plan: Plan) -> None:
    for done in (Done(sheets=frozenset({7})), Done(broken={"x": AtStep.SCORING}), Done(offcuts={"x": True})):
        with pytest.raises(KeyError):
            encode(hand_plan, done)


def test_the_checksum_is_the_published_one(hand_plan: Plan) -> None:
    # BIP 350, test vectors: "A1LQFN3A" is valid. There the values are the expanded prefix "a" (3, 0, 1), then
    # the data part in BIP 173's own alphabet.
    from panewright.io import record_code

    alphabet = "qpzry9x8gf2tvdw0s3jn54khce6mua7l"
    values = [ord("a") >> 5, 0, ord("a") & 31]
    assert record_code._check(values) == [alphabet.index(c) for c in "lqfn3a"]


def test_the_code_does_not_depend_on_the_order_of_cuts(hand_plan: Plan) -> None:
    layout = hand_plan.layouts[0]
    turned = replace(
        hand_plan, panels=hand_plan.panels[::-1], layouts=(replace(layout, leaves=layout.leaves[::-1]),)
    )
    done = Done(broken={hand_plan.panels[0].id: AtStep.HANDLING})
    assert encode(turned, done) == encode(hand_plan, done)
