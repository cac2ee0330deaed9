"""The face of one label: what it is, where it goes, which edges are worked, and its code."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import Final

from panewright.io.pdf_drawing import MM
from panewright.io.pdf_ops import INK
from panewright.io.pdf_page import Page, fitting, rise
from panewright.io.pdf_text import broken
from panewright.io.problems import shown
from panewright.io.step_words import show_mass
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.outlines import Outline, box, is_rectangle
from panewright.nesting.panels import Panel, Purpose
from panewright.nesting.plan import Leaf
from panewright.nesting.stock import Side
from panewright.nesting.text import tr, tr_count
from panewright.nesting.units import show_size

LETTERS: Final = {
    Work.SEAMED: "S",
    Work.GROUND: "G",
    Work.POLISHED: "P",
    Work.PENCIL: "R",
    Work.BEVEL: "B",
    Work.MITRE: "M",
}
"""Letters of edgework; the label says beside them what they mean. An edge as cut has none."""
_BANDS: Final[dict[Work, tuple[float, ...]]] = {
    Work.SEAMED: (0.5, 0.7),
    Work.GROUND: (1.8, 0.7),
    Work.POLISHED: (),
    Work.PENCIL: (),
    Work.BEVEL: (3.0, 0.6, 0.6, 0.6),
    Work.MITRE: (0.9, 0.5),
}
"""Dashes of the band along a worked edge. [mm]"""
WIDE, HIGH = 99.0, 57.0
"""The label that all sizes are measured to. [mm]"""
SMALL: Final = (62.0, 36.0)
"""A label below one of these has no outline."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelFace:
    """What stands on a label.

    Parameters
    ----------
    plan, sheet, step
        Where it comes off; no step where the whole sheet is used as it is.
    glass
        Glass key.
    leaf
        The piece.
    panel
        None for an offcut.
    slot
        Rack and slot of its order, or empty; a panel that is bound for a rack of its own has its place there.
    code
        What its QR code says.
    """

    plan: str
    sheet: int
    step: int | None
    glass: str
    leaf: Leaf
    panel: Panel | None
    slot: str
    code: str

    @property
    def heads(self) -> tuple[str, str]:
        """What stands on top, and below it."""
        if self.panel is None:
            return shown(self.leaf.offcut or "", 60), tr("offcut: keep")
        return shown(self.panel.order, 200), shown(self.panel.name, 200)

    @property
    def size(self) -> str:
        """Finished size of a panel, cut size of an offcut."""
        outline = self.leaf.outline if self.panel is None else self.panel.finished
        x0, y0, x1, y1 = box(outline)
        size = show_size(x1 - x0, y1 - y0)
        return size if is_rectangle(outline) else tr("{size} angled", size=size)

    @property
    def facts(self) -> list[str]:
        """Glass, mass, day and what else counts."""
        out = [shown(self.glass, 40)]
        panel = self.panel
        if panel is None:
            raw = [tr(side.value) for side in self.leaf.raw]
            out.append(tr("raw: {sides}", sides=", ".join(raw)) if raw else tr("no raw side"))
            return out
        out.append(show_mass(panel.mass_grams))
        if panel.due is not None:
            out.append(tr("due {day}", day=panel.due.isoformat()))
        if panel.purpose is not Purpose.ORDER:
            out.append(tr(panel.purpose.value))
        if self.leaf.mirrored:
            out.append(tr("turn over before edging"))
        if panel.openings:
            out.append(tr_count("{count} opening", "{count} openings", len(panel.openings)))
        return out

    @property
    def origin(self) -> str:
        """Plan, sheet and step."""
        if self.step is None:
            return tr("{plan}, sheet {sheet}", plan=shown(self.plan, 20), sheet=self.sheet)
        return tr(
            "{plan}, sheet {sheet}, step {step}", plan=shown(self.plan, 20), sheet=self.sheet, step=self.step
        )


