"""The drawing of one panel: cut and finished outline, the edgework at every edge, sizes and title."""

from __future__ import annotations

from math import atan2, degrees, hypot

from panewright.io import palette
from panewright.io.opening_marks import label_off, mark_openings, measure_openings, opening_lines
from panewright.io.panel_list_text import work_words
from panewright.io.pocket_words import pocket_lines
from panewright.io.problems import shown
from panewright.io.scene_model import Polyline, Scene, Sketch, Text, Tint, text_width, wrapped
from panewright.io.sheet_scene import panel_size, unit_words
from panewright.io.step_words import show_mass
from panewright.nesting.edgework import Edge
from panewright.nesting.outlines import box, is_convex, is_rectangle
from panewright.nesting.panels import Panel, Purpose, Turn
from panewright.nesting.pieces import length
from panewright.nesting.plan import Plan
from panewright.nesting.pockets import Pocket, pockets
from panewright.nesting.sequence import general_cautions
from panewright.nesting.text import local_number, tr, tr_count
from panewright.nesting.units import LengthStyle, mm, show, show_size

_LADDER = (2.2, 1.8, 1.5, 1.2, 1.0, 0.8, 0.6, 0.45)
_TURNS = {
    Turn.QUARTER: "lies square on the sheet",
    Turn.HALF: "half turns only: mind the direction of the glass",
    Turn.NONE: "not to be turned: mind the direction of the glass",
}


