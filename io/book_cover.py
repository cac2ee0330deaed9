"""The first pages of the cut book: what to pull, what to mind, the signs, and the list of the sheets."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Final

from panewright.io import palette
from panewright.io import step_words as words
from panewright.io.book_sheet import EDGE, FOOTER
from panewright.io.numbers_text import kilograms, said_metres
from panewright.io.pdf_drawing import MM
from panewright.io.pdf_page import FINE, HEAD, POSTER, TEXT, WORD, Page, rise
from panewright.io.pdf_text import broken
from panewright.io.piece_codes import plan_code
from panewright.io.plan_summary import StockTaken, cautions, stock_taken
from panewright.io.problems import shown
from panewright.io.scene_model import Line, Polyline, Scene, Sketch, Text, Tint
from panewright.io.step_signs import Sign, draw_sign
from panewright.io.waste_scene import per_cent
from panewright.nesting.figures import PlanFigures
from panewright.nesting.outlines import rectangle
from panewright.nesting.panels import Purpose
from panewright.nesting.plan import Layout, LeafKind, Plan
from panewright.nesting.remake.history import History
from panewright.nesting.sequence import lift_for
from panewright.nesting.shop_table import Lifts
from panewright.nesting.steps import Lift
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import NM_PER_MM, mm, show_money, show_size

Draw = Callable[[Page], None]
LINE: Final = 1.25 / MM
"""From line to line, in font sizes. [mm/pt]"""
ROW: Final = 6.2
"""Of a list. [mm]"""
PULLED: Final = 12
"""Kinds of stock on the cover; more stand on the pages behind it."""


def cover_pages(
    plan: Plan,
    layouts: Sequence[Layout],
    figures: PlanFigures,
    lifts: Lifts,
    size: tuple[int, int],
    warnings: Sequence[str] = (),
) -> list[Draw]:
    """The cover, and as many pages of the list of sheets as it takes.

    Parameters
    ----------
    plan
        The plan.
    layouts
        The sheets of this book.
    figures
        Of the plan.
    lifts
        What people lift by hand.
    size
        Of a page. [nm]
    warnings
        What stands before all cautions.
    """
    high = size[1] / NM_PER_MM
    rows = int((high - 2 * EDGE - FOOTER - 24) / ROW)
    pulled = stock_taken(plan if len(layouts) == len(plan.layouts) else replace(plan, layouts=tuple(layouts)))
    said = [*warnings, *cautions(plan, lifts)]
    pages: list[Draw] = [partial(_cover, plan, layouts, figures, lifts, pulled, said)]
    for at in range(PULLED, len(pulled), rows):
        pages.append(partial(_more_pulled, pulled[at : at + rows]))
    for at in range(0, len(layouts), rows):
        pages.append(partial(_sheet_list, plan, layouts[at : at + rows], lifts))
    return pages


def _heading(page: Page, x: float, y: float, text: str, wide: float) -> float:
    """A heading with a rule below it; gives the y below. [mm]"""
    page.fitted(x, y - rise(HEAD), text, HEAD, wide, bold=True)
    page.rule(x, y - 6.2, x + wide, y - 6.2, 0.6)
    return y - 8.6


def _cover(
    plan: Plan,
    layouts: Sequence[Layout],
    figures: PlanFigures,
    lifts: Lifts,
    pulled: Sequence[StockTaken],
    said: Sequence[str],
    page: Page,
) -> None:
    top, low = page.high - EDGE, EDGE + FOOTER
    wide = page.wide - 2 * EDGE
    first, gap = wide * 0.27, 6.0
    second = third = (wide - first - 2 * gap) / 2
    x = EDGE
    page.fitted(x, top - rise(HEAD), tr("cut book"), HEAD, first)
    page.fitted(x, top - 21, shown(plan.id, 20), POSTER, first, bold=True)
    page.code(x - 3, top - 61, 37, str(plan_code(plan)))
    y = top - 61
    days = sorted({layout.day for layout in layouts if layout.day is not None})
    if days:
        last = "" if len(days) == 1 else tr(" to {day}", day=days[-1].isoformat())
        y -= WORD * LINE
        page.fitted(x, y, tr("cut on {day}", day=days[0].isoformat()) + last, WORD, first, bold=True)
    for text, value in _facts(plan, layouts, figures):
        y -= WORD * LINE + 0.7
        if y < low:
            break
        page.fitted(x, y, text, TEXT, first * 0.5)
        page.fitted(x + first, y, value, WORD, first * 0.48, bold=True, across=1.0)
    x += first + gap
    y = _heading(page, x, top, tr("glass to pull"), second)
    for one in pulled[:PULLED]:
        y = _pulled(page, x, y, second, one, lifts)
    if len(pulled) > PULLED:
        page.text(x, y - 4, tr("{count} more on the next page", count=len(pulled) - PULLED), TEXT, bold=True)
        y -= 6
    if y > low + 52:
        page.scene(_line_key(plan), (x, low, second, min(y - low - 4, 48)))
    x += second + gap
    y = _heading(page, x, top, tr("mind"), third)
    room = y - low - len(Sign) * 6.0 - 15
    y = _cautions(page, x, y, third, said, room) - 5
    y = _heading(page, x, y, tr("signs in this book"), third)
    for sign in Sign:
        draw_sign(page, x + 0.5, y - 4.2, 4.0, sign)
        lines = broken(tr(sign.value), FINE, (third - 7) * MM, most=2)
        for i, line in enumerate(lines):
            page.text(x + 7, y - (1.4 if len(lines) > 1 else 2.8) - i * 2.9, line, FINE)
        y -= 5.9


def _facts(plan: Plan, layouts: Sequence[Layout], figures: PlanFigures) -> list[tuple[str, str]]:
    total = figures.total
    mass = sum(words.sheet_mass(plan, layout) for layout in layouts)
    out = [
        (tr("sheets in this book"), str(len(layouts))),
        (tr("panels"), str(sum(leaf.kind is LeafKind.PANEL for la in layouts for leaf in la.leaves))),
        (tr("steps"), str(sum(len(layout.cuts) for layout in layouts))),
        (tr("glass to move"), words.show_mass(mass)),
        (tr("yield"), per_cent(total.cut, total.sheet)),
        (tr("net yield"), per_cent(total.cut, total.sheet - total.offcut)),
        (tr("sheet area"), f"{said_metres(total.sheet)} m2"),
        (tr("offcuts kept"), f"{said_metres(total.offcut)} m2"),
        (tr("scrap"), f"{local_number(kilograms(total.scrap_grams // 100 * 100))} kg"),
        (tr("cost of stock"), show_money(total.cost, plan.currency)),
        (tr("score"), tr("{length} m", length=-(-total.score_nm // mm(1000)))),
    ]
    wanted = {panel.id for panel in plan.panels if panel.purpose is Purpose.ORDER}
    if missing := sum(one.panel in wanted for one in plan.unplaced):
        out.append((tr("not on any sheet"), tr_count("{count} panel", "{count} panels", missing)))
    return out


def _pulled(page: Page, x: float, y: float, wide: float, one: StockTaken, lifts: Lifts) -> float:
    """A kind of stock: how many, which, from where, how heavy; gives the y below. [mm]"""
    page.text(x + 11, y - rise(HEAD) - 0.4, str(one.count), HEAD, bold=True, across=1.0)
    page.fitted(x + 13.5, y - 2.9, shown(one.stock, 60), WORD, wide - 36, bold=True)
    source = tr("offcut from the rack") if one.is_offcut else tr("to buy") if one.buy else tr("from the rack")
    page.fitted(x + 13.5, y - 6.5, source, TEXT, wide - 36)
    # the longest side is not known here: the mass alone says who lifts
    lift = lift_for(one.grams, 0, lifts)
    if lift is not Lift.ONE:
        draw_sign(page, x + wide - 21, y - 5.6, 4.6, Sign.TWO if lift is Lift.TWO else Sign.CRANE)
    page.text(x + wide, y - 4.6, words.show_mass(one.grams), WORD, across=1.0)
    page.rule(x, y - 8.2, x + wide, y - 8.2, 0.12)
    return y - 9.4


def _more_pulled(rest: Sequence[StockTaken], page: Page) -> None:
    wide = page.wide - 2 * EDGE
    y = _heading(page, EDGE, page.high - EDGE, tr("glass to pull, continued"), wide)
    for one in rest:
        source = (
            tr("offcut from the rack") if one.is_offcut else tr("to buy") if one.buy else tr("from the rack")
        )
        page.text(EDGE + 10, y - 4.4, str(one.count), WORD, bold=True, across=1.0)
        page.fitted(EDGE + 13, y - 4.4, f"{shown(one.stock, 60)}   {source}", WORD, wide - 45)
        page.text(EDGE + wide, y - 4.4, words.show_mass(one.grams), WORD, across=1.0)
        y -= ROW


def _cautions(page: Page, x: float, y: float, wide: float, said: Sequence[str], room: float) -> float:
    """The cautions, as large as they fit their room; what does not fit is counted. [mm]"""
    for size in (TEXT, 7.6, FINE, 6.2, 5.6):
        lines = [broken(text, size, (wide - 3.5) * MM) for text in said]
        if sum(map(len, lines)) * size * LINE <= room:
            break
    end = y - room
    for i, part in enumerate(lines):
        if y - (len(part) + 1) * size * LINE < end and i < len(lines) - 1:
            y -= size * LINE
            more = tr("{count} more cautions are in the text of the sequence", count=len(lines) - i)
            page.fitted(x, y, more, size, wide, bold=True)
            return y
        page.frame(x, y - size * LINE, 1.6, rise(size), weight=0, fill="#15191d")
        for line in part:
            y -= size * LINE
            page.text(x + 3.5, y, line, size)
    return y


def _line_key(plan: Plan) -> Scene:
    """The lines and areas of the drawings."""
    sketch = Sketch(mm(3))
    g = sketch.grain
    y = 0
    spots = any(layout.spots for layout in plan.layouts)
    shown_layers = [layer for layer in palette.LAYERS if layer.words and (spots or layer is not palette.SPOT)]
    half = -(-len(shown_layers) // 2)
    for i, layer in enumerate(shown_layers):
        x, y = (0, -i * 3 * g) if i < half else (26 * g, -(i - half) * 3 * g)
        if layer in (palette.OFFCUT, palette.CULLET):
            swatch = rectangle(4 * g, 2 * g, x, y - g)
            sketch.add(Tint(layer, swatch), Polyline(layer, swatch))
        else:
            sketch.add(Line(layer, (x, y), (x + 4 * g, y)))
        sketch.add(Text(palette.NOTES, tr(layer.words), (x + 5 * g, y), g, "left", "middle"))
    return sketch.scene(tr("key"))


# ---------------------------------------------------------------- the list of the sheets

_HEADS: Final = (
    ("sheet", 0.0, 0.06),
    ("day", 0.06, 0.10),
    ("glass", 0.16, 0.13),
    ("stock", 0.29, 0.24),
    ("size", 0.53, 0.15),
    ("mass", 0.68, 0.08),
    ("lift", 0.76, 0.03),
    ("steps", 0.79, 0.06),
    ("panels", 0.85, 0.06),
    ("keep", 0.91, 0.05),
    ("done", 0.96, 0.04),
)
"""Head, place and width of the columns. [of the width]"""


def _sheet_list(plan: Plan, layouts: Sequence[Layout], lifts: Lifts, page: Page) -> None:
    wide = page.wide - 2 * EDGE
    y = _heading(page, EDGE, page.high - EDGE, tr("sheets, in cutting order"), wide)
    for head, at, room in _HEADS:
        page.fitted(EDGE + at * wide, y - 3, tr(head), TEXT, room * wide - 1, bold=True)
    y -= 5
    known = History(plan)
    for layout in layouts:
        mass = words.sheet_mass(plan, layout)
        lift = lift_for(mass, max(layout.width, layout.height), lifts)
        kinds = [leaf.kind for leaf in layout.leaves]
        cells = (
            str(layout.number),
            layout.day.isoformat() if layout.day else "",
            shown(layout.glass, 40),
            f"{shown(layout.stock, 60)} ({words.stock_words(layout)})",
            show_size(layout.width, layout.height),
            words.show_mass(mass),
            "",
            str(len(layout.cuts)),
            str(kinds.count(LeafKind.PANEL)),
            str(kinds.count(LeafKind.OFFCUT) or ""),
            "",
        )
        is_cut = layout.number in known.cut | known.broken_off
        page.rule(EDGE, y - ROW + 0.6, EDGE + wide, y - ROW + 0.6, 0.12)
        for i, ((_, at, room), cell) in enumerate(zip(_HEADS, cells, strict=True)):
            page.fitted(EDGE + at * wide, y - 4, cell, WORD, room * wide - 1.5, bold=i == 0)
        if lift is not Lift.ONE:
            at = _HEADS[6][1] * wide
            draw_sign(page, EDGE + at, y - 4.6, 4.0, Sign.TWO if lift is Lift.TWO else Sign.CRANE)
        page.frame(EDGE + 0.965 * wide, y - 4.7, 4, 4, weight=0.4)
        if is_cut:
            page.fitted(EDGE + 0.965 * wide + 0.9, y - 4.1, "X", WORD, 3, bold=True)
        y -= ROW