def draw_label(page: Page, face: LabelFace, x: float, y: float, wide: float, high: float) -> None:
    """Draw a label of this size, its lower left corner at x, y. [mm]"""
    if wide < SMALL[0] or high < SMALL[1]:
        _small(page, face, x, y, wide, high)
        return
    k = min(wide / WIDE, high / HIGH, 1.6)
    edge = 3.2 * k
    left, right, top, low = x + edge, x + wide - edge, y + high - edge, y + edge
    first, second = face.heads
    racked = face.panel is not None and bool(face.panel.rack)
    slot = min(34 * k, wide * 0.36) if racked else min(24 * k, wide * 0.28) if face.slot else 0.0
    room = right - left - (slot + 2 * k if slot else 0)
    line = top
    line = _head(page, left, line, first, 22 * k, room, most=2 if len(first) > 18 else 1)
    line = _head(page, left, line - 0.6 * k, second, 13 * k, room, most=2 if len(second) > 30 else 1)
    if racked and face.panel is not None:
        _place(page, face.panel, right - slot, top, slot, k)
    elif slot:
        page.frame(right - slot, top - 13.5 * k, slot, 13.5 * k, weight=0.5)
        page.fitted(right - slot / 2, top - 3.6 * k, tr("place"), 6.5 * k, slot - 2, least=4, across=0.5)
        page.fitted(
            right - slot / 2,
            top - 11.4 * k,
            shown(face.slot, 20),
            19 * k,
            slot - 2,
            least=5,
            bold=True,
            across=0.5,
        )
    side = min(24.0 * k, line - low - 0.5)
    page.code(right - side + 2 * k, low - 2 * k, side, face.code)
    room = right - left - side - 1.0
    size = fitting(face.size, 15 * k, room, least=6, bold=True)
    line -= rise(15 * k) + 1.4 * k
    page.fitted(left, line, face.size, size, room, bold=True)
    for text in broken(",  ".join(face.facts), 8.5 * k, room * MM, most=2):
        line -= 8.5 * k * 1.25 / MM
        page.text(left, line, text, 8.5 * k)
    page.fitted(left, low - 0.8 * k, face.origin, 6 * k, room, least=4)
    low += 2.4 * k
    picture = (left, low, min(36 * k, room * 0.55), line - low - 1.6 * k)
    if picture[3] < 5:
        return
    if face.panel is None:
        _raw_picture(page, picture, face.leaf, k)
        return
    used = _edge_picture(page, picture, face.panel, k)
    _letters(page, picture[0] + picture[2] + 2 * k, low + picture[3], room - picture[2] - 3 * k, used, k)


def _place(page: Page, panel: Panel, x: float, top: float, wide: float, k: float) -> None:
    """Rack and slot in a box: the slot in big figures, a long name of the rack in two lines. [mm]"""
    high, part = 13.5 * k, wide * 0.36
    page.frame(x, top - high, wide, high, weight=0.5)
    page.rule(x + wide - part, top - high, x + wide - part, top, 0.3)
    left = x + (wide - part) / 2
    page.fitted(left, top - 3.2 * k, tr("rack"), 6.5 * k, wide - part - 1.6, least=4, across=0.5)
    page.fitted(x + wide - part / 2, top - 3.2 * k, tr("slot"), 6.5 * k, part - 1.6, least=4, across=0.5)
    number = "-" if panel.slot is None else str(panel.slot)
    page.fitted(
        x + wide - part / 2, top - 11.4 * k, number, 21 * k, part - 1.6, least=5, bold=True, across=0.5
    )
    name, room = shown(panel.rack, 60), wide - part - 1.6
    size = fitting(name, 17 * k, room, least=8.5 * k, bold=True)
    lines = broken(name, size, room * MM, bold=True, most=2)
    if "".join(lines).replace(" ", "") != name.replace(" ", ""):
        size = 6.6 * k
        lines = broken(name, size, room * MM, bold=True, most=3)
    line = top - 3.8 * k - (7.6 * k - (len(lines) - 1) * size * 1.1 / MM - rise(size)) / 2
    for text in lines:
        line -= rise(size)
        page.fitted(left, line, text, size, room, least=4, bold=True, across=0.5)
        line -= size * 1.1 / MM - rise(size)


def _head(page: Page, x: float, y: float, text: str, size: float, room: float, *, most: int) -> float:
    """A heading as large as it fits, in two lines where it is long; gives the y below. [mm]"""
    size = fitting(text, size, room * most * (0.92 if most > 1 else 1.0), least=size * 0.42, bold=True)
    for line in broken(text, size, room * MM, bold=True, most=most):
        y -= rise(size) + 0.6
        page.text(x, y, line, size, bold=True)
        y -= size * 0.16 / MM
    return y


def _small(page: Page, face: LabelFace, x: float, y: float, wide: float, high: float) -> None:
    """A label without an outline: code on the left, the words beside it, letters of the edges in one line."""
    edge = min(1.5, high * 0.06)
    side = min(high - 2 * edge, wide * 0.4)
    page.code(x + edge, y + (high - side) / 2, side, face.code)
    left, room = x + side + edge + 0.6, wide - side - 2 * edge - 1.0
    first, second = face.heads
    lines = [
        (first, 13.0, True),
        (second, 9.0, False),
        (face.size, 10.0, True),
        (", ".join(face.facts), 6.5, False),
    ]
    if face.panel is not None:
        letters = " ".join(LETTERS.get(one.work, "-") for one in face.panel.edges[:8])
        lines.append((tr("edges {letters}", letters=letters), 6.5, False))
    if face.panel is not None and face.panel.rack:
        # the slot first: a long name of the rack is cut off at its end
        slot = "-" if face.panel.slot is None else face.panel.slot
        lines.insert(
            1, (tr("slot {slot}, rack {rack}", slot=slot, rack=shown(face.panel.rack, 60)), 10.0, True)
        )
    elif face.slot:
        lines.insert(1, (tr("place {slot}", slot=shown(face.slot, 20)), 9.0, True))
    k = min(1.0, (high - 2 * edge) / sum(size * 1.3 / MM for _, size, _ in lines))
    line = y + high - edge
    for text, size, bold in lines:
        line -= size * k * 1.02 / MM
        page.fitted(left, line, text, size * k, room, least=3.5, bold=bold)
        line -= size * k * 0.28 / MM