def panel_grain(panel: Panel) -> int:
    """The usual text height beside this panel. [nm]"""
    x0, y0, x1, y1 = box(panel.cut)
    return min(max(max(x1 - x0, y1 - y0) // 36, mm(5)), mm(32))


def edge_words(edge: Edge, style: LengthStyle | None = None) -> str:
    """Edgework and allowance of one edge: ``polished +1.5 mm``."""
    words = work_words(edge.work)
    if edge.mitre:
        words = tr("{work} {angle} deg", work=words, angle=local_number(f"{edge.mitre / 1000:g}"))
    if edge.small_face is not None:
        words = tr("{work}, small face {side}", work=words, side=tr(edge.small_face))
    if edge.allowance:
        words = tr("{work} +{allowance}", work=words, allowance=show(edge.allowance, style))
    return words


def panel_scene(plan: Plan, panel: Panel, *, style: LengthStyle | None = None) -> Scene:
    """The drawing of one panel in its own frame, seen from the side that lies up on the table.

    Parameters
    ----------
    plan
        The plan that holds the panel.
    panel
        The panel.
    style
        How lengths are written; default: the style set by `use_style`.
    """
    g = panel_grain(panel)
    sketch = Sketch(g)
    sketch.add(Tint(palette.PANEL_CUT, panel.cut), Polyline(palette.PANEL_CUT, panel.cut))
    if panel.finished != panel.cut:
        sketch.add(Polyline(palette.PANEL_FINISHED, panel.finished))
    found = pockets(panel.finished, panel.cut)
    for number, pocket in enumerate(found, start=1):
        sketch.add(Tint(palette.POCKET, pocket.outline), Polyline(palette.POCKET, pocket.outline))
        sketch.add(_pocket_name(number, pocket, g))
    order, name, size = shown(panel.order, 48), shown(panel.name, 48), panel_size(panel, style)
    taken = mark_openings(sketch, panel.openings, panel.finished, style)
    label = label_off(
        panel.finished if is_convex(panel.finished) else panel.cut,
        [(order, name, size), (f"{order} {name}", size), (f"{order} {name}  {size}",)],
        [round(k * g) for k in _LADDER],
        palette.PANEL_TEXT,
        taken,
    )
    if label is not None:
        sketch.add(*label.texts)
    edges = _edges(sketch, panel, style)
    room = measure_openings(sketch, panel.openings, panel.finished, panel.cut, style)
    _sizes(sketch, panel, style, *room)
    title = f"{tr('plan {plan}', plan=shown(plan.id, 20))} | {order} {name}"
    x0, y0, _, y1 = box(panel.cut)
    top = y1 + 4 * g
    width = max(box(panel.cut)[2] - x0, 46 * g)
    for line in reversed(wrapped(_facts(panel, style), width, g)):
        sketch.add(Text(palette.TITLE, line, (x0, top), g))
        top += 2 * g
    sketch.add(Text(palette.TITLE, title, (x0, top), round(1.5 * g)))
    y = y0 - 8 * g - room[0]
    small = round(0.85 * g)
    for line in [
        *edges,
        *opening_lines(panel.openings, panel.finished, style),
        *pocket_lines(
            panel, plan.rules[panel.glass].inner_radius if panel.glass in plan.rules else None, style
        ),
        *_remarks(panel, style),
        *wrapped(general_cautions(), width, small),
    ]:
        sketch.add(Text(palette.NOTES, line, (x0, y), small))
        y -= 2 * small
    return sketch.scene(title)


def _pocket_name(number: int, pocket: Pocket, g: int) -> Text:
    """The number of a pocket, outside the cut outline."""
    a, b = pocket.outline[:2]
    dx, dy = b[0] - a[0], b[1] - a[1]
    far = hypot(dx, dy) or 1.0
    at = (round((a[0] + b[0]) / 2 + dy / far * 2.4 * g), round((a[1] + b[1]) / 2 - dx / far * 2.4 * g))
    return Text(palette.POCKET, f"P{number}", at, g, "centre", "middle")


def _facts(panel: Panel, style: LengthStyle | None) -> list[str]:
    x0, y0, x1, y1 = box(panel.cut)
    facts = [
        tr("glass {glass}", glass=shown(panel.glass, 40)),
        tr("finished {size}", size=panel_size(panel, style)),
        tr("cut {size}", size=show_size(x1 - x0, y1 - y0, style)),
        show_mass(panel.mass_grams),
        unit_words(style),
    ]
    if panel.openings:
        facts.append(tr_count("{count} opening", "{count} openings", len(panel.openings)))
    if panel.due is not None:
        facts.append(tr("due {day}", day=panel.due.isoformat()))
    if panel.purpose is not Purpose.ORDER:
        facts.append(tr(panel.purpose.value))
    return facts


def _remarks(panel: Panel, style: LengthStyle | None) -> list[str]:
    lines = []
    for tip in panel.tips:
        lines.append(
            tr(
                "the tip at corner {number} is cut back to {reach} beyond the finished corner",
                number=tip.corner + 1,
                reach=show(tip.reach, style),
            )
        )
    if not is_convex(panel.finished):
        lines.append(tr("The inner corners are not scored: saw, drill or water jet, after the cut outline."))
    if panel.turn in _TURNS:
        lines.append(tr(_TURNS[panel.turn]))
    if panel.mirror:
        lines.append(tr("may be cut mirror-image and turned over"))
    if panel.note:
        lines.append(tr("note: {note}", note=shown(panel.note, 100)))
    lines.append(tr("Seen from the side that lies up on the table."))
    return lines


def _edges(sketch: Sketch, panel: Panel, style: LengthStyle | None) -> list[str]:
    """Write the edgework along every edge; lines for the edges that are too short for it."""
    g, n = sketch.grain, len(panel.finished)
    plain = is_rectangle(panel.finished)
    below: list[str] = []
    for i, edge in enumerate(panel.edges):
        a, b = panel.finished[i], panel.finished[(i + 1) % n]
        dx, dy = b[0] - a[0], b[1] - a[1]
        far = hypot(dx, dy) or 1.0
        words = edge_words(edge, style)
        if not plain:
            words = f"{show(length(dx, dy), style)}  {words}"
        height = next(
            (h for h in (g, round(0.8 * g), round(0.65 * g)) if text_width(words, h) <= far * 0.95), None
        )
        if height is None:
            below.append(f"({i + 1}) {words}")
            words = f"({i + 1})"
            height = g if text_width(words, g) <= far else round(0.5 * g)
        out = edge.allowance + 1.3 * g
        angle = round(degrees(atan2(dy, dx)) * 1000)
        if not -90_000 < angle <= 90_000:
            angle += 180_000 if angle < 0 else -180_000
        at = (round((a[0] + b[0]) / 2 + dy / far * out), round((a[1] + b[1]) / 2 - dx / far * out))
        sketch.add(Text(palette.EDGEWORK, words, at, height, "centre", "middle", angle))
    return below


def _sizes(sketch: Sketch, panel: Panel, style: LengthStyle | None, below: int, beside: int) -> None:
    """Finished width and height, below and to the left, outside the room that openings take there."""
    g = sketch.grain
    x0, y0, x1, y1 = box(panel.finished)
    cx, cy, _, _ = box(panel.cut)
    sketch.measure(x0, x1, cy - 5 * g - below, show(x1 - x0, style), upright=False, height=g)
    sketch.measure(y0, y1, cx - 5 * g - beside, show(y1 - y0, style), upright=True, height=g)
