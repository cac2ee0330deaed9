"""The pages of one sheet in the cut book: the drawing, the steps, what to keep and what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from panewright.io import step_words as words
from panewright.io.book_steps import Block, Outlines, note_block, placement_block, step_block
from panewright.io.flaw_words import sheet_flaw_words
from panewright.io.mark_words import mark_warnings, sheet_mark_words
from panewright.io.pdf_page import FIGURE, FINE, HEAD, POSTER, TEXT, WORD, Box, Page, rise
from panewright.io.piece_codes import sheet_code
from panewright.io.pocket_words import sheet_pockets
from panewright.io.problems import shown
from panewright.io.scene_model import Scene
from panewright.io.sheet_scene import SheetView, sheet_scene, unit_words
from panewright.io.step_signs import Sign, draw_boxes, lift_sign
from panewright.nesting.once import once_a_sheet
from panewright.nesting.outlines import box
from panewright.nesting.pieces import split, whole_sheet
from panewright.nesting.plan import CutKind, Layout, LeafKind, Plan
from panewright.nesting.remake.history import History
from panewright.nesting.sequence import lift_for, steps_of
from panewright.nesting.shop_table import Habit, Lifts
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import NM_PER_MM, show_size

EDGE: Final = 9.0
"""Free edge of every page. [mm]"""
HEADER: Final = 19.0
FOOTER: Final = 6.0
GUTTER: Final = 5.0
COLUMNS: Final = 2
SIDE: Final = 43.0
"""Width of what stands beside a drawing, and height of what stands below one. [mm]"""
BELOW: Final = 17.0
LETTERS: Final = 3.4
"""Usual text height in a drawing on paper; labels are up to 7 mm. [mm]"""
LADDER: Final = (2.06, 1.8, 1.55, 1.35, 1.18, 1.0, 0.88, 0.76, 0.66, 0.57, 0.5)
LEGEND: Final = 24
"""Names of small pieces that find room beside the drawing."""
NEXT: Final = 10.5
"""Height of the header of a further page. [mm]"""
LEAST_DRAWING: Final = 0.48
"""A drawing shares its page with all steps if it is at least so large there, against alone."""


@dataclass(frozen=True, slots=True)
class SheetPages:
    """The pages of a sheet, ready to be drawn.

    Parameters
    ----------
    plan, layout
        The sheet.
    lifts
        What people lift by hand.
    drawing
        The scene, and where it lies on the first page.
    columns
        Blocks of steps: of the first page, then of the others; each column with its left edge.
    """

    plan: Plan
    layout: Layout
    lifts: Lifts
    scene: Scene
    place: Box
    notes: Box
    pages: tuple[tuple[tuple[float, tuple[Block, ...]], ...], ...]

    def draw(self, page: Page, index: int) -> None:
        """Draw one of the pages."""
        _header(page, self, index)
        if index == 0:
            place = page.scene(self.scene, self.place, pen=0.9, whole=True)
            left, bottom, _, _ = self.place
            ratio = f"{round(place.ratio * 2) / 2:g}"
            page.text(left, bottom - 3.2, tr("scale 1 : {ratio}", ratio=ratio), FINE)
            _notes(page, self)
        for left, blocks in self.pages[index]:
            y = page.high - EDGE - (NEXT if index else HEADER)
            for block in blocks:
                block.draw(page, left, y)
                y -= block.high


@once_a_sheet
def sheet_pages(plan: Plan, layout: Layout, size: tuple[int, int], lifts: Lifts) -> SheetPages:
    """Lay out the pages of a sheet.

    Parameters
    ----------
    plan
        The plan that holds the sheet.
    layout
        The sheet.
    size
        Of a page, the long side across. [nm]
    lifts
        What people lift by hand.

    Raises
    ------
    CutFault
        When the cuts of the plan cannot be made as written.
    """
    wide, high = size[0] / NM_PER_MM - 2 * EDGE, size[1] / NM_PER_MM - 2 * EDGE - HEADER - FOOTER
    column = (wide - (COLUMNS - 1) * GUTTER) / COLUMNS
    left, bottom = EDGE, EDGE + FOOTER
    # beside the drawing where the sheet is not much wider than high, else below it
    aspect = layout.width / layout.height
    tall = wide / (high - BELOW) > aspect
    alone: Box = (left, bottom, wide - SIDE, high) if tall else (left, bottom + BELOW, wide, high - BELOW)
    blocks = _blocks(plan, layout, lifts, column)
    shared: Box = (left, bottom + BELOW, wide - column - GUTTER, high - BELOW)
    fits = sum(block.high for block in blocks) <= high
    if blocks and fits and _size(layout, shared) >= LEAST_DRAWING * _size(layout, alone):
        scene = _scene(plan, layout, shared, lifts)
        first = ((left + wide - column, tuple(blocks)),)
        if not scene.legend:
            return SheetPages(plan, layout, lifts, scene, shared, (left, bottom, shared[2], BELOW), (first,))
    scene = _scene(plan, layout, alone, lifts)
    notes: Box = (left + wide - SIDE + 3, bottom, SIDE - 3, high) if tall else (left, bottom, wide, BELOW)
    if scene.legend and not (tall and len(scene.legend) <= LEGEND):
        blocks.insert(0, note_block(tr("small pieces in the drawing"), scene.legend, column, several=True))
    flow = _flow(blocks, high + HEADER - NEXT)
    pages = [
        tuple((left + i * (column + GUTTER), part) for i, part in enumerate(flow[at : at + COLUMNS]))
        for at in range(0, len(flow), COLUMNS)
    ]
    return SheetPages(plan, layout, lifts, scene, alone, notes, ((), *pages))


def _blocks(plan: Plan, layout: Layout, lifts: Lifts, room: float) -> list[Block]:
    """Everything that stands in the columns."""
    steps = steps_of(plan, layout, lifts=lifts)
    openings = {panel.id: len(panel.openings) for panel in plan.panels if panel.openings}
    outlines = piece_outlines(layout)
    blocks: list[Block] = []
    lead = [*mark_warnings(plan, [layout])]
    if marks := sheet_mark_words(plan, layout, steps):
        lead.insert(0, tr("marks {words}", words=marks))
    lead = [*standing_words(plan, layout), *sheet_flaw_words(layout), *lead]
    if lead:
        blocks.append(note_block(tr("before you start"), lead, room))
    for step in steps:
        if step.placement is not None and step.is_first:
            blocks.append(placement_block(step, room, outlines))
        blocks.append(
            step_block(step, room, sum(openings.get(r.panel or "", 0) for r in step.makes), outlines)
        )
    if after := sheet_pockets(plan, layout):
        blocks.append(note_block(tr("after the scores, by saw, drill or water jet"), after, room))
    return blocks


def standing_words(plan: Plan, layout: Layout) -> list[str]:
    """What a remade plan knows of a sheet: that it is cut, or how far."""
    known = History(plan)
    if layout.number in known.cut | known.broken_off:
        return [tr("This sheet is cut already: do not cut it again.")]
    if layout.number in known.half:
        return [tr("This sheet is half cut: go on after step {step}.", step=known.half[layout.number])]
    return []


def piece_outlines(layout: Layout) -> Outlines:
    """Outlines on the sheet of all pieces that are scored at an angle or are no rectangles. [nm]

    Raises
    ------
    CutFault
        When a cut cannot be made.
    """
    if not any(cut.kind is CutKind.SHAPE for cut in layout.cuts):
        return {}
    pieces = {"s": whole_sheet(layout)}
    found: dict[str, Sequence[tuple[float, float]]] = {}
    for cut in layout.cuts:
        piece = pieces.pop(cut.piece)
        if cut.kind is CutKind.SHAPE:
            found[piece.name] = [(float(x), float(y)) for x, y in piece.corners]
        parts = split(piece, cut, layout.number)
        pieces |= {parts.left.name: parts.left, parts.right.name: parts.right}
    return found


def _flow(blocks: Sequence[Block], high: float) -> list[tuple[Block, ...]]:
    """Blocks in columns of this height; a placement stays with its first break."""
    columns: list[list[Block]] = []
    at = high
    for i, block in enumerate(blocks):
        wanted = block.high
        if block.joins and i + 1 < len(blocks):
            wanted += blocks[i + 1].high
        if not columns or at + wanted > high:
            columns.append([])
            at = 0.0
        columns[-1].append(block)
        at += block.high
    return [tuple(column) for column in columns]


def _size(layout: Layout, place: Box) -> float:
    """Scale of a drawing in a box, near enough for a choice; dimensions take about 20 mm. [mm/nm]"""
    _, _, wide, high = place
    return min((wide - 20) / layout.width, (high - 20) / layout.height)


def _scene(plan: Plan, layout: Layout, place: Box, lifts: Lifts) -> Scene:
    """The drawing, its letters as large as paper wants them."""
    grain = round(LETTERS / max(_size(layout, place), 1e-12))
    return sheet_scene(plan, layout, view=SheetView(grain=grain, ladder=LADDER, bare=True, lifts=lifts))


# ---------------------------------------------------------------- header and notes


def _header(page: Page, sheet: SheetPages, index: int) -> None:
    plan, layout = sheet.plan, sheet.layout
    top, right = page.high - EDGE, page.wide - EDGE
    number = str(layout.number)
    if index:
        at = EDGE + page.text(EDGE, top - rise(FIGURE), number, FIGURE, bold=True) + 2.5
        line = "   ".join(
            (
                words.sheet_heading(plan, layout),
                tr("page {page} of {pages}", page=index + 1, pages=len(sheet.pages)),
                shown(layout.glass, 30),
                show_size(layout.width, layout.height),
                unit_words(None),
                tr("plan {plan}", plan=shown(plan.id, 20)),
            )
        )
        page.fitted(at, top - rise(FIGURE), line, WORD, right - at)
        page.rule(EDGE, top - NEXT + 2.6, right, top - NEXT + 2.6, 0.9)
        return
    at = EDGE + page.text(EDGE, top - rise(POSTER), number, POSTER, bold=True) + 2.5
    heads = [words.sheet_heading(plan, layout)]
    if len(sheet.pages) > 1:
        heads.append(tr("page {page} of {pages}", page=index + 1, pages=len(sheet.pages)))
    if layout.day is not None:
        heads.append(tr("day {day}", day=layout.day.isoformat()))
    heads.append(tr("plan {plan}", plan=shown(plan.id, 20)))
    room = right - at - 20
    page.fitted(at, top - rise(TEXT), "   ".join(heads), TEXT, room)
    main = "   ".join(
        (shown(layout.glass, 30), show_size(layout.width, layout.height), words.stock_words(layout))
    )
    page.fitted(at, top - 8.4, main, HEAD, room, bold=True)
    said = [
        shown(layout.stock, 40),
        words.show_mass(words.sheet_mass(plan, layout)),
        tr_count("{count} step", "{count} steps", len(layout.cuts)),
        words.habit_words(Habit(layout.habit or plan.habit)),
    ]
    page.fitted(at, top - 13.2, "   ".join(said), WORD, room)
    page.code(right - 17.5, top - 17, 18, str(sheet_code(plan, layout)))
    page.rule(EDGE, top - HEADER + 1.8, right, top - HEADER + 1.8, 0.9)


def _notes(page: Page, sheet: SheetPages) -> None:
    """What to lift, keep and drill, beside the drawing or below it."""
    plan, layout = sheet.plan, sheet.layout
    x, y0, wide, high = sheet.notes
    beside = high > wide
    y = y0 + high - (0 if beside else 4.0)
    lift = lift_for(words.sheet_mass(plan, layout), max(layout.width, layout.height), sheet.lifts)
    boxes = [one for one in [lift_sign(lift, words.sheet_mass(plan, layout))] if one]
    panels = {panel.id: panel for panel in plan.panels}
    here = [panels[leaf.panel] for leaf in layout.leaves if leaf.panel in panels]
    if drilled := sum(bool(panel.openings) for panel in here):
        boxes.append((Sign.DRILL, tr_count("{count} panel to drill", "{count} panels to drill", drilled)))
    if turned := sum(leaf.mirrored for leaf in layout.leaves):
        boxes.append((Sign.TURN, tr_count("{count} to turn over", "{count} to turn over", turned)))
    kept = [leaf for leaf in layout.leaves if leaf.kind is LeafKind.OFFCUT]
    lines = []
    for leaf in kept:
        a, b, c, d = box(leaf.outline)
        lines.append((shown(leaf.offcut or "", 24), show_size(c - a, d - b)))
    if beside:
        y = draw_boxes(page, x, y, wide, boxes) - 1 if boxes else y
        if kept:
            y = page.lines(x, y - rise(WORD), tr("keep, and write on the glass"), WORD, wide, bold=True) - 1
        for number, size in lines:
            if y < y0 + 10:
                break
            page.frame(x, y - 9.4, wide, 11.0, weight=0.5)
            page.fitted(x + 1.5, y - 3.6, number, HEAD, wide - 3, bold=True)
            page.fitted(x + 1.5, y - 7.8, size, TEXT, wide - 3)
            y -= 12.8
        legend = sheet.scene.legend
        if legend and len(legend) <= LEGEND:
            y = min(y - 2, y0 + 5.8 * len(legend) + 4)
            page.text(x, y, tr("small pieces"), TEXT, bold=True)
            y -= 0.8
            for text in legend:
                y = page.lines(x, y - 2.6, text, FINE, wide, most=2, lead=1.1) + 2.2
        return
    at = x
    if boxes:
        span = min(wide * 0.3, 75.0)
        draw_boxes(page, x, y - 0.5, span, boxes)
        at = x + span + 4
    if kept:
        page.fitted(
            at, y - rise(WORD) - 0.5, tr("keep, and write on the glass"), WORD, x + wide - at, bold=True
        )
    cell = (x + wide - at) / max(1, min(len(lines), 4))
    for i, (number, size) in enumerate(lines[:4]):
        left = at + i * cell
        page.frame(left, y - 12.8, cell - 2, 9, weight=0.5)
        page.fitted(left + 1.2, y - 8.2, number, HEAD, cell - 4.4, bold=True)
        page.fitted(left + 1.2, y - 11.8, size, TEXT, cell - 4.4)