Picture = tuple[float, float, float, float]


def _scaled(outline: Outline, picture: Picture, inset: float) -> list[tuple[float, float]]:
    """An outline as large as it fits, in the middle of its picture. [mm]"""
    x, y, wide, high = picture
    x0, y0, x1, y1 = box(outline)
    scale = min((wide - 2 * inset) / (x1 - x0), (high - 2 * inset) / (y1 - y0))
    left, low = x + (wide - (x1 - x0) * scale) / 2, y + (high - (y1 - y0) * scale) / 2
    return [(left + (a - x0) * scale, low + (b - y0) * scale) for a, b in outline]


def _edge_picture(page: Page, picture: Picture, panel: Panel, k: float) -> list[Edge]:
    """The finished outline with a band and a letter along each worked edge; gives one edge of each kind."""
    points = _scaled(panel.finished, picture, 3.0 * k)
    page.path(points, weight=0.25)
    found: list[Edge] = []
    for i, edge in enumerate(panel.edges):
        letter = LETTERS.get(edge.work)
        if letter is None:
            continue
        if not any(_same(edge, other) for other in found):
            found.append(edge)
        (ax, ay), (bx, by) = points[i], points[(i + 1) % len(points)]
        far = hypot(bx - ax, by - ay) or 1.0
        nx, ny = (by - ay) / far, -(bx - ax) / far
        band = [d * k for d in _BANDS[edge.work]]
        page.path([(ax, ay), (bx, by)], weight=0.95 * k, closed=False, dashes=band)
        cx, cy = (ax + bx) / 2 + nx * 1.9 * k, (ay + by) / 2 + ny * 1.9 * k
        if far > 3.0 * k:
            page.text(cx, cy - rise(6.5 * k) / 2, letter, 6.5 * k, bold=True, across=0.5)
    return found


def _same(a: Edge, b: Edge) -> bool:
    return (a.work, a.mitre, a.small_face) == (b.work, b.mitre, b.small_face)


def _letters(page: Page, x: float, y: float, room: float, edges: list[Edge], k: float) -> None:
    """What the letters mean."""
    if room < 8:
        return
    if not edges:
        page.fitted(x, y - 3 * k, tr("edges as cut"), 7 * k, room, least=4)
        return
    for edge in edges[:5]:
        words = tr(edge.work.value)
        if edge.mitre:
            words = tr("{work} {angle} deg", work=words, angle=f"{edge.mitre / 1000:g}")
        if edge.small_face is not None:
            words = tr("{work}, small face {side}", work=words, side=tr(edge.small_face))
        y -= 7 * k * 1.3 / MM
        page.text(x, y, LETTERS[edge.work], 7 * k, bold=True)
        page.fitted(x + 3 * k, y, words, 7 * k, room - 3 * k, least=4)


def _raw_picture(page: Page, picture: Picture, leaf: Leaf, k: float) -> None:
    """An offcut: sides still as bought are toothed."""
    points = _scaled(leaf.outline, picture, 2.0 * k)
    page.path(points, weight=0.3)
    x0, y0 = min(p[0] for p in points), min(p[1] for p in points)
    x1, y1 = max(p[0] for p in points), max(p[1] for p in points)
    sides = {
        Side.LEFT: ((x0, y0), (x0, y1), (-1, 0)),
        Side.RIGHT: ((x1, y0), (x1, y1), (1, 0)),
        Side.BOTTOM: ((x0, y0), (x1, y0), (0, -1)),
        Side.TOP: ((x0, y1), (x1, y1), (0, 1)),
    }
    for side in leaf.raw:
        (ax, ay), (bx, by), (nx, ny) = sides[side]
        count = max(2, int(hypot(bx - ax, by - ay) / (1.6 * k)))
        for i in range(count):
            t0, t1 = i / count, (i + 0.5) / count
            page.path(
                [
                    (ax + (bx - ax) * t0, ay + (by - ay) * t0),
                    (ax + (bx - ax) * t1 + nx * 1.3 * k, ay + (by - ay) * t1 + ny * 1.3 * k),
                    (ax + (bx - ax) * (i + 1) / count, ay + (by - ay) * (i + 1) / count),
                ],
                weight=0,
                fill=INK,
            )
