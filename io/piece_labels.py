"""Labels for panels and offcuts, in the order in which they come off the table."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

from panewright.io.label_face import LabelFace, draw_label
from panewright.io.pdf_page import Page, document
from panewright.io.piece_codes import offcut_code, panel_code
from panewright.io.problems import shown
from panewright.nesting.panels import Panel
from panewright.nesting.pieces import CutFault
from panewright.nesting.plan import Layout, Leaf, LeafKind, Plan
from panewright.nesting.remake.history import History
from panewright.nesting.sequence import LIFTS, steps_of
from panewright.nesting.shop_table import LabelSheet, Lifts
from panewright.nesting.text import tr
from panewright.nesting.units import NM_PER_MM

NO_SLOTS: Final[Mapping[str, str]] = {}


def labels_name(plan: Plan) -> str:
    """Name of the file."""
    return f"labels-{plan.id}.pdf"


def leaves_in_order(plan: Plan, layout: Layout, *, lifts: Lifts = LIFTS) -> list[tuple[int | None, Leaf]]:
    """Panels and offcuts of a sheet as they come off: the step that frees them, and the leaf.

    Parameters
    ----------
    plan
        The plan that holds the sheet.
    layout
        The sheet; where its cuts cannot be made, the order of its leaves stays.
    lifts
        As whoever else asks for the steps of the plan, so that they are made once.
    """
    try:
        steps = steps_of(plan, layout, lifts=lifts)
    except CutFault:
        steps = ()
    place = {result.name: (step.number, i) for step in steps for i, result in enumerate(step.makes)}
    found = [leaf for leaf in layout.leaves if leaf.kind is not LeafKind.CULLET]
    found.sort(key=lambda leaf: place.get(leaf.piece, (0, 0)))
    return [(place[leaf.piece][0] if leaf.piece in place else None, leaf) for leaf in found]


def faces(
    plan: Plan,
    *,
    slots: Mapping[str, str] = NO_SLOTS,
    sheets: Collection[int] | None = None,
    pieces: Collection[str] = (),
    lifts: Lifts = LIFTS,
) -> Iterator[LabelFace]:
    """What stands on each label, in the order of the table; see `labels_bytes`."""
    index = {panel.id: i for i, panel in enumerate(plan.panels)}
    given_to = History(plan).given_to
    for layout in plan.layouts:
        whole = sheets is None or layout.number in sheets
        if not whole and not any(leaf.panel in pieces for leaf in layout.leaves):
            continue
        for step, leaf in leaves_in_order(plan, layout, lifts=lifts):
            panel: Panel | None = None
            if not whole and leaf.panel not in pieces:
                continue
            if leaf.kind is LeafKind.PANEL and leaf.panel in index:
                # a piece that was given to another order bears the words of that one, and its own code
                panel = plan.panels[index.get(given_to.get(leaf.panel, leaf.panel), index[leaf.panel])]
                code = panel_code(plan, index[leaf.panel])
            elif leaf.offcut is not None:
                code = offcut_code(plan, leaf.offcut)
            else:
                continue
            yield LabelFace(
                plan=plan.id,
                sheet=layout.number,
                step=step,
                glass=layout.glass,
                leaf=leaf,
                panel=panel,
                slot=slots.get(panel.order, "") if panel and not panel.rack else "",
                code=str(code),
            )


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The labels of one page, each with its position on it."""

    form: LabelSheet
    faces: tuple[tuple[int, LabelFace], ...]

    def draw(self, page: Page) -> None:
        form = self.form
        wide, high = form.width / NM_PER_MM, form.height / NM_PER_MM
        for at, face in self.faces:
            if form.paper is None:
                left, top = 0.0, page.high
            else:
                row, column = divmod(at, form.columns)
                left = (form.left + column * form.across) / NM_PER_MM
                top = page.high - (form.top + row * form.down) / NM_PER_MM
            draw_label(page, face, left, top - high, wide, high)


def labels_bytes(
    plan: Plan,
    *,
    form: LabelSheet | None = None,
    slots: Mapping[str, str] = NO_SLOTS,
    first: int = 1,
    sheets: Collection[int] | None = None,
    pieces: Collection[str] = (),
    lifts: Lifts = LIFTS,
) -> bytes:
    """The labels of a plan as a PDF.

    Parameters
    ----------
    plan
        The plan.
    form
        How the labels lie; default: the built-in sheet.
    slots
        Rack and slot by order, where they are known.
    first
        Position of the first label on its page, from 1, row by row: a sheet that was used in part goes on.
    sheets
        Only what comes off these sheets.
    pieces
        Panels on other sheets that get a label all the same.
    lifts
        As in the other outputs of the plan.

    Raises
    ------
    ValueError
        When the page has no position `first`.
    """
    form = form or LabelSheet()
    a_page = form.columns * form.rows if form.paper is not None else 1
    if not 1 <= first <= a_page:
        raise ValueError(f"no position {first} among {a_page}")
    found = list(faces(plan, slots=slots, sheets=sheets, pieces=pieces, lifts=lifts))
    pages = [_Sheet(form, part) for part in _pages(found, first - 1, a_page)]
    size = form.paper.size if form.paper is not None else (form.width, form.height)
    return document(
        tr("labels of plan {plan}", plan=shown(plan.id, 20)),
        size,
        [partial(_draw, page) for page in pages] or [_nothing],
        subject=tr("panels and offcuts in the order in which they come off the table"),
    )


def _draw(sheet: _Sheet, page: Page) -> None:
    sheet.draw(page)


def _nothing(page: Page) -> None:
    page.text(3, page.high - 8, tr("no labels"), 8)


def _pages(
    found: Sequence[LabelFace], start: int, a_page: int
) -> Iterator[tuple[tuple[int, LabelFace], ...]]:
    placed = [(at, face) for at, face in enumerate(found, start=start)]
    last = start + len(found)
    for low in range(0, last, a_page):
        part = tuple((at - low, face) for at, face in placed[max(0, low - start) : low + a_page - start])
        if part:
            yield part
