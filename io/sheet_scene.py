"""The drawing of one sheet: cuts with step numbers, panels, offcuts, cullet, measures, title, key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from panewright.io import palette
from panewright.io.flaw_marks import draw_flaws, flaw_boxes
from panewright.io.flaw_words import flaw_list
from panewright.io.label_fit import Label, fitted, fitted_beside
from panewright.io.opening_marks import draw_opening
from panewright.io.problems import shown
from panewright.io.scene_model import Circle, Line, Polyline, Scene, Sketch, Text, Tint, text_width, wrapped
from panewright.io.score_marks import put_score_marks
from panewright.io.step_marks import Obstacle, put_step_numbers
from panewright.io.step_words import sheet_heading, sheet_mass, show_mass, stock_words
from panewright.nesting.once import once_a_sheet
from panewright.nesting.outlines import Outline, box, is_rectangle, narrower_than, rectangle
from panewright.nesting.panels import Panel
from panewright.nesting.pieces import CutFault
from panewright.nesting.placing import placed, placed_openings
from panewright.nesting.plan import CutKind, Layout, Leaf, LeafKind, Plan
from panewright.nesting.sequence import LIFTS, general_cautions, steps_of
from panewright.nesting.shop_table import Lifts
from panewright.nesting.text import current_language, tr
from panewright.nesting.units import LengthStyle, current_style, mm, show, show_size

LADDER = (1.25, 1.1, 0.95, 0.8, 0.65, 0.55)
"""Heights of panel labels, in text heights of the sheet."""
NUMBER_LADDER = (0.9, 0.7, 0.5, 0.4, 0.3, 0.2, 0.1)
"""Heights of the number that stands for a label in a small panel."""


def sheet_grain(width: int, height: int) -> int:
    """The usual text height on a sheet of this size: 32 mm on a common stock sheet of 3.2 m. [nm]"""
    return min(max(max(width, height) // 100, mm(8)), mm(45))


ASIDE = 1.4
"""Left free behind a label that is in the way of a step number, in text heights of the sheet."""
ASIDE_LADDER = (*LADDER, 0.5, 0.45)
ASIDE_NUMBER = 0.6
"""The same behind a number that stands for a label."""
FEW_OPENINGS = 8
"""Of a panel with more of them the drawing of the sheet shows none; that of the panel does."""
PASSES = 5
"""Labels and step numbers are fitted to each other this often at most; two or three do on common sheets."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """How a sheet is drawn.

    Parameters
    ----------
    grain
        The usual text height; None: by the size of the sheet. [nm]
    ladder
        Heights of labels, in text heights of the sheet.
    bare
        Without title, key of the lines, legend and cautions, for paper that has them elsewhere; a label
        leaves the size of its panel out where it can be larger so.
    lifts
        As in the other outputs of the plan, so that steps are made once.
    """

    grain: int | None = None
    ladder: tuple[float, ...] = LADDER
    bare: bool = False
    lifts: Lifts = LIFTS


WHOLE = SheetView()


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A label to be written into an outline: its lines, the best arrangement first, or all in one line."""

    outline: Outline
    arrangements: tuple[tuple[str, ...], ...]
    words: str
    layer: palette.Layer


@dataclass(slots=True)
class _Drawing:
    plan: Plan
    layout: Layout
    style: LengthStyle | None
    sketch: Sketch
    view: SheetView = WHOLE
    legend: list[str] = field(default_factory=list)
    labels: list[_Wanted] = field(default_factory=list)
    fitted: dict[tuple[int, int], Label | None] = field(default_factory=dict)
    edge: list[int] = field(default_factory=lambda: [0, 0, 0, 0])
    """How far the drawing reaches beyond the sheet by now: left, right, bottom, top. [nm]"""

    @property
    def grain(self) -> int:
        return self.sketch.grain


def sheet_scene(
    plan: Plan, layout: Layout, *, style: LengthStyle | None = None, view: SheetView = WHOLE
) -> Scene:
    """The drawing of one sheet, its lower left corner at the origin.

    Parameters
    ----------
    plan
        The plan that holds the sheet.
    layout
        The sheet.
    style
        How lengths are written; default: the style set by `use_style`.
    view
        For the cut book; default: a drawing of its own.
    """
    # several outputs of a plan draw the same scene: it is made once for all of them
    now = (current_language().code, current_style())
    return _scene(plan, layout, style=style or current_style(), view=view, now=now)


