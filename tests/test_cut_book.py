"""The cut book: pages, text, steps and codes read back; odd names, black and white, the same bytes twice."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from panewright.cli.main import app
from panewright.io import palette
from panewright.io.book_sheet import standing_words
from panewright.io.cut_book import book_bytes
from panewright.io.pdf_drawing import pdf_bytes
from panewright.io.piece_codes import plan_code, sheet_code
from panewright.io.plan_file import dumps
from panewright.io.scene import Polyline, Tint, panel_scene, sheet_scene
from panewright.io.scene_model import Sketch, Text
from panewright.io.waste_scene import shares_of
from panewright.nesting.figures import figures_of
from panewright.nesting.outlines import rectangle
from panewright.nesting.plan import Plan
from panewright.nesting.sequence import steps_of
from panewright.nesting.shop_table import Paper
from panewright.nesting.units import INCH, MM, mm, show, use_style


def pages_of(pdf, number: int) -> list[str]:
    return [text for text in pdf.texts if re.search(rf"sheet {number} of ", text)]


def odd(plan: Plan, odd_names: dict[str, str]) -> Plan:
    names = list(odd_names.values())
    panels = [
        replace(p, order=names[2 * i % len(names)], name=names[(2 * i + 1) % len(names)])
        for i, p in enumerate(plan.panels)
    ]
    return replace(plan, panels=tuple(panels))


@pytest.mark.parametrize("habit", ["stop", "strip", "machine"])
def test_every_step_and_measure_is_in_the_book(
    read_pdf: type, hand_plan: Plan, pentagon_plan: Plan, octagon_plan: Plan, trapezoids: Plan, habit: str
):
    for plan in (hand_plan, placed(hand_plan), pentagon_plan, octagon_plan, trapezoids):
        plan = replace(plan, habit=habit, layouts=tuple(replace(la, habit=habit) for la in plan.layouts))
        pdf = read_pdf(book_bytes(plan))
        for layout in plan.layouts:
            words = " ".join(pages_of(pdf, layout.number)).split()
            for step in steps_of(plan, layout):
                assert str(step.number) in words
                if step.measure is not None:
                    assert show(step.measure, unit=False) in words
                for mark in step.marks:
                    if 0 < mark.table < mark.edge_length:
                        assert show(mark.table, unit=False) in words
                for mark in step.placement.marks if step.placement else ():
                    assert show(mark, unit=False) in words


def placed(plan: Plan) -> Plan:
    """The sheet made by hand with its two cuts of level 3 in the lower strip as one placement."""
    layout = plan.layouts[0]
    cuts = tuple(replace(cut, placement=1) if cut.step in (5, 6) else cut for cut in layout.cuts)
    return replace(plan, layouts=(replace(layout, cuts=cuts, habit="strip"),))


def test_strips_are_placed_before_they_are_broken(read_pdf: type, hand_plan: Plan):
    plan = placed(hand_plan)
    found = [step for step in steps_of(plan, plan.layouts[0]) if step.placement is not None]
    assert [step.number for step in found] == [5, 6] and found[0].is_first
    text = read_pdf(book_bytes(plan)).text
    assert text.count("mark all from the left edge") == 1 and text.count("break here") == 2
    words = text[text.index("mark all from the left edge") :].split()
    for mark in found[0].placement.marks:
        # once where all are marked, once more where it is broken
        assert words.count(show(mark, unit=False)) >= 2
    assert "mark all" not in read_pdf(book_bytes(hand_plan)).text


def test_inches_bear_their_mark(read_pdf: type, inch_plan: Plan):
    use_style(INCH)
    try:
        text = read_pdf(book_bytes(inch_plan)).text
        for step in steps_of(inch_plan, inch_plan.layouts[0]):
            assert step.measure is None or show(step.measure, INCH) in text
    finally:
        use_style(MM)


def test_pages_have_the_size_of_the_paper(read_pdf: type, hand_plan: Plan):
    # A4: ISO 216; Letter: ANSI/ASME Y14.1, 8.5 x 11 in
    assert read_pdf(book_bytes(hand_plan)).sizes() == {(297.0, 210.0)}
    assert read_pdf(book_bytes(hand_plan, paper=Paper.LETTER)).sizes() == {(279.4, 215.9)}


def test_the_same_plan_gives_the_same_bytes(odd_names: dict[str, str], hand_plan: Plan, pentagon_plan: Plan):
    for plan in (hand_plan, odd(pentagon_plan, odd_names)):
        assert book_bytes(plan) == book_bytes(replace(plan))


def test_the_codes_name_plan_and_sheet(read_pdf: type, hand_plan: Plan):
    pdf = read_pdf(book_bytes(hand_plan))
    assert pdf.codes(0) == [str(plan_code(hand_plan))]
    first = next(i for i, text in enumerate(pdf.texts) if "sheet 1 of" in text)
    assert pdf.codes(first) == [str(sheet_code(hand_plan, hand_plan.layouts[0]))]


def test_the_cover_says_what_to_pull_and_to_mind(read_pdf: type, hand_plan: Plan):
    pdf = read_pdf(book_bytes(hand_plan))
    cover = pdf.texts[0]
    for words in (hand_plan.id, "clear-10 2000x1000", "glass to pull", "gloves", "suction lifter", "yield"):
        assert words in cover
    assert all("trained people" in text for text in pdf.texts)


def test_offcuts_stand_with_the_number_to_write(read_pdf: type, hand_plan: Plan):
    pdf = read_pdf(book_bytes(hand_plan))
    first = pages_of(pdf, 1)[0]
    for leaf in hand_plan.layouts[0].leaves:
        assert leaf.offcut is None or leaf.offcut in first
    assert "write on the glass" in first


def test_a_plan_that_fails_its_check_says_so_on_every_page(read_pdf: type, hand_plan: Plan):
    pdf = read_pdf(book_bytes(hand_plan, warnings=["do not cut after this plan"]))
    assert all("do not cut after this plan" in text for text in pdf.texts)


def test_one_sheet_alone(read_pdf: type, hand_plan: Plan):
    two = replace(hand_plan, layouts=(hand_plan.layouts[0], replace(hand_plan.layouts[0], number=2)))
    pdf = read_pdf(book_bytes(two, sheets=[2]))
    assert pages_of(pdf, 2) and not pages_of(pdf, 1)


def test_odd_names_survive(
    odd_names: dict[str, str], read_pdf: type, hand_plan: Plan, pentagon_plan: Plan, octagon_plan: Plan
):
    panels = [replace(hand_plan.panels[0], order=name, name=key) for key, name in odd_names.items()]
    for one in panels:
        plan = replace(hand_plan, panels=(one, *hand_plan.panels[1:]))
        text = unicodedata.normalize("NFKC", read_pdf(book_bytes(plan)).text)
        name = one.order
        if name == odd_names["fish"]:
            assert "\u25af" in text  # shown as a box, not left out
            continue
        wanted = name[:40] if name == odd_names["long"] else name
        # long texts are broken into lines, and right-to-left runs may come back either way round
        flat = "".join(text.split())
        for word in wanted.split():
            assert word[:20] in flat or word[:20][::-1] in flat, (word, one.name)


def test_hidden_text_cannot_end_the_drawing(read_pdf: type, hand_plan: Plan):
    evil = ") Tj ET Q q 0 0 m (\\"
    plan = replace(hand_plan, panels=tuple(replace(p, order=evil) for p in hand_plan.panels))
    text = "".join(read_pdf(book_bytes(plan)).text.split())
    assert "".join(evil.split()) in text


def test_the_drawings_are_those_of_the_svg(read_pdf: type, hand_plan: Plan, octagon_plan: Plan):
    for plan in (hand_plan, octagon_plan):
        for scene in (sheet_scene(plan, plan.layouts[0]), panel_scene(plan, plan.panels[0])):
            pdf = read_pdf(pdf_bytes(scene))
            found = "".join(pdf.text.split())
            for part in scene.parts:
                if isinstance(part, Text) and not part.rotation:
                    assert "".join(part.text.split()) in found


def test_areas_stay_apart_in_black_and_white(read_pdf: type):
    sketch = Sketch(mm(10))
    kinds = (palette.PANEL_CUT, palette.OFFCUT, palette.CULLET, *palette.SHARES)
    for i, layer in enumerate(kinds):
        sketch.add(Tint(layer, rectangle(mm(150), mm(150), mm(200) * i, 0)))
    sketch.add(Polyline(palette.SHEET, rectangle(mm(200) * len(kinds), mm(150))))
    picture = read_pdf(pdf_bytes(sketch.scene("areas"))).picture(0, 300)
    dark = picture < 190
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    top, low, left, right = rows[0], rows[-1], columns[0], columns[-1]
    step = (right - left) / len(kinds)
    looks = []
    for i in range(len(kinds)):
        part = dark[top + 14 : low - 14, int(left + i * step + 14) : int(left + i * step + step * 0.7)]
        share = part.mean()
        upright = np.abs(np.diff(part.mean(axis=0))).mean()
        level = np.abs(np.diff(part.mean(axis=1))).mean()
        looks.append((round(float(share), 2), round(float(upright), 2), round(float(level), 2)))
    assert looks[0] == looks[3] == (0.0, 0.0, 0.0)  # panels are plain
    assert len(set(looks[4:])) == len(looks[4:])
    assert looks[1] != looks[2] and min(looks[1][0], looks[2][0]) > 0


def test_the_bars_add_up(read_pdf: type, hand_plan: Plan):
    total = figures_of(hand_plan).total
    assert sum(part for _, part in shares_of(total)) == total.sheet
    closing = read_pdf(book_bytes(hand_plan)).texts[-1]
    assert "where the glass goes" in closing
    assert f"{round(1000 * total.gross_yield) / 10:.1f} %" in closing


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def call(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            app.main([str(a) for a in args])
        out, err = capsys.readouterr()
        assert isinstance(left.value.code, int)
        return left.value.code, out, err

    return call


def test_draw_writes_book_and_labels(
    read_pdf: type, hand_plan: Plan, tmp_path: Path, run: Callable[..., tuple[int, str, str]]
):
    path = tmp_path / "plan.json"
    path.write_text(dumps(hand_plan), encoding="utf-8")
    shop = tmp_path / "shop.toml"
    shop.write_text('[print]\npaper = "Letter"\n', encoding="utf-8")
    out = tmp_path / "out"
    code, said, err = run("draw", path, "--out", out, "--as", "book", "--as", "labels", "--shop", shop)
    assert (code, "book, labels" in said) == (0, True), err
    book = (out / f"cut-book-{hand_plan.id}.pdf").read_bytes()
    assert read_pdf(book).sizes() == {(279.4, 215.9)}
    assert (out / f"labels-{hand_plan.id}.pdf").is_file()
    assert not list(out.glob("*.svg"))
    code, _, _ = run("draw", path, "--out", out, "--as", "book", "--shop", shop, "--paper", "A4")
    assert code == 0
    assert read_pdf((out / f"cut-book-{hand_plan.id}.pdf").read_bytes()).sizes() == {(297.0, 210.0)}
    code, _, err = run("draw", path, "--out", out, "--as", "labels", "--shop", shop, "--first", "99")
    assert code == 2 and "--first 99" in err


def test_a_german_book_has_no_english_and_decimal_commas(
    read_pdf: type, octagon_plan: Plan, tmp_path: Path, run: Callable[..., tuple[int, str, str]]
):
    path, out = tmp_path / "plan.json", tmp_path / "out"
    path.write_text(dumps(octagon_plan), encoding="utf-8")
    run("--language", "de", "draw", path, "--out", out, "--as", "book")
    text = " ".join(read_pdf((out / f"cut-book-{octagon_plan.id}.pdf").read_bytes()).texts)
    assert "Scheiben der Aufträge" in text and "Reserve und Füllteile" in text
    assert not re.search(r"panels of|\bspares\b|Eckbecken", text)
    assert re.search(r"\d,\d %", text) and not re.search(r"\d\.\d+ (%|m2|kg|mm)", text)


def test_a_sheet_that_is_cut_says_so(hand_plan: Plan) -> None:
    (layout,) = hand_plan.layouts
    words = {
        "cut": ["This sheet is cut already: do not cut it again."],
        "broken_off": ["This sheet is cut already: do not cut it again."],
        "cut_to_step": ["This sheet is half cut: go on after step 3."],
    }
    assert standing_words(hand_plan, layout) == []
    for key, told in words.items():
        value = 3 if key == "cut_to_step" else True
        plan = replace(hand_plan, extra={"sheets": {str(layout.number): {key: value}}})
        assert standing_words(plan, layout) == told
