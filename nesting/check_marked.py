"""Checks a sheet on which flaws were marked: it is the same sheet, and carries them wherever it is not cut yet.

A cut that is made divides a flaw, so that parts of it may stand in its place. What lies in a panel that came
off, or in a blank that is begun, needs no place any more. It shares no code with the remaking.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from .flaws import Flaw
from .plan import CutKind, Layout, LeafKind
from .text import tr

Area = tuple[int, int, int, int]
"""Left, bottom, right, top; equal ones for a scratch or a point. [nm]"""


def flaws_on(layout: Layout) -> list[Flaw]:
    """All flaws of a sheet, in order, whether a panel of the plan tolerates them or not."""
    kinds = layout.flaw_kinds or [""] * len(layout.flaws)
    hard = [Flaw(*box, kind=kind) for box, kind in zip(layout.flaws, kinds, strict=True)]
    return sorted([*hard, *layout.spots])


def check_marked(
    old: Layout, new: Layout, marked: Sequence[Flaw], step: int, habit: str, out: list[str]
) -> None:
    """Add to `out` what is wrong.

    Parameters
    ----------
    old, new
        The sheet before and after.
    marked
        Flaws marked on it.
    step
        The last step that is done.
    habit
        How the sheets of the plan are cut.
    out
        Receives the faults.
    """
    for name in ("glass", "stock", "width", "height", "raw", "trim", "is_offcut", "day"):
        if getattr(old, name) != getattr(new, name):
            out.append(tr("sheet {number} is in hand, and is another sheet now", number=old.number))
            break
    off = _off(old, step, old.habit or habit)
    there = flaws_on(new)
    for flaw in sorted(set(flaws_on(old)) | set(marked)):
        covers = [_area(f) for f in there if f.kind == flaw.kind]
        if _bare(_area(flaw), [*covers, *off]):
            out.append(tr("a flaw of sheet {number} is not in the plan", number=old.number))


def _area(flaw: Flaw) -> Area:
    return flaw.x, flaw.y, flaw.x + flaw.width, flaw.y + flaw.height


def _off(layout: Layout, step: int, habit: str) -> list[Area]:
    """Boxes around the panels that came off up to a step, and around the blanks that are begun.

    And the lines of the cuts that are made, and the sides of the sheet: a scratch along one is in no piece.
    """
    scored = {c.placement for c in layout.cuts if c.step <= step} - {None}
    made = {n for c in layout.cuts if c.step <= step or c.placement in scored for n in c.makes}
    if step and habit == "machine":
        made = {n for c in layout.cuts for n in c.makes}
    inside: dict[str, list[str]] = {}
    for cut in layout.cuts:
        if cut.kind is CutKind.SHAPE:
            inside.setdefault(cut.piece, []).extend(cut.makes)
    begun = {p for p, names in inside.items() if set(names) & made}
    blanks = begun - {n for names in inside.values() for n in names}
    outlines = {leaf.piece: leaf.outline for leaf in layout.leaves}

    def corners(piece: str) -> list[tuple[int, int]]:
        if piece in outlines:
            return list(outlines[piece])
        return [p for name in inside.get(piece, ()) for p in corners(name)]

    pieces = [x.piece for x in layout.leaves if x.kind is LeafKind.PANEL and x.piece in made]
    wide, high = layout.width, layout.height
    boxes = [(0, 0, wide, 0), (0, high, wide, high), (0, 0, 0, high), (wide, 0, wide, high)]
    for cut in layout.cuts:
        if cut.makes[0] in made and (cut.start[0] == cut.end[0] or cut.start[1] == cut.end[1]):
            xs, ys = zip(cut.start, cut.end, strict=True)
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
    for piece in (*pieces, *sorted(blanks)):
        xs, ys = zip(*corners(piece), strict=True)
        boxes.append((min(xs), min(ys), max(xs), max(ys)))
    return boxes


def _bare(area: Area, boxes: Sequence[Area]) -> list[Area]:
    """The cells of an area, cut along the sides of boxes, that lie in none of them."""
    xs = _steps(area[0], area[2], [b[i] for b in boxes for i in (0, 2)])
    ys = _steps(area[1], area[3], [b[i] for b in boxes for i in (1, 3)])
    cells = [(x0, y0, x1, y1) for x0, x1 in xs for y0, y1 in ys]
    return [cell for cell in cells if not _within(cell, boxes)]


def _steps(low: int, high: int, at: Iterable[int]) -> list[tuple[int, int]]:
    if low == high:
        return [(low, high)]
    return list(pairwise(sorted({low, high, *(v for v in at if low < v < high)})))


def _within(cell: Area, boxes: Iterable[Area]) -> bool:
    return any(b[0] <= cell[0] and b[1] <= cell[1] and cell[2] <= b[2] and cell[3] <= b[3] for b in boxes)
