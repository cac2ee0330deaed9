"""Labels: order, places on the sheet, what stands on them, and their codes as an independent reader sees them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from panewright.io.label_face import LETTERS
from panewright.io.piece_codes import Named, offcut_of, panel_of, read_code
from panewright.io.piece_labels import faces, labels_bytes
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.panels import Panel
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.sequence import steps_of
from panewright.nesting.shop_table import LabelSheet, Paper
from panewright.nesting.units import mm

SMALL = LabelSheet(
    columns=5, rows=13, width=mm(38), height=mm(21), left=mm(10), top=mm(11), across=mm(38), down=mm(21)
)
ROLL = LabelSheet(paper=None, columns=1, rows=1, width=mm(100), height=mm(60))
LETTER = LabelSheet(
    paper=Paper.LETTER,
    columns=2,
    rows=5,
    width=mm("101.6"),
    height=mm("50.8"),
    left=mm(4),
    top=mm("12.7"),
    across=mm(106),
    down=mm("50.8"),
)


def pieces(plan: Plan) -> list[str]:
    """Panels and offcuts in the order of the printed steps."""
    found = []
    for layout in plan.layouts:
        for step in steps_of(plan, layout):
            found += [result.panel or result.offcut or "" for result in step.makes]
    return [one for one in found if one]


def read(plan: Plan, text: str) -> str:
    code = read_code(text)
    return panel_of(plan, code).id if code.named is Named.PANEL else offcut_of(plan, code)


@pytest.mark.parametrize("form", [LabelSheet(), SMALL, ROLL, LETTER])
def test_codes_of_a_page_are_read_at_200_dpi(
    read_pdf: type, hand_plan: Plan, octagon_plan: Plan, form: LabelSheet
):
    for plan in (hand_plan, octagon_plan):
        pdf = read_pdf(labels_bytes(plan, form=form))
        found = [read(plan, text) for i in range(len(pdf)) for text in pdf.codes(i)]
        assert sorted(found) == sorted(pieces(plan))


def test_a_full_page_of_small_labels_is_read(read_pdf: type, hand_plan: Plan):
    layouts = tuple(replace(hand_plan.layouts[0], number=n) for n in range(1, 14))
    plan = replace(hand_plan, layouts=layouts)
    pdf = read_pdf(labels_bytes(plan, form=SMALL))
    assert len(pdf) == 1 and len(pdf.codes(0)) == 65 == 13 * len(pieces(hand_plan))


def test_labels_come_in_the_order_of_the_table(hand_plan: Plan, trapezoids: Plan):
    for plan in (hand_plan, trapezoids):
        for habit in ("stop", "strip"):
            cut = replace(plan, layouts=tuple(replace(la, habit=habit) for la in plan.layouts))
            assert [face.leaf.panel or face.leaf.offcut for face in faces(cut)] == pieces(cut)


def test_the_roll_has_one_label_a_page(read_pdf: type, hand_plan: Plan):
    pdf = read_pdf(labels_bytes(hand_plan, form=ROLL))
    assert pdf.sizes() == {(100.0, 60.0)}
    # page by page in that order
    assert [read(hand_plan, pdf.codes(i)[0]) for i in range(len(pdf))] == pieces(hand_plan)


def test_a_sheet_that_was_used_goes_on(read_pdf: type, hand_plan: Plan):
    form = LabelSheet()
    pdf = read_pdf(labels_bytes(hand_plan, form=form, first=8))
    # three labels are left of ten; the other two go to the next page
    assert [len(pdf.codes(i)) for i in range(len(pdf))] == [3, 2]
    picture = pdf.picture(0)
    assert (picture[: round(picture.shape[0] * (6 + 3 * 57) / 297)] > 250).all()
    for bad in (0, 11):
        with pytest.raises(ValueError, match="no position"):
            labels_bytes(hand_plan, form=form, first=bad)


def test_labels_stay_within_their_places(read_pdf: type, hand_plan: Plan):
    # a name of 200 letters runs into no neighbour: the gap between two labels stays white
    form = replace(LabelSheet(), width=mm(95), height=mm(52))
    panels = tuple(replace(p, order="W" * 200, name="M" * 200, note="x") for p in hand_plan.panels)
    pdf = read_pdf(labels_bytes(replace(hand_plan, panels=panels), form=form))
    picture = pdf.picture(0)
    dots = picture.shape[1] / 210
    column = picture[:, round((6 + 95) * dots) + 2 : round((6 + 99) * dots) - 2]
    row = picture[round((6 + 52) * dots) + 2 : round((6 + 57) * dots) - 2]
    assert column.size and row.size and (column > 250).all() and (row > 250).all()


def test_what_stands_on_a_label(read_pdf: type, hand_plan: Plan):
    first, *rest = hand_plan.panels
    first = replace(first, due=date(2027, 3, 9))
    plan = replace(hand_plan, panels=(first, *rest))
    pdf = read_pdf(labels_bytes(plan, form=ROLL, slots={first.order: "B 7"}))
    text = pdf.texts[pieces(plan).index(first.id)]
    for words in ("K-204", "front", "697 x 497 mm", "clear-10", "due 2027-03-09", "B 7", "polished", plan.id):
        assert words in text
    other = pdf.texts[pieces(plan).index("K-205/left side/1")]
    assert "B 7" not in other
    kept = next(leaf for leaf in plan.layouts[0].leaves if leaf.kind is LeafKind.OFFCUT)
    text = pdf.texts[pieces(plan).index(kept.offcut or "")]
    assert kept.offcut and kept.offcut in text and "keep" in text
    assert "raw" in text


def test_worked_edges_bear_their_letters(read_pdf: type, hand_plan: Plan, make_panel: Callable[..., Panel]):
    works = (Work.GROUND, Work.CUT, Work.SEAMED, Work.BEVEL)
    first, *rest = hand_plan.panels
    edges = tuple(replace(edge, work=work) for edge, work in zip(first.edges, works, strict=True))
    plan = replace(hand_plan, panels=(replace(first, edges=edges), *rest))
    text = read_pdf(labels_bytes(plan, form=ROLL)).texts[pieces(plan).index(first.id)]
    letters = re.findall(r"\b[A-Z]\b", text)
    for work in works:
        # once at the edge, once beside its meaning
        assert letters.count(LETTERS.get(work, "-")) == (0 if work is Work.CUT else 2)
    assert len(set(LETTERS.values())) == len(LETTERS)
    plain = replace(first, edges=tuple(Edge() for _ in first.edges))
    text = read_pdf(labels_bytes(replace(plan, panels=(plain, *rest)), form=ROLL)).texts[
        pieces(plan).index(first.id)
    ]
    assert "edges as cut" in text


def test_odd_names_leave_the_code_alone(odd_names: dict[str, str], read_pdf: type, hand_plan: Plan):
    for name in odd_names.values():
        panels = tuple(
            replace(p, id=f"{name}/{i}", order=name, name=name) for i, p in enumerate(hand_plan.panels)
        )
        ids = {old.id: new.id for old, new in zip(hand_plan.panels, panels, strict=True)}
        layout = hand_plan.layouts[0]
        leaves = tuple(replace(leaf, panel=ids.get(leaf.panel or "")) for leaf in layout.leaves)
        plan = replace(hand_plan, panels=panels, layouts=(replace(layout, leaves=leaves),))
        for form in (LabelSheet(), SMALL):
            pdf = read_pdf(labels_bytes(plan, form=form))
            assert sorted(read(plan, text) for text in pdf.codes(0)) == sorted(pieces(plan))


def test_the_same_plan_gives_the_same_bytes(hand_plan: Plan):
    assert labels_bytes(hand_plan) == labels_bytes(replace(hand_plan))