@once_a_sheet
def _scene(
    plan: Plan, layout: Layout, *, style: LengthStyle, view: SheetView, now: tuple[str, LengthStyle]
) -> Scene:
    """The same; `now` says in which language and style words are made."""
    grain = view.grain or sheet_grain(layout.width, layout.height)
    d = _Drawing(plan, layout, style, Sketch(grain), view)
    panels = {p.id: p for p in plan.panels}
    _tints(d)
    _sheet(d)
    for leaf in layout.leaves:
        if leaf.kind is LeafKind.PANEL and leaf.panel is not None:
            _panel(d, leaf, panels[leaf.panel])
        else:
            _leftover(d, leaf)
    for cut in layout.cuts:
        d.sketch.add(Line(palette.score_layer(cut), cut.start, cut.end))
    _labels_and_numbers(d)
    _measures(d)
    title = _title(d)
    if view.bare:
        return replace(d.sketch.scene(title), legend=tuple(d.legend))
    _notes(d)
    return d.sketch.scene(title)


def unit_words(style: LengthStyle | None) -> str:
    """The unit in which lengths of a drawing are written."""
    unit = (style or current_style()).unit
    return tr("lengths in {unit}", unit=tr("inches") if unit == "in" else unit)


def _tints(d: _Drawing) -> None:
    layer = {
        LeafKind.PANEL: palette.PANEL_CUT,
        LeafKind.OFFCUT: palette.OFFCUT,
        LeafKind.CULLET: palette.CULLET,
    }
    for leaf in d.layout.leaves:
        d.sketch.add(Tint(layer[leaf.kind], leaf.outline))


def _sheet(d: _Drawing) -> None:
    w, h, trim = d.layout.width, d.layout.height, d.layout.trim
    d.sketch.add(Polyline(palette.SHEET, rectangle(w, h)))
    inner_w, inner_h = w - trim.left - trim.right, h - trim.bottom - trim.top
    if (inner_w, inner_h) != (w, h) and inner_w > 0 and inner_h > 0:
        inner = rectangle(inner_w, inner_h, trim.left, trim.bottom)
        d.sketch.add(Polyline(palette.TRIM_LIMIT, inner))
    draw_flaws(d.sketch, d.layout)


def panel_size(panel: Panel, style: LengthStyle | None) -> str:
    """Finished size of a panel; for one that is no rectangle the size of the box around it."""
    x0, y0, x1, y1 = box(panel.finished)
    size = show_size(x1 - x0, y1 - y0, style)
    return size if is_rectangle(panel.finished) else tr("{size} angled", size=size)


def _panel(d: _Drawing, leaf: Leaf, panel: Panel) -> None:
    cut, finished = placed(panel, leaf)
    d.sketch.add(Polyline(palette.PANEL_CUT, cut))
    if finished != cut:
        d.sketch.add(Polyline(palette.PANEL_FINISHED, finished))
    if len(panel.openings) <= FEW_OPENINGS:
        for opening, radii in placed_openings(panel, leaf):
            draw_opening(d.sketch, opening, radii, filled=False)
    order, name, size = shown(panel.order, 48), shown(panel.name, 48), panel_size(panel, d.style)
    if leaf.mirrored:
        size = tr("{size}, turn over", size=size)
    arrangements: tuple[tuple[str, ...], ...]
    arrangements = ((order, name, size), (f"{order} {name}", size), (f"{order} {name}  {size}",))
    if d.view.bare:
        arrangements = (*arrangements, (order, name), (f"{order} {name}",))
    d.labels.append(_Wanted(leaf.outline, arrangements, f"{order} {name}  {size}", palette.PANEL_TEXT))


def _leftover(d: _Drawing, leaf: Leaf) -> None:
    if leaf.kind is LeafKind.OFFCUT:
        d.sketch.add(Polyline(palette.OFFCUT, leaf.outline))
        x0, y0, x1, y1 = box(leaf.outline)
        keep, size = tr("keep"), show_size(x1 - x0, y1 - y0, d.style)
        number = shown(leaf.offcut or "", 40)
        arrangements = ((keep, number, size), (f"{keep} {number}", size), (f"{keep} {number}  {size}",))
        d.labels.append(_Wanted(leaf.outline, arrangements, f"{keep} {number}  {size}", palette.OFFCUT_TEXT))
        return
    corners = leaf.outline
    d.sketch.add(Polyline(palette.CULLET, corners))
    if narrower_than(corners, round(1.5 * d.grain)):
        return  # a line through it would be taken for a cut
    a, b, c = corners[0], corners[len(corners) // 2], corners[-1]
    tip = ((b[0] + c[0]) // 2, (b[1] + c[1]) // 2) if len(corners) == 3 else b
    d.sketch.add(Line(palette.CULLET, a, tip))


def _labels_and_numbers(d: _Drawing) -> None:
    """Labels of panels and offcuts, and the step numbers beside them.

    A label in the way of a step number is written again, smaller and to one side; where it does not
    fit so, it stays if the step number can do with a small ring beside it, else it goes to the legend.
    """
    hidden: set[int] = set()
    near: set[int] = set()
    for _ in range(PASSES):
        labels, legend = _fit_labels(d, hidden, near)
        at = [i for i, label in enumerate(labels) if label is not None]
        trial = Sketch(d.grain)
        marks = put_step_numbers(trial, d.layout, [label.box for label in labels if label is not None])
        more_hidden, more_near = {at[i] for i in marks.hidden} - hidden, {at[i] for i in marks.near} - near
        if not more_hidden and not more_near:
            break
        hidden |= more_hidden
        near |= more_near
    for label in labels:
        if label is not None:
            d.sketch.add(*label.texts)
    d.sketch.add(*trial.parts)
    _score_marks(d, [label.box for label in labels if label is not None])
    d.legend += legend
    d.edge[1], d.edge[3] = marks.right, marks.top


def _score_marks(d: _Drawing, taken: list[Obstacle]) -> None:
    """Where the angled scores are marked, beside labels and step numbers."""
    if not any(cut.kind is CutKind.SHAPE for cut in d.layout.cuts):
        return
    try:
        steps = steps_of(d.plan, d.layout, lifts=d.view.lifts)
    except CutFault:
        return  # such a plan is drawn as it stands, and whoever draws it is told
    for part in d.sketch.parts:
        if isinstance(part, Circle):
            (x, y), r = part.centre, part.radius
            taken.append((x - r, y - r, x + r, y + r))
    put_score_marks(d.sketch, steps, [leaf.outline for leaf in d.layout.leaves], taken, d.style)


def _fit_labels(d: _Drawing, hidden: set[int], near: set[int]) -> tuple[list[Label | None], list[str]]:
    """The labels, and the legend of the numbers that stand for those that do not fit."""
    plain = [round(k * d.grain) for k in d.view.ladder]
    tight = [round(k * d.grain) for k in (ASIDE_LADDER if d.view is WHOLE else d.view.ladder)]
    labels: list[Label | None] = []
    legend: list[str] = []
    for i, wanted in enumerate(d.labels):
        label = None
        if i in hidden or i in near:
            label = _once(d, i, wanted, tight, round(ASIDE * d.grain))
        if label is None and i not in hidden:
            label = _once(d, i, wanted, plain, 0)
        if label is None:
            number = f"({len(legend) + 1})"
            heights = [round(k * d.grain) for k in NUMBER_LADDER]
            room = round(ASIDE_NUMBER * d.grain) if i in hidden else 0
            label = fitted(wanted.outline, [(number,)], heights, wanted.layer, aside=room)
            label = label or fitted(wanted.outline, [(number,)], heights, wanted.layer)
            legend.append(f"{number} {wanted.words}")
        labels.append(label)
    return labels, legend


def _once(d: _Drawing, i: int, wanted: _Wanted, heights: Sequence[int], aside: int) -> Label | None:
    """A label of the lines of text, fitted once for all passes."""
    key = (i, aside)
    if key not in d.fitted:
        taken = flaw_boxes(d.layout, d.grain)
        d.fitted[key] = fitted_beside(
            wanted.outline, wanted.arrangements, heights, wanted.layer, taken, aside=aside
        )
    return d.fitted[key]


def _measures(d: _Drawing) -> None:
    """Distances of the trims and of the cuts of level 1 along the edge, and the overall size."""
    w, h, high = d.layout.width, d.layout.height, round(d.grain * 0.85)
    main = [c for c in d.layout.cuts if c.kind is CutKind.TRIM or (c.kind is CutKind.MAIN and c.level == 1)]
    xs = sorted({c.start[0] for c in main if c.start[0] == c.end[0]} | {0, w})
    ys = sorted({c.start[1] for c in main if c.start[1] == c.end[1]} | {0, h})
    for stops, upright in ((xs, False), (ys, True)):
        at = -2 * d.grain
        if len(stops) > 2:
            widest = 0
            for a, b in pairwise(stops):
                words = show(b - a, d.style, unit=False)
                d.sketch.measure(a, b, at, words, upright=upright, height=high)
                if text_width(words, high) + high // 2 > b - a:
                    widest = max(widest, text_width(words, high))
            at -= widest + 2 * d.grain
        end = w if not upright else h
        d.sketch.measure(0, end, at, show(end, d.style), upright=upright, height=d.grain)
        d.edge[0 if upright else 2] = -at + 2 * d.grain if upright else -at + d.grain


def _title(d: _Drawing) -> str:
    layout, g = d.layout, d.grain
    number = sheet_heading(d.plan, d.layout)
    first = " | ".join((tr("plan {plan}", plan=shown(d.plan.id, 20)), number))
    if d.view.bare:
        return first
    facts = [
        shown(layout.stock, 60),
        stock_words(layout),
        tr("glass {glass}", glass=shown(layout.glass, 40)),
        show_size(layout.width, layout.height, d.style),
        show_mass(sheet_mass(d.plan, layout)),
        tr("{count} cuts", count=len(layout.cuts)),
        unit_words(d.style),
    ]
    if layout.day is not None:
        facts.insert(1, tr("day {day}", day=layout.day.isoformat()))
    lines = wrapped(facts, max(layout.width, 40 * g), g)
    y = layout.height + d.edge[3] + g
    for line in reversed(lines):
        d.sketch.add(Text(palette.TITLE, line, (0, y), g))
        y += 2 * g
    d.sketch.add(Text(palette.TITLE, first, (0, y), round(1.6 * g)))
    return first


def _notes(d: _Drawing) -> None:
    """Below the sheet: the legend of small panels, the key of the lines and the caution."""
    g, width = d.grain, max(d.layout.width, 40 * d.grain)
    y = -d.edge[2] - 2 * g
    if d.legend:
        y = _columns(d, d.legend, y, width)
    if flaws := flaw_list(d.layout, d.style):
        y = _columns(d, flaws, y, width)
    used = {part.layer.name for part in d.sketch.parts if not isinstance(part, (Text, Tint))}
    x = 0
    for layer in (layer for layer in palette.LAYERS if layer.words and layer.name in used):
        words = tr(layer.words)
        room = 5 * g + text_width(words, g) + 2 * g
        if x and x + room > width:
            x, y = 0, y - 2 * g
        d.sketch.add(Line(palette.KEYS.get(layer.name, layer), (x, y + g // 2), (x + 4 * g, y + g // 2)))
        d.sketch.add(Text(palette.NOTES, words, (x + 5 * g, y), g))
        x += room
    y -= 2 * g
    for line in wrapped(general_cautions(), width, g):
        d.sketch.add(Text(palette.NOTES, line, (0, y), round(0.8 * g)))
        y -= round(1.6 * g)


def _columns(d: _Drawing, lines: Sequence[str], y: int, width: int) -> int:
    """Lines of the legend in as many columns as fit; the new y below them."""
    g = d.grain
    widest = max(text_width(line, g) for line in lines) + 2 * g
    columns = max(1, width // widest)
    rows = -(-len(lines) // columns)
    for i, line in enumerate(lines):
        d.sketch.add(Text(palette.NOTES, line, ((i // rows) * widest, y - (i % rows) * 2 * g), g))
    return y - rows * 2 * g - g
